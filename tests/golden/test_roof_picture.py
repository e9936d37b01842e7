"""Small roof pictures of the shipped models against their baselines, and their letters."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

import roof3d
from roof3d.render.lettering import count_crossings, count_overlaps
from roof3d.render.roof_picture import RoofPicture, compose_roof, draw_roof
from roof3d.roof.model import Kind
from roof3d.scene.roof_scene import build_roof_scene
from tests.golden.baselines import MEAN, MOST, difference

ROOT = Path(__file__).parents[2]
BASELINES = Path(__file__).parent / "roof"
MODELS = ("lantern-street", "plum-corner", "tide-house")
SMALL = (480, 360)

each_model = pytest.mark.parametrize("name", MODELS)


@cache
def project(name: str) -> roof3d.project.Project:
    return roof3d.build(roof3d.load(ROOT / "models" / f"{name}.toml"))


@cache
def composed(name: str, size: tuple[int, int]) -> RoofPicture:
    return compose_roof(project(name), build_roof_scene(project(name)), size)


@each_model
def test_part_in_front_of_each_pixel_is_that_of_the_baseline(name: str) -> None:
    ids = composed(name, SMALL).raster.ids
    assert ids.max() < 256
    assert difference(BASELINES / f"{name}.ids.png", ids.astype(np.uint8)) == (0, 0.0)


@each_model
def test_colours_are_those_of_the_baseline_within_tolerance(name: str) -> None:
    found = difference(BASELINES / f"{name}.colour.png", composed(name, SMALL).raster.colour)
    assert isinstance(found, tuple), found
    assert (found[0] <= MOST, found[1] <= MEAN) == (True, True), found


def test_every_baseline_belongs_to_a_model() -> None:
    wanted = {f"{name}.{what}.png" for name in MODELS for what in ("ids", "colour")}
    assert {path.name for path in BASELINES.iterdir()} == wanted


@pytest.mark.parametrize("size", [(1600, 1200), (800, 600)])
@each_model
def test_no_letters_overlap_and_no_leaders_cross(name: str, size: tuple[int, int]) -> None:
    picture = composed(name, size)
    counted = (
        count_overlaps(picture.labels, picture.furniture),
        count_crossings(picture.labels, picture.furniture),
    )
    assert counted == (0, 0)


@each_model
def test_every_plane_in_sight_is_named(name: str) -> None:
    picture = composed(name, (1600, 1200))
    counts = np.bincount(picture.raster.ids.ravel())
    named = {label.words.subject for label in picture.labels}
    nameless = {
        plane.id
        for plane in project(name).roof.planes
        if picture.numbers[plane.id] < len(counts)
        and counts[picture.numbers[plane.id]] > 400
        and plane.id not in named
    }
    assert nameless == set()


def test_low_and_steep_planes_stay_apart_in_grey_print() -> None:
    """At least 50 levels of 255 between the darkest low plane and the lightest steep one."""
    greys: dict[Kind, list[float]] = {Kind.LOW: [], Kind.STEEP: []}
    for name in MODELS:
        picture = composed(name, (800, 600))
        grey = np.asarray(Image.fromarray(picture.raster.colour).convert("L"))
        for plane in project(name).roof.planes:
            seen = grey[picture.raster.ids == picture.numbers[plane.id]]
            if seen.size > 200:
                greys[plane.kind].append(float(np.median(seen)))
    assert min(greys[Kind.LOW]) - max(greys[Kind.STEEP]) >= 50.0


def test_the_transition_of_the_porch_is_wholly_in_sight() -> None:
    runs = composed("lantern-street", (800, 600)).runs["porch.transition"]
    assert [run.visible for run in runs] == [True]


def test_two_pictures_are_the_same_bytes() -> None:
    first, second = (draw_roof(project("lantern-street"), SMALL) for _ in range(2))
    assert first == second


def test_a_picture_has_the_size_asked_for(tmp_path: Path) -> None:
    target = tmp_path / "roof.png"
    target.write_bytes(draw_roof(project("lantern-street"), (500, 300), azimuth_deg=10.0))
    with Image.open(target) as image:
        assert (image.format, image.size, image.mode) == ("PNG", (500, 300), "RGB")
