"""What must hold for any pile of sections."""

from __future__ import annotations

import math
from collections import defaultdict
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from roof3d.project import build
from roof3d.roof.model import Role
from roof3d.roof.solid import build_solid
from roof3d.spec.read import parse_spec
from tests.model_text import FOOT, built, mirrored, model_text, turned
from tests.property import by_sampling
from tests.property.strategies import SETTINGS, built_with, cut_piles, near_misses, piles

if TYPE_CHECKING:
    from collections.abc import Callable

    from roof3d.roof.model import Plane, Ring3, Roof, Solid
    from tests.model_text import Block
    from tests.property.strategies import Cut

BETWEEN = {Role.RIDGE, Role.HIP, Role.VALLEY, Role.TRANSITION, Role.PITCH_BREAK}
WALL = {Role.HEADWALL, Role.SIDEWALL}

#: Square metres and metres: slivers up to 64 grid steps (6e-5 m) wide belong to a neighbour.
ROUGH = 2e-3
#: What a rigid motion may change: rounding, and vertices that snap.
FINE = 1e-5


def _outline(block: Block) -> shapely.Polygon:
    """Return the plan outline of the section's roof."""
    eave, rake = block.overhang
    if block.form in {"hip", "mansard"}:
        rake = eave
    turn = math.radians(block.turn)
    corners = []
    for u, v in (
        (-rake, -eave),
        (block.length + rake, -eave),
        (block.length + rake, block.width + eave),
        (-rake, block.width + eave),
    ):
        corners.append(
            (
                block.at[0] + u * math.cos(turn) - v * math.sin(turn),
                block.at[1] + u * math.sin(turn) + v * math.cos(turn),
            )
        )
    return shapely.Polygon(corners)


def _polygon(plane: Plane) -> shapely.Polygon:
    return shapely.Polygon(
        [point[:2] for point in plane.outline],
        [[point[:2] for point in hole] for hole in plane.holes],
    )


def _visible(roof: Roof) -> float:
    return sum(plane.plan_area - plane.covered_plan_area for plane in roof.planes)


def _sums(roof: Roof) -> dict[str, float]:
    """Return what no motion may change: lengths by role, wall area, areas."""
    sums: dict[str, float] = dict.fromkeys((role.value for role in Role), 0.0)
    for edge in roof.edges:
        sums[edge.role.value] += edge.length
    sums["plan"] = sum(plane.plan_area for plane in roof.planes)
    sums["area"] = sum(plane.area for plane in roof.planes)
    sums["covered"] = sum(plane.covered_plan_area for plane in roof.planes)
    return sums


def _ring_area(ring: Ring3) -> float:
    """Return the area of a flat ring in space, by Newell's vector."""
    points = np.array(ring) - np.array(ring[0])
    cross = np.cross(points, np.roll(points, -1, axis=0)).sum(axis=0)
    return float(np.linalg.norm(cross)) / 2.0


def _open_sides(solid: Solid) -> int:
    """Count sides of triangles without their reverse, corners named by position."""
    balance: defaultdict[tuple[tuple[float, ...], tuple[float, ...]], int] = defaultdict(int)
    corners = [tuple(corner) for corner in solid.vertices.tolist()]
    for a, b, c in solid.triangles.tolist():
        for start, end in ((a, b), (b, c), (c, a)):
            p, q = corners[start], corners[end]
            balance[min(p, q), max(p, q)] += 1 if p < q else -1
    return sum(count != 0 for count in balance.values())


def _volume(solid: Solid) -> float:
    corners = solid.vertices[solid.triangles] - solid.vertices[0]
    return float(np.linalg.det(corners).sum()) / 6.0


@SETTINGS
@given(piles(raised=True))
def test_visible_plan_area_is_the_area_of_the_outlines_together(pile: tuple[Block, ...]) -> None:
    outlines = shapely.union_all([_outline(block) for block in pile])
    assert _visible(built(*pile).roof) == pytest.approx(outlines.area, abs=ROUGH)


@SETTINGS
@given(piles(overhangs=(0.0, 0.3, 0.5), raised=True))
def test_overhangs_only_lose_what_stands_before_walls(pile: tuple[Block, ...]) -> None:
    # Overhangs that have no roof of their own behind them are not built, so the whole outline
    # is the most that can be seen; what lies within the walls is never lost.
    outlines = shapely.union_all([_outline(block) for block in pile])
    walls = shapely.union_all([_outline(replace(block, overhang=(0.0, 0.0))) for block in pile])
    visible = _visible(built(*pile).roof)
    assert walls.area - ROUGH <= visible <= outlines.area + ROUGH


@SETTINGS
@given(piles(overhangs=(0.0, 0.3, 0.5), raised=True, most=1))
def test_one_section_covers_its_outline(pile: tuple[Block, ...]) -> None:
    roof = built(*pile).roof
    plan = sum(plane.plan_area for plane in roof.planes)
    assert plan == pytest.approx(_outline(pile[0]).area, abs=FINE)
    assert all(plane.covered_plan_area == 0.0 for plane in roof.planes)


