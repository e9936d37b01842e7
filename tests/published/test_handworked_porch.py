"""The porch house, taken off on paper first: shingles by course, rolls, lengths and nails.

A gable of 42 by 28 ft at 6:12 with 16 in of overhang at the eaves and 8 in at the rakes, and in
front of it a porch roof of 20 ft at 1:12, 12 in at its eave and 8 in at its rakes. Sizes and
spacings are those of the catalog; where a comment names no other source: common practice, no
source. Inches all along; north is the whole plane of the house, south the one that the porch
meets.

The planes. Each of the house is 42 ft and twice 8 in long, 520, and (14 ft + 16 in) x 1.118034 =
205.718 up the slope. The porch is 20 ft and twice 8 in, 256. Porch and house roof meet 1.2 ft
inside the wall, 14.4 + 16 in from the house's eave in plan, 33.988 up its slope; the porch roof
is (12 x 12 + 12 + 14.4) x 1.003466 = 170.991 long.
"""

from __future__ import annotations

import math
from collections import Counter
from functools import cache

import pytest

from roof3d.layout.model import LaidLayer, LaidStrip
from roof3d.project import Project, build
from roof3d.spec.read import load_spec
from tests.conftest import ROOT
from tests.model_text import FOOT, INCH

STEEP = 184.0 * math.sqrt(1.25)
JOINT = 30.4 * math.sqrt(1.25)
LOW = 170.4 * math.sqrt(145.0) / 12.0
SHINGLE = 39.375
GALLON = 231.0 * INCH**3


@cache
def house() -> Project:
    return build(load_spec(ROOT / "models" / "lantern-street.toml"))


def layer(name: str) -> LaidLayer:
    return house().layout.layer(name)


def by_course(laid: LaidLayer) -> list[int]:
    """Count of pieces in each course."""
    counts = Counter(laid.pieces.course.tolist())
    return [counts[course.number] for course in laid.courses]


def nails_on_line(laid: LaidLayer) -> list[int]:
    """Nails of each course of shingles on its line, 6 1/8 in over its lower edge."""
    at = laid.nails[:, 1] / INCH
    return [int(sum(abs(at - course.low / INCH - 6.125) < 0.001)) for course in laid.courses]


def strips(rule: str, edges: str = "") -> list[LaidStrip]:
    return [s for s in house().layout.strips if s.rule == rule and s.edge.startswith(edges)]


def lengths(rule: str) -> Counter[float]:
    """Count of pieces by length, inches to a tenth; halves up."""
    return Counter(
        round(float(end - start) / INCH + 0.004, 1)
        for strip in strips(rule)
        for start, end in strip.pieces
    )


# Shingles, 39 3/8 long, 5 5/8 showing, 3/8 past eave and rakes: 520.75 by 206.093, 36.6 courses,
# 37. Each starts 6 1/2 less far out than the one below: with 39.375, 32.875, 26.375, 19.875,
# 13.375, 6.875, then whole again. What is left, in shingles: 12.23, 12.39, 12.56, 12.72, 12.89,
# 13.05: 14 pieces each and 15 in the sixth course, whose last would be 2 in: under the 6 worth
# laying, so the joint before it is moved. Six times 85 and a course of 14.
def test_shingles_of_the_north_course_by_course() -> None:
    laid = layer("main.north/shingles")
    assert by_course(laid) == [14, 14, 14, 14, 14, 15] * 6 + [14]
    widths = (laid.pieces.boxes[:, 2] - laid.pieces.boxes[:, 0]) / INCH
    starts = [float(widths[laid.pieces.course == k][0]) for k in range(1, 8)]
    assert starts == pytest.approx([39.375, 32.875, 26.375, 19.875, 13.375, 6.875, 39.375])
    assert math.fsum(widths) == pytest.approx(37 * 520.75)


# South, the same above the porch. Beside it, out to the porch's walls at 140 and 380, less a
# quarter of an inch: 140.125 on each side. Course by course, left and right of the porch:
#   1: 3 whole, 22.0 / 13.125, 3 whole, 8.875                      9
#   2: 32.875, 2 whole, 28.5 / 6.625, 3 whole, 15.375              9
#   3: 26.375, 2 whole, 35.0 / 10.625, 28.875, 2 whole, 21.875     9
#   4: 19.875, 2 whole, 28.875, 12.625 / 33.0, 2 whole, 28.375     9
#   5: 13.375, 3 whole, 8.625 / 26.5, 2 whole, 34.875              9
# (In 3 on the right the joint would stand 1/8 in off the wall, in 4 on the left 2.1 in: moved.)
# The sixth reaches 41.0 up, over the joint at 33.988 and the 4 in that shingles stay off a flat
# roof: 15 across, as on the north; but of the five over the joint alone only 3 in would be left,
# all of it under the seventh: nobody lays those. 10.
def test_shingles_of_the_south_course_by_course() -> None:
    laid = layer("main.south/shingles")
    assert by_course(laid) == [9] * 5 + [10] + [14, 14, 14, 14, 14, 15] * 5 + [14]
    widths = (laid.pieces.boxes[:, 2] - laid.pieces.boxes[:, 0]) / INCH
    assert math.fsum(widths) == pytest.approx(5 * 2 * 140.125 + 32 * 520.75 - 5 * SHINGLE)
    third = widths[laid.pieces.course == 3].tolist()
    assert third == pytest.approx(
        [26.375, SHINGLE, SHINGLE, 35.0, 10.625, 28.875, SHINGLE, SHINGLE, 21.875]
    )


