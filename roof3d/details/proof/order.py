"""What lies over what where no water edge tells: rows, plies, beds, and layers left out."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations, product
from typing import Final

import numpy as np
import shapely

from roof3d.catalog.model import Catalog
from roof3d.details.frame import Face, Point2
from roof3d.details.model import INCH, Detail, DetailKind, Piece, PieceKind
from roof3d.details.proof.ground import flow_on, half_of
from roof3d.details.proof.model import FaultKind
from roof3d.details.proof.path import spot_of_missing
from roof3d.details.proof.pile import DetailPile
from roof3d.details.proof.roles import SEQUENCE, family_of, role_of, wants_bed
from roof3d.details.proof.shingled import face_of, layer_of
from roof3d.laps.edges import only_areas
from roof3d.laps.model import PieceKind as LapKind
from roof3d.tolerance import DEFAULT

_APART: Final = 0.25 * INCH
_REAL: Final = 1.0 * INCH * INCH
"""Less of an overlap than this is no lap, square metres."""
_ROWS: Final = frozenset({PieceKind.SHINGLE, PieceKind.SHEET, PieceKind.METAL})
_FLASHING: Final = frozenset({"step", "apron", "flange"})
_WOVEN: Final = 0.3
"""Least share of a step that lies under the course above it."""
_FIRST: Final = (".1", ".0")
_BEADS: Final = frozenset({"bead", "sealant"})
"""Run along an edge, over it and not under anything."""
_FLASHED: Final = ("flashing", "parapet", "drain", "strip")
"""So begin the names of sheets that are laid over the field's, though of the same stuff."""
_SHED: Final = frozenset({PieceKind.STARTER, PieceKind.SHINGLE})
_CEMENTED: Final = {
    DetailKind.CAP_LAP: ("cap.second",),
    DetailKind.LOW_BELOW_STEEP: ("barrier", "starter"),
    DetailKind.VALLEY_OPEN: ("shingles_near", "shingles_far"),
    DetailKind.VALLEY_CLOSED: (),
}
"""By kind: what sticks only with cement under it, where the detail shows any."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Wrong:
    """One fault of order: what, which pieces, where in (u, s), and in a sentence."""

    kind: FaultKind
    pieces: tuple[Piece, ...]
    spot: Point2
    words: str


def wrong_orders(detail: Detail, pile: DetailPile, catalog: Catalog) -> Iterator[Wrong]:
    """Find what is laid in the wrong turn, or not at all.

    Notes
    -----
    A swap of two layers that nowhere lie on one another is no fault, and so is one of two
    lengths of metal along a level edge. Valley metal under the underlayment is one, though
    practice is divided: here the metal lies on the underlayment, as it is drawn and taught.
    """
    yield from _missing(detail)
    yield from _under_wood(detail)
    yield from _turned_rows(detail, pile)
    yield from _plies(detail, catalog)
    yield from _sequences(detail)
    yield from _beds(detail, catalog)
    yield from _feet(detail, pile)


def _missing(detail: Detail) -> Iterator[Wrong]:
    laid = {piece.layer for piece in detail.pieces if piece.kind is not PieceKind.FASTENER}
    for layer in (*detail.layers, *detail.missing):
        if layer.number not in laid:
            words = f"layer {layer.number}, {layer.name}, is not there"
            spot, heads = spot_of_missing(detail, layer.name.lower())
            yield Wrong(kind=FaultKind.MISSING, pieces=heads, spot=spot, words=words)


def _areas(piece: Piece) -> shapely.Geometry:
    return only_areas(*(shapely.Polygon(part.outline, part.holes) for part in piece.footprints))


def _under_wood(detail: Detail) -> Iterator[Wrong]:
    """Whatever lies under the sheathing."""
    for deck in detail.pieces:
        if deck.kind is not PieceKind.DECK or deck.layer != 1:
            continue
        for piece in detail.pieces[: deck.order]:
            wood = piece.kind is PieceKind.DECK and piece.layer == 1
            if wood or piece.kind is PieceKind.WALL or not piece.footprints:
                continue
            for part in piece.footprints:
                panels = [p for p in deck.footprints if p.face is part.face]
                shared = _shared(
                    shapely.Polygon(part.outline, part.holes),
                    only_areas(*(shapely.Polygon(p.outline, p.holes) for p in panels)),
                )
                if shared is not None:
                    words = "it lies under the wood that is to carry it"
                    yield Wrong(
                        kind=FaultKind.OUT_OF_ORDER,
                        pieces=(piece, deck),
                        spot=_spot(shared),
                        words=words,
                    )
                    break


def _shared(one: shapely.Geometry, two: shapely.Geometry) -> shapely.Geometry | None:
    both = only_areas(shapely.intersection(one, two))
    return both if both.area > _REAL else None


def _spot(area: shapely.Geometry) -> Point2:
    point = area.representative_point()
    return (float(point.x), float(point.y))


def _reach(area: shapely.Geometry, flow: Point2) -> tuple[float, float]:
    up = -shapely.get_coordinates(area) @ np.array(flow)
    return float(up.min()), float(up.max())


def _turned_rows(detail: Detail, pile: DetailPile) -> Iterator[Wrong]:
    """Rows of one run of which the lower lies over the higher, up to the cut-out's rim."""
    runs: dict[str, list[Piece]] = {}
    for piece in detail.pieces:
        if piece.kind in _ROWS and piece.id in pile.shape_of:
            runs.setdefault(layer_of(piece), []).append(piece)
    for pieces in runs.values():
        if pieces[0].kind is PieceKind.SHINGLE and family_of(pieces[0]) == "cap":
            yield from _turned_caps(pieces, pile, detail)
            continue
        for first, later in combinations(pieces, 2):
            both = _shared(pile.shape_of[first.id], pile.shape_of[later.id])
            for face, part in [] if both is None else _by_face(both, face_of(first)):
                if _is_turned(first, later, part, flow_on(detail, face), pile):
                    words = "the lower of two rows lies over the higher: its lap faces up the slope"
                    yield Wrong(
                        kind=FaultKind.BACK_WATER,
                        pieces=(later, first),
                        spot=_spot(part),
                        words=words,
                    )
                    break


