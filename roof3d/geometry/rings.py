"""Chain directed edges into rings, the inside on their left."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from typing import TypeAlias

from roof3d.errors import InvariantError
from roof3d.geometry.plane import Point2

DirectedEdge: TypeAlias = tuple[int, int]


def trace_rings(
    edges: Iterable[DirectedEdge], vertices: Sequence[Point2] | Mapping[int, Point2]
) -> tuple[tuple[int, ...], ...]:
    """Chain edges into simple rings.

    Parameters
    ----------
    edges : iterable of (int, int)
        Directed edges, the inside on their left; as many in as out at every vertex.
    vertices : sequence of points, or mapping from number to point

    Returns
    -------
    tuple of rings
        Each a tuple of vertex numbers, not closed; counterclockwise ones bound the inside
        from without, clockwise ones are holes. A ring that touches itself in a vertex is
        given as two.

    Raises
    ------
    InvariantError
        If the edges do not close.
    """
    leaving: dict[int, list[int]] = {}
    for a, b in edges:
        leaving.setdefault(a, []).append(b)
    rings: list[tuple[int, ...]] = []
    for start in sorted(leaving):
        while leaving[start]:
            path = [start, leaving[start].pop(0)]
            while path[-1] != start or len(path) == 1:
                here, back = path[-1], path[-2]
                options = leaving.get(here, [])
                if not options:
                    raise InvariantError("the boundary of a region does not close")
                onward = options[0]
                if len(options) > 1:
                    onward = min(options, key=lambda k: _clockwise(vertices, here, back, k))
                options.remove(onward)
                path.append(onward)
            rings.extend(_simple(path[:-1]))
    return tuple(rings)


def _clockwise(
    vertices: Sequence[Point2] | Mapping[int, Point2], here: int, back: int, onward: int
) -> float:
    """Angle turned clockwise from looking back to looking onward, in (0, 2 pi]."""
    x, y = vertices[here]
    before = math.atan2(vertices[back][1] - y, vertices[back][0] - x)
    after = math.atan2(vertices[onward][1] - y, vertices[onward][0] - x)
    turn = (before - after) % math.tau
    return turn if turn > 0.0 else math.tau


def _simple(path: Sequence[int]) -> list[tuple[int, ...]]:
    """Split a closed path wherever it comes back to a vertex."""
    rings: list[tuple[int, ...]] = []
    stack: list[int] = []
    place: dict[int, int] = {}
    for vertex in path:
        if vertex in place:
            cut = place[vertex]
            rings.append(tuple(stack[cut:]))
            for gone in stack[cut + 1 :]:
                del place[gone]
            del stack[cut + 1 :]
        else:
            place[vertex] = len(stack)
            stack.append(vertex)
    rings.append(tuple(stack))
    return [ring for ring in rings if len(ring) > 2]
