"""The slopes of both faces as triangles under the section."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TypeAlias

import numpy as np
import shapely

from roof3d.details.frame import Point3
from roof3d.details.model import Detail
from roof3d.render.detail_ink.paragraph import text_box
from roof3d.render.lettering import Box
from roof3d.render.sheet import Pixel
from roof3d.units import Units, format_pitch

Triangle: TypeAlias = tuple[tuple[Pixel, ...], tuple[str, ...], tuple[Box, ...]]
"""Corners, texts and the boxes of those."""
_LONGEST_LEG = 3.2
_BELOW = 2.2
_CLEAR = 0.45
_STEP = 0.5
_ASKEW = 0.02


def set_triangles(
    detail: Detail,
    places: Sequence[Pixel],
    marks: Sequence[shapely.Geometry],
    area: tuple[float, float, float, float],
    size: float,
    units: Units,
) -> tuple[Triangle, ...]:
    """Set the slope of the low and of the steep plane, each as a triangle.

    Parameters
    ----------
    detail : Detail
    places : sequence of Pixel
        A point below the low and below the steep deck; each triangle stands as near as
        it can below its own.
    marks : sequence of shapely geometries
        What they must not touch, pixels.
    area : (left, top, right, bottom)
        Where they may stand, pixels; too full, a triangle stands where it is first wanted.
    size : float
        Font size, pixels.
    units : Units
        Rise over run in 12, or on a metric sheet degrees.

    Notes
    -----
    A plane that the section cuts askew, where its pitch does not show, has none.
    """
    taken = list(marks)
    made = []
    named: set[str] = set()
    sides = zip((detail.frame.near, detail.frame.far), places, detail.faces, strict=True)
    for into, place, face in sides:
        if face.slope is None or face.name in named or not _shows(detail, into, face.slope):
            continue
        named.add(face.name)
        plain = _triangle(detail, into, size, units)
        x, y = place[0], place[1] + _BELOW * size
        covered = _extent(plain)
        away = _nearest_clear(covered, (x, y), shapely.STRtree(taken), area, size)
        taken.append(shapely.transform(covered, lambda points, by=away: points + np.array(by)))
        made.append(_moved(plain, away))
    return tuple(made)


def _shows(detail: Detail, into: Point3, slope: float) -> bool:
    """Whether a plane's pitch is what the section shows of it."""
    level = sum(a * b for a, b in zip(into, detail.frame.level, strict=True))
    upright = sum(a * b for a, b in zip(into, detail.frame.upright, strict=True))
    return abs(abs(upright) - slope * abs(level)) < _ASKEW * slope * abs(level)


def _triangle(detail: Detail, into: Point3, size: float, units: Units) -> Triangle:
    """Draw a triangle about the middle of its upper side, at the origin."""
    level, upright = (
        float(np.array(into) @ np.array(axis))
        for axis in (detail.frame.level, detail.frame.upright)
    )
    slope = abs(upright / level)
    flat = _LONGEST_LEG * size * min(1.0, 1.0 / slope if slope else 1.0)
    tall = flat * slope
    fall = -1.0 if detail.convex else 1.0
    corner = fall * flat / 2.0
    ring = ((-flat / 2.0, tall), (flat / 2.0, tall), (corner, 0.0))
    run_at = (0.0, tall + 0.75 * size)
    if units is Units.METRIC:
        angle = f"{round(math.degrees(math.atan(slope)), 1):g} deg"
        return ring, (angle,), (text_box(run_at, angle, size, across="center"),)
    rise, run = format_pitch(slope).split(":")
    side = "left" if fall > 0.0 else "right"
    boxes = (
        text_box(run_at, run, size, across="center"),
        text_box((corner + fall * 0.4 * size, tall / 2.0), rise, size, across=side),
    )
    return ring, (run, rise), boxes


def _extent(triangle: Triangle) -> shapely.Geometry:
    """Return what a triangle and its texts cover, as one convex shape."""
    corners, _, boxes = triangle
    return shapely.MultiPoint([*corners, *(c for box in boxes for c in box.corners)]).convex_hull


def _nearest_clear(
    covered: shapely.Geometry,
    place: Pixel,
    taken: shapely.STRtree,
    area: tuple[float, float, float, float],
    size: float,
) -> Pixel:
    """Return the move, nearest to the one wanted, that brings a shape clear of all others."""
    left, top, right, bottom = area
    x0, y0, x1, y1 = covered.bounds
    step = _STEP * size
    places = [
        (float(x), float(y))
        for x in place[0] + step * np.arange(-round(right - left) / step, (right - left) / step)
        for y in place[1] + step * np.arange(-round(bottom - top) / step, (bottom - top) / step)
        if left <= x + x0 and x + x1 <= right and top <= y + y0 and y + y1 <= bottom
    ]
    # A move up costs more: below its deck a triangle reads as that deck's.
    places.sort(key=lambda at: (math.hypot(at[0] - place[0], at[1] - place[1]) - 0.2 * at[1], at))
    for x, y in places:
        moved = shapely.transform(covered, lambda points, by=(x, y): points + np.array(by))
        if len(taken.query(moved, predicate="dwithin", distance=_CLEAR * size)) == 0:
            return x, y
    return place


def _moved(triangle: Triangle, by: Pixel) -> Triangle:
    corners, words, boxes = triangle
    return (
        tuple((x + by[0], y + by[1]) for x, y in corners),
        words,
        tuple(
            Box(
                centre=(box.centre[0] + by[0], box.centre[1] + by[1]),
                width=box.width,
                height=box.height,
            )
            for box in boxes
        ),
    )
