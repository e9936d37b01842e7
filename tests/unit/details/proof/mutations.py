"""Details of the shipped models, and ways to lay their pieces in another turn."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import replace
from functools import cache
from itertools import combinations, pairwise
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import shapely

from roof3d.catalog.load import load_catalog
from roof3d.details.build import build_detail
from roof3d.details.frame import Face, Point2
from roof3d.details.model import Detail, DetailKind, Footprint, Piece, PieceKind
from roof3d.details.proof.faces import holes_of
from roof3d.details.proof.ground import flow_on, is_drop, wood_of
from roof3d.details.proof.model import DetailFault
from roof3d.details.proof.prove import prove_detail
from roof3d.details.proof.shingled import face_of, layer_of
from roof3d.details.shapes.solids import discs
from roof3d.details.site import DetailSite, Place
from roof3d.laps.edges import only_areas
from roof3d.project import Project, build
from roof3d.scene.detail_scene import detail_places
from roof3d.spec.read import parse_spec
from tests.unit.details.every_kind import HOUSES
from tests.unit.details.every_kind import project_of as house_of

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

CATALOG = load_catalog()
INCH = 0.0254
MODELS = Path(__file__).parents[4] / "models"
SHIPPED = ("ferry-quay", "lantern-street", "plum-corner", "tide-house", "alder-row")
SMALL = {
    "angled, closed 8": (DetailKind.VALLEY_CLOSED, DetailKind.RIDGE_VENTED),
    "mixed 1 and 4": (DetailKind.VALLEY_JOINT,),
    "break 4 over 12": (DetailKind.PITCH_BREAK,),
    "low 1": (DetailKind.CHIMNEY_MEMBRANE, DetailKind.SIDEWALL_MEMBRANE),
}
"""Small houses for the kinds of joint that no shipped model has."""
QUICK = (
    DetailKind.LOW_BELOW_STEEP,
    DetailKind.EAVE_SHINGLE,
    DetailKind.RAKE_SHINGLE,
    DetailKind.SIDEWALL_SHINGLE,
    DetailKind.EAVE_MEMBRANE,
    DetailKind.PARAPET,
)
"""Joints on which all is tried in an ordinary run."""
UPRIGHT = frozenset({"flashing-ply", "flashing-cap", "counterflashing"})
"""Lengths side by side: their laps run along the flow, and either may lie on top."""
EITHER = (
    "lengths side by side on a wall, from a level line up: water runs along their laps",
    "lengths of metal along a level edge: nothing runs along it, either may lie on top",
    "the last cap of a hip or ridge ends it and may lie over or under the one before",
)
"""Why the turn of two pieces of a run may not matter; there is no other reason."""
MAY_BE_NAILED = {
    "counterflashing": "let into a wall or held to it: its fasteners may be seen",
    "termination-bar": "held to the wall by screws that may be seen",
    "stop": "held to the wall by screws that may be seen",
    "coping": "its screws have washers and may be seen",
}
"""Families through which a nail that is seen does no harm, and why; there is no other."""
ALONG = 0.05
"""A roof that falls along its wall by less than this share lies level there."""
NO_ROWS = frozenset({PieceKind.DECK, PieceKind.BED, PieceKind.WALL, PieceKind.UNIT})
REAL = 1e-5
"""Less than this is no overlap, square metres."""


@cache
def project_of(model: str) -> Project:
    if model in HOUSES:
        return house_of(model)
    path = MODELS / f"{model}.toml"
    return build(parse_spec(path.read_text(encoding="utf-8"), source=path.name))


def site_of(project: Project, place: Place) -> DetailSite:
    return DetailSite(
        place=place,
        roof=project.roof,
        layout=project.layout,
        catalog=project.catalog,
        assembly_of={choice.plane: choice.assembly for choice in project.choices},
    )


@cache
def first_of_each() -> dict[DetailKind, tuple[str, Place]]:
    """The first place of each kind: of the shipped models, else of a small house."""
    found: dict[DetailKind, tuple[str, Place]] = {}
    for model in SHIPPED:
        for place in detail_places(project_of(model)):
            found.setdefault(place.kind, (model, place))
    for house, kinds in SMALL.items():
        for place in detail_places(project_of(house)):
            if place.kind in kinds:
                found.setdefault(place.kind, (house, place))
    return found


@cache
def detail_of(kind: DetailKind) -> Detail:
    model, place = first_of_each()[kind]
    return build_detail(site_of(project_of(model), place))


@cache
def faults_of(kind: DetailKind) -> tuple[DetailFault, ...]:
    """What the proof finds on the right build."""
    return prove_detail(detail_of(kind), CATALOG)


def in_order(detail: Detail, pieces: Sequence[Piece]) -> Detail:
    """Lay the pieces in this order."""
    laid = tuple(replace(piece, order=k) for k, piece in enumerate(pieces))
    return replace(detail, pieces=laid)


def swapped(detail: Detail, one: int, two: int) -> Detail:
    """Lay two layers in each other's turn: what began later is all laid first."""
    first = [piece for piece in detail.pieces if piece.layer == one]
    second = [piece for piece in detail.pieces if piece.layer == two]
    if first[0].order > second[0].order:
        first, second = second, first
    slots = [k for k, piece in enumerate(detail.pieces) if piece.layer in {one, two}]
    pieces = list(detail.pieces)
    for slot, piece in zip(slots, [*second, *first], strict=True):
        pieces[slot] = piece
    return in_order(detail, pieces)


