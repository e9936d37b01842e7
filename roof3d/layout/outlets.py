"""Drains in the sheets: no lap of the top sheet lies where all the water of the roof comes by."""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence
from typing import Final

import numpy as np
import shapely

from roof3d.errors import Finding, Severity
from roof3d.layout.borders.frame import to_plane
from roof3d.layout.joint import INCH, PRACTICE
from roof3d.layout.model import LaidLayer, LaidPlane
from roof3d.roof.model import Roof, RoofOpening
from roof3d.spec.model import OpeningKind
from roof3d.tolerance import DEFAULT, Tolerance
from roof3d.units import Units, format_length

LAP_FREE: Final = 12.0 * INCH
"""So near to the middle of a drain no top sheet laps another: common practice, no source."""


def tell_laps_at_drains(
    laid: Sequence[LaidPlane], roof: Roof, *, units: Units, tol: Tolerance = DEFAULT
) -> Iterator[Finding]:
    """Find laps of the top sheets too near to a drain.

    Parameters
    ----------
    laid : sequence of LaidPlane
    roof : Roof
    units : Units
        In which findings show lengths.
    tol : Tolerance
        Laps smaller than its ``area`` are none.

    Yields
    ------
    Finding
        One a plane and drain, none on shingles. Those of the sheets below lie apart from those of
        the top one, so that some must come near; they are covered.
    """
    drains = [opening for opening in roof.openings if opening.kind is OpeningKind.DRAIN]
    for drain, plane in itertools.product(drains, laid):
        if plane.plane.id in drain.planes and plane.layers and plane.layers[-1].end_lap > 0.0:
            near = _nearest_lap(plane.layers[-1], _middle(drain, plane), tol)
            if near < LAP_FREE - tol.snap:
                yield _tell(drain, plane.layers[-1], near, units)


def _middle(drain: RoofOpening, plane: LaidPlane) -> shapely.Point:
    middle = shapely.Polygon(drain.outline).centroid
    gx, gy = plane.plane.gradient
    height = gx * middle.x + gy * middle.y + plane.plane.offset
    return shapely.Point(to_plane(plane.frame, [(middle.x, middle.y, height)])[0])


def _nearest_lap(layer: LaidLayer, middle: shapely.Point, tol: Tolerance) -> float:
    """Return how far off the nearest lap of a layer lies, metres; none further than asked."""
    west, south, east, north = middle.buffer(LAP_FREE).bounds
    boxes = layer.pieces.boxes
    across = (boxes[:, 0] < east) & (boxes[:, 2] > west)
    there = across & (boxes[:, 1] < north) & (boxes[:, 3] > south)
    shapes = [layer.pieces.outline(int(k)) for k in np.flatnonzero(there)]
    laps = [shapely.intersection(a, b) for a, b in itertools.combinations(shapes, 2)]
    near = [float(shapely.distance(lap, middle)) for lap in laps if lap.area > tol.area]
    return min(near, default=LAP_FREE)


def _tell(drain: RoofOpening, layer: LaidLayer, near: float, units: Units) -> Finding:
    return Finding(
        code="R3D-DRAIN-LAP",
        severity=Severity.CAUTION,
        where=f"openings[{drain.id}]",
        message=(
            f"a lap of {layer.id} lies {format_length(near, units)} from its middle, nearer than "
            f"{format_length(LAP_FREE, units)}: move the drain to the middle of a sheet, or lay a "
            "sheet of its own there"
        ),
        source=PRACTICE,
    )
