"""Which lines a reflex vertex crosses, and when: one look by loop, one by arrays."""

from __future__ import annotations

import math
from collections.abc import Sequence
from fractions import Fraction

import pytest

from roof3d.skeleton.fronts import Front, exact_fronts, exact_slack, float_fronts, float_slack
from roof3d.skeleton.hits import FEW, FrontTable
from roof3d.skeleton.outline import UNIT, read_outline
from roof3d.skeleton.vertex import Vertex
from roof3d.tolerance import DEFAULT
from tests.outline_data import Point

#: A wide bar with a notch from above; the notch's corners run down at the bar's lower edge.
NOTCH = ((0.0, 0.0), (20.0, 0.0), (20.0, 10.0), (11.0, 10.0), (10.0, 6.0), (9.0, 10.0), (0.0, 10.0))


def fronts_of(ring: Sequence[Point]) -> list[Front]:
    outline = read_outline([ring], [[1.0] * len(ring)], tol=DEFAULT)
    return float_fronts(outline.whole[0], outline.runs[0], UNIT)


def reflex(fronts: Sequence[Front]) -> Vertex:
    v = Vertex(4, (3, 4), 4, NOTCH[4], 0.0)
    v.set_moving(fronts[3], fronts[4], float_slack(21.0, DEFAULT))
    return v


def test_reflex_vertex_reaches_the_opposite_front_when_both_have_come_half_way() -> None:
    fronts = fronts_of(NOTCH)
    v = reflex(fronts)
    # It falls at sqrt(17) a metre of height, the lower front rises at 1: 6 m of gap.
    found = {
        edge: t
        for t, edge in FrontTable(fronts, float_slack(21.0, DEFAULT)).ahead(v, 0.0, math.inf)
    }
    assert found[0] == pytest.approx(6.0 / (1.0 + math.sqrt(17.0)))
    assert not {3, 4} & set(found)


def test_hits_come_latest_first_and_end_at_the_height_asked_for() -> None:
    fronts = fronts_of(NOTCH)
    table, v = FrontTable(fronts, float_slack(21.0, DEFAULT)), reflex(fronts)
    times = [t for t, _ in table.ahead(v, 0.0, math.inf)]
    assert times == sorted(times, reverse=True)
    assert [t for t, _ in table.ahead(v, 0.0, 1.0)] == []
    assert [edge for _, edge in table.ahead(v, 0.0, 1.2)] == [0]


def test_loop_and_arrays_find_the_same() -> None:
    ring = list(NOTCH[:2])
    count = FEW
    ring += [(20.0 + math.sin(math.pi * k / count), 10.0 * k / count) for k in range(1, count)]
    ring += [(20.0, 10.0), *NOTCH[3:]]
    few, many = fronts_of(NOTCH), fronts_of(ring)
    assert len(few) <= FEW < len(many)
    v = Vertex(4, (len(many) - 4, len(many) - 3), 4, NOTCH[4], 0.0)
    v.set_moving(many[-4], many[-3], float_slack(21.0, DEFAULT))
    by_arrays = FrontTable(many, float_slack(21.0, DEFAULT))
    found = {edge: t for t, edge in by_arrays.ahead(v, 0.0, math.inf)}
    by_arrays._rows = [[f.a, f.b, f.c, f.s] for f in many]
    again = {edge: t for t, edge in by_arrays.ahead(v, 0.0, math.inf)}
    assert again == pytest.approx(found, rel=1e-12)
    assert len(again) > 3


def test_exact_heights_are_exact_fractions() -> None:
    # Slopes of 1 and a notch of 3-4-5 triangles: every length is rational.
    ring = [(0, 0), (20, 0), (20, 10), (13, 10), (10, 6), (7, 10), (0, 10)]
    whole = [(x * 10**9, y * 10**9) for x, y in ring]
    slack = exact_slack(DEFAULT)
    fronts = exact_fronts(whole, [Fraction(1)] * 7, UNIT)
    v = Vertex(4, (3, 4), 4, (Fraction(10), Fraction(6)), Fraction(0))
    v.set_moving(fronts[3], fronts[4], slack)
    found = {edge: t for t, edge in FrontTable(fronts, slack).ahead(v, Fraction(0), math.inf)}
    # The vertex falls at 5 / 3, the eave's front rises at 1, 6 m apart: 6 / (8 / 3).
    assert found[0] == Fraction(9, 4)
    assert isinstance(found[0], Fraction)
