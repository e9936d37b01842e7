"""The units themselves, as exact fractions of metres, square metres, cubic metres and kilograms."""

from __future__ import annotations

from enum import StrEnum
from fractions import Fraction
from typing import Final


class Units(StrEnum):
    """How results are shown; inside, all is metric."""

    IMPERIAL = "imperial"
    METRIC = "metric"


INCH: Final = Fraction("0.0254")
FOOT: Final = 12 * INCH
SQUARE_FOOT: Final = FOOT * FOOT
ROOF_SQUARE: Final = 100 * SQUARE_FOOT
POUND: Final = Fraction("0.45359237")
GALLON: Final = 231 * INCH**3
"""The liquid gallon of the United States."""
LITRE: Final = Fraction(1, 1000)
PITCH_PLACES: Final = 3
COARSE_PITCH_PLACES: Final = 2
COARSE_ABOVE: Final = 10
"""Rise in 12 above which a pitch is written with fewer decimals."""
MOST_PITCH_PLACES: Final = 9
"""Enough decimals to tell apart any two slopes that the program holds apart."""
