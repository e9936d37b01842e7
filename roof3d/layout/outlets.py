"""Drains and pipes in the sheets: no lap of the top sheet lies where their metal goes under it."""

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
PIPE_FREE: Final = 9.0 * INCH
"""The same of a pipe, so that its flange lies under one sheet: common practice, no source."""
_FREE: Final = {OpeningKind.DRAIN: LAP_FREE, OpeningKind.PIPE: PIPE_FREE}


def tell_laps_at_outlets(
    laid: Sequence[LaidPlane], roof: Roof, *, units: Units, tol: Tolerance = DEFAULT
) -> Iterator[Finding]:
    """Find laps of the top sheets too near to a drain or a pipe.

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
        One a plane and opening, none on shingles. Those of the sheets below lie apart from those
        of the top one, so that some must come near; they are covered.
    """
    for opening, plane in itertools.product(roof.openings, laid):
        near = lap_near(plane, opening, tol=tol)
        if near is not None:
            yield _tell(opening, plane.layers[-1], near, units)


def lap_near(plane: LaidPlane, opening: RoofOpening, *, tol: Tolerance = DEFAULT) -> float | None:
    """Return how far off its middle a lap of the top sheet lies, metres; None where far enough."""
    free = _FREE.get(opening.kind)
    sheets = plane.layers and plane.layers[-1].end_lap > 0.0
    if free is None or not sheets or plane.plane.id not in opening.planes:
        return None
    near = _nearest_lap(plane.layers[-1], _middle(opening, plane), free, tol)
    return near if near < free - tol.snap else None


def _middle(opening: RoofOpening, plane: LaidPlane) -> shapely.Point:
    middle = shapely.Polygon(opening.outline).centroid
    gx, gy = plane.plane.gradient
    height = gx * middle.x + gy * middle.y + plane.plane.offset
    return shapely.Point(to_plane(plane.frame, [(middle.x, middle.y, height)])[0])


def _nearest_lap(layer: LaidLayer, middle: shapely.Point, free: float, tol: Tolerance) -> float:
    """Return how far off the nearest lap of a layer lies, metres; none further than asked."""
    west, south, east, north = middle.buffer(free).bounds
    boxes = layer.pieces.boxes
    across = (boxes[:, 0] < east) & (boxes[:, 2] > west)
    there = across & (boxes[:, 1] < north) & (boxes[:, 3] > south)
    shapes = [layer.pieces.outline(int(k)) for k in np.flatnonzero(there)]
    laps = [shapely.intersection(a, b) for a, b in itertools.combinations(shapes, 2)]
    # The hull: a lap that an opening cuts in two still runs through it.
    hulls = [shapely.convex_hull(lap) for lap in laps if lap.area > tol.area]
    near = [float(shapely.distance(hull, middle)) for hull in hulls]
    return min(near, default=free)


def _tell(opening: RoofOpening, layer: LaidLayer, near: float, units: Units) -> Finding:
    kind = opening.kind
    return Finding(
        code=f"R3D-{kind.upper()}-LAP",
        severity=Severity.CAUTION,
        where=f"openings[{opening.id}]",
        message=(
            f"a lap of {layer.id} {_where(near, units)}, nearer than "
            f"{format_length(_FREE[kind], units)}: move the {kind} to the middle of a sheet, or "
            "lay a sheet of its own there"
        ),
        source=PRACTICE,
    )


def _where(near: float, units: Units) -> str:
    if near <= 0.0:
        return "runs through its middle"
    return f"lies {format_length(near, units)} from its middle"
