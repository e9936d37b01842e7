"""Dimension lines: beside the end of a detail, along the break; or flat on a section."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from roof3d.render.camera import Camera
from roof3d.render.detail_ink.palette import LIGHT, Theme
from roof3d.render.detail_ink.paragraph import text_box
from roof3d.render.lettering import Box, spread
from roof3d.render.sheet import Pixel, Sheet
from roof3d.scene.model import Dimension, Point3

_ROOM_FOR_ARROWS = 30.0


@dataclass(frozen=True, slots=True, kw_only=True)
class DrawnDimension:
    """A dimension on the sheet.

    Attributes
    ----------
    id : str
    feet : tuple[Pixel, Pixel]
        Where its extension lines begin: at the thing measured.
    ends : tuple[Pixel, Pixel]
        Ends of the dimension line.
    text : str
    at : Pixel
        Where the text begins, ends or has its middle (``across``).
    across : str
    box : Box
        What the text covers.
    leader : tuple[Pixel, ...]
        From the dimension line to the text where that had to move; else empty.
    """

    id: str
    feet: tuple[Pixel, Pixel]
    ends: tuple[Pixel, Pixel]
    text: str
    at: Pixel
    across: str
    box: Box
    leader: tuple[Pixel, ...] = ()

    @property
    def covers(self) -> tuple[Box, Box]:
        """The text, and an upright box about the lines."""
        points = np.array([*self.feet, *self.ends])
        low, high = points.min(axis=0), points.max(axis=0)
        middle, span = (low + high) / 2.0, high - low
        about = Box(
            centre=(float(middle[0]), float(middle[1])),
            width=float(span[0]),
            height=float(span[1]),
        )
        return self.box, about


def set_beside(
    dimensions: Sequence[Dimension],
    camera: Camera,
    outward: Point3,
    offsets: Sequence[float],
    size: float,
) -> tuple[DrawnDimension, ...]:
    """Set dimensions beside the end of a detail, their texts further out, none on another.

    Parameters
    ----------
    outward : Point3
        Unit vector along the break, away from the detail, to the right in the picture.
    offsets : sequence of float
        Metres from the end of the detail to each dimension line.
    size : float
        Font size, pixels.
    """
    away = np.array(outward)
    lines = []
    for dimension, offset in zip(dimensions, offsets, strict=True):
        ends = np.array(dimension.ends)
        pixels, _ = camera.project(np.concatenate((ends, ends + offset * away)))
        lines.append([(float(x), float(y)) for x, y in pixels])
    wanted = [(line[2][1] + line[3][1]) / 2.0 for line in lines]
    order = sorted(range(len(lines)), key=lambda k: wanted[k])
    heights = [1.35 * size] * len(lines)
    middles = spread([wanted[k] for k in order], heights, 0.0, float(camera.size[1]))
    placed: dict[int, DrawnDimension] = {}
    for k, y in zip(order, middles, strict=True):
        a, b, c, d = lines[k]
        start = ((c[0] + d[0]) / 2.0, wanted[k])
        at = (max(c[0], d[0]) + 1.1 * size, y)
        text = dimensions[k].text
        placed[k] = DrawnDimension(
            id=dimensions[k].id,
            feet=(a, b),
            ends=(c, d),
            text=text,
            at=at,
            across="left",
            box=text_box(at, text, size),
            leader=(start, (at[0] - 0.3 * size, y)),
        )
    return tuple(placed[k] for k in range(len(lines)))


def ink_dimension(
    sheet: Sheet, drawn: DrawnDimension, size: float, weight: float, *, theme: Theme = LIGHT
) -> None:
    """Ink extension lines, dimension line with its arrows, leader and text."""
    extensions = []
    for foot, end in zip(drawn.feet, drawn.ends, strict=True):
        dx, dy = end[0] - foot[0], end[1] - foot[1]
        length = math.hypot(dx, dy)
        if length > 0.0:
            beyond = 1.0 + 4.0 * weight / length
            extensions.append((foot, (foot[0] + dx * beyond, foot[1] + dy * beyond)))
    sheet.lines(extensions, width=0.7 * weight, ink=theme.measure, alpha=0.8, order=6.0)
    start, end = drawn.ends
    length = math.hypot(end[0] - start[0], end[1] - start[1])
    if length == 0.0:
        return
    ux, uy = (end[0] - start[0]) / length, (end[1] - start[1]) / length
    outside = length < _ROOM_FOR_ARROWS * weight
    tail = 9.0 * weight if outside else 0.0
    line = (
        (start[0] - tail * ux, start[1] - tail * uy),
        (end[0] + tail * ux, end[1] + tail * uy),
    )
    sheet.lines([line], width=0.9 * weight, ink=theme.measure, order=6.1)
    for tip, sign in ((start, 1.0), (end, -1.0)):
        _arrow(sheet, tip, (sign * ux, sign * uy), -weight if outside else weight, theme)
    if drawn.leader:
        sheet.lines([drawn.leader], width=0.7 * weight, ink=theme.measure, order=6.0)
    sheet.text(
        drawn.at,
        drawn.text,
        size=size,
        ink=theme.measure,
        across=drawn.across,
        turn_deg=drawn.box.turn_deg,
        halo=theme.paper,
        order=9.0,
    )


def _arrow(sheet: Sheet, tip: Pixel, along: Pixel, weight: float, theme: Theme) -> None:
    """Fill an arrow head at a tip; a weight below zero turns it about."""
    length, half = 8.0 * weight, 2.2 * abs(weight)
    back = (tip[0] + length * along[0], tip[1] + length * along[1])
    side = (-along[1] * half, along[0] * half)
    sheet.polygon(
        [tip, (back[0] + side[0], back[1] + side[1]), (back[0] - side[0], back[1] - side[1])],
        fill=theme.measure,
        order=6.2,
    )
