"""All pieces of a surface as columns, found by place: what lies over or under a spot."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely

from roof3d.laps.boxes import are_boxes, hold, left_of, share, strings_of, trim_boxes
from roof3d.laps.edges import Indices, Mask, Shapes
from roof3d.laps.model import Floats, LapPiece, PieceKind
from roof3d.tolerance import DEFAULT, Tolerance

_MANY = 8
"""Over an area with more pieces than this, none of them upright, they are made one first."""

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
    string, lead, strung = _strings(shapes, order, layer, course, shingle)
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


def string_up(pieces: Sequence[LapPiece]) -> list[LapPiece]:
    """Return pieces with shingles that lie side by side as one."""
    pile = pile_up(pieces)
    return [
        piece if piece.shape is shape else replace(piece, shape=shape)
        for piece, shape in zip((pieces[k] for k in pile.lead), pile.strung, strict=True)
    ]


def _strings(
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
    bounds, box = shapely.bounds(areas).reshape(-1, 4), are_boxes(areas, tol)
    covered = ~(box[at] & pile.box[other]) & hold(pile.bounds[other], bounds[at])
    skew = np.flatnonzero(covered)
    covered[skew] = shapely.covers(pile.strung[other[skew]], areas[at[skew]])
    upright = box[at] & pile.box[other]
    trimmed = trim_boxes(bounds, at[upright], pile.bounds[other[upright]])
    cut = (trimmed != bounds).any(axis=1)
    done = (trimmed[:, :2] >= trimmed[:, 2:]).any(axis=1) & cut
    done[at[covered]] = True
    apart = (
        np.maximum(pile.bounds[other, :2], trimmed[at, :2])
        >= np.minimum(pile.bounds[other, 2:], trimmed[at, 2:])
    ).any(axis=1)
    useful = ~done[at] & ~apart
    # A slanting band has far more in the rectangle around it than in itself.
    slant = np.flatnonzero(useful & ~box[at])
    shapely.prepare(areas[at[slant]])
    useful[slant] = shapely.intersects(areas[at[slant]], pile.strung[other[slant]])
    order = np.flatnonzero(useful)[np.lexsort((~pile.box[other[useful]], at[useful]))]
    at, other = at[order], other[order]
    open_ = np.flatnonzero(~done)
    first, last = (np.searchsorted(at, open_, side=side) for side in ("left", "right"))
    rest = areas[open_]
    rest[cut[open_]] = shapely.box(*trimmed[open_[cut[open_]]].T)
    # Rectangles first, by their numbers; then all others at once, one after the other.
    for k in np.flatnonzero(first < last).tolist():
        i = open_[k]
        straight = first[k] + int(pile.box[other[first[k] : last[k]]].sum())
        if straight > first[k]:
            left = left_of(trimmed[i], pile.bounds[other[first[k] : straight]])
            rest[k] = left if box[i] or left.is_empty else shapely.intersection(left, areas[i])
        first[k] = straight
        if last[k] - straight > _MANY and not rest[k].is_empty:
            over = shapely.union_all(pile.strung[other[straight : last[k]]])
            rest[k] = shapely.difference(rest[k], over)
            first[k] = last[k]
    for turn in range(int((last - first).max(initial=0))):
        more = (first + turn < last) & ~shapely.is_empty(rest)
        rest[more] = shapely.difference(rest[more], pile.strung[other[first[more] + turn]])
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
