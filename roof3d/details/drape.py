"""How sheets lie on one another: heights over the deck along the developed profile.

Everything in a detail runs the full width along the break, so heights depend on one
coordinate only and are exact piecewise-linear functions, with a jump at each edge.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations, pairwise

import numpy as np
from numpy.typing import NDArray

from roof3d.tolerance import DEFAULT, Tolerance

Floats = NDArray[np.float64]

SHEET_RAMP, STIFF_RAMP = 2.5, 4.0
"""Length over height of the ramp by which a sheet, or a stiff piece, comes down from an edge."""


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Ground:
    """The top of all that is laid so far.

    Attributes
    ----------
    at : tuple[float, ...]
        Developed coordinate, metres, never falling; twice the same at a jump.
    height : tuple[float, ...]
        Metres off the deck.
    """

    at: tuple[float, ...]
    height: tuple[float, ...]

    def top(self, place: float) -> float:
        """Return the height at a place; the higher one at a jump."""
        found = [
            h0 + (h1 - h0) * ((place - s0) / (s1 - s0) if s1 > s0 else 0.0)
            for (s0, h0), (s1, h1) in pairwise(zip(self.at, self.height, strict=True))
            if s0 <= place <= s1
        ]
        ends = [h for s, h in zip(self.at, self.height, strict=True) if s == place]
        return max(found + ends)


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Laid:
    """A piece in its place: underside and top over the same developed coordinates (n,)."""

    at: Floats
    under: Floats
    over: Floats


def bare(start: float, end: float) -> Ground:
    """Return the ground of a deck with nothing on it."""
    return Ground(at=(start, end), height=(0.0, 0.0))


def lay(
    ground: Ground,
    reach: tuple[float, float],
    thickness: tuple[float, float],
    *,
    ramp: float = SHEET_RAMP,
    tol: Tolerance = DEFAULT,
) -> tuple[Laid, Ground]:
    """Lay a flexible piece on what is there.

    Parameters
    ----------
    ground : Ground
    reach : tuple[float, float]
        From where to where, inside the ground; the first below the second.
    thickness : tuple[float, float]
        At the two ends, straight between them; above 0.
    ramp : float
        Length over height, above 0.

    Returns
    -------
    laid : Laid
        Its underside touches or bridges what lies below and never dips into it.
    ground : Ground
        With the piece on it.

    Notes
    -----
    The underside is the least function that is nowhere below the ground under the piece
    and comes down from each jump no steeper than 1 in ``ramp``: the upper envelope of the
    ground's segments and of two ramps at each of their ends. Its corners are crossings of
    those lines, so evaluating it there is exact.
    """
    first, last = reach
    points = _under(ground, reach)
    segments = [(p, q) for p, q in pairwise(points) if q[0] - p[0] > 0.0]
    lines = [((q[1] - p[1]) / (q[0] - p[0]), p) for p, q in segments]
    lines += [(sign / ramp, p) for p in points for sign in (1.0, -1.0)]
    corners = {first, last, *(s for s, _ in points)}
    if first < 0.0 < last:
        corners.add(0.0)
    for (k1, (s1, h1)), (k2, (s2, h2)) in combinations(lines, 2):
        if abs(k1 - k2) > tol.slope:
            s = ((h2 - k2 * s2) - (h1 - k1 * s1)) / (k1 - k2)
            if first < s < last:
                corners.add(s)
    places = _thinned(sorted(corners), keep={first, last, 0.0}, tol=tol)
    under = [
        max(
            *(h - abs(s - at) / ramp for at, h in points),
            *(
                p[1] + (q[1] - p[1]) * (s - p[0]) / (q[0] - p[0])
                for p, q in segments
                if p[0] <= s <= q[0]
            ),
        )
        for s in places
    ]
    kept = _corners(places, under, tol=tol)
    at = np.array([places[i] for i in kept])
    low = np.array([under[i] for i in kept])
    share = (at - first) / (last - first)
    high = low + thickness[0] + share * (thickness[1] - thickness[0])
    return Laid(at=at, under=low, over=high), _raised(ground, at, high)


def _under(ground: Ground, reach: tuple[float, float]) -> list[tuple[float, float]]:
    """Corners of the ground under a piece, with its limits at the piece's two ends."""
    first, last = reach
    points: list[tuple[float, float]] = []
    for (s0, h0), (s1, h1) in pairwise(zip(ground.at, ground.height, strict=True)):
        low, high = max(s0, first), min(s1, last)
        if high > low:
            rate = (h1 - h0) / (s1 - s0)
            points += [(low, h0 + rate * (low - s0)), (high, h0 + rate * (high - s0))]
    return points


def _raised(ground: Ground, at: Floats, over: Floats) -> Ground:
    """Put the top of a piece on a ground."""
    first, last = float(at[0]), float(at[-1])
    old = list(zip(ground.at, ground.height, strict=True))
    before = [point for point in old if point[0] < first]
    after = [point for point in old if point[0] > last]
    left = _under(ground, (ground.at[0], first))[-1:] if first > ground.at[0] else []
    right = _under(ground, (last, ground.at[-1]))[:1] if last < ground.at[-1] else []
    piece = list(zip(at.tolist(), over.tolist(), strict=True))
    joined = before + left + piece + right + after
    return Ground(at=tuple(s for s, _ in joined), height=tuple(h for _, h in joined))


def _thinned(places: list[float], *, keep: set[float], tol: Tolerance) -> list[float]:
    """Leave out places that all but coincide with one kept."""
    kept: list[float] = []
    for place in places:
        if kept and place - kept[-1] <= tol.merge:
            if place in keep:
                kept[-1] = place
            continue
        kept.append(place)
    return kept


def _corners(places: list[float], heights: list[float], *, tol: Tolerance) -> list[int]:
    """Find the points where a polyline turns, its ends and the break among them."""
    kept = [0]
    for i in range(1, len(places) - 1):
        a = kept[-1]
        share = (places[i] - places[a]) / (places[i + 1] - places[a])
        chord = heights[a] + share * (heights[i + 1] - heights[a])
        if places[i] == 0.0 or abs(heights[i] - chord) > tol.merge:
            kept.append(i)
    return [*kept, len(places) - 1]
