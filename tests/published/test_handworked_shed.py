"""A shed of 30 by 20 ft at 1:12, taken off on paper first, sheet by sheet and nail by nail.

Sizes and spacings are those of the catalog: sheets and their laps of UFGS-07511 and UFGS-07550;
first courses, turn-downs, nails and edge metal common practice, no source. Inches all along.

The plane. Plan 30 by 20 ft, no overhang. Along the slope 240 x sqrt(1 + 1/144) = 240.832.

Base sheet, 39 3/8 wide, rolls of 20 m = 787.40. Turned down 2 all around: 364 by 244.832, each
corner cut at 45 degrees, half of 2 by 2 off it.

- Courses. Lap 2, so 37.375 show. After a first course of two thirds, 26.25, 218.58 are left:
  5.85 courses, so six more, seven in all.
- First courses. The ply above shows 35.375 and 7 laps, this one 6; they drift together by 2 a
  course. With the ply's first course x less wide than the base's, its first lap lies x below
  the base's first one, its last one 25.375 - x above the base's last: x is 12 to 13.375. Usual
  are 26.25 and half of 39.375 = 19.69, only 6.56 apart: another 5.44 has to be found, at the base
  or the ply or both. Neither the count of courses nor of anything else hangs on where.
- Rolls. 364 twice is 728; 59.4 are left, more than the 48 worth laying: the third course begins
  with it and needs 364 + 6 - 59.4 = 310.6. Second roll: 476.8 left, a course, 112.8 left, the
  fifth course begins with it and needs 257.2. Third roll: 530.2, a course, 166.2, the seventh
  begins with it. Fourth roll: 203.8 off it. Ten pieces, 7 x 364 + 3 x 6 = 2566, four rolls.
- Capped nails, 9 apart in the laps, 9 from their ends: 364 - 18 = 346 is 38.4 spaces, so 39 and 40
  nails; six laps, 240. Along the edges, 1 in from them: low and high 359.17 long (less at the
  cut corners), 341.17 between, 38 spaces, 39 nails, twice; rakes 240.00, 222.00, 25 spaces, 26
  nails, twice; one at each cut corner: 134. In the field two rows between laps, 18 apart:
  20 spaces, 21 nails in one row and 20 in the other, seven times: 287. In all 661, one box.

Ply, same rolls, flush: 360 by 240.832, lap 4.

- Courses: seven after the first, eight (first 14.25 to 19.69; left 221 to 227; 6.25 to 6.41).
- Rolls. 360 twice, 67.4 left. At the third course its end lap would stand at 61.4, the base's
  stands at 51.4 below it, less than 36 away: a whole course off the second roll, and the
  fourth, 67.4 left. The fifth: end lap at 61.4, the base's at 104.8 there: 43.4, well. It needs
  298.6 more: third roll, 488.8 left, a course, 128.8 left. The seventh: end lap at 122.8, the
  base's at 158.2: 35.4, so 0.6 are cut off, and 237.8 come off the fourth roll. Ten pieces.
- But the first course and the last (less than 20 wide) lie side by side in one length of 360:
  2532 of 3149.6 in. Four rolls anyhow.

Cap, rolls of 10 m = 393.70, half an inch back from the edges: 359 by 239.832, lap 4.

- Courses: a whole one, then 200.46 at 35.375 is 5.67: seven. Its laps stand 12 1/2 and 22 7/8 from
  those of the ply where that starts with 17.
- Rolls. After 359 only 34.7 are left, less than the 48 worth laying: a roll a course, seven, no
  end lap, so no cement in one.

Edge metal, lengths of 120, lap 4. Eave and high edge: 120, 116, 116 reach 352; the fourth would
be 8 and 4 of lap: 12. Rakes: 120, 116 reach 236, 4.83 left: with its lap 8.83, less than the 12
worth laying, so the second is cut to 116.83 for the third to be 12. Eight whole ones less two, two
of 116.83, four of 12 out of one: 11 lengths. 2 x 372 + 2 x 248.832 = 1241.66.

Roofing nails, two rows 6 apart, 1 from the ends, staggered. 358: 59.7, 60 spaces, 61 + 60; 238.83:
39.8, 40 spaces, 41 + 40. Twice each, 404, one box.

Cement: a bed 4 wide under the flange, 1201.66 long, 1/8 thick: 600.8 cu in of 231 a gallon, 2.60.
Primer: both faces of 1241.66 by 4, at 0.75 gal on 100 sq ft (UFGS-07550, 3.2.4): 68.98, 0.517 gal.
"""

from __future__ import annotations

import math
from collections import Counter

import pytest

from roof3d.layout.model import LaidLayer
from roof3d.project import Project
from roof3d.takeoff.model import Item, Unit
from tests.model_text import FOOT, INCH, Block, built

GALLON = 231.0 * INCH**3
SLOPED = 240.0 * math.sqrt(145.0) / 12.0
ROLL, SHORT_ROLL = 20.0 / INCH, 10.0 / INCH
WIDE = 39.375


@pytest.fixture(scope="module")
def shed() -> Project:
    block = Block(id="shed", form="shed", length=30, width=20, eave=9, pitch=1 / 12)
    return built(block, unit="ft")


def layer(shed: Project, role: str) -> LaidLayer:
    return shed.layout.layer(f"shed.south/{role}")


def runs(laid: LaidLayer) -> list[list[float]]:
    """Lengths of the pieces of each course, inches, in the order of laying."""
    lengths = (laid.pieces.boxes[:, 2] - laid.pieces.boxes[:, 0]) / INCH
    return [
        [round(float(x), 1) for x in lengths[laid.pieces.course == course.number]]
        for course in laid.courses
    ]


