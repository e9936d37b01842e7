"""Reading an outline: the grid, the winding, and what is refused."""

from __future__ import annotations

import math
import warnings
from fractions import Fraction

import numpy as np
import pytest

from roof3d.errors import GeometryError
from roof3d.skeleton import faces
from roof3d.skeleton.outline import MOST_VERTICES, UNIT, read_outline, twice_area
from roof3d.tolerance import DEFAULT

HOUSE = ((0.0, 0.0), (10.0, 0.0), (10.0, 6.0), (0.0, 6.0))
COURT = ((4.0, 2.0), (4.0, 4.0), (6.0, 4.0), (6.0, 2.0))


def test_corners_are_whole_nanometres_from_a_whole_metre() -> None:
    ring = [(x + 500_000.1, y - 3.25) for x, y in HOUSE]
    outline = read_outline([ring], [[0.5] * 4], tol=DEFAULT)
    assert outline.origin == (500_000.0, -4.0)
    assert outline.whole == (
        ((100_000_000, 750_000_000), (10_100_000_000, 750_000_000),
         (10_100_000_000, 6_750_000_000), (100_000_000, 6_750_000_000)),
    )  # fmt: skip
    assert Fraction(1, 10**9) == UNIT


def test_equal_decimal_steps_stay_equal_far_from_the_origin() -> None:
    # 579,665.093 and the like are not equal steps in doubles; on the grid they are.
    ring = [(579665.093 + x, 5331969.995 + y) for x, y in ((0.0, 0.0), (5.3, 0.1), (5.2, 5.4))]
    ring.append((579665.093 - 0.1, 5331969.995 + 5.3))
    (whole,) = read_outline([ring], [[0.5] * 4], tol=DEFAULT).whole
    steps = [(b[0] - a[0], b[1] - a[1]) for a, b in zip(whole, (*whole[1:], whole[0]), strict=True)]
    assert steps[0] == (-steps[2][0], -steps[2][1])
    assert steps[1] == (-steps[3][0], -steps[3][1])


def test_runs_are_exact_and_vertical_edges_do_not_run() -> None:
    outline = read_outline([HOUSE], [[0.5, math.inf, 3.0, 0.1]], tol=DEFAULT)
    assert outline.runs == ((Fraction(2), Fraction(0), Fraction(1, 3), 1 / Fraction(0.1)),)


def test_plan_area_leaves_holes_out() -> None:
    outline = read_outline([HOUSE, COURT], [[0.5] * 4] * 2, tol=DEFAULT)
    assert outline.plan_area == 56.0
    assert outline.turned == (False, False)


def test_wrong_winding_is_turned_with_its_slopes_and_said() -> None:
    with pytest.warns(UserWarning, match="turned the exterior, which must run counterclockwise"):
        outline = read_outline([HOUSE[::-1]], [[1.0, 2.0, 3.0, 4.0]], tol=DEFAULT)
    assert outline.turned == (True,)
    assert outline.corners[0].tolist() == [list(corner) for corner in HOUSE]
    # As given the edges run (0, 6)-(10, 6)-(10, 0)-(0, 0): 2 is the one from (10, 6).
    assert outline.runs == ((Fraction(1, 3), Fraction(1, 2), Fraction(1), Fraction(1, 4)),)
    assert twice_area(outline.whole[0]) == 120 * 10**18


def test_hole_wound_wrong_is_turned_and_named() -> None:
    with pytest.warns(UserWarning, match="turned the hole 1, which must run clockwise"):
        outline = read_outline([HOUSE, COURT[::-1]], [[0.5] * 4] * 2, tol=DEFAULT)
    assert outline.plan_area == 56.0


def test_fault_in_a_ring_wound_wrong_is_named_as_given_and_nothing_is_said_before() -> None:
    ring = ((0.0, 6.0), (10.0, 6.0), (10.0, 0.0), (5.0, 0.0), (0.0, 0.0))
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        with pytest.raises(GeometryError) as caught:
            read_outline([ring], [[0.5, 0.5, 1.0, 0.25, 0.5]], tol=DEFAULT)
    assert caught.value.where == "ring 0, vertex 3"


