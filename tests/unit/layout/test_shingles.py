"""Shingles set out on plain planes, counted by hand."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
import shapely

from roof3d.catalog.material import Material, MaterialForm
from roof3d.errors import LayoutError
from roof3d.layout.offsets import Kept
from roof3d.layout.shingles import ShingleRun, lay_shingles

INCH = 0.0254
STRIP = Material(
    id="strip", name="Strip shingle", form=MaterialForm.SHINGLE, purpose="", source="",
    width=12 * INCH, length=36 * INCH, exposure=5 * INCH, course_offset=6 * INCH,
    stagger=4 * INCH, shortest=6 * INCH,
)  # fmt: skip


def box(*inches: float) -> shapely.Polygon:
    """A rectangle in inches, as metres."""
    return shapely.box(*(INCH * value for value in inches))


def lay(extent: shapely.Geometry, *, from_high: bool = False, **changes: Any) -> ShingleRun:
    return lay_shingles(
        extent, low=extent.bounds[1], material=replace(STRIP, **changes), from_high=from_high
    )


def ends(run: ShingleRun, course: int) -> list[list[float]]:
    """From where to where the shingles of a course reach, in inches, in the order of laying."""
    boxes = run.pieces.boxes[run.pieces.course == course][:, [0, 2]] / INCH
    return [[round(end, 6) for end in span] for span in boxes.tolist()]


# 100 in wide, strips of 36 in: the first course cuts 28 in at its end. Each further course
# begins 6 in further back, so its first piece is 30, 24, 18, 12, 6 in, then whole again.
def test_each_course_is_shifted_by_the_offset_until_the_pattern_repeats() -> None:
    run = lay(box(0, 0, 100, 35))
    firsts = [ends(run, course)[0] for course in range(1, 8)]
    assert firsts == [[0, 36], [0, 30], [0, 24], [0, 18], [0, 12], [0, 6], [0, 36]]
    assert ends(run, 1) == [[0, 36], [36, 72], [72, 100]]
    assert ends(run, 2) == [[0, 30], [30, 66], [66, 100]]


def test_courses_lie_an_exposure_apart_and_reach_over_the_whole_height() -> None:
    run = lay(box(0, 20, 100, 37))
    sides = [(c.number, round(c.low / INCH, 6), round(c.high / INCH, 6)) for c in run.courses]
    assert sides == [(1, 20, 32), (2, 25, 37), (3, 30, 42), (4, 35, 47)]
    # The third and fourth begin with 24 and 18 in, and so have a shingle more.
    assert run.pieces.place.tolist() == [1, 2, 3] * 2 + [1, 2, 3, 4] * 2
    # Of the fourth course 2 in of height are left, of the third 7 in.
    heights = [run.pieces.areas[run.pieces.course == k].sum() / INCH**2 / 100 for k in (1, 2, 3, 4)]
    assert heights == pytest.approx([12, 12, 7, 2], abs=1e-6)


# 74 in: the lattice would leave 2 in at the end of the first course. Its last joint, at 72 in,
# moves back to 68, so that the last piece is just 6 in.
def test_a_narrow_last_piece_is_widened_by_moving_its_joint() -> None:
    run = lay(box(0, 0, 74, 10), stagger=2 * INCH)
    assert ends(run, 1) == [[0, 36], [36, 68], [68, 74]]
    assert ends(run, 2) == [[0, 30], [30, 66], [66, 74]]
    assert (round(run.least_stagger / INCH, 6), run.shortfalls) == (2, ())


# With a stagger of 4 in the joint may not stand at 68, 2 in from the one above at 66: it goes
# back to 62, 4 in from it on the other side.
def test_a_moved_joint_keeps_the_stagger_from_the_course_above() -> None:
    run = lay(box(0, 0, 74, 10))
    assert ends(run, 1) == [[0, 36], [36, 62], [62, 74]]
    assert (round(run.least_stagger / INCH, 6), run.shortfalls) == (4, ())


# 38 in: 36 and 2. One joint, and no shingle reaches from end to end: it moves to 26, since the
# joint above stands at 30.
def test_a_run_a_little_longer_than_a_shingle_keeps_one_joint() -> None:
    run = lay(box(0, 0, 38, 10))
    assert ends(run, 1) == [[0, 26], [26, 38]]
    assert ends(run, 2) == [[0, 30], [30, 38]]


def test_a_run_narrower_than_the_shortest_piece_is_one_piece() -> None:
    run = lay(box(0, 0, 5, 60))
    assert [ends(run, k) for k in range(1, 13)] == [[[0, 5]]] * 12
    assert run.least_stagger == math.inf


# Joints at 36 and 72 in a run from 34 to 74 leave 2 in at either end. One of them goes, and the
# other stands at 40: 6 in from the end, 10 in from the joint at 30 above.
def test_between_two_narrow_ends_one_joint_is_left_out() -> None:
    extent = shapely.union(box(34, 0, 74, 5), box(0, 5, 74, 10))
    run = lay(extent, width=5 * INCH)
    assert ends(run, 1) == [[34, 40], [40, 74]]
    assert ends(run, 2) == [[0, 30], [30, 66], [66, 74]]


# An opening 20 in wide over the whole of a course parts it; both parts keep the one lattice.
# The last joint would stand at 198: it moves to 188, 4 in from the one at 192 above.
def test_beyond_an_opening_the_lattice_goes_on() -> None:
    run = lay(box(0, 0, 200, 40).difference(box(50, 14, 70, 32)))
    assert ends(run, 4) == [
        [0, 18],
        [18, 50],
        [70, 90],
        [90, 126],
        [126, 162],
        [162, 188],
        [188, 200],
    ]
    # The third course lies from 10 to 22 in: only notched, its shingles stay.
    assert ends(run, 3)[1:3] == [[24, 60], [60, 96]]
    notched = [i for i in run.pieces.trimmed if run.pieces.course[i] == 3]
    assert len(notched) == 2


def test_a_hip_cuts_shingles_within_the_interval_of_their_whole_height() -> None:
    # Rises 1 in 1 from the left corner: at the first course's foot the roof begins at 0, at its
    # head at 12 in.
    run = lay(shapely.Polygon([(0, 0), (100 * INCH, 0), (100 * INCH, 100 * INCH)]))
    second = ends(run, 2)
    assert second[0][0] == pytest.approx(5)
    assert run.pieces.outline(0).area / INCH**2 == pytest.approx(36 * 12 - 72)


def test_starting_from_the_high_side_mirrors_every_piece() -> None:
    extent = shapely.Polygon([(0, 0), (5.3, 0), (4.1, 2.2), (0.3, 2.2)])
    mirrored = shapely.transform(extent, lambda points: points * [-1, 1])
    run, other = lay(extent), lay(mirrored, from_high=True)
    back = other.pieces.boxes[:, [2, 1, 0, 3]] * [-1, 1, -1, 1]
    assert np.abs(back - run.pieces.boxes).max() < 1e-12
    assert other.pieces.place.tolist() == run.pieces.place.tolist()


def test_joints_that_cannot_keep_the_stagger_are_told() -> None:
    run = lay(box(0, 0, 100, 20), course_offset=2 * INCH)
    (short,) = run.shortfalls
    assert (short.kept, short.wanted) == (Kept.STAGGER, 4 * INCH)
    assert short.reached == run.least_stagger == pytest.approx(2 * INCH)


@pytest.mark.parametrize(
    ("changes", "low", "words"),
    [
        ({"length": 0.0}, 0.0, "length must be above 0, not 0 m"),
        ({"exposure": 0.0}, 0.0, "exposure must be above 0, not 0 m"),
        ({"width": math.inf}, 0.0, "width must be above 0, not inf m"),
        ({"exposure": 13 * INCH}, 0.0, "leave gaps at 0.3302 m exposure"),
        ({}, 1.0, "reaches down to 0 m, below the first course at 1 m"),
    ],
)
def test_what_cannot_be_laid_is_refused(changes: dict[str, Any], low: float, words: str) -> None:
    with pytest.raises(LayoutError, match=words):
        lay_shingles(
            box(0, 0, 100, 100), low=low, material=replace(STRIP, **changes), from_high=False
        )


def test_an_empty_extent_is_refused() -> None:
    with pytest.raises(LayoutError, match="nothing to lay shingles on"):
        lay_shingles(shapely.Polygon(), low=0.0, material=STRIP, from_high=False)


# 180 x 40 in with a notch out of its foot, 40 to 140 by 8 in: the first course shows 0 to 5, so
# over the notch only 8 to 12 of it would be left, all under the second. Strips begin at 0, 36, 72,
# 108, 144: the two within the notch are not laid, those that reach past its sides are.
def test_a_strip_that_the_next_course_hides_is_not_laid_over_a_notch() -> None:
    run = lay(box(0, 0, 180, 40) - box(40, 0, 140, 8))
    assert ends(run, 1) == [[0, 36], [36, 72], [108, 144], [144, 180]]
    assert run.pieces.place.tolist()[:4] == [1, 2, 3, 4]
    assert ends(run, 2)[:2] == [[0, 30], [30, 66]]


# 5 in show: 31 in ask for seven courses, of which the last shows 1 in; under 2 in to spare six do.
@pytest.mark.parametrize(("spare", "courses"), [(0.0, 7), (0.9, 7), (1.1, 6), (2.0, 6)])
def test_a_last_course_that_ridge_pieces_cover_is_not_laid(spare: float, courses: int) -> None:
    extent = box(0, 0, 100, 31)
    run = lay_shingles(extent, low=0.0, material=STRIP, from_high=False, spare=spare * INCH)
    assert len(run.courses) == courses
    laid = shapely.union_all([run.pieces.outline(k) for k in range(len(run.pieces))])
    assert laid.symmetric_difference(extent).area < 1e-9
