"""Commands that draw or write meshes: what comes out, and what is said where none can."""

from __future__ import annotations

import io
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from PIL import Image

from roof3d.cli.app import main
from roof3d.errors import RoofError

if TYPE_CHECKING:
    from tests.conftest import RunRoof3d


def ink(path: Path) -> tuple[tuple[int, int], int]:
    """Size of a picture, and how many colours it has."""
    with Image.open(io.BytesIO(path.read_bytes())) as image:
        colours = image.convert("RGB").getcolors(maxcolors=1_000_000) or []
        return image.size, len(colours)


def without_graphics(monkeypatch: pytest.MonkeyPatch) -> None:
    """Make this machine one that cannot draw."""
    from roof3d.render import machine

    def cannot() -> None:
        raise RoofError(
            "this machine cannot draw pictures", hint="install libegl1", code="R3D-GRAPHICS"
        )

    monkeypatch.setattr(machine, "require_graphics", cannot)


def test_picture_and_explode_draw_at_the_size_asked_for(
    models: dict[str, Path], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    model = str(models["lantern-street"])
    for command in ("picture", "explode"):
        target = tmp_path / f"{command}.png"
        assert main([command, model, "-o", str(target), "--size", "800x600"]) == 0
        assert capsys.readouterr().out == f"Wrote {target}\n"
        size, colours = ink(target)
        assert size == (800, 600)
        assert colours > 100
    assert (tmp_path / "picture.png").read_bytes() != (tmp_path / "explode.png").read_bytes()


def test_explode_says_which_places_there_are(
    models: dict[str, Path], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    model = str(models["lantern-street"])
    for place in ("attic", "cellar"):
        assert main(["explode", model, place, "-o", str(tmp_path / "a.png")]) == 2
        error, *listed = capsys.readouterr().err.splitlines()
        assert f"no joint '{place}'" in error
        assert any("porch.transition" in line for line in listed)
        assert len(listed) < 20
    assert list(tmp_path.iterdir()) == []


def test_explode_lists_the_joints_of_a_roof(
    models: dict[str, Path], capsys: pytest.CaptureFixture[str]
) -> None:
    import roof3d
    from roof3d.scene.detail_scene import detail_places

    for model in models.values():
        assert main(["explode", str(model), "--list"]) == 0
        lines = [" ".join(line.split()) for line in capsys.readouterr().out.splitlines()]
        places = detail_places(roof3d.build(roof3d.load(model)))
        assert lines[2:] == [f"{place.kind} {place.id} {place.words}" for place in places]
        assert len(places) >= 3


def test_explode_draws_each_style_beside_the_caller(
    models: dict[str, Path],
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.chdir(tmp_path)
    model = str(models["lantern-street"])
    for style in ("exploded", "cutaway", "section"):
        assert main(["explode", model, "--style", style, "--size", "640x480"]) == 0
    names = ["", "-cutaway", "-section"]
    wanted = [f"lantern-street-porch.transition{name}.png" for name in names]
    assert capsys.readouterr().out.splitlines() == [f"Wrote {name}" for name in wanted]
    assert {path.name for path in tmp_path.iterdir()} == set(wanted)
    assert len({path.read_bytes() for path in tmp_path.iterdir()}) == 3


@pytest.mark.parametrize(
    "more",
    [
        ("--lift", "12 in"),
        ("--exaggerate", "1"),
        ("--from", "southwest"),
        ("--plain",),
        ("--dark",),
    ],
)
def test_each_option_of_explode_changes_the_picture(
    more: tuple[str, ...], models: dict[str, Path], tmp_path: Path
) -> None:
    command = ["explode", str(models["lantern-street"]), "--size", "640x480", "-o"]
    usual, other = tmp_path / "usual.png", tmp_path / "other.png"
    assert main([*command, str(usual)]) == 0
    assert main([*command, str(other), *more]) == 0
    assert ink(other)[0] == (640, 480)
    assert usual.read_bytes() != other.read_bytes()


@pytest.mark.parametrize(
    ("more", "said"),
    [
        (("--style", "x-ray"), "--style: 'x-ray' is no style"),
        (("--lift", "12"), "--lift: '12' is no length"),
        (("--lift", "20 ft"), "--lift: '20 ft' lifts too far or too little"),
        (("--style", "section", "--lift", "12 in"), "--lift: says nothing to --style section"),
        (("--style", "section", "--from", "north"), "--from: says nothing to --style section"),
        (("--exaggerate", "0.5"), "--exaggerate: '0.5' is no factor on thickness"),
        (("--exaggerate", "much"), "--exaggerate: 'much' is no factor on thickness"),
        (("--from", "upstairs"), "--from: 'upstairs' is no side to look from"),
    ],
)
def test_explode_refuses_an_option_in_one_message(
    more: tuple[str, ...],
    said: str,
    models: dict[str, Path],
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
) -> None:
    target = tmp_path / "a.png"
    assert main(["explode", str(models["lantern-street"]), "-o", str(target), *more]) == 2
    error = capsys.readouterr().err
    assert (error.count(said), len(error.splitlines())) == (1, 2)
    assert not target.exists()


@pytest.mark.parametrize(
    ("ending", "start"), [(".glb", b"glTF"), (".ply", b"ply"), (".stl", b""), (".obj", b"")]
)
def test_export_writes_the_format_of_the_ending(
    ending: str, start: bytes, models: dict[str, Path], tmp_path: Path
) -> None:
    import trimesh

    target = tmp_path / f"house{ending}"
    assert main(["export", str(models["lantern-street"]), "-o", str(target)]) == 0
    assert target.read_bytes().startswith(start)
    loaded: Any = trimesh.load(target)
    assert loaded.area > 100
    assert main(["export", str(models["lantern-street"]), "-o", str(target)]) == 2


@pytest.mark.parametrize("command", ["picture", "explode"])
def test_a_machine_that_cannot_draw_is_told_what_to_install(
    command: str,
    models: dict[str, Path],
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    without_graphics(monkeypatch)
    target = tmp_path / "a.png"
    assert main([command, str(models["lantern-street"]), "-o", str(target)]) == 2
    said = capsys.readouterr()
    assert (said.out, len(said.err.splitlines()), target.exists()) == ("", 1, False)
    assert "libegl1" in said.err


def test_demo_on_such_a_machine_writes_all_else_and_says_what_is_missing(
    models: dict[str, Path],
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    without_graphics(monkeypatch)
    folder = tmp_path / "tour"
    assert main(["demo", "-o", str(folder)]) == 2
    said = capsys.readouterr()
    endings = (".toml", ".txt", ".json", "-takeoff.xlsx", ".glb", ".html")
    expected = {name + ending for name in models for ending in endings}
    assert {path.name for path in folder.iterdir()} == expected
    assert "no pictures were drawn" in said.err
    assert "libegl1" in said.err
    assert [name for name in expected if name not in said.out] == []
    assert "Open first: " in said.out


def test_demo_writes_everything_once(
    models: dict[str, Path], tmp_path: Path, roof3d_process: RunRoof3d
) -> None:
    result = roof3d_process("demo")
    assert (result.returncode, result.stderr) == (0, "")
    folder = tmp_path / "roof3d-demo"
    written = {path.name for path in folder.iterdir()}
    per_model = (".toml", ".txt", ".json", "-takeoff.xlsx", ".glb", ".png", ".html")
    assert {name + ending for name in models for ending in per_model} <= written
    pictures = sorted(folder.glob("*.png"))
    assert len(pictures) > len(models)
    assert {ink(picture)[0] for picture in pictures} == {(1600, 1200)}
    assert [name for name in written if f"  {name}  " not in result.stdout] == []
    first = result.stdout.rstrip().rsplit("Open first: ", 1)[1]
    assert (tmp_path / first).suffix == ".html"
    assert "lantern-street-lesson.html" in written or "alder-row-lesson.html" in written
    assert (tmp_path / first).is_file()

    before = {path: path.read_bytes() for path in folder.iterdir()}
    again = roof3d_process("demo")
    assert again.returncode == 2
    assert "--force" in again.stderr
    assert {path: path.read_bytes() for path in folder.iterdir()} == before


def test_picture_is_drawn_from_the_side_asked_for(
    models: dict[str, Path], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    model = str(models["tide-house"])
    for side in ("north", "0"):
        target = tmp_path / f"{side}.png"
        assert main(["picture", model, "--from", side, "--size", "640x480", "-o", str(target)]) == 0
    capsys.readouterr()
    seen = {path.read_bytes() for path in tmp_path.iterdir()}
    usual = tmp_path / "usual.png"
    assert main(["picture", model, "--size", "640x480", "-o", str(usual)]) == 0
    assert (len(seen), usual.read_bytes() in seen) == (1, False)


def test_a_side_to_look_from_that_is_none_is_refused(
    models: dict[str, Path], capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["picture", str(models["tide-house"]), "--from", "upstairs"]) == 2
    assert "--from: 'upstairs' is no side to look from" in capsys.readouterr().err


def test_export_leaves_out_a_joint_whose_layers_are_not_known(
    models: dict[str, Path], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Membrane on both sides of the transition: the roof is written, and it says so."""
    model = tmp_path / "all-membrane.toml"
    wish = '\n[[plane]]\nid = "main.south"\nassembly = "self-adhered-membrane"\n'
    model.write_text(models["lantern-street"].read_text(encoding="utf-8") + wish, encoding="utf-8")
    target = tmp_path / "roof.glb"
    assert main(["export", str(model), "-o", str(target)]) == 0
    assert "Without the layers of porch.transition" in capsys.readouterr().out
    assert target.read_bytes()[:4] == b"glTF"
