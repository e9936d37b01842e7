"""Offsets of three plies at a joint, in inches: worked from rolls 39 3/8 in wide that lap 4 in.

Least offset of side laps in touching plies, 12 in: UFGS-07550. The courses are worked by hand.
"""

from __future__ import annotations

import pytest
import shapely

from roof3d.laps.model import Face, FaultKind, LapPiece, PieceKind, Surface
from roof3d.laps.prove import check_laps

INCH = 0.0254
LONG, LOW, HIGH = 100.0, -80.0, 60.0


def _ply(number: int, butts: tuple[float, ...]) -> list[LapPiece]:
    """Lay courses whose lower edges lie at those heights, inches up from the joint."""
    feet = (LOW - 40.0, *butts)
    heads = (*(butt + 4.0 for butt in butts), HIGH + 40.0)
    return [
        LapPiece(
            id=f"{number}.{k}",
            layer=str(number),
            kind=PieceKind.SHEET,
            order=10.0 * number + k,
            shape=shapely.box(0.0, foot * INCH, LONG * INCH, head * INCH),
            row_lap=4.0 * INCH,
            bonded=True,
            weathers=number == 3,
            course=k,
            below=str(number - 1) if number > 1 else "",
            side_offset=12.0 * INCH if number > 1 else 0.0,
        )
        for k, (foot, head) in enumerate(zip(feet, heads, strict=True))
    ]


def _kinds(ply: float) -> set[FaultKind]:
    region = shapely.box(0.0, LOW * INCH, LONG * INCH, HIGH * INCH)
    surface = Surface(faces=(Face(id="joint", region=region, flow=(0.0, -1.0)),))
    pieces = [*_ply(1, (-9.0,)), *_ply(2, (ply, 5.4)), *_ply(3, (-18.0,))]
    return {fault.kind for fault in check_laps(surface, pieces)}


def test_the_courses_of_the_joint_keep_their_offsets() -> None:
    """Lower edges 9, 30 and 18 in down the low slope, the inner ply lapped again 5.4 in up."""
    assert _kinds(-30.0) == set()


@pytest.mark.parametrize("ply", [-24.0, -20.0])
def test_a_ply_moved_towards_the_cap_lap_is_stacked(ply: float) -> None:
    """From 30 to 24 in: 6 in from the lap of the cap."""
    assert _kinds(ply) == {FaultKind.STACKED}
