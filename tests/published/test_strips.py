"""Strips and flashings against printed sizes; each source stands beside its check."""

from __future__ import annotations

import numpy as np
import pytest

from roof3d.catalog.load import load_catalog
from roof3d.layout.strips.flashing import (
    cricket_size,
    cricket_valley,
    load_flashing_rule,
    valley_clear_width,
)
from roof3d.layout.strips.run import course_pieces, run_pieces
from roof3d.spec.model import LayoutSpec
from tests.model_text import Block, built
from tests.unit.layout.strip_cases import FOOT, INCH, strips_of


# A bundle of 27 three-tab strips, each cut in three: 81 pieces that show 5 in each reach
# 33.75 ft (derived: 81 x 5 in).
def test_a_bundle_of_three_tab_strips_caps_33_75_ft_of_ridge() -> None:
    sizes = {"piece": 12 * INCH, "lap": 7 * INCH, "after": 7 * INCH}
    assert len(run_pieces(33.75 * FOOT, **sizes)) == 27 * 3  # type: ignore[arg-type]
    assert len(run_pieces(33.75 * FOOT + INCH / 16, **sizes)) == 82  # type: ignore[arg-type]


# Hip and ridge: pieces = length / exposure rounded up, and one more (common practice, no source).
@pytest.mark.parametrize(("feet", "count"), [(10.0, 25), (20.0, 49), (20.5, 51)])
def test_a_ridge_takes_a_piece_each_5_inches_and_one_more(feet: float, count: int) -> None:
    roof = built(Block(length=feet, width=24.0), unit="ft").roof
    strips, _ = strips_of(roof)
    assert len(strips["house.ridge/ridge"].pieces) == count


# Drip edge laps at least 2 in: IRC R905.2.8.5.
def test_drip_edge_laps_2_inches_on_every_eave_and_rake() -> None:
    laps = load_catalog().material("drip-edge").end_lap
    assert laps == pytest.approx(2 * INCH)
    strips, _ = strips_of(built(Block(length=60.0, width=40.0), unit="ft").roof)
    metals = [strip for strip in strips.values() if strip.material == "drip-edge"]
    assert len(metals) == 6
    for metal in metals:
        assert metal.pieces[:-1, 1] - metal.pieces[1:, 0] == pytest.approx(
            np.full(len(metal.pieces) - 1, laps)
        )
        assert (metal.pieces[:, 1] - metal.pieces[:, 0]).max() <= 10 * FOOT + 1e-9
    # 60 ft from 10 ft lengths that gain 9 ft 10 in each: 7, not 6.
    assert len(strips["house.eave/edge-metal"].pieces) == 7


# Step flashing: 2 in head lap (public guide specification for one, IRC R905.2.8.3 for its legs),
# one piece a course; so 7 in long at 5 in exposure, overlapping exactly 2 in (derived).
def test_step_flashing_is_one_a_course_7_inches_long_with_2_inches_overlap() -> None:
    steps = course_pieces(20 * 5 * INCH, rise=20 * 5 * INCH, exposure=5 * INCH, lap=2 * INCH)
    assert len(steps) == 20
    assert steps[:, 1] - steps[:, 0] == pytest.approx(np.full(20, 7 * INCH))
    assert steps[:-1, 1] - steps[1:, 0] == pytest.approx(np.full(19, 2 * INCH))


# Cricket behind what is wider than 30 in across the slope: IRC R903.2.2. Height half the width
# times the slope: IRC Table R1003.20 (from memory). W 36 in at 6:12: 9.0 in high, 18 in back in
# plan, 20.12 in along the slope (derived).
def test_cricket_of_a_36_inch_chimney_at_6_in_12() -> None:
    height, back, up_slope = (size / INCH for size in cricket_size(36 * INCH, 6 / 12))
    assert (height, back) == pytest.approx((9.0, 18.0))
    assert up_slope == pytest.approx(20.12, abs=0.005)
    assert cricket_valley(36 * INCH, 6 / 12) / INCH == pytest.approx(27.0)  # derived
    assert load_flashing_rule().cricket_wider_than / INCH == pytest.approx(30.0)


# IRC Table R1003.20 (from memory): height as a share of the width.
@pytest.mark.parametrize(
    ("rise", "share"), [(12, 1 / 2), (8, 1 / 3), (6, 1 / 4), (4, 1 / 6), (3, 1 / 8)]
)
def test_cricket_height_is_the_printed_share_of_the_width(rise: int, share: float) -> None:
    assert cricket_size(1.0, rise / 12)[0] == pytest.approx(share)


# Open valley: 6 in clear at the top, 1/8 in more each foot down: shingle makers' association
# manual, 2006.
@pytest.mark.parametrize(("feet", "inches"), [(0, 6.0), (8, 7.0), (24, 9.0)])
def test_open_valleys_widen_by_an_eighth_of_an_inch_a_foot(feet: int, inches: float) -> None:
    assert valley_clear_width(feet * FOOT) / INCH == pytest.approx(inches)


# Valley metal 24 in, lining of a closed valley 36 in: IRC R905.2.8.2 and its item 3.
def test_valley_metal_is_24_and_lining_36_inches_wide() -> None:
    rule = load_flashing_rule()
    assert (rule.valley_metal / INCH, rule.valley_lining / INCH) == pytest.approx((24.0, 36.0))
    dormer = Block(id="wing", length=6.0, width=5.0, at=(8.5, -3.0), turn=90.0)
    roof = built(Block(length=12.0, width=8.0), dormer).roof
    strips, _ = strips_of(roof, layout=LayoutSpec())
    widths = {s.rule: s.width for s in strips.values() if s.rule.startswith("valley-")}
    assert widths == pytest.approx(
        {"valley-lining": rule.valley_lining, "valley-metal": rule.valley_metal}
    )
