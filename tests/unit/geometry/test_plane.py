from __future__ import annotations

import math

import pytest

from roof3d.geometry.plane import HeightPlane, PlanLine, crossing, line_through


def test_height_follows_gradient_and_origin() -> None:
    assert HeightPlane(0.5, -0.25, 3.0).at((2.0, 4.0)) == 3.0


def test_moving_a_plane_carries_its_heights_along() -> None:
    plane = HeightPlane(0.5, -0.25, 3.0)
    assert plane.moved((10.0, -6.0)).at((12.0, -2.0)) == plane.at((2.0, 4.0))


def test_crossing_has_equal_heights_and_points_to_the_higher_first() -> None:
    first, second = HeightPlane(0.0, 0.5, 0.0), HeightPlane(0.0, -0.5, 4.0)
    line = crossing(first, second, slope=1e-7)
    assert line == PlanLine(0.0, 1.0, 4.0)
    assert first.at((0.0, 5.0)) > second.at((0.0, 5.0))


def test_parallel_planes_do_not_cross() -> None:
    assert crossing(HeightPlane(0.1, 0.2, 0.0), HeightPlane(0.1, 0.2, 5.0), slope=1e-7) is None


def test_line_through_two_points_has_its_normal_to_the_left() -> None:
    line = line_through((0.0, 0.0), (3.0, 4.0))
    assert line.side((-4.0, 3.0)) == pytest.approx(5.0, abs=1e-12)
    assert math.hypot(line.nx, line.ny) == pytest.approx(1.0, abs=1e-15)