def _by_face(both: shapely.Geometry, own: Face | None) -> list[tuple[Face, shapely.Geometry]]:
    """Return what two pieces share of each face; all of it on the plane that they belong to."""
    if own is not None:
        return [(own, both)]
    parts = [(face, only_areas(shapely.intersection(both, half_of(face)))) for face in Face]
    return [(face, part) for face, part in parts if part.area > _REAL]


def _is_turned(
    first: Piece, later: Piece, both: shapely.Geometry, flow: Point2, pile: DetailPile
) -> bool:
    """Return whether the lower of two rows is the later one, by where they lie on the flow."""
    lane = _lane(both, flow)
    low, high = (
        _reach(only_areas(shapely.intersection(pile.shape_of[p.id], lane)), flow)
        for p in (first, later)
    )
    # Clipped at the rim they end together: then the other end tells.
    steps = [d for d in (low[0] - high[0], low[1] - high[1]) if abs(d) > _APART]
    return bool(steps) and all(d > 0.0 for d in steps)


def _lane(area: shapely.Geometry, flow: Point2) -> shapely.Polygon:
    """Return all that lies up and down the flow from an area: rims that run askew tell nothing."""
    x, y = flow
    far = 1e2
    a, b = _reach(area, (-y, x))
    corners = ((far, a), (far, b), (-far, b), (-far, a))
    return shapely.Polygon([(h * x + w * y, h * y - w * x) for h, w in corners])


def _turned_caps(pieces: list[Piece], pile: DetailPile, detail: Detail) -> Iterator[Wrong]:
    """Caps over a line lie all one way; where the line falls, the higher over the lower."""
    ways = []
    # The last one ends the line and may lie the other way over those below it.
    for first, later in combinations(sorted(pieces, key=lambda one: one.order)[:-1], 2):
        both = _shared(pile.shape_of[first.id], pile.shape_of[later.id])
        if both is None:
            continue
        gain = sum(later.span) - sum(first.span)
        ways.append((float(np.sign(gain)), first, later, _spot(both)))
    fall = flow_on(detail, Face.NEAR)[0]
    total = sum(way for way, *_ in ways)
    up = -float(np.sign(fall)) if abs(fall) > DEFAULT.level_share else float(np.sign(total))
    for way, first, later, spot in ways:
        if way * up < 0.0:
            words = "a cap is tucked under the one that it is to cover: its lap faces the other way"
            yield Wrong(kind=FaultKind.BACK_WATER, pieces=(later, first), spot=spot, words=words)