@SETTINGS
@given(
    st.sampled_from((2 / 12, 0.5, 1.0)).flatmap(
        lambda pitch: st.tuples(
            st.just(pitch),
            piles(forms=("gable", "hip", "shed", "flat"), pitches=(pitch,), overhangs=(0.0, 0.5)),
        )
    )
)
def test_one_pitch_throughout_multiplies_plan_by_slope_factor(
    drawn: tuple[float, tuple[Block, ...]],
) -> None:
    pitch, pile = drawn
    roof = built(*pile).roof
    plan = sum(plane.plan_area for plane in roof.planes)
    sloped = sum(
        _ring_area(plane.outline) - sum(_ring_area(hole) for hole in plane.holes)
        for plane in roof.planes
    )
    assert sloped == pytest.approx(plan * math.hypot(1.0, pitch), rel=FINE)
    assert sum(plane.area for plane in roof.planes) == pytest.approx(sloped, rel=FINE)


@SETTINGS
@given(piles(overhangs=(0.0, 0.3, 0.5), raised=True))
def test_edges_lie_on_their_planes(pile: tuple[Block, ...]) -> None:
    roof = built(*pile).roof
    for edge in roof.edges:
        assert len(edge.planes) == (2 if edge.role in BETWEEN else 1), edge.id
        assert (edge.wall_heights is not None) == (edge.role in WALL), edge.id
        assert edge.length == pytest.approx(math.dist(*edge.ends), abs=FINE), edge.id
        for name in edge.planes:
            plane = roof.plane(name)
            polygon = _polygon(plane)
            for x, y, z in edge.ends:
                level = plane.gradient[0] * x + plane.gradient[1] * y + plane.offset
                assert z == pytest.approx(level, abs=2e-4), (edge.id, name)
                assert polygon.distance(shapely.Point(x, y)) < 1e-4, (edge.id, name)


@SETTINGS
@given(piles(overhangs=(0.0, 0.3, 0.5), raised=True))
def test_every_plane_is_bounded_by_its_edges(pile: tuple[Block, ...]) -> None:
    roof = built(*pile).roof
    for plane in roof.planes:
        own = shapely.union_all(
            [
                shapely.LineString([end[:2] for end in edge.ends])
                for edge in roof.edges
                if plane.id in edge.planes
            ]
        )
        bare = _polygon(plane).boundary.difference(own.buffer(1e-4)).length
        assert bare == pytest.approx(0.0, abs=ROUGH), plane.id


@SETTINGS
@given(
    piles(overhangs=(0.0, 0.3, 0.5), raised=True),
    st.sampled_from((90.0, 33.0, -71.0)),
    st.sampled_from(((7.3, -2.9), (500_000.0, 4_000_000.0))),
    st.sampled_from((mirrored, lambda block: block)),
)
def test_motion_and_mirror_change_no_length_and_no_area(
    pile: tuple[Block, ...],
    degrees: float,
    shift: tuple[float, float],
    seen: Callable[[Block], Block],
) -> None:
    moved = [turned(seen(block), degrees, shift) for block in pile]
    assert _sums(built(*moved).roof) == pytest.approx(_sums(built(*pile).roof), abs=ROUGH)


@SETTINGS
@given(piles(overhangs=(0.0, 0.5), raised=True))
def test_unit_of_input_changes_nothing(pile: tuple[Block, ...]) -> None:
    def in_feet(block: Block) -> Block:
        return replace(
            block,
            length=block.length / FOOT,
            width=block.width / FOOT,
            at=(block.at[0] / FOOT, block.at[1] / FOOT),
            eave=block.eave / FOOT,
            base=block.base / FOOT,
            break_in=None if block.break_in is None else block.break_in / FOOT,
            overhang=(block.overhang[0] / FOOT, block.overhang[1] / FOOT),
        )

    metric = built(*pile).roof
    imperial = built(*(in_feet(block) for block in pile), unit="ft").roof
    assert sorted(plane.id for plane in imperial.planes) == sorted(
        plane.id for plane in metric.planes
    )
    assert _sums(imperial) == pytest.approx(_sums(metric), abs=FINE)


@SETTINGS
@given(piles(overhangs=(0.0, 0.3, 0.5), raised=True))
def test_building_is_closed_and_outward(pile: tuple[Block, ...]) -> None:
    project = built(*pile)
    solid = build_solid(project.spec, project.roof)
    assert _open_sides(solid) == 0
    assert _volume(solid) > 0.0
    areas = dict.fromkeys(solid.faces, 0.0)
    for face, corners in zip(solid.faces, solid.vertices[solid.triangles], strict=True):
        areas[face] += _ring_area(corners.tolist())
    massing = {"wall", "fascia", "soffit", "floor"}
    assert {face: area for face, area in areas.items() if face not in massing} == pytest.approx(
        {plane.id: plane.area for plane in project.roof.planes}, abs=ROUGH
    )


