"""What planes are called, from where one looks, which parts of a joint lie side by side."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest

import roof3d
from roof3d.project import Project
from roof3d.roof.model import Plane
from roof3d.writers.page.alternatives import alternative_entry, build_alternative
from roof3d.writers.page.facts import page_facts
from roof3d.writers.page.places import drawn_places, neighbours
from roof3d.writers.page.words import plane_names

MODELS = Path(__file__).parents[2] / "models"
NAMES = tuple(sorted(path.stem for path in MODELS.glob("*.toml")))


@cache
def project(name: str) -> Project:
    return roof3d.build(roof3d.load(MODELS / f"{name}.toml"))


def called(planes: list[Plane]) -> dict[str, str]:
    return {name: words["name"] for name, words in plane_names(planes).items()}


@pytest.mark.parametrize("name", NAMES)
def test_every_plane_of_every_model_has_a_name_of_its_own(name: str) -> None:
    planes = project(name).roof.planes
    names = plane_names(planes)
    assert list(names) == [plane.id for plane in planes]
    told = [words["name"] for words in names.values()]
    assert len(set(told)) == len(told)
    assert len({words["short"] for words in names.values()}) == len(told)
    assert not any(plane.id in words for plane in planes for words in told)


@pytest.mark.parametrize(
    ("model", "plane", "name", "short"),
    [
        ("lantern-street", "main.south", "south side of the main roof", "South side"),
        ("lantern-street", "porch.south", "porch roof", "Porch roof"),
        (
            "plum-corner",
            "dormer.east",
            "east side of the dormer roof",
            "East side of the dormer roof",
        ),
        ("tide-house", "house.east_upper", "upper east side of the house roof", "Upper east side"),
        (
            "ferry-quay",
            "hall.east_lower_2",
            "western part of the lower east side of the hall roof",
            "Western part of the lower east side",
        ),
    ],
)
def test_a_plane_is_called_by_its_side_and_its_section(
    model: str, plane: str, name: str, short: str
) -> None:
    assert plane_names(project(model).roof.planes)[plane] == {"name": name, "short": short}


@pytest.mark.parametrize("name", NAMES)
def test_the_side_is_the_one_the_plane_falls_to(name: str) -> None:
    winds = {"north": 0.0, "east": 90.0, "south": 180.0, "west": 270.0}
    for plane in project(name).roof.planes:
        for wind, azimuth in winds.items():
            if f"{wind} side" in plane_names(project(name).roof.planes)[plane.id]["name"]:
                assert plane.azimuth_deg is not None
                assert math.cos(math.radians(plane.azimuth_deg - azimuth)) > 0.9


def test_names_stay_apart_where_sections_and_sides_are_alike() -> None:
    base = project("lantern-street").roof.plane("main.south")

    def at(plane: str, section: str, north: float) -> Plane:
        outline = tuple((x, y + north, z) for x, y, z in base.outline)
        return replace(base, id=plane, section=section, outline=outline)

    found = called(
        [
            at("bay.northeast", "bay", 0.0),
            at("bay.level", "bay", 0.0),
            at("row.south", "row", 0.0),
            at("row.south_2", "row", 9.0),
            at("row.south_3", "row", -9.0),
            at("a-b.south", "a-b", 0.0),
            at("a_b.south", "a_b", 0.0),
            at("shed-roof.south", "shed-roof", 0.0),
            at("Wing.south", "Wing", 0.0),
            at("wing.south", "wing", 0.0),
            at("proof.south", "proof", 0.0),
        ]
    )
    assert found == {
        "bay.northeast": "north-east side of the bay roof",
        "bay.level": "level part of the bay roof",
        "row.south": "part 2 from the north of the south side of the row roof",
        "row.south_2": "part 1 from the north of the south side of the row roof",
        "row.south_3": "part 3 from the north of the south side of the row roof",
        "a-b.south": "a b roof (a-b.south)",
        "a_b.south": "a b roof (a_b.south)",
        "shed-roof.south": "shed roof",
        "Wing.south": "Wing roof (Wing.south)",
        "wing.south": "wing roof (wing.south)",
        "proof.south": "proof roof",
    }


@pytest.mark.parametrize(
    ("model", "first"),
    [("lantern-street", "south"), ("tide-house", "south"), ("plum-corner", "east")],
)
def test_views_are_named_by_the_compass_for_no_model_knows_its_street(
    model: str, first: str
) -> None:
    views = page_facts(project(model), variants=[], places=[], words={}, colours={})["views"]
    assert [view["id"] for view in views[:2]] == ["front", "above"]
    assert views[0]["name"] == f"From the {first}"
    names = [view["name"] for view in views]
    assert len(set(names)) == len(names)
    assert not any("street" in name for name in names)
    winds = {"north": 0.0, "east": 90.0, "south": 180.0, "west": 270.0}
    assert math.cos(math.radians(views[0]["azimuth_deg"] - winds[first])) > 0.9


def test_what_changes_alike_is_told_in_one_line() -> None:
    other = build_alternative(project("tide-house"), "low=two-ply")
    (line,) = alternative_entry(project("tide-house"), other)["plain"]
    assert line.endswith("on the nearly flat part (81.14 m2).")
    one = build_alternative(project("tide-house"), "entrance.south=two-ply")
    (line,) = alternative_entry(project("tide-house"), one)["plain"]
    assert line.endswith("on entrance.south (4.16 m2).")


def test_parts_are_neighbours_where_one_lies_bare_on_the_other() -> None:
    (chimney,) = [d for d, _ in drawn_places(project("plum-corner")) if d.id == "chimney"]
    pairs = set(neighbours(chimney))
    number = {layer.material: layer.number for layer in chimney.layers if layer.number > 3}
    apron, steps, pan, over = (
        f"{number[name]}/metal"
        for name in ("apron-flashing", "step-flashing", "back-pan", "counterflashing")
    )
    assert {("2/sheet", "3/shingle"), ("3/shingle", apron), ("5/shingle", steps)} <= pairs
    # The metal that stands against the brick hangs over all other metal, and before the shingles.
    assert {(apron, over), (steps, over), (pan, over), ("9/shingle", over)} <= pairs
    assert not [pair for pair in pairs if all(part.endswith("shingle") for part in pair)]
    # The deck is under the underlayment everywhere: no shingle lies on it.
    assert not [pair for pair in pairs if pair[0] == "1/deck" and pair[1].endswith("shingle")]
