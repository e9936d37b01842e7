"""Layers cut back in steps from the measured end, so that each is seen on the one below."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

import numpy as np
import shapely
from numpy.typing import NDArray

from roof3d.details.frame import Floats
from roof3d.details.model import INCH, Detail, DetailKind, Piece, PieceKind
from roof3d.details.proof.model import DetailFault
from roof3d.render.detail_view.peel import CLIMBING, peeled_places
from roof3d.scene.detail_scene import FAULT, WATER
from roof3d.scene.model import Dimension, Part, Point3, Scene
from roof3d.tolerance import DEFAULT

_WHOLE = frozenset({PieceKind.UNIT, PieceKind.FRAMING, PieceKind.DECK})
"""What is never cut; nor is a wall, but for what is hung on it."""
_SHARE, _WIDEST = 0.72, 8.0 * INCH
"""Of the width that the steps may take, and the widest step."""
_BED = 0.6
_KEPT, _NARROW_KEPT = 0.18, 0.5
"""Least share of its width that a layer keeps, and one that is narrower than the rest."""
_NARROW = 0.7
_SMALL = 0.45
"""Share of the width below which a piece is small: the cut leaves it whole."""
_PAST = 2.0 * INCH
"""So far past the middle of what stands in the sheets they reach, and past a joint of metal."""
_FOLDS = 2.0
"""Layers at a corner that are left whole: the sheet that is folded there, and its flap."""
_DIAGONAL_STEP = 2.2 * INCH
_BESIDE = 3.0 * INCH
"""The way of the water runs that far inside the end of the uppermost layer."""
_ALIKE = frozenset(
    {
        DetailKind.EAVE_MEMBRANE,
        DetailKind.RAKE_MEMBRANE,
        DetailKind.HEADWALL_MEMBRANE,
        DetailKind.SIDEWALL_MEMBRANE,
        DetailKind.PARAPET,
    }
)
"""Joints that look the same all along their line."""


def cut_places(detail: Detail, outward: Point3) -> Mapping[int, float]:
    """Return where each layer ends: metres from the detail's middle, along ``outward``.

    A layer is one step shorter than the longest of those that lie under it; layers side by
    side are cut together. Layers that are never cut are left out.
    """
    level = _levels(detail)
    if detail.kind is DetailKind.CORNER:
        return _ends_at_corner(detail, outward)
    half = detail.size[0] / 2.0
    step = min(_WIDEST, _SHARE * detail.size[0] / max(1.0, *level.values()))
    step = min([step, *_steps_that_spare(detail, level, outward)])
    places = {}
    for number in level:
        if _stays_whole(detail, number):
            continue
        low, high = _along(detail, number, outward)
        kept = _NARROW_KEPT if high - low < _NARROW * detail.size[0] else _KEPT
        places[number] = max(half - step * level[number], low + kept * (high - low))
    return places


def _levels(detail: Detail) -> Mapping[int, float]:
    """How many steps each layer is shorter than the bare deck: by what it lies on."""
    reach = {}
    for layer in detail.layers:
        pieces = [
            p for p in detail.pieces if p.layer == layer.number and p.kind is not PieceKind.FASTENER
        ]
        if pieces:
            reach[layer.number] = (
                min(p.reach[0] for p in pieces),
                max(p.reach[1] for p in pieces),
                {p.kind for p in pieces if not _is_whole(p)},
            )
    level: dict[int, float] = {}
    for number, (first, last, kinds) in reach.items():
        below = [
            level[other]
            for other, (a, b, _) in reach.items()
            if other < number and min(last, b) - max(first, a) > INCH / 2.0
        ]
        own = 0.0 if not kinds else _BED if kinds == {PieceKind.BED} else 1.0
        level[number] = max(below, default=0.0) + own
    return level


def _stays_whole(detail: Detail, layer: int) -> bool:
    return all(
        _is_whole(p) for p in detail.pieces if p.layer == layer and p.kind is not PieceKind.FASTENER
    )


def _is_whole(piece: Piece) -> bool:
    return piece.kind in _WHOLE or (piece.kind is PieceKind.WALL and piece.layer == 1)


def _steps_that_spare(
    detail: Detail, level: Mapping[int, float], outward: Point3
) -> Iterator[float]:
    """Yield steps short enough that what is small in the middle is seen as it is built in.

    The top sheet reaches past the middle of a pipe or a drain; a joint of the metal on a wall
    stands in metal on both sides.
    """
    half, wide = detail.size[0] / 2.0, detail.size[0]
    for piece in detail.pieces:
        first, last = sorted(_sign(detail, outward) * end for end in piece.span)
        if last - first > _SMALL * wide or not first < half - _PAST:
            continue
        if piece.kind is PieceKind.UNIT and first < 0.0 < last:
            yield half / max(level.values())
        elif piece.kind is PieceKind.BED and _on_metal(detail, piece.layer):
            yield (half - last - _PAST) / level[piece.layer - 1]


def _on_metal(detail: Detail, layer: int) -> bool:
    below = {p.kind for p in detail.pieces if p.layer == layer - 1}
    return detail.kind is DetailKind.PARAPET and PieceKind.METAL in below


def _depths_at_corner(detail: Detail) -> Mapping[int, float]:
    """How far from the point of an outside corner each layer starts, along the diagonal."""
    return {
        number: _DIAGONAL_STEP * max(0.0, at - _FOLDS)
        for number, at in _levels(detail).items()
        if not _stays_whole(detail, number)
    }


def _ends_at_corner(detail: Detail, outward: Point3) -> Mapping[int, float]:
    """Where each layer ends toward ``outward``: at a corner's end, where the cut has left it."""
    half = detail.size[0] / 2.0
    back = math.sqrt(2.0) if _sign(detail, outward) == _corner_side(detail) else 0.0
    return {n: half - back * depth for n, depth in _depths_at_corner(detail).items()}


