"""The picture of a layered detail: numbers seen, texts apart, lengths drawn, bytes repeated."""

from __future__ import annotations

import io
import math
from dataclasses import replace
from functools import cache
from itertools import combinations
from pathlib import Path

import numpy as np
import pytest
import shapely
from PIL import Image

import roof3d
from roof3d.details.model import PieceKind
from roof3d.errors import LayoutError
from roof3d.project import Project
from roof3d.render.detail_ink.dimension import set_beside
from roof3d.render.detail_ink.markers import count_marker_faults
from roof3d.render.detail_ink.palette import colour_of
from roof3d.render.detail_section.section import Section
from roof3d.render.explode_picture import DetailPicture, Figure, draw_detail, set_picture
from roof3d.render.lettering import Box

MODELS = Path(__file__).parents[3] / "models"
NAMES = ("lantern-street", "tide-house")
each_model = pytest.mark.parametrize("name", NAMES)
each_size = pytest.mark.parametrize("size", [(1600, 1200), (1200, 900), (2000, 1500)])


@cache
def project(name: str) -> Project:
    return roof3d.build(roof3d.load(MODELS / f"{name}.toml"))


@cache
def picture(name: str, size: tuple[int, int] = (1600, 1200)) -> DetailPicture:
    return set_picture(project(name), None, size)


def figure_of(found: DetailPicture) -> Figure:
    assert found.figure is not None
    return found.figure


def section_of(found: DetailPicture) -> Section:
    assert found.section is not None
    return found.section


def texts(found: DetailPicture) -> list[Box]:
    """Every text of the sheet."""
    figure, section = figure_of(found), section_of(found)
    return [
        *found.words,
        *(drawn.box for drawn in figure.dimensions),
        *(drawn.box for drawn in section.dimensions),
        *(tag.box for tag in figure.tags),
        *(box for _, _, boxes in section.triangles for box in boxes),
    ]


@each_size
@each_model
def test_no_text_lies_on_another(name: str, size: tuple[int, int]) -> None:
    overlaps = [
        (one.centre, other.centre)
        for one, other in combinations(texts(picture(name, size)), 2)
        if one.overlaps(other)
    ]
    assert overlaps == []


@each_size
@each_model
def test_all_text_lies_on_the_sheet(name: str, size: tuple[int, int]) -> None:
    found = picture(name, size)
    corners = [corner for box in texts(found) for corner in box.corners]
    corners += [corner for marker in figure_of(found).markers for corner in marker.box.corners]
    x, y = np.array(corners).T
    assert (x.min() >= 0, y.min() >= 0, x.max() <= size[0], y.max() <= size[1]) == (True,) * 4


@each_size
@each_model
def test_no_marker_meets_a_text_and_no_leaders_cross(name: str, size: tuple[int, int]) -> None:
    found = picture(name, size)
    assert count_marker_faults(figure_of(found).markers, texts(found)) == 0


@each_size
@each_model
def test_no_callout_of_the_section_meets_a_text(name: str, size: tuple[int, int]) -> None:
    found = picture(name, size)
    assert count_marker_faults(section_of(found).callouts, texts(found)) == 0


@each_model
def test_callouts_of_the_section_point_into_their_layer(name: str) -> None:
    found = picture(name)
    layer_at = []
    for marker in section_of(found).callouts:
        hit = [
            found.detail.pieces[index].layer
            for index, rings in section_of(found).shapes
            if any(shapely.Polygon(ring).covers(shapely.Point(marker.anchor)) for ring in rings)
        ]
        layer_at.append(hit)
    numbers = [marker.number for marker in section_of(found).callouts]
    assert layer_at == [[number] for number in numbers]
    assert numbers == [layer.number for layer in found.detail.layers]


@each_model
def test_every_layer_has_its_marker_on_a_visible_place_of_its_own(name: str) -> None:
    found = picture(name)
    assert [marker.number for marker in figure_of(found).markers] == [
        layer.number for layer in found.detail.layers
    ]
    ids = figure_of(found).raster.ids
    pointed = [
        figure_of(found).layer_of[int(ids[int(m.anchor[1]), int(m.anchor[0])])]
        for m in figure_of(found).markers
    ]
    assert pointed == [marker.number for marker in figure_of(found).markers]


