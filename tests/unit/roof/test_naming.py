from __future__ import annotations

import pytest

from roof3d.roof.build import build_roof
from roof3d.spec.read import parse_spec

HEAD = 'schema = 1\nname = "n"\nunits = "metric"\n'


def section(name: str, form: str, rest: str = "", *, turn: int = 0, eave: str = "3 m") -> str:
    return f"""
[[section]]
id = "{name}"
form = "{form}"
length = "12 m"
width = "8 m"
at = ["0 m", "0 m"]
turn = "{turn} deg"
eave = "{eave}"
overhang = "0.3 m"
{rest}
"""


def plane_ids(text: str) -> list[str]:
    return [plane.id for plane in build_roof(parse_spec(HEAD + text))[0].planes]


@pytest.mark.parametrize(
    ("turn", "names"),
    [
        (0, ["a.south", "a.north"]),
        (90, ["a.east", "a.west"]),
        (45, ["a.southeast", "a.northwest"]),
        (-100, ["a.west", "a.east"]),
    ],
)
def test_planes_are_named_by_where_they_fall(turn: int, names: list[str]) -> None:
    assert plane_ids(section("a", "gable", 'pitch = "6:12"', turn=turn)) == names


def test_two_planes_that_fall_alike_are_lower_and_upper() -> None:
    text = section("a", "gambrel", 'lower_pitch = "20:12"\nbreak_in = "1 m"\npitch = "6:12"')
    assert plane_ids(text) == [
        "a.south_lower",
        "a.north_lower",
        "a.south_upper",
        "a.north_upper",
    ]


def test_pieces_of_one_plane_are_numbered() -> None:
    wall = """
[[section]]
id = "w"
form = "flat"
length = "2 m"
width = "12 m"
at = ["5 m", "-2 m"]
eave = "9 m"
overhang = "0 m"
"""
    ids = plane_ids(section("a", "gable", 'pitch = "6:12"') + wall)
    assert ids == ["a.south", "a.south_2", "a.north", "a.north_2", "w.south"]


def test_a_plane_that_two_sections_share_is_named_for_the_first() -> None:
    """The same gable twice, end to end and overlapping: two planes, one name each."""
    second = section("b", "gable", 'pitch = "6:12"').replace('["0 m", "0 m"]', '["9 m", "0 m"]')
    assert plane_ids(section("a", "gable", 'pitch = "6:12"') + second) == ["a.south", "a.north"]
