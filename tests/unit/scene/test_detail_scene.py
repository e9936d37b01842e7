"""The scene of a layered detail: parts, lifts, trails, labels, dimensions, cautions."""

from __future__ import annotations

import math
from functools import cache
from pathlib import Path

import numpy as np
import pytest

import roof3d
from roof3d.errors import LayoutError
from roof3d.project import Project
from roof3d.scene.detail_scene import (
    build_detail,
    build_detail_scene,
    detail_places,
    find_detail,
    scene_of,
)
from roof3d.scene.lifts import TRANSITIONS, shift
from roof3d.scene.model import PartKind
from roof3d.writers.glb import glb_bytes
from roof3d.writers.shell import count_open_sides
from tests.unit.details.every_kind import detail_of

MODELS = Path(__file__).parents[3] / "models"
each_model = pytest.mark.parametrize("name", ["lantern-street", "tide-house"])
LIFT = 0.25


@cache
def project(name: str) -> Project:
    return roof3d.build(roof3d.load(MODELS / f"{name}.toml"))


@each_model
def test_parts_are_closed_and_numbered_in_the_order_of_work(name: str) -> None:
    scene = build_detail_scene(project(name))
    layers = [part.layer for part in scene.parts]
    assert layers == sorted(layers)
    assert set(layers) == set(range(1, len(scene.labels) + 1))
    assert [count_open_sides(part.triangles) for part in scene.parts] == [0] * len(layers)
    assert len({part.id for part in scene.parts}) == len(layers)


@each_model
def test_ids_hold_place_layer_and_piece(name: str) -> None:
    place = find_detail(project(name)).edge
    for part in build_detail_scene(project(name)).parts:
        assert part.id.startswith(f"{place}.{part.layer}.")


@each_model
def test_a_lift_moves_each_layer_straight_along_its_direction(name: str) -> None:
    rest, lifted = (build_detail_scene(project(name), lift=lift) for lift in (0.0, LIFT))
    detail = build_detail(project(name))
    for low, high in zip(rest.parts, lifted.parts, strict=True):
        moves = high.vertices - low.vertices
        assert np.ptp(moves, axis=0).max() < 1e-12
        assert np.abs(moves[0] - shift(detail, low.layer, LIFT)).max() < 1e-12
        along = float(moves[0] @ np.array(low.lift))
        assert np.abs(moves[0] - along * np.array(low.lift)).max() < 1e-12
        assert (along > 0.0) is (low.layer > 1)


@each_model
def test_a_lift_is_square_to_a_deck_of_the_roof(name: str) -> None:
    planes = project(name).roof.edge(find_detail(project(name)).edge).planes
    normals = {project(name).roof.plane(plane).normal for plane in planes}
    lifts = {part.lift for part in build_detail_scene(project(name)).parts}
    assert len(lifts) == (2 if name == "tide-house" else 1)
    for lift in lifts:
        assert min(math.dist(lift, normal) for normal in normals) < 1e-12


@each_model
def test_lifted_layers_are_clear_of_one_another(name: str) -> None:
    """Along each lift direction the next layer stands higher by at least 0.4 of the lift."""
    parts = build_detail_scene(project(name), lift=LIFT).parts
    detail = build_detail(project(name))
    for lift in {part.lift for part in parts}:
        layers = sorted({part.layer for part in parts if part.lift == lift})
        heights = [math.dist(shift(detail, layer, LIFT), (0, 0, 0)) for layer in layers]
        assert min(np.diff(heights), default=LIFT) >= 0.4 * LIFT
        assert heights[0] == 0.0 or heights[0] >= LIFT


@each_model
def test_labels_tell_name_size_reason_and_source_of_each_layer(name: str) -> None:
    scene = build_detail_scene(project(name))
    assert [len(label.lines) for label in scene.labels] == [5] * len(scene.labels)
    assert all(line for label in scene.labels for line in label.lines)
    numbers = [int(label.subject.rsplit(".", 1)[1]) for label in scene.labels]
    assert numbers == list(range(1, len(numbers) + 1))


@each_model
def test_trails_join_the_deck_to_what_was_lifted(name: str) -> None:
    scene = build_detail_scene(project(name), lift=LIFT)
    assert [line.style for line in scene.lines] == ["trail"] * 4
    assert build_detail_scene(project(name)).lines == ()
    deck = np.concatenate([p.vertices for p in scene.parts if p.kind is PartKind.DECK])
    others = np.concatenate([p.vertices for p in scene.parts if p.layer > 1])
    for line in scene.lines:
        foot, head = (np.array(end) for end in line.ends)
        assert np.linalg.norm(deck - foot, axis=1).min() < 1e-9
        assert np.linalg.norm(others - head, axis=1).min() < 0.15


