"""The wood under a joint: panels on both planes, rafters and blocking as a hint."""

from __future__ import annotations

from itertools import pairwise

import numpy as np

from roof3d.details.build_up import BuildUp
from roof3d.details.drape import Laid
from roof3d.details.model import INCH, DetailLayer, PieceKind, size_text

_RAFTER = (1.5 * INCH, 5.5 * INCH)
_RAFTER_SPACING = 24.0 * INCH
_BLOCK = (3.0 * INCH, 3.5 * INCH)
_PANEL_GAP = 0.125 * INCH
_EDGE_NAILS = 6.0 * INCH


def lay_deck(work: BuildUp, material: str) -> DetailLayer:
    """Lay the sheathing of both planes, true thickness, with rafters and blocking below."""
    made = work.catalog.material(material)
    depth = made.thickness
    _framing(work, depth)
    low, steep = work.size[1], work.size[2]
    start, end = work.span
    joints = {"low": start + 0.62 * work.size[0], "steep": start + 0.34 * work.size[0]}
    for side, limit in (("low", -low), ("steep", steep)):
        rows = [0.0]
        while abs(limit) - rows[-1] > made.width:
            rows.append(rows[-1] + made.width)
        for row, foot in enumerate(rows):
            head = min(foot + made.width, abs(limit))
            gap = _PANEL_GAP if row else 0.0
            reach = (foot + gap, head) if side == "steep" else (-head, -foot - gap)
            joint = joints[side]
            spans = ((start, joint - _PANEL_GAP / 2.0), (joint + _PANEL_GAP / 2.0, end))
            at = np.array(reach)
            laid = Laid(at=at, under=np.full(2, -depth), over=np.zeros(2))
            work.add(
                f"deck.{side}_{row + 1}",
                f"{made.name}, {side} plane",
                PieceKind.DECK,
                1,
                material,
                laid,
                spans,
            )
    return DetailLayer(
        number=1,
        name="Deck on solid blocking",
        material=material,
        size=f"panels {size_text(depth, work.units)}; blocking "
        f"{size_text(_BLOCK[0], work.units)} each side of the break",
        why="A hinge at the break would split the sheets.",
        fastening=f"nails or screws {size_text(_EDGE_NAILS, work.units)} apart at panel edges",
        source=made.source,
    )


def _framing(work: BuildUp, depth: float) -> None:
    """Rafters under both planes, mitred at the break, and blocking between them."""
    width, height = _RAFTER
    half = _RAFTER_SPACING / 2.0
    middles = [m for m in (-2 * half, 0.0, 2 * half) if abs(m) + width < work.size[0] / 2.0]
    spans = [(m - width / 2.0, m + width / 2.0) for m in middles]
    low, steep = work.size[1], work.size[2]
    for side, reach in (("low", (-low, 0.0)), ("steep", (0.0, steep))):
        laid = Laid(at=np.array(reach), under=np.full(2, -depth - height), over=np.full(2, -depth))
        work.add(
            f"framing.rafters_{side}",
            f"Rafters, {side} plane",
            PieceKind.FRAMING,
            1,
            "",
            laid,
            spans,
        )
    bays = [(a[1], b[0]) for a, b in pairwise(spans)]
    wide, deep = _BLOCK
    laid = Laid(
        at=np.array((-wide, 0.0, wide)),
        under=np.full(3, -depth - deep),
        over=np.full(3, -depth),
    )
    if bays:
        work.add("framing.blocking", "Blocking at the break", PieceKind.FRAMING, 1, "", laid, bays)
