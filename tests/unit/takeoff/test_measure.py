"""Totals of a roof written down by hand, against hand arithmetic."""

from __future__ import annotations

import math
from dataclasses import fields, replace

import pytest

from roof3d.errors import InvariantError
from roof3d.roof.model import Role, Roof
from roof3d.takeoff.measure import Totals, assembly_change, measure_roof
from tests.unit.rules.hand_roofs import make_edge, porch_house

MEMBRANE = "self-adhered-membrane"
SHINGLE = "laminated-shingle"
ASSEMBLY_OF = {"main.south": SHINGLE, "main.north": SHINGLE, "porch.south": MEMBRANE}

# Slope factor of x:12 is sqrt(1 + (x/12)^2) times plan (elementary); a 6:12 common rafter is
# 13.416 in per foot of run, framing-square tables print 13.42.
STEEP = math.sqrt(1.25)
LOW = math.sqrt(1 + 1 / 144)
BY_HAND = {
    "plan_area": 12 * 8 + 6 * 2,
    "area": 12 * 8 * STEEP + 6 * 2 * LOW,
    "low_area": 6 * 2 * LOW,
    "steep_area": 12 * 8 * STEEP,
    "eave": 3 + 3 + 12 + 6,
    "rake": 4 * 4 * STEEP + 2 * 2 * LOW,
    "ridge": 12,
    "hip": 0,
    "valley": 0,
    "transition": 6,
    "pitch_break": 0,
    "headwall": 0,
    "sidewall": 0,
    "high_edge": 0,
    "assembly_change": 6,
    "parapet": 0,
    "coping": 0,
}


@pytest.mark.parametrize(("name", "metres"), BY_HAND.items())
def test_total_is_the_one_by_hand(name: str, metres: float) -> None:
    assert getattr(measure_roof(porch_house(), ASSEMBLY_OF), name) == pytest.approx(
        metres, rel=1e-14, abs=1e-14
    )


def test_every_total_is_held_by_hand() -> None:
    assert {field.name for field in fields(Totals)} - set(BY_HAND) == {"area_of_assembly"}


def test_area_by_assembly_is_in_order_of_the_planes() -> None:
    totals = measure_roof(porch_house(), ASSEMBLY_OF)
    assert [name for name, _ in totals.area_of_assembly] == [SHINGLE, MEMBRANE]
    assert [area for _, area in totals.area_of_assembly] == pytest.approx(
        [12 * 8 * STEEP, 12 * LOW], rel=1e-14
    )


@pytest.mark.parametrize("role", list(Role))
def test_each_role_goes_into_its_own_total(role: Role) -> None:
    edge = make_edge("main.x", role, ((0, 0, 0), (3, 4, 12)), "main.south")
    totals = measure_roof(replace(porch_house(), edges=(edge,)), ASSEMBLY_OF)
    assert {name: getattr(totals, name) for name in Role} == {
        name: 13.0 if name is role else 0.0 for name in Role
    }


def test_order_of_planes_and_edges_changes_no_bit() -> None:
    # 1e16 swallows a single 1 but not both: a plain sum depends on the order
    sizes = [1e16, 1.0, 1.0]
    roof = porch_house()
    planes = tuple(
        replace(plane, area=size) for plane, size in zip(roof.planes, sizes, strict=True)
    )
    edges = tuple(
        replace(edge, role=Role.EAVE, length=size)
        for edge, size in zip(roof.edges, sizes, strict=False)
    )
    forth = measure_roof(Roof(planes=planes, edges=edges, openings=()), ASSEMBLY_OF)
    back = measure_roof(Roof(planes=planes[::-1], edges=edges[::-1], openings=()), ASSEMBLY_OF)
    assert [(each.area, each.eave) for each in (forth, back)] == [(1e16 + 2, 1e16 + 2)] * 2


def test_empty_roof_measures_nothing() -> None:
    totals = measure_roof(Roof(planes=(), edges=(), openings=()), {})
    assert {name: getattr(totals, name) for name in BY_HAND} == dict.fromkeys(BY_HAND, 0.0)


@pytest.mark.parametrize(
    ("planes", "assemblies"),
    [
        (("main.south", "porch.south"), 2),
        (("porch.south", "main.north"), 2),
        (("main.south", "main.north"), 1),
        (("porch.south",), 1),
    ],
)
@pytest.mark.parametrize("role", [Role.VALLEY, Role.HIP, Role.TRANSITION, Role.HEADWALL])
def test_assembly_changes_by_the_planes_and_not_the_role(
    planes: tuple[str, ...], assemblies: int, role: Role
) -> None:
    edge = make_edge("main.x", role, ((0, 0, 0), (1, 0, 0)), *planes)
    assert assembly_change(edge, ASSEMBLY_OF) is (assemblies == 2)


def test_plane_without_assembly_is_our_bug() -> None:
    with pytest.raises(InvariantError, match=r"planes\[porch\.south\]"):
        measure_roof(porch_house(), {"main.south": SHINGLE, "main.north": SHINGLE})


@pytest.mark.parametrize("area", [math.nan, math.inf])
def test_number_that_is_not_finite_is_our_bug(area: float) -> None:
    roof = porch_house()
    broken = replace(roof, planes=(replace(roof.planes[0], area=area), *roof.planes[1:]))
    with pytest.raises(InvariantError):
        measure_roof(broken, ASSEMBLY_OF)
