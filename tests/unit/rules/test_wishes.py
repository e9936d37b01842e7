"""Choosing by slope and by the model's wishes, and what is told of a wish that must not be."""

from __future__ import annotations

import pytest

from roof3d.errors import SpecError
from roof3d.roof.model import Kind
from roof3d.rules.assembly import AssemblyChoice, choose_assemblies, may_lie
from roof3d.rules.check import check_roof
from roof3d.spec.model import RoofSpec
from tests.unit.rules.hand_catalog import make_assembly, make_catalog
from tests.unit.rules.hand_roofs import make_section, make_spec, one_plane

CATALOG = make_catalog(
    make_assembly("roll", "membrane", 1, 4),
    make_assembly("sheets", "membrane", 0.25),
    make_assembly("steep-shingle", "shingle", 4),
    make_assembly("shingle", "shingle", 2, 9),
)


def written(rise: float) -> str:
    """Write a pitch as the trade does."""
    return {0.125: "1/8:12", 0.5: "1/2:12", 9.5: "9 1/2:12"}.get(rise, f"{rise:g}:12")


def choose(rise: float, spec: RoofSpec, *, kind: Kind | None = None) -> AssemblyChoice:
    (choice,) = choose_assemblies(spec, one_plane(rise / 12, kind=kind), CATALOG)
    return choice


@pytest.mark.parametrize(
    ("rise", "assembly"),
    [
        (0.0, "roll"),  # nothing may lie there: the first stays
        (0.25, "sheets"),
        (0.999, "sheets"),
        (1.0, "roll"),
        (1.0 - 1e-7, "roll"),  # a twelfth of it is within the tolerance of a slope
        (1.999, "roll"),
        (2.0, "shingle"),
        (3.999, "shingle"),
        (4.0, "steep-shingle"),
        (40.0, "steep-shingle"),
    ],
)
def test_by_rule_the_first_of_its_kind_that_may_lie_at_the_slope(
    rise: float, assembly: str
) -> None:
    assert choose(rise, make_spec()).assembly == assembly


@pytest.mark.parametrize(
    ("rise", "tail"),
    [
        (1.0, ""),
        (0.5, ", and this is the first membrane of the catalog that may lie so"),
        (0.125, ", and no membrane of the catalog may lie so"),
    ],
)
def test_a_choice_by_rule_says_why(rise: float, tail: str) -> None:
    assert choose(rise, make_spec()).why == (
        f"by rule: slope {written(rise)} is below the model's cutoff of 2:12{tail}"
    )


def test_a_wish_is_taken_where_it_may_lie() -> None:
    spec = make_spec(low="sheets", steep="shingle")
    assert choose(1.5, spec) == AssemblyChoice(
        plane="main.south",
        assembly="sheets",
        why="the model wishes it for low planes: slope 1 1/2:12 is below the model's cutoff of "
        "2:12",
    )
    assert choose(6.0, spec) == AssemblyChoice(
        plane="main.south",
        assembly="shingle",
        why=(
            "the model wishes it for steep planes: slope 6:12 is not below the model's cutoff of "
            "2:12"
        ),
    )


def test_a_wish_may_be_of_the_other_kind_where_it_may_lie() -> None:
    assert choose(6.0, make_spec(steep="sheets")).assembly == "sheets"
    assert choose(2.5, make_spec(low="shingle", cutoff=3 / 12), kind=Kind.LOW).assembly == "shingle"


@pytest.mark.parametrize(
    ("rise", "spec", "taken", "clause"),
    [
        (0.5, make_spec(low="roll"), "sheets", "lies only on 1:12 and steeper"),
        (1.0, make_spec(low="steep-shingle"), "roll", "lies only on 4:12 and steeper"),
        (3.0, make_spec(steep="steep-shingle"), "shingle", "lies only on 4:12 and steeper"),
        (9.5, make_spec(steep="shingle"), "steep-shingle", "lies only on 9:12 and flatter"),
        (3.99999, make_spec(steep="steep-shingle"), "shingle", "lies only on 4:12 and steeper"),
    ],
)
def test_a_wish_that_may_not_lie_gives_way_and_is_told(
    rise: float, spec: RoofSpec, taken: str, clause: str
) -> None:
    roof = one_plane(rise / 12)
    choices = choose_assemblies(spec, roof, CATALOG)
    wished = spec.rules.low_assembly or spec.rules.steep_assembly
    kind = roof.planes[0].kind
    assert [(choice.assembly, choice.refused) for choice in choices] == [(taken, wished)]
    assert choices[0].why.endswith(
        f"the model wishes {wished} for {kind} planes, which {clause}, and this is the first "
        "that may lie so"
    )
    (told,) = [
        (finding.severity, finding.where, finding.message, finding.source)
        for finding in check_roof(spec, roof, CATALOG, choices)
        if finding.code == "R3D-WISH-REFUSED"
    ]
    assert told == (
        "caution",
        "planes[main.south]",
        (
            f"{CATALOG.assembly(wished).name}, wished for {kind} planes, {clause}; this plane has "
            f"{written(rise)}: {CATALOG.assembly(taken).name} takes its place"
        ),
        f"clause of {wished}",
    )


def test_a_wish_stays_where_nothing_may_lie() -> None:
    spec = make_spec(low="sheets")
    choice = choose(0.125, spec)
    assert (choice.assembly, choice.refused) == ("sheets", "")
    assert choice.why == (
        "the model wishes it for low planes: slope 1/8:12 is below the model's cutoff of 2:12; "
        "it may not lie so, and neither may any membrane of the catalog"
    )


def test_what_a_section_or_plane_names_is_not_overruled_and_refuses_no_wish() -> None:
    section = make_section("main", assembly="steep-shingle")
    for spec in (
        make_spec(low="sheets", sections=[section]),
        make_spec(low="sheets", planes=[("main.south", "steep-shingle")]),
        make_spec(low="roll", sections=[section], planes=[("main.south", "steep-shingle")]),
    ):
        choice = choose(0.5, spec)
        assert (choice.assembly, choice.refused) == ("steep-shingle", "")
        codes = [
            finding.code for finding in check_roof(spec, one_plane(0.5 / 12), CATALOG, [choice])
        ]
        assert codes == ["R3D-SLOPE-BELOW"]


def test_a_wish_that_the_catalog_has_not_is_told_though_no_plane_needs_it() -> None:
    spec = make_spec(low="thatch", steep="turf")
    with pytest.raises(SpecError) as caught:
        choose(6.0, spec)
    assert [str(fault) for fault in caught.value.faults] == [
        f'rules.{key}: there is no assembly "{name}" (allowed: roll, sheets, steep-shingle, '
        "shingle)"
        for key, name in (("low_assembly", "thatch"), ("steep_assembly", "turf"))
    ]


def test_limits_are_included_and_rounding_does_not_cross_them() -> None:
    roll = CATALOG.assembly("roll")
    inside = [1 / 12, 4 / 12, 1 / 12 - 5e-8, 4 / 12 + 5e-8, 0.2]
    outside = [0.0, 1 / 12 - 2e-7, 4 / 12 + 2e-7]
    assert [may_lie(roll, slope) for slope in (*inside, *outside)] == [True] * 5 + [False] * 3
