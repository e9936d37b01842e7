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
from roof3d.render.detail_ink.markers import Marker
from roof3d.render.detail_ink.paragraph import text_box
from roof3d.render.detail_section.fit import SHARP, Fit, flat_place
from roof3d.render.lettering import segments_cross
from roof3d.render.sheet import Pixel, text_width

_SLIDES = (0.0, 1.0, 2.0, 3.0, -1.0, -2.0, -3.0, 4.5, -4.5)
_STAND_OFF, _PAST = 0.85, 1.3
"""Heights of the letters from a line to its text, and from its end to one in line with it."""
_OVER_NEIGHBOUR = 0.6
_TEXT_ON_PIECES, _LINE_ON_PIECES = 30.0, 18.0
"""What a text or a line on the section costs, in lanes."""
_NUMBER_MOVED = 6.0
"""What it costs to have a number make way."""
_FIRST = 2.2 * INCH
"""Off the deck of the nearest dimension line, metres."""
_LANES, _LANE = 20, 0.9
"""How many heights are tried, and from one to the next in heights of the letters."""
_ALIKE = INCH / 2.0
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


class Lengths:
    """Lengths to be set off the deck, each with all its places from the cheapest on.

    ``callouts`` are numbers of the layers, ``pieces`` what is cut; both lie, like all that is
    set, in an area of the sheet.
    """

    def __init__(
        self,
        detail: Detail,
        measures: Sequence[Measure],
        fit: Fit,
        size: float,
        callouts: Sequence[Marker],
        pieces: Sequence[shapely.Geometry],
        area: Area,
    ) -> None:
        self._size, self._area = size, area
        self._solid = shapely.STRtree(pieces)
        self._reaches = [(mark, _bounds((*mark.box.corners, *mark.leader))) for mark in callouts]
        # By their address, since the places are kept as long as these.
        self._striking: set[int] = set()
        self._choices = {
            measure.id: Ranked(_trials(detail, measure, fit, size), self._charge)
            for measure in sorted(measures, key=lambda m: (_stands(m), m.value))
        }

    def _charge(self, trials: Sequence[DrawnDimension]) -> NDArray[np.float64]:
        # The nearest to the deck first, but off the section itself.
        boxes = [trial.box for trial in trials]
        costs = charged_on(self._solid, trials, boxes, _TEXT_ON_PIECES, _LINE_ON_PIECES)
        for k, trial in enumerate(trials):
            if not lies_in(trial, self._area):
                costs[k] = math.inf
            elif _strikes(trial, self._reaches):
                costs[k] += _NUMBER_MOVED
                self._striking.add(id(trial))
        return costs

    def set(self, *, strict: bool = True) -> tuple[DrawnDimension, ...]:
        """Set the short ones nearest to the deck, each clear of all others.

        One for which there is no place is left out. Not ``strict``, a length may meet a
        number, which is then moved.
        """
        placed: dict[str, DrawnDimension] = {}
        # The second time each knows where all others went.
        for _ in range(2):
            for name, ranked in self._choices.items():
                others = [other for key, other in placed.items() if key != name]
                trials = (t for t in ranked if not (strict and id(t) in self._striking))
                found = first_clear(trials, others, self._size)
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


def _bounds(points: Sequence[Pixel]) -> Area:
    across, down = zip(*points, strict=True)
    return min(across), min(down), max(across), max(down)


def _strikes(trial: DrawnDimension, callouts: Sequence[tuple[Marker, Area]]) -> bool:
    """Whether a dimension meets a number or its leader; these come with all that they reach."""
    lines = [line for line in (trial.ends, trial.leader) if line]
    left, top, right, bottom = _bounds((*trial.box.corners, *trial.ends, *trial.leader))
    for marker, (x0, y0, x1, y1) in callouts:
        if x0 > right or x1 < left or y0 > bottom or y1 < top:
            continue
        if trial.box.overlaps(marker.box) or any(marker.box.hit_by(*line) for line in lines):
            return True
        if marker.leader and (
            trial.box.hit_by(*marker.leader)
            or any(segments_cross(marker.leader, line) for line in lines)
        ):
            return True
    return False


def _along_deck(
    detail: Detail, measure: Measure, height: float, fit: Fit, size: float, lane: int
) -> list[Trial]:
    """Set a dimension parallel to the deck at a height off it, its text along it.

    The text stands off the line, or in line with it past one of its ends; each place comes
    with what it costs.
    """
    reach = measure.reach
    foot = math.copysign(1.2 * INCH, height)
    feet = tuple(fit.pixel(_flat_side(detail, s, foot, reach)) for s in reach)
    ends = tuple(fit.pixel(_flat_side(detail, s, height, reach)) for s in reach)
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
    turn = turn - 180.0 if turn > 90.0 else turn + 180.0 if turn < -90.0 else turn
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
    """Set how high a place of the far face stands over the line, straight up."""
    foot = fit.pixel(flat_place(detail, 0.0, 0.0))
    head = fit.pixel(detail.frame.section(np.array(rise.ends[1:]))[0])
    trials: list[Trial] = []
    for k in range(_LANES):
        x = head[0] + (2.6 + _LANE * k) * size
        middle = (foot[1] + head[1]) / 2.0
        for share, at, across in (
            (0.0, (x + 0.5 * size, middle), "left"),
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
            trials.append((k + share, partial(_as_is, trial)))
    return trials


def _as_is(trial: DrawnDimension) -> DrawnDimension:
    return trial
