"""The shrinking outline, looked at by what it leaves behind."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

import pytest

from roof3d.skeleton.fronts import exact_fronts, exact_slack, float_fronts, float_slack
from roof3d.skeleton.outline import UNIT
from roof3d.skeleton.place import Stuck, Unbounded
from roof3d.skeleton.wavefront import Wavefront
from roof3d.tolerance import DEFAULT

GRID = 10**9
Corners = Sequence[tuple[int, int]]


def run(corners: Corners, runs: Sequence[int], *, exact: bool, budget: int = 1000) -> Wavefront:
    ring = [(x * GRID, y * GRID) for x, y in corners]
    speeds = [Fraction(value) for value in runs]
    fronts = (exact_fronts if exact else float_fronts)(ring, speeds, UNIT)
    slack = exact_slack(DEFAULT) if exact else float_slack(20.0, DEFAULT)
    wavefront = Wavefront(fronts, slack, budget=budget)
    kind = Fraction if exact else float
    wavefront.add_ring(0, [(kind(x), kind(y)) for x, y in corners])
    wavefront.run()
    return wavefront


both = pytest.mark.parametrize("exact", [False, True], ids=["floats", "fractions"])
CROSS = (
    (2, 0), (4, 0), (4, 2), (6, 2), (6, 4), (4, 4), (4, 6), (2, 6), (2, 4), (0, 4), (0, 2), (2, 2),
)  # fmt: skip


@both
def test_square_ends_in_one_node(exact: bool) -> None:  # noqa: FBT001
    left = run(((0, 0), (4, 0), (4, 4), (0, 4)), [1] * 4, exact=exact)
    assert left.nodes[4:] == [(2, 2, 2)]
    assert [sorted(arcs) for arcs in left.arcs] == [
        [(1, 4), (4, 0)], [(2, 4), (4, 1)], [(3, 4), (4, 2)], [(0, 4), (4, 3)],
    ]  # fmt: skip


@both
def test_rectangle_ends_in_two_nodes_at_one_height(exact: bool) -> None:  # noqa: FBT001
    left = run(((0, 0), (10, 0), (10, 6), (0, 6)), [1] * 4, exact=exact)
    assert set(left.nodes[4:]) == {(3, 3, 3), (7, 3, 3)}


@both
def test_four_reflex_corners_of_a_cross_meet_at_the_middle(exact: bool) -> None:  # noqa: FBT001
    left = run(CROSS, [1] * 12, exact=exact)
    assert {node for node in left.nodes[12:] if node[:2] == (3, 3)} == {(3, 3, 1)}
    assert {node[2] for node in left.nodes[12:]} == {1}


@both
def test_every_arc_is_walked_once_each_way(exact: bool) -> None:  # noqa: FBT001
    left = run(CROSS, [1] * 12, exact=exact)
    walked = sorted(arc for arcs in left.arcs for arc in arcs)
    assert walked == sorted((b, a) for a, b in walked)


@both
def test_planes_that_never_close_are_told_by_name(exact: bool) -> None:  # noqa: FBT001
    legs = ((0, 0), (12, 0), (12, 10), (8, 10), (8, 4), (4, 4), (4, 10), (0, 10))
    with pytest.raises(Unbounded) as caught:
        run(legs, [0, 0, 0, 0, 0, 0, 1, 0], exact=exact)
    assert 0 <= caught.value.edge < 8


def test_the_budget_of_events_bounds_the_run() -> None:
    with pytest.raises(Stuck, match="budget"):
        run(CROSS, [1] * 12, exact=True, budget=3)
