"""Small pictures of layered details of the shipped models against their baselines."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import numpy as np
import pytest

import roof3d
from roof3d.render.explode_picture import DetailPicture, set_picture
from tests.golden.baselines import MEAN, MOST, difference

ROOT = Path(__file__).parents[2]
BASELINES = Path(__file__).parent / "detail"
MODELS = ("lantern-street", "tide-house")

each_model = pytest.mark.parametrize("name", MODELS)


@cache
def picture(name: str) -> DetailPicture:
    project = roof3d.build(roof3d.load(ROOT / "models" / f"{name}.toml"))
    return set_picture(project, None, (480, 360))


@each_model
def test_piece_in_front_of_each_pixel_is_that_of_the_baseline(name: str) -> None:
    ids = picture(name).raster.ids
    assert ids.max() < 256
    assert difference(BASELINES / f"{name}.ids.png", ids.astype(np.uint8)) == (0, 0.0)


@each_model
def test_colours_are_those_of_the_baseline_within_tolerance(name: str) -> None:
    found = difference(BASELINES / f"{name}.colour.png", picture(name).raster.colour)
    assert isinstance(found, tuple), found
    assert (found[0] <= MOST, found[1] <= MEAN) == (True, True), found


def test_every_baseline_belongs_to_a_model() -> None:
    wanted = {f"{name}.{what}.png" for name in MODELS for what in ("ids", "colour")}
    assert {path.name for path in BASELINES.iterdir()} == wanted
