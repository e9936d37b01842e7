"""What a hip, ridge or valley stands on: panels, and the member that runs along the line."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from roof3d.details.build_up import BuildUp
from roof3d.details.deck import lay_panels, lay_rafters
from roof3d.details.frame import Face, Frame
from roof3d.details.model import INCH, PRACTICE, DetailLayer, PieceKind
from roof3d.details.shapes.solids import Body, extruded

_HALF, _DEEP = 0.75 * INCH, 7.25 * INCH


def lay_wood(
    work: BuildUp, material: str, names: tuple[str, str], member: str, *, slot: float = 0.0
) -> DetailLayer:
    """Lay the deck of two planes and the member under the line where they meet.

    Parameters
    ----------
    work : BuildUp
    material : str
        Of the panels.
    names : tuple[str, str]
        The near and the far plane.
    member : str
        ``ridge board``, ``hip rafter``, ``valley rafter``. A ridge board stands between
        rafters; the short rafters of hips and valleys run up the slopes and are left out.
    slot : float
        How far the panels stay off the line, metres.

    Returns
    -------
    DetailLayer
        The words of layer 1.
    """
    made = work.catalog.material(material)
    taken: list[tuple[float, float]] = []
    if member == "ridge board":
        for face, name in zip(Face, names, strict=True):
            taken = lay_rafters(work, made.thickness, face, name)
    ends = [work.span[0], *(end for pair in taken for end in pair), work.span[1]]
    bodies = [_member(work.frame, span, made.thickness) for span in _pairs(ends)]
    work.solid("framing.line", member.capitalize(), PieceKind.FRAMING, 1, "", bodies)
    for face, name in zip(Face, names, strict=True):
        lay_panels(work, material, face, name, slot=slot)
    open_slot = f"; cut back {work.least(slot)} each side" if slot > 0.0 else ""
    return DetailLayer(
        number=1,
        name=f"Deck on a {member}",
        material=material,
        size=f"panels {work.text(made.thickness)}{open_slot}",
        why="Both planes rest on wood at the line, so that nothing hinges there.",
        fastening=f"nails or screws {work.text(6.0 * INCH)} apart at panel edges ({PRACTICE})",
        source=made.source,
        tool="saw, tape, screw gun",
        gear="eye guard, gloves, harness",
        mistake="A panel edge that ends in the air beside the line."
        if slot == 0.0
        else "The slot cut on to the gable end: rain blows in there.",
        check="Walk along the line: nothing gives underfoot."
        if slot == 0.0
        else "Look along the slot: it stops 6 to 12 in short of rakes, hips and chimneys.",
    )


def _pairs(ends: Sequence[float]) -> list[tuple[float, float]]:
    """Return places in pairs: from where to where there is nothing in the way."""
    return list(zip(ends[::2], ends[1::2], strict=True))


def _member(frame: Frame, span: tuple[float, float], depth: float) -> Body:
    """Return a board on edge along the line, its top fitted to the underside of the deck."""
    level, upright = np.array(frame.level), np.array(frame.upright)
    top = np.array(frame.point(span[0], 0.0, -depth))
    ring = [top]
    for into, side in ((frame.far, _HALF), (frame.near, -_HALF)):
        away = np.array(into)
        fall = float(away @ upright) / abs(float(away @ level)) * _HALF
        corners = [top + side * level + z * upright for z in (fall, -_DEEP)]
        ring += corners if side > 0.0 else corners[::-1]
    x, y, z = ((span[1] - span[0]) * np.array(frame.along)).tolist()
    return extruded([(float(a), float(b), float(c)) for a, b, c in ring], (x, y, z))
