"""How a corner of the wavefront moves."""

from __future__ import annotations

from fractions import Fraction

import pytest

from roof3d.skeleton.fronts import Front, Slack, exact_slack, float_slack
from roof3d.skeleton.vertex import Motion, Vertex, faster
from roof3d.tolerance import DEFAULT

UP = Front(0.0, 1.0, 0.0, 2.0)
LEFT = Front(-1.0, 0.0, -4.0, 1.0)
DOWN = Front(0.0, -1.0, -6.0, 2.0)
UP_FASTER = Front(0.0, 1.0, 0.0, 3.0)
FLOATS = float_slack(10.0, DEFAULT)


def moving(f: Front, g: Front, slack: Slack = FLOATS) -> Vertex:
    v = Vertex(0, (0, 1), 0, (4.0, 0.0), 0.0)
    v.set_moving(f, g, slack)
    return v


@pytest.mark.parametrize(
    ("f", "g", "motion"),
    [
        (UP, LEFT, Motion.CONVEX),
        (LEFT, UP, Motion.REFLEX),
        (UP, UP, Motion.FLAT),
        (UP, DOWN, Motion.RIDGE),
        (UP, UP_FASTER, Motion.OVERRUN),
    ],
)
def test_two_fronts_decide_the_motion(f: Front, g: Front, motion: Motion) -> None:
    assert moving(f, g).motion is motion


def test_vertex_stays_on_both_fronts() -> None:
    v = moving(UP, LEFT)
    x, y = v.at(1.5)
    assert (x, y) == (2.5, 3.0)
    for f in (UP, LEFT):
        assert f.a * x + f.b * y == f.c + f.s * 1.5
    assert v.speed() == 3.0


def test_flat_vertex_moves_square_to_its_fronts() -> None:
    assert (moving(UP, UP).vx, moving(UP, UP).vy) == (0.0, 2.0)


def test_exact_vertex_sees_the_least_turn_and_the_float_one_does_not() -> None:
    tiny = Fraction(1, 10**12)
    up = Front(Fraction(0), Fraction(1), Fraction(0), Fraction(2))
    bent = Front(tiny, Fraction(1), Fraction(0), Fraction(2))
    assert moving(up, bent, exact_slack(DEFAULT)).motion is Motion.REFLEX
    floats = [Front(*map(float, (f.a, f.b, f.c, f.s))) for f in (up, bent)]
    assert moving(floats[0], floats[1]).motion is Motion.FLAT


def test_faster_does_not_mind_the_length_of_the_normals() -> None:
    tripled = Front(0.0, 3.0, 0.0, 6.0)
    assert faster(UP, tripled) == 0.0
    assert faster(UP_FASTER, tripled) > 0.0 > faster(tripled, UP_FASTER)
