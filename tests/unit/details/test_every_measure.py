"""Lengths in pictures, read back: between their ends, in their words, and where they come from."""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from fractions import Fraction

import numpy as np
import pytest

from roof3d.details.model import Detail, DetailKind, Measure
from roof3d.details.site import DetailSite
from roof3d.layout.joint import membrane_rise
from roof3d.scene.detail_scene import build_detail_scene
from tests.unit.details.every_kind import (
    CASES,
    MODELS,
    detail_of,
    first_of_each,
    project_of,
    site_of,
)
from tests.unit.details.numbers import numbers_of

INCH = 0.0254
LENGTH = re.compile(r"(?:(\d+) )?(?:(\d+)/(\d+) )?(in|mm)\b")
each_case = pytest.mark.parametrize(
    ("house", "kind"), CASES, ids=[f"{house}: {kind}" for house, kind in CASES]
)
each_model = pytest.mark.parametrize("model", [path.stem for path in MODELS])
Formula = Callable[[DetailSite, Detail], float]


def joint_rise(site: DetailSite, detail: Detail) -> float:
    """How far a cap is carried up a steep plane: 18 in along, 8 in up."""
    return membrane_rise(detail.frame.far[2], site.options.joint)


def barrier(site: DetailSite, detail: Detail) -> float:
    """IRC R905.1.2: 24 in inside the wall line, level; 36 in along the slope from 8:12 up."""
    plane = site.roof.plane(site.place.planes[0])
    assert detail.kind is DetailKind.EAVE_SHINGLE
    out = 0.0 if site.place.edge.startswith("tower") else 12.0 * INCH  # as the houses say
    along = (out + 24.0 * INCH) * math.hypot(1.0, plane.slope)
    return max(along, 36.0 * INCH) if plane.slope >= 8.0 / 12.0 else along


def parapet_height(site: DetailSite, detail: Detail) -> float:
    edge = site.roof.edge(site.place.edge)
    assert edge.parapet is not None
    return (edge.parapet.top - detail.frame.origin[2]) / detail.frame.far[2]


STATED: dict[tuple[DetailKind, str], Formula] = {
    (DetailKind.PARAPET, "height"): parapet_height,
    (DetailKind.DRAIN, "sump"): lambda site, _: next(
        one.sump for one in site.roof.openings if one.id == site.place.opening
    ),
    (DetailKind.SCUPPER, "sill"): lambda site, detail: (
        (site.roof.scupper(site.place.opening).bottom - detail.frame.origin[2])
        / detail.frame.far[2]
    ),
    (DetailKind.SCUPPER, "opening"): lambda site, detail: (
        site.roof.scupper(site.place.opening).height / detail.frame.far[2]
    ),
    # IBC 2018 1507.2.8.3: a face of 1 1/2 in.
    (DetailKind.EAVE_SHINGLE, "leg"): lambda *_: 1.5 * INCH,
    (DetailKind.RAKE_SHINGLE, "leg"): lambda *_: 1.5 * INCH,
    (DetailKind.EAVE_SHINGLE, "barrier"): barrier,
    # A step of 8 in, one a course of 5 5/8 in.
    (DetailKind.SIDEWALL_SHINGLE, "step_lap"): lambda *_: (8.0 - 5.625) * INCH,
    # Shingle makers' association: 3 in of cement under a cut edge.
    (DetailKind.VALLEY_OPEN, "bed"): lambda *_: 3.0 * INCH,
    (DetailKind.VALLEY_CLOSED, "bed"): lambda *_: 3.0 * INCH,
    # Sheet-metal handbooks: a flange of 4 in.
    (DetailKind.LOW_ABOVE_STEEP, "flange"): lambda *_: 4.0 * INCH,
    (DetailKind.LOW_BELOW_STEEP, "rise_up"): lambda site, detail: (
        joint_rise(site, detail) * detail.frame.far[2]
    ),
    # 18 in, or as far as is 8 in up; the sheets below each 3 in further.
    (DetailKind.VALLEY_JOINT, "cap_up"): joint_rise,
    (DetailKind.VALLEY_JOINT, "ply_up"): lambda *a: joint_rise(*a) + 3.0 * INCH,
    (DetailKind.VALLEY_JOINT, "base_up"): lambda *a: joint_rise(*a) + 6.0 * INCH,
}
"""Lengths that are worked out, or that builders state themselves."""
WIDENING = {(DetailKind.VALLEY_OPEN, "clear"), (DetailKind.VALLEY_OPEN, "metal_cover")}
"""They change along the valley; together they are half the metal, checked below."""


