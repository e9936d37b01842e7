"""Pictures of every kind of detail in every style: texts apart, numbers seen, layers told apart."""

from __future__ import annotations

import io
from dataclasses import dataclass, replace
from functools import cache
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
import shapely
from numpy.typing import NDArray
from PIL import Image

import roof3d
from roof3d.details.model import DetailKind, PieceKind
from roof3d.project import Project
from roof3d.render.detail_ink.markers import Marker, count_marker_faults, mend_markers
from roof3d.render.detail_ink.palette import (
    DARK,
    LIGHT,
    MATERIAL_COLOURS,
    colour_of,
    lightness,
)
from roof3d.render.detail_view.cutaway import cut_places
from roof3d.render.detail_view.eye import eye_of, outward_of
from roof3d.render.detail_view.look import Look, Style
from roof3d.render.detail_view.words import cut_words
from roof3d.render.explode_picture import DetailPicture, draw_detail, ink_picture, set_picture
from roof3d.render.lettering import Box
from roof3d.scene.detail_scene import detail_places
from tests.unit.render.sheet_faults import Faults, count_faults

MODELS = Path(__file__).parents[3] / "models"
FIRST = ("lantern-street", "tide-house", "plum-corner", "ferry-quay")
NAMES = (*FIRST, *sorted({path.stem for path in MODELS.glob("*.toml")} - set(FIRST)))
SMALL = (800, 600)
SIZES = ((1200, 900), (1600, 1200), (2400, 1800))
LEAST_CONTRAST = 20.0
"""Levels of 255 between layers laid one after another."""
LEAST_IN_SIGHT = 60
"""Pixels clear of other layers: of less than that the lines take most."""


@cache
def project(name: str) -> Project:
    return roof3d.build(roof3d.load(MODELS / f"{name}.toml"))


@cache
def first_of_each_kind() -> dict[DetailKind, tuple[str, str]]:
    """Model and place of the first detail of each kind."""
    found: dict[DetailKind, tuple[str, str]] = {}
    for name in NAMES:
        for place in detail_places(project(name)):
            found.setdefault(place.kind, (name, place.id))
    return found


@cache
def picture(kind: DetailKind, style: Style, size: tuple[int, int] = SMALL) -> DetailPicture:
    name, place = first_of_each_kind()[kind]
    return set_picture(project(name), place, size, Look(style=style))


@dataclass(frozen=True, slots=True, kw_only=True)
class Record:
    """What is held of a sheet; the sheet itself is let go, for its raster is large."""

    faults: Faults
    numbered: tuple[int, ...] | None
    layers: tuple[int, ...]
    gap: float

    @property
    def sound(self) -> bool:
        """Whether nothing overlaps, every layer has its number, and greys lie apart."""
        return (
            self.faults.total == 0
            and self.numbered in (None, self.layers)
            and self.gap >= LEAST_CONTRAST
        )


def record(name: str, place: str, size: tuple[int, int], look: Look) -> Record:
    found = set_picture(project(name), place, size, look)
    shown = greys(found) if found.figure is not None else []
    return Record(
        faults=count_faults(found),
        numbered=None if found.figure is None else tuple(m.number for m in found.figure.markers),
        layers=tuple(n.number for n in found.detail.layers if n.number not in found.hidden),
        gap=min((abs(b - a) for a, b in pairwise(shown)), default=255.0),
    )


def inner(layers: NDArray[np.int_]) -> NDArray[np.int_]:
    """Layers, but 0 in the pixels beside another: those are drawn in the colours of both."""
    middle = layers[1:-1, 1:-1]
    about = (layers[:-2, 1:-1], layers[2:, 1:-1], layers[1:-1, :-2], layers[1:-1, 2:])
    same = np.logical_and.reduce([side == middle for side in about])
    return np.pad(np.where(same, middle, 0), 1)


def greys(found: DetailPicture) -> list[float]:
    """Middle grey of each layer in sight, 0 to 255, in the order of work."""
    assert found.figure is not None
    grey = np.asarray(Image.fromarray(found.figure.raster.colour).convert("L"))
    numbers = np.zeros(len(found.figure.layer_of) + 1, dtype=int)
    for number, layer in found.figure.layer_of.items():
        if found.detail.pieces[number - 1].kind not in {PieceKind.FRAMING, PieceKind.FASTENER}:
            numbers[number] = layer
    layers = inner(numbers[found.figure.raster.ids])
    return [
        float(np.median(grey[layers == layer.number]))
        for layer in found.detail.layers
        if np.count_nonzero(layers == layer.number) > LEAST_IN_SIGHT
    ]


