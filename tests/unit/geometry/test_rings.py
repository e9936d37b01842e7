from __future__ import annotations

import pytest

from roof3d.errors import InvariantError
from roof3d.geometry.polygon import signed_area
from roof3d.geometry.rings import trace_rings

POINTS = ((0.0, 0.0), (2.0, 0.0), (2.0, 2.0), (0.0, 2.0), (4.0, 2.0), (4.0, 4.0), (2.0, 4.0))


def test_a_square_is_one_ring() -> None:
    assert trace_rings([(2, 3), (0, 1), (3, 0), (1, 2)], POINTS) == ((0, 1, 2, 3),)


def test_two_squares_that_touch_in_a_corner_are_two_rings() -> None:
    edges = [(0, 1), (1, 2), (2, 3), (3, 0), (2, 4), (4, 5), (5, 6), (6, 2)]
    rings = trace_rings(edges, POINTS)
    assert sorted(sorted(ring) for ring in rings) == [[0, 1, 2, 3], [2, 4, 5, 6]]


def test_a_hole_runs_clockwise() -> None:
    outer = [(-1.0, -1.0), (9.0, -1.0), (9.0, 9.0), (-1.0, 9.0)]
    points = (*POINTS, *outer)
    hole = [(1, 0), (2, 1), (3, 2), (0, 3)]
    rings = trace_rings([(7, 8), (8, 9), (9, 10), (10, 7), *hole], points)
    assert sorted(signed_area([points[v] for v in ring]) for ring in rings) == [-4.0, 100.0]


def test_open_boundary_is_our_bug() -> None:
    with pytest.raises(InvariantError, match="does not close"):
        trace_rings([(0, 1), (1, 2)], POINTS)
