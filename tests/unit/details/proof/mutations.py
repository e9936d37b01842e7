"""Details of the shipped models, and ways to lay their pieces in another turn."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import replace
from functools import cache
from itertools import combinations, pairwise
from pathlib import Path
from typing import TYPE_CHECKING

import shapely

from roof3d.details.build import build_detail
from roof3d.details.model import Detail, DetailKind, Piece, PieceKind
from roof3d.details.proof.shingled import layer_of
from roof3d.details.site import DetailSite, Place
from roof3d.laps.edges import only_areas
from roof3d.project import Project, build
from roof3d.scene.detail_scene import detail_places
from roof3d.spec.read import parse_spec

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

MODELS = Path(__file__).parents[4] / "models"
SHIPPED = ("ferry-quay", "lantern-street", "plum-corner", "tide-house")
UPRIGHT = frozenset({"flashing-ply", "flashing-cap", "counterflashing"})
"""Lengths side by side: their laps run along the flow, and either may lie on top."""
REAL = 1e-5
"""Less than this is no overlap, square metres."""


@cache
def project_of(model: str) -> Project:
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
    """The first place of each kind that the shipped models have."""
    found: dict[DetailKind, tuple[str, Place]] = {}
    for model in SHIPPED:
        for place in detail_places(project_of(model)):
            found.setdefault(place.kind, (model, place))
    return found


@cache
def detail_of(kind: DetailKind) -> Detail:
    model, place = first_of_each()[kind]
    return build_detail(site_of(project_of(model), place))


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


def row_pairs(detail: Detail) -> Iterator[tuple[Piece, Piece]]:
    """Give neighbours of one run that lap, but for those whose turn does not matter.

    Either of two lengths side by side along a level line or up a wall may lie on top, and the
    last cap of a hip or ridge may lie either way.
    """
    runs: dict[str, list[Piece]] = defaultdict(list)
    for piece in detail.pieces:
        if piece.footprints and piece.kind not in {
            PieceKind.DECK,
            PieceKind.BED,
            PieceKind.WALL,
            PieceKind.UNIT,
        }:
            runs[layer_of(piece)].append(piece)
    for name, pieces in runs.items():
        family = name.split(":")[1]
        level = family == "metal" and detail.kind in {
            DetailKind.EAVE_MEMBRANE,
            DetailKind.EAVE_SHINGLE,
        }
        if family in UPRIGHT or level:
            continue
        last = pieces[:-1] if pieces[0].kind is PieceKind.SHINGLE and family == "cap" else pieces
        for one, two in pairwise(last):
            if shapely.intersection(area_of([one]), area_of([two])).area > REAL:
                yield one, two
