"""Break lines: where roof or wall that goes on is left off."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

import numpy as np
import shapely

from roof3d.details.frame import Face, Floats
from roof3d.details.model import INCH, Detail, DetailKind, PieceKind
from roof3d.drawing.detail.cut import STANDING, Cut, drops, height_over, on_face
from roof3d.drawing.model import Point
from roof3d.tolerance import DEFAULT

_PAST, _ZIG = 1.5, 0.9
"""How far a break line runs past what it breaks, and half of its zigzag, millimetres."""
_LEAST = 1.0 * INCH
"""How far under the deck what stands must go to be broken off there."""
_GO_ON = frozenset({DetailKind.CHIMNEY, DetailKind.CHIMNEY_MEMBRANE})


def break_lines(detail: Detail, cut: Cut, size: float) -> tuple[tuple[Point, ...], ...]:
    """Return the break lines of a section, millimetres about the line.

    Parameters
    ----------
    detail : Detail
    cut : Cut
        Of the same detail.
    size : float
        Millimetres of the drawing a metre.
    """
    made = []
    for face, at in ((Face.NEAR, -cut.reach[0]), (Face.FAR, cut.reach[1])):
        if face is Face.FAR and (drops(detail) or detail.kind is DetailKind.PARAPET):
            continue
        heights = _heights(detail, cut, face, at)
        if heights:
            a, b = on_face(detail, face, np.array([at] * 2), np.array([min(heights), max(heights)]))
            made.append(_zigzag(a * size, b * size))
    made += [_zigzag(a * size, b * size) for a, b in _feet(detail, cut)]
    return tuple(made)


def _heights(detail: Detail, cut: Cut, face: Face, at: float) -> list[float]:
    """From where to where things are cut off at an end, metres off the deck."""
    inward = at * (1.0 - INCH / 100.0)
    line = shapely.LineString(on_face(detail, face, np.array([inward] * 2), np.array([-1.0, 1.0])))
    return [
        height_over(detail, face, inward, point)
        for _, side, part in cut.parts
        if side is face
        for point in shapely.get_coordinates(shapely.intersection(line, part))
    ]


def _feet(detail: Detail, cut: Cut) -> Iterator[tuple[Floats, Floats]]:
    """Yield the ends of the foot of what stands and goes on below, and of a chimney's top."""
    if drops(detail):
        return
    kinds = STANDING if detail.frame.turn < DEFAULT.parallel else {PieceKind.WALL}
    standing = [part for piece, _, part in cut.parts if piece.kind in kinds]
    joined = shapely.union_all(standing, grid_size=DEFAULT.cut_grid)
    # Begun at a corner, so that no point is left on a straight edge.
    for part in shapely.get_parts(shapely.simplify(shapely.normalize(joined), DEFAULT.merge)):
        if part.bounds[1] > -_LEAST:
            continue
        edges = [
            (a, b) if a[0] < b[0] else (b, a)
            for a, b in pairwise(shapely.get_coordinates(part.exterior))
            if abs(b[0] - a[0]) > abs(b[1] - a[1])
        ]
        longest = max(b[0] - a[0] for a, b in edges)
        edges = [(a, b) for a, b in edges if b[0] - a[0] > longest / 2.0]
        yield min(edges, key=lambda edge: edge[0][1] + edge[1][1])
        if detail.kind in _GO_ON:
            yield max(edges, key=lambda edge: edge[0][1] + edge[1][1])


def _zigzag(start: Floats, end: Floats) -> tuple[Point, ...]:
    """Return a line past both ends with a zigzag at its middle."""
    along = (end - start) / max(float(np.hypot(*(end - start))), DEFAULT.merge)
    aside = np.array((along[1], -along[0]))
    middle = (start + end) / 2.0
    points = [
        start - _PAST * along,
        middle - _ZIG * along,
        middle - 0.4 * _ZIG * along + 1.2 * _ZIG * aside,
        middle + 0.4 * _ZIG * along - 1.2 * _ZIG * aside,
        middle + _ZIG * along,
        end + _PAST * along,
    ]
    return tuple((float(x), float(y)) for x, y in points)
