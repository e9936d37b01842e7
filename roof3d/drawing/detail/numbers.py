"""Numbers of the layers that a section cuts: in rows under its faces, on both sides of a wall."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import numpy as np
import shapely

from roof3d.details.frame import Face, Floats
from roof3d.details.model import INCH, Detail, PieceKind
from roof3d.drawing.detail.cut import STANDING, Cut, drops, on_face
from roof3d.drawing.marks.numbers import RADIUS, Slot, set_numbers
from roof3d.drawing.model import Callout, Point
from roof3d.tolerance import DEFAULT

_PITCH = 2.0 * RADIUS + 1.6
_ROW_OFF = 4.0
"""From what is drawn to the rim of the discs."""
_FINE, _SEEN = 1.0, 0.15
"""From place to place that may be pointed at, and how thick what is pointed at must be."""
_SHORT = 6.0 * INCH
"""Framing that ends this near the line, a hip rafter, is no reason to number lower."""
_COLUMNS = 3
_WALL = 1.2
"""Radians by which the far face stands up where it is a wall."""
_OVER = 3.0 * INCH
"""How high over the deck numbers may stand beside a pipe or a chimney."""


def number_cut(
    detail: Detail,
    cut: Cut,
    size: float,
    outlines: Sequence[shapely.Geometry],
    taken: Sequence[shapely.Geometry],
    thin: Sequence[shapely.Geometry] = (),
) -> tuple[Callout, ...]:
    """Set the numbers of what is cut, in millimetres about the line.

    Parameters
    ----------
    detail : Detail
    cut : Cut
        Of the same detail.
    size : float
        Millimetres of the drawing a metre.
    outlines : sequence of shapely geometries
        What is drawn of the pieces, on which no disc stands.
    taken : sequence of shapely geometries
        What neither discs nor leaders may meet.
    thin : sequence of shapely geometries
        Extension lines.
    """
    anchors: dict[int, list[Point]] = {}
    for face in Face:
        for number, spots in _anchors(detail, cut, face, size).items():
            anchors.setdefault(number, []).extend(spots)
    for piece, _, part in cut.parts:
        if piece.layer not in anchors and piece.kind is not PieceKind.FRAMING:
            # Too narrow to be met a millimetre apart.
            spot = shapely.point_on_surface(part)
            anchors[piece.layer] = [(float(spot.x) * size, float(spot.y) * size)]
    slots = list(_slots(detail, cut, Face.NEAR, size))
    slots += [] if drops(detail) else _slots(detail, cut, Face.FAR, size)
    slots += _before_wall(detail, cut, size)
    slots += _beside_standing(detail, cut, size)
    pieces = shapely.STRtree(list(outlines))
    slots = [
        slot
        for slot in sorted(slots, key=lambda slot: slot.at[0])
        if not len(pieces.query(shapely.Point(slot.at), predicate="dwithin", distance=RADIUS + 0.8))
    ]
    return set_numbers(slots, anchors, taken, thin)


def _anchors(detail: Detail, cut: Cut, face: Face, size: float) -> dict[int, list[Point]]:
    """Return for each layer the middles of what is cut of it over a face, a millimetre apart."""
    end = cut.reach[0 if face is Face.NEAR else 1]
    sign = -1.0 if face is Face.NEAR else 1.0
    at = sign * np.arange(1.5 / size, end - 1.5 / size, _FINE / size)
    parts = [
        (piece, part)
        for piece, side, part in cut.parts
        if side is face and piece.kind is not PieceKind.FRAMING
    ]
    if not len(at) or not parts:
        return {}
    # A flashing is pointed at, not the pipe that it stands round.
    names = {layer.number: layer.name for layer in detail.layers}
    told = {p.layer for p in detail.pieces if p.name == names[p.layer] and p.kind in STANDING}
    parts = [(p, part) for p, part in parts if p.layer not in told or p.name == names[p.layer]]
    if not parts:
        return {}
    over = np.full(len(at), 0.6)
    ends = np.stack((on_face(detail, face, at, over - 1.0), on_face(detail, face, at, over)), 1)
    lines = shapely.linestrings(ends)
    found: dict[int, dict[int, Point]] = {}
    tree = shapely.STRtree([part for _, part in parts])
    for rank, (piece, whole) in enumerate(parts):
        # What is drawn later hides what it covers.
        hidden = [k for k in tree.query(whole, predicate="overlaps") if k > rank]
        part = shapely.difference(whole, shapely.union_all([parts[k][1] for k in hidden]))
        shapely.prepare(part)
        near = np.flatnonzero(shapely.intersects(part, lines))
        met = shapely.intersection(lines[near], part)
        # Of what lies apart over one place, the thickest.
        runs, of = shapely.get_parts(met, return_index=True)
        order = np.argsort(shapely.length(runs), kind="stable")
        order = order[shapely.length(runs)[order] > _SEEN / size]
        middles = shapely.line_interpolate_point(runs[order], 0.5, normalized=True)
        spots = found.setdefault(piece.layer, {}) if len(order) else {}
        # The topmost piece: what is laid last there.
        points = shapely.get_coordinates(middles) * size
        spots.update(zip(near[of[order]].tolist(), map(tuple, points.tolist()), strict=True))
    return {number: list(spots.values()) for number, spots in found.items()}


def _slots(detail: Detail, cut: Cut, face: Face, size: float) -> Iterator[Slot]:
    """Yield places for discs in two rows under a face, clear of the other face's."""
    depth = _depth(detail, cut, face)
    sign = -1.0 if face is Face.NEAR else 1.0
    turn = min(detail.frame.turn, math.pi / 2.0) / 2.0
    last = cut.reach[0 if face is Face.NEAR else 1] - RADIUS / size
    if face is Face.FAR and detail.faces[1].slope is None:
        # Beside the top of a wall is room.
        last += 2.0 * _PITCH / size
    # Leaders of the second row go between the discs of the first.
    for row in range(2):
        off = depth + (_ROW_OFF + RADIUS + row * _PITCH) / size
        first = (RADIUS + 1.0 + row * _PITCH / 2.0) / size
        if drops(detail):
            first += depth
        elif detail.convex:
            first += off * math.tan(turn)
        yield from _row(detail, face, sign * np.arange(first, last, _PITCH / size), -off, size)


