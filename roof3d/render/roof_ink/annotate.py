"""Labels on planes and edges: on their subject where they fit, else beside it with a leader."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import product

import numpy as np
from numpy.typing import NDArray

from roof3d.render.lettering import Box, Placed, Words, segments_cross
from roof3d.render.sheet import Pixel
from roof3d.render.visibility import Run
from roof3d.scene.model import Label

_SHARES = (0.5, 0.42, 0.58, 0.34, 0.66, 0.26, 0.74, 0.18, 0.82)
_LONGEST_LEADER = 17
"""In font sizes; a label farther away is no longer read with its place."""
_DIRECTIONS = 32
_OVERRUN = 1.08
"""How much longer than its edge the text along it may be."""


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Field:
    """Where labels may go.

    Attributes
    ----------
    ids : (h, w) int32
        Part in front at each pixel.
    ground : int
        Part number of the ground, free as the paper is.
    bounds : tuple[float, float, float, float]
        Left, top, right, bottom of the room for labels.
    runs : dict
        Visible runs of each edge, by edge id.
    colour : (h, w, 3) uint8
        What labels stand on; the lighter side of an edge is preferred.
    keep_clear : frozenset of int
        Part numbers that no label may cover: chimneys, skylights, pipes.
    """

    ids: NDArray[np.int32]
    ground: int
    bounds: tuple[float, float, float, float]
    runs: Mapping[str, tuple[Run, ...]]
    colour: NDArray[np.uint8]
    keep_clear: frozenset[int] = frozenset()
    house: NDArray[np.int64] = field(init=False)
    clear: NDArray[np.int64] = field(init=False)
    dark: NDArray[np.int64] = field(init=False)
    starts: NDArray[np.float64] = field(init=False)
    ends: NDArray[np.float64] = field(init=False)

    def __post_init__(self) -> None:
        taken = (self.ids != 0) & (self.ids != self.ground)
        object.__setattr__(self, "house", _sums(taken))
        objects = np.isin(self.ids, sorted(self.keep_clear))
        object.__setattr__(self, "clear", _sums(objects))
        object.__setattr__(self, "dark", _sums(255 - self.colour.mean(axis=2).astype(np.int64)))
        seen = [run for runs in self.runs.values() for run in runs if run.visible]
        for name, points in (
            ("starts", [run.start for run in seen]),
            ("ends", [run.end for run in seen]),
        ):
            object.__setattr__(self, name, np.array(points, dtype=np.float64).reshape(-1, 2))

    def covered(self, box: Box) -> float:
        """Share of a box that lies over the house."""
        return _share(self.house, box)

    def darkness(self, box: Box) -> float:
        """Mean darkness under a box, from 0 for white to 1 for black."""
        return _share(self.dark, box) / 255.0

    def holds(self, box: Box) -> bool:
        """Whether a box lies inside the bounds and covers nothing that must stay clear."""
        left, top, right, bottom = self.bounds
        inside = all(left <= x <= right and top <= y <= bottom for x, y in box.corners)
        return inside and not _share(self.clear, box)

    def passes_over(self, start: Pixel, end: Pixel) -> bool:
        """Whether a straight line runs over a thing that must stay clear."""
        share = np.linspace(0.0, 1.0, 24)
        x = np.rint(start[0] + share * (end[0] - start[0])).astype(np.intp)
        y = np.rint(start[1] + share * (end[1] - start[1])).astype(np.intp)
        height, width = self.ids.shape
        seen = self.ids[np.clip(y, 0, height - 1), np.clip(x, 0, width - 1)]
        return bool(np.isin(seen, sorted(self.keep_clear)).any())

    def crossed(self, start: Pixel, end: Pixel) -> int:
        """Count the runs in sight that a straight line crosses."""
        step = np.subtract(end, start)
        a, b = self.starts - np.array(start), self.ends - np.array(start)
        runs = self.ends - self.starts
        one = (step[0] * a[:, 1] - step[1] * a[:, 0]) * (step[0] * b[:, 1] - step[1] * b[:, 0])
        from_start = runs[:, 1] * a[:, 0] - runs[:, 0] * a[:, 1]
        from_end = from_start - (runs[:, 1] * step[0] - runs[:, 0] * step[1])
        return int(np.count_nonzero((one < 0.0) & (from_start * from_end < 0.0)))

    def hit_edges(self, box: Box) -> int:
        """Count the runs in sight that go through a box."""
        angle = math.radians(-box.turn_deg)
        axes = np.array([[math.cos(angle), math.sin(angle)], [-math.sin(angle), math.cos(angle)]])
        half = np.array([box.width, box.height]) / 2
        place = (self.starts - np.array(box.centre)) @ axes.T
        speed = (self.ends - self.starts) @ axes.T
        # A run square to an axis has no time of crossing along it, only inside or outside.
        still = speed == 0.0
        time = np.where(still, 1.0, speed)
        first, last = (-half - place) / time, (half - place) / time
        low = np.where(still, 0.0, np.minimum(first, last))
        high = np.where(still, np.where(np.abs(place) < half, 1.0, 0.0), np.maximum(first, last))
        return int(
            np.count_nonzero(np.maximum(low.max(axis=1), 0.0) < np.minimum(high.min(axis=1), 1.0))
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class PlaneLabel:
    """The label of a plane, with the plane's part number and how its level lines run.

    Attributes
    ----------
    label : Label
    number : int
    turn_deg : float
        Of its level lines on the sheet, counterclockwise, above -90 and up to 90.
    """

    label: Label
    number: int
    turn_deg: float


def upright(turn_deg: float) -> float:
    """Turn a direction by half a turn where text along it would stand on its head."""
    turn = (turn_deg + 180.0) % 360.0 - 180.0
    return turn - 180.0 if turn > 90.0 else turn + 180.0 if turn <= -90.0 else turn


def place_labels(
    planes: Sequence[PlaneLabel],
    edges: Sequence[Label],
    area: Field,
    sizes: tuple[float, float],
) -> tuple[tuple[Placed, ...], tuple[str, ...]]:
    """Place every label whose subject is in sight.

    Parameters
    ----------
    planes : sequence of PlaneLabel
    edges : sequence of Label
        Most wanted first.
    area : Field
    sizes : tuple[float, float]
        Font sizes of names and notes, pixels.

    Returns
    -------
    placed : tuple of Placed
        No two texts overlap, no leader crosses a leader or a text.
    left_out : tuple[str, ...]
        Subjects that are hidden, or in sight but without room.
    """
    placed: list[Placed] = []
    left_out: list[str] = []
    for plane in planes:
        spot = _on_plane(plane, area.ids == plane.number, sizes)
        # Names of planes come before edges: a plane without a name is a hole in the picture.
        found = _beside([spot], area, placed) if isinstance(spot, Words) else spot
        if found is None:
            left_out.append(plane.label.subject)
        else:
            placed.append(found)
    waiting = []
    for label in edges:
        on_edge = _on_edge(label, area, sizes[1], placed)
        if on_edge is None:
            waiting.append(label)
        else:
            placed.append(on_edge)
    for label in waiting:
        run = _longest(area.runs.get(label.subject, ()))
        if run is None or run.length < sizes[1] * 0.8:
            left_out.append(label.subject)
            continue
        found = _beside_edge(label, run, area, sizes[1], placed)
        if found is None:
            left_out.append(label.subject)
        else:
            placed.append(found)
    return tuple(placed), tuple(left_out)


def _on_plane(
    plane: PlaneLabel, mask: NDArray[np.bool_], sizes: tuple[float, float]
) -> Placed | Words | None:
    """Set a label inside the plane's visible pixels; its words alone if it does not fit."""
    if np.count_nonzero(mask) < sizes[1] ** 2 / 2:
        return None
    label = plane.label
    broken = (label.lines[0], *label.lines[1].split(", "))
    for lines, turn in ((label.lines, 0.0), (label.lines, plane.turn_deg), (broken, 0.0)):
        words = Words(subject=label.subject, anchor=(0.0, 0.0), lines=lines, sizes=sizes)
        width, height = words.extent
        spot = _fit(mask, width + 0.8 * sizes[1], height + 0.5 * sizes[1], turn)
        if spot is not None:
            words = replace(words, anchor=spot)
            box = Box(centre=spot, width=width, height=height, turn_deg=turn)
            return Placed(words=words, box=box)
    edge = 64.0
    while edge >= 2.0:
        spot = _fit(mask, edge, edge, 0.0)
        if spot is not None:
            return Words(subject=label.subject, anchor=spot, lines=label.lines, sizes=sizes)
        edge /= 2.0
    return None


