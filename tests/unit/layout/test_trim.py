"""Boxes trimmed to an extent, whole ones left as they are."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from shapely import affinity

from roof3d.layout import trim as trimming
from roof3d.layout.model import Course
from roof3d.layout.trim import strips_of, trim
from tests.property.extents import extents
from tests.property.strategies import SETTINGS


@SETTINGS
@given(extents(), st.integers(1, 9), st.integers(1, 9))
def test_what_is_left_is_the_overlay(extent: shapely.Polygon, across: int, up: int) -> None:
    low_u, low_v, high_u, high_v = extent.bounds
    u, v = np.linspace(low_u - 0.3, high_u, across + 1), np.linspace(low_v, high_v + 0.2, up + 1)
    boxes = np.array([[a, b, c, d] for a, c in zip(u, u[1:]) for b, d in zip(v, v[1:])])  # noqa: B905, RUF007
    before = boxes.copy()
    done = trim(boxes, extent)
    real = [shapely.intersection(extent, shapely.box(*box)).area for box in boxes]
    assert done.kept.tolist() == [area > 1e-9 * extent.area for area in real]
    expected = np.array(real)[done.kept]
    assert np.abs(done.areas - expected).max() <= 1e-9 * (1.0 + expected.max())
    for index, shape in done.outlines.items():
        assert abs(shape.area - done.areas[index]) <= 1e-12
        assert set(shapely.get_type_id(shapely.get_parts(shape))) == {3}
    assert (boxes == before).all()


def test_only_pieces_at_the_border_are_cut() -> None:
    steps = np.arange(200.0)
    u, v = (grid.ravel() for grid in np.meshgrid(steps, steps))
    boxes = np.stack([u, v, u + 1.0, v + 1.0], axis=1)  # more than one chunk
    assert len(boxes) > 2 * trimming.CHUNK
    done = trim(boxes, shapely.box(0.5, 0.0, 200.0, 199.25))
    assert len(done.outlines) == 200 + 199
    assert done.areas.sum() == 199.5 * 199.25


def test_a_box_that_only_touches_is_nothing() -> None:
    done = trim(np.array([[1.0, 0, 2, 1], [1, 1, 2, 2]]), shapely.box(0, 0, 1, 1))
    assert done.kept.tolist() == [False, False]


def test_an_opening_parts_a_course_and_a_touching_one_does_not() -> None:
    extent = shapely.box(0, 0, 10, 3) - shapely.box(4, 0.9, 6, 2.0 - 1e-9)
    rows = [Course(number=k + 1, low=float(k), high=k + 1.0) for k in range(3)]
    runs = [strip.runs for strip in strips_of(extent, rows)]
    assert runs == [((0, 10),), ((0, 4), (6, 10)), ((0, 10),)]


def test_a_corner_on_the_side_of_a_course_does_not_lengthen_it() -> None:
    ell = shapely.Polygon([(0, 0), (10, 0), (10, 1 + 1e-9), (4, 1 + 1e-9), (4, 2), (0, 2)])
    rows = [Course(number=k + 1, low=float(k), high=k + 1.0) for k in range(2)]
    assert [strip.runs for strip in strips_of(ell, rows)] == [((0, 10),), ((0, 4),)]


def test_parts_that_overlap_along_the_run_are_one() -> None:
    extent = shapely.box(0, 0, 10, 1) - shapely.Polygon(
        [(4, 0), (4.5, 0), (6.5, 1), (6, 1), (4, 0)]
    )
    (strip,) = strips_of(extent, [Course(number=1, low=0.0, high=1.0)])
    assert len(shapely.get_parts(extent)) == 2
    assert strip.runs == ((0, 10),)


@pytest.mark.parametrize("side", [1.0, 1.0 - 1e-12, 1.0 + 1e-12])
def test_an_opening_that_ends_on_the_side_of_a_course_does_not_part_it(side: float) -> None:
    # A round pipe touches the low side of the course and passes its high one.
    pipe = affinity.translate(shapely.Point(5, 0).buffer(0.8), 0.0, side + 0.8)
    rows = [Course(number=k + 1, low=float(k), high=k + 1.0) for k in range(3)]
    runs = [strip.runs for strip in strips_of(shapely.box(0, 0, 10, 3) - pipe, rows)]
    assert runs == [((0, 10),), ((0, 10),), ((0, 10),)]
