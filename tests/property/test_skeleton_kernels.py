"""The float kernel against the exact one, where everything happens at once.

Cells of one size, plain, turned or sheared. The two may differ in two classes, each with more
than one right answer (``roof_agreement`` says why): fronts in line with unlike slopes, where the
exact kernel sees no tie that rounding of a turned outline has broken; and coplanar fronts that
merge, whose surface is compared as one.
"""

from __future__ import annotations

import collections
import math

import numpy as np
import pytest

from roof3d.errors import GeometryError
from roof3d.skeleton import faces
from roof3d.skeleton.faces import FaceRings
from tests.face_measures import by_edge, outline_area, plan_area
from tests.outline_data import Rings, Values
from tests.random_outlines import grid_cells, moved, random_slopes, runs_in_line
from tests.roof_agreement import faces_equal, has_overrun

#: Seeds not turned at which the order of one height decides, not rounding: the float kernel tries
#: the hits of a vertex one after the other, so that one comes after a tie in line, which the
#: exact kernel settles after it.
ORDER = {12, 620, 1068}

#: Turned seeds in which two corners that slide along vertical faces meet in floats, and miss each
#: other by a nanometre in fractions. In 253 the two faces lie on one line and look opposite ways;
#: 957 is not analysed to the end.
MISSES = {253, 957}

PLACINGS = ("plain", "turned", "sheared", "sheared and turned")
KINDS = ("one", "mixed", "two", "gables")


def fuzzed(seed: int) -> tuple[str, str, Rings, Values]:
    """Return how the outline is placed, the kind of its slopes, and both."""
    rng = np.random.default_rng(10_000 + seed)
    placing, kind = PLACINGS[seed % 4], KINDS[seed // 4 % 4]
    rings = grid_cells(rng, int(rng.integers(8, 40)))
    shear = 1.0 if "sheared" in placing else 0.0
    turn = float(rng.uniform(0.0, 6.3)) if "turned" in placing else 0.0
    rings = moved(rings, shear=shear, turn=turn)
    if kind in {"one", "mixed"}:
        return placing, kind, rings, random_slopes(rng, rings, kind)
    choices = (0.5, 1.0) if kind == "two" else (0.5, 0.5, 0.5, math.inf)
    slopes = []
    for ring in rings:
        chosen = {n: float(rng.choice(choices)) for n in sorted(set(runs_in_line(ring)))}
        slopes.append(tuple(chosen[n] for n in runs_in_line(ring)))
    if not any(math.isfinite(slope) for slope in slopes[0]):
        slopes[0] = (0.5,) * len(slopes[0])
    return placing, kind, rings, tuple(slopes)


def roof(rings: Rings, slopes: Values, *, exact: bool) -> tuple[tuple[FaceRings, ...], ...] | None:
    """Find the faces; None where planes never close."""
    try:
        return faces(rings, slopes, exact=exact)
    except GeometryError as error:
        if error.code != "R3D-UNBOUNDED":
            raise
        return None


def verdict(rings: Rings, slopes: Values) -> str:
    """Say how the two kernels compare."""
    quick, exact = (roof(rings, slopes, exact=way) for way in (False, True))
    there = [found for found in (quick, exact) if found is not None]
    for found in there:
        area = sum(plan_area(face) for face in by_edge(found).values())
        if not math.isclose(area, outline_area(rings), rel_tol=1e-8):
            return "area"
    if not there:
        return "unbounded"
    if quick and exact and faces_equal(quick, exact, rings, slopes):
        return "equal"
    # After a tie the winner may run on to close what the loser would have left open.
    if any(has_overrun(found, rings, slopes) for found in there):
        return "in line"
    return "differ"


def tally_of(seeds: range) -> collections.Counter[tuple[str, str, str]]:
    """Compare the kernels on fuzzed outlines; what no class explains fails here."""
    tally: collections.Counter[tuple[str, str, str]] = collections.Counter()
    for seed in seeds:
        placing, kind, rings, slopes = fuzzed(seed)
        said = verdict(rings, slopes)
        tally[kind, placing, said] += 1
        expected = {"equal", "in line", "unbounded"} if seed not in MISSES else {"differ"}
        assert said in expected, (seed, placing, kind, said)
        # One slope leaves no tie of slopes, and what is not turned is exact in floats too.
        assert said == "equal" or kind != "one", (seed, said)
        assert said != "in line" or "turned" in placing or seed in ORDER, (seed, said)
    print(sorted(tally.items()))  # noqa: T201 - the counts are what one runs this for
    return tally


def test_kernels_agree_on_fuzzed_cells() -> None:
    tally = tally_of(range(96))
    assert sum(count for (*_, said), count in tally.items() if said == "equal") >= 85


@pytest.mark.heavy
def test_kernels_agree_on_many_fuzzed_cells() -> None:
    tally = tally_of(range(1600))
    assert sum(count for (*_, said), count in tally.items() if said == "equal") >= 1400
