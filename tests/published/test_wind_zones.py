"""Width of the wind zones by the printed rules, on roofs worked by hand.

The numbers of the examples are derived from the rule; only the rule is printed.
"""

from __future__ import annotations

import math

import pytest

from roof3d.layout.zones import zone_width
from roof3d.spec.model import SiteSpec, Zones
from tests.model_text import FOOT, Block, built

SLOPED = SiteSpec(zones=Zones.ASCE_7_10)
LOW = SiteSpec(zones=Zones.ASCE_7_16)


def width_in_feet(site: SiteSpec, block: Block, slope: float, ground: float = 0.0) -> float:
    roof = built(block, unit="ft").roof
    return zone_width(site, roof, slope=slope, ground=ground * FOOT) / FOOT


# ASCE 7-02 (read): a is the smaller of 10 per cent of the least horizontal dimension and 0.4 h,
# but not less than 4 per cent of it nor 3 ft.
@pytest.mark.parametrize(
    ("length", "width", "eave", "pitch", "expected"),
    [
        # 60 x 40 ft, 6:12: ridge 10 ft over the eave at 10, h 15; 4 against 6: 4 ft.
        (60, 40, 10, 0.5, 4.0),
        # 30 x 20 ft: 2 against 5: raised to 3 ft.
        (30, 20, 10, 0.5, 3.0),
        # 300 x 200 ft, 1/2:12 (2.4 degrees, so h is the eave's 12): 20 against 4.8, and 4 per
        # cent is 8.
        (300, 200, 12, 1 / 24, 8.0),
        # 200 x 100 ft, 1/2:12, eave at 20: 10 against 8: 8 ft.
        (200, 100, 20, 1 / 24, 8.0),
    ],
)
def test_width_a(length: float, width: float, eave: float, pitch: float, expected: float) -> None:
    block = Block(length=length, width=width, eave=eave, pitch=pitch)
    assert width_in_feet(SLOPED, block, pitch) == pytest.approx(expected, rel=1e-9)


# ASCE 7-16 fig. 30.3-2A (from memory): to 7 degrees strips 0.6 h wide, from the height alone.
def test_a_low_slope_by_height_alone() -> None:
    block = Block(length=300, width=200, eave=12, pitch=1 / 24)
    assert width_in_feet(LOW, block, 1 / 24) == pytest.approx(7.2, rel=1e-9)
    # A roof that starts 2 ft up the hill is 10 ft high.
    assert width_in_feet(LOW, block, 1 / 24, ground=2) == pytest.approx(6.0, rel=1e-9)


def test_a_steeper_slope_keeps_the_width_a() -> None:
    block = Block(length=60, width=40, eave=10, pitch=0.5)
    assert width_in_feet(LOW, block, 0.5) == width_in_feet(SLOPED, block, 0.5)
    just_low = math.tan(math.radians(6.99))
    assert width_in_feet(LOW, block, just_low) == pytest.approx(0.6 * 15, rel=1e-9)
