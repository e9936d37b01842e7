"""Eave and rake on shingles: order, lengths from the catalog, sound solids at all pitches."""

from __future__ import annotations

import itertools
from typing import TYPE_CHECKING

import numpy as np
import pytest

from roof3d.details.model import DetailKind
from roof3d.layout.borders.ice import ice_rule
from tests.unit.details.shingle.houses import (
    DRAWN,
    INCH,
    PITCHES,
    TRUE,
    covered,
    detail_at,
    every_place,
    faults_of,
    house,
    lengths,
    pieces_of,
    place_of,
    shipped,
)

if TYPE_CHECKING:
    from pathlib import Path

EDGES = (DetailKind.EAVE_SHINGLE, DetailKind.RAKE_SHINGLE)
BETWEEN = (4.0, 12.0)
"""Pitches with neighbours on both sides."""


@pytest.mark.parametrize("thickness", [DRAWN, TRUE])
@pytest.mark.parametrize(
    "pitch", [pytest.param(p, marks=pytest.mark.heavy) if p in BETWEEN else p for p in PITCHES]
)
@pytest.mark.parametrize("kind", EDGES)
def test_solids_are_sound_at_every_pitch(
    kind: DetailKind, pitch: float, thickness: tuple[float, float]
) -> None:
    project = house(pitch)
    found = [place for place in every_place(project) if place.kind is kind]
    assert {place.edge: faults_of(detail_at(project, place, thickness)) for place in found} == {
        place.edge: [] for place in found
    }


@pytest.mark.parametrize("name", ["lantern-street", "plum-corner", "ferry-quay", "tide-house"])
def test_solids_are_sound_on_every_shipped_model(models: dict[str, Path], name: str) -> None:
    project = shipped(models[name])
    found = [place for place in every_place(project) if place.kind in EDGES]
    assert found
    for place in found:
        assert faults_of(detail_at(project, place)) == [], place.id


def test_at_the_eave_the_metal_lies_under_the_sheet_and_at_the_rake_over_it() -> None:
    """IRC R905.2.8.5: under the underlayment along eaves, over it along rakes."""
    project = house(6.0)
    order = {}
    for kind in EDGES:
        detail = detail_at(project, place_of(project, kind))
        (metal, *_), (sheet, *_) = pieces_of(detail, "metal."), pieces_of(detail, "underlayment.")
        assert covered(metal).intersection(covered(sheet)).area > 0.0
        order[kind] = metal.order < sheet.order
    assert order == {DetailKind.EAVE_SHINGLE: True, DetailKind.RAKE_SHINGLE: False}


def test_as_drawn_the_shingles_of_a_rake_end_past_the_face_of_its_metal() -> None:
    """They throw the water clear; NAVEDTRA 14044: 1/4 to 3/8 in past the edge."""
    project = house(6.0)
    detail = detail_at(project, place_of(project, DetailKind.RAKE_SHINGLE), DRAWN)
    out = np.array(detail.frame.near)
    far = {
        start: max(
            float(((p.vertices - np.array(detail.frame.origin)) @ -out).max())
            for p in pieces_of(detail, start)
        )
        for start in ("metal.", "course.")
    }
    assert far["course."] > far["metal."] + 0.05 * INCH


@pytest.mark.parametrize("kind", EDGES)
def test_lengths_are_those_of_the_catalog(kind: DetailKind) -> None:
    project = house(6.0)
    found = lengths(detail_at(project, place_of(project, kind)))
    shingle = project.catalog.material("laminated-shingle")
    # IRC R905.2.8.5: 2 in on the deck; NAVEDTRA 14044: 1/4 to 3/8 in past the edge.
    assert found["flange"] == pytest.approx(2.0)
    assert found["past"] == pytest.approx(0.375)
    assert found["leg"] == pytest.approx(1.5)
    assert found["exposure"] == pytest.approx(shingle.exposure / INCH)


@pytest.mark.parametrize(("pitch", "thickness"), [(6.0, DRAWN), (12.0, TRUE)])
def test_the_ice_barrier_reaches_the_published_line(
    pitch: float, thickness: tuple[float, float]
) -> None:
    """IRC R905.1.2: 24 in past the wall line; an overhang of 12 in at 6:12 asks 40.25 in."""
    project = house(pitch, ice=True)
    place = place_of(project, DetailKind.EAVE_SHINGLE)
    detail = detail_at(project, place, thickness)
    assert faults_of(detail) == []
    plan = project.roof.plane(place.planes[0])
    side = next(
        s
        for laid in project.layout.planes
        if laid.plane.id == plan.id
        for s in laid.sides
        if s.edge == place.edge
    )
    rule = ice_rule(project.spec.site.code)
    along = (side.overhang + 24.0 * INCH) * np.hypot(1.0, plan.slope)
    if plan.slope >= rule.steep:
        along = max(along, rule.along)
    assert lengths(detail)["barrier"] == pytest.approx(along / INCH)
    if pitch == 6.0 and side.overhang == pytest.approx(12.0 * INCH):
        assert lengths(detail)["barrier"] == pytest.approx(40.25, abs=0.01)
    assert lengths(detail)["over_barrier"] == pytest.approx(6.0)
    barrier, sheet = pieces_of(detail, "ice_barrier.")[-1], pieces_of(detail, "underlayment.")[0]
    assert barrier.order < sheet.order


@pytest.mark.parametrize("kind", EDGES)
def test_every_course_lies_over_the_one_below_and_shows_its_exposure(kind: DetailKind) -> None:
    project = house(6.0)
    detail = detail_at(project, place_of(project, kind))
    courses = pieces_of(detail, "course.")
    assert len(courses) > 3
    for lower, upper in itertools.pairwise(courses):
        assert lower.order < upper.order
        assert covered(lower).intersection(covered(upper)).area > 0.0
    starter = pieces_of(detail, "starter.")
    assert (kind is DetailKind.EAVE_SHINGLE) == bool(starter)


@pytest.mark.parametrize("pitch", [4.0, 12.0, 21.0])
@pytest.mark.parametrize("thickness", [DRAWN, TRUE])
def test_the_sheet_comes_down_onto_the_metal(pitch: float, thickness: tuple[float, float]) -> None:
    """At 21:12 the board hardly turns: cut plumb with it, the drawn sheet ended short of 2 in."""
    project = house(pitch)
    detail = detail_at(project, place_of(project, DetailKind.EAVE_SHINGLE), thickness)
    flange = min(p.reach[0] for p in pieces_of(detail, "metal.") if p.footprints)
    sheet = next(p for p in pieces_of(detail, "underlayment.") if p.footprints)
    foot = detail.frame.developed(sheet.vertices)[:, 1].max()
    assert flange == pytest.approx(-2.0 * INCH)
    assert foot > flange / 2.0
