"""Laps of successive layers kept apart: the lap lines by the cut of the first course.

The side laps of a layer lie at the feet of its courses, from the second on. Where two layers
show unlike exposures their feet drift against each other up the slope, so the distance is
looked at on every course, not on the first.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise
from typing import Final

import numpy as np
from numpy.typing import NDArray

from roof3d.errors import LayoutError
from roof3d.layout.joint import INCH
from roof3d.layout.model import Course, Direction, Floats, Integers, Pieces
from roof3d.tolerance import DEFAULT, Tolerance

GRID: Final = 0.5 * INCH
LEAST_FIRST: Final = 12.0 * INCH
"""Narrowest first course worth cutting where the usual one will not do."""
LEAST_SHOWN: Final = 4.0 * INCH
"""How much of it shows at least below the second course."""
SHORTFALL_WEIGHT: Final = 1000.0
"""A millimetre missing weighs as much as a first course a metre from the usual one."""


_PLACES: Final = 6
"""Decimals of metres that decide: rounding must not choose another cut for a mirrored plane."""


NEXT_SHARE: Final = 0.75
"""Laps of layers next but one stay this share of the offset apart, as far as touching ones allow:
common practice, no source. A wish: what falls short of it is not told."""


class Kept(StrEnum):
    """What should be kept apart."""

    SIDE_OFFSET = "side laps from those of the layer below"
    CLEAR = "side laps from a line"
    END_OFFSET = "end laps from those of the layer below"
    STAGGER = "end laps in neighbouring courses"


@dataclass(frozen=True, slots=True, kw_only=True)
class Shortfall:
    """A distance that could not be kept.

    Attributes
    ----------
    layer : int
        Index of the layer among those asked for, bottom up; 0 for a single one.
    kept : Kept
    reached, wanted : float
        Metres.
    """

    layer: int = 0
    kept: Kept
    reached: float
    wanted: float


@dataclass(frozen=True, slots=True, kw_only=True)
class StartRule:
    """What the first course of one layer is chosen by. Metres.

    Attributes
    ----------
    low, high : float
        Of its extent in the stacking direction.
    width, lap : float
        Of a sheet, and of one course over another; ``0 <= lap < width``.
    first : float
        Usual width of the first course, above 0, at most ``width``.
    least_offset : float
        Of its side laps from those of the layer below; 0 where they need not keep any.
    clear : tuple[tuple[float, float], ...]
        Lines in the stacking direction, each with the distance that the whole of every
        lap, from its foot to the head below it, stays off it.
    """

    low: float
    high: float
    width: float
    lap: float
    first: float
    least_offset: float = 0.0
    clear: tuple[tuple[float, float], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class StartChoice:
    """Width of the first course of each layer, bottom up, and what it does not keep."""

    firsts: tuple[float, ...]
    shortfalls: tuple[Shortfall, ...]


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class EndLaps:
    """Laps within the courses of one layer, as columns of one length k.

    Attributes
    ----------
    boxes : (k, 4) float64
        Where two sheets lie over each other, before trimming, metres in the plane's frame.
    places : (k,) float64
        Where along the run the sheet on top begins, in the plane's frame.
    course : (k,) int64
    """

    boxes: Floats
    places: Floats
    course: Integers


def feet_of(courses: Sequence[Course]) -> Floats:
    """Return the lap lines of a layer: the lying edges of its courses from the second on.

    Of courses counted from the greater side down these are their high sides.
    """
    if len(courses) > 1 and courses[-1].high < courses[0].high:
        return np.array([course.high for course in courses[1:]], dtype=np.float64)
    return np.array([course.low for course in courses[1:]], dtype=np.float64)


def lap_distance(lower: Sequence[Course], upper: Sequence[Course]) -> float:
    """Return the smallest distance between the side laps of two layers, metres.

    Parameters
    ----------
    lower, upper : sequence of Course
        Of one stacking direction.

    Returns
    -------
    float
        Over all courses; inf where a layer has no lap.
    """
    return least_distance(np.sort(feet_of(upper)), np.sort(feet_of(lower)))


def least_distance(places: Floats, others: Floats) -> float:
    """Return the smallest distance between two sorted rows of places; inf where one is empty."""
    if not len(places) or not len(others):
        return math.inf
    at = np.searchsorted(others, places)
    before = np.abs(places - others[np.maximum(at - 1, 0)])
    after = np.abs(others[np.minimum(at, len(others) - 1)] - places)
    return float(np.minimum(before, after).min())


def end_laps_of(pieces: Pieces, direction: Direction) -> EndLaps:
    """Return the end laps of a layer: where neighbours in a course lie over each other.

    Parameters
    ----------
    pieces : Pieces
        In the order of laying.
    direction : Direction
        In which they run.

    Returns
    -------
    EndLaps
    """
    before, after = pieces.boxes[:-1], pieces.boxes[1:]
    lows = np.maximum(before[:, :2], after[:, :2])
    highs = np.minimum(before[:, 2:], after[:, 2:])
    meet = (pieces.course[:-1] == pieces.course[1:]) & (lows < highs).all(axis=1)
    run = 0 if direction is Direction.ACROSS else 1
    rising = after[:, run] > before[:, run]
    return EndLaps(
        boxes=np.hstack([lows, highs])[meet],
        places=np.where(rising, after[:, run], after[:, run + 2])[meet],
        course=pieces.course[1:][meet],
    )


def even_laps(sheets: Sequence[tuple[float, float]]) -> tuple[float, ...]:
    """Return laps that give every layer the exposure of the one that shows least.

    Parameters
    ----------
    sheets : sequence of (width, lap)
        Of each layer, metres.

    Returns
    -------
    tuple[float, ...]
        None smaller than given.

    Examples
    --------
    >>> even_laps([(39.375, 2.0), (39.375, 4.0)])
    (4.0, 4.0)
    """
    shown = min((width - lap for width, lap in sheets), default=0.0)
    return tuple(max(lap, width - shown) for width, lap in sheets)


def choose_firsts(layers: Sequence[StartRule], *, tol: Tolerance = DEFAULT) -> StartChoice:
    """Choose the first course of each layer so that touching layers keep their laps apart.

    Parameters
    ----------
    layers : sequence of StartRule
        Bottom up; each touches the one before.
    tol : Tolerance
        What misses by no more than its ``sliver`` is kept.

    Returns
    -------
    StartChoice
        The usual first courses where they keep everything; else those nearest to them, on a
        grid of half inches, that do; where none do, those whose worst shortfall is smallest,
        with every shortfall. Among equals those that keep layers next but one apart, too.

    Raises
    ------
    LayoutError
        A lap not below the width.

    Notes
    -----
    Two passes up the chain of layers: the smallest worst shortfall of touching ones, then the
    nearest cuts within it. Work grows with the cube of the candidates (some 60) and with the
    courses.
    """
    for rule in layers:
        if not 0.0 <= rule.lap < rule.width:
            raise LayoutError(
                f"a lap of {rule.lap:g} m does not fit a sheet {rule.width:g} m wide",
                hint="the lap is at least 0 and less than the width",
            )
    if not layers:
        return StartChoice(firsts=(), shortfalls=())
    firsts = [_candidates(rule) for rule in layers]
    alone = [
        _missing(_clear_of(rule, cuts, tol), _wanted(rule), tol)
        for rule, cuts in zip(layers, firsts, strict=True)
    ]
    chain = list(zip(layers, firsts, strict=True))
    pairs = [_pair_missing(*below, *above, 1.0, tol) for below, above in pairwise(chain)]
    nexts = [
        _pair_missing(*below, *above, NEXT_SHARE, tol)
        for below, above in zip(chain, chain[2:], strict=False)
    ]
    picked = _pick(firsts, alone, pairs, nexts)
    return StartChoice(
        firsts=tuple(float(cuts[at]) for cuts, at in zip(firsts, picked, strict=True)),
        shortfalls=_told(layers, firsts, picked, tol),
    )


def _candidates(rule: StartRule) -> Floats:
    """Return first courses to choose from: the usual one, then half inches and the whole."""
    least = min(rule.width, max(LEAST_FIRST, rule.lap + LEAST_SHOWN))
    grid = np.arange(math.ceil(least / GRID), math.ceil(rule.width / GRID)) * GRID
    return np.concatenate([[rule.first], grid, [rule.width]])


def _counts(rule: StartRule, cuts: Floats, tol: Tolerance) -> Floats:
    """Return how many courses follow the first, for each width of it."""
    left = rule.high - rule.low - cuts - tol.sliver
    return np.maximum(0.0, np.ceil(left / (rule.width - rule.lap)))


def _clear_of(rule: StartRule, cuts: Floats, tol: Tolerance) -> Floats:
    """Return the distance of the laps from each clear line: (cuts, lines); inf without laps."""
    lines = np.array([line for line, _ in rule.clear], dtype=np.float64)
    foot = (rule.low + cuts - rule.lap)[:, None]
    shown, last = rule.width - rule.lap, (_counts(rule, cuts, tol) - 1.0)[:, None]
    near = np.floor((lines[None, :] - foot) / shown)
    result = np.full((len(cuts), len(lines)), math.inf)
    for step in (0.0, 1.0):
        place = foot + np.clip(near + step, 0.0, np.maximum(last, 0.0)) * shown
        gap = np.maximum(np.maximum(place - lines, lines - place - rule.lap), 0.0)
        result = np.minimum(result, gap)
    return np.where(last < 0.0, math.inf, result)


def _pair_distances(
    lower: StartRule, lower_cuts: Floats, upper: StartRule, upper_cuts: Floats, tol: Tolerance
) -> Floats:
    """Return the smallest distance of laps for each pair of first courses: (lower, upper).

    Feet of one layer are evenly spaced, so the nearest one is found by division.
    """
    result = np.full((len(lower_cuts), len(upper_cuts)), math.inf)
    if upper.least_offset <= 0.0:
        return result
    shown = lower.width - lower.lap
    feet = lower.low + lower_cuts - lower.lap
    last = _counts(lower, lower_cuts, tol) - 1.0
    laps = np.flatnonzero(last >= 0.0)
    counts = _counts(upper, upper_cuts, tol)
    for column in np.flatnonzero(counts).tolist() if len(laps) else ():
        steps = np.arange(counts[column]) * (upper.width - upper.lap)
        away = upper.low + upper_cuts[column] - upper.lap + steps - feet[laps, None]
        near = np.clip(np.rint(away / shown), 0.0, last[laps, None])
        result[laps, column] = np.abs(away - near * shown).min(axis=1)
    return result


def _pair_missing(
    lower: StartRule,
    lower_cuts: Floats,
    upper: StartRule,
    upper_cuts: Floats,
    share: float,
    tol: Tolerance,
) -> Floats:
    """Return what each pair of first courses lacks of a share of the upper one's offset."""
    reached = _pair_distances(lower, lower_cuts, upper, upper_cuts, tol)
    return _missing(reached[..., None], np.array([share * upper.least_offset]), tol)


