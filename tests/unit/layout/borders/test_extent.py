"""Outlines moved side by side, against areas worked by hand and against laws."""

from __future__ import annotations

import math
import random

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from roof3d.catalog.laying import Border, Layer, Reach
from roof3d.errors import InvariantError
from roof3d.layout.borders.extent import extent_of, move_sides
from roof3d.layout.model import Point2
from tests.unit.layout.borders.shipped_planes import (
    EVERY,
    INCH,
    apart,
    mirrored,
    plane,
    ring_sides,
)

Ring = list[Point2]
A, B = 6.0, 4.0
RECTANGLE: Ring = [(0.0, 0.0), (A, 0.0), (A, B), (0.0, B)]
# An L: 6 by 4 with 2 by 1 cut out of its upper right corner.
ELL: Ring = [(0.0, 0.0), (6.0, 0.0), (6.0, 3.0), (4.0, 3.0), (4.0, 4.0), (0.0, 4.0)]
HOLE: Ring = [(2.0, 1.0), (2.0, 3.0), (3.0, 3.0), (3.0, 1.0)]  # 1 by 2, clockwise
MOVES = st.integers(-15, 15).map(lambda k: k / 10)


def moved(distances: list[float], *rings: Ring, cut_corners: bool = False) -> shapely.Geometry:
    outline = shapely.Polygon(rings[0], rings[1:])
    return move_sides(outline, ring_sides(*rings), distances, cut_corners=cut_corners)


def test_an_outline_that_does_not_move_is_itself() -> None:
    outline = shapely.Polygon(ELL, [HOLE])
    sides = ring_sides(ELL, HOLE)
    assert move_sides(outline, sides, [0.0] * 10, cut_corners=True) is outline


@pytest.mark.parametrize(("cut_corners", "corners"), [(False, 4.0), (True, 2.0)])
def test_a_rectangle_grows_by_its_margins_and_corners(
    cut_corners: bool,  # noqa: FBT001
    corners: float,
) -> None:
    d = 0.25
    grown = moved([d] * 4, RECTANGLE, cut_corners=cut_corners)
    assert grown.area == pytest.approx(A * B + 2 * d * (A + B) + corners * d * d, abs=1e-7)
    # A corner that is cut has two points instead of one.
    assert len(grown.exterior.coords) - 1 == (8 if cut_corners else 4)


@given(south=MOVES, east=MOVES, north=MOVES, west=MOVES)
def test_a_rectangle_with_four_distances_is_a_rectangle(
    south: float, east: float, north: float, west: float
) -> None:
    grown = moved([south, east, north, west], RECTANGLE)
    assert apart(grown, shapely.box(-west, -south, A + east, B + north)) < 1e-7


@given(first=MOVES, second=MOVES, third=MOVES, fourth=MOVES, fifth=MOVES, sixth=MOVES)
def test_an_ell_with_six_distances_is_two_rectangles(
    first: float, second: float, third: float, fourth: float, fifth: float, sixth: float
) -> None:
    # The notch must stay one: its sides neither pass the outer ones nor each other's ends.
    third, fourth = min(third, 0.9 + fifth, 0.9), min(fourth, 1.9 + second, 1.9)
    if 3.0 + third <= -first or 4.0 + fourth <= -sixth:
        return
    if 4.0 + fifth <= 3.0 + third or 6.0 + second <= 4.0 + fourth:
        return
    grown = moved([first, second, third, fourth, fifth, sixth], ELL)
    low = shapely.box(-sixth, -first, 6.0 + second, 3.0 + third)
    high = shapely.box(-sixth, -first, 4.0 + fourth, 4.0 + fifth)
    assert apart(grown, low.union(high)) < 1e-7


def test_holes_close_outward_and_widen_inward() -> None:
    d = 0.2
    closing = moved([0.0] * 4 + [d] * 4, RECTANGLE, HOLE)
    assert closing.area == pytest.approx(A * B - (1 - 2 * d) * (2 - 2 * d), abs=1e-7)
    widening = moved([0.0] * 4 + [-d] * 4, RECTANGLE, HOLE)
    assert widening.area == pytest.approx(A * B - (1 + 2 * d) * (2 + 2 * d), abs=1e-7)
    # Half its width from both sides: nothing of it is left.
    assert len(moved([0.0] * 4 + [0.5] * 4, RECTANGLE, HOLE).interiors) == 0


def test_a_plane_narrower_than_twice_the_move_vanishes() -> None:
    narrow: Ring = [(0.0, 0.0), (10.0, 0.0), (10.0, 1.0), (0.0, 1.0)]
    for ends in (-0.6, 0.0, 0.3):
        gone = moved([-0.6, ends, -0.6, ends], narrow)
        assert (gone.is_empty, gone.geom_type) == (True, "Polygon")
    # What is turned down has nothing to hang on.
    assert moved([0.3, 0.0, -1.05, 0.0], narrow).is_empty