def _fit(mask: NDArray[np.bool_], width: float, height: float, turn_deg: float) -> Pixel | None:
    """Middle of the place, nearest the mask's own middle, where a turned box is all mask.

    The box is sought in a copy of the mask turned back by its angle, about the mask's middle.
    """
    y, x = np.nonzero(mask)
    middle = (float(x.mean()), float(y.mean()))
    angle = math.radians(turn_deg)
    cos, sin = math.cos(angle), math.sin(angle)
    along = (x - middle[0]) * cos - (y - middle[1]) * sin
    across = (x - middle[0]) * sin + (y - middle[1]) * cos
    left, top = math.floor(along.min()), math.floor(across.min())
    columns = np.arange(left, math.ceil(along.max()) + 1)
    rows = np.arange(top, math.ceil(across.max()) + 1)[:, None]
    w, h = math.ceil(width), math.ceil(height)
    if w >= columns.size or h >= rows.size:
        return None
    source_x = np.rint(middle[0] + columns * cos + rows * sin).astype(np.intp)
    source_y = np.rint(middle[1] - columns * sin + rows * cos).astype(np.intp)
    inside = (source_x >= 0) & (source_x < mask.shape[1])
    inside &= (source_y >= 0) & (source_y < mask.shape[0])
    turned = np.zeros(inside.shape, dtype=np.bool_)
    turned[inside] = mask[source_y[inside], source_x[inside]]
    sums = _sums(turned)
    full = sums[h:, w:] - sums[:-h, w:] - sums[h:, :-w] + sums[:-h, :-w]
    r, c = np.nonzero(full == w * h)
    if not len(r):
        return None
    u, v = c + w / 2 + left, r + h / 2 + top
    best = int(np.argmin(u**2 + (1.5 * v) ** 2))
    return (
        float(middle[0] + u[best] * cos + v[best] * sin),
        float(middle[1] - u[best] * sin + v[best] * cos),
    )


