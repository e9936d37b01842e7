"""Laws of cutting: every piece once, nothing too long, between the bound and first fit."""

from __future__ import annotations

import math
import random
from collections.abc import Sequence

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from roof3d.takeoff.cutting import cut, cut_sheets
from roof3d.takeoff.model import Cutting
from roof3d.tolerance import DEFAULT

STOCK = 3.048
#: Whole sixteenths of an inch: ties and exact fits are common.
lengths = st.lists(st.integers(1, 1920).map(lambda n: n * 0.0254 / 16), max_size=40)


def first_fit(lengths: Sequence[float], stock: float) -> int:
    """Count by first fit decreasing as in textbooks, with the room that ours has."""
    bins: list[list[float]] = []
    for length in sorted(lengths, reverse=True):
        for taken in bins:
            if sum(taken) + length <= stock + DEFAULT.merge / 2:
                taken.append(length)
                break
        else:
            bins.append([length])
    return len(bins)


def least_by_exhaustion(lengths: Sequence[int], stock: int) -> int:
    """Return the least count by trying every place for every piece."""
    best = len(lengths)

    def place(index: int, rooms: tuple[int, ...]) -> None:
        nonlocal best
        if len(rooms) >= best:
            return
        if index == len(lengths):
            best = len(rooms)
            return
        for room in set(rooms):
            if room >= lengths[index]:
                place(index + 1, (*(r for r in _without(rooms, room)), room - lengths[index]))
        place(index + 1, (*rooms, stock - lengths[index]))

    place(0, ())
    return best


def _without(rooms: tuple[int, ...], room: int) -> tuple[int, ...]:
    at = rooms.index(room)
    return rooms[:at] + rooms[at + 1 :]


def holds(cutting: Cutting, lengths: Sequence[float]) -> None:
    """Check what is true of any cutting."""
    assert sorted(sum(cutting.patterns, ())) == sorted(lengths)
    for pattern in cutting.patterns:
        assert list(pattern) == sorted(pattern, reverse=True)
        assert 0 < math.fsum(pattern) <= cutting.stock + len(pattern) * DEFAULT.merge
    total = math.fsum(lengths)
    assert cutting.bound >= math.ceil(total / cutting.stock - len(lengths) * DEFAULT.merge)
    assert cutting.bound <= len(cutting.patterns)
    assert cutting.proven == (cutting.bound == len(cutting.patterns))
    # Pieces and offcuts are what was taken.
    assert total + math.fsum(cutting.offcuts) == pytest.approx(
        cutting.stock * len(cutting.patterns), abs=len(lengths) * DEFAULT.merge
    )


def random_job(number: int, most: int) -> tuple[list[float], float]:
    """Give few lengths many times, or many lengths, from a stock of 1 to 20 m."""
    rng = random.Random(number)  # noqa: S311 - no secret
    stock = rng.uniform(1.0, 20.0)
    kinds = [stock * rng.uniform(0.03, 1.0) ** rng.choice((1, 2)) for _ in range(rng.randint(1, 8))]
    count = rng.randint(1, most)
    if rng.random() < 0.5:
        return [rng.choice(kinds) for _ in range(count)], stock
    return [stock * rng.uniform(0.03, 1.0) for _ in range(count)], stock


def never_worse(jobs: range, most: int) -> tuple[int, int]:
    """Run random jobs; return how many were proven, and how many beat first fit."""
    proven = better = 0
    for number in jobs:
        lengths, stock = random_job(number, most)
        cutting = cut(lengths, stock=stock, shortest=0.1, seconds=0.5)
        holds(cutting, lengths)
        plain = first_fit(lengths, stock)
        assert len(cutting.patterns) <= plain
        proven += cutting.proven
        better += len(cutting.patterns) < plain
    return proven, better


def test_200_random_jobs_lie_between_the_bound_and_first_fit() -> None:
    proven, better = never_worse(range(200), 60)
    assert proven >= 180  # 194 in a tenth of the time
    assert better >= 1


@pytest.mark.heavy
def test_2000_larger_jobs_lie_between_the_bound_and_first_fit() -> None:
    _, better = never_worse(range(1000, 3000), 400)
    assert better >= 1


@given(lengths=lengths)
def test_cutting_holds_every_piece_once(lengths: list[float]) -> None:
    holds(cut(lengths, stock=STOCK, shortest=0.1, seconds=0.0), lengths)


@settings(deadline=None)  # the first program of a run waits for its library
@given(sizes=st.lists(st.integers(1, 12), min_size=1, max_size=8), stock=st.integers(12, 20))
def test_small_jobs_take_no_more_than_any_cutting(sizes: list[int], stock: int) -> None:
    cutting = cut(sizes, stock=stock, shortest=0.0)
    assert cutting.proven
    assert len(cutting.patterns) == least_by_exhaustion(sizes, stock)


@given(lengths=lengths, seed=st.integers(0, 1000))
def test_order_does_not_matter(lengths: list[float], seed: int) -> None:
    shuffled = list(lengths)
    random.Random(seed).shuffle(shuffled)  # noqa: S311 - no secret
    one, two = (cut(job, stock=STOCK, shortest=0.1, seconds=0.0) for job in (lengths, shuffled))
    assert one == two


pieces = st.lists(st.tuples(st.integers(1, 40), st.integers(1, 12)), max_size=25)


@given(pieces=pieces)
def test_sheets_side_by_side_keep_the_area_and_save_nothing_impossible(
    pieces: list[tuple[int, int]],
) -> None:
    rolls = cut_sheets(pieces, roll_length=40, roll_width=12, shortest=0, seconds=0.0)
    apart = cut_sheets(
        pieces, roll_length=40, roll_width=12, shortest=0, seconds=0.0, side_by_side=False
    )
    area = sum(length * width for length, width in pieces)
    ranks = sum(rolls.patterns, ())
    assert math.ceil(area / 480) <= rolls.bound <= len(rolls.patterns)
    assert area <= 12 * sum(ranks) <= 12 * sum(length for length, _ in pieces)
    assert set(ranks) <= {length for length, _ in pieces}
    assert rolls.bound <= apart.bound


@given(rolls=st.integers(1, 6), seed=st.integers(0, 10_000), cuts=st.integers(0, 25))
def test_bound_holds_for_sheets_known_to_come_from_so_many_rolls(
    rolls: int, seed: int, cuts: int
) -> None:
    rng = random.Random(seed)  # noqa: S311 - no secret
    pieces = [(40, 12)] * rolls
    for _ in range(cuts):
        length, width = pieces.pop(rng.randrange(len(pieces)))
        along = rng.random() < 0.5
        if (length if along else width) == 1:
            pieces.append((length, width))
            continue
        at = rng.randint(1, (length if along else width) - 1)
        pieces += [(at, width), (length - at, width)] if along else [
            (length, at), (length, width - at)
        ]  # fmt: skip
    some = rng.sample(pieces, rng.randint(1, len(pieces)))
    for job in (pieces, some):
        cutting = cut_sheets(job, roll_length=40, roll_width=12, shortest=0, seconds=0.0)
        assert cutting.bound <= rolls


@given(pieces=st.lists(st.tuples(st.integers(1, 40), st.integers(7, 12)), max_size=25))
def test_sheets_over_half_the_width_are_cut_as_by_length(pieces: list[tuple[int, int]]) -> None:
    rolls = cut_sheets(pieces, roll_length=40, roll_width=12, shortest=0, seconds=0.0)
    assert rolls == cut([length for length, _ in pieces], stock=40, shortest=0, seconds=0.0)
