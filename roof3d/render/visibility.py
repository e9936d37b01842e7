"""Which pieces of a line the eye sees, by the depths that were rasterised."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from roof3d.render.camera import Camera, Floats
from roof3d.render.passes import FINE, Raster


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    """One stretch of a line, either seen or hidden all along.

    Attributes
    ----------
    start, end : tuple[float, float]
        Pixels, y down.
    visible : bool
    """

    start: tuple[float, float]
    end: tuple[float, float]
    visible: bool

    @property
    def length(self) -> float:
        """Pixels."""
        return math.hypot(self.end[0] - self.start[0], self.end[1] - self.start[1])


def split_line(
    raster: Raster,
    camera: Camera,
    ends: Sequence[Sequence[float]] | Floats,
    *,
    shortest: float = 2.0,
    proud: float = 0.0,
) -> tuple[Run, ...]:
    """Split a straight line of space into visible and hidden runs.

    Parameters
    ----------
    raster : Raster
        Of the same camera.
    ends : two points (x, y, z), metres
    shortest : float
        Runs shorter than this many pixels join their neighbour.
    proud : float
        How far the line counts as lifted toward the eye, metres, beyond the pixel or two
        that are always granted.

    Returns
    -------
    tuple of Run
        In order from the first end, meeting end to end; empty for a line seen on end.

    Notes
    -----
    A sample is seen when any of the 3 x 3 fine pixels about it is not in front of it: so
    an edge is seen along the silhouette, where the pixel beyond is far behind or empty.
    """
    return split_lines(raster, camera, np.array([ends]), shortest=shortest, proud=proud)[0]


def split_lines(
    raster: Raster,
    camera: Camera,
    segments: Sequence[Sequence[Sequence[float]]] | Floats,
    *,
    shortest: float = 2.0,
    proud: float = 0.0,
) -> tuple[tuple[Run, ...], ...]:
    """Split many straight lines of space at once, each as ``split_line`` does.

    Parameters
    ----------
    raster : Raster
        Of the same camera.
    segments : (n, 2, 3), metres
    shortest, proud : float
        As ``split_line`` takes them.

    Returns
    -------
    tuple of tuples of Run
        One a line, in the order given.
    """
    if not len(segments):
        return ()
    pixels, depths = camera.project(np.array(segments, dtype=np.float64).reshape(-1, 3))
    # One row a coordinate: x, y, depth.
    begin = np.column_stack((pixels[::2], depths[::2])).T
    steps = np.column_stack((pixels[1::2], depths[1::2])).T - begin
    spans = np.hypot(steps[0], steps[1])
    counts = np.where(spans < shortest, 0, np.maximum(2, (spans * FINE).astype(np.int64) + 1))
    ends = np.cumsum(counts)
    share = np.arange(counts.sum()) - np.repeat(ends - counts, counts)
    share = share / np.repeat(counts - 1, counts)
    x, y, depth = (
        np.repeat(start, counts) + share * np.repeat(step, counts)
        for start, step in zip(begin, steps, strict=True)
    )
    grant = proud + 2.0 / camera.pixels_per_metre
    seen = _seen(raster, x, y, depth - grant)
    # Where a line begins, turns and ends; most are seen, or hidden, all along.
    drawn = np.flatnonzero(counts)
    turns = np.flatnonzero(seen[1:] != seen[:-1]) + 1
    knots = np.sort(np.concatenate((ends[drawn] - counts[drawn], turns, ends[drawn] - 1)))
    line = np.searchsorted(ends, knots, side="right")
    within = (knots[1:] > knots[:-1]) & (line[1:] == line[:-1])
    first, last = knots[:-1][within], knots[1:][within]
    found: list[list[Run]] = [[] for _ in counts]
    rows = (line[:-1][within], x[first], y[first], x[last], y[last], seen[first])
    for k, ax, ay, bx, by, visible in zip(*(row.tolist() for row in rows), strict=True):
        found[k].append(Run(start=(ax, ay), end=(bx, by), visible=visible))
    return tuple(_join_short(runs, shortest) if len(runs) > 1 else tuple(runs) for runs in found)


def _seen(raster: Raster, x: Floats, y: Floats, depth: Floats) -> NDArray[np.bool_]:
    """Whether any of the 3 x 3 fine pixels about each point is at least so deep."""
    height, width = (FINE * side for side in raster.colour.shape[:2])
    column = np.floor(x * FINE).astype(np.int64)
    row = np.floor(y * FINE).astype(np.int64)
    seen = np.zeros(len(x), dtype=np.bool_)
    rest = np.arange(len(x))
    for dy, dx in _ABOUT:
        at = (np.clip(row + dy, 0, height - 1), np.clip(column + dx, 0, width - 1))
        hidden = raster.front.hides(*at, depth)
        seen[rest[~hidden]] = True
        rest, depth = rest[hidden], depth[hidden]
        row, column = row[hidden], column[hidden]
    return seen


_ABOUT = ((0, 0), (-1, 0), (1, 0), (0, -1), (0, 1), (-1, -1), (-1, 1), (1, -1), (1, 1))


def _join_short(runs: Sequence[Run], shortest: float) -> tuple[Run, ...]:
    """Give runs too short to draw to the run before, then join equals."""
    joined: list[Run] = []
    for run in runs:
        if joined and (run.length < shortest or run.visible == joined[-1].visible):
            joined[-1] = Run(start=joined[-1].start, end=run.end, visible=joined[-1].visible)
        elif joined and joined[-1].length < shortest:
            joined[-1] = Run(start=joined[-1].start, end=run.end, visible=run.visible)
        else:
            joined.append(run)
    return tuple(joined)
