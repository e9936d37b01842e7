"""Write lengths, pitches, angles, areas, temperatures, weights and volumes for people."""

from __future__ import annotations

import math
from fractions import Fraction

from roof3d.units.sizes import (
    COARSE_ABOVE,
    COARSE_PITCH_PLACES,
    GALLON,
    INCH,
    LITRE,
    PITCH_PLACES,
    POUND,
    ROOF_SQUARE,
    SQUARE_FOOT,
    Units,
)


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


def format_pitch(slope: float, *, places: int | None = None, decimal: bool = False) -> str:
    """Write rise over run as a pitch: halves, quarters and eighths of an inch as the trade does.

    Parameters
    ----------
    slope : float
    places : int, optional
        Most decimals; else three, so that an eighth is exact, and two above 10:12.
    decimal : bool
        No fractions: for what is read by programs.

    Examples
    --------
    >>> format_pitch(0.5), format_pitch(0.375 / 12), format_pitch(1 / 3), format_pitch(2.7475)
    ('6:12', '3/8:12', '4:12', '32.97:12')
    >>> format_pitch(2.5 / 12), format_pitch(2.5 / 12, decimal=True)
    ('2 1/2:12', '2.5:12')
    """
    rise = _exact(slope) * 12
    finest = PITCH_PLACES if places is None else places
    if places is None:
        places = PITCH_PLACES if rise <= COARSE_ABOVE else COARSE_PITCH_PLACES
    if not decimal:
        for most in (finest, places):
            whole, part = divmod(round(rise, most), 1)
            if 8 % part.denominator == 0:
                return f"{whole} {part}:12" if whole and part else f"{part or whole}:12"
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


def format_temperature(celsius: float, units: Units = Units.IMPERIAL) -> str:
    """Write a temperature in degrees Fahrenheit or Celsius, up to one decimal.

    Examples
    --------
    >>> format_temperature(10.0), format_temperature(-6.5, Units.METRIC)
    ('50 F', '-6.5 C')
    """
    exact = _exact(celsius)
    if units is Units.METRIC:
        return f"{_trimmed(exact, 1)} C"
    return f"{_trimmed(exact * Fraction(9, 5) + 32, 1)} F"


def format_weight(kilograms: float, units: Units = Units.IMPERIAL, *, grouped: bool = True) -> str:
    """Write a weight in pounds or kilograms, to one decimal.

    Parameters
    ----------
    kilograms : float
    units : Units
    grouped : bool
        With thousands separators, for people; without, ``parse_weight`` reads it back.

    Examples
    --------
    >>> format_weight(1000.0), format_weight(36.0, Units.METRIC)
    ('2,204.6 lb', '36.0 kg')
    """
    exact = _exact(kilograms)
    if units is Units.METRIC:
        return f"{_decimal(exact, 1, grouped=grouped)} kg"
    return f"{_decimal(exact / POUND, 1, grouped=grouped)} lb"


def format_volume(
    cubic_metres: float, units: Units = Units.IMPERIAL, *, grouped: bool = True
) -> str:
    """Write a volume in gallons to two decimals, or in litres to one.

    Parameters
    ----------
    cubic_metres : float
    units : Units
    grouped : bool
        With thousands separators, for people; without, ``parse_volume`` reads it back.

    Examples
    --------
    >>> format_volume(0.0189270589), format_volume(0.0189270589, Units.METRIC)
    ('5.00 gal', '18.9 l')
    """
    exact = _exact(cubic_metres)
    if units is Units.METRIC:
        return f"{_decimal(exact / LITRE, 1, grouped=grouped)} l"
    return f"{_decimal(exact / GALLON, 2, grouped=grouped)} gal"


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
