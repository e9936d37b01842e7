"""Faces of one section alone: form by form."""

from __future__ import annotations

import math

import pytest

from roof3d.geometry.plane import HeightPlane
from roof3d.geometry.polygon import signed_area
from roof3d.roof.sections import build_section, lower_envelope, section_planes
from roof3d.spec.model import Form, OverhangSpec, SectionSpec
from roof3d.tolerance import DEFAULT


def section(form: Form, **values: float) -> SectionSpec:
    pitch = values.get("pitch", 0.5)
    return SectionSpec(
        id="s",
        form=form,
        length=values.get("length", 12.0),
        width=values.get("width", 8.0),
        at=(values.get("x", 0.0), values.get("y", 0.0)),
        turn=values.get("turn", 0.0),
        eave=3.0,
        ridge=0.0,
        pitch=pitch,
        pitch_back=values.get("pitch_back", pitch),
        lower_pitch=values.get("lower_pitch", 0.0),
        break_in=values.get("break_in", 0.0),
        overhang=OverhangSpec(eave=values.get("eave", 0.5), rake=values.get("rake", 0.25)),
        base=0.0,
        open=False,
        assembly="",
    )


@pytest.mark.parametrize(
    ("form", "count"),
    [
        (Form.GABLE, 2),
        (Form.HIP, 4),
        (Form.SHED, 1),
        (Form.FLAT, 1),
        (Form.GAMBREL, 4),
        (Form.MANSARD, 8),
    ],
)
def test_each_form_has_its_planes_and_they_tile_the_outline(form: Form, count: int) -> None:
    made = build_section(
        section(form, lower_pitch=2.0, break_in=1.0, pitch=0.25), (0.0, 0.0), tol=DEFAULT
    )
    total = sum(signed_area(face.ring) for face in made.faces)
    assert len(made.faces) == count
    assert total == pytest.approx(signed_area(made.outline), abs=1e-9)


def test_rake_overhang_lies_at_the_ends_and_eave_overhang_at_the_sides() -> None:
    made = build_section(section(Form.GABLE), (0.0, 0.0), tol=DEFAULT)
    assert made.outline == ((-0.25, -0.5), (12.25, -0.5), (12.25, 8.5), (-0.25, 8.5))


def test_hip_overhangs_as_an_eave_all_round() -> None:
    made = build_section(section(Form.HIP), (0.0, 0.0), tol=DEFAULT)
    assert made.outline == ((-0.5, -0.5), (12.5, -0.5), (12.5, 8.5), (-0.5, 8.5))


def test_unequal_pitches_put_the_ridge_nearer_the_steep_side() -> None:
    """0.75 y = 0.25 (8 - y) at y = 2."""
    made = build_section(section(Form.GABLE, pitch=0.75, pitch_back=0.25), (0.0, 0.0), tol=DEFAULT)
    ridge = sorted({y for face in made.faces for _, y in face.ring if -0.4 < y < 8.4})
    assert ridge == pytest.approx([2.0])


def test_level_deck_of_a_mansard_is_one_plane() -> None:
    made = build_section(
        section(Form.MANSARD, pitch=0.0, lower_pitch=2.0, break_in=1.0), (0.0, 0.0), tol=DEFAULT
    )
    level = [f for f in made.faces if math.hypot(f.plane.gx, f.plane.gy) == 0.0]
    assert [round(signed_area(f.ring), 9) for f in level] == [60.0]


def test_quarter_turns_are_exact() -> None:
    made = build_section(section(Form.GABLE, turn=math.pi / 2.0), (0.0, 0.0), tol=DEFAULT)
    assert made.walls == (((0.0, 0.0), (0.0, 12.0), (-8.0, 12.0), (-8.0, 0.0)),)
    assert {(f.plane.gx, f.plane.gy) for f in made.faces} == {(-0.5, 0.0), (0.5, 0.0)}


def test_turning_carries_heights_along() -> None:
    plain = build_section(section(Form.HIP), (0.0, 0.0), tol=DEFAULT)
    turned = build_section(section(Form.HIP, turn=0.7, x=3.0, y=-2.0), (1.0, 1.0), tol=DEFAULT)
    for one, two in zip(plain.faces, turned.faces, strict=True):
        heights = [one.plane.at(p) for p in one.ring]
        assert [two.plane.at(p) for p in two.ring] == pytest.approx(heights, abs=1e-9)


def test_envelope_leaves_out_planes_that_are_nowhere_lowest() -> None:
    square = ((0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0))
    low, high = HeightPlane(0.0, 0.0, 1.0), HeightPlane(0.1, 0.0, 2.0)
    assert [face.plane for face in lower_envelope(square, (high, low), tol=DEFAULT)] == [low]


def test_knee_of_a_gambrel_is_where_the_slopes_meet() -> None:
    lower, _, upper, _ = section_planes(
        section(Form.GAMBREL, lower_pitch=2.0, break_in=1.0, pitch=0.5)
    )
    assert lower.at((0.0, 1.0)) == upper.at((0.0, 1.0)) == 5.0
