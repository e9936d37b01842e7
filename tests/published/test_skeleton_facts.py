"""Printed facts of roofs over outlines, found again with the skeleton alone."""

from __future__ import annotations

import math

import numpy as np
import pytest

from roof3d.skeleton import faces
from tests.face_measures import (
    by_edge,
    line_lengths,
    normal,
    outline_area,
    plan_area,
    role,
    sides,
    top_of,
    true_area,
)
from tests.outline_data import Rings, same_everywhere
from tests.random_outlines import convex, radial

EXACT = 1e-9
#: Metres: corners are put on a grid of one nanometre, which short edges lengthen inward.
GRID = 1e-8


def rectangle(length: float, width: float) -> Rings:
    return (((0.0, 0.0), (length, 0.0), (length, width), (0.0, width)),)


def regular(count: int) -> Rings:
    angles = [2.0 * math.pi * (k + 0.5) / count for k in range(count)]
    return (tuple((10.0 * math.cos(a), 10.0 * math.sin(a)) for a in angles),)


def general(seed: int) -> Rings:
    return radial(np.random.default_rng(seed), 5 + seed)


# Aichholzer, Aurenhammer, Alberts, Gaertner: A Novel Type of Skeleton for Polygons, J.UCS 1(12),
# 1995: a simple n-gon has exactly n faces, one an edge; every arc lies on the bisector of the
# two edges whose faces it parts.
@pytest.mark.parametrize("seed", range(20))
def test_one_face_an_edge(seed: int) -> None:
    rings = general(seed)
    found = by_edge(faces(rings, same_everywhere(0.5, rings)))
    assert len(found) == len(rings[0])
    assert min(plan_area(face) for face in found.values()) > 0.0
    eaves = {key: face[0][:2, :2].tolist() for key, face in found.items()}
    ring = rings[0]
    assert eaves == {
        (0, k): [list(ring[k]), list(ring[(k + 1) % len(ring)])] for k in range(len(ring))
    }


@pytest.mark.parametrize("seed", range(20))
def test_arcs_lie_on_bisectors(seed: int) -> None:
    rings = general(seed)
    slopes = same_everywhere(0.5, rings)
    worst = 0.0
    for side in sides(faces(rings, slopes)):
        if side.beyond is None:
            continue
        for x, y, _ in (side.start, side.end):
            gaps = []
            for key in (side.face, side.beyond):
                inward = -normal(rings, slopes, key)[:2]
                inward /= np.hypot(*inward)
                gaps.append(float(inward @ (np.array((x, y)) - rings[0][key[1]])))
            worst = max(worst, abs(gaps[0] - gaps[1]))
    assert worst < GRID


