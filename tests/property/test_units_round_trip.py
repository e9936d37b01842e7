"""What is written reads back within half the display step, and then never moves again."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from roof3d.units import (
    GALLON,
    INCH,
    LITRE,
    POUND,
    SQUARE_FOOT,
    Units,
    exact_length,
    exact_pitch,
    format_area,
    format_length,
    format_pitch,
    format_temperature,
    format_volume,
    format_weight,
    parse_area,
    parse_length,
    parse_pitch,
    parse_temperature,
    parse_volume,
    parse_weight,
)

lengths = st.floats(min_value=-1e7, max_value=1e7)
slopes = st.floats(min_value=0.0, max_value=60.0)
areas = st.floats(min_value=0.0, max_value=1e9)
STEP = {Units.IMPERIAL: INCH / 16, Units.METRIC: Fraction(1, 1000)}
temperatures = st.floats(min_value=-273.0, max_value=1e4)
amounts = st.floats(min_value=0.0, max_value=1e9)
DEGREE_STEP = {Units.IMPERIAL: Fraction(1, 18), Units.METRIC: Fraction(1, 10)}
WEIGHT_STEP = {Units.IMPERIAL: POUND / 10, Units.METRIC: Fraction(1, 10)}
VOLUME_STEP = {Units.IMPERIAL: GALLON / 100, Units.METRIC: LITRE / 10}
AREA_STEP = {Units.IMPERIAL: SQUARE_FOOT / 10, Units.METRIC: Fraction(1, 100)}


@pytest.mark.parametrize("units", Units)
@given(metres=lengths)
def test_length_round_trip(units: Units, metres: float) -> None:
    text = format_length(metres, units)
    assert abs(exact_length(text, signed=True) - Fraction(metres)) <= STEP[units] / 2
    assert format_length(parse_length(text, signed=True), units) == text


@given(metres=lengths)
def test_inches_never_reach_a_foot(metres: float) -> None:
    inches = format_length(metres).rpartition("' ")[2].removeprefix("-").rstrip('"')
    assert sum(Fraction(part) for part in inches.split()) < 12


@given(slope=slopes)
def test_pitch_round_trip(slope: float) -> None:
    text = format_pitch(slope)
    step = Fraction(1, 1000) if slope * 12 <= 10 else Fraction(1, 100)
    assert abs(exact_pitch(text) - Fraction(slope)) <= step / 2 / 12
    assert format_pitch(parse_pitch(text)) == text


@pytest.mark.parametrize("units", Units)
@given(area=areas)
def test_area_round_trip(units: Units, area: float) -> None:
    text = format_area(area, units, grouped=False)
    assert text == format_area(area, units).replace(",", "")
    read = parse_area(text)
    step = AREA_STEP[units]
    assert abs(Fraction(read) - Fraction(area)) <= step / 2 + Fraction(read) / 2**52
    assert format_area(read, units, grouped=False) == text


@pytest.mark.parametrize("units", Units)
@given(celsius=temperatures)
def test_temperature_round_trip(units: Units, celsius: float) -> None:
    text = format_temperature(celsius, units)
    read = parse_temperature(text)
    rounding = abs(Fraction(read)) / 2**52
    assert abs(Fraction(read) - Fraction(celsius)) <= DEGREE_STEP[units] / 2 + rounding
    assert format_temperature(read, units) == text


@pytest.mark.parametrize("units", Units)
@given(kilograms=amounts)
def test_weight_round_trip(units: Units, kilograms: float) -> None:
    text = format_weight(kilograms, units, grouped=False)
    assert text == format_weight(kilograms, units).replace(",", "")
    read = parse_weight(text)
    rounding = Fraction(read) / 2**52
    assert abs(Fraction(read) - Fraction(kilograms)) <= WEIGHT_STEP[units] / 2 + rounding
    assert format_weight(read, units, grouped=False) == text


@pytest.mark.parametrize("units", Units)
@given(cubic_metres=amounts)
def test_volume_round_trip(units: Units, cubic_metres: float) -> None:
    text = format_volume(cubic_metres, units, grouped=False)
    assert text == format_volume(cubic_metres, units).replace(",", "")
    read = parse_volume(text)
    rounding = Fraction(read) / 2**52
    assert abs(Fraction(read) - Fraction(cubic_metres)) <= VOLUME_STEP[units] / 2 + rounding
    assert format_volume(read, units, grouped=False) == text


@given(
    feet=st.integers(0, 10_000),
    sixteenths=st.integers(0, 12 * 16 - 1),
)
def test_the_same_length_in_inches_and_millimetres_is_one_number(
    feet: int, sixteenths: int
) -> None:
    whole, part = divmod(sixteenths, 16)
    imperial = f"{feet} ft {whole} {part}/16 in"
    tenth_microns = (feet * 12 * 16 + sixteenths) * 15875  # 1/16 in is 1.5875 mm
    metric = f"{tenth_microns // 10000}.{tenth_microns % 10000:04d} mm"
    assert parse_length(imperial) == parse_length(metric)


@given(text=st.text(max_size=70))
def test_any_text_is_read_or_refused_in_words(text: str) -> None:
    for parse in (parse_length, parse_pitch, parse_area, parse_weight, parse_volume):
        try:
            assert parse(text) >= 0.0
        except ValueError as error:
            assert "write" in str(error) or '"' in str(error)  # noqa: PT017
