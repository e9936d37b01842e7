"""``roof3d explode --all``: a picture of every joint, in one process."""

from __future__ import annotations

import io
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from PIL import Image

import roof3d
from roof3d.cli.app import main
from roof3d.scene.detail_scene import detail_places

if TYPE_CHECKING:
    from tests.conftest import RunRoof3d

HUT = """
schema = 1
name = "Hut"
units = "imperial"
[[section]]
id = "hut"
form = "shed"
length = "24 ft"
width = "20 ft"
eave = "9 ft"
pitch = "1:12"
overhang = { eave = "12 in", rake = "8 in" }
"""
WITHOUT_STARTER = """
[[assembly]]
id = "laminated-shingle"
like = "laminated-shingle"
name = "Shingles without a starter"
without = ["starter"]
"""
SMALL = ("--all", "--size", "640x480", "--plain")


@pytest.fixture
def hut(tmp_path: Path) -> Path:
    model = tmp_path / "hut.toml"
    model.write_text(HUT, encoding="utf-8")
    return model


def joints(model: Path) -> list[str]:
    return [place.id for place in detail_places(roof3d.build(roof3d.load(model)))]


def test_every_joint_gets_its_picture_named_for_it(
    hut: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = tmp_path / "deep" / "joints"
    assert main(["explode", str(hut), *SMALL, "--style", "cutaway", "-o", str(folder)]) == 0
    names = {f"hut-{joint}-cutaway.png" for joint in joints(hut)}
    assert len(names) == len(joints(hut)) >= 3
    assert {path.name for path in folder.iterdir()} == names
    assert capsys.readouterr().out == f"Wrote {len(names)} pictures to {folder}\n"
    for path in folder.iterdir():
        with Image.open(io.BytesIO(path.read_bytes())) as image:
            assert image.size == (640, 480)
    one = tmp_path / "one.png"
    joint = joints(hut)[-1]
    assert main(["explode", str(hut), joint, *SMALL[1:], "--style", "cutaway", "-o", str(one)]) == 0
    assert one.read_bytes() == (folder / f"hut-{joint}-cutaway.png").read_bytes()


def test_nothing_is_drawn_over_a_picture_that_is_there(
    hut: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = tmp_path / "joints"
    folder.mkdir()
    there = folder / f"hut-{joints(hut)[-1]}.png"
    there.write_bytes(b"mine")
    assert main(["explode", str(hut), *SMALL, "-o", str(folder)]) == 2
    assert "already there" in capsys.readouterr().err
    assert [path.read_bytes() for path in folder.iterdir()] == [b"mine"]
    assert main(["explode", str(hut), *SMALL, "-o", str(folder), "--force"]) == 0
    assert there.read_bytes() != b"mine"
    assert len(list(folder.iterdir())) == len(joints(hut))


def test_a_joint_that_cannot_be_drawn_is_told_and_stops_no_other(
    hut: Path, tmp_path: Path, roof3d_process: RunRoof3d
) -> None:
    text = HUT.replace("1:12", "6:12").replace("[[section]]", 'catalog = "own.toml"\n[[section]]')
    hut.write_text(text, encoding="utf-8")
    (tmp_path / "own.toml").write_text(WITHOUT_STARTER, encoding="utf-8")
    folder = tmp_path / "joints"
    done = roof3d_process("explode", str(hut), *SMALL, "-o", str(folder))
    assert done.returncode == 2
    # No bar in a pipe: the one line says which joint, and why.
    (line,) = done.stderr.splitlines()
    assert "starter" in line
    drawn = {path.name for path in folder.iterdir()}
    assert drawn == {f"hut-{joint}.png" for joint in joints(hut)} - {"hut-hut.eave.png"}
    assert len(drawn) >= 2
    assert done.stdout == f"Wrote {len(drawn)} pictures to {folder}\n"


@pytest.mark.parametrize("more", [("hut.eave",), ("-o", "hut.toml")])
def test_all_takes_no_joint_and_no_file(
    more: tuple[str, ...],
    hut: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.chdir(hut.parent)
    assert main(["explode", "hut.toml", *SMALL, *more]) == 2
    error = capsys.readouterr().err
    assert ("exclude each other" in error) != ("cannot be made a folder" in error)
    assert [path.name for path in hut.parent.iterdir()] == ["hut.toml"]
