"""An eave outline as asked for, checked and put on a whole-number grid."""

from __future__ import annotations

import itertools
import math
import warnings
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

import numpy as np
import shapely
from numpy.typing import ArrayLike, NDArray

from roof3d.errors import GeometryError
from roof3d.tolerance import Tolerance

MOST_VERTICES = 20_000
"""Beyond this the time grows past minutes; no building comes near it."""

LEAST_SLOPE, MOST_SLOPE, FARTHEST = 1 / 1000, 1e6, 1e9
"""Limits of what is taken for a roof: rise over run, and metres from the origin."""

GRID_NOISE = 4
"""Units by which rounding may move the ends of two edges against each other."""

UNIT = Fraction(1, 10**9)
"""The grid: a nanometre. A decimal step, because delivered outlines are decimal: equal
decimal vectors at different places stay equal, so parallel edges stay parallel."""


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Outline:
    """Rings on the grid, the inside on their left.

    Attributes
    ----------
    corners : tuple of (n, 2) float64 arrays
        As given, metres, but wound right.
    whole : tuple of tuples of (int, int)
        Corners from ``origin`` in grid units.
    runs : tuple of tuples of Fraction
        Run over rise of each edge; 0 is vertical.
    turned : tuple[bool, ...]
        Rings that were given the wrong way round.
    origin : (float, float)
        Whole metres.
    extent : float
        Largest coordinate from the origin, metres.
    """

    corners: tuple[NDArray[np.float64], ...]
    whole: tuple[tuple[tuple[int, int], ...], ...]
    runs: tuple[tuple[Fraction, ...], ...]
    turned: tuple[bool, ...]
    origin: tuple[float, float]
    extent: float

    @property
    def plan_area(self) -> float:
        """Area inside, square metres."""
        total = sum(twice_area(ring) for ring in self.whole)
        return float(Fraction(total) * UNIT * UNIT / 2)


def twice_area(ring: Sequence[tuple[int, int]]) -> int:
    """Twice the signed area of a whole-numbered ring, exactly."""
    return sum(
        ax * by - bx * ay for (ax, ay), (bx, by) in zip(ring, (*ring[1:], ring[0]), strict=True)
    )


def read_outline(
    rings: Sequence[ArrayLike], slopes: Sequence[ArrayLike], *, tol: Tolerance
) -> Outline:
    """Check an outline and its slopes.

    Parameters
    ----------
    rings : sequence of (n, 2) array_like
        Exterior first, then holes; metres; not closed.
    slopes : sequence of (n,) array_like
        Rise over run of the edge that starts at each vertex; ``inf`` is vertical.
    tol : Tolerance

    Returns
    -------
    Outline

    Raises
    ------
    GeometryError
        With the ring and vertex: not finite, repeated, crossing, touching, a hole
        outside, a slope missing or not above 0, edges in line with unlike slopes.
    """
    rings, slopes = list(rings), list(slopes)
    if not rings:
        raise GeometryError("an outline needs an exterior ring", where="rings")
    if len(slopes) != len(rings):
        raise GeometryError(
            f"{len(slopes)} rings of slopes for {len(rings)} rings of corners", where="slopes"
        )
    corners = [_corners(ring, k, tol) for k, ring in enumerate(rings)]
    count = sum(len(ring) for ring in corners)
    if count > MOST_VERTICES:
        raise GeometryError(
            f"{count} vertices, more than {MOST_VERTICES}",
            where="rings",
            hint="simplify the outline; a building needs far fewer",
        )
    pitches = [
        _slopes(given, k, len(ring))
        for k, (given, ring) in enumerate(zip(slopes, corners, strict=True))
    ]
    _require_simple(corners)
    low = np.floor(np.min([ring.min(axis=0) for ring in corners], axis=0))
    x0, y0, unit = float(low[0]), float(low[1]), float(UNIT)
    whole = [
        tuple((round((x - x0) / unit), round((y - y0) / unit)) for x, y in ring.tolist())
        for ring in corners
    ]
    for k, ring in enumerate(whole):
        if (pitches[k] != pitches[k][0]).any():
            _require_one_pitch_in_line(ring, pitches[k], k, tol)
    if all(np.isinf(ring).all() for ring in pitches):
        raise GeometryError("every edge is vertical, so there is no roof", where="slopes")
    # Faults first, so that they name vertices as given.
    turned = tuple((_twice(ring) > 0.0) == (k > 0) for k, ring in enumerate(corners))
    for k, wrong in enumerate(turned):
        if wrong:
            warnings.warn(f"turned the {_wanted(k)}", stacklevel=3)
            corners[k] = corners[k][::-1]
            whole[k] = whole[k][::-1]
            pitches[k] = np.roll(pitches[k][::-1], -1)
    run = {
        slope: Fraction(0) if math.isinf(slope) else 1 / Fraction(slope)
        for ring in pitches
        for slope in ring.tolist()
    }
    return Outline(
        corners=tuple(corners),
        whole=tuple(whole),
        runs=tuple(tuple(run[slope] for slope in ring.tolist()) for ring in pitches),
        turned=turned,
        origin=(x0, y0),
        extent=1.0 + float(max((ring - low).max() for ring in corners)),
    )


