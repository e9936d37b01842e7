"""Hip, ridge, vented ridge: pieces over the line, courses up to it, slot and vent."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
import shapely

from roof3d.catalog.load import load_catalog
from roof3d.details.frame import Face
from roof3d.details.model import DetailKind, PieceKind
from roof3d.details.ridges.ridge import build_ridge
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
    shipped,
    true_detail,
)

PITCHES = [("2:12", ""), ("3:12", "6:12"), ("6:12", "8:12"), ("12:12", ""), ("21:12", "")]
PLACES = ("house.hip", "house.hip_3", "house.hip_4", "house.ridge", "house.ridge_2")
SHIPPED = [
    ("ferry-quay", "hall.hip"),
    ("ferry-quay", "hall.hip_2"),
    ("ferry-quay", "hall.hip_5"),
    ("lantern-street", "main.ridge"),
    *(("plum-corner", f"long.hip{n}") for n in ("", "_2", "_3", "_4")),
    ("plum-corner", "long.ridge"),
    ("plum-corner", "cross.ridge"),
    ("plum-corner", "cross.hip"),
    ("plum-corner", "cross.hip_2"),
    ("plum-corner", "dormer.ridge"),
    *(("tide-house", f"house.hip{n}") for n in ("", "_2", "_3", "_4")),
]


@pytest.mark.parametrize("place", PLACES)
@pytest.mark.parametrize(("pitch", "wing"), PITCHES)
def test_sound_at_every_pitch(pitch: str, wing: str, place: str) -> None:
    check_sound(build_detail(house(pitch, wing), place))


@pytest.mark.parametrize("place", ["house.hip", "house.ridge"])
def test_sound_at_true_thickness(place: str) -> None:
    check_sound(true_detail(house("6:12", "8:12"), place))


@pytest.mark.parametrize(("pitch", "wing"), PITCHES)
def test_vented_is_sound_at_every_pitch(pitch: str, wing: str) -> None:
    check_sound(build_detail(house(pitch, wing, vent=True), "house.ridge"))


@pytest.mark.parametrize(("model", "place"), SHIPPED)
def test_sound_on_every_shipped_model(model: str, place: str) -> None:
    check_sound(build_detail(shipped(model), place))


@pytest.mark.parametrize("place", ["house.hip", "house.ridge"])
def test_measures_are_those_of_the_catalog(place: str) -> None:
    """6 in of underlayment over hips and ridges: NAVEDTRA 14044."""
    found = measured(true_detail(house("6:12"), place))
    made = load_catalog().material("hip-ridge-laminated")
    assert found["underlayment_past"] == 6.0
    assert found["cap_near"] == pytest.approx(made.width / 2.0 / INCH, abs=1e-4)
    assert found["cap_exposure"] == pytest.approx(made.exposure / INCH, abs=1e-4)
    assert found["exposure_near"] == 5.625


@pytest.mark.parametrize("place", ["house.hip", "house.ridge"])
def test_both_sheets_reach_six_inches_over_the_line(place: str) -> None:
    detail = true_detail(house("6:12"), place)
    near = max(p.reach[1] for p in of_role(detail, "underlayment_near."))
    far = min(p.reach[0] for p in of_role(detail, "underlayment_far."))
    assert (round(near / INCH, 4), round(far / INCH, 4)) == (6.0, -6.0)


@pytest.mark.parametrize("place", ["house.hip", "house.ridge"])
def test_each_piece_covers_the_nails_of_the_one_before(place: str) -> None:
    detail = true_detail(house("6:12"), place)
    caps = of_role(detail, "cap.")
    assert 6 <= len(caps) <= 11
    up = 1.0 if sum(caps[-1].span) > sum(caps[0].span) else -1.0
    rise = detail.frame.along[2]
    assert rise * up >= 0.0
    nails = {p.id: p for p in detail.pieces if p.id.startswith("cap.") and "nails" in p.id}
    checked = 0
    for one, other in pairwise(caps):
        assert other.order > one.order
        heads = nails.get(f"{one.id}_nails")
        if heads is None:
            continue
        area = outline_of(other).buffer(1e-9)
        places = detail.frame.developed(heads.vertices)[:, :2]
        assert all(area.covers(shapely.Point(place)) for place in places)
        checked += 1
    assert checked >= 5


def test_pieces_of_a_hip_start_below() -> None:
    detail = true_detail(house("6:12"), "house.hip")
    caps = of_role(detail, "cap.")
    heights = [detail.frame.point(sum(p.span) / 2.0, 0.0, 0.0)[2] for p in caps]
    assert heights == sorted(heights)
    assert np.ptp(heights) > 0.2


@pytest.mark.parametrize("face", list(Face))
@pytest.mark.parametrize("place", ["house.hip", "house.ridge"])
def test_courses_end_at_the_line_and_keep_their_exposure(place: str, face: Face) -> None:
    detail = true_detail(house("6:12", "8:12"), place)
    shingles = shapely.union_all([outline_of(p) for p in of_role(detail, f"shingles_{face}.")])
    sign = -1.0 if face is Face.NEAR else 1.0
    away = sign * shapely.get_coordinates(shingles)[:, 1]
    assert away.min() == pytest.approx(0.0, abs=1e-6)
    check_exposure(detail, face, 5.625)


def test_slot_of_a_vented_ridge_is_open_from_deck_to_vent() -> None:
    detail = true_detail(house("6:12", vent=True), "house.ridge")
    assert detail.kind is DetailKind.RIDGE_VENTED
    below = [
        p
        for p in detail.pieces
        if p.kind in {PieceKind.DECK, PieceKind.SHEET} or p.id.startswith("shingles")
    ]
    least = min(min(abs(s) for s in p.reach) for p in below if p.kind is not PieceKind.FASTENER)
    assert least / INCH == pytest.approx(1.0, abs=1e-6)
    vents = of_role(detail, "vent.")
    assert {round(abs(s) / INCH, 6) for p in vents for s in p.reach} == {6.0}
    assert min(p.order for p in of_role(detail, "cap.")) > max(p.order for p in vents)
    nails = next(p for p in detail.pieces if p.id == "vent.nails")
    assert np.abs(detail.frame.developed(nails.vertices)[:, 1]).min() > 4.5 * INCH


def test_without_a_layout_it_says_what_to_do() -> None:
    roof, edge = hand_joint(pitched(6), pitched(8, 150), convex=True)
    both = {"low": "laminated-shingle", "steep": "laminated-shingle"}
    site = hand_site(roof, edge, assemblies=both)
    site = replace(site, place=replace(site.place, kind=DetailKind.HIP))
    with pytest.raises(LayoutError, match="lay out the roof first"):
        build_ridge(site)
