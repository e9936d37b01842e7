"""Parse and format measures; inside, all is metres, radians, degrees Celsius and kilograms.

Text is read into exact fractions first: the same size in inches and in millimetres becomes
the same number, and a pitch worked out from heights lands exactly on a limit written as a
pitch. Wrong text raises ``ValueError`` with a sentence fit for the person who wrote it.
"""

from roof3d.units.format import (
    format_angle,
    format_area,
    format_length,
    format_pitch,
    format_squares,
    format_temperature,
    format_volume,
    format_weight,
)
from roof3d.units.parse import (
    exact_length,
    exact_pitch,
    parse_angle,
    parse_area,
    parse_length,
    parse_pitch,
    parse_temperature,
    parse_volume,
    parse_weight,
)
from roof3d.units.sizes import (
    COARSE_ABOVE,
    COARSE_PITCH_PLACES,
    FOOT,
    GALLON,
    INCH,
    LITRE,
    MOST_PITCH_PLACES,
    PITCH_PLACES,
    POUND,
    ROOF_SQUARE,
    SQUARE_FOOT,
    Units,
)

__all__ = [
    "COARSE_ABOVE",
    "COARSE_PITCH_PLACES",
    "FOOT",
    "GALLON",
    "INCH",
    "LITRE",
    "MOST_PITCH_PLACES",
    "PITCH_PLACES",
    "POUND",
    "ROOF_SQUARE",
    "SQUARE_FOOT",
    "Units",
    "exact_length",
    "exact_pitch",
    "format_angle",
    "format_area",
    "format_length",
    "format_pitch",
    "format_squares",
    "format_temperature",
    "format_volume",
    "format_weight",
    "parse_angle",
    "parse_area",
    "parse_length",
    "parse_pitch",
    "parse_temperature",
    "parse_volume",
    "parse_weight",
]