def _corner_side(detail: Detail) -> float:
    """1 where an outside corner lies up the line, -1 where down it."""
    ends = [end for piece in detail.pieces for end in piece.span]
    return 1.0 if max(ends) > -min(ends) else -1.0


def keep_under(
    detail: Detail, places: Mapping[int, float], outward: Point3, fault: DetailFault | None
) -> Mapping[int, float]:
    """Cut no layer back so far that the water of a wrong build would run in the air."""
    if fault is None or detail.kind in _ALIKE:
        return places
    origin, away = np.array(detail.frame.origin), np.array(outward)
    reached = [(mark.layer, np.array(mark.point)) for mark in fault.path]
    reached += [(layer, np.array(detail.frame.point(*fault.spot, 0.0))) for layer in fault.layers]
    kept, half = dict(places), detail.size[0] / 2.0
    for layer in places:
        # What lies on a layer rests on it.
        ends = [float((point - origin) @ away) for number, point in reached if number >= layer]
        if ends and detail.kind in CLIMBING:
            kept[layer] = half
        elif ends:
            kept[layer] = max(kept[layer], min(half, max(ends) + _BESIDE))
    return kept


def _along(detail: Detail, layer: int, outward: Point3) -> tuple[float, float]:
    """From where to where a layer lies along the line, toward ``outward``."""
    pieces = [p for p in detail.pieces if p.layer == layer and not _is_whole(p)]
    ends = [end for p in pieces for end in p.span]
    sign = _sign(detail, outward)
    along = sorted((sign * min(ends), sign * max(ends)))
    return along[0], along[1]


def _sign(detail: Detail, outward: Point3) -> float:
    return 1.0 if np.array(outward) @ np.array(detail.frame.along) > 0.0 else -1.0


