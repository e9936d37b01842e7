"""Sheets rolled out course by course: leftovers, whole rolls, end laps kept apart.

A run is worked in a frame of its own: ``s`` along it from where it starts, ``t`` in the stacking
direction. The place of an end lap is the edge of the sheet that lies on top, so distances of
end laps are distances of these edges.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import shapely

from roof3d.errors import LayoutError
from roof3d.layout.model import Course, Direction, Floats, LaidLayer, Pieces
from roof3d.layout.offsets import EndLaps, Kept, Shortfall, end_laps_of, least_distance
from roof3d.layout.trim import Strip, strips_of, trim
from roof3d.tolerance import DEFAULT, Tolerance

MOST_SHEETS: Final = 1_000_000
"""More than any run has: a roll hardly longer than its lap is told, not laid."""

HALVINGS: Final = 12
"""The smallest shortfall is found to a 4000th of the distance wanted."""


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class SheetRun:
    """The sheets of one layer, and what they keep.

    Attributes
    ----------
    pieces : Pieces
    least_stagger, least_end_offset : float
        Smallest distance of end laps in neighbouring courses, and from end laps of the layer
        below where they lie over each other; metres, inf where none meet.
    shortfalls : tuple[Shortfall, ...]
        Of these two, what falls short.
    """

    pieces: Pieces
    least_stagger: float
    least_end_offset: float
    shortfalls: tuple[Shortfall, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Rule:
    """A roll, its lap, its shortest sheet; distances of ends; lengths that are nothing."""

    length: float
    lap: float
    shortest: float
    stagger: float
    end_offset: float
    crumb: float


@dataclass(frozen=True, slots=True, kw_only=True)
class _Bars:
    """Stretches of a run in which no sheet may begin, apart and in order."""

    lows: list[float]
    highs: list[float]

    def free_below(self, place: float) -> float:
        """Return the greatest free place up to ``place``."""
        at = bisect_right(self.lows, place) - 1
        return self.lows[at] if at >= 0 and place < self.highs[at] else place


def lay_sheets(
    extent: shapely.Geometry,
    courses: Sequence[Course],
    *,
    direction: Direction,
    length: float,
    end_lap: float,
    stagger: float = 0.0,
    end_offset: float = 0.0,
    shortest: float = 0.0,
    below: LaidLayer | None = None,
    from_high: bool = False,
    tol: Tolerance = DEFAULT,
) -> SheetRun:
    """Roll the sheets of one layer out on its courses.

    Parameters
    ----------
    extent : shapely.Geometry
        Valid polygon or multipolygon in the plane's frame; not changed.
    courses : sequence of Course
        In the order of laying; together they cover the extent.
    direction : Direction
        Whether runs go along u (across the slope) or along v.
    length, end_lap : float
        Of a roll, and of one sheet over the one before, metres; ``0 <= end_lap < length``.
    stagger : float
        Least distance of end laps in neighbouring courses, metres.
    end_offset : float
        Least distance of end laps from those of ``below`` that they lie over, metres.
    shortest : float
        Shortest sheet worth laying, metres, where the run is no shorter itself.
    below : LaidLayer or None
        Touching layer below; one that runs the other way has no end laps to keep off.
    from_high : bool
        Start the runs at the greater end.
    tol : Tolerance
        What misses by no more than its ``sliver`` is kept; a run that much longer than a roll
        is one sheet, which then stops that much short.

    Returns
    -------
    SheetRun
        Each course starts with the leftover of the last roll, if that is long enough, then
        whole rolls, the last one cut. What stands too near to another end lap is cut to the
        longest length that keeps all distances; a leftover that never does gives way to a
        new roll. No box is longer than a roll. A course that an opening parts is laid part
        by part.

    Raises
    ------
    LayoutError
        A length that is none, a lap not below the length, or too many sheets.

    Notes
    -----
    Where no cut keeps all distances, they are all asked for less by the same smallest
    amount; what was reached is told. Work and memory grow with the sheets.
    """
    if not all(map(math.isfinite, (length, end_lap, stagger, end_offset, shortest))):
        raise LayoutError("lengths of sheets must be numbers")
    if length <= 0.0 or not 0.0 <= end_lap < length:
        raise LayoutError(
            f"an end lap of {end_lap:g} m does not fit a sheet {length:g} m long",
            hint="the lap is at least 0 and less than the length",
        )
    rule = _Rule(
        length=length,
        lap=end_lap,
        shortest=min(max(shortest, 2.0 * end_lap), (length + end_lap) / 2.0),
        stagger=stagger,
        end_offset=end_offset,
        crumb=tol.sliver,
    )
    sign = -1.0 if from_high else 1.0
    order = [0, 1] if direction is Direction.ACROSS else [1, 0]
    ground = shapely.transform(extent, lambda points: points[:, order] * (sign, 1.0))
    lower = None
    if below is not None and below.direction is direction:
        lower = _lower_ends(end_laps_of(below.pieces, direction), order, sign)
    rows, least_stagger, least_offset = _lay_strips(
        strips_of(ground, courses, tol=tol), lower, rule
    )
    told = ((Kept.STAGGER, least_stagger, stagger), (Kept.END_OFFSET, least_offset, end_offset))
    return SheetRun(
        pieces=_pieces_of(rows, extent, order, sign, tol),
        least_stagger=least_stagger,
        least_end_offset=least_offset,
        shortfalls=tuple(
            Shortfall(kept=kept, reached=reached, wanted=wanted)
            for kept, reached, wanted in told
            if reached < wanted - tol.sliver
        ),
    )


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class _LowerEnds:
    """End laps of the layer below in the frame of the run, by their low side."""

    places: Floats
    lows: Floats
    highs: Floats
    tallest: float

    def under(self, low: float, high: float, crumb: float) -> Floats:
        """Return the places of those that a course lies over, in order."""
        first, last = np.searchsorted(self.lows, (low - self.tallest, high - crumb))
        part = slice(int(first), int(last))
        return np.sort(self.places[part][self.highs[part] > low + crumb])


def _lower_ends(ends: EndLaps, order: list[int], sign: float) -> _LowerEnds:
    lows, highs = ends.boxes[:, order[1]], ends.boxes[:, order[1] + 2]
    by_low = np.argsort(lows, kind="stable")
    return _LowerEnds(
        places=ends.places[by_low] * sign,
        lows=lows[by_low],
        highs=highs[by_low],
        tallest=float((highs - lows).max(initial=0.0)),
    )


def _lay_strips(
    strips: Sequence[Strip], lower: _LowerEnds | None, rule: _Rule
) -> tuple[list[tuple[float, ...]], float, float]:
    """Return each sheet (start, low, end, high, course), least stagger, least end offset."""
    rows: list[tuple[float, ...]] = []
    least_stagger = least_offset = math.inf
    leftover, last, before = 0.0, 0, np.empty(0)
    for strip in strips:
        if strip.course != last + 1:
            before = np.empty(0)
        under = np.empty(0)
        if lower is not None:
            under = lower.under(strip.low, strip.high, rule.crumb)
        near = ((before, rule.stagger), (under, rule.end_offset))
        own: list[float] = []
        for start, end in strip.runs:
            starts, leftover = _roll_out(start, end, leftover, near, rule)
            ends = [edge + rule.lap for edge in starts[1:]] + [end]
            starts[-1] = max(starts[-1], end - rule.length)
            for edge, over in zip(starts, ends, strict=True):
                rows.append((edge, strip.low, over, strip.high, strip.course))
            own += starts[1:]
        laid = np.array(own, dtype=np.float64)
        least_stagger = min(least_stagger, least_distance(laid, before))
        least_offset = min(least_offset, least_distance(laid, under))
        last, before = strip.course, laid
    return rows, least_stagger, least_offset


def _roll_out(
    start: float,
    end: float,
    leftover: float,
    near: tuple[tuple[Floats, float], ...],
    rule: _Rule,
) -> tuple[list[float], float]:
    """Return where the sheets of one run begin, and what is left of the last roll."""
    sheets = (end - start) / (rule.length - rule.lap)
    if sheets > MOST_SHEETS:
        raise LayoutError(
            f"{sheets:.0f} sheets on a run of {end - start:g} m",
            hint="a longer roll, or a smaller end lap",
        )
    rolls = [leftover, rule.length] if leftover >= rule.shortest - rule.crumb else [rule.length]

    def cut(less: float) -> list[float]:
        return _sheets(start, end, rolls, _bars_of(near, start, end, less, rule), rule)

    found, too_little, enough = cut(0.0), 0.0, max(distance for _, distance in near)
    for _ in range(0 if found else HALVINGS):
        tried = (too_little + enough) / 2.0
        if cut(tried):
            enough = tried
        else:
            too_little = tried
    found = found or cut(enough)
    used = rolls[0] if end - start <= rolls[0] + rule.crumb else rule.length
    return found, max(0.0, used - (end - found[-1]))


def _bars_of(
    near: tuple[tuple[Floats, float], ...], start: float, end: float, less: float, rule: _Rule
) -> _Bars:
    """Return where no sheet of a run may begin, each distance asked for by so much less."""
    lows, highs = [np.empty(0)], [np.empty(0)]
    for places, wanted in near:
        distance = wanted - less
        if distance > rule.crumb:
            first, last = np.searchsorted(places, (start - distance, end + distance))
            lows.append(places[first:last] - distance)
            highs.append(places[first:last] + distance - rule.crumb)
    low, high = np.concatenate(lows), np.concatenate(highs)
    by_low = np.argsort(low, kind="stable")
    low, high = low[by_low], np.maximum.accumulate(high[by_low])
    apart = np.append(True, low[1:] >= high[:-1])[: len(low)]
    return _Bars(lows=low[apart].tolist(), highs=high[np.roll(apart, -1)].tolist())


def _sheets(start: float, end: float, rolls: list[float], bars: _Bars, rule: _Rule) -> list[float]:
    """Return where the sheets of a run begin; empty where none keep off the bars."""
    for roll in rolls:
        if end - start <= roll + rule.crumb:
            return [start]
        first = _longest_first(start, end, roll, bars, rule)
        found = _cut(start, end, roll, first, bars, rule)
        if found:
            return found
    for roll in rolls:
        found = _cut(start, end, roll, math.inf, bars, rule)
        if found:
            return found
    return []


def _longest_first(start: float, end: float, roll: float, bars: _Bars, rule: _Rule) -> float:
    """Return the farthest second sheet from which whole rolls pass all bars; -inf if none.

    Every bar is moved back by whole rolls to where the second sheet begins. Bars within a
    roll of the end are left out: the last sheets are cut there anyhow.
    """
    step = rule.length - rule.lap
    low, high = start + rule.shortest - rule.lap, start + roll - rule.lap
    lows = np.array(bars.lows, dtype=np.float64)
    highs = np.minimum(bars.highs, end - rule.length)
    real = lows < highs
    lows, highs = lows[real], highs[real]
    back = np.maximum(0.0, np.ceil((lows - high) / step))
    count = 2 + int(((highs - lows).max(initial=0.0) + high - low) / step)
    shifts = (back[:, None] + np.arange(count)) * step
    moved = np.stack([(lows[:, None] - shifts).ravel(), (highs[:, None] - shifts).ravel()], axis=1)
    moved = moved[(moved[:, 1] > low) & (moved[:, 0] < high)]
    for bar_low, bar_high in moved[np.argsort(-moved[:, 1])].tolist():
        if bar_low < high < bar_high:
            high = bar_low
    return high if high >= low - rule.crumb else -math.inf


def _cut(
    start: float, end: float, roll: float, first: float, bars: _Bars, rule: _Rule
) -> list[float]:
    """Return where sheets begin, each the longest that keeps off the bars; empty if one cannot.

    ``roll`` is what the first sheet is cut from, ``first`` how far off the second may begin.
    """
    starts, longest = [start], roll
    while end - starts[-1] > longest + rule.crumb:
        farthest = min(starts[-1] + longest - rule.lap, end - rule.shortest, first)
        place = bars.free_below(farthest)
        if place < starts[-1] + rule.shortest - rule.lap - rule.crumb:
            return []
        starts.append(place)
        longest, first = rule.length, math.inf
    return starts


def _pieces_of(
    rows: list[tuple[float, ...]],
    extent: shapely.Geometry,
    order: list[int],
    sign: float,
    tol: Tolerance,
) -> Pieces:
    """Return the sheets as pieces in the plane's frame, trimmed, without those that vanish."""
    table = np.array(rows, dtype=np.float64).reshape(-1, 5)
    boxes = table[:, :4].copy()
    if sign < 0.0:
        boxes[:, [0, 2]] = -boxes[:, [2, 0]]
    boxes = boxes[:, [*order, order[0] + 2, order[1] + 2]]
    done = trim(boxes, extent, tol=tol)
    course = table[done.kept, 4].astype(np.int64)
    return Pieces(
        boxes=boxes[done.kept],
        course=course,
        place=np.arange(1, len(course) + 1) - np.searchsorted(course, course),
        areas=done.areas,
        trimmed=done.outlines,
    )
