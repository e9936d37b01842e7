"""Which assembly each plane gets."""

from __future__ import annotations

import pytest

from roof3d.catalog.load import load_catalog
from roof3d.catalog.model import Catalog
from roof3d.errors import CatalogError, SpecError
from roof3d.roof.model import Kind
from roof3d.rules.assembly import choose_assemblies
from roof3d.spec.model import RoofSpec
from tests.unit.rules.hand_roofs import make_section, make_spec, one_plane, porch_house

MEMBRANE = "self-adhered-membrane"
SHINGLE = "laminated-shingle"


def chosen(spec: RoofSpec) -> dict[str, str]:
    choices = choose_assemblies(spec, porch_house(), load_catalog())
    return {choice.plane: choice.assembly for choice in choices}


def test_low_planes_get_membrane_and_steep_ones_shingles() -> None:
    assert list(chosen(make_spec()).items()) == [
        ("main.south", SHINGLE),
        ("main.north", SHINGLE),
        ("porch.south", MEMBRANE),
    ]


def test_section_overrides_the_rule() -> None:
    spec = make_spec(sections=(make_section("main", assembly=MEMBRANE), make_section("porch")))
    assert chosen(spec) == {
        "main.south": MEMBRANE,
        "main.north": MEMBRANE,
        "porch.south": MEMBRANE,
    }


def test_plane_overrides_its_section() -> None:
    spec = make_spec(
        sections=(make_section("main", assembly=MEMBRANE), make_section("porch")),
        planes=[("main.north", SHINGLE)],
    )
    assert chosen(spec) == {
        "main.south": MEMBRANE,
        "main.north": SHINGLE,
        "porch.south": MEMBRANE,
    }


def test_every_choice_says_why() -> None:
    spec = make_spec(
        sections=(make_section("main", assembly=MEMBRANE), make_section("porch")),
        planes=[("main.north", SHINGLE)],
    )
    choices = choose_assemblies(spec, porch_house(), load_catalog())
    assert [choice.why for choice in choices] == [
        "the model names it for section main",
        "the model names it for this plane",
        "by rule: slope 1:12 is below the model's cutoff of 2:12",
    ]


@pytest.mark.parametrize(
    ("rise", "cutoff", "shown"),
    [
        (1.9996, 2.0, "slope 1.9996:12 is below the model's cutoff of 2:12"),
        (1.999998, 2.0, "slope 1.999998:12 is below the model's cutoff of 2:12"),
        (2.0, 2.0004, "slope 2:12 is below the model's cutoff of 2.0004:12"),
        (2.0004, 2.0, "slope 2.0004:12 is not below the model's cutoff of 2:12"),
        (2.0, 2.0, "slope 2:12 is not below the model's cutoff of 2:12"),
    ],
)
def test_slope_near_the_cutoff_reads_otherwise(rise: float, cutoff: float, shown: str) -> None:
    roof = one_plane(rise / 12, kind=Kind.LOW if rise < cutoff else Kind.STEEP)
    (choice,) = choose_assemblies(make_spec(cutoff=cutoff / 12), roof, load_catalog())
    assert choice.why == f"by rule: {shown}"


def test_every_unknown_name_is_told_with_what_is_allowed() -> None:
    spec = make_spec(
        sections=(make_section("main", assembly="thatch"), make_section("porch")),
        planes=[("main.west", SHINGLE), ("porch.south", "slate"), ("porch.south", MEMBRANE)],
    )
    with pytest.raises(SpecError) as caught:
        choose_assemblies(spec, porch_house(), load_catalog())
    known = [assembly.id for assembly in load_catalog().assemblies]
    assert {MEMBRANE, SHINGLE} < set(known)
    assemblies = f"allowed: {', '.join(known)}"
    assert [(fault.where, fault.hint) for fault in caught.value.faults] == [
        ('section[0] "main".assembly', assemblies),
        ('plane[0] "main.west".id', "allowed: main.south, main.north, porch.south"),
        ('plane[1] "porch.south".assembly', assemblies),
        ('plane[2] "porch.south".id', "keep one entry a plane"),
    ]


def test_catalog_without_shingles_is_told() -> None:
    catalog = load_catalog()
    membranes = tuple(item for item in catalog.assemblies if item.kind == "membrane")
    with pytest.raises(CatalogError, match="'shingle' for steep planes"):
        choose_assemblies(
            make_spec(), one_plane(0.5), Catalog(materials=catalog.materials, assemblies=membranes)
        )