# The same authors, 1996: n - 2 interior nodes and 2n - 3 arcs in general position; a square has
# one node and four arcs. From memory.
@pytest.mark.parametrize("seed", range(20))
def test_nodes_and_arcs_in_general_position(seed: int) -> None:
    rings = general(seed)
    count = len(rings[0])
    arcs = [side for side in sides(faces(rings, same_everywhere(0.5, rings))) if side.beyond]
    nodes = {end for side in arcs for end in (side.start, side.end) if end[2] > 0.0}
    assert (len(nodes), len(arcs) // 2) == (count - 2, 2 * count - 3)


@pytest.mark.parametrize("count", [3, 4, 5, 6, 8, 12, 64])
def test_regular_polygon_has_one_node_and_an_arc_from_each_corner(count: int) -> None:
    rings = regular(count)
    arcs = [side for side in sides(faces(rings, same_everywhere(0.5, rings))) if side.beyond]
    nodes = {end for side in arcs for end in (side.start, side.end) if end[2] > 0.0}
    assert (len(nodes), len(arcs) // 2) == (1, count)


# Miller, Carpenters' Guide: on a rectangle with one slope, ridge = length - width.
@pytest.mark.parametrize(("length", "width"), [(40, 24), (30, 29), (61.5, 20.25), (1000, 1)])
def test_ridge_of_a_rectangle_is_length_less_width(length: float, width: float) -> None:
    rings = rectangle(length, width)
    slopes = same_everywhere(0.75, rings)
    lines = line_lengths(faces(rings, slopes), rings, slopes)
    assert lines["ridge"] == pytest.approx(length - width, rel=EXACT)


# Derived: a hip roof of 40 by 24 at 6:12 has a ridge of 16, a rise of 6 and hips of exactly 18;
# trapezoid (40 + 16) / 2 x 13.4164, triangle 24 / 2 x 13.4164, together 1,073.313.
def test_hip_roof_of_40_by_24_at_6_in_12() -> None:
    rings = rectangle(40, 24)
    slopes = same_everywhere(0.5, rings)
    found = faces(rings, slopes)
    lines = line_lengths(found, rings, slopes)
    assert lines == pytest.approx({"eave": 128.0, "hip": 72.0, "ridge": 16.0}, rel=EXACT)
    assert top_of(found) == pytest.approx(6.0, rel=EXACT)
    areas = [true_area(face) for face in by_edge(found).values()]
    assert areas == pytest.approx([375.659, 160.997, 375.659, 160.997], abs=0.0005)
    assert sum(areas) == pytest.approx(1073.313, abs=0.0005)


# Hip factor at a square corner: sqrt(2 + slope^2) times the common run; NAVEDTRA 14044
# (Builder 3 & 2 vol. 2) ch. 2: 18.76 in per foot at 8:12, and 23.45 ft on 15 ft of run.
def test_hip_over_a_square_corner() -> None:
    rings = rectangle(50, 30)
    slopes = same_everywhere(8 / 12, rings)
    hips = [s.length for s in sides(faces(rings, slopes)) if role(s, rings, slopes) == "hip"]
    assert hips == pytest.approx([23.45] * 8, abs=0.005)
    assert [12 * hip / 15 for hip in hips] == pytest.approx([18.76] * 8, abs=0.005)


# Octagon practice: over an outside corner of 135 degrees hip run = 1.08239 x common run
# (1 / cos 22.5 degrees; books round to 13 per 12).
@pytest.mark.parametrize("slope", [0.25, 0.5, 1.0, 1.5])
def test_octagon_hip_run(slope: float) -> None:
    rings = regular(8)
    found = faces(rings, same_everywhere(slope, rings))
    common = top_of(found) / slope
    runs = [
        math.dist(side.start[:2], side.end[:2]) for side in sides(found) if side.beyond is not None
    ]
    assert [run / common for run in runs] == pytest.approx([1.08239] * 16, abs=5e-6)


# Elementary: slopes s1, s2 at a square corner: the hip's plan line makes atan(s2 / s1) with the
# eave of the first. (The flatter plane runs further in: the hip leans toward the steep side.)
@pytest.mark.parametrize(("first", "second"), [(4, 9), (9, 4), (6, 12), (8, 7), (3, 18)])
def test_unequal_slopes_at_a_square_corner(first: float, second: float) -> None:
    rings = rectangle(40, 40)
    # The corner at the origin: edge 3 comes down to it, edge 0 leaves along x.
    slopes = ((first / 12, 0.5, 0.5, second / 12),)
    found = by_edge(faces(rings, slopes))
    x, y, z = found[0, 0][0][-1]
    assert found[0, 0][0][0].tolist() == [0.0, 0.0, 0.0]
    # Equal heights on both planes: y s1 = x s2.
    assert math.atan2(y, x) == pytest.approx(math.atan(second / first), rel=EXACT)
    assert z == pytest.approx(y * first / 12, rel=EXACT)


@pytest.mark.parametrize(("first", "second"), [(4, 9), (9, 4), (6, 12)])
def test_unequal_slopes_at_a_reflex_corner_make_a_valley_on_the_same_line(
    first: float, second: float
) -> None:
    ring = ((0.0, 0.0), (60.0, 0.0), (60.0, -60.0), (120.0, -60.0), (120.0, 60.0), (0.0, 60.0))
    # The reflex corner (60, 0): edge 0 arrives along x, edge 1 leaves down.
    slopes = ((first / 12, second / 12, 0.5, 0.5, 0.5, 0.5),)
    found = by_edge(faces((ring,), slopes))
    onward = found[0, 0][0][2]
    angle = math.atan2(onward[1], onward[0] - 60.0)
    assert angle == pytest.approx(math.atan(second / first), rel=EXACT)


# Estimating handbooks: any mix of planes at one slope: sloped area = plan area x slope factor.
@pytest.mark.parametrize("seed", range(10))
def test_sloped_area_is_plan_area_times_slope_factor(seed: int) -> None:
    rings = general(seed)
    found = by_edge(faces(rings, same_everywhere(0.5, rings)))
    total = sum(true_area(face) for face in found.values())
    assert total == pytest.approx(outline_area(rings) * 1.118034, rel=5e-7)


# Estimating in Building Construction ch. 14: a regular hip roof has the area of a gable roof of
# the same span, pitch and eave length.
def test_hip_roof_has_the_area_of_the_gable_roof() -> None:
    rings = rectangle(40, 24)
    hip = by_edge(faces(rings, same_everywhere(5 / 12, rings)))
    gable = by_edge(faces(rings, ((5 / 12, math.inf, 5 / 12, math.inf),)))
    sloped = true_area(gable[0, 0]) + true_area(gable[0, 2])
    assert sloped == pytest.approx(sum(true_area(face) for face in hip.values()), rel=EXACT)
    assert true_area(gable[0, 1]) == pytest.approx(24 * 5 / 2, rel=EXACT)


# Elementary: inside a convex outline no front is ever cut off by another's end, so the roof is
# the lowest of all planes at every point, whatever the slopes.
@pytest.mark.parametrize("seed", range(20))
def test_roof_over_a_convex_outline_is_the_lowest_plane(seed: int) -> None:
    rng = np.random.default_rng(seed)
    rings = convex(rng, 12)
    slopes = (tuple(rng.uniform(0.2, 1.5, len(rings[0])).tolist()),)
    found = faces(rings, slopes)
    start = np.array(rings[0])
    step = np.roll(start, -1, axis=0) - start
    inward = np.stack([-step[:, 1], step[:, 0]], axis=1) / np.hypot(*step.T)[:, np.newaxis]
    corners = np.concatenate([face[0] for face in by_edge(found).values()])
    rises = np.array(slopes[0]) * (
        (corners[:, np.newaxis, :2] - start[np.newaxis]) * inward[np.newaxis]
    ).sum(axis=2)
    assert np.abs(rises.min(axis=1) - corners[:, 2]).max() < 1e-7


# The same fact where the grid of a nanometre smears the peak over more than nodes are merged
# within.
def test_faces_of_a_regular_100_gon_meet_side_by_side() -> None:
    rings = regular(100)
    found = sides(faces(rings, same_everywhere(0.5, rings)))
    assert sum(side.beyond is None for side in found) == 100
