"""A plane's own two dimensions."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from roof3d.layout.borders.frame import frame_of, outline_of, to_plane, to_space
from roof3d.roof.model import Kind, Plane
from tests.unit.layout.borders.shipped_planes import EVERY, plane

SLOPES = st.floats(-3.0, 3.0, allow_subnormal=False)


def square(gx: float, gy: float, *, east: float = 0.0, north: float = 0.0) -> Plane:
    """A plane over a unit square in plan, whatever its slope."""
    corners = [(east + x, north + y) for x, y in ((0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0))]
    outline = tuple((x, y, 5.0 + gx * (x - east) + gy * (y - north)) for x, y in corners)
    return Plane(
        id="m.south",
        section="m",
        kind=Kind.STEEP,
        gradient=(gx, gy),
        offset=5.0 - gx * east - gy * north,
        outline=outline,
        holes=(),
        plan_area=1.0,
        area=math.sqrt(1.0 + gx * gx + gy * gy),
        covered_plan_area=0.0,
    )


def test_u_is_level_to_the_right_of_one_who_looks_up_the_slope() -> None:
    frame = frame_of(square(0.0, 0.75))
    assert frame.along == (1.0, 0.0, 0.0)
    assert frame.up == pytest.approx((0.0, 0.8, 0.6), abs=1e-15)
    assert frame.normal == pytest.approx((0.0, -0.6, 0.8), abs=1e-15)
    assert frame.origin == (0.0, 0.0, 5.0)
    # Falls to the north: east is now on the left.
    assert frame_of(square(0.0, -0.75)).along == (-1.0, 0.0, 0.0)


@pytest.mark.parametrize("slope", [0.0, 1e-9])
def test_a_level_plane_lies_along_east(slope: float) -> None:
    frame = frame_of(square(0.0, slope))
    assert frame.along == (1.0, 0.0, 0.0)
    assert frame.up == pytest.approx((0.0, 1.0, slope), abs=1e-15)


@given(gx=SLOPES, gy=SLOPES, east=st.floats(-1e3, 1e3), north=st.floats(-1e3, 1e3))
def test_a_frame_keeps_lengths_and_comes_back(
    gx: float, gy: float, east: float, north: float
) -> None:
    roof_plane = square(gx, gy, east=east, north=north)
    frame = frame_of(roof_plane)
    axes = np.array([frame.along, frame.up, frame.normal])
    assert np.abs(axes @ axes.T - np.eye(3)).max() <= 1e-12
    assert np.linalg.det(axes) == pytest.approx(1.0, abs=1e-12)
    points = np.array(roof_plane.outline)
    flat = to_plane(frame, points)
    size = float(np.abs(points).max())
    assert np.abs(to_space(frame, flat) - points).max() <= 1e-12 * size
    assert flat.min(axis=0) == pytest.approx([0.0, 0.0], abs=1e-12 * size)
    assert outline_of(roof_plane, frame).area == pytest.approx(roof_plane.area, abs=1e-12 * size)


def test_height_is_square_to_the_plane() -> None:
    frame = frame_of(square(0.0, 0.75))
    assert to_space(frame, [(0.0, 0.0)], height=2.0)[0] == pytest.approx((0.0, -1.2, 6.6))


@pytest.mark.parametrize(("name", "plane_id"), EVERY)
def test_an_outline_has_the_area_of_its_plane_with_its_lowest_line_at_zero(
    name: str, plane_id: str
) -> None:
    laid = plane(name, plane_id)
    assert laid.outline.is_valid
    assert laid.outline.exterior.is_ccw
    assert laid.outline.area == pytest.approx(laid.plane.area, abs=1e-9)
    assert laid.outline.bounds[:2] == pytest.approx((0.0, 0.0), abs=1e-12)
    heights = to_space(laid.frame, laid.outline.exterior.coords)[:, 2]
    assert heights.min() == pytest.approx(laid.frame.origin[2], abs=1e-12)
