"""Eave, ridge and pitch: the third by hand arithmetic, for every form."""

from __future__ import annotations

from fractions import Fraction

import pytest

from roof3d.spec.read import parse_spec
from roof3d.units import parse_length

# 40 ft long, 24 ft wide, eave at 9 ft. Rise to the ridge in feet, by hand:
RISES = {
    "gable": ('pitch = "6:12"', 6.0),  # 12 x 1/2
    # 24 x 1/2 x 1 / (1/2 + 1): the ridge lies 16 ft in from the flatter side
    "gable unequal": ('pitch = "6:12"\npitch_back = "12:12"', 8.0),
    "hip": ('pitch = "6:12"', 6.0),
    "shed": ('pitch = "3:12"', 6.0),  # 24 x 1/4
    "flat": ('pitch = "1/2:12"', 1.0),  # 24 / 24
    # 4 x 2 below the break, then 8 x 1/2
    "gambrel": ('lower_pitch = "24:12"\nbreak_in = "4 ft"\npitch = "6:12"', 12.0),
    "mansard": ('lower_pitch = "24:12"\nbreak_in = "4 ft"\npitch = "3/4:12"', 8.5),
    "mansard level": ('lower_pitch = "24:12"\nbreak_in = "4 ft"\npitch = "0:12"', 8.0),
}


def model(form: str, *lines: str, length: str = "40 ft", width: str = "24 ft") -> str:
    return "\n".join(
        [
            'schema = 1\nname = "trial"\n[[section]]\nid = "main"',
            f'form = "{form.partition(" ")[0]}"\nlength = "{length}"\nwidth = "{width}"',
            *lines,
        ]
    )


def without_pitch(lines: str) -> str:
    return "\n".join(line for line in lines.splitlines() if not line.startswith("pitch ="))


@pytest.mark.parametrize("form", RISES)
def test_eave_and_pitch_give_the_ridge(form: str) -> None:
    lines, rise = RISES[form]
    section = parse_spec(model(form, lines, 'eave = "9 ft"')).sections[0]
    assert section.ridge == parse_length(f"{9 + rise} ft")


@pytest.mark.parametrize("form", RISES)
def test_ridge_and_pitch_give_the_eave(form: str) -> None:
    lines, rise = RISES[form]
    section = parse_spec(model(form, lines, f'ridge = "{9 + rise} ft"')).sections[0]
    assert section.eave == parse_length("9 ft")


@pytest.mark.parametrize("form", RISES)
def test_eave_and_ridge_give_the_pitch_to_the_last_bit(form: str) -> None:
    lines, rise = RISES[form]
    stated = parse_spec(model(form, lines, 'eave = "9 ft"'))
    heights = f'eave = "9 ft"\nridge = "{9 + rise} ft"'
    assert parse_spec(model(form, without_pitch(lines), heights)) == stated
    assert parse_spec(model(form, lines, heights)) == stated


@pytest.mark.parametrize("form", ["hip", "mansard"])
def test_forms_that_fall_four_ways_climb_over_half_the_narrow_side(form: str) -> None:
    lines, rise = RISES[form]
    section = parse_spec(
        model(form, lines, 'eave = "9 ft"', length="24 ft", width="40 ft")
    ).sections[0]
    assert section.ridge == parse_length(f"{9 + rise} ft")


def test_a_flat_roof_falls_a_quarter_inch_in_twelve_where_nothing_is_said() -> None:
    by_eave = parse_spec(model("flat", 'eave = "9 ft"')).sections[0]
    by_ridge = parse_spec(model("flat", 'ridge = "9 ft 6 in"')).sections[0]
    assert by_eave == by_ridge
    assert by_eave.pitch == float(Fraction(1, 48))
    assert by_eave.ridge == parse_length("9 ft 6 in")  # 24 ft x 1/4 in a foot = 6 in


def test_all_three_may_differ_by_a_sixteenth_and_eave_and_pitch_win() -> None:
    section = parse_spec(
        model("gable", 'eave = "9 ft"\npitch = "6:12"\nridge = "15 ft 1/16 in"')
    ).sections[0]
    assert section.ridge == parse_length("15 ft")
