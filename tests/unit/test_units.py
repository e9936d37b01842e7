"""Measures of every kind: what is read, what is refused, how it is written."""

from __future__ import annotations

import math
import re
from collections.abc import Callable

import pytest

from roof3d.units import (
    Units,
    format_angle,
    format_area,
    format_length,
    format_pitch,
    format_squares,
    format_temperature,
    format_volume,
    format_weight,
    parse_angle,
    parse_area,
    parse_length,
    parse_pitch,
    parse_temperature,
    parse_volume,
    parse_weight,
)

# The inch is exactly 25.4 mm, the foot 12 in (international yard and pound agreement, 1959).
LENGTHS = {
    "28 ft": 8.5344,
    "28ft": 8.5344,
    "28'": 8.5344,
    "28 feet": 8.5344,
    "1 foot": 0.3048,
    "12' 6 1/2\"": 3.8227,
    "12'-6 1/2\"": 3.8227,
    "12'6-1/2\"": 3.8227,
    "12 ft 6 1/2 in": 3.8227,
    "12 FT 6.5 IN": 3.8227,
    "12\u2032 6 1/2\u2033": 3.8227,
    "150.5 in": 3.8227,
    "6 in": 0.1524,
    "6 inches": 0.1524,
    "3/4 in": 0.01905,
    ".75 in": 0.01905,
    "345 mm": 0.345,
    "3.2 m": 3.2,
    "12 cm": 0.12,
    " 12   cm ": 0.12,
    "+1 m": 1.0,
    "0 ft": 0.0,
    "-0 ft": 0.0,
}


@pytest.mark.parametrize("text", LENGTHS)
def test_a_length_reads_to_the_nearest_float(text: str) -> None:
    assert parse_length(text) == LENGTHS[text]


def test_a_coordinate_may_be_below_zero() -> None:
    assert parse_length("-12' 6\"", signed=True) == -3.81
    assert parse_length("\u22123 m", signed=True) == -3.0


@pytest.mark.parametrize(
    ("value", "words"),
    [
        (28, "28 has no unit"),
        (28.5, "28.5 has no unit"),
        ("28", '"28" has no unit'),
        ("3/4", "has no unit"),
        ("1e3", "has no unit"),
        ("1,200 ft", "a comma may stand for thousands or decimals"),
        ("3,2 m", "a comma may stand for thousands or decimals"),
        (math.nan, "nan is no length"),
        (math.inf, "inf is no length"),
        ("nan ft", "is no length"),
        ("inf m", "is no length"),
        ("-3 ft", "below 0"),
        ("1e3 ft", "is not a length"),
        ("3 furlongs", '"3 furlongs" is not a length'),
        ("3 m 4 cm", "is not a length"),
        ("12 ft 12 in", "inches below 12"),
        ("12.5 ft 2 in", "feet are whole"),
        ("1/0 in", "no number that can be read"),
        ("1.2.3 ft", "is not a length"),
        ("", "is empty"),
        ("ft", "is not a length"),
        ("\u0663 m", "is not a length"),
        (True, "True is not text"),
        (None, "None is not text"),
        (["1 ft"], "is not text"),
        ("9" * 100 + " ft", "too long for a length"),
    ],
)
def test_what_is_no_length_is_refused_with_its_value(value: object, words: str) -> None:
    with pytest.raises(ValueError, match=re.escape(words)):
        parse_length(value)


@pytest.mark.parametrize(
    ("text", "slope"),
    [
        ("6:12", 0.5),
        ("6/12", 0.5),
        ("6 : 12", 0.5),
        ("1/4:12", 0.25 / 12),
        ("6 1/2:12", 6.5 / 12),
        ("4.5/12", 0.375),
        ("1:1", 1.0),
        ("50 %", 0.5),
        ("50%", 0.5),
        ("45 deg", 1.0),
        ("45\u00b0", 1.0),
        ("0:12", 0.0),
        ("0 deg", 0.0),
        ("2:12", 2 / 12),
    ],
)
def test_a_pitch_reads_as_rise_over_run(text: str, slope: float) -> None:
    assert parse_pitch(text) == slope


