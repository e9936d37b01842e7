"""Wrong models: one clear message with the place, exit status 2, nothing left behind."""

# ruff: noqa: E501 - one wrong model a line reads as a table

from __future__ import annotations

import random
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

import pytest

if TYPE_CHECKING:
    from tests.conftest import RunRoof3d

GOOD = """\
schema = 1
name = "Ferry Lane house"
units = "imperial"

[rules]
low_slope_cutoff = "2:12"

[[section]]
id = "house"
form = "gable"
length = "40 ft"
width = "24 ft"
at = ["0 ft", "0 ft"]
turn = "0 deg"
eave = "9 ft"
pitch = "6:12"
overhang = { eave = "16 in", rake = "8 in" }

[[opening]]
id = "stack"
kind = "chimney"
at = ["10 ft", "6 ft"]
size = ["32 in", "24 in"]
height = "2 ft"
"""


class Wrong(NamedTuple):
    """One change that spoils the good model, and what the message must hold."""

    old: str
    new: str
    place: str
    words: tuple[str, ...]


WRONG = {
    "unknown key": Wrong('form = "gable"', 'form = "gable"\ncolour = "red"', 'section[0] "house".colour', ("colour",)),
    "unknown top key": Wrong("schema = 1", "schema = 1\nowner = 3", "owner", ("owner",)),
    "unknown section kind": Wrong("[[section]]", "[[sektion]]", "sektion", ("sektion",)),
    "missing unit": Wrong('length = "40 ft"', "length = 40", 'section[0] "house".length', ("40", "unit")),
    "missing unit in text": Wrong('length = "40 ft"', 'length = "40"', 'section[0] "house".length', ("40", "unit")),
    "thousands comma": Wrong('length = "40 ft"', 'length = "1,200 ft"', 'section[0] "house".length', ("1,200",)),
    "negative length": Wrong('length = "40 ft"', 'length = "-40 ft"', 'section[0] "house".length', ("-40 ft",)),
    "zero length": Wrong('length = "40 ft"', 'length = "0 ft"', 'section[0] "house".length', ("0 ft",)),
    "zero width": Wrong('width = "24 ft"', 'width = "0 ft"', 'section[0] "house".width', ("0 ft",)),
    "not a number": Wrong('length = "40 ft"', "length = nan", 'section[0] "house".length', ("nan",)),
    "not a number in text": Wrong('length = "40 ft"', 'length = "nan ft"', 'section[0] "house".length', ("nan",)),
    "infinite": Wrong('length = "40 ft"', "length = inf", 'section[0] "house".length', ("inf",)),
    "endless digits": Wrong('length = "40 ft"', 'length = "1e400 ft"', 'section[0] "house".length', ("1e400",)),
    "larger than any house": Wrong('length = "40 ft"', 'length = "400000000 ft"', 'section[0] "house".length', ("400000000 ft",)),
    "a year for a length": Wrong('length = "40 ft"', "length = 2026-01-01", 'section[0] "house".length', ("2026",)),
    "list for a length": Wrong('length = "40 ft"', 'length = ["40 ft"]', 'section[0] "house".length', ("text",)),
    "length for a pitch": Wrong('pitch = "6:12"', 'pitch = "6 ft"', 'section[0] "house".pitch', ("6 ft",)),
    "bare pitch": Wrong('pitch = "6:12"', "pitch = 6", 'section[0] "house".pitch', ("6",)),
    "upright pitch": Wrong('pitch = "6:12"', 'pitch = "90 deg"', 'section[0] "house".pitch', ("90 deg",)),
    "negative pitch": Wrong('pitch = "6:12"', 'pitch = "-6:12"', 'section[0] "house".pitch', ("-6:12",)),
    "pitch over nothing": Wrong('pitch = "6:12"', 'pitch = "6:0"', 'section[0] "house".pitch', ("6:0",)),
    "eave, ridge and pitch at odds": Wrong('pitch = "6:12"', 'pitch = "6:12"\nridge = "20 ft"', 'section[0] "house"', ("eave", "ridge", "pitch", "15'", "20'")),
    "neither ridge nor pitch": Wrong('pitch = "6:12"\n', "", 'section[0] "house"', ("pitch", "ridge")),
    "ridge under the eave": Wrong('pitch = "6:12"', 'ridge = "8 ft"', 'section[0] "house"', ("ridge", "8'")),
    "unknown form": Wrong('form = "gable"', 'form = "pagoda"', 'section[0] "house".form', ("pagoda", "gable", "mansard")),
    "missing form": Wrong('form = "gable"\n', "", 'section[0] "house".form', ("form",)),
    "missing length": Wrong('length = "40 ft"\n', "", 'section[0] "house".length', ("length",)),
    "one number for a place": Wrong('at = ["0 ft", "0 ft"]', 'at = ["0 ft"]', 'section[0] "house".at', ("at",)),
    "same id twice": Wrong('id = "stack"', 'id = "house"', "house", ("house",)),
    "id that is no word": Wrong('id = "house"', 'id = "my house.1"', "section", ("my house.1",)),
    "negative overhang": Wrong('eave = "16 in"', 'eave = "-16 in"', 'section[0] "house".overhang.eave', ("-16 in",)),
    "unknown units": Wrong('units = "imperial"', 'units = "cubits"', "units", ("cubits", "imperial", "metric")),
    "unknown schema": Wrong("schema = 1", "schema = 7", "schema", ("7",)),
    "no schema": Wrong("schema = 1\n", "", "schema", ("schema",)),
    "unknown opening": Wrong('kind = "chimney"', 'kind = "hatch"', 'opening[0] "stack".kind', ("hatch", "chimney")),
    "opening off the roof": Wrong('at = ["10 ft", "6 ft"]', 'at = ["300 ft", "6 ft"]', "stack", ("stack",)),
    "flat opening": Wrong('size = ["32 in", "24 in"]', 'size = ["0 in", "24 in"]', 'opening[0] "stack".size', ("0 in",)),
    "assembly that is not there": Wrong('form = "gable"', 'form = "gable"\nassembly = "thatch"', "section[0]", ("assembly", "thatch")),
    "key of another form": Wrong('form = "gable"', 'form = "gable"\nbreak_in = "4 ft"', 'section[0] "house".break_in', ("gable",)),
    "no temperature": Wrong("[rules]", "[site]\ntemperature = 35\n[rules]", "site.temperature", ("35", "unit", "F")),
    "hotter than any day": Wrong("[rules]", '[site]\ntemperature = "350 F"\n[rules]', "site.temperature", ("350 F", "-60 C")),
    "unknown wind": Wrong("[rules]", '[site]\nwind = "gale"\n[rules]', "site.wind", ("gale", "normal", "high")),
    "unknown zones": Wrong("[rules]", '[site]\nzones = "asce_7_99"\n[rules]', "site.zones", ("asce_7_99", "asce_7_16")),
    "ice barrier as text": Wrong("[rules]", '[site]\nice_barrier = "yes"\n[rules]', "site.ice_barrier", ("yes", "true")),
    "unknown valley": Wrong("[rules]", '[layout]\nvalley = "woven"\n[rules]', "layout.valley", ("woven", "closed_cut")),
    "laying key that is none": Wrong("[rules]", "[layout]\neven_lap = true\n[rules]", "layout.even_lap", ("even_laps",)),
    "wish that is not there": Wrong('low_slope_cutoff = "2:12"', 'low_assembly = "thatch"', "rules.low_assembly", ("thatch", "allowed")),
    "catalog that is not there": Wrong("[rules]", 'catalog = "our-roofs.toml"\n[rules]', "catalog", ("our-roofs.toml", "no such file")),
    "catalog at a root": Wrong("[rules]", 'catalog = "/our-roofs.toml"\n[rules]', "catalog", ("/our-roofs.toml", "root")),
    "catalog that is itself": Wrong("[rules]", 'catalog = "wrong.toml"\n[rules]', "wrong.toml", ("unknown",)),
    "TOML that ends in the middle": Wrong('pitch = "6:12"', 'pitch = "6:12', "line 16", ("TOML",)),
    "the same key twice": Wrong('eave = "9 ft"', 'eave = "9 ft"\neave = "9 ft"', "line 16", ("TOML",)),
}  # fmt: skip


