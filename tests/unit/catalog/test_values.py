"""The catalog's values against their sources."""

from __future__ import annotations

import math

import pytest

from roof3d.catalog.laying import Border, Layer, Reach, StripRule
from roof3d.catalog.load import load_catalog
from roof3d.catalog.material import MaterialForm, Method
from roof3d.catalog.model import Catalog

INCH = 0.0254
FOOT = 12 * INCH
SQUARE = 9.290304
GALLON = 0.003785411784
MEMBRANES = (
    "self-adhered-membrane",
    "self-adhered-two-ply",
    "heat-applied-cap",
    "single-ply",
    "mineral-roll",
)
SHINGLES = ("laminated-shingle", "three-tab")


@pytest.fixture
def catalog() -> Catalog:
    return load_catalog()


def strip(catalog: Catalog, assembly: str, name: str) -> StripRule:
    (found,) = [one for one in catalog.assembly(assembly).strips if one.id == name]
    return found


@pytest.mark.parametrize(
    ("assembly", "limit", "slope"),
    [
        # IRC R905.11.1: modified bitumen, design slope not less than 1/4:12
        ("self-adhered-membrane", "least_slope", 0.25 / 12),
        ("self-adhered-two-ply", "least_slope", 0.25 / 12),
        ("heat-applied-cap", "least_slope", 0.25 / 12),
        # IBC 1507: single-ply, 1/4:12
        ("single-ply", "least_slope", 0.25 / 12),
        # IRC R905.5.2: mineral-surfaced roll roofing, 1:12
        ("mineral-roll", "least_slope", 1 / 12),
        # IRC R905.2.2: asphalt shingles on 2:12 and steeper
        ("laminated-shingle", "least_slope", 2 / 12),
        ("three-tab", "least_slope", 2 / 12),
        # IBC 1507.1.1: double underlayment from 2:12 to below 4:12
        ("laminated-shingle", "double_underlayment_below", 4 / 12),
        ("three-tab", "double_underlayment_below", 4 / 12),
        # IRC R905.2.6: special attachment above 21:12
        ("laminated-shingle", "special_attachment_above", 21 / 12),
        ("three-tab", "special_attachment_above", 21 / 12),
    ],
)
def test_slope_limits_are_the_published_ones(
    catalog: Catalog, assembly: str, limit: str, slope: float
) -> None:
    assert getattr(catalog.assembly(assembly), limit) == pytest.approx(slope, abs=1e-15)


@pytest.mark.parametrize("assembly", MEMBRANES)
def test_membrane_never_takes_shingle_rules(catalog: Catalog, assembly: str) -> None:
    membrane = catalog.assembly(assembly)
    assert (
        membrane.most_slope,
        membrane.double_underlayment_below,
        membrane.special_attachment_above,
    ) == (math.inf, 0.0, math.inf)