def test_a_pitch_in_degrees_is_its_tangent() -> None:
    assert parse_pitch("26.6 deg") == round(math.tan(math.radians(26.6)), 12)


@pytest.mark.parametrize(
    ("value", "words"),
    [
        ("6", "has no unit"),
        (0.5, "has no unit"),
        ("6:0", "run above 0"),
        ("6/0", "run above 0"),
        ("90 deg", "below 90 deg"),
        ("-6:12", "below 0"),
        ("6 in", "is not a pitch"),
        ("6/12/3", "is not a pitch"),
        ("6,5:12", "comma"),
        ("nan", "is no pitch"),
        ("./.", "no number that can be read"),
        (False, "is not text"),
    ],
)
def test_what_is_no_pitch_is_refused_with_its_value(value: object, words: str) -> None:
    with pytest.raises(ValueError, match=re.escape(words)):
        parse_pitch(value)


def test_angles_turn_counterclockwise_in_degrees() -> None:
    assert parse_angle("90 deg") == math.pi / 2
    assert parse_angle("-30\u00b0") == -math.radians(30)
    with pytest.raises(ValueError, match="90 has no unit"):
        parse_angle(90)
    with pytest.raises(ValueError, match="is not an angle"):
        parse_angle("1 rad")


def test_areas_read_in_feet_squares_and_metres() -> None:
    assert parse_area("100 sq ft") == parse_area("1 square") == 9.290304
    assert parse_area("2.5 squares") == parse_area("250 ft2")
    assert parse_area("30 m2") == parse_area("30 m\u00b2") == 30.0
    with pytest.raises(ValueError, match="a comma may stand"):
        parse_area("1,200 sq ft")
    with pytest.raises(ValueError, match="is not an area"):
        parse_area("30 m")


@pytest.mark.parametrize(
    ("inches", "text"),
    [
        (0.0, '0"'),
        (6.0, '6"'),
        (0.75, '3/4"'),
        (12.0, "1' 0\""),
        (12.5, "1' 0 1/2\""),
        (150.5, "12' 6 1/2\""),
        (143.97, "12' 0\""),  # carries: never 11 16/16, never 12 in
        (11.97, "1' 0\""),
        (11.96, '11 15/16"'),
        (-42.0, "-3' 6\""),
        (-0.01, '0"'),
        (14400.0, "1200' 0\""),
    ],
)
def test_feet_and_inches_go_to_the_nearest_sixteenth_with_carry(inches: float, text: str) -> None:
    assert format_length(inches * 0.0254) == text


def test_metric_lengths_go_to_the_millimetre() -> None:
    assert format_length(3.8227, Units.METRIC) == "3.823 m"
    assert format_length(-0.0001, Units.METRIC) == "0.000 m"
    assert format_length(1200.0, Units.METRIC) == "1200.000 m"


@pytest.mark.parametrize(
    ("text", "plain"),
    [("1/4:12", "0.25:12"), ("2 1/2:12", "2.5:12"), ("10 7/8:12", "10.88:12"), ("6/12", "6:12")],
)
def test_a_pitch_is_read_as_fraction_or_decimal_and_programs_get_the_decimal(
    text: str, plain: str
) -> None:
    slope = parse_pitch(text)
    assert format_pitch(slope) == text.replace("/12", ":12")
    assert format_pitch(slope, decimal=True) == plain
    assert parse_pitch(plain) == pytest.approx(slope, abs=1e-3)


def test_what_is_no_eighth_is_no_fraction() -> None:
    assert [format_pitch(rise / 12) for rise in (0.251, 0.2496, 4.3, 11.126)] == [
        "0.251:12",
        "1/4:12",
        "4.3:12",
        "11.13:12",
    ]


def test_pitches_and_angles_drop_idle_zeros() -> None:
    assert [
        format_pitch(rise / 12) for rise in (6, 0.25, 0, 9.4286, 12.5, 1 / 8, 3 / 8, 32.9694)
    ] == [
        "6:12",
        "1/4:12",
        "0:12",
        "9.429:12",
        "12 1/2:12",
        "1/8:12",
        "3/8:12",
        "32.97:12",
    ]
    assert format_angle(math.radians(26.565)) == "26.57 deg"
    assert format_angle(-math.pi / 2) == "-90 deg"