def _before_wall(detail: Detail, cut: Cut, size: float) -> Iterator[Slot]:
    """Yield places for discs in two rows before a wall, over the roof."""
    if detail.convex or detail.faces[1].slope is not None or detail.frame.turn < _WALL:
        return
    parts = [part for _, side, part in cut.parts if side is Face.FAR]
    foot, up = on_face(detail, Face.FAR, np.zeros(2), np.array([0.0, 1.0]))
    out = max(float(np.max((shapely.get_coordinates(p) - foot) @ (up - foot))) for p in parts)
    for row in range(2):
        off = out + (_ROW_OFF + RADIUS + row * _PITCH) / size
        first = (RADIUS + row * _PITCH / 2.0) / size
        places = np.arange(first, cut.reach[1] + _PITCH / size, _PITCH / size)
        yield from _row(detail, Face.FAR, places, off, size)


def _beside_standing(detail: Detail, cut: Cut, size: float) -> Iterator[Slot]:
    """Yield places for discs beside a pipe or a chimney, over the roof."""
    if detail.frame.turn > DEFAULT.parallel:
        return
    boxes = [part.bounds for piece, _, part in cut.parts if piece.kind in STANDING]
    if not boxes:
        return
    left, low, right, high = np.array(boxes).T
    step = _PITCH / size
    for row in range(_COLUMNS):
        for x in (left.min() - (row + 1.5) * step, right.max() + (row + 1.5) * step):
            foot = on_face(detail, Face.FAR, np.array([0.0, 1.0]), np.zeros(2))
            rise = (foot[1, 1] - foot[0, 1]) / (foot[1, 0] - foot[0, 0])
            deck = foot[0, 1] + rise * (x - foot[0, 0])
            for y in np.arange(max(low.min(), deck + _OVER), high.max(), step):
                yield Slot(at=(float(x) * size, float(y) * size), along=(0.0, 1.0))


def _row(detail: Detail, face: Face, places: Floats, height: float, size: float) -> Iterator[Slot]:
    (ax, ay), (bx, by) = on_face(detail, face, np.array([0.0, 1.0]), np.zeros(2))
    for x, y in on_face(detail, face, places, np.full(len(places), height)) * size:
        yield Slot(at=(float(x), float(y)), along=(float(bx - ax), float(by - ay)))


def _depth(detail: Detail, cut: Cut, face: Face) -> float:
    """How far what is drawn reaches under a face, metres."""
    foot, into = on_face(
        detail, face, np.array([0.0, -1.0 if face is Face.NEAR else 1.0]), np.zeros(2)
    )
    (x0, y0), (x1, y1) = on_face(detail, face, np.zeros(2), np.array([0.0, 1.0]))
    down = np.array((x0 - x1, y0 - y1))
    deepest = 0.0
    flat = detail.frame.turn < DEFAULT.parallel
    for piece, side, part in cut.parts:
        if flat and piece.kind in STANDING:
            continue  # a pipe; numbers stand beside it
        points = shapely.get_coordinates(part) - foot
        if piece.kind is PieceKind.FRAMING:
            points = points[points @ (into - foot) > _SHORT]
        elif side is not face:
            continue
        if len(points):
            deepest = max(deepest, float(np.max(points @ down)))
    return deepest
