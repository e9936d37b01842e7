"""The words of a lesson: its layers', its catalog's, in the order of work."""

from __future__ import annotations

import dataclasses

import pytest

from roof3d.catalog.material import MaterialForm
from roof3d.details.model import PRACTICE, Detail, size_text
from roof3d.lesson.build import build_lesson
from roof3d.lesson.model import Lesson
from roof3d.lesson.rows import read_rows
from roof3d.project import Project
from roof3d.scene.detail_scene import build_detail
from roof3d.units import Units
from tests.unit.lesson.lessons import every_lesson, project_of


def test_every_kind_of_the_shipped_models_has_a_lesson() -> None:
    assert len(every_lesson()) >= 17


def test_steps_say_what_the_layers_of_the_detail_say() -> None:
    fields = ("name", "why", "size", "fastening", "tool", "gear", "mistake", "check")
    for _, detail, lesson in every_lesson().values():
        said = [tuple(getattr(step, field) for field in fields) for step in lesson.steps]
        assert said == [tuple(getattr(layer, field) for field in fields) for layer in detail.layers]


def test_no_field_of_a_step_is_empty() -> None:
    fields = ("what", "why", "size", "fastening", "tool", "gear", "mistake", "check", "order")
    for kind, (_, _, lesson) in every_lesson().items():
        for step in lesson.steps:
            empty = [field for field in fields if not getattr(step, field).strip()]
            assert not empty, f"{kind} step {step.number}: {empty}"
            assert step.parts, f"{kind} step {step.number}"
            assert step.sources, f"{kind} step {step.number}"


def test_lengths_are_those_of_the_detail_each_with_its_source() -> None:
    for _, detail, lesson in every_lesson().values():
        told = [(fact.text, fact.source) for step in lesson.steps for fact in step.measures]
        wanted = [
            (measure.text, measure.source)
            for layer in detail.layers
            for measure in detail.measures
            if measure.layer == layer.number
        ]
        assert told == wanted
        assert all(source for _, source in told)


def test_sizes_of_materials_are_the_catalogs() -> None:
    checked = 0
    for project, _, lesson in every_lesson().values():
        units = Units(project.spec.units.value)
        for step in lesson.steps:
            made = project.catalog.material(step.material) if step.material else None
            if made is None or made.form is not MaterialForm.SHEET or made.length == 0.0:
                continue
            assert f"Comes in rolls, {size_text(made.width, units)} by " in step.what
            assert made.purpose in step.what
            checked += 1
    assert checked > 20


def test_of_bent_metal_no_width_is_said_that_is_one_leg_alone() -> None:
    """An apron 4 in on the roof and 6 in up the wall is not bought 4 in wide."""
    checked = 0
    for project, _, lesson in every_lesson().values():
        for step in lesson.steps:
            made = project.catalog.material(step.material) if step.material else None
            if made is not None and made.form is MaterialForm.METAL and "Comes in" in step.what:
                assert "Comes in lengths of " in step.what
                assert " by " not in step.what.partition("Comes in")[2]
                checked += 1
    assert checked > 5


def test_lap_of_the_ply_is_that_of_the_assembly() -> None:
    project, detail, lesson = every_lesson()["low-below-steep"]
    assembly = project.catalog.assembly(project.assembly_of(detail.planes[0]))
    (ply,) = [layer for layer in assembly.layers if layer.role == "ply"]
    step = next(step for step in lesson.steps if step.material == ply.material)
    assert f"lap {size_text(ply.side_lap)}" in {fact.text for fact in step.measures}


def test_parts_count_every_piece_that_is_no_fastener() -> None:
    for _, detail, lesson in every_lesson().values():
        for step in lesson.steps:
            pieces = [p for p in detail.pieces if p.layer == step.layer]
            nailed = {p.name for p in pieces if p.kind.value == "fastener"}
            count = sum(part.count for part in step.parts)
            assert len(pieces) - len([p for p in pieces if p.name in nailed]) <= count
            assert count <= len(pieces)


