"""All pieces of a surface as columns, found by place: what lies over or under a spot."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from roof3d.laps.boxes import are_boxes, hold, left_of, share, strings_of
from roof3d.laps.edges import Indices, Mask, Shapes
from roof3d.laps.model import Floats, LapPiece, PieceKind
from roof3d.tolerance import DEFAULT, Tolerance

_MANY = 8
"""Over an area with more pieces than this they are made one first."""

Allowed = Callable[[Indices, Indices], Mask]
"""Of pairs (piece asked for, other piece): whether the other counts."""


@dataclass(frozen=True, slots=True, eq=False)
class Pile:
    """Pieces in columns, and a tree over their shapes.

    Shingles side by side that are laid one after the other cover what lies under them as one:
    ``string`` tells in which each piece is, ``lead`` one piece of each, ``strung`` its shape.
    """

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
    string: Indices
    lead: Indices
    strung: Shapes
    bounds: Floats
    box: Mask
    strings: shapely.STRtree

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
    layer = np.array(
        [numbers.setdefault(piece.layer, len(numbers)) for piece in pieces], dtype=np.intp
    )
    order = np.array([piece.order for piece in pieces], dtype=np.float64)
    course = np.array([piece.course for piece in pieces], dtype=np.intp)
    shingle = np.array([piece.kind is PieceKind.SHINGLE for piece in pieces], dtype=np.bool_)
    string, lead, strung = _string_up(shapes, order, layer, course, shingle)
    return Pile(
        pieces=tuple(pieces),
        shapes=shapes,
        order=order,
        layer=layer,
        course=course,
        shingle=shingle,
        sheet=np.array([piece.kind is PieceKind.SHEET for piece in pieces], dtype=np.bool_),
        bonded=np.array([piece.bonded for piece in pieces], dtype=np.bool_),
        weathers=np.array([piece.weathers for piece in pieces], dtype=np.bool_),
        runs=np.array([piece.run for piece in pieces], dtype=np.float64),
        tree=shapely.STRtree(shapes),
        string=string,
        lead=lead,
        strung=strung,
        bounds=shapely.bounds(strung).reshape(-1, 4),
        box=are_boxes(strung, DEFAULT),
        strings=shapely.STRtree(strung),
    )


def _string_up(
    shapes: Shapes, order: Floats, layer: Indices, course: Indices, shingle: Mask
) -> tuple[Indices, Indices, Shapes]:
    """Return the string of each piece, and of each string a piece and the shape."""
    turn = np.argsort(order, kind="stable")
    bounds = shapely.bounds(shapes).reshape(-1, 4)[turn]
    upright = (shingle & are_boxes(shapes, DEFAULT))[turn]
    alike = upright[1:] & upright[:-1]
    for column in (layer, course):
        alike &= column[turn[1:]] == column[turn[:-1]]
    own = strings_of(bounds, alike, DEFAULT)
    string = np.empty(len(turn), dtype=np.intp)
    string[turn] = own
    first = np.flatnonzero(np.diff(own, prepend=-1))
    strung = shapes[turn[first]]
    long = np.diff(first, append=len(turn)) > 1
    low = np.minimum.reduceat(bounds[:, :2], first)[long]
    high = np.maximum.reduceat(bounds[:, 2:], first)[long]
    strung[long] = shapely.box(*np.hstack([low, high]).T)
    return string, turn[first], strung


def uncovered(
    areas: Shapes, owner: Indices, pile: Pile, allowed: Allowed, tol: Tolerance
) -> list[tuple[int, shapely.Geometry]]:
    """Return of each area what no allowed piece covers, where that is more than nothing."""
    if not len(areas):
        return []
    at, other = pile.strings.query(areas)
    fit = allowed(owner[at], pile.lead[other]) & (pile.string[owner[at]] != other)
    at, other = at[fit], other[fit]
    bounds, box = shapely.bounds(areas), are_boxes(areas, tol)
    upright = box[at] & pile.box[other]
    covered = hold(pile.bounds[other], bounds[at])
    skew = np.flatnonzero(covered & ~upright)
    covered[skew] = shapely.covers(pile.strung[other[skew]], areas[at[skew]])
    done = np.zeros(len(areas), dtype=np.bool_)
    done[at[covered]] = True
    apart = (
        np.maximum(pile.bounds[other, :2], bounds[at, :2])
        >= np.minimum(pile.bounds[other, 2:], bounds[at, 2:])
    ).any(axis=1)
    useful = ~done[at] & ~apart
    order = np.flatnonzero(useful)[np.argsort(at[useful], kind="stable")]
    at, other, upright = at[order], other[order], upright[order]
    first = np.searchsorted(at, np.arange(len(areas) + 1))
    open_ = np.flatnonzero(~done)
    rest = areas[open_]
    skewed = np.ones(len(open_), dtype=np.bool_)
    for k, i in enumerate(open_.tolist()):
        mine = slice(first[i], first[i + 1])
        if box[i] and upright[mine].all():
            rest[k] = left_of(bounds[i], pile.bounds[other[mine]])
            skewed[k] = False
        elif first[i + 1] - first[i] > _MANY:
            rest[k] = shapely.difference(areas[i], shapely.union_all(pile.strung[other[mine]]))
            skewed[k] = False
    # All others at once: what the first piece leaves of each, then the second, and so on.
    for turn in range(int((first[open_ + 1] - first[open_])[skewed].max(initial=0))):
        more = skewed & (first[open_] + turn < first[open_ + 1]) & ~shapely.is_empty(rest)
        rest[more] = shapely.difference(rest[more], pile.strung[other[first[open_[more]] + turn]])
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
    shared = share(areas[at], pile.shapes[other], tol)
    real = shapely.area(shared) > tol.area
    return at[real], other[real], np.asarray(shared[real])