# Four nails a whole shingle (IRC R905.2.6), at 1, 13.46, 25.92 and 38.38 from its end. A cut one
# keeps those an inch off its cut, but two at least. North, by course of six:
#   1: 13 whole, 52; 8.875 has 2                      54
#   2: 32.875 has 3; 12 whole, 48; 15.375 has 2       53
#   3: 26.375 has 2; 48; 21.875 has 2                 52
#   4: 19.875 has 2; 48; 28.375 has 3                 53
#   5: 13.375 has 2; 48; 34.875 has 3                 53
#   6: 6.875 has 2; 48; 28.5 has 3; 12.875 has 2      55
# 320, six times, and 54 in the last course, whose line lies past the ridge: they stand lower.
# South: 1: 12 + 2 / 2 + 12 + 2 = 30. 2: 3 + 8 + 3 / 2 + 12 + 2 = 30. 3: 2 + 8 + 3 / 2 + 3 + 8 + 2
# = 28. 4: 2 + 8 + 3 + 2 / 3 + 8 + 3 = 29. 5: 2 + 12 + 2 / 2 + 8 + 3 = 29. Then the sixth, whose
# shingles at the porch's walls keep two of their four on the line: 31. Above it five times 320,
# and 54 once.
def test_shingle_nails_course_by_course() -> None:
    north = layer("main.north/shingles")
    assert nails_on_line(north) == [54, 53, 52, 53, 53, 55] * 6 + [0]
    assert len(north.nails) == 6 * 320 + 54 == 1974
    south = layer("main.south/shingles")
    assert nails_on_line(south) == [30, 30, 28, 29, 29, 31] + [54, 53, 52, 53, 53, 55] * 5 + [0]
    assert len(south.nails) == 146 + 31 + 5 * 320 + 54 == 1831


# Whole ones: 73 a six on the north (13, 12, 12, 12, 12, 12), 438, and 13: 451. South 6, 5, 4, 4,
# 5, 7, then 365 and 13: 409. Cut ones, more than half a shingle, so each takes one: 32.875,
# 26.375, 21.875, 19.875, 28.375, 34.875 and 28.5 of every six courses, 7 x 11, and of the south's
# first six 1, 2, 4, 4, 2, 1: 91. What they leave (17.5, 19.5; 13.0; 11.0, 10.875; 6.5, 4.5) takes
# the small ones pair by pair, 15.375, 13.375; 12.875; 8.875, 6.875; but at the last 6.625 and 6.875
# find nothing left that takes them: one more, 92. 952 shingles at 22 a bundle: 43.3, so 44.
def test_bundles_of_shingles() -> None:
    item = house().takeoff.item("laminated-shingle")
    assert item.cutting is not None
    laid = 37 * 520.75 + 5 * 280.25 + 32 * 520.75 - 5 * SHINGLE
    cut_ones = laid - (451 + 409) * SHINGLE
    assert sum(map(math.fsum, item.cutting.patterns)) / INCH == pytest.approx(cut_ones)
    assert (len(item.cutting.patterns), item.cutting.bound, item.cutting.proven) == (92, 92, True)
    assert (item.packs, item.ordered) == (44, 968)


