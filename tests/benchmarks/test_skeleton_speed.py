"""Time of roof faces against an independent engine in the same run, and how it grows.

Run with ``pytest -m timing -rP``. The engine (PySFCGAL) times its own calls in a process of its
own; rounds alternate, and the least of a few rounds counts for each outline.
"""

from __future__ import annotations

import math
import statistics
import sys
import time
import tracemalloc
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from roof3d.skeleton import faces
from tests.engine import Engine, EngineError, needs_engine
from tests.face_measures import by_edge, outline_area, plan_area
from tests.outline_data import Rings, all_outlines, needs_data, same_everywhere
from tests.random_outlines import Random, comb, radial, rectilinear, star

ROUNDS = 3
MOST = 0.1
MOST_EXPONENT = 1.6
SIZES = (10, 50, 200, 1000, 4000)
SLOPE = math.tan(math.radians(30.0))

Record = Callable[[str, Any], None]


def seconds(rings: Rings) -> float:
    """Time one roof of ours, checks and all."""
    slopes = same_everywhere(SLOPE, rings)
    start = time.perf_counter()
    faces(rings, slopes)
    return time.perf_counter() - start


@needs_data
@needs_engine
@pytest.mark.timing
def test_real_outlines_take_at_most_a_tenth_of_the_engine(record_property: Record) -> None:
    ours, with_angles, partition = [], [], []
    with Engine() as engine:
        for _, rings in all_outlines():
            angles = same_everywhere(30.0, rings)
            try:
                rounds = [(seconds(rings), *engine.seconds(rings, angles)) for _ in range(ROUNDS)]
            except EngineError:
                continue  # what kills the engine has no time to compare with
            least = [min(column) for column in zip(*rounds, strict=True)]
            ours.append(least[0])
            with_angles.append(least[1])
            partition.append(least[2])
    figures = {
        "outlines": len(ours),
        "total, to roofs": sum(ours) / sum(with_angles),
        "total, to partition in plan": sum(ours) / sum(partition),
        "median, to roofs": statistics.median(
            a / b for a, b in zip(ours, with_angles, strict=True)
        ),
        "median, to partition": statistics.median(
            a / b for a, b in zip(ours, partition, strict=True)
        ),
        "median ms": 1e3 * statistics.median(ours),
    }
    for name, value in figures.items():
        record_property(name, round(value, 3))
    print({name: round(value, 3) for name, value in figures.items()})  # noqa: T201 - shown by -rP
    assert len(ours) >= 105
    assert figures["total, to roofs"] <= MOST


def rectilinear_of(rng: Random, count: int) -> Rings:
    """Rectilinear without holes, near a size: a skyline of unequal blocks, on both sides."""
    blocks = max(2, count // 4)
    xs = np.cumsum(rng.uniform(1.0, 3.0, blocks + 1))
    xs -= xs[0]
    low, high = -rng.uniform(3.0, 9.0, blocks), rng.uniform(3.0, 9.0, blocks)
    below = [(x, y) for k, y in enumerate(low) for x in (xs[k], xs[k + 1])]
    above = [(x, y) for k, y in reversed(list(enumerate(high))) for x in (xs[k + 1], xs[k])]
    return (tuple((float(x), float(y)) for x, y in (*below, *above)),)


GROWING: dict[str, Callable[[Random, int], Rings]] = {
    "comb": comb,
    "star": star,
    "random": radial,
    "rectilinear": rectilinear_of,
    "rectilinear with holes": rectilinear,
}


@pytest.mark.timing
@pytest.mark.parametrize("shape", GROWING)
def test_time_grows_by_less_than_a_power_of_1_6(shape: str, record_property: Record) -> None:
    rows = []
    for size in SIZES:
        rings = GROWING[shape](np.random.default_rng(size), size)
        count = sum(len(ring) for ring in rings)
        least = min(seconds(rings) for _ in range(ROUNDS if size < 1000 else 1))
        tracemalloc.start()
        found = faces(rings, same_everywhere(SLOPE, rings))
        peak = tracemalloc.get_traced_memory()[1]
        tracemalloc.stop()
        area = sum(plan_area(face) for face in by_edge(found).values())
        assert area == pytest.approx(outline_area(rings), rel=1e-8)
        rows.append((count, least, peak))
        del found
    counts, times, peaks = (
        np.array(column, dtype=np.float64) for column in zip(*rows, strict=True)
    )
    # From 50 vertices on: below, the fixed cost of one call speaks.
    exponent = float(np.polyfit(np.log(counts[1:]), np.log(times[1:]), 1)[0])
    memory = float(np.polyfit(np.log(counts[1:]), np.log(peaks[1:]), 1)[0])
    record_property("exponent", round(exponent, 2))
    print(  # noqa: T201 - shown by -rP: the numbers are what one runs this for
        f"{shape}: exponent {exponent:.2f} (last step "
        f"{math.log(times[-1] / times[-2]) / math.log(counts[-1] / counts[-2]):.2f}), "
        f"memory exponent {memory:.2f};",
        "; ".join(
            f"{count} vertices {1e3 * took:.2f} ms {peak / 1e6:.2f} MB"
            for count, took, peak in rows
        ),
        file=sys.stdout,
    )
    assert exponent <= MOST_EXPONENT