def _stage(piece: Piece, catalog: Catalog) -> tuple[str, int] | None:
    """Return which build-up a sheet is of, and how high in it."""
    if family_of(piece).startswith(_FLASHED):
        return None
    if piece.kind is PieceKind.SHEET:
        role = role_of(piece, catalog, bedded=False)
        if role is None:
            return None
        if role.seals_nails:
            return ("steep", 1)
        return ("low", 3 if role.weathers else 2 if role.bonded else 1)
    return ("steep", 2) if piece.kind in _SHED else None


def _plies(detail: Detail, catalog: Catalog) -> Iterator[Wrong]:
    """Sheets that are to lie lower in the build-up and lie over what comes after them."""
    staged = [
        (piece, stage)
        for piece in detail.pieces
        if piece.footprints and (stage := _stage(piece, catalog)) is not None
    ]
    for (first, low), (later, high) in combinations(staged, 2):
        if low[0] != high[0] or high[1] >= low[1]:
            continue
        both = _shared(_areas(first), _areas(later))
        if both is not None:
            words = "it lies over what is to lie over it"
            yield Wrong(
                kind=FaultKind.OUT_OF_ORDER, pieces=(later, first), spot=_spot(both), words=words
            )


def _sequences(detail: Detail) -> Iterator[Wrong]:
    named: dict[str, list[Piece]] = {}
    for piece in detail.pieces:
        if piece.kind is not PieceKind.FASTENER:
            for name in {piece.id, family_of(piece)}:
                named.setdefault(name, []).append(piece)
    for below, above in SEQUENCE.get(detail.kind, ()):
        for later, first in product(named.get(below, ()), named.get(above, ())):
            both = _shared(_areas(first), _areas(later)) if later.order > first.order else None
            if both is not None:
                words = "it lies over what is to lie over it"
                yield Wrong(
                    kind=FaultKind.OUT_OF_ORDER,
                    pieces=(later, first),
                    spot=_spot(both),
                    words=words,
                )
                break
    if detail.kind is DetailKind.CORNER:
        yield from _rake_over_eave(detail)


def _rake_over_eave(detail: Detail) -> Iterator[Wrong]:
    """At a corner what goes down the rake lies over what goes down the eave."""
    for low, high in (("metal.eave", "metal.rake"), ("base.ear", "base.rake")):
        both = {piece.id: piece for piece in detail.pieces if piece.id in {low, high}}
        if len(both) == 2 and both[low].order > both[high].order:
            shared = shapely.intersection(_areas(both[low]), _areas(both[high]))
            words = "the eave's lies over the rake's: the joint faces the water from the rake"
            yield Wrong(
                kind=FaultKind.BACK_WATER,
                pieces=(both[low], both[high]),
                spot=_spot(shared),
                words=words,
            )


def _beds(detail: Detail, catalog: Catalog) -> Iterator[Wrong]:
    """Cement: it lies on what it is to stick to and under what is to stick to it."""
    beds = [
        p
        for p in detail.pieces
        if p.kind is PieceKind.BED and p.footprints and family_of(p) not in _BEADS
    ]
    others = [
        p
        for p in detail.pieces
        if p.footprints and p.kind not in {PieceKind.BED, PieceKind.WALL, PieceKind.DECK}
    ]
    plain = not _has_ply(others, catalog)
    for bed in beds:
        area = _areas(bed)
        under = [p for p in others if p.order < bed.order and _shared(area, _areas(p))]
        over = [p for p in others if p.order > bed.order and _shared(area, _areas(p))]
        metal = bool(over) and over[0].kind in {PieceKind.METAL, PieceKind.UNIT}
        if (plain and metal) or _holds(under[-1:], over[:1], detail, catalog):
            continue
        words = "cement that lies where nothing is to stick to it, and none where it is needed"
        yield Wrong(
            kind=FaultKind.OUT_OF_ORDER, pieces=(bed, *over[:1]), spot=_spot(area), words=words
        )
    laid = {piece.layer for piece in detail.pieces}
    if not beds and not detail.missing and all(one.number in laid for one in detail.layers):
        return  # here the laps are welded: no cement is to be there
    for name in _CEMENTED.get(detail.kind, ()):
        mine = [p for p in others if name in {p.id, family_of(p)}]
        if not mine:
            continue
        order = max(piece.order for piece in mine)
        covers = only_areas(*(_areas(piece) for piece in mine))
        if not any(bed.order < order and _shared(_areas(bed), covers) for bed in beds):
            words = "it lies dry on what it does not stick to: its edge lifts and opens"
            spot = _spot(_dry_part(mine[0], others))
            yield Wrong(kind=FaultKind.DRY_METAL, pieces=(mine[0],), spot=spot, words=words)