def _wanted(number: int) -> str:
    """Name a ring and say how it must run."""
    if number == 0:
        return "exterior, which must run counterclockwise"
    return f"hole {number}, which must run clockwise"


def _corners(ring: ArrayLike, number: int, tol: Tolerance) -> NDArray[np.float64]:
    try:
        points = np.array(ring, dtype=np.float64)
    except (TypeError, ValueError, OverflowError) as error:
        raise GeometryError(f"not an array of numbers: {error}", where=f"ring {number}") from error
    if points.ndim != 2 or points.shape[1:] != (2,) or len(points) < 3:
        raise GeometryError(
            f"an array of shape {points.shape}; at least 3 corners of (x, y) are needed",
            where=f"ring {number}",
        )
    bad = np.flatnonzero(~(np.abs(points) <= FARTHEST).all(axis=1))
    if len(bad):
        raise GeometryError(
            f"({points[bad[0], 0]}, {points[bad[0], 1]}) is not a place",
            where=f"ring {number}, vertex {bad[0]}",
        )
    steps = _onward(points) - points
    lengths = np.hypot(steps[:, 0], steps[:, 1])
    short = np.flatnonzero(lengths < tol.merge)
    if len(short):
        closed = short[0] == len(points) - 1
        raise GeometryError(
            f"lies {lengths[short[0]]:.1e} m from the next vertex"
            + (" (the first one)" if closed else ""),
            where=f"ring {number}, vertex {short[0]}",
            hint="rings are not closed" if closed else "leave one of the two out",
        )
    return points


def _slopes(given: ArrayLike, number: int, count: int) -> NDArray[np.float64]:
    try:
        slopes = np.array(given, dtype=np.float64)
    except (TypeError, ValueError) as error:
        raise GeometryError(
            f"not an array of numbers: {error}", where=f"slopes {number}"
        ) from error
    if slopes.shape != (count,):
        raise GeometryError(
            f"slopes of shape {slopes.shape} for {count} edges", where=f"ring {number}"
        )
    bad = np.flatnonzero(
        ~((slopes >= LEAST_SLOPE) & ((slopes <= MOST_SLOPE) | np.isposinf(slopes)))
    )
    if len(bad):
        raise GeometryError(
            f"a slope of {slopes[bad[0]]}; it must be above 0 (from "
            f"{LEAST_SLOPE} to {MOST_SLOPE:g}), or inf for a vertical face",
            where=f"ring {number}, vertex {bad[0]}",
        )
    return slopes


def _twice(ring: NDArray[np.float64]) -> float:
    """Twice the signed area."""
    local = ring - ring[0]
    after = _onward(local)
    return float(np.dot(local[:, 0], after[:, 1]) - np.dot(after[:, 0], local[:, 1]))


