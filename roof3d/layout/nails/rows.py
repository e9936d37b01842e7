"""Rows of nails along lines: evenly spaced, alike from both ends, closer in the wind zones."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import shapely
from numpy.typing import NDArray

from roof3d.catalog.laying import Nailing
from roof3d.layout.model import Floats
from roof3d.layout.zones import Zoned
from roof3d.tolerance import DEFAULT, Tolerance


@dataclass(frozen=True, slots=True, kw_only=True)
class RowRule:
    """How a row is nailed: nowhere further apart than ``spacing``, metres.

    Attributes
    ----------
    first : float
        First and last nail from the ends of the row.
    spacing : float
        Above 0.
    nailing : Nailing
        For the shares of the spacing in wind zones.
    """

    first: float
    spacing: float
    nailing: Nailing


def nail_rows(
    lines: Floats,
    rule: RowRule,
    *,
    shifted: NDArray[np.bool_] | None = None,
    zones: Zoned | None = None,
    tol: Tolerance = DEFAULT,
) -> Floats:
    """Return the nails of straight rows.

    Parameters
    ----------
    lines : (r, 2, 2) float64
        Both ends of each row, metres.
    rule : RowRule
    shifted : (r,) bool, optional
        Rows whose nails stand midway between those of an unshifted row of the same ends.
    zones : Zoned, optional
        Where the spacing is a share of the field's.
    tol : Tolerance

    Returns
    -------
    (k, 2) float64
        The first and last nail stand ``first`` from the ends, the others evenly between, so
        that a mirrored row is nailed alike. A row too short for two gets one in the middle, or
        none where it is shifted.

    Examples
    --------
    >>> rule = RowRule(first=1.0, spacing=3.0, nailing=Nailing(fastener="nail", source=""))
    >>> nail_rows(np.array([[[0.0, 0.0], [10.0, 0.0]]]), rule)[:, 0].round(3).tolist()
    [1.0, 3.667, 6.333, 9.0]
    """
    lines = np.asarray(lines, dtype=np.float64).reshape(-1, 2, 2)
    lengths = np.hypot(*(lines[:, 1] - lines[:, 0]).T)
    lines, lengths, off = (
        lines[lengths > tol.sliver],
        lengths[lengths > tol.sliver],
        (np.zeros(len(lines), np.bool_) if shifted is None else shifted)[lengths > tol.sliver],
    )
    if zones is None or rule.nailing.perimeter_share == rule.nailing.corner_share == 1.0:
        row, along = _even(lengths, off, rule, tol)
    else:
        row, along = _by_zone(lines, lengths, off, rule, zones, tol)
    share = (along / lengths[row])[:, None]
    return np.asarray(lines[row, 0] * (1.0 - share) + lines[row, 1] * share)


def _even(
    lengths: Floats, off: NDArray[np.bool_], rule: RowRule, tol: Tolerance
) -> tuple[NDArray[np.intp], Floats]:
    """Return row and place along it of every nail, where the spacing is one."""
    inner = lengths - 2.0 * rule.first
    steps = np.maximum(np.ceil((inner - tol.merge) / rule.spacing), 0.0)
    count = (steps + ~off).astype(np.int64)
    row = np.repeat(np.arange(len(lengths)), count)
    place = np.arange(len(row)) - np.repeat(np.cumsum(count) - count, count)
    step = inner / np.maximum(steps, 1.0)
    along = rule.first + (place + 0.5 * off[row]) * step[row]
    return row, np.where(steps[row] > 0.0, along, lengths[row] / 2.0)


def _by_zone(
    lines: Floats,
    lengths: Floats,
    off: NDArray[np.bool_],
    rule: RowRule,
    zones: Zoned,
    tol: Tolerance,
) -> tuple[NDArray[np.intp], Floats]:
    """Return the same where zones have spacings of their own: even by count of nails."""
    strings = shapely.linestrings(lines)
    inside = [
        (_spans(strings, lines, zones.corner), rule.nailing.corner_share),
        (_spans(strings, lines, zones.perimeter), rule.nailing.perimeter_share),
    ]
    rows, places = [np.empty(0, np.intp)], [np.empty(0)]
    for row, length in enumerate(lengths.tolist()):
        start, end = rule.first, length - rule.first
        if end - start <= tol.merge:
            along = np.full(0 if off[row] else 1, length / 2.0)
        else:
            spans = [(span, share) for found, share in inside for span in found.get(row, ())]
            cuts = [start, end, *(x for span, _ in spans for x in span if start < x < end)]
            cuts = sorted(set(cuts))
            apart = [
                rule.spacing * _share_at((low + high) / 2.0, spans) for low, high in pairwise(cuts)
            ]
            nails = np.concatenate([[0.0], np.cumsum(np.diff(cuts) / apart)])
            steps = max(1.0, np.ceil(nails[-1] - tol.merge / rule.spacing))
            index = np.arange(steps + (not off[row])) + 0.5 * off[row]
            along = np.interp(index / steps * nails[-1], nails, cuts)
        rows.append(np.full(len(along), row, np.intp))
        places.append(along)
    return np.concatenate(rows), np.concatenate(places)


def _share_at(place: float, spans: list[tuple[tuple[float, float], float]]) -> float:
    """Return the share of the first span, corners before perimeter, that holds a place."""
    return next((share for (low, high), share in spans if low <= place <= high), 1.0)


def _spans(
    strings: NDArray[np.object_], lines: Floats, zone: shapely.Geometry
) -> dict[int, list[tuple[float, float]]]:
    """Return from where to where each row runs through a zone, by row."""
    parts, row = shapely.get_parts(shapely.intersection(strings, zone), return_index=True)
    spans: dict[int, list[tuple[float, float]]] = {}
    for part, index in zip(parts, row.tolist(), strict=True):
        along = np.hypot(*(shapely.get_coordinates(part) - lines[index, 0]).T)
        low, high = along.min(initial=np.inf), along.max(initial=0.0)
        if high > low:
            spans.setdefault(index, []).append((float(low), float(high)))
    return spans
