"""Which pieces of a line the eye sees, by the depths that were rasterised."""

from __future__ import annotations

import itertools
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
        return float(np.hypot(self.end[0] - self.start[0], self.end[1] - self.start[1]))


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
    pixels, depths = camera.project(np.array(ends, dtype=np.float64))
    span = float(np.hypot(*(pixels[1] - pixels[0])))
    if span < shortest:
        return ()
    count = max(2, int(span * FINE) + 1)
    share = np.linspace(0.0, 1.0, count)[:, None]
    points = pixels[0] + share * (pixels[1] - pixels[0])
    depth = depths[0] + share[:, 0] * (depths[1] - depths[0])
    grant = proud + 2.0 / camera.pixels_per_metre
    seen = depth - grant <= _deepest_about(raster, points)
    runs = _runs(seen)
    return _join_short(tuple(_run(points, bounds, seen) for bounds in runs), shortest)


def _deepest_about(raster: Raster, points: Floats) -> Floats:
    """Greatest depth in the 3 x 3 fine pixels about each point."""
    height, width = raster.fine_depth.shape
    column = np.floor(points[:, 0] * FINE).astype(np.intp)
    row = np.floor(points[:, 1] * FINE).astype(np.intp)
    deepest = np.full(len(points), -np.inf)
    for dy in (-1, 0, 1):
        for dx in (-1, 0, 1):
            y, x = np.clip(row + dy, 0, height - 1), np.clip(column + dx, 0, width - 1)
            deepest = np.maximum(deepest, raster.fine_depth[y, x])
    return deepest


def _runs(seen: NDArray[np.bool_]) -> list[tuple[int, int]]:
    """First and last sample of each stretch of equal values; neighbours share a sample."""
    turns = [0, *(np.flatnonzero(seen[1:] != seen[:-1]) + 1), len(seen) - 1]
    return [(int(a), int(b)) for a, b in itertools.pairwise(turns) if b > a]


def _run(points: Floats, bounds: tuple[int, int], seen: NDArray[np.bool_]) -> Run:
    first, last = bounds
    return Run(
        start=(float(points[first, 0]), float(points[first, 1])),
        end=(float(points[last, 0]), float(points[last, 1])),
        visible=bool(seen[first]),
    )


def _join_short(runs: tuple[Run, ...], shortest: float) -> tuple[Run, ...]:
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
