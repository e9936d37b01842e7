"""Pitch break and pipes: order, lengths, sound solids at all pitches."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from roof3d.details.model import DetailKind, PieceKind
from roof3d.project import build
from roof3d.spec.read import parse_spec
from tests.model_text import Block, built, model_text
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

    from roof3d.project import Project

FOOT = 0.3048
BREAKS = {"gentle": (6.0, 12.0), "barn": (6.0, 18.0), "sharp": (3.0, 21.0)}


def gambrel(upper: float, lower: float) -> Project:
    return built(
        Block(
            form="gambrel",
            length=7.0,
            width=7.0,
            pitch=upper / 12.0,
            lower_pitch=lower / 12.0,
            break_in=1.2,
            overhang=(0.25, 0.2),
        )
    )


def porch(upper: float, lower: float) -> Project:
    main = Block(id="main", length=42 * FOOT, width=28 * FOOT, pitch=upper / 12.0, eave=9 * FOOT)
    front = Block(
        id="porch",
        form="shed",
        length=20 * FOOT,
        width=15 * FOOT,
        at=(11 * FOOT, -12 * FOOT),
        eave=(9.8 - lower) * FOOT,
        pitch=lower / 12.0,
    )
    return built(main, front)


@pytest.mark.parametrize("thickness", [DRAWN, TRUE])
@pytest.mark.parametrize(
    "project", [gambrel(*BREAKS[name]) for name in BREAKS] + [porch(10.0, 3.0), porch(12.0, 2.0)]
)
def test_a_pitch_break_is_sound_and_laid_in_order(
    project: Project, thickness: tuple[float, float]
) -> None:
    detail = detail_at(project, place_of(project, DetailKind.PITCH_BREAK), thickness)
    assert faults_of(detail) == []
    found = lengths(detail)
    assert found["leg_up"] == pytest.approx(8.0)
    assert found["leg_down"] == pytest.approx(4.0)
    assert found["lining_up"] == pytest.approx(18.0)
    metal = pieces_of(detail, "metal.")[0]
    below, above = pieces_of(detail, "course."), pieces_of(detail, "upper_course.")
    assert all(one.order < metal.order for one in below)
    assert all(metal.order < one.order for one in above)
    lower_sheet = pieces_of(detail, "underlayment.")[-1]
    (lining,) = pieces_of(detail, "lining.")
    upper_sheet = pieces_of(detail, "upper_underlayment.")[0]
    assert lower_sheet.order < lining.order < upper_sheet.order
    assert covered(lining).intersection(covered(upper_sheet)).area > 0.0


@pytest.mark.parametrize("thickness", [DRAWN, TRUE])
@pytest.mark.parametrize("pitch", PITCHES)
def test_a_pipe_through_shingles_is_sound_at_every_pitch(
    pitch: float, thickness: tuple[float, float]
) -> None:
    project = house(pitch)
    assert (
        faults_of(detail_at(project, place_of(project, DetailKind.PIPE_SHINGLE), thickness)) == []
    )


@pytest.mark.parametrize("name", ["lantern-street", "plum-corner", "tide-house"])
def test_pipes_of_shipped_models_are_sound(models: dict[str, Path], name: str) -> None:
    project = shipped(models[name])
    kinds = (DetailKind.PIPE_SHINGLE, DetailKind.PIPE_MEMBRANE)
    found = [place for place in every_place(project) if place.kind in kinds]
    assert found
    for place in found:
        assert faults_of(detail_at(project, place)) == [], place.id


def test_the_flange_lies_over_the_courses_below_and_under_those_above() -> None:
    project = house(6.0)
    detail = detail_at(project, place_of(project, DetailKind.PIPE_SHINGLE))
    (flange,) = pieces_of(detail, "flange.")
    courses = pieces_of(detail, "course.")
    below = [course for course in courses if course.order < flange.order]
    above = [course for course in courses if course.order > flange.order]
    assert below
    assert above
    # Its foot lies open on a course below; its head lies under one above, by 4 in or more.
    foot, head = flange.reach
    assert min(course.reach[0] for course in above) > foot
    covering = [course for course in above if course.reach[0] < head]
    assert (head - min(course.reach[0] for course in covering)) / INCH >= 4.0
    assert lengths(detail)["long"] == pytest.approx(12.0)
    (pipe,) = pieces_of(detail, "pipe.")
    assert pipe.kind is PieceKind.UNIT


def low_roof(pitch: float) -> Project:
    text = (
        '\n[[opening]]\nid = "vent"\nkind = "pipe"\nat = ["3 m", "2 m"]\n'
        'diameter = "110 mm"\nheight = "350 mm"\n'
    )
    block = Block(form="shed", length=6.0, width=4.0, pitch=pitch / 12.0)
    return build(parse_spec(model_text([block]) + text, source="low.toml"))


@pytest.mark.parametrize("thickness", [DRAWN, TRUE])
@pytest.mark.parametrize("pitch", [0.25, 0.5, 1.0, 1.75])
def test_a_pipe_through_a_membrane_is_bedded_below_and_covered_above(
    pitch: float, thickness: tuple[float, float]
) -> None:
    project = low_roof(pitch)
    detail = detail_at(project, place_of(project, DetailKind.PIPE_MEMBRANE), thickness)
    assert faults_of(detail) == []
    (bed,), (flange,) = pieces_of(detail, "bed."), pieces_of(detail, "flange.")
    ply, cap = pieces_of(detail, "ply.")[0], pieces_of(detail, "cap.")[-1]
    assert ply.order < bed.order < flange.order < cap.order
    assert lengths(detail)["flange"] == pytest.approx(12.0)
    # VA 07 52 16: the sleeve stands at least 8 in over the roof.
    sleeve = flange.vertices[:, 2].max() - detail.frame.origin[2]
    assert sleeve / INCH >= 8.0
