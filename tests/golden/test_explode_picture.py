"""Small pictures of layered details, one of each kind, against their baselines."""

from __future__ import annotations

import io
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

import roof3d
from roof3d.details.model import DetailKind
from roof3d.project import Project
from roof3d.render.detail_view.look import Look, Style
from roof3d.render.explode_picture import Figure, ink_picture, set_picture
from roof3d.scene.detail_scene import detail_places
from tests.golden.baselines import MEAN, MOST, difference

ROOT = Path(__file__).parents[2]
BASELINES = Path(__file__).parent / "detail"
FIRST = ("lantern-street", "tide-house", "plum-corner", "ferry-quay")
MODELS = (*FIRST, *sorted({path.stem for path in (ROOT / "models").glob("*.toml")} - set(FIRST)))
TRANSITIONS = (DetailKind.LOW_BELOW_STEEP, DetailKind.LOW_ABOVE_STEEP)
"""Kinds that are held in every style; the others lifted alone."""
SMALL = (480, 360)


@cache
def project(name: str) -> Project:
    return roof3d.build(roof3d.load(ROOT / "models" / f"{name}.toml"))


@cache
def first_of_each_kind() -> dict[DetailKind, tuple[str, str]]:
    """Model and place of the first detail of each kind."""
    found: dict[DetailKind, tuple[str, str]] = {}
    for name in MODELS:
        for place in detail_places(project(name)):
            found.setdefault(place.kind, (name, place.id))
    return found


@cache
def figure(kind: DetailKind, style: Style) -> Figure:
    name, place = first_of_each_kind()[kind]
    found = set_picture(project(name), place, SMALL, Look(style=style, plain=True)).figure
    assert found is not None
    return found


def file_of(kind: DetailKind, style: Style, what: str) -> Path:
    ending = "" if style is Style.EXPLODED else f".{style.value}"
    return BASELINES / f"{kind.value}{ending}.{what}.png"


def held(style: Style) -> tuple[DetailKind, ...]:
    return tuple(first_of_each_kind()) if style is Style.EXPLODED else TRANSITIONS


each_style = pytest.mark.parametrize("style", [Style.EXPLODED, Style.CUTAWAY])


@each_style
def test_piece_in_front_of_each_pixel_is_that_of_the_baseline(style: Style) -> None:
    found = {}
    for kind in held(style):
        ids = figure(kind, style).raster.ids
        whole = ids.astype(np.uint8) if ids.max() < 256 else ids.astype(np.uint16)
        found[kind] = difference(file_of(kind, style, "ids"), whole)
    assert {kind: gap for kind, gap in found.items() if gap != (0, 0.0)} == {}


@each_style
def test_colours_are_those_of_the_baseline_within_tolerance(style: Style) -> None:
    found = {
        kind: difference(file_of(kind, style, "colour"), figure(kind, style).raster.colour)
        for kind in held(style)
    }
    assert {kind: gap for kind, gap in found.items() if not is_near(gap)} == {}


def test_section_without_text_is_that_of_the_baseline() -> None:
    found = {}
    for kind in TRANSITIONS:
        name, place = first_of_each_kind()[kind]
        look = Look(style=Style.SECTION, plain=True)
        data = ink_picture(set_picture(project(name), place, SMALL, look))
        with Image.open(io.BytesIO(data)) as image:
            found[kind] = difference(file_of(kind, Style.SECTION, "colour"), np.asarray(image))
    assert {kind: gap for kind, gap in found.items() if not is_near(gap)} == {}


def is_near(gap: tuple[int, float] | str) -> bool:
    return isinstance(gap, tuple) and gap[0] <= MOST and gap[1] <= MEAN


def test_every_baseline_belongs_to_a_kind() -> None:
    wanted = {
        file_of(kind, style, what).name
        for style in (Style.EXPLODED, Style.CUTAWAY)
        for kind in held(style)
        for what in ("ids", "colour")
    } | {file_of(kind, Style.SECTION, "colour").name for kind in TRANSITIONS}
    assert {path.name for path in BASELINES.iterdir()} == wanted
