"""A detail as a pile of pieces on its two faces, unfolded into one plane."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
import shapely
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from roof3d.catalog.model import Catalog
from roof3d.details.frame import Face, Floats
from roof3d.details.model import Detail, Piece, PieceKind
from roof3d.details.proof.faces import faces_of, holes_of
from roof3d.details.proof.ground import (
    ALONG,
    GAP,
    carry_over_crickets,
    face_box,
    flow_on,
    is_drop,
    is_eave,
    join_past_line,
    shape_of,
    wood_of,
)
from roof3d.details.proof.roles import Role, family_of, role_of, wants_bed
from roof3d.details.proof.shingled import (
    closed_part,
    courses_below,
    layer_of,
    row_of,
    rows_of,
    run_of,
    uncut_part,
    whole_courses,
    whole_sides,
)
from roof3d.laps.edges import only_areas
from roof3d.laps.model import LapPiece, Surface
from roof3d.laps.model import PieceKind as LapKind
from roof3d.tolerance import DEFAULT, Tolerance

_PLIES: Final = frozenset({"base", "ply", "cap", "flashing-ply", "flashing-cap"})
_BEDDED: Final = 0.5
"""Share of what lies on the near or far face that must lie in cement."""


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class DetailPile:
    """What laps are proved on.

    Attributes
    ----------
    surface : Surface
    pieces : tuple[LapPiece, ...]
    piece_of : dict[str, Piece]
        The detail's piece of each lap piece, by id.
    shape_of : dict[str, shapely.Geometry]
        What each piece that leads water covers, by its own id.
    side_of : dict[str, shapely.Geometry]
        What all courses of a run of shingles cover together, by the layer of its lap pieces.
    holes : shapely.Geometry
        Where something comes up through the deck, and as far round it as sheets are cut clear.
    dry : tuple[Piece, ...]
        Metal that is to lie in cement and does not.
    """

    surface: Surface
    pieces: tuple[LapPiece, ...]
    piece_of: dict[str, Piece]
    shape_of: dict[str, shapely.Geometry]
    side_of: dict[str, shapely.Geometry]
    holes: shapely.Geometry
    dry: tuple[Piece, ...]


def pile_of(detail: Detail, catalog: Catalog, *, tol: Tolerance = DEFAULT) -> DetailPile:
    """Return a detail as a pile of lap pieces.

    Notes
    -----
    The rim of the cut-out is no border of the roof: faces end an inch inside it. A fascia or
    barge board is a free edge; a wall is a face of its own as far up as anything lies on it.
    What lies under the deck is as good as not there.
    """
    drop = is_drop(detail)
    shapes = _shapes(detail, drop=drop)
    rows = rows_of(detail, shapes)
    courses = whole_courses(detail, shapes, rows)
    known = _Known(
        detail=detail,
        rows=rows,
        courses=courses,
        sides=whole_sides(courses),
        nails=_nails_of(detail, shapes),
        under=_touching(detail, catalog),
    )
    found: list[LapPiece] = []
    piece_of: dict[str, Piece] = {}
    dry: list[Piece] = []
    for piece, role, is_dry in _judged(detail, shapes, catalog):
        dry += [piece] if is_dry else []
        for one in _lap_pieces(piece, role, shapes[piece.id], known, tol):
            piece_of[one.id] = piece
            found.append(one)
    if not is_eave(detail):
        found += courses_below(found, known.sides, detail)
    return DetailPile(
        surface=Surface(faces=tuple(faces_of(detail, shapes, drop=drop, tol=tol))),
        pieces=tuple(found),
        piece_of=piece_of,
        shape_of=shapes,
        side_of=known.sides,
        holes=holes_of(detail),
        dry=tuple(dry),
    )


def _shapes(detail: Detail, *, drop: bool) -> dict[str, shapely.Geometry]:
    """Return what each piece covers, without what lies under the deck."""
    shapes = {
        piece.id: shape_of(piece, drop=drop)
        for piece in detail.pieces
        if piece.footprints and piece.kind is not PieceKind.DECK
    }
    round_ = carry_over_crickets(detail, shapes)
    join_past_line(detail, shapes)
    wood = wood_of(detail)
    for piece in detail.pieces:
        above = [
            area
            for panel, area in wood
            if panel.order > piece.order and (panel.layer == 1 or piece.id in round_)
        ]
        if above and piece.id in shapes:
            rest = shapely.difference(shapes[piece.id], shapely.union_all(above))
            shapes[piece.id] = only_areas(rest)
    return shapes


def _judged(
    detail: Detail, shapes: dict[str, shapely.Geometry], catalog: Catalog
) -> Iterator[tuple[Piece, Role, bool]]:
    """Give what leads water: the piece, how it is judged, whether it lies dry."""
    beds = [
        (piece.order, shapes[piece.id])
        for piece in detail.pieces
        if piece.kind is PieceKind.BED and piece.id in shapes
    ]
    high = is_drop(detail) and flow_on(detail, Face.NEAR)[1] < -ALONG
    topmost = "course" if high else "cap"
    last = [p.id for p in detail.pieces if p.kind is PieceKind.SHINGLE and family_of(p) == topmost]
    for piece in detail.pieces:
        shape = shapes.get(piece.id)
        if shape is None or shape.is_empty or piece.kind is PieceKind.BED:
            continue
        bedded = is_bedded(piece, shape, beds, detail)
        role = role_of(piece, catalog, bedded=bedded)
        if role is None:
            continue
        if piece.id in last[-1:]:  # nothing lies over it: its nails are sealed
            role = replace(role, nail_cover=-1.0)
        on_roof = shape.bounds[1] < 0.0
        yield piece, role, on_roof and not bedded and wants_bed(piece, catalog)


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class _Known:
    """What is known of all pieces: rows, whole courses, nails by piece, what lies below."""

    detail: Detail
    rows: dict[str, int]
    courses: dict[tuple[str, int], shapely.Geometry]
    sides: dict[str, shapely.Geometry]
    nails: dict[str, Floats]
    under: dict[str, str]


def _lap_pieces(
    piece: Piece, role: Role, shape: shapely.Geometry, known: _Known, tol: Tolerance
) -> Iterator[LapPiece]:
    """Give a piece as it is judged: shingles one by one, anything else whole."""
    detail = known.detail
    parts = [uncut_part(piece, shape, detail)]
    if role.kind is LapKind.SHINGLE:
        course, side = known.courses[row_of(piece, known.rows)], known.sides[layer_of(piece)]
        split = shapely.get_parts(shape)
        parts = [closed_part(part, piece, course, side, detail) for part in split]
    nails = known.nails.get(piece.id, np.empty((0, 2)))
    for number, part in enumerate(parts):
        if part.area <= tol.area:
            continue
        mine = nails
        if len(parts) > 1:
            mine = nails[shapely.intersects(shapely.points(nails), part.buffer(GAP))]
        yield _lap_piece(f"{piece.id}#{number}", piece, part, role, known, mine)


def is_bedded(
    piece: Piece,
    shape: shapely.Geometry,
    beds: Sequence[tuple[int, shapely.Geometry]],
    detail: Detail,
) -> bool:
    """Return whether most of a piece of metal lies in cement that was there before it."""
    if piece.kind not in {PieceKind.METAL, PieceKind.UNIT}:
        return False
    low = only_areas(*(bed for order, bed in beds if order < piece.order))
    flat = only_areas(shapely.intersection(shape, face_box(detail, Face.NEAR)))
    return bool(flat.area > 0.0 and shapely.intersection(flat, low).area > _BEDDED * flat.area)


def _lap_piece(
    name: str, piece: Piece, part: shapely.Geometry, role: Role, known: _Known, nails: Floats
) -> LapPiece:
    drop = is_drop(known.detail)
    layer = layer_of(piece)
    return LapPiece(
        id=name,
        layer=layer,
        kind=role.kind,
        order=float(piece.order),
        shape=part,
        row_lap=role.row_lap,
        end_lap=role.end_lap,
        other_lap=role.other_lap,
        bonded=role.bonded,
        seals_nails=role.seals_nails,
        weathers=role.weathers,
        guest=role.guest,
        welded=role.welded,
        turned_down=drop and piece.kind is PieceKind.METAL and piece.reach[1] > GAP,
        nails=nails,
        nail_cover=role.nail_cover,
        course=known.rows[piece.id],
        run=run_of(piece, part, known.detail),
        stagger=role.stagger,
        below=known.under.get(layer, ""),
        side_offset=role.side_offset,
        end_offset=role.end_offset,
    )


def _nails_of(detail: Detail, shapes: dict[str, shapely.Geometry]) -> dict[str, Floats]:
    """Return the fasteners of each piece: it is the last of its layer laid there before them."""
    found: dict[str, list[Floats]] = {}
    for nails in detail.pieces:
        if nails.kind is not PieceKind.FASTENER:
            continue
        places = heads_of(nails, detail)
        laid = [
            piece
            for piece in detail.pieces
            if piece.layer == nails.layer
            and piece.order < nails.order
            and piece.id in shapes
            and piece.kind is not PieceKind.BED
        ]
        for place in places:
            spot = shapely.Point(place)
            here = [piece for piece in laid if shapes[piece.id].distance(spot) < GAP]
            if here or laid:
                found.setdefault((here or laid)[-1].id, []).append(place)
    return {name: np.array(places) for name, places in found.items()}


def heads_of(nails: Piece, detail: Detail) -> Floats:
    """Return where the fasteners of a piece are, (n, 2) in (u, s): the middle of each head."""
    places = detail.frame.developed(nails.vertices)[:, :2]
    ends = nails.triangles[:, [0, 1, 1, 2]].reshape(-1, 2).T
    links = coo_array((np.ones(ends.shape[1]), (ends[0], ends[1])), shape=(len(places),) * 2)
    count, head = connected_components(links, directed=False)
    sums = np.column_stack([np.bincount(head, axis, count) for axis in places.T])
    return np.asarray(sums / np.bincount(head, minlength=count)[:, None])


def _touching(detail: Detail, catalog: Catalog) -> dict[str, str]:
    """Return of each run of membrane sheets that which it lies on, where offsets are asked."""
    found: dict[str, str] = {}
    last: dict[str, str] = {}
    for piece in sorted(detail.pieces, key=lambda one: one.order):
        if piece.kind is not PieceKind.SHEET or not piece.material:
            continue
        layer = layer_of(piece)
        if layer in found:
            continue
        asked = catalog.material(piece.material).side_offset > 0.0
        own = "wall" if family_of(piece).startswith("flashing") else "field"
        found[layer] = last.get(own, "") if asked else ""
        if family_of(piece) in _PLIES:
            last[own] = layer
    return found