# Underlayment, 48 wide, rolls of 250 ft, lap 3, so 45 show; 6 in over the ridge: 211.718, five
# courses. North: five of 520. South: the first stops 4 in up the porch's walls, 144 on each
# side; above the joint it begins at 33.988 + 18 of membrane + 12, so no sheet of the first course
# there; four of 520. A roll of 3000 gives five of 520: two rolls; 9 x 520 + 288 = 4968 in.
def test_underlayment_course_by_course_and_roll_by_roll() -> None:
    assert by_course(layer("main.north/underlayment")) == [1, 1, 1, 1, 1]
    assert by_course(layer("main.south/underlayment")) == [2, 1, 1, 1, 1]
    item = house().takeoff.item("synthetic-underlayment")
    assert item.packs == 2
    assert item.cutting is not None
    cut = Counter(round(x / INCH, 3) for pattern in item.cutting.patterns for x in pattern)
    assert cut == {520.0: 9, 144.0: 2}
    middle = 240.0 - 2 * 4.0  # of the south, between what is turned up the porch's walls
    pipe = math.pi * 1.75**2 * math.sqrt(1.25)  # 3 in and 1/4 in clear, drawn with corners
    flaps = 2 * 4.0 * 4.0  # where they run on past the walls, off the gap of the joint
    covered = 2 * 520 * (STEEP + 6) - middle * (JOINT + 18 + 12) - pipe - flaps
    assert item.covered / INCH**2 == pytest.approx(covered, abs=0.2)
    # Laps of 3: four of 520 on each plane, less where the south's first one crosses the porch.
    assert item.net / INCH**2 == pytest.approx(covered + 3 * (8 * 520 - middle), abs=0.2)


# Capped nails 12 apart, 6 from the ends. North: a lap of 520, 508 between, 42.3, 43 spaces, 44
# nails, four laps, 176. Edges, 1 1/2 in: eave 517, 42.1, 43, 44; rakes 208.72, 196.7, 16.4, 17, 18
# each: 80. Field, two rows a course, 44 + 43: 435. 691.
# South: first lap twice 144, 132 between, 11 spaces, 12 each; three more of 44: 156. Edges: eaves
# 141 each, 10.75, 11, 12; rakes 36: 60. Field: two rows in the first course, (12 + 11) on each
# side, 46; in the second the lower one still beside the porch, 12 and 12, the upper one across, 43;
# then three times 87: 374. 590.
# Porch, base sheet turned down 2 on three sides: 260 by 172.991; nails 9 apart, 9 from the ends.
# Five laps: 242, 26.9, 27, 28: 140. Eave 255.17 inside the cut corners: 237.2, 26.4, 27, 28; rakes
# 169.58: 151.6, 16.8, 17, 18 each; one a corner: 66. Field, 18 apart: 13.4, 14, 15 + 14, six times:
# 174. 380. The base strip over the joint, 256: 238, 26.4, 27 spaces, 28 and 27 staggered: 55.
# 691 + 590 + 380 + 55 = 1716 of 2000 in a box.
def test_capped_nails_row_by_row() -> None:
    assert len(layer("main.north/underlayment").nails) == 4 * 44 + 44 + 2 * 18 + 5 * (44 + 43)
    south = 2 * 12 + 3 * 44 + 2 * 12 + 2 * 18 + 2 * (12 + 11) + 2 * 12 + 43 + 3 * 87
    assert len(layer("main.south/underlayment").nails) == south == 590
    assert len(layer("porch.south/base").nails) == 5 * 28 + 28 + 2 * 18 + 2 + 6 * (15 + 14)
    assert [len(strip.nails) for strip in strips("joint-base")] == [28 + 27]
    item = house().takeoff.item("cap-nail")
    assert (item.net, item.packs) == (1716, 1)


# Drip edge, 120 long, lap 2. South eave 140, twice: 120 and 22. North 520: 120, then 118 three
# times reach 474, 48. Rakes 205.718: 120 and 87.72, four times. 1642.87 in. Ten whole ones; with
# two of the 87.72 go the 22s (109.72), the two others and the 48 take one each: 15.
# Nails 12 apart, 1 from the ends: 138, 12 spaces, 13; 518, 44, 45; 203.7, 17, 18.
def test_drip_edge_length_by_length() -> None:
    rake = round(STEEP - 118, 1)
    assert lengths("drip-edge") == {120.0: 10, 22.0: 2, 48.0: 1, rake: 4}
    item = house().takeoff.item("drip-edge")
    assert item.net / FOOT == pytest.approx((2 * 142 + 528 + 4 * (STEEP + 2)) / 12)
    assert item.packs == 15
    nails = sorted(len(strip.nails) for strip in strips("drip-edge"))
    assert nails == [13, 13, 18, 18, 18, 18, 45]


# Starter, 39 3/8 long, the first 6 in shorter: 33.375. Eaves of 140: two whole ones and 27.875,
# twice; 520: 12 whole ones and 14.125; at the joint 256: 5 and 25.75. No two of the short ones
# come out of one (14.125 + 25.75 is half an inch too much): 21 whole, 4 + 4 short, 29 of the 30 in
# a bundle. Four nails a piece, 116.
def test_starter_piece_by_piece() -> None:
    found = lengths("starter") + lengths("joint-starter")
    assert found == {33.4: 4, 39.4: 21, 27.9: 2, 14.1: 1, 25.8: 1}
    item = house().takeoff.item("starter-strip")
    assert item.cutting is not None
    assert sum(map(math.fsum, item.cutting.patterns)) / INCH == pytest.approx(1056)
    assert (len(item.cutting.patterns), item.packs) == (29, 1)
    assert sum(len(s.nails) for s in strips("starter") + strips("joint-starter")) == 29 * 4


