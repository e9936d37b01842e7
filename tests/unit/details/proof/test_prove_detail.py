"""No false alarm on what is built right; any two layers swapped, any lap turned is caught."""

from __future__ import annotations

import numpy as np
import pytest

from roof3d.catalog.load import load_catalog
from roof3d.details.build import build_detail
from roof3d.details.model import DetailKind
from roof3d.details.proof.model import Facing, FaultKind
from roof3d.details.proof.path import water_path
from roof3d.details.proof.prove import prove_detail
from roof3d.details.proof.table import lap_table
from roof3d.scene.detail_scene import detail_places
from tests.unit.details.membrane import houses as low
from tests.unit.details.proof.mutations import (
    SHIPPED,
    detail_of,
    first_of_each,
    layer_pairs,
    project_of,
    row_pairs,
    site_of,
    swapped,
    turned,
    without,
)
from tests.unit.details.shingle import houses as steep

CATALOG = load_catalog()
KINDS = tuple(first_of_each())
INCH = 0.0254


def faults_of(model: str, *, every: bool) -> list[str]:
    project = project_of(model)
    seen: set[DetailKind] = set()
    found = []
    for place in detail_places(project):
        if place.kind in seen and not every:
            continue
        seen.add(place.kind)
        detail = build_detail(site_of(project, place))
        found += [f"{place.id}: {f.kind} {f.pieces}" for f in prove_detail(detail, CATALOG)]
    return found


@pytest.mark.parametrize("model", SHIPPED)
def test_right_builds_have_no_fault(model: str) -> None:
    assert faults_of(model, every=False) == []


@pytest.mark.heavy
@pytest.mark.parametrize("model", SHIPPED)
def test_every_right_build_has_no_fault(model: str) -> None:
    assert faults_of(model, every=True) == []


@pytest.mark.heavy
@pytest.mark.parametrize("pitch", [2.5, 4.0, 6.0, 12.0, 21.0])
@pytest.mark.parametrize("ice", [False, True])
def test_right_builds_at_any_pitch_of_shingles(pitch: float, *, ice: bool) -> None:
    project = steep.house(pitch, ice=ice)
    details = [build_detail(site_of(project, place)) for place in detail_places(project)]
    assert [f.pieces for detail in details for f in prove_detail(detail, CATALOG)] == []


@pytest.mark.heavy
@pytest.mark.parametrize("assembly", low.ASSEMBLIES)
@pytest.mark.parametrize("pitch", [0.5, 1.0, 1.9])
def test_right_builds_of_every_membrane(pitch: float, assembly: str) -> None:
    project = low.house(pitch, assembly)
    places = [place for place in detail_places(project) if place.kind in low.KINDS]
    details = [build_detail(site_of(project, place)) for place in places]
    assert [f.pieces for detail in details for f in prove_detail(detail, CATALOG)] == []


@pytest.mark.parametrize("kind", KINDS)
def test_neighbouring_layers_swapped_are_caught(kind: DetailKind) -> None:
    detail = detail_of(kind)
    pairs = list(layer_pairs(detail, neighbours=True))
    assert len(pairs) >= 2
    missed = [pair for pair in pairs if not prove_detail(swapped(detail, *pair), CATALOG)]
    assert missed == []


@pytest.mark.heavy
@pytest.mark.parametrize("kind", KINDS)
def test_any_two_layers_swapped_are_caught(kind: DetailKind) -> None:
    detail = detail_of(kind)
    pairs = list(layer_pairs(detail, neighbours=False))
    missed = [pair for pair in pairs if not prove_detail(swapped(detail, *pair), CATALOG)]
    assert missed == []


def some_rows(kind: DetailKind, most: int) -> list[str]:
    detail = detail_of(kind)
    pairs = list(row_pairs(detail))
    step = max(1, len(pairs) // most)
    return [
        f"{one.id} {two.id}"
        for one, two in pairs[::step]
        if not prove_detail(turned(detail, one, two), CATALOG)
    ]


@pytest.mark.parametrize("kind", KINDS)
def test_turned_laps_are_caught(kind: DetailKind) -> None:
    assert some_rows(kind, 4) == []


@pytest.mark.heavy
@pytest.mark.parametrize("kind", KINDS)
def test_any_turned_lap_is_caught(kind: DetailKind) -> None:
    assert some_rows(kind, 1000) == []


@pytest.mark.heavy
@pytest.mark.parametrize("kind", KINDS)
def test_any_layer_left_out_is_caught(kind: DetailKind) -> None:
    detail = detail_of(kind)
    for layer in detail.layers:
        names = tuple(piece.id for piece in detail.pieces if piece.layer == layer.number)
        faults = prove_detail(without(detail, *names), CATALOG)
        assert FaultKind.MISSING in {fault.kind for fault in faults}, layer.name


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
