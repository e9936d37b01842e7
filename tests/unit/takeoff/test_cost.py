"""Costs to the cent, by hand; nothing is invented where a price is missing."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest

from roof3d.catalog.material import MaterialForm
from roof3d.errors import ReadError, RoofError
from roof3d.roof.model import Kind
from roof3d.takeoff.cost import PricedTakeoff, price_takeoff
from roof3d.takeoff.model import Cutting, Item, Takeoff, Unit
from roof3d.takeoff.prices import parse_labour, parse_prices
from tests.unit.rules.hand_roofs import make_plane
from tests.unit.takeoff.hand_laid import FOOT, GALLON, POUND

HEAD = "item,unit,price\n"
LABOUR_HEAD = "kind,from_pitch,from_height,unit,rate\n"


def item(
    name: str,
    form: MaterialForm,
    unit: Unit,
    packs: int,
    pack: str,
    holds: float,
    pounds: float = 0,
) -> Item:
    return Item(
        material=name,
        name=name.capitalize(),
        form=form,
        used=(),
        unit=unit,
        net=0.8 * packs * holds,
        ordered=packs * holds,
        packs=packs,
        pack=pack,
        pack_holds=holds,
        weight=packs * pounds * POUND,
        cutting=Cutting(stock=10 * FOOT, patterns=(), bound=0, proven=True, shortest=0.0)
        if unit is Unit.LENGTH
        else None,
        rule="",
        source="",
    )


#: Four rolls of 90 sq ft, 5 lengths of 10 ft, 3 bundles of 27, a pail of 5 gal, and a box.
TAKEOFF = Takeoff(
    items=(
        item("felt", MaterialForm.SHEET, Unit.AREA, 4, "roll", 90 * FOOT**2, 60),
        item("metal", MaterialForm.METAL, Unit.LENGTH, 5, "length", 10 * FOOT),
        item("shingle", MaterialForm.SHINGLE, Unit.PIECE, 3, "bundle", 27),
        item("primer", MaterialForm.LIQUID, Unit.VOLUME, 1, "pail", 5 * GALLON),
        item("nail", MaterialForm.FASTENER, Unit.PIECE, 1, "box", 7200, 30),
    ),
    assumptions=(),
    findings=(),
)


def priced(rows: str, allowance: str = "0") -> PricedTakeoff:
    return price_takeoff(
        TAKEOFF, prices=parse_prices(HEAD + rows, "p.csv"), allowance=Decimal(allowance)
    )


# Quantities by hand: 360 sq ft are 3.6 squares and 33.4450944 m2; 50 ft are 15.24 m; 5 gal are
# 18.92705892 l (231 cubic inches a gallon); 240 lb are 108.8621688 kg.
@pytest.mark.parametrize(
    ("row", "quantity", "pack_price", "amount"),
    [
        ("felt,roll,31.25", "4", "31.25", "125.00"),
        ("felt,sq ft,0.35", "360", "31.5", "126.00"),
        ("felt,square,33.33", "3.6", "29.997", "119.99"),
        ("felt,m2,10", "33.4450944", "83.612736", "334.45"),
        ("felt,lb,0.5", "240", "30", "120.00"),
        ("felt,kg,1", "108.8621688", "27.2155422", "108.86"),
        ("metal,length,7.99", "5", "7.99", "39.95"),
        ("metal,piece,7.99", "5", "7.99", "39.95"),
        ("metal,ft,0.8", "50", "8", "40.00"),
        ("metal,m,1", "15.24", "3.048", "15.24"),
        ("shingle,bundle,40", "3", "40", "120.00"),
        ("shingle,piece,1.115", "81", "30.105", "90.32"),  # 90.315 rounds up
        ("primer,pail,60", "1", "60", "60.00"),
        ("primer,gal,12.345", "5", "61.725", "61.73"),  # 61.725 rounds up
        ("primer,l,1", "18.92705892", "18.92705892", "18.93"),
        ("nail,lb,2", "30", "60", "60.00"),
        ("nail,box,0", "1", "0", "0.00"),
    ],
)
def test_cost_of_an_item_by_hand(row: str, quantity: str, pack_price: str, amount: str) -> None:
    material, unit, price = row.split(",")
    result = priced(row + "\n")
    line = result.priced(material)
    assert (line.unit, line.price) == (unit, Decimal(price))
    assert str(line.quantity) == quantity
    assert line.pack_price == Decimal(pack_price)
    assert str(line.amount) == amount
    assert str(result.total) == amount


def test_an_item_without_a_price_is_listed_and_the_total_says_so() -> None:
    result = priced("felt,roll,1000\nmetal,ft,1\nprimer,pail,60\n")
    assert result.unpriced == ("shingle", "nail")
    assert not result.complete
    assert result.total_text == "4,110.00 without 2 items (shingle, nail)"  # 4,000 + 50 + 60
    assert result.priced("shingle").amount is None


def test_a_whole_total_is_told_plainly() -> None:
    rows = "felt,roll,1\nmetal,ft,1\nprimer,pail,60\nshingle,bundle,1\nnail,box,1\n"
    result = priced(rows)
    assert (result.complete, result.total_text) == (True, "118.00")  # 4 + 50 + 60 + 3 + 1


def test_without_prices_nothing_costs_anything() -> None:
    result = price_takeoff(TAKEOFF)
    assert result.unpriced == ("felt", "metal", "shingle", "primer", "nail")
    assert (str(result.total), result.labour) == ("0.00", ())


# Eight tenths of each are in place. 25 % more fills what is ordered to the brim; 30 % does not:
# 3.2 rolls become 4.16, 4 lengths 5.2, 2.4 bundles 3.12, 0.8 of a pail 1.04. 100 %: twice the net.
@pytest.mark.parametrize(
    ("allowance", "packs"),
    [("0", [4, 5, 3, 1, 1]), ("25", [4, 5, 3, 1, 1]), ("30", [5, 6, 4, 2, 2]),
     ("100", [7, 8, 5, 2, 2])],
)  # fmt: skip
def test_allowance_is_on_what_is_in_place_and_orders_whole_packs(
    allowance: str, packs: list[int]
) -> None:
    result = priced("felt,square,10\n", allowance)
    assert [line.packs for line in result.items] == packs
    assert result.priced("felt").amount == packs[0] * Decimal(9)


# What lies in the second pail holds 5 % of the net already; packs of the cutting never get fewer.
def test_an_allowance_that_is_left_over_anyway_orders_nothing() -> None:
    pail, roll = TAKEOFF.items[3], TAKEOFF.items[0]
    items = (replace(pail, net=0.02 * pail.ordered), replace(roll, net=0.1 * roll.ordered))
    result = price_takeoff(replace(TAKEOFF, items=items), allowance=Decimal(5))
    assert [line.packs for line in result.items] == [1, 4]


# A bundle of 27 strips of 36 in at 5 in covers 33.75 sq ft (27 x 3 x 5 / 12), three of them 101.25;
# 81 ridge pieces at 5 in reach 33.75 ft, two bundles 67.5.
@pytest.mark.parametrize(
    ("row", "quantity", "pack_price", "amount"),
    [
        ("shingle,square,120", "1.0125", "40.5", "121.50"),
        ("shingle,sq ft,1.2", "101.25", "40.5", "121.50"),
        ("ridge,ft,2", "67.5", "67.5", "135.00"),
        ("ridge,piece,1", "162", "81", "162.00"),
    ],
)
def test_shingles_are_priced_by_what_they_cover(
    row: str, quantity: str, pack_price: str, amount: str
) -> None:
    shingle = replace(TAKEOFF.items[2], pack_area=33.75 * FOOT**2)
    ridge = item("ridge", MaterialForm.STRIP, Unit.PIECE, 2, "bundle", 81)
    result = price_takeoff(
        replace(TAKEOFF, items=(shingle, replace(ridge, pack_length=33.75 * FOOT))),
        prices=parse_prices(HEAD + row + "\n"),
    )
    line = result.priced(row.split(",", maxsplit=1)[0])
    assert (str(line.quantity), line.pack_price) == (quantity, Decimal(pack_price))
    assert str(line.amount) == amount


def test_scrap_does_not_count_towards_an_allowance() -> None:
    # 60 of 100 pieces in a box are in place, 35 scrap, 5 left: 10 % are 6 more, so a second box.
    item = replace(TAKEOFF.items[0], net=60.0, waste=35.0, left=5.0, packs=1, pack_holds=100.0)
    item = replace(item, ordered=100.0)
    packs = [
        price_takeoff(replace(TAKEOFF, items=(item,)), allowance=Decimal(share)).items[0].packs
        for share in (8, 10)
    ]
    assert packs == [1, 2]


@pytest.mark.parametrize("allowance", ["-1", "100.5", "NaN", "Infinity"])
def test_allowance_outside_its_range_is_refused(allowance: str) -> None:
    with pytest.raises(RoofError, match=f"a percentage from 0 to 100, not {allowance}"):
        priced("", allowance)


def test_an_item_without_a_pack_costs_by_its_amount() -> None:
    bare = replace(TAKEOFF.items[1], packs=0, pack="", pack_holds=0.0, ordered=20 * FOOT)
    result = price_takeoff(
        replace(TAKEOFF, items=(bare,)),
        prices=parse_prices(HEAD + "metal,ft,2\n"),
        allowance=Decimal(10),
    )
    line = result.priced("metal")
    assert (str(line.quantity), line.pack_price, str(line.amount)) == ("22", None, "44.00")


def test_units_that_do_not_fit_are_told_at_once() -> None:
    with pytest.raises(ReadError) as caught:
        priced("felt,gal,1\nmetal,ft,1\nshingle,square,1\nprimer,lb,1\n")
    assert caught.value.message.split("\n  ") == [
        "3 faults",
        'line 2: felt cannot be counted by "gal": write roll or sq ft or square or m2 or lb or kg',
        'line 4: shingle cannot be counted by "square": write bundle or piece',
        'line 5: primer cannot be counted by "lb": write pail or gal or l',
    ]
    assert caught.value.where == "p.csv"


def test_price_of_what_is_not_used_is_a_note() -> None:
    (note,) = priced("felt,roll,1\nvelvet,roll,1\n").findings
    assert (note.code, note.where) == ("R3D-PRICE-UNUSED", "p.csv, line 3")


LABOUR = parse_labour(
    LABOUR_HEAD
    + "steep,2:12,0 ft,square,80\nsteep,6:12,0 ft,square,100\nsteep,6:12,20 ft,square,125.50\n"
    + "low,1:12,0 ft,sq ft,0.7\n"
)


@pytest.mark.parametrize(
    ("pitch", "height", "line"), [(5.99, 30, 2), (6, 19, 3), (6, 20, 4), (12, 40, 4), (2, -1, 2)]
)
def test_the_greatest_pitch_and_height_reached_hold(pitch: float, height: float, line: int) -> None:
    plane = make_plane(
        "main.south", (0, 0, 10, 10), (0.0, pitch / 12), offset=height * FOOT, kind=Kind.STEEP
    )
    result = price_takeoff(TAKEOFF, labour=LABOUR, planes=[plane])
    (laid,) = result.labour
    assert (laid.plane, laid.rate.line) == ("main.south", line)


# 1,000 sq ft along the slope, at 80 a square and at 0.70 a square foot: 800 and 700.
def test_labour_by_hand() -> None:
    planes = [
        replace(make_plane(name, (0, 0, 1, 1), (0.0, pitch), kind=kind), area=1000 * FOOT**2)
        for name, pitch, kind in (
            ("a.south", 4 / 12, Kind.STEEP),
            ("b.south", 1 / 12, Kind.LOW),
            ("c.south", 0.5 / 12, Kind.LOW),
        )
    ]
    result = price_takeoff(TAKEOFF, labour=LABOUR, planes=planes)
    assert [(line.plane, str(line.quantity), str(line.amount)) for line in result.labour] == [
        ("a.south", "10", "800.00"),
        ("b.south", "1000", "700.00"),
    ]
    assert (str(result.labour_total), result.unrated) == ("1500.00", ("c.south",))
    assert result.total_text.endswith("and 1 plane (c.south)")


def test_great_sums_keep_every_cent() -> None:
    rows = "felt,sq ft,999999999999.999999\n"
    assert priced(rows).total == Decimal("360000000000000.00")
    assert priced("felt,roll,999999999999.01\n").total == Decimal("3999999999996.04")