@pytest.mark.parametrize(
    ("material", "value", "metres", "source"),
    [
        # UFGS-07550 3.3.6: side lap at least 3 in, end lap at least 6 in, ends 36 in apart
        ("self-adhered-ply", "side_lap", 3 * INCH, "UFGS-07550"),
        ("self-adhered-ply", "end_lap", 6 * INCH, "UFGS-07550"),
        ("self-adhered-ply", "stagger", 36 * INCH, "UFGS-07550"),
        ("granule-cap", "side_lap", 3 * INCH, "UFGS-07550"),
        ("granule-cap", "end_lap", 6 * INCH, "UFGS-07550"),
        ("granule-cap", "stagger", 36 * INCH, "UFGS-07550"),
        ("heat-applied-cap-sheet", "side_lap", 3 * INCH, "UFGS-07550"),
        ("heat-applied-cap-sheet", "end_lap", 6 * INCH, "UFGS-07550"),
        ("heat-applied-cap-sheet", "stagger", 36 * INCH, "UFGS-07550"),
        # UFGS-07550: between plies, side laps 12 in and end laps 36 in apart
        ("self-adhered-ply", "side_offset", 12 * INCH, "UFGS-07550"),
        ("self-adhered-ply", "end_offset", 36 * INCH, "UFGS-07550"),
        ("granule-cap", "side_offset", 12 * INCH, "UFGS-07550"),
        ("granule-cap", "end_offset", 36 * INCH, "UFGS-07550"),
        ("heat-applied-cap-sheet", "side_offset", 12 * INCH, "UFGS-07550"),
        ("heat-applied-cap-sheet", "end_offset", 36 * INCH, "UFGS-07550"),
        # UFGS-07511: base sheet side lap 2 in, end lap 6 in, ends 36 in apart
        ("base-sheet", "side_lap", 2 * INCH, "UFGS-07511"),
        ("base-sheet", "end_lap", 6 * INCH, "UFGS-07511"),
        ("base-sheet", "stagger", 36 * INCH, "UFGS-07511"),
        # NAVEDTRA 14044: one layer, 2 in side lap, 4 in end lap, ends 6 ft apart
        ("felt-underlayment", "side_lap", 2 * INCH, "NAVEDTRA 14044"),
        ("felt-underlayment", "end_lap", 4 * INCH, "NAVEDTRA 14044"),
        ("felt-underlayment", "stagger", 6 * FOOT, "NAVEDTRA 14044"),
        # IBC 1507.1.1 exception 2: 36 in sheets lapped 19 in, end laps 4 in, 6 ft apart
        ("felt-underlayment-double", "width", 36 * INCH, "1507.1.1"),
        ("felt-underlayment-double", "side_lap", 19 * INCH, "1507.1.1"),
        ("felt-underlayment-double", "end_lap", 4 * INCH, "1507.1.1"),
        ("felt-underlayment-double", "stagger", 6 * FOOT, "1507.1.1"),
        # NAVEDTRA 14044: mineral roll roofing, 19 in for double coverage
        ("mineral-roll", "side_lap", 19 * INCH, "NAVEDTRA 14044"),
        # IRC R905.2.8.5: drip edge laps 2 in and reaches 2 in onto the deck
        ("drip-edge", "end_lap", 2 * INCH, "R905.2.8.5"),
        ("drip-edge", "width", 2 * INCH, "R905.2.8.5"),
        # IRC R903.2.1: flashing metal at least 0.019 in
        ("drip-edge", "thickness", 0.019 * INCH, "R903.2.1"),
        # IRC R905.2.8.2: open valley metal at least 24 in wide
        ("valley-metal", "width", 24 * INCH, "R905.2.8.2"),
        # IRC R905.2.8.3: step flashing at least 4 in wide; a public guide specification: 2 in
        # head lap, apron 4 in over the shingles
        ("step-flashing", "width", 4 * INCH, "R905.2.8.3"),
        ("step-flashing", "end_lap", 2 * INCH, "guide specification"),
        ("apron-flashing", "width", 4 * INCH, "guide specification"),
        # IRC R905.2.5: 3/8 in head
        ("roofing-nail", "width", 0.375 * INCH, "R905.2.5"),
        # renovation handbook: 12 x 36 in strips at 5 in; metric strips at 5 5/8 in
        ("three-tab-shingle", "width", 12 * INCH, "renovation handbook"),
        ("three-tab-shingle", "length", 36 * INCH, "renovation handbook"),
        ("three-tab-shingle", "exposure", 5 * INCH, "renovation handbook"),
        ("laminated-shingle", "exposure", 5.625 * INCH, "renovation handbook"),
        # UFGS-07550 3.2.4: 0.75 gal on 100 sq ft; the gallon is 231 cubic inches
        ("primer", "rate", 0.75 * GALLON / SQUARE, "UFGS-07550"),
    ],
)
def test_material_values_are_the_published_ones(
    catalog: Catalog, material: str, value: str, metres: float, source: str
) -> None:
    found = catalog.material(material)
    assert (getattr(found, value), source in found.source_of(value)) == (
        pytest.approx(metres, abs=1e-12),
        True,
    )


