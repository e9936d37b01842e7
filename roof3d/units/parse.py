"""Read lengths, pitches, angles, areas, temperatures, weights and volumes from text."""

from __future__ import annotations

import math
import re
from fractions import Fraction
from typing import Final

from roof3d.units.amounts import AMOUNT, amount, prepare, shown, with_sign, with_unit
from roof3d.units.sizes import FOOT, GALLON, INCH, LITRE, POUND, ROOF_SQUARE, SQUARE_FOOT

_LENGTH_UNITS: Final = {
    **dict.fromkeys(("ft", "foot", "feet", "'", "\u2032"), FOOT),
    **dict.fromkeys(("in", "inch", "inches", '"', "\u2033"), INCH),
    "mm": Fraction(1, 1000),
    "cm": Fraction(1, 100),
    "m": Fraction(1),
}
_AREA_UNITS: Final = {
    **dict.fromkeys(("sq ft", "sqft", "ft2", "ft\u00b2"), SQUARE_FOOT),
    **dict.fromkeys(("square", "squares"), ROOF_SQUARE),
    **dict.fromkeys(("m2", "m\u00b2", "sq m"), Fraction(1)),
}
_WEIGHT_UNITS: Final = {
    **dict.fromkeys(("lb", "lbs", "pound", "pounds"), POUND),
    "kg": Fraction(1),
    "g": Fraction(1, 1000),
}
_VOLUME_UNITS: Final = {
    **dict.fromkeys(("gal", "gallon", "gallons"), GALLON),
    **dict.fromkeys(("l", "litre", "litres", "liter", "liters"), LITRE),
    **dict.fromkeys(("m3", "m\u00b3"), Fraction(1)),
}
_FAHRENHEIT: Final = ("f", "deg f", "degf", "\u00b0f", "\u00b0 f")
_CELSIUS: Final = ("c", "deg c", "degc", "\u00b0c", "\u00b0 c")
_ABSOLUTE_ZERO: Final = Fraction("-273.15")
_LENGTH_EXAMPLES: Final = '"28 ft", "12\' 6 1/2\\"", "345 mm" or "3.2 m"'
_PITCH_EXAMPLES: Final = '"6:12", "6/12", "26.6 deg" or "50 %"'
_ANGLE_EXAMPLES: Final = '"30 deg" or "-12.5 deg"'
_AREA_EXAMPLES: Final = '"120 sq ft", "12.5 squares" or "30 m2"'
_TEMPERATURE_EXAMPLES: Final = '"35 F", "2 C" or "-5 deg C"'
_WEIGHT_EXAMPLES: Final = '"80 lb" or "36 kg"'
_VOLUME_EXAMPLES: Final = '"5 gal" or "18.9 l"'

_FEET_AND_INCHES: Final = re.compile(
    rf"({AMOUNT}) ?(?:ft|foot|feet|'|\u2032) ?-? ?({AMOUNT}) ?(?:in|inch|inches|\"|\u2033)"
)
_RATIO: Final = re.compile(rf"({AMOUNT}) ?: ?({AMOUNT})|([0-9.]+) ?/ ?([0-9.]+)")


def parse_length(value: object, *, signed: bool = False) -> float:
    r"""Read a length with its unit.

    Parameters
    ----------
    value : object
        Text such as ``28 ft``, ``12' 6 1/2"``, ``345 mm``; anything else is refused.
    signed : bool
        Allow lengths below zero, for coordinates.

    Returns
    -------
    float
        Metres, correctly rounded, so that equal lengths in different units are equal.

    Raises
    ------
    ValueError
        With a sentence that shows the value and how to write it.

    Examples
    --------
    >>> parse_length("12' 6 1/2\"") == parse_length("3822.7 mm")
    True
    """
    return float(exact_length(value, signed=signed))


def exact_length(value: object, *, signed: bool = False) -> Fraction:
    """Read a length as ``parse_length`` does, as an exact fraction of metres."""
    negative, text = prepare(value, "length", _LENGTH_EXAMPLES)
    both = _FEET_AND_INCHES.fullmatch(text)
    if both:
        feet, inches = amount(both[1], value), amount(both[2], value)
        if feet.denominator != 1 or inches >= 12:
            raise ValueError(f"{shown(value)}: beside inches, feet are whole and inches below 12")
        size = feet * FOOT + inches * INCH
    else:
        size = with_unit(text, value, _LENGTH_UNITS, "length", _LENGTH_EXAMPLES)
    return with_sign(size, value, negative=negative, signed=signed)


