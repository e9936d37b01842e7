"""Section and plan of every kind of detail on the shipped models, read as numbers."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest

import roof3d
from roof3d.details.model import INCH, Detail, DetailKind
from roof3d.drawing.detail.plan import build_plan
from roof3d.drawing.detail.section import build_section
from roof3d.drawing.hatches import hatch_of_layer
from roof3d.drawing.marks.clear import Faults, count_faults, scaled_error
from roof3d.drawing.model import Area, Callout, Drawing, Line, Mark, Text, moved
from roof3d.drawing.sheet.paper import PAPERS, SCALES
from roof3d.project import Project
from roof3d.scene.detail_scene import build_detail, detail_places
from roof3d.units import Units, parse_length

MODELS = Path(__file__).parents[3] / "models"
SHIPPED = ("ferry-quay", "lantern-street", "plum-corner", "tide-house")
NONE = Faults(texts=0, leaders=0, lines=0, off_paper=0)
BUILDERS: dict[str, Callable[[Detail, Project], Drawing]] = {
    "section": build_section,
    "plan": build_plan,
}


@cache
def project(name: str) -> Project:
    return roof3d.build(roof3d.load(str(MODELS / f"{name}.toml")))


@cache
def kinds() -> tuple[tuple[str, str], ...]:
    """Model and place of the first joint of each kind, once in inches and once in metres."""
    first: dict[tuple[DetailKind, str], tuple[str, str]] = {}
    for name in SHIPPED:
        units = project(name).spec.units.value
        for place in detail_places(project(name)):
            first.setdefault((place.kind, units), (name, place.id))
    return tuple(first.values())


@cache
def detail_of(name: str, place: str) -> Detail:
    return build_detail(project(name), place)


@cache
def sheet(name: str, place: str, style: str) -> Drawing:
    return BUILDERS[style](detail_of(name, place), project(name))


each_kind = pytest.mark.parametrize(
    ("name", "place"), kinds(), ids=[f"{name}-{place}" for name, place in kinds()]
)
each_style = pytest.mark.parametrize("style", BUILDERS)


def test_every_kind_that_the_models_have_is_drawn() -> None:
    drawn = {place.kind for n in SHIPPED for place in detail_places(project(n))}
    assert len(kinds()) >= len(drawn) >= 15


@each_style
@each_kind
def test_nothing_on_a_sheet_is_in_the_way_of_anything(name: str, place: str, style: str) -> None:
    assert count_faults(sheet(name, place, style)) == NONE


@each_style
@each_kind
def test_every_length_is_the_details_own_and_drawn_to_scale(
    name: str, place: str, style: str
) -> None:
    drawing = sheet(name, place, style)
    own = {measure.id: (measure.value, measure.text) for measure in detail_of(name, place).measures}
    drawn = {mark.id: (mark.value, mark.text.text) for mark in drawing.dimensions}
    assert drawn == {name: own[name] for name in drawn}
    assert drawn
    assert scaled_error(drawing) < 1e-9


@each_style
@each_kind
def test_lengths_are_read_from_below_or_from_the_right(name: str, place: str, style: str) -> None:
    turns = [mark.text.turn_deg for mark in sheet(name, place, style).dimensions]
    assert all(-89.5 < turn < 90.5 for turn in turns), turns


@each_style
@each_kind
def test_every_layer_is_numbered_in_the_drawing_or_said_not_to_be_seen(
    name: str, place: str, style: str
) -> None:
    drawing = sheet(name, place, style)
    numbers = [int(mark.number) for mark in drawing.callouts if mark.leader]
    rows = [int(mark.number) for mark in drawing.callouts if not mark.leader]
    every = [layer.number for layer in detail_of(name, place).layers]
    said = " ".join(text.text for text in drawing.texts if text.layer == "text")
    left_out = said.count("Not cut here") + said.count("Covered here")
    assert sorted(rows) == every
    assert len(set(numbers)) == len(numbers)
    assert len(numbers) + left_out == len(every)


@each_kind
def test_layers_of_a_detail_have_hatches_of_their_own(name: str, place: str) -> None:
    detail = detail_of(name, place)
    hatches = [hatch_of_layer(detail, layer.number) for layer in detail.layers]
    assert len(set(hatches)) == len(hatches)


@each_style
@each_kind
def test_a_sheet_has_a_common_size_and_a_scale_of_the_trade(
    name: str, place: str, style: str
) -> None:
    drawing = sheet(name, place, style)
    papers = {paper.name: (paper.width, paper.height) for paper in PAPERS[drawing.units]}
    scales = {scale.factor: scale.words for scale in SCALES[drawing.units]}
    assert papers[drawing.paper] == drawing.size
    assert scales[drawing.scale] == drawing.scale_words
    (words,) = [text.text for text in drawing.texts if text.text.startswith("Scale ")]
    assert words == f"Scale {drawing.scale_words} on {drawing.paper}"


def test_the_words_of_a_scale_say_its_factor() -> None:
    for scale in SCALES[Units.IMPERIAL]:
        drawn, _, rest = scale.words.partition(" = ")
        assert rest.startswith("1 ft (1:")
        assert parse_length("1 ft") / parse_length(drawn) == pytest.approx(scale.factor, rel=1e-12)
    for scale in SCALES[Units.METRIC]:
        assert scale.words == f"1:{scale.factor:g}"


def test_the_strip_over_the_break_ends_14_in_above_the_shingles_lower_edge() -> None:
    """Measured on the drawn outlines: 18 in up the slope, less 4 in that shingles stay off it."""
    drawing = sheet("lantern-street", "porch.transition", "section")
    up = np.array((2.0, 1.0)) / math.sqrt(5.0)  # the way of 6:12 on the paper

    def along(layer: str) -> list[tuple[float, float]]:
        rings = [
            np.array(mark.rings[0]) @ up
            for mark in drawing.marks
            if isinstance(mark, Area) and mark.layer == layer and mark.stroke is not None
        ]
        return [(float(ring.min()), float(ring.max())) for ring in rings]

    head = max(high for _, high in along("layer-02"))
    foot = min(low for low, _ in along("layer-08"))
    assert (head - foot) * drawing.scale / 1000.0 == pytest.approx(14.0 * INCH, abs=1e-7)


def test_a_parapet_is_plumb_and_called_no_slope() -> None:
    place = next(p.id for p in detail_places(project("alder-row")) if p.kind is DetailKind.PARAPET)
    marks = sheet("alder-row", place, "plan").marks
    written = [mark.text for mark in marks if isinstance(mark, Text)]
    assert "up the parapet" in written
    assert "up the slope" not in written


def test_slopes_are_triangles_that_rise_as_the_planes_do() -> None:
    drawing = sheet("lantern-street", "porch.transition", "section")
    rises = set()
    for mark in drawing.marks:
        if isinstance(mark, Line) and mark.layer == "slopes":
            x, y = np.ptp(np.array(mark.points), axis=0)
            rises.add(round(12.0 * float(y / x), 6))
    words = {text.text for text in drawing.texts if text.layer == "slopes"}
    assert rises == {1.0, 6.0}
    assert words == {"12", "1", "6"}


def test_covered_edges_are_dashed_in_the_plan_and_seen_ones_whole() -> None:
    drawing = sheet("lantern-street", "porch.transition", "plan")
    lines = [mark for mark in drawing.marks if isinstance(mark, Line)]
    hidden = [line for line in lines if line.layer.startswith("hidden-")]
    seen = [line for line in lines if line.layer.startswith("layer-")]
    assert {line.layer for line in hidden} >= {"hidden-02", "hidden-03", "hidden-04"}
    assert all(line.stroke.dash for line in hidden)
    assert not any(line.stroke.dash for line in seen)


def test_the_plan_runs_up_the_slope_and_says_that_it_is_unfolded() -> None:
    drawing = sheet("lantern-street", "main.eave", "plan")
    words = " ".join(text.text for text in drawing.texts)
    assert "Unfolded on the deck" in words
    arrows = [mark for mark in drawing.marks if isinstance(mark, Line) and mark.layer == "water"]
    (_, tail), (_, tip) = arrows[0].points
    assert tip > tail


def test_the_counters_see_what_is_wrong() -> None:
    drawing = sheet("lantern-street", "porch.transition", "section")
    texts = [mark for mark in drawing.marks if isinstance(mark, Text)]
    one, two = texts[0], texts[1]
    onto = moved(one, (two.at[0] - one.at[0], two.at[1] - one.at[1]))
    callouts = [mark for mark in drawing.marks if isinstance(mark, Callout) and mark.leader]
    first, last = callouts[0], callouts[3]
    crossed = replace(first, anchor=last.anchor), replace(last, anchor=first.anchor)
    away = moved(one, (-400.0, 0.0))
    through = replace(first, anchor=texts[-1].at)

    def with_marks(*marks: Mark) -> Faults:
        return count_faults(replace(drawing, marks=(*drawing.marks, *marks)))

    assert with_marks(onto).texts > 0
    assert count_faults(replace(drawing, marks=crossed)).leaders > 0
    assert with_marks(away).off_paper > 0
    assert with_marks(through).lines > 0
    wrong = replace(drawing.dimensions[0], value=drawing.dimensions[0].value + INCH)
    assert scaled_error(replace(drawing, marks=(wrong,))) == pytest.approx(INCH)
