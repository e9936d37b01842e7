"""Roofs of overlapping sections against arithmetic done by hand.

M is a gable of 12 x 8 m walls along x, wall-line eave at 3 m, pitch 0.5, overhang 0.5 m all
round. South plane: z = 3 + y/2. A diagonal of a square of side 1 is R2. Lengths are plan
lengths, summed by role; a role that is not named must not occur. ``wall`` is the area of wall
above the roofs that die into it, ``exists`` the plan area of all planes, ``visible`` of what no
other roof covers.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import pytest

from roof3d.roof.model import Role
from tests.model_text import Block, built, mirrored, turned

R2 = math.sqrt(2.0)

M = Block(id="main", length=12, width=8, overhang=(0.5, 0.5))
#: M at pitch 1, as the dormers need it: z = 3 + y.
STEEP = replace(M, pitch=1.0)


@dataclass(frozen=True, kw_only=True)
class Case:
    name: str
    blocks: tuple[Block, ...]
    sums: dict[str, float]
    exists: float
    visible: float
    wall: float = 0.0


CASES = (
    # 13 x 9 m in plan: ridge 12 + 1; four rakes of 4.5; two eaves of 13.
    Case(
        name="gable",
        blocks=(M,),
        sums={"ridge": 13, "rake": 18, "eave": 26},
        exists=117,
        visible=117,
    ),
    # Ridge 12 - 8; four hips over squares of 4.5; eaves 2 x (13 + 9).
    Case(
        name="hip",
        blocks=(replace(M, form="hip"),),
        sums={"ridge": 4, "hip": 18 * R2, "eave": 44},
        exists=117,
        visible=117,
    ),
    # Two hips share the corner square of 8 x 8. Ridges 4 and 14 - 8 = 6; the valley runs from
    # (4, 4) to (8.5, 8.5); five outside corners; outline 13 x 15 less a 4 x 6 corner.
    Case(
        name="l_hip",
        blocks=(
            replace(M, form="hip"),
            replace(M, id="wing", form="hip", length=14, at=(8, 0), turn=90),
        ),
        sums={"ridge": 10, "valley": 4.5 * R2, "hip": 22.5 * R2, "eave": 56},
        exists=171,
        visible=171,
    ),
    # A spine of 20 x 8 and a wing of 8 x 14 at each end. Ridges (20 - 8) + 6 + 6; two valleys,
    # six outside corners; 21 x 15 less 3 x 6; eaves 2 x (21 + 15) + 2 x 6.
    Case(
        name="u_hip",
        blocks=(
            replace(M, form="hip", length=20),
            replace(M, id="west", form="hip", length=14, at=(8, 0), turn=90),
            replace(M, id="east", form="hip", length=14, at=(20, 0), turn=90),
        ),
        sums={"ridge": 24, "valley": 9 * R2, "hip": 27 * R2, "eave": 84},
        exists=297,
        visible=297,
    ),
    # Wing 6 m wide, 6 m out, same plate: its ridge at 4.5 m meets the main roof at y = 3, so
    # it is 6.5 + 3 long; valleys from (2.5, -0.5) to (6, 3); main eaves 26 - 7, wing eaves
    # 2 x 6; rakes 18 + 2 x 3.5; 117 + 7 x 6 of plan.
    Case(
        name="t_equal",
        blocks=(M, replace(M, id="wing", length=10, width=6, at=(9, -6), turn=90)),
        sums={"ridge": 22.5, "valley": 7 * R2, "eave": 31, "rake": 25},
        exists=159,
        visible=159,
    ),
    # The same, plate 0.5 m lower: ridge at 4 m, to y = 2. West plane z = 2.5 + (x - 3)/2 meets
    # the main plane on y = x - 4, from the main eave (3.5, -0.5) to (6, 2). Before it the wing
    # dies into the main wall at y = 0 from x = 2.5 to 4 (height 0.75 to 0). Eaves: main
    # 13 + 2 x 4, wing 2 x 6.5. Under the main eave: 2 x 0.5 x (1.0 + 1.5)/2 = 1.25 m2.
    Case(
        name="t_lower",
        blocks=(M, replace(M, id="wing", length=10, width=6, at=(9, -6), turn=90, eave=2.5)),
        sums={"ridge": 21.5, "valley": 5 * R2, "eave": 34, "rake": 25, "sidewall": 3},
        exists=160.25,
        visible=159,
        wall=1.125,
    ),
    # M crossed by a gable of 16 x 8: ridges 13 + 17; four valleys over squares of 4.5; eaves
    # 2 x (13 - 9) + 2 x (17 - 9); rakes 18 + 18; 117 + 153 - 81.
    Case(
        name="cross",
        blocks=(M, replace(M, id="cross", length=16, at=(10, -4), turn=90)),
        sums={"ridge": 30, "valley": 18 * R2, "eave": 24, "rake": 36},
        exists=189,
        visible=189,
    ),
    # M crossed by a gable 6 m wide, plate 1 m higher, its south end flush with the main wall
    # (y = 0 to 14). West plane z = 4 + (x - 3)/2. The main ridge (5 m) enters it at x = 5 and
    # leaves at x = 7: ridges 13 - 2 + 15. Valleys from the high eave (2.5, 1.5) to (5, 4), four
    # of them. The main roof dies into the high walls at x = 3: y = 0 to 2 (height 1 to 0) and
    # 6 to 8.5 (0 to 1.25), both sides: 9 m; 2 x (1 + 1.5625) m2. Eaves: main 4 x 3.5, high
    # 2 x (2 + 8). The main eave tab before the flush wall is not built: its two ends of 0.5
    # are rakes, with 18 + 4 x 3.5. Under the high eaves: 4 x 0.5 x (2 + 2.5)/2 = 4.5 m2.
    Case(
        name="cross_taller",
        blocks=(M, replace(M, id="high", length=14, width=6, at=(9, 0), turn=90, eave=4)),
        sums={"ridge": 26, "valley": 10 * R2, "eave": 34, "rake": 33, "sidewall": 9},
        exists=163.5,
        visible=159,
        wall=5.125,
    ),
    # Shed dormer 4 m wide, front wall at y = 1 (main roof 4 m), plate 5.5, pitch 1/4, overhang
    # 0.3: it meets the main roof at y = 3 (6 m) over 4.6 m. Front 4 x 1.5, cheeks 2 x 2 x 1.5/2.
    # Eaves 26 + 4.6; rakes 18 + 2 x 2.3. Under its overhang 4.6 x 0.3 + 2 x 0.3 x 2 = 2.58 m2.
    Case(
        name="shed_dormer",
        blocks=(
            STEEP,
            Block(
                id="dormer",
                form="shed",
                length=4,
                width=3,
                at=(4, 1),
                eave=5.5,
                pitch=0.25,
                overhang=(0.3, 0.3),
            ),
        ),
        sums={
            "pitch_break": 4.6,
            "sidewall": 4,
            "headwall": 4,
            "ridge": 13,
            "eave": 30.6,
            "rake": 22.6,
        },
        exists=119.58,
        visible=117,
        wall=9,
    ),
    # Gable dormer 3 m wide, pitch 1, front wall at y = 0.5 (3.5 m), plate 4.5, overhang 0.3:
    # ridge at 6 m from y = 0.2 to 3; cheeks from y = 0.5 to 1.5; front 3 x 1 + 3 x 1.5/2, cheeks
    # 2 x 1/2. Valleys over squares of 1.8; dormer eaves from y = 0.2 to 1.2. Under its
    # overhang 3.6 x 0.3 + 2 x 0.3 x (1 + 0.7)/2 = 1.59 m2.
    Case(
        name="gable_dormer",
        blocks=(
            STEEP,
            replace(
                STEEP,
                id="dormer",
                length=3.5,
                width=3,
                at=(7.5, 0.5),
                turn=90,
                eave=4.5,
                overhang=(0.3, 0.3),
            ),
        ),
        sums={
            "valley": 3.6 * R2,
            "sidewall": 2,
            "headwall": 3,
            "ridge": 15.8,
            "eave": 28,
            "rake": 21.6,
        },
        exists=118.59,
        visible=117,
        wall=6.25,
    ),
    # The same flush with the main wall (y = 0): ridge from y = -0.3 to 3; cheeks to y = 1.5,
    # 2 x 1.5 x 1.5/2 m2; eaves: main 13 + 10, dormer 2 x 1.5; rakes 18 + 3.6 and two ends of
    # the main eave of 0.5. Missing before the dormer 3 x 0.5, of which its overhang covers
    # 3 x 0.3: 0.6 m2. Under its overhang 2 x 0.3 x 0.3 + 2 x 0.3 x (1.5 + 1.2)/2 = 0.99 m2.
    Case(
        name="wall_dormer",
        blocks=(
            STEEP,
            replace(
                STEEP,
                id="dormer",
                length=4,
                width=3,
                at=(7.5, 0),
                turn=90,
                eave=4.5,
                overhang=(0.3, 0.3),
            ),
        ),
        sums={"valley": 3.6 * R2, "sidewall": 3, "ridge": 16.3, "eave": 26, "rake": 22.6},
        exists=117.39,
        visible=116.4,
        wall=2.25,
    ),
    # Porch 8 x 3 m, overhang 0.3, pitch 1:12, top at 2.6 m on the main wall (0.4 m below the
    # main roof there): headwall 8.6, 8.6 x 0.4 m2; eaves 26 + 8.6; rakes 18 + 2 x 3.3. Beyond
    # the main eave 8.6 x 2.8, below it 8.6 x 0.5.
    Case(
        name="porch_below_the_eave",
        blocks=(
            M,
            Block(
                id="porch",
                form="shed",
                length=8,
                width=3,
                at=(2, -3),
                eave=2.35,
                pitch=1 / 12,
                overhang=(0.3, 0.3),
            ),
        ),
        sums={"headwall": 8.6, "ridge": 13, "eave": 34.6, "rake": 24.6},
        exists=145.38,
        visible=141.08,
        wall=3.44,
    ),
    # The porch plane through the main eave edge (y = -0.5, z = 2.75): it stops there, 8.6 m of
    # main eave become the transition; rakes 18 + 2 x 2.8.
    Case(
        name="porch_at_the_eave",
        blocks=(
            M,
            Block(
                id="porch",
                form="shed",
                length=8,
                width=3,
                at=(2, -3),
                eave=2.75 - 2.5 / 12,
                pitch=1 / 12,
                overhang=(0.3, 0.3),
            ),
        ),
        sums={"transition": 8.6, "ridge": 13, "eave": 26, "rake": 23.6},
        exists=141.08,
        visible=141.08,
    ),
    # Porch pitch 0.2, z = 3.1 + y/5: meets the main roof at y = 1/3 over 8.6 m. The main eave
    # dies into its side walls from y = -0.5 (0.25 m high) to 1/3: 2 x 5/6 m, 2 x 0.25 x 5/12 m2.
    # Eaves 13 + 5 + 8.6; rakes 18 + 2 x (3.3 + 1/3). Under its sides 2 x 0.3 x 5/6 = 0.5 m2.
    Case(
        name="porch_into_the_roof",
        blocks=(
            M,
            Block(
                id="porch",
                form="shed",
                length=8,
                width=6,
                at=(2, -3),
                eave=2.5,
                pitch=0.2,
                overhang=(0.3, 0.3),
            ),
        ),
        sums={
            "pitch_break": 8.6,
            "sidewall": 5 / 3,
            "ridge": 13,
            "eave": 26.6,
            "rake": 24.6 + 2 / 3,
        },
        exists=141.58,
        visible=141.08,
        wall=2 * 0.25 * 5 / 12,
    ),
    # Lean-to 6 x 2 m, overhang 0.3, top at 2.6 m on a main wall of 5 m: 6.6 x 2.4 m2; eaves
    # 26 + 6.6; rakes 18 + 2 x 2.3; 6.6 x 2.3, of it 6.6 x 0.5 under the main eave.
    Case(
        name="lean_to",
        blocks=(
            replace(M, eave=5),
            Block(
                id="lean",
                form="shed",
                length=6,
                width=2,
                at=(3, -2),
                eave=2.1,
                pitch=0.25,
                overhang=(0.3, 0.3),
            ),
        ),
        sums={"headwall": 6.6, "ridge": 13, "eave": 32.6, "rake": 22.6},
        exists=117 + 6.6 * 2.3,
        visible=117 + 6.6 * 1.8,
        wall=15.84,
    ),
    # Two sheds of 10 x 4 m back to back, overhang 0.4, pitch 1/4: the south one falls south
    # from 4 m at y = 4, the north one falls north from 5.8 m there. Headwall 10, 10 x 1.8 m2;
    # the two side tabs of 0.4 end as high edges beside the wall, with 10.8 above. Rakes
    # 2 x 4.4 + 2 x 4.8. Under the high overhang 10.8 x 0.4.
    Case(
        name="clerestory",
        blocks=(
            Block(
                id="south",
                form="shed",
                length=10,
                width=4,
                eave=3,
                pitch=0.25,
                overhang=(0.4, 0.4),
            ),
            Block(
                id="north",
                form="shed",
                length=10,
                width=4,
                at=(10, 8),
                turn=180,
                eave=4.8,
                pitch=0.25,
                overhang=(0.4, 0.4),
            ),
        ),
        sums={"headwall": 10, "high_edge": 11.6, "eave": 21.6, "rake": 18.4},
        exists=99.36,
        visible=95.04,
        wall=18,
    ),
    # Mansard 14 x 8 m, break 1 m in, level deck of 12 x 6, overhang 0.3: hips over squares of
    # 1.3; deck edge 2 x 18; eaves 2 x (14.6 + 8.6).
    Case(
        name="mansard_and_deck",
        blocks=(
            Block(
                form="mansard",
                length=14,
                width=8,
                pitch=0.0,
                lower_pitch=3.0,
                break_in=1.0,
                overhang=(0.3, 0.3),
            ),
        ),
        sums={"transition": 36, "hip": 5.2 * R2, "eave": 46.4},
        exists=14.6 * 8.6,
        visible=14.6 * 8.6,
    ),
    # Gambrel 12 x 10 m, break 2 m in, overhang 0.3: all along 12.6; rakes 4 x 5.3.
    Case(
        name="gambrel",
        blocks=(
            Block(
                form="gambrel",
                length=12,
                width=10,
                pitch=0.5,
                lower_pitch=2.0,
                break_in=2.0,
                overhang=(0.3, 0.3),
            ),
        ),
        sums={"pitch_break": 25.2, "ridge": 12.6, "eave": 25.2, "rake": 21.2},
        exists=12.6 * 10.6,
        visible=12.6 * 10.6,
    ),
    # M and 4 m more of it: one roof of 17 x 9, nothing inside.
    Case(
        name="in_line",
        blocks=(M, replace(M, id="more", length=4, at=(12, 0))),
        sums={"ridge": 17, "eave": 34, "rake": 18},
        exists=153,
        visible=153,
    ),
    # The same, the second storey 3 m higher: M stops at its wall (12.5 x 9), 8 m of sidewall,
    # 8 x 3 m2; the two ends of M's eaves beside the wall are rakes of 0.5: 9 + 1 + 18. Under
    # the high rake 0.5 x 9.
    Case(
        name="two_storey_flush",
        blocks=(M, replace(M, id="high", length=4, at=(12, 0), eave=6)),
        sums={"ridge": 17.5, "eave": 35, "rake": 28, "sidewall": 8},
        exists=157.5,
        visible=153,
        wall=24,
    ),
    # The same without overhang: the step is a rake of 8 above and a sidewall of 8 below, on one
    # plan line; rakes 8 + 8 + 8.
    Case(
        name="step_without_overhang",
        blocks=(
            replace(M, overhang=(0, 0)),
            replace(M, id="high", length=4, at=(12, 0), eave=6, overhang=(0, 0)),
        ),
        sums={"ridge": 16, "eave": 32, "rake": 24, "sidewall": 8},
        exists=128,
        visible=128,
        wall=24,
    ),
    # Tower of 2 x 2 m standing in the south slope (y = 1 to 3, 3.5 to 4.5 m), plate 8 m, hip of
    # pitch 1, overhang 0.3: walls 2 x 4.5 + 2 x 3.5 + 2 x 2 x 4 = 32 m2; the wall behind counts
    # as a headwall. Hips over squares of 1.3; eaves 26 + 4 x 2.6; 117 - 4 + 2.6^2.
    Case(
        name="tower",
        blocks=(
            M,
            Block(
                id="tower",
                form="hip",
                length=2,
                width=2,
                at=(5, 1),
                eave=8,
                pitch=1.0,
                overhang=(0.3, 0.3),
            ),
        ),
        sums={
            "ridge": 13,
            "hip": 5.2 * R2,
            "eave": 36.4,
            "rake": 18,
            "headwall": 4,
            "sidewall": 4,
        },
        exists=119.76,
        visible=117,
        wall=32,
    ),
    # Open carport of 5.4 x 4.2 m, dead level at 3.5 m, overhang 0.3, over the main eave: its
    # four edges (21.6) count as eaves, the main eave stays; 6 x 4.8, of it 6 x 0.3 over M.
    Case(
        name="carport",
        blocks=(
            M,
            Block(
                id="carport",
                form="flat",
                length=5.4,
                width=4.2,
                at=(3, -4.7),
                eave=3.5,
                pitch=0.0,
                overhang=(0.3, 0.3),
                open=True,
            ),
        ),
        sums={"ridge": 13, "eave": 47.6, "rake": 18},
        exists=145.8,
        visible=144,
    ),
)

PLACES = {
    "as_drawn": (0.0, (0.0, 0.0), False),
    "turned_and_moved": (17.0, (3.7, -11.2), False),
    "far_away": (203.0, (500_000.0, 4_000_000.0), False),
    "mirrored": (61.0, (-20.0, 5.0), True),
}


@pytest.mark.parametrize("place", PLACES)
@pytest.mark.parametrize("case", CASES, ids=lambda case: case.name)
def test_sums_by_role_are_those_found_by_hand(case: Case, place: str) -> None:
    degrees, shift, mirror = PLACES[place]
    blocks = [mirrored(block) for block in case.blocks] if mirror else case.blocks
    roof = built(*(turned(block, degrees, shift) for block in blocks)).roof
    sums = dict.fromkeys((role.value for role in Role), 0.0)
    wall = 0.0
    for edge in roof.edges:
        sums[edge.role.value] += edge.plan_length
        if edge.wall_heights is not None:
            wall += edge.plan_length * sum(edge.wall_heights) / 2
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
