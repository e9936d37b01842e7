"""The reader: what a model becomes, and every fault at once with its place."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from roof3d.errors import SpecError
from roof3d.spec.files import LARGEST_FILE
from roof3d.spec.model import (
    Form,
    OpeningKind,
    OpeningSpec,
    OverhangSpec,
    PlaneSpec,
    RoofSpec,
    RuleSpec,
    SectionSpec,
    Units,
)
from roof3d.spec.read import load_spec, parse_spec

HEAD = 'schema = 1\nname = "trial"\n'
BODY = """[[section]]
id = "main"
form = "gable"
length = "42 ft"
width = "28 ft"
eave = "9 ft"
pitch = "6:12"
"""
SOUND = HEAD + BODY
MAIN = 'section[0] "main"'


def faults(text: str) -> list[str]:
    with pytest.raises(SpecError) as caught:
        parse_spec(text)
    return [str(fault) for fault in caught.value.faults]


def test_every_key_lands_in_its_place_in_si() -> None:
    text = """schema = 1
name = "All keys"
units = "metric"
[rules]
low_slope_cutoff = "3:12"
[[section]]
id = "main"
form = "gambrel"
length = "10 m"
width = "8 m"
at = ["-1 m", "2 m"]
turn = "90 deg"
eave = "3 m"
pitch = "6:12"
lower_pitch = "24:12"
break_in = "1 m"
overhang = { eave = "40 cm", rake = "20 cm" }
base = "1 m"
open = true
assembly = "laminated-shingle"
[[opening]]
id = "stack"
kind = "chimney"
at = ["1 m", "3 m"]
size = ["90 cm", "60 cm"]
turn = "45 deg"
height = "1 m"
[[opening]]
id = "vent"
kind = "pipe"
at = ["2 m", "3 m"]
diameter = "110 mm"
[[plane]]
id = "main.south_upper"
assembly = "self-adhered-membrane"
"""
    assert parse_spec(text) == RoofSpec(
        version=1,
        name="All keys",
        units=Units.METRIC,
        rules=RuleSpec(low_slope_cutoff=0.25),
        sections=(
            SectionSpec(
                id="main",
                form=Form.GAMBREL,
                length=10.0,
                width=8.0,
                at=(-1.0, 2.0),
                turn=math.pi / 2,
                eave=3.0,
                ridge=6.5,  # 3 + 1 x 2 + 3 x 1/2
                pitch=0.5,
                pitch_back=0.5,
                lower_pitch=2.0,
                break_in=1.0,
                overhang=OverhangSpec(eave=0.4, rake=0.2),
                base=1.0,
                open=True,
                assembly="laminated-shingle",
            ),
        ),
        openings=(
            OpeningSpec(
                id="stack",
                kind=OpeningKind.CHIMNEY,
                at=(1.0, 3.0),
                size=(0.9, 0.6),
                turn=math.pi / 4,
                height=1.0,
            ),
            OpeningSpec(
                id="vent",
                kind=OpeningKind.PIPE,
                at=(2.0, 3.0),
                size=(0.11, 0.11),
                turn=0.0,
                height=0.3048,
            ),
        ),
        planes=(PlaneSpec(id="main.south_upper", assembly="self-adhered-membrane"),),
    )


def test_what_is_left_out_has_its_default() -> None:
    spec = parse_spec(SOUND)
    section = spec.sections[0]
    assert (spec.units, spec.rules.low_slope_cutoff) == (Units.IMPERIAL, 2 / 12)
    assert (spec.openings, spec.planes) == ((), ())
    assert (section.at, section.turn, section.base) == ((0.0, 0.0), 0.0, 0.0)
    assert (section.overhang, section.open) == (OverhangSpec(eave=0.0, rake=0.0), False)
    assert (section.assembly, section.lower_pitch, section.break_in) == ("", 0.0, 0.0)


def test_one_overhang_stands_for_both() -> None:
    overhang = parse_spec(SOUND + 'overhang = "16 in"').sections[0].overhang
    assert overhang == OverhangSpec(eave=0.4064, rake=0.4064)


WRONG = {
    "no unit": (('"42 ft"', "42"), "length", "42 has no unit"),
    "thousands": (('"42 ft"', '"1,200 ft"'), "length", '"1,200 ft": a comma may stand'),
    "negative": (('"42 ft"', '"-4 ft"'), "length", '"-4 ft" must be more than 0'),
    "nan": (('"42 ft"', "nan"), "length", "nan is no length"),
    "inf": (('"42 ft"', "inf"), "length", "inf is no length"),
    "zero size": (('"42 ft"', '"0 ft"'), "length", '"0 ft" is too small: at least 10 cm'),
    "huge": (('"42 ft"', '"42000 m"'), "length", "is too large: at most 10000 m"),
    "form": (('"gable"', '"dome"'), "form", '"dome" is not known (allowed: "gable", "hip"'),
    "no outline": (
        ('"gable"\nlength = "42 ft"\nwidth = "28 ft"', '"outline"'),
        "outline",
        'is missing (for instance outline = [["0 ft", "0 ft"],',
    ),
    "deck on gable": (("eave =", 'deck = "12 ft"\neave ='), "deck", "belongs to an outline"),
    "id": (('"main"', '"ma in"'), "id", '"ma in" cannot be used'),
    "steep": (('"6:12"', '"61:12"'), "pitch", '"61:12" is steeper than 60:12'),
    "level": (('"6:12"', '"0:12"'), "pitch", "comes to 0:12, and a gable has a slope"),
    "pitch unit": (('"6:12"', '"6"'), "pitch", '"6" has no unit'),
    "bool": (("eave =", 'open = "yes"\neave ='), "open", '"yes" is neither true nor false'),
    "turn": (("eave =", "turn = 90\neave ="), "turn", "90 has no unit"),
    "short at": (("eave =", 'at = ["1 ft"]\neave ='), "at[1]", "is missing"),
    "long at": (
        ("eave =", 'at = ["1 ft", "1 ft", "1 ft"]\neave ='),
        "at",
        "has more than the 2 entries",
    ),
    "far": (("eave =", 'at = ["0 m", "10001 km"]\neave ='), "at[1]", "is not a length"),
    "overhang": (("eave =", 'overhang = "-1 ft"\neave ='), "overhang", '"-1 ft" is below 0'),
    "bare overhang": (("eave =", "overhang = 16\neave ="), "overhang", "16 has no unit"),
    "buried": (
        ("eave =", 'overhang = "20 ft"\neave ='),
        "overhang",
        "runs down 10' 0\" from an eave at 9' 0\", into the ground",
    ),
    "hip rake": (
        ('"gable"', '"hip"\noverhang = { eave = "1 ft", rake = "2 ft" }'),
        "overhang.rake",
        "a hip has eaves all round",
    ),
    "base": (("eave =", 'base = "9 ft"\neave ='), "eave", "9' 0\" is not above the underside"),
    "back of hip": (('"gable"', '"hip"\npitch_back = "3:12"'), "pitch_back", "belongs to a gable"),
    "level back": (
        ("eave =", 'pitch_back = "0:12"\neave ='),
        "pitch_back",
        "is 0:12, and a gable falls both ways",
    ),
    "break on gable": (("eave =", 'break_in = "1 ft"\neave ='), "break_in", "belongs to a gambrel"),
    "wide break": (
        ('"gable"', '"mansard"\nlower_pitch = "20:12"\nbreak_in = "14 ft"'),
        "break_in",
        "14' 0\" reaches the middle of the roof (it must be below 14' 0\"",
    ),
    "hollow break": (
        ('"gable"', '"gambrel"\nlower_pitch = "6:12"\nbreak_in = "4 ft"'),
        "lower_pitch",
        "6:12 is not steeper than the pitch above the break, 6:12",
    ),
    "derived pitch": (('pitch = "6:12"', 'ridge = "90 ft"'), "pitch", "comes to 69.43:12"),
}


@pytest.mark.parametrize("name", WRONG)
def test_a_wrong_value_is_one_fault_with_its_place(name: str) -> None:
    (old, new), key, words = WRONG[name]
    found = faults(SOUND.replace(old, new, 1))
    assert len(found) == 1
    assert found[0].startswith(f'section[0] "{"ma in" if name == "id" else "main"}".{key}: ')
    assert words in found[0]


TRIANGLES = {
    "contradiction": (
        'eave = "9 ft"\npitch = "6:12"\nridge = "20 ft"',
        (
            "eave 9' 0\", ridge 20' 0\" and pitch 6:12 do not agree: eave and pitch give ridge "
            "16' 0\"; ridge and pitch give eave 13' 0\"; eave and ridge give pitch 9.429:12; "
            "leave one of them out"
        ),
    ),
    "just too far": (
        'eave = "9 ft"\npitch = "6:12"\nridge = "16 ft 1/8 in"',
        "eave and pitch give ridge 16' 0\"",
    ),
    "one": ('eave = "9 ft"', "has eave only: add ridge or pitch"),
    "other one": ('ridge = "9 ft"', "has ridge only: add eave or pitch"),
    "third one": ('pitch = "6:12"', "has pitch only: add eave or ridge"),
    "none": ("", "needs two of eave, ridge and pitch, and has none"),
    "underground": (
        'ridge = "5 ft"\npitch = "6:12"',
        "ridge 5' 0\" with pitch 6:12 puts the eave at -2' 0\"",
    ),
    "upside down": (
        'eave = "9 ft"\nridge = "5 ft"',
        "no pitch leads from eave 9' 0\" to ridge 5' 0\": the ridge must be at 9' 0\" or higher",
    ),
    "out of reach": (
        'eave = "9 ft"\nridge = "23 ft"\npitch_back = "6:12"',
        "with pitch_back 6:12 the ridge stays below 23' 0\"",  # 9 + 28 x 1/2
    ),
}


@pytest.mark.parametrize("name", TRIANGLES)
def test_a_triangle_that_does_not_close_says_what_would(name: str) -> None:
    lines, words = TRIANGLES[name]
    found = faults(SOUND.replace('eave = "9 ft"\npitch = "6:12"', lines))
    assert len(found) == 1
    assert found[0].startswith(f"{MAIN}: ")
    assert words in found[0]


def test_all_faults_come_at_once() -> None:
    text = f"""schema = 1
