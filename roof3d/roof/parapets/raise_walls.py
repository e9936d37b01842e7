"""Raise parapets: find where a roof ends free, and stand a wall there.

A parapet is a narrow body of its own, from the ground up to its level top. So the overlay does
the rest: the roof under it is not built, what is left ends at its inside face as at any wall,
and the closed solid holds it.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

import shapely

from roof3d.geometry.plane import HeightPlane, PlanLine, Point2, line_through
from roof3d.roof.model import Parapet, Role
from roof3d.roof.overlay.edges import EdgeRecord, find_edges
from roof3d.roof.overlay.regions import Region, find_regions
from roof3d.roof.overlay.sheets import overlay
from roof3d.roof.sections import Face, SectionRoof
from roof3d.spec.model import ParapetSpec, SectionSpec
from roof3d.tolerance import Tolerance

COVERING = "parapet top"
"""No assembly is called so, with its space: the top of a wall never goes on into a roof."""
_FREE = frozenset({Role.EAVE, Role.RAKE, Role.HIGH_EDGE})

Quad = tuple[Point2, Point2, Point2, Point2]


@dataclass(frozen=True, slots=True, kw_only=True)
class WallPiece:
    """A straight piece of a parapet in plan, local coordinates.

    ``quad`` runs counterclockwise: outer start, outer end, inner end, inner start; where two
    pieces meet it ends at the mitre.
    """

    quad: Quad

    @property
    def length(self) -> float:
        """Along the outside face, metres."""
        return math.dist(self.quad[0], self.quad[1])


@dataclass(frozen=True, slots=True, kw_only=True)
class RaisedWall:
    """The parapet of one section.

    Attributes
    ----------
    section : int
        Number of the section that it belongs to.
    spec : ParapetSpec
    top : float
        Height of its level top, metres.
    planes : tuple[HeightPlane, ...]
        Of that section.
    pieces : tuple[WallPiece, ...]
    bodies : tuple[SectionRoof, ...]
        One for each connected part, to overlay with the sections.
    """

    section: int
    spec: ParapetSpec
    top: float
    planes: tuple[HeightPlane, ...]
    pieces: tuple[WallPiece, ...]
    bodies: tuple[SectionRoof, ...]

    def holds(self, plane: HeightPlane, *, tol: Tolerance) -> bool:
        """Return whether a plane is one of those that it goes round."""
        return any(plane.same_as(own, slope=tol.slope, height=tol.height) for own in self.planes)


def raise_walls(
    specs: Sequence[SectionSpec], sections: Sequence[SectionRoof], *, tol: Tolerance
) -> tuple[RaisedWall, ...]:
    """Stand a parapet wherever a section asks for one and its roof ends free.

    Parameters
    ----------
    specs : sequence of SectionSpec
    sections : sequence of SectionRoof
        Built from them, in local coordinates.
    tol : Tolerance

    Returns
    -------
    tuple[RaisedWall, ...]
        In the order of the sections; none for one whose roof nowhere ends free.
    """
    if not any(spec.parapet for spec in specs):
        return ()
    built = overlay(sections, (), tol=tol)
    regions, region_of = find_regions(built, tol=tol)
    records, _ = find_edges(built, region_of, [True] * len(regions), tol=tol)
    raised = []
    for number, (spec, roof) in enumerate(zip(specs, sections, strict=True)):
        if spec.parapet is None:
            continue
        planes = tuple(dict.fromkeys(face.plane for face in roof.faces))
        found = _joined(_free_pieces(spec.parapet, roof, records, regions, planes, tol), tol)
        if found:
            raised.append(_raise_one(number, spec.parapet, roof, planes, found, tol))
    return tuple(raised)


@dataclass(frozen=True, slots=True)
class _Free:
    """A free piece of a roof's rim on a wall, the roof on its left."""

    start: Point2
    end: Point2
    plane: HeightPlane


