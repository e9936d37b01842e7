"""Pieces cut from whole rolls, shingles, strips and metal lengths: the cutting-stock problem.

First-fit decreasing gives a cutting, a lower bound says how good it is. Where the two do not
meet, other fits and bounds are tried, and where the job is small, an integer program over all
patterns settles it. Lengths are whole
steps of ``tol.merge`` here, so that a pattern fits or does not, without rounding.

References
----------
P. C. Gilmore, R. E. Gomory, "A Linear Programming Approach to the Cutting-Stock Problem",
Operations Research 9, 1961 (from memory): patterns as columns of a program.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from itertools import groupby
from typing import Final, NoReturn

import numpy as np

from roof3d.errors import LayoutError
from roof3d.takeoff.model import Cutting
from roof3d.takeoff.packing.bounds import least_by_area, least_by_shares, least_whole_ones
from roof3d.takeoff.packing.fitting import complete_each, first_fit
from roof3d.tolerance import DEFAULT, Tolerance
from roof3d.units import format_length

MOST_PATTERNS: Final = 4000
"""Above so many patterns the program would not end in its time."""
MOST_LENGTHS: Final = 100
"""Above so many different lengths there are too many patterns to write down."""
MOST_COMPLETED: Final = 4000
"""Above so many pieces to fill each whole one best takes longer than it saves."""
MOST_LOOKS: Final = 40_000
"""And so many beginnings of patterns are looked at."""
_SHIFT: Final = 2.0**-10
"""Share of a step by which rounding may miss a length that is a whole number of steps."""


def cut(
    lengths: Sequence[float],
    *,
    stock: float,
    shortest: float,
    seconds: float = 0.5,
    tol: Tolerance = DEFAULT,
) -> Cutting:
    """Cut pieces from as few whole ones as can be found.

    Parameters
    ----------
    lengths : sequence of float
        Metres, above 0 and at most ``stock``; in any order.
    stock : float
        Length of a whole one, metres, above 0.
    shortest : float
        Shortest offcut worth keeping, metres.
    seconds : float
        Time for the integer program, where it is needed; 0 goes without.
    tol : Tolerance
        A pattern fits where it is too long by less than ``merge`` for each piece.

    Returns
    -------
    Cutting
        Every length once; never more whole ones than first-fit decreasing takes, never
        fewer than ``bound``. The same input gives the same cutting unless the time ran out.

    Raises
    ------
    LayoutError
        Where a length or the stock is not above 0, or a piece is longer than the stock.

    Notes
    -----
    First fit costs n log n; the other fit and bound have limits of their own. The program
    runs only with at most ``MOST_PATTERNS`` patterns.

    Examples
    --------
    >>> cutting = cut([6.0, 4.0, 4.0, 3.0, 2.0], stock=10.0, shortest=1.0)
    >>> cutting.patterns, cutting.bound, cutting.proven
    (((6.0, 4.0), (4.0, 3.0, 2.0)), 2, True)
    """
    _check(lengths, stock, tol)
    capacity = _steps(stock, tol)
    longest_first = sorted(lengths, reverse=True)
    sizes = [min(_steps(length, tol), capacity) for length in longest_first]
    bound = least_whole_ones(sizes, capacity)
    bins = first_fit(sizes, capacity)
    if len(bins) > bound:
        bound = max(bound, least_by_shares(sizes, capacity))
    if len(bins) > bound and len(sizes) <= MOST_COMPLETED:
        bins = min(bins, complete_each(sizes, capacity), key=len)
    if len(bins) > bound and seconds > 0.0:
        solved, program_bound = _solve(sizes, capacity, seconds)
        bound = max(bound, program_bound)
        if solved and len(solved) < len(bins):
            bins = solved
    return Cutting(
        stock=stock,
        patterns=tuple(tuple(longest_first[index] for index in pattern) for pattern in bins),
        bound=bound,
        proven=len(bins) == bound,
        shortest=shortest,
    )


def cut_sheets(
    pieces: Sequence[tuple[float, float]],
    *,
    roll_length: float,
    roll_width: float,
    shortest: float,
    side_by_side: bool = True,
    seconds: float = 0.5,
    tol: Tolerance = DEFAULT,
) -> Cutting:
    """Cut sheets from rolls, narrow ones side by side.

    Parameters
    ----------
    pieces : sequence of (length, width)
        Metres, along the roll and across it.
    roll_length, roll_width : float
        Metres.
    shortest : float
        Shortest offcut worth keeping, metres.
    side_by_side : bool
        False where a ripped strip must keep its factory edge, so that its other part is lost.
    seconds : float
        Time for the integer program.
    tol : Tolerance

    Returns
    -------
    Cutting
        Its lengths are cuts across the whole roll: a sheet, or a narrow one with what lies
        beside it. ``bound`` holds for any way of laying pieces along the roll side by side.

    Raises
    ------
    LayoutError
        As ``cut``, and where a piece is wider than the roll.

    Examples
    --------
    >>> halves = [(8.0, 0.5), (5.0, 0.5), (3.0, 0.5), (4.0, 1.0)]
    >>> cut_sheets(halves, roll_length=12.0, roll_width=1.0, shortest=1.0).patterns
    ((8.0, 4.0),)
    """
    _check([width for _, width in pieces], roll_width, tol, across=True)
    _check([length for length, _ in pieces], roll_length, tol)
    if not side_by_side:
        return cut(
            [length for length, _ in pieces],
            stock=roll_length,
            shortest=shortest,
            seconds=seconds,
            tol=tol,
        )
    cutting = cut(
        list(_beside(pieces, roll_width, tol)),
        stock=roll_length,
        shortest=shortest,
        seconds=seconds,
        tol=tol,
    )
    capacity, across = _steps(roll_length, tol), _steps(roll_width, tol)
    in_steps = [(_steps(length, tol), _steps(width, tol)) for length, width in pieces]
    alone = [min(length, capacity) for length, width in in_steps if 2 * width > across]
    if len(alone) == len(pieces):
        return cutting
    bound = max(
        least_whole_ones(sorted(alone, reverse=True), capacity),
        least_by_area(np.array(in_steps, dtype=np.float64), capacity, across),
    )
    return Cutting(
        stock=cutting.stock,
        patterns=cutting.patterns,
        bound=bound,
        proven=len(cutting.patterns) == bound,
        shortest=shortest,
    )


def _check(lengths: Iterable[float], stock: float, tol: Tolerance, *, across: bool = False) -> None:
    what = "width" if across else "length"
    if not (math.isfinite(stock) and stock > 0.0):
        raise LayoutError(
            f"the {what} of a whole one must be above 0, is {stock} m",
            hint="correct the material in the catalog",
        )
    for length in lengths:
        if not (math.isfinite(length) and length > 0.0):
            raise LayoutError(f"the {what} of a piece must be above 0, is {length} m")
        if _steps(length, tol) > _steps(stock, tol):
            _refuse_long(length, stock, what)


def _refuse_long(length: float, stock: float, what: str) -> NoReturn:
    raise LayoutError(
        f"a piece of {what} {format_length(length)} ({length:.6g} m) cannot be cut from whole"
        f" ones of {format_length(stock)} ({stock:.6g} m)",
        hint=f"lay shorter pieces, or give the material a greater {what}",
    )


def _steps(length: float, tol: Tolerance) -> int:
    # Rounded down, so that three thirds of a roll are a roll; never nothing.
    return max(1, math.floor(length / tol.merge + _SHIFT))


def _solve(sizes: list[int], capacity: int, seconds: float) -> tuple[list[list[int]], int]:
    """Return the best cutting of the integer program and its bound; none and 0 without one."""
    groups = [(size, len(list(same))) for size, same in groupby(sizes)]
    patterns = _patterns(groups, capacity) if len(groups) <= MOST_LENGTHS else None
    if patterns is None:
        return [], 0
    from scipy.optimize import Bounds, LinearConstraint, milp  # noqa: PLC0415 - it is heavy

    columns = np.array(patterns, dtype=np.float64).T
    wanted = np.array([count for _, count in groups], dtype=np.float64)
    result = milp(
        np.ones(len(patterns)),
        constraints=LinearConstraint(columns, lb=wanted),
        integrality=np.ones(len(patterns)),
        bounds=Bounds(0.0, np.inf),
        options={"time_limit": seconds, "mip_rel_gap": 0.0},
    )
    dual = result.mip_dual_bound
    # A whole number come out short of itself by rounding must not count as the next lower.
    bound = math.ceil(dual - 0.01) if dual is not None and math.isfinite(dual) else 0
    if result.x is None:
        return [], bound
    times = np.rint(result.x).astype(int)
    return _fill(groups, [p for p, n in zip(patterns, times, strict=True) for _ in range(n)]), bound


def _patterns(groups: list[tuple[int, int]], capacity: int) -> list[tuple[int, ...]] | None:
    """Return every pattern to which no piece can be added, as counts by group; None if many."""
    rest = [0]
    for size, count in reversed(groups):
        rest.append(rest[-1] + size * count)
    rest.reverse()
    found: list[tuple[int, ...]] = []
    # Counts so far, room, and the least size of which a piece was left out.
    open_ends: list[tuple[tuple[int, ...], int, int]] = [((), capacity, capacity + 1)]
    looks = 0
    while open_ends:
        looks += 1
        if looks > MOST_LOOKS:
            return None
        counts, room, left_out = open_ends.pop()
        if room - rest[len(counts)] >= left_out:
            continue  # whatever follows, a piece left out would still go in
        if len(counts) == len(groups):
            found.append(counts)
            if len(found) > MOST_PATTERNS:
                return None
            continue
        size, count = groups[len(counts)]
        most = min(count, room // size)
        for number in range(most + 1):
            least = left_out if number == count else size  # sizes fall from group to group
            open_ends.append(((*counts, number), room - number * size, least))
    return found


def _fill(groups: list[tuple[int, int]], patterns: list[tuple[int, ...]]) -> list[list[int]]:
    """Turn counts by group into indices; what a pattern offers beyond need is left out."""
    first = 0
    queues: list[list[int]] = []
    for _, count in groups:
        queues.append(list(range(first + count - 1, first - 1, -1)))
        first += count
    bins = [
        [
            queue.pop()
            for number, queue in zip(pattern, queues, strict=True)
            for _ in range(min(number, len(queue)))
        ]
        for pattern in patterns
    ]
    if any(queues):
        return []  # a rounded solution that leaves a piece out is none
    return [taken for taken in bins if taken]


def _beside(
    pieces: Sequence[tuple[float, float]], roll_width: float, tol: Tolerance
) -> Iterator[float]:
    """Give the lengths to cut off the roll; narrow pieces go beside longer ones."""
    across = _steps(roll_width, tol)
    sized = sorted(
        ((_steps(length, tol), _steps(width, tol), length) for length, width in pieces),
        reverse=True,
    )
    if not sized:
        return
    narrowest, shortest = min(width for _, width, _ in sized), sized[-1][0]
    free: list[tuple[int, int]] = []

    def keep(length: int, width: int) -> None:
        if width >= narrowest and length >= shortest:
            free.append((length, width))

    for length, width, metres in sized:
        fits = (k for k, (long, wide) in enumerate(free) if long >= length and wide >= width)
        place = next(fits, None)
        if place is None:
            yield metres
            keep(length, across - width)
        else:
            long, wide = free.pop(place)
            keep(length, wide - width)
            keep(long - length, wide)
