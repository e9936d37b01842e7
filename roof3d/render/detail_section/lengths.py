"""Lengths on a section: which are drawn, and where their lines and texts stand."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from functools import partial

import numpy as np
import shapely
from numpy.typing import NDArray

from roof3d.details.frame import Floats
from roof3d.details.model import INCH, Detail, Measure
from roof3d.render.detail_ink.dimension import (
    DrawnDimension,
    Ranked,
    Trial,
    charged_on,
    first_clear,
    lies_in,
)
from roof3d.render.detail_ink.paragraph import text_box
from roof3d.render.detail_section.fit import SHARP, Fit
from roof3d.render.sheet import text_width

_SLIDES = (0.0, 1.0, 2.0, 3.0, -1.0, -2.0, -3.0, 4.5, -4.5)
_STAND_OFF, _PAST = 0.85, 1.3
"""Heights of the letters from a line to its text, and from its end to one in line with it."""
_OVER_NEIGHBOUR = 0.6
_TEXT_ON_PIECES, _LINE_ON_PIECES = 30.0, 18.0
"""What a text or a line on the section costs, in lanes."""
_AWAY = 0.25
"""Heights of the letters between a text and the section."""
_FIRST = 2.2 * INCH
"""Off the deck of the nearest dimension line, metres."""
_LANES, _LANE = 20, 0.9
"""How many heights are tried, and from one to the next in heights of the letters."""
_ALIKE = INCH / 2.0
_ASKEW = 0.02
_UPRIGHT = 89.99
"""Degrees at which a line counts as upright: its text is read from the right."""
_OTHER_SIDE = 0.9
"""What it costs, in lanes, to stand at the left of what goes straight up."""
_BEHIND = 3.4
"""Heights of the letters that the numbers behind a wall take."""

Area = tuple[float, float, float, float]


def choose_measures(detail: Detail, shown: float, most: int) -> tuple[Measure, ...]:
    """Return the lengths that a section draws: square to the line, the nearest to it first.

    One that measures what another does already is left out, and so is one that begins
    farther from the line than ``shown``, metres.
    """
    chosen: list[Measure] = []
    # Of two alike the upper layer's: it is the one that is seen.
    for measure in sorted(detail.measures, key=lambda m: (_nearness(m), -m.layer)):
        if _nearness(measure) > shown or not (_lies_in_profile(measure) or _stands(measure)):
            continue
        if any(_same(measure, other) for other in chosen):
            continue
        chosen.append(measure)
    return tuple(chosen[:most])


def _nearness(measure: Measure) -> float:
    """Distance from the line to where a length begins."""
    first, last = measure.reach
    return 0.0 if first <= 0.0 <= last else min(abs(first), abs(last))


def _lies_in_profile(measure: Measure) -> bool:
    first, last = measure.reach
    return last - first > INCH / 100.0 > abs(measure.value - (last - first))


def _stands(measure: Measure) -> bool:
    """Whether a length goes straight up."""
    (ax, ay, _), (bx, by, _) = measure.ends
    return math.hypot(bx - ax, by - ay) < INCH / 100.0 and not _lies_in_profile(measure)


def _same(one: Measure, other: Measure) -> bool:
    gaps = [abs(a - b) for a, b in zip(one.reach, other.reach, strict=True)]
    return max(gaps) < _ALIKE and _stands(one) == _stands(other)


def set_lengths(
    detail: Detail,
    measures: Sequence[Measure],
    fit: Fit,
    size: float,
    pieces: Sequence[shapely.Geometry],
    area: Area,
) -> tuple[DrawnDimension, ...]:
    """Set lengths off the deck, the short ones nearest to it, each clear of all others.

    Its text lies on the section only where there is no other place; one for which there is
    none is left out. The numbers come after.
    """
    solid = shapely.STRtree(pieces)
    choices: dict[str, tuple[Ranked, Ranked]] = {}

    def charge(trials: Sequence[DrawnDimension]) -> NDArray[np.float64]:
        # The nearest to the deck first, but off the section itself.
        boxes = [trial.box.grown(_AWAY * size) for trial in trials]
        costs = charged_on(solid, trials, boxes, _TEXT_ON_PIECES, _LINE_ON_PIECES)
        for k, trial in enumerate(trials):
            if not lies_in(trial, area):
                costs[k] = math.inf
        return costs

    def charge_clear(trials: Sequence[DrawnDimension]) -> NDArray[np.float64]:
        costs = charge(trials)
        return np.where(costs >= _TEXT_ON_PIECES, math.inf, costs)

    for measure in sorted(measures, key=lambda m: (_stands(m), m.value)):
        trials = _trials(detail, measure, fit, size)
        choices[measure.id] = (Ranked(trials, charge_clear), Ranked(trials, charge))
    placed: dict[str, DrawnDimension] = {}
    # The second time each knows where all others went.
    for _ in range(2):
        for name, (clear, rest) in choices.items():
            others = [other for key, other in placed.items() if key != name]
            found = first_clear(clear, others, size) or first_clear(rest, others, size)
            if found is not None:
                placed[name] = found
    return tuple(placed.values())


def _trials(detail: Detail, measure: Measure, fit: Fit, size: float) -> list[Trial]:
    """Return all places for a length."""
    if _stands(measure):
        return _upright(detail, measure, fit, size)
    rows = [(lane, _FIRST + lane * _LANE * size / fit.scale) for lane in range(_LANES)]
    if _on_wall(detail, measure):
        # Behind the wall, past the numbers.
        rows += [(lane, -height - _BEHIND * size / fit.scale) for lane, height in rows]
    return [
        trial
        for lane, height in rows
        for trial in _along_deck(detail, measure, height, fit, size, lane)
    ]


def _on_wall(detail: Detail, measure: Measure) -> bool:
    """Whether a length lies on a face that stands up sharply behind the near one."""
    return not detail.convex and detail.frame.turn > SHARP and measure.reach[0] >= -INCH / 2.0


def _along_deck(
    detail: Detail, measure: Measure, height: float, fit: Fit, size: float, lane: int
) -> list[Trial]:
    """Set a dimension parallel to the deck at a height off it, its text along it.

    The text stands off the line, or in line with it past one of its ends; each place comes
    with what it costs.
    """
    reach = measure.reach
    a, b = detail.frame.section(np.array(measure.ends))
    square = _square(detail, measure, b - a)
    # Off the deck, whatever lies between; what goes past an edge, off that.
    base = float((_flat_side(detail, reach[0], 0.0, reach) - a) @ square)
    rise = height + min(0.0, base)
    feet = (fit.pixel(a), fit.pixel(b))
    ends = (fit.pixel(a + rise * square), fit.pixel(b + rise * square))
    dx, dy = ends[1][0] - ends[0][0], ends[1][1] - ends[0][1]
    length = math.hypot(dx, dy)
    away = (ends[0][0] - feet[0][0], ends[0][1] - feet[0][1])
    out = math.hypot(*away)
    if length == 0.0 or out == 0.0:
        return []
    normal = (away[0] / out * _STAND_OFF * size, away[1] / out * _STAND_OFF * size)
    along = (dx / length, dy / length)
    # Along its line, read from below or from the right.
    turn = -math.degrees(math.atan2(dy, dx))
    turn = turn - 180.0 if turn > 180.0 - _UPRIGHT else turn + 180.0 if turn <= -_UPRIGHT else turn
    wide = text_width(measure.text, size)
    places = [(slide * size, True, abs(slide) * 0.4) for slide in _SLIDES]
    places += [
        (sign * (length / 2.0 + wide / 2.0 + _PAST * size), False, 1.5) for sign in (1.0, -1.0)
    ]

    def put(slide: float, off: bool) -> DrawnDimension:  # noqa: FBT001 - of a row of places
        at = (
            (ends[0][0] + ends[1][0]) / 2.0 + along[0] * slide + normal[0] * off,
            (ends[0][1] + ends[1][1]) / 2.0 + along[1] * slide + normal[1] * off,
        )
        return DrawnDimension(
            id=measure.id,
            feet=(feet[0], feet[1]),
            ends=(ends[0], ends[1]),
            text=measure.text,
            at=at,
            across="center",
            box=replace(text_box(at, measure.text, size, across="center"), turn_deg=turn),
        )

    # What is longer than its line reaches over that of its neighbour.
    longer = _OVER_NEIGHBOUR if wide > length else 0.0
    return [
        (lane + cost + (longer if off else 0.0), partial(put, slide, off))
        for slide, off, cost in places
    ]


def _square(detail: Detail, measure: Measure, along: Floats) -> Floats:
    """Return the unit vector square to a length, off the face that it lies on."""
    frame = detail.frame
    normal = np.array(frame.near_normal if measure.reach[1] <= 0.0 else frame.far_normal)
    away: Floats = np.array((-along[1], along[0])) / math.hypot(*along)
    side = float(away @ frame.section(np.array(frame.origin) + normal[None, :])[0])
    # What lies along the normal, a length past an edge, is told from above.
    turn = side if abs(side) > _ASKEW else float(away[1])
    return away if turn >= 0.0 else -away


def _flat_side(detail: Detail, at: float, height: float, reach: tuple[float, float]) -> Floats:
    """Return a point off the deck, square to the plane that the reach lies on."""
    frame = detail.frame
    on_near = reach[1] <= 0.0
    away = -at if on_near else at
    into, normal = (frame.near, frame.near_normal) if on_near else (frame.far, frame.far_normal)
    point = np.array(frame.origin) + away * np.array(into) + height * np.array(normal)
    found: Floats = frame.section(point.reshape(1, 3))[0]
    return found


def _upright(detail: Detail, rise: Measure, fit: Fit, size: float) -> list[Trial]:
    """Set a length straight up, beside what it measures: at its right, or at its left."""
    feet = [fit.pixel(end) for end in detail.frame.section(np.array(rise.ends))]
    foot, head = sorted(feet, key=lambda pixel: -pixel[1])
    middle = (foot[1] + head[1]) / 2.0
    trials: list[Trial] = []
    for k in range(_LANES):
        for side, edge, cost in ((1.0, max, 0.0), (-1.0, min, _OTHER_SIDE)):
            x = edge(foot[0], head[0]) + side * (2.6 + _LANE * k) * size
            for share, at, across in (
                (0.0, (x + side * 0.5 * size, middle), "left" if side > 0.0 else "right"),
                (0.5, (x, foot[1] + 1.1 * size), "center"),
                (0.7, (x, head[1] - 1.1 * size), "center"),
            ):
                trial = DrawnDimension(
                    id=rise.id,
                    feet=(foot, head),
                    ends=((x, foot[1]), (x, head[1])),
                    text=rise.text,
                    at=at,
                    across=across,
                    box=text_box(at, rise.text, size, across=across),
                )
                trials.append((k + share + cost, partial(_as_is, trial)))
    return trials


def _as_is(trial: DrawnDimension) -> DrawnDimension:
    return trial
