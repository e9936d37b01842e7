"""What the day's temperature asks of each material: the method, or to wait."""

from __future__ import annotations

from dataclasses import replace

import pytest

from roof3d.catalog.laying import Border, StripRule
from roof3d.catalog.material import Method
from roof3d.catalog.model import Catalog
from roof3d.errors import Finding, Severity
from roof3d.roof.model import Role, Roof
from roof3d.rules.assembly import AssemblyChoice
from roof3d.rules.cautions import cautions_for
from roof3d.rules.weather import check_weather, materials_of, needs_hot_air, places_round
from roof3d.spec.model import LayoutSpec, OpeningKind, SiteSpec, Valley
from roof3d.units import Units, parse_temperature
from tests.model_text import Block, built
from tests.unit.rules.hand_catalog import (
    make_assembly,
    make_band,
    make_catalog,
    make_layer,
    make_material,
    make_strip,
)
from tests.unit.rules.hand_roofs import make_edge, make_opening, make_plane, make_spec

CAP = make_material(
    "granule-cap",
    make_band(Method.NOT_AT_ALL, most=-6.0, caution="Warm rolls."),
    make_band(Method.HOT_AIR, -6.0, 4.0, "Extinguisher at hand."),
    make_band(Method.ROLLED, 4.0, 15.0, "Roll laps twice."),
    make_band(Method.SUN, 15.0, 40.0, "Walk softly."),
    make_band(Method.NOT_AT_ALL, least=40.0, caution="It scars."),
)
PRIMER = make_material("primer", make_band(Method.ROLLED, 5.0, 45.0, "Let it dry."))
PLAIN = make_material("base-sheet")
WAIT = "wait, or lay under cover"


def one_assembly(*, uses_heat: bool = False) -> Catalog:
    low = make_assembly(
        "low",
        "membrane",
        0.25,
        layers=(make_layer("base-sheet"), make_layer("granule-cap")),
        strips=(make_strip("base-sheet", primer="primer"),),
        uses_heat=uses_heat,
    )
    return make_catalog(low, materials=(CAP, PRIMER, PLAIN))


def on(assembly: str, *planes: str) -> list[AssemblyChoice]:
    return [AssemblyChoice(plane=plane, assembly=assembly, why="test") for plane in planes]


def flat(*planes: str) -> Roof:
    return Roof(
        planes=tuple(make_plane(plane, (0, 0, 12, 4), (0.0, 1 / 12)) for plane in planes),
        edges=tuple(
            make_edge(f"{plane}.eave", Role.EAVE, ((0, 0, 3), (12, 0, 3)), plane)
            for plane in planes
        ),
        openings=(),
    )


def told(celsius: float | None, *, units: Units = Units.METRIC) -> tuple[Finding, ...]:
    spec = make_spec(site=SiteSpec(temperature=celsius), units=units)
    return check_weather(spec, flat("a", "b", "c"), one_assembly(), on("low", "a", "b", "c"))


def of_cap(celsius: float) -> Finding:
    (finding,) = [finding for finding in told(celsius) if finding.where == "materials[granule-cap]"]
    return finding


def test_without_a_temperature_nothing_is_told() -> None:
    assert told(None) == ()


def test_each_material_that_it_matters_to_is_told_once_in_the_order_of_laying() -> None:
    places = [finding.where for finding in told(20.0)]
    assert places == ["materials[granule-cap]", "materials[primer]"]


@pytest.mark.parametrize(
    ("celsius", "code", "severity", "message", "source"),
    [
        (
            20.0,
            "R3D-METHOD",
            Severity.NOTE,
            "Granule cap at 20 C: warm enough to lay it, the sun does the rest. Walk softly.",
            "source of sun",
        ),
        (
            15.0,  # a band begins with its least
            "R3D-METHOD",
            Severity.NOTE,
            "Granule cap at 15 C: warm enough to lay it, the sun does the rest. Walk softly.",
            "source of sun",
        ),
        (
            14.9,
            "R3D-METHOD",
            Severity.NOTE,
            "Granule cap at 14.9 C: it bonds where it is rolled down. Roll laps twice.",
            "source of rolled",
        ),
        (
            -6.0,
            "R3D-METHOD",
            Severity.CAUTION,
            "Granule cap at -6 C: weld it with hot air. Extinguisher at hand.",
            "source of hot_air",
        ),
        (
            -6.5,
            "R3D-TOO-COLD",
            Severity.CAUTION,
            f"Granule cap at -6.5 C: too cold to lay, it needs -6 C or more; {WAIT}. Warm rolls.",
            "source of not_at_all",
        ),
        (
            41.0,
            "R3D-TOO-HOT",
            Severity.CAUTION,
            f"Granule cap at 41 C: too hot to lay, it must stay below 40 C; {WAIT}. It scars.",
            "source of not_at_all",
        ),
    ],
)
def test_the_method_of_the_day(
    celsius: float, code: str, severity: Severity, message: str, source: str
) -> None:
    assert of_cap(celsius) == Finding(
        code=code,
        severity=severity,
        where="materials[granule-cap]",
        message=message,
        source=source,
    )


