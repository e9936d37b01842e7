"""Courses that run through a valley: no joint in the crease, whole shingles beyond it."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import numpy as np
import shapely

from roof3d.details.model import INCH
from roof3d.details.valleys.slopes import LaidPiece, Slope

_STEP = 1.0 * INCH
_GAP = 0.125 * INCH
_TRIES = 12


def run_through(
    slope: Slope, courses: Sequence[Sequence[LaidPiece]], clear: float
) -> list[list[shapely.Polygon]]:
    """Return the shingles of each course as they run through the valley.

    Parameters
    ----------
    slope : Slope
        The plane that runs through.
    courses : sequence of sequence of LaidPiece
        As laid out, the lowest course first.
    clear : float
        A joint that the layout has nearer the crease than this, or beyond it, is moved back
        until it keeps this, metres: one shingle then lies across the crease.

    Returns
    -------
    list of list of shapely.Polygon
        In (u, s). Their own side is trimmed as laid out, the other side is not.
    """
    layer = slope.layer("shingles")
    if layer is None:
        return []
    made = slope.work.catalog.material(layer.material)
    # The layout may have begun a course at either side; here all run toward the crease.
    ends = [sorted(_ends(slope, piece) for piece in pieces) for pieces in courses]
    found: list[list[shapely.Polygon]] = []
    below: list[float] = []
    for number, (pieces, spans) in enumerate(zip(courses, ends, strict=True)):
        above = [a for a, _ in ends[number + 1]][1:] if number + 1 < len(ends) else []
        limit, past = _limits(slope, pieces[0], clear)
        window = (min(past - made.length, limit), limit)
        joints = _moved([a for a, _ in spans[1:]], window, (*below, *above), made.stagger)
        cuts = [spans[0][0], *joints, spans[-1][1]]
        region = shapely.union_all(
            [
                *(piece.trimmed for piece in pieces),
                *(shapely.difference(piece.whole, slope.beyond(0.0)) for piece in pieces),
            ],
            grid_size=slope.work.tol.cut_grid,
        )
        found.append(_outlines(slope, pieces[0], region, cuts, made.length))
        below = joints
    return found


def _ends(slope: Slope, piece: LaidPiece) -> tuple[float, float]:
    along = shapely.get_coordinates(piece.whole) @ np.array(slope.toward)
    return float(along.min()), float(along.max())


def _rise(slope: Slope, piece: LaidPiece) -> tuple[float, float]:
    up = shapely.get_coordinates(piece.whole) @ np.array(slope.up)
    return float(up.min()), float(up.max())


def _limits(slope: Slope, piece: LaidPiece, clear: float) -> tuple[float, float]:
    """Return up to where short of the crease, and from where past it, a joint may stand."""
    sides = [
        [(slope.sign * away - t * slope.up[1]) / slope.toward[1] for t in _rise(slope, piece)]
        for away in (clear, -clear)
    ]
    return min(sides[0]), max(sides[1])


def _moved(
    joints: Sequence[float],
    window: tuple[float, float],
    others: Sequence[float],
    stagger: float,
) -> list[float]:
    """Keep the joints short of the crease, and set one in a window for those beyond.

    From there one shingle reaches over the crease as far as a joint must stay off it.
    """
    least, most = window
    kept = [joint for joint in joints if joint <= most]
    if len(kept) == len(joints):
        return kept
    tries = [most - k * _STEP for k in range(_TRIES) if most - k * _STEP >= least]
    free = [x for x in tries if all(abs(x - other) >= stagger for other in others)]
    return [*kept, free[0] if free else most]


def _outlines(
    slope: Slope,
    piece: LaidPiece,
    region: shapely.Geometry,
    cuts: Sequence[float],
    length: float,
) -> list[shapely.Polygon]:
    along, up = np.array(slope.toward), np.array(slope.up)
    low, high = _rise(slope, piece)
    found = []
    places = [cuts[0]]
    for end in cuts[1:]:
        # One moved back may be longer than a shingle: then a short one follows, well past.
        while end - places[-1] > length + slope.work.tol.crumb_length:
            places.append(places[-1] + length)
        places.append(end)
    for start, end in pairwise(places):
        a, b = start + _GAP / 2.0, end - _GAP / 2.0
        ring = [x * along + t * up for x, t in ((a, low), (b, low), (b, high), (a, high))]
        shared = shapely.intersection(shapely.Polygon(ring), region)
        parts = [part for part in shapely.get_parts(shared) if part.geom_type == "Polygon"]
        found += [max(parts, key=lambda part: part.area)] if parts else []
    return found