def _onward(points: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return for each corner the next one; ``np.roll`` takes ten times as long on a house."""
    return np.concatenate((points[1:], points[:1]))


def _require_simple(corners: Sequence[NDArray[np.float64]]) -> None:
    """Raise where rings cross, touch, or do not lie in each other as they must."""
    shell, *holes = (shapely.linearrings(ring) for ring in corners)
    polygon = shapely.polygons(shell, holes=holes or None)
    if not shapely.is_valid(polygon):
        ring, vertex, what = _first_fault(corners)
        reason = what or shapely.is_valid_reason(polygon)
        raise GeometryError(f"{reason}", where=f"ring {ring}, vertex {vertex}")
    for one, two in itertools.combinations(range(len(corners)), 2):
        # A touch in a point is valid in the open standards, but no roof can pass through it.
        touching = shapely.LinearRing(corners[two])
        if touching.intersects(shapely.LinearRing(corners[one])):
            raise GeometryError(
                f"touches ring {one}",
                where=f"ring {two}, vertex {_nearest_vertex(corners[two], corners[one])}",
                hint="keep holes clear of the eave, or draw the pinched outline as two",
            )


def _nearest_vertex(ring: NDArray[np.float64], other: NDArray[np.float64]) -> int:
    line = shapely.LinearRing(other)
    return int(np.argmin(shapely.distance(shapely.points(ring), line)))


def _first_fault(corners: Sequence[NDArray[np.float64]]) -> tuple[int, int, str]:
    """Find a ring and vertex to blame, and what to say of it."""
    starts = [(k, v) for k, ring in enumerate(corners) for v in range(len(ring))]
    edges = shapely.linestrings(
        np.concatenate([np.stack([ring, np.roll(ring, -1, axis=0)], axis=1) for ring in corners])
    )
    tree = shapely.STRtree(edges)
    for i, j in sorted(tree.query(edges, predicate="intersects").T.tolist()):
        (ring, vertex), (other, at) = starts[i], starts[j]
        near = ring == other and (at - vertex) % len(corners[ring]) in (1, len(corners[ring]) - 1)
        if i >= j or (near and shapely.intersection(edges[i], edges[j]).length == 0.0):
            continue
        return ring, vertex, (f"the edge from here meets the edge from ring {other}, vertex {at}")
    shell = shapely.Polygon(corners[0])
    for k, ring in enumerate(corners[1:], start=1):
        if not shell.covers(shapely.Polygon(ring)):
            return k, 0, "the hole lies outside the exterior"
    for i, j in itertools.combinations(range(1, len(corners)), 2):
        if shapely.Polygon(corners[i]).intersects(shapely.Polygon(corners[j])):
            return j, 0, f"the hole lies in hole {i}, or holds it"
    return 0, 0, ""


def _require_one_pitch_in_line(
    ring: Sequence[tuple[int, int]], slopes: NDArray[np.float64], number: int, tol: Tolerance
) -> None:
    """Raise where two edges run straight on with unlike slopes: their planes never part."""
    count = len(ring)
    for k in range(count):
        before, here, after = ring[k - 1], ring[k], ring[(k + 1) % count]
        ax, ay = here[0] - before[0], here[1] - before[1]
        bx, by = after[0] - here[0], after[1] - here[1]
        before_length, after_length = math.hypot(ax, ay), math.hypot(bx, by)
        # The grid itself turns a short edge by a few units over its length.
        noise = tol.in_line + GRID_NOISE / min(before_length, after_length)
        straight = abs(ax * by - ay * bx) <= noise * before_length * after_length
        in_line = straight and ax * bx + ay * by > 0
        if in_line and slopes[k - 1] != slopes[k]:
            raise GeometryError(
                f"the edges before and after run straight on with slopes of {slopes[k - 1]} "
                f"and {slopes[k]}",
                where=f"ring {number}, vertex {k}",
                hint="give both one slope, or step the eave between them",
            )


def tight_place(outline: Outline, *, tol: Tolerance) -> tuple[int, int] | None:
    """Find a corner closer than ``tol.merge`` to an edge that does not end there.

    Returns
    -------
    (int, int) or None
        Ring and vertex.
    """
    starts = [(k, v) for k, ring in enumerate(outline.corners) for v in range(len(ring))]
    local = [ring - np.array(outline.origin) for ring in outline.corners]
    edges = shapely.linestrings(
        np.concatenate([np.stack([ring, _onward(ring)], axis=1) for ring in local])
    )
    corners = shapely.points(np.concatenate(local))
    found = shapely.STRtree(edges).query(corners, predicate="dwithin", distance=tol.merge)
    for corner, edge in sorted(found.T.tolist()):
        (ring, vertex), (other, start) = starts[corner], starts[edge]
        count = len(outline.corners[other])
        if ring != other or (start - vertex) % count not in (0, count - 1):
            return ring, vertex
    return None
