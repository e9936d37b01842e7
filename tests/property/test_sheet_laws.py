"""Laws of sheets on any extent: cover it, lap as told, no more than a roll, mirrored alike."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import shapely
from hypothesis import given
from hypothesis import strategies as st
from shapely import affinity

from roof3d.layout.model import Direction
from roof3d.layout.offsets import Kept
from roof3d.tolerance import DEFAULT
from tests.property.extents import (
    SheetRule,
    as_layer,
    ends_by_course,
    extents,
    lay,
    least_end_offset_of,
    least_stagger_of,
    sheet_rules,
)
from tests.property.strategies import SETTINGS


@SETTINGS
@given(extents(), sheet_rules())
def test_sheets_cover_the_extent_and_nothing_else(extent: shapely.Polygon, rule: SheetRule) -> None:
    pieces = lay(extent, rule)[1].pieces
    covered = shapely.union_all([pieces.outline(k) for k in range(len(pieces))])
    wrong = shapely.symmetric_difference(covered, extent).area
    assert wrong <= 1e-9 * max(extent.area, extent.length)


@SETTINGS
@given(extents(), sheet_rules())
def test_areas_are_the_extent_and_what_lies_over_earlier_sheets(
    extent: shapely.Polygon, rule: SheetRule
) -> None:
    pieces = lay(extent, rule)[1].pieces
    covered: shapely.Geometry = shapely.Polygon()
    lapped = 0.0
    for k in range(len(pieces)):
        outline = pieces.outline(k)
        lapped += shapely.intersection(outline, covered).area
        covered = shapely.union(covered, outline)
    assert abs(pieces.areas.sum() - extent.area - lapped) <= 1e-9 * max(extent.area, extent.length)


@SETTINGS
@given(extents(("rectangle",)), sheet_rules())
def test_on_a_rectangle_areas_follow_from_the_laps_alone(
    extent: shapely.Polygon, rule: SheetRule
) -> None:
    courses, run = lay(extent, rule)
    across = rule.direction is Direction.ACROSS
    low, high = extent.bounds[1::2] if across else extent.bounds[::2]
    length = extent.area / (high - low)
    tall = {course.number: min(course.high, high) - max(course.low, low) for course in courses}
    laps = {number: len(ends) for number, ends in ends_by_course(run, rule.direction).items()}
    expected = sum(
        height * (length + rule.end_lap * laps.get(number, 0)) for number, height in tall.items()
    )
    # A lap may give by a crumb where a run is that much longer than its sheets.
    give = DEFAULT.sliver * sum(tall[number] for number in laps)
    assert -give - 1e-9 * expected <= run.pieces.areas.sum() - expected <= 1e-9 * expected


@SETTINGS
@given(extents(), sheet_rules())
def test_no_sheet_is_larger_than_its_roll(extent: shapely.Polygon, rule: SheetRule) -> None:
    boxes = lay(extent, rule)[1].pieces.boxes
    sizes = boxes[:, 2:] - boxes[:, :2]
    if rule.direction is Direction.ALONG:
        sizes = sizes[:, ::-1]
    assert (sizes <= np.array([rule.length, rule.width]) + 1e-12).all()


@SETTINGS
@given(extents(), sheet_rules())
def test_only_a_run_of_one_sheet_is_shorter_than_the_shortest(
    extent: shapely.Polygon, rule: SheetRule
) -> None:
    run = lay(extent, rule)[1]
    axis = 0 if rule.direction is Direction.ACROSS else 1
    boxes = run.pieces.boxes
    lapped = {
        piece
        for k in range(1, len(boxes))
        if run.pieces.course[k] == run.pieces.course[k - 1]
        and min(boxes[k, axis + 2], boxes[k - 1, axis + 2])
        > max(boxes[k, axis], boxes[k - 1, axis])
        for piece in (k - 1, k)
    }
    least = min(rule.shortest, (rule.length + rule.end_lap) / 2.0)
    assert all(boxes[k, axis + 2] - boxes[k, axis] >= least - DEFAULT.sliver for k in lapped)


@SETTINGS
@given(extents(), sheet_rules())
def test_no_sheet_starts_below_the_course_under_it(
    extent: shapely.Polygon, rule: SheetRule
) -> None:
    courses, run = lay(extent, replace(rule, direction=Direction.ACROSS))
    pieces = run.pieces
    feet = {course.number: course.low for course in courses}
    order = np.lexsort((pieces.place, pieces.course))
    assert (order == np.arange(len(pieces))).all()
    assert all(
        pieces.boxes[k, 1] >= feet[int(pieces.course[k]) - 1] - 1e-12
        for k in np.flatnonzero(pieces.course > 1)
    )


@SETTINGS
@given(extents(), sheet_rules(), st.sampled_from((0.0, 7.31, -120.0)))
def test_a_mirrored_extent_takes_the_mirrored_sheets(
    extent: shapely.Polygon, rule: SheetRule, middle: float
) -> None:
    mirrored = affinity.scale(extent, xfact=-1.0, origin=(middle, 0.0))
    one, two = lay(extent, rule)[1].pieces, lay(mirrored, rule)[1].pieces

    def sizes(
        pieces_boxes: np.ndarray[tuple[int, int], np.dtype[np.float64]],
    ) -> np.ndarray[tuple[int, int], np.dtype[np.float64]]:
        found = np.round(pieces_boxes[:, 2:] - pieces_boxes[:, :2], 6) + 0.0
        return found[np.lexsort(found.T)]

    assert len(one) == len(two)
    assert np.abs(sizes(one.boxes) - sizes(two.boxes)).max(initial=0.0) <= 1e-5
    assert np.abs(np.sort(one.areas) - np.sort(two.areas)).max(initial=0.0) <= 1e-5


@SETTINGS
@given(extents(), sheet_rules(), sheet_rules())
def test_what_is_kept_is_what_is_told(
    extent: shapely.Polygon, lower_rule: SheetRule, upper_rule: SheetRule
) -> None:
    lower_rule = replace(lower_rule, direction=upper_rule.direction)
    courses, lower = lay(extent, lower_rule)
    layer = as_layer(extent, lower_rule, courses, lower)
    run = lay(extent, upper_rule, below=layer)[1]
    found = (
        least_stagger_of(run, upper_rule.direction),
        least_end_offset_of(run, lower, upper_rule.direction),
    )
    told = (run.least_stagger, run.least_end_offset)
    assert [one == two or abs(one - two) <= 1e-9 for one, two in zip(found, told, strict=True)] == [
        True,
        True,
    ]
    wanted = (upper_rule.stagger, upper_rule.end_offset)
    short = {
        kept: reached
        for kept, reached, want in zip((Kept.STAGGER, Kept.END_OFFSET), told, wanted, strict=True)
        if reached < want - 1e-4
    }
    assert {shortfall.kept: shortfall.reached for shortfall in run.shortfalls} == short


@SETTINGS
@given(extents(), sheet_rules())
def test_laying_changes_nothing_that_is_given(extent: shapely.Polygon, rule: SheetRule) -> None:
    before = extent.wkb
    courses, run = lay(extent, rule)
    layer = as_layer(extent, rule, courses, run)
    boxes = layer.pieces.boxes.copy()
    lay(extent, rule, below=layer)
    assert extent.wkb == before
    assert (layer.pieces.boxes == boxes).all()


@SETTINGS
@given(extents(("rectangle", "ell", "triangle")), sheet_rules())
def test_ten_metre_rolls_of_the_trade_fall_short_of_no_stagger(
    extent: shapely.Polygon, rule: SheetRule
) -> None:
    rule = replace(rule, length=10.0, stagger=0.9144, shortest=1.2192)
    run = lay(extent, rule)[1]
    assert run.least_stagger >= 0.9144 - DEFAULT.sliver or math.isinf(run.least_stagger)