@each_model
def test_leaders_run_over_paper_not_over_other_layers(name: str) -> None:
    """At most two radii of a leader lie on layers that it does not name."""
    found = picture(name)
    table = np.array(
        [0, *(figure_of(found).layer_of[n] for n in sorted(figure_of(found).layer_of))]
    )
    layers = table[figure_of(found).raster.ids]
    for marker in figure_of(found).markers:
        if marker.leader:
            (x0, y0), (x1, y1) = marker.leader
            share = np.linspace(0.0, 1.0, 500)
            x, y = x0 + share * (x1 - x0), y0 + share * (y1 - y0)
            under = layers[y.astype(int), x.astype(int)]
            over = np.mean((under != 0) & (under != marker.number)) * math.dist(*marker.leader)
            assert over <= 2 * marker.radius, marker.number


def test_dimensions_of_one_place_are_spread() -> None:
    found = picture("lantern-street")
    same = [replace(found.scene.dimensions[0], id=f"x.{k}") for k in range(5)]
    ways = [found.detail.frame.along] * 5
    set_out = set_beside(same, figure_of(found).camera, ways, [0.1] * 5, 15.0)
    assert not any(a.box.overlaps(b.box) for a, b in combinations(set_out, 2))


@each_model
def test_words_and_notes_lie_on_bare_paper(name: str) -> None:
    """No layer is drawn under title, notes, legend or cautions."""
    found = picture(name)
    covered = []
    for box in found.words:
        (x0, y0), _, (x1, y1), _ = box.corners
        under = figure_of(found).raster.ids[int(y0) : int(y1) + 1, int(x0) : int(x1) + 1]
        covered.append(bool(under.any()))
    assert not any(covered)


@each_model
def test_dimension_lines_are_as_long_as_what_they_measure(name: str) -> None:
    found = picture(name)
    ends = {dimension.id: dimension.ends for dimension in found.scene.dimensions}
    for drawn in figure_of(found).dimensions:
        wanted = [figure_of(found).camera.pixel(end) for end in ends[drawn.id]]
        assert math.dist(*drawn.ends) == pytest.approx(math.dist(*wanted), abs=1e-6)
        assert np.abs(np.array(drawn.feet) - np.array(wanted)).max() < 1e-6


@each_model
def test_section_has_one_scale_for_pieces_and_dimensions(name: str) -> None:
    """Pixels per metre of every dimension, and of the deck's cut, are one number."""
    found = picture(name)
    measures = {measure.id: measure.value for measure in found.detail.measures}
    scales = [math.dist(*d.ends) / measures[d.id] for d in section_of(found).dimensions]
    deck = next(
        rings[0]
        for index, rings in section_of(found).shapes
        if found.detail.pieces[index].id == "deck.near_1"
    )
    # The low deck's panel is 15/32 in thick: the shortest side of its cut.
    sides = np.hypot(*np.diff(deck, axis=0).T)
    scales.append(sides[sides > 1e-6].min() / (15 / 32 * 0.0254))
    assert len(scales) >= 3
    assert max(scales) - min(scales) < 1e-6 * max(scales), scales


@each_model
def test_layers_laid_on_one_another_stay_apart_in_grey_print(name: str) -> None:
    """At least 18 levels of 255 between the drawn greys of neighbours in the order of work."""
    found = picture(name)
    grey = np.asarray(Image.fromarray(figure_of(found).raster.colour).convert("L"))
    numbers = np.zeros(len(figure_of(found).layer_of) + 1, dtype=int)
    for number, layer in figure_of(found).layer_of.items():
        piece = found.detail.pieces[number - 1]
        if piece.kind not in {PieceKind.FRAMING, PieceKind.FASTENER}:
            numbers[number] = layer
    layers = numbers[figure_of(found).raster.ids]
    tones = [float(np.median(grey[layers == n])) for n in range(1, len(found.detail.layers) + 1)]
    assert np.abs(np.diff(tones)).min() >= 18.0, tones


def test_colours_of_all_pieces_are_set() -> None:
    colours = {colour_of(piece) for name in NAMES for piece in picture(name).detail.pieces}
    assert len(colours) >= 10


