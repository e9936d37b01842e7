"""Printed counts, found again by counting pieces of the materials that come with the program.

Sources are named beside the checks. Pieces are laid down here by the source's own rule, in whole
courses, so that nothing but the catalog and the counting is put to the test.
"""

from __future__ import annotations

import math
from decimal import Decimal

import pytest

from roof3d.catalog.load import load_catalog
from roof3d.catalog.material import MaterialForm
from roof3d.catalog.model import Catalog
from roof3d.layout.model import Layout
from roof3d.takeoff.cost import price_takeoff
from roof3d.takeoff.count import count_takeoff
from roof3d.takeoff.cutting import cut
from roof3d.takeoff.model import Takeoff
from roof3d.takeoff.packing.fitting import first_fit
from tests.unit.takeoff.hand_laid import (
    FOOT,
    GALLON,
    INCH,
    hand_spec,
    laid_layer,
    laid_out,
    laid_strip,
    material,
)

SQUARE = 100 * FOOT**2
Box = tuple[float, float, float, float]


def counted(layout: Layout) -> Takeoff:
    return count_takeoff(layout, load_catalog(), hand_spec())


# Primer 0.75 gal on 100 sq ft: UFGS-07550, 3.2.4.
@pytest.mark.parametrize(("squares", "gallons"), [(1, 0.75), (20, 15.0), (33.5, 25.125)])
def test_primer_takes_three_quarters_of_a_gallon_a_square(squares: float, gallons: float) -> None:
    edge = laid_strip(
        "main.eave/edge", "membrane-edge-metal", [(0, 9)], primer="primer",
        primer_area=squares * SQUARE,
    )  # fmt: skip
    item = counted(laid_out([], [edge])).item("primer")
    assert item.net == pytest.approx(gallons * GALLON, rel=1e-12)
    assert item.packs == math.ceil(gallons / 5)  # pails of 5 gal: common practice, no source
    assert "UFGS-07550, 3.2.4" in item.source


def sheet_courses(width: float, height: float, exposure: float) -> list[Box]:
    """Lay 36 in sheets across a plane in feet, one piece a course, the last to the top."""
    count = math.ceil((height - 3.0) / exposure - 1e-9) + 1
    return [(0, k * exposure, width, k * exposure + 3.0) for k in range(count)]


# No. 15 felt, 36 in by 144 ft: 432 sq ft, sold as 4 squares single coverage with 2 in laps and 2
# squares double (trade field guide). Plane of 24 ft by 16 ft 8 in of slope: 400 sq ft. Single:
# 34 in show of each course, 200 in take 6 (36 + 5 x 34 = 206): 6 x 24 = 144 ft, one roll.
def test_a_roll_of_felt_covers_four_squares_single() -> None:
    boxes = sheet_courses(24, 200 / 12, 34 / 12)
    item = counted(laid_out([laid_layer("main.south/a", "felt-underlayment", boxes)])).item(
        "felt-underlayment"
    )
    assert item.packs == 1
    assert item.ordered == pytest.approx(432 * FOOT**2, rel=1e-12)
    assert item.cutting is not None
    assert item.cutting.offcuts == pytest.approx([0.0], abs=1e-9)


# Double coverage, IBC 2018 1507.1.1 exception 2: a 19 in strip, then 36 in sheets of which 17 in
# show. 24 ft by 8 ft 6 in of slope, 204 sq ft: the strip and six sheets (17 x 6 = 102 in): six of
# 24 ft are 144 ft, one roll for the two squares of the field guide; the starter strip of the plane
# needs a second one, of which 120 ft are left.
def test_a_roll_of_felt_covers_two_squares_double_and_the_starter_is_more() -> None:
    sheets: list[Box] = [(0, k * 17 / 12, 24, k * 17 / 12 + 3) for k in range(6)]
    name = "felt-underlayment-double"

    def rolls(boxes: list[Box]) -> tuple[int, list[float]]:
        item = counted(laid_out([laid_layer("main.south/a", name, boxes)])).item(name)
        assert item.cutting is not None
        return item.packs, [round(left / FOOT, 6) for left in item.cutting.offcuts]

    assert rolls(sheets) == (1, [0.0])
    assert rolls([(0, 0, 24, 19 / 12), *sheets]) == (2, [0.0, 120.0])