def _wanted(rule: StartRule) -> Floats:
    return np.array([distance for _, distance in rule.clear], dtype=np.float64)


def _missing(reached: Floats, wanted: Floats, tol: Tolerance) -> Floats:
    """Return by how much the worst falls short along the last axis; 0 where all is kept."""
    short = wanted - reached
    worst: Floats = np.max(short, axis=-1, initial=0.0)
    return np.where(worst > tol.sliver, np.round(worst, _PLACES), 0.0)


def _pick(
    firsts: list[Floats], alone: list[Floats], pairs: list[Floats], nexts: list[Floats]
) -> list[int]:
    """Return the index of the first course chosen for each layer.

    The way to each cut of a layer is kept for each cut of the layer below, since what lies next
    but one counts too.
    """
    worst = alone[0]
    for pair, own in zip(pairs, alone[1:], strict=True):
        worst = np.maximum(np.maximum(worst[:, None], pair).min(axis=0), own)
    allowed = float(worst.min())

    def cost(short: Floats) -> Floats:
        return np.where(short <= allowed, short * SHORTFALL_WEIGHT, math.inf)

    single = [
        np.round(np.abs(cuts - cuts[0]) + cost(short), _PLACES)
        for cuts, short in zip(firsts, alone, strict=True)
    ]
    if not pairs:
        return [int(single[0].argmin())]
    total = np.round(single[0][:, None] + cost(pairs[0]) + single[1][None, :], _PLACES)
    before: list[NDArray[np.intp]] = []
    for k, (pair, apart) in enumerate(zip(pairs[1:], nexts, strict=True), 2):
        ways = np.round(total[:, :, None] + apart[:, None, :] * SHORTFALL_WEIGHT, _PLACES)
        before.append(ways.argmin(axis=0))
        total = np.round(ways.min(axis=0) + cost(pair) + single[k][None, :], _PLACES)
    below, last = np.unravel_index(int(total.argmin()), total.shape)
    picked = [int(last), int(below)]
    for ways_back in reversed(before):
        picked.append(int(ways_back[picked[-1], picked[-2]]))
    return picked[::-1]


def _told(
    layers: Sequence[StartRule], firsts: list[Floats], picked: list[int], tol: Tolerance
) -> tuple[Shortfall, ...]:
    told = []
    for k, rule in enumerate(layers):
        cut = firsts[k][picked[k], None]
        asked = [
            (Kept.CLEAR, float(reached), wanted)
            for reached, wanted in zip(_clear_of(rule, cut, tol)[0], _wanted(rule), strict=True)
        ]
        if k:
            lower = firsts[k - 1][picked[k - 1], None]
            reached = _pair_distances(layers[k - 1], lower, rule, cut, tol)[0, 0]
            asked.append((Kept.SIDE_OFFSET, float(reached), rule.least_offset))
        told += [
            Shortfall(layer=k, kept=kept, reached=reached, wanted=float(wanted))
            for kept, reached, wanted in asked
            if wanted - reached > tol.sliver
        ]
    return tuple(told)
