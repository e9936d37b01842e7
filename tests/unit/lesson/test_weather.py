"""What the temperature changes: the catalog's bands, and what is said of each day."""

from __future__ import annotations

import math

import pytest

from roof3d.catalog.load import load_catalog
from roof3d.lesson.build import build_lesson
from roof3d.lesson.rows import read_rows
from roof3d.lesson.weather import name_day
from roof3d.units import Units, parse_temperature
from tests.unit.lesson.lessons import every_lesson


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
    for written, stops in (("10 F", True), ("38 F", False), ("45 F", False), ("70 F", False)):
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
