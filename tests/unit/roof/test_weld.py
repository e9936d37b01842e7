"""Sections that nearly meet, made to meet."""

from __future__ import annotations

import math
from collections import defaultdict

import pytest

from roof3d.roof.build import build_roof
from roof3d.roof.model import Roof
from roof3d.spec.read import parse_spec


def block(name: str, **values: str) -> str:
    entries = {
        "form": "gable",
        "length": "12 m",
        "width": "8 m",
        "eave": "3 m",
        "pitch": "6:12",
        "overhang": "0.5 m",
        "turn": "0 deg",
        **values,
    }
    at = entries.pop("at", '["0 m", "0 m"]')
    lines = [f'{key} = "{value}"' for key, value in entries.items() if key != "assembly"]
    if "assembly" in entries:
        lines.append(f'assembly = "{entries["assembly"]}"')
    return "\n".join(["[[section]]", f'id = "{name}"', f"at = {at}", *lines, ""])


def built(*blocks: str) -> Roof:
    return build_roof(
        parse_spec("\n".join(["schema = 1", 'name = "w"', 'units = "metric"', *blocks]))
    )[0]


def sums(roof: Roof) -> dict[str, float]:
    found: dict[str, float] = defaultdict(float)
    for edge in roof.edges:
        found[edge.role.value] += edge.plan_length
    return {**found, "plan": sum(plane.plan_area for plane in roof.planes)}


IN_LINE = {"eave": 34.0, "rake": 18.0, "ridge": 17.0, "plan": 153.0}


@pytest.mark.parametrize(
    "second",
    [
        {"eave": "3.00005 m"},
        {"eave": "2.99995 m"},
        {"eave": "3.004 m"},
        {"pitch": "26.565 deg"},
        {"pitch": "26.57 deg"},
        {"pitch": "50.05 %"},
        {"at": '["12.001 m", "0 m"]'},
        {"at": '["11.997 m", "-0.002 m"]'},
        {"turn": "0.01 deg"},
        {"turn": "359.99 deg"},
    ],
    ids=str,
)
def test_two_gables_in_line_are_one_roof(second: dict[str, str]) -> None:
    more = {"at": '["12 m", "0 m"]', "length": "4 m", **second}
    assert sums(built(block("main"), block("more", **more))) == pytest.approx(IN_LINE, abs=0.03)


def test_an_l_of_hips_a_hair_apart_has_no_phantom_edges() -> None:
    wing = block("wing", form="hip", length="14 m", turn="90 deg", at='["8.0002 m", "0.001 m"]')
    expected = {"eave": 56.0, "ridge": 10.0, "hip": 31.82, "valley": 6.364, "plan": 171.0}
    assert sums(built(block("main", form="hip"), wing)) == pytest.approx(expected, abs=0.03)


def test_corners_typed_to_the_millimetre_on_a_turned_house_meet() -> None:
    main = block("main", turn="30 deg")
    more = block("more", turn="30 deg", length="4 m", at='["10.392 m", "6.000 m"]')
    assert sums(built(main, more)) == pytest.approx(IN_LINE, abs=0.03)


def test_a_step_of_two_centimetres_is_a_step() -> None:
    more = block("more", at='["12 m", "0 m"]', length="4 m", eave="3.02 m")
    assert sums(built(block("main"), more))["rake"] == pytest.approx(36.0, abs=0.03)


def test_one_plane_under_two_coverings_parts_where_they_meet() -> None:
    more = block("more", at='["12 m", "0 m"]', length="4 m", assembly="self-adhered-membrane")
    roof = built(block("main"), more)
    assert [plane.id for plane in roof.planes] == [
        "main.south",
        "main.north",
        "more.south",
        "more.north",
    ]
    parted = [edge for edge in roof.edges if edge.role == "pitch_break"]
    assert [edge.planes for edge in parted] == [
        ("main.south", "more.south"),
        ("main.north", "more.north"),
    ]
    assert sum(edge.length for edge in parted) == pytest.approx(9.0 * math.sqrt(1.25), abs=1e-6)
