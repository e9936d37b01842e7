"""Models that may not say what their author meant."""

from __future__ import annotations

import pytest

from roof3d.errors import Finding
from roof3d.roof.build import build_roof
from roof3d.spec.read import parse_spec

HOUSE = """
schema = 1
name = "hints"
units = "metric"
[[section]]
id = "main"
form = "gable"
length = "12 m"
width = "8 m"
at = ["0 m", "0 m"]
eave = "3 m"
pitch = "50 %"
overhang = "0.3 m"
"""


def porch(depth: float, eave: float = 2.9) -> tuple[Finding, ...]:
    text = f"""{HOUSE}
[[section]]
id = "porch"
form = "shed"
length = "6 m"
width = "{depth} m"
at = ["3 m", "-3 m"]
eave = "{eave} m"
pitch = "1:12"
overhang = "0 m"
"""
    return build_roof(parse_spec(text))[1]


def test_a_porch_drawn_only_to_the_wall_is_told_to_go_on() -> None:
    """Its top is at 2.9 + 3/12 = 3.15 m, the main roof at 3 m: 0.15 m short."""
    (hint,) = porch(3.0)
    assert (hint.code, hint.where) == ("R3D-STOPS-SHORT", "edges[porch.high_edge]")
    assert "hangs 0.15 m above main.south" in hint.message


@pytest.mark.parametrize(
    ("depth", "eave"),
    [
        (4.0, 2.9),  # runs into the main roof
        (3.0, 2.2),  # dies into the wall below the eave
        (3.0, 4.0),  # a storey of its own, well above the main roof
    ],
)
def test_porches_that_say_what_they_mean_get_no_hint(depth: float, eave: float) -> None:
    assert porch(depth, eave) == ()


def test_a_wing_drawn_a_few_millimetres_off_is_told_of_its_crumbs() -> None:
    """The same gable again in line, 5 mm to the side: its ends stick out 5 mm."""
    wing = HOUSE.split("[[section]]")[1].replace('"main"', '"wing"')
    wing = wing.replace('["0 m", "0 m"]', '["11 m", "0.005 m"]')
    findings = build_roof(parse_spec(f"{HOUSE}[[section]]{wing}"))[1]
    assert {finding.code for finding in findings} == {"R3D-CRUMB"}
    assert all("mm" in finding.message for finding in findings)
