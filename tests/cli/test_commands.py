"""What each command says, writes and returns."""

from __future__ import annotations

import json
import re
import subprocess
import sys
import tomllib
from pathlib import Path
from typing import TYPE_CHECKING, Any

import jsonschema
import pytest

from roof3d.cli.app import app, main

if TYPE_CHECKING:
    from tests.conftest import RunRoof3d

COMMANDS = {
    "demo",
    "new",
    "check",
    "measure",
    "takeoff",
    "picture",
    "explode",
    "export",
    "lesson",
    "outline",
    "schema",
    "view",
}
SQUARE_FOOT = 0.3048**2

# Membrane under the shingles' cutoff is right here; shingles at 1:12 are not.
PORCH = """\
schema = 1
name = "Ferry Lane house"
units = "{units}"

[[section]]
id = "house"
form = "gable"
length = "40 ft"
width = "24 ft"
at = ["0 ft", "0 ft"]
eave = "12 ft"
pitch = "6:12"

[[section]]
id = "porch"
form = "shed"
length = "40 ft"
width = "12 ft"
at = ["0 ft", "-12 ft"]
eave = "11 ft"
pitch = "1:12"
{more}
"""


@pytest.fixture
def porch(tmp_path: Path) -> Path:
    """A gable with a porch along its whole south side, their surfaces meeting at the wall."""
    path = tmp_path / "porch.toml"
    path.write_text(PORCH.format(units="imperial", more=""))
    return path


def measured(model: Path, capsys: pytest.CaptureFixture[str]) -> dict[str, Any]:
    """The measurement of a model as JSON."""
    assert main(["measure", str(model), "--json"]) == 0
    document: dict[str, Any] = json.loads(capsys.readouterr().out)
    return document


def rows(text: str, title: str) -> dict[str, list[str]]:
    """Rows of one table, by their first cell; cells are parted by two spaces or more."""
    block = text.split(f"{title}\n", 1)[1].split("\n\n", 1)[0]
    return {
        cells[0]: cells[1:] for cells in (re.split(r" {2,}", line) for line in block.splitlines())
    }


def test_there_are_these_commands_and_no_others() -> None:
    names = {command.callback.__name__ for command in app.registered_commands if command.callback}
    assert names == COMMANDS


