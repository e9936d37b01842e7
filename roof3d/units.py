"""Parse and format lengths, pitches, angles and areas; inside, all is metres and radians.

Text is read into exact fractions first: the same size in inches and in millimetres becomes
the same number, and a pitch worked out from heights lands exactly on a limit written as a
pitch. Wrong text raises ``ValueError`` with a sentence fit for the person who wrote it.
"""

from __future__ import annotations

import math
import re
from enum import StrEnum
from fractions import Fraction
from typing import Final, NoReturn


class Units(StrEnum):
    """How results are shown; inside, all is metric."""

    IMPERIAL = "imperial"
    METRIC = "metric"


INCH: Final = Fraction("0.0254")
FOOT: Final = 12 * INCH
SQUARE_FOOT: Final = FOOT * FOOT
ROOF_SQUARE: Final = 100 * SQUARE_FOOT
PITCH_PLACES: Final = 3
COARSE_PITCH_PLACES: Final = 2
COARSE_ABOVE: Final = 10
"""Rise in 12 above which a pitch is written with fewer decimals."""
MOST_PITCH_PLACES: Final = 9
"""Enough decimals to tell apart any two slopes that the program holds apart."""

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
_LENGTH_EXAMPLES: Final = '"28 ft", "12\' 6 1/2\\"", "345 mm" or "3.2 m"'
_PITCH_EXAMPLES: Final = '"6:12", "6/12", "26.6 deg" or "50 %"'
_ANGLE_EXAMPLES: Final = '"30 deg" or "-12.5 deg"'
_AREA_EXAMPLES: Final = '"120 sq ft", "12.5 squares" or "30 m2"'

# 6, 6.5, .5, 3/4, 6 1/2, 6-1/2
_AMOUNT: Final = r"(?:[0-9]+[ -][0-9]+/[0-9]+|[0-9]+/[0-9]+|[0-9]+(?:\.[0-9]*)?|\.[0-9]+)"
_FEET_AND_INCHES: Final = re.compile(
    rf"({_AMOUNT}) ?(?:ft|foot|feet|'|\u2032) ?-? ?({_AMOUNT}) ?(?:in|inch|inches|\"|\u2033)"
)
_ONE_UNIT: Final = re.compile(rf"({_AMOUNT}) ?([^0-9.].*)")
_RATIO: Final = re.compile(rf"({_AMOUNT}) ?: ?({_AMOUNT})|([0-9.]+) ?/ ?([0-9.]+)")
_PLAIN_NUMBER: Final = re.compile(rf"{_AMOUNT}(?:e[-+]?[0-9]+)?")
_NOT_FINITE: Final = re.compile(r"(?:nan|inf|infinity)\b.*")
_LONGEST: Final = 60
_SHOWN: Final = 40


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
    negative, text = _prepare(value, "length", _LENGTH_EXAMPLES)
    both = _FEET_AND_INCHES.fullmatch(text)
    if both:
        feet, inches = _amount(both[1], value), _amount(both[2], value)
        if feet.denominator != 1 or inches >= 12:
            raise ValueError(f"{_shown(value)}: beside inches, feet are whole and inches below 12")
        size = feet * FOOT + inches * INCH
    else:
        size = _with_unit(text, value, _LENGTH_UNITS, "length", _LENGTH_EXAMPLES)
    return _with_sign(size, value, negative=negative, signed=signed)


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
    negative, text = _prepare(value, "pitch", _PITCH_EXAMPLES)
    ratio = _RATIO.fullmatch(text)
    if ratio:
        rise = _amount(ratio[1] or ratio[3], value)
        run = _amount(ratio[2] or ratio[4], value)
        if run == 0:
            raise ValueError(f"{_shown(value)}: a pitch has a run above 0")
        slope = rise / run
    else:
        units = {"deg": Fraction(1), "\u00b0": Fraction(1), "%": Fraction(1, 100)}
        slope = _with_unit(text, value, units, "pitch", _PITCH_EXAMPLES)
        if "%" not in text:
            if slope >= 90:
                raise ValueError(f"{_shown(value)}: a pitch is below 90 deg")
            # Rounded, so that 45 deg is 12:12 and not the last bit below it.
            slope = Fraction(round(math.tan(math.radians(slope)), 12))
    return _with_sign(slope, value, negative=negative, signed=False)


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
    negative, text = _prepare(value, "angle", _ANGLE_EXAMPLES)
    units = {"deg": Fraction(1), "\u00b0": Fraction(1)}
    degrees = float(_with_unit(text, value, units, "angle", _ANGLE_EXAMPLES))
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
    negative, text = _prepare(value, "area", _AREA_EXAMPLES)
    size = _with_unit(text, value, _AREA_UNITS, "area", _AREA_EXAMPLES)
    return float(_with_sign(size, value, negative=negative, signed=False))


def format_length(metres: float, units: Units = Units.IMPERIAL) -> str:
    r"""Write a length in feet and inches to 1/16 in, or in metres to the millimetre.

    Raises
    ------
    ValueError
        If it is not finite.

    Examples
    --------
    >>> format_length(3.8227), format_length(3.6575), format_length(3.8227, Units.METRIC)
    ('12\' 6 1/2"', '12\' 0"', '3.823 m')
    """
    exact = _exact(metres)
    if units is Units.METRIC:
        return f"{_decimal(exact, 3)} m"
    sixteenths = round(abs(exact) / INCH * 16)
    sign = "-" if exact < 0 and sixteenths else ""
    feet, rest = divmod(sixteenths, 12 * 16)
    inches, part = divmod(rest, 16)
    fraction = str(Fraction(part, 16)) if part else ""
    # With feet before it a bare fraction reads wrongly at a glance: 97' 0 7/8", not 97' 7/8".
    whole = str(inches) if inches or feet or not part else ""
    text = " ".join(filter(None, (whole, fraction))) + '"'
    return f"{sign}{feet}' {text}" if feet else f"{sign}{text}"


