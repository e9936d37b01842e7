"""Findings on planes, openings and edges, each beside the clause that it comes from."""

from __future__ import annotations

from dataclasses import replace

import pytest

from roof3d.catalog.load import load_catalog
from roof3d.errors import Finding, Severity
from roof3d.roof.model import Kind, Role, Roof
from roof3d.rules.assembly import AssemblyChoice, choose_assemblies
from roof3d.rules.check import check_roof
from roof3d.spec.model import OpeningKind, RoofSpec
from roof3d.units import Units
from tests.unit.rules.hand_roofs import (
    make_edge,
    make_opening,
    make_plane,
    make_spec,
    one_plane,
    porch_house,
)

MEMBRANE = "self-adhered-membrane"
SHINGLE = "laminated-shingle"
# Every assembly of the built-in catalog that may lie at 1:12.
MEMBRANES = (
    "self-adhered-membrane, self-adhered-two-ply, heat-applied-cap, single-ply or mineral-roll"
)
INCH = 0.0254


def findings(roof: Roof, spec: RoofSpec | None = None) -> tuple[Finding, ...]:
    spec = spec or make_spec()
    catalog = load_catalog()
    return check_roof(spec, roof, catalog, choose_assemblies(spec, roof, catalog))


def on_slope(rise: float, assembly: str) -> list[tuple[str, str]]:
    """Give code and severity of what is told of one plane with that assembly."""
    roof = one_plane(rise / 12)
    catalog = load_catalog()
    choice = AssemblyChoice(plane="main.south", assembly=assembly, why="test")
    found = check_roof(make_spec(), roof, catalog, (choice,))
    return [(finding.code, finding.severity.value) for finding in found]


BELOW = ("R3D-SLOPE-BELOW", "error")
LEVEL = ("R3D-DEAD-LEVEL", "error")
DOUBLE = ("R3D-DOUBLE-UNDERLAYMENT", "note")


@pytest.mark.parametrize(
    ("rise", "assembly", "told"),
    [
        # IRC R905.2.2: shingles on 2:12 and steeper; IBC 1507.1.1: doubled below 4:12
        (1.0, SHINGLE, [BELOW]),
        (1.9, SHINGLE, [BELOW]),
        (2.0, SHINGLE, [DOUBLE]),
        (3.9, SHINGLE, [DOUBLE]),
        (4.0, SHINGLE, []),
        # IRC R905.2.6: special attachment above 21:12
        (21.0, SHINGLE, []),
        (21.1, SHINGLE, [("R3D-STEEP-ATTACHMENT", "note")]),
        # IRC R905.11.1: 1/4:12, printed again as 2 per cent
        (0.25, MEMBRANE, []),
        (0.245, MEMBRANE, [("R3D-DEAD-LEVEL", "caution")]),
        (0.24, MEMBRANE, [("R3D-DEAD-LEVEL", "caution")]),
        (0.23, MEMBRANE, [LEVEL]),
        (0.0, MEMBRANE, [LEVEL]),
        (6.0, MEMBRANE, []),
        (0.0, SHINGLE, [LEVEL, BELOW]),
        (0.245, SHINGLE, [BELOW, ("R3D-DEAD-LEVEL", "caution")]),
    ],
)
def test_what_may_lie_on_a_slope(rise: float, assembly: str, told: list[tuple[str, str]]) -> None:
    assert on_slope(rise, assembly) == told


@pytest.mark.parametrize(
    ("limit", "assembly", "told"),
    [(0.25, MEMBRANE, []), (2.0, SHINGLE, [DOUBLE]), (4.0, SHINGLE, []), (21.0, SHINGLE, [])],
)
@pytest.mark.parametrize("noise", [-1e-15, -1e-9, 0.0, 1e-9, 1e-15])
def test_rounding_changes_no_finding(
    limit: float, assembly: str, told: list[tuple[str, str]], noise: float
) -> None:
    assert on_slope(limit + noise, assembly) == told


def test_porch_house_has_nothing_to_tell() -> None:
    assert findings(porch_house()) == ()


