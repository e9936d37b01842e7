"""The sides of a plane: on which edge of the roof each lies, and what it is from this plane."""

from __future__ import annotations

import itertools
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
import shapely

from roof3d.catalog.laying import Border
from roof3d.errors import InvariantError
from roof3d.layout.borders.frame import to_plane, to_space
from roof3d.layout.joint import JointRule, first_gap, membrane_rise
from roof3d.layout.model import Floats, PlaneFrame, Point2, Side
from roof3d.roof.model import Edge, Plane, Ring3, Role, Roof, RoofOpening
from roof3d.spec.model import OpeningKind
from roof3d.tolerance import DEFAULT, Tolerance

MEMBRANE: Final = "membrane"

_AS_THE_ROLE: Final = {
    Role.EAVE: Border.EAVE,
    Role.RAKE: Border.RAKE,
    Role.HIGH_EDGE: Border.HIGH_EDGE,
    Role.RIDGE: Border.RIDGE,
    Role.HIP: Border.HIP,
    Role.HEADWALL: Border.HEADWALL,
    Role.SIDEWALL: Border.SIDEWALL,
}


#: What ends a membrane that is carried up out of a valley, at its foot.
_STOPS: Final = frozenset({Border.EAVE, Border.HEADWALL, Border.SIDEWALL})


@dataclass(frozen=True, slots=True)
class _Line:
    """A straight piece of a roof edge or of an opening's rim."""

    of: Edge | RoofOpening
    start: Floats
    end: Floats


@dataclass(frozen=True, slots=True)
class _Run:
    """Where a line lies on a side: from and to, metres from the side's start, and how far off."""

    line: _Line
    low: float
    high: float
    off: float


def sides_of(
    roof: Roof,
    plane: Plane,
    frame: PlaneFrame,
    kinds: Mapping[str, str],
    walls: Mapping[str, shapely.Polygon],
    *,
    rule: JointRule = JointRule(),
    tol: Tolerance = DEFAULT,
) -> tuple[Side, ...]:
    """Return every straight side of a plane's outline with what it is.

    Parameters
    ----------
    roof : Roof
    plane : Plane
        One of ``roof.planes``.
    frame : PlaneFrame
        Of that plane.
    kinds : mapping
        Plane id to ``membrane`` or ``shingle``, for every plane of the roof.
    walls : mapping
        Section id to its walls in plan; eaves of a section that is missing have no overhang.
    rule : JointRule
        Lengths that joints of membrane and shingles keep.
    tol : Tolerance

    Returns
    -------
    tuple[Side, ...]
        Along the outer ring from its first corner, then hole by hole, each ending where the
        next begins. Together they are the whole outline, once.

    Raises
    ------
    InvariantError
        If no edge explains a stretch of the outline longer than ``tol.edge_off``.
    """
    lines = _lines(roof, plane)
    sides: list[Side] = []
    for ring in (plane.outline, *plane.holes):
        found: list[tuple[_Line | None, tuple[Point2, Point2]]] = []
        flat = [(float(u), float(v)) for u, v in to_plane(frame, ring)]
        for k, start in enumerate(ring):
            after = (k + 1) % len(ring)
            stretch = np.array([start, ring[after]])
            where = f"planes[{plane.id}], side {k}"
            for here, low, high in _pieces(stretch, lines, where=where, tol=tol):
                ends = (_between(flat[k], flat[after], low), _between(flat[k], flat[after], high))
                found.append((here, ends))
        known = [line for line, _ in found if line is not None]
        if not known:
            raise InvariantError("no edge explains a whole ring", where=f"planes[{plane.id}]")
        line = known[-1]
        labelled = []
        for own, ends in found:
            line = own or line  # a crumb goes with the side before it
            labelled.append(_side(roof, plane, line, ends, kinds, rule, tol))
        sides.extend(_joined(labelled, tol))
    sides = [_with_foot(side, sides, roof, plane, frame, kinds, tol) for side in sides]
    return tuple(
        replace(side, overhang=_overhang(frame, side, walls[plane.section], tol))
        if side.border is Border.EAVE and plane.section in walls
        else side
        for side in sides
    )


def _lines(roof: Roof, plane: Plane) -> list[_Line]:
    """Everything that may bound a plane, in straight pieces."""

    def piece(of: Edge | RoofOpening, ends: Ring3) -> _Line:
        return _Line(of, np.array(ends[0]), np.array(ends[1]))

    lines = [piece(edge, edge.ends) for edge in roof.edges if plane.id in edge.planes]
    for opening in roof.openings:
        if plane.id in opening.planes:
            for rim in opening.rim:
                lines.extend(piece(opening, ends) for ends in itertools.pairwise(rim))
    return lines


