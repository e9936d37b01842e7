"""Roofs of overlapping sections against arithmetic done by hand, in four places each."""

from __future__ import annotations

import pytest

from roof3d.roof.model import Role
from tests.model_text import built, mirrored, turned
from tests.unit.roof.dormer_cases import DORMER_CASES
from tests.unit.roof.wing_cases import WING_CASES, Case

PLACES = {
    "as_drawn": (0.0, (0.0, 0.0), False),
    "turned_and_moved": (17.0, (3.7, -11.2), False),
    "far_away": (203.0, (500_000.0, 4_000_000.0), False),
    "mirrored": (61.0, (-20.0, 5.0), True),
}


@pytest.mark.parametrize("place", PLACES)
@pytest.mark.parametrize("case", [*WING_CASES, *DORMER_CASES], ids=lambda case: case.name)
def test_sums_by_role_are_those_found_by_hand(case: Case, place: str) -> None:
    degrees, shift, mirror = PLACES[place]
    blocks = [mirrored(block) for block in case.blocks] if mirror else case.blocks
    roof = built(*(turned(block, degrees, shift) for block in blocks)).roof
    sums = dict.fromkeys((role.value for role in Role), 0.0)
    wall = 0.0
    for edge in roof.edges:
        sums[edge.role.value] += edge.plan_length
        wall += edge.wall_area
    found = {
        **sums,
        "wall": wall,
        "exists": sum(plane.plan_area for plane in roof.planes),
        "visible": sum(plane.plan_area - plane.covered_plan_area for plane in roof.planes),
    }
    expected = {
        **dict.fromkeys(sums, 0.0),
        **case.sums,
        "wall": case.wall,
        "exists": case.exists,
        "visible": case.visible,
    }
    # Coordinates of 4,000,000 m are known to 5e-10 m only.
    assert found == pytest.approx(expected, abs=1e-6 if place == "far_away" else 1e-8)