def test_finding_names_place_limit_slope_clause_and_a_way_out() -> None:
    (found,) = findings(porch_house(), make_spec(planes=[("porch.south", SHINGLE)]))
    assert found == Finding(
        code="R3D-SLOPE-BELOW",
        severity=Severity.ERROR,
        where="planes[porch.south]",
        message=(
            "Laminated asphalt shingles: least slope 2:12, this plane has 1:12; "
            f"name {MEMBRANES} for it"
        ),
        source="IRC 2018, R905.2.2 (edition from memory)",
    )


def test_cutoff_moved_down_is_named_as_the_cause() -> None:
    roof = one_plane(1.5 / 12, kind=Kind.STEEP)
    (found,) = findings(roof, make_spec(cutoff=1 / 12))
    assert (found.code, found.message.endswith("or raise low_slope_cutoff from 1:12")) == (
        "R3D-SLOPE-BELOW",
        True,
    )


def test_cutoff_is_no_cause_where_the_model_names_the_shingles() -> None:
    spec = make_spec(cutoff=1.5 / 12, planes=[("porch.south", SHINGLE)])
    (found,) = findings(porch_house(), spec)
    assert found.message.endswith(f"; name {MEMBRANES} for it")


def test_cutoff_moved_up_puts_membrane_on_a_shingle_slope_without_a_word() -> None:
    assert findings(one_plane(2.5 / 12, kind=Kind.LOW), make_spec(cutoff=3 / 12)) == ()


def test_assembly_above_its_greatest_slope_is_an_error() -> None:
    catalog = load_catalog()
    flat_only = replace(catalog.assembly(MEMBRANE), most_slope=1 / 12)
    catalog = replace(catalog, assemblies=(flat_only, catalog.assembly(SHINGLE)))
    choice = AssemblyChoice(plane="main.south", assembly=MEMBRANE, why="test")
    told = [
        [f.code for f in check_roof(make_spec(), one_plane(rise / 12), catalog, (choice,))]
        for rise in (1.0, 1.1)
    ]
    assert told == [[], ["R3D-SLOPE-ABOVE"]]


def test_assembly_allowed_on_a_dead_level_plane_is_left_alone() -> None:
    catalog = load_catalog()
    # IRC R905.9.1: coal tar from 1/8:12
    coal_tar = replace(catalog.assembly(MEMBRANE), least_slope=0.125 / 12)
    catalog = replace(catalog, assemblies=(coal_tar,))
    choice = AssemblyChoice(plane="main.south", assembly=MEMBRANE, why="test")
    told = [
        [f.code for f in check_roof(make_spec(), one_plane(rise / 12), catalog, (choice,))]
        for rise in (0.125, 0.1)
    ]
    assert told == [[], ["R3D-DEAD-LEVEL"]]


def with_opening(
    width: float, *planes: str, kind: OpeningKind, south: float = 0.0
) -> list[tuple[str, str, str]]:
    opening = make_opening(width, *planes, kind=kind, south=south)
    roof = replace(porch_house(), openings=(opening,))
    return [(found.code, found.severity.value, found.where) for found in findings(roof)]


@pytest.mark.parametrize(
    ("width", "kind", "told"),
    [
        # IRC R903.2.2: wider than 30 in across the slope
        (30.0, OpeningKind.CHIMNEY, []),
        (30.0 + 1e-9, OpeningKind.CHIMNEY, []),
        (30.1, OpeningKind.CHIMNEY, [("R3D-CRICKET", "caution", "openings[stack]")]),
        (36.0, OpeningKind.PIPE, [("R3D-CRICKET", "caution", "openings[stack]")]),
        (36.0, OpeningKind.SKYLIGHT, [("R3D-CRICKET", "note", "openings[stack]")]),
        (24.0, OpeningKind.SKYLIGHT, []),
    ],
)
def test_wide_penetration_needs_a_cricket(
    width: float, kind: OpeningKind, told: list[tuple[str, str, str]]
) -> None:
    assert with_opening(width * INCH, "main.south", kind=kind) == told


def test_chimney_through_the_ridge_has_no_uphill_side() -> None:
    across = ("main.south", "main.north")
    assert with_opening(1.0, *across, kind=OpeningKind.CHIMNEY, south=3.5) == []