def format_pitch(slope: float, *, places: int | None = None) -> str:
    """Write rise over run as a pitch.

    Parameters
    ----------
    slope : float
    places : int, optional
        Most decimals; else three, so that an eighth is exact, and two above 10:12.

    Examples
    --------
    >>> format_pitch(0.5), format_pitch(0.375 / 12), format_pitch(1 / 3), format_pitch(2.7475)
    ('6:12', '0.375:12', '4:12', '32.97:12')
    """
    rise = _exact(slope) * 12
    if places is None:
        places = PITCH_PLACES if rise <= COARSE_ABOVE else COARSE_PITCH_PLACES
    return f"{_trimmed(rise, places)}:12"


def format_angle(radians: float) -> str:
    """Write an angle in degrees, up to two decimals."""
    return f"{_trimmed(_exact(math.degrees(radians)), 2)} deg"


def format_area(
    square_metres: float, units: Units = Units.IMPERIAL, *, grouped: bool = True
) -> str:
    """Write an area in square feet to one decimal, or in square metres to two.

    Parameters
    ----------
    square_metres : float
    units : Units
    grouped : bool
        With thousands separators, for people; without, ``parse_area`` reads it back.

    Examples
    --------
    >>> format_area(100.0), format_area(100.0, grouped=False), format_area(100.0, Units.METRIC)
    ('1,076.4 sq ft', '1076.4 sq ft', '100.00 m2')
    """
    exact = _exact(square_metres)
    if units is Units.METRIC:
        return f"{_decimal(exact, 2, grouped=grouped)} m2"
    return f"{_decimal(exact / SQUARE_FOOT, 1, grouped=grouped)} sq ft"


def format_squares(square_metres: float) -> str:
    """Write an area in roofing squares of 100 sq ft, to two decimals."""
    return f"{_decimal(_exact(square_metres) / ROOF_SQUARE, 2)} squares"


def _prepare(value: object, what: str, examples: str) -> tuple[bool, str]:
    """Refuse what can be no measure at all; return the sign and the text without it."""
    if isinstance(value, int | float) and not isinstance(value, bool):
        if not math.isfinite(value):
            raise ValueError(f"{value} is no {what}: write {examples}")
        raise ValueError(f"{_shown(value)} has no unit: write {examples}, in quotes")  # noqa: TRY004
    if not isinstance(value, str):
        raise ValueError(f"{_shown(value)} is not text: write {examples}")  # noqa: TRY004
    text = " ".join(value.replace("\u2212", "-").lower().split())
    if not text:
        raise ValueError(f"the text is empty: write {examples}")
    negative = text.startswith("-")
    text = text.removeprefix("-" if negative else "+").strip()
    if len(text) > _LONGEST:
        raise ValueError(f"{_shown(value)} is too long for a {what}: write {examples}")
    if "," in text:
        raise ValueError(
            f"{_shown(value)}: a comma may stand for thousands or decimals, so it is not guessed: "
            "write 1200, or 1.2 with a point"
        )
    if _NOT_FINITE.fullmatch(text):
        raise ValueError(f"{_shown(value)} is no {what}: write {examples}")
    if _PLAIN_NUMBER.fullmatch(text) and not (what == "pitch" and "/" in text):
        raise ValueError(f"{_shown(value)} has no unit: write {examples}")
    return negative, text


def _with_unit(
    text: str, value: object, units: dict[str, Fraction], what: str, examples: str
) -> Fraction:
    found = _ONE_UNIT.fullmatch(text)
    if not found:
        _refuse(value, what, examples)
    unit = found[2].strip()
    if unit not in units:
        _refuse(value, what, examples)
    return _amount(found[1], value) * units[unit]


def _refuse(value: object, what: str, examples: str) -> NoReturn:
    article = "an" if what[0] in "aeiou" else "a"
    raise ValueError(f"{_shown(value)} is not {article} {what}: write {examples}")


def _amount(text: str, value: object) -> Fraction:
    """Read 6, 6.5, 3/4 or 6 1/2."""
    try:
        return sum((Fraction(part) for part in re.split("[ -]", text)), Fraction(0))
    except (ValueError, ZeroDivisionError):
        raise ValueError(f"{_shown(value)} has no number that can be read") from None


def _with_sign(size: Fraction, value: object, *, negative: bool, signed: bool) -> Fraction:
    if not negative:
        return size
    if not signed and size:
        raise ValueError(f"{_shown(value)} is below 0; it must be 0 or more")
    return -size


def _shown(value: object) -> str:
    """Return the value as the message shows it: printable, and not a page long."""
    text = str(value)
    short = text if len(text) <= _SHOWN else text[:_SHOWN] + "..."
    clean = "".join(letter if letter.isprintable() else "?" for letter in short)
    return f'"{clean}"' if isinstance(value, str) else clean


def _exact(number: float) -> Fraction:
    if not math.isfinite(number):
        raise ValueError(f"{number} cannot be shown: it is not finite")
    return Fraction(number)


def _decimal(number: Fraction, places: int, *, grouped: bool = False) -> str:
    """Round exactly, to even on a tie, and write without ever going through a float."""
    steps = round(abs(number) * 10**places)
    sign = "-" if number < 0 and steps else ""
    whole, rest = divmod(steps, 10**places)
    head = f"{whole:,}" if grouped else str(whole)
    return f"{sign}{head}.{rest:0{places}d}"


def _trimmed(number: Fraction, places: int) -> str:
    text = _decimal(number, places)
    return text.rstrip("0").rstrip(".") if places else text.rstrip(".")
