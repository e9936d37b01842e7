"""Arrows: up the slope beside a plan, and over a lap from the upper sheet to the lower."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import shapely

from roof3d.drawing.letters import LINE_PITCH
from roof3d.drawing.marks.clear import bounds_of, covers_of
from roof3d.drawing.model import Area, Hatch, Line, Mark, Point, Stroke, Text, arrowhead, moved

_LONG, _LAP = 13.0, 5.0
_PEN, _LAP_PEN = Stroke(width=0.35), Stroke(width=0.3)
_BLACK = Hatch(tone=0.0)
_STEP, _REACH, _CLEAR = 2.0, 90.0, 1.5


def set_way(
    angle: float, words: Sequence[str], height: float, at: Point, taken: list[shapely.Geometry]
) -> tuple[Mark, ...]:
    """Return an arrow with its words as near to a place as they stand clear; it joins the taken.

    Parameters
    ----------
    angle : float
        The way it points, radians.
    words : sequence of str
        Lines under the arrow.
    height : float
        Of a capital, millimetres.
    at : Point
        Where its middle is wanted.
    taken : list of shapely geometries
    """
    ux, uy = math.cos(angle), math.sin(angle)
    tail, tip = (-ux * _LONG / 2.0, -uy * _LONG / 2.0), (ux * _LONG / 2.0, uy * _LONG / 2.0)
    plain: list[Mark] = [*_shaft(tail, tip, _PEN, "water")]
    y = -abs(uy) * _LONG / 2.0 - 1.6 * height
    for word in words:
        plain.append(Text(layer="water", at=(0.0, y), text=word, height=height, across="center"))
        y -= LINE_PITCH * height
    left, low, right, high = bounds_of(tuple(plain))
    tree = shapely.STRtree(taken)
    steps = np.arange(-_REACH, _REACH + _STEP / 2.0, _STEP)
    places = [(at[0] + float(x), at[1] + float(y)) for x in steps for y in steps]
    places.sort(key=lambda place: (math.dist(place, at), place))
    box = shapely.box(left, low, right, high)
    for place in places:
        here = shapely.transform(box, lambda points, by=place: points + np.array(by))
        if len(tree.query(here, predicate="dwithin", distance=_CLEAR)) == 0:
            found = tuple(moved(mark, place) for mark in plain)
            taken += [shape for mark in found for shape in covers_of(mark)]
            return found
    return ()


def lap_arrow(at: Point, way: Point) -> tuple[Mark, ...]:
    """Return a short arrow about a place, in the direction of a unit vector."""
    half = _LAP / 2.0
    tail = (at[0] - half * way[0], at[1] - half * way[1])
    return _shaft(tail, (at[0] + half * way[0], at[1] + half * way[1]), _LAP_PEN, "laps")


def _shaft(tail: Point, tip: Point, pen: Stroke, layer: str) -> tuple[Mark, ...]:
    size = math.dist(tail, tip)
    back = ((tail[0] - tip[0]) / size, (tail[1] - tip[1]) / size)
    head = arrowhead(tip, back)
    return (
        Line(layer=layer, points=(tail, tip), stroke=pen),
        Area(layer=layer, rings=(head,), hatch=_BLACK),
    )
