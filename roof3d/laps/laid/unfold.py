"""The planes around one plane, unfolded into its frame."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Final

import numpy as np
import shapely

from roof3d.catalog.laying import Border as Place
from roof3d.catalog.model import Catalog
from roof3d.laps.edges import only_areas
from roof3d.laps.laid.order import SHINGLES, seen_across
from roof3d.laps.model import Border, Face, LapPiece, PieceKind, Rim, Surface
from roof3d.layout.borders.frame import to_plane, to_space
from roof3d.layout.model import Floats, LaidPlane, Point2, Side
from roof3d.tolerance import Tolerance

INCH: Final = 0.0254
_DEEP: Final = 1.5
"""So far beyond a border pieces of the next plane are looked at, metres; on this side of it as
far again, or as far as a membrane is carried up."""
_AGAINST: Final = 0.05
"""A wall that runs along the fall by all but this share has no water against it."""
_ASTRIDE: Final = frozenset({Place.RIDGE, Place.HIP, Place.VALLEY})
_WALLS: Final = frozenset({Place.HEADWALL, Place.SIDEWALL})
_JOINTS: Final = frozenset({Place.JOINT_UPPER, Place.JOINT_LOWER, Place.JOINT_VALLEY})
_RIMS: Final = {
    Place.EAVE: Rim.EAVE,
    Place.RAKE: Rim.RAKE,
    Place.HIGH_EDGE: Rim.RAKE,
    Place.HEADWALL: Rim.CLOSED,
    Place.SIDEWALL: Rim.CLOSED,
    Place.PIPE: Rim.CLOSED,
    Place.OPENING_FOOT: Rim.CLOSED,
    Place.OPENING_SIDE: Rim.CLOSED,
    Place.OPENING_HEAD: Rim.CLOSED,
}


def surface_of(plane: LaidPlane, planes: Mapping[str, LaidPlane], tol: Tolerance) -> Surface:
    """Return the surface of one plane: its face, and what bounds it.

    Where another plane is beyond, the surface goes on.
    """
    borders = tuple(
        Border(rim=_RIMS[side.border], start=side.start, end=side.end, within=_near(side))
        for side in plane.sides
        if side.border in _RIMS
    )
    borders += tuple(
        Border(rim=Rim.CLOSED, start=at, end=(at[0] + tol.snap, at[1]), within=within)
        for at, within in _corners(plane)
    )
    # A plane that runs on under this one has no side here, and turns nothing up.
    borders += tuple(
        Border(rim=Rim.CLOSED, start=side.start, end=side.end, within=36.0 * INCH)
        for side in plane.sides
        if side.neighbour in planes
        and side.edge not in {one.edge for one in planes[side.neighbour].sides}
    )
    level = plane.plane.slope <= tol.slope
    flow = (0.0, 0.0) if level else (0.0, -1.0)
    face = Face(id=plane.plane.id, region=plane.outline, flow=flow, borders=borders)
    return Surface(faces=(face,))


def _near(side: Side) -> float:
    """Return how near a border an edge counts as there, metres.

    Where water runs against a wall, what leads it away is not laid out.
    """
    against = side.end[0] - side.start[0] > _AGAINST * math.dist(side.start, side.end)
    return 12.0 * INCH if _RIMS[side.border] is Rim.CLOSED and against else 1.5 * INCH


def _corners(plane: LaidPlane) -> Iterator[tuple[Point2, float]]:
    """Yield the corners whose folds are not laid out, and how far round each nothing is told."""

    def ends(*borders: Place) -> set[Point2]:
        return {
            end for side in plane.sides if side.border in borders for end in (side.start, side.end)
        }

    # A valley that ends on a plane: over shingles at its foot, under its peak.
    for foot in ends(Place.VALLEY) - ends(Place.EAVE):
        yield foot, 18.0 * INCH
    # A joint in a valley that ends at an eave.
    for foot in ends(Place.JOINT_VALLEY) & ends(Place.EAVE):
        yield foot, 12.0 * INCH
    # What is turned up a wall that ends at a joint.
    for end in ends(*_WALLS) & ends(*_JOINTS):
        yield end, 6.0 * INCH
    # A joint or break that runs on past the upper plane to a rake.
    for end in ends(Place.BREAK_LOWER, Place.JOINT_LOWER) & ends(Place.RAKE):
        yield end, 12.0 * INCH


def around(
    plane: LaidPlane,
    planes: Mapping[str, LaidPlane],
    pieces: Mapping[str, Sequence[LapPiece]],
    catalog: Catalog,
    tol: Tolerance,
) -> Iterator[LapPiece]:
    """Give the pieces of neighbours that lie on a plane or next to it, unfolded.

    Parameters
    ----------
    plane : LaidPlane
    planes, pieces : mapping
        By plane id: all planes, and their own pieces in their own frames.
    catalog : Catalog
    tol : Tolerance

    Yields
    ------
    LapPiece
        With the order that this plane sees them laid in.
    """
    names = list(planes)
    reach = plane.outline.buffer(12.0 * INCH, join_style="mitre")
    shapely.prepare(reach)
    for number, side in enumerate(plane.sides):
        beyond = planes.get(side.neighbour)
        if beyond is None or math.dist(side.start, side.end) <= 4.0 * tol.snap:
            continue
        turn, shift = _unfolding(plane, beyond, side)
        own = [piece for piece in pieces[beyond.plane.id] if not _shared(piece, side)]
        if not own:
            continue
        guest = side.border in _ASTRIDE
        askew = side.border is Place.JOINT_VALLEY
        shapes = np.array([piece.shape for piece in own], dtype=np.object_)
        part = _shared_part(side, beyond, turn, shift, tol)
        if part is None:
            continue
        # Shingles and what lies under them never run down over a membrane.
        kind = catalog.assembly(plane.assembly).kind
        above = kind == "membrane" and side.border is Place.JOINT_LOWER
        over, back, behind = _zones(part, plane, beyond, turn, shift, tol)
        over = shapely.Polygon() if above else over
        near = np.flatnonzero(shapely.intersects(shapes, over) | shapely.intersects(shapes, back))
        for k in near:
            # What lies on the plane beyond stays there; what runs over the side lies here.
            laid = only_areas(
                shapely.intersection(shapes[k], over, grid_size=tol.grid),
                shapely.intersection(shapes[k], behind, grid_size=tol.grid),
            )
            placed = shapely.transform(laid, lambda points, t=turn, s=shift: points @ t.T + s)
            if placed.area <= tol.area or not reach.intersects(placed):
                continue
            yield replace(
                own[k],
                id=f"{own[k].id}@{number}",
                layer=f"{own[k].layer}@{side.edge}",
                order=_order(own[k], side, plane, beyond, catalog, names),
                shape=placed,
                run=tuple((turn @ np.array(own[k].run)).tolist()),
                nails=np.empty((0, 2)),
                below="",
                stagger=0.0,
                turned_down=False,
                seals_nails=True,
                row_lap=own[k].row_lap if not askew else 0.0,
                end_lap=own[k].end_lap if not askew else 0.0,
                guest=guest,
            )


def _shared(piece: LapPiece, side: Side) -> bool:
    """Return whether a piece lies astride that very edge: this plane has it already."""
    return side.border in _ASTRIDE and piece.layer.startswith(f"{side.edge}/")


def _unfolding(plane: LaidPlane, beyond: LaidPlane, side: Side) -> tuple[Floats, Floats]:
    """Return turn and shift from the frame beyond into this one, about the shared side."""
    ends = np.array([side.start, side.end])
    there = to_plane(beyond.frame, to_space(plane.frame, ends))
    one, two = ends[1] - ends[0], there[1] - there[0]
    angle = math.atan2(one[1], one[0]) - math.atan2(two[1], two[0])
    turn = np.array([[math.cos(angle), -math.sin(angle)], [math.sin(angle), math.cos(angle)]])
    return turn, ends[0] - turn @ there[0]


def _shared_part(
    side: Side, beyond: LaidPlane, turn: Floats, shift: Floats, tol: Tolerance
) -> Side | None:
    """Return the part of a side along which the plane beyond has the same edge."""
    line = shapely.LineString([side.start, side.end])
    spans = [
        sorted(
            line.project(shapely.Point(turn @ np.array(end) + shift))
            for end in (one.start, one.end)
        )
        for one in beyond.sides
        if one.edge == side.edge
    ]
    low, high = min((a for a, _ in spans), default=0.0), max((b for _, b in spans), default=0.0)
    if high - low <= 4.0 * tol.snap:
        return None
    one, two = line.interpolate(low), line.interpolate(high)
    return replace(side, start=(one.x, one.y), end=(two.x, two.y))


def _zones(
    side: Side, plane: LaidPlane, beyond: LaidPlane, turn: Floats, shift: Floats, tol: Tolerance
) -> tuple[shapely.Geometry, shapely.Geometry, shapely.Geometry]:
    """Return in the frame beyond: what runs over the side, what is behind it, what stays there."""
    over, back = _windows(side, turn, shift)
    over = only_areas(shapely.difference(over, beyond.outline, grid_size=tol.grid))
    # Unfolded about more than one side it may lie over this plane: no roof does.
    own = shapely.transform(plane.outline, lambda points: (points - shift) @ turn)
    behind = only_areas(shapely.intersection(back, beyond.outline))
    return over, back, only_areas(shapely.difference(behind, own, grid_size=tol.grid))


def _windows(side: Side, turn: Floats, shift: Floats) -> tuple[shapely.Geometry, shapely.Geometry]:
    """Return, in the frame beyond, what lies over the side on this plane and what is behind it."""
    ends = np.array([side.start, side.end])
    along = (ends[1] - ends[0]) / np.hypot(*(ends[1] - ends[0]))
    inward = np.array([-along[1], along[0]])
    here, there = (
        shapely.Polygon((np.concatenate([ends, ends[::-1] + deep]) - shift) @ turn)
        for deep in (max(_DEEP, side.rise + 12.0 * INCH) * inward, -_DEEP * inward)
    )
    return here, there


def _order(
    piece: LapPiece,
    side: Side,
    plane: LaidPlane,
    beyond: LaidPlane,
    catalog: Catalog,
    names: Sequence[str],
) -> float:
    kind = catalog.assembly(plane.assembly).kind
    first = names.index(beyond.plane.id) < names.index(plane.plane.id)
    through = _runs_through(plane, beyond, side) if side.border is Place.VALLEY else None
    if piece.kind is not PieceKind.SHINGLE or piece.order < SHINGLES:
        through = None
    return seen_across(piece.order, side.border, kind, first=first, through=through)


def _runs_through(plane: LaidPlane, beyond: LaidPlane, side: Side) -> bool | None:
    """Return whether the shingles beyond run through a valley; None where neither does."""
    middle = shapely.Point((side.start[0] + side.end[0]) / 2.0, (side.start[1] + side.end[1]) / 2.0)
    spot = to_plane(beyond.frame, to_space(plane.frame, [(middle.x, middle.y)]))[0]
    for laid, at, answer in ((beyond, shapely.Point(spot), True), (plane, middle, False)):
        top = laid.layers[-1] if laid.layers else None
        if top is not None and top.end_lap == 0.0 and top.extent.buffer(-INCH).contains(at):
            return answer
    return None
