"""Half-lapped mineral roll roofing and a single ply on one shed, taken off on paper first.

A shed of 20 by 12 ft at 1:12, no overhang; inches all along, common practice where no source is
named. Along the slope 144 x sqrt(1 + 1/144) = 144.499. Both sheets stop half an inch back from
the edges: 239 by 143.499.

Mineral roll, 36 wide, lap 19 (NAVEDTRA 14044), so 17 show. A starter of 19 at the eave and the
first whole sheet over it from the same line; then a sheet every 17: the last begins 8 x 17 = 136
up, 7.499 below the high edge. A starter and nine sheets.

- Rolls of 36 ft = 432. 239, then 193 to the end, which is 46 from the far edge: with its lap of 6
  52 off the second roll. That has 380 left: 239, and 141; the next sheet goes on with 98 + 6 = 104
  off the third, 328 left: 239 and 89; 150 + 6 off the fourth, 276 left: 239, and 37 are less than
  the 48 worth laying. Fifth: 239 and 193. Sixth: 52, 239. Four end laps.
- Lap cement (1.84 gal a square, UFGS-07311) under each side lap: the starter's 19, seven more of
  19, and 7.499 under the last sheet: 239 x (8 x 19 + 7.499) = 38 120. Under the end laps, 6 long:
  three as high as a sheet, 36, and one in the last but one, 24.499 high: 795. 38 915 sq in are
  270.24 sq ft: 4.97 gal, one pail of 5.
- Roof cement under the edge metal alone: 4 wide all round, 768.998 long, 1/8 thick: 1.66 gal.
"""

from __future__ import annotations

import math
from collections import Counter

import pytest

from roof3d.project import Project, build
from roof3d.spec.read import parse_spec
from tests.model_text import FOOT, INCH

GALLON = 231.0 * INCH**3
DEEP = 12.0 * math.sqrt(145.0) - 1.0


def shed(assembly: str) -> Project:
    return build(
        parse_spec(
            f"""
schema = 1
name = "Shed"
[[section]]
id = "shed"
form = "shed"
length = "20 ft"
width = "12 ft"
at = ["0 ft", "0 ft"]
eave = "9 ft"
pitch = "1:12"
assembly = "{assembly}"
"""
        )
    )


def test_sheets_of_mineral_roll_course_by_course() -> None:
    laid = shed("mineral-roll").layout.layer("shed.south/cap")
    counts = Counter(laid.pieces.course.tolist())
    assert [counts[course.number] for course in laid.courses] == [1, 2, 1, 2, 1, 2, 1, 1, 2, 1]
    assert shed("mineral-roll").takeoff.item("mineral-roll").packs == 6


def test_every_lap_of_mineral_roll_is_cemented() -> None:
    takeoff = shed("mineral-roll").takeoff
    last = DEEP - 8 * 17
    sides = 239 * (8 * 19 + last)
    ends = 6 * (3 * 36 + (last + 17))
    cement, bed = takeoff.item("lap-cement"), takeoff.item("roof-cement")
    assert cement.net / GALLON == pytest.approx((sides + ends) / 14400 * 1.84)
    assert cement.net / GALLON == pytest.approx(4.97, abs=0.005)
    assert cement.packs == 1
    assert bed.net / GALLON == pytest.approx(4 * (480 + 2 * (DEEP + 1)) / 8 / 231)
    assert bed.net / GALLON == pytest.approx(1.66, abs=0.005)


# Edge metal, 120 long, lap 4. 240: 120, 116 and 12 (8 alone would be less than is worth laying);
# 144.499: 120 and 28.499; twice each: 496 + 296.998 in, six lengths and one for the four ends. The
# sheet is welded to it, so it is coated; no primer, no cement, no cant.
def test_a_single_ply_is_welded_to_coated_metal() -> None:
    takeoff = shed("single-ply").takeoff
    assert [item.material for item in takeoff.items] == [
        "coated-edge-metal", "roofing-nail", "single-ply-sheet", "plate-and-screw",
    ]  # fmt: skip
    metal = takeoff.item("coated-edge-metal")
    assert metal.net / FOOT == pytest.approx((2 * (240 + 8) + 2 * (DEEP + 1 + 4)) / 12)
    assert metal.packs == 7
    told = [line for line in takeoff.assumptions if line.startswith("Single-ply")]
    assert [("adhesive" in line, "cover board" in line) for line in told] == [(True, True)]
