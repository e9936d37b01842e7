"""What tells the two planes: names along the lifted deck, slope triangles on the section."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TypeAlias

import numpy as np
import shapely

from roof3d.details.frame import Point3
from roof3d.details.model import Detail
from roof3d.details.site import pitch_words
from roof3d.render.camera import Camera
from roof3d.render.detail_ink.palette import INK, PAPER
from roof3d.render.detail_ink.paragraph import text_box
from roof3d.render.lettering import Box
from roof3d.render.sheet import Pixel, Sheet
from roof3d.units import Units, format_pitch

_OFFS = (3.7, 5.2, 7.2, 9.4)
"""Distances from the edge of the deck, in heights of the letters: clears rafters."""
_SHARES = (0.55, 0.48, 0.62, 0.41, 0.69, 0.34, 0.76, 0.27, 0.2)


@dataclass(frozen=True, slots=True, kw_only=True)
class Tag:
    """One line of text with its turned box."""

    text: str
    box: Box


def set_tags(
    detail: Detail,
    camera: Camera,
    outward: Point3,
    size: float,
    avoid: Sequence[Box],
    units: Units,
) -> tuple[Tag, ...]:
    """Set the name and pitch of the near and of the far face beside the deck's end.

    Parameters
    ----------
    outward : Point3
        Unit vector along the break, away from the end that is measured; it points to the
        right in the picture.
    size : float
        Font size, pixels.
    avoid : sequence of Box
        Texts to keep clear of; a tag moves along its deck to do so.
    units : Units
        For the pitches.
    """
    across = detail.size[0] / 2.0
    same = sum(a * b for a, b in zip(outward, detail.frame.along, strict=True)) > 0.0
    u = across if same else -across
    ends = (-detail.size[1], detail.size[2])
    words = [
        face.name if face.slope is None else f"{face.name}, {pitch_words(face.slope, units)}"
        for face in detail.faces
    ]
    if words[0] == words[1]:
        words = words[:1]
    return tuple(
        _first_clear(detail, camera, u, end, text, size, avoid)
        for end, text in zip(ends, words, strict=False)
    )


def _first_clear(
    detail: Detail,
    camera: Camera,
    u: float,
    end: float,
    text: str,
    size: float,
    avoid: Sequence[Box],
) -> Tag:
    """Return the tag at the first share of the deck where it touches nothing, or at the first."""
    tags = [
        _tag(detail, camera, (u, share * end), text, size, off)
        for off in _OFFS
        for share in _SHARES
    ]
    clear = [tag for tag in tags if not any(tag.box.grown(2.0).overlaps(b) for b in avoid)]
    return (clear or tags)[0]


def _tag(
    detail: Detail, camera: Camera, at: tuple[float, float], text: str, size: float, off: float
) -> Tag:
    u, s = at
    here = camera.pixel(detail.frame.point(u, s, 0.0))
    there = camera.pixel(detail.frame.point(u, 1.1 * s, 0.0))
    dx, dy = there[0] - here[0], there[1] - here[1]
    if dx < 0.0:
        dx, dy = -dx, -dy
    length = math.hypot(dx, dy)
    # To the right of and below the edge; the edge runs left to right.
    off *= size
    centre = (here[0] - dy / length * off, here[1] + dx / length * off)
    turn = -math.degrees(math.atan2(dy, dx))
    return Tag(text=text, box=replace(text_box(centre, text, size, across="center"), turn_deg=turn))


def ink_tags(sheet: Sheet, tags: tuple[Tag, ...], size: float) -> None:
    """Write tags."""
    for tag in tags:
        sheet.text(
            tag.box.centre,
            tag.text,
            size=size,
            ink=INK,
            bold=False,
            across="center",
            turn_deg=tag.box.turn_deg,
            halo=PAPER,
            order=6.5,
        )


Triangle: TypeAlias = tuple[tuple[Pixel, ...], tuple[str, ...], tuple[Box, ...]]
"""Corners, texts and the boxes of those."""
_LONGEST_LEG = 3.2
_BELOW = 2.2
_CLEAR = 0.45
_STEP = 0.5


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
    As the section cuts them: square to the break, which is the pitch where that is level.
    """
    taken = list(marks)
    made = []
    sides = zip((detail.frame.near, detail.frame.far), places, detail.faces, strict=True)
    for into, place, face in sides:
        if face.slope is None:
            continue
        plain = _triangle(detail, into, size, units)
        x, y = place[0], place[1] + _BELOW * size
        covered = _extent(plain)
        away = _nearest_clear(covered, (x, y), shapely.STRtree(taken), area, size)
        taken.append(shapely.transform(covered, lambda points, by=away: points + np.array(by)))
        made.append(_moved(plain, away))
    return tuple(made)


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
