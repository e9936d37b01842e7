"""A planar arrangement of straight segments: cells, edges and exact-as-can-be vertices.

Topology comes from snap rounding on a fixed grid; coordinates do not. Each vertex is put
back where the unrounded lines through it meet, so lengths do not carry the grid's error.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from roof3d.errors import InvariantError
from roof3d.geometry.groups import Groups
from roof3d.geometry.plane import PlanLine, Point2
from roof3d.geometry.rings import DirectedEdge, trace_rings
from roof3d.tolerance import Tolerance


@dataclass(frozen=True, slots=True)
class Segment:
    """A drawn piece of a line: its unrounded ends and its unrounded infinite line."""

    a: Point2
    b: Point2
    line: PlanLine


@dataclass(frozen=True, slots=True)
class ArrangementEdge:
    """One edge between two cells; a cell index of -1 is the outside.

    ``start`` and ``end`` index the vertices, ``left`` and ``right`` are cells seen along
    that direction, ``segment`` indexes the segment whose line the edge lies on.
    """

    start: int
    end: int
    left: int
    right: int
    segment: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Arrangement:
    """Vertices (n, 2) in metres, edges, and one inside point for each cell."""

    vertices: tuple[Point2, ...]
    edges: tuple[ArrangementEdge, ...]
    inside: tuple[Point2, ...]

    def cell_areas(self) -> list[float]:
        """Return the plan area of every cell, square metres."""
        areas = [0.0] * len(self.inside)
        for edge in self.edges:
            swept = _cross(self.vertices[edge.start], self.vertices[edge.end]) / 2.0
            if edge.left >= 0:
                areas[edge.left] += swept
            if edge.right >= 0:
                areas[edge.right] -= swept
        return areas

    def cell_edges(self) -> list[list[DirectedEdge]]:
        """Return for each cell its boundary as directed edges, the cell on their left."""
        boundary: list[list[DirectedEdge]] = [[] for _ in self.inside]
        for edge in self.edges:
            if edge.left >= 0:
                boundary[edge.left].append((edge.start, edge.end))
            if edge.right >= 0:
                boundary[edge.right].append((edge.end, edge.start))
        return boundary

    def cell_rings(self) -> list[tuple[tuple[int, ...], ...]]:
        """Return for each cell its rings of vertex numbers: outer ones left, holes right."""
        return [trace_rings(edges, self.vertices) for edges in self.cell_edges()]


def _cross(a: Point2, b: Point2) -> float:
    return a[0] * b[1] - b[0] * a[1]


def arrange(segments: Sequence[Segment], *, tol: Tolerance) -> Arrangement:
    """Node segments with each other and find the cells between them.

    Parameters
    ----------
    segments : sequence of Segment
        In local coordinates (near the origin), metres.
    tol : Tolerance

    Returns
    -------
    Arrangement
        Cells thinner than ``tol.sliver`` are joined to their widest neighbour, edges
        shorter than that are collapsed.

    Raises
    ------
    InvariantError
        If a vertex would have to move further than ``tol.snap``.
    """
    cells = shapely.get_parts(shapely.polygonize([_noded(segments, tol)]))
    on_grid, pairs = _noded_pairs(cells)
    sides = _sides(cells, on_grid)
    owners = _owning_segments(segments, on_grid, pairs, tol)
    # Crumbs are judged where the lines really meet: lines at a small angle may meet far
    # (for a crumb) from their grid point.
    points = _on_lines(segments, on_grid, pairs, owners, tol)
    hosts = _host_slivers(len(cells), pairs, sides, points, tol)
    vertex_of = _collapse(points, pairs, tol)

    kept: list[tuple[int, int, int, int, int]] = []
    for (a, b), owner in zip(pairs, owners, strict=True):
        left = hosts[sides[(a, b)]] if (a, b) in sides else -1
        right = hosts[sides[(b, a)]] if (b, a) in sides else -1
        start, end = vertex_of[a], vertex_of[b]
        if left != right and start != end:
            kept.append((start, end, left, right, owner))
    return _compact(segments, points, kept, cells, tol)


def _noded(segments: Sequence[Segment], tol: Tolerance) -> shapely.Geometry:
    """Line work noded on the grid.

    Every piece is run on a little at both ends, so that rounding cannot part lines that
    meet; the stubs bound no cell and vanish. Ends are rounded and equal pieces dropped
    first: two pieces that differ in the last bit only can make the noder put a vertex
    far off both (seen with GEOS 3.14).
    """
    raw = np.array([(s.a, s.b) for s in segments], dtype=np.float64)
    along = raw[:, 1] - raw[:, 0]
    along *= tol.overshoot / np.hypot(along[:, 0], along[:, 1])[:, np.newaxis]
    raw[:, 0] -= along
    raw[:, 1] += along
    ends = np.round(raw / tol.grid) * tol.grid
    swap = (ends[:, 0, 0] > ends[:, 1, 0]) | (
        (ends[:, 0, 0] == ends[:, 1, 0]) & (ends[:, 0, 1] > ends[:, 1, 1])
    )
    ends[swap] = ends[swap, ::-1]
    # a set, not np.unique: that one loads numpy.ma, a tenth of a whole measuring process
    distinct = np.array(sorted(set(map(tuple, ends.reshape(-1, 4).tolist())))).reshape(-1, 2, 2)
    apart = np.any(distinct[:, 0] != distinct[:, 1], axis=1)
    return shapely.union_all(shapely.linestrings(distinct[apart]), grid_size=tol.grid)


def _noded_pairs(cells: NDArray[np.object_]) -> tuple[list[Point2], list[tuple[int, int]]]:
    """Vertices on the grid, and every undirected edge that bounds a cell."""
    index: dict[Point2, int] = {}
    pairs: dict[tuple[int, int], None] = {}
    for cell in cells:
        for ring in (cell.exterior, *cell.interiors):
            numbers = [index.setdefault((x, y), len(index)) for x, y in ring.coords]
            for a, b in itertools.pairwise(numbers):
                pairs.setdefault((a, b) if a < b else (b, a))
    return list(index), list(pairs)


def _sides(cells: NDArray[np.object_], points: Sequence[Point2]) -> dict[tuple[int, int], int]:
    """Map each directed edge to the cell on its left."""
    index = {point: k for k, point in enumerate(points)}
    sides: dict[tuple[int, int], int] = {}
    for number, cell in enumerate(cells):
        for ring, outer in [(cell.exterior, True), *((hole, False) for hole in cell.interiors)]:
            coords = list(ring.coords)
            if ring.is_ccw != outer:
                coords.reverse()
            for a, b in itertools.pairwise(coords):
                sides[(index[a], index[b])] = number
    return sides


def _on_lines(
    segments: Sequence[Segment],
    points: Sequence[Point2],
    pairs: Sequence[tuple[int, int]],
    owners: Sequence[int],
    tol: Tolerance,
) -> list[Point2]:
    """Put every vertex back on the unrounded lines of the edges that end there."""
    lines: list[list[PlanLine]] = [[] for _ in points]
    for (a, b), owner in zip(pairs, owners, strict=True):
        lines[a].append(segments[owner].line)
        lines[b].append(segments[owner].line)
    return [_meeting_point(p, through, tol) for p, through in zip(points, lines, strict=True)]


def _host_slivers(
    count: int,
    pairs: Sequence[tuple[int, int]],
    sides: dict[tuple[int, int], int],
    points: Sequence[Point2],
    tol: Tolerance,
) -> list[int]:
    """Give each sliver the cell across its longest edge; follow chains of slivers."""
    area, around = np.zeros(count), np.zeros(count)
    for (a, b), cell in sides.items():
        area[cell] += _cross(points[a], points[b]) / 2.0
        around[cell] += math.dist(points[a], points[b])
    sliver = 2.0 * area < tol.sliver * around
    best: dict[int, tuple[float, int]] = {}
    for a, b in pairs:
        left, right = sides.get((a, b), -1), sides.get((b, a), -1)
        length = math.dist(points[a], points[b])
        for cell, other in ((left, right), (right, left)):
            if cell < 0 or not sliver[cell]:
                continue
            # Solid neighbours first, so that chains of slivers end.
            rank = (length, other) if other < 0 or not sliver[other] else (0.0, other)
            if cell not in best or rank > best[cell]:
                best[cell] = rank
    hosts = []
    for cell in range(count):
        seen = set()
        host = cell
        while host >= 0 and sliver[host] and host not in seen:
            seen.add(host)
            host = best[host][1]
        hosts.append(-1 if host >= 0 and sliver[host] else host)
    return hosts


def _collapse(
    points: Sequence[Point2], pairs: Iterable[tuple[int, int]], tol: Tolerance
) -> list[int]:
    """Make one vertex of those joined by crumbs of edges."""
    groups = Groups(range(len(points)))
    for a, b in pairs:
        if math.dist(points[a], points[b]) < tol.sliver:
            groups.join(a, b)
    return [groups.name(k) for k in range(len(points))]


def _owning_segments(
    segments: Sequence[Segment],
    points: Sequence[Point2],
    pairs: Sequence[tuple[int, int]],
    tol: Tolerance,
) -> list[int]:
    """Find for each edge the segment that it is a piece of."""
    drawn = shapely.linestrings(np.array([(s.a, s.b) for s in segments]))
    tree = shapely.STRtree(drawn)
    middles = [
        (
            (points[a][0] + points[b][0]) / 2.0,
            (points[a][1] + points[b][1]) / 2.0,
        )
        for a, b in pairs
    ]
    found = tree.query(shapely.points(np.array(middles)), predicate="dwithin", distance=tol.sliver)
    best: list[tuple[float, int]] = [(math.inf, -1)] * len(pairs)
    for edge, number in zip(found[0].tolist(), found[1].tolist(), strict=True):
        a, b = pairs[edge]
        line = segments[number].line
        miss = max(abs(line.side(points[a])), abs(line.side(points[b])))
        best[edge] = min(best[edge], (miss, number))
    worst = max(miss for miss, _ in best)
    if worst > tol.sliver:
        raise InvariantError(
            f"noding put a vertex {worst:.2e} m off its line", hint="please report the model file"
        )
    return [number for _, number in best]


def _compact(
    segments: Sequence[Segment],
    points: Sequence[Point2],
    kept: Sequence[tuple[int, int, int, int, int]],
    cells: NDArray[np.object_],
    tol: Tolerance,
) -> Arrangement:
    """Give new numbers to what is left, and put the vertices back on their lines."""
    at_vertex: dict[int, list[PlanLine]] = {}
    for start, end, _, _, owner in kept:
        at_vertex.setdefault(start, []).append(segments[owner].line)
        at_vertex.setdefault(end, []).append(segments[owner].line)
    used = sorted({v for edge in kept for v in edge[:2]})
    vertex_number = {old: new for new, old in enumerate(used)}
    vertices = tuple(_meeting_point(points[v], at_vertex.get(v, []), tol) for v in used)

    alive = sorted({c for edge in kept for c in edge[2:4] if c >= 0})
    cell_number = {old: new for new, old in enumerate(alive)}
    cell_number[-1] = -1
    inside = [shapely.point_on_surface(cells[c]) for c in alive]
    return Arrangement(
        vertices=vertices,
        edges=tuple(
            ArrangementEdge(
                vertex_number[a], vertex_number[b], cell_number[left], cell_number[right], owner
            )
            for a, b, left, right, owner in kept
        ),
        inside=tuple((p.x, p.y) for p in inside),
    )


def _meeting_point(point: Point2, lines: Sequence[PlanLine], tol: Tolerance) -> Point2:
    """Least move of a grid point onto the lines that pass there."""
    if not lines:
        return point
    # Normal equations: the move is tiny, so squaring the condition loses nothing here.
    xx = sum(line.nx * line.nx for line in lines)
    yy = sum(line.ny * line.ny for line in lines)
    xy = sum(line.nx * line.ny for line in lines)
    bx = -sum(line.nx * line.side(point) for line in lines)
    by = -sum(line.ny * line.side(point) for line in lines)
    det = xx * yy - xy * xy
    major = (xx + yy + math.hypot(xx - yy, 2.0 * xy)) / 2.0
    if det > (tol.parallel * major) ** 2:
        move = ((yy * bx - xy * by) / det, (xx * by - xy * bx) / det)
    else:
        # All but parallel: move square to them only.
        move = (bx / major, by / major)
    if math.hypot(*move) > tol.snap:
        raise InvariantError(
            f"a vertex at ({point[0]:.6f}, {point[1]:.6f}) m would move "
            f"{math.hypot(*move):.2e} m to meet its lines",
            hint="please report the model file",
        )
    return (point[0] + move[0], point[1] + move[1])
