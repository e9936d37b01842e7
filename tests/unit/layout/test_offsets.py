"""Lap lines of touching layers: measured over all courses, parted by the first course."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from roof3d.errors import LayoutError
from roof3d.layout.model import Course, Direction, Pieces
from roof3d.layout.offsets import (
    Kept,
    StartRule,
    choose_firsts,
    end_laps_of,
    even_laps,
    feet_of,
    lap_distance,
)
from roof3d.layout.rows import courses_of
from tests.property.strategies import SETTINGS

INCH = 0.0254
BASE = StartRule(low=0.0, high=0.0, width=39.375 * INCH, lap=2 * INCH, first=26.25 * INCH)
PLY = StartRule(
    low=0.0,
    high=0.0,
    width=39.375 * INCH,
    lap=4 * INCH,
    first=19.6875 * INCH,
    least_offset=12 * INCH,
)
CAP = replace(PLY, first=39.375 * INCH)


def stack(inches: float, *rules: StartRule) -> tuple[StartRule, ...]:
    return tuple(replace(rule, high=inches * INCH) for rule in rules)


def courses(rule: StartRule, first: float) -> tuple[Course, ...]:
    return courses_of(rule.low, rule.high, width=rule.width, lap=rule.lap, first=first)


def worst(layers: tuple[StartRule, ...], firsts: tuple[float, ...]) -> list[float]:
    """Distance of side laps of each touching pair, from the courses themselves."""
    rows = [courses(rule, first) for rule, first in zip(layers, firsts, strict=True)]
    return [lap_distance(rows[k], rows[k + 1]) for k in range(len(rows) - 1)]


def test_the_usual_cuts_drift_together_up_a_long_slope() -> None:
    # Base 26 1/4 in first, 37 3/8 shown: feet at 24 1/4 + 37 3/8 k. Ply 19 11/16 in first,
    # 35 3/8 shown: feet at 15 11/16 + 35 3/8 k. Base foot k lies 8 9/16 + 2 k above ply foot
    # k, and 26 13/16 - 2 k below ply foot k + 1: 13/16 in for k = 13, which is the foot of
    # the 15th course of the base, at 510 1/8 in.
    base, ply = stack(600, BASE, PLY)
    lower, upper = courses(base, base.first), courses(ply, ply.first)
    assert round(lap_distance(lower, upper) / INCH, 9) == 0.8125
    gaps = np.abs(feet_of(lower)[:, None] - feet_of(upper)).min(axis=1) / INCH
    assert int(gaps.argmin()) + 2 == 15
    assert round(feet_of(lower)[13] / INCH, 9) == 510.125


def test_no_cuts_keep_a_foot_beyond_287_inches_of_slope() -> None:
    # Let ply foot k lie g - 2 k above base foot k and base foot k + 1 lie 37 3/8 - g + 2 k
    # above ply foot k. Both are 12 in or more only for g up to 25 3/8, then up to k = 6. The
    # eighth ply foot is the last straw; it lies highest where the ply starts with a whole
    # sheet: at 8 x 35 3/8 = 283 in, and is laid as soon as the slope runs past the head
    # below it, 287 in. Starting with the base on top keeps it for six courses only.
    fits = stack(287, BASE, PLY)
    kept = choose_firsts(fits)
    assert kept.shortfalls == ()
    assert min(worst(fits, kept.firsts)) >= 12 * INCH - 1e-9
    too_long = stack(287.25, BASE, PLY)
    missed = choose_firsts(too_long)
    (told,) = missed.shortfalls
    assert (told.layer, told.kept, told.wanted) == (1, Kept.SIDE_OFFSET, 12 * INCH)
    assert told.reached < 12 * INCH - 1e-4
    assert worst(too_long, missed.firsts) == pytest.approx([told.reached], abs=1e-9)


def test_usual_cuts_that_do_are_kept() -> None:
    layers = stack(700, CAP, PLY)  # one exposure, feet 19 11/16 in apart throughout
    choice = choose_firsts(layers)
    assert choice.firsts == (CAP.first, PLY.first)
    assert choice.shortfalls == ()


def test_the_nearest_cuts_are_taken_where_the_usual_ones_do_not_do() -> None:
    # 60 in of slope: base foot at 24 1/4, ply feet at 15 11/16 and 51 1/16. Three inches and
    # seven sixteenths are missing: the ply gives 3 3/16 (16 1/2 in first), the base a quarter.
    choice = choose_firsts(stack(60, BASE, PLY, CAP))
    assert [round(first / INCH, 9) for first in choice.firsts] == [26.5, 16.5, 39.375]


@SETTINGS
@given(
    height=st.integers(20, 900),
    laps=st.tuples(*[st.integers(2, 6)] * 3),
    offset=st.sampled_from((6.0, 12.0, 18.0)),
)
def test_no_other_cuts_do_better(height: int, laps: tuple[int, int, int], offset: float) -> None:
    layers = tuple(
        replace(rule, lap=lap * INCH, least_offset=offset * INCH * (k > 0))
        for k, (rule, lap) in enumerate(zip(stack(height, BASE, PLY, CAP), laps, strict=True))
    )
    choice = choose_firsts(layers)
    reached = min(worst(layers, choice.firsts))
    grids = [
        [rule.first, *(inches * INCH for inches in range(12, 40, 3)), rule.width] for rule in layers
    ]
    # The middle layer is tied to both, so each is looked at with the best of its neighbours.
    best = max(
        min(
            max(lap_distance(courses(layers[0], one), courses(layers[1], two)) for one in grids[0]),
            max(
                lap_distance(courses(layers[1], two), courses(layers[2], three))
                for three in grids[2]
            ),
        )
        for two in grids[1]
    )
    assert reached >= min(best, offset * INCH) - 1e-4
    short = [each for each in worst(layers, choice.firsts) if each < offset * INCH - 1e-4]
    assert [told.reached for told in choice.shortfalls] == pytest.approx(short, abs=1e-9)


def test_laps_stay_clear_of_a_joint() -> None:
    # Cap foot at 35 3/8 in, its lap up to 39 3/8: a joint at 40 in asks for a foot of
    # 24 in or less, so for a first course of 28 in, or for a lap that begins past 52 in.
    (cap,) = stack(70, replace(CAP, clear=((40 * INCH, 12 * INCH),)))
    choice = choose_firsts([cap])
    assert [round(first / INCH, 9) for first in choice.firsts] == [28.0]
    assert choice.shortfalls == ()


def test_a_joint_that_no_lap_can_leave_is_told() -> None:
    (cap,) = stack(400, replace(CAP, clear=((195 * INCH, 30 * INCH),)))
    (short,) = choose_firsts([cap]).shortfalls
    # 31 3/8 in between the laps. With 38 in first the sixth foot is at 210 7/8 in and the
    # fifth lap ends at 179 1/2 in: 15 1/2 in below the joint, the best on half inches.
    assert short.kept is Kept.CLEAR
    assert round(short.reached / INCH, 9) == 15.5


def test_a_layer_without_laps_is_infinitely_far() -> None:
    one, two = (
        courses_of(0, 0.5, width=1, lap=0.1, first=1),
        courses_of(0, 5, width=1, lap=0.1, first=1),
    )
    assert lap_distance(one, two) == lap_distance(two, one) == math.inf


def test_feet_of_courses_from_the_high_side_are_their_high_sides() -> None:
    rows = courses_of(0.0, 2.0, width=1.0, lap=0.25, first=0.5, from_high=True)
    assert feet_of(rows).tolist() == [1.75, 1.0]


def test_even_laps_end_the_drift() -> None:
    laps = even_laps([(39.375, 2.0), (39.375, 3.0), (36.0, 4.0)])
    assert laps == (7.375, 7.375, 4.0)
    layers = stack(17000, *(replace(rule, lap=4 * INCH) for rule in (BASE, PLY, CAP)))
    assert choose_firsts(layers).shortfalls == ()


def test_a_lap_not_below_the_width_is_refused() -> None:
    with pytest.raises(LayoutError, match="a lap of 2 m does not fit a sheet"):
        choose_firsts([replace(BASE, lap=2.0)])


def test_nothing_to_lay_needs_no_choice() -> None:
    assert choose_firsts([]).firsts == ()


def test_end_laps_are_where_neighbours_of_a_course_meet() -> None:
    pieces = Pieces(
        boxes=np.array(
            [[0, 0, 5, 1], [4, 0, 9, 1], [11, 0, 12, 1], [6, 0.5, 9, 2], [0, 0.5, 7, 2]]
        ),
        course=np.array([1, 1, 1, 2, 2]),
        place=np.array([1, 2, 3, 1, 2]),
        areas=np.ones(5),
        trimmed={},
    )
    ends = end_laps_of(pieces, Direction.ACROSS)
    assert ends.boxes.tolist() == [[4, 0, 5, 1], [6, 0.5, 7, 2]]
    assert ends.places.tolist() == [4, 7]
    assert ends.course.tolist() == [1, 2]


# Equal exposures, 35 3/8 in: touching laps 12 in or more apart leave base and cap at most 11 3/8 in
# apart, and they may as well lie over each other; three quarters of 12 in are 9.
@pytest.mark.parametrize("height", [120.0, 480.0])
def test_layers_next_but_one_keep_apart_where_touching_ones_allow(height: float) -> None:
    layers = stack(height, replace(BASE, lap=4 * INCH), PLY, CAP)
    choice = choose_firsts(layers)
    base, _, cap = (courses(rule, first) for rule, first in zip(layers, choice.firsts, strict=True))
    assert choice.shortfalls == ()
    assert min(worst(layers, choice.firsts)) >= 12 * INCH - 1e-6
    assert lap_distance(base, cap) >= 9 * INCH - 1e-6