OUTLINE = """\
schema = 1
name = "Ferry quay"
units = "imperial"

[[section]]
id = "hall"
form = "outline"
outline = [["0 ft", "0 ft"], ["40 ft", "0 ft"], ["40 ft", "24 ft"], ["0 ft", "24 ft"]]
courtyard = [[["10 ft", "8 ft"], ["18 ft", "8 ft"], ["18 ft", "16 ft"]]]
eave = "9 ft"
pitch = "6:12"
edge = [{ at = 1, gable = true }, { at = 3, pitch = "8:12" }]
"""

HALL = 'section[0] "hall"'
WRONG_OUTLINE = {
    "a corner without a unit": Wrong('["40 ft", "0 ft"]', '[40, "0 ft"]', f"{HALL}.outline[1][0]", ("40", "unit")),
    "corners out of order": Wrong('["40 ft", "24 ft"], ["0 ft", "24 ft"]', '["0 ft", "24 ft"], ["40 ft", "24 ft"]', f"{HALL}.outline[3]", ("crosses", "corner 1 to 2", "in order")),
    "the first corner again": Wrong('["0 ft", "24 ft"]]', '["0 ft", "24 ft"], ["0 ft", "0 ft"]]', f"{HALL}.outline[4]", ("corner 0", "leave it out")),
    "a courtyard through the wall": Wrong('["18 ft", "16 ft"]', '["18 ft", "26 ft"]', f"{HALL}.courtyard[0][", ("crosses", "of outline")),
    "no outline": Wrong("outline = [[", "courtyards = [[", f"{HALL}.outline", ("is missing", '["30 ft", "0 ft"]')),
    "edge of no corner": Wrong("at = 3", "at = 4", f"{HALL}.edge[1].at", ("no corner 4", "0 to 3")),
    "edge as text": Wrong("at = 3", 'at = "3"', f"{HALL}.edge[1].at", ("whole number",)),
    "edge given twice": Wrong("at = 3", "at = 1", f"{HALL}.edge[1].at", ("edge[0]",)),
    "pitched gable": Wrong("gable = true", 'gable = true, pitch = "3:12"', f"{HALL}.edge[0].pitch", ("hip_from",)),
    "ridge of an outline": Wrong('pitch = "6:12"', 'pitch = "6:12"\nridge = "20 ft"', f"{HALL}.ridge", ("leave it out",)),
    "length of an outline": Wrong('pitch = "6:12"', 'pitch = "6:12"\nlength = "40 ft"', f"{HALL}.length", ("leave it out",)),
    "deck in the attic floor": Wrong('pitch = "6:12"', 'pitch = "6:12"\ndeck = "8 ft"', f"{HALL}.deck", ("8'", "9'")),
    "fall to no edge": Wrong('edge = [{ at = 1, gable = true }, { at = 3, pitch = "8:12" }]', "fall = 4", f"{HALL}.fall", ("no corner 4",)),
    "misspelt edge key": Wrong("gable = true", "gabel = true", f"{HALL}.edge[0].gabel", ("gable",)),
}  # fmt: skip


