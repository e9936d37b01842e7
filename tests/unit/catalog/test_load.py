"""The catalog as data: its values against their sources, and every fault told at once."""

from __future__ import annotations

import math
from importlib.resources import files

import pytest

from roof3d.catalog.load import load_catalog, parse_catalog
from roof3d.catalog.model import Catalog
from roof3d.errors import CatalogError

INCH = 0.0254
SQUARE = 9.290304

MATERIALS = (files("roof3d.catalog") / "data" / "materials.toml").read_text(encoding="utf-8")
ASSEMBLIES = (files("roof3d.catalog") / "data" / "assemblies.toml").read_text(encoding="utf-8")


@pytest.fixture
def catalog() -> Catalog:
    return load_catalog()


def test_catalog_is_read_once() -> None:
    assert load_catalog() is load_catalog()


@pytest.mark.parametrize(
    ("assembly", "limit", "slope"),
    [
        # IRC R905.11.1: modified bitumen, design slope not less than 1/4:12
        ("self-adhered-membrane", "least_slope", 0.25 / 12),
        # IRC R905.2.2: asphalt shingles on 2:12 and steeper
        ("laminated-shingle", "least_slope", 2 / 12),
        # IBC 1507.1.1: double underlayment from 2:12 to below 4:12
        ("laminated-shingle", "double_underlayment_below", 4 / 12),
        # IRC R905.2.6: special attachment above 21:12
        ("laminated-shingle", "special_attachment_above", 21 / 12),
    ],
)
def test_slope_limits_are_the_published_ones(
    catalog: Catalog, assembly: str, limit: str, slope: float
) -> None:
    assert getattr(catalog.assembly(assembly), limit) == pytest.approx(slope, abs=1e-15)


def test_membrane_never_takes_shingle_rules(catalog: Catalog) -> None:
    membrane = catalog.assembly("self-adhered-membrane")
    assert (
        membrane.most_slope,
        membrane.double_underlayment_below,
        membrane.special_attachment_above,
    ) == (math.inf, 0.0, math.inf)