def without(detail: Detail, *names: str) -> Detail:
    """Leave pieces out, by the beginning of their ids."""
    return in_order(detail, [p for p in detail.pieces if not p.id.startswith(names)])


def turned(detail: Detail, one: Piece, two: Piece) -> Detail:
    """Lay two pieces in each other's turn, each with its nails."""

    def group(piece: Piece) -> list[Piece]:
        nails = (f"{piece.id}.nail", f"{piece.id}_nail")
        return [p for p in detail.pieces if p.id == piece.id or p.id.startswith(nails)]

    early, late = group(one), group(two)
    moved = {piece.id for piece in (*early, *late)}
    rest = [piece for piece in detail.pieces if piece.id not in moved]
    before = [piece for piece in rest if piece.order < one.order]
    between = [piece for piece in rest if one.order < piece.order < two.order]
    after = [piece for piece in rest if piece.order > two.order]
    return in_order(detail, [*before, *late, *between, *early, *after])


def area_of(pieces: Sequence[Piece]) -> shapely.Geometry:
    return only_areas(
        *(shapely.Polygon(p.outline, p.holes) for piece in pieces for p in piece.footprints)
    )


def meet(detail: Detail, one: int, two: int) -> bool:
    """Return whether two layers anywhere lie on one another: else it is all one in which turn."""
    areas = [area_of([p for p in detail.pieces if p.layer == number]) for number in (one, two)]
    return bool(shapely.intersection(*areas).area > REAL)


def layer_pairs(detail: Detail, *, neighbours: bool) -> Iterator[tuple[int, int]]:
    numbers = [layer.number for layer in detail.layers]
    for one, two in pairwise(numbers) if neighbours else combinations(numbers, 2):
        if meet(detail, one, two):
            yield one, two


def any_row_pairs(detail: Detail) -> Iterator[tuple[Piece, Piece, str]]:
    """Give neighbours of one run that lap, and why their turn does not matter, if it does not."""
    runs: dict[str, list[Piece]] = defaultdict(list)
    for piece in detail.pieces:
        if piece.footprints and piece.kind not in NO_ROWS:
            runs[layer_of(piece)].append(piece)
    for name, pieces in runs.items():
        family = name.split(":")[1]
        for one, two in pairwise(pieces):
            if shapely.intersection(area_of([one]), area_of([two])).area > REAL:
                last = two is pieces[-1] and one.kind is PieceKind.SHINGLE and family == "cap"
                yield one, two, EITHER[2] if last else _either(detail, family)


def _either(detail: Detail, family: str) -> str:
    eave = detail.kind in {DetailKind.EAVE_MEMBRANE, DetailKind.EAVE_SHINGLE}
    level = family == "counterflashing" or abs(flow_on(detail, Face.NEAR)[0]) < ALONG
    return (
        EITHER[0]
        if family in UPRIGHT and level
        else EITHER[1]
        if eave and family == "metal"
        else ""
    )


def row_pairs(detail: Detail) -> Iterator[tuple[Piece, Piece]]:
    """Give neighbours of one run that lap, and of which only one may lie on top."""
    yield from ((one, two) for one, two, either in any_row_pairs(detail) if not either)


