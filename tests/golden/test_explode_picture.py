"""Small pictures of layered details of the shipped models against their baselines."""

from __future__ import annotations

import io
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

import roof3d
from roof3d.project import Project
from roof3d.render.detail_view.look import Look, Style
from roof3d.render.explode_picture import Figure, ink_picture, set_picture
from tests.golden.baselines import MEAN, MOST, difference

ROOT = Path(__file__).parents[2]
BASELINES = Path(__file__).parent / "detail"
MODELS = ("lantern-street", "tide-house")

each_model = pytest.mark.parametrize("name", MODELS)


each_style = pytest.mark.parametrize("style", [Style.EXPLODED, Style.CUTAWAY])
SMALL = (480, 360)


@cache
def project(name: str) -> Project:
    return roof3d.build(roof3d.load(ROOT / "models" / f"{name}.toml"))


@cache
def figure(name: str, style: Style) -> Figure:
    found = set_picture(project(name), None, SMALL, Look(style=style)).figure
    assert found is not None
    return found


def file_of(name: str, style: Style, what: str) -> Path:
    ending = "" if style is Style.EXPLODED else f".{style.value}"
    return BASELINES / f"{name}{ending}.{what}.png"


@each_style
@each_model
def test_piece_in_front_of_each_pixel_is_that_of_the_baseline(name: str, style: Style) -> None:
    ids = figure(name, style).raster.ids
    assert ids.max() < 256
    assert difference(file_of(name, style, "ids"), ids.astype(np.uint8)) == (0, 0.0)


@each_style
@each_model
def test_colours_are_those_of_the_baseline_within_tolerance(name: str, style: Style) -> None:
    found = difference(file_of(name, style, "colour"), figure(name, style).raster.colour)
    assert isinstance(found, tuple), found
    assert (found[0] <= MOST, found[1] <= MEAN) == (True, True), found


@each_model
def test_section_without_text_is_that_of_the_baseline(name: str) -> None:
    data = ink_picture(
        set_picture(project(name), None, SMALL, Look(style=Style.SECTION, plain=True))
    )
    with Image.open(io.BytesIO(data)) as image:
        found = difference(file_of(name, Style.SECTION, "colour"), np.asarray(image))
    assert isinstance(found, tuple), found
    assert (found[0] <= MOST, found[1] <= MEAN) == (True, True), found


def test_every_baseline_belongs_to_a_model() -> None:
    wanted = {
        file_of(name, style, what).name
        for name in MODELS
        for style in (Style.EXPLODED, Style.CUTAWAY)
        for what in ("ids", "colour")
    } | {file_of(name, Style.SECTION, "colour").name for name in MODELS}
    assert {path.name for path in BASELINES.iterdir()} == wanted
