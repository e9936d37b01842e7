"""Cutting from whole ones: small jobs worked by hand, and what is refused."""

from __future__ import annotations

import math
import random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from roof3d.errors import LayoutError
from roof3d.takeoff.cutting import cut, cut_sheets
from roof3d.takeoff.packing.bounds import least_by_shares, least_whole_ones
from roof3d.takeoff.packing.fitting import complete_each, first_fit
from tests.property.test_cutting_laws import least_by_exhaustion

FOOT = 0.3048
INCH = 0.0254


def test_nothing_to_cut_takes_nothing() -> None:
    cutting = cut([], stock=3.0, shortest=0.1)
    assert (cutting.patterns, cutting.bound, cutting.proven) == ((), 0, True)


# An edge of 29 ft 8 in from 10 ft lengths with 4 in laps: three whole ones reach 29 ft 4 in, so a
# fourth piece of 8 in follows. The short pieces of four such edges come from one length.
def test_short_ends_of_four_edges_come_from_one_length() -> None:
    edge = [10 * FOOT, 10 * FOOT, 10 * FOOT, 8 * INCH]
    cutting = cut(edge * 4, stock=10 * FOOT, shortest=6 * INCH)
    assert (len(cutting.patterns), cutting.proven) == (13, True)
    assert cutting.patterns[-1] == (8 * INCH,) * 4
    assert cutting.offcuts[-1] == pytest.approx((120 - 32) * INCH, rel=1e-12)


@pytest.mark.parametrize("parts", range(1, 60))
def test_equal_parts_of_a_whole_make_a_whole(parts: int) -> None:
    stock = 39.375 * INCH
    assert len(cut([stock / parts] * parts, stock=stock, shortest=0.0).patterns) == 1


# 8 + 7 + 5 fills a length of 20, twice; first fit starts with 8 + 8, then 7 + 7 + 5, and needs a
# third for the last 5. To fill each in turn finds 8 + 7 + 5 at once.
def test_filling_each_in_turn_beats_first_fit() -> None:
    sizes = [8, 8, 7, 7, 5, 5]
    assert first_fit(sizes, 20) == [[0, 1], [2, 3, 4], [5]]
    assert complete_each(sizes, 20) == [[0, 2, 4], [1, 3, 5]]
    cutting = cut(sizes, stock=20, shortest=0, seconds=0)
    assert (cutting.patterns, cutting.proven) == (((8, 7, 5), (8, 7, 5)), True)
    assert cutting == cut([5, 7, 8, 5, 7, 8], stock=20, shortest=0)


# Beside 6 of ten goes 4, not 3; beside 7 go 2 and 1, not 2 alone.
def test_a_room_is_filled_with_what_leaves_least_of_it() -> None:
    assert complete_each([6, 4, 3, 3, 3], 10) == [[0, 1], [2, 3, 4]]
    assert complete_each([7, 2, 2, 1, 1, 1], 10) == [[0, 1, 3], [2, 4, 5]]
    assert complete_each([], 10) == []


# 19 + 10, 18 + 7 + 5 and 15 + 9 + 6: three of 30. First fit takes 19 + 10, 18 + 9, 15 + 7 + 6 and
# one more for 5; to fill the first to the brim takes 19 + 6 + 5, and four as well.
def test_program_beats_both_fits_where_the_bound_says_it_may() -> None:
    sizes = [19, 18, 15, 10, 9, 7, 6, 5]
    assert (len(first_fit(sizes, 30)), len(complete_each(sizes, 30))) == (4, 4)
    assert len(cut(sizes, stock=30, shortest=0, seconds=0).patterns) == 4
    cutting = cut(sizes, stock=30, shortest=0)
    assert sorted(map(sum, cutting.patterns)) == [29, 30, 30]
    assert (cutting.bound, cutting.proven) == (3, True)


# 59 in all asks for 2 of 30, but beside 23 goes nothing but a 5, and 14 + 12 + 5 are 31. No bound
# sees it; the program proves it.
def test_program_proves_what_no_bound_sees() -> None:
    sizes = [23, 14, 12, 5, 5]
    cutting = cut(sizes, stock=30, shortest=0)
    assert (len(cutting.patterns), cutting.bound, cutting.proven) == (3, 3, True)
    hasty = cut(sizes, stock=30, shortest=0, seconds=0)
    assert (len(hasty.patterns), hasty.bound, hasty.proven) == (3, 2, False)


# Seven of 3.4 from tens: 23.8 in all asks for 3, but only two fit into each, for each is more than
# a third: halves, of which seven need 4. Seven of 26 from hundreds are over a quarter: thirds, 3.
@pytest.mark.parametrize(("size", "stock", "least"), [(34, 100, 4), (26, 100, 3), (25, 100, 2)])
def test_bound_by_shares_sees_how_many_fit_into_one(size: int, stock: int, least: int) -> None:
    assert least_by_shares([size] * 7, stock) == least
    assert cut([size] * 7, stock=stock, shortest=0, seconds=0).bound == least


def test_no_bound_is_above_the_least_of_any_small_job() -> None:
    rng = random.Random(11)  # noqa: S311 - no secret
    for _ in range(400):
        sizes = sorted((rng.randint(1, 30) for _ in range(rng.randint(1, 8))), reverse=True)
        least = least_by_exhaustion(sizes, 30)
        assert max(least_whole_ones(sizes, 30), least_by_shares(sizes, 30)) <= least


@given(st.lists(st.integers(1, 60), max_size=40), st.integers(60, 80))
def test_filling_each_in_turn_cuts_every_piece_once(lengths: list[int], stock: int) -> None:
    sizes = sorted(lengths, reverse=True)
    bins = complete_each(sizes, stock)
    assert sorted(index for taken in bins for index in taken) == list(range(len(sizes)))
    assert max((sum(sizes[index] for index in taken) for taken in bins), default=0) <= stock