def parse_pitch(value: object) -> float:
    """Read a pitch, ``6:12``, ``6/12``, ``26.6 deg`` or ``50 %``.

    Returns
    -------
    float
        Rise over run, 0 or more.

    Raises
    ------
    ValueError
        With a sentence that shows the value and how to write it.

    Examples
    --------
    >>> parse_pitch("6:12"), parse_pitch("50 %"), parse_pitch("45 deg"), parse_pitch("0:12")
    (0.5, 0.5, 1.0, 0.0)
    """
    return float(exact_pitch(value))


def exact_pitch(value: object) -> Fraction:
    """Read a pitch as ``parse_pitch`` does, as an exact fraction of rise over run."""
    negative, text = prepare(value, "pitch", _PITCH_EXAMPLES)
    ratio = _RATIO.fullmatch(text)
    if ratio:
        rise = amount(ratio[1] or ratio[3], value)
        run = amount(ratio[2] or ratio[4], value)
        if run == 0:
            raise ValueError(f"{shown(value)}: a pitch has a run above 0")
        slope = rise / run
    else:
        units = {"deg": Fraction(1), "\u00b0": Fraction(1), "%": Fraction(1, 100)}
        slope = with_unit(text, value, units, "pitch", _PITCH_EXAMPLES)
        if "%" not in text:
            if slope >= 90:
                raise ValueError(f"{shown(value)}: a pitch is below 90 deg")
            # Rounded, so that 45 deg is 12:12 and not the last bit below it.
            slope = Fraction(round(math.tan(math.radians(slope)), 12))
    return with_sign(slope, value, negative=negative, signed=False)


def parse_angle(value: object) -> float:
    """Read an angle in degrees, ``30 deg``, either sign, counterclockwise.

    Returns
    -------
    float
        Radians.

    Raises
    ------
    ValueError
        With a sentence that shows the value and how to write it.
    """
    negative, text = prepare(value, "angle", _ANGLE_EXAMPLES)
    units = {"deg": Fraction(1), "\u00b0": Fraction(1)}
    degrees = float(with_unit(text, value, units, "angle", _ANGLE_EXAMPLES))
    return math.radians(-degrees if negative else degrees)


def parse_area(value: object) -> float:
    """Read an area, ``120 sq ft``, ``12.5 squares`` (of 100 sq ft) or ``30 m2``.

    Returns
    -------
    float
        Square metres, 0 or more.

    Raises
    ------
    ValueError
        With a sentence that shows the value and how to write it.
    """
    negative, text = prepare(value, "area", _AREA_EXAMPLES)
    size = with_unit(text, value, _AREA_UNITS, "area", _AREA_EXAMPLES)
    return float(with_sign(size, value, negative=negative, signed=False))


def parse_temperature(value: object) -> float:
    """Read a temperature, ``35 F``, ``2 C`` or ``-5 deg C``.

    Returns
    -------
    float
        Degrees Celsius.

    Raises
    ------
    ValueError
        With a sentence that shows the value and how to write it.

    Examples
    --------
    >>> parse_temperature("50 F"), parse_temperature("-5 deg C"), parse_temperature("-40 F")
    (10.0, -5.0, -40.0)
    """
    negative, text = prepare(value, "temperature", _TEMPERATURE_EXAMPLES)
    units = dict.fromkeys(_FAHRENHEIT + _CELSIUS, Fraction(1))
    degrees = with_unit(text, value, units, "temperature", _TEMPERATURE_EXAMPLES)
    degrees = -degrees if negative else degrees
    celsius = degrees if text.endswith("c") else (degrees - 32) * Fraction(5, 9)
    if celsius < _ABSOLUTE_ZERO:
        raise ValueError(f"{shown(value)} is below absolute zero, -459.67 F or -273.15 C")
    return float(celsius)


def parse_weight(value: object) -> float:
    """Read a weight, ``80 lb`` or ``36 kg``.

    Returns
    -------
    float
        Kilograms, 0 or more.

    Raises
    ------
    ValueError
        With a sentence that shows the value and how to write it.
    """
    negative, text = prepare(value, "weight", _WEIGHT_EXAMPLES)
    size = with_unit(text, value, _WEIGHT_UNITS, "weight", _WEIGHT_EXAMPLES)
    return float(with_sign(size, value, negative=negative, signed=False))


def parse_volume(value: object) -> float:
    """Read a volume, ``5 gal`` (of the United States) or ``18.9 l``.

    Returns
    -------
    float
        Cubic metres, 0 or more.

    Raises
    ------
    ValueError
        With a sentence that shows the value and how to write it.
    """
    negative, text = prepare(value, "volume", _VOLUME_EXAMPLES)
    size = with_unit(text, value, _VOLUME_UNITS, "volume", _VOLUME_EXAMPLES)
    return float(with_sign(size, value, negative=negative, signed=False))
