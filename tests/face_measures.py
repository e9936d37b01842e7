"""Areas and line lengths read off roof faces alone, written apart from the package."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from tests.outline_data import Rings, Values

Array: TypeAlias = NDArray[np.float64]
Faces: TypeAlias = Sequence[Sequence[Sequence[Array]]]
"""Rings of edges of faces, each a sequence of rings in space."""

Key: TypeAlias = tuple[int, int]
"""Ring and edge."""

Node: TypeAlias = tuple[float, ...]

#: An edge of the roof whose ends differ less in height (times its length) is level.
LEVEL = 1e-6
#: Sine of the angle between planes that are one.
COPLANAR = 1e-7


def newell(ring: Array) -> Array:
    """Return the area vector of a ring in space."""
    points = ring - ring[0]
    vector: Array = np.cross(points, np.roll(points, -1, axis=0)).sum(axis=0) / 2.0
    return vector


def by_edge(found: Faces) -> dict[Key, Sequence[Array]]:
    """Name the faces by ring and edge."""
    return {(r, k): face for r, ring in enumerate(found) for k, face in enumerate(ring)}


def true_area(face: Sequence[Array]) -> float:
    """Area in its own plane, its holes left out."""
    return float(np.linalg.norm(sum((newell(ring) for ring in face), np.zeros(3))))


def plan_area(face: Sequence[Array]) -> float:
    """Signed area in plan, its holes left out."""
    return float(sum(newell(ring)[2] for ring in face))


def outline_area(rings: Rings) -> float:
    """Area inside the outline."""
    total = 0.0
    for ring in rings:
        points = np.column_stack([np.array(ring), np.zeros(len(ring))])
        total += float(newell(points)[2])
    return total


def top_of(found: Faces) -> float:
    """Return the greatest height."""
    return max(float(ring[:, 2].max()) for faces in found for face in faces for ring in face)


def normal(rings: Rings, slopes: Values, key: Key) -> Array:
    """Return the outward unit normal of the plane over an edge, from the input alone."""
    (ax, ay), (bx, by) = edge_ends(rings, key)
    length = math.hypot(bx - ax, by - ay)
    inward = np.array([(ay - by) / length, (bx - ax) / length, 0.0])
    slope = slopes[key[0]][key[1]]
    if math.isinf(slope):
        return -inward
    unit: Array = (np.array([0.0, 0.0, 1.0]) - slope * inward) / math.hypot(1.0, slope)
    return unit


def edge_ends(rings: Rings, key: Key) -> tuple[tuple[float, float], tuple[float, float]]:
    """Return both ends of an edge of the outline."""
    ring = rings[key[0]]
    return ring[key[1]], ring[(key[1] + 1) % len(ring)]


@dataclass(frozen=True, slots=True, kw_only=True)
class Side:
    """One side of a face, with the face beyond it; None over the eave."""

    start: Node
    end: Node
    face: Key
    beyond: Key | None

    @property
    def length(self) -> float:
        """Metres, true."""
        return math.dist(self.start, self.end)


def sides(found: Faces) -> list[Side]:
    """Return every side of every face; ends are compared bit for bit.

    A directed side that two faces claim is an error of the roof, and raises.
    """
    owner: dict[tuple[Node, Node], Key] = {}
    for key, face in by_edge(found).items():
        for ring in face:
            points = [tuple(point) for point in ring.tolist()]
            for start, end in zip(points, [*points[1:], points[0]], strict=True):
                if (start, end) in owner:
                    raise AssertionError(f"{owner[start, end]} and {key} both claim {start, end}")
                owner[start, end] = key
    return [
        Side(start=start, end=end, face=key, beyond=owner.get((end, start)))
        for (start, end), key in owner.items()
    ]


def role(side: Side, rings: Rings, slopes: Values) -> str:
    """Say what a side is, by the planes on both sides of it."""
    vertical = math.isinf(slopes[side.face[0]][side.face[1]])
    if side.beyond is None:
        return "gable_base" if vertical else "eave"
    beyond = math.isinf(slopes[side.beyond[0]][side.beyond[1]])
    level = abs(side.end[2] - side.start[2]) < LEVEL * max(1.0, side.length)
    if vertical and beyond:
        return "corner"
    if vertical or beyond:
        return "high_edge" if level else "rake"
    along = (np.array(side.end) - np.array(side.start)) / side.length
    here, there = normal(rings, slopes, side.face), normal(rings, slopes, side.beyond)
    turn = float(np.dot(np.cross(here, there), along))
    if abs(turn) < COPLANAR:
        return "flat"
    if turn < 0.0:
        return "valley"
    return "ridge" if level else "hip"


def line_lengths(found: Faces, rings: Rings, slopes: Values) -> dict[str, float]:
    """Sum up true lengths by role; a side between two faces counts once."""
    lengths: defaultdict[str, float] = defaultdict(float)
    for side in sides(found):
        if side.beyond is None or side.start < side.end:
            lengths[role(side, rings, slopes)] += side.length
    return dict(lengths)