@pytest.mark.parametrize(
    ("celsius", "code", "clause"),
    [
        (4.0, "R3D-TOO-COLD", "Primer at 4 C: too cold to lay, it needs 5 C or more"),
        (45.0, "R3D-TOO-HOT", "Primer at 45 C: too hot to lay, it must stay below 45 C"),
    ],
)
def test_beyond_the_bands_of_a_material_it_waits_too(
    celsius: float, code: str, clause: str
) -> None:
    finding = told(celsius)[-1]
    assert (finding.code, finding.message, finding.source) == (
        code,
        f"{clause}; {WAIT}",
        "source of rolled",
    )


def test_a_material_that_may_never_be_laid_is_told_without_a_limit() -> None:
    never = make_material("felt", make_band(Method.NOT_AT_ALL))
    catalog = make_catalog(
        make_assembly("low", "membrane", 0.25, layers=(make_layer("felt"),)), materials=(never,)
    )
    spec = make_spec(site=SiteSpec(temperature=10.0), units=Units.METRIC)
    (finding,) = check_weather(spec, flat("a"), catalog, on("low", "a"))
    assert finding.message == (
        f"Felt at 10 C: too hot to lay, no temperature is known at which it may be laid; {WAIT}"
    )


def test_temperatures_are_shown_in_the_units_of_the_model() -> None:
    finding = told(parse_temperature("14 F"), units=Units.IMPERIAL)[0]
    assert finding.message.startswith("Granule cap at 14 F: too cold to lay, it needs 21.2 F")


def test_only_what_is_laid_on_this_roof_counts() -> None:
    assembly = make_assembly(
        "steep",
        "shingle",
        2,
        layers=(
            make_layer("ice", ice_only=True),
            replace(make_layer("shingle", bed="cement"), primer="dust-seal"),
        ),
        strips=(
            make_strip("ice-strip", ice_only=True),
            make_strip("valley-metal", valley="open", bed="mastic", primer="asphalt"),
            make_strip("valley-shingle", valley="closed_cut"),
            replace(make_strip("vent"), vent=True),
        ),
    )
    spec = make_spec()
    laid = ["shingle", "cement", "dust-seal", "valley-metal", "mastic", "asphalt"]
    assert list(materials_of(assembly, spec)) == laid
    cold = replace(
        spec,
        site=SiteSpec(ice_barrier=True),
        layout=LayoutSpec(valley=Valley.CLOSED_CUT, ridge_vent=True),
    )
    laid = ["ice", "shingle", "cement", "dust-seal", "ice-strip", "valley-shingle", "vent"]
    assert list(materials_of(assembly, cold)) == laid


def test_a_doubled_underlayment_counts_where_a_plane_asks_for_it() -> None:
    felt = make_layer("felt")
    assembly = replace(
        make_assembly("steep", "shingle", 2, layers=(replace(felt, role="underlayment"),)),
        double_underlayment_below=4 / 12,
        double_underlayment="half-lapped",
        double_underlayment_source="clause",
    )
    mild = make_band(Method.SUN)
    catalog = make_catalog(
        assembly, materials=(make_material("felt", mild), make_material("half-lapped", mild))
    )
    roof = Roof(
        planes=(
            make_plane("steep.south", (0, 0, 12, 4), (0.0, 6 / 12)),
            make_plane("low.south", (0, -4, 12, 0), (0.0, 3 / 12)),
        ),
        edges=(),
        openings=(),
    )
    spec = make_spec(site=SiteSpec(temperature=20.0))

    def places(*planes: str) -> list[str]:
        return [one.where for one in check_weather(spec, roof, catalog, on("steep", *planes))]

    assert places("steep.south") == ["materials[felt]"]
    assert places("low.south") == ["materials[half-lapped]"]
    assert places("steep.south", "low.south") == ["materials[felt]", "materials[half-lapped]"]


def lines(celsius: float | None, *, uses_heat: bool = False) -> list[str]:
    spec = make_spec(site=SiteSpec(temperature=celsius))
    return [
        line.partition(":")[0]
        for line in cautions_for(on("low", "a"), one_assembly(uses_heat=uses_heat), spec)
    ]


ALWAYS = ["Falls kill", "Ladder"]
DEFER = "Follow local code, the maker's instructions and a licensed professional. This informs, it"


def starts(celsius: float | None, *, uses_heat: bool = False) -> list[str]:
    """First words of the lines between those that are always there."""
    found = lines(celsius, uses_heat=uses_heat)
    assert found[:2] == ALWAYS
    assert found[-1].startswith(DEFER)
    return found[2:-1]


@pytest.mark.parametrize(
    ("celsius", "wanted"),
    [
        (None, []),
        (20.0, []),
        (0.0, ["Hot tools", "Cold day"]),  # hot air is the method of the day
        (-10.0, ["Cold day"]),  # too cold even for that
        (4.0, ["Cold day"]),
        (parse_temperature("40 F"), []),
        (parse_temperature("80 F"), ["Hot day"]),
        (26.0, []),
    ],
)
def test_the_cautions_of_the_day(celsius: float | None, wanted: list[str]) -> None:
    assert starts(celsius) == wanted