# 80 strips a square at 5 in exposure, of 12 by 36 in: renovation handbook. 30 ft, 8 courses of
# 5 in: 100 sq ft. (Their nails are counted on whole roofs in test_layout_on_roofs.)
def test_a_square_takes_80_strips() -> None:
    boxes = [
        (3 * k, 5 / 12 * row, 3 * k + 3, 5 / 12 * row + 1) for row in range(8) for k in range(10)
    ]
    layer = laid_layer("main.south/shingles", "three-tab-shingle", boxes)
    shingles = counted(laid_out([layer])).item("three-tab-shingle")
    assert shingles.net == pytest.approx(80)
    assert shingles.packs == 3  # a third of a square each: NAVEDTRA 14044


# Wood shingles of 4 in at 5 in exposure: 720 a square (Building Trades Pocketbook; Treatise on
# Architecture and Building Construction, vol. 4). Its worked count: 24.2 squares x 720 = 17,424,
# and 5 % more, 871.2, it rounds to 18,295. We order whole ones: 18,296.
# 55 ft wide and 44 ft up, 2,420 sq ft: 165 in a course; 105.6 courses, so 105 and 0.6 of one more,
# of which 99 shingles stand for 0.6 of the width.
@pytest.mark.parametrize(("squares", "count"), [(1.0, 720), (24.2, 17_424)])
def test_the_worked_count_of_wood_shingles(squares: float, count: int) -> None:
    width, courses, rest = (55, 105, 99) if count == 17_424 else (30, 8, 0)
    across = width * 3
    cells = [(row, k) for row in range(courses) for k in range(across)]
    cells += [(courses, k) for k in range(rest)]
    boxes = [(k / 3, row * 5 / 12, (k + 1) / 3, row * 5 / 12 + 16 / 12) for row, k in cells]
    wood = material(
        "wood", MaterialForm.SHINGLE, width=16 * INCH, length=4 * INCH, exposure=5 * INCH
    )
    catalog = Catalog(materials=(wood,), assemblies=())
    layout = laid_out([laid_layer("main.south/shingles", "wood", boxes)])
    takeoff = count_takeoff(layout, catalog, hand_spec())
    assert len(boxes) * (4 * 5) / 144 / 100 == pytest.approx(squares)
    assert (takeoff.item("wood").packs, takeoff.item("wood").ordered) == (count, count)
    more = price_takeoff(takeoff, allowance=Decimal(5)).priced("wood").packs
    assert more == {720: 756, 17_424: 18_296}[count]


# A 27-strip three-tab bundle gives 33.75 ft of hip and ridge at 5 in exposure: derived, three
# pieces a strip. 81 pieces at 5 in; the 82nd needs a second bundle.
@pytest.mark.parametrize(("pieces", "bundles"), [(81, 1), (82, 2)])
def test_a_bundle_covers_33_ft_9_in_of_ridge(pieces: int, bundles: int) -> None:
    row = [(5 / 12 * k, 5 / 12 * k + 1) for k in range(pieces)]
    item = counted(laid_out([], [laid_strip("main.ridge/ridge", "hip-ridge-three-tab", row)])).item(
        "hip-ridge-three-tab"
    )
    assert item.packs == bundles


# Metric strips 13 1/4 by 39 3/8 in at 5 5/8 in, about 65 a square: renovation handbook.
def test_a_square_takes_about_65_metric_strips() -> None:
    material = load_catalog().material("laminated-shingle")
    assert SQUARE / (material.length * material.exposure) == pytest.approx(65, abs=0.5)


# M. R. Garey, D. S. Johnson and others, worst case of first-fit decreasing, 11/9 of the least (from
# memory; the construction is checked here, not quoted): with e small, 6 of 1/2 + e, 6 of
# 1/4 + 2e, 6 of 1/4 + e and 12 of 1/4 - 2e fill nine whole ones and take first fit eleven.
def test_the_worst_job_of_first_fit_is_cut_at_its_least() -> None:
    stock, e = 10 * FOOT, 0.01 * FOOT
    quarter = stock / 4
    job = [
        *[2 * quarter + e] * 6,
        *[quarter + 2 * e] * 6,
        *[quarter + e] * 6,
        *[quarter - 2 * e] * 12,
    ]
    assert sum(job) == pytest.approx(9 * stock, rel=1e-12)
    plain = first_fit([round(length / INCH * 1000) for length in job], 120_000)
    best = cut(job, stock=stock, shortest=6 * INCH)
    assert (len(plain), len(best.patterns), best.proven) == (11, 9, True)
