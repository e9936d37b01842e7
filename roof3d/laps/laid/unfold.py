"""The planes around one plane, unfolded into its frame."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
import shapely

from roof3d.catalog.laying import Border as Place
from roof3d.catalog.model import Catalog
from roof3d.laps.edges import Shapes, only_areas
from roof3d.laps.laid.knots import knots_of
from roof3d.laps.laid.order import SHINGLES, seen_across
from roof3d.laps.laid.pieces import runs_against
from roof3d.laps.model import Border, Face, LapPiece, PieceKind, Rim, Surface
from roof3d.laps.pile import string_up
from roof3d.layout.borders.frame import to_plane, to_space
from roof3d.layout.model import Floats, LaidPlane, Side
from roof3d.tolerance import Tolerance

INCH: Final = 0.0254
_DEEP: Final = 1.5
"""So far beyond a border pieces of the next plane are looked at, metres."""
_PLACES: Final = 4
"""Decimals of metres, and of a turn, by which sides are in one line."""
_ASTRIDE: Final = frozenset({Place.RIDGE, Place.HIP, Place.VALLEY})
_WALLS: Final = frozenset({Place.HEADWALL, Place.SIDEWALL})
_JOINTS: Final = frozenset({Place.JOINT_UPPER, Place.JOINT_LOWER, Place.JOINT_VALLEY})
_AS_LAID: Final = {Place.VALLEY: (Place.VALLEY, Place.VALLEY_THROUGH, Place.VALLEY_CUT)}
_RIMS: Final = {
    Place.EAVE: Rim.EAVE,
    Place.RAKE: Rim.RAKE,
    Place.HIGH_EDGE: Rim.RAKE,
    Place.HEADWALL: Rim.CLOSED,
    Place.SIDEWALL: Rim.CLOSED,
    Place.PIPE: Rim.CLOSED,
    Place.DRAIN: Rim.CLOSED,
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
        Border(rim=Rim.CLOSED, start=knot.start, end=knot.end, within=knot.within)
        for knot in knots_of(plane, planes, tol)
    )
    level = plane.plane.slope <= tol.slope
    flow = (0.0, 0.0) if level else (0.0, -1.0)
    asked = tuple(
        (layer.id, shapely.intersection(layer.extent, plane.outline)) for layer in plane.layers
    )
    face = Face(id=plane.plane.id, region=plane.outline, flow=flow, borders=borders, asked=asked)
    return Surface(faces=(face,))


def _near(side: Side) -> float:
    """Return how near a border an edge counts as there, metres.

    Where water runs against a wall, what leads it away is not laid out; into a drain it falls.
    """
    if side.border is Place.DRAIN:
        return 0.25 * INCH
    closed = _RIMS[side.border] is Rim.CLOSED
    return 12.0 * INCH if closed and runs_against(side) else 1.5 * INCH


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
    reach = plane.outline.buffer(12.0 * INCH, join_style="mitre")
    shapely.prepare(reach)
    for seam in _seams(plane, planes, tol):
        side, beyond, turn, shift = seam.sides[0], seam.beyond, seam.turn, seam.shift
        own = [piece for piece in pieces[beyond.plane.id] if not _shared(piece, side)]
        if not own:
            continue
        guest = side.border in {*_ASTRIDE, Place.JOINT_VALLEY}
        if guest:  # They cover here, no more.
            own = string_up(own)
        # Laps of a layer with itself are judged on its own plane.
        kind = catalog.assembly(plane.assembly).kind
        past = _reaches(seam, own, catalog)
        # Shingles and what lies under them never run down over a membrane.
        if kind == "membrane" and side.border is Place.JOINT_LOWER:
            past[:] = 0.0
        laid = np.array([piece.shape for piece in own], dtype=np.object_)
        for far in np.unique(past):
            alike = past == far
            laid[alike] = _within(laid[alike], _zone(seam, plane, float(far), tol), tol)
        placed = shapely.transform(laid, lambda points, t=turn, s=shift: points @ t.T + s)
        kept = (shapely.area(placed) > tol.area) & shapely.intersects(reach, placed)
        stage = _stages(seam, plane, kind, list(planes))
        for k in np.flatnonzero(kept):
            yield replace(
                own[k],
                id=f"{own[k].id}@{seam.number}",
                layer=f"{own[k].layer}@{side.edge}",
                order=stage(own[k]),
                shape=placed[k],
                run=tuple((turn @ np.array(own[k].run)).tolist()),
                nails=np.empty((0, 2)),
                below="",
                stagger=0.0,
                turned_down=False,
                seals_nails=True,
                row_lap=0.0,
                end_lap=0.0,
                guest=guest,
            )


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class _Seam:
    """Sides in one line with one plane beyond, and the way from its frame into this one."""

    number: int
    beyond: LaidPlane
    turn: Floats
    shift: Floats
    sides: tuple[Side, ...]


def _seams(plane: LaidPlane, planes: Mapping[str, LaidPlane], tol: Tolerance) -> Iterator[_Seam]:
    """Give the seams of a plane: an opening, or two edges in one line, may part their sides."""
    found: dict[tuple[object, ...], _Seam] = {}
    for number, side in enumerate(plane.sides):
        beyond = planes.get(side.neighbour)
        if beyond is None or math.dist(side.start, side.end) <= 4.0 * tol.snap:
            continue
        turn, shift = _unfolding(plane, beyond, side)
        part = _shared_part(side, beyond, turn, shift, tol)
        if part is None:
            continue
        same = (
            beyond.plane.id,
            side.border,
            side.edge if side.border in _ASTRIDE else "",
            *np.round(turn, _PLACES).ravel().tolist(),
            *np.round(shift, _PLACES).ravel().tolist(),
        )
        known = found.get(same)
        if known is None:
            found[same] = _Seam(number=number, beyond=beyond, turn=turn, shift=shift, sides=(part,))
        else:
            found[same] = replace(known, sides=(*known.sides, part))
    yield from found.values()


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


def _reaches(seam: _Seam, own: Sequence[LapPiece], catalog: Catalog) -> Floats:
    """Return how far past a seam each piece of the plane beyond may run.

    A layer as far as its assembly says; a strip along the seam as far as it is wide; none else.
    """
    edges = {side.edge for side in seam.sides}
    there = [side for side in seam.beyond.sides if side.edge in edges]
    assembly = catalog.assembly(seam.beyond.assembly)
    far = {}
    for layer in seam.beyond.layers:
        rule = next(one for one in assembly.layers if one.role == layer.role)
        far[layer.id] = max(
            rule.reach_at(border, rise=side.rise, gap=side.gap)
            for side in there
            for border in _AS_LAID.get(side.border, (side.border,))
        )

    def of(piece: LapPiece) -> float:
        if piece.layer in far:
            return far[piece.layer] + INCH if far[piece.layer] > 0.0 else 0.0
        return _DEEP if piece.layer.split("/")[0] in edges else 0.0

    return np.array([of(piece) for piece in own], dtype=np.float64)


def _zone(seam: _Seam, plane: LaidPlane, past: float, tol: Tolerance) -> shapely.Geometry:
    """Return in the frame beyond where pieces count: what is behind the sides, and over them.

    What lies on the plane beyond stays there; what runs ``past`` a side lies here.
    """
    windows = [_windows(side, seam.turn, seam.shift, past) for side in seam.sides]
    over, back = (only_areas(*shapes) for shapes in zip(*windows, strict=True))
    # Unfolded about more than one side it may lie over this plane: no roof does.
    own = shapely.transform(plane.outline, lambda points: (points - seam.shift) @ seam.turn)
    behind = only_areas(shapely.intersection(back, seam.beyond.outline))
    behind = shapely.difference(behind, own, grid_size=tol.grid)
    if past <= 0.0:
        return only_areas(behind)
    over = shapely.difference(over, seam.beyond.outline, grid_size=tol.grid)
    # What rounding parts at the side is one.
    whole = only_areas(over, behind).buffer(tol.sliver, join_style="mitre")
    return whole.buffer(-tol.sliver, join_style="mitre")


def _within(shapes: Shapes, zone: shapely.Geometry, tol: Tolerance) -> Shapes:
    """Return what lies in a zone of each shape, areas only."""
    shapely.prepare(zone)
    laid = shapes.copy()
    cut = np.flatnonzero(~shapely.covers(zone, shapes))
    near = shapely.intersects(zone, shapes[cut])
    laid[cut[~near]] = shapely.Polygon()
    laid[cut[near]] = shapely.intersection(shapes[cut[near]], zone, grid_size=tol.grid)
    mixed = shapely.get_type_id(laid) == shapely.GeometryType.GEOMETRYCOLLECTION
    laid[mixed] = [only_areas(shape) for shape in laid[mixed]]
    return laid


def _windows(
    side: Side, turn: Floats, shift: Floats, past: float
) -> tuple[shapely.Geometry, shapely.Geometry]:
    """Return, in the frame beyond, what lies over the side on this plane and what is behind it."""
    ends = np.array([side.start, side.end])
    along = (ends[1] - ends[0]) / np.hypot(*(ends[1] - ends[0]))
    inward = np.array([-along[1], along[0]])
    here, there = (
        shapely.Polygon((np.concatenate([ends, ends[::-1] + deep]) - shift) @ turn)
        for deep in (past * inward, -_DEEP * inward)
    )
    return here, there


def _stages(
    seam: _Seam, plane: LaidPlane, kind: str, names: Sequence[str]
) -> Callable[[LapPiece], float]:
    """Return what tells when a piece beyond a seam is laid, among those of this plane."""
    side, beyond = seam.sides[0], seam.beyond
    first = names.index(beyond.plane.id) < names.index(plane.plane.id)
    through = _runs_through(plane, beyond, side) if side.border is Place.VALLEY else None

    def stage(piece: LapPiece) -> float:
        sheds = piece.kind is PieceKind.SHINGLE and piece.order >= SHINGLES
        return seen_across(
            piece.order, side.border, kind, first=first, through=through if sheds else None
        )

    return stage


def _runs_through(plane: LaidPlane, beyond: LaidPlane, side: Side) -> bool | None:
    """Return whether the shingles beyond run through a valley; None where neither does."""
    middle = shapely.Point((side.start[0] + side.end[0]) / 2.0, (side.start[1] + side.end[1]) / 2.0)
    spot = to_plane(beyond.frame, to_space(plane.frame, [(middle.x, middle.y)]))[0]
    for laid, at, answer in ((beyond, shapely.Point(spot), True), (plane, middle, False)):
        top = laid.layers[-1] if laid.layers else None
        if top is not None and top.end_lap == 0.0 and top.extent.buffer(-INCH).contains(at):
            return answer
    return None
