"""Parapets on a roof: where they stand, how long and high they are, and what they leave."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace

import numpy as np
import pytest
import shapely

from roof3d.errors import GeometryError, Severity
from roof3d.project import Project, build
from roof3d.roof.model import Edge, Role, Roof
from roof3d.roof.solid import PARAPET, build_solid
from roof3d.spec.model import OpeningKind, OpeningSpec, ParapetSpec
from roof3d.spec.read import parse_spec
from tests.model_text import Block
from tests.parapet_models import built_with_parapets, with_parapets
from tests.unit.roof.test_solid import areas, open_sides, volume

DECK = Block(id="deck", form="flat", length=9.0, width=6.0, eave=4.0, pitch=0.02)
HALL = Block(id="hall", form="gable", length=9.0, width=6.0, at=(0.0, 5.0), eave=6.0, pitch=1.0)


def walls_of(roof: Roof) -> list[Edge]:
    return [edge for edge in roof.edges if edge.parapet is not None]


def lengths(edges: list[Edge]) -> list[float]:
    return sorted(round(edge.plan_length, 6) for edge in edges)


def test_a_deck_ends_at_the_inside_faces() -> None:
    roof = built_with_parapets(DECK).roof
    (plane,) = roof.planes
    # 9 by 6 m outside, walls of 0.2 m.
    assert plane.plan_area == pytest.approx(8.6 * 5.6)
    assert all(edge.parapet is not None for edge in roof.edges)
    assert lengths(walls_of(roof)) == [5.6, 5.6, 8.6, 8.6]
    copings = [round(e.parapet.coping_length, 6) for e in roof.edges if e.parapet]
    assert sorted(copings) == [6.0, 6.0, 9.0, 9.0]


def test_level_walls_are_headwalls_and_sloping_ones_sidewalls() -> None:
    roof = built_with_parapets(DECK).roof
    assert [edge.role for edge in roof.edges] == [Role.HEADWALL] * 2 + [Role.SIDEWALL] * 2


def test_the_top_is_level_and_as_high_as_asked_at_the_highest_point_inside() -> None:
    roof = built_with_parapets(DECK).roof
    tops = [edge.parapet.top for edge in roof.edges if edge.parapet]
    # Inside the north wall the roof lies at 4 m + 5.8 m x 0.02.
    assert tops == pytest.approx([4.0 + 5.8 * 0.02 + 0.6] * 4)
    heights = sorted(round(h, 9) for e in roof.edges for h in e.wall_heights or ())
    assert heights == pytest.approx([0.6] * 4 + [0.6 + 5.6 * 0.02] * 4)


def test_the_wall_stands_on_the_far_side_of_the_edge() -> None:
    roof = built_with_parapets(replace(DECK, turn=33.0, at=(3.0, -7.0))).roof
    (plane,) = roof.planes
    inside = shapely.Polygon([point[:2] for point in plane.outline])
    whole = [inside]
    for edge in walls_of(roof):
        assert edge.parapet is not None
        plan = shapely.Polygon(edge.parapet.plan)
        assert plan.exterior.is_ccw
        assert plan.intersection(inside).area == pytest.approx(0.0, abs=1e-6)
        foot = shapely.LineString([edge.ends[0][:2], edge.ends[1][:2]])
        assert plan.exterior.distance(foot.interpolate(0.5, normalized=True)) < 1e-5
        whole.append(plan)
    assert shapely.union_all(whole).area == pytest.approx(54.0, abs=1e-4)


def test_only_the_sides_asked_for_carry_it_and_the_others_keep_their_overhang() -> None:
    roof = built_with_parapets(
        replace(DECK, overhang=(0.5, 0.3)), sides=((1, 3),)
    ).roof  # east and west
    assert {edge.role for edge in walls_of(roof)} == {Role.SIDEWALL}
    eave, high = (e for e in roof.edges if e.role in {Role.EAVE, Role.HIGH_EDGE})
    assert {round(eave.ends[0][1], 9), round(high.ends[0][1], 9)} == {-0.5, 6.5}


def test_no_wall_stands_where_a_house_takes_over() -> None:
    roof = built_with_parapets(DECK, HALL).roof
    (wall,) = [e for e in roof.edges if e.role is Role.HEADWALL and e.parapet is None]
    assert wall.planes == ("deck.south",)
    assert wall.plan_length == pytest.approx(8.6)
    # The side walls end at the house, 5 m from the street.
    assert lengths(walls_of(roof)) == pytest.approx([4.8, 4.8, 8.6])


def test_a_house_that_covers_half_a_side_leaves_the_other_half() -> None:
    roof = built_with_parapets(DECK, replace(HALL, length=4.0, at=(0.0, 5.5))).roof
    north = [
        e.parapet
        for e in walls_of(roof)
        if e.parapet and e.role is Role.HEADWALL and min(y for _, y in e.parapet.plan) > 3.0
    ]
    assert [round(p.coping_length, 6) for p in north] == [5.0]


L_SHAPE = """schema = 1
name = "L"
units = "metric"
[[section]]
id = "deck"
form = "outline"
outline = [["0 m","0 m"],["12 m","0 m"],["12 m","5 m"],["5 m","5 m"],["5 m","9 m"],["0 m","9 m"]]
eave = "4 m"
pitch = "2 %"
fall = 0
parapet = { height = "600 mm", thickness = "200 mm" }
"""


def test_inside_corners_are_mitred_too() -> None:
    roof = build(parse_spec(L_SHAPE)).roof
    (plane,) = roof.planes
    # Outside 12 x 5 + 5 x 4 = 80; the wall takes 0.2 of 42 m round it, less one 0.2 m square at
    # each of five outside corners, more one at the inside corner.
    assert plane.plan_area == pytest.approx(80.0 - 0.2 * 42.0 + 0.04 * 4)
    assert sum(e.parapet.coping_length for e in roof.edges if e.parapet) == pytest.approx(42.0)
    # Along the inside the walls at the inside corner are 0.2 m longer than outside.
    assert sum(e.plan_length for e in roof.edges) == pytest.approx(42.0 - 5 * 0.4 + 0.4)


def test_a_courtyard_has_a_parapet_of_its_own() -> None:
    yard = 'courtyard = [[["1 m","1 m"],["4 m","1 m"],["4 m","4 m"],["1 m","4 m"]]]\n'
    roof = build(parse_spec(L_SHAPE + yard)).roof
    (plane,) = roof.planes
    # Round the courtyard, 12 m, the wall stands outside it: with its corners 3.4^2 - 3^2.
    assert plane.plan_area == pytest.approx(80.0 - 0.2 * 42.0 + 0.16 - 3.4**2)
    assert len(plane.holes) == 1
    assert sum(e.parapet.coping_length for e in roof.edges if e.parapet) == pytest.approx(54.0)


def test_a_corner_at_which_a_wall_runs_straight_on_is_none() -> None:
    text = L_SHAPE.replace('["12 m","0 m"]', '["7 m","0 m"],["12 m","0 m"]')
    straight, plain = build(parse_spec(text)).roof, build(parse_spec(L_SHAPE)).roof
    assert [e.parapet for e in straight.edges] == [e.parapet for e in plain.edges]


def test_a_chimney_in_the_wall_parts_it_square() -> None:
    stack = OpeningSpec(
        id="stack", kind=OpeningKind.CHIMNEY, at=(4.5, 6.0), size=(1.0, 1.0), turn=0.0, height=2.0
    )
    spec = replace(with_parapets((DECK,)), openings=(stack,))
    roof = build(spec).roof
    north = [
        e.parapet for e in walls_of(roof) if e.parapet and min(y for _, y in e.parapet.plan) > 3
    ]
    assert sorted(p.coping_length for p in north) == pytest.approx([4.0, 4.0, 6.0, 6.0][:2])
    assert roof.openings[0].planes == ("deck.south",)
    assert open_sides(build_solid(spec, roof)) == 0


def test_two_planes_under_one_level_top() -> None:
    block = Block(id="low", form="gable", length=10.0, width=6.0, eave=4.0, pitch=0.04)
    roof = built_with_parapets(block).roof
    assert len({edge.parapet.top for edge in roof.edges if edge.parapet}) == 1
    # Each gable end is two edges, parted under the ridge.
    assert lengths(walls_of(roof)) == pytest.approx([2.8] * 4 + [9.6] * 2)


@pytest.mark.parametrize("blocks", [(DECK,), (DECK, HALL), (replace(DECK, turn=20.0),)])
def test_the_building_is_closed_with_its_walls(blocks: tuple[Block, ...]) -> None:
    spec = with_parapets(blocks)
    roof = build(spec).roof
    solid = build_solid(spec, roof)
    assert open_sides(solid) == 0
    meshed = areas(solid)
    assert {p.id: meshed[p.id] for p in roof.planes} == pytest.approx(
        {p.id: p.area for p in roof.planes}, rel=1e-6
    )
    tops = sum(shapely.Polygon(e.parapet.plan).area for e in roof.edges if e.parapet)
    assert meshed[PARAPET] == pytest.approx(tops, abs=1e-4)


def test_the_walls_add_their_own_volume() -> None:
    spec = with_parapets((DECK,))
    bare = replace(spec, sections=(replace(spec.sections[0], parapet=None),))
    with_walls, without = (volume(build_solid(s, build(s).roof)) for s in (spec, bare))
    # 54 - 8.6 x 5.6 m2 of wall; its mean foot is the roof's middle, 4.06 m up.
    top = 4.0 + 5.8 * 0.02 + 0.6
    assert with_walls - without == pytest.approx((54.0 - 8.6 * 5.6) * (top - 4.06), rel=1e-6)


def outlet(kind: OpeningKind, at: tuple[float, float], **values: object) -> OpeningSpec:
    size = (0.3, 0.15) if kind is OpeningKind.SCUPPER else (0.2, 0.2)
    opening = OpeningSpec(id="o", kind=kind, at=at, size=size, turn=0.0, height=size[1])
    return replace(opening, **values)  # type: ignore[arg-type]


def drained(opening: OpeningSpec, *blocks: Block) -> Project:
    return build(replace(with_parapets(blocks or (DECK,)), openings=(opening,)))


@pytest.mark.parametrize("at", [(3.0, 0.0), (3.0, 0.1), (3.0, 0.45), (3.0, -0.2)])
def test_a_scupper_goes_through_the_parapet_beside_it(at: tuple[float, float]) -> None:
    (scupper,) = drained(outlet(OpeningKind.SCUPPER, at, sill=0.05)).roof.scuppers
    assert scupper.edge == "deck.headwall"
    assert scupper.place == pytest.approx((3.0, 0.2, 4.0 + 0.2 * 0.02 + 0.05))
    assert scupper.along == pytest.approx(2.8)


def test_a_sill_never_lies_below_the_roof_in_front_of_it() -> None:
    (scupper,) = drained(outlet(OpeningKind.SCUPPER, (0.0, 4.0), sill=0.01)).roof.scuppers
    # Through the west wall: the roof before its upper jamb lies 3.95 m up from the low edge.
    assert scupper.sill == pytest.approx(3.95 * 0.02, abs=1e-6)


def test_its_hole_goes_through_the_wall() -> None:
    spec = replace(
        with_parapets((DECK,)), openings=(outlet(OpeningKind.SCUPPER, (3.0, 0.0), sill=0.05),)
    )
    roof = build(spec).roof
    whole, holed = (
        build_solid(s, r)
        for s, r in ((replace(spec, openings=()), replace(roof, scuppers=())), (spec, roof))
    )
    assert open_sides(holed) == 0
    assert volume(whole) - volume(holed) == pytest.approx(0.3 * 0.15 * 0.2, rel=1e-6)


@pytest.mark.parametrize(
    ("opening", "told"),
    [
        (
            outlet(OpeningKind.SCUPPER, (4.0, 3.0)),
            "none is at its place; the nearest is 2.800 m off",
        ),
        (outlet(OpeningKind.SCUPPER, (0.3, 0.0)), "runs past the end of deck.headwall"),
        (outlet(OpeningKind.SCUPPER, (4.0, 0.0), size=(0.3, 0.75)), "the parapet is 0.712 m high"),
    ],
)
def test_a_scupper_without_a_wall_for_it_is_refused(opening: OpeningSpec, told: str) -> None:
    with pytest.raises(GeometryError, match=told):
        drained(opening)


def test_a_scupper_on_a_roof_without_parapets_is_refused() -> None:
    spec = with_parapets((replace(DECK, pitch=0.5),))
    with pytest.raises(GeometryError, match="a scupper goes through a parapet"):
        build(replace(spec, openings=(outlet(OpeningKind.SCUPPER, (3.0, 0.0)),)))


def test_a_drain_lies_in_a_membrane() -> None:
    (drain,) = drained(outlet(OpeningKind.DRAIN, (3.0, 1.0), sump=0.9)).roof.openings
    assert (drain.planes, drain.sump) == (("deck.south",), 0.9)
    assert drain.plan_area == pytest.approx(math.pi * 0.1**2, rel=1e-6)
    with pytest.raises(GeometryError, match=r"lies in a membrane, and hall\.south is steep"):
        drained(outlet(OpeningKind.DRAIN, (3.0, 6.0)), DECK, HALL)


@pytest.mark.parametrize("turn", [0.0, 90.0, 41.0])
def test_turning_the_house_changes_no_length(turn: float) -> None:
    def sums(block: Block) -> Mapping[str, float]:
        roof = built_with_parapets(block).roof
        return {
            "plan": roof.planes[0].plan_area,
            "coping": sum(e.parapet.coping_length for e in roof.edges if e.parapet),
            "height": float(np.sum([e.wall_heights or (0, 0) for e in roof.edges])),
        }

    assert sums(replace(DECK, turn=turn)) == pytest.approx(sums(DECK), rel=1e-6)


def test_a_parapet_is_frozen_and_told_by_its_section() -> None:
    roof = built_with_parapets(DECK).roof
    assert {e.parapet.section for e in roof.edges if e.parapet} == {"deck"}
    assert {e.parapet.height for e in roof.edges if e.parapet} == {0.6}
    assert with_parapets((DECK,)).sections[0].parapet == ParapetSpec(height=0.6, thickness=0.2)


def test_the_end_of_a_wall_in_a_steep_roof_is_told_as_a_note() -> None:
    # The deck's roof crosses the house's above its eave, so that the walls end in its slope.
    house = Block(id="house", form="gable", length=13, width=8, at=(-2, 5), eave=4.0, pitch=0.5)
    found = [f for f in built_with_parapets(DECK, house).findings if f.code == "R3D-BACKWALL"]
    assert [finding.severity for finding in found] == [Severity.NOTE] * 2
    assert all("0.200 m wide" in finding.message for finding in found)