def _free_pieces(
    parapet: ParapetSpec,
    roof: SectionRoof,
    records: Sequence[EdgeRecord],
    regions: Sequence[Region],
    planes: Sequence[HeightPlane],
    tol: Tolerance,
) -> Iterator[_Free]:
    """Give what ends free of a section's roof along the walls that carry its parapet."""
    for ring_number, ring in enumerate(roof.walls):
        for number, (a, b) in enumerate(zip(ring, (*ring[1:], ring[0]), strict=True)):
            chosen = parapet.sides is None or (ring_number == 0 and number in parapet.sides)
            for record in records if chosen else ():
                plane = regions[record.regions[0]].plane
                if len(record.regions) > 1 or record.role not in _FREE:
                    continue
                if any(plane.same_as(p, slope=tol.slope, height=tol.height) for p in planes):
                    piece = _on_wall(record.ends, a, b, tol)
                    if piece is not None:
                        yield _Free(*piece, plane)


def _joined(pieces: Iterable[_Free], tol: Tolerance) -> list[_Free]:
    """Join pieces of one plane that follow each other in a straight line."""
    left = list(pieces)
    joined: list[_Free] = []
    while left:
        piece = left.pop(0)
        for after in [p for p in left if math.dist(p.start, piece.end) <= tol.snap]:
            if after.plane == piece.plane and _runs_on(piece, after, tol):
                left[left.index(after)] = _Free(piece.start, after.end, piece.plane)
                break
        else:
            for at, before in enumerate(joined):
                if (
                    math.dist(piece.end, before.start) <= tol.snap
                    and piece.plane == before.plane
                    and _runs_on(piece, before, tol)
                ):
                    joined[at] = _Free(piece.start, before.end, piece.plane)
                    break
            else:
                joined.append(piece)
    return joined


def _runs_on(one: _Free, after: _Free, tol: Tolerance) -> bool:
    first, second = line_through(one.start, one.end), line_through(after.start, after.end)
    turn = first.nx * second.ny - first.ny * second.nx
    return abs(turn) <= tol.parallel and first.nx * second.nx + first.ny * second.ny > 0.0


def _on_wall(
    ends: tuple[Point2, Point2], a: Point2, b: Point2, tol: Tolerance
) -> tuple[Point2, Point2] | None:
    """Return the part of an edge that lies on the wall from a to b, in that wall's direction."""
    wall, length = line_through(a, b), math.dist(a, b)
    if any(abs(wall.side(p)) > tol.snap for p in ends):
        return None
    dx, dy = (b[0] - a[0]) / length, (b[1] - a[1]) / length
    along = [((p[0] - a[0]) * dx + (p[1] - a[1]) * dy, p) for p in ends]
    (low, first), (high, last) = sorted(along)
    if min(high, length) - max(low, 0.0) <= tol.crumb_length:
        return None
    # True end points where the edge stays on the wall, so that neighbours share them.
    start = a if low < -tol.snap else first
    end = b if high > length + tol.snap else last
    return start, end


def _raise_one(
    number: int,
    parapet: ParapetSpec,
    roof: SectionRoof,
    planes: tuple[HeightPlane, ...],
    found: Sequence[_Free],
    tol: Tolerance,
) -> RaisedWall:
    pieces = tuple(WallPiece(quad=_quad(p, found, parapet.thickness, tol)) for p in found)
    feet = [
        piece.plane.at(p) for piece, wall in zip(found, pieces, strict=True) for p in wall.quad[2:]
    ]
    top = max(feet) + parapet.height
    whole = shapely.union_all([shapely.Polygon(piece.quad) for piece in pieces], grid_size=tol.grid)
    bodies = tuple(
        _body(shapely.geometry.polygon.orient(part), roof, top)
        for part in shapely.get_parts(whole)
        if part.area > tol.area
    )
    return RaisedWall(
        section=number, spec=parapet, top=top, planes=planes, pieces=pieces, bodies=bodies
    )


def _quad(piece: _Free, found: Sequence[_Free], thickness: float, tol: Tolerance) -> Quad:
    """Return the plan of a piece; one shorter than its mitres is a triangle."""
    start = _inner(piece.start, piece, _before(piece, found, tol), thickness, tol)
    end = _inner(piece.end, piece, _after(piece, found, tol), thickness, tol)
    line = line_through(piece.start, piece.end)
    dx, dy = line.direction
    if (end[0] - start[0]) * dx + (end[1] - start[1]) * dy <= tol.merge:
        start = end = _crossing(line_through(piece.start, start), line_through(piece.end, end))
    return (piece.start, piece.end, end, start)


