"""From a section, metres, to an area of the sheet, pixels."""

from __future__ import annotations

import numpy as np

from roof3d.details.frame import Floats
from roof3d.details.model import Detail
from roof3d.render.sheet import Pixel

SHARP = 0.9
"""Radians by which the far face bends off, so that what is written stands beside it."""


class Fit:
    """From section coordinates, metres, to pixels of an area; leaves room for text."""

    def __init__(
        self,
        points: Floats,
        area: tuple[float, float, float, float],
        size: float,
        *,
        convex: bool,
        sharp: bool = False,
    ) -> None:
        left, top, right, bottom = area
        low, high = points.min(axis=0), points.max(axis=0)
        span = high - low
        # Below a low deck at the foot of the section stand numbers and slope triangles; beside
        # a face that drops sharply stand numbers and lengths.
        below = 9.5 * size if convex else 10.5 * size
        beside = (8.0 if convex else 12.0) * size if sharp else 2.0 * size
        room = (right - left - 3.0 * size - beside, bottom - top - below)
        self.scale = float(min(room[0] / span[0], room[1] / span[1]))
        self.origin = (
            left + (right - left - 1.0 * size - beside - self.scale * float(span[0])) / 2.0,
            (top + bottom + self.scale * float(span[1])) / 2.0 + (2.6 if convex else -1.6) * size,
        )
        self.low = low

    def __call__(self, points: Floats) -> Floats:
        """Return pixels (k, 2) of points (k, 2)."""
        away = (points - self.low) * self.scale
        return np.column_stack((self.origin[0] + away[:, 0], self.origin[1] - away[:, 1]))

    def back(self, pixels: Floats) -> Floats:
        """Return points (k, 2) of pixels (k, 2)."""
        away = np.column_stack((pixels[:, 0] - self.origin[0], self.origin[1] - pixels[:, 1]))
        found: Floats = away / self.scale + self.low
        return found

    def pixel(self, point: Floats) -> Pixel:
        """Return the pixel of one point (2,)."""
        found = self(point.reshape(1, 2))[0]
        return (float(found[0]), float(found[1]))


def flat_place(detail: Detail, at: float, height: float) -> Floats:
    """Return a point of the profile at a height off its deck in section coordinates (2,)."""
    frame = detail.frame
    points = frame.place(np.zeros(1), np.array([at]), np.array([height]))
    found: Floats = frame.section(points)[0]
    return found