def written(measure: Measure) -> float:
    """Read the length back from the words, metres; the first that they name."""
    found = LENGTH.search(measure.text)
    assert found is not None, measure.text
    whole, top, bottom, unit = found.groups()
    number = Fraction(whole or 0) + Fraction(int(top or 0), int(bottom or 1))
    return float(number) * (INCH if unit == "in" else 0.001)


def check_words(detail: Detail) -> None:
    """Check each length against its ends and its words.

    Words round to the nearest eighth of an inch or millimetre; a minimum up to the next.
    """
    for measure in detail.measures:
        assert abs(math.dist(*measure.ends) - measure.value) < 1e-9, measure.id
        off = written(measure) - measure.value
        step = 0.001 if "mm" in measure.text else INCH / 8.0
        assert -step / 2.0 - 1e-9 <= off <= step + 1e-9, (measure.id, measure.text, measure.value)
        assert measure.source.strip(), measure.id
        assert any(layer.number == measure.layer for layer in detail.layers), measure.id


@each_case
def test_every_length_is_that_of_the_catalog_the_roof_or_a_stated_rule(
    house: str, kind: DetailKind
) -> None:
    place = first_of_each(project_of(house))[kind]
    detail, site = detail_of(house, place.id), site_of(house, place)
    check_words(detail)
    numbers = numbers_of(site)
    assert detail.measures
    for measure in detail.measures:
        if (kind, measure.id) in WIDENING:
            continue
        formula = STATED.get((kind, measure.id))
        known = numbers.get(measure.source, set()) if formula is None else {formula(site, detail)}
        gap = min((abs(measure.value - number) for number in known), default=math.inf)
        assert gap < 1e-6, (measure.id, measure.value / INCH, measure.source)


@pytest.mark.parametrize("house", [name for name in dict(CASES) if name.startswith("angled")])
def test_channel_and_cover_of_an_open_valley_are_half_its_metal(house: str) -> None:
    """IRC R905.2.8.2: 24 in of metal. Clear 6 in at the top, 1/8 in a foot wider downward."""
    place = first_of_each(project_of(house)).get(DetailKind.VALLEY_OPEN)
    if place is None:
        assert "closed" in house
        return
    found = {m.id: m.value / INCH for m in detail_of(house, place.id).measures}
    assert found["clear"] + found["metal_cover"] == pytest.approx(12.0, abs=1e-6)
    feet = project_of(house).roof.edge(place.edge).length / 0.3048
    assert 3.0 <= found["clear"] <= 3.0 + feet / 16.0


@each_model
def test_lengths_of_the_shipped_models_say_what_they_are(model: str) -> None:
    for place in first_of_each(project_of(model)).values():
        check_words(detail_of(model, place.id))


@each_model
def test_the_scene_carries_the_lengths_of_the_detail(model: str) -> None:
    """What a picture or file draws is the detail's own: as many, as long, in the same words."""
    place = next(iter(first_of_each(project_of(model)).values()))
    detail = detail_of(model, place.id)
    scene = build_detail_scene(project_of(model), place.id)
    drawn = sorted((d.text, round(math.dist(*d.ends), 9)) for d in scene.dimensions)
    told = sorted((m.text, round(m.value, 9)) for m in detail.measures)
    assert drawn == told
    assert np.isfinite([length for _, length in drawn]).all()