def test_an_assembly_laid_with_heat_asks_for_a_fire_watch_on_any_day() -> None:
    for celsius in (None, 20.0, 0.0):
        assert starts(celsius, uses_heat=True)[0] == "Hot tools"


def test_hot_air_counts_only_in_view() -> None:
    spec = make_spec(site=SiteSpec(temperature=0.0))
    assert needs_hot_air(spec, one_assembly(), on("low", "a"))
    assert not needs_hot_air(spec, one_assembly(), [])


MILD = make_band(Method.SUN)


def told_of_strips(*strips: StripRule, roof: Roof, layout: LayoutSpec | None = None) -> list[str]:
    """What is told of on a roof whose one assembly has these strips and no layer."""
    catalog = make_catalog(
        make_assembly("steep", "shingle", 2, strips=strips),
        materials=tuple(make_material(strip.material, MILD) for strip in strips),
    )
    spec = make_spec(site=SiteSpec(temperature=20.0))
    if layout is not None:
        spec = replace(spec, layout=layout)
    choices = on("steep", *(plane.id for plane in roof.planes))
    return [found.where for found in check_weather(spec, roof, catalog, choices)]


def test_a_strip_counts_only_where_its_edge_occurs() -> None:
    lining = replace(make_strip("lining"), at=(Border.VALLEY,))
    drip = make_strip("drip")
    assert told_of_strips(lining, drip, roof=flat("a")) == ["materials[drip]"]
    valley = make_edge("v", Role.VALLEY, ((0, 0, 3), (4, 4, 4)), "a", "b")
    roof = replace(flat("a", "b"), edges=(valley,))
    assert told_of_strips(lining, drip, roof=roof) == ["materials[lining]"]


def test_a_strip_round_an_opening_counts_only_round_its_kind() -> None:
    pan = replace(make_strip("pan"), at=(Border.OPENING_HEAD,), opening="chimney")
    boot = replace(make_strip("boot"), at=(Border.PIPE,))
    for kind, wanted in (
        (OpeningKind.CHIMNEY, ["materials[pan]"]),
        (OpeningKind.SKYLIGHT, []),
        (OpeningKind.PIPE, ["materials[boot]"]),
    ):
        roof = replace(flat("a"), edges=(), openings=(make_opening(0.5, "a", kind=kind),))
        assert told_of_strips(pan, boot, roof=roof) == wanted


def test_a_wide_chimney_brings_the_lining_of_valleys() -> None:
    lining = replace(make_strip("lining"), at=(Border.VALLEY,))
    # Wider than 30 in, 0.762 m, asks for a cricket: IRC R1003.20.
    for width, wanted in ((0.7, []), (0.8, ["materials[lining]"])):
        roof = replace(flat("a"), openings=(make_opening(width, "a"),))
        assert told_of_strips(lining, roof=roof) == wanted


@pytest.mark.parametrize(
    ("vent", "wanted"), [(True, ["materials[over-vent]"]), (False, ["materials[plain]"])]
)
def test_of_ridge_pieces_those_count_that_lie_there(*, vent: bool, wanted: list[str]) -> None:
    plain = replace(make_strip("plain"), at=(Border.RIDGE,), no_vent=True)
    over = replace(make_strip("over-vent"), at=(Border.RIDGE,), vent=True)
    ridge = make_edge("r", Role.RIDGE, ((0, 0, 3), (4, 0, 3)), "a", "b")
    roof = replace(flat("a", "b"), edges=(ridge,))
    assert told_of_strips(plain, over, roof=roof, layout=LayoutSpec(ridge_vent=vent)) == wanted


def test_places_tell_both_sides_of_a_joint_and_of_a_break() -> None:
    edge = make_edge("e", Role.TRANSITION, ((0, 0, 3), (4, 0, 3)), "a", "b")
    roof = replace(flat("a", "b"), edges=(edge,))
    alike = places_round(roof, {"a": "shingle", "b": "shingle"})
    assert alike == {"a": {(Border.BREAK_UPPER, "")}, "b": {(Border.BREAK_LOWER, "")}}
    joint = places_round(roof, {"a": "shingle", "b": "membrane"})
    assert joint == {"a": {(Border.JOINT_UPPER, "")}, "b": {(Border.JOINT_LOWER, "")}}


def test_the_porch_of_a_roof_without_ice_barrier_or_joint_is_told_of_none() -> None:
    block = Block(form="gable", length=10.0, width=8.0)
    tables = '[site]\ntemperature = "20 C"\n'
    plain = built(block, tables=tables)
    assert "materials[ice-barrier]" not in [found.where for found in plain.findings]
    asked = built(block, tables=tables + "ice_barrier = true\n")
    assert "materials[ice-barrier]" in [found.where for found in asked.findings]