@pytest.mark.parametrize(
    ("material", "count"),
    [
        # renovation handbook: 65 metric strips and 80 strips of 36 in a square; shingles a
        # square = 14,400 / (width x exposure), both in inches, Building Trades Pocketbook
        ("laminated-shingle", 65),
        ("three-tab-shingle", 80),
    ],
)
def test_shingles_a_square(catalog: Catalog, material: str, count: int) -> None:
    shingle = catalog.material(material)
    assert round(SQUARE / (shingle.length * shingle.exposure)) == count


def test_nails_a_square_of_strips(catalog: Catalog) -> None:
    # IRC R905.2.6: four a strip, six in high wind; 80 strips a square make 320 and 480
    (layer,) = [one for one in catalog.assembly("three-tab").layers if one.role == "shingles"]
    nailing = layer.nailing
    assert nailing is not None
    assert (80 * nailing.per_piece, 80 * nailing.per_piece_wind) == (320, 480)
    assert "R905.2.6" in nailing.source


@pytest.mark.parametrize(
    ("material", "strips"), [("three-tab-shingle", 27), ("laminated-shingle", 22)]
)
def test_three_bundles_are_the_least_whole_strips_for_a_square(
    catalog: Catalog, material: str, strips: int
) -> None:
    # NAVEDTRA 14044: a bundle is one third of a square
    shingle = catalog.material(material)
    shows = shingle.length * shingle.exposure
    assert (shingle.pack, shingle.pack_count) == ("bundle", strips)
    assert 3 * (strips - 1) * shows < SQUARE <= 3 * strips * shows


def test_bundle_of_81_strips_covers_a_little_more_than_a_square(catalog: Catalog) -> None:
    # 81 strips at 80 a square: 1.0125 squares
    shingle = catalog.material("three-tab-shingle")
    covered = 3 * shingle.pack_count * shingle.length * shingle.exposure / SQUARE
    assert covered == pytest.approx(1.0125, abs=1e-12)


def test_bundle_of_27_strips_gives_33_ft_9_in_of_hip(catalog: Catalog) -> None:
    # 81 pieces at 5 in
    piece = catalog.material("hip-ridge-three-tab")
    assert piece.pack_count * piece.exposure == pytest.approx(33.75 * FOOT, abs=1e-9)


@pytest.mark.parametrize("material", ["laminated-shingle", "three-tab-shingle"])
def test_shingles_keep_a_head_lap_of_two_inches(catalog: Catalog, material: str) -> None:
    shingle = catalog.material(material)
    assert shingle.width - 2 * shingle.exposure == pytest.approx(2 * INCH, abs=1e-12)


@pytest.mark.parametrize("material", ["felt-underlayment-double", "mineral-roll"])
def test_half_lapped_sheets_show_17_inches_and_lie_double(catalog: Catalog, material: str) -> None:
    # IBC 1507.1.1 exception 2; NAVEDTRA 14044: 36 in sheets, 19 in lapped, 17 in exposed
    sheet = catalog.material(material)
    assert sheet.width - sheet.side_lap == pytest.approx(17 * INCH, abs=1e-12)
    assert sheet.side_lap >= sheet.width / 2


def test_roll_of_felt_covers_four_squares(catalog: Catalog) -> None:
    # trade field guide: No. 15 felt, 144 ft, 4 squares single coverage, 2 double
    single = catalog.material("felt-underlayment")
    double = catalog.material("felt-underlayment-double")
    covered = [(felt.width - felt.side_lap) * felt.length / SQUARE for felt in (single, double)]
    assert [math.floor(squares) for squares in covered] == [4, 2]


def test_no_metal_is_thinner_than_flashing_must_be(catalog: Catalog) -> None:
    # IRC R903.2.1: at least 0.019 in
    metals = [one for one in catalog.materials if one.form is MaterialForm.METAL]
    assert len(metals) == 12
    assert [one.id for one in metals if one.thickness < 0.019 * INCH] == []


