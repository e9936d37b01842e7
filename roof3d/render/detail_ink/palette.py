"""Colours of a sheet and of materials: neighbours differ in lightness, not in hue alone."""

from __future__ import annotations

from dataclasses import dataclass

from roof3d.details.model import Piece, PieceKind
from roof3d.render.passes import Colour


@dataclass(frozen=True, slots=True, kw_only=True)
class Theme:
    """Colours of paper and ink.

    Attributes
    ----------
    ink, note, measure, trail : Colour
        Of names and numbers, of small text, of dimensions, of trails.
    paper, panel : Colour
        Behind the drawing, and behind legend and section.
    """

    ink: Colour
    note: Colour
    measure: Colour
    trail: Colour
    paper: Colour
    panel: Colour


LIGHT = Theme(
    ink=(0.13, 0.14, 0.16),
    note=(0.33, 0.35, 0.38),
    measure=(0.66, 0.14, 0.12),
    trail=(0.48, 0.51, 0.55),
    paper=(1.0, 1.0, 1.0),
    panel=(0.962, 0.958, 0.945),
)
DARK = Theme(
    ink=(0.94, 0.93, 0.90),
    note=(0.74, 0.75, 0.76),
    measure=(1.0, 0.66, 0.46),
    trail=(0.56, 0.60, 0.64),
    paper=(0.115, 0.125, 0.145),
    panel=(0.165, 0.175, 0.195),
)
RIM: Colour = LIGHT.ink
"""Edges of pieces, on either paper."""

_GRANULES: Colour = (0.80, 0.80, 0.77)
_METAL: Colour = (0.86, 0.90, 0.94)
_FELT: Colour = (0.41, 0.37, 0.40)
_STRIP: Colour = (0.90, 0.70, 0.30)
_SHINGLE: Colour = (0.67, 0.585, 0.52)
MATERIAL_COLOURS: dict[str, Colour] = {
    "sheathing": (0.90, 0.76, 0.55),
    "base-sheet": (0.50, 0.60, 0.69),
    "self-adhered-ply": (0.73, 0.40, 0.25),
    "granule-cap": _GRANULES,
    "heat-applied-cap-sheet": (0.76, 0.78, 0.80),
    "mineral-roll": (0.66, 0.70, 0.62),
    "single-ply-sheet": (0.91, 0.92, 0.90),
    "roof-cement": (0.20, 0.19, 0.21),
    "lap-cement": (0.20, 0.19, 0.21),
    "primer": (0.34, 0.26, 0.24),
    "ice-barrier": (0.27, 0.56, 0.53),
    "felt-underlayment": _FELT,
    "felt-underlayment-double": _FELT,
    "synthetic-underlayment": _FELT,
    "starter-strip": _STRIP,
    "starter-strip-three-tab": _STRIP,
    "laminated-shingle": _SHINGLE,
    "three-tab-shingle": (0.60, 0.60, 0.59),
    "hip-ridge-laminated": (0.78, 0.67, 0.56),
    "hip-ridge-three-tab": (0.74, 0.73, 0.70),
    "ridge-vent": (0.25, 0.27, 0.30),
    "cant-strip": (0.70, 0.56, 0.38),
    "membrane-edge-metal": _METAL,
    "coated-edge-metal": (0.84, 0.86, 0.88),
    "drip-edge": (0.83, 0.88, 0.93),
    "valley-metal": (0.76, 0.83, 0.88),
    "step-flashing": (0.82, 0.86, 0.89),
    "apron-flashing": (0.78, 0.84, 0.90),
    "back-pan": (0.74, 0.81, 0.87),
    "break-flashing": (0.80, 0.85, 0.90),
    "counterflashing": (0.66, 0.74, 0.81),
    "termination-bar": (0.70, 0.72, 0.76),
    "pipe-flashing-membrane": (0.62, 0.68, 0.74),
    "pipe-flashing-shingle": (0.62, 0.68, 0.74),
    "coping": (0.72, 0.78, 0.84),
    "coping-plate": (0.84, 0.88, 0.92),
    "hook-strip": (0.58, 0.63, 0.68),
    "scupper-box": (0.76, 0.82, 0.88),
    "drain-lead": (0.50, 0.52, 0.56),
    "drain-ring": (0.30, 0.32, 0.36),
    "joint-sealant": (0.24, 0.24, 0.26),
    "cap-nail": (0.93, 0.90, 0.40),
    "roofing-nail": (0.30, 0.32, 0.36),
    "long-roofing-nail": (0.30, 0.32, 0.36),
    "washer-screw": (0.42, 0.44, 0.48),
    "plate-and-screw": (0.60, 0.62, 0.66),
}
_KINDS: dict[PieceKind, Colour] = {
    PieceKind.FRAMING: (0.80, 0.64, 0.43),
    PieceKind.DECK: (0.90, 0.76, 0.55),
    PieceKind.SHEET: (0.60, 0.64, 0.60),
    PieceKind.BED: (0.20, 0.19, 0.21),
    PieceKind.METAL: _METAL,
    PieceKind.STARTER: _STRIP,
    PieceKind.SHINGLE: _SHINGLE,
    PieceKind.FASTENER: (0.93, 0.90, 0.40),
    PieceKind.WALL: (0.88, 0.84, 0.78),
    PieceKind.UNIT: (0.62, 0.42, 0.36),
}
_BRICK: Colour = (0.74, 0.55, 0.47)
_OWN = frozenset({PieceKind.FRAMING, PieceKind.WALL})
"""Kinds that look alike whatever they are made of."""


def colour_of(piece: Piece, tone: float = 1.0) -> Colour:
    """Return the colour of a piece: its material's, or its kind's where that has none.

    Parameters
    ----------
    piece : Piece
    tone : float
        Factor on its lightness: below 1 toward black, above 1 toward white.
    """
    own = _BRICK if is_brick(piece) else _KINDS[piece.kind]
    colour = own if piece.kind in _OWN else MATERIAL_COLOURS.get(piece.material, own)
    if tone <= 1.0:
        return (colour[0] * tone, colour[1] * tone, colour[2] * tone)
    light = lightness(colour)
    share = min(1.0, light * (tone - 1.0) / max(1.0 - light, light * (tone - 1.0)))
    red, green, blue = (c + (1.0 - c) * share for c in colour)
    return (red, green, blue)


def is_brick(piece: Piece) -> bool:
    """Return whether a piece is the stack of a chimney."""
    return is_masonry(piece) and piece.id.startswith("chimney")


def is_masonry(piece: Piece) -> bool:
    """Return whether a piece is laid in courses: what comes on a wall later is its cladding."""
    return piece.kind is PieceKind.WALL and piece.layer == 1


def lightness(colour: Colour) -> float:
    """Return the grey of a colour in print, 0 to 1 (weights of ITU-R BT.601)."""
    return 0.299 * colour[0] + 0.587 * colour[1] + 0.114 * colour[2]
