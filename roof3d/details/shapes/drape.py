"""How pieces lie on one another: heights over the deck along one axis of a face.

The height of a piece depends on one coordinate only, so it is an exact piecewise-linear
function; the ground may jump at an edge, a piece comes down from it by a ramp.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from roof3d.tolerance import DEFAULT, Tolerance

Floats: TypeAlias = NDArray[np.float64]
Segment: TypeAlias = tuple[tuple[float, float], tuple[float, float]]

SHEET_RAMP, STIFF_RAMP = 2.5, 4.0
"""Length over height of the ramp by which a sheet, or a stiff piece, comes down from an edge."""


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Ground:
    """The top of what is laid so far, along one axis.

    Attributes
    ----------
    at : tuple[float, ...]
        Coordinate along the axis, metres, never falling; twice the same at a jump.
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

    def highest(self, first: float, last: float) -> float:
        """Return the greatest height from one place to another."""
        corners = [h for s, h in zip(self.at, self.height, strict=True) if first <= s <= last]
        return max([self.top(max(first, self.at[0])), self.top(min(last, self.at[-1])), *corners])


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Laid:
    """A piece in its place: underside and top over the same coordinates (n,) of its axis."""

    at: Floats
    under: Floats
    over: Floats


def bare(start: float, end: float) -> Ground:
    """Return the ground of a deck with nothing on it."""
    return Ground(at=(start, end), height=(0.0, 0.0))


def envelope(segments: Sequence[Segment] | Floats, *, tol: Tolerance = DEFAULT) -> Ground:
    """Return the upper envelope of segments that together cover an interval.

    Parameters
    ----------
    segments : sequence of ((at, height), (at, height)), or (n, 4) float64
        Either end first; those that stand upright add nothing and are left out.
    tol : Tolerance
        Corners nearer than its ``merge`` are one.
    """
    ends = np.array(segments, dtype=np.float64).reshape(-1, 4)
    turned = ends[:, 0] > ends[:, 2]
    ends[turned] = ends[turned][:, [2, 3, 0, 1]]
    ends = ends[ends[:, 2] - ends[:, 0] > tol.merge]
    if not len(ends):
        return Ground(at=(), height=())
    ends = ends[np.lexsort(ends.T[::-1])]
    ends = ends[[True, *(ends[1:] != ends[:-1]).any(axis=1).tolist()]]
    s0, h0, s1, h1 = ends.T
    rate = (h1 - h0) / (s1 - s0)
    level = h0 - rate * s0
    i, j = np.triu_indices(len(ends), 1)
    slant = np.abs(rate[i] - rate[j]) > tol.slope
    i, j = i[slant], j[slant]
    cross = (level[j] - level[i]) / (rate[i] - rate[j])
    inside = (cross > np.maximum(s0[i], s0[j])) & (cross < np.minimum(s1[i], s1[j]))
    exact = np.unique(np.concatenate((s0, s1)))
    cuts = _thinned(
        np.unique(np.concatenate((exact, cross[inside]))).tolist(),
        keep=set(exact.tolist()),
        tol=tol,
    )
    middles = (np.array(cuts[:-1]) + np.array(cuts[1:]))[:, None] / 2.0
    there = np.where((s0 <= middles) & (s1 >= middles), rate * middles + level, -np.inf)
    at: list[float] = []
    height: list[float] = []
    last = -1
    for a, b, best in zip(cuts[:-1], cuts[1:], there.argmax(axis=1).tolist(), strict=True):
        if best == last:
            at[-1], height[-1] = b, float(rate[best] * b + level[best])
        else:
            at += [a, b]
            height += [float(rate[best] * x + level[best]) for x in (a, b)]
        last = best
    return Ground(at=tuple(at), height=tuple(height))


def lay(
    ground: Ground,
    reach: tuple[float, float],
    thickness: tuple[float, float],
    *,
    ramp: float = SHEET_RAMP,
    keep: Sequence[float] = (0.0,),
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
    keep : sequence of float
        Places that are corners of the piece whether or not it turns there.

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
    fixed = {first, last, *(place for place in keep if first < place < last)}
    points = np.array(_under(ground, reach))
    starts, ends = points[0::2], points[1::2]
    rates = (ends[:, 1] - starts[:, 1]) / (ends[:, 0] - starts[:, 0])
    peaks = np.unique(points, axis=0)
    above = peaks[None, :, 1] - np.abs(peaks[:, None, 0] - peaks[None, :, 0]) / ramp
    # A corner below the ramp of another raises none of its own.
    peaks = peaks[above.max(axis=1) <= peaks[:, 1] + tol.merge]
    slopes = np.concatenate(
        (rates, np.full(len(peaks), 1.0 / ramp), np.full(len(peaks), -1.0 / ramp))
    )
    through = np.concatenate((starts, peaks, peaks))
    levels = through[:, 1] - slopes * through[:, 0]
    i, j = np.triu_indices(len(slopes), 1)
    slant = np.abs(slopes[i] - slopes[j]) > tol.slope
    i, j = i[slant], j[slant]
    cross = (levels[j] - levels[i]) / (slopes[i] - slopes[j])
    cross = cross[(cross > first) & (cross < last)]
    corners = np.unique(np.concatenate((np.array(sorted(fixed)), points[:, 0], cross)))
    places = np.array(_thinned(corners.tolist(), keep=fixed, tol=tol))
    ramps = peaks[None, :, 1] - np.abs(places[:, None] - peaks[None, :, 0]) / ramp
    flat = starts[None, :, 1] + rates * (places[:, None] - starts[None, :, 0])
    over = (places[:, None] >= starts[None, :, 0]) & (places[:, None] <= ends[None, :, 0])
    under = np.maximum(ramps.max(axis=1), np.where(over, flat, -np.inf).max(axis=1))
    kept = _corners(places.tolist(), under.tolist(), fixed, tol=tol)
    at, low = places[kept], under[kept]
    share = (at - first) / (last - first)
    high = low + thickness[0] + share * (thickness[1] - thickness[0])
    return Laid(at=at, under=low, over=high), _raised(ground, at, high)


def _under(ground: Ground, reach: tuple[float, float]) -> list[tuple[float, float]]:
    """Corners of the ground under a piece, two a segment, its limits at the piece's ends."""
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


def _corners(
    places: list[float], heights: list[float], fixed: set[float], *, tol: Tolerance
) -> list[int]:
    """Find the points where a polyline turns, its ends and fixed places among them."""
    kept = [0]
    for i in range(1, len(places) - 1):
        a = kept[-1]
        share = (places[i] - places[a]) / (places[i + 1] - places[a])
        chord = heights[a] + share * (heights[i + 1] - heights[a])
        if places[i] in fixed or abs(heights[i] - chord) > tol.merge:
            kept.append(i)
    return [*kept, len(places) - 1]
