"""Take-offs worked by hand, piece by piece, from layers and strips written down by hand."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

from roof3d.catalog.laying import Border, Layer, StripRule
from roof3d.catalog.material import Method, WeatherBand
from roof3d.catalog.model import Catalog
from roof3d.errors import InvariantError, LayoutError, Severity
from roof3d.layout.model import Course, Direction, LaidLayer, LaidStrip, Layout
from roof3d.spec.model import OpeningKind, OpeningSpec, RoofSpec, SiteSpec
from roof3d.takeoff.count import count_takeoff
from roof3d.takeoff.model import Item, Takeoff, Unit, Use
from roof3d.units import Units
from tests.unit.takeoff.hand_laid import (
    FOOT,
    GALLON,
    POUND,
    hand_catalog,
    hand_spec,
    laid_layer,
    laid_out,
    laid_strip,
)

SQUARE_FOOT = FOOT**2


def counted(layout: Layout, catalog: Catalog | None = None) -> Takeoff:
    return count_takeoff(layout, catalog or hand_catalog(), hand_spec())


# A plane 24 ft long and 10 1/2 ft up the slope, rolls of 3 ft by 30 ft, laps of 6 in all round.
# Four courses from 0, 2 1/2, 5 and 7 1/2 ft. Roll by roll, each course going on with what the
# one below left:
#   roll 1: 24 ft (course 1), 6 ft (course 2)
#   roll 2: 18 1/2 ft (rest of course 2: 24 - 6 + 1/2), 11 1/2 ft (course 3)
#   roll 3: 13 ft (24 - 11 1/2 + 1/2), 17 ft (course 4)
#   roll 4: 7 1/2 ft (24 - 17 + 1/2)
# 97 1/2 ft in all, 292 1/2 sq ft; four rolls are 120 ft, 360 sq ft: 22 1/2 ft are left, 67.5 sq ft,
# in one piece, so that nothing is waste. The extent is 252 sq ft; three end laps and three side
# laps hold the other 40 1/2: 3 x 1/2 x 3 and 3 x 1/2 x 24 sq ft.
# Cement under the end laps: 4 1/2 sq ft, 1/8 in thick: 4.5 x 144 x 0.125 / 231 = 0.35065 gal.
COURSES = [
    (0, 0, 24, 3),
    (0, 2.5, 6, 5.5), (5.5, 2.5, 24, 5.5),
    (0, 5, 11.5, 8), (11, 5, 24, 8),
    (0, 7.5, 17, 10.5), (16.5, 7.5, 24, 10.5),
]  # fmt: skip


def sheet_layer(*, direction: Direction = Direction.ACROSS, plane: str = "main.south") -> LaidLayer:
    boxes = COURSES if direction is Direction.ACROSS else [(b, a, d, c) for a, b, c, d in COURSES]
    return laid_layer(
        f"{plane}/underlayment",
        "felt",
        boxes,
        direction=direction,
        nails=134,
        fastener="nail",
        bed="cement",
        bed_area=4.5 * SQUARE_FOOT,
    )


@pytest.mark.parametrize("direction", Direction)
def test_sheets_by_hand(direction: Direction) -> None:
    item = counted(laid_out([sheet_layer(direction=direction)])).item("felt")
    assert (item.unit, item.packs, item.pack) == (Unit.AREA, 4, "roll")
    assert item.net == pytest.approx(292.5 * SQUARE_FOOT, rel=1e-12)
    assert item.covered == pytest.approx(252 * SQUARE_FOOT, rel=1e-12)
    assert item.ordered == pytest.approx(360 * SQUARE_FOOT, rel=1e-12)
    assert item.left == pytest.approx(67.5 * SQUARE_FOOT, rel=1e-12)
    assert item.waste == pytest.approx(0.0, abs=1e-12)
    assert item.weight == pytest.approx(240 * POUND, rel=1e-12)
    assert item.cutting is not None
    assert (item.cutting.bound, item.cutting.proven) == (4, True)
    # First fit, longest first, finds: 24 + 6, 18 1/2 + 11 1/2, 17 + 13, 7 1/2.
    in_feet = [[round(length / FOOT, 9) for length in cut] for cut in item.cutting.patterns]
    assert in_feet == [[24, 6], [18.5, 11.5], [17, 13], [7.5]]
    assert [use.pieces for use in item.used] == [7]
    assert item.source == "width, length: a book; end lap: a code"
    assert item.rule == (
        "7 pieces, laps included, cut by length from rolls of 30' 0\" by 3' 0\";"
        " no cutting takes fewer"
    )


def test_cement_and_nails_by_hand() -> None:
    takeoff = counted(laid_out([sheet_layer()]))
    assert [item.material for item in takeoff.items] == ["felt", "cement", "nail"]
    cement, nails = takeoff.item("cement"), takeoff.item("nail")
    assert cement.net == pytest.approx(4.5 * 144 * 0.125 / 231 * GALLON, rel=1e-12)
    assert (cement.unit, cement.packs, cement.pack) == (Unit.VOLUME, 1, "pail")
    assert cement.ordered == pytest.approx(5 * GALLON, rel=1e-12)
    assert cement.rule == '4.5 sq ft, 1/8" thick'
    assert (nails.unit, nails.net, nails.ordered, nails.packs) == (Unit.PIECE, 134, 1000, 1)
    assert nails.used == (Use(of="main.south/underlayment", net=134, pieces=134),)


# The same on a second plane: 195 ft of sheet, 6 1/2 rolls, so seven instead of eight: the second
# plane begins with what the first left. 24 ft pieces with 6 ft ones twice, 18 1/2 with 11 1/2
# twice, 17 with 13 twice, and 7 1/2 + 7 1/2.
def test_planes_share_rolls() -> None:
    layers = [sheet_layer(plane="main.south"), sheet_layer(plane="main.north")]
    item = counted(laid_out(layers)).item("felt")
    assert item.packs == 7
    assert [use.of for use in item.used] == ["main.south/underlayment", "main.north/underlayment"]
    assert item.net == pytest.approx(2 * 292.5 * SQUARE_FOOT, rel=1e-12)


# The deck under a layer primed: 24 ft by 10 1/2 ft at 0.75 gal a square: 1.89 gal.
def test_a_primed_deck_is_counted_as_primed_metal_is() -> None:
    layer = replace(sheet_layer(), primer="primer", primer_area=252 * SQUARE_FOOT)
    takeoff = counted(laid_out([layer]))
    assert [item.material for item in takeoff.items] == ["felt", "cement", "primer", "nail"]
    primer = takeoff.item("primer")
    assert primer.net == pytest.approx(1.89 * GALLON, rel=1e-12)
    assert (primer.packs, primer.waste) == (1, 0.0)
    assert primer.left == pytest.approx(3.11 * GALLON, rel=1e-12)
    assert primer.used == (Use(of="main.south/underlayment", net=primer.net, pieces=0),)


# Two strips half the roll wide and 30 ft long: one roll, but two of a sheet with a selvage.
@pytest.mark.parametrize(("name", "rolls"), [("felt", 1), ("cap", 2)])
def test_half_sheets_lie_side_by_side_unless_a_selvage_is_kept(name: str, rolls: int) -> None:
    boxes = [(0, 0, 30, 1.5), (0, 1.0, 30, 2.5)]
    item = counted(laid_out([laid_layer("main.south/first", name, boxes)])).item(name)
    assert item.packs == rolls
    assert ("keep the selvage" in item.rule) == (name == "cap")


# A lining 18 in wide along a valley of 20 ft, in one sheet: 30 sq ft.
def test_sheet_laid_as_a_strip_is_cut_from_the_same_rolls() -> None:
    strip = laid_strip("main.valley/lining", "felt", [(0, 20)], width=1.5 * FOOT)
    item = counted(laid_out([sheet_layer()], [strip])).item("felt")
    assert item.net == pytest.approx((292.5 + 30) * SQUARE_FOOT, rel=1e-12)
    assert item.covered == pytest.approx((252 + 30) * SQUARE_FOOT, rel=1e-12)
    assert item.packs == 4  # it lies with 7 1/2 ft on the fourth roll
    assert [use.of for use in item.used] == ["main.south/underlayment", "main.valley/lining"]


# Shingles 3 ft long on 24 ft: the first course is 8 whole ones; the second begins with 2 1/2 ft,
# has 7 whole ones (to 23 1/2 ft) and ends with 1/2 ft: 15 whole ones, and one for the two pieces.
# One bundle of 27; 11 are left, nothing is waste. Of 12 in each, of which 5 show, a bundle covers
# 27 x 3 x 5 / 12 sq ft.
def test_shingles_by_hand() -> None:
    first = [(3 * k, 0, 3 * k + 3, 1) for k in range(8)]
    ends = [0, *(2.5 + 3 * k for k in range(8)), 24]
    second = [(a, 0.4, b, 1.4) for a, b in pairwise(ends)]
    layer = laid_layer("main.south/shingles", "shingle", [*first, *second], nails=68)
    item = counted(laid_out([layer])).item("shingle")
    assert item.net == pytest.approx(16, rel=1e-12)
    assert (item.ordered, item.packs, item.pack_holds) == (27, 1, 27)
    assert (item.waste, item.left) == pytest.approx((0, 11), abs=1e-9)
    assert item.pack_area == pytest.approx(33.75 * SQUARE_FOOT, rel=1e-12)
    assert item.covered == pytest.approx(24 * 1.4 * SQUARE_FOOT, rel=1e-12)
    assert item.cutting is not None
    assert [[round(x / FOOT, 9) for x in cut] for cut in item.cutting.patterns] == [[2.5, 0.5]]
    assert item.rule == (
        "15 whole and 2 cut pieces, the cut ones from 1 whole shingle by their length along"
        " the course; no cutting takes fewer"
    )
    assert [use.pieces for use in item.used] == [17]


# Edge metal of 10 ft with 4 in laps: an eave of 24 ft takes 10, 10 and 4 ft 8 in, a rake of 10 ft
# 6 in takes 10 ft and 10 in. Five lengths: the two 10 in pieces come off the one with 4 ft 8 in.
# In place: 40 ft + 4 ft 8 in + 20 in = 46 ft 4 in. Primer on 30 sq ft: 0.225 gal of a 5 gal pail.
def test_metal_and_primer_by_hand() -> None:
    lap = 1 / 3
    eave = [(0, 10), (10 - lap, 20 - lap), (20 - 2 * lap, 24)]
    rake = [(0, 10), (10 - lap, 10.5)]
    strips = [
        laid_strip(
            "main.eave/edge", "edge-metal", eave, nails=74, fastener="nail",
            primer="primer", primer_area=30 * SQUARE_FOOT,
        ),
        laid_strip("main.rake/edge", "edge-metal", rake, nails=33, fastener="nail"),
        laid_strip("main.rake_2/edge", "edge-metal", rake, nails=33, fastener="nail"),
    ]  # fmt: skip
    takeoff = counted(laid_out([], strips))
    assert [item.material for item in takeoff.items] == ["edge-metal", "primer", "nail"]
    metal, primer = takeoff.item("edge-metal"), takeoff.item("primer")
    assert (metal.unit, metal.packs, metal.pack) == (Unit.LENGTH, 5, "length")
    assert metal.net == pytest.approx((46 + 1 / 3) * FOOT, rel=1e-12)
    assert metal.ordered == pytest.approx(50 * FOOT, rel=1e-12)
    assert metal.cutting is not None
    assert [len(cut) for cut in metal.cutting.patterns] == [1, 1, 1, 1, 3]
    assert metal.left == pytest.approx((3 + 2 / 3) * FOOT, rel=1e-9)
    assert metal.waste == pytest.approx(0.0, abs=1e-9)
    assert metal.pack_length == pytest.approx(10 * FOOT)
    assert primer.net == pytest.approx(0.225 * GALLON, rel=1e-12)
    assert primer.packs == 1
    assert primer.weight == pytest.approx(40 * POUND)
    assert primer.rule == "30.0 sq ft at 0.75 gal on 100.0 sq ft"
    assert takeoff.item("nail").net == 140


# Starters of 3 ft, 20 in a bundle: 62 ft are 20 whole ones and one of 2 ft: 21, two bundles.
def test_strips_in_bundles_are_counted_in_pieces() -> None:
    pieces = [*((3 * k, 3 * k + 3) for k in range(20)), (60, 62)]
    item = counted(laid_out([], [laid_strip("main.eave/starter", "starter", pieces)])).item(
        "starter"
    )
    assert (item.packs, item.unit, item.ordered) == (2, Unit.PIECE, 40)
    assert item.net == pytest.approx(20 + 2 / 3, rel=1e-12)
    assert (item.waste, item.left) == pytest.approx((0, 19 + 1 / 3), abs=1e-9)
    assert item.pack_length == pytest.approx(60 * FOOT)


# Ridge pieces of 12 in of which 5 in show, 81 in a bundle, one laid short at the end: each is one.
def test_hip_and_ridge_pieces_are_counted() -> None:
    row = [*((5 / 12 * k, 5 / 12 * k + 1) for k in range(9)), (3.75, 4.0)]
    item = counted(laid_out([], [laid_strip("main.ridge/cap", "ridge", row)])).item("ridge")
    assert (item.unit, item.net, item.ordered, item.packs) == (Unit.PIECE, 10, 81, 1)
    assert (item.waste, item.left, item.cutting) == (0.0, 71.0, None)
    assert item.pack_length == pytest.approx(33.75 * FOOT, rel=1e-12)


# One step flashing a course, 51 courses, longer ones where the wall runs askew: 51 pieces, two
# boxes of 50. Cut by length, pieces of 11 in could not come from 8 in at all.
def test_pieces_laid_by_course_are_counted() -> None:
    pieces = [(0.5 * k, 0.5 * k + 11 / 12) for k in range(51)]
    item = counted(laid_out([], [laid_strip("main.sidewall/steps", "step", pieces)])).item("step")
    assert (item.unit, item.net, item.packs, item.ordered) == (Unit.PIECE, 51, 2, 100)
    assert item.cutting is None


# The same material also along an eave, by length: then all of it is cut by length.
def test_material_also_laid_by_length_is_cut_by_length() -> None:
    strips = [
        laid_strip("main.sidewall/steps", "step", [(0, 0.5), (0.5, 1.0)]),
        laid_strip("main.eave/eave", "step", [(0, 0.5)]),
    ]
    item = counted(laid_out([], strips)).item("step")
    assert item.cutting is not None
    assert item.unit is Unit.PIECE  # they come in boxes of 50
    assert item.net == pytest.approx(1.5 * 12 / 8, rel=1e-12)


def test_units_are_counted_by_the_piece() -> None:
    strips = [laid_strip(f"stack_{k}/boot", "boot", [(0, 1)]) for k in range(3)]
    item = counted(laid_out([], strips)).item("boot")
    assert (item.unit, item.net, item.packs, item.pack) == (Unit.PIECE, 3, 3, "piece")


def test_a_deck_is_not_counted() -> None:
    layer = laid_layer("main.south/deck", "deck", [(0, 0, 8, 4)])
    assert counted(laid_out([layer])).items == ()


def test_nails_without_a_box_are_listed_and_told() -> None:
    layer = laid_layer(
        "main.south/underlayment", "felt", [(0, 0, 8, 3)], nails=12, fastener="loose-nail"
    )
    takeoff = counted(laid_out([layer]))
    item = takeoff.item("loose-nail")
    assert (item.net, item.ordered, item.packs, item.pack) == (12, 12, 0, "")
    assert [(f.code, f.where) for f in takeoff.findings] == [
        ("R3D-TAKEOFF-PACK", "materials[loose-nail]")
    ]


def test_liquid_without_rate_is_told() -> None:
    catalog = replaced("cement", thickness=0.0)
    takeoff = counted(laid_out([sheet_layer()]), catalog)
    assert [(f.code, f.severity) for f in takeoff.findings] == [
        ("R3D-TAKEOFF-RATE", Severity.CAUTION)
    ]
    assert takeoff.item("cement").packs == 0


# 160 different lengths between a fifth and a third of a roll: too many patterns for the program,
# and no bound by sums meets what first fit finds.
def test_a_roll_that_a_better_cutting_may_save_is_told() -> None:
    rng = np.random.default_rng(7)
    lengths = rng.uniform(6.0, 9.0, 160)
    boxes = [(0, 3 * k, float(length), 3 * k + 3) for k, length in enumerate(lengths)]
    takeoff = counted(laid_out([laid_layer("main.south/underlayment", "felt", boxes)]))
    cutting = takeoff.item("felt").cutting
    assert cutting is not None
    assert not cutting.proven
    (finding,) = takeoff.findings
    assert finding.code == "R3D-TAKEOFF-CUTTING"
    assert finding.message == (
        f"felt: cut from {len(cutting.patterns)} whole ones; whether {cutting.bound} would do is"
        " not proven"
    )


# 160 cut shingles and 30 whole ones in 27s: first fit takes a few more than the bound, but no
# fewer bundles would do.
def test_a_gap_within_the_last_bundle_is_not_told() -> None:
    rng = np.random.default_rng(7)
    lengths = rng.uniform(0.6, 0.9, 160)
    boxes = [(0, 0.4 * k, float(length), 0.4 * k + 1) for k, length in enumerate(lengths)]
    boxes += [(0, 0, 3, 1)] * 30
    takeoff = counted(laid_out([laid_layer("main.south/shingles", "shingle", boxes)]))
    item = takeoff.item("shingle")
    assert item.cutting is not None
    assert not item.cutting.proven
    assert math.ceil((30 + item.cutting.bound) / 27) == item.packs == 3
    assert takeoff.findings == ()


def test_piece_longer_than_its_roll_is_refused_by_name() -> None:
    layer = laid_layer("main.south/underlayment", "felt", [(0, 0, 31, 3)])
    with pytest.raises(LayoutError, match=r"materials\[felt\]: a piece of length 31' 0\" .*30' 0"):
        counted(laid_out([layer]))


def test_shingle_longer_than_a_shingle_is_refused() -> None:
    layer = laid_layer("main.south/shingles", "shingle", [(0, 0, 3.5, 1)])
    with pytest.raises(LayoutError, match=r"materials\[shingle\]: a piece of length 3' 6\""):
        counted(laid_out([layer]))


def test_material_that_the_catalog_has_not_is_our_bug() -> None:
    layer = laid_layer("main.south/underlayment", "velvet", [(0, 0, 8, 3)])
    with pytest.raises(InvariantError, match=r"materials\[velvet\]"):
        counted(laid_out([layer]))


def test_full_packs_are_not_rounded_up_by_rounding() -> None:
    # 2,000 sq ft at 0.75 gal on 100 sq ft are 15 gal: three pails, whatever the last bit says.
    areas = [2000 / 3 * SQUARE_FOOT] * 3
    strips = [
        laid_strip(f"main.eave_{k}/edge", "edge-metal", [(0, 9)], primer="primer", primer_area=a)
        for k, a in enumerate(areas)
    ]
    assert counted(laid_out([], strips)).item("primer").packs == 3


@pytest.mark.parametrize("ice", [True, False])
def test_assumptions_say_what_the_site_asks_for(ice: bool) -> None:  # noqa: FBT001
    spec = replace(
        hand_spec(),
        site=SiteSpec(ice_barrier=ice, code="IRC 2021"),
        openings=(
            OpeningSpec(
                id="stack", kind=OpeningKind.PIPE, at=(0, 0), size=(0.1, 0.1), turn=0, height=0.5
            ),
        ),
    )
    said = " ".join(count_takeoff(laid_out([sheet_layer()]), hand_catalog(), spec).assumptions)
    assert ("as IRC 2021 asks" in said) == ice
    assert ("write ice_barrier = true under [site]" in said) != ice
    assert "1 opening" in said
    assert ("along the eaves: the model" in said) != ice
    assert "The deck is taken as sound and is not counted." in said


def test_rules_are_written_in_the_units_of_the_model() -> None:
    spec = replace(hand_spec(), units=Units.METRIC)
    item = count_takeoff(laid_out([sheet_layer()]), hand_catalog(), spec).item("felt")
    assert "rolls of 9.144 m by 0.914 m" in item.rule


def test_no_layers_make_an_empty_takeoff() -> None:
    takeoff = counted(laid_out([]))
    assert (takeoff.items, takeoff.findings) == ((), ())


def test_every_net_is_the_sum_of_its_uses() -> None:
    takeoff = counted(
        laid_out(
            [sheet_layer(), sheet_layer(plane="main.north")],
            [
                laid_strip(
                    "main.eave/starter", "starter", [(0, 3), (3, 5)], nails=8, fastener="nail"
                )
            ],
        )
    )

    def summed(item: Item) -> float:
        return math.fsum(use.net for use in item.used)

    assert [item.net for item in takeoff.items] == [summed(item) for item in takeoff.items]
    assert takeoff.item("nail").net == 134 + 134 + 8


def replaced(material_id: str, **values: object) -> Catalog:
    """Give the catalog with values of one material replaced."""
    catalog = hand_catalog()
    materials = tuple(
        replace(each, **values) if each.id == material_id else each  # type: ignore[arg-type]
        for each in catalog.materials
    )
    return replace(catalog, materials=materials)


def working(*layers: LaidLayer, strips: tuple[LaidStrip, ...] = ()) -> list[str]:
    """Materials in the order of the list, on an assembly of three layers and four strips."""
    catalog = hand_catalog()
    (shingles,) = catalog.assemblies
    made = replace(
        shingles,
        layers=tuple(
            Layer(material=name, role=name, fastening="", source="by hand")
            for name in ("deck", "felt", "shingle")
        ),
        strips=tuple(
            StripRule(id=name, material=name, at=(Border.EAVE,), source="by hand", before=before)
            for name, before in (
                ("ridge", ""), ("starter", "shingle"), ("edge-metal", "felt"), ("step", "shingle"),
            )
        ),
    )  # fmt: skip
    return [
        item.material
        for item in counted(laid_out(layers, strips), replace(catalog, assemblies=(made,))).items
    ]


# Edge metal before the felt, starter then steps before the shingles, ridge last; each with its
# nails and liquids behind it.
def test_items_stand_in_the_order_of_work() -> None:
    box = [(0.0, 0.0, 3.0, 1.0)]
    felt = replace(laid_layer("main.south/felt", "felt", box), number=2)
    top = laid_layer("main.south/shingle", "shingle", box, nails=4, fastener="nail")
    strips = [laid_strip(f"e/{name}", name, [(0, 0.5)]) for name in ("ridge", "step", "starter")]
    edge = laid_strip("e/edge-metal", "edge-metal", [(0, 1)], primer="primer", primer_area=1.0)
    assert working(replace(top, number=3), felt, strips=(*strips, edge)) == [
        "edge-metal", "primer", "felt", "starter", "step", "shingle", "nail", "ridge",
    ]  # fmt: skip


# Two courses of 24 ft by 3 ft, the second 2 1/2 ft above the first: 24 ft by 1/2 ft of lap, 12 sq
# ft. Without the ends 1/8 in of cement on it: 12 x 144 x 0.125 / 231 = 0.935 gal.
@pytest.mark.parametrize("direction", Direction)
@pytest.mark.parametrize(("bedded", "gallons"), [(True, 12 * 144 * 0.125 / 231), (False, 0.0)])
def test_a_bed_may_go_under_side_laps_too(
    *, direction: Direction, bedded: bool, gallons: float
) -> None:
    boxes = [(0.0, 0.0, 24.0, 3.0), (0.0, 2.5, 24.0, 5.5)]
    if direction is Direction.ALONG:
        boxes = [(b, a, d, c) for a, b, c, d in boxes]
    layer = replace(
        laid_layer("main.south/cap", "felt", boxes, direction=direction, bed="cement"),
        courses=tuple(
            Course(number=k, low=low * FOOT, high=(low + 3) * FOOT)
            for k, low in ((1, 0.0), (2, 2.5))
        ),
    )
    catalog = hand_catalog()
    (shingles,) = catalog.assemblies
    cap = Layer(
        material="felt", role="cap", fastening="", source="", bed="cement", bed_sides=bedded
    )
    takeoff = counted(
        laid_out([layer]), replace(catalog, assemblies=(replace(shingles, layers=(cap,)),))
    )
    found = [item.net for item in takeoff.items if item.material == "cement"]
    assert found == pytest.approx([gallons * GALLON] if gallons else [], rel=1e-12)


def said_of(spec: RoofSpec | None = None, catalog: Catalog | None = None) -> str:
    layout = laid_out([sheet_layer()])  # its plane falls 6 in 12
    return " ".join(
        count_takeoff(layout, catalog or hand_catalog(), spec or hand_spec()).assumptions
    )


def with_assembly(**values: object) -> Catalog:
    catalog = hand_catalog()
    (shingles,) = catalog.assemblies
    return replace(catalog, assemblies=(replace(shingles, **values),))  # type: ignore[arg-type]


@pytest.mark.parametrize(("limit", "told"), [(0.4, True), (0.5, False), (math.inf, False)])
def test_special_attachment_is_told_where_a_plane_is_steep_enough(
    *, limit: float, told: bool
) -> None:
    words = "the special attachment above 4.8:12 is not counted"
    assert (words in said_of(catalog=with_assembly(special_attachment_above=limit))) is told


def test_what_an_assembly_leaves_out_is_told() -> None:
    told = said_of(catalog=with_assembly(not_counted="adhesive at walls"))
    assert "Shingles: not counted: adhesive at walls." in told
    assert "not counted:" not in said_of()
    assert "Sealant is not counted" in said_of()


@pytest.mark.parametrize(("celsius", "told"), [(5.0, True), (10.0, False), (None, False)])
def test_the_primer_of_a_cold_day_is_told(*, celsius: float | None, told: bool) -> None:
    cold = WeatherBand(
        least=-math.inf, most=10.0, method=Method.ROLLED, caution="", source="", primed=True
    )
    warm = replace(cold, least=10.0, most=math.inf, primed=False)
    catalog = hand_catalog()
    materials = tuple(
        replace(one, weather=(cold, warm)) if one.id == "felt" else one for one in catalog.materials
    )
    spec = replace(hand_spec(), site=SiteSpec(temperature=celsius))
    words = "that primer is not counted (felt)"
    assert (words in said_of(spec, replace(catalog, materials=materials))) is told


@pytest.mark.parametrize("kind", OpeningKind)
def test_a_kit_is_told_of_skylights_alone(kind: OpeningKind) -> None:
    opening = OpeningSpec(id="o", kind=kind, at=(0.0, 0.0), size=(1.0, 1.0), turn=0.0, height=1.0)
    told = said_of(replace(hand_spec(), openings=(opening,)))
    assert ("a kit" in told) is (kind is OpeningKind.SKYLIGHT)
