"""Pictures of every kind of detail in every style: texts apart, numbers seen, layers told apart."""

from __future__ import annotations

import io
from functools import cache
from itertools import combinations, pairwise
from pathlib import Path

import numpy as np
import pytest
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

MODELS = Path(__file__).parents[3] / "models"
NAMES = ("lantern-street", "tide-house", "plum-corner")
SMALL = (800, 600)
LEAST_CONTRAST = 18.0
"""Levels of 255."""
LEAST_IN_SIGHT = 60
"""Pixels: of less than that the lines take most."""


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


def texts(found: DetailPicture) -> list[Box]:
    boxes = list(found.words)
    if found.figure is not None:
        boxes += [drawn.box for drawn in found.figure.dimensions]
        boxes += [tag.box for tag in found.figure.tags]
    if found.section is not None:
        boxes += [drawn.box for drawn in found.section.dimensions]
        boxes += [box for _, _, row in found.section.triangles for box in row]
    return boxes


def markers(found: DetailPicture) -> list[tuple[Marker, ...]]:
    return [part.markers for part in (found.figure,) if part] + [
        part.callouts for part in (found.section,) if part
    ]


def faults(found: DetailPicture) -> tuple[int, int, int]:
    """Overlaps of texts, faults of numbers and leaders, corners off the sheet."""
    boxes = texts(found)
    wide, high = found.size
    covered = [*boxes, *(marker.box for row in markers(found) for marker in row)]
    return (
        sum(one.overlaps(other) for one, other in combinations(boxes, 2)),
        sum(count_marker_faults(row, boxes) for row in markers(found)),
        sum(not (0 <= x <= wide and 0 <= y <= high) for box in covered for x, y in box.corners),
    )


def greys(found: DetailPicture) -> list[float]:
    """Middle grey of each layer in sight, 0 to 255, in the order of work."""
    assert found.figure is not None
    grey = np.asarray(Image.fromarray(found.figure.raster.colour).convert("L"))
    numbers = np.zeros(len(found.figure.layer_of) + 1, dtype=int)
    for number, layer in found.figure.layer_of.items():
        if found.detail.pieces[number - 1].kind not in {PieceKind.FRAMING, PieceKind.FASTENER}:
            numbers[number] = layer
    layers = numbers[found.figure.raster.ids]
    return [
        float(np.median(grey[layers == layer.number]))
        for layer in found.detail.layers
        if np.count_nonzero(layers == layer.number) > LEAST_IN_SIGHT
    ]


@pytest.mark.parametrize("style", list(Style))
def test_every_kind_is_lettered_without_faults(style: Style) -> None:
    found = {kind: faults(picture(kind, style)) for kind in first_of_each_kind()}
    assert {kind: count for kind, count in found.items() if any(count)} == {}
    assert len(found) >= 9


@pytest.mark.parametrize("size", [(1600, 1200), (2400, 1800), (1200, 640)])
@pytest.mark.parametrize("style", list(Style))
def test_other_sizes_are_lettered_without_faults(style: Style, size: tuple[int, int]) -> None:
    for kind in (DetailKind.LOW_BELOW_STEEP, DetailKind.EAVE_MEMBRANE):
        assert faults(picture(kind, style, size)) == (0, 0, 0), kind


@pytest.mark.parametrize("style", [Style.EXPLODED, Style.CUTAWAY])
def test_every_layer_of_every_kind_is_in_sight_and_numbered(style: Style) -> None:
    for kind in first_of_each_kind():
        found = picture(kind, style)
        assert found.figure is not None
        numbered = [marker.number for marker in found.figure.markers]
        assert numbered == [layer.number for layer in found.detail.layers], kind


@pytest.mark.parametrize("style", [Style.EXPLODED, Style.CUTAWAY])
def test_layers_of_every_kind_stay_apart_in_grey_print(style: Style) -> None:
    least = {
        kind: min(abs(b - a) for a, b in pairwise(greys(picture(kind, style))))
        for kind in first_of_each_kind()
    }
    assert {kind: gap for kind, gap in least.items() if gap < LEAST_CONTRAST} == {}


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
