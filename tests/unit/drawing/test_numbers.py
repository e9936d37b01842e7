"""Numbers of the layers: which leaders are in each other's way."""

from __future__ import annotations

import numpy as np
import pytest

from roof3d.drawing.marks.numbers import cross, crossings, uncross
from roof3d.drawing.model import Callout, Point


def number(name: str, centre: Point, anchor: Point) -> Callout:
    return Callout(layer=name, number=name, centre=centre, anchor=anchor, radius=2.0)


UPRIGHT = number("1", (0.0, 0.0), (0.0, 20.0))


@pytest.mark.parametrize(
    ("other", "met"),
    [
        (number("2", (10.0, 0.0), (10.0, 20.0)), False),
        (number("2", (-10.0, 0.0), (10.0, 20.0)), True),
        (number("2", (1.0, 10.0), (15.0, 10.0)), True),
        (number("2", (2.5, 10.0), (15.0, 10.0)), False),
    ],
)
def test_leaders_that_cross_or_run_through_a_disc_meet(other: Callout, *, met: bool) -> None:
    assert (cross(UPRIGHT, other), cross(other, UPRIGHT)) == (met, met)


def test_discs_on_one_another_are_no_crossing() -> None:
    assert not cross(UPRIGHT, number("2", (1.0, 0.0), (1.0, 20.0)))


def test_all_are_looked_at_together_as_each_pair_alone() -> None:
    marks = [number(str(k), (3.1 * k % 17, 0.0), (7.3 * k % 19, 20.0 + k)) for k in range(9)]
    alone = [[cross(one, two) for two in marks] for one in marks]
    together = crossings(marks, marks)
    assert np.array_equal(together, alone)
    assert 0 < together.sum() < together.size


def test_crossed_leaders_change_discs() -> None:
    crossed = (UPRIGHT, number("2", (10.0, 0.0), (-10.0, 20.0)))
    assert cross(*crossed)
    one, two = uncross(crossed)
    assert (one.centre, two.centre) == (crossed[1].centre, crossed[0].centre)
    assert not cross(one, two)
