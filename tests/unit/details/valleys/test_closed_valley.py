"""Closed-cut valley: which plane runs through, how far, where the other is cut, and its nails."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
import shapely

from roof3d.details.frame import Face
from roof3d.details.model import Detail, DetailKind, PieceKind
from roof3d.details.valleys.closed_valley import build_closed_valley
from roof3d.errors import LayoutError
from roof3d.roof.model import Role
from roof3d.scene.detail_scene import build_detail
from tests.unit.details.hand_joints import hand_joint, hand_site, pitched
from tests.unit.details.valleys.houses import (
    INCH,
    check_exposure,
    check_sound,
    courses_of,
    house,
    measured,
    of_role,
    outline_of,
    true_detail,
)

CLOSED = "closed_cut"
PITCHES = [("2:12", ""), ("3:12", "6:12"), ("6:12", "8:12"), ("12:12", ""), ("21:12", "")]


def through_face(detail: Detail) -> Face:
    return Face.NEAR if len(of_role(detail, "shingles_near.")) and _first(detail) else Face.FAR


def _first(detail: Detail) -> bool:
    shingles = of_role(detail, "shingles_")
    return shingles[0].id.startswith("shingles_near.")


@pytest.mark.parametrize(("pitch", "wing"), PITCHES)
def test_sound_at_every_pitch(pitch: str, wing: str) -> None:
    project = house(pitch, wing, CLOSED)
    check_sound(true_detail(project, "house.valley"))
    check_sound(build_detail(project, "house.valley"))


@pytest.mark.parametrize(("pitch", "wing"), PITCHES)
def test_lengths_are_those_of_handbooks(pitch: str, wing: str) -> None:
    """12 in across, cut 2 in back, no nail within 6 in: handbooks; 36 in lining: IRC."""
    found = measured(true_detail(house(pitch, wing, CLOSED), "house.valley"))
    wanted = {"lining_near": 18.0, "through": 12.0, "cut_back": 2.0, "bed": 3.0}
    assert {name: found[name] for name in wanted} == wanted


@pytest.mark.parametrize(("pitch", "wing", "flat"), [("3:12", "6:12", 0.25), ("8:12", "6:12", 0.5)])
def test_the_flatter_plane_runs_through(pitch: str, wing: str, flat: float) -> None:
    detail = true_detail(house(pitch, wing, CLOSED), "house.valley")
    face = through_face(detail)
    slopes = {face.face: face.slope for face in detail.faces}
    assert slopes[face] == pytest.approx(flat)
    numbers = {f: {p.layer for p in of_role(detail, f"shingles_{f}.")} for f in Face}
    other = Face.FAR if face is Face.NEAR else Face.NEAR
    assert max(numbers[face]) < min(numbers[other])


@pytest.mark.parametrize(("pitch", "wing"), PITCHES)
def test_every_whole_course_runs_through_and_the_other_is_cut(pitch: str, wing: str) -> None:
    detail = true_detail(house(pitch, wing, CLOSED), "house.valley")
    face = through_face(detail)
    sign = -1.0 if face is Face.NEAR else 1.0
    line = shapely.LineString([(-0.5 * detail.size[0], 0.0), (0.5 * detail.size[0], 0.0)])
    band = (
        shapely.box(-0.3, 0.0, 0.3, 11.9 * INCH)
        if sign < 0
        else shapely.box(-0.3, -11.9 * INCH, 0.3, 0.0)
    )
    through = shapely.union_all([outline_of(p) for p in of_role(detail, f"shingles_{face}.")])
    assert shapely.difference(line, through.buffer(INCH / 8)).length < INCH
    assert shapely.difference(band, through.buffer(INCH / 8)).area < 1e-4 * band.area
    other = Face.FAR if face is Face.NEAR else Face.NEAR
    cut = shapely.union_all([outline_of(p) for p in of_role(detail, f"shingles_{other}.")])
    reach = shapely.get_coordinates(cut)[:, 1] * sign
    assert reach.max() / INCH == pytest.approx(-2.0, abs=1e-6)


@pytest.mark.parametrize(("pitch", "wing"), PITCHES)
def test_no_joint_and_no_nail_lies_in_the_crease(pitch: str, wing: str) -> None:
    detail = true_detail(house(pitch, wing, CLOSED), "house.valley")
    face = through_face(detail)
    for pieces in courses_of(detail, face).values():
        for one, other in pairwise(pieces):
            first, second = (outline_of(p) for p in (one, other))
            between = shapely.intersection(first.buffer(0.1 * INCH), second.buffer(0.1 * INCH))
            if not between.is_empty:
                away = np.abs(shapely.get_coordinates(between)[:, 1]).min()
                assert away / INCH >= 7.8
    nails = [p for p in detail.pieces if p.kind is PieceKind.FASTENER]
    assert len(nails) >= 8
    heads = [np.abs(detail.frame.developed(p.vertices)[:, 1]).min() / INCH for p in nails]
    assert min(heads) >= 6.0 - 3 / 16 - 1e-6


@pytest.mark.parametrize("face", list(Face))
def test_courses_keep_their_exposure(face: Face) -> None:
    detail = true_detail(house("6:12", "8:12", CLOSED), "house.valley")
    assert 6 <= len(courses_of(detail, face)) <= 14
    check_exposure(detail, face, 5.625)


def test_a_valley_with_a_membrane_is_refused() -> None:
    roof, edge = hand_joint(pitched(1, 40), pitched(8, -20))
    site = hand_site(roof, edge)
    site = replace(site, place=replace(site.place, kind=DetailKind.VALLEY_CLOSED))
    with pytest.raises(LayoutError, match=r"edges\[low.transition\]"):
        build_closed_valley(site)


def test_without_a_layout_it_says_what_to_do() -> None:
    roof, edge = hand_joint(pitched(6, 40), pitched(8, -20))
    both = {"low": "laminated-shingle", "steep": "laminated-shingle"}
    roof = replace(roof, edges=(replace(edge, role=Role.VALLEY),))
    with pytest.raises(LayoutError, match="lay out the roof first"):
        build_closed_valley(hand_site(roof, edge, assemblies=both))
