"""No false alarm on what is built right; any two layers swapped, any lap turned is caught."""

from __future__ import annotations

from itertools import islice
from typing import TYPE_CHECKING

import numpy as np
import pytest

from roof3d.details.build import build_detail
from roof3d.details.model import Detail, DetailKind
from roof3d.details.proof.model import Facing, FaultKind
from roof3d.details.proof.path import water_path
from roof3d.details.proof.prove import prove_detail
from roof3d.details.proof.roles import family_of
from roof3d.details.proof.table import lap_table
from roof3d.scene.detail_scene import detail_places
from tests.unit.details import every_kind
from tests.unit.details.membrane import houses as low
from tests.unit.details.proof.mutations import (
    CATALOG,
    EITHER,
    MAY_BE_NAILED,
    QUICK,
    SHIPPED,
    any_row_pairs,
    detail_of,
    faults_of,
    first_of_each,
    forgotten,
    layer_pairs,
    nailed,
    project_of,
    row_pairs,
    seen_spots,
    shortened,
    site_of,
    swapped,
    turned,
    without,
)
from tests.unit.details.shingle import houses as steep

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator

KINDS = tuple(first_of_each())
INCH = 0.0254


def pieces_at_fault(details: Iterable[Detail]) -> list[tuple[str, ...]]:
    return [fault.pieces for detail in details for fault in prove_detail(detail, CATALOG)]


@pytest.mark.parametrize("kind", KINDS)
def test_right_builds_have_no_fault(kind: DetailKind) -> None:
    assert faults_of(kind) == ()


def test_every_kind_of_joint_is_among_them() -> None:
    assert set(KINDS) == set(DetailKind)


@pytest.mark.heavy
@pytest.mark.parametrize("model", SHIPPED)
def test_every_right_build_has_no_fault(model: str) -> None:
    project = project_of(model)
    places = detail_places(project)
    details = (build_detail(site_of(project, place)) for place in places)
    assert len(places) > 15
    assert pieces_at_fault(details) == []


@pytest.mark.heavy
@pytest.mark.parametrize("house", every_kind.HOUSES)
def test_right_builds_of_small_houses_at_any_pitch(house: str) -> None:
    places = every_kind.first_of_each(every_kind.project_of(house)).values()
    details = (build_detail(every_kind.site_of(house, place)) for place in places)
    assert pieces_at_fault(details) == []


@pytest.mark.heavy
@pytest.mark.parametrize("pitch", [2.5, 4.0, 6.0, 12.0, 21.0])
@pytest.mark.parametrize("ice", [False, True])
def test_right_builds_at_any_pitch_of_shingles(pitch: float, *, ice: bool) -> None:
    project = steep.house(pitch, ice=ice)
    details = (build_detail(site_of(project, place)) for place in detail_places(project))
    assert pieces_at_fault(details) == []


@pytest.mark.heavy
@pytest.mark.parametrize("assembly", low.ASSEMBLIES)
@pytest.mark.parametrize("pitch", [0.5, 1.0, 1.9])
def test_right_builds_of_every_membrane(pitch: float, assembly: str) -> None:
    project = low.house(pitch, assembly)
    places = [place for place in detail_places(project) if place.kind in low.KINDS]
    details = (build_detail(site_of(project, place)) for place in places)
    assert pieces_at_fault(details) == []


def not_caught(details: Iterable[tuple[object, Detail]]) -> list[object]:
    return [name for name, detail in details if not prove_detail(detail, CATALOG)]


def swaps(detail: Detail, *, neighbours: bool) -> Iterator[tuple[object, Detail]]:
    for pair in layer_pairs(detail, neighbours=neighbours):
        yield pair, swapped(detail, *pair)


def turns(detail: Detail) -> Iterator[tuple[object, Detail]]:
    for one, two in row_pairs(detail):
        yield (one.id, two.id), turned(detail, one, two)


def short_laps(detail: Detail) -> Iterator[tuple[object, Detail]]:
    for one, two in row_pairs(detail):
        if (wrong := shortened(detail, one, two)) is not None:
            yield (one.id, two.id), wrong


def low_nails(detail: Detail) -> Iterator[tuple[object, Detail]]:
    for piece, spot in seen_spots(detail):
        if family_of(piece) not in MAY_BE_NAILED:
            yield piece.id, nailed(detail, piece, spot)


@pytest.mark.parametrize("kind", QUICK)
def test_neighbouring_layers_swapped_are_caught(kind: DetailKind) -> None:
    wrong = list(swaps(detail_of(kind), neighbours=True))
    assert len(wrong) >= 2
    assert not_caught(wrong) == []


@pytest.mark.parametrize("kind", QUICK)
@pytest.mark.parametrize("change", [turns, short_laps, low_nails])
def test_a_lap_turned_or_short_and_a_nail_in_sight_are_caught(
    kind: DetailKind, change: Callable[[Detail], Iterator[tuple[object, Detail]]]
) -> None:
    assert not_caught(islice(change(detail_of(kind)), 2)) == []


@pytest.mark.heavy
@pytest.mark.parametrize("kind", KINDS)
def test_any_two_layers_swapped_are_caught(kind: DetailKind) -> None:
    assert not_caught(swaps(detail_of(kind), neighbours=False)) == []


