"""Valley between membrane and shingles: how far up, what lies over its head, what stays off."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
import shapely

from roof3d.details.frame import Face
from roof3d.details.model import PieceKind
from roof3d.details.valleys.joint_valley import build_joint_valley
from roof3d.errors import LayoutError
from roof3d.scene.detail_scene import build_detail
from tests.unit.details.hand_joints import hand_joint, hand_site, pitched
from tests.unit.details.valleys.houses import (
    INCH,
    check_exposure,
    check_sound,
    house,
    measured,
    of_role,
    outline_of,
    true_detail,
)

PITCHES = [("2:12", "1/4:12"), ("3:12", "1/2:12"), ("6:12", "1:12"), ("12:12", "1:12")]
PITCHES += [("21:12", "1.5:12")]


@pytest.mark.parametrize(("pitch", "wing"), PITCHES)
def test_sound_at_every_pitch(pitch: str, wing: str) -> None:
    project = house(pitch, wing)
    check_sound(true_detail(project, "house.valley"))
    check_sound(build_detail(project, "house.valley"))


@pytest.mark.parametrize(("pitch", "wing"), PITCHES)
def test_membrane_runs_up_as_far_as_the_layout_says(pitch: str, wing: str) -> None:
    """At least 18 in square to the crease, and 8 in straight up (VA 07 52 16)."""
    project = house(pitch, wing)
    detail = true_detail(project, "house.valley")
    sine = detail.frame.far[2]
    rise = max(18.0, 8.0 / sine)
    heads = {
        role: max(float(p.reach[1]) for p in of_role(detail, f"{role}_near.")) / INCH
        for role in ("base", "ply", "cap")
    }
    reach = detail.size[2] / INCH
    wanted = {"base": rise + 6.0, "ply": rise + 3.0, "cap": rise}
    for role, head in heads.items():
        assert head == pytest.approx(min(wanted[role], reach), abs=1e-4)
    assert detail.faces[0].slope == pytest.approx(_slope(wing))


def _slope(words: str) -> float:
    rise, run = words.split(":")
    parts = [float(part) for part in rise.split("/")]
    return (parts[0] / parts[1] if len(parts) > 1 else parts[0]) / float(run)


@pytest.mark.parametrize(("pitch", "wing"), PITCHES)
def test_order_is_cap_barrier_underlayment_shingles(pitch: str, wing: str) -> None:
    detail = true_detail(house(pitch, wing), "house.valley")
    orders = {
        name: [p.order for p in of_role(detail, name)]
        for name in (
            "base_near",
            "ply_near",
            "cap_near",
            "barrier",
            "underlayment_far",
            "shingles_far",
        )
    }
    rows = [row for row in orders.values() if row]
    assert len(rows) >= 5
    assert all(max(a) < min(b) for a, b in pairwise(rows))
    found = measured(detail)
    assert found["head_lap"] == 6.0


@pytest.mark.parametrize(
    ("pitch", "wing", "gap"), [("6:12", "1:12", 4.0), ("21:12", "1.5:12", 2.0)]
)
def test_shingles_stay_off_and_nails_further(pitch: str, wing: str, gap: float) -> None:
    detail = true_detail(house(pitch, wing), "house.valley")
    assert measured(detail)["gap"] == gap
    ring = [shapely.get_coordinates(outline_of(p)) for p in of_role(detail, "shingles_far.")]
    assert min(points[:, 1].min() for points in ring) / INCH == pytest.approx(gap, abs=1e-4)
    nails = [p for p in detail.pieces if p.kind is PieceKind.FASTENER and "shingles" in p.id]
    assert len(nails) >= 4
    least = min(detail.frame.developed(p.vertices)[:, 1].min() for p in nails) / INCH
    assert least >= 8.0 - 3 / 16 - 1e-6
    check_exposure(detail, Face.FAR, 5.625)


def test_no_base_nail_lies_near_the_crease() -> None:
    detail = true_detail(house("6:12", "1:12"), "house.valley")
    nails = next(p for p in detail.pieces if p.id == "base.nails")
    away = np.abs(detail.frame.developed(nails.vertices)[:, 1]).min() / INCH
    assert away >= 12.0 - 0.5 - 1e-6


def test_no_lap_of_the_membrane_runs_along_the_crease() -> None:
    """Sheets that meet cross the crease: their lap is not parallel to it."""
    detail = true_detail(house("6:12", "1:12"), "house.valley")
    for role in ("base", "ply", "cap"):
        crossing = [p for p in of_role(detail, f"{role}_near.") if p.reach[0] < 0.0 < p.reach[1]]
        covered = shapely.union_all([outline_of(p) for p in crossing])
        half = detail.size[0] / 2.0 - 1e-6
        crease = shapely.LineString([(-half, 0.0), (half, 0.0)])
        assert crossing
        assert math.isclose(shapely.intersection(crease, covered).length, 2.0 * half, rel_tol=1e-6)


def test_two_planes_of_shingles_are_refused() -> None:
    roof, edge = hand_joint(pitched(6, 40), pitched(8, -20))
    both = {"low": "laminated-shingle", "steep": "laminated-shingle"}
    with pytest.raises(LayoutError, match="no valley between a membrane and shingles"):
        build_joint_valley(hand_site(roof, edge, assemblies=both))


def test_without_a_layout_it_says_what_to_do() -> None:
    roof, edge = hand_joint(pitched(1, 40), pitched(8, -20))
    with pytest.raises(LayoutError, match="lay out the roof first"):
        build_joint_valley(hand_site(roof, edge))
