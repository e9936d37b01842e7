"""Courses cover a plane with no more than needed; the side to start from flips with a mirror."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from shapely import affinity

from roof3d.errors import LayoutError
from roof3d.layout.rows import courses_of, start_side
from tests.property.extents import extents
from tests.property.strategies import SETTINGS

INCH = 0.0254
ROLL = 39.375 * INCH


def test_half_a_roll_first_on_the_porch() -> None:
    # 14 ft 3 in = 171 in of slope, 35 3/8 in shown: heads at 19 11/16, 55 1/16, 90 7/16,
    # 125 13/16, 161 3/16 and 196 9/16 in; feet 39 3/8 in below, the first at the edge.
    courses = courses_of(0.0, 171 * INCH, width=ROLL, lap=4 * INCH, first=ROLL / 2)
    heads = [19.6875, 55.0625, 90.4375, 125.8125, 161.1875, 196.5625]
    feet = [0.0] + [head - 39.375 for head in heads[1:]]
    assert [(c.number, round(c.low / INCH, 9), round(c.high / INCH, 9)) for c in courses] == [
        (number, foot, head) for number, (foot, head) in enumerate(zip(feet, heads, strict=True), 1)
    ]


def test_starter_and_half_lapped_sheets_run_on_until_two_reach_the_top() -> None:
    # IBC 2018, 1507.1.1, exception 2: 19 in strip, then 36 in sheets lapped 19 in.
    courses = courses_of(
        1.0, 1.0 + 54 * INCH, width=36 * INCH, lap=19 * INCH, first=9.0, starter=True
    )
    inches = [(round((c.low - 1) / INCH, 9), round((c.high - 1) / INCH, 9)) for c in courses]
    assert inches == [(0, 19), (0, 36), (17, 53), (34, 70), (51, 87)]


@SETTINGS
@given(
    low=st.sampled_from((0.0, -0.05, 3.3)),
    height=st.integers(1, 4000).map(lambda value: value * 0.25 * INCH),
    width=st.sampled_from((36.0, 39.375)).map(lambda value: value * INCH),
    lap=st.integers(0, 20).map(lambda value: value * INCH),
    first=st.integers(21, 36).map(lambda value: value * INCH),
    from_high=st.booleans(),
)
def test_neighbours_lap_as_told_and_no_course_is_too_many(
    *, low: float, height: float, width: float, lap: float, first: float, from_high: bool
) -> None:
    courses = courses_of(low, low + height, width=width, lap=lap, first=first, from_high=from_high)
    if from_high:
        tops, feet = [-c.low for c in courses], [-c.high for c in courses]
        bottom, top = -low - height, -low
    else:
        tops, feet = [c.high for c in courses], [c.low for c in courses]
        bottom, top = low, low + height
    assert [c.number for c in courses] == list(range(1, len(courses) + 1))
    assert abs(feet[0] - bottom) <= 1e-9
    assert tops[-1] >= top - 1e-9
    assert all(head < top - 1e-9 for head in tops[:-1])
    assert all(abs(head - foot - lap) <= 1e-9 for head, foot in pairwise_laps(tops, feet))
    assert abs(tops[0] - feet[0] - first) <= 1e-9
    assert all(
        abs(head - foot - width) <= 1e-9 for head, foot in zip(tops[1:], feet[1:], strict=True)
    )


def pairwise_laps(tops: list[float], feet: list[float]) -> list[tuple[float, float]]:
    return [(tops[k], feet[k + 1]) for k, _ in enumerate(pairwise(tops))]


def test_rounding_makes_no_course_of_its_own() -> None:
    # Three tenths of a metre thrice is a hair more than nine tenths.
    courses = courses_of(0.0, 0.3 + 0.3 + 0.3 + 1e-6, width=0.3, lap=0.0, first=0.3)
    assert len(courses) == 3
    assert courses[-1].high == 0.3 + 0.3 + 0.3 + 1e-6
    assert courses[-1].high - courses[-1].low <= 0.3 + 1e-12


@pytest.mark.parametrize(
    ("changed", "told"),
    [
        ({"lap": ROLL}, "a lap of 1.00012 m does not fit a sheet 1.00012 m wide"),
        ({"lap": -0.1}, "a lap of -0.1 m does not fit"),
        ({"width": 0.0}, "does not fit a sheet 0 m wide"),
        ({"first": 0.1}, "the first course is 0.1 m wide, not more than its lap of 0.1016 m"),
        ({"first": 1.2}, "the first course is 1.2 m wide, the sheet 1.00012 m"),
        ({"first": 0.0}, "the first course is 0 m wide"),
        ({"high": 0.0}, "the high side at 0 m is not above the low side at 0 m"),
        ({"high": math.nan}, "sizes must be numbers"),
        ({"starter": True}, "is less than half of 1.00012 m"),
        ({"lap": ROLL * (1.0 - 1e-9), "first": ROLL}, "courses of 1.00012e-09 m exposure on 5 m"),
    ],
)
def test_sizes_that_cannot_be_laid_are_told(changed: dict[str, float], told: str) -> None:
    sizes: dict[str, float] = {"high": 5.0, "width": ROLL, "lap": 4 * INCH, "first": ROLL / 2}
    given_sizes = sizes | changed
    with pytest.raises(LayoutError) as error:
        courses_of(
            0.0,
            given_sizes["high"],
            width=given_sizes["width"],
            lap=given_sizes["lap"],
            first=given_sizes["first"],
            starter=bool(given_sizes.get("starter", False)),
        )
    assert told in error.value.message


def test_a_plane_narrower_than_the_first_course_has_one() -> None:
    courses = courses_of(0.0, 0.02, width=ROLL, lap=4 * INCH, first=3 * INCH)
    assert [(c.low, c.high) for c in courses] == [(0.0, 3 * INCH)]


@SETTINGS
@given(extents(), st.sampled_from((0.0, 5.0)))
def test_the_side_flips_with_the_mirror_unless_the_extent_is_its_own(
    extent: shapely.Polygon, middle: float
) -> None:
    mirrored = affinity.scale(extent, xfact=-1.0, origin=(middle, 0.0))
    shift = extent.bounds[0] - mirrored.bounds[0]
    alike = shapely.symmetric_difference(affinity.translate(mirrored, shift), extent).area
    sides = (start_side(extent), start_side(mirrored))
    assert sides == (False, False) if alike < 1e-6 else sides[0] is not sides[1]


def test_an_extent_of_nothing_starts_left() -> None:
    assert start_side(shapely.Polygon()) is False
