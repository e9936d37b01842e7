"""What must hold for every row of pieces, and for the strips of any roof."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from roof3d.layout.strips.run import joint_distance, run_pieces
from roof3d.roof.model import Kind, Role
from tests.model_text import built, mirrored
from tests.property.strategies import SETTINGS, piles
from tests.unit.layout.strip_cases import strips_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from roof3d.roof.model import Roof
    from tests.model_text import Block

#: Metres; rounding, and what counts as reached (a row may end a thousandth of a millimetre short
#: of one more piece).
MERGE = 1e-6
FINE = 1e-9


@st.composite
def rows(draw: st.DrawFn) -> dict[str, float]:
    piece = draw(st.sampled_from([0.3, 0.9144, 1.0, 3.0, 3.048]))
    lap = draw(st.sampled_from([0.0, 0.05, 0.1, 0.1778]))
    return {
        "length": draw(st.floats(0.02, 40.0)),
        "piece": piece,
        "lap": lap,
        "first": draw(st.one_of(st.just(0.0), st.floats(lap + 0.01, piece))),
        "shortest": draw(st.sampled_from([0.0, 0.05, 0.15])),
        "before": draw(st.sampled_from([0.0, 0.1])),
        "after": draw(st.sampled_from([0.0, 0.1])),
    }


@SETTINGS
@given(rows())
def test_a_row_covers_its_edge_with_exact_laps_and_the_least_number(row: dict[str, float]) -> None:
    pieces = run_pieces(**row)  # type: ignore[arg-type]
    lengths = pieces[:, 1] - pieces[:, 0]
    low, high = -row["before"], row["length"] + row["after"]
    assert (pieces[0, 0], pieces[-1, 1]) == (low, high)
    assert pieces[:-1, 1] - pieces[1:, 0] == pytest.approx(
        np.full(len(pieces) - 1, row["lap"]), abs=FINE
    )
    assert lengths.max() <= row["piece"] + MERGE
    if len(pieces) > 1:
        assert lengths[-1] >= row["shortest"] - FINE
        assert lengths[0] <= (row["first"] or row["piece"]) + FINE
    # One piece less, each as long as it may be, does not reach: so none could.
    less = len(pieces) - 2
    gain = row["piece"] - row["lap"]
    assert len(pieces) == 1 or (row["first"] or row["piece"]) + less * gain < high - low or (
        len(pieces) == 2 and row["piece"] < high - low
    )  # fmt: skip


@SETTINGS
@given(rows(), st.lists(st.floats(0.0, 40.0), max_size=30), st.sampled_from([0.0, 0.0762, 0.3]))
def test_moving_joints_keeps_a_row_whole_and_never_brings_them_nearer(
    row: dict[str, float], places: list[float], apart: float
) -> None:
    plain = run_pieces(**row)  # type: ignore[arg-type]
    moved = run_pieces(**row, avoid=places, apart=apart)  # type: ignore[arg-type]
    assert (moved[0, 0], moved[-1, 1]) == (plain[0, 0], plain[-1, 1])
    assert moved[:-1, 1] - moved[1:, 0] == pytest.approx(
        np.full(len(moved) - 1, row["lap"]), abs=FINE
    )
    assert (moved[:, 1] - moved[:, 0]).max() <= row["piece"] + MERGE
    assert moved[0, 1] - moved[0, 0] >= min(row["shortest"], plain[0, 1] - plain[0, 0]) - FINE
    assert min(apart, joint_distance(plain, places)) <= joint_distance(moved, places) + MERGE


@SETTINGS
@given(rows(), st.integers(0, 3))
def test_extra_pieces_are_added_and_change_no_other(row: dict[str, float], extra: int) -> None:
    plain = run_pieces(**row)  # type: ignore[arg-type]
    more = run_pieces(**row, extra=extra)  # type: ignore[arg-type]
    assert more[: len(plain)].tolist() == plain.tolist()
    assert len(more) == len(plain) + extra
    assert (more[len(plain) :, 1] == row["length"]).all()


@SETTINGS
@given(piles())
def test_every_edge_named_by_an_assembly_has_its_strip_once(pile: tuple[Block, ...]) -> None:
    roof = built(*pile).roof
    strips, _ = strips_of(roof)
    ridges = Counter(strip.edge for strip in strips.values() if strip.rule == "ridge")
    steep = {plane.id for plane in roof.planes if plane.kind is Kind.STEEP}
    assert ridges == Counter(
        edge.id
        for edge in roof.edges
        if edge.role in {Role.RIDGE, Role.HIP} and steep & set(edge.planes)
    )
    metals = Counter(
        strip.edge
        for strip in strips.values()
        if strip.rule == "edge-metal" and len(roof.edge(strip.edge).planes) == 1
    )
    assert metals == Counter(edge.id for edge in roof.edges if edge.role in {Role.EAVE, Role.RAKE})


@SETTINGS
@given(piles())
def test_every_strip_covers_its_edge(pile: tuple[Block, ...]) -> None:
    roof = built(*pile).roof
    strips, _ = strips_of(roof)
    for strip in strips.values():
        assert strip.length == roof.edge(strip.edge).length
        assert strip.pieces[0, 0] == 0.0
        assert strip.pieces[:, 1].max() >= strip.length - MERGE
        assert (strip.pieces[1:, 0] <= strip.pieces[:-1, 1] - strip.lap + FINE).all()


def _mirrored(pile: Sequence[Block]) -> list[Block]:
    seen = [mirrored(block) for block in pile]
    # What a mirror leaves of zero is no length that a file may hold.
    return [replace(b, at=(round(b.at[0], 9), round(b.at[1], 9))) for b in seen]


def _edges(roof: Roof) -> list[tuple[str, float]]:
    return sorted((edge.role.value, edge.length) for edge in roof.edges)


def _counts(roof: Roof) -> list[tuple[str, str, float, int, int]]:
    strips, _ = strips_of(roof)
    return sorted(
        (s.rule, s.material, s.length, len(s.pieces), len(s.nails)) for s in strips.values()
    )


@SETTINGS
@given(piles())
def test_a_mirrored_roof_has_the_same_strips(pile: tuple[Block, ...]) -> None:
    roof, seen = built(*pile).roof, built(*_mirrored(pile)).roof
    # Where sections graze each other, snapping may part an edge in one mirror only.
    edges, others = _edges(roof), _edges(seen)
    assume([edge[0] for edge in edges] == [edge[0] for edge in others])
    assume(all(abs(a[1] - b[1]) < MERGE / 2 for a, b in zip(edges, others, strict=True)))
    here, there = _counts(roof), _counts(seen)
    assert [one[:2] for one in here] == [one[:2] for one in there]
    assert [one[2] for one in here] == pytest.approx([one[2] for one in there], abs=MERGE)
    assert sum(one[3] for one in here) == sum(one[3] for one in there)
    assert sum(one[4] for one in here) == sum(one[4] for one in there)
