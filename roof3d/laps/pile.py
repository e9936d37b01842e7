"""All pieces of a surface as columns, found by place: what lies over or under a spot."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from roof3d.laps.edges import Indices, Mask, Shapes
from roof3d.laps.model import Floats, LapPiece, PieceKind
from roof3d.tolerance import Tolerance

Allowed = Callable[[Indices, Indices], Mask]
"""Of pairs (piece asked for, other piece): whether the other counts."""


@dataclass(frozen=True, slots=True, eq=False)
class Pile:
    """Pieces in columns, and a tree over their shapes."""

    pieces: tuple[LapPiece, ...]
    shapes: Shapes
    order: Floats
    layer: Indices
    course: Indices
    shingle: Mask
    sheet: Mask
    bonded: Mask
    weathers: Mask
    runs: Floats
    tree: shapely.STRtree

    def numbers(self, name: str) -> Floats:
        """Return one number of every piece."""
        return np.array([getattr(piece, name) for piece in self.pieces], dtype=np.float64)

    def flags(self, name: str) -> Mask:
        """Return one flag of every piece."""
        return np.array([getattr(piece, name) for piece in self.pieces], dtype=np.bool_)


def pile_up(pieces: Sequence[LapPiece]) -> Pile:
    """Put pieces into columns."""
    shapes = np.array([piece.shape for piece in pieces], dtype=np.object_)
    numbers: dict[str, int] = {}
    layer = [numbers.setdefault(piece.layer, len(numbers)) for piece in pieces]
    return Pile(
        pieces=tuple(pieces),
        shapes=shapes,
        order=np.array([piece.order for piece in pieces], dtype=np.float64),
        layer=np.array(layer, dtype=np.intp),
        course=np.array([piece.course for piece in pieces], dtype=np.intp),
        shingle=np.array([piece.kind is PieceKind.SHINGLE for piece in pieces], dtype=np.bool_),
        sheet=np.array([piece.kind is PieceKind.SHEET for piece in pieces], dtype=np.bool_),
        bonded=np.array([piece.bonded for piece in pieces], dtype=np.bool_),
        weathers=np.array([piece.weathers for piece in pieces], dtype=np.bool_),
        runs=np.array([piece.run for piece in pieces], dtype=np.float64),
        tree=shapely.STRtree(shapes),
    )


def uncovered(
    areas: Shapes, owner: Indices, pile: Pile, allowed: Allowed, tol: Tolerance
) -> list[tuple[int, shapely.Geometry]]:
    """Return of each area what no allowed piece covers, where that is more than nothing."""
    if not len(areas):
        return []
    at, other = pile.tree.query(areas, predicate="intersects")
    fit = allowed(owner[at], other) & (owner[at] != other)
    at, other = at[fit], other[fit]
    done = np.zeros(len(areas), dtype=np.bool_)
    done[at[shapely.covers(pile.shapes[other], areas[at])]] = True
    order = np.argsort(at, kind="stable")
    at, other = at[order], other[order]
    first = np.searchsorted(at, np.arange(len(areas) + 1))
    open_ = np.flatnonzero(~done)
    rest = areas[open_]
    # All areas at once: what the first piece leaves of each, then the second, and so on.
    for turn in range(int((first[open_ + 1] - first[open_]).max(initial=0))):
        more = (first[open_] + turn < first[open_ + 1]) & ~shapely.is_empty(rest)
        rest[more] = shapely.difference(rest[more], pile.shapes[other[first[open_[more]] + turn]])
    rest = shapely.buffer(rest, -tol.height, join_style="mitre")
    real = shapely.area(rest) > tol.area
    return list(zip(open_[real].tolist(), rest[real].tolist(), strict=True))


def pairs_under(
    areas: Shapes, owner: Indices, pile: Pile, allowed: Allowed, tol: Tolerance
) -> tuple[Indices, Indices, Shapes]:
    """Return (area, piece, what both share) for every allowed piece that lies in an area."""
    at, other = pile.tree.query(areas, predicate="intersects")
    fit = allowed(owner[at], other) & (owner[at] != other)
    at, other = at[fit], other[fit]
    shared = shapely.intersection(areas[at], pile.shapes[other])
    real = shapely.area(shared) > tol.area
    return at[real], other[real], np.asarray(shared[real])
