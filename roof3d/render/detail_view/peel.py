"""Courses with what is woven between them: taken off piece by piece, the last laid first."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise

from roof3d.details.model import INCH, Detail, DetailKind, Piece, PieceKind

CLIMBING = frozenset({DetailKind.RAKE_SHINGLE, DetailKind.SIDEWALL_SHINGLE})
"""Where the courses follow each other up the line: there the upper ones are not yet laid."""
_BESIDE, _UNDER = 1.0 * INCH, 2.5 * INCH
"""Left beside steps, and of each layer below them beyond that."""
_LAID = 0.7
"""Share of the steps beside a chimney that are laid."""


def woven_layers(detail: Detail) -> frozenset[int]:
    """Return the layers that are laid in turn, a course, its step, the next course."""
    found = set()
    for a, b in pairwise(layer.number for layer in detail.layers):
        first, second = _of(detail, a), _of(detail, b)
        if first and second and second[0].order < first[-1].order:
            found |= {a, b}
    return frozenset(found)


def peeled_places(
    detail: Detail, places: Mapping[int, float], sign: float
) -> tuple[dict[int, float], dict[str, float]]:
    """Return where the layers end so that each step is seen on its course, and late pieces.

    Parameters
    ----------
    detail : Detail
    places : Mapping[int, float]
        Where each layer would end, metres along the line times ``sign``.
    sign : float
        1 where layers are cut from the end of growing u, else -1.

    Returns
    -------
    dict of layer to metres, dict of piece id to metres
        The second of pieces that are not yet laid, or only on the other side of the middle.
    """
    climbing = detail.kind in CLIMBING
    stacked = woven_layers(detail) or (_courses(detail) if climbing else frozenset())
    if not stacked or not stacked <= places.keys():
        return dict(places), {}
    laid = _climbed(detail, places, stacked, sign) if climbing else _beside(detail, stacked, sign)
    kept = dict(places)
    for count, layer in enumerate(reversed(_under(detail, places, stacked, sign)), start=1):
        kept[layer] = max(kept[layer], laid.end + count * _UNDER)
    for layer in stacked:
        kept[layer] = laid.end
    pieces = [p for p in detail.pieces if p.layer in stacked]
    gone = -detail.size[0] if climbing else 0.0
    return kept, {p.id: gone for p in pieces if p.order >= laid.until}


@dataclass(frozen=True, slots=True, kw_only=True)
class _Laid:
    """How far courses are laid: up to a piece in the order of work, and to where along the line."""

    until: int
    end: float


def _climbed(
    detail: Detail, places: Mapping[int, float], stacked: frozenset[int], sign: float
) -> _Laid:
    """Leave off the courses that begin beyond their place, or leave no room for what is below."""
    half = detail.size[0] / 2.0
    room = half - _UNDER * (1 + len(_under(detail, places, stacked, sign)))
    end, until = -half, len(detail.pieces)
    place = places[min(stacked)]
    for piece in _of(detail, min(stacked)):
        first, last = sorted(sign * edge for edge in piece.span)
        if first >= place or last > room >= place:
            until = piece.order
            break
        end = last
    woven = [p for n in stacked for p in _of(detail, n) if p.order < until]
    return _Laid(until=until, end=max((sign * e for p in woven for e in p.span), default=end))


def _under(
    detail: Detail, places: Mapping[int, float], stacked: frozenset[int], sign: float
) -> list[int]:
    """Return the layers below courses that reach toward the end where they are cut."""
    return [
        number
        for number in sorted(places)
        if number < min(stacked)
        and max(sign * end for p in _of(detail, number) for end in p.span) > detail.size[0] / 4.0
    ]


def _beside(detail: Detail, stacked: frozenset[int], sign: float) -> _Laid:
    """Lay some of the steps on the side that is cut, and a little of the courses beside them."""
    steps = [p for p in _of(detail, max(stacked)) if sign * sum(p.span) > 0.0]
    edge = max((sign * end for p in steps for end in p.span), default=0.0)
    late = steps[min(len(steps) - 1, math.ceil(_LAID * len(steps)))] if steps else None
    until = len(detail.pieces) if late is None else late.order
    return _Laid(until=until, end=edge + _BESIDE)


def _of(detail: Detail, layer: int) -> list[Piece]:
    return [p for p in detail.pieces if p.layer == layer and p.kind is not PieceKind.FASTENER]


def _courses(detail: Detail) -> frozenset[int]:
    return frozenset(
        layer.number
        for layer in detail.layers
        if {p.kind for p in _of(detail, layer.number)} == {PieceKind.SHINGLE}
    )