def test_layers_stand_in_the_order_of_work(catalog: Catalog) -> None:
    shingles = ["deck", "ice barrier", "underlayment", "starter", "shingles"]
    assert {
        assembly.id: [layer.role for layer in assembly.layers] for assembly in catalog.assemblies
    } == {
        "self-adhered-membrane": ["deck", "base", "ply", "cap"],
        "self-adhered-two-ply": ["deck", "ply", "cap"],
        "heat-applied-cap": ["deck", "base", "cap"],
        "single-ply": ["deck", "cap"],
        "mineral-roll": ["deck", "cap"],
        "laminated-shingle": shingles,
        "three-tab": shingles,
    }


def test_what_is_chosen_by_rule_stands_first_of_its_kind(catalog: Catalog) -> None:
    first = {one.kind: one.id for one in reversed(catalog.assemblies)}
    assert first == {"membrane": "self-adhered-membrane", "shingle": "laminated-shingle"}


@pytest.mark.parametrize(
    ("assembly", "single"),
    [("laminated-shingle", "synthetic-underlayment"), ("three-tab", "felt-underlayment")],
)
@pytest.mark.parametrize(
    ("slope", "double"),
    [
        (2 / 12, True),
        (4 / 12 - 1e-3, True),
        (math.nextafter(4 / 12, 0.0), False),
        (4 / 12, False),
        (1.0, False),
    ],
)
def test_underlayment_is_doubled_below_four_in_twelve(
    catalog: Catalog, assembly: str, single: str, slope: float, *, double: bool
) -> None:
    layers = catalog.assembly(assembly).layers_at(slope)
    found = {layer.role: layer.material for layer in layers}
    assert found["underlayment"] == ("felt-underlayment-double" if double else single)
    assert [layer.role for layer in layers] == [
        layer.role for layer in catalog.assembly(assembly).layers
    ]


@pytest.mark.parametrize("assembly", MEMBRANES)
def test_membrane_has_the_same_layers_at_every_slope(catalog: Catalog, assembly: str) -> None:
    membrane = catalog.assembly(assembly)
    assert [membrane.layers_at(slope) for slope in (0.0, 1 / 12, 1.0)] == [membrane.layers] * 3


@pytest.mark.parametrize("assembly", SHINGLES)
def test_ice_barrier_is_laid_where_asked_for_and_the_underlayment_over_its_head(
    catalog: Catalog, assembly: str
) -> None:
    layers = {layer.role: layer for layer in catalog.assembly(assembly).layers}
    assert [role for role, layer in layers.items() if layer.ice_only] == ["ice barrier"]
    assert layers["underlayment"].after_ice == pytest.approx(6 * INCH, abs=1e-12)
    assert "R905.1.2" in layers["ice barrier"].source


# What follows has no source but common practice, unless another stands beside it.


def test_every_layer_of_a_joint_covers_the_head_of_the_one_below_the_membrane(
    catalog: Catalog,
) -> None:
    # At 6:12 the cap rises 18 in, the ply 3 in more; the base ends at the break, under a strip of
    # its own. The ice barrier starts 6 in below the cap's head, the felt 6 in below the head of a
    # 24 in barrier.
    membrane = {one.role: one for one in catalog.assembly("self-adhered-membrane").layers}
    rise, gap = 18 * INCH, 4 * INCH
    ups = {
        role: membrane[role].reach_at(Border.JOINT_LOWER, rise=rise, gap=gap) / INCH
        for role in ("base", "ply", "cap")
    }
    assert ups == pytest.approx({"base": 0, "ply": 21, "cap": 18}, abs=1e-9)
    barrier = strip(catalog, "laminated-shingle", "joint-ice-barrier")
    low = barrier.start.at(rise, gap) / INCH
    assert (low, low + barrier.width / INCH) == pytest.approx((12, 36), abs=1e-9)
    steep = {one.role: one for one in catalog.assembly("laminated-shingle").layers}
    starts = {
        role: -steep[role].reach_at(Border.JOINT_UPPER, rise=rise, gap=gap) / INCH
        for role in ("ice barrier", "underlayment", "shingles")
    }
    assert starts == pytest.approx({"ice barrier": 12, "underlayment": 30, "shingles": 4}, abs=1e-9)
    assert strip(catalog, "laminated-shingle", "joint-starter").start == Reach(gap=1)