@pytest.mark.parametrize(("south", "told"), [(2.9, ["R3D-CRICKET"]), (3.0, [])])
def test_chimney_just_below_the_ridge_dams_only_what_is_between(
    south: float, told: list[str]
) -> None:
    # The ridge is at y = 4: 0.1 m above the chimney, or along its very side.
    found = with_opening(1.0, "main.south", kind=OpeningKind.CHIMNEY, south=south)
    assert [code for code, *_ in found] == told


def test_roof_above_a_chimney_that_ends_at_the_joint_drains_onto_it() -> None:
    # It cuts the porch alone; its uphill side lies along the transition at y = 0.
    found = with_opening(1.0, "porch.south", kind=OpeningKind.CHIMNEY, south=-1.0)
    assert [code for code, *_ in found] == ["R3D-CRICKET"]


def test_chimney_on_a_level_plane_dams_nothing() -> None:
    roof = replace(one_plane(0.0), openings=(make_opening(1.0, "main.south"),))
    assert [found.code for found in findings(roof)] == ["R3D-DEAD-LEVEL"]


@pytest.mark.parametrize(("units", "text"), [(Units.IMPERIAL, "sq ft"), (Units.METRIC, "m2")])
def test_covered_part_is_told_in_the_model_units(units: Units, text: str) -> None:
    plane = make_plane("main.south", (0, 0, 12, 4), (0.0, 0.5), covered=6.0)
    roof = Roof(planes=(plane,), edges=(), openings=())
    (found,) = findings(roof, make_spec(units=units))
    assert (found.code, found.severity, text in found.message) == (
        "R3D-COVERED",
        Severity.NOTE,
        True,
    )


@pytest.mark.parametrize("role", [Role.VALLEY, Role.PITCH_BREAK, Role.HIP, Role.RIDGE])
def test_two_assemblies_that_meet_off_a_transition_are_told(role: Role) -> None:
    edge = make_edge("porch.x", role, ((0, 0, 3), (2, 2, 3.5)), "main.south", "porch.south")
    roof = replace(porch_house(), edges=(edge,))
    told = [(found.code, found.severity, found.where) for found in findings(roof)]
    assert told == [("R3D-ASSEMBLY-CHANGE", Severity.NOTE, "edges[porch.x]")]


def test_one_assembly_on_both_sides_is_nothing_to_tell() -> None:
    edge = make_edge("main.x", Role.VALLEY, ((0, 0, 3), (2, 2, 3.5)), "main.south", "main.north")
    assert findings(replace(porch_house(), edges=(edge,))) == ()


def test_planes_keep_their_order_and_the_worst_comes_first() -> None:
    first = make_plane("main.south", (0, 0, 12, 4), (0.0, 3 / 12), covered=2.0)
    second = make_plane("porch.south", (0, -4, 12, 0), (0.0, 1 / 12), covered=2.0)
    spec = make_spec(planes=[("porch.south", SHINGLE)])
    told = findings(Roof(planes=(first, second), edges=(), openings=()), spec)
    assert [(found.where, found.severity.value) for found in told] == [
        ("planes[main.south]", "note"),
        ("planes[main.south]", "note"),
        ("planes[porch.south]", "error"),
        ("planes[porch.south]", "note"),
    ]


def test_every_rule_finding_names_its_source() -> None:
    told = [
        finding
        for rise in (0.0, 1.0, 3.0, 24.0)
        for assembly in (MEMBRANE, SHINGLE)
        for finding in check_roof(
            make_spec(),
            one_plane(rise / 12),
            load_catalog(),
            (AssemblyChoice(plane="main.south", assembly=assembly, why="test"),),
        )
    ]
    assert {finding.source[:8] for finding in told} == {"IRC 2018", "IBC 2018"}


@pytest.mark.parametrize(
    ("rise", "assembly", "shown"),
    [
        (1.999, SHINGLE, "this plane has 1.999:12"),
        (3.999, SHINGLE, "at 3.999:12"),
        (21.001, SHINGLE, "at 21.001:12"),
        (0.2499, MEMBRANE, "slope 0.2499:12 (2.08%)"),
    ],
)
def test_slope_that_rounds_to_its_limit_is_shown_in_full(
    rise: float, assembly: str, shown: str
) -> None:
    choice = AssemblyChoice(plane="main.south", assembly=assembly, why="test")
    (found,) = check_roof(make_spec(), one_plane(rise / 12), load_catalog(), (choice,))
    assert shown in found.message
