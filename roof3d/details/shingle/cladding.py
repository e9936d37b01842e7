"""The covering of a wall, brought down over the flashing below it."""

from __future__ import annotations

import numpy as np
import shapely

from roof3d.details.build_up import BuildUp
from roof3d.details.frame import Face, Floats
from roof3d.details.model import INCH, PRACTICE, PieceKind
from roof3d.details.shapes.patches import patch_body

THICK = 0.625 * INCH
"""Of boards with the weather barrier behind them, as drawn."""
_BESIDE = 0.75 * INCH
_SAMPLES = 40
_JOINT = 0.25 * INCH


def clad_wall(work: BuildUp, number: int, leg: float, cover: float) -> None:
    """Bring boards down over a leg of metal by ``cover``.

    Where the thickness drawn leaves no room for that they are drawn as far down as they can be.
    """
    start, end = work.span
    places = np.linspace(start, end, 4 * _SAMPLES + 1)[1:-1].tolist()
    height = max(work.stack.height_at(Face.NEAR, u, -_BESIDE) for u in places)
    near, up = np.array(work.frame.near_normal), np.array(work.frame.far)
    lean = max(float(near @ up), work.tol.slope)
    roof = (height - _BESIDE * float(near @ np.array(work.frame.far_normal))) / lean
    foot = min(max(leg - cover, roof + _JOINT), work.size[2] - INCH)
    lay_cladding(
        work,
        number,
        shapely.box(start, foot, end, work.size[2]),
        shapely.box(start, leg - cover, end, work.size[2]),
    )
    work.measure("cover", number, (leg - cover, leg), f"{work.least(cover)} over", PRACTICE)


def lay_cladding(
    work: BuildUp, number: int, outline: shapely.Polygon, covered: shapely.Polygon
) -> None:
    """Set boards on the wall, on the highest of what they cover; ``covered`` at true size."""
    base = work.stack.highest(Face.FAR, outline)

    def place(points: Floats, top: bool) -> Floats:  # noqa: FBT001 - as Placer says
        u, s = points.T
        height = np.full(len(points), base + (THICK if top else 0.0))
        return work.frame.on_face(Face.FAR, u, s, height)

    body = patch_body([outline], (0.0, 1.0), (), place, tol=work.tol)
    work.solid(
        "cladding.1",
        "Weather barrier and cladding",
        PieceKind.WALL,
        number,
        "",
        [body],
        [(Face.FAR, covered)],
    )
