"""What the temperature changes: the catalog's bands, and what is said of each day."""

from __future__ import annotations

import math

import pytest

from roof3d.catalog.load import load_catalog
from roof3d.catalog.material import Method
from roof3d.lesson.build import build_lesson
from roof3d.lesson.rows import read_rows
from roof3d.lesson.weather import COLDEST, HOTTEST, HOW, name_day, parse_day
from roof3d.units import Units, parse_temperature
from tests.unit.lesson.lessons import every_lesson, every_lesson_at


@pytest.mark.parametrize(
    ("written", "name"),
    [
        ("-40 F", "frost"),
        ("31.9 F", "frost"),
        ("32 F", "cold"),
        ("39.9 F", "cold"),
        ("40 F", "cool"),
        ("49.9 F", "cool"),
        ("50 F", "mild"),
        ("84.9 F", "mild"),
        ("85 F", "warm"),
        ("95 F", "hot"),
        ("140 F", "hot"),
    ],
)
def test_a_day_is_called_by_the_band_that_holds_its_temperature(written: str, name: str) -> None:
    """40 to 85 F for shingles: construction best-practice book; the rest common practice."""
    assert name_day(parse_temperature(written), Units.IMPERIAL).name == name


def test_bands_follow_one_another_without_a_gap() -> None:
    rows = read_rows("weather.band")
    assert "from" not in rows[0]
    assert "below" not in rows[-1]
    assert [row["below"] for row in rows[:-1]] == [row["from"] for row in rows[1:]]
    assert all(row["source"] and row["summary"] for row in rows)
    assert all(change["source"] for row in rows for change in row.get("change", ()))


def test_every_change_names_roles_and_materials_that_exist() -> None:
    catalog = load_catalog()
    roles = {
        name
        for assembly in catalog.assemblies
        for name in (
            *(layer.role for layer in assembly.layers),
            *(strip.id for strip in assembly.strips),
        )
    }
    known = {material.id for material in catalog.materials}
    changes = [change for row in read_rows("weather.band") for change in row.get("change", ())]
    for row in [*changes, *read_rows("practice.fact")]:
        assert set(row.get("roles", ())) <= roles
        assert set(row.get("materials", ())) <= known
        assert row.get("roles") or row.get("materials")


def test_a_step_says_what_the_catalog_says_of_its_material_on_that_day() -> None:
    project, detail, _ = every_lesson()["low-below-steep"]
    for written, stops in (
        ("10 F", True),
        ("25 F", True),
        ("38 F", False),
        ("45 F", False),
        ("70 F", False),
    ):
        celsius = parse_temperature(written)
        band = project.catalog.material("granule-cap").band_at(celsius)
        assert band is not None
        steps = build_lesson(project, detail, celsius=celsius).steps
        cap = next(step for step in steps if step.material == "granule-cap")
        assert band.caution in cap.day[0].text
        assert cap.day[0].source == band.source
        assert cap.stop is stops


def test_without_a_temperature_no_step_speaks_of_the_day() -> None:
    for _, _, lesson in every_lesson().values():
        assert lesson.day is None
        assert not any(step.day or step.stop for step in lesson.steps)


def test_cold_adds_the_caution_of_frost_and_of_hot_air() -> None:
    project, detail, _ = every_lesson()["low-below-steep"]
    said = " ".join(build_lesson(project, detail, celsius=2.0).cautions)
    assert "frost" in said
    assert "extinguisher" in said


def test_rows_of_the_weather_table_are_the_catalogs_bands() -> None:
    project, _, lesson = every_lesson()["low-below-steep"]
    for material in {row.material for row in lesson.weather}:
        bands = project.catalog.material(material).weather
        rows = [row for row in lesson.weather if row.material == material]
        assert [row.source for row in rows] == [band.source for band in bands]
        assert all(band.caution in row.words for band, row in zip(bands, rows, strict=True))
        assert rows[0].span.startswith("below") == math.isinf(bands[0].least)


def test_each_method_has_its_words() -> None:
    assert HOW == {
        Method.SUN: "lay it",
        Method.ROLLED: "lay it, and roll it down hard",
        Method.HOT_AIR: "weld it with hot air",
        Method.NOT_AT_ALL: "do not lay it",
    }