def test_joint_base_reaches_18_inches_up_and_6_down(catalog: Catalog) -> None:
    found = strip(catalog, "self-adhered-membrane", "joint-base")
    up = -found.start.at(0.0, 0.0)
    assert (up / INCH, (found.width - up) / INCH) == pytest.approx((18, 6), abs=1e-9)
    # half of a roll would not do
    assert catalog.material(found.material).width / 2 < found.width


def test_base_nails_and_laps_are_those_of_practice(catalog: Catalog) -> None:
    laps = {}
    for name in ("self-adhered-membrane", "heat-applied-cap"):
        (base,) = [one for one in catalog.assembly(name).layers if one.role == "base"]
        nailing = base.nailing
        assert nailing is not None
        laps[name] = (base.side_lap or catalog.material("base-sheet").side_lap) / INCH
        assert (
            nailing.lap_spacing / INCH,
            nailing.lap_start / INCH,
            nailing.field_spacing / INCH,
            nailing.field_rows,
            base.first,
        ) == pytest.approx((9, 9, 18, 2, 2 / 3), abs=1e-9)
    assert laps == pytest.approx({"self-adhered-membrane": 2, "heat-applied-cap": 4}, abs=1e-9)


@pytest.mark.parametrize("assembly", MEMBRANES)
def test_edge_metal_is_nailed_in_two_rows_six_inches_apart(catalog: Catalog, assembly: str) -> None:
    found = strip(catalog, assembly, "edge-metal")
    nailing = found.nailing
    assert nailing is not None
    assert {Border.EAVE, Border.RAKE, Border.HIGH_EDGE} <= set(found.at)
    flange = catalog.material(found.material).width
    assert (
        nailing.strip_rows,
        nailing.lap_spacing / INCH,
        nailing.strip_first / INCH,
        flange / INCH,
    ) == pytest.approx((2, 6, 1, 4), abs=1e-9)
    bituminous = assembly != "single-ply"
    bed = (found.bed, found.bed_width, found.primer, found.primed_faces)
    assert bed == (("roof-cement", flange, "primer", 2) if bituminous else ("", 0.0, "", 0))


@pytest.mark.parametrize("assembly", SHINGLES)
def test_drip_edge_is_fastened_at_most_12_inches_apart(catalog: Catalog, assembly: str) -> None:
    # IRC R905.2.8.5
    nailing = strip(catalog, assembly, "drip-edge").nailing
    assert nailing is not None
    assert nailing.lap_spacing == pytest.approx(12 * INCH, abs=1e-12)
    assert "R905.2.8.5" in nailing.source


@pytest.mark.parametrize("assembly", SHINGLES)
@pytest.mark.parametrize(
    ("name", "line"), [("starter", 1.5), ("joint-starter", 4), ("break-starter", 6)]
)
def test_starter_joints_stand_six_inches_from_those_above(
    catalog: Catalog, assembly: str, name: str, line: float
) -> None:
    found = strip(catalog, assembly, name)
    nailing = found.nailing
    assert nailing is not None
    shorter = catalog.material(found.material).length - found.first
    assert shorter / INCH == pytest.approx(6, abs=1e-9)
    assert (nailing.per_piece, nailing.line / INCH, nailing.inset / INCH) == pytest.approx(
        (4, line, 1), abs=1e-9
    )


