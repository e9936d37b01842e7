"""What a vented gable with a narrow and a wide chimney takes at them, on paper first.

A gable of 20 by 16 ft at 6:12, no overhang, laminated shingles, a ridge vent, and two chimneys on
its south plane: "thin", 24 in square, and "wide", 36 in across and 24 in deep. Inches all along;
what lies up the slope is sqrt(1.25) = 1.118034 times as long as in plan. Where no other source is
named: common practice, no source.
"""

from __future__ import annotations

import math
from functools import cache

import pytest

from roof3d.project import Project, build
from roof3d.spec.read import parse_spec
from tests.model_text import FOOT, INCH

MODEL = """
schema = 1
name = "Two chimneys"
[layout]
ridge_vent = true
[[section]]
id = "main"
form = "gable"
length = "20 ft"
width = "16 ft"
at = ["0 ft", "0 ft"]
eave = "9 ft"
pitch = "6:12"
[[opening]]
id = "thin"
kind = "chimney"
at = ["5 ft", "4 ft"]
size = ["24 in", "24 in"]
height = "4 ft"
[[opening]]
id = "wide"
kind = "chimney"
at = ["14 ft", "4 ft"]
size = ["36 in", "24 in"]
height = "4 ft"
"""
SIDE = 24.0 * math.sqrt(1.25)


@cache
def house() -> Project:
    return build(parse_spec(MODEL))


def reach(rule: str, edge: str) -> list[float]:
    """Return how long each strip of a rule is at one edge, laps included."""
    return [
        float(strip.pieces[:, 1].max() - strip.pieces[:, 0].min()) / INCH
        for strip in house().layout.strips
        if (strip.rule, strip.edge) == (rule, edge)
    ]


# Aprons 4 past the sides (a public guide specification): 24 + 8 = 32 and 36 + 8 = 44, both off one
# length of 120. The back pan 6 past: 36. The wide one has a cricket (IRC R1003.20: over 30 wide)
# and no back pan.
def test_aprons_and_pan_stand_past_the_chimney() -> None:
    assert reach("opening-apron", "thin") == pytest.approx([32.0])
    assert reach("opening-apron", "wide") == pytest.approx([44.0])
    assert reach("back-pan", "thin") == pytest.approx([36.0])
    assert reach("back-pan", "wide") == []
    assert len(reach("cricket-lining", "wide")) == 2
    takeoff = house().takeoff
    apron, pan = takeoff.item("apron-flashing"), takeoff.item("back-pan")
    assert [apron.net / FOOT, pan.net / FOOT] == pytest.approx([(32 + 44) / 12, 3.0])
    assert (apron.packs, pan.packs) == (1, 1)


# Counterflashing: foot and head 24 + 6 and 36 + 6, twice each, sides 26.833, four of them:
# 144 + 107.33 = 251.33. Off lengths of 120: 42, 42, 30 (114); 30, 26.83 three times (110.5);
# 26.83. Three.
def test_chimneys_are_counterflashed_on_four_sides() -> None:
    assert reach("counterflashing", "thin") == pytest.approx([30.0, 30.0])
    assert reach("counterflashing", "wide") == pytest.approx([42.0, 42.0])
    assert reach("side-counterflashing", "wide") == pytest.approx([SIDE, SIDE])
    item = house().takeoff.item("counterflashing")
    assert item.net / INCH == pytest.approx(2 * (30 + 42) + 4 * SIDE)
    assert item.packs == 3


# Ridge 240 long. Vent in pieces of 48: five, nails 12 apart from 2 to 238: 20 spaces, 21 and, in
# the second row, staggered by half, 20. Over it 240 / 5.625 = 42.7, 43 pieces and one to close the
# end, two nails each: 88. All 129 of them long ones, and no ordinary nail along the ridge.
def test_vent_and_the_pieces_over_it_are_nailed_with_long_nails() -> None:
    laid = {s.rule: s for s in house().layout.strips if s.edge == "main.ridge"}
    assert set(laid) == {"ridge-vent", "vent-ridge"}
    assert [len(laid[rule].pieces) for rule in ("ridge-vent", "vent-ridge")] == [5, 44]
    assert len(laid["ridge-vent"].nails) == 21 + 20
    assert len(laid["vent-ridge"].nails) == 88
    item = house().takeoff.item("long-roofing-nail")
    assert (item.net, item.packs) == (129, 1)
    assert {use.of for use in item.used} == {"main.ridge/ridge-vent", "main.ridge/vent-ridge"}


def test_items_stand_in_the_order_of_work() -> None:
    assert [item.material for item in house().takeoff.items] == [
        "drip-edge", "roofing-nail", "ice-barrier", "synthetic-underlayment", "cap-nail",
        "starter-strip", "laminated-shingle", "step-flashing", "apron-flashing", "back-pan",
        "counterflashing", "ridge-vent", "long-roofing-nail", "hip-ridge-laminated",
    ]  # fmt: skip
