"""The measure document: fixed keys, SI numbers in full, one truth with the model."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from roof3d.catalog.load import load_catalog
from roof3d.errors import InvariantError
from roof3d.project import Project, build
from roof3d.roof.model import Kind, Role, Roof
from roof3d.rules.assembly import choose_assemblies
from roof3d.rules.check import check_roof
from roof3d.spec.read import load_spec
from roof3d.writers.measure_json import measure_document
from tests.model_text import Block, built
from tests.unit.rules.hand_roofs import make_edge, make_opening, make_plane, make_spec, porch_house

ALDER_ROW = Path(__file__).parents[2] / "models" / "alder-row.toml"

SCHEMA_KEYS = {
    "document": [
        "schema", "model", "units", "planes", "edges", "openings", "scuppers", "totals", "findings",
        "caution",
    ],
    "plane": [
        "id", "section", "kind", "pitch", "slope", "slope_deg", "azimuth_deg", "assembly",
        "plan_area_m2", "area_m2", "covered_plan_area_m2", "outline", "holes",
    ],
    "edge": [
        "id", "role", "length_m", "plan_length_m", "planes", "assembly_change", "convex",
        "wall_heights_m", "parapet", "ends",
    ],
    "opening": ["id", "kind", "planes", "perimeter_m", "plan_area_m2", "width_across_m"],
    "totals": [
        "plan_area_m2", "area_m2", "low_area_m2", "steep_area_m2", "eave_m", "rake_m", "ridge_m",
        "hip_m", "valley_m", "transition_m", "pitch_break_m", "headwall_m", "sidewall_m",
        "high_edge_m", "assembly_change_m", "parapet_m", "coping_m",
    ],
    "finding": ["code", "severity", "where", "message", "source"],
}  # fmt: skip


def make_project(roof: Roof) -> Project:
    spec, catalog = make_spec(), load_catalog()
    choices = choose_assemblies(spec, roof, catalog)
    return Project(
        spec=spec,
        roof=roof,
        catalog=catalog,
        choices=choices,
        findings=check_roof(spec, roof, catalog, choices),
    )


@pytest.fixture
def document() -> dict[str, Any]:
    opening = replace(make_opening(1.0, "main.north"), plan_area=1.5)
    return measure_document(make_project(replace(porch_house(), openings=(opening,))))


def test_keys_are_the_fixed_ones(document: dict[str, Any]) -> None:
    assert {
        "document": list(document),
        "plane": list(document["planes"][0]),
        "edge": list(document["edges"][0]),
        "opening": list(document["openings"][0]),
        "totals": list(document["totals"]),
        "finding": list(document["findings"][0]),
    } == SCHEMA_KEYS


def test_json_gives_every_number_back_to_the_last_bit(document: dict[str, Any]) -> None:
    assert json.loads(json.dumps(document, allow_nan=False)) == document


def test_head_names_schema_model_and_units(document: dict[str, Any]) -> None:
    head = [document[key] for key in ("schema", "model", "units")]
    assert head == ["roof3d.measure/1", "Pear Tree Corner", "imperial"]


def test_plane_is_told_as_by_hand(document: dict[str, Any]) -> None:
    assert document["planes"][2] == {
        "id": "porch.south",
        "section": "porch",
        "kind": "low",
        "pitch": "1:12",
        "slope": 1 / 12,
        # atan(1/12), by a trigonometric table 4.76 degrees
        "slope_deg": pytest.approx(4.7636, abs=5e-5),
        "azimuth_deg": 180.0,
        "assembly": "self-adhered-membrane",
        "plan_area_m2": 12.0,
        "area_m2": 12 * math.sqrt(1 + (1 / 12) ** 2),
        "covered_plan_area_m2": 0.0,
        "outline": [
            [3, -2, 3 - 2 / 12],
            [9, -2, 3 - 2 / 12],
            [9, 0, 3],
            [3, 0, 3],
        ],
        "holes": [],
    }


def test_transition_is_told_as_by_hand(document: dict[str, Any]) -> None:
    (edge,) = [edge for edge in document["edges"] if edge["role"] == "transition"]
    assert edge == {
        "id": "porch.transition",
        "role": "transition",
        "length_m": 6.0,
        "plan_length_m": 6.0,
        "planes": ["main.south", "porch.south"],
        "assembly_change": True,
        "convex": False,
        "wall_heights_m": None,
        "parapet": None,
        "ends": [[3.0, 0.0, 3.0], [9.0, 0.0, 3.0]],
    }


def test_sloping_edge_at_a_wall_is_told_as_by_hand() -> None:
    # plan 3-4-5, in space 5-12-13
    edge = make_edge("main.sidewall", Role.SIDEWALL, ((0, 0, 0), (3, 4, 12)), "main.south")
    edge = replace(edge, convex=True, wall_heights=(2.0, 0.5))
    document = measure_document(make_project(replace(porch_house(), edges=(edge,))))
    assert document["edges"] == [
        {
            "id": "main.sidewall",
            "role": "sidewall",
            "length_m": 13.0,
            "plan_length_m": 5.0,
            "planes": ["main.south"],
            "assembly_change": False,
            "convex": True,
            "wall_heights_m": [2.0, 0.5],
            "parapet": None,
            "ends": [[0.0, 0.0, 0.0], [3.0, 4.0, 12.0]],
        }
    ]


def test_opening_is_told_as_by_hand(document: dict[str, Any]) -> None:
    assert document["openings"] == [
        {
            "id": "stack",
            "kind": "chimney",
            "planes": ["main.north"],
            "perimeter_m": 4.0,
            "plan_area_m2": 1.5,
            "width_across_m": 1.0,
        }
    ]


def test_holes_are_told() -> None:
    hole = ((4.0, 1.0, 3.5), (4.0, 2.0, 4.0), (5.0, 2.0, 4.0), (5.0, 1.0, 3.5))
    roof = porch_house()
    planes = (replace(roof.planes[0], holes=(hole,)), *roof.planes[1:])
    document = measure_document(make_project(replace(roof, planes=planes)))
    assert document["planes"][0]["holes"] == [[list(point) for point in hole]]


@pytest.mark.parametrize(
    ("gradient", "azimuth"),
    [
        ((0.0, 0.5), 180.0),
        ((0.0, -0.5), 0.0),
        ((-0.5, 0.0), 90.0),
        ((0.5, 0.0), 270.0),
        ((-0.5, -0.5), 45.0),
        ((0.0, 0.0), None),
        # a hair west of north; the remainder by 360 rounds up to 360 itself
        ((1e-17, -0.5), 0.0),
    ],
)
def test_azimuth_runs_clockwise_from_north_below_360(
    gradient: tuple[float, float], azimuth: float | None
) -> None:
    plane = make_plane("main.x", (0, 0, 1, 1), gradient)
    document = measure_document(make_project(Roof(planes=(plane,), edges=(), openings=())))
    assert document["planes"][0]["azimuth_deg"] == azimuth


def test_totals_are_the_sums_of_what_is_listed(document: dict[str, Any]) -> None:
    totals = document["totals"]
    lengths = {
        name: math.fsum(
            edge["length_m"] for edge in document["edges"] if f"{edge['role']}_m" == name
        )
        for name in SCHEMA_KEYS["totals"][4:-3]
    }
    areas = {
        f"{kind}_area_m2": math.fsum(
            plane["area_m2"] for plane in document["planes"] if plane["kind"] == kind
        )
        for kind in Kind
    }
    assert {name: totals[name] for name in lengths | areas} == lengths | areas


def test_finding_is_told_with_its_source(document: dict[str, Any]) -> None:
    # the chimney is 1 m wide across the slope; IRC R903.2.2: wider than 30 in
    (finding,) = document["findings"]
    assert (finding["code"], finding["severity"], finding["where"], finding["source"]) == (
        "R3D-CRICKET",
        "caution",
        "openings[stack]",
        "IRC 2018, R903.2.2 (edition from memory)",
    )


def test_cautions_are_carried(document: dict[str, Any]) -> None:
    assert [line.split(":")[0] for line in document["caution"][:3]] == [
        "Falls kill",
        "Ladder",
        "Hot tools",
    ]


@pytest.mark.parametrize("number", [math.nan, math.inf, -math.inf])
def test_number_that_is_not_finite_is_our_bug_and_named(number: float) -> None:
    roof = porch_house()
    broken = replace(roof.planes[1], covered_plan_area=number)
    project = make_project(roof)
    project = replace(project, roof=replace(roof, planes=(roof.planes[0], broken, roof.planes[2])))
    with pytest.raises(InvariantError, match=r"planes\[1\]\.covered_plan_area_m2"):
        measure_document(project)


def test_same_project_gives_the_same_bytes() -> None:
    first, second = (
        json.dumps(measure_document(make_project(porch_house()))).encode() for _ in range(2)
    )
    assert first == second


@pytest.mark.parametrize(
    ("rise", "pitch", "kind"),
    [(2.0, "2:12", "steep"), (1.999, "1.999:12", "low"), (1.9999, "1.9999:12", "low")],
)
def test_pitch_near_the_cutoff_agrees_with_the_kind(rise: float, pitch: str, kind: str) -> None:
    document = measure_document(built(Block(length=12, width=8, pitch=rise / 12)))
    told = {(plane["pitch"], plane["kind"]) for plane in document["planes"]}
    assert told == {(pitch, kind)}


def test_parapets_and_scuppers_are_told_and_summed() -> None:
    project = build(load_spec(ALDER_ROW))
    document = measure_document(project)
    walls = [edge["parapet"] for edge in document["edges"] if edge["parapet"]]
    # 30 ft of street, twice 22 ft to the hall and 8 1/2 in more to the transition.
    inches = [round(wall["coping_m"] / 0.0254, 1) for wall in walls]
    assert sorted(inches) == [272.5, 272.5, 360.0]
    assert document["totals"]["coping_m"] == pytest.approx(sum(w["coping_m"] for w in walls))
    assert document["totals"]["parapet_m"] == pytest.approx(
        sum(edge["length_m"] for edge in document["edges"] if edge["parapet"])
    )
    assert [wall["thickness_m"] for wall in walls] == pytest.approx([8 * 0.0254] * 3)
    (scupper,) = document["scuppers"]
    assert scupper["edge"] == "shop.headwall"
    assert scupper["overflow"] is True
    assert scupper["sill_m"] == pytest.approx(2 * 0.0254)
