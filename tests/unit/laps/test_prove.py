"""Small piles by hand, each with one fault whose place and numbers are known."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely

from roof3d.laps.model import Border, Face, FaultKind, LapPiece, PieceKind, Rim, Surface
from roof3d.laps.prove import check_laps

WIDE, HIGH = 6.0, 2.7


def _surface() -> Surface:
    ends = [(0.0, 0.0), (WIDE, 0.0), (WIDE, HIGH), (0.0, HIGH), (0.0, 0.0)]
    rims = (Rim.EAVE, Rim.RAKE, Rim.CLOSED, Rim.RAKE)
    borders = tuple(
        Border(rim=rim, start=a, end=b, within=0.03)
        for rim, a, b in zip(rims, ends, ends[1:], strict=False)
    )
    region = shapely.box(0.0, 0.0, WIDE, HIGH)
    return Surface(faces=(Face(id="p", region=region, flow=(0.0, -1.0), borders=borders),))


def _cap(course: int, low: float, high: float) -> LapPiece:
    return LapPiece(
        id=f"cap{course}",
        layer="cap",
        kind=PieceKind.SHEET,
        order=float(course),
        shape=shapely.box(0.0, low, WIDE, high),
        row_lap=0.1,
        end_lap=0.15,
        other_lap=0.1,
        bonded=True,
        weathers=True,
        course=course,
    )


RIGHT = (_cap(1, 0.0, 1.0), _cap(2, 0.9, 1.9), _cap(3, 1.8, HIGH))


def _kinds(pieces: tuple[LapPiece, ...]) -> set[FaultKind]:
    return {fault.kind for fault in check_laps(_surface(), pieces)}


def test_a_right_pile_has_no_fault() -> None:
    """Three courses, each over the one below by its lap."""
    assert check_laps(_surface(), RIGHT) == ()


def test_a_layer_that_is_asked_for_lies_everywhere() -> None:
    """A base of two courses under the cap; without one of them 6 by 0.9 m are missing."""
    (face,) = _surface().faces
    asked = Surface(faces=(replace(face, asked=(("base", face.region),)),))
    base = tuple(
        replace(_cap(k, low, high), id=f"base{k}", layer="base", order=k / 8.0, weathers=False)
        for k, low, high in ((1, 0.0, 0.9), (2, 0.8, 1.8), (3, 1.7, HIGH))
    )
    assert check_laps(asked, (*base, *RIGHT)) == ()
    (fault,) = (
        fault
        for fault in check_laps(asked, (*base[:2], *RIGHT))
        if fault.kind is FaultKind.LEFT_OUT
    )
    assert fault.layers == ("base",)
    assert fault.reached == pytest.approx(WIDE * 0.9, abs=0.15)
    (fault,) = check_laps(asked, RIGHT)
    assert fault.reached == pytest.approx(WIDE * HIGH, abs=0.15)


def test_a_turned_lap_is_back_water_at_its_place() -> None:
    """The fault lies in the lap that is turned, and names both pieces."""
    (fault,) = check_laps(_surface(), (RIGHT[0], replace(RIGHT[1], order=9.0), RIGHT[2]))
    assert fault.kind is FaultKind.BACK_WATER
    assert set(fault.pieces) == {"cap2", "cap3"}
    assert 1.8 <= fault.at[1] <= 1.9


@pytest.mark.parametrize("short", [0.01, 0.05, 0.09])
def test_a_short_lap_tells_what_is_left_of_it(short: float) -> None:
    """What is reached is the lap less what it lacks."""
    pieces = (RIGHT[0], _cap(2, 0.9 + short, 1.9), RIGHT[2])
    faults = check_laps(_surface(), pieces)
    assert {fault.kind for fault in faults} == {FaultKind.SHORT_LAP}
    assert min(fault.reached for fault in faults) == pytest.approx(0.1 - short, abs=3e-3)
    assert {fault.wanted for fault in faults} == {0.1}


def test_a_gap_shows_the_deck_and_leaves_a_butt_in_air() -> None:
    """A course that misses the one below is told three ways."""
    kinds = _kinds((RIGHT[0], _cap(2, 1.1, 1.9), RIGHT[2]))
    assert {FaultKind.BARE, FaultKind.BUTT_IN_AIR, FaultKind.SHORT_LAP} == kinds


def test_a_head_below_the_wall_is_bare() -> None:
    """The last course ends short of what closes it."""
    kinds = _kinds((*RIGHT[:2], _cap(3, 1.8, 2.5)))
    assert kinds == {FaultKind.HEAD_BARE, FaultKind.BARE}


def test_a_sheet_head_is_not_closed_by_shingles() -> None:
    """Joints of shingles let water through: they shed, and close no sheet."""
    shingle = LapPiece(
        id="s",
        layer="shingles",
        kind=PieceKind.SHINGLE,
        order=9.0,
        shape=shapely.box(0.0, 2.0, WIDE, HIGH),
        weathers=True,
    )
    low = (*RIGHT[:2], _cap(3, 1.8, 2.5), shingle)
    assert _kinds(low) == {FaultKind.HEAD_BARE}
    closing = replace(shingle, id="band", layer="band", kind=PieceKind.SHEET, order=8.0)
    assert _kinds((*low, closing)) == set()


@pytest.mark.parametrize(
    ("at", "kinds"),
    [
        ((3.0, 0.95), set()),
        ((3.0, 0.5), {FaultKind.NAIL_BARE}),
        ((3.0, 0.91), {FaultKind.NAIL_BARE}),
    ],
)
def test_a_nail_lies_under_the_next_piece(at: tuple[float, float], kinds: set[FaultKind]) -> None:
    """In the lap it is covered all round; in the field, or at the edge of the lap, it is not."""
    nailed = replace(RIGHT[0], nails=np.array([at]), nail_cover=0.04)
    assert _kinds((nailed, *RIGHT[1:])) == kinds


def test_names_decide_nothing() -> None:
    """Other ids and layer names give the same faults at the same places."""
    wrong = (RIGHT[0], replace(RIGHT[1], order=9.0), RIGHT[2])
    named = tuple(replace(p, id=f"x{9 - k}", layer="q") for k, p in enumerate(wrong))
    seen = [(f.kind, f.at, f.reached) for f in check_laps(_surface(), wrong)]
    assert seen == [(f.kind, f.at, f.reached) for f in check_laps(_surface(), named)]


def test_end_laps_of_neighbouring_rows_keep_their_stagger() -> None:
    """Two rows of two sheets: ends 1.5 m apart pass, ends 0.2 m apart do not."""

    def row(course: int, low: float, high: float, cut: float) -> tuple[LapPiece, ...]:
        whole = replace(_cap(course, low, high), stagger=0.9)
        left, right = (0.0, cut + 0.15), (cut, WIDE)
        return tuple(
            replace(
                whole,
                id=f"{course}.{k}",
                order=course + 0.1 * k,
                shape=shapely.box(a, low, b, high),
            )
            for k, (a, b) in enumerate((left, right))
        )

    rows = (*row(1, 0.0, 1.0, 2.0), *row(2, 0.9, 1.9, 3.5), *row(3, 1.8, HIGH, 2.0))
    assert check_laps(_surface(), rows) == ()
    near = (*row(1, 0.0, 1.0, 2.0), *row(2, 0.9, 1.9, 2.2), *row(3, 1.8, HIGH, 4.0))
    (fault,) = check_laps(_surface(), near)
    assert fault.kind is FaultKind.STACKED
    assert fault.reached == pytest.approx(0.2, abs=1e-9)


def test_edge_metal_over_a_sheet_traps_its_water() -> None:
    """At an eave metal lies under loose sheets; over one, it drinks what the sheet brings."""
    felt = replace(_cap(1, 0.0, HIGH), id="felt", layer="felt", bonded=False)
    metal = LapPiece(
        id="metal",
        layer="metal",
        kind=PieceKind.METAL,
        order=0.5,
        shape=shapely.box(0.0, 0.0, WIDE, 0.05),
        other_lap=0.05,
        weathers=True,
        turned_down=True,
    )
    assert _kinds((felt, metal)) == set()
    assert FaultKind.BACK_WATER in _kinds((felt, replace(metal, order=5.0)))
