"""A model's own catalog: what it replaces, what it adds, and what is refused."""

from __future__ import annotations

import pytest

from roof3d.catalog.load import add_catalog, load_catalog
from roof3d.errors import CatalogError

INCH = 0.0254

SHEET = """
[[material]]
id = "{id}"
name = "Our base sheet"
form = "sheet"
purpose = "Takes the nails."
thickness = "0.05 in"
width = "{width}"
length = "15 m"
side_lap = "2 in"
end_lap = "6 in"
pack = "roll"
sources = {{ thickness = "x", width = "x", length = "x", side_lap = "x", end_lap = "x" }}
"""
ASSEMBLY = """
[[assembly]]
id = "{id}"
name = "Our sheet"
kind = "membrane"
least_slope = "1/4:12"
slope_source = "x"
[[assembly.layer]]
material = "{material}"
role = "cap"
fastening = "Nails."
source = "x"
"""


def told(text: str, name: str = "ours.toml") -> str:
    with pytest.raises(CatalogError) as caught:
        add_catalog(load_catalog(), text, name=name)
    return str(caught.value)


def test_a_known_id_is_replaced_in_its_place_and_the_rest_stays() -> None:
    base = load_catalog()
    added = add_catalog(base, SHEET.format(id="base-sheet", width="1 m"), name="ours.toml")
    assert [one.id for one in added.materials] == [one.id for one in base.materials]
    assert added.material("base-sheet").length == 15.0
    others = [one for one in base.materials if one.id != "base-sheet"]
    assert [one for one in added.materials if one.id != "base-sheet"] == others
    assert added.assemblies == base.assemblies
    assert base.material("base-sheet").length == 20.0


def test_new_ids_follow_after_in_the_order_of_the_file() -> None:
    base = load_catalog()
    text = (
        SHEET.format(id="z-sheet", width="1 m")
        + SHEET.format(id="a-sheet", width="1 m")
        + ASSEMBLY.format(id="ours", material="z-sheet")
    )
    added = add_catalog(base, text, name="ours.toml")
    assert added.materials[: len(base.materials)] == base.materials
    assert [one.id for one in added.materials[len(base.materials) :]] == ["z-sheet", "a-sheet"]
    assert added.assemblies[: len(base.assemblies)] == base.assemblies
    assert [one.id for one in added.assemblies[len(base.assemblies) :]] == ["ours"]


def test_an_assembly_may_be_replaced_and_use_what_the_catalog_has() -> None:
    text = ASSEMBLY.format(id="self-adhered-membrane", material="granule-cap")
    added = add_catalog(load_catalog(), text, name="ours.toml")
    assert added.assemblies[0].id == "self-adhered-membrane"
    assert [layer.role for layer in added.assemblies[0].layers] == ["cap"]


def test_every_path_starts_with_the_file() -> None:
    text = SHEET.format(id="x", width="0 in") + ASSEMBLY.format(id="ours", material="y")
    faults = told(text).split("; ")
    assert [fault.split(": ")[0] for fault in faults] == [
        "ours.toml.material[0].width",
        "ours.toml.assembly[0].layer[0].material",
    ]


def test_what_no_longer_fits_the_catalog_is_told_by_its_assembly() -> None:
    narrow = told(SHEET.format(id="base-sheet", width="3 in"))
    assert (
        'ours.toml: catalog.assembly "heat-applied-cap".layer[1].side_lap: leaves nothing of '
        "'base-sheet'"
    ) in narrow
    liquid = told(
        '[[material]]\nid = "cap-nail"\nname = "x"\nform = "liquid"\npurpose = "x"\n'
        'pack = "pail"\npack_volume = "1 gal"\nthickness = "1 mm"\n'
        'sources = { pack_volume = "x", thickness = "x" }'
    )
    assert 'catalog.assembly "laminated-shingle".layer[2].nailing.fastener: ' in liquid


def test_an_id_given_twice_in_the_file_is_told() -> None:
    one = SHEET.format(id="x", width="1 m")
    assert "ours.toml.material[1].id: 'x' is given twice" in told(one + one)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "ours.toml: holds no material and no assembly"),
        ("[[material]", "ours.toml: is not TOML"),
        ("price = 3", "ours.toml.price: unknown key"),
        (ASSEMBLY.format(id="", material="granule-cap"), "ours.toml.assembly[0].id: missing"),
    ],
)
def test_text_that_is_no_catalog_is_refused(text: str, words: str) -> None:
    assert words in told(text)