@SETTINGS
@given(piles())
def test_volume_is_that_below_the_roof(pile: tuple[Block, ...]) -> None:
    # Without overhangs the building is the ground below its planes.
    project = built(*pile)
    expected = 0.0
    for plane in project.roof.planes:
        polygon = _polygon(plane)
        centre = polygon.centroid
        level = plane.gradient[0] * centre.x + plane.gradient[1] * centre.y + plane.offset
        expected += polygon.area * level
    solid = build_solid(project.spec, project.roof)
    assert _volume(solid) == pytest.approx(expected, abs=10 * ROUGH)


@SETTINGS
@given(piles(overhangs=(0.0, 0.5), raised=True))
def test_same_input_same_roof(pile: tuple[Block, ...]) -> None:
    spec = parse_spec(model_text(pile), source="pile.toml")
    again = parse_spec(model_text(pile), source="pile.toml")
    first = build(spec)
    assert spec == again
    assert build(spec).roof == first.roof
    names = [plane.id for plane in first.roof.planes] + [edge.id for edge in first.roof.edges]
    assert len(set(names)) == len(names)


@SETTINGS
@given(
    piles(overhangs=(0.0, 0.3, 0.5), raised=True),
    st.lists(st.tuples(st.floats(0, 1), st.floats(0, 1)), min_size=40, max_size=40),
)
def test_points_on_the_roof_are_those_found_by_brute_force(
    pile: tuple[Block, ...], places: list[tuple[float, float]]
) -> None:
    polygons = [(plane, _polygon(plane)) for plane in built(*pile).roof.planes]
    west, south, east, north = shapely.union_all([_outline(block) for block in pile]).bounds
    for a, b in places:
        x, y = west + a * (east - west), south + b * (north - south)
        if not by_sampling.clear(pile, x, y, 1e-3):
            continue
        found = {
            round(plane.gradient[0] * x + plane.gradient[1] * y + plane.offset, 3)
            for plane, polygon in polygons
            # On a hip, ridge or break of its own section both sides hold the point.
            if polygon.distance(shapely.Point(x, y)) < FINE
        }
        brute = by_sampling.sheets(pile, x, y)
        top = max((z for _, z in brute), default=-math.inf)
        for block, z in brute:
            # Only an overhang, or what no one sees, may be missing: strips with no roof of
            # their own behind them, and offcuts below a valley.
            if by_sampling.room(block, x, y, roof=False) > 0.0 and z == top:
                assert any(abs(z - level) < 2e-3 for level in found), (x, y, block.id)
        for level in found:
            assert any(abs(z - level) < 2e-3 for _, z in brute), (x, y, level)


@SETTINGS
@given(cut_piles(raised=True))
def test_openings_take_their_own_area_and_no_more(
    drawn: tuple[tuple[Block, ...], tuple[Cut, ...]],
) -> None:
    pile, cuts = drawn
    roof = built_with(pile, cuts).roof
    cut_away = sum(opening.plan_area for opening in roof.openings)
    assert _visible(roof) + cut_away == pytest.approx(_visible(built(*pile).roof), abs=ROUGH)


@SETTINGS
@given(cut_piles(raised=True))
def test_every_cut_plane_is_bounded_by_edges_and_rims(
    drawn: tuple[tuple[Block, ...], tuple[Cut, ...]],
) -> None:
    roof = built_with(*drawn).roof
    rims = [
        shapely.LineString([point[:2] for point in rim])
        for opening in roof.openings
        for rim in opening.rim
    ]
    for plane in roof.planes:
        own = [
            shapely.LineString([end[:2] for end in edge.ends])
            for edge in roof.edges
            if plane.id in edge.planes
        ]
        lines = shapely.union_all([*own, *rims])
        bare = _polygon(plane).boundary.difference(lines.buffer(1e-4)).length
        assert bare == pytest.approx(0.0, abs=ROUGH), plane.id


@SETTINGS
@given(cut_piles(raised=True))
def test_building_with_openings_is_closed(
    drawn: tuple[tuple[Block, ...], tuple[Cut, ...]],
) -> None:
    project = built_with(*drawn)
    solid = build_solid(project.spec, project.roof)
    assert _open_sides(solid) == 0
    assert _volume(solid) > 0.0


@SETTINGS
@given(near_misses())
def test_a_near_miss_is_the_roof_that_was_meant(
    drawn: tuple[tuple[Block, ...], tuple[Block, ...]],
) -> None:
    meant, typed = (built(*pile).roof for pile in drawn)
    exact, near = _sums(meant), _sums(typed)
    # Role by role, so that none longer than this is new or lost.
    roles = {role.value for role in Role}
    assert {role: near[role] for role in roles} == pytest.approx(
        {role: exact[role] for role in roles}, abs=0.05
    )
    assert _visible(typed) == pytest.approx(_visible(meant), abs=0.1)
