"""Headwall and sidewall on shingles: laps from the catalog, order, sound solids."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from roof3d.details.model import DetailKind
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

WALLS = (DetailKind.HEADWALL_SHINGLE, DetailKind.SIDEWALL_SHINGLE)


@pytest.mark.parametrize("thickness", [DRAWN, TRUE])
@pytest.mark.parametrize("pitch", PITCHES)
@pytest.mark.parametrize("kind", WALLS)
def test_solids_are_sound_at_every_pitch(
    kind: DetailKind, pitch: float, thickness: tuple[float, float]
) -> None:
    project = house(pitch)
    assert faults_of(detail_at(project, place_of(project, kind), thickness)) == []


@pytest.mark.parametrize("name", ["lantern-street", "plum-corner"])
def test_solids_are_sound_on_shipped_models(models: dict[str, Path], name: str) -> None:
    project = shipped(models[name])
    found = [place for place in every_place(project) if place.kind in WALLS]
    assert found
    for place in found:
        assert faults_of(detail_at(project, place)) == [], place.id


def test_the_apron_laps_shingles_and_wall_as_published() -> None:
    """Public guide specification: 4 in on the shingles, 6 in up the wall."""
    project = house(6.0)
    detail = detail_at(project, place_of(project, DetailKind.HEADWALL_SHINGLE))
    found = lengths(detail)
    assert found["apron_roof"] == pytest.approx(4.0)
    assert found["apron_up"] == pytest.approx(6.0)
    assert found["sheet_up"] == pytest.approx(4.0)
    assert found["cover"] == pytest.approx(2.0)
    apron = pieces_of(detail, "apron.")[0]
    shingles, (cladding,) = pieces_of(detail, "course."), pieces_of(detail, "cladding.")
    assert all(course.order < apron.order < cladding.order for course in shingles)
    nails = next(piece for piece in detail.pieces if piece.id == "apron.nails")
    # In the wall alone, and under the cladding.
    assert nails.reach[0] > cladding.reach[0]


def test_one_step_a_course_laps_the_step_below_and_hides_under_the_next_course() -> None:
    """IRC R905.2.8.3: 4 by 4 in; Delaware guide specification: 2 in head lap."""
    project = house(6.0)
    detail = detail_at(project, place_of(project, DetailKind.SIDEWALL_SHINGLE))
    found = lengths(detail)
    assert found["leg_roof"] == pytest.approx(4.0)
    assert found["leg_wall"] == pytest.approx(4.0)
    assert found["step_lap"] >= 2.0
    steps = {piece.id.split(".")[1]: piece for piece in pieces_of(detail, "step.")}
    courses = {piece.id.split(".")[1]: piece for piece in pieces_of(detail, "course.")}
    numbers = sorted(steps, key=int)
    assert numbers == sorted(courses, key=int)[: len(numbers)]
    for name in numbers:
        after = str(int(name) + 1)
        assert courses[name].order < steps[name].order
        assert covered(steps[name]).intersection(covered(courses[name])).area > 0.0
        if after in courses:
            assert steps[name].order < courses[after].order
        if after in steps:
            lap = min(steps[name].span[1], steps[after].span[1]) - max(
                steps[name].span[0], steps[after].span[0]
            )
            assert lap / INCH >= 2.0 - 1e-9 or steps[after].span[1] - steps[after].span[0] < 0.06


def test_the_kick_out_comes_first_and_reaches_past_the_eave() -> None:
    project = house(6.0)
    detail = detail_at(project, place_of(project, DetailKind.SIDEWALL_SHINGLE))
    (kick_out,) = pieces_of(detail, "kick_out.")
    assert all(kick_out.order < step.order for step in pieces_of(detail, "step."))
    at = detail.frame.developed(kick_out.vertices)[:, 0]
    foot = detail.size[0] / 2.0
    past = max(float(at.max()) - foot, -foot - float(at.min()))
    assert past > 0.25 * INCH
    assert lengths(detail)["kick_up"] == pytest.approx(4.0)
