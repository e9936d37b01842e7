"""Sheets rolled out on courses: worked by hand, and at their limits."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
import shapely
from shapely import affinity

from roof3d.errors import LayoutError
from roof3d.layout.model import Direction
from roof3d.layout.offsets import Kept
from roof3d.layout.rows import courses_of
from roof3d.layout.runs import SheetRun, lay_sheets
from tests.property.extents import FOOT, INCH, SheetRule, as_layer, lay

PORCH = shapely.box(0.0, 0.0, 256 * INCH, 171 * INCH)  # 21 ft 4 in along the eave, 14 ft 3 in up
RULE = SheetRule()  # 39 3/8 in by 10 m (393.70 in), laps 4 and 6 in, stagger 36, shortest 48


def sheets(
    run: SheetRun, direction: Direction = Direction.ACROSS
) -> list[tuple[int, float, float]]:
    """Return (course, from, to) along the run in hundredths of an inch."""
    columns = [0, 2] if direction is Direction.ACROSS else [1, 3]
    spans = np.round(run.pieces.boxes[:, columns] / INCH, 2) + 0.0
    return [
        (int(course), start, end)
        for course, (start, end) in zip(run.pieces.course, spans.tolist(), strict=True)
    ]


def test_porch_cap_roll_by_roll() -> None:
    # Course 1: 256 of 393.70, 137.70 left. Course 2: those, then from 131.70 on 124.30 of a
    # new roll, 269.40 left. Course 3: 256 of them, 13.40 left, too short. 4 and 5: as 1, 2.
    _, run = lay(PORCH, RULE)
    assert sheets(run) == [
        (1, 0.0, 256.0),
        (2, 0.0, 137.7),
        (2, 131.7, 256.0),
        (3, 0.0, 256.0),
        (4, 0.0, 256.0),
        (5, 0.0, 137.7),
        (5, 131.7, 256.0),
    ]
    assert run.pieces.place.tolist() == [1, 1, 2, 1, 1, 1, 2]
    assert (run.least_stagger, run.shortfalls) == (math.inf, ())


def test_porch_cap_over_a_ply_keeps_its_ends_off() -> None:
    # Six courses, the first half a roll: feet at 15.69, 51.06, 86.44, 121.81, 157.19. Below,
    # ends begin at 131.70 in courses 2 (35.38 to 74.75) and 5 (141.50 to 171): barred from
    # 95.70 to 167.70 where they are under. Course 2: the leftover of 137.70 is cut to 101.70.
    # Course 3: 233.40 are left; what follows must be 48 long, so it begins at 208. Course 4:
    # 256 of 345.70. Course 5: 89.70 are left, clear as they are. Course 6: 83.70 (course
    # 5) and 131.70 (below) bar from 47.70 to 167.70; 208 again.
    courses, lower = lay(PORCH, RULE)
    layer = as_layer(PORCH, RULE, courses, lower)
    _, run = lay(PORCH, replace(RULE, first=RULE.width / 2), below=layer)
    assert sheets(run) == [
        (1, 0.0, 256.0),
        (2, 0.0, 101.7),
        (2, 95.7, 256.0),
        (3, 0.0, 214.0),
        (3, 208.0, 256.0),
        (4, 0.0, 256.0),
        (5, 0.0, 89.7),
        (5, 83.7, 256.0),
        (6, 0.0, 214.0),
        (6, 208.0, 256.0),
    ]
    assert round(run.least_stagger / INCH, 2) == 112.3
    assert round(run.least_end_offset / INCH, 9) == 36.0
    assert run.shortfalls == ()


def test_runs_from_the_greater_end_are_the_mirror() -> None:
    courses = courses_of(0, 171 * INCH, width=RULE.width, lap=4 * INCH, first=RULE.width)
    mirrored = affinity.scale(PORCH, xfact=-1.0, origin=(0.0, 0.0))
    sizes = {"direction": Direction.ACROSS, "length": 10.0, "end_lap": 6 * INCH, "stagger": 0.9}
    one = lay_sheets(PORCH, courses, **sizes)  # type: ignore[arg-type]
    two = lay_sheets(mirrored, courses, from_high=True, **sizes)  # type: ignore[arg-type]
    assert (one.pieces.boxes == -two.pieces.boxes[:, [2, 1, 0, 3]] * (1, -1, 1, -1)).all()


def test_along_the_slope_pieces_run_up_from_the_low_end() -> None:
    plane = shapely.box(0.0, 0.0, 70 * INCH, 400 * INCH)
    _, run = lay(plane, replace(RULE, direction=Direction.ALONG))
    # 400 in: 393.70 leave 12.30 with the lap, so the second sheet is 48 long and begins at
    # 352. 345.70 are left: their 345.70 end the first sheet of course 2, the next begins at
    # 339.70, too near to 352: cut to 316.
    assert sheets(run, Direction.ALONG) == [
        (1, 0.0, 358.0),
        (1, 352.0, 400.0),
        (2, 0.0, 322.0),
        (2, 316.0, 400.0),
    ]


def test_a_stagger_that_no_cut_keeps_is_told() -> None:
    # 950 in of 10 m rolls: course 1 has ends at 387.70 and 775.40, and 219.10 left over.
    # They put the ends of course 2 at 213.10 and 600.80: clear. With 400 in asked between ends
    # nothing does, whatever is cut: what is reached is told.
    deck = shapely.box(0.0, 0.0, 950 * INCH, 70 * INCH)
    _, run = lay(deck, RULE)
    assert sheets(run)[3:] == [(2, 0.0, 219.1), (2, 213.1, 606.8), (2, 600.8, 950.0)]
    assert run.shortfalls == ()
    _, short = lay(deck, replace(RULE, stagger=400 * INCH))
    (told,) = short.shortfalls
    assert (told.kept, told.wanted) == (Kept.STAGGER, 400 * INCH)
    assert told.reached == short.least_stagger
    # Ends 387.70 apart leave no more than half of it on both sides of an end between them.
    assert told.reached <= 193.85 * INCH + 1e-9
    assert told.reached >= 190.0 * INCH


def test_a_leftover_shorter_than_needed_is_passed_by() -> None:
    # 768 in: course 1 has an end at 387.70, the next sheet is 380.30, 13.40 are left: a new
    # roll. It would end at 387.70 again: cut so that the next begins 36 before, at 351.70.
    deck = shapely.box(0.0, 0.0, 768 * INCH, 70 * INCH)
    _, run = lay(deck, RULE)
    assert sheets(run) == [
        (1, 0.0, 393.7),
        (1, 387.7, 768.0),
        (2, 0.0, 357.7),
        (2, 351.7, 726.0),
        (2, 720.0, 768.0),
    ]


def test_a_course_parted_by_an_opening_is_laid_part_by_part() -> None:
    plane = shapely.box(0, 0, 9, 3) - shapely.box(4, 0.5, 5, 2.5)
    rows = courses_of(0.0, 3.0, width=1.0, lap=0.0, first=1.0)
    run = lay_sheets(plane, rows, direction=Direction.ACROSS, length=6.0, end_lap=0.1)
    # Course 1: 6, and 3.1 of a roll. Course 2: the 2.9 left and 1.2, then beyond the opening 4
    # of the 4.8 left. Course 3: the 0.8 left, 6 and 2.4.
    assert np.round(run.pieces.boxes[:, [0, 2]], 9).tolist() == [
        [0, 6],
        [5.9, 9],
        [0, 2.9],
        [2.8, 4],
        [5, 9],
        [0, 0.8],
        [0.7, 6.7],
        [6.6, 9],
    ]
    assert run.pieces.course.tolist() == [1, 1, 2, 2, 2, 3, 3, 3]
    assert run.pieces.place.tolist() == [1, 2, 1, 2, 3, 1, 2, 3]


def test_a_run_a_hair_longer_than_the_roll_is_one_sheet() -> None:
    plane = shapely.box(0.0, 0.0, 10.0 + 1e-6, 1.0)
    _, run = lay(plane, replace(RULE, length=10.0))
    assert len(run.pieces) == 1
    assert run.pieces.boxes[0, 2] - run.pieces.boxes[0, 0] <= 10.0 + 1e-12


@pytest.mark.parametrize(
    ("length", "end_lap", "told"),
    [
        (0.0, 0.0, "an end lap of 0 m does not fit a sheet 0 m long"),
        (1.0, 1.0, "an end lap of 1 m does not fit a sheet 1 m long"),
        (1.0, -0.1, "an end lap of -0.1 m does not fit"),
        (math.inf, 0.1, "lengths of sheets must be numbers"),
        (1.0, 1.0 - 1e-9, "sheets on a run of 6.5024 m"),
    ],
)
def test_a_roll_that_cannot_be_laid_is_told(length: float, end_lap: float, told: str) -> None:
    with pytest.raises(LayoutError) as error:
        lay(PORCH, replace(RULE, length=length, end_lap=end_lap))
    assert told in error.value.message


def test_nothing_to_cover_takes_no_sheet() -> None:
    rows = courses_of(0.0, 1.0, width=1.0, lap=0.0, first=1.0)
    run = lay_sheets(shapely.Polygon(), rows, direction=Direction.ACROSS, length=1.0, end_lap=0.1)
    assert len(run.pieces) == 0
    assert (run.least_stagger, run.least_end_offset) == (math.inf, math.inf)


def test_a_layer_that_runs_the_other_way_below_bars_nothing() -> None:
    along = replace(RULE, direction=Direction.ALONG)
    layer = as_layer(PORCH, along, *lay(PORCH, along))
    assert sheets(lay(PORCH, RULE, below=layer)[1]) == sheets(lay(PORCH, RULE)[1])


def test_two_million_square_feet_of_short_rolls() -> None:
    # 1,414 1/4 ft square: 481 courses; each sheet of 5 m covers 4.8476 m.
    field = shapely.box(0.0, 0.0, 1414.25 * FOOT, 1414.25 * FOOT)
    rule = replace(RULE, length=5.0)
    courses, run = lay(field, rule)
    layer = as_layer(field, rule, courses, run)
    upper = lay(field, replace(rule, first=20 * INCH), below=layer)[1]
    assert len(courses) == math.ceil((1414.25 * 12 - 39.375) / 35.375) + 1
    assert len(run.pieces) > 42_000
    assert min(run.least_stagger, upper.least_stagger, upper.least_end_offset) >= 36 * INCH - 1e-4
    assert run.shortfalls == upper.shortfalls == ()
