"""Pieces in a row along an edge: metals, starters, hip and ridge pieces, step flashings."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import Final

import numpy as np

from roof3d.errors import LayoutError
from roof3d.layout.joint import INCH
from roof3d.layout.model import Floats
from roof3d.tolerance import DEFAULT, Tolerance

_CUT_STEP: Final = 0.25 * INCH
"""How finely a first piece is cut shorter to move the joints after it."""


def run_pieces(
    length: float,
    *,
    piece: float,
    lap: float,
    first: float = 0.0,
    extra: int = 0,
    shortest: float = 0.0,
    avoid: Sequence[float] | Floats = (),
    apart: float = 0.0,
    before: float = 0.0,
    after: float = 0.0,
    where: str = "",
    tol: Tolerance = DEFAULT,
) -> Floats:
    """Lay pieces in a row, each lapping the one before.

    Parameters
    ----------
    length : float
        Of the edge, metres, above 0.
    piece : float
        Whole piece, metres; inf where it comes in any length.
    lap : float
        Along the edge, metres, 0 or more and less than ``piece``.
    first : float
        First piece where it is not a whole one, metres, more than ``lap``; 0 for a whole one.
    extra : int
        Whole pieces laid over the far end once it is reached.
    shortest : float
        The last piece is at least this long, metres: the one before it is cut shorter.
    avoid : array_like of float
        Places along the edge that joints stay away from, metres.
    apart : float
        How far, metres.
    before, after : float
        How far the run stands over at its ends, metres.
    where : str
        Named in errors.
    tol : Tolerance
        ``merge``: lengths closer than this are one.

    Returns
    -------
    (n, 2) float64
        From where to where each piece reaches, in the order of laying. They cover all from
        ``-before`` to ``length + after``, the laps are ``lap`` and no piece is longer than
        ``piece``. Without ``avoid`` no smaller number would do. With it the first piece is cut
        shorter until the joints keep ``apart``; where no cut does, until they lie as far as they
        can (``joint_distance`` tells).

    Raises
    ------
    LayoutError
        Where the sizes allow no run.

    Examples
    --------
    >>> run_pieces(5.0, piece=3.0, lap=0.5).tolist()
    [[0.0, 3.0], [2.5, 5.0]]
    """
    _require_sizes(length, piece, lap, first, shortest, where)

    def lay(start: float) -> Floats:
        return _row(0.0 - before, length + after, piece, lap, start, shortest, tol)

    longest = first or piece
    pieces = lay(longest)
    if len(avoid) and len(pieces) > 1:
        least = max(shortest, lap + _CUT_STEP)
        steps = max(0, math.floor((longest - least) / _CUT_STEP)) if longest > least else 0
        pieces = _best(
            (lay(longest - step * _CUT_STEP) for step in range(steps + 1)), avoid, apart, tol
        )
    closing = (max(-before, length - piece), length)
    return np.concatenate([pieces, np.full((extra, 2), closing)])


def joint_distance(pieces: Floats, places: Sequence[float] | Floats) -> float:
    """Return the least distance of the joints of a row from places along its edge.

    Both ends of a lap count. Metres; inf where there is no joint or no place.

    Examples
    --------
    >>> joint_distance(np.array([[0.0, 3.0], [3.0, 5.0]]), [1.0, 2.5])
    0.5
    """
    joints = np.concatenate([pieces[1:, 0], pieces[:-1, 1]])
    if not len(joints) or not len(places):
        return math.inf
    known = np.sort(np.asarray(places, dtype=np.float64))
    right = np.searchsorted(known, joints).clip(0, len(known) - 1)
    left = (right - 1).clip(0)
    gaps = np.minimum(np.abs(known[right] - joints), np.abs(known[left] - joints))
    return float(gaps.min())


def course_pieces(
    length: float, *, rise: float, exposure: float, lap: float, tol: Tolerance = DEFAULT
) -> Floats:
    """Lay one piece a shingle course along an edge, as step flashing.

    Parameters
    ----------
    length : float
        Of the edge, metres.
    rise : float
        How far it climbs in its plane, square to the courses, metres, above 0 and at most
        ``length``.
    exposure : float
        Of a course, metres, above 0.
    lap : float
        Of a piece over the one below, along the edge, metres.
    tol : Tolerance
        ``merge``.

    Returns
    -------
    (n, 2) float64
        As many as the courses that the edge passes; the last stands over the end by its lap
        and by what its course is more than the edge.

    Examples
    --------
    >>> course_pieces(11.0, rise=11.0, exposure=5.0, lap=2.0).tolist()
    [[0.0, 7.0], [5.0, 12.0], [10.0, 17.0]]
    """
    count = max(1, math.ceil((rise - tol.merge) / exposure))
    shown = exposure * length / rise
    starts = shown * np.arange(count, dtype=np.float64)
    return np.column_stack([starts, starts + shown + lap])


def _require_sizes(
    length: float, piece: float, lap: float, first: float, shortest: float, where: str
) -> None:
    if not (0.0 < length < math.inf):
        raise LayoutError(f"a run of pieces must have a length, is {length} m", where=where)
    if not 0.0 <= lap < piece:
        raise LayoutError(
            f"laps of {lap:.4g} m leave nothing of a piece of {piece:.4g} m",
            where=where,
            hint="lap less, or take a longer piece",
        )
    if first and not lap < first <= piece:
        raise LayoutError(
            f"a first piece of {first:.4g} m must be longer than its lap, {lap:.4g} m, and no "
            f"longer than a whole one, {piece:.4g} m",
            where=where,
        )
    if 2.0 * shortest > piece + lap:
        raise LayoutError(
            f"a shortest piece of {shortest:.4g} m is more than half of a whole one, {piece:.4g} m",
            where=where,
            hint="allow shorter ones: the piece before the last gives what the last lacks",
        )


def _row(
    start: float,
    end: float,
    piece: float,
    lap: float,
    first: float,
    shortest: float,
    tol: Tolerance,
) -> Floats:
    """Lay one row from start to end, the first piece of a given length."""
    if end - start <= piece + tol.merge:
        return np.array([[start, end]])
    more = max(1, math.ceil((end - start - first - tol.merge) / (piece - lap)))
    ends = start + first + (piece - lap) * np.arange(more + 1, dtype=np.float64)
    ends[-1] = end
    # The joint before the last moves down where the last piece would be too short.
    ends[-2] = min(ends[-2], end - shortest + lap)
    return np.column_stack([np.concatenate([[start], ends[:-1] - lap]), ends])


def _best(
    rows: Iterable[Floats], avoid: Sequence[float] | Floats, apart: float, tol: Tolerance
) -> Floats:
    """Return the first row whose joints keep the distance, else that of the greatest."""
    best, kept = np.empty((0, 2)), -1.0
    for row in rows:
        distance = joint_distance(row, avoid)
        if distance >= apart - tol.merge:
            return row
        if distance > kept + tol.merge:
            best, kept = row, distance
    return best