def shortened(detail: Detail, lower: Piece, upper: Piece) -> Detail | None:
    """Cut the foot of the upper of two rows back to a quarter of their lap; None if no row lap."""
    low, high = area_of([lower]), area_of([upper])
    both = shapely.intersection(low, high)
    middle = both.representative_point()
    flow = flow_on(detail, face_of(upper) or (Face.NEAR if middle.y < 0.0 else Face.FAR))
    foot, head = reach(high, flow)[0], reach(low, flow)[1]
    if flow == (0.0, 0.0) or foot - reach(low, flow)[0] < INCH or head - foot < INCH / 2.0:
        return None
    if reach(high, flow)[1] - head < INCH or both.intersection(inner(detail)).area < REAL:
        return None
    below = half_plane(foot + 0.75 * (head - foot), flow)
    prints = tuple(
        Footprint(face=part.face, outline=shapely.get_coordinates(one.exterior)[:-1])
        for part in upper.footprints
        for one in shapely.get_parts(
            shapely.difference(shapely.Polygon(part.outline, part.holes), below)
        )
        if one.geom_type == "Polygon" and one.area > REAL
    )
    pieces = [replace(p, footprints=prints) if p.id == upper.id else p for p in detail.pieces]
    return in_order(detail, pieces)


def reach(area: shapely.Geometry, flow: Point2) -> tuple[float, float]:
    up = -shapely.get_coordinates(area) @ np.array(flow)
    return float(up.min()), float(up.max())


def half_plane(height: float, flow: Point2) -> shapely.Polygon:
    """All that lies lower down the flow than a height."""
    x, y = flow
    corners = ((-100.0, -100.0), (-100.0, 100.0), (height, 100.0), (height, -100.0))
    return shapely.Polygon([(-h * x - w * y, -h * y + w * x) for h, w in corners])


def inner(detail: Detail) -> shapely.Polygon:
    """The cut-out without three inches along its rim: what goes on beyond is not drawn."""
    width, near, far = detail.size
    side, rim = width / 2.0 - 3.0 * INCH, 3.0 * INCH
    return shapely.box(-side, -near + rim, side, 0.0 if is_drop(detail) else far - rim)


def seen_spots(detail: Detail) -> Iterator[tuple[Piece, Point2]]:
    """Give for each run of what is seen from above its first piece and a place where it is."""
    done: set[str] = set()
    wood = shapely.union_all([area for _, area in wood_of(detail)]).buffer(0.5 * INCH)
    window = inner(detail).intersection(wood).difference(holes_of(detail))
    for k, piece in enumerate(detail.pieces):
        if piece.kind not in {PieceKind.SHEET, PieceKind.SHINGLE, PieceKind.METAL}:
            continue
        if not piece.footprints or layer_of(piece) in done:
            continue
        later = area_of([p for p in detail.pieces[k + 1 :] if p.footprints])
        seen = shapely.intersection(shapely.difference(area_of([piece]), later), window)
        seen = seen.buffer(-0.75 * INCH)
        if seen.area > REAL:
            part = max(shapely.get_parts(seen), key=lambda one: float(one.area))
            spot = part.representative_point()
            done.add(layer_of(piece))
            yield piece, (float(spot.x), float(spot.y))


def nailed(detail: Detail, piece: Piece, spot: Point2) -> Detail:
    """Drive a nail through a piece, just after it is laid."""
    body = discs(detail.frame, [(*spot, 0.0)], radius=0.2 * INCH, height=0.1 * INCH)
    nail = replace(
        next(p for p in detail.pieces if p.kind is PieceKind.FASTENER),
        id="wrong.nail",
        layer=piece.layer,
        footprints=(),
        vertices=body.vertices,
        triangles=body.triangles,
    )
    at = [p.id for p in detail.pieces].index(piece.id) + 1
    return in_order(detail, [*detail.pieces[:at], nail, *detail.pieces[at:]])


def forgotten(detail: Detail, number: int) -> Detail:
    """Leave a layer out, and out of the list of layers too: pieces alone must tell."""
    pieces = [piece for piece in detail.pieces if piece.layer != number]
    kept = tuple(layer for layer in detail.layers if layer.number != number)
    return replace(in_order(detail, pieces), layers=kept)
