"""Quick ways to fit pieces into whole ones; neither is always the best.

References
----------
J. N. D. Gupta, J. C. Ho, "A new heuristic algorithm for the one-dimensional bin-packing
problem", Production Planning & Control 10, 1999 (from memory): least slack, one after another.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from typing import Final

MOST_TRIES: Final = 60
"""Fillings looked at for each whole one."""


def first_fit(sizes: list[int], capacity: int) -> list[list[int]]:
    """Put each size into the first whole one with room.

    Parameters
    ----------
    sizes : list of int
        Largest first, each at most ``capacity``.
    capacity : int

    Returns
    -------
    list of list of int
        Indices of sizes for each whole one.
    """
    leaves = 1 << max(0, len(sizes) - 1).bit_length()
    room = [capacity] * (2 * leaves)  # a node holds the most room below it
    bins: list[list[int]] = []
    for index, size in enumerate(sizes):
        node = 1
        while node < leaves:
            node *= 2
            node += room[node] < size
        if node - leaves == len(bins):
            bins.append([])
        bins[node - leaves].append(index)
        room[node] -= size
        while node > 1:
            node //= 2
            room[node] = max(room[2 * node], room[2 * node + 1])
    return bins


def complete_each(sizes: list[int], capacity: int) -> list[list[int]]:
    """Cut the longest that is left, and beside it what leaves least of the whole one; again.

    Better than first fit where many small pieces go into one, worse where two do.

    Parameters
    ----------
    sizes : list of int
        Largest first, each at most ``capacity``.
    capacity : int

    Returns
    -------
    list of list of int
        Indices of sizes for each whole one.
    """
    rising = [-size for size in sizes]  # so that what fits is found by bisection
    rest = list(range(len(sizes)))
    bins = []
    while rest:
        first = rest.pop(0)
        room = capacity + rising.pop(0)
        chosen = _fill_best(rising, room)
        bins.append([first, *(rest[place] for place in chosen)])
        for place in reversed(chosen):
            rest.pop(place)
            rising.pop(place)
    return bins


def _fill_best(rising: list[int], room: int) -> tuple[int, ...]:
    """Return places of sizes that fill a room best, of the first ``MOST_TRIES`` fillings.

    Sizes are negative and rising: the largest first.
    """
    best: tuple[int, ...] = ()
    least = room
    open_ends: list[tuple[int, int, tuple[int, ...]]] = [(0, room, ())]
    for _ in range(MOST_TRIES):
        if not open_ends or least == 0:
            break
        start, left, chosen = open_ends.pop()
        if left < least:
            least, best = left, chosen
        place = bisect_left(rising, -left, start)
        if place < len(rising):
            after = bisect_right(rising, rising[place], place)
            open_ends.append((after, left, chosen))  # without any of this size
            open_ends.append((place + 1, left + rising[place], (*chosen, place)))
    return best