# Ridge 520, a piece each 5 5/8: 92.4, 93, and one to close the end: 94; two nails each.
# 66 a bundle: two.
def test_ridge_piece_by_piece() -> None:
    (ridge,) = strips("hip-ridge")
    assert (len(ridge.pieces), len(ridge.nails)) == (94, 188)
    assert house().takeoff.item("hip-ridge-laminated").packs == 2


# Joint. Ice barrier over the head of the membrane, 24 by 256, one piece; the starter's bed of
# cement 256 by 4. Step flashing at the porch's walls, one a course: 33.988 is 6.04 courses, 7 on
# each side.
def test_strips_of_the_joint() -> None:
    item = house().takeoff.item("ice-barrier")
    assert item.net / INCH**2 == pytest.approx(24 * 256)
    assert item.packs == 1
    (starter,) = strips("joint-starter")
    assert starter.bed_area / INCH**2 == pytest.approx(4 * 256)
    assert house().takeoff.item("step-flashing").net == 14
    (base,) = strips("joint-base")
    assert len(base.pieces) == 1
    assert base.width / INCH == pytest.approx(24.0)


# Membrane. Base 260 long, six courses; of the rolls of 787.40 three lengths each come whole, 7.4
# left. The first course (18) and the last (7.5) lie side by side in one length; with the 256 of
# the joint strip 5 x 260 + 256 = 1556: two rolls.
# Ply 256 by 170.991 + 18 + 3: six courses, three a roll: two rolls, 38.8 left.
# Cap 255 by 189: six courses of rolls of 393.70. After one, 138.7 are left, more than 48: the
# second course begins with it, and 122.3; the next is too near the end of its roll (16.4) to leave
# anything. So 1, 2, 1, 1, 2, 1 sheets off four rolls; two end laps of 6 by 39.375 in cement.
def test_membrane_course_by_course_and_roll_by_roll() -> None:
    assert by_course(layer("porch.south/base")) == [1] * 6
    assert by_course(layer("porch.south/ply")) == [1] * 6
    assert by_course(layer("porch.south/cap")) == [1, 2, 1, 1, 2, 1]
    takeoff = house().takeoff
    rolls = [takeoff.item(name) for name in ("base-sheet", "self-adhered-ply", "granule-cap")]
    assert [item.packs for item in rolls] == [2, 2, 4]
    left = [sum(item.cutting.offcuts) / INCH for item in rolls if item.cutting is not None]
    assert left == pytest.approx(
        [20 * 2 / INCH - 1556, 20 * 2 / INCH - 6 * 256, 10 * 4 / INCH - (6 * 255 + 2 * 6)]
    )
    assert layer("porch.south/cap").bed_area / INCH**2 == pytest.approx(2 * 6 * 39.375)


# Edge metal, 120 long, lap 4: eave 256: 120, 120, 24; rakes 170.991: 120, 54.99, twice. Four whole
# ones, the two 54.99 in one, the 24 in another: six. Nails 6 apart in two rows: 254, 43, 44 + 43;
# 169, 29, 30 + 29. Primer on both faces, at 0.75 gal a square (UFGS-07550, 3.2.4); a bed 4 wide
# and 1/8 thick under it, and the cement of the end laps and the joint's starter.
def test_edge_metal_and_liquids() -> None:
    assert lengths("edge-metal") == {120.0: 4, 24.0: 1, round(LOW - 116, 1): 2}
    takeoff = house().takeoff
    assert takeoff.item("membrane-edge-metal").packs == 6
    assert sum(len(strip.nails) for strip in strips("edge-metal")) == 44 + 43 + 2 * (30 + 29)
    metal = 264 + 2 * (LOW + 4)
    primer, cement = takeoff.item("primer"), takeoff.item("roof-cement")
    assert primer.net / GALLON == pytest.approx(metal * 4 * 2 / 14400 * 0.75)
    bedded = 4 * (256 + 2 * LOW) + 2 * 6 * 39.375 + 4 * 256
    assert cement.net / GALLON == pytest.approx(bedded / 8 / 231)
    assert cement.net / GALLON == pytest.approx(2.10, abs=0.005)


# Roofing nails: shingles 1974 + 1831; drip edge 143; starters 116; step flashing 14; pipe 2; ridge
# 188; edge metal 205. 4473 of 7200 in a box.
def test_roofing_nails_in_all() -> None:
    item = house().takeoff.item("roofing-nail")
    parts = 1974 + 1831 + (2 * 13 + 45 + 4 * 18) + 116 + 14 + 2 + 188 + 205
    assert (item.net, item.packs) == (parts, 1)
    assert parts == 4473
