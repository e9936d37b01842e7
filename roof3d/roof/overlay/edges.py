"""Edges of the roof and their roles, read off the overlay."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from roof3d.geometry.arrangement import ArrangementEdge
from roof3d.geometry.plane import HeightPlane, Point2
from roof3d.roof.model import Parapet, Role
from roof3d.roof.overlay.regions import RegionKey, sides
from roof3d.roof.overlay.sheets import Overlay, Sheet
from roof3d.tolerance import Tolerance


@dataclass(frozen=True, slots=True, kw_only=True)
class EdgeRecord:
    """One straight edge of one or two regions, local coordinates.

    Attributes
    ----------
    role : Role
    regions : tuple of int
        One or two region numbers; for water crossing, the one it leaves comes first.
    ends : two plan points
    convex : bool
    wall : int
        Section whose wall stands on the edge, or -1.
    wall_area : float
        Of that wall above the roof, square metres.
    parapet : Parapet or None
        Where that wall is a parapet of the roof itself; told in ``parapets``.
    """

    role: Role
    regions: tuple[int, ...]
    ends: tuple[Point2, Point2]
    convex: bool
    wall: int = -1
    wall_area: float = 0.0
    parapet: Parapet | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class RimRecord:
    """A piece of an opening's rim on one region."""

    opening: int
    region: int
    ends: tuple[Point2, Point2]


@dataclass(frozen=True, slots=True)
class _Sloping:
    """How one plane lies at an edge: rise along it, and rise inward from it."""

    along: float
    inward: float

    def level(self, tol: Tolerance) -> bool:
        """Whether the edge is level for its plane, as near as walls are drawn."""
        return abs(self.along) <= tol.level_share * math.hypot(self.along, self.inward)


def find_edges(
    built: Overlay,
    region_of: Mapping[RegionKey, int],
    is_low: Sequence[bool],
    *,
    tol: Tolerance,
) -> tuple[tuple[EdgeRecord, ...], tuple[RimRecord, ...]]:
    """Give every side of every arrangement edge its role, then join straight pieces.

    Parameters
    ----------
    built : Overlay
    region_of : mapping
        As ``find_regions`` returns it.
    is_low : sequence of bool
        For each region whether it is a low-slope plane.
    tol : Tolerance

    Returns
    -------
    edges : tuple[EdgeRecord, ...]
    rims : tuple[RimRecord, ...]
    """
    pieces: dict[tuple[object, ...], list[EdgeRecord]] = defaultdict(list)
    rims: list[RimRecord] = []
    for edge in built.arrangement.edges:
        seen: set[tuple[int, ...]] = set()
        for cell, other in sides(edge):
            for sheet in built.live(cell):
                if sheet.opening >= 0:
                    continue
                found = _edge_of_sheet(built, region_of, is_low, edge, sheet, other, tol)
                if isinstance(found, RimRecord):
                    rims.append(found)
                elif found is not None and tuple(sorted(found.regions)) not in seen:
                    seen.add(tuple(sorted(found.regions)))
                    key = (found.role, found.regions, found.wall, found.convex)
                    pieces[key].append(found)
    joined = [record for group in pieces.values() for record in join_straight(group, tol)]
    return tuple(r for r in joined if math.dist(*r.ends) > tol.merge), tuple(rims)


def _edge_of_sheet(
    built: Overlay,
    region_of: Mapping[RegionKey, int],
    is_low: Sequence[bool],
    edge: ArrangementEdge,
    sheet: Sheet,
    other: int,
    tol: Tolerance,
) -> EdgeRecord | RimRecord | None:
    """Return what one sheet has at one arrangement edge; None where it goes on."""
    ends = built.ends(edge)
    region = region_of[(sheet.cell, sheet.plane_class)]
    plane = built.plane(sheet)
    across = built.live(other)
    same = next((s for s in across if s.plane_class == sheet.plane_class), None)
    if same is not None:
        return _same_plane(region_of, region, same, ends)
    partner = _partner(built, edge, sheet, across, tol)
    mine = _sloping(built, edge, plane, left=sheet.cell == edge.left)
    if partner is not None:
        if partner.opening >= 0:
            return RimRecord(opening=partner.opening, region=region, ends=ends)
        theirs = _sloping(built, edge, built.plane(partner), left=sheet.cell != edge.left)
        regions = (region, region_of[(partner.cell, partner.plane_class)])
        return _shared(regions, mine, theirs, is_low, ends, tol)
    wall, rise = _wall(built, edge, sheet, other, tol)
    if wall >= 0:
        return EdgeRecord(
            role=Role.HEADWALL if mine.level(tol) else Role.SIDEWALL,
            regions=(region,),
            ends=ends,
            convex=False,
            wall=wall,
            wall_area=math.dist(*ends) * rise,
        )
    return EdgeRecord(role=_free_role(mine, tol), regions=(region,), ends=ends, convex=True)


def _same_plane(
    region_of: Mapping[RegionKey, int], region: int, beyond: Sheet, ends: tuple[Point2, Point2]
) -> EdgeRecord | RimRecord | None:
    """Return what there is where a plane runs on: nothing, a rim, or another covering."""
    if beyond.opening >= 0:
        return RimRecord(opening=beyond.opening, region=region, ends=ends)
    other = region_of[(beyond.cell, beyond.plane_class)]
    if other == region:
        return None
    pair = (min(region, other), max(region, other))
    return EdgeRecord(role=Role.PITCH_BREAK, regions=pair, ends=ends, convex=False)


