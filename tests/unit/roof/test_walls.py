"""Where walls stand in plan."""

from __future__ import annotations

import math

import pytest
import shapely

from roof3d.roof.walls import wall_polygon
from roof3d.spec.model import SectionSpec
from roof3d.spec.read import parse_spec


def section(text: str) -> SectionSpec:
    return parse_spec(f'schema = 1\nname = "one"\nunits = "metric"\n{text}').sections[0]


RECTANGLE = """
[[section]]
id = "m"
form = "hip"
length = "4 m"
width = "3 m"
at = ["10 m", "2 m"]
turn = "{turn} deg"
eave = "3 m"
pitch = "50 %"
overhang = "50 cm"
"""


def test_walls_leave_the_overhang_out() -> None:
    walls = wall_polygon(section(RECTANGLE.format(turn=0)))
    assert walls.equals(shapely.box(10.0, 2.0, 14.0, 5.0))


def test_a_section_turns_about_its_first_corner() -> None:
    walls = wall_polygon(section(RECTANGLE.format(turn=30)))
    cos, sin = math.cos(math.pi / 6), math.sin(math.pi / 6)
    far = (10.0 + 4.0 * cos - 3.0 * sin, 2.0 + 4.0 * sin + 3.0 * cos)
    assert walls.exterior.coords[0] == (10.0, 2.0)
    assert walls.exterior.coords[2] == pytest.approx(far, abs=1e-12)
    assert walls.area == pytest.approx(12.0, abs=1e-12)


def test_courtyards_are_holes() -> None:
    walls = wall_polygon(
        section("""
[[section]]
id = "m"
form = "outline"
outline = [["0 m", "0 m"], ["12 m", "0 m"], ["12 m", "10 m"], ["0 m", "10 m"]]
courtyard = [[["4 m", "4 m"], ["4 m", "6 m"], ["6 m", "6 m"], ["6 m", "4 m"]]]
at = ["-1 m", "2 m"]
turn = "90 deg"
eave = "3 m"
pitch = "50 %"
overhang = "10 cm"
""")
    )
    # A quarter turn left: (x, y) -> (-1 - y, 2 + x).
    expected = shapely.box(-11.0, 2.0, -1.0, 14.0).difference(shapely.box(-7.0, 6.0, -5.0, 8.0))
    assert walls.equals(expected)
