"""Cells, edges and vertices of line work, the awkward kinds above all."""

from __future__ import annotations

import itertools
import math

import pytest

from roof3d.geometry.arrangement import Arrangement, Segment, arrange
from roof3d.geometry.plane import Point2, line_through
from roof3d.tolerance import DEFAULT


def ring(*corners: Point2) -> list[Segment]:
    return [
        Segment(a, b, line_through(a, b)) for a, b in itertools.pairwise((*corners, corners[0]))
    ]


def rectangle(x0: float, y0: float, x1: float, y1: float) -> list[Segment]:
    return ring((x0, y0), (x1, y0), (x1, y1), (x0, y1))


def turned(segments: list[Segment], angle: float) -> list[Segment]:
    cos, sin = math.cos(angle), math.sin(angle)

    def turn(p: Point2) -> Point2:
        return (cos * p[0] - sin * p[1], sin * p[0] + cos * p[1])

    ends = [(turn(s.a), turn(s.b)) for s in segments]
    return [Segment(a, b, line_through(a, b)) for a, b in ends]


def areas(found: Arrangement) -> list[float]:
    return sorted(found.cell_areas())


def test_two_overlapping_squares_make_three_cells() -> None:
    found = arrange([*rectangle(0, 0, 2, 2), *rectangle(1, 1, 3, 3)], tol=DEFAULT)
    assert areas(found) == pytest.approx([1.0, 3.0, 3.0], abs=1e-9)


def test_square_inside_a_square_is_a_hole_and_a_cell() -> None:
    found = arrange([*rectangle(0, 0, 4, 4), *rectangle(1, 1, 2, 3)], tol=DEFAULT)
    assert areas(found) == pytest.approx([2.0, 14.0], abs=1e-9)


@pytest.mark.parametrize("angle", [0.0, 0.3, 1.0, 2.2])
@pytest.mark.parametrize("gap", [0.0, 1e-12, -1e-12, 1e-9, -1e-9])
def test_walls_that_touch_but_for_rounding_share_an_edge(angle: float, gap: float) -> None:
    segments = [*rectangle(0, 0, 4, 4), *rectangle(4 + gap, 1, 6, 3)]
    found = arrange(turned(segments, angle), tol=DEFAULT)
    shared = [e for e in found.edges if e.left >= 0 and e.right >= 0]
    length = sum(math.dist(found.vertices[e.start], found.vertices[e.end]) for e in shared)
    assert len(found.inside) == 2
    assert length == pytest.approx(2.0, abs=1e-8)


def test_two_copies_of_a_line_that_differ_in_the_last_bit_make_no_stray_vertex() -> None:
    """The copies crossed a whole building by rounding; noding put a vertex 5 cm off both."""
    long = [
        ((3.858757210636101, 6.18718433538229), (0.49999999999999956, 2.8284271247461894)),
        ((0.5, 2.82842712474619), (3.8587572106361003, 6.187184335382289)),
    ]
    copies = [Segment(a, b, line_through(a, b)) for a, b in long]
    frame = ring(
        (0.5, 2.82842712474619), (3.858757210636101, 2.0), (3.858757210636101, 6.18718433538229)
    )
    frame += ring(
        (0.5, 2.82842712474619), (3.858757210636101, 6.18718433538229), (0.5, 6.18718433538229)
    )
    found = arrange([*copies, *frame], tol=DEFAULT)
    assert len(found.vertices) == 4


def test_vertices_lie_where_unrounded_lines_meet() -> None:
    """A third of a metre is not on the grid; the crossing must be found there all the same."""
    cut = Segment((1 / 3, -1.0), (1 / 3, 5.0), line_through((1 / 3, -1.0), (1 / 3, 5.0)))
    found = arrange([*rectangle(0, 0, 4, 4), cut], tol=DEFAULT)
    assert min(math.dist(v, (1 / 3, 0.0)) for v in found.vertices) <= 1e-15


def test_stubs_bound_nothing() -> None:
    stub = Segment((4.0, 2.0), (9.0, 2.0), line_through((4.0, 2.0), (9.0, 2.0)))
    found = arrange([*rectangle(0, 0, 4, 4), stub], tol=DEFAULT)
    assert len(found.inside) == 1
    assert areas(found) == pytest.approx([16.0], abs=1e-9)


def test_edges_know_the_cells_on_both_sides() -> None:
    found = arrange([*rectangle(0, 0, 2, 2), *rectangle(2, 0, 4, 2)], tol=DEFAULT)
    (shared,) = [e for e in found.edges if e.left >= 0 and e.right >= 0]
    (ax, ay), (bx, by) = found.vertices[shared.start], found.vertices[shared.end]
    left = found.inside[shared.left]
    assert (bx - ax) * (left[1] - ay) - (by - ay) * (left[0] - ax) > 0.0
