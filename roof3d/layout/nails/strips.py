"""Nails of strips along edges: some a piece, or in rows along the strip."""

from __future__ import annotations

import numpy as np

from roof3d.catalog.laying import Nailing
from roof3d.layout.model import Floats
from roof3d.layout.nails.rows import RowRule, nail_rows
from roof3d.tolerance import DEFAULT, Tolerance


def nail_strip(
    pieces: Floats,
    width: float,
    nailing: Nailing,
    *,
    high_wind: bool,
    across: bool = False,
    tol: Tolerance = DEFAULT,
) -> Floats:
    """Nail the pieces of one strip.

    Parameters
    ----------
    pieces : (n, 2) float64
        From where to where along the edge each reaches, metres.
    width : float
        Square to the edge, metres: no nail stands further in.
    nailing : Nailing
        ``per_piece`` on a line, or ``strip_rows`` rows, or both.
    high_wind : bool
    across : bool
        Whether pieces lie across the edge, as on a hip or ridge: the line is then measured from
        where each begins, and its nails stand on both sides of the edge.
    tol : Tolerance

    Returns
    -------
    (k, 2) float64
        Along the edge, and inward from the strip's outer side. Those of a piece stand evenly
        from inset to inset, one in the middle of a piece narrower than three insets; rows
        run on over the laps of the pieces, every other one shifted by half its spacing.

    Examples
    --------
    >>> rule = Nailing(fastener="nail", source="", per_piece=4, line=1.5, inset=1.0)
    >>> nail_strip(np.array([[0.0, 13.0]]), 7.0, rule, high_wind=False).round(3).tolist()
    [[1.0, 1.5], [4.667, 1.5], [8.333, 1.5], [12.0, 1.5]]
    """
    pieces = np.asarray(pieces, dtype=np.float64).reshape(-1, 2)
    nails = [np.empty((0, 2))]
    count = count_a_piece(nailing, high_wind=high_wind)
    for start, end in _spans(pieces) if count else ():
        length, room = (width, end - start) if across else (end - start, width)
        row = _spread(length, count, nailing.inset)
        line = np.full(len(row), min(nailing.line, room))
        nails.append(np.column_stack([start + line, row] if across else [start + row, line]))
    if nailing.lap_spacing > 0.0:
        rule = RowRule(first=nailing.lap_start, spacing=nailing.lap_spacing, nailing=nailing)
        runs = np.array(_join(pieces, tol), dtype=np.float64).reshape(-1, 2)
        for number in range(nailing.strip_rows):
            inward = min(nailing.strip_first + number * nailing.strip_between, width)
            lines = np.stack([runs, np.full_like(runs, inward)], axis=2)
            shifted = np.full(len(runs), number % 2 == 1)
            nails.append(nail_rows(lines, rule, shifted=shifted, tol=tol))
    return np.concatenate(nails)


def count_a_piece(nailing: Nailing, *, high_wind: bool) -> int:
    """Return how many nails hold a whole piece; in high wind the usual ones if none are said."""
    return (nailing.per_piece_wind if high_wind else 0) or nailing.per_piece


def _spans(pieces: Floats) -> list[tuple[float, float]]:
    return [(float(start), float(end)) for start, end in pieces]


def _spread(length: float, count: int, inset: float) -> Floats:
    """Return nails evenly from inset to inset, or one in the middle of what is too short."""
    many = count if length >= 3.0 * inset else 1
    share = np.linspace(0.0, 1.0, many) if many > 1 else np.array([0.5])
    return np.asarray(inset + share * (length - 2.0 * inset))


def _join(pieces: Floats, tol: Tolerance) -> list[list[float]]:
    """Return the stretches that the pieces cover without a gap."""
    runs: list[list[float]] = []
    for start, end in sorted(_spans(pieces)):
        if runs and start <= runs[-1][1] + tol.merge:
            runs[-1][1] = max(runs[-1][1], end)
        else:
            runs.append([start, end])
    return runs
