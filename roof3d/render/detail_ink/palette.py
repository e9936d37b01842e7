"""Colours of materials in details: neighbours differ in lightness, not in hue alone."""

from __future__ import annotations

from roof3d.details.model import Piece, PieceKind
from roof3d.render.passes import Colour

INK: Colour = (0.13, 0.14, 0.16)
NOTE_INK: Colour = (0.33, 0.35, 0.38)
MEASURE_INK: Colour = (0.66, 0.14, 0.12)
TRAIL_INK: Colour = (0.48, 0.51, 0.55)
PAPER: Colour = (1.0, 1.0, 1.0)
PANEL: Colour = (0.962, 0.958, 0.945)

_MATERIALS: dict[str, Colour] = {
    "sheathing": (0.90, 0.76, 0.55),
    "base-sheet": (0.50, 0.60, 0.69),
    "self-adhered-ply": (0.73, 0.40, 0.25),
    "granule-cap": (0.80, 0.80, 0.77),
    "roof-cement": (0.20, 0.19, 0.21),
    "ice-barrier": (0.27, 0.56, 0.53),
    "felt-underlayment": (0.41, 0.37, 0.40),
    "felt-underlayment-double": (0.41, 0.37, 0.40),
    "synthetic-underlayment": (0.41, 0.37, 0.40),
    "starter-strip": (0.90, 0.70, 0.30),
    "laminated-shingle": (0.67, 0.585, 0.52),
    "membrane-edge-metal": (0.86, 0.90, 0.94),
    "cap-nail": (0.93, 0.90, 0.40),
    "roofing-nail": (0.30, 0.32, 0.36),
}
_KINDS: dict[PieceKind, Colour] = {
    PieceKind.FRAMING: (0.80, 0.64, 0.43),
    PieceKind.DECK: (0.90, 0.76, 0.55),
    PieceKind.SHEET: (0.60, 0.64, 0.60),
    PieceKind.BED: (0.20, 0.19, 0.21),
    PieceKind.METAL: (0.86, 0.90, 0.94),
    PieceKind.STARTER: (0.90, 0.70, 0.30),
    PieceKind.SHINGLE: (0.67, 0.585, 0.52),
    PieceKind.FASTENER: (0.93, 0.90, 0.40),
    PieceKind.WALL: (0.88, 0.84, 0.78),
    PieceKind.UNIT: (0.62, 0.42, 0.36),
}


def colour_of(piece: Piece) -> Colour:
    """Return the colour of a piece: its material's, or its kind's where that has none."""
    return _MATERIALS.get(piece.material, _KINDS[piece.kind])
