"""The wood under a joint: panels on both faces, rafters, blocking, wall or board as a hint."""

from __future__ import annotations

from itertools import pairwise

import numpy as np

from roof3d.details.build_up import BuildUp
from roof3d.details.frame import Face
from roof3d.details.model import INCH, DetailLayer, PieceKind
from roof3d.details.shapes.drape import Laid

_RAFTER = (1.5 * INCH, 5.5 * INCH)
_RAFTER_SPACING = 24.0 * INCH
_BLOCK = (3.0 * INCH, 3.5 * INCH)
_PANEL_GAP = 0.125 * INCH
_EDGE_NAILS = 6.0 * INCH
_BOARD = 0.75 * INCH
_JOINTS = {Face.NEAR: 0.62, Face.FAR: 0.34}
"""Where a joint of panels falls on each face, as a share of the width."""


def lay_deck(
    work: BuildUp, material: str, names: tuple[str, str] = ("low plane", "steep plane")
) -> DetailLayer:
    """Lay the sheathing of two roof planes, true thickness, with rafters and blocking below.

    ``names`` tell the near and the far face. Returns the words of layer 1.
    """
    depth = work.catalog.material(material).thickness
    _framing(work, depth, names)
    for face, name in zip(Face, names, strict=True):
        lay_panels(work, material, face, name)
    return _words(work, material, "Deck on solid blocking", "the line")


def lay_deck_to_upright(
    work: BuildUp, material: str, upright: str, *, near: str = "roof plane"
) -> DetailLayer:
    """Lay the deck of the near face, and a board or wall sheathing as the far face.

    Parameters
    ----------
    upright : str
        What the far face is, in words: ``fascia``, ``barge board``, ``wall``.
    near : str
        The near face in words.
    """
    depth = work.catalog.material(material).thickness
    lay_rafters(work, depth, Face.NEAR, near)
    lay_panels(work, material, Face.NEAR, near)
    at = np.array((0.0, work.size[2]))
    laid = Laid(at=at, under=np.full(2, -_BOARD), over=np.zeros(2))
    work.add("deck.far", upright.capitalize(), PieceKind.DECK, 1, "", laid, (work.span,))
    return _words(work, material, f"Deck and {upright}", f"the {upright}")


def lay_panels(work: BuildUp, material: str, face: Face, name: str, *, slot: float = 0.0) -> None:
    """Lay the panels of one face from the line outward, ``slot`` metres off it."""
    made = work.catalog.material(material)
    depth = made.thickness
    limit = work.size[1] if face is Face.NEAR else work.size[2]
    start, end = work.span
    joint = start + _JOINTS[face] * work.size[0]
    spans = ((start, joint - _PANEL_GAP / 2.0), (joint + _PANEL_GAP / 2.0, end))
    rows = [slot]
    while limit - rows[-1] > made.width:
        rows.append(rows[-1] + made.width)
    for row, foot in enumerate(rows, start=1):
        head = min(foot + made.width, limit)
        gap = _PANEL_GAP if row > 1 else 0.0
        reach = (foot + gap, head) if face is Face.FAR else (-head, -foot - gap)
        laid = Laid(at=np.array(reach), under=np.full(2, -depth), over=np.zeros(2))
        title = f"{made.name}, {name}"
        work.add(f"deck.{face}_{row}", title, PieceKind.DECK, 1, material, laid, spans)


def lay_rafters(work: BuildUp, depth: float, face: Face, name: str) -> list[tuple[float, float]]:
    """Lay rafters under one face; returns from where to where each lies along the line."""
    width, height = _RAFTER
    half = _RAFTER_SPACING / 2.0
    middles = [m for m in (-2 * half, 0.0, 2 * half) if abs(m) + width < work.size[0] / 2.0]
    spans = [(m - width / 2.0, m + width / 2.0) for m in middles]
    reach = (-work.size[1], 0.0) if face is Face.NEAR else (0.0, work.size[2])
    laid = Laid(at=np.array(reach), under=np.full(2, -depth - height), over=np.full(2, -depth))
    if spans:
        title = f"Rafters, {name}"
        work.add(f"framing.rafters_{face}", title, PieceKind.FRAMING, 1, "", laid, spans)
    return spans


def _framing(work: BuildUp, depth: float, names: tuple[str, str]) -> None:
    """Rafters under both planes, mitred at the line, and blocking between them."""
    for face, name in zip(Face, names, strict=True):
        spans = lay_rafters(work, depth, face, name)
    bays = [(a[1], b[0]) for a, b in pairwise(spans)]
    wide, deep = _BLOCK
    laid = Laid(
        at=np.array((-wide, 0.0, wide)),
        under=np.full(3, -depth - deep),
        over=np.full(3, -depth),
    )
    if bays:
        work.add("framing.blocking", "Blocking at the break", PieceKind.FRAMING, 1, "", laid, bays)


def _words(work: BuildUp, material: str, name: str, line: str) -> DetailLayer:
    made = work.catalog.material(material)
    return DetailLayer(
        number=1,
        name=name,
        material=material,
        size=f"panels {work.text(made.thickness)}; blocking "
        f"{work.text(_BLOCK[0])} each side of {'the break' if line == 'the line' else line}",
        why="A hinge at the break would split the sheets."
        if line == "the line"
        else "Flange nails need solid wood at the edge.",
        fastening=f"nails or screws {work.text(_EDGE_NAILS)} apart at panel edges",
        source=made.source,
        tool="saw, tape, screw gun",
        gear="eye guard, gloves, harness",
        mistake="A panel edge left without wood under it.",
        check="Walk it: nothing gives underfoot, no gap is wider than a pencil.",
    )