def test_what_lies_over_what_at_eave_and_rake() -> None:
    """Metal under the sheet at the eave, over it at the rake: IRC 2018 R905.2.8.5."""
    for kind, upper, lower in (
        ("eave-shingle", "synthetic-underlayment", "drip-edge"),
        ("rake-shingle", "drip-edge", "synthetic-underlayment"),
    ):
        steps = {step.material: step for step in every_lesson()[kind][2].steps}
        assert steps[lower].number in steps[upper].over
        assert steps[upper].number not in steps[lower].over


def test_step_flashing_is_laid_turn_about_with_the_shingles() -> None:
    steps = {step.material: step for step in every_lesson()["sidewall-shingle"][2].steps}
    shingles, flashing = steps["laminated-shingle"], steps["step-flashing"]
    assert f"step {flashing.number}" in shingles.order
    assert f"step {shingles.number}" in flashing.order


@pytest.mark.parametrize(
    ("kind", "fact"),
    [
        ("low-below-steep", "base-purpose"),
        ("low-below-steep", "film"),
        ("low-below-steep", "granule-match"),
        ("eave-membrane", "metal-in-bed"),
        ("eave-shingle", "underlayment-marks"),
        ("cap-lap", "corner-cut-under"),
        ("cap-lap", "corner-cut-over"),
        ("cap-lap", "end-lap-lined"),
        ("ridge", "hip-match"),
        ("headwall-membrane", "butted"),
        ("pipe-membrane", "weld-probe"),
    ],
)
def test_what_is_common_practice_is_taught_at_its_step(kind: str, fact: str) -> None:
    (row,) = [row for row in read_rows("practice.fact") if row["id"] == fact]
    told = [f for step in every_lesson()[kind][2].steps for f in step.practice]
    assert [f.source for f in told if f.text == row["text"]] == [PRACTICE]


def test_each_fact_is_told_once_a_lesson() -> None:
    for _, _, lesson in every_lesson().values():
        told = [fact.text for step in lesson.steps for fact in step.practice]
        assert len(told) == len(set(told))


def test_gear_and_tools_are_all_those_of_the_steps() -> None:
    for _, _, lesson in every_lesson().values():
        for step in lesson.steps:
            words = [w.strip() for w in step.gear.replace(";", ",").replace(" or ", ",").split(",")]
            assert set(filter(None, words)) <= set(lesson.gear)
        assert len(lesson.gear) == len(set(lesson.gear))


def test_cautions_are_there_on_every_lesson() -> None:
    for _, _, lesson in every_lesson().values():
        assert "fall protection" in lesson.cautions[0]
        assert "maker's instructions" in lesson.cautions[-1]


def test_words_of_the_trade_are_those_used() -> None:
    eave = {term.word for term in every_lesson()["eave-shingle"][2].terms}
    assert {"eave", "drip edge", "underlayment", "starter", "back-water lap"} <= eave
    assert not {"parapet", "cricket", "selvage", "membrane"} & eave


def test_a_lap_that_faces_uphill_is_looked_for_from_above() -> None:
    """An edge seen by one who looks down the slope faces up it."""
    winds = {0.0: "north", 90.0: "east", 180.0: "south", 270.0: "west"}
    for project, detail, lesson in every_lesson().values():
        assert "look down the slope" in lesson.look.text
        for plane_id in detail.planes:
            azimuth = project.roof.plane(plane_id).azimuth_deg
            if azimuth is not None and round(azimuth, 6) in winds:
                assert f"look {winds[round(azimuth, 6)]}" in lesson.look.text


def test_the_same_detail_gives_the_same_lesson() -> None:
    project = project_of("lantern-street")
    detail = build_detail(project, "porch.transition")
    assert build_lesson(project, detail) == build_lesson(project, detail)


def _cold(project: Project, detail: Detail, celsius: float) -> Lesson:
    return build_lesson(project, detail, celsius=celsius)


def test_the_models_own_temperature_is_the_days() -> None:
    project, detail, _ = every_lesson()["low-below-steep"]
    site = dataclasses.replace(project.spec.site, temperature=7.0)
    spec = dataclasses.replace(project.spec, site=site)
    own = build_lesson(dataclasses.replace(project, spec=spec), detail)
    assert own == _cold(project, detail, 7.0)
    assert own.day is not None
    assert own.day.name == "cool"
    assert _cold(project, detail, 20.0).day != own.day
