"""What every side of a plane is."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace

import numpy as np
import pytest
import shapely

from roof3d.catalog.laying import Border
from roof3d.errors import InvariantError
from roof3d.layout.borders.frame import frame_of, to_space
from roof3d.layout.borders.sides import sides_of
from roof3d.layout.joint import Given, JointRule
from roof3d.layout.model import Side
from roof3d.roof.build import build_roof
from roof3d.spec.read import parse_spec
from tests.unit.layout.borders.shipped_planes import (
    EVERY,
    INCH,
    MODELS,
    laid_planes,
    plane,
    planes_of,
    rings_of,
)

B = Border


def named(sides: tuple[Side, ...]) -> list[tuple[Border, str]]:
    return [(side.border, side.edge) for side in sides]


@pytest.mark.parametrize(("name", "plane_id"), EVERY)
def test_sides_are_the_whole_outline_once(name: str, plane_id: str) -> None:
    laid = plane(name, plane_id)
    lengths = [math.dist(side.start, side.end) for side in laid.sides]
    assert sum(lengths) == pytest.approx(laid.outline.length, abs=1e-6)
    rings = rings_of(laid.sides)
    assert len(rings) == 1 + len(laid.outline.interiors)
    for ring in rings:
        assert all(a.end == b.start for a, b in itertools.pairwise([*ring, ring[0]]))
    shell, *holes = (shapely.Polygon([side.start for side in ring]) for ring in rings)
    assert shell.difference(shapely.union_all(holes)).area == pytest.approx(
        laid.outline.area, abs=1e-9
    )


@pytest.mark.parametrize(("name", "plane_id"), EVERY)
def test_every_side_lies_on_its_edge_in_space(name: str, plane_id: str) -> None:
    laid = plane(name, plane_id)
    openings = {opening.id: opening for opening in laid.roof.openings}
    for side in laid.sides:
        ends = to_space(laid.frame, [side.start, side.end])
        if side.edge in openings:
            plan = shapely.LinearRing(openings[side.edge].outline)
            assert max(plan.distance(shapely.Point(p[:2])) for p in ends) < 1e-5
            continue
        edge = laid.roof.edge(side.edge)
        assert plane_id in edge.planes
        assert side.neighbour == next((p for p in edge.planes if p != plane_id), "")
        low, high = (np.array(p) for p in edge.ends)
        for point in ends:
            share = np.clip((point - low) @ (high - low) / edge.length**2, 0.0, 1.0)
            assert np.linalg.norm(low + share * (high - low) - point) < 1e-3


def test_every_free_edge_is_found_in_its_whole_length() -> None:
    for name, plane_id in EVERY:
        laid = plane(name, plane_id)
        found: dict[str, float] = {}
        for side in laid.sides:
            found[side.edge] = found.get(side.edge, 0.0) + math.dist(side.start, side.end)
        for edge in laid.roof.edges:
            if edge.planes == (plane_id,):
                assert found[edge.id] == pytest.approx(edge.length, abs=1e-3), edge.id


def test_sides_of_the_porch_house() -> None:
    # Its main south plane, from the west: eave, up beside the porch, over it, down, eave.
    south = plane("lantern-street", "main.south").sides
    assert named(south) == [
        (B.EAVE, "main.eave"),
        (B.SIDEWALL, "main.sidewall"),
        (B.JOINT_UPPER, "porch.transition"),
        (B.SIDEWALL, "main.sidewall_2"),
        (B.EAVE, "main.eave_2"),
        (B.RAKE, "main.rake_2"),
        (B.RIDGE, "main.ridge"),
        (B.RAKE, "main.rake"),
    ]
    north = plane("lantern-street", "main.north").sides
    assert named(north) == [
        (B.RIDGE, "main.ridge"),
        (B.RAKE, "main.rake_4"),
        (B.EAVE, "main.eave_3"),
        (B.RAKE, "main.rake_3"),
        *[(B.PIPE, "kitchen-vent")] * 32,
    ]
    porch = plane("lantern-street", "porch.south").sides
    assert named(porch) == [
        (B.EAVE, "porch.eave"),
        (B.RAKE, "porch.rake_2"),
        (B.JOINT_LOWER, "porch.transition"),
        (B.RAKE, "porch.rake"),
    ]
    # The joint is 20 ft on the main plane, between the walls, and 21 ft 4 in on the porch.
    assert [math.dist(s.start, s.end) / INCH for s in (south[2], porch[2])] == pytest.approx(
        [240.0, 256.0], abs=1e-3
    )
    assert [s.overhang / INCH for s in (south[0], south[4], north[2], porch[0])] == pytest.approx(
        [16.0, 16.0, 16.0, 12.0], abs=1e-6
    )
    assert {s.overhang for s in (*south[1:4], *south[5:], *porch[1:])} == {0.0}


def test_sides_round_a_dormer_and_a_skylight() -> None:
    assert named(plane("plum-corner", "long.south").sides) == [
        (B.EAVE, "long.eave"),
        (B.HIP, "long.hip"),
        (B.RIDGE, "long.ridge"),
        (B.HIP, "long.hip_2"),
        (B.SIDEWALL, "long.sidewall"),
        (B.VALLEY, "dormer.valley_2"),
        (B.VALLEY, "dormer.valley"),
        (B.SIDEWALL, "long.sidewall_2"),
        (B.HEADWALL, "long.headwall"),
        (B.OPENING_SIDE, "attic-light"),
        (B.OPENING_HEAD, "attic-light"),
        (B.OPENING_SIDE, "attic-light"),
        (B.OPENING_FOOT, "attic-light"),
    ]


def test_the_foot_of_an_opening_is_its_low_side() -> None:
    for name, plane_id in (("plum-corner", "long.north"), ("tide-house", "house.south_upper")):
        sides = plane(name, plane_id).sides
        (foot,) = (side for side in sides if side.border is B.OPENING_FOOT)
        (head,) = (side for side in sides if side.border is B.OPENING_HEAD)
        assert foot.start[1] == pytest.approx(foot.end[1], abs=1e-6)
        assert head.start[1] > foot.start[1] + 0.5


def test_a_joint_carries_the_membrane_up_the_steep_plane_from_both_sides() -> None:
    # 6:12 rises 8 in within 17.9 in: the 18 in along the slope decide. The porch, 1:12, is flat.
    for plane_id in ("main.south", "porch.south"):
        (joint,) = (s for s in plane("lantern-street", plane_id).sides if s.gap > 0.0)
        assert (joint.rise / INCH, joint.gap / INCH) == pytest.approx((18.0, 4.0), abs=1e-9)


def test_a_membrane_above_shingles_is_not_carried_up() -> None:
    for name in ("tide-house", "ferry-quay"):
        joints = [s for laid in planes_of(name) for s in laid.sides if s.gap > 0.0]
        uppers = [s for s in joints if s.border is B.JOINT_UPPER]
        assert len(joints) == 2 * len(uppers) > 0
        assert {(s.rise, s.gap) for s in joints} == {(0.0, 4.0 * INCH)}
        assert {s.border for s in joints} == {B.JOINT_UPPER, B.JOINT_LOWER}
        assert all("_upper" in laid.plane.id for laid in planes_of(name) for s in laid.sides
                   if s.border is B.JOINT_UPPER)  # fmt: skip


CROSSING = """
schema = 1
name = "one"
units = "metric"
[[section]]
id = "m"
form = "gable"
length = "16 m"
width = "8 m"
at = ["0 m", "0 m"]
eave = "3 m"
pitch = "8:12"
overhang = "0 m"
[[section]]
id = "w"
form = "gable"
length = "10 m"
width = "6 m"
at = ["11 m", "-6 m"]
turn = "90 deg"
eave = "3 m"
pitch = "8:12"
overhang = "0 m"
"""


def test_a_valley_between_membrane_and_shingles_is_a_joint() -> None:
    # 8:12 on both sides of a plan corner: 8 in of height are reached after 22.55 in square to
    # the valley (derived from VA 07 52 16, 8 in up).
    roof, _ = build_roof(parse_spec(CROSSING))
    kinds = {p.id: "membrane" if p.section == "w" else "shingle" for p in roof.planes}
    found = []
    for plane_id in ("m.south", "w.east", "w.west"):
        one = roof.plane(plane_id)
        sides = sides_of(roof, one, frame_of(one), kinds, {})
        found += [side for side in sides if side.border is B.JOINT_VALLEY]
        assert B.VALLEY not in {side.border for side in sides}
    assert [side.neighbour for side in found].count("m.south") == 2
    assert [side.rise / INCH for side in found] == pytest.approx([22.55] * 4, abs=0.005)
    # The membrane plane, at 8:12, is not flat: 2 in.
    assert [side.gap / INCH for side in found] == pytest.approx([2.0] * 4, abs=1e-9)


def test_a_membrane_in_a_valley_begins_at_the_eave() -> None:
    """The wing, 6 m wide about x = 8, meets the eave at x = 5 and 11, the corners of its eaves."""
    roof, _ = build_roof(parse_spec(CROSSING))
    kinds = {p.id: "membrane" if p.section == "w" else "shingle" for p in roof.planes}
    feet = {}
    for one in roof.planes:
        frame = frame_of(one)
        for side in sides_of(roof, one, frame, kinds, {}):
            if side.foot is not None:
                feet[(one.id, side.edge)] = tuple(to_space(frame, [side.foot])[0])
    assert set(feet) == {("m.south", "w.valley"), ("m.south", "w.valley_2")}
    assert sorted(feet.values()) == [
        pytest.approx((5.0, 0.0, 3.0), abs=1e-6),
        pytest.approx((11.0, 0.0, 3.0), abs=1e-6),
    ]


def test_a_membrane_is_never_carried_past_the_far_end_of_a_plane() -> None:
    roof, _ = build_roof(parse_spec((MODELS / "lantern-street.toml").read_text()))
    kinds = {"main.south": "shingle", "main.north": "shingle", "porch.south": "membrane"}
    porch = roof.plane("porch.south")
    rule = JointRule(rise_along=Given(50.0))
    sides = sides_of(roof, porch, frame_of(porch), kinds, {}, rule=rule)
    (joint,) = (side for side in sides if side.border is B.JOINT_LOWER)
    # From the joint, 1.2 ft inside the wall, to the ridge: 12.8 ft of run at 6:12.
    assert joint.rise / INCH == pytest.approx(12.8 * 12.0 * math.sqrt(1.25), abs=1e-2)


def test_planes_of_one_kind_meet_at_a_break() -> None:
    roof, _ = build_roof(parse_spec((MODELS / "tide-house.toml").read_text()))
    kinds = {p.id: "shingle" for p in roof.planes}

    def border(plane_id: str) -> set[Border]:
        one = roof.plane(plane_id)
        sides = sides_of(roof, one, frame_of(one), kinds, {})
        assert {(side.rise, side.gap) for side in sides} == {(0.0, 0.0)}
        return {s.border for s in sides if s.edge.startswith("house.transition")}

    assert border("house.south_upper") == {B.BREAK_UPPER}
    assert border("house.south_lower") == {B.BREAK_LOWER}


def test_overhang_is_negative_where_the_wall_stands_outside_and_0_without_walls() -> None:
    laid = plane("lantern-street", "porch.south")
    kinds = {"main.south": "shingle", "porch.south": "membrane"}

    def overhang(walls: dict[str, shapely.Polygon]) -> float:
        sides = sides_of(laid.roof, laid.plane, laid.frame, kinds, walls)
        return next(side.overhang for side in sides if side.border is B.EAVE)

    eave = laid.frame.origin[1]
    assert overhang({"porch": shapely.box(0.0, eave - 0.3, 20.0, 5.0)}) == pytest.approx(-0.3)
    assert overhang({"porch": shapely.box(0.0, eave, 20.0, 5.0)}) == 0.0
    assert overhang({"porch": shapely.box(30.0, eave + 1.0, 40.0, 5.0)}) == 0.0
    assert overhang({}) == 0.0


def test_a_chimney_through_the_ridge_bounds_both_planes() -> None:
    text = """
