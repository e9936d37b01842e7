"""The porch house of the shipped models against arithmetic done by hand, in feet.

Main: gable of 42 x 28, wall-line eave 9, pitch 1/2, overhang 4/3 at eaves and 2/3 at rakes.
    South plane: z = 9 + y/2.
Porch: shed of 20 x 15 from y = -12, eave 8 1/2, pitch 1/12, overhang 1 and 2/3.
    Its plane: z = 8 1/2 + (y + 12)/12 = 9 1/2 + y/12.
They meet where 9 + y/2 = 9 1/2 + y/12, so 5y/12 = 1/2: at y = 1.2, 9.6 up. The porch roof is
20 + 2 x 2/3 = 64/3 wide, and so long is the transition.

South of it the porch is the higher one; within its walls (20 wide) the main roof is gone, from
its fascia at y = -4/3 to 1.2, 38/15 in plan. Beside its walls the main roof goes on below the
porch's side overhangs and dies into the walls, which stand there (9 1/2 - 1/9) - (9 - 2/3)
= 19/18 above it at the fascia and 0 at the transition.

Main south in plan: (42 + 4/3) x (14 + 4/3) - 20 x 38/15 = 5980/9 - 152/3 = 5524/9; along the
    slope x sqrt(5)/2 = 686.22. Covered: 2 x 2/3 x 38/15 = 152/45.
Porch in plan: 64/3 x (13 + 1.2) = 4544/15; along the slope x sqrt(145)/12 = 303.98.
"""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from roof3d.project import build
from roof3d.roof.model import Kind, Role
from roof3d.spec.read import load_spec
from tests.model_text import FOOT, SQUARE_FOOT, edges_of, plan_total, total

MODEL = Path(__file__).parents[3] / "models" / "lantern-street.toml"
STEEP = math.sqrt(5) / 2
LOW = math.sqrt(145) / 12

ROOF = build(load_spec(MODEL)).roof


def test_one_transition_of_21_ft_4_in_at_9_6_ft() -> None:
    (joint,) = edges_of(ROOF, Role.TRANSITION)
    ends = sorted(tuple(value / FOOT for value in end) for end in joint.ends)
    assert ends[0] == pytest.approx((11 - 2 / 3, 1.2, 9.6), abs=1e-9)
    assert ends[1] == pytest.approx((31 + 2 / 3, 1.2, 9.6), abs=1e-9)
    assert joint.length / FOOT == pytest.approx(64 / 3, abs=1e-9)
    assert joint.planes == ("main.south", "porch.south")
    assert not joint.convex


def test_it_has_neither_valley_nor_hip() -> None:
    others = (Role.VALLEY, Role.HIP, Role.PITCH_BREAK, Role.HEADWALL, Role.HIGH_EDGE)
    assert edges_of(ROOF, *others) == []


def test_true_areas_of_both_planes() -> None:
    main, porch = ROOF.plane("main.south"), ROOF.plane("porch.south")
    assert (main.kind, porch.kind) == (Kind.STEEP, Kind.LOW)
    assert main.plan_area / SQUARE_FOOT == pytest.approx(5524 / 9, abs=1e-6)
    assert main.area / SQUARE_FOOT == pytest.approx(5524 / 9 * STEEP, abs=1e-6)
    assert round(main.area / SQUARE_FOOT, 2) == 686.22
    assert main.covered_plan_area / SQUARE_FOOT == pytest.approx(152 / 45, abs=1e-6)
    assert porch.plan_area / SQUARE_FOOT == pytest.approx(4544 / 15, abs=1e-6)
    assert porch.area / SQUARE_FOOT == pytest.approx(4544 / 15 * LOW, abs=1e-6)
    assert round(porch.area / SQUARE_FOOT, 2) == 303.98
    assert porch.covered_plan_area == 0.0


def test_edges_by_role() -> None:
    # Main eaves 130/3 on the north and 130/3 - 20 on the south, porch eave 64/3.
    assert total(edges_of(ROOF, Role.EAVE)) / FOOT == pytest.approx(88, abs=1e-9)
    assert total(edges_of(ROOF, Role.RIDGE)) / FOOT == pytest.approx(130 / 3, abs=1e-9)
    main_rakes = total(edges_of(ROOF, Role.RAKE, plane="main")) / FOOT
    assert main_rakes == pytest.approx(4 * 46 / 3 * STEEP, abs=1e-9)
    porch_rakes = total(edges_of(ROOF, Role.RAKE, plane="porch")) / FOOT
    assert porch_rakes == pytest.approx(2 * 14.2 * LOW, abs=1e-9)
    sides = edges_of(ROOF, Role.SIDEWALL)
    assert plan_total(sides) / FOOT == pytest.approx(2 * 38 / 15, abs=1e-9)
    assert total(sides) / FOOT == pytest.approx(2 * 38 / 15 * STEEP, abs=1e-9)
    assert len(sides) == 2
    for side in sides:
        assert side.wall_heights is not None
        heights = sorted(height / FOOT for height in side.wall_heights)
        assert heights == pytest.approx([0, 19 / 18], abs=1e-9)
