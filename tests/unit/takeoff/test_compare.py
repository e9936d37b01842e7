"""Two take-offs side by side: rows, differences, and what cannot be compared."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest

from roof3d.takeoff.compare import compare
from roof3d.takeoff.cost import price_takeoff
from roof3d.takeoff.model import Takeoff, Unit
from roof3d.takeoff.prices import parse_prices
from tests.unit.takeoff.hand_laid import FOOT, POUND
from tests.unit.takeoff.test_cost import TAKEOFF

FELT, METAL, SHINGLE, PRIMER, NAIL = TAKEOFF.items
ONE = replace(TAKEOFF, items=(FELT, METAL, NAIL))
#: One roll more of felt; primer and shingles that the first has not; no metal.
TWO = replace(
    TAKEOFF,
    items=(
        SHINGLE,
        replace(FELT, packs=5, net=FELT.net + 9.0, weight=300 * POUND, ordered=450 * FOOT**2),
        PRIMER,
        NAIL,
    ),
)
PRICES = parse_prices(
    "item,unit,price\nfelt,roll,10\nmetal,ft,1\nshingle,bundle,40\nnail,box,25\nprimer,gal,2\n"
)


def test_rows_stand_in_the_order_of_the_first_then_the_second() -> None:
    rows = compare(ONE, TWO).rows
    assert [row.material for row in rows] == ["felt", "metal", "nail", "shingle", "primer"]


def test_differences_are_the_second_less_the_first() -> None:
    both = compare(ONE, TWO)
    felt, metal, primer = (both.row(name) for name in ("felt", "metal", "primer"))
    assert felt.more_packs == 1
    assert felt.more_net == pytest.approx(9.0)
    assert felt.more_weight == pytest.approx(60 * POUND)
    assert (metal.more_packs, metal.more_net, metal.two) == (-5, -METAL.net, None)
    assert (primer.more_packs, primer.more_net, primer.one) == (1, PRIMER.net, None)
    assert both.weight_two - both.weight_one == pytest.approx(60 * POUND)


def test_weight_that_is_not_known_gives_no_difference() -> None:
    both = compare(ONE, TWO)
    assert (both.row("metal").more_weight, both.row("nail").more_weight) == (None, 0.0)


def test_packs_of_another_size_and_other_units_are_not_subtracted() -> None:
    two = replace(TAKEOFF, items=(replace(FELT, pack_holds=1.0), replace(NAIL, unit=Unit.LENGTH)))
    both = compare(ONE, two)
    assert both.row("felt").more_packs is None
    assert both.row("felt").more_net == 0.0
    assert (both.row("nail").unit, both.row("nail").more_net) == (None, None)


# First: 4 rolls at 10, 50 ft at 1, a box at 25: 115. Second: 3 bundles at 40, 5 rolls at 10, 5 gal
# at 2, a box at 25: 205.
def test_costs_are_compared_where_both_are_whole() -> None:
    priced = [price_takeoff(each, prices=PRICES) for each in (ONE, TWO)]
    both = compare(ONE, TWO, priced_one=priced[0], priced_two=priced[1])
    assert (both.total_one, both.total_two) == ("115.00", "205.00")
    assert both.more_cost == Decimal("90.00")
    assert [row.more_cost for row in both.rows] == [10, -50, 0, 120, 10]


def test_a_total_that_lacks_a_price_is_not_compared() -> None:
    some = parse_prices("item,unit,price\nfelt,roll,10\nnail,box,25\n")
    priced = [price_takeoff(each, prices=some) for each in (ONE, TWO)]
    both = compare(ONE, TWO, priced_one=priced[0], priced_two=priced[1])
    assert both.more_cost is None
    assert both.total_two == "75.00 without 2 items (shingle, primer)"
    assert [both.row(name).more_cost for name in ("felt", "metal")] == [Decimal(10), None]


def test_without_prices_no_cost_is_told() -> None:
    both = compare(ONE, TWO)
    assert (both.total_one, both.more_cost, both.row("felt").more_cost) == ("", None, None)


def test_a_takeoff_beside_itself_differs_in_nothing() -> None:
    rows = compare(TAKEOFF, TAKEOFF).rows
    assert [row.more_packs for row in rows] == [0] * 5
    assert [row.more_net for row in rows] == [0.0] * 5


def test_nothing_beside_nothing() -> None:
    none = Takeoff(items=(), assumptions=(), findings=())
    assert compare(none, none).rows == ()
