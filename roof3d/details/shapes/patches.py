"""Solids of pieces with any outline: cut where their height turns, closed, wound outward."""

from __future__ import annotations

import itertools
from collections import Counter
from collections.abc import Callable, Sequence

import numpy as np
import shapely
from numpy.typing import NDArray

from roof3d.details.frame import Floats, Point2
from roof3d.details.shapes.solids import Body
from roof3d.tolerance import DEFAULT, Tolerance

Placer = Callable[[Floats, bool], Floats]
"""From places (n, 2) in (u, s) to space, of the underside (False) or of the top (True)."""


def patch_body(
    outlines: Sequence[shapely.Polygon],
    axis: Point2,
    at: Sequence[float],
    place: Placer,
    *,
    bends: Sequence[float] = (),
    creases: Sequence[shapely.LineString] = (),
    tol: Tolerance = DEFAULT,
) -> Body:
    """Return one closed body an outline.

    Parameters
    ----------
    outlines : sequence of shapely.Polygon
        In (u, s), none touching another; holes are allowed.
    axis : Point2
        Along which heights change.
    at : sequence of float
        Where along the axis the height turns.
    place : Placer
        Straight between those places, the bends and the creases.
    bends : sequence of float
        Values of s at which the face bends.
    creases : sequence of shapely.LineString
        Where else it turns, in (u, s): they end on one another or on the outline.

    Returns
    -------
    Body
        Rims: each outline above and below, and an upright at each of its corners.
    """
    vertices: list[Floats] = []
    triangles: list[NDArray[np.int64]] = []
    rims: list[Floats] = []
    count = 0
    for outline in outlines:
        points, faces = _cells(outline, axis, at, bends, creases, tol)
        under, over = place(points, False), place(points, True)
        vertices += [under, over]
        n = len(points)
        walls = _walls(faces)
        a, b = walls.T
        sides = np.concatenate((np.column_stack((a, b, b + n)), np.column_stack((a, b + n, a + n))))
        triangles.append(np.concatenate((faces + n, faces[:, ::-1], sides)) + count)
        count += 2 * n
        rims += _rims(outline, walls, points, under, over, tol)
    return Body(
        vertices=np.concatenate(vertices), triangles=np.concatenate(triangles), rims=tuple(rims)
    )


def _cells(
    outline: shapely.Polygon,
    axis: Point2,
    at: Sequence[float],
    bends: Sequence[float],
    creases: Sequence[shapely.LineString],
    tol: Tolerance,
) -> tuple[Floats, NDArray[np.int64]]:
    """Triangulate an outline so that no triangle crosses a cut; counterclockwise in (u, s)."""
    coords = shapely.get_coordinates(outline)
    lines = [outline.boundary, *creases]
    for way, places in ((axis, at), ((0.0, 1.0), bends)):
        if len(places):
            lines += _across(coords, way, np.array(places)).tolist()
    # Noded together on a grid: neighbours share their corners exactly.
    noded = shapely.union_all(lines, grid_size=tol.cut_grid)
    cells = shapely.get_parts(shapely.polygonize(shapely.get_parts(noded)))
    shapely.prepare(outline)
    inside = cells[shapely.covers(outline, shapely.point_on_surface(cells))]
    parts = shapely.get_parts(shapely.constrained_delaunay_triangles(inside))
    rings = shapely.get_coordinates(parts).reshape(-1, 4, 2)[:, :3]
    number: dict[tuple[float, float], int] = {}
    corners = [number.setdefault((x, y), len(number)) for x, y in rings.reshape(-1, 2).tolist()]
    faces = np.array(corners, dtype=np.int64).reshape(-1, 3)
    (ux, uy), (vx, vy) = (rings[:, 1] - rings[:, 0]).T, (rings[:, 2] - rings[:, 0]).T
    turned = ux * vy - uy * vx <= 0.0
    faces[turned] = faces[turned][:, [0, 2, 1]]
    return np.array(list(number)), faces


def _across(coords: Floats, axis: Point2, places: Floats) -> NDArray[np.object_]:
    """Return a line square to an axis at each place, past all of some points."""
    ahead, side = places[:, None] * np.array(axis), np.array((-axis[1], axis[0]))
    along = coords @ side
    ends = (float(along.min()) - 1.0, float(along.max()) + 1.0)
    lines: NDArray[np.object_] = shapely.linestrings(
        np.stack([ahead + end * side for end in ends], axis=1)
    )
    return lines


def _walls(faces: NDArray[np.int64]) -> NDArray[np.int64]:
    """Sides of triangles that no other triangle shares, as they run round the outline."""
    sides = [tuple(side) for side in faces[:, [[0, 1], [1, 2], [2, 0]]].reshape(-1, 2).tolist()]
    known = Counter(sides)
    return np.array([side for side in sides if (side[1], side[0]) not in known], dtype=np.int64)


def _rims(
    outline: shapely.Polygon,
    walls: NDArray[np.int64],
    points: Floats,
    under: Floats,
    over: Floats,
    tol: Tolerance,
) -> list[Floats]:
    after = {int(a): int(b) for a, b in walls}
    away = points[:, None] - shapely.get_coordinates(outline)
    is_corner = (np.hypot(away[..., 0], away[..., 1]) <= tol.merge).any(axis=1).tolist()
    rims: list[Floats] = []
    while after:
        first = next(iter(after))
        ring = [first]
        while (following := after.pop(ring[-1], first)) != first:
            ring.append(following)
        turns = [k for k, vertex in enumerate(ring) if is_corner[vertex]] or [0]
        ring = ring[turns[0] :] + ring[: turns[0] + 1]
        turns = [k - turns[0] for k in turns] + [len(ring) - 1]
        for a, b in itertools.pairwise(turns):
            side = ring[a : b + 1]
            rims += [over[side], under[side]]
            rims.append(np.array([under[side[0]], over[side[0]]]))
    return rims