def test_nothing_hangs_on_what_has_vanished() -> None:
    # A block with a ledge half a metre high: the ledge goes, and what its eave was to carry.
    ring: Ring = [
        (0.0, 0.0), (4.0, 0.0), (4.0, 1.0), (6.0, 1.0),
        (6.0, 1.5), (4.0, 1.5), (4.0, 4.0), (0.0, 4.0),
    ]  # fmt: skip
    left = moved([0.0, 0.0, 0.2, 0.0, -0.6, 0.0, 0.0, 0.0], ring)
    assert apart(left, shapely.box(0.0, 0.0, 4.0, 4.0)) < 1e-7
    # One eave runs on below block and ledge: it is turned down below the block alone.
    ring = [(0.0, 0.0), (6.0, 0.0), (6.0, 0.5), (4.0, 0.5), (4.0, 4.0), (0.0, 4.0)]
    left = moved([0.2, 0.0, -0.6, 0.0, 0.0, 0.0], ring)
    assert apart(left, shapely.box(0.0, -0.2, 4.0, 4.0)) < 1e-7


def test_a_waist_that_vanishes_leaves_two_parts() -> None:
    waist: Ring = [
        (0.0, 0.0), (3.0, 0.0), (3.0, 1.0), (5.0, 1.0), (5.0, 0.0), (8.0, 0.0),
        (8.0, 3.0), (5.0, 3.0), (5.0, 2.0), (3.0, 2.0), (3.0, 3.0), (0.0, 3.0),
    ]  # fmt: skip
    left = moved([-0.6] * 12, waist)
    assert left.geom_type == "MultiPolygon"
    assert left.area == pytest.approx(2 * 1.8**2, abs=1e-7)


def test_sides_in_line_with_different_distances_make_a_step() -> None:
    ring: Ring = [(0.0, 0.0), (2.0, 0.0), (6.0, 0.0), (6.0, 4.0), (0.0, 4.0)]
    grown = moved([0.5, 0.1, 0.0, 0.0, 0.0], ring)
    assert grown.area == pytest.approx(24.0 + 2 * 0.5 + 4 * 0.1, abs=1e-7)
    stepped = moved([0.5, -0.1, 0.0, 0.0, 0.0], ring)
    assert stepped.area == pytest.approx(24.0 + 2 * 0.5 - 4 * 0.1, abs=1e-7)
    assert {(2.0, -0.5), (2.0, 0.1)} <= {
        (round(x, 6), round(y, 6)) for x, y in stepped.exterior.coords
    }


def test_a_sharp_mitre_is_cut() -> None:
    # A mitre runs out d / sin(angle / 2): 4 d at 28.955 degrees.
    def tip(degrees: float) -> float:
        half = math.radians(degrees) / 2.0
        ring: Ring = [(0.0, 0.0), (9.0, -9.0 * math.tan(half)), (9.0, 9.0 * math.tan(half))]
        west: float = moved([0.1, 0.0, 0.1], ring).bounds[0]
        return west

    assert tip(29.0) == pytest.approx(-0.1 / math.sin(math.radians(14.5)), abs=1e-7)
    assert tip(28.9) == pytest.approx(-0.1 * math.sin(math.radians(14.45)), abs=1e-7)


def test_a_narrow_margin_beside_a_wide_one_runs_on_to_its_end() -> None:
    # The outline turns by 30 degrees: the lines moved 1 and 0.1 would meet within the wide one.
    turn = math.radians(30.0)
    corner = (4.0 + 4.0 * math.cos(turn), 4.0 * math.sin(turn))
    ring: Ring = [(0.0, 0.0), (4.0, 0.0), corner, (0.0, 4.0)]
    grown = moved([1.0, 0.1, 0.0, 0.0], ring)
    wedge = 0.1 / math.cos(turn) * 0.1 * math.sin(turn) / 2.0
    assert grown.area == pytest.approx(shapely.Polygon(ring).area + 4.0 + 0.4 + wedge, abs=1e-7)


def test_margins_end_on_the_moved_line_of_a_valley() -> None:
    # A valley at 45 degrees stops 0.3 short; the eave beside it is turned down 0.2.
    ring: Ring = [(0.0, 0.0), (4.0, 0.0), (8.0, 4.0), (0.0, 4.0)]
    grown = moved([0.2, -0.3, 0.0, 0.0], ring)
    root = math.sqrt(2.0)
    # Trapezoid: the valley's line crosses height y at x = 4 + y - 0.3 sqrt 2.
    expected = shapely.Polygon(
        [(0.0, -0.2), (3.8 - 0.3 * root, -0.2), (8.0 - 0.3 * root, 4.0), (0.0, 4.0)]
    )
    assert apart(grown, expected) < 1e-7


