"""Values of parapets, drains and overflows, each against the clause that prints it."""

from __future__ import annotations

from pathlib import Path

import pytest

from roof3d.catalog.laying import StripRule
from roof3d.catalog.load import load_catalog
from roof3d.project import Project, build
from roof3d.rules.drainage_rule import load_drainage_rule
from roof3d.spec.read import load_spec

INCH = 0.0254
RULE = load_drainage_rule()
CATALOG = load_catalog()
WRAPPED = ("self-adhered-membrane", "self-adhered-two-ply", "heat-applied-cap", "single-ply",
           "mineral-roll")  # fmt: skip


def strip(assembly: str, rule: str) -> StripRule:
    return next(one for one in CATALOG.assembly(assembly).strips if one.id == rule)


@pytest.mark.parametrize(
    ("value", "inches", "source"),
    [
        # IRC R903.4.1: inlet of an overflow 2 in above the low point, scuppers at least 4 in high.
        (RULE.overflow_sill, 2.0, RULE.overflow_source),
        (RULE.scupper_height, 4.0, RULE.overflow_source),
        # UFGS-07600 and VA 07 52 16: base flashing at least 8 in up a wall.
        (RULE.least_flashing, 8.0, RULE.flashing_source),
        # 29 CFR 1926.502(b)(1): top edge of a guard 42 in, plus or minus 3 in.
        (RULE.least_guard, 42.0 - 3.0, RULE.guard_source),
    ],
)
def test_lengths_of_the_clauses(value: float, inches: float, source: str) -> None:
    assert value / INCH == pytest.approx(inches)
    assert source


def test_overflow_scuppers_open_three_times_the_drain() -> None:
    assert RULE.scupper_share == 3.0  # IRC R903.4.1


def test_water_weighs_5_2_pounds_a_square_foot_and_inch() -> None:
    # 62.4 lb a cubic foot, as every handbook has it, over 12.
    pound, foot = 4.4482216, 0.3048
    assert RULE.water_weight * INCH / (pound / foot**2) == pytest.approx(62.4 / 12.0, rel=2e-3)


@pytest.mark.parametrize("assembly", WRAPPED)
def test_membranes_are_carried_over_the_wall_and_down_outside(assembly: str) -> None:
    cap = strip(assembly, "parapet-cap")
    # 2 in down the outside face (50 mm: Canadian provincial manual).
    assert -cap.start.length / INCH == pytest.approx(2.0)
    assert cap.over == "wall"
    # UFGS-07600, VA 07 52 16: at least 4 in onto the field, here past a cant of 3, laps of 3.
    assert (cap.width + cap.start.length) / INCH >= 4.0 + 3.0
    assert cap.lap / INCH == pytest.approx(3.0)


@pytest.mark.parametrize("assembly", ["self-adhered-membrane", "heat-applied-cap"])
def test_the_cap_covers_the_ply_on_the_field(assembly: str) -> None:
    ply, cap = strip(assembly, "parapet-ply"), strip(assembly, "parapet-cap")
    assert cap.width + cap.start.length >= ply.width + ply.start.length + 2 * INCH - 1e-9
    assert ply.lap / INCH == pytest.approx(3.0)


def test_the_lead_of_a_drain_is_30_in_square_and_covered_by_4() -> None:
    # Trade detail page on drains: 30 by 30 in, stripped in by 4 to 6 in past its rim.
    lead = CATALOG.material("drain-lead")
    assert (lead.width / INCH, lead.length / INCH) == pytest.approx((30.0, 30.0))
    assert strip("self-adhered-membrane", "drain-ply").width / INCH >= 30.0 + 2 * 4.0


def test_the_strip_at_a_pipe_is_counted_past_its_flange(alder_row: Project) -> None:
    # The flange is 12 in square, the strip 4 in past it: common practice, no source.
    flange = CATALOG.material("pipe-flashing-membrane").width
    rule = strip("self-adhered-membrane", "pipe-ply")
    assert rule.width / INCH == pytest.approx(flange / INCH + 2 * 4.0)
    laid = [one for one in alder_row.layout.strips if one.rule == "pipe-ply"]
    assert len(laid) == 1
    assert laid[0].width == pytest.approx(rule.width)


@pytest.mark.parametrize("name", ["coping", "coping-plate", "hook-strip", "scupper-box"])
def test_metal_is_no_thinner_than_flashing_must_be(name: str) -> None:
    assert CATALOG.material(name).thickness / INCH >= 0.019  # IRC R903.2.1


@pytest.fixture(scope="module")
def alder_row() -> Project:
    return build(load_spec(Path(__file__).parents[2] / "models" / "alder-row.toml"))


def test_the_transition_of_the_shipped_deck_is_where_its_file_says(alder_row: Project) -> None:
    # 12 + (22 + d)/48 = 12 + 2d/3, so d = 22/31 ft.
    edge = alder_row.roof.edge("shop.transition")
    assert edge.ends[0][1] / 0.3048 == pytest.approx(22 / 31, abs=1e-5)


def test_the_shipped_deck_drains_as_the_clauses_ask(alder_row: Project) -> None:
    codes = {finding.code for finding in alder_row.findings}
    assert "R3D-PONDING" in codes
    assert not codes & {
        "R3D-NO-OUTLET", "R3D-NO-OVERFLOW", "R3D-OVERFLOW-SILL", "R3D-SCUPPER-AREA",
        "R3D-SCUPPER-SIZE", "R3D-DRAIN-HIGH", "R3D-PARAPET-LOW",
    }  # fmt: skip