def nothing_new(folder: Path, before: set[str]) -> bool:
    """Whether a folder holds what it held, hidden files too."""
    return {path.name for path in folder.iterdir()} == before


def test_the_model_that_is_spoilt_below_is_good(roof3d_process: RunRoof3d, tmp_path: Path) -> None:
    (tmp_path / "good.toml").write_text(GOOD)
    result = roof3d_process("measure", "good.toml")
    assert (result.returncode, result.stderr) == (0, "")


@pytest.mark.parametrize("wrong", WRONG.values(), ids=WRONG)
def test_a_wrong_value_is_named_with_its_place(
    wrong: Wrong,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    from roof3d.cli.app import main

    assert GOOD.count(wrong.old) == 1
    (tmp_path / "wrong.toml").write_text(GOOD.replace(wrong.old, wrong.new))
    monkeypatch.chdir(tmp_path)
    status = main(["measure", "wrong.toml", "--json", "-o", "out.json"])
    said = capsys.readouterr()
    assert (status, said.out) == (2, "")
    assert said.err.startswith("roof3d: wrong.toml: ")
    assert wrong.place in said.err
    assert [word for word in wrong.words if word not in said.err] == []
    assert "Traceback" not in said.err
    assert nothing_new(tmp_path, {"wrong.toml"})


@pytest.mark.parametrize("wrong", WRONG_OUTLINE.values(), ids=WRONG_OUTLINE)
def test_a_wrong_value_of_an_outline_is_named_with_its_place(
    wrong: Wrong,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    from roof3d.cli.app import main
    from roof3d.spec.read import parse_spec

    assert parse_spec(OUTLINE).sections[0].outline is not None
    assert OUTLINE.count(wrong.old) == 1
    (tmp_path / "wrong.toml").write_text(OUTLINE.replace(wrong.old, wrong.new))
    monkeypatch.chdir(tmp_path)
    status = main(["measure", "wrong.toml", "--json", "-o", "out.json"])
    said = capsys.readouterr()
    assert (status, said.out) == (2, "")
    assert said.err.startswith("roof3d: wrong.toml: ")
    assert wrong.place in said.err
    assert [word for word in wrong.words if word not in said.err] == []
    assert "Traceback" not in said.err
    assert nothing_new(tmp_path, {"wrong.toml"})


def test_all_faults_are_told_at_once(tmp_path: Path, roof3d_process: RunRoof3d) -> None:
    text = GOOD.replace('"40 ft"', "40").replace('"6:12"', '"6 ft"').replace('"chimney"', '"hatch"')
    (tmp_path / "wrong.toml").write_text(text)
    result = roof3d_process("check", "wrong.toml")
    assert result.returncode == 2
    assert "3 faults" in result.stderr
    assert [
        place
        for place in (
            'section[0] "house".length',
            'section[0] "house".pitch',
            'opening[0] "stack".kind',
        )
        if place not in result.stderr
    ] == []


def unreadable_bytes() -> bytes:
    """Ten megabytes that are no text."""
    return random.Random(3).randbytes(10_000_000)  # noqa: S311 - the same nonsense each time


NO_MODEL = {
    "empty": b"",
    "ten megabytes of nonsense": unreadable_bytes(),
    "ten megabytes of brackets": b"a = " + b"[" * 10_000_000,
    "ten megabytes of letters": b"x" * 10_000_000,
    "not UTF-8": GOOD.replace("Ferry", "F\xe9rry").encode("latin-1"),
    "a picture": b"\x89PNG\r\n\x1a\n" + bytes(64),
    "terminal escapes": b'name = "\\u001b[31mred\\u001b[0m"\n\x1b[31m = 1\n',
    "no section": b'schema = 1\nname = "bare"\nunits = "metric"\n',
}


@pytest.mark.parametrize("content", NO_MODEL.values(), ids=NO_MODEL)
def test_a_file_that_is_no_model_is_refused(
    content: bytes, tmp_path: Path, roof3d_process: RunRoof3d
) -> None:
    (tmp_path / "wrong.toml").write_bytes(content)
    result = roof3d_process("measure", "wrong.toml", "-o", "out.json")
    assert (result.returncode, result.stdout) == (2, "")
    assert result.stderr.startswith("roof3d: wrong.toml: ")
    assert len(result.stderr) < 2000
    assert "Traceback" not in result.stderr
    assert "\x1b" not in result.stderr
    assert nothing_new(tmp_path, {"wrong.toml"})


@pytest.mark.parametrize("command", ["measure", "check"])
def test_a_missing_file_a_folder_and_a_loop_are_refused(
    command: str, tmp_path: Path, roof3d_process: RunRoof3d
) -> None:
    (tmp_path / "folder.toml").mkdir()
    (tmp_path / "loop.toml").symlink_to("loop.toml")
    (tmp_path / "dangling.toml").symlink_to("gone.toml")
    for name in ("nowhere.toml", "folder.toml", "loop.toml", "dangling.toml", "nowhere/x.toml"):
        result = roof3d_process(command, name)
        assert (result.returncode, result.stdout) == (2, ""), name
        assert result.stderr.startswith(f"roof3d: {name}: "), result.stderr
        assert len(result.stderr.splitlines()) <= 2
        assert "Traceback" not in result.stderr


def test_a_message_cannot_steer_the_terminal(roof3d_process: RunRoof3d) -> None:
    result = roof3d_process("measure", "\x1b[31mred.toml")
    assert result.returncode == 2
    assert "\\x1b[31mred.toml: " in result.stderr
    assert "\x1b" not in result.stderr