@pytest.mark.parametrize("command", sorted(COMMANDS))
def test_help_shows_one_worked_example(command: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main([command, "--help"]) == 0
    said = capsys.readouterr()
    examples = re.findall(rf"^ *Example: roof3d {command}\b", said.out, flags=re.MULTILINE)
    assert (len(examples), said.err) == (1, "")


def test_no_command_and_help_list_every_command(capsys: pytest.CaptureFixture[str]) -> None:
    assert main([]) == 0
    bare = capsys.readouterr().out
    assert main(["--help"]) == 0
    assert capsys.readouterr().out == bare
    listed = re.findall(r"^  ([a-z]+)  ", bare.split("Commands:")[1], flags=re.MULTILINE)
    assert set(listed) == COMMANDS


def test_version_is_that_of_the_installed_package(capsys: pytest.CaptureFixture[str]) -> None:
    from importlib.metadata import version

    assert main(["--version"]) == 0
    assert capsys.readouterr().out == f"roof3d {version('roof3d')}\n"


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["measur"], ["No such command", "'measure'"]),
        (["measure"], ["roof3d measure:", "MODEL"]),
        (["measure", "a.toml", "b.toml"], ["b.toml"]),
        (["measure", "a.toml", "--jsn"], ["--jsn", "--json"]),
        (["measure", "a.toml", "-o"], ["-o"]),
        (["picture", "a.toml", "--size", "huge"], ["--size", "huge", "1600x1200"]),
        (["picture", "a.toml", "--size", "99999x10"], ["--size", "99999x10"]),
        (["picture", "a.toml", "--size", "600x450"], ["--size", "640x480", "6000", "2.5"]),
        (["picture", "a.toml", "--size", "3000x400"], ["--size", "640x480"]),
        (["picture", "a.toml", "--size", "2000x640"], ["--size", "2.5 times"]),
        (["picture", "a.toml", "-o", "a.jpg"], ["a.jpg", ".png"]),
        (["export", "a.toml"], ["-o"]),
        (["export", "a.toml", "-o", "a.step"], ["a.step", ".glb", ".obj", ".ply", ".stl"]),
        (["new", "a.txt"], ["a.txt", ".toml"]),
    ],
)
def test_wrong_usage_is_one_clear_line_and_status_2(
    arguments: list[str],
    words: list[str],
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.chdir(tmp_path)
    status = main(arguments)
    said = capsys.readouterr()
    assert (status, said.out, list(tmp_path.iterdir())) == (2, "", [])
    assert said.err.startswith("roof3d")
    assert len(said.err.splitlines()) <= 2
    assert [word for word in words if word not in said.err] == []


def test_measure_table_shows_the_numbers_of_the_json(
    porch: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    document = measured(porch, capsys)
    assert main(["measure", str(porch)]) == 0
    text = capsys.readouterr().out
    planes = rows(text, "Planes")
    for plane in document["planes"]:
        kind, pitch, plan, true, squares, assembly = planes[plane["id"]]
        assert (kind, pitch, assembly) == (plane["kind"], plane["pitch"], plane["assembly"])
        assert plan == f"{plane['plan_area_m2'] / SQUARE_FOOT:,.1f}"
        assert true == f"{plane['area_m2'] / SQUARE_FOOT:,.1f}"
        assert squares == f"{plane['area_m2'] / SQUARE_FOOT / 100:.2f}"
    assert planes["all"][1] == f"{document['totals']['area_m2'] / SQUARE_FOOT:,.1f}"
    assert planes["all low"][1] == f"{document['totals']['low_area_m2'] / SQUARE_FOOT:,.1f}"
    assert [edge["id"] for edge in document["edges"] if f" {edge['id']} " not in text] == []
    assert text.count("Cautions\n") == 1
    flowing = " ".join(text.split())
    assert len(document["caution"]) >= 3
    assert [line for line in document["caution"] if f"- {line}" not in flowing] == []


def test_measure_table_by_hand(porch: Path, capsys: pytest.CaptureFixture[str]) -> None:
    # Gable: each side 40 ft by 12 ft in plan, 480 sq ft; slope factor of 6:12 is
    # sqrt(1 + 1/4) = 1.118034, so 536.656 sq ft. Porch: 40 by 12 ft at 1:12, factor
    # sqrt(1 + 1/144) = 1.003466, so 481.664 sq ft; its top is 11 + 12/12 = 12 ft, the
    # height of the gable's surface at the wall: they meet there along 40 ft.
    assert main(["measure", str(porch)]) == 0
    text = capsys.readouterr().out
    planes = rows(text, "Planes")
    assert planes["house.north"][:5] == ["steep", "6:12", "480.0", "536.7", "5.37"]
    assert planes["porch.south"][:5] == ["low", "1:12", "480.0", "481.7", "4.82"]
    assert planes["all"] == ["1,440.0", "1,555.0", "15.55"]
    edges = rows(text, "Edges (true length)")
    assert edges["transition"] == ["1 in all", "40' 0\""]
    assert edges["ridge"] == ["1 in all", "40' 0\""]


def test_metric_model_is_shown_in_metres(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    model = tmp_path / "porch.toml"
    model.write_text(PORCH.format(units="metric", more=""))
    assert main(["measure", str(model)]) == 0
    text = capsys.readouterr().out
    # 480 sq ft = 44.59 m2; 40 ft = 12.192 m
    assert rows(text, "Planes")["plane"] == ["kind", "pitch", "plan m2", "true m2", "assembly"]
    assert rows(text, "Planes")["house.north"][2] == "44.59"
    assert rows(text, "Edges (true length)")["transition"] == ["1 in all", "12.192 m"]


def test_units_and_schema_name_of_the_json(porch: Path, capsys: pytest.CaptureFixture[str]) -> None:
    document = measured(porch, capsys)
    assert {key: document[key] for key in ("schema", "model", "units")} == {
        "schema": "roof3d.measure/1",
        "model": "Ferry Lane house",
        "units": "imperial",
    }
    assert document["totals"]["transition_m"] == pytest.approx(40 * 0.3048, abs=1e-6)


def test_output_file_holds_what_would_be_said(
    porch: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["measure", str(porch), "--json"]) == 0
    said = capsys.readouterr().out
    target = tmp_path / "out.json"
    assert main(["measure", str(porch), "-o", str(target)]) == 0
    assert target.read_text(encoding="utf-8") == said
    assert capsys.readouterr().out == f"Wrote {target}\n"
    assert main(["measure", str(porch), "-o", str(target)]) == 2
    assert "--force" in capsys.readouterr().err
    target.write_text("old")
    assert main(["measure", str(porch), "-o", str(target), "--force"]) == 0
    assert target.read_text(encoding="utf-8") == said


def test_check_ends_with_1_where_a_rule_is_broken(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    good, bad = tmp_path / "good.toml", tmp_path / "bad.toml"
    good.write_text(PORCH.format(units="imperial", more=""))
    bad.write_text(PORCH.format(units="imperial", more='assembly = "laminated-shingle"'))
    assert main(["check", str(good)]) == 0
    assert "- error:" not in capsys.readouterr().out
    assert main(["check", str(bad)]) == 1
    said = capsys.readouterr()
    assert said.err == ""
    (error,) = [line for line in said.out.splitlines() if line.startswith("- error:")]
    assert "planes[porch.south]" in error
    assert main(["check", str(bad), "--json"]) == 1
    findings = json.loads(capsys.readouterr().out)["findings"]
    (found,) = [finding for finding in findings if finding["severity"] == "error"]
    assert found["where"] == "planes[porch.south]"
    assert found["source"]
    assert main(["measure", str(bad)]) == 0


def test_new_writes_a_model_that_can_be_measured_and_is_commented(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    target = tmp_path / "house.toml"
    assert main(["new", str(target)]) == 0
    assert f"roof3d measure {target}" in capsys.readouterr().out
    document = measured(target, capsys)
    assert len(document["planes"]) >= 2
    text = target.read_text(encoding="utf-8")
    assert text.count("#") >= 10
    target.write_text("mine")
    assert main(["new", str(target)]) == 2
    assert target.read_text() == "mine"


def test_schema_accepts_the_shipped_models_and_refuses_a_wrong_key(
    models: dict[str, Path], capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["schema"]) == 0
    schema = json.loads(capsys.readouterr().out)
    validator = jsonschema.Draft202012Validator(schema)
    for path in models.values():
        document = tomllib.loads(path.read_text(encoding="utf-8"))
        validator.validate(document)
        assert not validator.is_valid(document | {"owner": "me"})


def test_a_bug_of_ours_is_owned_up_to_in_one_line(
    porch: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    import roof3d

    def broken(spec: object) -> None:
        raise ZeroDivisionError("division\nby zero")

    monkeypatch.setattr(roof3d, "build", broken, raising=False)
    monkeypatch.delenv("ROOF3D_TRACEBACK", raising=False)
    assert main(["measure", str(porch)]) == 3
    said = capsys.readouterr()
    (line,) = said.err.splitlines()
    assert said.out == ""
    assert "our bug" in line
    assert "ZeroDivisionError: division by zero" in line
    assert "report" in line
    monkeypatch.setenv("ROOF3D_TRACEBACK", "1")
    assert main(["measure", str(porch)]) == 3
    assert "Traceback" in capsys.readouterr().err


@pytest.mark.parametrize("arguments", [("measure",), ("measure", "--json"), ("check",)])
def test_a_reader_who_leaves_is_no_error(arguments: tuple[str, ...], porch: Path) -> None:
    process = subprocess.Popen(
        [sys.executable, "-m", "roof3d", arguments[0], str(porch), *arguments[1:]],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
    )
    assert process.stdout is not None
    assert process.stderr is not None
    process.stdout.close()
    error = process.stderr.read()
    process.stderr.close()
    assert (process.wait(timeout=60), error) == (0, b"")


def test_a_pipe_gets_no_colour_no_frame_and_no_cut_cell(
    tmp_path: Path, roof3d_process: RunRoof3d
) -> None:
    name = "a-house-with-a-rather-long-name-for-one"
    text = PORCH.format(units="imperial", more="").replace('"house"', f'"{name}"')
    (tmp_path / "porch.toml").write_text(text)
    for columns in ("20", "80", "300"):
        result = roof3d_process("measure", "porch.toml", COLUMNS=columns)
        assert (result.returncode, result.stderr) == (0, "")
        assert set(result.stdout) & set("\x1b…│┃─━┏|") == set()
        planes = rows(result.stdout, "Planes")
        assert planes[f"{name}.south"][-1] == "laminated-shingle"
        assert f"{name}.south / porch.south" in result.stdout


def test_a_terminal_without_our_letters_is_no_error(porch: Path, roof3d_process: RunRoof3d) -> None:
    for command in ("measure", "check"):
        result = roof3d_process(command, porch, PYTHONIOENCODING="ascii")
        assert (result.returncode, result.stderr) == (0, "")
