"""What is ordered is in place, or scrap, or left to be used: worked by hand."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
import shapely

from roof3d.layout.model import LaidLayer
from roof3d.takeoff.count import count_takeoff
from roof3d.takeoff.model import Item
from tests.unit.takeoff.hand_laid import (
    FOOT,
    INCH,
    hand_catalog,
    hand_spec,
    laid_layer,
    laid_out,
)

SQUARE_FOOT = FOOT**2


def item_of(layer: LaidLayer) -> Item:
    """Count one layer alone."""
    return count_takeoff(laid_out([layer]), hand_catalog(), hand_spec()).item(layer.material)


# A triangle trimmed off a sheet counts as ordered, not as in place: 3 ft by 8 ft, half of it cut.
def test_what_is_trimmed_off_is_waste() -> None:
    triangle = shapely.Polygon([(0, 0), (8 * FOOT, 0), (0, 3 * FOOT)])
    layer = laid_layer("main.south/underlayment", "felt", [(0, 0, 8, 3)], extent=triangle)
    item = item_of(layer)
    assert item.net == pytest.approx(12 * SQUARE_FOOT, rel=1e-12)
    assert item.waste == pytest.approx(12 * SQUARE_FOOT, rel=1e-12)
    assert item.left == pytest.approx(66 * SQUARE_FOOT, rel=1e-12)  # 22 ft of the roll
    assert item.waste_percent == pytest.approx(100.0)
    assert item.cutting is not None
    assert item.cutting.patterns[0][0] == pytest.approx(8 * FOOT, rel=1e-12)


# Rolls of 30 ft, 4 ft the shortest piece of use: of 27 ft 3 ft are waste, of 26 ft 4 ft are left;
# and of a strip 1 ft wide the other 2 ft are waste.
@pytest.mark.parametrize(
    ("box", "waste", "left"),
    [((0, 0, 27, 3), 9, 0), ((0, 0, 26, 3), 0, 12), ((0, 0, 26, 1), 52, 12)],
)
def test_an_offcut_is_left_where_it_is_long_enough(
    box: tuple[float, float, float, float], waste: float, left: float
) -> None:
    item = item_of(laid_layer("main.south/underlayment", "felt", [box]))
    assert (item.waste / SQUARE_FOOT, item.left / SQUARE_FOOT) == pytest.approx(
        (waste, left), abs=1e-9
    )
    assert item.net + item.waste + item.left == pytest.approx(90 * SQUARE_FOOT, rel=1e-12)


# Cut shingles of one hip, 3 in shorter from course to course: 33, 30 ... 6 in, 195 in of 36 in: six
# at least, and six do: 33, 30 + 6, 27 + 9, 24 + 12, 21 + 15, 18. Offcuts: 3 in of the first are too
# short, 18 in of the last can be used. The hip runs aslant through each: a triangle 2 1/2 in wide
# at the top is cut off, 1 1/4 in of its length.
def test_a_triangle_cut_off_at_a_hip_is_waste_and_an_offcut_used_is_not() -> None:
    lengths = [2.75 - 0.25 * k for k in range(10)]
    boxes = [(0, 0.4 * k, length, 0.4 * k + 1) for k, length in enumerate(lengths)]
    layer = laid_layer("main.south/shingles", "shingle", boxes)
    cut_off = 1.25 / 12 * SQUARE_FOOT
    hip = replace(layer, pieces=replace(layer.pieces, areas=layer.pieces.areas - cut_off))
    item = item_of(hip)
    assert item.cutting is not None
    assert (len(item.cutting.patterns), item.cutting.proven) == (6, True)
    assert item.net == pytest.approx((195 - 12.5) / 36, rel=1e-12)
    assert item.waste == pytest.approx((12.5 + 3) / 36, rel=1e-9)
    assert item.left == pytest.approx(27 - 6 + 18 / 36, rel=1e-9)
    assert item.ordered == 27


def test_offcuts_of_all_sheets_and_trims_make_up_what_is_ordered() -> None:
    item = item_of(laid_layer("main.south/underlayment", "felt", [(0, 0, 24, 3), (0, 2.5, 6, 5.5)]))
    assert item.cutting is not None
    left = math.fsum(item.cutting.offcuts) * 36 * INCH
    assert item.net + left == pytest.approx(item.ordered, rel=1e-12)
