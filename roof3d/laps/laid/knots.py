"""Where folds are made by hand and are not laid out as pieces: there the proof keeps silent."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import shapely
from shapely.ops import nearest_points

from roof3d.catalog.laying import Border as Place
from roof3d.layout.model import LaidPlane, Point2, Side
from roof3d.tolerance import Tolerance

INCH: Final = 0.0254
_WALLS: Final = frozenset({Place.HEADWALL, Place.SIDEWALL})
_JOINTS: Final = frozenset({Place.JOINT_UPPER, Place.JOINT_LOWER, Place.JOINT_VALLEY})
_SEAMS: Final = frozenset({*_JOINTS, Place.BREAK_UPPER, Place.BREAK_LOWER, Place.VALLEY})
_RIMS: Final = frozenset({Place.PIPE, Place.OPENING_FOOT, Place.OPENING_SIDE, Place.OPENING_HEAD})
_FREE: Final = frozenset({Place.EAVE, Place.RAKE, Place.HIGH_EDGE})
_ENDS: Final = frozenset({*_FREE, *_WALLS})
_SQUARE: Final = 0.05
"""A corner is square that turns from the right angle by less."""
_FAR: Final = 36.0 * INCH
"""As far as linings and what is turned up reach from where they meet: common practice."""

_NEAR: Final = 24.0 * INCH
"""As far from the peak of two like valleys: what ends square there is lapped by what lies over."""

_FARTHER: Final = 54.0 * INCH
"""As far as an ice barrier reaches from there."""
_FIT: Final = 12.0 * INCH
"""What lies round an opening, and along a border, needs that much between them."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Knot:
    """A place and how far round it nothing is told, metres; and why, in plain words."""

    start: Point2
    end: Point2
    within: float
    why: str


def knots_of(plane: LaidPlane, planes: Mapping[str, LaidPlane], tol: Tolerance) -> Iterator[Knot]:
    """Give the places of a plane whose folds are not laid out.

    Parameters
    ----------
    plane : LaidPlane
    planes : mapping
        All planes by id.
    tol : Tolerance
    """
    for at, within, why in _corners(plane):
        yield Knot(start=at, end=(at[0] + tol.snap, at[1]), within=within, why=why)
    for side in plane.sides:
        yield from _along(plane, side, tol)
        beyond = planes.get(side.neighbour)
        if beyond is not None and side.edge not in {one.edge for one in beyond.sides}:
            yield Knot(
                start=side.start,
                end=side.end,
                within=max(_FAR, side.rise),
                why="a roof that runs on under another is not turned up there",
            )
    for one, two in _neighbours(plane):
        yield from _carried_up(one, two)


def _along(plane: LaidPlane, side: Side, tol: Tolerance) -> Iterator[Knot]:
    """Give what is folded all along a side."""
    if side.border is Place.JOINT_VALLEY:
        why = "laps of a membrane that is carried up out of a valley"
        yield Knot(start=side.start, end=side.end, within=0.0, why=why)
    deep = max(_FIT, side.rise + 3.0 * INCH)
    if side.border in _SEAMS and _depth(plane, side, deep) < deep - tol.snap:
        why = "a strip of roof too narrow for what is turned up on it"
        yield Knot(start=side.start, end=side.end, within=deep, why=why)


def _carried_up(one: Side, two: Side) -> Iterator[Knot]:
    """Give where a membrane that is carried up out of a valley ends: along the other side."""
    for joint, other, at, end in ((one, two, one.end, two.end), (two, one, one.end, one.start)):
        if joint.border is Place.JOINT_VALLEY and other.border in {Place.RAKE, Place.HIP}:
            size = math.dist(at, end)
            share = min(1.0, (joint.rise + _FIT) / max(_turn(one, two) * size, _FIT))
            up = (at[0] + share * (end[0] - at[0]), at[1] + share * (end[1] - at[1]))
            within = 24.0 * INCH if other.border is Place.RAKE else 6.0 * INCH
            why = f"a joint in a valley that ends at a {other.border.value}"
            yield Knot(start=at, end=up, within=within, why=why)


def _turn(one: Side, two: Side) -> float:
    """Return the sine of the turn between two sides, positive."""
    (ax, ay), (bx, by) = (
        (side.end[0] - side.start[0], side.end[1] - side.start[1]) for side in (one, two)
    )
    return abs(ax * by - ay * bx) / (math.hypot(ax, ay) * math.hypot(bx, by))


def _corners(plane: LaidPlane) -> Iterator[tuple[Point2, float, str]]:
    def ends(*borders: Place) -> set[Point2]:
        return {
            end for side in plane.sides if side.border in borders for end in (side.start, side.end)
        }

    known = (
        (
            ends(Place.VALLEY) - (ends(Place.EAVE) - _peaks(plane)),
            24.0,
            "the foot or peak of a valley on a plane",
        ),
        (
            ends(Place.JOINT_VALLEY) & ends(Place.EAVE),
            12.0,
            "a joint in a valley that ends at an eave",
        ),
        (ends(*_WALLS) & ends(*_JOINTS), 6.0, "a wall that ends at a joint"),
        (
            ends(Place.BREAK_LOWER, Place.JOINT_LOWER) & ends(Place.RAKE),
            12.0,
            "a joint that runs on past the upper plane",
        ),
    )
    for places, inches, why in known:
        for place in sorted(places):
            yield place, inches * INCH, why
    for spot in _crowded(plane):
        yield spot, _FARTHER, "an opening at the border of a plane"
    for one, two in _neighbours(plane):
        yield from _folded(one, two)