# Martello and Toth: pieces over half a length never share one. Five of 6 and two of 4 in tens:
# 38 in all asks for 4, but five stand alone.
def test_bound_sees_pieces_over_half_a_length() -> None:
    cutting = cut([6] * 5 + [4] * 2, stock=10, shortest=0, seconds=0)
    assert (len(cutting.patterns), cutting.bound, cutting.proven) == (5, 5, True)


# Three of 7 and three of 3.5 in tens: 31.5 in all asks for 4, but no small one goes beside
# a 7, so 3 and, for 10.5, 2 more.
def test_bound_sees_pieces_that_fit_beside_no_long_one() -> None:
    cutting = cut([7.0] * 3 + [3.5] * 3, stock=10, shortest=0, seconds=0)
    assert (len(cutting.patterns), cutting.bound, cutting.proven) == (5, 5, True)


def test_order_of_the_input_does_not_matter() -> None:
    lengths = [0.31, 2.7, 1.1, 1.1, 0.8, 2.2, 1.9, 0.31]
    assert cut(lengths, stock=3.0, shortest=0.2) == cut(lengths[::-1], stock=3.0, shortest=0.2)


@pytest.mark.parametrize(
    ("length", "stock", "words"),
    [
        (3.1, 3.05, r"a piece of length 10' 2 1/16\" \(3.1 m\) cannot be cut .* \(3.05 m\)"),
        (0.0, 3.0, "must be above 0, is 0.0 m"),
        (-1.0, 3.0, "must be above 0, is -1.0 m"),
        (math.nan, 3.0, "must be above 0, is nan m"),
        (1.0, 0.0, "the length of a whole one must be above 0, is 0.0 m"),
        (1.0, math.inf, "the length of a whole one must be above 0, is inf m"),
    ],
)
def test_impossible_pieces_are_refused_with_their_numbers(
    length: float, stock: float, words: str
) -> None:
    with pytest.raises(LayoutError, match=words):
        cut([1.0, length], stock=stock, shortest=0.1)


def test_sheet_wider_than_the_roll_is_refused() -> None:
    with pytest.raises(LayoutError, match=r"piece of width .*1.2 m.* whole ones .*1 m"):
        cut_sheets([(3.0, 1.2)], roll_length=10.0, roll_width=1.0, shortest=0.3)


# Four first courses, half the roll wide, 30 ft each, roll 66 ft: two ranks of two side by side
# are 60 ft of one roll. With a factory edge to keep, four ranks of 30 ft are two rolls.
@pytest.mark.parametrize(("side_by_side", "rolls"), [(True, 1), (False, 2)])
def test_half_width_courses_lie_side_by_side(side_by_side: bool, rolls: int) -> None:  # noqa: FBT001
    cutting = cut_sheets(
        [(30 * FOOT, 18 * INCH)] * 4,
        roll_length=66 * FOOT,
        roll_width=36 * INCH,
        shortest=FOOT,
        side_by_side=side_by_side,
    )
    assert cutting.patterns == ((30 * FOOT, 30 * FOOT),) * rolls
    assert (cutting.bound, cutting.proven) == (rolls, True)


# 9 m of half width, and three of 3 m: they lie end to end beside it.
def test_short_strips_lie_end_to_end_beside_a_long_one() -> None:
    cutting = cut_sheets(
        [(9.0, 0.5), *[(3.0, 0.5)] * 3], roll_length=10.0, roll_width=1.0, shortest=0.3
    )
    assert cutting.patterns == ((9.0,),)


# Six strips of a sixth of the width lie side by side: twelve of the roll's length take two.
def test_many_strips_share_the_width() -> None:
    cutting = cut_sheets([(20.0, 1 / 6)] * 12, roll_length=20.0, roll_width=1.0, shortest=0.3)
    assert (cutting.patterns, cutting.proven) == (((20.0,), (20.0,)), True)


# Three strips 0.6 wide and 10 long on rolls of 1 by 10: 1.8 rolls by area, but none fits beside
# another, so three, and that is known.
def test_strips_over_half_the_width_stand_alone() -> None:
    cutting = cut_sheets([(10.0, 0.6)] * 3, roll_length=10.0, roll_width=1.0, shortest=0.3)
    assert (len(cutting.patterns), cutting.bound, cutting.proven) == (3, 3, True)


# 3 strips 0.5 by 6 and 1 of 0.5 by 10 on a roll of 1 by 10: the area is 14 of 10 a roll: two.
# Ranks: 10 beside 6, and 6 beside 6: 16 m, cut as 10 and 6.
def test_ranks_are_cut_by_length() -> None:
    cutting = cut_sheets(
        [(6.0, 0.5), (10.0, 0.5), (6.0, 0.5), (6.0, 0.5)],
        roll_length=10.0,
        roll_width=1.0,
        shortest=0.3,
    )
    assert (cutting.patterns, cutting.bound) == (((10.0,), (6.0,)), 2)


# Three wide sheets fill their rolls' length; two strips 0.3 wide fit beside none of them, so a
# fourth roll it is. Area alone asks for 3.0, and pieces over half the width for three.
def test_bound_sees_strips_that_fit_beside_nothing() -> None:
    pieces = [*[(10.0, 0.8)] * 3, *[(10.0, 0.3)] * 2]
    cutting = cut_sheets(pieces, roll_length=10.0, roll_width=1.0, shortest=1.0)
    assert (len(cutting.patterns), cutting.bound, cutting.proven) == (4, 4, True)
