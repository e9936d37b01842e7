"""What marks cover, and what on a sheet is in the way of what else, as numbers."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import combinations

import shapely
from shapely import affinity

from roof3d.drawing.model import Area, Callout, Dimension, Dot, Drawing, Line, Mark, Text

_BELOW, _ABOVE = 0.8, 0.58
"""How far letters reach under and over the middle of a capital, in heights of one."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Faults:
    """What is in the way of what on a sheet; all zero where it can be read.

    Attributes
    ----------
    texts : int
        Pairs of texts, or of a text and a number, that overlap.
    leaders : int
        Pairs of leaders that cross, and leaders through another's disc.
    lines : int
        Texts that a leader or the line of a dimension runs through.
    off_paper : int
        Texts and numbers that are not wholly on the paper.
    """

    texts: int
    leaders: int
    lines: int
    off_paper: int


def text_box(text: Text, more: float = 0.0) -> shapely.Polygon:
    """Return the rectangle that a text covers, and ``more`` millimetres around it."""
    x, y = text.at
    left = x - {"left": 0.0, "center": 0.5, "right": 1.0}[text.across] * text.width
    low, high = y - _BELOW * text.height, y + _ABOVE * text.height
    box = shapely.box(left - more, low - more, left + text.width + more, high + more)
    return affinity.rotate(box, text.turn_deg, origin=(x, y)) if text.turn_deg else box


def disc_of(callout: Callout) -> shapely.Polygon:
    """Return the disc of a number."""
    return shapely.Point(callout.centre).buffer(callout.radius)


def covers_of(mark: Mark) -> tuple[shapely.Geometry, ...]:
    """Return what a mark covers, for those that keep clear of it."""
    match mark:
        case Line():
            return (shapely.LineString(mark.points),)
        case Area():
            return (shapely.make_valid(shapely.Polygon(mark.rings[0], mark.rings[1:])),)
        case Dot():
            return (shapely.Point(mark.at),)
        case Text():
            return (text_box(mark),)
        case Callout():
            leader = mark.leader
            return (disc_of(mark), *((shapely.LineString(leader),) if leader else ()))
        case Dimension():
            lines = (mark.line, *mark.extensions)
            return (text_box(mark.text), *(shapely.LineString(line) for line in lines))


def bounds_of(marks: tuple[Mark, ...]) -> tuple[float, float, float, float]:
    """Return what marks reach: left, low, right, high."""
    found = [shape.bounds for mark in marks for shape in covers_of(mark)]
    lefts, lows, rights, highs = zip(*found, strict=True)
    return min(lefts), min(lows), max(rights), max(highs)


def count_faults(drawing: Drawing) -> Faults:
    """Count what is in the way of what."""
    boxes = [text_box(text) for text in drawing.texts]
    discs = [disc_of(callout) for callout in drawing.callouts]
    leaders = {
        k: shapely.LineString(callout.leader)
        for k, callout in enumerate(drawing.callouts)
        if callout.leader
    }
    paper = shapely.box(0.0, 0.0, *drawing.size)
    crossing = sum(a.intersects(b) for a, b in combinations(leaders.values(), 2))
    crossing += sum(
        disc.intersects(line)
        for k, disc in enumerate(discs)
        for number, line in leaders.items()
        if number != k
    )
    lines = list(leaders.values())
    for dimension in drawing.dimensions:
        lines += [shapely.LineString(line) for line in (dimension.line, *dimension.extensions)]
    tree = shapely.STRtree(boxes)
    return Faults(
        texts=sum(_overlap(a, b) for a, b in combinations([*boxes, *discs], 2)),
        leaders=crossing,
        lines=len(tree.query(lines, predicate="intersects")[0]) if lines else 0,
        off_paper=sum(not paper.contains(shape) for shape in (*boxes, *discs)),
    )


def _overlap(one: shapely.Polygon, two: shapely.Polygon) -> bool:
    return bool(one.intersects(two)) and not one.touches(two)


def scaled_error(drawing: Drawing) -> float:
    """Return by how much the worst dimension's line times the scale misses its value, metres."""
    return max(
        (abs(math.dist(*d.ends) * drawing.scale / 1000.0 - d.value) for d in drawing.dimensions),
        default=0.0,
    )