def _pieces(
    stretch: Floats, lines: list[_Line], *, where: str, tol: Tolerance
) -> list[tuple[_Line | None, float, float]]:
    """Part one side of the outline where lines begin and end; shares of its length.

    A crumb on which no line lies has None.
    """
    length = float(np.linalg.norm(stretch[1] - stretch[0]))
    runs = [run for line in lines if (run := _run(stretch, length, line, tol)) is not None]
    cuts = [0.0]
    for cut in sorted(end for run in runs for end in (run.low, run.high)):
        if cut > cuts[-1] + tol.edge_off and cut < length - tol.edge_off:
            cuts.append(cut)
    pieces: list[tuple[_Line | None, float, float]] = []
    for low, high in zip(cuts, [*cuts[1:], length], strict=True):
        middle = (low + high) / 2.0
        there = [run for run in runs if run.low <= middle <= run.high]
        if not there and high - low > tol.edge_off:
            raise InvariantError(f"no edge explains {high - low:.6f} m of it", where=where)
        nearest = min(there, key=lambda run: run.off).line if there else None
        pieces.append((nearest, low / length, high / length))
    return pieces


def _run(stretch: Floats, length: float, line: _Line, tol: Tolerance) -> _Run | None:
    """Return how far a line lies on a side, in space; None where it does not."""
    along = (stretch[1] - stretch[0]) / length
    first = float((line.start - stretch[0]) @ along)
    last = float((line.end - stretch[0]) @ along)
    low, high = max(0.0, min(first, last)), min(length, max(first, last))
    if high - low <= min(tol.merge, length / 2.0):
        return None
    off = 0.0
    for at in (low, high):
        on_line = line.start + (at - first) / (last - first) * (line.end - line.start)
        off = max(off, float(np.linalg.norm(on_line - stretch[0] - at * along)))
    return _Run(line, low, high, off) if off <= tol.edge_off else None


def _between(start: Point2, end: Point2, share: float) -> Point2:
    """Return the point at that share of a side; its ends exactly."""
    if share in (0.0, 1.0):
        return end if share else start
    return (start[0] + share * (end[0] - start[0]), start[1] + share * (end[1] - start[1]))


def _side(
    roof: Roof,
    plane: Plane,
    line: _Line,
    ends: tuple[Point2, Point2],
    kinds: Mapping[str, str],
    rule: JointRule,
    tol: Tolerance,
) -> Side:
    start, end = ends
    if isinstance(line.of, RoofOpening):
        border = _rim_border(line.of.kind, plane, start, end, tol)
        return Side(border=border, edge=line.of.id, start=start, end=end)
    edge = line.of
    beyond = next((other for other in edge.planes if other != plane.id), "")
    joint = beyond != "" and kinds[beyond] != kinds[plane.id]
    border = _border(edge, plane, joint=joint)
    side = Side(
        border=border,
        edge=edge.id,
        start=start,
        end=end,
        neighbour=beyond,
        parapet=0.0 if edge.parapet is None else max(edge.wall_heights or (0.0,)),
    )
    if border not in (Border.JOINT_UPPER, Border.JOINT_LOWER, Border.JOINT_VALLEY):
        return side
    other = roof.plane(beyond)
    low, steep = (plane, other) if kinds[plane.id] == MEMBRANE else (other, plane)
    # A membrane above shingles ends at the joint: nothing is carried up.
    carried = border is Border.JOINT_VALLEY or edge.planes[0] == steep.id
    return replace(
        side,
        rise=_rise(edge, steep, rule, tol) if carried else 0.0,
        gap=first_gap(low.slope, rule, tol=tol).metres,
    )


def _border(edge: Edge, plane: Plane, *, joint: bool) -> Border:
    if edge.role in _AS_THE_ROLE:
        return _AS_THE_ROLE[edge.role]
    if edge.role is Role.VALLEY:
        return Border.JOINT_VALLEY if joint else Border.VALLEY
    if edge.planes[0] == plane.id:
        return Border.JOINT_UPPER if joint else Border.BREAK_UPPER
    return Border.JOINT_LOWER if joint else Border.BREAK_LOWER


