"""Dormers, porches, steps and towers, with their sums found by hand; see ``wing_cases``."""

from __future__ import annotations

from dataclasses import replace

from tests.model_text import Block
from tests.unit.roof.wing_cases import R2, STEEP, Case, M

DORMER_CASES = (
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