def test_frost_stops_every_step_of_every_lesson() -> None:
    """Below 32 F nothing is laid, with hot air neither: common practice, no source."""
    for _, _, lesson in every_lesson_at("25 F"):
        assert lesson.day is not None
        for step in lesson.steps:
            assert step.stop, (lesson.kind, step.name)
            assert step.day[0].text.startswith("Do not lay it")
            told = f"{step.held} {' '.join(fact.text for fact in step.day)}"
            assert "Weld it" not in told
            assert "welded with hot air (" not in told
            assert step.held == f"not laid at {lesson.day.words}; on a day that allows it: " + (
                step.fastening
            )
        asked = [q for q in lesson.questions if q.id.startswith("weather-")]
        assert all(q.options[q.right].startswith("Do not lay it") for q in asked)


def test_where_the_day_changes_the_method_the_step_is_held_by_that() -> None:
    project, detail, _ = every_lesson()["low-below-steep"]

    def held(written: str) -> dict[str, str]:
        lesson = build_lesson(project, detail, celsius=parse_temperature(written))
        return {step.material: step.held for step in lesson.steps}

    for material in ("self-adhered-ply", "granule-cap"):
        assert held("38 F")[material] == "welded with hot air (at 38 F); no nails"
        assert held("45 F")[material].endswith("on a primer, rolled twice, laps and ends welded")
        assert held("70 F")[material] == held("98 F")[material]
        assert "adhesive" in held("70 F")[material]
    assert held("38 F")["base-sheet"] == held("70 F")["base-sheet"]
    steps = build_lesson(project, detail, celsius=parse_temperature("38 F")).steps
    ply = next(step for step in steps if step.material == "self-adhered-ply")
    assert "hot-air gun" in ply.tool
    assert "heat gloves" in ply.gear


def test_shingles_and_all_that_goes_with_them_wait_for_the_same_day() -> None:
    """Shingles from 40 F: construction best-practice book."""
    shingled = {"starter-strip", "laminated-shingle", "three-tab-shingle", "hip-ridge-laminated"}
    seen = set()
    for written, waits in (("38 F", True), ("40 F", False)):
        for _, _, lesson in every_lesson_at(written):
            for step in lesson.steps:
                if step.material in shingled:
                    assert step.stop is waits, (lesson.kind, step.name, written)
                    seen.add(step.material)
    assert {"starter-strip", "laminated-shingle", "hip-ridge-laminated"} <= seen


def test_what_comes_after_a_step_that_waits_waits_too() -> None:
    for _, _, lesson in every_lesson_at("38 F"):
        steps = lesson.steps
        first = next((step.number for step in steps if step.stop), len(steps) + 1)
        assert all(step.stop for step in steps if step.number >= first)
        for step in steps:
            if step.stop:
                assert step.day[0].text.startswith("Do not lay it")


def test_on_a_hot_day_no_step_says_as_usual() -> None:
    project, detail, _ = every_lesson()["low-below-steep"]
    lesson = build_lesson(project, detail, celsius=parse_temperature("98 F"))
    told = {step.material: " ".join(f.text for f in step.day) for step in lesson.steps}
    for material in ("self-adhered-ply", "granule-cap", "ice-barrier", "laminated-shingle"):
        assert "keep off" in told[material]
        assert "as usual" not in told[material]
        assert "let the sun finish" not in told[material]
    for q in lesson.questions:
        if q.id.startswith("weather-"):
            assert "keep off" in q.options[q.right]


@pytest.mark.parametrize("written", ["900 F", "180.1 F", "-60.1 F", "100 C", "-52 C"])
def test_no_roof_is_as_hot_or_as_cold_as_that(written: str) -> None:
    with pytest.raises(ValueError, match=f'"{written}" is no day for a roof: -60 F to 180 F'):
        parse_day(written)


def test_the_ends_of_what_is_allowed_are_allowed() -> None:
    assert parse_day(COLDEST) == pytest.approx((-60 - 32) / 1.8)
    assert parse_day(HOTTEST) == pytest.approx((180 - 32) / 1.8)
