"""North and scale, drawn on the level ground as the camera sees it."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np

from roof3d.render.camera import Camera
from roof3d.render.roof_ink.palette import INK, SOFT_INK
from roof3d.render.sheet import Pixel, Sheet
from roof3d.units import FOOT, Units, format_length

GroundMap = Callable[[float, float], Pixel]


def scale_length(camera: Camera, units: Units, turn: float, room: tuple[float, float]) -> float:
    """Return the longest round length in metres whose two bars fit a room, in pixels."""
    one = float(FOOT) if units is Units.IMPERIAL else 1.0
    steps = [step * 10.0**power * one for power in (-1, 0, 1, 2) for step in (1.0, 2.0, 5.0)]
    fitting = []
    for step in steps:
        points = [(0.0, 0.0), *_arms(camera, step, turn)]
        width = max(p[0] for p in points) - min(p[0] for p in points)
        height = max(p[1] for p in points) - min(p[1] for p in points)
        if width <= room[0] and height <= room[1]:
            fitting.append(step)
    return max(fitting, default=steps[0])


def _arms(camera: Camera, length: float, turn: float) -> list[Pixel]:
    """Return the ends of the two bars from their corner, those that run away from the eye."""
    x, y = (math.cos(turn), math.sin(turn)), (-math.sin(turn), math.cos(turn))
    frame = _on_ground(camera, (0.0, 0.0), length * camera.pixels_per_metre)
    ends = [frame(*(s * c for c in axis)) for axis in (x, y) for s in (-1.0, 1.0)]
    return [min(ends[:2], key=lambda p: p[1]), min(ends[2:], key=lambda p: p[1])]


def draw_north(sheet: Sheet, centre: Pixel, radius: float, camera: Camera, size: float) -> None:
    """Draw a compass ring lying on the ground, its needle to +y, with the four winds."""
    at = _on_ground(camera, centre, radius)
    ring = [at(math.sin(t), math.cos(t)) for t in np.linspace(0.0, 2.0 * math.pi, 73)]
    sheet.lines([ring], width=size / 11.0, ink=SOFT_INK)
    ticks = [
        [at(math.sin(t) * r, math.cos(t) * r) for r in (0.88, 1.0)]
        for t in np.linspace(0.0, 2.0 * math.pi, 12, endpoint=False)
    ]
    sheet.lines(ticks, width=size / 14.0, ink=SOFT_INK)
    dark = [at(0.0, 0.98), at(0.30, -0.72), at(0.0, -0.42)]
    light = [at(0.0, 0.98), at(-0.30, -0.72), at(0.0, -0.42)]
    sheet.polygon(dark, fill=INK, ink=INK, width=size / 14.0)
    sheet.polygon(light, fill="white", ink=INK, width=size / 14.0)
    for wind, east, north in (("N", 0.0, 1.0), ("E", 1.0, 0.0), ("S", 0.0, -1.0), ("W", -1.0, 0.0)):
        tip = at(east, north)
        away = math.hypot(tip[0] - centre[0], tip[1] - centre[1]) or 1.0
        place = (
            tip[0] + (tip[0] - centre[0]) / away * size * 0.85,
            tip[1] + (tip[1] - centre[1]) / away * size * 0.85,
        )
        if wind == "N":
            sheet.text(place, wind, size=size * 1.15, bold=True, ink=INK, across="center")
        else:
            sheet.text(place, wind, size=size * 0.8, ink=SOFT_INK, across="center")


def draw_scale(
    sheet: Sheet,
    centre: Pixel,
    length: float,
    turn: float,
    camera: Camera,
    units: Units,
    size: float,
) -> None:
    """Draw two bars on the ground along the walls: each is true for lengths parallel to it.

    Parameters
    ----------
    centre : Pixel
        Middle of the figure.
    length : float
        Metres that each bar stands for.
    turn : float
        Direction of the walls, radians counterclockwise from east.
    """
    arms = _arms(camera, length, turn)
    points = [(0.0, 0.0), *arms]
    shift = (
        centre[0] - (min(p[0] for p in points) + max(p[0] for p in points)) / 2,
        centre[1] - (min(p[1] for p in points) + max(p[1] for p in points)) / 2,
    )
    corner = shift
    for arm in arms:
        for k in range(5):
            piece = [
                (corner[0] + arm[0] * f, corner[1] + arm[1] * f) for f in (k / 5.0, (k + 1) / 5.0)
            ]
            sheet.lines([piece], width=size * 0.52, ink=INK, butt=True)
            if k % 2:
                sheet.lines([piece], width=size * 0.32, ink="white", butt=True)
        tip = (corner[0] + arm[0], corner[1] + arm[1])
        away = math.hypot(*arm) or 1.0
        place = (tip[0] + arm[0] / away * size * 0.4, tip[1] - size * 0.95)
        sheet.text(place, _whole(length, units), size=size, ink=INK, across="center", bold=True)
    sheet.text((corner[0], corner[1] + size * 0.95), "0", size=size, ink=INK, across="center")


def _whole(length: float, units: Units) -> str:
    if units is Units.IMPERIAL:
        feet = round(length / float(FOOT))
        return f"{feet} ft" if feet else format_length(length, units)
    return f"{length:g} m"


def _on_ground(camera: Camera, centre: Pixel, pixels: float) -> GroundMap:
    """Return the map from (east, north), in units of ``pixels``, to the sheet."""

    def at(east: float, north: float) -> Pixel:
        x = east * camera.right[0] + north * camera.right[1]
        y = east * camera.up[0] + north * camera.up[1]
        return centre[0] + pixels * x, centre[1] - pixels * y

    return at
