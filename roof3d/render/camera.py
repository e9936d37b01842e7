"""A parallel camera that we own, so that a place in space has one exact pixel."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from roof3d.errors import GeometryError

Floats: TypeAlias = NDArray[np.float64]
Vector: TypeAlias = tuple[float, float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Camera:
    """A parallel (orthographic) view.

    Attributes
    ----------
    centre : Vector
        The point of space at the middle of the picture, metres.
    right, up, back : Vector
        Unit vectors of the picture: to the right, upward, and toward the eye.
    pixels_per_metre : float
        For lengths that lie in the plane of the picture.
    size : tuple[int, int]
        Width and height in pixels.
    """

    centre: Vector
    right: Vector
    up: Vector
    back: Vector
    pixels_per_metre: float
    size: tuple[int, int]

    def project(self, points: Floats) -> tuple[Floats, Floats]:
        """Project points of space onto the picture.

        Parameters
        ----------
        points : (n, 3) float64, metres

        Returns
        -------
        pixels : (n, 2) float64
            x to the right, y down, from the top left corner of the picture.
        depth : (n,) float64
            Metres behind the plane through ``centre``; grows away from the eye.
        """
        offset = np.asarray(points, dtype=np.float64).reshape(-1, 3) - np.array(self.centre)
        x = offset @ np.array(self.right)
        y = offset @ np.array(self.up)
        width, height = self.size
        scale = self.pixels_per_metre
        pixels = np.column_stack((width / 2 + scale * x, height / 2 - scale * y))
        return pixels, -(offset @ np.array(self.back))

    def pixel(self, point: Vector) -> tuple[float, float]:
        """Project one point; returns its pixel (x, y), y down."""
        pixels, _ = self.project(np.array([point]))
        return float(pixels[0, 0]), float(pixels[0, 1])


def direction_from(azimuth_deg: float, height_deg: float) -> Vector:
    """Return the unit vector from the house toward an eye.

    Parameters
    ----------
    azimuth_deg : float
        Compass direction in which the eye stands, clockwise from north (+y).
    height_deg : float
        Height of the eye above the horizon, below 90.
    """
    azimuth, height = math.radians(azimuth_deg), math.radians(height_deg)
    return (
        math.sin(azimuth) * math.cos(height),
        math.cos(azimuth) * math.cos(height),
        math.sin(height),
    )


def fit_camera(
    points: Floats,
    direction: Vector,
    size: tuple[int, int],
    margins: tuple[float, float, float, float] = (0.0, 0.0, 0.0, 0.0),
) -> Camera:
    """Aim a camera so that all points fill the picture inside its margins.

    Parameters
    ----------
    points : (n, 3) float64, metres
        At least two that differ in the picture.
    direction : Vector
        From the scene toward the eye; any length, not straight up or down.
    size : tuple[int, int]
        Width and height in pixels.
    margins : (left, top, right, bottom)
        Pixels to keep free of points.

    Raises
    ------
    GeometryError
        Where the direction is vertical, the points are all one, or the margins leave
        nothing.
    """
    back = np.array(direction, dtype=np.float64)
    right = np.cross((0.0, 0.0, 1.0), back)
    if not np.any(right):
        raise GeometryError("the view may not be straight up or down", where="camera direction")
    back /= np.linalg.norm(back)
    right /= np.linalg.norm(right)
    up = np.cross(back, right)
    # Relative to the first point, so that far coordinates lose nothing.
    origin = np.asarray(points, dtype=np.float64)[0]
    offset = np.asarray(points, dtype=np.float64) - origin
    x, y, z = offset @ right, offset @ up, offset @ back
    left_m, top_m, right_m, bottom_m = margins
    room = (size[0] - left_m - right_m, size[1] - top_m - bottom_m)
    span = (float(np.ptp(x)), float(np.ptp(y)))
    if min(room) <= 0.0 or max(span) <= 0.0:
        raise GeometryError("nothing to fit into the picture", where="camera")
    scale = min(have / want for have, want in zip(room, span, strict=True) if want > 0.0)
    mid_x = (float(x.min()) + float(x.max()) + (right_m - left_m) / scale) / 2
    mid_y = (float(y.min()) + float(y.max()) + (top_m - bottom_m) / scale) / 2
    mid_z = (float(z.min()) + float(z.max())) / 2
    centre = origin + mid_x * right + mid_y * up + mid_z * back
    return Camera(
        centre=_vector(centre),
        right=_vector(right),
        up=_vector(up),
        back=_vector(back),
        pixels_per_metre=scale,
        size=size,
    )


def _vector(values: Floats) -> Vector:
    return (float(values[0]), float(values[1]), float(values[2]))