@pytest.mark.heavy
@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("change", [turns, short_laps, low_nails])
def test_any_lap_turned_or_short_and_any_nail_in_sight_are_caught(
    kind: DetailKind, change: Callable[[Detail], Iterator[tuple[object, Detail]]]
) -> None:
    assert not_caught(change(detail_of(kind))) == []


@pytest.mark.heavy
@pytest.mark.parametrize("kind", KINDS)
def test_what_may_lie_either_way_is_no_fault(kind: DetailKind) -> None:
    """Only pairs with a reason of the three go uncaught; and nails in what a wall holds."""
    detail = detail_of(kind)
    either = [row for row in any_row_pairs(detail) if row[2]]
    for one, two, _ in either:
        assert prove_detail(turned(detail, one, two), CATALOG) == ()
    nails = [(p, spot) for p, spot in seen_spots(detail) if family_of(p) in MAY_BE_NAILED]
    for piece, spot in nails:
        assert prove_detail(nailed(detail, piece, spot), CATALOG) == ()


def test_every_reason_to_let_a_turn_pass_has_a_joint() -> None:
    kinds = (DetailKind.HEADWALL_MEMBRANE, DetailKind.EAVE_MEMBRANE, DetailKind.RIDGE)
    found = {why for kind in kinds for *_, why in any_row_pairs(detail_of(kind)) if why}
    assert found == set(EITHER)


@pytest.mark.heavy
@pytest.mark.parametrize("kind", KINDS)
def test_any_layer_left_out_is_caught(kind: DetailKind) -> None:
    detail = detail_of(kind)
    for layer in detail.layers:
        names = tuple(piece.id for piece in detail.pieces if piece.layer == layer.number)
        faults = prove_detail(without(detail, *names), CATALOG)
        assert FaultKind.MISSING in {fault.kind for fault in faults}, layer.name


@pytest.mark.parametrize(
    ("kind", "number"), [(DetailKind.EAVE_SHINGLE, 4), (DetailKind.LOW_BELOW_STEEP, 6)]
)
def test_what_is_left_out_is_seen_in_the_pieces_alone(kind: DetailKind, number: int) -> None:
    """The starter and the ice barrier: not even the list of layers tells of them."""
    kinds = {fault.kind for fault in prove_detail(forgotten(detail_of(kind), number), CATALOG)}
    assert kinds
    assert FaultKind.MISSING not in kinds


def test_water_runs_down_into_a_drain() -> None:
    detail = detail_of(DetailKind.DRAIN)
    for start in ((0.0, 0.5), (0.3, 0.1), (-0.3, -0.2)):
        path = water_path(detail, start)
        heights = [mark.point[2] for mark in path]
        places = detail.frame.developed(np.array([mark.point for mark in path]))
        assert {mark.piece for mark in path} == {"cap.1"}
        assert np.hypot(*places[-1, :2]) < 0.16
        assert heights[-1] < heights[0]


def test_each_fault_has_its_place_and_the_way_of_the_water() -> None:
    detail = detail_of(DetailKind.EAVE_SHINGLE)
    faults = prove_detail(swapped(detail, 2, 3), CATALOG)
    assert faults
    layers = {layer.number for layer in detail.layers}
    for fault in faults:
        heights = [mark.point[2] for mark in fault.path]
        assert len(heights) > 3
        assert heights[0] == max(heights)
        assert fault.path[-1].piece.startswith("deck")
        assert {mark.layer for mark in fault.path} <= layers
        assert fault.words


def test_a_drop_runs_down_to_the_eave_from_piece_to_piece() -> None:
    detail = detail_of(DetailKind.EAVE_SHINGLE)
    path = water_path(detail)
    names = list(dict.fromkeys(mark.piece for mark in path))
    assert len(names) > 3
    assert all(name.startswith(("course", "metal", "deck.far")) for name in names)
    down = detail.frame.developed(np.array([mark.point for mark in path]))[:, 1].tolist()
    assert down == sorted(down)


@pytest.mark.parametrize("kind", [DetailKind.LOW_BELOW_STEEP, DetailKind.SIDEWALL_SHINGLE])
def test_the_table_of_laps_agrees_with_the_proof(kind: DetailKind) -> None:
    rows = lap_table(detail_of(kind), CATALOG)
    assert len(rows) > 20
    assert all(row.ok for row in rows)
    assert all(row.facing is not Facing.UP for row in rows)


def test_the_table_measures_laps() -> None:
    rows = {
        (r.upper, r.lower): r for r in lap_table(detail_of(DetailKind.LOW_BELOW_STEEP), CATALOG)
    }
    assert rows["cap.2", "cap.1"].lap == pytest.approx(4.0 * INCH, abs=1e-5)
    assert rows["barrier.1", "cap.2"].lap == pytest.approx(6.0 * INCH, abs=1e-5)
    assert rows["course.2", "course.1"].wanted == pytest.approx(7.625 * INCH, abs=1e-5)


def test_the_table_shows_a_turned_lap() -> None:
    detail = detail_of(DetailKind.LOW_BELOW_STEEP)
    pieces = {piece.id: piece for piece in detail.pieces}
    wrong = turned(detail, pieces["cap.1"], pieces["cap.2"])
    rows = {(row.upper, row.lower): row for row in lap_table(wrong, CATALOG)}
    row = rows["cap.1", "cap.2"]
    assert row.facing is Facing.UP
    assert not row.ok