def _partner(
    built: Overlay, edge: ArrangementEdge, sheet: Sheet, across: Sequence[Sheet], tol: Tolerance
) -> Sheet | None:
    """Find the sheet that meets this one from the other side, one that ends here if any."""
    plane = built.plane(sheet)
    meeting = [s for s in across if built.meet(built.plane(s), plane, edge, tol.height)]
    here = {s.plane_class for s in built.live(sheet.cell)}
    meeting.sort(key=lambda s: s.plane_class in here)
    return meeting[0] if meeting else None


def _sloping(built: Overlay, edge: ArrangementEdge, plane: HeightPlane, *, left: bool) -> _Sloping:
    """Slopes at an edge from its unrounded line, not from its end points."""
    (ax, ay), (bx, by) = built.ends(edge)
    length = math.dist((ax, ay), (bx, by))
    dx, dy = (bx - ax) / length, (by - ay) / length
    line = built.lines[edge.segment] if edge.segment >= 0 else None
    if line is not None:
        ux, uy = line.direction
        sign = 1.0 if ux * dx + uy * dy > 0.0 else -1.0
        dx, dy = sign * ux, sign * uy
    inward = (-dy, dx) if left else (dy, -dx)
    return _Sloping(plane.along((dx, dy)), plane.along(inward))


def _shared(
    regions: tuple[int, int],
    mine: _Sloping,
    theirs: _Sloping,
    is_low: Sequence[bool],
    ends: tuple[Point2, Point2],
    tol: Tolerance,
) -> EdgeRecord:
    convex = mine.inward + theirs.inward < 0.0
    if mine.inward < -tol.slope and theirs.inward < -tol.slope:
        role = Role.RIDGE if mine.level(tol) and theirs.level(tol) else Role.HIP
    elif mine.inward > tol.slope and theirs.inward > tol.slope:
        role = Role.VALLEY
    else:
        first, second = regions
        role = Role.TRANSITION if is_low[first] != is_low[second] else Role.PITCH_BREAK
        # The plane that rises inward from the edge is the one whose water crosses it.
        ordered = regions if mine.inward >= theirs.inward else (second, first)
        return EdgeRecord(role=role, regions=ordered, ends=ends, convex=convex)
    return EdgeRecord(role=role, regions=tuple(sorted(regions)), ends=ends, convex=convex)


def _wall(
    built: Overlay, edge: ArrangementEdge, sheet: Sheet, other: int, tol: Tolerance
) -> tuple[int, float]:
    """Return the section whose wall the sheet dies into, or -1, and the wall's mean height."""
    best, highest, mean = -1, tol.height, 0.0
    if other < 0:
        return best, mean
    plane = built.plane(sheet)
    ends = built.ends(edge)
    # Its own section too: a gable on a hip stands on the hip.
    for section, roof in built.bodies[other].items():
        rises = [roof.at(p) - plane.at(p) for p in ends]
        base = built.sections[section].base
        if min(rises) < -tol.height or min(plane.at(p) for p in ends) < base - tol.height:
            continue
        if max(rises) > highest:
            best, highest, mean = section, max(rises), sum(rises) / 2.0
    return best, mean


def _free_role(mine: _Sloping, tol: Tolerance) -> Role:
    if not mine.level(tol):
        return Role.RAKE
    return Role.HIGH_EDGE if mine.inward < -tol.slope else Role.EAVE


def join_straight(group: Iterable[EdgeRecord], tol: Tolerance) -> list[EdgeRecord]:
    """Join pieces that follow each other on one straight line."""
    pieces = list(group)
    joined: list[EdgeRecord] = []
    for first in pieces:
        ends = first.ends
        again = True
        if not any(_overlaps(first.ends, done.ends, tol) for done in joined):
            while again:
                again = False
                for piece in pieces:
                    longer = _extended(ends, piece.ends, tol)
                    if longer is not None:
                        ends, again = longer, True
            area = sum(p.wall_area for p in pieces if _overlaps(p.ends, ends, tol))
            joined.append(replace(first, ends=ends, wall_area=area))
    return joined


def _collinear(ends: tuple[Point2, Point2], p: Point2, tol: Tolerance) -> float | None:
    """Distance of p along the line from the first end; None when it is off the line."""
    (ax, ay), (bx, by) = ends
    length = math.dist((ax, ay), (bx, by))
    dx, dy = (bx - ax) / length, (by - ay) / length
    x, y = p[0] - ax, p[1] - ay
    return x * dx + y * dy if abs(x * dy - y * dx) <= tol.merge * 10 else None


def _extended(
    ends: tuple[Point2, Point2], piece: tuple[Point2, Point2], tol: Tolerance
) -> tuple[Point2, Point2] | None:
    """Return the ends run on by a piece that starts where they stop; None if it does not."""
    for near, far in (piece, piece[::-1]):
        along = _collinear(ends, far, tol)
        if along is None:
            continue
        if near == ends[1] and along > math.dist(*ends):
            return (ends[0], far)
        if near == ends[0] and along < 0.0:
            return (far, ends[1])
    return None


def _overlaps(piece: tuple[Point2, Point2], whole: tuple[Point2, Point2], tol: Tolerance) -> bool:
    middle = ((piece[0][0] + piece[1][0]) / 2.0, (piece[0][1] + piece[1][1]) / 2.0)
    along = _collinear(whole, middle, tol)
    return along is not None and 0.0 < along < math.dist(*whole)
