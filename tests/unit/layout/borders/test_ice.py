"""The ice barrier on planes."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
import shapely

from roof3d.catalog.laying import Border
from roof3d.errors import CatalogError, LayoutError
from roof3d.layout.borders.extent import move_sides
from roof3d.layout.borders.ice import (
    IceRule,
    WallFace,
    ice_reach,
    ice_rule,
    ice_zone,
    load_ice_rules,
    parse_ice_rules,
    without_ice,
)
from tests.unit.layout.borders.shipped_planes import (
    EVERY,
    INCH,
    apart,
    mirrored,
    plane,
    ring_sides,
)

B = Border
RULE = ice_rule("IRC 2018")
EAVE = ring_sides([(0.0, 0.0), (1.0, 0.0), (1.0, 1.0)])[0]


def test_an_unknown_edition_names_the_known_ones() -> None:
    with pytest.raises(LayoutError) as caught:
        ice_rule("IRC 1998")
    assert str(caught.value) == (
        'site.code: no ice barrier rule is known for "IRC 1998" '
        "(one of IRC 2015, IRC 2018, IRC 2021, IRC 2024)"
    )


def test_case_and_spaces_of_an_edition_do_not_matter() -> None:
    assert ice_rule(" irc2018 ") == RULE


def test_every_edition_tells_its_clause_and_that_it_is_from_memory() -> None:
    for rule in load_ice_rules():
        assert rule.clause == "R905.1.2"
        assert rule.source.startswith(f"{rule.code}, {rule.clause} (")
        assert "from memory" in rule.source
        assert rule.face is WallFace.EXTERIOR


def test_the_interior_face_adds_the_wall() -> None:
    rule = ice_rule("IRC 2018", face=WallFace.INTERIOR, wall=6 * INCH)
    assert ice_reach(EAVE, 0.0, rule) / INCH == pytest.approx(30.0)
    # From the exterior face the thickness does not matter.
    assert ice_reach(EAVE, 0.0, ice_rule("IRC 2018", wall=6 * INCH)) / INCH == pytest.approx(24.0)
    with pytest.raises(LayoutError, match="thickness of the wall"):
        ice_rule("IRC 2018", face=WallFace.INTERIOR)


def test_only_eaves_have_a_barrier_and_never_a_negative_one() -> None:
    assert ice_reach(replace(EAVE, border=B.RAKE), 0.5, RULE) == 0.0
    assert ice_reach(replace(EAVE, overhang=-1.0), 0.5, RULE) == 0.0


@pytest.mark.parametrize(
    ("edition", "message"),
    [
        ({"code": "X"}, "'clause' is missing"),
        ({"code": "X", "clause": "1", "inside": "24 kg", "face": "exterior"}, "cannot be read"),
        ({"code": "X", "clause": "1", "inside": "24 in", "face": "outer"}, "cannot be read"),
    ],
)
def test_wrong_data_is_told_with_its_place(edition: dict[str, str], message: str) -> None:
    with pytest.raises(CatalogError, match=message) as caught:
        parse_ice_rules({"edition": [edition]})
    assert caught.value.where == "ice.toml"


def test_the_porch_house_under_its_barrier() -> None:
    # 16 in + 24 in at 6:12 is 44.72 in; the eave of the north plane is 520 in long.
    north = plane("lantern-street", "main.north")
    reach = 40.0 * math.sqrt(1.25)
    zone = ice_zone(north.outline, north.sides, north.plane.slope, RULE)
    assert zone.area / INCH**2 == pytest.approx(520.0 * reach, abs=0.05)
    # The south eaves are 140 in each, and the barrier ends where the porch begins.
    south = plane("lantern-street", "main.south")
    zone = ice_zone(south.outline, south.sides, south.plane.slope, RULE)
    assert zone.geom_type == "MultiPolygon"
    assert zone.area / INCH**2 == pytest.approx(2 * 140.0 * reach, abs=0.05)


def test_a_barrier_goes_up_to_the_line_of_valley_and_hip() -> None:
    # long.north of the L: a parallelogram's foot, 24 ft of eave between valley and hip.
    north = plane("plum-corner", "long.north")
    slope = north.plane.slope
    (eave,) = (side for side in north.sides if side.border is B.EAVE)
    reach = ice_reach(eave, slope, RULE)
    assert reach / INCH == pytest.approx(42.0 * math.hypot(1.0, 7 / 12), abs=1e-6)
    zone = ice_zone(north.outline, north.sides, slope, RULE)
    # Valley and hip lean the same way: the strip keeps the width of the eave.
    assert zone.area == pytest.approx(math.dist(eave.start, eave.end) * reach, abs=1e-6)


def test_a_plane_without_an_eave_has_no_barrier() -> None:
    deck = plane("ferry-quay", "hall.south_upper")
    assert ice_zone(deck.outline, deck.sides, deck.plane.slope, RULE).is_empty
    assert (
        without_ice(deck.outline, deck.outline, deck.sides, deck.plane.slope, RULE, 0.1)
        is deck.outline
    )


def test_a_layer_after_ice_starts_below_the_head_of_the_barrier() -> None:
    # 8 by 5 m, level, 0.5 m of overhang; turned down 0.1 on three sides.
    ring = [(0.0, 0.0), (8.0, 0.0), (8.0, 5.0), (0.0, 5.0)]
    outline = shapely.Polygon(ring)
    sides = ring_sides(ring, borders=[B.EAVE, B.RAKE, B.RIDGE, B.RAKE])
    sides = (replace(sides[0], overhang=0.5), *sides[1:])
    extent = move_sides(outline, sides, [0.1, 0.1, 0.0, 0.1], cut_corners=True)
    rule = IceRule(code="", clause="", inside=0.7, face=WallFace.EXTERIOR, source="")
    left = without_ice(extent, outline, sides, 0.0, rule, 0.15)
    assert apart(left, shapely.box(-0.1, 1.05, 8.1, 5.0)) < 1e-7
    # Further below than the barrier is wide: as if there were none.
    assert without_ice(extent, outline, sides, 0.0, rule, 1.3) is extent


def test_past_the_end_of_a_short_wall_the_barrier_ends_along_the_fall_and_is_lapped() -> None:
    # A wall of half a metre askew at the end of the eave; 1.2 m of barrier: by hand.
    ring = [(0.0, 0.0), (4.0, 0.0), (4.5, 0.5), (8.0, 0.5), (8.0, 5.0), (0.0, 5.0)]
    outline = shapely.Polygon(ring)
    borders = [B.EAVE, B.SIDEWALL, B.SIDEWALL, B.RAKE, B.RIDGE, B.RAKE]
    sides = ring_sides(ring, borders=borders)
    sides = (replace(sides[0], overhang=0.5), *sides[1:])
    rule = IceRule(code="", clause="", inside=0.7, face=WallFace.EXTERIOR, source="")
    zone = ice_zone(outline, sides, 0.0, rule)
    right = shapely.Polygon([(0.0, 0.0), (4.0, 0.0), (4.5, 0.5), (4.5, 1.2), (0.0, 1.2)])
    assert apart(zone, right) < 1e-7
    left = without_ice(outline, outline, sides, 0.0, rule, 0.15)
    above, beside = shapely.box(0.0, 1.05, 8.0, 5.0), shapely.box(4.35, 0.5, 8.0, 1.05)
    foot = shapely.Polygon([(4.35, 0.35), (4.5, 0.5), (4.35, 0.5)])
    assert apart(left, shapely.union_all([above, beside, foot])) < 1e-3


@pytest.mark.parametrize(("name", "plane_id"), EVERY)
def test_what_is_left_and_the_barrier_cover_the_plane_and_lap(name: str, plane_id: str) -> None:
    laid = plane(name, plane_id)
    slope, lap = laid.plane.slope, 0.15
    reaches = [0.05 if side.border in {B.EAVE, B.RAKE, B.HIP} else 0.0 for side in laid.sides]
    extent = move_sides(laid.outline, laid.sides, reaches, cut_corners=True)
    zone = ice_zone(laid.outline, laid.sides, slope, RULE)
    left = without_ice(extent, laid.outline, laid.sides, slope, RULE, lap)
    assert left.is_valid
    assert laid.outline.difference(zone.union(left)).area < 1e-6
    eaves = [side for side in laid.sides if side.border is B.EAVE]
    beside = laid.outline.difference(zone).buffer(-1e-3)
    # Where the barrier ends within the plane its side is lapped too.
    assert beside.buffer(lap).intersection(laid.outline).difference(left).area < 1e-6
    for side in eaves:
        start = ice_reach(side, slope, RULE) - lap
        line = shapely.LineString([side.start, side.end])
        # Nothing within the lap's line of the eave, nor turned down over it.
        below = line.buffer(start - 1e-4, cap_style="flat").intersection(left)
        assert below.difference(beside.buffer(lap + 2e-3, join_style="mitre")).area < 1e-6
    if eaves:
        assert (
            zone.intersection(left).area
            > 0.5 * lap * sum(math.dist(side.start, side.end) for side in eaves) - 0.5
        )
    outline, sides = mirrored(laid.outline, laid.sides)
    flip = shapely.transform(extent, lambda points: points * (-1.0, 1.0))
    other = without_ice(flip, outline, sides, slope, RULE, lap)
    assert apart(left, shapely.transform(other, lambda points: points * (-1.0, 1.0))) < 1e-6