def _depth(plane: LaidPlane, side: Side, most: float) -> float:
    """Return how far a plane reaches square to the middle of a side, no more than ``most``."""
    (x0, y0), (x1, y1) = side.start, side.end
    size = math.dist(side.start, side.end)
    x, y = (x0 + x1) / 2.0, (y0 + y1) / 2.0
    dx, dy = most * (y0 - y1) / size, most * (x1 - x0) / size
    ray = shapely.LineString([(x, y), (x + dx, y + dy)])
    return float(shapely.intersection(ray, plane.outline).length)


def _peaks(plane: LaidPlane) -> set[Point2]:
    """Return the upper ends of the valleys of a plane."""
    return {
        max(side.start, side.end, key=lambda end: end[1])
        for side in plane.sides
        if side.border is Place.VALLEY
    }


def _folded(one: Side, two: Side) -> Iterator[tuple[Point2, float, str]]:
    if _ices(one, two):
        yield one.end, _FARTHER, "an eave that ends at a short edge, askew"
    if _stub(one, two):
        yield one.end, _FIT, "an edge too short for its metal"
    if _short_wall(one, two):
        yield one.end, _FARTHER, "a wall too short for what ends at it"
    if why := _tied(one, two):
        alike = one.border is two.border and one.border in {Place.VALLEY, Place.JOINT_VALLEY}
        yield one.end, _NEAR if alike else _FAR + max(one.rise, two.rise), why


def _crowded(plane: LaidPlane) -> Iterator[Point2]:
    """Yield where the rims of openings come so near a border that no flashing fits between."""
    border = [_line(side) for side in plane.sides if side.border not in _RIMS]
    for side in plane.sides:
        if side.border not in _RIMS:
            continue
        rim = _line(side)
        for line in border:
            if rim.distance(line) < _FIT:
                spot = nearest_points(rim, line)[1]
                yield (float(spot.x), float(spot.y))


def _line(side: Side) -> shapely.LineString:
    return shapely.LineString([side.start, side.end])


def _neighbours(plane: LaidPlane) -> Iterator[tuple[Side, Side]]:
    """Give sides that follow each other, ring by ring."""
    ring: list[Side] = []
    for side in plane.sides:
        ring.append(side)
        if side.end == ring[0].start:
            yield from pairwise([*ring, ring[0]])
            ring = []


def _tied(one: Side, two: Side) -> str:
    """Return why a corner of two sides is folded by hand; empty where it is not."""
    both = {one.border, two.border}
    if both <= _SEAMS and one.neighbour != two.neighbour:
        return "three planes that meet, none of them at a hip"
    if both & (_SEAMS - {Place.VALLEY}) and both & _ENDS and _askew(one, two):
        return "a joint or break that ends askew"
    if Place.HIP in both and both & _FREE and _inside(one, two):
        return "a hip that ends at an inside corner of eaves"
    return ""


def _inside(one: Side, two: Side) -> bool:
    """Return whether a corner turns right: the plane lies on the left."""
    (ax, ay), (bx, by) = (
        (side.end[0] - side.start[0], side.end[1] - side.start[1]) for side in (one, two)
    )
    return ax * by - ay * bx < 0.0


def _ices(one: Side, two: Side) -> bool:
    """Return whether what runs up from an eave is cut on the line of an edge that ends sooner."""
    other = two if one.border is Place.EAVE else one
    short = math.dist(other.start, other.end) < _FAR and other.border in _ENDS - {Place.EAVE}
    return Place.EAVE in {one.border, two.border} and short and _askew(one, two)


def _stub(one: Side, two: Side) -> bool:
    both = {one.border, two.border}
    short = min(math.dist(side.start, side.end) for side in (one, two)) < _FIT
    return short and bool(both & _FREE) and both <= _FREE | _SEAMS


def _short_wall(one: Side, two: Side) -> bool:
    """Return whether a break ends at a wall that is shorter than its lining is wide."""
    return any(
        wall.border in _WALLS
        and seam.border in {Place.BREAK_UPPER, Place.BREAK_LOWER}
        and math.dist(wall.start, wall.end) < _FAR
        for wall, seam in ((one, two), (two, one))
    )


def _askew(one: Side, two: Side) -> bool:
    (ax, ay), (bx, by) = (
        (side.end[0] - side.start[0], side.end[1] - side.start[1]) for side in (one, two)
    )
    lengths = math.hypot(ax, ay) * math.hypot(bx, by)
    return abs(ax * bx + ay * by) > _SQUARE * lengths