def _on_edge(label: Label, area: Field, size: float, placed: Sequence[Placed]) -> Placed | None:
    """Set a label along its edge, on the side where the paper is, else on the roof."""
    run = _longest(area.runs.get(label.subject, ()))
    if run is None:
        return None
    best: tuple[float, Placed] | None = None
    others = [(label, label.box) for label in placed]
    for worth, line in enumerate(("  ".join(label.lines), label.lines[-1])):
        words = Words(subject=label.subject, anchor=(0.0, 0.0), lines=(line,), sizes=(size, size))
        width, height = words.extent
        if width > run.length * _OVERRUN:
            continue
        dx, dy = run.end[0] - run.start[0], run.end[1] - run.start[1]
        turn = upright(math.degrees(math.atan2(-dy, dx)))
        square = (-dy / run.length, dx / run.length)
        for rank, share in enumerate(_SHARES):
            if rank and width / 2 > run.length * min(share, 1.0 - share):
                continue
            for sign in (1.0, -1.0):
                middle = _between(run, share)
                gap = sign * (height / 2 + size * 0.5)
                centre = (middle[0] + square[0] * gap, middle[1] + square[1] * gap)
                box = Box(centre=centre, width=width, height=height * 0.86, turn_deg=turn)
                cost = 40.0 * worth + rank + 4.0 * area.covered(box) + 6.0 * area.darkness(box)
                if best is not None and cost >= best[0]:
                    continue
                if not area.holds(box) or area.hit_edges(box):
                    continue
                if not _clashes(box, (), others, size * 0.25):
                    placing = Placed(words=replace(words, anchor=middle), box=box)
                    best = (cost, placing)
    return None if best is None else best[1]