def _dry_part(piece: Piece, others: Sequence[Piece]) -> shapely.Geometry:
    """Return where a sheet lies on one of its own kind, as it does dry; all of other pieces."""
    area = _areas(piece)
    if piece.kind is not PieceKind.SHEET:
        return area
    below = [_areas(p) for p in others if p.order < piece.order and p.material == piece.material]
    lap = only_areas(shapely.intersection(area, shapely.union_all(below)))
    return lap if lap.area > _REAL else area


def _has_ply(sheets: Sequence[Piece], catalog: Catalog) -> bool:
    """Return whether any sheet below the top one sticks: metal then lies on that."""
    roles = [role_of(p, catalog, bedded=False) for p in sheets if p.kind is PieceKind.SHEET]
    return any(role is not None and role.bonded and not role.weathers for role in roles)


def _holds(under: list[Piece], over: list[Piece], detail: Detail, catalog: Catalog) -> bool:
    """Return whether a bed lies between the right two pieces."""
    if not under or not over:
        return False
    below, above = role_of(under[0], catalog, bedded=False), over[0]
    if below is None:
        return False
    if wants_bed(above, catalog):
        return below.bonded or below.weathers
    if above.kind in {PieceKind.METAL, PieceKind.UNIT}:
        return detail.kind not in _CEMENTED and (below.bonded or below.weathers)
    return below.weathers and (below.kind is not LapKind.SHINGLE or above.kind in _SHED)


def _feet(detail: Detail, pile: DetailPile) -> Iterator[Wrong]:
    """Flashing that sheds onto shingles: its foot lies on one, or on the flashing below it."""
    shed = [
        p
        for p in detail.pieces
        if p.kind in _SHED and p.id in pile.shape_of and pile.shape_of[p.id].area > _REAL
    ]
    if not shed:
        return
    lowest = min(shed, key=lambda one: one.order)
    for piece in detail.pieces:
        if family_of(piece) not in _FLASHING or piece.id not in pile.shape_of:
            continue
        area = pile.shape_of[piece.id]
        if area.area < _REAL:
            continue
        spot = _spot(area)
        flow = flow_on(detail, Face.NEAR if spot[1] < 0.0 else Face.FAR)
        foot = _reach(area, flow)[0]
        if foot < _reach(pile.shape_of[lowest.id], flow)[1] and piece.id.endswith(_FIRST):
            continue  # what it lies on may end below the cut-out
        if family_of(piece) == "step":
            later = [p for p in detail.pieces[piece.order + 1 :] if p.id in pile.shape_of]
            seen = shapely.difference(area, shapely.union_all(_on(pile, later, area)))
            over = _on(pile, [p for p in later if p.kind in _SHED], area)
            woven = shapely.union_all(over).area >= _WOVEN * area.area
            if not woven and seen.area > _REAL:
                words = "no course lies over it: its side edge is open to what runs down"
                yield Wrong(kind=FaultKind.HEAD_BARE, pieces=(piece,), spot=spot, words=words)
        band = _band(area, flow, foot)
        below = [
            p
            for p in detail.pieces[: piece.order]
            if (p.kind in _SHED or (p.kind is PieceKind.METAL and _other(p, piece)))
            and p.id in pile.shape_of
        ]
        if shapely.union_all(_on(pile, below, band)).area < 0.5 * band.area:
            words = "its foot lies under the shingles that it is to shed onto"
            yield Wrong(kind=FaultKind.BUTT_IN_AIR, pieces=(piece,), spot=_spot(band), words=words)


def _on(
    pile: DetailPile, pieces: Iterable[Piece], area: shapely.Geometry
) -> list[shapely.Geometry]:
    """Return what pieces cover of an area."""
    shapes = np.array([pile.shape_of[piece.id] for piece in pieces], dtype=np.object_)
    return list(shapely.intersection(shapes[shapely.intersects(shapes, area)], area))


def _other(one: Piece, other: Piece) -> bool:
    return family_of(one) != family_of(other)


def _band(area: shapely.Geometry, flow: Point2, foot: float) -> shapely.Geometry:
    """Return the lowest inch of an area on the roof."""
    far, (x, y) = 1e2, flow
    corners = ((foot, -far), (foot, far), (foot + INCH, far), (foot + INCH, -far))
    strip = shapely.Polygon([(-h * x - w * y, -h * y + w * x) for h, w in corners])
    return only_areas(shapely.intersection(area, strip))
