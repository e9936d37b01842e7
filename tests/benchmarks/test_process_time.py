"""Whole-process time of ``roof3d measure`` against importing the two libraries it rests on.

Run with ``pytest -m timing``. Rounds alternate between the two, so that a machine that slows down
slows both; the ratio is of the medians.
"""

from __future__ import annotations

import statistics
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

ROUNDS = 11
MOST = 3.0


def seconds(*arguments: str | Path) -> float:
    """Wall time of one Python process."""
    start = time.perf_counter()
    subprocess.run([sys.executable, *map(str, arguments)], check=True, capture_output=True)
    return time.perf_counter() - start


@pytest.mark.timing
@pytest.mark.parametrize("arguments", [(), ("--json",)], ids=["table", "json"])
def test_measure_takes_at_most_three_times_the_bare_imports(
    models: dict[str, Path], arguments: tuple[str, ...], record_property: Callable[[str, Any], None]
) -> None:
    ratios = {}
    for name, model in models.items():
        bare, measure = [], []
        for _ in range(ROUNDS):
            bare.append(seconds("-c", "import numpy, shapely"))
            measure.append(seconds("-m", "roof3d", "measure", model, *arguments))
        ratios[name] = statistics.median(measure) / statistics.median(bare)
        record_property(name, round(ratios[name], 2))
    print(ratios)  # noqa: T201 - shown by -rP: the number itself is what one runs this for
    # The first model of the tour holds the bar; larger ones add the time of their own roof.
    assert ratios["lantern-street"] <= MOST
