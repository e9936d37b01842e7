"""Eave outlines for property tests, mostly on a coarse grid so that ties are common.

``ROOF3D_EXAMPLES`` sets the number of examples of a long search, fresh ones each time.
"""

from __future__ import annotations

import math
import os
from dataclasses import dataclass

import numpy as np
import shapely
from hypothesis import HealthCheck, Phase, assume, settings
from hypothesis import strategies as st
from hypothesis.strategies import DrawFn, SearchStrategy

from roof3d.errors import GeometryError
from roof3d.skeleton import faces
from roof3d.skeleton.faces import FaceRings
from tests.outline_data import Point, Rings, Values, same_everywhere
from tests.random_outlines import moved, polyomino, rings_of, runs_in_line

EXAMPLES = int(os.environ.get("ROOF3D_EXAMPLES", "0"))

SETTINGS = settings(
    max_examples=EXAMPLES or 300,
    derandomize=not EXAMPLES,
    phases=[Phase.generate, Phase.shrink] if EXAMPLES else [Phase.generate],
    database=None,
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much],
)

SLOPES = (0.25, 0.5, 0.75, 1.0, 1.5)


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """An outline and its slopes."""

    rings: Rings
    slopes: Values


Roof = tuple[tuple[FaceRings, ...], ...]


def solved(case: Case, *, exact: bool = False) -> Roof:
    """Find the faces; an outline whose vertical edges seal something off is passed over."""
    try:
        return faces(case.rings, case.slopes, exact=exact)
    except GeometryError as error:
        vertical = any(math.isinf(slope) for ring in case.slopes for slope in ring)
        if error.code != "R3D-UNBOUNDED" or not vertical:
            raise
        assume(condition=False)
        raise


@st.composite
def cells(draw: DrawFn) -> Rings:
    """L, T, U, crosses, combs, with and without holes: cells of 2 m, or between odd lines."""
    width, height = draw(st.integers(1, 5)), draw(st.integers(1, 5))
    filled = draw(st.lists(st.booleans(), min_size=width * height, max_size=width * height))
    full = np.array(filled).reshape(width, height)
    full[0, 0] = True
    gaps = st.integers(1, 6) if draw(st.booleans()) else st.just(4)
    lines = [
        np.cumsum([0, *draw(st.lists(gaps, min_size=n, max_size=n))]) / 2.0 for n in (width, height)
    ]
    return polyomino(full, lines[0], lines[1])


@st.composite
def hulls(draw: DrawFn) -> Rings:
    """Convex outlines with corners on a grid of half a metre."""
    point = st.tuples(st.integers(0, 24), st.integers(0, 24))
    points = draw(st.lists(point, min_size=3, max_size=12, unique=True))
    hull = shapely.MultiPoint([(x / 2.0, y / 2.0) for x, y in points]).convex_hull
    assume(hull.geom_type == "Polygon")
    return rings_of(hull)


@st.composite
def stars(draw: DrawFn) -> Rings:
    """Corners at drawn distances in all directions, on a grid of an eighth."""
    radii = draw(st.lists(st.integers(8, 30), min_size=3, max_size=16))
    ring = []
    for k, radius in enumerate(radii):
        angle = 2.0 * math.pi * k / len(radii)
        ring.append(
            (round(radius * math.cos(angle) * 4) / 8, round(radius * math.sin(angle) * 4) / 8)
        )
    assume(len(set(ring)) == len(ring))
    polygon = shapely.Polygon(ring)
    assume(polygon.is_valid)
    return rings_of(polygon)


@st.composite
def near_parallel(draw: DrawFn) -> Rings:
    """Four corners, two sides all but parallel, and a bend that is all but none."""
    skew = draw(st.sampled_from((1e-2, 1e-4, 1e-6)))
    bend = draw(st.sampled_from((-1e-2, -1e-4, 1e-4, 1e-2)))
    length, width = draw(st.integers(3, 30)), draw(st.integers(2, 12))
    return (((0.0, 0.0), (length / 2, bend), (float(length), 0.0), (float(length), width + skew),
             (0.0, float(width))),)  # fmt: skip


@st.composite
def chamfered(draw: DrawFn) -> Rings:
    """Cells with every corner of the shell cut off, down to edges of a centimetre."""
    rings = draw(cells())
    cut = draw(st.sampled_from((0.125, 0.01, 0.0075)))
    ring: list[Point] = []
    shell = rings[0]
    for k, (x, y) in enumerate(shell):
        for ox, oy in (shell[k - 1], shell[(k + 1) % len(shell)]):
            far = math.hypot(ox - x, oy - y)
            ring.append((x + (ox - x) / far * cut, y + (oy - y) / far * cut))
    return (tuple(ring), *rings[1:])


#: On a grid of dyadic fractions: a quarter turn and a mirror change no bit of it.
GRIDDED: SearchStrategy[Rings] = st.one_of(cells(), hulls(), stars())


@st.composite
def outlines(draw: DrawFn) -> Rings:
    """Draw any of them; as it is, turned, sheared, or far from the origin."""
    rings = draw(st.one_of(GRIDDED, near_parallel(), chamfered()))
    turn = draw(st.sampled_from((0.0, 0.0, math.pi / 2, math.pi / 4, 0.3, 0.001, 2.5)))
    by = draw(st.sampled_from(((0.0, 0.0), (-7.3, 2.1), (500_000.0, 5_800_000.0))))
    shear = draw(st.sampled_from((0.0, 0.0, 1.0, 0.25)))
    return moved(rings, turn=turn, by=by, shear=shear)


@st.composite
def with_slopes(
    draw: DrawFn, shapes: SearchStrategy[Rings], kinds: tuple[str, ...] = ("one", "mixed", "gables")
) -> Case:
    """Add slopes: one for all, one for each straight run, or some runs vertical."""
    rings = draw(shapes)
    kind = draw(st.sampled_from(kinds))
    if kind == "one":
        return Case(rings=rings, slopes=same_everywhere(draw(st.sampled_from(SLOPES)), rings))
    choices = (*SLOPES, math.inf, math.inf) if kind == "gables" else SLOPES
    slopes = []
    for ring in rings:
        numbers = runs_in_line(ring, 1.0)
        chosen = {number: draw(st.sampled_from(choices)) for number in sorted(set(numbers))}
        slopes.append(tuple(chosen[number] for number in numbers))
    assume(any(math.isfinite(slope) for slope in slopes[0]))
    return Case(rings=rings, slopes=tuple(slopes))


ANY = with_slopes(outlines())
ONE_SLOPE = with_slopes(outlines(), ("one",))
ON_GRID = with_slopes(GRIDDED)
