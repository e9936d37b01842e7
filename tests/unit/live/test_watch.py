"""Which files are watched, and what is never read."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from roof3d.cli.model_file import load_project
from roof3d.errors import RoofError, SpecError
from roof3d.live.parts import Shows
from roof3d.live.watch import Watched, build_house, files_of, stamp_of
from roof3d.writers.page.facts import Live
from tests.model_text import Block, model_text

HOUSE = model_text([Block(length=8.0, width=6.0)])


def written(folder: Path, text: str) -> Path:
    path = folder / "house.toml"
    path.write_text(text, encoding="utf-8")
    return path


def watched(model: Path) -> Watched:
    live = Live(events="events", shows="shows", token="word")  # noqa: S106 - no secret
    return Watched(model=model, read=load_project, live=live)


def test_the_model_and_the_catalog_that_it_names_are_watched(tmp_path: Path) -> None:
    model = written(tmp_path, 'catalog = "ours.toml"\n' + HOUSE)
    (tmp_path / "other.toml").write_text("", encoding="utf-8")
    ours = tmp_path / "ours.toml"
    assert files_of(model) == (model, ours)
    before = stamp_of(files_of(model))
    ours.write_text("", encoding="utf-8")
    between = stamp_of(files_of(model))
    os.utime(ours, ns=(1, 1))
    assert len({before, between, stamp_of(files_of(model))}) == 3


@pytest.mark.parametrize(
    "text", ["catalog = 3\n", "catalog = \n", 'catalog = "a\\u0000b"\n', "x = " + "[" * 5000]
)
def test_a_model_that_cannot_be_read_is_watched_alone(tmp_path: Path, text: str) -> None:
    model = written(tmp_path, text)
    assert files_of(model) == (model,)


@pytest.mark.parametrize("mark", ["", "\N{ZERO WIDTH NO-BREAK SPACE}"])
def test_a_catalog_outside_the_folder_is_neither_looked_at_nor_read(
    tmp_path: Path, mark: str
) -> None:
    folder = tmp_path / "inner"
    folder.mkdir()
    (tmp_path / "mine.toml").write_text("", encoding="utf-8")
    model = written(folder, mark + 'catalog = "../mine.toml"\n' + HOUSE)
    assert files_of(model) == (model,)
    with pytest.raises(SpecError, match="outside the folder"):
        build_house(watched(model), 1, Shows())


def test_a_catalog_that_links_to_itself_is_a_fault_and_no_end(tmp_path: Path) -> None:
    (tmp_path / "loop.toml").symlink_to("loop.toml")
    model = written(tmp_path, 'catalog = "loop.toml"\n' + HOUSE)
    assert files_of(model) == (model, tmp_path / "loop.toml")
    with pytest.raises(SpecError, match="symbolic links"):
        build_house(watched(model), 1, Shows())


def test_a_state_knows_the_files_it_was_built_from_and_its_number(tmp_path: Path) -> None:
    model = written(tmp_path, HOUSE)
    built = build_house(watched(model), 7, Shows())
    assert built.stamp == stamp_of((model,))
    assert built.facts["live"]["state"] == "7"
    model.write_text("schema = 1\n", encoding="utf-8")
    with pytest.raises(RoofError, match="section"):
        build_house(watched(model), 8, Shows())
