"""Time of cutting: against first fit as in textbooks in the same run, and how it grows.

Run with ``pytest -m timing -rP``.
"""

from __future__ import annotations

import math
import random
import time
from collections.abc import Callable
from typing import Any

import pytest

from roof3d.takeoff.cutting import cut, cut_sheets
from tests.property.test_cutting_laws import first_fit

STOCK = 1.0
ROUNDS = 3
#: Growth from 1,000 to 16,000 pieces; n log n is below 1.4.
MOST_EXPONENT = 1.4

Record = Callable[[str, Any], None]


def cut_shingles(count: int) -> list[float]:
    """Lengths of cut shingles of a roof with hips: any, from a sixth of a shingle on."""
    rng = random.Random(count)  # noqa: S311 - no secret
    return [rng.uniform(STOCK / 6, STOCK) for _ in range(count)]


def least_seconds(work: Callable[[], object]) -> float:
    times = []
    for _ in range(ROUNDS):
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return min(times)


@pytest.mark.timing
def test_cutting_takes_less_than_textbook_first_fit(record_property: Record) -> None:
    lengths = cut_shingles(4000)
    ours = least_seconds(lambda: cut(lengths, stock=STOCK, shortest=0.1))
    plain = least_seconds(lambda: first_fit(lengths, STOCK))
    record_property("figures", {"pieces": 4000, "ours": ours, "textbook": plain})
    assert ours < plain


@pytest.mark.timing
def test_cutting_grows_little_faster_than_its_pieces(record_property: Record) -> None:
    def of(count: int) -> float:
        lengths = cut_shingles(count)
        return least_seconds(lambda: cut(lengths, stock=STOCK, shortest=0.1))

    seconds = {count: of(count) for count in (500, 1000, 4000, 16000)}
    exponent = math.log(seconds[16000] / seconds[1000]) / math.log(16)
    record_property("figures", {"seconds": seconds, "exponent": exponent})
    assert exponent < MOST_EXPONENT


@pytest.mark.timing
def test_sheets_side_by_side_grow_no_faster_than_square(record_property: Record) -> None:
    def of(count: int) -> float:
        rng = random.Random(count)  # noqa: S311 - no secret
        pieces = [(rng.uniform(1.0, 20.0), rng.uniform(0.1, 1.0)) for _ in range(count)]
        return least_seconds(
            lambda: cut_sheets(pieces, roll_length=20.0, roll_width=1.0, shortest=1.0)
        )

    seconds = {count: of(count) for count in (250, 1000, 4000)}
    exponent = math.log(seconds[4000] / seconds[250]) / math.log(16)
    record_property("figures", {"seconds": seconds, "exponent": exponent})
    assert exponent < 2.0
