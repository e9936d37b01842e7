"""Heights of sheets laid on one another."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from roof3d.details.shapes.drape import SHEET_RAMP, bare, lay

EIGHTHS = st.integers(-64, 64).map(lambda k: k / 8)
REACHES = st.lists(
    st.tuples(EIGHTHS, EIGHTHS).filter(lambda r: r[1] - r[0] >= 0.5), min_size=1, max_size=6
)


def test_a_sheet_on_a_bare_deck_is_as_high_as_it_is_thick() -> None:
    laid, ground = lay(bare(-10.0, 10.0), (-3.0, 4.0), (0.5, 0.5))
    assert laid.at.tolist() == [-3.0, 0.0, 4.0]
    assert laid.under.tolist() == [0.0, 0.0, 0.0]
    assert [ground.top(s) for s in (-4.0, -3.0, 0.0, 4.0, 5.0)] == [0.0, 0.5, 0.5, 0.5, 0.0]


def test_a_second_sheet_comes_down_from_the_edge_by_the_ramp() -> None:
    _, ground = lay(bare(0.0, 20.0), (0.0, 8.0), (0.4, 0.4))
    laid, _ = lay(ground, (5.0, 15.0), (0.4, 0.4))
    assert laid.at.tolist() == pytest.approx([5.0, 8.0, 8.0 + 0.4 * SHEET_RAMP, 15.0])
    assert laid.under.tolist() == pytest.approx([0.4, 0.4, 0.0, 0.0])


@given(REACHES)
def test_a_sheet_never_dips_into_what_lies_below(reaches: list[tuple[float, float]]) -> None:
    ground = bare(-8.0, 8.0)
    for reach in reaches:
        laid, after = lay(ground, reach, (0.25, 0.125))
        places = np.linspace(reach[0] + 1e-6, reach[1] - 1e-6, 97)
        under = np.interp(places, laid.at, laid.under)
        below = np.array([ground.top(float(s)) for s in places])
        assert (under - below).min() > -1e-6
        inside = np.clip(np.concatenate((laid.at - 1e-6, laid.at + 1e-6)), places[0], places[-1])
        gaps = [np.interp(s, laid.at, laid.under) - ground.top(float(s)) for s in inside]
        assert min(gaps) < 1e-5
        assert list(after.at) == sorted(after.at)
        ground = after
