"""Copings in the scene: closed hats that sit on their walls and meet at the corners."""

from __future__ import annotations

import numpy as np
import pytest

from roof3d.project import build
from roof3d.roof.build import build_roof
from roof3d.scene.copings import coping_parts
from roof3d.scene.model import Part, PartKind
from roof3d.scene.roof_scene import build_roof_scene
from roof3d.writers.shell import count_open_sides
from tests.model_text import Block
from tests.parapet_models import with_parapets

DECK = Block(id="deck", form="flat", length=9.0, width=6.0, eave=4.0, pitch=0.02, turn=25.0)


@pytest.fixture(scope="module")
def hats() -> tuple[Part, ...]:
    roof, _ = build_roof(with_parapets((DECK,)))
    return tuple(coping_parts(roof))


def volume(part: Part) -> float:
    corners = part.vertices[part.triangles] - part.vertices[0]
    return float(np.linalg.det(corners).sum()) / 6.0


def test_each_is_a_closed_solid_the_right_way_round(hats: tuple[Part, ...]) -> None:
    assert [count_open_sides(part.triangles) for part in hats] == [0] * 4
    assert min(map(volume, hats)) > 0.0


def test_they_lie_on_the_walls(hats: tuple[Part, ...]) -> None:
    top = 4.0 + 5.8 * 0.02 + 0.6
    for part in hats:
        heights = part.vertices[:, 2]
        # Legs down both faces, the hat above the wall's top, some corners right on it.
        assert heights.min() < top < heights.max()
        assert np.count_nonzero(np.abs(heights - top) < 1e-6) == 4


def test_legs_are_as_long_as_in_the_joint(hats: tuple[Part, ...]) -> None:
    """4 in down the inside and 3 in down the outside: common practice, no source."""
    inch = 0.0254
    top = 4.0 + 5.8 * 0.02 + 0.6
    for part in hats:
        feet = sorted({round((top - z) / inch, 6) for z in part.vertices[:, 2].tolist() if z < top})
        assert [foot for foot in feet if foot > 1e-3] == [3.0, 4.0]


def test_they_meet_at_the_corners(hats: tuple[Part, ...]) -> None:
    ends = [set(map(tuple, np.round(part.vertices, 4).tolist())) for part in hats]
    shared = [len(ends[a] & ends[b]) for a in range(4) for b in range(a)]
    # Each meets two others with its whole end of eight corners.
    assert sorted(shared) == [0, 0, 8, 8, 8, 8]


def test_they_are_named_for_their_edges(hats: tuple[Part, ...]) -> None:
    assert [part.id for part in hats] == [
        "deck.headwall.coping",
        "deck.headwall_2.coping",
        "deck.sidewall.coping",
        "deck.sidewall_2.coping",
    ]
    assert {part.kind for part in hats} == {PartKind.COPING}


def test_the_scene_calls_a_wall_of_its_own_a_parapet() -> None:
    scene = build_roof_scene(build(with_parapets((DECK,))))
    words = {label.subject: label.lines[0] for label in scene.labels}
    assert words["deck.headwall"] == words["deck.sidewall"] == "parapet"
    names = [part.id for part in scene.parts]
    assert "building.parapet" in names
    assert names[-4:] == [
        "deck.headwall.coping",
        "deck.headwall_2.coping",
        "deck.sidewall.coping",
        "deck.sidewall_2.coping",
    ]
