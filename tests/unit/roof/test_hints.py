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


@pytest.mark.parametrize("eave", [2.9, 4.0])
def test_a_porch_drawn_only_to_the_wall_stands_in_the_way_of_water(eave: float) -> None:
    """Its back wall is 6 m long and stands up above the main roof's eave."""
    (hint,) = porch(3.0, eave)
    assert (hint.code, hint.where) == ("R3D-BACKWALL", "edges[main.headwall]")
    assert "main.south drains against a wall along 6.000 m" in hint.message


@pytest.mark.parametrize(
    ("depth", "eave"),
    [
        (4.0, 2.9),  # runs into the main roof
        (3.0, 2.2),  # dies into the wall below the eave
    ],
)
def test_porches_that_say_what_they_mean_get_no_hint(depth: float, eave: float) -> None:
    assert porch(depth, eave) == ()


def in_line(aside: str, eave: str = "3 m") -> tuple[Finding, ...]:
    """Two gables in line, the second a little to the side or up."""
    wing = HOUSE.split("[[section]]")[1].replace('"main"', '"wing"').replace("3 m", eave)
    wing = wing.replace('["0 m", "0 m"]', f'["11 m", "{aside} mm"]')
    return build_roof(parse_spec(f"{HOUSE}[[section]]{wing}"))[1]


def test_a_wing_drawn_millimetres_off_is_told_of_its_crumbs() -> None:
    findings = in_line("9")
    crumbs = [finding for finding in findings if finding.code == "R3D-CRUMB"]
    assert crumbs
    assert all("sliver" in f.message or "mm long" in f.message for f in crumbs)


def test_a_wing_off_by_less_than_the_weld_is_moved_and_that_is_told() -> None:
    (note,) = in_line("4")
    assert (note.code, note.severity) == ("R3D-WELD", "note")
    assert "its walls were moved by up to 4.0 mm" in note.message


def test_a_section_of_which_nothing_is_left_is_told() -> None:
    again = HOUSE.split("[[section]]")[1].replace('"main"', '"again"')
    (hint,) = build_roof(parse_spec(f"{HOUSE}[[section]]{again}"))[1]
    assert (hint.code, hint.where) == ("R3D-BURIED", 'section "again"')


def test_a_valley_without_fall_is_told() -> None:
    """Two sheds that fall toward each other and meet at one height along y = 0."""
    shed = """
[[section]]
id = "{name}"
form = "shed"
length = "6 m"
width = "4 m"
at = {at}
turn = "{turn} deg"
eave = "3 m"
pitch = "2:12"
overhang = "0 m"
"""
    text = HOUSE.split("[[section]]", maxsplit=1)[0]
    text += shed.format(name="a", at='["0 m", "0 m"]', turn=0)
    text += shed.format(name="b", at='["6 m", "0 m"]', turn=180)
    (hint,) = build_roof(parse_spec(text))[1]
    assert (hint.code, hint.where) == ("R3D-LEVEL-VALLEY", "edges[b.valley]")
    assert "level over 6.000 m" in hint.message


def test_a_shed_that_falls_to_the_house_is_told_where_water_stands() -> None:
    """Its low side lies against the taller house's north wall."""
    text = f"""{HOUSE}
[[section]]
id = "addition"
form = "shed"
length = "6 m"
width = "4 m"
at = ["3 m", "8 m"]
eave = "2 m"
pitch = "2:12"
overhang = "0 m"
"""
    findings = build_roof(parse_spec(text))[1]
    assert [(f.code, f.where) for f in findings] == [("R3D-BACKWALL", "edges[addition.headwall]")]
