"""Colours and line styles of the roof picture, chosen to stay apart in grey print too."""

from __future__ import annotations

from dataclasses import dataclass

from roof3d.render.passes import Colour
from roof3d.roof.model import Role
from roof3d.scene.model import PartKind

PAPER: Colour = (0.988, 0.980, 0.957)
INK = "#23282E"
SOFT_INK = "#5B6168"
RULE = "#C9C3B4"
CAUTION_INK = "#7A2E12"

PART_COLOURS: dict[PartKind, Colour] = {
    PartKind.LOW_PLANE: (0.780, 0.880, 0.890),
    PartKind.STEEP_PLANE: (0.660, 0.500, 0.400),
    PartKind.WALL: (0.950, 0.915, 0.840),
    PartKind.SOFFIT: (0.960, 0.945, 0.905),
    PartKind.FLOOR: (0.800, 0.780, 0.740),
    PartKind.CHIMNEY: (0.640, 0.360, 0.290),
    PartKind.SKYLIGHT: (0.360, 0.470, 0.560),
    PartKind.PIPE: (0.450, 0.460, 0.480),
    PartKind.DRAIN: (0.300, 0.310, 0.330),
    PartKind.COPING: (0.700, 0.720, 0.735),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Stroke:
    """How an edge of one role is inked; pixels at a height of 1200.

    Attributes
    ----------
    ink : str
    width : float
    dash : tuple[float, ...]
        On, off, ...; empty for a solid line.
    under : float
        Width of a thin solid line below a dashed one, so that the outline stays closed.
    core : float
        Width of a paper-coloured line along the middle, which makes it a double line.
    words : str
        Colour of its label, dark enough to be read on any surface.
    """

    ink: str
    width: float
    dash: tuple[float, ...] = ()
    under: float = 0.0
    core: float = 0.0
    words: str = INK


STROKES: dict[Role, Stroke] = {
    Role.TRANSITION: Stroke(ink="#B3123B", width=6.5, words="#8E0A2C"),
    Role.VALLEY: Stroke(
        ink="#1B5799", width=4.6, dash=(18.0, 5.0, 4.0, 5.0), under=1.6, words="#0F3A6B"
    ),
    Role.RIDGE: Stroke(ink=INK, width=5.6, core=2.0),
    Role.HIP: Stroke(ink=INK, width=4.0, dash=(22.0, 6.0), under=1.4),
    Role.PITCH_BREAK: Stroke(ink="#9A5410", width=4.2, dash=(7.0, 5.0), under=1.5),
    Role.EAVE: Stroke(ink=INK, width=3.2),
    Role.RAKE: Stroke(ink="#6A4A2B", width=2.0),
    Role.HIGH_EDGE: Stroke(ink=INK, width=3.6, dash=(4.0, 6.0), under=1.2),
    Role.HEADWALL: Stroke(
        ink="#2C6A4A", width=4.4, dash=(14.0, 4.0, 4.0, 4.0), under=1.6, words="#17452E"
    ),
    Role.SIDEWALL: Stroke(ink="#2C6A4A", width=4.4, dash=(4.0, 4.0), under=1.6, words="#17452E"),
}
"""In the order of the key: what leaks first comes first."""
