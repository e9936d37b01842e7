"""Margins square to the sides of an outline, outside and inside it, and what fills their corners.

Directions are unit vectors; the plane lies on the left of a side. At a corner the outline turns
left where it is convex, right where it is not.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final

import shapely

from roof3d.catalog.laying import Border
from roof3d.errors import InvariantError
from roof3d.layout.joint import FOOT_LAP
from roof3d.layout.model import Point2, Side
from roof3d.tolerance import Tolerance

MITRE: Final = 4.0
"""Longest mitre, in distances of the farther side; a longer one is cut."""


@dataclass(frozen=True, slots=True)
class MovedSide:
    """A side and how far it is moved, outward positive, metres.

    And its ``foot``, if it has one, and ``below``, the plane from which membrane or lining comes
    up out of a valley, if any does.
    """

    start: Point2
    end: Point2
    distance: float
    foot: Point2 | None = None
    below: str = ""

    @property
    def length(self) -> float:
        """Metres."""
        return math.dist(self.start, self.end)

    @property
    def along(self) -> Point2:
        """Unit vector from start to end."""
        length = self.length
        return ((self.end[0] - self.start[0]) / length, (self.end[1] - self.start[1]) / length)

    def band(self, low: float, high: float, away: float) -> shapely.Polygon:
        """Return the rectangle from ``low`` to ``high`` along it and ``away`` from it."""
        return self.margin((low, high), (low, high), away)

    def margin(
        self, near: tuple[float, float], far: tuple[float, float], away: float
    ) -> shapely.Polygon:
        """Return the margin from ``near`` on the side's own line to ``far``, ``away`` from it.

        Both are places along the side, metres; skewed ends that cross make a triangle.
        """
        along, out = self.along, _outward(self)
        width, lost = near[1] - near[0], (near[1] - near[0]) - (far[1] - far[0])
        if lost > width:
            share = width / lost
            tip = near[0] + share * (far[0] - near[0])
            far, away = (tip, tip), share * away
        places = ((near[0], 0.0), (near[1], 0.0), (far[1], away), (far[0], away))
        return shapely.Polygon([_step(_step(self.start, along, x), out, y) for x, y in places])


@dataclass(frozen=True, slots=True)
class Corner:
    """Where one side ends and the next begins; ``sin`` and ``cos`` of the turn, left positive."""

    before: MovedSide
    after: MovedSide
    sin: float
    cos: float


def corners_of(
    sides: Sequence[Side], distances: Sequence[float], *, tol: Tolerance, lapped: bool = False
) -> tuple[tuple[Corner, ...], ...]:
    """Return the corner at the start of every side, ring by ring.

    Parameters
    ----------
    sides : sequence of Side
        Ring after ring, each side ending where the next begins.
    distances : sequence of float
        One a side, metres, outward positive.
    tol : Tolerance
    lapped : bool
        Whether what is moved inward must lap what comes up from below at its ends too.

    Returns
    -------
    tuple of tuples of Corner
        One a side, in order.

    Raises
    ------
    InvariantError
        If the sides do not close to rings.
    """
    rings: list[tuple[Corner, ...]] = []
    ring: list[MovedSide] = []
    for side, distance in zip(sides, distances, strict=True):
        if ring and math.dist(ring[-1].end, side.start) > tol.merge:
            raise InvariantError("sides do not follow each other", where=side.edge)
        moved = MovedSide(side.start, side.end, distance)
        if lapped and (side.border is Border.VALLEY or side.rise > 0.0):
            moved = replace(moved, foot=side.foot, below=side.neighbour)
        ring.append(moved)
        if len(ring) > 2 and math.dist(side.end, ring[0].start) <= tol.merge:
            befores = (ring[-1], *ring[:-1])
            rings.append(tuple(_corner(a, b) for a, b in zip(befores, ring, strict=True)))
            ring = []
    if ring:
        raise InvariantError("sides do not close to a ring", where=sides[-1].edge)
    return tuple(rings)


def _corner(before: MovedSide, after: MovedSide) -> Corner:
    (ax, ay), (bx, by) = before.along, after.along
    return Corner(before, after, ax * by - ay * bx, ax * bx + ay * by)


def inner_margins(
    corners: Sequence[Corner], *, tol: Tolerance, square: bool = False, filled: bool = True
) -> Iterator[shapely.Polygon]:
    """Yield what the sides of a ring leave behind inward; it may run past the outline.

    A margin ends on the line of the neighbour, as one would cut it along a chalk line; ``square``,
    it ends square to its side past the neighbour's own end. Beside the foot of a membrane it ends
    along the fall, where the membrane still lies below. Above a peak to which two valleys come up
    it ends square, on what lies in each: between them nothing is left behind. ``filled`` is
    whether anything is in another corner that turns right.
    """
    ends = _ends(corners)
    for corner in corners:
        side, last = corner.after, ends[corner.after]
        if side.distance < 0.0:
            low = 0.0 if _both_inside(corner) else -_run_on(corner, 0.0, side.distance, tol)
            high = 0.0 if _both_inside(last) else _run_on(last, 0.0, side.distance, tol)
            bent = _bent(corner, last, corners, (low, side.length + high), tol) if square else None
            short = (_short_of(corner, side.start, side, tol), _short_of(last, side.end, side, tol))
            near = (short[0], side.length - short[1])
            far = (low + near[0], near[1] + high)
            if near[1] - near[0] > tol.merge:
                margin = bent or side.margin(near, far, side.distance)
                yield _from_foot(_with_foot(side, corner, last, tol), margin)
            turned = filled and _both_inside(corner) and corner.sin < -tol.in_line
            if turned and not _is_peak(corner, tol):
                yield _corner_piece(corner, -1.0, cut=False)


def _is_peak(corner: Corner, tol: Tolerance) -> bool:
    """Return whether what lies below comes up from two planes at a corner, with a gap between."""
    below, deep = corner.before.below, min(-corner.before.distance, -corner.after.distance)
    return (
        bool(below and corner.after.below)
        and below != corner.after.below
        and deep > FOOT_LAP - tol.merge
    )


def _short_of(corner: Corner, at: Point2, side: MovedSide, tol: Tolerance) -> float:
    """Return how far short of a peak a margin ends, so that what is left laps what lies below."""
    upper = at[1] >= max(side.start[1], side.end[1]) - tol.merge
    return FOOT_LAP if upper and _both_inside(corner) and _is_peak(corner, tol) else 0.0


def _with_foot(side: MovedSide, corner: Corner, last: Corner, tol: Tolerance) -> MovedSide:
    """Return a side with its foot, which may be where another valley goes on down from it."""
    for at, end, other in ((corner, side.start, side.end), (last, side.end, side.start)):
        down = end[1] < other[1] - tol.merge
        if down and side.foot is None and _both_inside(at) and _is_peak(at, tol):
            return replace(side, foot=end)
    return side


def _from_foot(side: MovedSide, margin: shapely.Polygon) -> shapely.Geometry:
    """Return what of a margin lies above the foot of its side, less what laps the membrane."""
    if side.foot is None:
        return margin
    low, high = sorted((side.start, side.end), key=lambda end: end[1])
    way = math.copysign(1.0, high[0] - low[0])
    at = side.foot[0] + way * FOOT_LAP
    u0, v0, u1, v1 = margin.bounds
    kept = (
        shapely.box(at, v0, max(u1, at), v1) if way > 0.0 else shapely.box(min(u0, at), v0, at, v1)
    )
    parts = shapely.get_parts(shapely.intersection(margin, kept))
    return shapely.union_all([part for part in parts if part.geom_type == "Polygon"])


def _bent(
    corner: Corner,
    last: Corner,
    corners: Sequence[Corner],
    far: tuple[float, float],
    tol: Tolerance,
) -> shapely.Polygon | None:
    """Return a margin inward that goes along its neighbours as far as they go, then square.

    None where both go far enough, or would meet before.
    """
    side, deep = corner.after, -corner.after.distance
    ends = []
    for at, way, place, run in ((corner, -1, 0.0, far[0]), (last, 1, side.length, far[1])):
        high = _height(at, corners, way, tol) if at.sin > tol.in_line else 0.0
        if at.sin < -tol.in_line and not _both_inside(at):
            ends.append([(place, 0.0), (place, deep)])
        elif 0.0 < high < deep - tol.merge:
            turn = place + way * high * at.cos / at.sin
            ends.append([(place, 0.0), (turn, high), (turn, deep)])
        else:
            ends.append([(place, 0.0), (run, deep)])
    if len(ends[0]) + len(ends[1]) == 4 or ends[0][-1][0] >= ends[1][-1][0] - tol.merge:
        return None
    along, out = side.along, _outward(side)
    places = (*ends[0], *reversed(ends[1]))
    return shapely.Polygon([_step(_step(side.start, along, x), out, -y) for x, y in places])


def _height(corner: Corner, corners: Sequence[Corner], way: int, tol: Tolerance) -> float:
    """Return how far from the other side of a corner a neighbour goes, with what is in line."""
    index = next(k for k, one in enumerate(corners) if one is corner)
    length = (corner.before if way < 0 else corner.after).length
    for step in range(1, len(corners)):
        other = corners[(index + way * step) % len(corners)]
        if abs(other.sin) > tol.in_line or other.cos < 0.0:
            break
        length += (other.before if way < 0 else other.after).length
    return length * abs(corner.sin)


def outer_margins(
    corners: Sequence[Corner], rest: shapely.Geometry, *, cut_corners: bool, tol: Tolerance
) -> Iterator[shapely.Polygon]:
    """Yield what the sides of a ring gain outward, where ``rest`` of the plane lies behind them.

    A margin ends square, but on the moved line of a neighbour that moves inward.
    """
    ends = _ends(corners)
    for corner in corners:
        side, last = corner.after, ends[corner.after]
        if side.distance <= 0.0:
            continue
        near, far = [0.0, side.length], [0.0, side.length]
        if (other := corner.before.distance) < 0.0:
            high = min(side.distance, _height(corner, corners, -1, tol))
            near[0], far[0] = (-_run_on(corner, other, away, tol) for away in (0.0, high))
        if (other := last.after.distance) < 0.0:
            high = min(side.distance, _height(last, corners, 1, tol))
            near[1], far[1] = (
                side.length + _run_on(last, other, away, tol) for away in (0.0, high)
            )
        for low, high in _backed(side, near[0], near[1], rest, tol):
            one = (near[0], far[0]) if low - near[0] < tol.edge_off else (low, low)
            two = (near[1], far[1]) if near[1] - high < tol.edge_off else (high, high)
            yield side.margin((one[0], two[0]), (one[1], two[1]), side.distance)
        turned = corner.sin > tol.in_line and corner.before.distance > 0.0
        if turned and rest.distance(shapely.Point(side.start)) <= tol.edge_off:
            yield _corner_piece(corner, 1.0, cut=cut_corners)


def _backed(
    side: MovedSide, low: float, high: float, rest: shapely.Geometry, tol: Tolerance
) -> Iterator[tuple[float, float]]:
    """Yield from where to where along a side the plane is still there just behind it."""
    along, out = side.along, _outward(side)
    ends = [_step(_step(side.start, along, x), out, -tol.merge) for x in (low, high)]
    if high - low <= tol.merge:
        return
    there = shapely.intersection(shapely.LineString(ends), rest)
    for part in shapely.get_parts(there) if not there.is_empty else ():
        places = shapely.get_coordinates(part) - side.start
        reached = places[:, 0] * along[0] + places[:, 1] * along[1]
        if reached.max() - reached.min() > tol.merge:
            yield float(reached.min()), float(reached.max())


def _ends(corners: Sequence[Corner]) -> dict[MovedSide, Corner]:
    """Return the corner at the end of every side."""
    return {corner.before: corner for corner in corners}


def _both_inside(corner: Corner) -> bool:
    """Whether it turns right and both sides move inward: their margins leave a gap between."""
    return corner.sin < 0.0 and corner.before.distance < 0.0 and corner.after.distance < 0.0


def _run_on(corner: Corner, other: float, away: float, tol: Tolerance) -> float:
    """Return how far past a corner a side, moved ``away``, meets its neighbour moved ``other``.

    Negative where they meet before it; 0 where they hardly turn: margins then end square.
    """
    # The limit is moved off a quarter, a sine that drawn roofs have: rounding must not decide.
    if abs(corner.sin) < 1.0 / MITRE + tol.parallel:
        return 0.0
    run = (other - away * corner.cos) / corner.sin
    # Past a neighbour that doubles back it would run on as a spike.
    back = corner.sin < 0.0 and corner.cos < 0.0 and other == 0.0
    return min(run, abs(away)) if back else run


def _corner_piece(corner: Corner, sign: float, *, cut: bool) -> shapely.Polygon:
    """Return what fills the gap between two margins at a corner.

    Their outer lines are run on to where they meet. Where one margin is so much the wider that
    they meet within it, the narrower runs on to its end. Cut, or too sharp: a triangle.
    ``sign`` is -1 for margins inside a corner that turns right.
    """
    point = corner.after.start
    sin, cos = sign * corner.sin, corner.cos
    one, two = sign * corner.before.distance, sign * corner.after.distance
    out_one, out_two = _outward(corner.before), _outward(corner.after)
    end_one = _step(point, out_one, sign * one)
    end_two = _step(point, out_two, sign * two)
    on, back = (two - one * cos) / sin, (one - two * cos) / sin
    mitre = _step(end_one, corner.before.along, on)
    if cut or math.dist(mitre, point) > MITRE * max(one, two):
        return shapely.Polygon([point, end_one, end_two])
    if on <= 0.0:
        return shapely.Polygon([point, _step(point, out_one, sign * two / cos), end_two])
    if back <= 0.0:
        return shapely.Polygon([point, end_one, _step(point, out_two, sign * one / cos)])
    return shapely.Polygon([point, end_one, mitre, end_two])


def _outward(side: MovedSide) -> Point2:
    along = side.along
    return (along[1], -along[0])


def _step(point: Point2, direction: Point2, far: float) -> Point2:
    return (point[0] + far * direction[0], point[1] + far * direction[1])
