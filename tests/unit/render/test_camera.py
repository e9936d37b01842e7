"""The camera: exact pixels, whole picture used, far coordinates."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from roof3d.errors import GeometryError
from roof3d.render.camera import direction_from, fit_camera

BOX = np.array([[x, y, z] for x in (0.0, 12.0) for y in (0.0, 8.0) for z in (0.0, 5.0)])


def test_direction_is_a_compass_bearing_and_a_height() -> None:
    east, high = direction_from(90.0, 0.0), direction_from(0.0, 60.0)
    assert np.abs(np.array(east) - (1.0, 0.0, 0.0)).max() < 1e-15
    assert np.abs(np.array(high) - (0.0, 0.5, math.sqrt(0.75))).max() < 1e-15


@given(
    azimuth=st.floats(0.0, 360.0),
    height=st.floats(0.0, 85.0),
    far=st.sampled_from([0.0, 500_000.0]),
)
def test_points_touch_both_sides_of_the_tighter_room(
    azimuth: float, height: float, far: float
) -> None:
    camera = fit_camera(
        BOX + far, direction_from(azimuth, height), (800, 600), (100.0, 50.0, 60.0, 70.0)
    )
    pixels, _ = camera.project(BOX + far)
    low, high = pixels.min(axis=0), pixels.max(axis=0)
    room = np.array([[100.0, 50.0], [740.0, 530.0]])
    assert ((low > room[0] - 1e-4) & (high < room[1] + 1e-4)).all()
    slack = np.array([(high - low)[k] - (room[1] - room[0])[k] for k in (0, 1)])
    assert abs(slack.max()) < 1e-4
    assert np.abs((low + high) / 2 - room.mean(axis=0)).max() < 1e-4


def test_level_lengths_across_the_view_have_the_scale_of_the_camera() -> None:
    camera = fit_camera(BOX, direction_from(180.0, 30.0), (800, 600))
    (a, b), _ = camera.project(np.array([[1.0, 2.0, 3.0], [4.0, 2.0, 3.0]]))
    assert b[0] - a[0] == pytest.approx(3.0 * camera.pixels_per_metre, abs=1e-9)
    assert b[1] == pytest.approx(a[1], abs=1e-9)


def test_depth_grows_away_from_the_eye() -> None:
    camera = fit_camera(BOX, direction_from(180.0, 0.0), (800, 600))
    _, (near, far) = camera.project(np.array([[0.0, 1.0, 0.0], [0.0, 6.0, 0.0]]))
    assert far - near == pytest.approx(5.0, abs=1e-12)


@pytest.mark.parametrize(
    ("direction", "margins"),
    [((0.0, 0.0, 1.0), (0.0,) * 4), ((0.0, -1.0, 1.0), (400.0, 0.0, 400.0, 0.0))],
)
def test_a_view_that_cannot_be_is_refused(
    direction: tuple[float, float, float], margins: tuple[float, float, float, float]
) -> None:
    with pytest.raises(GeometryError):
        fit_camera(BOX, direction, (800, 600), margins)
