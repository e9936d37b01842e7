"""What the pieces of a detail cover of its faces, unfolded, and what those faces are."""

from __future__ import annotations

import math
from typing import Final

import shapely

from roof3d.details.frame import Face, Point2
from roof3d.details.model import INCH, Detail, DetailKind, Piece, PieceKind
from roof3d.details.proof.roles import family_of
from roof3d.laps.edges import only_areas
from roof3d.tolerance import DEFAULT

GAP: Final = 0.25 * INCH
"""Width of a joint between panels of the deck."""
ALONG: Final = 0.05
"""Water whose way has no greater share square to the line runs along it."""


def flow_on(detail: Detail, face: Face) -> Point2:
    """Return the way of the water on a face; (0, 0) where it is level."""
    words = detail.faces[0 if face is Face.NEAR else 1]
    return words.flow or (0.0, 0.0)


def sump_of(detail: Detail) -> shapely.Geometry:
    """Return what is sunk round a drain, open at the bowl; empty where there is none."""
    if detail.kind is not DetailKind.DRAIN:
        return shapely.Polygon()
    parts = [p.footprints for p in detail.pieces if p.id == "deck.sump"]
    return only_areas(*(shapely.Polygon(p.outline, p.holes) for some in parts for p in some))


def bowl_of(detail: Detail) -> shapely.Geometry:
    """Return the hole of a drain, where the water leaves; empty where there is none."""
    rings = [ring for part in shapely.get_parts(sump_of(detail)) for ring in part.interiors]
    return only_areas(*(shapely.Polygon(ring) for ring in rings))


def flow_at(detail: Detail, place: Point2) -> Point2:
    """Return the way of the water at a place: as its face falls, and in a sump to the bowl."""
    u, s = place
    sump = sump_of(detail)
    if not sump.is_empty and shapely.intersects(sump.convex_hull, shapely.Point(place)):
        return (-math.copysign(1.0, u), 0.0) if abs(u) > abs(s) else (0.0, -math.copysign(1.0, s))
    return flow_on(detail, Face.NEAR if s < 0.0 else Face.FAR)


def is_drop(detail: Detail) -> bool:
    """Return whether the far face is a board that hangs from the roof's edge."""
    return detail.faces[1].slope is None and detail.convex


def is_eave(detail: Detail) -> bool:
    """Return whether water leaves the roof over the line."""
    return is_drop(detail) and flow_on(detail, Face.NEAR)[1] > ALONG


def is_drop_board(piece: Piece, detail: Detail) -> bool:
    """Return whether a piece of wood hangs from the roof's edge."""
    return is_drop(detail) and all(part.face is Face.FAR for part in piece.footprints)


def is_wall(detail: Detail) -> bool:
    """Return whether the far face stands up."""
    upright = detail.faces[1].slope is None and not detail.convex
    return upright and detail.frame.turn > DEFAULT.parallel


def is_chimney(detail: Detail) -> bool:
    """Return whether a chimney stands in the middle of the cut-out."""
    return detail.kind in {DetailKind.CHIMNEY, DetailKind.CHIMNEY_MEMBRANE}


def face_box(detail: Detail, face: Face, rim: float = 0.0) -> shapely.Polygon:
    """Return what the cut-out holds of a face, a rim of it left out."""
    width, near, far = detail.size
    side = width / 2.0 - rim
    if face is Face.NEAR:
        return shapely.box(-side, -near + rim, side, 0.0)
    return shapely.box(-side, 0.0, side, far - rim)


def half_of(face: Face) -> shapely.Polygon:
    """Return everything on the side of a face."""
    far = 1e3
    return (
        shapely.box(-far, -far, far, 0.0) if face is Face.NEAR else shapely.box(-far, 0.0, far, far)
    )


def shape_of(piece: Piece, *, drop: bool) -> shapely.Geometry:
    """Return what a piece covers of the unfolded faces; past a line it hangs clear."""
    parts = [
        shapely.intersection(shapely.Polygon(print_.outline, print_.holes), half_of(print_.face))
        for print_ in piece.footprints
        if not (drop and print_.face is Face.FAR)
    ]
    return only_areas(*parts)


def _is_wood(piece: Piece) -> bool:
    wall = piece.kind is PieceKind.WALL and piece.layer == 1
    return bool(piece.footprints) and (piece.kind is PieceKind.DECK or wall)


def wood_of(detail: Detail) -> list[tuple[Piece, shapely.Geometry]]:
    """Return the panels of the deck, and a wall of its own: what they cover of the roof."""
    return [
        (piece, shape_of(piece, drop=is_drop(detail)))
        for piece in detail.pieces
        if _is_wood(piece) and not is_drop_board(piece, detail)
    ]


def join_past_line(detail: Detail, shapes: dict[str, shapely.Geometry]) -> None:
    """Make a strip of one plane's sheets that lies wholly past a ridge one with what it lies on."""
    before: dict[str, str] = {}
    for piece in detail.pieces:
        if piece.kind is not PieceKind.SHEET or piece.id not in shapes:
            continue
        family = family_of(piece)
        own = half_of(Face.FAR if family.endswith("far") else Face.NEAR)
        past = family.endswith(("_near", "_far")) and not shapes[piece.id].intersects(own)
        if past and family in before:
            shapes[before[family]] = shapely.union(shapes[before[family]], shapes.pop(piece.id))
        else:
            before[family] = piece.id


def carry_over_crickets(detail: Detail, shapes: dict[str, shapely.Geometry]) -> set[str]:
    """Let metal that runs round a small deck of its own count as over that; return which."""
    found = set()
    for deck in detail.pieces:
        if deck.kind is not PieceKind.DECK or deck.layer == 1:
            continue
        area = shape_of(deck, drop=is_drop(detail))
        ring = area.exterior.buffer(GAP)
        for piece in detail.pieces:
            if piece.kind is not PieceKind.METAL or piece.id not in shapes:
                continue
            if shapely.intersection(ring, shapes[piece.id]).area > 0.25 * ring.area:
                joined = shapely.union_all([shapes[piece.id], area]).buffer(GAP)
                shapes[piece.id] = joined.buffer(-GAP)
                found.add(piece.id)
    return found
