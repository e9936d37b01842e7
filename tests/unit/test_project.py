"""The project: the model's own catalog, the day's findings, and what is worked out when asked."""

from __future__ import annotations

import subprocess
import sys
from dataclasses import FrozenInstanceError, replace
from typing import TYPE_CHECKING

import pytest

from roof3d.errors import CatalogError
from roof3d.project import build
from roof3d.spec.model import CatalogText, RuleSpec, SiteSpec
from roof3d.spec.read import parse_spec
from tests.model_text import Block, built, model_text

if TYPE_CHECKING:
    from pathlib import Path

HOUSE = Block(length=9.0, width=6.0)
OURS = """[[material]]
id = "clay-sheet"
name = "Sheet of our own"
form = "sheet"
purpose = "To lie on our roofs."
pack = "roll"
pack_count = 1
thickness = "2 mm"
width = "1 m"
length = "8 m"
side_lap = "100 mm"
end_lap = "150 mm"
[material.sources]
pack_count = "ours"
thickness = "ours"
width = "ours"
length = "ours"
side_lap = "ours"
end_lap = "ours"
[[material.weather]]
most = "10 C"
method = "hot_air"
caution = "Mind the deck."
source = "ours"
[[material.weather]]
least = "10 C"
method = "sun"
caution = "Lay it flat."
source = "ours"

[[assembly]]
id = "our-sheets"
name = "Our own sheets"
kind = "shingle"
least_slope = "5:12"
slope_source = "ours"
[[assembly.layer]]
material = "sheathing"
role = "deck"
fastening = "As usual."
source = "ours"
[[assembly.layer]]
material = "clay-sheet"
role = "cap"
fastening = "By itself."
source = "ours"
"""


def test_the_model_s_catalog_adds_to_the_built_in_one(tmp_path: Path) -> None:
    (tmp_path / "ours.toml").write_text(OURS)
    tables = (
        'catalog = "ours.toml"\n[rules]\nsteep_assembly = "our-sheets"\n'
        '[site]\ntemperature = "4 C"\n'
    )
    project = build(parse_spec(model_text([HOUSE], tables=tables), folder=tmp_path))
    assert {choice.assembly for choice in project.choices} == {"our-sheets"}
    assert project.catalog.assemblies[:-1] == built(HOUSE).catalog.assemblies
    (found,) = [finding for finding in project.findings if finding.where.startswith("materials[")]
    assert (found.code, found.severity, found.where, found.source) == (
        "R3D-METHOD",
        "caution",
        "materials[clay-sheet]",
        "ours",
    )


def test_a_fault_in_the_model_s_catalog_is_told_with_its_name() -> None:
    spec = replace(built(HOUSE).spec, catalog=CatalogText(name="ours.toml", text="[[material]]"))
    with pytest.raises(CatalogError) as caught:
        build(spec)
    assert "ours.toml" in str(caught.value)


def test_a_wish_refused_is_a_finding_of_the_project() -> None:
    low = replace(HOUSE, pitch=1 / 24)
    spec = replace(
        built(low).spec, rules=RuleSpec(low_slope_cutoff=2 / 12, low_assembly="mineral-roll")
    )
    project = build(spec)
    assert {(choice.assembly, choice.refused) for choice in project.choices} == {
        ("self-adhered-membrane", "mineral-roll")
    }
    told = [finding.where for finding in project.findings if finding.code == "R3D-WISH-REFUSED"]
    assert told == [f"planes[{plane.id}]" for plane in project.roof.planes]


def test_findings_of_the_day_stand_among_the_others_worst_first() -> None:
    spec = replace(built(HOUSE).spec, site=SiteSpec(temperature=-20.0))
    severities = [finding.severity.value for finding in build(spec).findings]
    assert "caution" in severities
    assert severities == sorted(severities, key=["error", "caution", "note"].index)


def test_layout_and_takeoff_are_worked_out_once_and_the_rest_stays_frozen() -> None:
    project = built(HOUSE)
    assert not {"layout", "takeoff"} & set(vars(project))
    assert project.takeoff is project.takeoff
    assert project.layout is project.layout
    assert [plane.plane.id for plane in project.layout.planes] == [
        plane.id for plane in project.roof.planes
    ]
    assert project == built(HOUSE)
    with pytest.raises(FrozenInstanceError):
        project.findings = ()  # type: ignore[misc]


def test_building_loads_neither_layout_nor_takeoff() -> None:
    script = (
        "import sys; from tests.model_text import Block, built; "
        "built(Block(length=9.0, width=6.0)); "
        "print([name for name in sys.modules "
        "if name in ('roof3d.layout.build', 'roof3d.takeoff.count', 'scipy')])"
    )
    result = subprocess.run(
        [sys.executable, "-c", script], capture_output=True, text=True, check=True
    )
    assert result.stdout == "[]\n"
