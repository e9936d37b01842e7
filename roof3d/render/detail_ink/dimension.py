"""Dimension lines: beside the end of a detail, along the break; or flat on a section."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from heapq import heapify, heappop, heappush
from itertools import pairwise
from typing import TypeAlias

import numpy as np
import shapely
from numpy.typing import NDArray

from roof3d.render.camera import Camera
from roof3d.render.detail_ink.palette import LIGHT, Theme
from roof3d.render.detail_ink.paragraph import text_box
from roof3d.render.lettering import Box, segments_cross
from roof3d.render.sheet import Pixel, Sheet, text_width
from roof3d.scene.model import Dimension, Point3

Area: TypeAlias = tuple[float, float, float, float]
_ROOM_FOR_ARROWS = 30.0
_GAP = 0.3
"""Heights of the letters between two texts."""
_TO_ITSELF = 0.85
"""Share of its length, and of the height of the letters, that a line has to itself."""
_LANES = (0.0, 0.05, 0.11, 0.18)
"""Metres by which a line may stand farther off than asked."""
_OUT = (1.1, 2.4, 4.0, 6.0, 8.5, 11.0, 14.0, 17.0, 21.0, 25.0)
_RISES = (0.0, -0.9, 0.9, -1.8, 1.8, -2.7, 2.7, -3.6, 3.6, -4.8, 4.8)
"""Places of a text that are tried: beside the line, and above or below its middle."""
_ON_DRAWING, _LINE_ON_DRAWING = 17.0, 3.0
"""What a text or a line on the drawing costs, in heights of the letters that it may move."""
_UNDER, _ENOUGH_TRIALS = 16.0, 120


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
        """The text, and an upright box about the line."""
        (ax, ay), (bx, by) = self.ends
        about = Box(
            centre=((ax + bx) / 2.0, (ay + by) / 2.0),
            width=abs(bx - ax) + self.box.height,
            height=abs(by - ay) + self.box.height,
        )
        return self.box, about

    def strip(self, size: float) -> Box:
        """Return what the line has to itself, but for its tips, where the next may begin."""
        (ax, ay), (bx, by) = self.ends
        return Box(
            centre=((ax + bx) / 2.0, (ay + by) / 2.0),
            width=_TO_ITSELF * math.hypot(bx - ax, by - ay),
            height=_TO_ITSELF * size,
            turn_deg=-math.degrees(math.atan2(by - ay, bx - ax)),
        )


Trial: TypeAlias = tuple[float, Callable[[], DrawnDimension]]
"""What a place costs before it is looked at closely, and how to set the dimension there."""
Charge: TypeAlias = Callable[[Sequence[DrawnDimension]], NDArray[np.float64]]
"""From dimensions to what each costs besides, 0 or more; infinite where it cannot stand."""
_Room: TypeAlias = tuple[Box, Box, Box, Sequence[tuple[Pixel, ...]]]
"""What a dimension takes: its text, the same with room about it, its strip, its lines."""
_AT_ONCE = 16
"""How many trials are charged together: it takes little more than one."""


class Ranked:
    """Trials from the cheapest on; each is set and charged only when its turn may have come."""

    def __init__(self, trials: Sequence[Trial], charge: Charge) -> None:
        self._set = [put for _, put in trials]
        self._charge = charge
        self._found: list[DrawnDimension] = []
        self._waiting: list[tuple[float, int, DrawnDimension | None]] = [
            (cost, k, None) for k, (cost, _) in enumerate(trials)
        ]
        heapify(self._waiting)

    def __iter__(self) -> Iterator[DrawnDimension]:
        """Give them in order, as often as asked for."""
        place = 0
        while place < len(self._found) or self._finds_next():
            yield self._found[place]
            place += 1

    def _finds_next(self) -> bool:
        while self._waiting:
            drawn = self._waiting[0][2]
            if drawn is not None:
                heappop(self._waiting)
                self._found.append(drawn)
                return True
            self._charge_next()
        return False

    def _charge_next(self) -> None:
        due: list[tuple[float, int, DrawnDimension | None]] = []
        while self._waiting and self._waiting[0][2] is None and len(due) < _AT_ONCE:
            due.append(heappop(self._waiting))
        set_out = [self._set[k]() for _, k, _ in due]
        charged = self._charge(set_out).tolist()
        for (cost, k, _), drawn, more in zip(due, set_out, charged, strict=True):
            if more < math.inf:
                heappush(self._waiting, (cost + more, k, drawn))


def set_beside(
    dimensions: Sequence[Dimension],
    camera: Camera,
    ways: Sequence[Point3],
    offsets: Sequence[float],
    size: float,
    *,
    drawn: shapely.STRtree | None = None,
    area: Area | None = None,
) -> tuple[DrawnDimension, ...]:
    """Set dimensions beside the end of a detail: none on another, the texts on bare paper.

    Parameters
    ----------
    ways : sequence of Point3
        Unit vectors away from the detail, in which each line stands off.
    offsets : sequence of float
        Metres from the end of the detail to each dimension line, at the least.
    size : float
        Font size, pixels.
    drawn : STRtree or None
        What is drawn, in the picture; a text lies on it only where it must.
    area : (left, top, right, bottom) or None
        Pixels that the texts keep to; None for the whole picture.

    Returns
    -------
    tuple of DrawnDimension
        In the order given; one that no place is clear for is left out.
    """
    area = area or (0.0, 0.0, float(camera.size[0]), float(camera.size[1]))
    choices: dict[int, Ranked] = {}
    counts: dict[int, int] = {}
    placings = enumerate(zip(dimensions, offsets, ways, strict=True))
    for k, (dimension, offset, way) in placings:
        ends, away = np.array(dimension.ends), np.array(way)
        trials: list[Trial] = []
        for lane, more in enumerate(_LANES):
            shifted = ends + (offset + more) * away
            pixels, _ = camera.project(np.concatenate((ends, shifted)))
            a, b, c, d = [(float(x), float(y)) for x, y in pixels]
            trials += _trials(dimension, (a, b), (c, d), size, 2.0 * lane * size, area)
        counts[k] = len(trials)
        choices[k] = Ranked(trials, partial(_charged, drawn=drawn, size=size))
    placed: dict[int, DrawnDimension] = {}
    # The second time each knows where all others went.
    for _ in range(2):
        for k in sorted(choices, key=lambda k: (counts[k], k)):
            others = [other for j, other in placed.items() if j != k]
            if (found := first_clear(choices[k], others, size)) is not None:
                placed[k] = found
    return tuple(placed[k] for k in sorted(placed))


def _trials(
    dimension: Dimension,
    feet: tuple[Pixel, Pixel],
    ends: tuple[Pixel, Pixel],
    size: float,
    cost: float,
    area: Area,
) -> list[Trial]:
    """Return places in an area for the text of one line, to its right."""
    if not _lie_in(ends, area):
        return []
    start = ((ends[0][0] + ends[1][0]) / 2.0, (ends[0][1] + ends[1][1]) / 2.0)
    right = max(ends[0][0], ends[1][0])
    wide, half = text_width(dimension.text, size), size / 2.0

    def put(at: Pixel) -> DrawnDimension:
        return DrawnDimension(
            id=dimension.id,
            feet=feet,
            ends=ends,
            text=dimension.text,
            at=at,
            across="left",
            box=text_box(at, dimension.text, size),
            leader=(start, (at[0] - 0.3 * size, at[1])),
        )

    trials: list[Trial] = []
    for out in _OUT:
        x = right + out * size
        for rise in _RISES:
            y = start[1] + rise * size
            if _lie_in(((x, y - half), (x + wide, y + half)), area):
                more = out * size + 1.6 * abs(rise) * size
                trials.append((cost + more, partial(put, (x, y))))
    return trials


def lies_in(drawn: DrawnDimension, area: Area) -> bool:
    """Whether the text and the line of a dimension lie inside an area of the sheet."""
    return _lie_in((*drawn.box.corners, *drawn.ends), area)


def _lie_in(points: Iterable[Pixel], area: Area) -> bool:
    left, top, right, bottom = area
    return all(left <= x <= right and top <= y <= bottom for x, y in points)


def _charged(
    trials: Sequence[DrawnDimension], *, drawn: shapely.STRtree | None, size: float
) -> NDArray[np.float64]:
    """Charge what lies on the drawing: a text there costs most."""
    if drawn is None:
        return np.zeros(len(trials))
    boxes = [trial.box.grown(0.2 * size) for trial in trials]
    return charged_on(drawn, trials, boxes, _ON_DRAWING * size, _LINE_ON_DRAWING * size)


def charged_on(
    drawn: shapely.STRtree,
    trials: Sequence[DrawnDimension],
    boxes: Sequence[Box],
    text: float,
    line: float,
) -> NDArray[np.float64]:
    """Charge ``text`` for each box on what is drawn, and ``line`` for each line there."""
    # Many trials set their text beside the same line.
    lines = list(dict.fromkeys(trial.ends for trial in trials))
    costly = {lines[k] for k in drawn.query(shapely.linestrings(lines), predicate="intersects")[0]}
    costs = np.where([trial.ends in costly for trial in trials], line, 0.0)
    covers = shapely.polygons([box.corners for box in boxes])
    costs[drawn.query(covers, predicate="intersects")[0]] += text
    return costs


def first_clear(
    choices: Iterable[DrawnDimension], others: Sequence[DrawnDimension], size: float
) -> DrawnDimension | None:
    """Return the first that meets no other; rather one whose text no extension line crosses."""
    rest = [_room(other, size) for other in others]

    def is_clear(choice: DrawnDimension) -> bool:
        mine = _room(choice, size)
        at = next((at for at, other in enumerate(rest) if _meet(mine, other)), None)
        if at is not None:
            rest.insert(0, rest.pop(at))  # likely in the way of the next, which lies beside it
        return at is None

    best: tuple[float, DrawnDimension] | None = None
    for place, choice in enumerate(filter(is_clear, choices)):
        under = sum(runs_under(choice, other) + runs_under(other, choice) for other in others)
        cost = place + _UNDER * under
        if best is None or cost < best[0]:
            best = cost, choice
        if under == 0 or place > _ENOUGH_TRIALS:
            break
    return best[1] if best else None


def _room(drawn: DrawnDimension, size: float) -> _Room:
    lines = [drawn.ends, drawn.leader] if drawn.leader else [drawn.ends]
    return drawn.box, drawn.box.grown(_GAP * size), drawn.strip(size), lines


def _meet(one: _Room, other: _Room) -> bool:
    """Whether two dimensions lie on one another: texts, lines or leaders."""
    (text, about, strip, mine), (its_text, _, its_strip, theirs) = one, other
    return (
        about.overlaps(its_text)
        or strip.overlaps(its_strip)
        or any(text.hit_by(*line) for line in theirs)
        or any(its_text.hit_by(*line) for line in mine)
        or any(segments_cross(a, b) for a in mine for b in theirs)
    )


def runs_under(one: DrawnDimension, other: DrawnDimension) -> bool:
    """Whether an extension line of one runs through the text of the other."""
    return any(other.box.hit_by(*pair) for pair in zip(one.feet, one.ends, strict=True))


def ink_dimension(
    sheet: Sheet,
    drawn: DrawnDimension,
    size: float,
    weight: float,
    *,
    theme: Theme = LIGHT,
    covered: NDArray[np.bool_] | None = None,
) -> None:
    """Ink extension lines, dimension line with its arrows, leader and text.

    An extension line is faint where it runs over the drawing: ``covered`` (h, w), if given.
    """
    clear: list[tuple[Pixel, Pixel]] = []
    over: list[tuple[Pixel, Pixel]] = []
    for foot, end in zip(drawn.feet, drawn.ends, strict=True):
        dx, dy = end[0] - foot[0], end[1] - foot[1]
        length = math.hypot(dx, dy)
        if length > 0.0:
            beyond = 1.0 + 4.0 * weight / length
            far = (foot[0] + dx * beyond, foot[1] + dy * beyond)
            for run, hidden in _split(foot, far, covered):
                (over if hidden else clear).append(run)
    sheet.lines(clear, width=0.7 * weight, ink=theme.measure, alpha=0.8, order=6.0)
    sheet.lines(over, width=0.7 * weight, ink=theme.measure, alpha=0.34, order=6.0)
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


def _split(
    start: Pixel, end: Pixel, covered: NDArray[np.bool_] | None
) -> list[tuple[tuple[Pixel, Pixel], bool]]:
    """Split a line into runs on the drawing and off it."""
    if covered is None:
        return [((start, end), False)]
    count = max(2, int(math.dist(start, end)))
    share = np.linspace(0.0, 1.0, count)
    x = start[0] + share * (end[0] - start[0])
    y = start[1] + share * (end[1] - start[1])
    rows = np.clip(y.astype(int), 0, covered.shape[0] - 1)
    columns = np.clip(x.astype(int), 0, covered.shape[1] - 1)
    inside = covered[rows, columns]
    turns = [0, *(np.flatnonzero(inside[1:] != inside[:-1]) + 1), count - 1]
    return [
        (((float(x[a]), float(y[a])), (float(x[b]), float(y[b]))), bool(inside[a]))
        for a, b in pairwise(turns)
        if b > a
    ]