@pytest.mark.parametrize("assembly", SHINGLES)
def test_a_break_between_shingles_is_lined_and_covered_with_bent_metal(
    catalog: Catalog, assembly: str
) -> None:
    # IRC R903.2.1 asks for flashing at a change of slope; the sizes are common practice: lining
    # 18 in each way, metal 8 in up and 4 in down, nails in its upper leg 6 in up at least.
    reaches = {}
    for name in ("break-lining", "break-metal"):
        found = strip(catalog, assembly, name)
        assert found.at == (Border.BREAK_UPPER,)
        down = -found.start.at(0.0, 0.0)
        width = found.width or catalog.material(found.material).width
        reaches[name] = (down / INCH, (width - down) / INCH)
    assert reaches["break-lining"] == pytest.approx((18, 18), abs=1e-9)
    assert reaches["break-metal"] == pytest.approx((4, 8), abs=1e-9)
    metal = strip(catalog, assembly, "break-metal")
    assert metal.nailing is not None
    up = metal.nailing.strip_first / INCH - reaches["break-metal"][0]
    assert (metal.nailing.strip_rows, up) == pytest.approx((1, 7), abs=1e-9)
    assert "R903.2.1" in metal.source
    assert "also at gentle breaks" in metal.source
    names = [one.id for one in catalog.assembly(assembly).strips]
    laid = [name for name in names if name.startswith("break-")]
    assert laid == ["break-lining", "break-metal", "break-starter"]


@pytest.mark.parametrize("assembly", SHINGLES)
def test_an_apron_is_nailed_to_a_wall_but_never_to_a_chimney(
    catalog: Catalog, assembly: str
) -> None:
    # public guide specification: 4 in over the shingles, 6 in up
    wall = strip(catalog, assembly, "apron")
    chimney = strip(catalog, assembly, "opening-apron")
    assert (wall.at, chimney.at) == ((Border.HEADWALL,), (Border.OPENING_FOOT,))
    for found in (wall, chimney):
        up = -found.start.at(0.0, 0.0) / INCH
        assert (up, found.width / INCH - up) == pytest.approx((6, 4), abs=1e-9)
    assert wall.nailing is not None
    assert chimney.nailing is not None
    assert wall.nailing.lap_spacing / INCH == pytest.approx(12, abs=1e-9)
    assert wall.nailing.strip_first < -wall.start.at(0.0, 0.0)
    assert (chimney.nailing.lap_spacing, chimney.nailing.per_piece) == (0.0, 2)
    assert chimney.nailing.line > -chimney.start.at(0.0, 0.0)


@pytest.mark.parametrize("assembly", SHINGLES)
def test_step_flashing_is_nailed_within_its_leg(catalog: Catalog, assembly: str) -> None:
    found = strip(catalog, assembly, "step-flashing")
    assert found.nailing is not None
    leg = catalog.material(found.material).width
    assert leg / 2 < found.nailing.line < leg


@pytest.mark.parametrize("assembly", MEMBRANES)
def test_walls_are_flashed_eight_inches_up_and_four_onto_the_field(
    catalog: Catalog, assembly: str
) -> None:
    # VA 07 52 16: 8 in up; UFGS-07600: 4 in onto the field, here beyond a cant of 3 in, laps 3 in
    flashings = [one for one in catalog.assembly(assembly).strips if one.id.startswith("flashing-")]
    assert flashings
    for found in flashings:
        up = -found.start.at(0.0, 0.0) / INCH
        assert up >= 8 - 1e-9
        assert found.width / INCH - up >= 3 + 4 - 1e-9
        assert found.lap / INCH == pytest.approx(3, abs=1e-9)
        assert {Border.HEADWALL, Border.SIDEWALL, Border.OPENING_HEAD} <= set(found.at)


@pytest.mark.parametrize("assembly", MEMBRANES)
def test_a_bar_clamps_the_head_of_the_flashing_and_metal_covers_both(
    catalog: Catalog, assembly: str
) -> None:
    # Copper Flashings: the counterflashing covers the flashing by 4 in
    cap = strip(catalog, assembly, "flashing-cap")
    bar = strip(catalog, assembly, "termination-bar")
    cover = strip(catalog, assembly, "counterflashing")
    assert cap.at == bar.at == cover.at
    assert bar.start == cap.start
    assert bar.nailing is not None
    assert (bar.nailing.lap_spacing / INCH, bar.nailing.strip_rows) == pytest.approx(
        (6, 1), abs=1e-9
    )
    head = -cap.start.at(0.0, 0.0)
    top = -cover.start.at(0.0, 0.0)
    assert (head - (top - cover.width)) / INCH == pytest.approx(4, abs=1e-9)
    # its own nails stand above the flashing
    assert cover.nailing is not None
    assert top - cover.nailing.strip_first > head