def cut_back(
    detail: Detail, parts: tuple[Part, ...], outward: Point3, places: Mapping[int, float]
) -> tuple[Part, ...]:
    """Return the parts at rest, each cut off square to the line where its layer ends.

    A part that lies wholly beyond is kept empty, so that parts and pieces still pair. Of
    courses with steps between them those laid last are taken off piece by piece.
    """
    cut = _square_cut(detail, outward)
    if detail.kind is DetailKind.CORNER:
        cut, tip = _corner_cut(detail)
        places = {number: tip - depth for number, depth in _depths_at_corner(detail).items()}
    kept, late = peeled_places(detail, places, _sign(detail, outward))
    found = []
    for piece, part in zip(detail.pieces, parts, strict=True):
        place = late.get(piece.id, kept.get(piece.layer))
        found.append(part if place is None or _is_whole(piece) else _cut(part, cut, place))
    return tuple(found)


def cut_way(detail: Detail, outward: Point3) -> Point3:
    """Return the way to the end that layers are cut from: up the slope where courses climb."""
    x, y, z = outward
    return (-x, -y, -z) if detail.kind in CLIMBING and z < 0.0 else outward


@dataclass(frozen=True, slots=True)
class _Cut:
    """Planes that layers are cut by: what they are measured from, the way, and axes in them."""

    origin: Floats
    away: Floats
    axes: Floats


def _square_cut(detail: Detail, outward: Point3) -> _Cut:
    frame = detail.frame
    return _Cut(np.array(frame.origin), np.array(outward), np.array((frame.level, frame.upright)))


def _corner_cut(detail: Detail) -> tuple[_Cut, float]:
    """Planes square to the diagonal of an outside corner, and how far off its point lies."""
    frame = detail.frame
    along = _corner_side(detail) * np.array(frame.along)
    into, up = np.array(frame.near), np.array(frame.near_normal)
    half = math.sqrt(0.5)
    cut = _Cut(np.array(frame.origin), half * (along - into), np.array((half * (along + into), up)))
    return cut, half * detail.size[0] / 2.0


def move_measures(
    detail: Detail,
    dimensions: tuple[Dimension, ...],
    outward: Point3,
    places: Mapping[int, float],
) -> tuple[tuple[Dimension, float], ...]:
    """Bring what is measured at an end to the outward end, or to where its layer is cut.

    Returns
    -------
    tuple of (Dimension, float)
        With how far each then stands behind the outward end of the detail, metres.
    """
    half, away = detail.size[0] / 2.0, np.array(outward)
    moved = []
    for dimension, measure in zip(dimensions, detail.measures, strict=True):
        ends = np.array(dimension.ends)
        at = (ends - np.array(detail.frame.origin)) @ away
        wanted = places.get(measure.layer, half)
        behind = half - float(at.mean())
        if abs(abs(float(at.mean())) - half) < DEFAULT.merge and np.ptp(at) < DEFAULT.merge:
            ends = ends + np.outer(wanted - at, away)
            behind = half - wanted
        a, b = ends.tolist()
        moved.append((replace(dimension, ends=(tuple(a), tuple(b))), max(0.0, behind)))
    return tuple(moved)


def move_water(detail: Detail, scene: Scene, outward: Point3, places: Mapping[int, float]) -> Scene:
    """Bring the way of the water to where every layer is left, along a line that is alike.

    Returns
    -------
    Scene
        The same one where the joint is not alike all along.
    """
    spot = next((label for label in scene.labels if label.subject.endswith(f".{FAULT}")), None)
    if spot is None or detail.kind not in _ALIKE:
        return scene
    origin, away = np.array(detail.frame.origin), np.array(outward)
    by = min(0.0, min(places.values()) - _BESIDE - float((np.array(spot.anchor) - origin) @ away))
    rim = DEFAULT.merge - detail.size[0] / 2.0

    def moved(point: Point3) -> Point3:
        x, y, z = (np.array(point) + by * away).tolist()
        return (x, y, z)

    lines = []
    for line in scene.lines:
        ends = (moved(line.ends[0]), moved(line.ends[1]))
        if line.style != WATER:
            lines.append(line)
        elif min(float((np.array(end) - origin) @ away) for end in ends) >= rim:
            lines.append(replace(line, ends=ends))
    labels = [
        replace(label, anchor=moved(label.anchor)) if label is spot else label
        for label in scene.labels
    ]
    return replace(scene, lines=tuple(lines), labels=tuple(labels))


