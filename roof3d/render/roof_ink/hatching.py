"""Hatches that read as material: courses with staggered joints, and wide strips with grain.

A hatch is drawn in the plane's own developed coordinates (u level along the plane, s up the
slope), so it is foreshortened as the material would be. Its lines have a width in pixels.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np

from roof3d.render.camera import Camera, Floats
from roof3d.render.passes import FINE, Singles, Texture

COURSE = 0.145
"""Exposure of one course, metres: about that of a common shingle."""
STRIP = 0.90
"""Exposure of one membrane strip, metres: about that of a metre-wide roll."""

Hatch = Callable[[Floats, Floats, float, float], Floats]
"""From u, s (metres) and the pixels per metre along each to a factor on the colour."""


def plane_texture(
    gradient: tuple[float, float], origin: tuple[float, float, float], camera: Camera, hatch: Hatch
) -> Texture:
    """Bind a hatch to a plane.

    Parameters
    ----------
    gradient : tuple[float, float]
        dz/dx, dz/dy of the plane.
    origin : point of the plane, metres
        Where courses begin: the lowest point of the plane.
    camera : Camera
        Gives the foreshortening.
    hatch : Hatch
    """
    slope = math.hypot(*gradient)
    uphill = np.array([gradient[0] / slope, gradient[1] / slope]) if slope else np.array([0.0, 1.0])
    rise = 1.0 / math.sqrt(1.0 + slope * slope)
    along = np.array([uphill[1], -uphill[0], 0.0])
    up = np.array([uphill[0] * rise, uphill[1] * rise, slope * rise])
    frame = np.array([camera.right, camera.up])
    per_u = float(np.linalg.norm(frame @ along)) * camera.pixels_per_metre
    per_s = float(np.linalg.norm(frame @ up)) * camera.pixels_per_metre
    # Lines of equal s are apart by the part of the step up the slope that is square to them.
    a, b = frame @ along, frame @ up
    square = abs(float(a[0] * b[1] - a[1] * b[0])) * camera.pixels_per_metre**2
    apart_s = square / per_u if per_u else per_s
    apart_u = square / per_s if per_s else per_u

    def texture(points: Singles, place: Floats) -> Floats:
        offset = points + (place - np.array(origin))
        return hatch(offset @ along, offset @ up, apart_u, apart_s)

    return texture


def courses(u: Floats, s: Floats, per_u: float, per_s: float) -> Floats:
    """Shingle courses: close level lines, joints staggered from course to course."""
    if not per_u or not per_s:
        return np.ones(len(u))
    # Two, three... real courses as one where they would run together in the picture.
    step = COURSE * max(1, math.ceil(5.5 / (COURSE * per_s)))
    joint = step * 3.2
    row = np.floor(s / step)
    line = _ink((s - row * step) * per_s, 0.9)
    shift = np.mod(row * 0.382, 1.0) * joint
    column = np.floor((u + shift) / joint)
    tick = _ink((u + shift - column * joint) * per_u, 0.7)
    tone = _hash(row, column) * 0.10 - 0.05
    return (1.0 + tone) * (1.0 - 0.34 * np.maximum(line, 0.75 * tick))


def strips(u: Floats, s: Floats, per_u: float, per_s: float) -> Floats:
    """Membrane strips: one lap line a strip, a fine one beside it, and a sparse grain."""
    if not per_u or not per_s:
        return np.ones(len(u))
    row = np.floor(s / STRIP)
    below = s - row * STRIP
    lap = _ink(below * per_s, 1.3)
    beside = _ink(np.abs(below - 0.10) * per_s, 0.5)
    cell = max(9.0 / per_s, 9.0 / per_u, 0.08)
    i, j = np.floor(u / cell), np.floor(s / cell)
    du = (u / cell - i - 0.25 - 0.5 * _hash(i, j)) * cell * per_u
    dv = (s / cell - j - 0.25 - 0.5 * _hash(j + 17.0, i)) * cell * per_s
    dot = np.clip(1.5 - np.hypot(du, dv) * FINE / 2, 0.0, 1.0)
    return 1.0 - np.maximum(np.maximum(0.42 * lap, 0.20 * beside), 0.26 * dot)


def _ink(distance: Floats, half: float) -> Floats:
    """Cover of a line of half width ``half`` pixels at a distance in pixels, soft by one."""
    cover: Floats = np.clip(half + 0.5 - distance, 0.0, 1.0)
    return cover


def _hash(i: Floats, j: Floats) -> Floats:
    """Return numbers from 0 to 1 that look random and are always the same, cell by cell."""
    a = i.astype(np.int64) * 73856093 ^ j.astype(np.int64) * 19349663
    a = (a ^ (a >> 13)) * 1274126177
    return ((a >> 8) & 0xFFFF) / 65535.0