nam = "x"
units = "feet"
{BODY.replace("length", "lenght")}
[[section]]
id = "porch"
form = "shed"
length = "14 ft"
width = "9 ft"
eave = "8 ft"
[[opening]]
id = "porch"
kind = "pipe"
at = ["1 ft", "1 ft"]
size = ["3 in", "3 in"]
[[plane]]
id = "barn.south"
assembly = "laminated-shingle"
"""
    assert [fault.partition(" (")[0] for fault in faults(text)] == [
        "name: is missing",
        'units: "feet" is not known',
        f"{MAIN}.length: is missing",
        f"{MAIN}.lenght: unknown key",
        "nam: unknown key",
        (
            'section[1] "porch": needs two of eave, ridge and pitch, and has eave only: '
            "add ridge or pitch"
        ),
        'opening[0] "porch".diameter: is missing: a pipe needs it',
        'opening[0] "porch".size: does not belong to a pipe',
        'opening[0] "porch".id: "porch" is used twice, first by section[1] "porch"',
        'plane[0] "barn.south".id: there is no section "barn"',
    ]


def test_an_unknown_key_names_the_nearest_one() -> None:
    assert faults(SOUND + 'pich_back = "3:12"') == [
        f'{MAIN}.pich_back: unknown key (did you mean "pitch_back"?)'
    ]


def test_a_plane_is_given_once() -> None:
    plane = '[[plane]]\nid = "main.south"\nassembly = "laminated-shingle"\n'
    assert parse_spec(SOUND + plane).planes[0].id == "main.south"
    assert faults(SOUND + plane * 2) == [
        f'plane[{index}] "main.south".id: "main.south" is given more than once' for index in (0, 1)
    ]


def test_lengths_in_faults_follow_the_units_of_the_model() -> None:
    text = SOUND.replace('"trial"', '"trial"\nunits = "metric"') + 'ridge = "6 m"'
    assert "eave and pitch give ridge 4.877 m" in faults(text)[0]


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        ("", "schema: is missing (write schema = 1 at the top)"),
        ("schema = 2", "schema: 2 is not known (this program reads 1)"),
        ("schema = true", "schema: True is not known (this program reads 1)"),
        ('schema = "1"', 'schema: "1" is not known (this program reads 1)'),
        ("schema = 1\nb = = 2", "line 2, column 5: is not TOML: invalid value"),
        (
            'schema = 1\nname = "trial\nunits = "metric"',
            r"line 2, column 14: is not TOML: illegal character '\n': close the text with its",
        ),
        (
            HEAD + '[[opening]]\nid = "a"\n[opening]\nid = "b"',
            "line 5, column 9: is not TOML: cannot declare ('opening',) twice: write [[opening]]",
        ),
        ("[\n" * 200_000, "line 1, column 2: is not TOML: invalid initial character"),
        ("x = " + "[\n" * 100_000, "file: is not a model: its values are nested too deep"),
        ("x" * 1_500_000, "line 1: is 1,500,000 letters long, too long for a model"),
        ("\n" * 2_000_001, "file: is longer than 2,000,000 letters"),
        (HEAD + "section = []", "section: is empty (write at least one [[section]])"),
        (HEAD, "section: is missing (write at least one [[section]])"),
        (HEAD + BODY.replace("[[section]]", "[section]"), "section: must be a list of tables"),
        (HEAD + "section = [3]", "section[0]: 3 is not a table"),
        (HEAD + "[[section]]\n" * 501, "section: has more than the 500 entries allowed"),
        (SOUND + BODY, f'section[1] "main".id: "main" is used twice, first by {MAIN} (rename'),
        (HEAD.replace("trial", "") + BODY, 'name: "" is no name'),
        (HEAD.replace("trial", "a\\u0007b") + BODY, "name: 'a\\x07b' is no name"),
    ],
)
def test_a_text_that_is_no_model_is_one_fault(text: str, fault: str) -> None:
    found = faults(text)
    assert len(found) == 1
    assert found[0].startswith(fault)


def test_a_flood_of_faults_is_cut_off() -> None:
    found = faults(SOUND + "".join(f"k{number} = 1\n" for number in range(1000)))
    assert len(found) == 101
    assert found[-1] == "file: and more beyond these"


def test_five_hundred_sections_are_read() -> None:
    bodies = (BODY.replace('"main"', f'"s{number}"') for number in range(500))
    spec = parse_spec(HEAD + "".join(bodies))
    assert [section.id for section in spec.sections] == [f"s{number}" for number in range(500)]


def test_a_coordinate_may_be_ten_thousand_kilometres_away_and_no_farther() -> None:
    near = parse_spec(SOUND + 'at = ["-10000000 m", "10000000 m"]')
    assert near.sections[0].at == (-1e7, 1e7)
    assert faults(SOUND + 'at = ["10000000.1 m", "0 m"]') == [
        f'{MAIN}.at[0]: "10000000.1 m" is too large: at most 10000000 m'
    ]


def test_a_file_is_read_with_or_without_its_byte_order_mark(tmp_path: Path) -> None:
    path = tmp_path / "m.toml"
    path.write_bytes(b"\xef\xbb\xbf" + SOUND.encode())
    assert load_spec(path) == load_spec(str(path)) == parse_spec(SOUND)


def test_files_that_cannot_be_read_are_one_fault(tmp_path: Path) -> None:
    latin = tmp_path / "latin.toml"
    latin.write_bytes(b'name = "caf\xe9"')
    large = tmp_path / "large.toml"
    large.write_bytes(b"\xff" * 10_000_000)
    wrong = {
        tmp_path / "none.toml": "there is no such file",
        tmp_path: "is a directory, not a model file",
        latin: "is not UTF-8 text (byte 11)",
        large: f"is larger than {LARGEST_FILE:,} bytes",
    }
    for path, words in wrong.items():
        with pytest.raises(SpecError) as caught:
            load_spec(path)
        assert caught.value.source == str(path)
        assert [fault.message.startswith(words) for fault in caught.value.faults] == [True]