def _cut(part: Part, cut: _Cut, place: float) -> Part:
    away = (part.vertices - cut.origin) @ cut.away - place
    if (away <= 0.0).all():
        return part
    inside = away[part.triangles] <= 0.0
    kept = part.triangles[inside.all(axis=1)]
    vertices: list[Floats] = [part.vertices]
    triangles: list[NDArray[np.int64]] = [kept]
    count = len(part.vertices)
    segments = []
    for corners in part.triangles[inside.any(axis=1) & ~inside.all(axis=1)]:
        ring, crossed = _clipped(part.vertices[corners], away[corners])
        vertices.append(ring)
        fan = np.arange(1, len(ring) - 1, dtype=np.int64)
        triangles.append(np.column_stack((np.zeros_like(fan), fan, fan + 1)) + count)
        count += len(ring)
        segments.append(crossed)
    rims = [run for rim in part.rims for run in _kept_runs(rim, cut, place)]
    for ring, faces in _caps(segments, cut, place):
        vertices.append(ring)
        triangles.append(faces + count)
        count += len(ring)
        rims.append(np.concatenate((ring, ring[:1])))
    return replace(
        part,
        vertices=np.concatenate(vertices),
        triangles=np.concatenate(triangles),
        rims=tuple(rims),
    )


def _clipped(corners: Floats, away: Floats) -> tuple[Floats, Floats]:
    """Return what a plane leaves of a triangle, and the two points where it cuts it."""
    ring, crossed = [], []
    for k in range(3):
        a, b = k, (k + 1) % 3
        if away[a] <= 0.0:
            ring.append(corners[a])
        if (away[a] <= 0.0) != (away[b] <= 0.0):
            point = corners[a] + away[a] / (away[a] - away[b]) * (corners[b] - corners[a])
            ring.append(point)
            crossed.append(point)
    return np.array(ring), np.array(crossed)


def _caps(
    segments: list[Floats], cut: _Cut, place: float
) -> list[tuple[Floats, NDArray[np.int64]]]:
    """Close what was cut open: outlines in the cut with their triangles."""
    if not segments:
        return []
    base = cut.origin + place * cut.away
    flat = [shapely.LineString((ends - cut.origin) @ cut.axes.T) for ends in segments]
    noded = shapely.union_all(flat, grid_size=DEFAULT.cut_grid)
    caps = []
    for cell in shapely.get_parts(shapely.polygonize(shapely.get_parts(noded))):
        ring = shapely.get_coordinates(shapely.orient_polygons(cell).exterior)[:-1]
        number = {point: k for k, point in enumerate(map(tuple, ring.tolist()))}
        faces = [
            [number[point] for point in map(tuple, shapely.get_coordinates(part)[:3].tolist())]
            for part in shapely.get_parts(
                shapely.constrained_delaunay_triangles(shapely.Polygon(ring))
            )
        ]
        space = base + ring @ cut.axes
        caps.append((space, np.array(faces, dtype=np.int64).reshape(-1, 3)))
    return caps


def _kept_runs(rim: Floats, cut: _Cut, place: float) -> list[Floats]:
    """Return what is left of a line on the near side of the cut."""
    away = (rim - cut.origin) @ cut.away - place
    runs: list[list[Floats]] = [[]]
    for k in range(len(rim)):
        if k and (away[k] <= 0.0) != (away[k - 1] <= 0.0):
            point = rim[k - 1] + away[k - 1] / (away[k - 1] - away[k]) * (rim[k] - rim[k - 1])
            runs[-1].append(point)
            if away[k] > 0.0:
                runs.append([])
        if away[k] <= 0.0:
            runs[-1].append(rim[k])
    return [np.array(run) for run in runs if len(run) > 1]