def _rim_border(
    kind: OpeningKind, plane: Plane, start: Point2, end: Point2, tol: Tolerance
) -> Border:
    """Return what a side of a rim is; the plane lies on its left."""
    across, up = end[0] - start[0], end[1] - start[1]
    if kind is OpeningKind.PIPE:
        return Border.PIPE
    if kind is OpeningKind.DRAIN:
        return Border.DRAIN
    # On a turned rim every side has a share of both: it is a foot or head up to 45 degrees.
    if plane.slope <= tol.slope or abs(up) > abs(across) + tol.merge:
        return Border.OPENING_SIDE
    return Border.OPENING_FOOT if across < 0.0 else Border.OPENING_HEAD


def _rise(edge: Edge, steep: Plane, rule: JointRule, tol: Tolerance) -> float:
    """Return how far a membrane is carried up a steep plane, but never past its far end."""
    start, end = (np.array(point) for point in edge.ends)
    square = np.cross(np.array(steep.normal), (end - start) / edge.length)
    deep = float(np.abs((np.array(steep.outline) - start) @ square).max())
    lift = abs(float(square[2]))
    if lift <= tol.slope:  # along the fall nothing is gained in height
        return min(rule.rise_along.metres, deep)
    return min(membrane_rise(lift, rule), deep)


def _with_foot(
    side: Side,
    sides: Sequence[Side],
    roof: Roof,
    plane: Plane,
    frame: PlaneFrame,
    kinds: Mapping[str, str],
    tol: Tolerance,
) -> Side:
    """Say where the membrane begins that is carried up onto shingles' ground out of a valley.

    It is carried up along its own plane's end alone: that may run on under this one.
    """
    if side.rise <= 0.0 or kinds[plane.id] == MEMBRANE:
        return side
    edge, beyond = roof.edge(side.edge), roof.plane(side.neighbour)
    stretch = to_space(frame, (side.start, side.end))
    length = float(np.linalg.norm(stretch[1] - stretch[0]))
    runs = [
        run
        for ring in (beyond.outline, *beyond.holes)
        for one, two in itertools.pairwise((*ring, ring[0]))
        if (run := _run(stretch, length, _Line(edge, np.array(one), np.array(two)), tol))
    ]
    if not runs:
        return replace(side, rise=0.0)
    if side.border is not Border.JOINT_VALLEY:
        return side
    upward = side.start[1] < side.end[1]
    low = side.start if upward else side.end
    ends = [run.low if upward else length - run.high for run in runs]
    begins = min(ends, default=0.0)
    meets = any(other.border in _STOPS and low in (other.start, other.end) for other in sides)
    if begins <= tol.edge_off and not meets:
        return side
    share = begins / length if upward else 1.0 - begins / length
    return replace(side, foot=_between(side.start, side.end, share))


def _joined(sides: list[Side], tol: Tolerance) -> list[Side]:
    """Join neighbours of one ring that lie on one edge and in one line."""

    def one(a: Side, b: Side) -> bool:
        if replace(a, start=b.start, end=b.end) != b:
            return False
        ax, ay = a.end[0] - a.start[0], a.end[1] - a.start[1]
        bx, by = b.end[0] - b.start[0], b.end[1] - b.start[1]
        size = math.hypot(ax, ay) * math.hypot(bx, by)
        return abs(ax * by - ay * bx) <= tol.in_line * size and ax * bx + ay * by > 0.0

    joined: list[Side] = []
    for side in sides:
        if joined and one(joined[-1], side):
            joined[-1] = replace(joined[-1], end=side.end)
        else:
            joined.append(side)
    if len(joined) > 1 and one(joined[-1], joined[0]):
        joined[0] = replace(joined[0], start=joined.pop().start)
    return joined


def _overhang(frame: PlaneFrame, side: Side, walls: shapely.Polygon, tol: Tolerance) -> float:
    """Plan distance from the middle of an eave straight in to the wall line."""
    (ux, uy, _), (vx, vy, _) = frame.along, frame.up
    across, up = side.end[0] - side.start[0], side.end[1] - side.start[1]
    dx, dy = across * ux + up * vx, across * uy + up * vy
    run = math.hypot(dx, dy)
    u, v = (side.start[0] + side.end[0]) / 2.0, (side.start[1] + side.end[1]) / 2.0
    x, y = frame.origin[0] + u * ux + v * vx, frame.origin[1] + u * uy + v * vy
    middle = shapely.Point(x, y)
    if walls.boundary.distance(middle) <= tol.merge:
        return 0.0
    sign = -1.0 if walls.contains(middle) else 1.0
    west, south, east, north = walls.union(middle).bounds
    reach = sign * math.hypot(east - west, north - south)
    ray = shapely.LineString([middle, (x - dy / run * reach, y + dx / run * reach)])
    hit = ray.intersection(walls.boundary)
    return 0.0 if hit.is_empty else sign * float(middle.distance(hit))