@each_model
def test_a_picture_is_a_png_of_the_size_asked_for(name: str) -> None:
    with Image.open(io.BytesIO(draw_detail(project(name), None, (640, 480)))) as image:
        assert (image.format, image.size, image.mode) == ("PNG", (640, 480), "RGB")


def test_two_pictures_are_the_same_bytes() -> None:
    first, second = (draw_detail(project("lantern-street"), None, (640, 480)) for _ in range(2))
    assert first == second


def test_another_place_draws_another_picture() -> None:
    one, other = (
        figure_of(set_picture(project("tide-house"), place, (640, 480))).raster.ids
        for place in ("house.transition", "house.transition_2")
    )
    # The same joint seen from the same side: turned in space, equal in the picture.
    assert np.mean(one != other) < 0.01


@pytest.mark.parametrize(
    ("name", "pitch", "other"),
    [
        ("tide-house", "70 deg", "30 deg"),
        ("tide-house", "70 deg", "45 deg"),
        ("lantern-street", "6:12", "2:12"),
        ("lantern-street", "6:12", "12:12"),
        ("lantern-street", "6:12", "24:12"),
    ],
)
def test_other_pitches_are_drawn_without_faults(
    name: str, pitch: str, other: str, tmp_path: Path
) -> None:
    model = tmp_path / "other.toml"
    text = (MODELS / f"{name}.toml").read_text().replace(f'pitch = "{pitch}"', f'pitch = "{other}"')
    # Flat against flat the porch must start lower to meet the house.
    model.write_text(text.replace("8 ft 6 in", "8 ft 3 in") if other == "2:12" else text)
    found = set_picture(roof3d.build(roof3d.load(model)), None, (1200, 900))
    overlaps = sum(one.overlaps(two) for one, two in combinations(texts(found), 2))
    faults = [
        count_marker_faults(m, texts(found))
        for m in (figure_of(found).markers, section_of(found).callouts)
    ]
    assert (overlaps, faults) == (0, [0, 0])
    assert [m.number for m in figure_of(found).markers] == [n.number for n in found.detail.layers]


SLOPING = """
schema = 1
name = "Askew porch"
units = "metric"
[[section]]
id = "main"
form = "gable"
length = "14 m"
width = "9 m"
at = ["0 m", "0 m"]
eave = "3 m"
pitch = "4:12"
[[section]]
id = "porch"
form = "shed"
length = "6 m"
width = "6 m"
turn = "25 deg"
at = ["5.5 m", "-4.2 m"]
eave = "2.8 m"
pitch = "1:12"
"""


def test_a_porch_askew_is_drawn_without_faults(tmp_path: Path) -> None:
    """Its break slopes, and lies at no right angle to either fall."""
    model = tmp_path / "askew.toml"
    model.write_text(SLOPING)
    found = set_picture(roof3d.build(roof3d.load(model)), None, (1600, 1200))
    edge = roof3d.build(roof3d.load(model)).roof.edge(found.detail.id)
    assert abs(edge.ends[0][2] - edge.ends[1][2]) > 0.05
    assert "line itself slopes" in found.detail.notes[0]
    assert count_marker_faults(figure_of(found).markers, texts(found)) == 0
    assert [m.number for m in figure_of(found).markers] == [n.number for n in found.detail.layers]


def test_a_cut_out_that_ends_early_is_drawn_with_the_layers_that_it_has(tmp_path: Path) -> None:
    model = tmp_path / "short.toml"
    model.write_text(SLOPING.replace('width = "9 m"', 'width = "1.4 m"').replace("25", "0"))
    found = set_picture(roof3d.build(roof3d.load(model)), None, (800, 600))
    numbers = [layer.number for layer in found.detail.layers]
    assert (numbers[:4], len(numbers) < 9) == ([1, 2, 3, 4], True)
    assert {marker.number for marker in figure_of(found).markers} <= set(numbers)


def test_a_place_that_there_is_not_is_refused() -> None:
    with pytest.raises(LayoutError, match="no joint 'attic'"):
        draw_detail(project("plum-corner"), "attic")