@pytest.mark.parametrize("turn", range(3))
def test_every_kind_is_drawn_without_faults(turn: int) -> None:
    """Each kind once in every size and once in every style, the papers by turns."""
    found = {}
    for k, (kind, (name, place)) in enumerate(first_of_each_kind().items()):
        style = list(Style)[(k + turn) % 3]
        look = Look(style=style, dark=(k + turn) % 2 == 1)
        found[kind, style.value] = record(name, place, SIZES[turn], look)
    assert {which: one for which, one in found.items() if not one.sound} == {}
    assert len(found) >= 17


@pytest.mark.heavy
@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("name", NAMES)
def test_every_kind_of_every_model_is_drawn_without_faults(
    name: str, size: tuple[int, int]
) -> None:
    kinds = {place.kind: place.id for place in reversed(detail_places(project(name)))}
    found = {
        (kind, style.value, dark): record(name, place, size, Look(style=style, dark=dark))
        for kind, place in kinds.items()
        for style in Style
        for dark in ((False, True) if style is not Style.SECTION else (False,))
    }
    assert {which: one for which, one in found.items() if not one.sound} == {}


@pytest.mark.parametrize("style", list(Style))
def test_a_wide_sheet_is_lettered_without_faults(style: Style) -> None:
    for kind in (DetailKind.LOW_BELOW_STEEP, DetailKind.EAVE_MEMBRANE):
        assert count_faults(picture(kind, style, (1200, 640))).total == 0, kind


def test_faults_are_counted() -> None:
    """A text moved onto another, and a number moved off the sheet, are each found."""
    found = picture(DetailKind.LOW_BELOW_STEEP, Style.SECTION)
    assert found.section is not None
    assert count_faults(found).total == 0
    first, *rest = found.words
    onto = replace(found, words=(replace(first, centre=rest[0].centre), *rest))
    assert count_faults(onto).texts > 0
    callout, *others = found.section.callouts
    away = replace(callout, centre=(-3.0 * callout.radius, 50.0))
    off = replace(found, section=replace(found.section, callouts=(away, *others)))
    assert count_faults(off).cut_off > 0
    one, other = found.section.callouts[:2]
    crossed = (replace(one, centre=other.centre), replace(other, centre=one.centre))
    swapped = replace(found.section, callouts=(*crossed, *found.section.callouts[2:]))
    assert count_faults(replace(found, section=swapped)).crossed > 0


def test_layers_that_the_section_misses_are_named() -> None:
    found = picture(DetailKind.CORNER, Style.SECTION)
    assert found.section is not None
    missed = {layer.number for layer in found.detail.layers} - found.cut
    assert missed
    assert {marker.number for marker in found.section.callouts} == found.cut


def test_callouts_of_every_kind_point_into_what_is_drawn_of_their_layer() -> None:
    for kind in first_of_each_kind():
        found = picture(kind, Style.SECTION)
        assert found.section is not None
        for marker in found.section.callouts:
            layers = {
                found.detail.pieces[index].layer
                for index, rings in found.section.shapes
                if any(
                    shapely.Polygon(ring).dwithin(shapely.Point(marker.anchor), 0.01)
                    for ring in rings
                )
            }
            assert marker.number in layers, kind


def test_a_cutaway_shortens_each_layer_past_those_under_it() -> None:
    found = picture(DetailKind.LOW_BELOW_STEEP, Style.CUTAWAY)
    detail = found.detail
    outward = outward_of(detail)
    places = cut_places(detail, outward)
    assert [places[2] > places[3] > places[4], places[6] > places[7] > places[9]] == [True, True]
    assert 1 not in places
    assert found.figure is not None
    for piece, part in zip(detail.pieces, found.figure.parts, strict=True):
        away = (part.vertices[part.triangles] - np.array(detail.frame.origin)) @ np.array(outward)
        if piece.layer in places and part.triangles.size:
            assert away.max() <= places[piece.layer] + 1e-9


def test_a_section_has_the_sheet_alone_and_shows_more_lengths() -> None:
    alone = picture(DetailKind.LOW_ABOVE_STEEP, Style.SECTION)
    beside = picture(DetailKind.LOW_ABOVE_STEEP, Style.EXPLODED)
    assert alone.figure is None
    assert alone.section is not None
    assert beside.section is not None
    assert len(alone.section.dimensions) > len(beside.section.dimensions) >= 4
    spans = [
        np.ptp(np.concatenate([ring for _, rings in s.shapes for ring in rings]), axis=0).max()
        for s in (alone.section, beside.section)
    ]
    assert spans[0] > 1.5 * spans[1]


def test_no_two_lengths_of_a_section_say_the_same() -> None:
    for kind in first_of_each_kind():
        section = picture(kind, Style.SECTION).section
        assert section is not None
        ids = [drawn.id for drawn in section.dimensions]
        assert len(ids) == len(set(ids))


