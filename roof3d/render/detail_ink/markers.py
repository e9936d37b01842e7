"""Numbered markers beside the layers: where they point, and where they stand."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from roof3d.render.detail_ink.palette import LIGHT, Theme
from roof3d.render.lettering import Box, segments_cross, spread
from roof3d.render.passes import Raster
from roof3d.render.sheet import Pixel, Sheet

Mask = NDArray[np.bool_]
_DEEP = 12


@dataclass(frozen=True, slots=True, kw_only=True)
class Marker:
    """A number in a disc, with its leader to a visible place of its layer."""

    number: int
    centre: Pixel
    anchor: Pixel
    radius: float

    @property
    def box(self) -> Box:
        """What the disc covers."""
        return Box(centre=self.centre, width=2.0 * self.radius, height=2.0 * self.radius)

    @property
    def leader(self) -> tuple[Pixel, ...]:
        """From the rim of the disc to the anchor; empty where the disc stands on its layer."""
        if self.centre == self.anchor:
            return ()
        dx, dy = self.anchor[0] - self.centre[0], self.anchor[1] - self.centre[1]
        share = self.radius / float(np.hypot(dx, dy))
        return ((self.centre[0] + dx * share, self.centre[1] + dy * share), self.anchor)


def place_markers(
    raster: Raster,
    layer_of: Mapping[int, int],
    radius: float,
    top: float,
    bottom: float,
    avoid: Sequence[Box] = (),
    *,
    room: float = 1.42,
) -> tuple[Marker, ...]:
    """Place one marker a visible layer: left of the drawing, or on the layer itself.

    A marker stands on its layer where a leader from the left would run over others and
    the layer has room for it: ``room`` radii to its edge. ``avoid`` holds what neither anchor
    nor disc may cover.

    Returns
    -------
    tuple of Marker
        In the order of work. A layer that cannot be seen has none.
    """
    table = np.zeros(max(layer_of) + 1, dtype=np.int64)
    for number, layer in layer_of.items():
        table[number] = layer
    layers = table[raster.ids]
    layers = np.where(_covered(layers.shape, avoid), -1, layers)
    anchors, markers = {}, {}
    for layer in sorted(set(layer_of.values())):
        place = _best(layers, layer, radius, room)
        if place is None:
            continue
        anchor, stands = place
        if stands:
            markers[layer] = Marker(number=layer, centre=anchor, anchor=anchor, radius=radius)
        else:
            anchors[layer] = anchor
    order = sorted(anchors, key=lambda layer: anchors[layer][1])
    heights = [2.5 * radius] * len(order)
    middles = spread([anchors[layer][1] for layer in order], heights, top, bottom)
    filled = layers != 0
    for layer, y in zip(order, middles, strict=True):
        rows = filled[max(0, int(y - 2 * radius)) : int(y + 2 * radius)]
        columns = np.flatnonzero(rows.any(axis=0))
        edge = float(columns[0]) if len(columns) else anchors[layer][0]
        x = min(edge, anchors[layer][0]) - 2.2 * radius
        markers[layer] = Marker(number=layer, centre=(x, y), anchor=anchors[layer], radius=radius)
    return tuple(markers[layer] for layer in sorted(markers))


def _covered(shape: tuple[int, ...], boxes: Sequence[Box]) -> Mask:
    """Pixels inside any of some upright boxes."""
    mask = np.zeros(shape, dtype=np.bool_)
    for box in boxes:
        x, y = box.centre
        rows = slice(max(0, int(y - box.height / 2)), max(0, int(y + box.height / 2) + 1))
        columns = slice(max(0, int(x - box.width / 2)), max(0, int(x + box.width / 2) + 1))
        mask[rows, columns] = True
    return mask


def _best(
    layers: NDArray[np.int64], layer: int, radius: float, room: float
) -> tuple[Pixel, bool] | None:
    """Where a layer's marker points, and whether it stands there; None where it is hidden."""
    mask = layers == layer
    if not mask.any():
        return None
    found = [_anchor(mask, deep) for deep in (_DEEP, _DEEP // 3)]
    for x, y in found:
        before = layers[int(y), : int(x)]
        if np.count_nonzero((before > 0) & (before != layer)) <= 2 * radius:
            return (x, y), False
    # The deepest place, by steps along rows and columns: a disc's corner is 1.42 radii off.
    inner, depth = mask, 0
    while (smaller := _eroded(inner)).any() and depth < 3 * radius:
        inner, depth = smaller, depth + 1
    rows, columns = np.nonzero(inner)
    if depth >= room * radius + 1.0:
        return (float(columns[0]) + 0.5, float(rows[0]) + 0.5), True
    return found[0], False


def _anchor(mask: Mask, deep: int) -> Pixel:
    """Find the leftmost pixel of a mask that is ``deep`` pixels off its edge, if any is."""
    inner, depth = mask, 0
    while depth < deep and (smaller := _eroded(inner)).any():
        inner, depth = smaller, depth + 1
    rows, columns = np.nonzero(inner)
    left = int(columns.min())
    # The middle of what lies a little inside the left end, so leaders of neighbours agree.
    near = columns <= left + deep
    row = int(np.median(rows[near]))
    close = np.argmin((rows - row) ** 2 + (columns - left) ** 2)
    return (float(columns[close]) + 0.5, float(rows[close]) + 0.5)


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
    markers: Sequence[Marker], others: Sequence[Box], area: tuple[float, float, float, float]
) -> tuple[Marker, ...]:
    """Move discs, each as little as will do, until no leader crosses another or meets a text.

    Parameters
    ----------
    markers : sequence of Marker
    others : sequence of Box
        Texts to keep clear of.
    area : (left, top, right, bottom)
        Where discs may stand, pixels.
    """
    mended = list(markers)
    for _ in range(_PASSES):
        if count_marker_faults(mended, others) == 0:
            break
        for i, one in enumerate(mended):
            rest = [*mended[:i], *mended[i + 1 :]]
            if _faults_of(one, rest, others):
                trials = [one, *_moved(one, area)]
                faults = [_faults_of(trial, rest, others) for trial in trials]
                mended[i] = trials[faults.index(min(faults))]
    return tuple(mended)


_PASSES, _RINGS, _WAYS = 4, 14, 16


def _moved(marker: Marker, area: tuple[float, float, float, float]) -> list[Marker]:
    """Return a marker with its disc moved, the nearest first."""
    left, top, right, bottom = area
    (x, y), r = marker.centre, marker.radius
    places = [
        (x + 0.8 * ring * r * np.cos(turn), y + 0.8 * ring * r * np.sin(turn))
        for ring in range(1, _RINGS)
        for turn in np.arange(_WAYS) * (2.0 * np.pi / _WAYS)
    ]
    return [
        replace(marker, centre=(float(a), float(b)))
        for a, b in places
        if left + r <= a <= right - r
        and top + r <= b <= bottom - r
        and np.hypot(a - marker.anchor[0], b - marker.anchor[1]) > 2.0 * r
    ]


def _faults_of(one: Marker, rest: Sequence[Marker], others: Sequence[Box]) -> int:
    walls = [m.box for m in rest] + list(others)
    faults = sum(box.overlaps(one.box) for box in walls)
    faults += sum(segments_cross(one.leader, m.leader) for m in rest)
    if one.leader:
        faults += sum(box.hit_by(*one.leader) for box in walls)
    return faults + sum(one.box.hit_by(*m.leader) for m in rest if m.leader)


def ink_marker(
    sheet: Sheet,
    number: int,
    centre: Pixel,
    radius: float,
    *,
    order: float = 9.0,
    theme: Theme = LIGHT,
) -> None:
    """Ink a number in a disc."""
    sheet.disc(centre, radius, fill=theme.ink, ink=theme.paper, width=radius / 8.0, order=order)
    sheet.text(
        centre,
        str(number),
        size=1.15 * radius,
        ink=theme.paper,
        bold=True,
        across="center",
        order=order + 0.1,
    )


def ink_markers(
    sheet: Sheet, markers: Sequence[Marker], weight: float, *, theme: Theme = LIGHT
) -> None:
    """Ink markers with leaders, a dot at each anchor."""
    for marker in markers:
        if marker.leader:
            sheet.lines([marker.leader], width=3.0 * weight, ink=theme.paper, alpha=0.85, order=7.0)
            sheet.lines([marker.leader], width=1.1 * weight, ink=theme.ink, order=7.1)
            sheet.disc(
                marker.anchor,
                3.6 * weight,
                fill=theme.ink,
                ink=theme.paper,
                width=1.2 * weight,
                order=7.2,
            )
        ink_marker(sheet, marker.number, marker.centre, marker.radius, theme=theme)
