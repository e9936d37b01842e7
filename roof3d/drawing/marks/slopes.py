"""Pitch as a triangle: rise and run on their legs, or the angle on a metric sheet."""

from __future__ import annotations

import math

import numpy as np
import shapely

from roof3d.drawing.marks.clear import bounds_of, covers_of
from roof3d.drawing.model import Line, Mark, Point, Stroke, Text, moved
from roof3d.units import Units, format_pitch

_LEG = 9.0
_PEN = Stroke(width=0.25)
_STEP, _REACH = 1.5, 60.0
_CLEAR = 1.0


def set_slope(
    slope: float,
    units: Units,
    height: float,
    at: Point,
    taken: list[shapely.Geometry],
    *,
    rise_right: bool,
) -> tuple[Mark, ...]:
    """Return a slope triangle as near to a place as it stands clear; it joins what is taken.

    Parameters
    ----------
    slope : float
    rise_right : bool
        Whether the roof rises to the right.
    units : Units
    height : float
        Of a capital, millimetres.
    at : Point
        Where its upper side is wanted, at the middle.
    taken : list of shapely geometries
        What it keeps clear of; what it covers is added.
    """
    plain = _triangle(slope, 1.0 if rise_right else -1.0, units, height)
    left, low, right, high = bounds_of(plain)
    tree = shapely.STRtree(taken)
    steps = np.arange(-_REACH, _REACH + _STEP / 2.0, _STEP)
    places = [(at[0] + float(x), at[1] + float(y)) for x in steps for y in steps if y <= 0.0]
    places.sort(key=lambda place: (math.dist(place, at), place))
    for place in places:
        box = shapely.box(left, low, right, high)
        here = shapely.transform(box, lambda points, by=place: points + np.array(by))
        if len(tree.query(here, predicate="dwithin", distance=_CLEAR)) == 0:
            found = tuple(moved(mark, place) for mark in plain)
            taken += [shape for mark in found for shape in covers_of(mark)]
            return found
    return ()


def _triangle(slope: float, side: float, units: Units, height: float) -> tuple[Mark, ...]:
    """Draw a triangle whose level leg is on top, hung from the origin."""
    flat = _LEG * min(1.0, 1.0 / slope) if slope > 0.0 else _LEG
    flat = max(flat, _LEG / 3.0)
    tall = flat * slope
    # Its long side lies as the roof does; the upright leg hangs from the far end.
    corner = -side * flat / 2.0
    ring = ((-flat / 2.0, 0.0), (flat / 2.0, 0.0), (corner, -tall))
    lines = Line(layer="slopes", points=(*ring, ring[0]), stroke=_PEN)
    over = (0.0, 1.1 * height)
    if units is Units.METRIC:
        words = f"{round(math.degrees(math.atan(slope)), 1):g} deg"
        return lines, _word(words, over, height)
    rise, run = format_pitch(slope).split(":")
    beside = (corner - side * 0.5 * height, -max(tall / 2.0, 0.0))
    across = "right" if side > 0.0 else "left"
    return lines, _word(run, over, height), _word(rise, beside, height, across)


def _word(text: str, at: Point, height: float, across: str = "center") -> Text:
    return Text(layer="slopes", at=at, text=text, height=height, across=across)
