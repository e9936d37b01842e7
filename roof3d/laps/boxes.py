"""Upright rectangles, which most pieces are: what they share and leave, by their numbers alone."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import shapely
from numpy.typing import NDArray

from roof3d.laps.model import Floats
from roof3d.tolerance import Tolerance

Mask = NDArray[np.bool_]
Shapes = NDArray[np.object_]


def are_boxes(shapes: Shapes, tol: Tolerance) -> Mask:
    """Return which shapes fill the rectangle around them."""
    low_u, low_v, high_u, high_v = shapely.bounds(shapes).reshape(-1, 4).T
    around = (high_u - low_u) * (high_v - low_v)
    lone = shapely.get_num_coordinates(shapes) == 5
    return np.asarray(lone & (around - shapely.area(shapes) <= tol.area_share * around))


def share(one: Shapes, two: Shapes, tol: Tolerance) -> Shapes:
    """Return what each pair of shapes has in common."""
    both = are_boxes(one, tol) & are_boxes(two, tol)
    a, b = (shapely.bounds(shapes).reshape(-1, 4) for shapes in (one, two))
    low, high = np.maximum(a[:, :2], b[:, :2]), np.minimum(a[:, 2:], b[:, 2:])
    result = np.full(len(one), shapely.Polygon(), dtype=np.object_)
    real = both & (low < high).all(axis=1)
    result[real] = shapely.box(*np.hstack([low[real], high[real]]).T)
    result[~both] = shapely.intersection(one[~both], two[~both])
    return result


def hold(one: Floats, two: Floats) -> Mask:
    """Return whether the first of each pair of rectangles holds the second."""
    return np.asarray(
        (one[:, :2] <= two[:, :2]).all(axis=1) & (one[:, 2:] >= two[:, 2:]).all(axis=1)
    )


def strings_of(bounds: Floats, alike: Mask, tol: Tolerance) -> NDArray[np.intp]:
    """Return the string that each rectangle is in: neighbours side by side are one.

    Parameters
    ----------
    bounds : (n, 4) float64
        Of rectangles in the order they are laid.
    alike : (n - 1,) bool
        Whether each but the first may be one with the one before.
    tol : Tolerance

    Examples
    --------
    >>> row = np.array([[0.0, 0, 1, 1], [1, 0, 2, 1], [3, 0, 4, 1]])
    >>> strings_of(row, np.ones(2, dtype=bool), Tolerance()).tolist()
    [0, 0, 1]
    """
    one, two = bounds[:-1], bounds[1:]
    level = (np.abs(one[:, [1, 3]] - two[:, [1, 3]]) <= tol.sliver).all(axis=1)
    touch = np.minimum(np.abs(two[:, 0] - one[:, 2]), np.abs(one[:, 0] - two[:, 2])) <= tol.sliver
    return np.cumsum(np.concatenate([[True], ~(level & touch & alike)])) - 1


def trim_boxes(areas: Floats, at: NDArray[np.intp], over: Floats) -> Floats:
    """Return rectangles without what others cut off them from side to side.

    Parameters
    ----------
    areas : (n, 4) float64
    at : (k,) intp
        The rectangle that each of the others may cut.
    over : (k, 4) float64

    Examples
    --------
    >>> trim_boxes(np.array([[0.0, 0, 4, 1]]), np.array([0]), np.array([[3.0, -1, 5, 2]])).tolist()
    [[0.0, 0.0, 3.0, 1.0]]
    """
    rest = areas.copy()
    for axis in (1, 0):
        cross = 1 - axis
        spans = (over[:, cross] <= rest[at, cross]) & (over[:, cross + 2] >= rest[at, cross + 2])
        one, low, high = at[spans], over[spans, axis], over[spans, axis + 2]
        top = high >= rest[one, axis + 2]
        foot = low <= rest[one, axis]
        np.minimum.at(rest[:, axis + 2], one[top], low[top])
        np.maximum.at(rest[:, axis], one[foot], high[foot])
    return rest


def left_of(area: Floats, over: Floats) -> shapely.Geometry:
    """Return what rectangles leave of one.

    Parameters
    ----------
    area : (4,) float64
        Least u, least v, greatest u, greatest v.
    over : (n, 4) float64

    Examples
    --------
    >>> left_of(np.array([0.0, 0, 4, 1]), np.array([[0.0, -1, 1, 2], [2, -1, 3, 2]])).area
    2.0
    """
    u0, v0, u1, v1 = area.tolist()
    cut = [
        (max(a, u0), max(b, v0), min(c, u1), min(d, v1))
        for a, b, c, d in over.tolist()
        if a < u1 and c > u0 and b < v1 and d > v0
    ]
    along = sorted({v0, v1, *(box[1] for box in cut), *(box[3] for box in cut)})
    boxes: list[tuple[float, float, float, float]] = []
    below: list[tuple[float, float, float, float]] = []
    for low, high in pairwise(along):
        start, row = u0, []
        for left, _, right, _ in sorted(box for box in cut if box[1] <= low and box[3] >= high):
            if left > start:
                row.append((start, low, left, high))
            start = max(start, right)
        if start < u1:
            row.append((start, low, u1, high))
        if [(box[0], box[2]) for box in row] == [(box[0], box[2]) for box in below]:
            row = [(one[0], one[1], one[2], high) for one in below]
        else:
            boxes += below
        below = row
    boxes += below
    if not boxes:
        return shapely.Polygon()
    parts = shapely.box(*np.array(boxes).T)
    return parts[0] if len(parts) == 1 else shapely.union_all(parts)
