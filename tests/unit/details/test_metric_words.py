"""Joints of a model in metres: no length of their words is left in inches."""

from __future__ import annotations

import re

import pytest

from roof3d.details.model import DetailKind
from roof3d.details.site import in_units
from roof3d.project import build
from roof3d.scene.detail_scene import build_detail
from roof3d.spec.read import parse_spec
from roof3d.units import Units
from tests.unit.details.every_kind import CASES, HOUSES, first_of_each

IN_INCHES = re.compile(r'\d(?:/\d+)? ?(?:in\b|inch|")(?! \d)')
FIRST = {kind: house for house, kind in reversed(CASES)}
"""Of each kind the first house that has it. Titles of sources keep the words of the source."""


@pytest.mark.parametrize("kind", list(DetailKind))
def test_no_length_of_a_metric_model_is_in_inches(kind: DetailKind) -> None:
    text = HOUSES[FIRST[kind]].replace('units = "imperial"', 'units = "metric"')
    project = build(parse_spec(text, source="metric.toml"))
    found = build_detail(project, first_of_each(project)[kind].id)
    words = [found.name, found.summary, *(measure.text for measure in found.measures)]
    words += [re.sub(r"\([^()]*(?:\([^()]*\)[^()]*)*\)", "", note) for note in found.notes]
    for layer in found.layers:
        words += [layer.name, layer.size, layer.why, layer.fastening]
        words += [layer.tool, layer.gear, layer.mistake, layer.check]
    assert [sentence for sentence in words if IN_INCHES.search(sentence)] == []
    assert any(" mm" in sentence for sentence in words)


@pytest.mark.parametrize(
    ("inches", "metric"),
    [
        ("nailed 6 in apart", "nailed 152 mm apart"),
        ("stops 6 to 12 in short", "stops 152 to 305 mm short"),
        ("2 1/2 in past it", "64 mm past it"),
        # A minimum is never rounded below itself: 152.4 mm.
        ("6 in or more from the break", "153 mm or more from the break"),
        ("25 mm in from its edges", "25 mm in from its edges"),
        ("rises 1 in 12", "rises 1 in 12"),
    ],
)
def test_sentences_turn_into_metres(inches: str, metric: str) -> None:
    assert in_units(inches, Units.METRIC) == metric
    assert in_units(inches, Units.IMPERIAL) == inches