def _body(shape: shapely.Polygon, roof: SectionRoof, top: float) -> SectionRoof:
    rings = [
        tuple((float(x), float(y)) for x, y in list(ring.coords)[:-1])
        for ring in (shape.exterior, *shape.interiors)
    ]
    return replace(
        roof,
        id=f"{roof.id}.parapet",
        walls=tuple(rings),
        overhangs=tuple((0.0,) * len(ring) for ring in rings),
        outline=rings[0],
        faces=(Face(HeightPlane(0.0, 0.0, top), rings[0], tuple(rings[1:])),),
        covering=COVERING,
    )


def _after(piece: _Free, found: Sequence[_Free], tol: Tolerance) -> _Free | None:
    return next((p for p in found if math.dist(p.start, piece.end) <= tol.snap), None)


def _before(piece: _Free, found: Sequence[_Free], tol: Tolerance) -> _Free | None:
    return next((p for p in found if math.dist(p.end, piece.start) <= tol.snap), None)


def _inner(
    corner: Point2, piece: _Free, other: _Free | None, thickness: float, tol: Tolerance
) -> Point2:
    """Return the inside corner: at the mitre where another piece goes on, else square."""
    own = line_through(piece.start, piece.end)
    square = (corner[0] + thickness * own.nx, corner[1] + thickness * own.ny)
    if other is None or other is piece:
        return square
    beside = line_through(other.start, other.end)
    turn = own.nx * beside.ny - own.ny * beside.nx
    if abs(turn) <= tol.parallel:
        return square
    return _crossing(
        replace(own, offset=own.offset + thickness),
        replace(beside, offset=beside.offset + thickness),
    )


def _crossing(one: PlanLine, two: PlanLine) -> Point2:
    """Return where two lines meet that are not parallel."""
    turn = one.nx * two.ny - one.ny * two.nx
    x = (one.offset * two.ny - two.offset * one.ny) / turn
    y = (one.nx * two.offset - two.nx * one.offset) / turn
    return (x, y)


def parapet_of(
    wall: RaisedWall, ends: tuple[Point2, Point2], section: str, *, tol: Tolerance
) -> Parapet | None:
    """Return the parapet whose inside face stands on an edge.

    Parameters
    ----------
    wall : RaisedWall
    ends : two plan points
        Of the edge, local coordinates.
    section : str
        Id of its section.
    tol : Tolerance

    Returns
    -------
    Parapet or None
        In local coordinates; None where no piece of the wall has its inside face there.
    """
    thick = wall.spec.thickness
    for piece in wall.pieces:
        outer_start, outer_end, inner_end, inner_start = piece.quad
        length = math.dist(inner_start, inner_end)
        if length <= tol.merge:
            continue
        line = line_through(inner_start, inner_end)
        if any(abs(line.side(p)) > tol.snap for p in ends):
            continue
        ux, uy = line.direction
        x0, y0 = inner_start
        low, high = sorted(((x - x0) * ux + (y - y0) * uy) / length for x, y in ends)
        middle = (low + high) / 2.0
        if not 0.0 < middle < 1.0:
            continue
        near = tol.snap / length
        low, high = (0.0 if abs(low) < near else low), (1.0 if abs(high - 1.0) < near else high)
        foot = [(x0 + share * length * ux, y0 + share * length * uy) for share in (low, high)]
        # Where something else cuts the wall short it ends square.
        out = [(x - thick * line.nx, y - thick * line.ny) for x, y in foot]
        outer = (outer_start if low == 0.0 else out[0], outer_end if high == 1.0 else out[1])
        return Parapet(
            section=section,
            height=wall.spec.height,
            thickness=thick,
            top=wall.top,
            coping_length=math.dist(*outer),
            plan=(*outer, foot[1], foot[0]),
        )
    return None
