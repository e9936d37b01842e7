"""How many whole ones no cutting can do without.

References
----------
S. Martello, P. Toth, "Knapsack Problems", 1990, section 8.3 (from memory): the bound L2.
S. P. Fekete, J. Schepers, "New classes of fast lower bounds for bin packing problems",
Mathematical Programming 91, 2001 (from memory): sizes rounded so that what fits still fits.
"""

from __future__ import annotations

import math
from typing import Final

import numpy as np

from roof3d.layout.model import Floats

MOST_ROUNDED: Final = 500
"""With more sheets only their widths are rounded for the bound, to so many thresholds."""
MOST_SHARES: Final = 16
MOST_SHARED: Final = 4_000_000
"""So many roundings of a size to shares are tried, thresholds being left out beyond."""
_PLACES: Final = 9
"""Decimals of a number of rolls that count."""


def least_whole_ones(sizes: list[int], capacity: int) -> int:
    """Return the bound L2 of Martello and Toth; the one by total length is among its terms.

    Parameters
    ----------
    sizes : list of int
        Largest first, each at most ``capacity``.
    capacity : int
    """
    if not sizes:
        return 0
    rising = np.array(sizes[::-1], dtype=np.int64)
    upto = np.concatenate([[0], np.cumsum(rising)])
    half = int(np.searchsorted(2 * rising, capacity, side="right"))
    # Each choice of a least size: larger ones than its complement fill a whole one alone,
    # those over half take one each, and the small ones need what room is left over.
    least = np.unique(np.concatenate([[0], rising[:half]]))
    alone = np.searchsorted(rising, capacity - least, side="right")
    room = (alone - half) * capacity - (upto[alone] - upto[half])
    small = upto[half] - upto[np.searchsorted(rising, least)]
    more = np.maximum(0, -((room - small) // capacity))
    return len(sizes) - half + int(more.max())


def least_by_shares(sizes: list[int], capacity: int) -> int:
    """Bound whole ones by sizes rounded to shares of one, without harm to what fits.

    Of every ``k`` a size counts as so many k-ths as it is larger than (k + 1)-ths, so that a
    third and a bit is half. Before that small sizes count as nothing and their complements as
    the whole, as in ``least_by_area``.

    Parameters
    ----------
    sizes : list of int
        Each at most ``capacity``.
    capacity : int
    """
    known, counts = np.unique(np.array(sizes, dtype=np.int64), return_counts=True)
    least = np.unique(np.concatenate([[0], known[2 * known <= capacity]]))
    step = 1 + len(least) * len(known) * MOST_SHARES // MOST_SHARED
    best = 0
    for smallest in least[::step]:
        whole = known > capacity - smallest
        rounded = np.where(whole, capacity, np.where(known < smallest, 0, known))
        for share in range(1, MOST_SHARES + 1):
            times, rest = np.divmod((share + 1) * rounded, capacity)
            shared = np.where(rest == 0, share * rounded, times * capacity)
            best = max(best, -(-int(counts @ shared) // (share * capacity)))
    return best


def least_by_area(sizes: Floats, capacity: int, across: int) -> int:
    """Bound rolls by the area of sizes that are rounded without harm to what fits.

    With a threshold, a size whose complement is below it counts as the whole, one below it as
    nothing. Whatever lay side by side or in a row still does.

    Parameters
    ----------
    sizes : (n, 2) float64
        Along the roll and across it.
    capacity, across : int
        Length and width of a roll.
    """
    widths = _rounded(sizes[:, 1], across)
    lengths = _rounded(sizes[:, 0], capacity) if len(sizes) <= MOST_ROUNDED else sizes[None, :, 0]
    rolls = float((lengths @ widths.T).max()) / (float(capacity) * across)
    return math.ceil(round(rolls, _PLACES))


def _rounded(sizes: Floats, whole: int) -> Floats:
    """Return a row of rounded sizes for each threshold up to half of the whole."""
    least = np.unique(np.concatenate([[0.0], sizes[2.0 * sizes <= whole]]))
    least = least[:: 1 + len(least) // MOST_ROUNDED, None]  # some do: each gives a bound
    return np.where(sizes > whole - least, float(whole), np.where(sizes < least, 0.0, sizes))
