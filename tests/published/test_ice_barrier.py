"""How far an ice barrier runs up the slope, against the clause and worked examples.

IRC R905.1.2: from the lowest edge to at least 24 in inside the exterior wall line, measured
level; at 8:12 and steeper also at least 36 in along the slope in the editions 2015 to 2021
(read on a secondary page), no longer in 2024 (read). Which edition the 24 in were read in
is from memory.
"""

from __future__ import annotations

import pytest

from roof3d.catalog.laying import Border
from roof3d.layout.borders.ice import ice_reach, ice_rule
from roof3d.layout.model import Side
from tests.unit.layout.borders.shipped_planes import INCH, plane


def reach(overhang: float, rise: float, code: str) -> float:
    """Inches along the slope, for an overhang in inches and a rise in 12."""
    eave = Side(
        border=Border.EAVE,
        edge="m.eave",
        start=(0.0, 0.0),
        end=(1.0, 0.0),
        overhang=overhang * INCH,
    )
    return ice_reach(eave, rise / 12.0, ice_rule(code)) / INCH


@pytest.mark.parametrize("code", ["IRC 2015", "IRC 2018", "IRC 2021", "IRC 2024"])
def test_one_roll_is_not_enough_at_6_in_12_with_a_foot_of_overhang(code: str) -> None:
    # (12 + 24) x 1.11803 = 40.25 in (derived).
    assert reach(12.0, 6.0, code) == pytest.approx(40.25, abs=0.005)


@pytest.mark.parametrize(
    ("code", "inches"),
    [("IRC 2015", 36.0), ("IRC 2018", 36.0), ("IRC 2021", 36.0), ("IRC 2024", 28.84)],
)
def test_36_in_along_the_slope_at_8_in_12_until_2021(code: str, inches: float) -> None:
    # No overhang: 24 x 1.20185 = 28.84 in (derived), and the clause asks for 36.
    assert reach(0.0, 8.0, code) == pytest.approx(inches, abs=0.005)


def test_just_below_8_in_12_the_wall_line_alone_decides() -> None:
    assert reach(0.0, 7.99, "IRC 2018") == pytest.approx(28.83, abs=0.005)


def test_where_the_wall_line_lies_further_up_it_decides_at_8_in_12_too() -> None:
    # (12 + 24) x 1.20185 = 43.27 in (derived).
    assert reach(12.0, 8.0, "IRC 2018") == pytest.approx(43.27, abs=0.005)


def test_the_overhang_is_found_on_the_roof() -> None:
    # The porch house: 16 in of overhang at 6:12, (16 + 24) x 1.11803 = 44.72 in (derived).
    north = plane("lantern-street", "main.north")
    (eave,) = (side for side in north.sides if side.border is Border.EAVE)
    found = ice_reach(eave, north.plane.slope, ice_rule("IRC 2018")) / INCH
    assert found == pytest.approx(44.72, abs=0.005)
