"""``roof3d lesson``: what it writes, what it refuses, what it prints."""

from __future__ import annotations

import json
from pathlib import Path

from tests.conftest import RunRoof3d


def test_a_lesson_is_written_into_a_folder_once(
    roof3d_process: RunRoof3d, models: dict[str, Path], tmp_path: Path
) -> None:
    model = models["lantern-street"]
    drawn = ("--no-animation", "--size", "640x480", "--mistake", "metal-over")
    wanted = ("lesson", model, "eave-shingle", *drawn, "-o", "out")
    done = roof3d_process(*wanted)
    assert (done.returncode, done.stderr) == (0, "")
    names = {path.name for path in (tmp_path / "out").iterdir()}
    pictures = {"all-steps.png", "wrong-metal-over.png", *(f"step-{k:02}.png" for k in range(1, 6))}
    assert names == {"handout.html", *pictures}
    for name in names:
        assert f"  {name}" in done.stdout
    assert f"Open first: {Path('out') / 'handout.html'}" in done.stdout
    assert (tmp_path / "out" / "step-01.png").read_bytes().startswith(b"\x89PNG")
    page = (tmp_path / "out" / "handout.html").read_bytes()
    assert b"Drip edge" in page
    again = roof3d_process(*wanted)
    assert again.returncode == 2
    assert "holds files already" in again.stderr
    assert "--force" in again.stderr
    assert (tmp_path / "out" / "handout.html").read_bytes() == page


def test_json_is_the_whole_lesson_and_draws_nothing(
    roof3d_process: RunRoof3d, models: dict[str, Path], tmp_path: Path
) -> None:
    done = roof3d_process(
        "lesson", models["lantern-street"], "porch.transition", "--json", "--temperature", "38 F"
    )
    assert (done.returncode, done.stderr) == (0, "")
    document = json.loads(done.stdout)
    assert document["schema"] == "roof3d.lesson/1"
    assert document["detail"] == "porch.transition"
    assert document["day"]["words"] == "38 F"
    assert any(step["stop"] for step in document["steps"])
    assert 6 <= len(document["questions"]) <= 10
    assert not list(tmp_path.iterdir())


def test_wrong_input_is_refused_before_any_work(
    roof3d_process: RunRoof3d, models: dict[str, Path], tmp_path: Path
) -> None:
    model = models["lantern-street"]
    (tmp_path / "file").write_text("mine")
    for options, words in (
        (("--temperature", "cold"), ("--temperature", "38 F")),
        (("--temperature", "40"), ("--temperature",)),
        (("--temperature", "900 F"), ("--temperature", "900 F", "-60 F to 180 F", "38 F")),
        (("--size", "big"), ("--size",)),
        (("-o", "file"), ("file", "is no folder")),
        (("--json", "-o", "out"), ("--output", "--json")),
        (("nowhere",), ("there is no joint 'nowhere'", "eave-shingle")),
        (("main.eave", "--mistake", "upside-down"), ("upside-down", "back-lap")),
    ):
        done = roof3d_process("lesson", model, *options)
        assert done.returncode == 2, options
        assert all(word in done.stderr for word in words), done.stderr
        assert done.stdout == ""
    assert [path.name for path in tmp_path.iterdir()] == ["file"]
    assert (tmp_path / "file").read_text() == "mine"
