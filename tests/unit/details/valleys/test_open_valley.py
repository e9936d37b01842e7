"""Open valley: sizes of the catalog, clear channel, laps down the valley, nails at the rims."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from roof3d.details.frame import Face
from roof3d.details.model import PieceKind
from roof3d.details.valleys.open_valley import build_open_valley
from roof3d.errors import LayoutError
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
    shipped,
    true_detail,
)

PITCHES = [("2:12", ""), ("3:12", "6:12"), ("6:12", "8:12"), ("12:12", ""), ("21:12", "")]
SHIPPED = [
    ("ferry-quay", "hall.valley"),
    ("plum-corner", "cross.valley"),
    ("plum-corner", "dormer.valley"),
    ("plum-corner", "dormer.valley_2"),
]


@pytest.mark.parametrize(("pitch", "wing"), PITCHES)
def test_sound_at_every_pitch(pitch: str, wing: str) -> None:
    project = house(pitch, wing)
    check_sound(true_detail(project, "house.valley"))
    check_sound(build_detail(project, "house.valley"))


@pytest.mark.parametrize(("model", "place"), SHIPPED)
def test_sound_on_every_shipped_model(model: str, place: str) -> None:
    check_sound(build_detail(shipped(model), place))


@pytest.mark.parametrize(("pitch", "wing"), PITCHES)
def test_measures_are_those_of_catalog_and_published_rules(pitch: str, wing: str) -> None:
    """24 in of metal, 36 in of lining: IRC 2018, R905.2.8.2 (edition from memory)."""
    found = measured(true_detail(house(pitch, wing), "house.valley"))
    wanted = {"lining_near": 18.0, "underlayment_lap": 12.0, "metal_near": 12.0, "bed": 3.0}
    assert {name: found[name] for name in wanted} == wanted
    assert found["metal_lap"] == 6.0
    assert found["exposure_near"] == 5.625
    assert found["clear"] + found["metal_cover"] == pytest.approx(12.0, abs=2e-4)


def test_the_note_says_no_more_cover_than_there_is_at_the_foot() -> None:
    """The cut runs away from the middle: what is measured at one place is not all along."""
    detail = true_detail(house("7:12", "7:12"), "house.valley")
    (note,) = [text for text in detail.notes if text.startswith("Shingles cover")]
    assert "in or more of the metal each side here" in note


def test_channel_is_six_inches_at_the_top_and_widens_an_eighth_a_foot() -> None:
    """Shingle makers' association manual, 2006: 6 in, and 1/8 in a foot down the valley."""
    project = house("6:12", "8:12")
    detail = true_detail(project, "house.valley")
    top = max(project.roof.edge("house.valley").ends, key=lambda end: end[2])
    for face in Face:
        shingles = shapely.union_all([outline_of(p) for p in of_role(detail, f"shingles_{face}")])
        for u in np.linspace(-0.4, 0.4, 5) * detail.size[0]:
            down = float(np.linalg.norm(np.array(detail.frame.point(u, 0.0, 0.0)) - top))
            wanted = 3.0 + down / 0.3048 / 16.0
            line = shapely.LineString([(u, -0.6), (u, 0.6)])
            nearest = abs(shapely.get_coordinates(shapely.intersection(line, shingles))[:, 1])
            # A gap between shingles, or a clipped tip, may lie just there.
            assert nearest.min() / INCH >= wanted - 1e-6
        cut = shingles.distance(shapely.LineString([(-1.0, 0.0), (1.0, 0.0)])) / INCH
        assert 3.0 < cut < 4.0


def test_shingles_cover_the_rims_and_nails_of_the_metal() -> None:
    """At least 4 in on the metal: contractors' handbook; nails only under shingles."""
    detail = true_detail(house("6:12", "8:12"), "house.valley")
    metal = of_role(detail, "metal.")
    assert {round(abs(s) / INCH, 6) for p in metal if p.footprints for s in p.reach} == {12.0}
    covers = shapely.union_all([outline_of(p) for p in of_role(detail, "shingles_")])
    inner = max(abs(p.reach[1]) for p in of_role(detail, "bed."))
    assert (12.0 - measured(detail)["clear"]) >= 4.0
    assert inner < 12 * INCH
    nails = next(p for p in detail.pieces if p.id == "metal.nails")
    places = detail.frame.developed(nails.vertices)[:, :2]
    assert len(places) > 0
    assert np.abs(places[:, 1]).min() >= 11.2 * INCH
    hidden = [covers.buffer(0.2 * INCH).covers(shapely.Point(p)) for p in places]
    assert np.mean(hidden) > 0.9


def test_no_shingle_nail_goes_through_the_metal() -> None:
    detail = true_detail(house("6:12"), "house.valley")
    nails = [p for p in detail.pieces if p.kind is PieceKind.FASTENER and "shingles" in p.id]
    assert len(nails) >= 10
    away = [np.abs(detail.frame.developed(p.vertices)[:, 1]).min() for p in nails]
    assert min(away) >= (12.0 - 3 / 16) * INCH - 1e-6


def test_upper_piece_of_metal_lies_over_the_lower_one() -> None:
    project = house("6:12")
    detail = true_detail(project, "house.valley")
    first, second = [p for p in of_role(detail, "metal.") if p.footprints][:2]
    rise = detail.frame.along[2]
    assert rise * (sum(second.span) - sum(first.span)) > 0.0
    assert second.order > first.order


@pytest.mark.parametrize("face", list(Face))
def test_courses_keep_their_exposure_and_there_are_enough(face: Face) -> None:
    detail = true_detail(house("6:12"), "house.valley")
    assert 6 <= len(courses_of(detail, face)) <= 14
    check_exposure(detail, face, 5.625)


def test_tips_are_clipped() -> None:
    """A clipped tip lies 2 in / sqrt(2) back, square to the cut at 45 deg from it."""
    detail = true_detail(house("6:12"), "house.valley")
    flow = detail.faces[0].flow
    assert flow is not None
    up = -np.array(flow)
    toward = np.array((-up[1], up[0]))
    toward = toward if toward[1] > 0.0 else -toward
    ahead = (up + toward) / np.sqrt(2.0)
    clipped = 0
    for piece in of_role(detail, "shingles_near."):
        ring = shapely.get_coordinates(outline_of(piece))
        far = ring @ ahead
        clipped += int(np.sum(far > far.max() - 1e-9) >= 2)
    assert clipped >= 4


def test_without_a_layout_it_says_what_to_do() -> None:
    roof, edge = hand_joint(pitched(6, 40), pitched(8, -20))
    both = {"low": "laminated-shingle", "steep": "laminated-shingle"}
    with pytest.raises(LayoutError, match=r"edges\[low.transition\].*no 'valley-metal'"):
        build_open_valley(hand_site(roof, edge, assemblies=both))
