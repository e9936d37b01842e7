"""Lengths on a section: which are drawn, and where their lines and texts stand."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import shapely

from roof3d.details.frame import Floats
from roof3d.details.model import INCH, Detail, Measure
from roof3d.render.detail_ink.dimension import DrawnDimension
from roof3d.render.detail_ink.markers import Marker
from roof3d.render.detail_ink.paragraph import text_box
from roof3d.render.detail_section.fit import Fit, flat_place
from roof3d.render.lettering import Box, segments_cross

_SLIDES = (0.0, 1.0, 2.0, 3.0, -1.0, -2.0, 4.5, -3.5)
_FIRST = 2.2 * INCH
"""Off the deck of the nearest dimension line, metres."""
_LANES, _LANE = 16, 0.9
"""How many heights are tried, and from one to the next in heights of the letters."""
_ALIKE = INCH / 2.0

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
    callouts: Sequence[Marker],
    pieces: Sequence[shapely.Geometry],
    area: Area,
) -> tuple[DrawnDimension, ...]:
    """Set lengths off the deck, the short ones nearest to it, each clear of all others.

    One for which there is no place is left out.
    """
    drawn: list[DrawnDimension] = []
    solid = shapely.STRtree(pieces)
    flat = sorted((m for m in measures if not _stands(m)), key=lambda m: m.value)
    for measure in flat:
        trials = [
            _along_deck(detail, measure, _FIRST + lane * _LANE * size / fit.scale, fit, size, slide)
            for lane in range(_LANES)
            for slide in _SLIDES
        ]
        clear = [t for t in trials if _is_clear(t, drawn, callouts, area)]
        # Off the pieces, and no extension line under a text, if it can be; a halo parts them
        # else.
        faults = [_on_pieces(t, solid) + _runs_under(t, drawn) for t in clear]
        drawn += [clear[faults.index(min(faults))]] if clear else []
    for measure in measures:
        if _stands(measure):
            trial = _upright(detail, measure, fit, size, callouts)
            if _is_clear(trial, drawn, callouts, area):
                drawn.append(trial)
    return tuple(drawn)


def _on_pieces(trial: DrawnDimension, pieces: shapely.STRtree) -> int:
    """Whether the text or the line of a dimension lies on the section itself."""
    marks = [shapely.Polygon(trial.box.corners), shapely.LineString(trial.ends)]
    return int(len(pieces.query(marks, predicate="intersects")[0]) > 0)


def _is_clear(
    trial: DrawnDimension,
    drawn: Sequence[DrawnDimension],
    callouts: Sequence[Marker],
    area: Area,
) -> bool:
    """Whether a dimension lies in its area, clear of the others and of the numbers."""
    left, top, right, bottom = area
    if not all(left <= x <= right and top <= y <= bottom for x, y in trial.box.corners):
        return False
    box = trial.box
    if any(_meets(box, marker) for marker in callouts):
        return False
    if any(m.box.hit_by(*trial.ends) for m in callouts):
        return False
    for other in drawn:
        if box.overlaps(other.box) or segments_cross(trial.ends, other.ends):
            return False
        if box.hit_by(*other.ends) or other.box.hit_by(*trial.ends):
            return False
    return True


def _runs_under(trial: DrawnDimension, drawn: Sequence[DrawnDimension]) -> int:
    """Whether an extension line runs under a text."""
    return sum(
        covered.hit_by(foot, end)
        for other in drawn
        for covered, line in ((trial.box, other), (other.box, trial))
        for foot, end in zip(line.feet, line.ends, strict=True)
    )


def _along_deck(
    detail: Detail, measure: Measure, height: float, fit: Fit, size: float, slide: float
) -> DrawnDimension:
    """Set a dimension parallel to the deck at a height off it, its text along it.

    ``slide`` moves the text away from the break, in heights of its letters.
    """
    reach = measure.reach
    feet = tuple(fit.pixel(_flat_side(detail, s, 1.2 * INCH, reach)) for s in reach)
    ends = tuple(fit.pixel(_flat_side(detail, s, height, reach)) for s in reach)
    middle = ((ends[0][0] + ends[1][0]) / 2.0, (ends[0][1] + ends[1][1]) / 2.0)
    dx, dy = ends[1][0] - ends[0][0], ends[1][1] - ends[0][1]
    away = (ends[0][0] - feet[0][0], ends[0][1] - feet[0][1])
    out = math.hypot(*away)
    normal = (away[0] / out, away[1] / out)
    # Along its line, read from below or from the right.
    turn = -math.degrees(math.atan2(dy, dx))
    turn = turn - 180.0 if turn > 90.0 else turn + 180.0 if turn < -90.0 else turn
    step = 0.85 * size
    away_from_break = slide * size / math.hypot(dx, dy)
    at = (
        middle[0] + normal[0] * step + dx * away_from_break,
        middle[1] + normal[1] * step + dy * away_from_break,
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


def _flat_side(detail: Detail, at: float, height: float, reach: tuple[float, float]) -> Floats:
    """Return a point off the deck, square to the plane that the reach lies on."""
    frame = detail.frame
    on_near = reach[1] <= 0.0
    away = -at if on_near else at
    into, normal = (frame.near, frame.near_normal) if on_near else (frame.far, frame.far_normal)
    point = np.array(frame.origin) + away * np.array(into) + height * np.array(normal)
    found: Floats = frame.section(point.reshape(1, 3))[0]
    return found


def _upright(
    detail: Detail, rise: Measure, fit: Fit, size: float, callouts: Sequence[Marker]
) -> DrawnDimension:
    """Set how high a place of the far face stands over the line, straight up."""
    foot = fit.pixel(flat_place(detail, 0.0, 0.0))
    head = fit.pixel(detail.frame.section(np.array(rise.ends[1:]))[0])
    x = head[0] + 2.6 * size
    words = rise.text
    beside = (x + 0.5 * size, (foot[1] + head[1]) / 2.0)
    below = (x, foot[1] + 1.1 * size)
    across, at = "left", beside
    covered = text_box(beside, words, size).grown(0.2 * size)
    if any(_meets(covered, marker) for marker in callouts):
        across, at = "center", below
    return DrawnDimension(
        id=rise.id,
        feet=(foot, head),
        ends=((x, foot[1]), (x, head[1])),
        text=words,
        at=at,
        across=across,
        box=text_box(at, words, size, across=across),
    )


def _meets(box: Box, marker: Marker) -> bool:
    return box.overlaps(marker.box) or bool(marker.leader and box.hit_by(*marker.leader))
