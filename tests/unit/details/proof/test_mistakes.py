"""Wrong builds: each is truly built so, and proved wrong; without one nothing is."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest

from roof3d.catalog.load import load_catalog
from roof3d.details.build import build_detail, offered_mistakes
from roof3d.details.mistakes.model import Mistake
from roof3d.details.model import Detail, DetailKind
from roof3d.details.proof.prove import prove_detail
from roof3d.errors import LayoutError
from roof3d.scene.detail_scene import (
    FAULT,
    WATER,
    detail_mistakes,
    detail_places,
    scene_of,
)
from roof3d.scene.detail_scene import (
    build_detail as detail_at,
)
from tests.unit.details.proof.mutations import (
    QUICK,
    SHIPPED,
    first_of_each,
    project_of,
    site_of,
)
from tests.unit.details.solid_checks import open_or_inside_out

CATALOG = load_catalog()
KINDS = tuple(
    kind if kind in QUICK else pytest.param(kind, marks=pytest.mark.heavy)
    for kind in first_of_each()
)
LEAST = 3
"""Every kind of joint can be built wrong in at least so many ways."""


def wrong_of(kind: DetailKind, mistake: Mistake) -> Detail:
    model, place = first_of_each()[kind]
    return build_detail(site_of(project_of(model), place), mistake)


@pytest.mark.parametrize("kind", KINDS)
def test_each_offered_mistake_is_proved_wrong(kind: DetailKind) -> None:
    model, place = first_of_each()[kind]
    site = site_of(project_of(model), place)
    offered = offered_mistakes(site)
    assert len(offered) >= LEAST
    assert Mistake.MISSING_LAYER in {wrong.mistake for wrong in offered}
    for wrong in offered:
        assert all((wrong.title, wrong.wrong, wrong.water, wrong.cost, wrong.see, wrong.source))


@pytest.mark.heavy
@pytest.mark.parametrize("model", SHIPPED)
def test_each_offered_mistake_of_every_place_is_proved_wrong(model: str) -> None:
    project = project_of(model)
    for place in detail_places(project):
        site = site_of(project, place)
        for wrong in offered_mistakes(site):
            detail = build_detail(site, wrong.mistake)
            assert wrong.expected in {fault.kind for fault in prove_detail(detail, CATALOG)}
        assert prove_detail(build_detail(site), CATALOG) == ()


@pytest.mark.parametrize(
    ("kind", "mistake"),
    [
        (DetailKind.EAVE_SHINGLE, Mistake.BACK_LAP),
        (DetailKind.EAVE_SHINGLE, Mistake.METAL_OVER),
        (DetailKind.LOW_BELOW_STEEP, Mistake.BARRIER_UNDER),
        (DetailKind.CAP_LAP, Mistake.SHORT_LAP),
        (DetailKind.RAKE_MEMBRANE, Mistake.METAL_OVER),
    ],
)
def test_a_wrong_build_is_whole_solids(kind: DetailKind, mistake: Mistake) -> None:
    detail = wrong_of(kind, mistake)
    assert [words for piece in detail.pieces if (words := open_or_inside_out(piece))] == []
    assert [piece.order for piece in detail.pieces] == list(range(len(detail.pieces)))


def heights(detail: Detail, name: str, at: float) -> tuple[float, float]:
    """Lowest and highest corner of a piece square to the near face, near a place in s."""
    piece = next(piece for piece in detail.pieces if piece.id == name)
    points = detail.frame.developed(piece.vertices)
    near = points[np.abs(points[:, 1] - at) < 0.03][:, 2]
    return float(near.min()), float(near.max())


def test_the_drip_edge_is_drawn_over_the_underlayment() -> None:
    model, place = first_of_each()[DetailKind.EAVE_SHINGLE]
    right = build_detail(site_of(project_of(model), place))
    wrong = wrong_of(DetailKind.EAVE_SHINGLE, Mistake.METAL_OVER)
    for detail, upper, lower in (
        (right, "underlayment.1", "metal.1"),
        (wrong, "metal.1", "underlayment.1"),
    ):
        assert heights(detail, upper, -0.02)[0] > heights(detail, lower, -0.02)[0]


def test_a_short_lap_is_short_in_the_pieces() -> None:
    right = detail_lap(None)
    assert detail_lap(Mistake.SHORT_LAP) == pytest.approx(right / 4.0, rel=0.02)


def detail_lap(mistake: Mistake | None) -> float:
    detail = detail_at(project_of("lantern-street"), "porch.transition", mistake=mistake)
    reach = {piece.id: piece.reach for piece in detail.pieces}
    return reach["cap.1"][1] - reach["cap.2"][0]


def test_a_short_lap_is_told_as_it_is_built() -> None:
    right, wrong = (
        {m.id: m for m in detail_at(project_of("lantern-street"), "porch.eave", mistake=m).measures}
        for m in (None, Mistake.SHORT_LAP)
    )
    assert right["cap_lap"].text == "lap 4 in"
    assert wrong["cap_lap"].text == "lap 1 in"
    assert wrong["cap_lap"].value == pytest.approx(right["cap_lap"].value / 4.0)
    assert "built wrong on purpose" in wrong["cap_lap"].source


def test_what_stops_short_is_not_told_at_its_right_length() -> None:
    wrong = wrong_of(DetailKind.EAVE_MEMBRANE, Mistake.STOPPED_SHORT)
    assert [m.id for m in wrong.measures if "on flange" in m.text] == []


@pytest.mark.parametrize(
    ("kind", "mistake"),
    [
        (DetailKind.SIDEWALL_SHINGLE, Mistake.NO_KICK_OUT),
        (DetailKind.HEADWALL_SHINGLE, Mistake.FACE_NAILED),
        (DetailKind.VALLEY_CLOSED, Mistake.WRONG_SIDE),
        (DetailKind.HEADWALL_MEMBRANE, Mistake.STOPPED_SHORT),
        (DetailKind.HEADWALL_MEMBRANE, Mistake.NO_COUNTERFLASHING),
        (DetailKind.LOW_BELOW_STEEP, Mistake.STOPPED_SHORT),
        (DetailKind.PARAPET, Mistake.LOW_NAIL),
        (DetailKind.DRAIN, Mistake.DRY_BED),
    ],
)
def test_these_can_be_shown(kind: DetailKind, mistake: Mistake) -> None:
    detail = wrong_of(kind, mistake)
    assert detail.mistake is not None
    assert detail.mistake.expected in {fault.kind for fault in prove_detail(detail, CATALOG)}


def test_nothing_is_said_to_be_nailed_in_a_drain() -> None:
    """The ring holds the lead, no nail does: a hole in the sump would leak."""
    wrong = wrong_of(DetailKind.DRAIN, Mistake.DRY_BED).mistake
    assert wrong is not None
    said = f"{wrong.title} {wrong.wrong} {wrong.water} {wrong.cost} {wrong.see}".lower()
    assert "lead" in said
    assert not any(word in said for word in ("nail", "flange", "cement"))


def test_what_is_missing_is_named() -> None:
    detail = wrong_of(DetailKind.LOW_BELOW_STEEP, Mistake.MISSING_LAYER)
    assert [layer.name for layer in detail.missing] == ["Ice barrier, self-adhered"]
    assert not [piece for piece in detail.pieces if piece.id.startswith("barrier")]


def test_the_scene_says_that_it_is_wrong_and_shows_the_water() -> None:
    project = project_of("lantern-street")
    detail = detail_at(project, "porch.transition", mistake="barrier-under")
    scene = scene_of(detail, project, lift=0.2)
    assert scene.title.startswith("WRONG BUILD")
    assert "The water: it runs down the barrier" in scene.subtitle
    water = [line for line in scene.lines if line.style == WATER]
    assert len(water) > 5
    for one, two in pairwise(water):
        assert one.ends[1] == two.ends[0]
    heights_ = [line.ends[0][2] for line in water]
    assert heights_[0] == max(heights_)
    marks = [label for label in scene.labels if label.subject.endswith(f".{FAULT}")]
    assert len(marks) == 1
    assert marks[0].anchor in {line.ends[0] for line in water}


def test_a_right_build_says_nothing_of_the_kind() -> None:
    project = project_of("lantern-street")
    scene = scene_of(detail_at(project, "porch.transition"), project, lift=0.2)
    assert "WRONG" not in scene.title
    assert not [line for line in scene.lines if line.style == WATER]


def test_an_unknown_mistake_is_refused_with_those_there_are() -> None:
    with pytest.raises(LayoutError, match="no known mistake") as caught:
        detail_at(project_of("lantern-street"), "main.eave", mistake="upside-down")
    assert "back-lap" in caught.value.hint
    assert "barrier-under" not in caught.value.hint


def test_a_mistake_that_cannot_be_made_there_is_refused() -> None:
    with pytest.raises(LayoutError, match="barrier-under") as caught:
        detail_at(project_of("lantern-street"), "main.eave", mistake="barrier-under")
    assert "metal-over" in caught.value.hint


def test_mistakes_are_listed_for_a_place() -> None:
    listed = [wrong.mistake for wrong in detail_mistakes(project_of("lantern-street"), "main.rake")]
    assert Mistake.METAL_UNDER in listed
    assert len(listed) == len(set(listed))
