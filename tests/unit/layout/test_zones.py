"""Wind zones: how wide, and where on a plane."""

from __future__ import annotations

import math

import pytest
import shapely

from roof3d.catalog.laying import Border
from roof3d.errors import LayoutError
from roof3d.layout.model import Side
from roof3d.layout.zones import (
    NO_ZONES,
    load_zone_rules,
    mean_roof_height,
    wind_zones,
    zone_width,
)
from roof3d.spec.model import SiteSpec, Zones
from tests.model_text import Block, built


def sides_of(points: list[tuple[float, float]], *borders: Border) -> tuple[Side, ...]:
    """Sides of a ring of points, counterclockwise."""
    ends = [*points[1:], points[0]]
    return tuple(
        Side(border=border, edge=border.value, start=start, end=end)
        for border, start, end in zip(borders, points, ends, strict=True)
    )


RECTANGLE = [(0.0, 0.0), (20.0, 0.0), (20.0, 10.0), (0.0, 10.0)]
GABLE = sides_of(RECTANGLE, Border.EAVE, Border.RAKE, Border.RIDGE, Border.RAKE)
SHED = sides_of(RECTANGLE, Border.EAVE, Border.RAKE, Border.HIGH_EDGE, Border.RAKE)
OUTLINE = shapely.Polygon(RECTANGLE)


def on_plane(zone: shapely.Geometry) -> shapely.Geometry:
    return zone.intersection(OUTLINE)


def test_without_zones_there_is_neither_width_nor_area() -> None:
    roof = built(Block(length=10, width=8, pitch=0.5)).roof
    assert zone_width(SiteSpec(), roof, slope=0.5) == 0.0
    assert wind_zones(GABLE, OUTLINE, 1.0, slope=0.5, zones=Zones.NONE) is NO_ZONES


def test_a_given_width_is_taken_as_it_is() -> None:
    roof = built(Block(length=10, width=8, pitch=0.5)).roof
    site = SiteSpec(zones=Zones.GIVEN, zone_width=1.7)
    assert zone_width(site, roof, slope=0.5) == 1.7


def test_a_given_width_of_nothing_is_refused() -> None:
    roof = built(Block(length=10, width=8, pitch=0.5)).roof
    with pytest.raises(LayoutError, match="wider than 0, not 0 m"):
        zone_width(SiteSpec(zones=Zones.GIVEN), roof, slope=0.5)


# A plane of 20 by 10 m and zones 1 m wide, by hand: eave and both rakes, two corner squares.
def test_a_flat_gable_side_has_three_strips_and_two_corners() -> None:
    zoned = wind_zones(GABLE, OUTLINE, 1.0, slope=0.0, zones=Zones.ASCE_7_10)
    corners = shapely.union(shapely.box(0, 0, 1, 1), shapely.box(19, 0, 20, 1))
    inner = shapely.box(1, 1, 19, 10)
    assert on_plane(zoned.corner).symmetric_difference(corners).area < 1e-9
    ring = OUTLINE.difference(inner).difference(corners)
    assert on_plane(zoned.perimeter).symmetric_difference(ring).area < 1e-9


def test_above_seven_degrees_the_ridge_has_a_strip_too() -> None:
    slope = math.tan(math.radians(30))
    zoned = wind_zones(GABLE, OUTLINE, 1.0, slope=slope, zones=Zones.ASCE_7_10)
    along = 1 / math.cos(math.radians(30))  # a metre of plan, on the slope
    inner = shapely.box(1, along, 19, 10 - along)
    corners = shapely.union(shapely.box(0, 0, 1, along), shapely.box(19, 0, 20, along))
    ring = OUTLINE.difference(inner).difference(corners)
    assert on_plane(zoned.corner).symmetric_difference(corners).area < 1e-9
    assert on_plane(zoned.perimeter).symmetric_difference(ring).area < 1e-9


def test_a_given_width_leaves_the_ridge_alone() -> None:
    zoned = wind_zones(GABLE, OUTLINE, 1.0, slope=0.5, zones=Zones.GIVEN)
    assert not zoned.perimeter.intersects(shapely.box(2, 8, 18, 10))


def test_a_low_slope_by_height_has_corners_of_two_legs() -> None:
    zoned = wind_zones(SHED, OUTLINE, 3.0, slope=0.0, zones=Zones.ASCE_7_16)
    # Legs 3 m long and 1 m deep: 3 + 3 - 1 m2 in each of four corners.
    assert on_plane(zoned.corner).area == pytest.approx(4 * 5)
    ell = shapely.union(shapely.box(0, 0, 3, 1), shapely.box(0, 0, 1, 3))
    in_corner = on_plane(zoned.corner).intersection(shapely.box(0, 0, 5, 5))
    assert in_corner.symmetric_difference(ell).area < 1e-9
    assert on_plane(zoned.perimeter).area == pytest.approx(20 * 10 - 14 * 4 - 4 * 5)


def test_zones_lie_side_by_side_and_a_foot_past_the_plane_at_most() -> None:
    points = [(0.0, 0.0), (20.0, 0.0), (14.0, 6.0), (6.0, 6.0)]
    sides = sides_of(points, Border.EAVE, Border.RAKE, Border.HIGH_EDGE, Border.RAKE)
    zoned = wind_zones(sides, shapely.Polygon(points), 2.0, slope=0.0, zones=Zones.ASCE_7_10)
    assert zoned.corner.intersection(zoned.perimeter).area < 1e-9
    past = shapely.Polygon(points).buffer(0.3048, join_style="mitre")
    both = shapely.union(zoned.corner, zoned.perimeter)
    assert both.difference(past).area < 1e-9
    turned_down = shapely.box(5, -0.3, 15, 0)
    assert turned_down.difference(zoned.perimeter).area < 1e-9


def test_an_inside_corner_is_no_corner() -> None:
    points = [(0.0, 0.0), (4.0, 0.0), (4.0, 3.0), (9.0, 3.0), (9.0, 8.0), (0.0, 8.0)]
    sides = sides_of(points, *[Border.EAVE] * 6)
    zoned = wind_zones(sides, shapely.Polygon(points), 1.0, slope=0.0, zones=Zones.ASCE_7_10)
    plane = shapely.Polygon(points)
    assert zoned.corner.intersection(plane).area == pytest.approx(5 * 1.0)
    assert not zoned.corner.intersects(shapely.box(2.5, 2.5, 5, 4.5))


def test_the_mean_height_is_midway_from_eave_to_ridge_but_the_eave_on_low_slopes() -> None:
    # Eaves at 3 m, run 12 m at 6:12: ridge at 9 m.
    steep = built(Block(length=40, width=24, pitch=0.5, eave=3)).roof
    assert mean_roof_height(steep) == pytest.approx(6.0)
    assert mean_roof_height(steep, ground=1.0) == pytest.approx(5.0)
    low = built(Block(length=40, width=24, pitch=1 / 12, eave=3)).roof
    assert mean_roof_height(low) == pytest.approx(3.0)


def test_every_figure_names_its_source() -> None:
    assert "ASCE 7-02" in load_zone_rules().source
    assert load_zone_rules().source.count("from memory") == 3
