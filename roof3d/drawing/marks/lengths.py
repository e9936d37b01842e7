"""Dimensions set clear of everything: short ones nearest, each longer one outside them."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import Enum

import shapely

from roof3d.drawing.letters import text_width
from roof3d.drawing.marks.clear import covers_of, text_box
from roof3d.drawing.model import ARROW, TAIL, Dimension, Point, Text

_LANES, _STEP = 48, 1.1
_ON_LINE, _BESIDE = 1.25, 0.9
"""From a line to the middle of its text, in heights; from a tail to a text beside it."""
_CLEAR = 0.35
_INSIDE = 3.0
"""Arrows stand inside a line that is this many arrows long, or longer."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Wish:
    """A length that is to be drawn.

    Attributes
    ----------
    id, text : str
    feet : tuple[Point, Point]
        On the sheet, as far apart as the value is at the scale.
    value : float
        Metres.
    ways : tuple of (Point, float)
        Unit vectors square to the feet in which its line may stand off, the best first, and
        how far off at the least, millimetres.
    turned : float
        What each further way costs, in lanes of the first.
    """

    id: str
    text: str
    feet: tuple[Point, Point]
    value: float
    ways: tuple[tuple[Point, float], ...]
    turned: float = 40.0


def set_lengths(
    wishes: Sequence[Wish], taken: Sequence[shapely.Geometry], height: float
) -> tuple[Dimension, ...]:
    """Set each length where it is clear; one for which there is no place is left out.

    Parameters
    ----------
    wishes : sequence of Wish
    taken : sequence of shapely geometries
        Where neither a text nor a dimension line may lie.
    height : float
        Of a capital, millimetres.
    """
    solid = shapely.STRtree(list(taken))
    set_down: list[Dimension] = []
    for wish in sorted(wishes, key=lambda one: (one.value, one.id)):
        best: tuple[float, Dimension] | None = None
        for cost, trial in _trials(wish, height):
            if best is not None and cost >= best[0]:
                continue
            faults = _faults(trial, solid, set_down)
            if faults is not None and (best is None or cost + faults < best[0]):
                best = (cost + faults, trial)
        if best is not None:
            set_down.append(best[1])
    return tuple(set_down)


def _trials(wish: Wish, height: float) -> Iterator[tuple[float, Dimension]]:
    """Yield places for a length with what speaks against each, the nearest first."""
    length = math.dist(*wish.feet)
    fits = text_width(wish.text, height) + 1.0 <= length
    for lane in range(_LANES):
        for turn, (way, least) in enumerate(wish.ways):
            off = least + lane * _STEP
            for cost, spot in _SPOTS:
                if fits is not (spot is _Spot.OVER) or (
                    spot is _Spot.BESIDE and abs(way[0]) < _SIDEWAYS
                ):
                    continue
                yield lane + wish.turned * turn + cost, _dimension(wish, way, off, spot, height)


class _Spot(Enum):
    """Where the text of a length stands: over its line, past an end, or beside it, level."""

    OVER = 0
    AFTER = 1
    BEFORE = 2
    BESIDE = 3


_SPOTS = ((0.0, _Spot.OVER), (0.0, _Spot.AFTER), (0.4, _Spot.BEFORE), (-0.5, _Spot.BESIDE))
"""With what each costs, in lanes."""
_SIDEWAYS = 0.97
_LEVEL_OFF = 2.0


def _dimension(wish: Wish, way: Point, off: float, spot: _Spot, height: float) -> Dimension:
    (ax, ay), (bx, by) = wish.feet
    dx, dy = off * way[0], off * way[1]
    ends = ((ax + dx, ay + dy), (bx + dx, by + dy))
    length = math.dist(*ends)
    outside = length < _INSIDE * ARROW
    ux, uy = (bx - ax) / length, (by - ay) / length
    middle = ((ends[0][0] + ends[1][0]) / 2.0, (ends[0][1] + ends[1][1]) / 2.0)
    turn = math.degrees(math.atan2(uy, ux))
    turn = turn - 180.0 if turn > 90.01 else turn + 180.0 if turn <= -89.99 else turn
    across = "center"
    if spot is _Spot.OVER:
        rad, rise = math.radians(turn), _ON_LINE * height
        at = (middle[0] - rise * math.sin(rad), middle[1] + rise * math.cos(rad))
    elif spot is _Spot.BESIDE:
        turn = 0.0
        at = (middle[0] + _LEVEL_OFF * way[0], middle[1] + _LEVEL_OFF * way[1])
        across = "left" if way[0] > 0.0 else "right"
    else:
        # Past an end, in line with the tail.
        out = length / 2.0 + _BESIDE + (TAIL if outside else 0.0)
        out += text_width(wish.text, height) / 2.0
        sign = 1.0 if spot is _Spot.AFTER else -1.0
        at = (middle[0] + sign * out * ux, middle[1] + sign * out * uy)
    return Dimension(
        layer="dimensions",
        id=wish.id,
        feet=wish.feet,
        ends=ends,
        text=Text(
            layer="dimensions",
            at=at,
            text=wish.text,
            height=height,
            across=across,
            turn_deg=turn,
        ),
        value=wish.value,
        outside=outside,
    )


def _faults(trial: Dimension, solid: shapely.STRtree, others: Sequence[Dimension]) -> float | None:
    """Return what a place costs more for lines that cross; None where it cannot be."""
    box = text_box(trial.text, _CLEAR)
    line = shapely.LineString(trial.line)
    extensions = [shapely.LineString(run) for run in trial.extensions]
    if len(solid.query([box, line], predicate="intersects")[0]) or _hit(box, extensions):
        return None
    crossed = 0.0
    for other in others:
        words, *lines = covers_of(other)
        beside = shapely.LineString(other.line)
        if (
            _hit(words, [box, line, *extensions])
            or _hit(box, lines)
            or line.distance(beside) < _CLEAR
        ):
            return None
        crossed += sum(run.intersects(beside) for run in extensions)
        crossed += sum(line.intersects(run) for run in lines[1:])
    return 4.0 * crossed


def _hit(shape: shapely.Geometry, others: Sequence[shapely.Geometry]) -> bool:
    return any(other.intersects(shape) for other in others)
