"""Numbered markers beside the layers: where they point, and where they stand."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property, partial
from itertools import product

import numpy as np
from numpy.typing import NDArray

from roof3d.render.lettering import Box, segments_cross, spread
from roof3d.render.passes import Raster
from roof3d.render.sheet import Pixel

Mask = NDArray[np.bool_]
Way = tuple[int, int]
"""Across and down."""
Area = tuple[float, float, float, float]
_LEFT, _OTHER_WAYS = (-1, 0), ((1, 0), (0, -1), (0, 1))
_DEEP = 12
_COARSE = 400
"""Pixels of the shorter side on which places are looked for."""


@dataclass(frozen=True, kw_only=True)
class Marker:
    """A number in a disc, with its leader to a visible place of its layer."""

    number: int
    centre: Pixel
    anchor: Pixel
    radius: float

    @cached_property
    def box(self) -> Box:
        """What the disc covers."""
        return Box(centre=self.centre, width=2.0 * self.radius, height=2.0 * self.radius)

    @cached_property
    def leader(self) -> tuple[Pixel, ...]:
        """From the rim of the disc to the anchor; empty where the disc stands on its layer."""
        if self.centre == self.anchor:
            return ()
        dx, dy = self.anchor[0] - self.centre[0], self.anchor[1] - self.centre[1]
        share = self.radius / math.hypot(dx, dy)
        return ((self.centre[0] + dx * share, self.centre[1] + dy * share), self.anchor)


def place_markers(
    raster: Raster,
    layer_of: Mapping[int, int],
    radius: float,
    area: Area,
    avoid: Sequence[Box] = (),
    *,
    room: float = 1.42,
    aside: Collection[int] = (),
) -> tuple[Marker, ...]:
    """Place one marker a visible layer: left of the drawing, or on the layer itself.

    A marker stands on its layer where a leader from the left would run over others and
    the layer has room for it: ``room`` radii to its edge; where it has none, its leader comes
    from the side on which it runs over others least. ``avoid`` holds what neither anchor nor
    disc may cover; ``aside`` the part numbers that are pointed at only where nothing else of
    their layer is seen.

    Returns
    -------
    tuple of Marker
        In the order of work. A layer that cannot be seen has none.
    """
    filled = raster.ids != 0
    coarse = max(1, round(min(filled.shape) / _COARSE))
    grids = _Grids(raster=raster, layer_of=layer_of, avoid=avoid, aside=aside)
    anchors, markers = {}, {}
    for layer in sorted(set(layer_of.values())):
        for seen, step in (*product(("telling", "clear"), (coarse, 1)), ("whole", 1)):
            found = _best(grids.of(seen, step), layer, radius, room)
            if found is not None:
                break
        if found is None:
            continue
        anchor, way = found
        if way is None:
            markers[layer] = Marker(number=layer, centre=anchor, anchor=anchor, radius=radius)
        elif way == _LEFT:
            anchors[layer] = anchor
        else:
            centre = _beyond(filled, anchor, way, radius, area)
            markers[layer] = Marker(number=layer, centre=centre, anchor=anchor, radius=radius)
    order = sorted(anchors, key=lambda layer: anchors[layer][1])
    heights = [2.5 * radius] * len(order)
    middles = spread([anchors[layer][1] for layer in order], heights, area[1], area[3])
    for layer, y in zip(order, middles, strict=True):
        rows = filled[max(0, int(y - 2 * radius)) : int(y + 2 * radius)]
        columns = np.flatnonzero(rows.any(axis=0))
        edge = float(columns[0]) if len(columns) else anchors[layer][0]
        x = max(area[0] + radius, min(edge, anchors[layer][0]) - 2.2 * radius)
        markers[layer] = Marker(number=layer, centre=(x, y), anchor=anchors[layer], radius=radius)
    return tuple(markers[layer] for layer in sorted(markers))


@dataclass(frozen=True, slots=True, eq=False)
class _Grid:
    """Layers in front, one pixel in ``step`` each way: enough to find places by."""

    layers: NDArray[np.int16]
    step: int


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class _Grids:
    """Layers in front, all of them or without what is not to be pointed at (-1)."""

    raster: Raster
    layer_of: Mapping[int, int]
    avoid: Sequence[Box]
    aside: Collection[int]
    made: dict[tuple[str, int], _Grid] = field(default_factory=dict)

    def of(self, seen: str, step: int) -> _Grid:
        """Return the ``whole``, what is ``clear`` of boxes, or what is ``telling`` of that."""
        if (seen, step) not in self.made:
            table = np.zeros(max(self.layer_of) + 1, dtype=np.int16)
            for number, layer in self.layer_of.items():
                table[number] = -1 if seen == "telling" and number in self.aside else layer
            layers = table[self.raster.ids[::step, ::step]]
            if seen != "whole":
                layers[_covered(self.raster.ids.shape, self.avoid)[::step, ::step]] = -1
            self.made[seen, step] = _Grid(layers, step)
        return self.made[seen, step]


def _covered(shape: tuple[int, ...], boxes: Sequence[Box]) -> Mask:
    """Pixels inside any of some upright boxes."""
    mask = np.zeros(shape, dtype=np.bool_)
    for box in boxes:
        x, y = box.centre
        rows = slice(max(0, int(y - box.height / 2)), max(0, int(y + box.height / 2) + 1))
        columns = slice(max(0, int(x - box.width / 2)), max(0, int(x + box.width / 2) + 1))
        mask[rows, columns] = True
    return mask


def _best(grid: _Grid, layer: int, radius: float, room: float) -> tuple[Pixel, Way | None] | None:
    """Where a layer's marker points, and which way its leader goes; None where it is hidden.

    No way means that the marker stands there.
    """
    mask = grid.layers == layer
    high, wide = np.flatnonzero(mask.any(axis=1)), np.flatnonzero(mask.any(axis=0))
    if not len(high):
        return None
    # Nothing of the layer lies outside these.
    corner = (int(high[0]), int(wide[0]))
    mask = mask[corner[0] : high[-1] + 1, corner[1] : wide[-1] + 1]
    deep = max(1, round(_DEEP / grid.step))
    found = [
        _anchor(mask, corner, depth, _LEFT) for depth in dict.fromkeys((deep, max(1, deep // 3)))
    ]
    for place in found:
        if _foreign(grid, place, _LEFT, layer) <= 2 * radius:
            return _pixel(place, grid.step), _LEFT
    # The deepest place, by steps along rows and columns: a disc's corner is 1.42 radii off.
    inner, depth = mask, 0
    while (smaller := _eroded(inner)).any() and depth * grid.step < 3 * radius:
        inner, depth = smaller, depth + 1
    rows, columns = np.nonzero(inner)
    deepest = (int(rows[0]) + corner[0], int(columns[0]) + corner[1])
    if (depth + 1) * grid.step >= room * radius + 1.0:
        return _pixel(deepest, grid.step), None
    ways = [(place, _LEFT) for place in found]
    ways += [(_anchor(mask, corner, max(1, deep // 3), way), way) for way in _OTHER_WAYS]
    place, way = min(ways, key=lambda trial: _foreign(grid, trial[0], trial[1], layer))
    return _pixel(place, grid.step), way


def _pixel(place: tuple[int, int], step: int) -> Pixel:
    return (place[1] * step + 0.5, place[0] * step + 0.5)


def _foreign(grid: _Grid, place: tuple[int, int], way: Way, layer: int) -> int:
    """How many pixels of other layers lie from a place to the rim, going one way."""
    row, column = place
    across, down = way
    if across:
        run = grid.layers[row, :column] if across < 0 else grid.layers[row, column:]
    else:
        run = grid.layers[:row, column] if down < 0 else grid.layers[row:, column]
    return int(np.count_nonzero((run != 0) & (run != layer))) * grid.step


def _beyond(filled: Mask, anchor: Pixel, way: Way, radius: float, area: Area) -> Pixel:
    """Return the first place from an anchor, going one way, where a disc lies on bare paper."""
    x, y = anchor
    left, top, right, bottom = area
    while True:
        x, y = x + way[0] * radius, y + way[1] * radius
        if not (left + radius <= x <= right - radius and top + radius <= y <= bottom - radius):
            return (x - way[0] * radius, y - way[1] * radius)
        span = 1.4 * radius
        about = filled[
            max(0, int(y - span)) : int(y + span) + 1, max(0, int(x - span)) : int(x + span) + 1
        ]
        if not about.any():
            return (x, y)


def _anchor(mask: Mask, corner: tuple[int, int], deep: int, way: Way) -> tuple[int, int]:
    """Find the first pixel of a mask, from one side, that is ``deep`` off its edge, if any is.

    ``corner`` is where the mask begins.
    """
    inner, depth = mask, 0
    while depth < deep and (smaller := _eroded(inner)).any():
        inner, depth = smaller, depth + 1
    rows, columns = np.nonzero(inner)
    along = columns * way[0] + rows * way[1]
    side = rows if way[0] else columns
    first = int(along.max())
    # The middle of what lies a little inside the end, so leaders of neighbours agree.
    near = along >= first - deep
    middle = int(np.median(side[near]))
    close = np.argmin((side - middle) ** 2 + (along - first) ** 2)
    return int(rows[close]) + corner[0], int(columns[close]) + corner[1]


def _eroded(mask: Mask) -> Mask:
    inner = np.zeros_like(mask)
    inner[1:-1, 1:-1] = (
        mask[1:-1, 1:-1] & mask[:-2, 1:-1] & mask[2:, 1:-1] & mask[1:-1, :-2] & mask[1:-1, 2:]
    )
    return inner


def count_marker_faults(markers: Sequence[Marker], others: Sequence[Box] = ()) -> int:
    """Count overlapping discs, crossing leaders, and leaders through a disc or another box."""
    faults = 0
    for i, one in enumerate(markers):
        for other in markers[i + 1 :]:
            faults += one.box.overlaps(other.box)
            faults += segments_cross(one.leader, other.leader)
        walls = [m.box for m in markers if m is not one] + list(others)
        faults += sum(box.overlaps(one.box) for box in walls)
        if one.leader:
            faults += sum(box.hit_by(*one.leader) for box in walls)
    return faults


def mend_markers(
    markers: Sequence[Marker],
    others: Sequence[Box],
    area: Area,
    lines: Sequence[tuple[Pixel, ...]] = (),
    filled: Mask | None = None,
) -> tuple[Marker, ...]:
    """Move discs, each as little as will do, until no leader crosses another or meets a text.

    Parameters
    ----------
    markers : sequence of Marker
    others : sequence of Box
        Texts to keep clear of.
    area : (left, top, right, bottom)
        Where discs may stand, pixels.
    lines : sequence of pairs of Pixel
        Lines that no leader may cross and no disc may cover.
    filled : (h, w) bool or None
        Where the drawing lies: a disc with a leader is moved onto bare paper if it can.
    """
    mended = list(markers)
    for _ in range(_PASSES):
        before = list(mended)
        for i, one in enumerate(mended):
            faults_of = partial(_faults_of, _Around.of(mended, i, others, lines))
            fewest: float = faults_of(one) + _on_drawing(one, filled)
            fewest += _is_outside(one, area)
            for trial in _moved(one, area) if fewest else ():
                faults: float = faults_of(trial, fewest)
                faults += _on_drawing(trial, filled)
                if faults < fewest:
                    mended[i], fewest = trial, faults
                if not fewest:
                    break
        if mended == before or (
            not faulty_markers(mended, others, lines)
            and not any(_is_outside(one, area) for one in mended)
        ):
            break
    return tuple(mended)


def faulty_markers(
    markers: Sequence[Marker],
    others: Sequence[Box],
    lines: Sequence[tuple[Pixel, ...]] = (),
) -> tuple[int, ...]:
    """Return the places in a row of those markers that meet a text, a line or one another."""
    return tuple(
        k for k, one in enumerate(markers) if _faults_of(_Around.of(markers, k, others, lines), one)
    )


def _is_outside(marker: Marker, area: Area) -> bool:
    left, top, right, bottom = area
    return not all(left <= x <= right and top <= y <= bottom for x, y in marker.box.corners)


def _on_drawing(marker: Marker, filled: Mask | None) -> float:
    """Less than a fault, where a disc with a leader lies on some layer: it would name that."""
    if filled is None or not marker.leader:
        return 0.0
    (x, y), r = marker.centre, marker.radius
    about = filled[max(0, int(y - r)) : int(y + r) + 1, max(0, int(x - r)) : int(x + r) + 1]
    return _HALF if about.any() else 0.0


_PASSES, _RINGS = 4, 18
_WAYS = [(float(np.cos(turn)), float(np.sin(turn))) for turn in np.arange(16) * (np.pi / 8.0)]
_HALF = 0.5


def _moved(marker: Marker, area: Area) -> Iterator[Marker]:
    """Give a marker with its disc moved, the nearest first."""
    left, top, right, bottom = area
    (x, y), r = marker.centre, marker.radius
    x, y = min(max(x, left + r), right - r), min(max(y, top + r), bottom - r)
    for ring in range(1, _RINGS):
        for cos, sin in _WAYS:
            a, b = x + 0.8 * ring * r * cos, y + 0.8 * ring * r * sin
            if (
                left + r <= a <= right - r
                and top + r <= b <= bottom - r
                and math.hypot(a - marker.anchor[0], b - marker.anchor[1]) > 2.0 * r
            ):
                yield Marker(number=marker.number, centre=(a, b), anchor=marker.anchor, radius=r)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Around:
    """What a marker must keep clear of: texts and discs, leaders, other lines."""

    walls: Sequence[Box]
    leaders: Sequence[tuple[Pixel, ...]]
    lines: Sequence[tuple[Pixel, ...]]

    @classmethod
    def of(
        cls,
        markers: Sequence[Marker],
        k: int,
        others: Sequence[Box],
        lines: Sequence[tuple[Pixel, ...]],
    ) -> _Around:
        """Return what is around one of a row of markers."""
        rest = [*markers[:k], *markers[k + 1 :]]
        leaders = [marker.leader for marker in rest if marker.leader]
        return cls(walls=[*(m.box for m in rest), *others], leaders=leaders, lines=lines)


def _faults_of(around: _Around, one: Marker, most: float = math.inf) -> int:
    """Count what a marker meets; no further than ``most``, where that is enough to know."""
    faults = 0
    for faulty in _faults(around, one):
        faults += faulty
        if faults >= most:
            break
    return faults


def _faults(around: _Around, one: Marker) -> Iterator[bool]:
    """Whether a marker meets each thing around it, the likeliest first."""
    box = one.box
    for wall in around.walls:
        yield wall.overlaps(box)
    for line in around.lines:
        yield box.hit_by(*line)
    for other in around.leaders:
        yield box.hit_by(*other)
    if leader := one.leader:
        for line in (*around.leaders, *around.lines):
            yield segments_cross(leader, line)
        for wall in around.walls:
            yield wall.hit_by(*leader)
