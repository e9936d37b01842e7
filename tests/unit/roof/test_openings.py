"""What goes through the roof: its rim, the planes it cuts, the lines it interrupts."""

from __future__ import annotations

import math

import pytest

from roof3d.errors import GeometryError
from roof3d.roof.build import build_roof
from roof3d.roof.model import Roof
from roof3d.spec.read import parse_spec

HOUSE = """
schema = 1
name = "one"
units = "metric"
[[section]]
id = "m"
form = "gable"
length = "12 m"
width = "8 m"
at = ["0 m", "0 m"]
eave = "3 m"
pitch = "50 %"
overhang = "0 m"
"""
FACTOR = math.sqrt(1.25)


def with_opening(kind: str, at: tuple[float, float], size: str, rest: str = "") -> Roof:
    text = f"""{HOUSE}
[[opening]]
id = "o"
kind = "{kind}"
at = ["{at[0]} m", "{at[1]} m"]
{size}
height = "1 m"
{rest}
"""
    return build_roof(parse_spec(text))[0]


def test_rim_of_a_skylight_is_two_level_and_two_sloping_sides() -> None:
    roof = with_opening("skylight", (3.0, 2.0), 'size = ["1 m", "0.6 m"]')
    (opening,) = roof.openings
    assert opening.planes == ("m.south",)
    assert opening.perimeter == pytest.approx(2.0 + 2 * 0.6 * FACTOR, abs=1e-9)
    assert opening.width_across == pytest.approx(1.0, abs=1e-12)


def test_an_opening_is_a_clockwise_hole_and_leaves_the_plane_that_much_smaller() -> None:
    roof = with_opening("skylight", (3.0, 2.0), 'size = ["1 m", "0.6 m"]')
    plane = roof.plane("m.south")
    assert plane.plan_area == pytest.approx(48.0 - 0.6, abs=1e-9)
    (hole,) = plane.holes
    area = sum(
        (a[0] * b[1] - b[0] * a[1]) / 2.0 for a, b in zip(hole, (*hole[1:], hole[0]), strict=True)
    )
    assert area == pytest.approx(-0.6, abs=1e-9)


def test_chimney_astride_the_ridge_cuts_both_planes_and_the_ridge() -> None:
    roof = with_opening("chimney", (6.0, 4.0), 'size = ["1 m", "0.6 m"]')
    (opening,) = roof.openings
    assert opening.planes == ("m.south", "m.north")
    assert opening.perimeter == pytest.approx(2.0 + 4 * 0.3 * FACTOR, abs=1e-9)
    ridges = [edge.length for edge in roof.edges if edge.role == "ridge"]
    assert ridges == pytest.approx([5.5, 5.5], abs=1e-9)


def test_top_counts_from_the_highest_point_of_the_rim() -> None:
    roof = with_opening("chimney", (3.0, 2.0), 'size = ["1 m", "0.6 m"]')
    assert roof.openings[0].top == pytest.approx(3.0 + 2.3 * 0.5 + 1.0, abs=1e-9)


def test_pipe_takes_the_area_of_its_circle() -> None:
    roof = with_opening("pipe", (3.0, 2.0), 'diameter = "100 mm"')
    assert roof.openings[0].plan_area == pytest.approx(math.pi * 0.05**2, rel=1e-6)


def test_chimney_on_the_gable_wall_interrupts_the_rake() -> None:
    roof = with_opening("chimney", (0.0, 2.0), 'size = ["1 m", "0.6 m"]')
    rakes = sorted(
        e.plan_length for e in roof.edges if e.planes == ("m.south",) and e.role == "rake"
    )
    assert rakes == pytest.approx([1.7, 1.7, 4.0], abs=1e-9)


def test_opening_off_the_roof_is_refused_by_name() -> None:
    with pytest.raises(
        GeometryError, match=r'opening "o"\.at.*30\.000 m east and 2\.000 m north, is not on'
    ):
        with_opening("pipe", (30.0, 2.0), 'diameter = "100 mm"')
