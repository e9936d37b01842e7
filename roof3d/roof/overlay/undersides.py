"""How thick an overhang is where another roof runs on beneath it."""

from __future__ import annotations

from roof3d.geometry.plane import HeightPlane
from roof3d.roof.overlay.sheets import Overlay, Sheet


def underside(built: Overlay, sheet: Sheet, depth: float) -> HeightPlane:
    """Underside of an overhang, raised half way where a roof beneath comes nearer than it.

    So the roof beneath keeps its whole surface up to where the two meet.
    """
    roof = built.plane(sheet)
    inside = built.arrangement.inside[sheet.cell]
    under = roof.raised(-depth)
    beneath = [
        plane
        for plane in map(built.plane, built.live(sheet.cell))
        if under.at(inside) < plane.at(inside) < roof.at(inside)
    ]
    if not beneath:
        return under
    near = max(beneath, key=lambda plane: plane.at(inside))
    return HeightPlane(
        (roof.gx + near.gx) / 2.0, (roof.gy + near.gy) / 2.0, (roof.c + near.c) / 2.0
    )
