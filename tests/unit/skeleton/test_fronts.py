"""Moving lines in floats and in fractions."""

from __future__ import annotations

import math
from fractions import Fraction

import pytest

from roof3d.skeleton.fronts import exact_fronts, exact_slack, float_fronts, float_slack
from roof3d.skeleton.outline import UNIT
from roof3d.tolerance import DEFAULT

GRID = 10**9
#: (0, 0), (4, 0), (4, 3): the last edge is 5 m long.
TRIANGLE = ((0, 0), (4 * GRID, 0), (4 * GRID, 3 * GRID))
RUNS = (Fraction(2), Fraction(0), Fraction(1, 2))


def test_float_fronts_point_inward_with_unit_length() -> None:
    fronts = float_fronts(TRIANGLE, RUNS, UNIT)
    assert [(f.a, f.b) for f in fronts] == [(0.0, 1.0), (-1.0, 0.0), (0.6, -0.8)]
    assert [f.s for f in fronts] == [2.0, 0.0, 0.5]
    # On its own edge a x + b y = c: the second passes through x = 4.
    assert [f.c for f in fronts] == [0.0, -4.0, 0.0]


def test_exact_fronts_have_the_least_whole_vector_and_carry_its_length() -> None:
    fronts = exact_fronts(TRIANGLE, RUNS, UNIT)
    assert [(f.a, f.b) for f in fronts] == [(0, 1), (-1, 0), (3, -4)]
    assert [f.s for f in fronts] == [2, 0, Fraction(5, 2)]
    assert [f.c for f in fronts] == [0, -4, 0]
    assert all(isinstance(value, Fraction) for f in fronts for value in (f.a, f.b, f.c, f.s))


def test_parallel_edges_of_one_slope_have_exactly_one_speed_whatever_their_length() -> None:
    # (1, 2) and (3, 6) have irrational lengths; their least vector is the same.
    ring = ((0, 0), (1, 2), (-20, 30), (-23, 24))
    fronts = exact_fronts(ring, [Fraction(1, 3)] * 4, UNIT)
    assert (fronts[0].a, fronts[0].b, fronts[0].s) == (-fronts[2].a, -fronts[2].b, fronts[2].s)
    assert float(fronts[0].s) == pytest.approx(math.sqrt(5) / 3, rel=1e-15)
    assert abs(fronts[0].s ** 2 * 9 - 5) < Fraction(1, 2**77)


def test_every_front_passes_through_both_corners_of_its_edge() -> None:
    for f, start, end in zip(
        exact_fronts(TRIANGLE, RUNS, UNIT), TRIANGLE, (*TRIANGLE[1:], TRIANGLE[0]), strict=True
    ):
        assert {f.a * x * UNIT + f.b * y * UNIT for x, y in (start, end)} == {f.c}


def test_exact_slack_is_none_and_float_slack_grows_with_the_extent() -> None:
    none = exact_slack(DEFAULT)
    assert (none.place, none.time, none.turn, none.exact) == (0.0, 0.0, 0.0, True)
    small, large = float_slack(10.0, DEFAULT), float_slack(1000.0, DEFAULT)
    assert large.place == pytest.approx(100.0 * small.place)
    assert large.time == pytest.approx(100.0 * small.time)
    assert small.turn == large.turn > 0.0
