"""Nasty outlines kept as text, each with the reason why it is nasty."""

from __future__ import annotations

import collections
import functools
import math
import time
import warnings
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest

from roof3d.errors import GeometryError
from roof3d.skeleton import faces
from roof3d.skeleton.faces import FaceRings
from tests.engine import Engine, EngineError, needs_engine
from tests.face_measures import by_edge, edge_ends, plan_area, sides, top_of, true_area
from tests.outline_data import Rings, Values, angles_of
from tests.roof_agreement import agrees, faces_equal

FOLDER = Path(__file__).with_name("outlines")

#: Metres; tops are given to seven decimals, corners are put on a grid of a nanometre.
FINE = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """One outline of the corpus and what is known of it."""

    name: str
    rings: Rings
    slopes: Values
    facts: dict[str, str]


def parsed(text: str) -> Entry:
    """Read one paragraph: ``word: value`` on each line."""
    fields: collections.defaultdict[str, list[str]] = collections.defaultdict(list)
    for line in text.splitlines():
        word, _, value = line.partition(": ")
        fields[word].append(value)
    rings: Rings = tuple(
        tuple((float(x), float(y)) for x, y in (point.split() for point in ring.split(", ")))
        for ring in (*fields["ring"], *fields["hole"])
    )
    slopes = [tuple(float(value) for value in row.split()) for row in fields["slopes"]]
    # One value stands for every edge of its ring.
    spread = [row * len(rings[k]) if len(row) == 1 else row for k, row in enumerate(slopes)]
    facts = {word: values[0] for word, values in fields.items() if values}
    return Entry(name=facts["name"], rings=rings, slopes=tuple(spread), facts=facts)


@functools.cache
def entries(name: str) -> tuple[Entry, ...]:
    """Read one file of the corpus."""
    text = (FOLDER / f"{name}.txt").read_text()
    return tuple(parsed(paragraph) for paragraph in text.strip().split("\n\n"))


SHAPES = entries("shapes")
REFUSED = entries("refused")
each_shape = pytest.mark.parametrize("entry", SHAPES, ids=[entry.name for entry in SHAPES])
each_refused = pytest.mark.parametrize("entry", REFUSED, ids=[entry.name for entry in REFUSED])


def roof(entry: Entry, *, exact: bool = False) -> tuple[tuple[FaceRings, ...], ...]:
    """Find the faces, and see that what is said of the winding is what the text expects."""
    with warnings.catch_warnings(record=True) as said:
        warnings.simplefilter("always")
        found = faces(entry.rings, entry.slopes, exact=exact)
    expected = [f"turned the {entry.facts['turned']}"] if "turned" in entry.facts else []
    assert [str(warning.message).partition(",")[0] for warning in said] == expected
    return found


def test_corpus_is_large_and_its_names_and_reasons_are_its_own() -> None:
    names = [entry.name for entry in (*SHAPES, *REFUSED)]
    reasons = [entry.facts["why"] for entry in (*SHAPES, *REFUSED)]
    assert len(names) >= 90
    assert max(collections.Counter(names).values()) == 1
    assert all(reasons)


@each_shape
@pytest.mark.parametrize("exact", [False, True], ids=["floats", "fractions"])
def test_shape_has_the_known_top_faces_and_areas(entry: Entry, exact: bool) -> None:  # noqa: FBT001
    found = roof(entry, exact=exact)
    areas = [true_area(face) for face in by_edge(found).values()]
    assert top_of(found) == pytest.approx(float(entry.facts["top"].split()[0]), abs=FINE)
    assert len(areas) == int(entry.facts["faces"])
    plan = sum(plan_area(face) for face in by_edge(found).values())
    assert plan == pytest.approx(float(entry.facts["plan"]), rel=1e-8, abs=FINE)
    if "areas" in entry.facts:
        known = [float(area) for area in entry.facts["areas"].split()]
        assert areas == pytest.approx(known, abs=FINE)


@each_shape
def test_faces_of_a_shape_meet_side_by_side_on_their_planes(entry: Entry) -> None:
    found = roof(entry)
    alone = sum(side.beyond is None for side in sides(found))
    assert alone == sum(len(ring) for ring in entry.rings)
    if "turned" in entry.facts:
        return
    off = 0.0
    for key, face in by_edge(found).items():
        (ax, ay), (bx, by) = edge_ends(entry.rings, key)
        slope = entry.slopes[key[0]][key[1]]
        for ring in face:
            inward = (ring[:, 1] - ay) * (bx - ax) - (ring[:, 0] - ax) * (by - ay)
            inward /= math.hypot(bx - ax, by - ay)
            off = max(off, float(np.abs(inward - ring[:, 2] / slope).max()))
    # An edge of 2 micrometres on a grid of one nanometre is turned by up to 5e-4 radians.
    assert off < (2e-3 if entry.name == "needle of a notch" else FINE)


@each_shape
def test_both_kernels_make_the_same_roof(entry: Entry) -> None:
    one, two = roof(entry), roof(entry, exact=True)
    if "turned" in entry.facts:
        pairs = zip(by_edge(one).values(), by_edge(two).values(), strict=True)
        assert all(math.isclose(true_area(a), true_area(b)) for a, b in pairs)
    else:
        assert faces_equal(one, two, entry.rings, entry.slopes)


@needs_engine
def test_independent_engine_makes_the_same_roofs() -> None:
    said = {}
    with Engine() as engine:
        for entry in SHAPES:
            if "turned" in entry.facts:
                continue
            try:
                theirs = engine.roof(entry.rings, angles_of(entry.slopes))
            except EngineError as error:
                said[entry.name] = f"engine: {error}"
                continue
            verdict = agrees(roof(entry), theirs, entry.rings, entry.slopes)
            if verdict == "differs":
                said[entry.name] = verdict
    # There a rule decides, and the engine has none.
    assert said == {"fronts in line, unlike slopes": "differs"}


@each_refused
def test_what_has_no_roof_is_refused_with_its_place(entry: Entry) -> None:
    with pytest.raises(GeometryError) as caught:
        faces(entry.rings, entry.slopes)
    assert entry.facts["says"] in caught.value.message
    assert entry.facts["error"] in caught.value.where


def test_a_hundred_thousand_vertices_are_refused_at_once() -> None:
    angles = np.arange(100_000) * (2.0 * math.pi / 100_000)
    ring = 1000.0 * np.stack([np.cos(angles), np.sin(angles)], axis=1)
    start = time.perf_counter()
    with pytest.raises(GeometryError, match="100000 vertices"):
        faces([ring], [np.full(100_000, 0.5)])
    # No benchmark: a hang would take minutes.
    assert time.perf_counter() - start < 10.0


@pytest.mark.parametrize("ring", [[], [[1.0]], [["a", "b"]] * 3, [[0, 0, 0]] * 3, 7])
def test_what_is_no_array_of_corners_is_refused(ring: object) -> None:
    with pytest.raises(GeometryError) as caught:
        faces([ring], [[0.5, 0.5, 0.5]])  # type: ignore[list-item]
    assert caught.value.where == "ring 0"


def test_no_rings_are_refused() -> None:
    with pytest.raises(GeometryError, match="exterior"):
        faces([], [])
