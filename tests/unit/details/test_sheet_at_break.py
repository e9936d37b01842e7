"""The last course of the cap up a steep deck: what the layout finds and the picture says."""

from __future__ import annotations

import pytest

from roof3d.details.model import DetailKind
from roof3d.layout.rows import NARROW
from roof3d.project import build
from roof3d.scene.detail_scene import build_detail
from roof3d.spec.read import parse_spec
from tests.unit.details.every_kind import first_of_each

INCH = 0.0254
_HOUSE = """
schema = 1
name = "House with porch"
units = "imperial"
[[section]]
id = "main"
form = "gable"
length = "34 ft"
width = "26 ft"
eave = "9 ft"
pitch = "7:12"
overhang = {{ eave = "12 in", rake = "8 in" }}
[[section]]
id = "porch"
form = "shed"
length = "16 ft"
width = "{deep} in"
at = ["9 ft", "-{deep} in"]
eave = "8 ft 2 in"
pitch = "1:12"
overhang = {{ eave = "12 in", rake = "8 in" }}
"""


@pytest.mark.parametrize("deep", [120, 124, 132])
def test_a_narrow_last_course_is_told_and_said(deep: int) -> None:
    """Narrower than 12 in with its lap: common practice, no source."""
    project = build(parse_spec(_HOUSE.format(deep=deep), source="porch.toml"))
    (low,) = [laid for laid in project.layout.planes if laid.plane.id == "porch.south"]
    cap = low.layers[-1]
    shown = cap.extent.bounds[3] - cap.courses[-1].low
    told = [one for one in project.layout.findings if one.code == "R3D-SLIVER-AT-BREAK"]
    assert bool(told) is (shown < NARROW)
    assert [one.where for one in told] == ["layers[porch.south/cap]"] * len(told)
    place = first_of_each(project)[DetailKind.LOW_BELOW_STEEP]
    found = build_detail(project, place.id)
    (words,) = [layer for layer in found.layers if layer.material == cap.material]
    sheets = [piece for piece in found.pieces if piece.layer == words.number]
    through = [piece for piece in sheets if piece.reach[0] < 0.0 < piece.reach[1]]
    above = [piece for piece in sheets if piece.reach[0] >= 0.0]
    assert len(through) == 1
    assert words.size.startswith("one sheet through the break")
    assert ("over it a course" in words.size) is bool(above)
    assert pytest.approx(12.0 * INCH) == NARROW
