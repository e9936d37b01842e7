"""Plain roofs, and wings that cross, with their sums found by hand.

M is a gable of 12 x 8 m walls along x, wall-line eave at 3 m, pitch 0.5, overhang 0.5 m all
round. South plane: z = 3 + y/2. A diagonal of a square of side 1 is R2. Lengths are plan
lengths, summed by role; a role that is not named must not occur. ``wall`` is the area of wall
above the roofs that die into it, ``exists`` the plan area of all planes, ``visible`` of what no
other roof covers.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from tests.model_text import Block

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


WING_CASES = (
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
)
