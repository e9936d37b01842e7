"""Joints and laps that lie too near over each other, in rows and in layers that touch."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely

from roof3d.laps.edges import Edges, Indices, bands_along
from roof3d.laps.model import FaultKind, Floats, LapFault, Surface
from roof3d.laps.pile import Pile, pairs_under
from roof3d.tolerance import Tolerance

_SQUARE = 0.05


@dataclass(frozen=True, slots=True, eq=False)
class _Lines:
    """Edges where two pieces meet: the piece, its row, and place and stretch of each."""

    owner: Indices
    row: Indices
    place: Floats
    low: Floats
    high: Floats
    start: Floats


def stacked_laps(surface: Surface, pile: Pile, edges: Edges, tol: Tolerance) -> list[LapFault]:
    """Find joints of neighbouring rows, and laps of touching layers, that keep no distance.

    Parameters
    ----------
    surface : Surface
    pile : Pile
    edges : Edges
        Of every piece.
    tol : Tolerance

    Returns
    -------
    list[LapFault]
        One a layer and kind of distance: the nearest pair.
    """
    faults: list[LapFault] = []
    # What is turned up into an opening lies over no lap.
    ground = shapely.union_all([face.region for face in surface.faces])
    shapely.prepare(ground)
    edges = edges.where(shapely.contains(ground, shapely.points(edges.middle())))
    number = {piece.layer: int(k) for piece, k in zip(pile.pieces, pile.layer, strict=True)}
    for layer in number.values():
        first = pile.pieces[int(np.flatnonzero(pile.layer == layer)[0])]
        below = number.get(first.below)
        if not first.stagger and below is None:
            continue
        ends = _lines(pile, edges, layer, first.run, rows=False, tol=tol)
        pairs = [(first.stagger, ends, ends, 1)]
        if below is not None:
            feet = _lines(pile, edges, layer, first.run, rows=True, tol=tol)
            pairs.append(
                (
                    first.side_offset,
                    feet,
                    _lines(pile, edges, below, first.run, rows=True, tol=tol),
                    0,
                )
            )
            pairs.append(
                (
                    first.end_offset,
                    ends,
                    _lines(pile, edges, below, first.run, rows=False, tol=tol),
                    0,
                )
            )
        for wanted, one, two, apart in pairs:
            near = _nearest(one, two, apart, wanted, tol)
            if near is not None:
                faults.append(_fault(surface, pile, one, two, *near, wanted))
    return faults


def _lines(
    pile: Pile, edges: Edges, layer: int, run: tuple[float, float], *, rows: bool, tol: Tolerance
) -> _Lines:
    """Return the later edges of laps between rows, or of joints within them.

    Of a joint without a lap both edges are one: either counts.
    """
    along, across = np.array(run), np.array([-run[1], run[0]])
    lean = np.abs(edges.along() @ along)
    fit = (pile.layer[edges.owner] == layer) & (
        (lean > 1.0 - _SQUARE) if rows else (lean < _SQUARE)
    )
    own = edges.where(fit)
    beyond = bands_along(own, tol.snap, 4.0 * tol.snap, tol)

    def meets(i: Indices, j: Indices) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
        apart = pile.course[i] - pile.course[j]
        other = (apart != 0) if rows else (apart == 0)
        lapped = pile.numbers("row_lap")[i] > 0.0
        later = (pile.order[i] > pile.order[j]) | (~lapped if rows else _plain(pile, i))
        return np.asarray((pile.layer[j] == layer) & other & later)

    at, _, _ = pairs_under(beyond, own.owner, pile, meets, tol)
    kept = own.where(np.isin(np.arange(len(own)), at))
    axis, cross = (across, along) if rows else (along, across)
    places, spans = kept.middle() @ axis, np.stack([kept.start @ cross, kept.end @ cross])
    return _Lines(
        owner=kept.owner,
        row=pile.course[kept.owner],
        place=np.asarray(places),
        low=spans.min(axis=0),
        high=spans.max(axis=0),
        start=kept.middle(),
    )


def _plain(pile: Pile, i: Indices) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
    """Return which pieces are shingles: they meet without a lap."""
    return np.asarray(pile.shingle[i])


def _nearest(
    one: _Lines, two: _Lines, apart: int, wanted: float, tol: Tolerance
) -> tuple[int, int, float] | None:
    """Return the nearest pair of lines that overlap, where they keep too little distance."""
    if wanted <= 0.0 or not len(one.place) or not len(two.place):
        return None
    by_place = np.argsort(two.place, kind="stable")
    sorted_ = two.place[by_place]
    first = np.searchsorted(sorted_, one.place - wanted + tol.snap)
    last = np.searchsorted(sorted_, one.place + wanted - tol.snap)
    best: tuple[int, int, float] | None = None
    for i in np.flatnonzero(last > first).tolist():
        others = by_place[first[i] : last[i]]
        if apart:
            met = np.abs(two.row[others] - one.row[i]) == apart
        else:
            met = (
                np.minimum(two.high[others], one.high[i]) - np.maximum(two.low[others], one.low[i])
                > 2.0 * tol.snap
            )
        for j in others[met].tolist():
            distance = abs(float(two.place[j] - one.place[i]))
            if best is None or distance < best[2]:
                best = (i, j, distance)
    return best


def _fault(
    surface: Surface,
    pile: Pile,
    one: _Lines,
    two: _Lines,
    i: int,
    j: int,
    reached: float,
    wanted: float,
) -> LapFault:
    at = (float(one.start[i][0]), float(one.start[i][1]))
    spot = shapely.Point(at)
    face = min(surface.faces, key=lambda face: face.region.distance(spot))
    both = pile.pieces[one.owner[i]], pile.pieces[two.owner[j]]
    return LapFault(
        kind=FaultKind.STACKED,
        face=face.id,
        pieces=tuple(piece.id for piece in both),
        layers=tuple(piece.layer for piece in both),
        at=at,
        reached=reached,
        wanted=wanted,
    )