def _beside_edge(
    label: Label, run: Run, area: Field, size: float, placed: Sequence[Placed]
) -> Placed | None:
    """Set an edge's label near it; the leader may end at three places of the edge."""
    line = "  ".join(label.lines)
    tries = [
        Words(subject=label.subject, anchor=_between(run, at), lines=(line,), sizes=(size, size))
        for at in (0.5, 0.22, 0.78)
    ]
    return _beside(tries, area, placed)


def _beside(tries: Sequence[Words], area: Field, placed: Sequence[Placed]) -> Placed | None:
    """Set a label near one of its anchors with a straight leader, off the house if it can."""
    size = tries[0].sizes[1]
    width, height = tries[0].extent
    best: tuple[float, Placed] | None = None
    others = [(label, label.box.grown(size * 0.3)) for label in placed]
    for ring, words, k in product(range(2, _LONGEST_LEADER), tries, range(_DIRECTIONS)):
        reach, angle = ring * size, 2.0 * math.pi * k / _DIRECTIONS
        if best is not None and reach >= best[0]:
            break
        tip = (words.anchor[0] + reach * math.cos(angle), words.anchor[1] + reach * math.sin(angle))
        side = "right" if math.cos(angle) >= 0.0 else "left"
        shift = width / 2 + size * 0.35
        centre = (tip[0] + (shift if side == "right" else -shift), tip[1])
        box = Box(centre=centre, width=width, height=height)
        leader = (tip, words.anchor)
        # The cheap questions first: most places are too dear before the dear ones are asked.
        if not area.holds(box):
            continue
        cost = reach + 5.0 * size * area.covered(box.grown(size * 0.4))
        if best is not None and cost >= best[0]:
            continue
        cost += 4.0 * size * area.crossed(*leader)
        if best is not None and cost >= best[0]:
            continue
        cost += 12.0 * size * area.hit_edges(box.grown(size * 0.2))
        if _clashes(box, leader, others, size * 0.3) or area.passes_over(*leader):
            continue
        if best is None or cost < best[0]:
            best = (cost, Placed(words=words, box=box, leader=leader, side=side))
    return None if best is None else best[1]


def _clashes(
    box: Box, leader: tuple[Pixel, ...], others: Sequence[tuple[Placed, Box]], gap: float
) -> bool:
    """Whether a box or leader meets what is placed already, given with its box and the gap."""
    wide = box.grown(gap)
    for other, kept in others:
        if wide.overlaps(other.box):
            return True
        if leader and kept.hit_by(leader[0], leader[1]):
            return True
        if other.leader and (
            wide.hit_by(other.leader[0], other.leader[1])
            or (leader and segments_cross(leader, other.leader))
        ):
            return True
    return False


def _longest(runs: Sequence[Run]) -> Run | None:
    seen = [run for run in runs if run.visible]
    return max(seen, key=lambda run: run.length, default=None)


def _between(run: Run, share: float) -> Pixel:
    return (
        run.start[0] + share * (run.end[0] - run.start[0]),
        run.start[1] + share * (run.end[1] - run.start[1]),
    )


def _sums(mask: NDArray[np.bool_] | NDArray[np.int64]) -> NDArray[np.int64]:
    """Summed-area table with a row and a column of zeros before."""
    table = np.zeros((mask.shape[0] + 1, mask.shape[1] + 1), dtype=np.int64)
    np.cumsum(mask, axis=0, out=table[1:, 1:])
    np.cumsum(table, axis=1, out=table)
    return table


def _share(table: NDArray[np.int64], box: Box) -> float:
    """Share of set pixels in the upright rectangle about a box, clipped to the picture."""
    height, width = table.shape[0] - 1, table.shape[1] - 1
    xs, ys = zip(*box.corners, strict=True)
    left, right = (min(max(round(x), 0), width) for x in (min(xs), max(xs)))
    top, bottom = (min(max(round(y), 0), height) for y in (min(ys), max(ys)))
    count = table[bottom, right] - table[top, right] - table[bottom, left] + table[top, left]
    return float(count) / max(1.0, (max(xs) - min(xs)) * (max(ys) - min(ys)))