@pytest.mark.parametrize(("name", "plane_id"), EVERY)
@pytest.mark.parametrize("distance", [0.15, 0.04, -0.04, -0.3])
def test_equal_moves_agree_with_a_mitred_buffer(name: str, plane_id: str, distance: float) -> None:
    # A peer: GEOS moves all sides by one distance. No corner here is sharper than its limit.
    laid = plane(name, plane_id)
    grown = move_sides(laid.outline, laid.sides, [distance] * len(laid.sides), cut_corners=False)
    peer = laid.outline.buffer(distance, join_style="mitre", mitre_limit=10.0)
    assert apart(grown, peer) < 1e-6


def reaches(sides: int, seed: int) -> list[float]:
    chosen = random.Random(seed)  # noqa: S311
    return [chosen.choice([-0.3, -0.05, 0.0, 0.0, 0.05, 0.15, 0.5]) for _ in range(sides)]


@pytest.mark.parametrize(("name", "plane_id"), EVERY)
@pytest.mark.parametrize("cut_corners", [False, True])
def test_extents_are_sound_and_a_mirror_changes_nothing(
    name: str,
    plane_id: str,
    cut_corners: bool,  # noqa: FBT001
) -> None:
    laid = plane(name, plane_id)
    by_edge = {side.edge: k for k, side in enumerate(laid.sides)}
    outline, sides = mirrored(laid.outline, laid.sides)
    for seed in range(10):
        each = reaches(len(laid.sides), seed)
        one = move_sides(
            laid.outline,
            laid.sides,
            [each[by_edge[side.edge]] for side in laid.sides],
            cut_corners=cut_corners,
        )
        two = move_sides(
            outline, sides, [each[by_edge[side.edge]] for side in sides], cut_corners=cut_corners
        )
        assert one.is_valid
        assert shapely.minimum_clearance(one) > 1e-6
        assert min(shapely.area(shapely.get_parts(one))) > 1e-6
        back = shapely.transform(two, lambda points: points * (-1.0, 1.0))
        assert apart(one, back) < 1e-6


@pytest.mark.parametrize(("name", "plane_id"), EVERY)
def test_a_side_that_reaches_further_covers_more(name: str, plane_id: str) -> None:
    laid = plane(name, plane_id)
    less = reaches(len(laid.sides), 3)
    longer = [k for k, side in enumerate(laid.sides) if math.dist(side.start, side.end) > 0.5]
    for k in longer:
        more = [d + 0.1 * (j == k) for j, d in enumerate(less)]
        small, large = (
            move_sides(laid.outline, laid.sides, d, cut_corners=False) for d in (less, more)
        )
        assert large.area > small.area


def test_a_layer_reaches_as_far_as_its_rules_say() -> None:
    # The porch of 6.5024 m (21 ft 4 in) of eave, a cap turned down 2 in at the eave, trimmed
    # at the rakes, carried R + 1 in up the steep deck, R = 18 in.
    laid = plane("lantern-street", "porch.south")
    cap = Layer(
        material="cap",
        role="cap",
        fastening="",
        source="",
        reach=(
            (Border.EAVE, Reach(length=2 * INCH)),
            (Border.JOINT_LOWER, Reach(length=INCH, rise=1)),
        ),
    )
    extent = extent_of(laid.outline, laid.sides, cap)
    assert extent.area == pytest.approx(laid.plane.area + 256 * (2 + 19) * INCH**2, abs=1e-5)
    shingles = Layer(
        material="s",
        role="s",
        fastening="",
        source="",
        reach=((Border.JOINT_UPPER, Reach(gap=-1)), (Border.SIDEWALL, Reach(length=INCH))),
    )
    above = plane("lantern-street", "main.south")
    # 240 in of joint, 4 in off it; what is turned up beside it ends at the corner all the same.
    walls = sum(math.dist(s.start, s.end) for s in above.sides if s.border is Border.SIDEWALL)
    assert extent_of(above.outline, above.sides, shingles).area == pytest.approx(
        above.plane.area - 240 * 4 * INCH**2 + walls * INCH, abs=1e-5
    )


def test_sides_that_do_not_close_are_our_own_bug() -> None:
    outline = shapely.Polygon(RECTANGLE)
    sides = ring_sides(RECTANGLE)
    with pytest.raises(InvariantError, match="do not close"):
        move_sides(outline, sides[:3], [0.1] * 3, cut_corners=False)
    with pytest.raises(InvariantError, match="do not follow"):
        move_sides(outline, sides[::2], [0.1] * 2, cut_corners=False)
