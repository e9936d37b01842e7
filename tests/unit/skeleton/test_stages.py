"""Fronts that change their speed on the way up, and decks that cut the roof."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

import pytest

from roof3d.geometry.polygon import signed_area
from roof3d.skeleton.assembly import RoofNet
from roof3d.skeleton.faces import Stage, solve
from roof3d.skeleton.outline import read_outline
from roof3d.tolerance import DEFAULT

RECTANGLE = ((0.0, 0.0), (12.0, 0.0), (12.0, 8.0), (0.0, 8.0))
ELL = ((0.0, 0.0), (10.0, 0.0), (10.0, 6.0), (6.0, 6.0), (6.0, 12.0), (0.0, 12.0))
UPRIGHT = float("inf")
both = pytest.mark.parametrize("exact", [False, True], ids=["floats", "fractions"])


def net(
    ring: Sequence[tuple[float, float]],
    slopes: Sequence[float],
    stages: Sequence[Stage] = (),
    cap: Fraction | None = None,
    *,
    exact: bool,
) -> RoofNet:
    outline = read_outline([ring], [list(slopes)], tol=DEFAULT)
    return solve(outline, stages, cap, exact=exact, tol=DEFAULT)


def plan_areas(found: RoofNet) -> list[float]:
    return [
        sum(signed_area([found.nodes[v][:2] for v in ring]) for ring in face)
        for face in found.faces
    ]


def top(found: RoofNet) -> float:
    return max(z for _, _, z in found.nodes)


@both
def test_steep_below_flat_above_on_all_sides(exact: bool) -> None:  # noqa: FBT001
    """2:1 up to 2 m (1 m in), then 1:2 over the 10 x 6 m left: 3 m in, 1.5 m more."""
    stages = [Stage(height=Fraction(2), edge=k, run=Fraction(2)) for k in range(4)]
    found = net(RECTANGLE, [2.0] * 4, stages, exact=exact)
    assert plan_areas(found) == pytest.approx([11, 7, 11, 7, 21, 9, 21, 9], abs=1e-9)
    assert top(found) == pytest.approx(3.5, abs=1e-9)


@both
def test_gable_that_leans_back_from_a_height(exact: bool) -> None:  # noqa: FBT001
    """Upright to 1 m, then 1:1; the ridge at 2 m starts 1 m in: a triangle 4 m by 1 m."""
    stages = [Stage(height=Fraction(1), edge=1, run=Fraction(1))]
    found = net(RECTANGLE, [0.5, UPRIGHT, 0.5, UPRIGHT], stages, exact=exact)
    assert plan_areas(found) == pytest.approx([47, 0, 47, 0, 2], abs=1e-9)


@both
def test_hip_that_stands_up_from_a_height(exact: bool) -> None:  # noqa: FBT001
    """1:2 to 1 m is 2 m in: a trapezoid 8 and 4 m wide."""
    stages = [Stage(height=Fraction(1), edge=1, run=Fraction(0))]
    found = net(RECTANGLE, [0.5] * 4, stages, exact=exact)
    assert plan_areas(found)[1] == pytest.approx(12.0, abs=1e-9)
    assert plan_areas(found)[4] == pytest.approx(0.0, abs=1e-9)
    assert top(found) == pytest.approx(2.0, abs=1e-9)


@both
def test_cap_leaves_a_deck(exact: bool) -> None:  # noqa: FBT001
    """At 1 m every side of the L is 2 m in: 6 x 2 and 2 x 6 m, 24 m2 in all."""
    found = net(ELL, [0.5] * 6, cap=Fraction(1), exact=exact)
    (deck,) = found.deck
    assert signed_area([found.nodes[v][:2] for v in deck]) == pytest.approx(24.0, abs=1e-9)
    assert top(found) == pytest.approx(1.0, abs=1e-12)


@both
def test_change_and_cap_above_the_ridge_change_nothing(exact: bool) -> None:  # noqa: FBT001
    plain = net(RECTANGLE, [0.5] * 4, exact=exact)
    stages = [Stage(height=Fraction(5), edge=0, run=Fraction(1))]
    other = net(RECTANGLE, [0.5] * 4, stages, Fraction(6), exact=exact)
    assert plan_areas(other)[:4] == pytest.approx(plan_areas(plain), abs=1e-12)
    assert other.deck == []


NOTCHED = (
    (0.0, 0.0),
    (20.0, 0.0),
    (20.0, 12.0),
    (13.0, 12.0),
    (13.0, 3.0),
    (7.0, 3.0),
    (7.0, 12.0),
    (0.0, 12.0),
)


@both
@pytest.mark.parametrize("ring", [RECTANGLE, ELL, NOTCHED], ids=["rectangle", "ell", "notched"])
def test_a_change_to_the_same_slope_changes_nothing(
    ring: tuple[tuple[float, float], ...],
    exact: bool,  # noqa: FBT001
) -> None:
    """In the notched one the reflex corners, made anew at the change, still split the front."""
    count = len(ring)
    plain = plan_areas(net(ring, [0.5] * count, exact=exact))
    stages = [Stage(height=Fraction(1, 4), edge=k, run=Fraction(2)) for k in range(count)]
    found = plan_areas(net(ring, [0.5] * count, stages, exact=exact))
    whole = [found[k] + found[count + k] for k in range(count)]
    assert whole == pytest.approx(plain, abs=1e-9)
