"""``roof3d explode`` to scale: section and plan as SVG, PDF and DXF."""

from __future__ import annotations

from pathlib import Path

import pytest

from roof3d.cli.app import main

MARKS = {".svg": b"<?xml", ".pdf": b"%PDF-", ".dxf": b"  0\nSECTION"}


@pytest.mark.parametrize("ending", MARKS)
def test_a_section_is_the_usual_drawing_to_scale(
    models: dict[str, Path], tmp_path: Path, capsys: pytest.CaptureFixture[str], ending: str
) -> None:
    model, target = str(models["lantern-street"]), tmp_path / f"joint{ending}"
    assert main(["explode", model, "main.eave", "-o", str(target)]) == 0
    said = capsys.readouterr().out
    assert said == f"Wrote {target} (Letter, 3 in = 1 ft (1:4))\n"
    assert target.read_bytes().startswith(MARKS[ending])
    named = tmp_path / f"named{ending}"
    command = ["explode", model, "main.eave", "-o", str(named), "--style", "Section"]
    assert main(command) == 0
    assert named.read_bytes() == target.read_bytes()


def test_a_plan_and_a_thickness_are_asked_for(
    models: dict[str, Path], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    model, target = str(models["lantern-street"]), tmp_path / "plan.svg"
    command = ["explode", model, "main.eave", "-o", str(target), "--style", "plan"]
    assert main(command) == 0
    assert "Unfolded on the deck" in target.read_text()
    command = ["explode", model, "main.eave", "-o", str(target), "--exaggerate", "1", "--force"]
    assert main(command) == 0
    assert "Lengths and thicknesses true." in target.read_text()
    assert main(command[:-1]) == 2
    assert "--force" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["-o", "a.svg", "--style", "exploded"], "'exploded' is a picture"),
        (["-o", "a.dxf", "--style", "cutaway"], "'cutaway' is a picture"),
        (["-o", "a.png", "--style", "plan"], "'plan' is drawn to scale, not as a picture"),
        (["--style", "plan"], "name a file that ends in .svg, .pdf, .dxf"),
        (["-o", "a.pdf", "--style", "sideways"], "'sideways' is no style"),
        (["-o", "a.pdf", "--dark"], "--dark: says nothing to a drawing to scale"),
        (["-o", "a.pdf", "--size", "800x600"], "--size: says nothing"),
        (["-o", "a.pdf", "--lift", "12 in"], "--lift: says nothing"),
        (["-o", "a.pdf", "--all"], "--all: says nothing"),
        (["-o", "a.tif"], "the ending must be one of .png, .svg, .pdf, .dxf"),
        (["-o", "a.svg", "--exaggerate", "0"], "no factor on thickness"),
    ],
)
def test_what_does_not_go_together_is_refused_with_a_way_out(
    models: dict[str, Path],
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    arguments: list[str],
    words: str,
) -> None:
    monkeypatch.chdir(tmp_path)
    assert main(["explode", str(models["lantern-street"]), *arguments]) == 2
    assert words in capsys.readouterr().err
    assert list(tmp_path.iterdir()) == []


def test_an_unknown_place_leaves_nothing_behind(
    models: dict[str, Path], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    target = tmp_path / "a.pdf"
    assert main(["explode", str(models["lantern-street"]), "attic", "-o", str(target)]) == 2
    assert "no joint 'attic'" in capsys.readouterr().err
    assert not target.exists()