@pytest.mark.parametrize("bend", [0.0, 5e-9])
def test_neighbours_in_line_may_share_a_slope_but_not_differ(bend: float) -> None:
    ring = [(0.0, 0.0), (5.0, -bend), (10.0, 0.0), (10.0, 6.0), (0.0, 6.0)]
    outline = read_outline([ring], [[0.5] * 5], tol=DEFAULT)
    assert outline.plan_area == pytest.approx(60.0)
    with pytest.raises(GeometryError, match=r"slopes of 0\.5 and 0\.25"):
        read_outline([ring], [[0.5, 0.25, 0.5, 0.5, 0.5]], tol=DEFAULT if bend == 0.0 else WIDE)


WIDE = type(DEFAULT)(in_line=1e-8)


def test_a_bend_that_is_seen_may_part_two_slopes() -> None:
    ring = [(0.0, 0.0), (5.0, -1e-3), (10.0, 0.0), (10.0, 6.0), (0.0, 6.0)]
    outline = read_outline([ring], [[0.5, 0.25, 0.5, 0.5, 0.5]], tol=DEFAULT)
    assert outline.runs[0][:2] == (Fraction(2), Fraction(4))


@pytest.mark.parametrize(("count", "refused"), [(MOST_VERTICES, False), (MOST_VERTICES + 1, True)])
def test_the_most_vertices_are_still_read(count: int, refused: bool) -> None:  # noqa: FBT001
    angles = np.arange(count) * (2.0 * math.pi / count)
    ring = 5000.0 * np.stack([np.cos(angles), np.sin(angles)], axis=1)
    if refused:
        with pytest.raises(GeometryError, match="more than"):
            read_outline([ring], [np.full(count, 0.5)], tol=DEFAULT)
    else:
        assert len(read_outline([ring], [np.full(count, 0.5)], tol=DEFAULT).whole[0]) == count


@pytest.mark.parametrize("turn", [0.0, 0.3, 0.7, 1.0])
@pytest.mark.parametrize("start", [0.01, 0.1, 1.0])
def test_unlike_slopes_on_a_straight_run_are_refused_however_it_lies(
    start: float, turn: float
) -> None:
    """The grid turns an edge of 1 cm by more than a fixed small angle."""
    cos, sin = np.cos(turn), np.sin(turn)
    ring = np.array([(0, 0), (start, 0), (10, 0), (10, 6), (0, 6)], dtype=float)
    with pytest.raises(GeometryError, match=r"ring 0, vertex 1: .*run straight on"):
        read_outline(
            [ring @ np.array([[cos, sin], [-sin, cos]])], [[0.5, 1, 0.5, 0.5, 0.5]], tol=DEFAULT
        )


@pytest.mark.parametrize("gap", [1e-9, 1e-8, 1e-7])
def test_a_hole_a_hair_from_the_eave_is_refused_by_place(gap: float) -> None:
    shell = [(0, 0), (9, 0), (9, 9), (0, 9)]
    hole = [(gap, 1), (gap, 2), (2, 2), (2, 1)]
    with pytest.raises(GeometryError, match=r"ring 1, vertex \d: lies within"):
        faces([shell, hole], [[0.5] * 4] * 2)


@pytest.mark.parametrize("slope", [1e-9, 5e-324, 1e9, 0.0])
def test_slopes_that_no_roof_has_are_refused_by_vertex(slope: float) -> None:
    with pytest.raises(GeometryError, match="ring 0, vertex 2"):
        read_outline([[(0, 0), (4, 0), (4, 4), (0, 4)]], [[0.5, 0.5, slope, 0.5]], tol=DEFAULT)


def test_corners_out_of_this_world_are_refused() -> None:
    with pytest.raises(GeometryError, match="ring 0"):
        read_outline([[(0, 0), (10**400, 0), (4, 4)]], [[0.5] * 3], tol=DEFAULT)


def test_one_array_of_rings_is_taken() -> None:
    square = np.array([[(0, 0), (4, 0), (4, 4), (0, 4)]], dtype=float)
    assert len(faces(square, np.full((1, 4), 0.5))[0]) == 4  # type: ignore[arg-type]
