"""What a step lays down, in what order, and on what: read off the detail's own pieces."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence

import numpy as np
import shapely

from roof3d.details.frame import Face
from roof3d.details.model import INCH, Detail, DetailLayer, Piece, PieceKind
from roof3d.lesson.model import Parts

_NUMBERED = re.compile(r",? (?:(?:course|piece) )?\d+$|,? (?:of )?course \d+$| of piece \d+$")
_FIXED = frozenset({PieceKind.FRAMING, PieceKind.FASTENER})
_LEVEL = 0.01
"""Rise over run between the middles of two pieces, below which they lie side by side."""
_TOUCH = (2.0 * INCH) ** 2
"""Least shared area for one layer to count as lying on another."""


def parts_of(detail: Detail, layer: int) -> tuple[Parts, ...]:
    """Return what a layer is made of, in the order it is laid; a name told once."""
    counts: dict[str, int] = {}
    fasteners = set()
    for piece in _pieces(detail, layer):
        name = _NUMBERED.sub("", piece.name)
        counts[name] = counts.get(name, 0) + 1
        if piece.kind is PieceKind.FASTENER:
            fasteners.add(name)
    return tuple(
        Parts(name=name, count=1 if name in fasteners else count) for name, count in counts.items()
    )


def woven_with(detail: Detail, layer: int) -> tuple[int, ...]:
    """Return the numbers of the layers that are laid turn about with this one."""
    spans = {
        other.number: [p.order for p in _pieces(detail, other.number)] for other in detail.layers
    }
    mine = spans[layer]
    return tuple(
        number
        for number, orders in spans.items()
        if number != layer and min(orders) < max(mine) and min(mine) < max(orders)
    )


def order_words(detail: Detail, layer: DetailLayer, step_of: Mapping[int, int]) -> str:
    """Say in what order the pieces of a layer are laid."""
    woven = woven_with(detail, layer.number)
    if woven:
        others = " and ".join(f"step {step_of[number]}" for number in woven)
        return f"Turn about with {others}: course by course, from the lowest up."
    laid = [p for p in _pieces(detail, layer.number) if p.kind not in _FIXED]
    kinds = {p.kind for p in laid}
    if {PieceKind.BED} < kinds:
        return "The bed first, then what lies in it."
    if len(laid) < 2:
        return "In one piece here."
    return "Framing first, then the panels." if PieceKind.DECK in kinds else _way_up(laid)


def _way_up(laid: Sequence[Piece]) -> str:
    """Say which way pieces follow one another."""
    middles = np.array([p.vertices.mean(axis=0) for p in laid])
    steps = np.diff(middles, axis=0)
    away = np.hypot(steps[:, 0], steps[:, 1])
    slopes = np.where(away > INCH, steps[:, 2] / np.maximum(away, INCH), 0.0)
    if (np.abs(slopes) < _LEVEL).all():
        return "Side by side, one after the other."
    if (slopes > -_LEVEL).all():
        return "The lowest first; each higher one lies over the one below it."
    return "One side after the other, each from the lowest up."


def lies_over(detail: Detail, layer: int) -> tuple[int, ...]:
    """Return the numbers of the layers that a layer touches from above, the topmost first.

    Notes
    -----
    From footprints alone: what of a lower layer no layer between covers, and this one does.
    """
    mine = _cover(detail, (layer,))
    found = []
    below = [other.number for other in detail.layers if other.number < layer]
    for number in reversed(below):
        between = tuple(n for n in below if n > number)
        hidden = _cover(detail, between)
        theirs = _cover(detail, (number,))
        shared = sum(
            shapely.area(
                shapely.intersection(mine[face], shapely.difference(theirs[face], hidden[face]))
            )
            for face in Face
        )
        if shared > _TOUCH:
            found.append(number)
    return tuple(found)


def _cover(detail: Detail, layers: Sequence[int]) -> Mapping[Face, shapely.Geometry]:
    shapes: dict[Face, list[shapely.Geometry]] = {face: [] for face in Face}
    for piece in detail.pieces:
        if piece.layer in layers:
            for print_ in piece.footprints:
                shapes[print_.face].append(shapely.Polygon(print_.outline, print_.holes))
    return {
        face: shapely.union_all([shapely.make_valid(shape) for shape in found])
        for face, found in shapes.items()
    }


def _pieces(detail: Detail, layer: int) -> list[Piece]:
    return [piece for piece in detail.pieces if piece.layer == layer]
