"""What the four walls of a section are called: by the wind that each looks to."""

from __future__ import annotations

import math
from typing import Final

WINDS: Final = (
    "north",
    "northeast",
    "east",
    "southeast",
    "south",
    "southwest",
    "west",
    "northwest",
)
_OUTWARD: Final = (180.0, 90.0, 0.0, 270.0)
"""Azimuth to which each wall of an unturned rectangle looks, the first wall first."""


def side_names(turn: float) -> tuple[str, ...]:
    """Return the names of a rectangle's walls, counterclockwise from the first.

    Parameters
    ----------
    turn : float
        Of the section, radians, counterclockwise.

    Returns
    -------
    tuple of str
        Four winds, all unlike.

    Examples
    --------
    >>> side_names(0.0)
    ('south', 'east', 'north', 'west')
    >>> side_names(math.pi / 4.0)
    ('southeast', 'northeast', 'northwest', 'southwest')
    """
    first = round((_OUTWARD[0] - math.degrees(turn)) / 45.0)
    return tuple(
        WINDS[(first + round((out - _OUTWARD[0]) / 45.0)) % len(WINDS)] for out in _OUTWARD
    )