def test_captions_name_the_kind() -> None:
    words = {kind: cut_words(picture(kind, Style.SECTION).detail) for kind in first_of_each_kind()}
    assert words[DetailKind.LOW_BELOW_STEEP] == "the break"
    assert words[DetailKind.EAVE_MEMBRANE] == "the eave"
    assert [kind for kind, said in words.items() if said == "the break"] == [
        kind for kind in words if kind.value.startswith("low-")
    ]


def test_plain_has_neither_text_nor_numbers() -> None:
    look = Look(style=Style.CUTAWAY, plain=True)
    found = set_picture(project("lantern-street"), None, SMALL, look)
    assert found.figure is not None
    assert (found.words, found.notes, found.section) == ((), None, None)
    assert (found.figure.markers, found.figure.dimensions, found.figure.tags) == ((), (), ())
    with_text = picture(DetailKind.LOW_BELOW_STEEP, Style.CUTAWAY)
    assert with_text.figure is not None
    assert np.count_nonzero(found.figure.raster.ids) > np.count_nonzero(with_text.figure.raster.ids)


@pytest.mark.parametrize("dark", [False, True])
def test_paper_and_ink_are_far_apart_on_either_paper(dark: bool) -> None:  # noqa: FBT001
    theme = DARK if dark else LIGHT
    for ink in (theme.ink, theme.note, theme.measure):
        for paper in (theme.paper, theme.panel):
            assert abs(lightness(ink) - lightness(paper)) > 0.5
    data = draw_detail(project("lantern-street"), None, (640, 480), Look(dark=dark))
    with Image.open(io.BytesIO(data)) as image:
        corner = image.convert("L").getpixel((3, 3))
    assert corner == pytest.approx(255 * lightness(theme.paper), abs=2.0)


def test_a_factor_on_thickness_is_drawn_and_stated() -> None:
    true = set_picture(project("lantern-street"), None, SMALL, Look(exaggerate=1.0))
    twice = set_picture(project("lantern-street"), None, SMALL, Look(exaggerate=2.0))
    assert true.scene.subtitle.endswith("Everything true to size.")
    assert twice.scene.subtitle.endswith("Lengths true; sheets drawn 2 times as thick.")
    assert (true.detail.thickness, twice.detail.thickness) == ((1.0, 0.0), (2.0, 0.0))


def test_a_lift_is_what_was_asked_for() -> None:
    found = set_picture(project("lantern-street"), None, SMALL, Look(lift=0.5))
    pieces = {p.layer: p for p in found.detail.pieces}
    parts = {p.layer: p for p in found.scene.parts}
    moved = np.linalg.norm(parts[2].vertices[0] - pieces[2].vertices[0])
    assert moved == pytest.approx(0.5)


def test_a_viewer_stands_where_asked() -> None:
    detail = picture(DetailKind.LOW_BELOW_STEEP, Style.EXPLODED).detail
    east, _, up = eye_of(detail, 90.0)
    assert east > 0.8
    assert up > 0.4
    for azimuth in (10.0, 100.0, 190.0, 280.0):
        eye = np.array(eye_of(detail, azimuth))
        assert np.cross((0.0, 0.0, 1.0), eye) @ np.array(outward_of(detail, azimuth)) >= 0.0


def test_both_faces_of_every_kind_are_seen() -> None:
    for kind in first_of_each_kind():
        frame = picture(kind, Style.SECTION).detail.frame
        eye = np.array(eye_of(picture(kind, Style.SECTION).detail))
        assert min(np.array(frame.near_normal) @ eye, np.array(frame.far_normal) @ eye) > 0.0, kind


def test_discs_that_cross_are_mended() -> None:
    crossed = (
        Marker(number=1, centre=(100.0, 100.0), anchor=(300.0, 200.0), radius=10.0),
        Marker(number=2, centre=(100.0, 200.0), anchor=(300.0, 100.0), radius=10.0),
    )
    text = Box(centre=(200.0, 100.0), width=60.0, height=20.0)
    assert count_marker_faults(crossed, [text]) > 0
    mended = mend_markers(crossed, [text], (0.0, 0.0, 500.0, 500.0))
    assert count_marker_faults(mended, [text]) == 0
    assert [m.anchor for m in mended] == [m.anchor for m in crossed]


def test_every_material_of_the_catalog_has_a_colour() -> None:
    known = {material.id for material in project("lantern-street").catalog.materials}
    assert known <= set(MATERIAL_COLOURS)


def test_a_tone_lightens_and_darkens_by_its_factor() -> None:
    piece = picture(DetailKind.LOW_BELOW_STEEP, Style.SECTION).detail.pieces[-1]
    plain = lightness(colour_of(piece))
    for tone in (0.5, 1.0, 1.3):
        assert lightness(colour_of(piece, tone)) == pytest.approx(tone * plain)


def test_pictures_of_a_style_are_the_same_bytes() -> None:
    found = picture(DetailKind.EAVE_MEMBRANE, Style.CUTAWAY)
    assert ink_picture(found) == ink_picture(found)
