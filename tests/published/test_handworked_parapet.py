"""A deck of 20 by 10 ft behind parapets, its walls taken off on paper first. Inches all along.

Sizes and spacings are those of the catalog: flashing up and over, its laps and its 4 in on the
field of UFGS-07600 and VA 07 52 16, 2 in down outside of a Canadian provincial manual; lengths of
metal, nails and joint plates common practice, no source.

The walls. Outside 256 by 136, 8 thick, so 240 by 120 inside. The roof falls 1/4 in 12: 2 1/2 in
120, so a side is 120 x sqrt(1 + 1/48^2) = 120.026 along the slope. The wall is 16 high at the high
side, 18 1/2 at the low side and at the low end of both others.

Cant, pieces of 48. 240: five. 120.026: two and 24.026. Two of 24.026 do not come out of one of 48:
5 + 5 + 3 + 3 = 16.

Flashing ply, cut across a roll of 39 3/8, lap 3. Girth: 2 down outside, over 8, down the wall, 3
for the cant and 4 on the field: 35 1/2 at the low side and the ends, 33 at the high side. A first
piece of 20, then 36.375 more with each.
  240: 220 / 36.375 = 6.05, seven more, eight in all, 240 + 7 x 3 = 261 of roll width. The last
  would be 4 3/4 long; it is made 12, the one before it shorter.
  120.026: 100.026 / 36.375 = 2.75, three more, four in all, 129.026.

Flashing cap, the same with whole first pieces, 2 more on the field: 37 1/2 and 35.
  240: 200.625 / 36.375 = 5.52, six more, seven in all, 258. 120.026: 80.651 / 36.375 = 2.2, three
  more, four in all, 129.026.
  No joint of it lies over one of the ply: 39.375 on from the start, and then every 36.375, against
  20 and every 36.375: 19 3/8 and 17 apart, but at the far ends, where last pieces are made longer.

Capped nails at the head of each, 8 apart, the first 4 from the end: 232 is 29 spaces, 30 nails;
112.026 is a hair more than 14, 16 nails. 30 + 30 + 16 + 16 = 92, twice 184.

Coping, lengths of 120, joints without lap, along the outside: 256 is 120, 120 and 16; 136 is 120
and 16. Six whole ones, and four times 16 out of a seventh. 2 x 256 + 2 x 136 = 784. It is 8 wide
over the wall, 4 down inside, 3 outside, 1 for hems and fall: 16. Its screws, 24 apart, 12 from
the ends, inside: 232 is 9.67 spaces, 11 screws; 112 is 4.67, 6 screws: 34.

Hook strip, the same lengths: 7. Nails 6 apart, 1 from the ends: 254 is 42.3 spaces, 44; 134 is
22.3, 24; 136 in all.

Joint plates: two joints on each long wall, one on each short one, and the four corners: 10. Each
is sealed across its 15 in two bands of 3/8, a quarter thick: 10 x 15 x 3/4 x 1/4 = 28.1 cu in, of
tubes that hold 0.3 l, 18.3 cu in: two.

No stop on the flashing: no wall is above 24.

Primer, 0.75 gal on 100 sq ft (UFGS-07550, 3.2.4): under the ply 261 x (35.5 + 33) + 2 x 129.026 x
35.5 = 27,039; both faces of 30 by 30 of lead, 1,800, and of 20 by 24 of a scupper box, 960: 29,799
sq in, 206.9 sq ft, 1.552 gal.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from roof3d.layout.model import LaidStrip
from roof3d.project import Project, build
from roof3d.spec.model import OpeningKind, OpeningSpec
from roof3d.takeoff.model import Item
from tests.model_text import FOOT, INCH, Block
from tests.parapet_models import with_parapets

LOW, HIGH, ENDS = "deck.headwall", "deck.headwall_2", ("deck.sidewall", "deck.sidewall_2")


@pytest.fixture(scope="module")
def deck() -> Project:
    block = Block(id="deck", form="flat", length=256 / 12, width=136 / 12, eave=11, pitch=1 / 48)
    spec = with_parapets((block,), height=16 * INCH, thickness=8 * INCH, unit="ft")
    drain = OpeningSpec(
        id="drain",
        kind=OpeningKind.DRAIN,
        at=(10 * FOOT, 2 * FOOT),
        size=(8 * INCH, 8 * INCH),
        turn=0.0,
        height=4 * INCH,
    )
    scupper = replace(
        drain, id="scupper", kind=OpeningKind.SCUPPER, at=(4 * FOOT, 0.0),
        size=(24 * INCH, 6.5 * INCH), overflow=True, sill=2 * INCH,
    )  # fmt: skip
    return build(replace(spec, openings=(drain, scupper)))


def strip(deck: Project, edge: str, rule: str) -> LaidStrip:
    return next(one for one in deck.layout.strips if one.id == f"{edge}/{rule}")


def sizes(laid: LaidStrip) -> list[float]:
    return [round(float(x), 3) for x in (laid.pieces[:, 1] - laid.pieces[:, 0]) / INCH]


def item(deck: Project, material: str) -> Item:
    return next(one for one in deck.takeoff.items if one.material == material)


def test_the_walls_are_as_high_and_long_as_on_paper(deck: Project) -> None:
    heights = {e.id: [h / INCH for h in e.wall_heights or ()] for e in deck.roof.edges}
    assert heights[LOW] == pytest.approx([18.5, 18.5], abs=1e-3)
    assert heights[HIGH] == pytest.approx([16.0, 16.0], abs=1e-3)
    assert heights[ENDS[0]] == pytest.approx([18.5, 16.0], abs=1e-3)
    assert deck.roof.edge(ENDS[0]).length / INCH == pytest.approx(120.026, abs=1e-3)


def test_cant(deck: Project) -> None:
    assert sizes(strip(deck, LOW, "cant")) == [48.0] * 5
    assert sizes(strip(deck, ENDS[0], "cant"))[-1] == pytest.approx(24.026, abs=2e-3)
    assert item(deck, "cant-strip").ordered == pytest.approx(16 * 48 * INCH)


@pytest.mark.parametrize(
    ("rule", "edge", "girth", "pieces", "width"),
    [
        ("parapet-ply", LOW, 35.5, 8, 261.0),
        ("parapet-ply", HIGH, 33.0, 8, 261.0),
        ("parapet-ply", ENDS[0], 35.5, 4, 129.026),
        ("parapet-ply", ENDS[1], 35.5, 4, 129.026),
        ("parapet-cap", LOW, 37.5, 7, 258.0),
        ("parapet-cap", HIGH, 35.0, 7, 258.0),
        ("parapet-cap", ENDS[0], 37.5, 4, 129.026),
        ("parapet-cap", ENDS[1], 37.5, 4, 129.026),
    ],
)
def test_flashing_is_cut_across_the_roll(
    deck: Project, rule: str, edge: str, girth: float, pieces: int, width: float
) -> None:
    laid = strip(deck, edge, rule)
    assert laid.crosswise
    assert laid.width / INCH == pytest.approx(girth, abs=1e-3)
    assert len(laid.pieces) == pieces
    assert sum(sizes(laid)) == pytest.approx(width, abs=0.01)
    assert min(sizes(laid)) >= 12.0
    assert max(sizes(laid)) <= 39.375


def test_joints_of_the_flashing_stay_apart(deck: Project) -> None:
    ply, cap = (strip(deck, LOW, rule).pieces / INCH for rule in ("parapet-ply", "parapet-cap"))
    near = [abs(a - b) for a in ply[:-2, 1] for b in cap[:-2, 1]]
    assert min(near) == pytest.approx(17.0, abs=1e-3)


def test_nails_of_the_flashing(deck: Project) -> None:
    counted = [
        len(one.nails) for one in deck.layout.strips if one.rule in {"parapet-ply", "parapet-cap"}
    ]
    assert sorted(counted) == [16] * 4 + [30] * 4


@pytest.mark.parametrize("rule", ["coping", "hook-strip"])
def test_coping_and_its_hook_go_along_the_outside(deck: Project, rule: str) -> None:
    assert sizes(strip(deck, LOW, rule)) == [120.0, 120.0, 16.0]
    assert sizes(strip(deck, ENDS[0], rule)) == [120.0, 16.0]
    on_list = item(deck, strip(deck, LOW, rule).material)
    assert on_list.net / INCH == pytest.approx(784.0, abs=0.01)
    assert on_list.ordered / INCH == pytest.approx(7 * 120.0)


def test_screws_and_nails_of_the_metal(deck: Project) -> None:
    assert item(deck, "washer-screw").net == 34
    hooked = [len(one.nails) for one in deck.layout.strips if one.rule == "hook-strip"]
    assert sorted(hooked) == [24, 24, 44, 44]


def test_joint_plates_and_their_sealant(deck: Project) -> None:
    plates = {edge: len(strip(deck, edge, "coping-plate").pieces) for edge in (LOW, HIGH, *ENDS)}
    # Each wall has its joints and one of its two corners.
    assert plates == {LOW: 3, HIGH: 3, ENDS[0]: 2, ENDS[1]: 2}
    assert item(deck, "coping-plate").ordered == 10
    sealant = item(deck, "joint-sealant")
    assert sealant.net / INCH**3 == pytest.approx(28.125, rel=1e-6)
    assert sealant.ordered == pytest.approx(2 * 0.3e-3)


def test_low_walls_have_no_stop(deck: Project) -> None:
    assert not [one for one in deck.layout.strips if one.rule == "stop-bar"]


def test_drain_and_scupper_are_on_the_list(deck: Project) -> None:
    assert [item(deck, name).ordered for name in ("drain-lead", "drain-ring", "scupper-box")] == [
        1, 1, 1,
    ]  # fmt: skip
    patch = strip(deck, "drain", "drain-ply")
    assert sizes(patch) == [38.0]
    assert patch.width / INCH == pytest.approx(38.0)


def test_primer(deck: Project) -> None:
    gallon = 231.0 * INCH**3
    assert item(deck, "primer").net / gallon == pytest.approx(1.552, abs=1e-3)


def test_no_flashing_of_other_walls_is_laid(deck: Project) -> None:
    rules = {one.rule for one in deck.layout.strips}
    assert not rules & {"flashing-ply", "flashing-cap", "counterflashing", "termination-bar"}
