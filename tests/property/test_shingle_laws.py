"""Laws of shingles on any extent: cover it twice, keep joints apart, mirrored alike."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise

import numpy as np
import shapely
from hypothesis import given
from hypothesis import strategies as st
from shapely import affinity

from roof3d.catalog.laying import Nailing
from roof3d.catalog.material import Material, MaterialForm
from roof3d.layout.model import Direction
from roof3d.layout.nails.sheets import nail_sheets
from roof3d.layout.nails.shingles import nail_shingles
from roof3d.layout.rows import courses_of, start_side
from roof3d.layout.shingles import ShingleRun, lay_shingles
from roof3d.layout.zones import Zoned
from tests.property.extents import extents
from tests.property.strategies import SETTINGS

INCH = 0.0254
STRIP = Material(
    id="strip", name="Strip shingle", form=MaterialForm.SHINGLE, purpose="", source="",
    width=12 * INCH, length=36 * INCH, exposure=5 * INCH, course_offset=6 * INCH,
    stagger=4 * INCH, shortest=6 * INCH,
)  # fmt: skip
METRIC = replace(STRIP, width=13.25 * INCH, length=39.375 * INCH, exposure=5.625 * INCH)
NAILING = Nailing(
    fastener="nail", source="", per_piece=4, per_piece_wind=6, line=6 * INCH, inset=1 * INCH
)
shingles = st.sampled_from((STRIP, METRIC, replace(STRIP, course_offset=4 * INCH)))


def lay(extent: shapely.Polygon, material: Material) -> ShingleRun:
    return lay_shingles(
        extent, low=extent.bounds[1], material=material, from_high=start_side(extent)
    )


def joints_of(run: ShingleRun, course: int) -> list[float]:
    """Where two shingles of a course meet, looked at one by one."""
    spans = sorted(run.pieces.boxes[run.pieces.course == course][:, [0, 2]].tolist())
    return [b[0] for a, b in pairwise(spans) if b[0] - a[1] <= 1e-6]


@SETTINGS
@given(extents(), shingles)
def test_shingles_cover_the_extent_and_nothing_else(
    extent: shapely.Polygon, material: Material
) -> None:
    pieces = lay(extent, material).pieces
    covered = shapely.union_all([pieces.outline(k) for k in range(len(pieces))])
    wrong = shapely.symmetric_difference(covered, extent).area
    assert wrong <= 1e-9 * max(extent.area, extent.length)


@SETTINGS
@given(extents(), shingles)
def test_areas_add_up_course_by_course(extent: shapely.Polygon, material: Material) -> None:
    run = lay(extent, material)
    left, _, right, _ = extent.bounds
    bands = shapely.box(
        left - 1, [c.low for c in run.courses], right + 1, [c.high for c in run.courses]
    )
    asked = shapely.area(shapely.intersection(extent, bands))
    laid = np.bincount(run.pieces.course - 1, weights=run.pieces.areas, minlength=len(run.courses))
    crumb = 2e-6 + 1e-9 * extent.area
    assert (laid - asked).max() <= crumb
    # What shows is laid to the last crumb; only a strip that the next course hides may be missing.
    tops = [c.low + material.exposure for c in run.courses[:-1]] + [run.courses[-1].high]
    shown = shapely.box(left - 1, [c.low for c in run.courses], right + 1, tops)
    outlines = np.array([run.pieces.outline(k) for k in range(len(run.pieces))])
    seen = shapely.area(shapely.intersection(outlines, shown[run.pieces.course - 1]))
    seen = np.bincount(run.pieces.course - 1, weights=seen, minlength=len(run.courses))
    assert np.abs(seen - shapely.area(shapely.intersection(extent, shown))).max() <= crumb


@SETTINGS
@given(extents(), shingles)
def test_all_but_the_first_exposure_lies_under_two_shingles(
    extent: shapely.Polygon, material: Material
) -> None:
    run = lay(extent, material)
    twice = []
    for course in run.courses[1:]:
        chosen = np.flatnonzero(np.isin(run.pieces.course, (course.number - 1, course.number)))
        above = [
            run.pieces.outline(int(k)) for k in chosen if run.pieces.course[k] == course.number
        ]
        below = [run.pieces.outline(int(k)) for k in chosen if run.pieces.course[k] < course.number]
        twice.append(shapely.union_all(above).intersection(shapely.union_all(below)))
    left, low, right, top = extent.bounds
    asked = extent.intersection(shapely.box(left, low + material.exposure, right, top + 1))
    missing = asked.difference(shapely.union_all(twice)).area
    assert missing <= 1e-9 * max(extent.area, extent.length)


@SETTINGS
@given(extents(), shingles)
def test_the_head_lap_is_the_height_less_two_exposures(
    extent: shapely.Polygon, material: Material
) -> None:
    lows = np.array([(course.low, course.high) for course in lay(extent, material).courses])
    laps = lows[:-2, 1] - lows[2:, 0]
    assert np.abs(laps - (material.width - 2 * material.exposure)).max(initial=0.0) < 1e-9
    assert material.width - 2 * material.exposure > 1.99 * INCH


@SETTINGS
@given(extents(), shingles)
def test_joints_of_neighbouring_courses_keep_their_distance_or_it_is_told(
    extent: shapely.Polygon, material: Material
) -> None:
    run = lay(extent, material)
    joints = [joints_of(run, course.number) for course in run.courses]
    least = min(
        (abs(a - b) for one, two in pairwise(joints) for a in one for b in two),
        default=math.inf,
    )
    assert abs(least - run.least_stagger) < 1e-6 or least == run.least_stagger == math.inf
    assert bool(run.shortfalls) == (least < material.stagger - 1e-4)


@SETTINGS
@given(extents(("rectangle", "trapezoid", "triangle", "turned", "sliver")), shingles)
def test_without_notches_every_joint_keeps_the_stagger(
    extent: shapely.Polygon, material: Material
) -> None:
    assert lay(extent, material).shortfalls == ()


@SETTINGS
@given(extents(), shingles)
def test_no_piece_is_longer_than_a_shingle_nor_a_sliver_unless_its_run_is(
    extent: shapely.Polygon, material: Material
) -> None:
    pieces = lay(extent, material).pieces
    widths = pieces.boxes[:, 2] - pieces.boxes[:, 0]
    assert widths.max() <= material.length + 1e-6
    narrow = np.flatnonzero(widths < material.shortest - 1e-5)
    for k in narrow:
        own = pieces.boxes[k]
        others = pieces.boxes[(pieces.course == pieces.course[k])]
        touching = (np.abs(others[:, 0] - own[2]) < 1e-6) | (np.abs(others[:, 2] - own[0]) < 1e-6)
        assert not touching.any()


@SETTINGS
@given(extents(), shingles, st.sampled_from((4, 6)))
def test_a_mirrored_extent_has_mirrored_shingles_and_nails(
    extent: shapely.Polygon, material: Material, count: int
) -> None:
    twin = affinity.scale(extent, -1.0, 1.0, origin=(0, 0))
    run, other = lay(extent, material), lay(twin, material)
    if start_side(extent) != start_side(twin):
        back = other.pieces.boxes[:, [2, 1, 0, 3]] * [-1, 1, -1, 1]
        assert np.abs(back - run.pieces.boxes).max() < 1e-6
    # An extent that is its own mirror is laid from the left both times: the same pieces.
    assert np.abs(other.pieces.areas - run.pieces.areas).max() < 1e-6
    counts = {
        len(nail_shingles(one.pieces, NAILING, length=material.length, high_wind=count == 6))
        for one in (run, other)
    }
    assert len(counts) == 1


@SETTINGS
@given(extents(), shingles, st.sampled_from((4, 6)))
def test_nails_lie_on_the_roof_and_hold_every_piece(
    extent: shapely.Polygon, material: Material, count: int
) -> None:
    pieces = lay(extent, material).pieces
    nails = nail_shingles(pieces, NAILING, length=material.length, high_wind=count == 6)
    assert shapely.distance(extent, shapely.points(nails)).max() < 1e-9
    widths = pieces.boxes[:, 2] - pieces.boxes[:, 0]
    whole = (widths > material.length - 1e-6) & ~np.isin(np.arange(len(pieces)), [*pieces.trimmed])
    assert count * whole.sum() <= len(nails) <= count * len(pieces)
    assert len(nails) >= len(pieces)
    outlines = np.array([pieces.outline(k) for k in range(len(pieces))])
    held = shapely.STRtree(shapely.points(nails)).query(outlines, "dwithin", 1e-9)[0]
    assert len(np.unique(held)) == len(pieces)


BASE = Nailing(
    fastener="cap-nail", source="", lap_spacing=9 * INCH, lap_start=9 * INCH,
    field_spacing=18 * INCH, field_rows=2, perimeter_share=2 / 3, corner_share=0.5,
)  # fmt: skip


@SETTINGS
@given(extents(("rectangle", "trapezoid", "ell", "holes", "triangle")))
def test_nails_of_sheets_lie_on_them_and_those_of_a_mirrored_roof_opposite(
    extent: shapely.Polygon,
) -> None:
    left, low, right, high = extent.bounds
    courses = courses_of(low, high, width=1.0, lap=2 * INCH, first=2 / 3)
    nailed = []
    for sign in (1.0, -1.0):
        shape = affinity.scale(extent, sign, 1.0, origin=((left + right) / 2, 0.0))
        corner = shape.intersection(shapely.box(left, low, left + 1.0, low + 1.0))
        corner = corner.union(shape.intersection(shapely.box(right - 1.0, low, right, low + 1.0)))
        strip = shape.intersection(shapely.box(left, low, right, low + 1.0)).difference(corner)
        nails = nail_sheets(
            courses,
            direction=Direction.ACROSS,
            side_lap=2 * INCH,
            nailing=BASE,
            extent=shape,
            zones=Zoned(perimeter=strip, corner=corner),
        )
        assert shapely.distance(shape, shapely.points(nails)).max(initial=0.0) < 1e-9
        nailed.append(nails)
    there, back = nailed
    back = np.column_stack([left + right - back[:, 0], back[:, 1]])
    tree = shapely.STRtree(shapely.points(there))
    _, away = tree.query_nearest(shapely.points(back), return_distance=True, all_matches=False)
    assert len(there) == len(back)
    assert away.max(initial=0.0) < 1e-6
