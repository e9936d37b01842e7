"""Edges of pieces as columns of numbers, and the bands along them in which laps are looked for."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from roof3d.laps.model import Floats
from roof3d.tolerance import DEFAULT, Tolerance

Indices = NDArray[np.intp]
Mask = NDArray[np.bool_]
Shapes = NDArray[np.object_]


@dataclass(frozen=True, slots=True, eq=False)
class Edges:
    """Straight edges: the piece of each, from where to where, and outward from the piece."""

    owner: Indices
    start: Floats
    end: Floats
    out: Floats

    def __len__(self) -> int:
        return len(self.owner)

    def where(self, mask: Mask) -> Edges:
        """Return those of a mask."""
        return Edges(self.owner[mask], self.start[mask], self.end[mask], self.out[mask])

    def along(self) -> Floats:
        """Return the direction of each."""
        return np.column_stack([-self.out[:, 1], self.out[:, 0]])

    def middle(self) -> Floats:
        """Return the middle of each."""
        return np.asarray((self.start + self.end) / 2.0)


def edges_of(shapes: Shapes, tol: Tolerance) -> Edges:
    """Return every straight edge of shapes, the shape on the left."""
    parts, owner = shapely.get_parts(shapes, return_index=True)
    real = shapely.area(parts) > tol.area
    rings, of_part = shapely.get_rings(shapely.orient_polygons(parts[real]), return_index=True)
    points, ring = shapely.get_coordinates(rings, return_index=True)
    follows = ring[1:] == ring[:-1]
    start, end = points[:-1][follows], points[1:][follows]
    of = owner[real][of_part[ring[:-1][follows]]]
    size = np.hypot(*(end - start).T)
    real = size > tol.sliver
    along = (end - start)[real] / size[real, None]
    out = np.column_stack([along[:, 1], -along[:, 0]])
    return Edges(of[real], start[real], end[real], out)


def clip_edges(edges: Edges, zone: shapely.Geometry, tol: Tolerance) -> Edges:
    """Return what lies in a zone."""
    lines = shapely.linestrings(np.stack([edges.start, edges.end], axis=1))
    shapely.prepare(zone)
    whole = shapely.covers(zone, lines)
    cut = np.flatnonzero(~whole & shapely.intersects(zone, lines))
    parts, index = shapely.get_parts(shapely.intersection(lines[cut], zone), return_index=True)
    real = shapely.length(parts) > tol.snap
    parts, index = parts[real], cut[index[real]]
    ends, of = shapely.get_coordinates(parts, return_index=True)
    along = edges.along()[index]
    places = ((ends - edges.start[index][of]) * along[of]).sum(axis=1)
    least, most = np.full(len(parts), np.inf), np.full(len(parts), -np.inf)
    np.minimum.at(least, of, places)
    np.maximum.at(most, of, places)
    kept = edges.where(whole)
    return Edges(
        np.concatenate([kept.owner, edges.owner[index]]),
        np.concatenate([kept.start, edges.start[index] + least[:, None] * along]),
        np.concatenate([kept.end, edges.start[index] + most[:, None] * along]),
        np.concatenate([kept.out, edges.out[index]]),
    )


def bands_along(edges: Edges, near: Floats | float, far: Floats | float, tol: Tolerance) -> Shapes:
    """Return the band along each edge from ``near`` to ``far`` outward, a little shortened.

    Inward is negative. The ends are drawn in by ``tol.height``, no more than a third.
    """
    along = edges.along()
    size = ((edges.end - edges.start) * along).sum(axis=1)
    trim = np.minimum(tol.snap, size / 3.0)[:, None] * along
    start, end = edges.start + trim, edges.end - trim
    one, two = (np.broadcast_to(x, len(edges))[:, None] * edges.out for x in (near, far))
    corners = np.stack([start + one, end + one, end + two, start + two], axis=1)
    return np.asarray(shapely.polygons(corners))


def stretch_of(edges: Edges, index: Indices, shapes: Shapes) -> tuple[Floats, Floats]:
    """Return from where to where shapes reach along their edges, metres from each start."""
    points, of = shapely.get_coordinates(shapes, return_index=True)
    places = ((points - edges.start[index][of]) * edges.along()[index][of]).sum(axis=1)
    least, most = np.full(len(shapes), np.inf), np.full(len(shapes), -np.inf)
    np.minimum.at(least, of, places)
    np.maximum.at(most, of, places)
    return least, most


def part_edges(
    edges: Edges, index: Indices, least: Floats, most: Floats, tol: Tolerance
) -> tuple[Edges, Edges]:
    """Part edges into what lies in one of their stretches and what does not."""
    size = ((edges.end - edges.start) * edges.along()).sum(axis=1)
    inside: list[tuple[int, float, float]] = []
    outside: list[tuple[int, float, float]] = []
    order = np.lexsort((least, index))
    runs: dict[int, list[tuple[float, float]]] = {}
    for k in order.tolist():
        runs.setdefault(int(index[k]), []).append((float(least[k]), float(most[k])))
    for i, long in enumerate(size.tolist()):
        at = 0.0
        for low, high in _joined(runs.get(i, []), tol):
            if low - at > 2.0 * tol.snap:
                outside.append((i, at, low))
            inside.append((i, max(0.0, low), min(long, high)))
            at = max(at, high)
        if long - at > 2.0 * tol.snap:
            outside.append((i, at, long))
    return _pick(edges, inside), _pick(edges, outside)


def _joined(runs: Sequence[tuple[float, float]], tol: Tolerance) -> list[tuple[float, float]]:
    joined: list[tuple[float, float]] = []
    for low, high in runs:
        if joined and low <= joined[-1][1] + 2.0 * tol.snap:
            joined[-1] = (joined[-1][0], max(joined[-1][1], high))
        else:
            joined.append((low, high))
    return joined


def _pick(edges: Edges, rows: list[tuple[int, float, float]]) -> Edges:
    table = np.array(rows, dtype=np.float64).reshape(-1, 3)
    index = table[:, 0].astype(np.intp)
    along = edges.along()[index]
    return Edges(
        edges.owner[index],
        edges.start[index] + table[:, 1:2] * along,
        edges.start[index] + table[:, 2:3] * along,
        edges.out[index],
    )


def only_areas(*shapes: shapely.Geometry) -> shapely.Geometry:
    """Return the areas of shapes in one, without points and lines where they only touch."""
    parts = [
        part
        for shape in shapes
        for part in shapely.get_parts(shape)
        if part.geom_type == "Polygon" and not part.is_empty
    ]
    return parts[0] if len(parts) == 1 else shapely.union_all(parts, grid_size=DEFAULT.grid)
