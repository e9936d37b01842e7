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
    pixels, depths = pixels.reshape(-1, 2, 2), depths.reshape(-1, 2)
    steps, falls = pixels[:, 1] - pixels[:, 0], depths[:, 1] - depths[:, 0]
    spans = np.hypot(steps[:, 0], steps[:, 1])
    counts = np.where(spans < shortest, 0, np.maximum(2, (spans * FINE).astype(np.int64) + 1))
    ends = np.cumsum(counts)
    line = np.repeat(np.arange(len(counts)), counts)
    share = (np.arange(len(line)) - (ends - counts)[line]) / (counts[line] - 1)
    points = pixels[line, 0] + share[:, None] * steps[line]
    depth = depths[line, 0] + share * falls[line]
    grant = proud + 2.0 / camera.pixels_per_metre
    seen = _seen(raster, points, depth - grant)
    # How often it turns, up to each sample: most lines are seen, or hidden, all along.
    turns = np.concatenate(([0], np.cumsum(seen[1:] != seen[:-1])))
    drawn = np.flatnonzero(counts)
    first, last = ends[drawn] - counts[drawn], ends[drawn] - 1
    alike = turns[first] == turns[last]
    found: list[tuple[Run, ...]] = [()] * len(counts)
    rows = zip(
        drawn.tolist(),
        points[first].tolist(),
        points[last].tolist(),
        seen[first].tolist(),
        alike.tolist(),
        strict=True,
    )
    for k, start, end, visible, whole in rows:
        if whole:
            found[k] = (Run(start=tuple(start), end=tuple(end), visible=visible),)
        else:
            here = slice(int(ends[k] - counts[k]), int(ends[k]))
            found[k] = _split(points[here], seen[here], shortest)
    return tuple(found)


def _split(points: Floats, seen: NDArray[np.bool_], shortest: float) -> tuple[Run, ...]:
    return _join_short(tuple(_run(points, bounds, seen) for bounds in _runs(seen)), shortest)


def _seen(raster: Raster, points: Floats, depth: Floats) -> NDArray[np.bool_]:
    """Whether any of the 3 x 3 fine pixels about each point is at least so deep."""
    height, width = (FINE * side for side in raster.colour.shape[:2])
    column = np.floor(points[:, 0] * FINE).astype(np.int64)
    row = np.floor(points[:, 1] * FINE).astype(np.int64)
    seen = np.zeros(len(points), dtype=np.bool_)
    rest = np.arange(len(points))
    for dy, dx in _ABOUT:
        y = np.clip(row[rest] + dy, 0, height - 1)
        x = np.clip(column[rest] + dx, 0, width - 1)
        clear = depth[rest] <= raster.front.look(y, x)
        seen[rest[clear]] = True
        rest = rest[~clear]
    return seen


_ABOUT = ((0, 0), (-1, 0), (1, 0), (0, -1), (0, 1), (-1, -1), (-1, 1), (1, -1), (1, 1))


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
