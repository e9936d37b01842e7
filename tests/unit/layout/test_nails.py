"""Nails counted and placed by hand."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely

from roof3d.catalog.laying import Border, Nailing
from roof3d.layout.model import Course, Direction, Floats, Pieces, Side
from roof3d.layout.nails.sheets import nail_sheets
from roof3d.layout.nails.shingles import nail_shingles
from roof3d.layout.nails.strips import nail_strip
from roof3d.layout.trim import trim
from roof3d.layout.zones import Zoned, wind_zones
from roof3d.spec.model import Zones

INCH = 0.0254
SHINGLE = Nailing(
    fastener="nail", source="", per_piece=4, per_piece_wind=6, line=6 * INCH, inset=1 * INCH
)
BASE = Nailing(
    fastener="cap-nail", source="", lap_spacing=9 * INCH, lap_start=9 * INCH,
    field_spacing=18 * INCH, field_rows=2,
)  # fmt: skip
METAL = Nailing(
    fastener="nail", source="", lap_spacing=12 * INCH, lap_start=1 * INCH,
    strip_rows=2, strip_first=1 * INCH, strip_between=2 * INCH,
)  # fmt: skip


def box(*inches: float) -> shapely.Polygon:
    """A rectangle in inches, as metres."""
    return shapely.box(*(INCH * value for value in inches))


def shingles(extent: shapely.Geometry, *spans: tuple[float, float]) -> Pieces:
    """One course of shingles 12 in high over an extent, in the order given, in inches."""
    boxes = np.array([[start, 0.0, end, 12.0] for start, end in spans]) * INCH
    done = trim(boxes, extent)
    ones = np.ones(len(boxes), dtype=np.int64)
    return Pieces(
        boxes=boxes, course=ones, place=ones.cumsum(), areas=done.areas, trimmed=done.outlines
    )


def nail(pieces: Pieces, *, high_wind: bool = False) -> Floats:
    nails = nail_shingles(pieces, SHINGLE, length=36 * INCH, high_wind=high_wind)
    return np.round(nails / INCH, 4)


def test_a_whole_shingle_has_its_nails_evenly_from_inset_to_inset() -> None:
    pieces = shingles(box(0, 0, 36, 12), (0, 36))
    assert nail(pieces).tolist() == [[1, 6], [12.3333, 6], [23.6667, 6], [35, 6]]
    assert nail(pieces, high_wind=True)[:, 0].tolist() == [1, 7.8, 14.6, 21.4, 28.2, 35]


def test_a_cut_shingle_keeps_the_nails_that_stand_off_its_cut() -> None:
    # The first begins 12 in after the whole shingle would, so keeps 24 of its 36 in.
    pieces = shingles(box(0, 0, 100, 12), (0, 24), (24, 60), (60, 74))
    across = nail(pieces)[:, 0].tolist()
    first, whole, last = across[:2], across[2:6], across[6:]
    assert first == [11.6667, 23]
    assert whole == [25, 36.3333, 47.6667, 59]
    assert last == [61, 72.3333]


def test_a_mirrored_course_is_nailed_alike() -> None:
    pieces = shingles(box(0, 0, 100, 12), (76, 100), (40, 76), (26, 40))
    assert sorted(100 - nail(pieces)[:, 0]) == pytest.approx(
        sorted(nail(shingles(box(0, 0, 100, 12), (0, 24), (24, 60), (60, 74)))[:, 0]), abs=1e-3
    )


def test_a_short_piece_has_two_nails_and_a_very_narrow_one_its_middle() -> None:
    # Of the full pattern only the nail at 37 would stand on the piece from 36 to 46.
    pieces = shingles(box(0, 0, 100, 12), (0, 36), (36, 46))
    assert nail(pieces)[4:].tolist() == [[37, 6], [45, 6]]
    narrow = shingles(box(0, 0, 100, 12), (0, 36), (36, 38))
    assert nail(narrow)[4:].tolist() == [[37, 6]]


def test_nails_stay_on_what_a_hip_leaves_and_an_inset_off_the_cut() -> None:
    # The hip runs from (0, 0) to (12, 12): at the nail line the shingle begins at 6 in.
    extent = shapely.Polygon(
        [(0, 0), (36 * INCH, 0), (36 * INCH, 12 * INCH), (12 * INCH, 12 * INCH)]
    )
    pieces = shingles(extent, (0, 36))
    assert nail(pieces).tolist() == [[12.3333, 6], [23.6667, 6], [35, 6]]


def test_where_the_ridge_lies_below_the_nail_line_nails_stand_half_way_up_what_is_left() -> None:
    pieces = shingles(box(0, 0, 36, 4), (0, 36))
    assert nail(pieces)[:, 1].tolist() == [2, 2, 2, 2]


# An opening that begins where the shingle does, but for rounding, leaves a whisker 2e-16 m wide.
def test_a_whisker_beside_an_opening_holds_no_nail() -> None:
    low = shapely.box(0, 0, 36 * INCH, 3 * INCH)
    whisker = shapely.box(0, 3 * INCH, 2e-16, 12 * INCH)
    pieces = shingles(box(0, 0, 36, 12), (0, 36))
    rest = replace(pieces, trimmed={0: shapely.union(low, whisker)})
    assert nail(rest).tolist() == [[1, 1.5], [12.3333, 1.5], [23.6667, 1.5], [35, 1.5]]


def test_a_notched_shingle_is_nailed_on_both_sides_of_the_notch() -> None:
    pieces = shingles(box(0, 0, 36, 12).difference(box(10, 4, 14, 12)), (0, 36))
    assert nail(pieces)[:, 0].tolist() == [1, 23.6667, 35]


def course(number: int, low: float, high: float) -> Course:
    return Course(number=number, low=low * INCH, high=high * INCH)


# A sheet 20 ft by 3 ft. Edge rows 1 in inside: 238 in long, from 9 in off their ends 220 in at
# most 9 apart: 25 steps, 26 nails, below and above. The ends: 34 in, 16 in in 2 steps, 3 nails,
# twice. Field rows at 12 and 24 in: 240 in, 222 in at most 18 apart: 13 steps, 14 nails, and in
# the row between them 13.
def test_one_sheet_counted_by_hand() -> None:
    nails = nail_sheets(
        [course(1, 0, 36)], direction=Direction.ACROSS, side_lap=2 * INCH, nailing=BASE,
        extent=box(0, 0, 240, 36),
    )  # fmt: skip
    assert len(nails) == 2 * 26 + 2 * 3 + 14 + 13
    heights, counts = np.unique(np.round(nails[:, 1] / INCH, 4), return_counts=True)
    assert dict(zip(heights.tolist(), counts.tolist(), strict=True)) == {
        1.0: 26, 10.0: 2, 12.0: 14, 18.0: 2, 24.0: 13, 26.0: 2, 35.0: 26,
    }  # fmt: skip
    lower = np.sort(nails[np.abs(nails[:, 1] - 12 * INCH) < 1e-9, 0])
    upper = np.sort(nails[np.abs(nails[:, 1] - 24 * INCH) < 1e-9, 0])
    assert np.abs((lower[:-1] + lower[1:]) / 2 - upper).max() < 1e-9


# Two sheets of 36 in that lap 2 in, 20 ft long: the row in the lap 240 in long, 222 in at most
# 9 apart: 25 steps, 26 nails. Between the laps are 34 in each: rows at 11 1/3 and 22 2/3 in.
def test_a_side_lap_has_a_row_in_its_middle() -> None:
    nails = nail_sheets(
        [course(1, 0, 36), course(2, 34, 70)], direction=Direction.ACROSS, side_lap=2 * INCH,
        nailing=BASE, extent=box(0, 0, 240, 70),
    )  # fmt: skip
    inner = (nails[:, 0] > 2 * INCH) & (nails[:, 0] < 238 * INCH)
    rows = np.round(nails[inner, 1] / INCH, 4).tolist()
    assert rows.count(35.0) == 26
    assert [rows.count(v) for v in (11.3333, 22.6667, 47.3333, 58.6667)] == [14, 13, 14, 13]
    # Ends: 68 in, 50 in in 6 steps, 7 nails.
    assert len(nails) == 26 + 2 * 26 + 2 * 7 + 2 * (14 + 13)


def test_sheets_along_the_slope_are_nailed_as_those_across_it() -> None:
    across = nail_sheets(
        [course(1, 0, 36), course(2, 34, 70)], direction=Direction.ACROSS, side_lap=2 * INCH,
        nailing=BASE, extent=box(0, 0, 240, 70),
    )  # fmt: skip
    for turned in ([(0, 36), (34, 70)], [(34, 70), (0, 36)]):
        along = nail_sheets(
            [course(k, *sides) for k, sides in enumerate(turned, 1)], direction=Direction.ALONG,
            side_lap=2 * INCH, nailing=BASE, extent=box(0, 0, 70, 240),
        )  # fmt: skip
        places = sorted(map(tuple, np.round(along[:, ::-1], 9).tolist()))
        assert places == sorted(map(tuple, np.round(across, 9).tolist()))


def test_only_free_edges_are_nailed() -> None:
    points = [(0.0, 0.0), (240 * INCH, 0.0), (240 * INCH, 36 * INCH), (0.0, 36 * INCH)]
    borders = [Border.EAVE, Border.RAKE, Border.RIDGE, Border.SIDEWALL]
    sides = [
        Side(border=border, edge="", start=start, end=end)
        for border, start, end in zip(borders, points, points[1:] + points[:1], strict=True)
    ]
    nails = nail_sheets(
        [course(1, 0, 36)], direction=Direction.ACROSS, side_lap=2 * INCH,
        nailing=replace(BASE, field_rows=0), extent=box(0, 0, 240, 36), sides=sides,
    )  # fmt: skip
    assert len(nails) == 26 + 3  # eave and rake
    assert nails[:, 1].max() < 27 * INCH
    assert nails[:, 0].min() > 9 * INCH


def test_what_nothing_lies_over_is_nailed_in_its_laps_alone() -> None:
    courses = [Course(number=1, low=0.0, high=36 * INCH)]
    courses += [Course(number=2, low=34 * INCH, high=70 * INCH)]
    nails = nail_sheets(
        courses,
        direction=Direction.ACROSS,
        side_lap=2 * INCH,
        nailing=replace(BASE, field_rows=0),
        extent=box(0, 0, 300, 60),
        edge_rows=False,
    )
    assert set(np.round(nails[:, 1] / INCH, 6)) == {35.0}


@pytest.mark.parametrize(
    ("top", "rows"), [(53, [9.5, 26.5, 43.5]), (50, [9.5, 26.5, 42]), (37, [9.5, 26.5])]
)
def test_a_lap_cut_at_the_top_keeps_its_nails_off_the_edge(top: float, rows: list[float]) -> None:
    """Half-lapped sheets, 36 in that show 17: 2 in of cover round a nail, or no row there."""
    heads = [19, 36, 53, 70]
    lows = [0, 0, 17, 34]
    courses = [
        Course(number=k, low=low * INCH, high=high * INCH)
        for k, (low, high) in enumerate(zip(lows, heads, strict=True), 1)
    ]
    nails = nail_sheets(
        courses,
        direction=Direction.ACROSS,
        side_lap=19 * INCH,
        nailing=replace(BASE, field_rows=0),
        extent=box(0, 0, 300, top),
        edge_rows=False,
    )
    assert sorted(set(np.round(nails[:, 1] / INCH, 6))) == pytest.approx(rows)


def test_a_row_is_parted_by_an_opening() -> None:
    extent = box(0, 0, 240, 70).difference(box(100, 30, 140, 40))
    nails = nail_sheets(
        [course(1, 0, 36), course(2, 34, 70)], direction=Direction.ACROSS, side_lap=2 * INCH,
        nailing=replace(BASE, field_rows=0), extent=extent,
    )  # fmt: skip
    lap = np.sort(nails[np.abs(nails[:, 1] - 35 * INCH) < 1e-9, 0]) / INCH
    # 100 in on either side: 82 in in 10 steps, 11 nails, the last 9 in off the opening. At either
    # end and beside the opening the middle nail of an edge row stands on the same line.
    assert len(lap) == 2 * 11 + 2 + 2
    assert lap[[0, 1, 11, 12, 13, 14, 24, 25]] == pytest.approx([1, 9, 91, 99, 141, 149, 231, 239])


def test_corners_and_perimeter_are_nailed_closer() -> None:
    nailing = replace(BASE, field_rows=0, perimeter_share=0.5, corner_share=1 / 3)
    zones = Zoned(perimeter=box(60, 0, 180, 70), corner=box(180, 0, 240, 70))
    nails = nail_sheets(
        [course(1, 0, 36), course(2, 34, 70)], direction=Direction.ACROSS, side_lap=2 * INCH,
        nailing=nailing, extent=box(0, 0, 240, 70), zones=zones,
    )  # fmt: skip
    lap = np.sort(nails[np.abs(nails[:, 1] - 35 * INCH) < 1e-9, 0]) / INCH
    lap = lap[(lap > 2) & (lap < 238)]
    # From 9 to 60 at 9, to 180 at 4 1/2, to 231 at 3: 51/9 + 120/4.5 + 51/3 = 49.33 steps, so 50.
    assert len(lap) == 51
    steps = np.diff(lap)
    middles = (lap[1:] + lap[:-1]) / 2
    assert steps[middles < 55] == pytest.approx(9 * 49.333333 / 50)
    assert steps[(middles > 65) & (middles < 175)] == pytest.approx(4.5 * 49.333333 / 50)
    assert steps[middles > 185] == pytest.approx(3 * 49.333333 / 50)


# Turned down 2 in over an eave: its row lies 1 in below the plane and still in the zone: 238 in
# between the rows of the sides, less 9 in at either end, 220 in at 4 1/2 in at most: 49 steps.
def test_what_is_turned_down_over_an_edge_is_nailed_as_its_zone() -> None:
    eave = Side(border=Border.EAVE, edge="", start=(0.0, 0.0), end=(240 * INCH, 0.0))
    zones = wind_zones(
        [eave], box(0, 0, 240, 70), 36 * INCH, slope=0.0, zones=Zones.ASCE_7_10
    )  # fmt: skip
    nails = nail_sheets(
        [course(1, -2, 34), course(2, 32, 68)], direction=Direction.ACROSS, side_lap=2 * INCH,
        nailing=replace(BASE, field_rows=0, perimeter_share=0.5), extent=box(0, -2, 240, 70),
        zones=zones,
    )  # fmt: skip
    row = nails[np.abs(nails[:, 1] + INCH) < 1e-9, 0] / INCH
    assert len(row) == 50
    assert np.diff(np.sort(row)) == pytest.approx(220 / 49)


# Metal on 20 ft: 240 in, nails from 1 to 239 in: 238 in at most 12 apart, 20 steps, 21 nails;
# the other row between them, 20.
def test_a_metal_strip_has_staggered_rows() -> None:
    pieces = np.array([[0, 120], [116, 236], [232, 240]]) * INCH
    nails = nail_strip(pieces, 4 * INCH, METAL, high_wind=False) / INCH
    first, second = (nails[np.abs(nails[:, 1] - inward) < 1e-9, 0] for inward in (1, 3))
    assert (len(first), len(second), len(nails)) == (21, 20, 41)
    assert first[[0, 1, -1]] == pytest.approx([1, 12.9, 239])
    assert second == pytest.approx((first[1:] + first[:-1]) / 2)


def test_starter_pieces_have_their_nails_each_more_in_high_wind() -> None:
    rule = replace(SHINGLE, line=1.5 * INCH)
    pieces = np.array([[0, 30], [30, 66], [66, 68]]) * INCH
    nails = np.round(nail_strip(pieces, 7 * INCH, rule, high_wind=False) / INCH, 4)
    assert nails[:, 0].tolist() == [1, 10.3333, 19.6667, 29, 31, 42.3333, 53.6667, 65, 67]
    assert set(nails[:, 1].tolist()) == {1.5}
    assert len(nail_strip(pieces, 7 * INCH, rule, high_wind=True)) == 6 + 6 + 1


# Hip pieces of 12 by 12 in at 5 in exposure, a nail on each side, 6 in up from the lower end.
def test_pieces_across_a_hip_are_nailed_on_both_sides() -> None:
    rule = replace(SHINGLE, per_piece=2)
    pieces = np.array([[0, 12], [5, 17]]) * INCH
    nails = nail_strip(pieces, 12 * INCH, rule, high_wind=False, across=True)
    assert np.round(nails / INCH, 6).tolist() == [[6, 1], [6, 11], [11, 1], [11, 11]]


def test_what_is_not_nailed_has_no_nails() -> None:
    bare = Nailing(fastener="nail", source="")
    extent = box(0, 0, 36, 12)
    pieces = shingles(extent, (0, 36))
    assert [
        nail_shingles(pieces, bare, length=36 * INCH, high_wind=True).shape,
        nail_strip(np.array([[0.0, 1.0]]), 0.1, bare, high_wind=True).shape,
        nail_sheets(
            [course(1, 0, 12)], direction=Direction.ACROSS, side_lap=0.05, nailing=bare,
            extent=extent,
        ).shape,
        nail_sheets(
            [course(1, 0, 12)], direction=Direction.ACROSS, side_lap=0.05, nailing=BASE,
            extent=shapely.Polygon(),
        ).shape,
    ] == [(0, 2)] * 4  # fmt: skip


# 36 in sheets half lapped by 19 over a 19 in strip, 240 by 53 in: laps at 0 to 19, 17 to 36 and 34
# to 53, their rows at 9.5, 26.5 and 43.5. Eave and head have their own row, 2 in in.
def test_half_lapped_sheets_are_nailed_at_their_edges_too_and_nowhere_twice() -> None:
    spans = [(0, 19), (0, 36), (17, 53), (34, 70)]
    courses = [
        Course(number=k, low=low * INCH, high=high * INCH) for k, (low, high) in enumerate(spans, 1)
    ]
    rule = replace(BASE, field_rows=0)
    nails = nail_sheets(
        courses,
        direction=Direction.ACROSS,
        side_lap=19 * INCH,
        nailing=rule,
        extent=box(0, 0, 240, 53),
    )
    rows = np.round(nails[:, 1] / INCH, 3)
    along = nails[np.isclose(nails[:, 0] / INCH, 9.0, atol=0.01)]
    assert sorted(np.round(along[:, 1] / INCH, 2).tolist()) == [9.5, 26.5, 43.5]
    assert {2.0, 51.0} <= set(rows.tolist())
    apart = np.linalg.norm(nails[:, None] - nails[None, :], axis=2)
    assert apart[~np.eye(len(nails), dtype=bool)].min() > 2 * INCH