@pytest.mark.parametrize("material", ["self-adhered-ply", "granule-cap"])
@pytest.mark.parametrize(
    ("fahrenheit", "method"),
    [
        (-20, Method.NOT_AT_ALL),
        (25, Method.NOT_AT_ALL),
        (31.9, Method.NOT_AT_ALL),
        (32, Method.HOT_AIR),
        (39.9, Method.HOT_AIR),
        (40, Method.ROLLED),
        (49.9, Method.ROLLED),
        (50, Method.SUN),
        (98, Method.SUN),
    ],
)
def test_self_adhered_sheets_are_bonded_as_the_day_allows(
    catalog: Catalog, material: str, fahrenheit: float, method: Method
) -> None:
    band = catalog.material(material).band_at((fahrenheit - 32) * 5 / 9)
    assert band is not None
    assert band.method is method


@pytest.mark.parametrize("material", ["laminated-shingle", "three-tab-shingle"])
def test_shingles_are_laid_from_40_to_85_fahrenheit(catalog: Catalog, material: str) -> None:
    # construction best-practice book: 40 to 85 F
    bands = catalog.material(material).weather
    assert [band.most for band in bands[:2]] == pytest.approx(
        [(40 - 32) / 1.8, (85 - 32) / 1.8], abs=1e-12
    )
    assert [band.method for band in bands] == [Method.NOT_AT_ALL, Method.SUN, Method.SUN]
    assert len({band.caution for band in bands}) == 3


def test_where_the_weather_matters_every_day_has_its_band(catalog: Catalog) -> None:
    ends = {
        one.id: (one.weather[0].least, one.weather[-1].most)
        for one in catalog.materials
        if one.weather
    }
    assert set(ends.values()) == {(-math.inf, math.inf)}
    assert {"self-adhered-ply", "granule-cap", "heat-applied-cap-sheet", "single-ply-sheet"} <= set(
        ends
    )


def test_every_sheet_and_shingle_has_thickness_width_and_length(catalog: Catalog) -> None:
    solid = {"deck", "sheet", "shingle", "strip", "metal"}
    missing = [
        material.id
        for material in catalog.materials
        if material.form.value in solid
        and not min(material.thickness, material.width, material.length) > 0.0
    ]
    assert missing == []


def test_everything_but_the_deck_is_sold_in_packs(catalog: Catalog) -> None:
    wrong = [
        material.id
        for material in catalog.materials
        if material.form is not MaterialForm.DECK
        and not (material.pack and max(material.pack_count, material.pack_volume) > 0.0)
    ]
    assert wrong == []


def test_every_material_is_laid_somewhere(catalog: Catalog) -> None:
    used = set()
    for assembly in catalog.assemblies:
        used.add(assembly.double_underlayment)
        rules: list[Layer | StripRule] = [*assembly.layers, *assembly.strips]
        for rule in rules:
            used |= {rule.material, rule.bed, rule.primer}
            used.add(rule.nailing.fastener if rule.nailing else "")
    assert {material.id for material in catalog.materials} == used - {""}


def test_unknown_ids_are_key_errors(catalog: Catalog) -> None:
    with pytest.raises(KeyError, match="slate"):
        catalog.material("slate")
    with pytest.raises(KeyError, match="slate"):
        catalog.assembly("slate")


@pytest.mark.parametrize("assembly", SHINGLES)
def test_a_chimney_is_counterflashed_and_its_metals_stand_past_it(
    catalog: Catalog, assembly: str
) -> None:
    # Copper Flashings: 4 in over the base flashing, which stands 6 in up at foot and head and
    # 4 in at the sides; a public guide specification: the apron 4 in past the sides.
    for name, at, base in (
        ("counterflashing", (Border.OPENING_FOOT, Border.OPENING_HEAD), 6.0),
        ("side-counterflashing", (Border.OPENING_SIDE,), 4.0),
    ):
        found = strip(catalog, assembly, name)
        foot = -found.start.at(0.0, 0.0) / INCH - found.width / INCH
        assert (found.at, found.opening) == (at, "chimney")
        assert base - foot == pytest.approx(4.0, abs=1e-9)
        assert found.lap / INCH == pytest.approx(3.0, abs=1e-9)
    past = {one.id: one.past / INCH for one in catalog.assembly(assembly).strips if one.past}
    assert past == pytest.approx(
        {"apron": 4.0, "opening-apron": 4.0, "back-pan": 6.0, "counterflashing": 3.0}, abs=1e-9
    )
    assert strip(catalog, assembly, "back-pan").no_cricket


