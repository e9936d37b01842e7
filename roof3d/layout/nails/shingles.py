"""Nails of shingles: the full pattern on whole ones, what is left of it on cut ones."""

from __future__ import annotations

import numpy as np
import shapely

from roof3d.catalog.laying import Nailing
from roof3d.layout.model import Floats, Integers, Pieces
from roof3d.layout.nails.strips import count_a_piece
from roof3d.tolerance import DEFAULT, Tolerance


def nail_shingles(
    pieces: Pieces,
    nailing: Nailing,
    *,
    length: float,
    high_wind: bool,
    tol: Tolerance = DEFAULT,
) -> Floats:
    """Nail every shingle of one plane.

    Parameters
    ----------
    pieces : Pieces
        Shingles in the order of laying.
    nailing : Nailing
        ``per_piece`` and ``per_piece_wind``, ``line`` over the lower edge, ``inset``.
    length : float
        Of a whole shingle, metres.
    high_wind : bool
    tol : Tolerance

    Returns
    -------
    (k, 2) float64
        In the plane's frame, in the order of the pieces, each inside what is left of its
        shingle. A whole one has them evenly spaced from inset to inset. A cut one keeps those
        of them that stay the inset off its cut, but has at least two, or one in the middle
        where it is narrower than three insets. Where the nail line misses what is left, at a
        ridge or the tip of a hip, they stand at its centre's height.
    """
    count = count_a_piece(nailing, high_wind=high_wind)
    if count == 0 or len(pieces) == 0:
        return np.empty((0, 2))
    owner, left, right, height = _nail_lines(pieces, nailing.line, tol)
    inset = nailing.inset
    shares = np.linspace(0.0, 1.0, count) if count > 1 else np.array([0.5])
    pattern = inset + shares * (length - 2.0 * inset)
    places = _starts(pieces, length, tol)[owner, None] + pattern
    keeps = (places >= (left + inset - tol.merge)[:, None]) & (
        places <= (right - inset + tol.merge)[:, None]
    )
    kept = np.bincount(owner, weights=keeps.sum(axis=1), minlength=len(pieces))
    few = kept[owner] < min(2, count)
    line, column = np.nonzero(keeps & ~few[:, None])
    again = _longest(owner[few], left[few], right[few])
    own, least, most, at = (column[few][again] for column in (owner, left, right, height))
    pair = (most - least >= 3.0 * inset - tol.merge) & (count > 1)
    middle = (least + most) / 2.0
    owners = np.concatenate([owner[line], own, own[pair]])
    nails = np.column_stack(
        [
            np.concatenate(
                [
                    places[line, column],
                    np.where(pair, least + inset, middle),
                    (most - inset)[pair],
                ]
            ),
            np.concatenate([height[line], at, at[pair]]),
        ]
    )
    return np.asarray(nails[np.argsort(owners, kind="stable")])


def _nail_lines(
    pieces: Pieces, line: float, tol: Tolerance
) -> tuple[Integers, Floats, Floats, Floats]:
    """Return owner, ends and height of every stretch of nail line on what is left of the pieces."""
    cut = np.array(sorted(pieces.trimmed), dtype=np.int64)
    whole = np.setdiff1d(np.arange(len(pieces)), cut, assume_unique=True)
    height = pieces.boxes[:, 1] + line
    shapes = np.array([pieces.trimmed[index] for index in cut.tolist()], dtype=np.object_)
    owner, left, right = _cross(shapes, height[cut], tol)
    missed = np.setdiff1d(np.arange(len(cut)), owner)
    if len(missed):
        largest = [max(shapely.get_parts(shape), key=shapely.area) for shape in shapes[missed]]
        # The centre of area, unlike the middle of the bounds, heeds no whisker of rounding.
        height[cut[missed]] = shapely.get_y(shapely.centroid(largest))
        again, *ends = _cross(np.array(largest), height[cut[missed]], tol)
        owner = np.concatenate([owner, missed[again]])
        left, right = np.concatenate([left, ends[0]]), np.concatenate([right, ends[1]])
    owner = np.concatenate([whole, cut[owner]])
    left = np.concatenate([pieces.boxes[whole, 0], left])
    right = np.concatenate([pieces.boxes[whole, 2], right])
    return owner, left, right, height[owner]


def _cross(
    shapes: np.ndarray[tuple[int], np.dtype[np.object_]], height: Floats, tol: Tolerance
) -> tuple[Integers, Floats, Floats]:
    """Return index and ends of the stretches in which level lines cross shapes."""
    ends = np.empty((len(shapes), 2, 2))
    bounds = shapely.bounds(shapes).reshape(-1, 4)
    ends[:, :, 0] = bounds[:, [0, 2]] + [-1.0, 1.0]
    ends[:, :, 1] = height[:, None]
    parts, index = shapely.get_parts(
        shapely.intersection(shapes, shapely.linestrings(ends)), return_index=True
    )
    found = shapely.bounds(parts).reshape(-1, 4)
    real = found[:, 2] - found[:, 0] > tol.sliver
    return index[real].astype(np.int64), found[real, 0], found[real, 2]


def _starts(pieces: Pieces, length: float, tol: Tolerance) -> Floats:
    """Return where each whole shingle would begin: a cut one keeps the end that it meets with.

    One that meets a shingle on each side counts from the one laid before it; one that stands
    alone, from its middle.
    """
    left, right = pieces.boxes[:, 0], pieces.boxes[:, 2]
    starts = (left + right - length) / 2.0
    same = pieces.course[1:] == pieces.course[:-1]
    rightward = same & (np.abs(right[:-1] - left[1:]) <= tol.merge)
    leftward = same & (np.abs(left[:-1] - right[1:]) <= tol.merge)
    starts[:-1] = np.where(rightward, right[:-1] - length, starts[:-1])
    starts[:-1] = np.where(leftward, left[:-1], starts[:-1])
    starts[1:] = np.where(rightward, left[1:], starts[1:])
    starts[1:] = np.where(leftward, right[1:] - length, starts[1:])
    return starts


def _longest(owner: Integers, left: Floats, right: Floats) -> Integers:
    """Return the index of the longest stretch of each owner."""
    order = np.lexsort((left - right, owner))
    _, first = np.unique(owner[order], return_index=True)
    return np.asarray(order[first])