schema = 1
name = "one"
units = "metric"
[[section]]
id = "m"
form = "gable"
length = "12 m"
width = "8 m"
at = ["0 m", "0 m"]
eave = "3 m"
pitch = "50 %"
overhang = "0 m"
[[opening]]
id = "o"
kind = "chimney"
at = ["6 m", "4 m"]
size = ["1 m", "1 m"]
turn = "{turn} deg"
height = "1 m"
"""
    for laid in laid_planes(text.format(turn=0)):
        assert [b for b, edge in named(laid.sides) if edge == "o"] == [
            B.OPENING_SIDE, B.OPENING_FOOT, B.OPENING_SIDE,
        ]  # fmt: skip
        assert sum(edge.startswith("m.ridge") for _, edge in named(laid.sides)) == 2
    # Turned by 30 degrees it has two low sides on each plane: one nearer to level than to the fall.
    for laid in laid_planes(text.format(turn=30)):
        borders = [b for b, edge in named(laid.sides) if edge == "o"]
        assert (borders.count(B.OPENING_FOOT), B.OPENING_HEAD in borders) == (1, False)
        assert set(borders) == {B.OPENING_FOOT, B.OPENING_SIDE}


def test_a_crumb_goes_with_the_side_before_it() -> None:
    # A jog of half a millimetre in the middle of an eave.
    laid = plane("lantern-street", "main.north")
    _, _, across, up = laid.outline.bounds
    jog = [(0.0, 0.0), (6.0, 0.0), (6.0, 5e-4), (across, 5e-4), (across, up), (0.0, up)]
    outline = tuple((float(x), float(y), float(z)) for x, y, z in to_space(laid.frame, jog))
    kinds = dict.fromkeys(("main.south", "main.north"), "shingle")
    crooked = replace(laid.plane, outline=outline, holes=())
    sides = sides_of(laid.roof, crooked, laid.frame, kinds, {})
    assert [side.border for side in sides] == [B.EAVE] * 3 + [B.RAKE, B.RIDGE, B.RAKE]


def test_a_side_that_no_edge_explains_is_our_own_bug() -> None:
    laid = plane("lantern-street", "main.north")
    roof = replace(laid.roof, edges=tuple(e for e in laid.roof.edges if e.id != "main.rake_3"))
    kinds = dict.fromkeys(("main.south", "main.north", "porch.south"), "shingle")
    with pytest.raises(InvariantError, match=r"planes\[main\.north\].*5\.22\d+ m of it"):
        sides_of(roof, laid.plane, laid.frame, kinds, {})