@pytest.mark.parametrize("assembly", SHINGLES)
def test_nails_through_a_ridge_vent_reach_the_deck(catalog: Catalog, assembly: str) -> None:
    vent, over = strip(catalog, assembly, "ridge-vent"), strip(catalog, assembly, "vent-ridge")
    assert vent.nailing is not None
    assert over.nailing is not None
    assert (vent.vent, over.vent) == (True, True)
    assert strip(catalog, assembly, "hip-ridge").no_vent
    nail = catalog.material(over.nailing.fastener)
    assert nail.id == vent.nailing.fastener == "long-roofing-nail"
    # IRC R905.2.5: 3/4 in into the deck. Under it: vent, two layers of a ridge piece, and the
    # two layers of shingles that the vent lies on at most.
    shingle = next(
        one
        for layer in catalog.assembly(assembly).layers
        if (one := catalog.material(layer.material)).form is MaterialForm.SHINGLE
    )
    through = [vent.material, over.material, over.material, shingle.id, shingle.id]
    left = nail.length - sum(catalog.material(name).thickness for name in through)
    assert left >= 0.75 * INCH


def test_the_laps_of_roll_roofing_are_cemented(catalog: Catalog) -> None:
    (cap,) = [one for one in catalog.assembly("mineral-roll").layers if one.role == "cap"]
    assert (cap.bed, cap.bed_sides) == ("lap-cement", True)
    cement = catalog.material("lap-cement")
    # UFGS-07311: 1.84 gal on 100 sq ft
    assert cement.rate * 100 * FOOT**2 / GALLON == pytest.approx(1.84, rel=1e-9)
    assert "UFGS-07311" in cement.source_of("rate")
    beds = [
        layer.role
        for assembly in catalog.assemblies
        for layer in assembly.layers
        if layer.bed_sides
    ]
    assert beds == ["cap"]


def test_a_single_ply_has_coated_metal_and_no_cant(catalog: Catalog) -> None:
    found = catalog.assembly("single-ply")
    assert "cant" not in [one.id for one in found.strips]
    assert strip(catalog, "single-ply", "edge-metal").material == "coated-edge-metal"
    assert "adhesive" in found.not_counted
    assert [one.id for one in catalog.assemblies if one.not_counted] == ["single-ply"]


def test_strips_name_the_layer_that_they_are_laid_before(catalog: Catalog) -> None:
    def before(assembly: str) -> dict[str, str]:
        return {one.id: one.before for one in catalog.assembly(assembly).strips if one.before}

    assert before("laminated-shingle") == before("three-tab")
    assert before("three-tab") == {
        "drip-edge": "ice barrier",
        "valley-lining": "underlayment",
        "joint-ice-barrier": "underlayment",
        "valley-metal": "starter",
        "starter": "shingles",
        "rake-starter": "shingles",
        "break-lining": "underlayment",
        "break-metal": "shingles",
        "break-starter": "shingles",
        "joint-starter": "shingles",
    }
    membrane = {
        "joint-base": "ply",
        "edge-metal": "cap",
        "cant": "ply",
        "pipe-flashing": "cap",
        "pipe-ply": "cap",
        "drain-lead": "cap",
        "drain-ply": "cap",
        "scupper-box": "cap",
        "scupper-ply": "cap",
    }
    assert before("self-adhered-membrane") == membrane
    assert before("heat-applied-cap") == membrane | {"joint-base": "cap", "cant": "cap"}
