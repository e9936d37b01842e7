"""Courses as they are seen on each plane: line segments in the plane's own frame."""

from __future__ import annotations

import base64
import gzip
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from roof3d.catalog.material import MaterialForm
from roof3d.catalog.model import Catalog
from roof3d.layout.model import Direction, LaidLayer, LaidPlane
from roof3d.tolerance import DEFAULT, Tolerance

_MILLIMETRES = 1000.0
_MOST = 32767
_JOINTS_UP_TO = 4000
"""More pieces than this show their courses alone: their joints would be a grey haze."""


def course_lines(
    laid: LaidPlane, catalog: Catalog, *, tol: Tolerance = DEFAULT
) -> dict[str, Any] | None:
    """Return the lines that the top layer of a plane shows.

    Parameters
    ----------
    laid : LaidPlane
    catalog : Catalog
    tol : Tolerance

    Returns
    -------
    dict or None
        ``plane``; ``origin``, ``along``, ``up`` of its frame; ``segments``: little-endian int16,
        four a segment (u, v, u, v), whole millimetres, gzip, base64. None where nothing is seen.
        A plane that reaches farther than 32 m from its corner counts in coarser steps: ``step_m``.
    """
    if not laid.layers:
        return None
    segments = _seen(laid, laid.layers[-1], catalog, tol)
    if not len(segments):
        return None
    reach = float(np.abs(segments).max())
    step = max(1.0 / _MILLIMETRES, reach / _MOST)
    counted = np.round(segments / step).astype("<i2")
    packed = gzip.compress(counted.tobytes(), 9, mtime=0)
    return {
        "plane": laid.plane.id,
        "origin": [float(value) for value in laid.frame.origin],
        "along": [float(value) for value in laid.frame.along],
        "up": [float(value) for value in laid.frame.up],
        "step_m": step,
        "segments": base64.b64encode(packed).decode("ascii"),
    }


def _seen(
    laid: LaidPlane, layer: LaidLayer, catalog: Catalog, tol: Tolerance
) -> NDArray[np.float64]:
    """Return (n, 4) segments: the near edge of every course, and the joints in it."""
    pieces = layer.pieces
    shingles = catalog.material(layer.material).form is MaterialForm.SHINGLE
    across = layer.direction is Direction.ACROSS
    exposure = catalog.material(layer.material).exposure if shingles else 0.0
    boxes = pieces.boxes
    rows = sorted({float(course.low) for course in layer.courses})
    least_u, least_v, most_u, most_v = layer.extent.bounds
    lines = [
        shapely.LineString(
            [(least_u, low), (most_u, low)] if across else [(low, least_v), (low, most_v)]
        )
        for low in rows
    ]
    if len(pieces) <= _JOINTS_UP_TO:
        lines += _joints(boxes, exposure, across=across)
    clipped = shapely.intersection(np.array(lines, dtype=object), laid.outline.buffer(tol.snap))
    ends = []
    for part in shapely.get_parts(clipped):
        if part.geom_type == "LineString" and part.length > tol.snap:
            points = shapely.get_coordinates(part)
            ends.append([*points[0], *points[-1]])
    return np.array(ends, dtype=np.float64).reshape(-1, 4)


def _joints(
    boxes: NDArray[np.float64], exposure: float, *, across: bool
) -> list[shapely.LineString]:
    """Return where each piece ends along its course, as far as the next one leaves it seen."""
    ends = []
    for u0, v0, u1, v1 in boxes:
        if across:
            top = v0 + exposure if exposure else v1
            ends.append(shapely.LineString([(u1, v0), (u1, top)]))
        else:
            ends.append(shapely.LineString([(u0, v1), (u0 + exposure if exposure else u1, v1)]))
    return ends