def test_areas_part_thousands_for_people_only() -> None:
    area = 1073.313 * 0.09290304
    assert format_area(area) == "1,073.3 sq ft"
    assert format_area(area, grouped=False) == "1073.3 sq ft"
    assert format_area(1234.5, Units.METRIC) == "1,234.50 m2"
    assert format_squares(area) == "10.73 squares"


# 0 C is 32 F and 100 C is 212 F, by definition of the scale.
@pytest.mark.parametrize(
    ("text", "celsius"),
    [
        ("32 F", 0.0),
        ("212 F", 100.0),
        ("50F", 10.0),
        ("50 deg F", 10.0),
        ("50 \u00b0F", 10.0),
        ("50\u00b0 F", 10.0),
        ("-40 F", -40.0),
        ("2 C", 2.0),
        ("-5 deg C", -5.0),
        ("\u22125 \u00b0C", -5.0),
        ("-459.67 F", -273.15),
        ("35 F", 5 / 3),
    ],
)
def test_a_temperature_reads_to_the_nearest_float(text: str, celsius: float) -> None:
    assert parse_temperature(text) == celsius


@pytest.mark.parametrize(
    ("value", "words"),
    [
        (35, "35 has no unit"),
        ("35", '"35" has no unit'),
        ("35 deg", "is not a temperature"),
        ("35 K", "is not a temperature"),
        ("-459.68 F", "below absolute zero"),
        ("-274 C", "below absolute zero"),
        (None, "is not text"),
    ],
)
def test_what_is_no_temperature_is_refused_with_its_value(value: object, words: str) -> None:
    with pytest.raises(ValueError, match=re.escape(words)):
        parse_temperature(value)


def test_weights_read_in_pounds_and_kilograms() -> None:
    # The pound is exactly 0.45359237 kg (international yard and pound agreement, 1959).
    assert parse_weight("100 lb") == parse_weight("100 lbs") == 45.359237
    assert parse_weight("36 kg") == 36.0
    assert parse_weight("500 g") == 0.5
    with pytest.raises(ValueError, match="below 0"):
        parse_weight("-1 lb")
    with pytest.raises(ValueError, match="is not a weight"):
        parse_weight("3 stone")


def test_volumes_read_in_gallons_and_litres() -> None:
    # The gallon of the United States is 231 cubic inches, so 3.785411784 l, both exact.
    assert parse_volume("1 gal") == 0.003785411784
    assert parse_volume("5 gal") == 0.01892705892
    assert parse_volume("18.9 l") == parse_volume("0.0189 m3") == 0.0189
    with pytest.raises(ValueError, match="below 0"):
        parse_volume("-1 l")
    with pytest.raises(ValueError, match="is not a volume"):
        parse_volume("3 pints")


def test_temperatures_weights_and_volumes_are_written_for_people() -> None:
    assert [format_temperature(celsius) for celsius in (0.0, 10.0, 5 / 3, -40.0)] == [
        "32 F",
        "50 F",
        "35 F",
        "-40 F",
    ]
    assert format_temperature(5 / 3, Units.METRIC) == "1.7 C"
    assert format_weight(45.359237) == "100.0 lb"
    assert format_weight(1234.56, Units.METRIC) == "1,234.6 kg"
    assert format_weight(1234.56, Units.METRIC, grouped=False) == "1234.6 kg"
    assert format_volume(0.01892705892) == "5.00 gal"
    assert format_volume(3.785411784) == "1,000.00 gal"
    assert format_volume(0.0189, Units.METRIC) == "18.9 l"


@pytest.mark.parametrize(
    "write",
    [
        format_length,
        format_pitch,
        format_area,
        format_squares,
        format_temperature,
        format_weight,
        format_volume,
    ],
)
def test_what_is_not_finite_is_never_shown(write: Callable[[float], str]) -> None:
    with pytest.raises(ValueError, match="not finite"):
        write(math.nan)
    with pytest.raises(ValueError, match="not finite"):
        write(-math.inf)
