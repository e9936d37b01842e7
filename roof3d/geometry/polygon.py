"""Plan polygons as tuples of points, counterclockwise, not closed."""

from __future__ import annotations

import math
from collections.abc import Sequence

from roof3d.geometry.plane import PlanLine, Point2


def signed_area(ring: Sequence[Point2]) -> float:
    """Area of a ring by the shoelace rule, positive when counterclockwise."""
    x0, y0 = ring[0]
    total = 0.0
    for (ax, ay), (bx, by) in zip(ring, (*ring[1:], ring[0]), strict=True):
        total += (ax - x0) * (by - y0) - (bx - x0) * (ay - y0)
    return total / 2.0


def clip_left(ring: Sequence[Point2], line: PlanLine) -> tuple[Point2, ...]:
    """Keep the part of a convex ring on the side of the line's normal.

    Returns
    -------
    tuple of points
        Counterclockwise as given; empty when nothing is left.
    """
    kept: list[Point2] = []
    for a, b in zip(ring, (*ring[1:], ring[0]), strict=True):
        sa, sb = line.side(a), line.side(b)
        if sa >= 0.0:
            kept.append(a)
        if (sa > 0.0 > sb) or (sa < 0.0 < sb):
            t = sa / (sa - sb)
            kept.append((a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1])))
    return tuple(kept) if len(kept) > 2 else ()


def without_repeats(ring: Sequence[Point2], *, merge: float) -> tuple[Point2, ...]:
    """Drop corners that lie within ``merge`` metres of the corner before them."""
    return tuple(
        here
        for before, here in zip((ring[-1], *ring[:-1]), ring, strict=True)
        if math.dist(before, here) > merge
    )


def chord(ring: Sequence[Point2], line: PlanLine, *, reach: float) -> tuple[Point2, Point2] | None:
    """Return the piece of a line that lies in a convex ring, run on by ``reach`` at both ends.

    The ring may have shrunk to a segment or a point (polygons that only touch). A line
    that misses by less than ``reach`` counts as hitting.
    """
    dx, dy = line.direction
    lo, hi = None, None
    sides = [line.side(p) for p in ring]
    for i, (a, sa) in enumerate(zip(ring, sides, strict=True)):
        hits = [a] if abs(sa) <= reach else []
        j = (i + 1) % len(ring)
        b, sb = ring[j], sides[j]
        if (sa > 0.0 > sb) or (sa < 0.0 < sb):
            t = sa / (sa - sb)
            hits.append((a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1])))
        for hit in hits:
            s = hit[0] * dx + hit[1] * dy
            lo = s if lo is None else min(lo, s)
            hi = s if hi is None else max(hi, s)
    if lo is None or hi is None:
        return None
    ox, oy = line.nx * line.offset, line.ny * line.offset
    return (
        (ox + (lo - reach) * dx, oy + (lo - reach) * dy),
        (ox + (hi + reach) * dx, oy + (hi + reach) * dy),
    )
