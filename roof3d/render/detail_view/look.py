"""What a picture of a detail is asked to be."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

LIFT = 9.5 * 0.0254
"""From layer to layer, metres."""


class Style(StrEnum):
    """How a detail is shown."""

    EXPLODED = "exploded"
    CUTAWAY = "cutaway"
    SECTION = "section"


@dataclass(frozen=True, slots=True, kw_only=True)
class Look:
    """What a picture of a detail is asked to be.

    Attributes
    ----------
    style : Style
    lift : float
        From layer to layer where exploded, metres, above 0.
    exaggerate : float or None
        Factor on the thickness of everything but wood, with no floor; None for the usual
        one with its least thickness.
    azimuth_deg : float or None
        Where the viewer stands, clockwise from north; None for where most is seen.
    plain : bool
        The drawing alone, without text, numbers or panel.
    dark : bool
        Light ink on dark paper.
    mistake : str
        Built wrong on purpose: the name of the mistake; empty for a right build.
    """

    style: Style = Style.EXPLODED
    lift: float = LIFT
    exaggerate: float | None = None
    azimuth_deg: float | None = None
    plain: bool = False
    dark: bool = False
    mistake: str = ""
