"""Laps, staggers and offsets that guide specifications and the code print, on sheets laid out.

Every distance is read off the pieces here, by code that shares nothing with the package's.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass, replace

import numpy as np
import pytest
import shapely

from roof3d.layout.model import Course, Direction, LaidLayer
from roof3d.layout.offsets import StartRule, choose_firsts, even_laps
from roof3d.layout.runs import SheetRun
from tests.property.extents import (
    FOOT,
    INCH,
    SheetRule,
    as_layer,
    ends_by_course,
    lay,
    least_end_offset_of,
    least_stagger_of,
)

#: UFGS-07511: base sheet. UFGS-07550, 3.3.6: cap and ply sheets; inches.
BASE_SIDE_LAP, PLY_SIDE_LAP, END_LAP, STAGGER = 2.0, 3.0, 6.0, 36.0
SIDE_OFFSET, END_OFFSET = 12.0, 36.0

#: Rounding, metres: what a chalk line never shows.
CRUMB = 1e-4

PLANES = {
    "porch": shapely.box(0, 0, 256 * INCH, 171 * INCH),  # 21 ft 4 in by 14 ft 3 in
    "deck": shapely.box(0, 0, 100 * FOOT, 60 * FOOT),
    "hip": shapely.Polygon([(0, 0), (40 * FOOT, 0), (20 * FOOT, 22.4 * FOOT)]),
    "opening": shapely.box(0, 0, 50 * FOOT, 21 * FOOT)
    - shapely.box(20 * FOOT, 5 * FOOT, 24 * FOOT, 16 * FOOT),
}


@dataclass(frozen=True, kw_only=True)
class Laid:
    rule: SheetRule
    courses: tuple[Course, ...]
    run: SheetRun


def three_plies(plane: shapely.Geometry, direction: Direction) -> list[Laid]:
    """Lay a nailed base, a ply and a cap as the assembly does, in laps evened where it must."""
    along = direction is Direction.ALONG
    low, high = plane.bounds[::2] if along else plane.bounds[1::2]
    width = 39.375 * INCH
    laps = (2.0 * INCH, 4.0 * INCH, 4.0 * INCH)
    if high - low > 280.0 * INCH:  # beyond, unlike exposures drift together
        laps = even_laps([(width, lap) for lap in laps])  # type: ignore[assignment]
    starts = [
        StartRule(
            low=low,
            high=high,
            width=width,
            lap=lap,
            first=share * width,
            least_offset=SIDE_OFFSET * INCH * (number > 0),
        )
        for number, (lap, share) in enumerate(zip(laps, (2 / 3, 1 / 2, 1.0), strict=True))
    ]
    choice = choose_firsts(starts)
    assert choice.shortfalls == ()
    laid: list[Laid] = []
    below: LaidLayer | None = None
    for start, first, length in zip(starts, choice.firsts, (20.0, 20.0, 10.0), strict=True):
        rule = SheetRule(side_lap=start.lap, first=first, length=length, direction=direction)
        courses, run = lay(plane, rule, below=below)
        below = as_layer(plane, rule, courses, run)
        laid.append(Laid(rule=rule, courses=courses, run=run))
    return laid


def sides(laid: Laid) -> dict[int, tuple[float, float]]:
    """Low and high side of each course, off its pieces."""
    axis = 1 if laid.rule.direction is Direction.ACROSS else 0
    boxes, course = laid.run.pieces.boxes, laid.run.pieces.course
    return {
        int(number): (
            float(boxes[course == number, axis].min()),
            float(boxes[course == number, axis + 2].max()),
        )
        for number in np.unique(course)
    }


def side_laps(laid: Laid) -> list[tuple[float, float]]:
    """Where each course lies over the one before, from its lying edge to the head below."""
    found = sides(laid)
    return [
        (max(found[k][0], found[k + 1][0]), min(found[k][1], found[k + 1][1]))
        for k in sorted(found)[:-1]
    ]


each_plane = pytest.mark.parametrize("name", PLANES)
each_direction = pytest.mark.parametrize("direction", list(Direction))


@each_plane
@each_direction
def test_no_side_lap_is_below_its_minimum(name: str, direction: Direction) -> None:
    base, ply, cap = three_plies(PLANES[name], direction)
    for laid, least in ((base, BASE_SIDE_LAP), (ply, PLY_SIDE_LAP), (cap, PLY_SIDE_LAP)):
        laps = side_laps(laid)
        assert len(laps) == len(laid.courses) - 1 > 0
        assert min(high - low for low, high in laps) >= least * INCH - CRUMB


@each_plane
@each_direction
def test_no_end_lap_is_below_six_inches(name: str, direction: Direction) -> None:
    axis = 0 if direction is Direction.ACROSS else 1
    for laid in three_plies(PLANES[name], direction):
        boxes, course = laid.run.pieces.boxes, laid.run.pieces.course
        for number in np.unique(course):
            spans = sorted(boxes[course == number][:, [axis, axis + 2]].tolist())
            laps = [one[1] - two[0] for one, two in itertools.pairwise(spans)]
            if name == "opening":  # beyond it the course begins anew
                laps = [lap for lap in laps if lap > -3.0 * FOOT]
            assert all(lap >= END_LAP * INCH - CRUMB for lap in laps)


@each_plane
@each_direction
def test_no_two_end_laps_are_closer_than_36_inches_in_neighbouring_courses(
    name: str, direction: Direction
) -> None:
    for laid in three_plies(PLANES[name], direction):
        assert least_stagger_of(laid.run, direction) >= STAGGER * INCH - CRUMB


@each_plane
@each_direction
def test_side_laps_of_touching_plies_are_12_inches_apart_and_end_laps_36(
    name: str, direction: Direction
) -> None:
    plies = three_plies(PLANES[name], direction)
    far = direction is Direction.ALONG and any(
        one.courses[-1].low < one.courses[0].low for one in plies
    )
    for lower, upper in itertools.pairwise(plies):
        edges = [[lap[far] for lap in side_laps(laid)] for laid in (lower, upper)]
        least = min(abs(one - two) for one, two in itertools.product(*edges))
        assert least >= SIDE_OFFSET * INCH - CRUMB
        assert least_end_offset_of(upper.run, lower.run, direction) >= END_OFFSET * INCH - CRUMB


def test_the_planes_have_end_laps_to_keep_apart() -> None:
    counts = {
        name: sum(
            len(ends)
            for laid in three_plies(plane, Direction.ACROSS)
            for ends in ends_by_course(laid.run, Direction.ACROSS).values()
        )
        for name, plane in PLANES.items()
    }
    assert min(counts.values()) >= 2


DOUBLE = SheetRule(
    width=36 * INCH,
    side_lap=19 * INCH,
    length=144 * FOOT,  # trade field guide, No. 15 felt
    end_lap=4 * INCH,
    stagger=72 * INCH,
    starter=True,
)


def twice_covered(outlines: list[shapely.Geometry]) -> shapely.Geometry:
    """Return what lies under two sheets or more."""
    tree = shapely.STRtree(outlines)
    pairs = tree.query(outlines, predicate="intersects")
    one, two = pairs[:, pairs[0] < pairs[1]]
    shapes = np.array(outlines, dtype=object)
    return shapely.union_all(shapely.intersection(shapes[one], shapes[two]))


@pytest.mark.parametrize("name", PLANES)
def test_every_point_of_a_3_in_12_plane_is_under_two_layers(name: str) -> None:
    # IBC 2018, 1507.1.1, exception 2: 2:12 to below 4:12, 19 in strip, 36 in sheets lapped 19.
    plane = shapely.transform(PLANES[name], lambda points: points * (1.0, np.hypot(1.0, 3 / 12)))
    pieces = lay(plane, DOUBLE)[1].pieces
    outlines = [pieces.outline(k) for k in range(len(pieces))]
    bare = shapely.difference(plane, twice_covered(outlines)).area
    assert bare <= 1e-9 * plane.area
    # The last sheet is not one too many: without it the top lies under one.
    rest = [outlines[k] for k in np.flatnonzero(pieces.course < pieces.course.max())]
    assert shapely.difference(plane, twice_covered(rest)).area > 1e-6 * plane.area


def test_end_laps_of_double_underlayment_are_6_feet_apart() -> None:
    # IBC 2018, 1507.1.1: end laps 4 in, offset 6 ft.
    plane = shapely.box(0, 0, 300 * FOOT, 30 * FOOT)
    run = lay(plane, DOUBLE)[1]
    assert 6 * FOOT - CRUMB <= least_stagger_of(run, Direction.ACROSS) < 144 * FOOT


def test_laps_of_a_stack_laid_without_offsets_are_seen_to_fail() -> None:
    # The predicates can fail: two plies with one first course have their laps in one line.
    rule = SheetRule()
    courses, run = lay(PLANES["deck"], rule)
    twin = Laid(rule=rule, courses=courses, run=run)
    edges = [lap[0] for lap in side_laps(twin)]
    assert min(abs(one - two) for one, two in itertools.product(edges, edges)) == 0.0
    # Three rolls cover 100 ft with nothing left, so each course would be cut like the last.
    loose = replace(rule, stagger=0.0, length=(100 * FOOT + 2 * rule.end_lap) / 3)
    assert least_stagger_of(lay(PLANES["deck"], loose)[1], Direction.ACROSS) <= CRUMB