@pytest.mark.parametrize(
    ("material", "value", "metres", "source"),
    [
        # UFGS-07550 3.3.6: side lap at least 3 in, end lap at least 6 in
        ("self-adhered-ply", "side_lap", 3 * INCH, "UFGS-07550"),
        ("self-adhered-ply", "end_lap", 6 * INCH, "UFGS-07550"),
        ("granule-cap", "side_lap", 3 * INCH, "UFGS-07550"),
        ("granule-cap", "end_lap", 6 * INCH, "UFGS-07550"),
        # UFGS-07511: base sheet side lap 2 in, end lap 6 in
        ("base-sheet", "side_lap", 2 * INCH, "UFGS-07511"),
        ("base-sheet", "end_lap", 6 * INCH, "UFGS-07511"),
        # NAVEDTRA 14044: one layer, 2 in side lap, 4 in end lap
        ("felt-underlayment", "side_lap", 2 * INCH, "NAVEDTRA 14044"),
        ("felt-underlayment", "end_lap", 4 * INCH, "NAVEDTRA 14044"),
        # IBC 1507.1.1 exception 2: 36 in sheets lapped 19 in, end laps 4 in
        ("felt-underlayment-double", "width", 36 * INCH, "1507.1.1"),
        ("felt-underlayment-double", "side_lap", 19 * INCH, "1507.1.1"),
        ("felt-underlayment-double", "end_lap", 4 * INCH, "1507.1.1"),
        # IRC R905.2.8.5: drip edge laps 2 in and reaches 2 in onto the deck
        ("drip-edge", "end_lap", 2 * INCH, "R905.2.8.5"),
        ("drip-edge", "width", 2 * INCH, "R905.2.8.5"),
        # IRC R903.2.1: flashing metal at least 0.019 in
        ("drip-edge", "thickness", 0.019 * INCH, "R903.2.1"),
        # IRC R905.2.5: 3/8 in head
        ("roofing-nail", "width", 0.375 * INCH, "R905.2.5"),
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


def test_metric_shingle_needs_65_a_square(catalog: Catalog) -> None:
    # renovation handbook: 65 a square; shingles a square = 14,400 / (width x exposure), with
    # both in inches, Building Trades Pocketbook
    shingle = catalog.material("laminated-shingle")
    assert round(SQUARE / (shingle.length * shingle.exposure)) == 65


def test_metric_shingle_keeps_a_head_lap_of_two_inches(catalog: Catalog) -> None:
    shingle = catalog.material("laminated-shingle")
    assert shingle.width - 2 * shingle.exposure == pytest.approx(2 * INCH, abs=1e-12)


def test_roll_of_felt_covers_four_squares(catalog: Catalog) -> None:
    # trade field guide: No. 15 felt, 144 ft, 4 squares single coverage, 2 double
    single = catalog.material("felt-underlayment")
    double = catalog.material("felt-underlayment-double")
    covered = [(felt.width - felt.side_lap) * felt.length / SQUARE for felt in (single, double)]
    assert [math.floor(squares) for squares in covered] == [4, 2]


def test_edge_metal_is_no_thinner_than_flashing_must_be(catalog: Catalog) -> None:
    # IRC R903.2.1: at least 0.019 in
    assert catalog.material("membrane-edge-metal").thickness >= 0.019 * INCH


def test_layers_stand_in_the_order_of_work(catalog: Catalog) -> None:
    assert {
        assembly.id: [layer.role for layer in assembly.layers] for assembly in catalog.assemblies
    } == {
        "self-adhered-membrane": ["deck", "base", "ply", "cap"],
        "laminated-shingle": ["deck", "underlayment", "starter", "shingles"],
    }


@pytest.mark.parametrize(
    ("slope", "material"),
    [
        (2 / 12, "felt-underlayment-double"),
        (4 / 12 - 1e-3, "felt-underlayment-double"),
        (math.nextafter(4 / 12, 0.0), "felt-underlayment"),
        (4 / 12, "felt-underlayment"),
        (1.0, "felt-underlayment"),
    ],
)
def test_underlayment_is_doubled_below_four_in_twelve(
    catalog: Catalog, slope: float, material: str
) -> None:
    layers = catalog.assembly("laminated-shingle").layers_at(slope)
    assert [layer.material for layer in layers] == [
        "sheathing",
        material,
        "starter-strip",
        "laminated-shingle",
    ]


def test_membrane_has_the_same_layers_at_every_slope(catalog: Catalog) -> None:
    membrane = catalog.assembly("self-adhered-membrane")
    assert [membrane.layers_at(slope) for slope in (0.0, 1 / 12, 1.0)] == [membrane.layers] * 3


def test_every_sheet_and_shingle_has_thickness_width_and_length(catalog: Catalog) -> None:
    solid = {"deck", "sheet", "shingle", "strip", "metal"}
    missing = [
        material.id
        for material in catalog.materials
        if material.form.value in solid
        and not min(material.thickness, material.width, material.length) > 0.0
    ]
    assert missing == []


def test_unknown_ids_are_key_errors(catalog: Catalog) -> None:
    with pytest.raises(KeyError, match="slate"):
        catalog.material("slate")
    with pytest.raises(KeyError, match="slate"):
        catalog.assembly("slate")


@pytest.mark.parametrize(
    ("old", "new", "path"),
    [
        ('form = "deck"', 'form = "plank"', "materials.material[0].form"),
        ('thickness = "15/32 in"', "thickness = 0.5", "materials.material[0].thickness"),
        ('thickness = "15/32 in"', 'thickness = "thin"', "materials.material[0].thickness"),
        ('thickness = "15/32 in"', 'thickness = "-1 in"', "materials.material[0].thickness"),
        ('thickness = "15/32 in"', 'thickness = "0 in"', "materials.material[0].thickness"),
        ('width = "48 in"\n', "", "materials.material[0].sources.width"),
        ('purpose = "The wood', 'colour = "red"\npurpose = "The', "materials.material[0].colour"),
        ('id = "base-sheet"', 'id = "sheathing"', "materials.material[1].id"),
        ('id = "base-sheet"', 'id = ""', "materials.material[1].id"),
        ('side_lap = "UFGS-07511"\n', "", "materials.material[1].sources.side_lap"),
    ],
)
def test_wrong_material_is_told_with_its_path(old: str, new: str, path: str) -> None:
    assert old in MATERIALS
    with pytest.raises(CatalogError) as caught:
        parse_catalog(materials=MATERIALS.replace(old, new, 1), assemblies=ASSEMBLIES)
    assert f"{path}: " in str(caught.value)


@pytest.mark.parametrize(
    ("old", "new", "path"),
    [
        ('kind = "membrane"', 'kind = "thatch"', "assemblies.assembly[0].kind"),
        ('least_slope = "1/4:12"\n', "", "assemblies.assembly[0].least_slope"),
        ('least_slope = "1/4:12"', "least_slope = 0.02", "assemblies.assembly[0].least_slope"),
        (
            'least_slope = "1/4:12"',
            'least_slope = "1/4:12"\nmost_slope = "1/8:12"',
            "assemblies.assembly[0].most_slope",
        ),
        (
            'slope_source = "IRC 2018, R905.2.2 (edition from memory)"\n',
            "",
            "assemblies.assembly[1].slope_source",
        ),
        ("uses_heat = true", 'uses_heat = "yes"', "assemblies.assembly[0].uses_heat"),
        ('material = "base-sheet"', 'material = "x"', "assemblies.assembly[0].layer[1].material"),
        ('role = "cap"\n', "", "assemblies.assembly[0].layer[3].role"),
        (
            'double_underlayment = "felt-underlayment-double"\n',
            "",
            "assemblies.assembly[1].double_underlayment",
        ),
        ('role = "underlayment"', 'role = "felt"', "assemblies.assembly[1].layer"),
        (
            'special_attachment_above = "21:12"\n',
            "",
            "assemblies.assembly[1].special_attachment_source",
        ),
    ],
)
def test_wrong_assembly_is_told_with_its_path(old: str, new: str, path: str) -> None:
    assert old in ASSEMBLIES
    with pytest.raises(CatalogError) as caught:
        parse_catalog(materials=MATERIALS, assemblies=ASSEMBLIES.replace(old, new, 1))
    assert f"{path}: " in str(caught.value)


def test_all_faults_are_told_at_once() -> None:
    materials = MATERIALS.replace('form = "deck"', 'form = "plank"', 1)
    assemblies = ASSEMBLIES.replace('kind = "membrane"', 'kind = "thatch"', 1).replace(
        'role = "cap"', "role = 4", 1
    )
    with pytest.raises(CatalogError) as caught:
        parse_catalog(materials=materials, assemblies=assemblies)
    paths = ("material[0].form", "assembly[0].kind", "assembly[0].layer[3].role")
    assert [path for path in paths if path not in str(caught.value)] == []


@pytest.mark.parametrize("text", ["", "material = 3", "[material]", "[[material]", "\x00"])
def test_text_that_is_no_catalog_is_refused(text: str) -> None:
    with pytest.raises(CatalogError):
        parse_catalog(materials=text, assemblies=ASSEMBLIES)