@each_model
def test_dimensions_move_with_their_layer_and_keep_their_length(name: str) -> None:
    rest, lifted = (build_detail_scene(project(name), lift=lift) for lift in (0.0, LIFT))
    lengths = [[math.dist(*d.ends) for d in scene.dimensions] for scene in (rest, lifted)]
    assert lengths[0] == pytest.approx(lengths[1], abs=1e-12)
    assert len(lengths[0]) >= 8


def test_words_tell_pitches_lift_and_thickness() -> None:
    porch = build_detail_scene(project("lantern-street"), lift=LIFT)
    assert porch.title == "Low slope below steep slope, layer by layer"
    assert porch.subtitle == (
        "Lantern Street house, porch.transition: 1:12 (5 deg) below 6:12 (27 deg). All layers "
        "lifted square to the low deck (22 deg off square to the steep one, so that none swings "
        "in front of another). Lengths true; sheets drawn 4 times as thick, at least 1/2 in."
    )
    true = build_detail_scene(project("tide-house"), exaggerate=1.0, least_thickness=0.0)
    assert true.subtitle.endswith("Layers where they belong. Everything true to size.")


@each_model
def test_cautions_name_falls_and_hot_tools(name: str) -> None:
    cautions = " ".join(build_detail_scene(project(name)).cautions)
    assert [word in cautions for word in ("Falls", "Ladder", "Hot tools")] == [True] * 3


def test_a_plane_names_its_first_transition() -> None:
    tide = project("tide-house")
    assert find_detail(tide, "house.east_lower").id == "house.transition_2"
    assert find_detail(tide).id == "house.transition"


def test_an_unknown_place_is_refused_with_those_there_are() -> None:
    with pytest.raises(LayoutError, match="no joint 'attic'") as refused:
        build_detail_scene(project("lantern-street"), "attic")
    _, head, *rows = str(refused.value).splitlines()
    assert head == "  by kind there are:"
    listed = {row.split(maxsplit=1)[0]: row.split(maxsplit=1)[1].split(", ") for row in rows}
    found: dict[str, list[str]] = {}
    for place in detail_places(project("lantern-street")):
        found.setdefault(place.kind.value, []).append(place.id)
    assert listed == found
    assert max(map(len, rows)) <= 98


def test_a_place_mistyped_is_guessed_at() -> None:
    with pytest.raises(LayoutError) as refused:
        build_detail_scene(project("plum-corner"), "dormer.vally")
    assert str(refused.value).splitlines()[1] == (
        "  did you mean dormer.valley or dormer.valley_2 or dormer.rake?"
    )
    with pytest.raises(LayoutError) as refused:
        build_detail_scene(project("plum-corner"), "chimny")
    # The chimney's id and its kind are one word there: said once.
    assert str(refused.value).splitlines()[1] == "  did you mean chimney?"
    with pytest.raises(LayoutError) as refused:
        build_detail_scene(project("plum-corner"), "x" * 5000)
    assert max(map(len, str(refused.value).splitlines())) < 120


def test_a_roof_without_transition_has_its_other_joints() -> None:
    kinds = {place.kind for place in detail_places(project("plum-corner"))}
    assert kinds.isdisjoint(TRANSITIONS)
    assert kinds


def test_how_layers_are_shown_can_be_said_in_other_words() -> None:
    detail = build_detail(project("lantern-street"))
    subtitle = scene_of(detail, project("lantern-street"), shown="Cut back.").subtitle
    assert "27 deg). Cut back. Lengths true" in subtitle
    assert "lifted" not in subtitle


@each_model
def test_a_detail_goes_into_a_mesh_file_with_its_names(name: str) -> None:
    scene = build_detail_scene(project(name))
    data = glb_bytes(scene, {})
    assert all(part.id.encode() in data for part in scene.parts)


@pytest.mark.parametrize("name", ["break 3 over 8", "break 8 over 21", "ferry-quay"])
def test_a_layer_lifted_another_way_stays_above_what_it_lies_on(name: str) -> None:
    """The starter of a pitch break stood below the metal and the sheets that it lies on."""
    place = "hall.transition" if name == "ferry-quay" else "barn.pitch_break"
    detail = detail_of(name, place)
    checked = 0
    for layer in detail.layers[2:]:
        mine = [p for p in detail.pieces if p.layer == layer.number]
        for other in detail.layers[1 : layer.number - 1]:
            theirs = [p for p in detail.pieces if p.layer == other.number]
            low = max(min(p.reach[0] for p in pieces) for pieces in (mine, theirs))
            high = min(max(p.reach[1] for p in pieces) for pieces in (mine, theirs))
            if high - low < 0.15:
                continue
            way = np.array(mine[0].lift)
            gap = np.array(shift(detail, layer.number, LIFT))
            gap -= np.array(shift(detail, other.number, LIFT))
            assert float(gap @ way) > 0.3 * LIFT, (layer.name, other.name)
            checked += 1
    assert checked >= 5