def square_inches(item: Item) -> float:
    assert item.unit is Unit.AREA
    return item.net / INCH**2


def first(laid: LaidLayer) -> float:
    return (laid.courses[0].high - laid.courses[0].low) / INCH


def test_everything_on_the_list_is_on_paper_too(shed: Project) -> None:
    assert [item.material for item in shed.takeoff.items] == [
        "base-sheet", "cap-nail", "self-adhered-ply", "membrane-edge-metal", "roof-cement",
        "primer", "roofing-nail", "granule-cap",
    ]  # fmt: skip
    assert shed.layout.findings == ()


def test_first_courses_part_the_laps(shed: Project) -> None:
    base, ply, cap = (first(layer(shed, role)) for role in ("base", "ply", "cap"))
    # No nearer to the usual cuts than they must be: 5.44 between the two of them.
    assert (base - 26.25) + (19.6875 - ply) == pytest.approx(5.4375, abs=0.001)
    assert 26.25 <= base <= 31.6875
    assert base - ply == pytest.approx(12.0, abs=0.001)
    assert cap == pytest.approx(WIDE)


def test_base_sheet_course_by_course_and_roll_by_roll(shed: Project) -> None:
    laid, item = layer(shed, "base"), shed.takeoff.item("base-sheet")
    assert runs(laid) == [[364], [364], [59.4, 310.6], [364], [112.8, 257.2], [364], [166.2, 203.8]]
    assert laid.extent.area / INCH**2 == pytest.approx(364 * (SLOPED + 4) - 4 * 2)
    last = SLOPED + 2 - laid.courses[-1].low / INCH
    in_laps = 6 * 2 * 364 + 6 * (WIDE + WIDE + last)
    assert square_inches(item) == pytest.approx(364 * (SLOPED + 4) - 8 + in_laps)
    assert item.packs == 4
    assert item.cutting is not None
    assert sum(item.cutting.offcuts) / INCH == pytest.approx(4 * ROLL - 2566)
    # Four rolls of 85 lb: common practice, no source.
    assert item.weight == pytest.approx(4 * 85 * 0.45359237)


def test_capped_nails_row_by_row(shed: Project) -> None:
    laid = layer(shed, "base")
    laps, edges, field = 6 * 40, 2 * 39 + 2 * 26 + 4, 7 * (21 + 20)
    assert len(laid.nails) == laps + edges + field == 661
    heights = laid.nails[:, 1] / INCH
    middles = [course.low / INCH + 1 for course in laid.courses[1:]]
    assert [sum(abs(heights - middle) < 0.01) for middle in middles] == [40] * 6
    # 1 in from the edge of a sheet that is turned down by 2: 1 in past the edge of the deck.
    assert sum(abs(heights + 1) < 0.01) == sum(abs(heights - SLOPED - 1) < 0.01) == 39
    item = shed.takeoff.item("cap-nail")
    assert (item.net, item.packs) == (661, 1)


def test_ply_course_by_course_and_roll_by_roll(shed: Project) -> None:
    laid, item = layer(shed, "ply"), shed.takeoff.item("self-adhered-ply")
    whole = [360.0]
    assert runs(laid) == [
        whole, whole, whole, whole, [67.4, 298.6], whole, [128.2, 237.8], whole,
    ]  # fmt: skip
    assert square_inches(item) == pytest.approx(360 * SLOPED + 7 * 4 * 360 + 2 * 6 * WIDE)
    assert item.packs == 4
    assert item.cutting is not None
    assert sum(item.cutting.offcuts) / INCH == pytest.approx(4 * ROLL - 2532)
    assert laid.least_end_offset / INCH == pytest.approx(36.0)


def test_cap_takes_a_roll_a_course(shed: Project) -> None:
    laid, item = layer(shed, "cap"), shed.takeoff.item("granule-cap")
    assert runs(laid) == [[359.0]] * 7
    assert square_inches(item) == pytest.approx(359 * (SLOPED - 1) + 6 * 4 * 359)
    assert item.packs == 7
    assert item.cutting is not None
    assert [left / INCH for left in item.cutting.offcuts] == pytest.approx([SHORT_ROLL - 359] * 7)


def test_edge_metal_length_by_length(shed: Project) -> None:
    item = shed.takeoff.item("membrane-edge-metal")
    found = Counter(
        round(float(end - start) / INCH, 2)
        for strip in shed.layout.strips
        for start, end in strip.pieces
    )
    assert found == {120.0: 8, round(SLOPED - 124, 2): 2, 12.0: 4}
    assert item.net / FOOT == pytest.approx((2 * 372 + 2 * (SLOPED + 8)) / 12)
    assert item.packs == 11
    assert item.ordered / FOOT == pytest.approx(110.0)
    assert item.cutting is not None
    assert sum(len(pattern) for pattern in item.cutting.patterns) == 14
    assert shed.takeoff.item("roofing-nail").net == 2 * (61 + 60) + 2 * (41 + 40)
    assert shed.takeoff.item("roofing-nail").packs == 1


def test_cement_and_primer(shed: Project) -> None:
    cement, primer = (shed.takeoff.item(name) for name in ("roof-cement", "primer"))
    assert cement.net / GALLON == pytest.approx(2 * (360 + SLOPED) * 4 / 8 / 231)
    assert cement.net / GALLON == pytest.approx(2.60, abs=0.005)
    metal = 2 * 372 + 2 * (SLOPED + 8)
    assert primer.net / GALLON == pytest.approx(metal * 4 * 2 / 144 / 100 * 0.75)
    assert primer.net / GALLON == pytest.approx(0.517, abs=0.0005)
    assert cement.packs == primer.packs == 1
