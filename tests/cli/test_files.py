"""Files are written whole or not at all, and nothing is overwritten unasked."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from roof3d.cli.app import main
from roof3d.errors import WriteError
from roof3d.writers.files import write_file


def test_bytes_arrive_whole_with_ordinary_permissions(tmp_path: Path) -> None:
    target = tmp_path / "a.bin"
    mask = os.umask(0o027)
    try:
        write_file(target, b"\x00\r\n\xff")
    finally:
        os.umask(mask)
    assert target.read_bytes() == b"\x00\r\n\xff"
    assert target.stat().st_mode & 0o777 == 0o640
    assert list(tmp_path.iterdir()) == [target]


def test_what_is_there_stays_unless_forced(tmp_path: Path) -> None:
    target = tmp_path / "a.txt"
    target.write_text("old")
    target.chmod(0o600)
    with pytest.raises(WriteError, match=r"already there.*--force"):
        write_file(target, b"new")
    assert target.read_text() == "old"
    write_file(target, b"new", force=True)
    assert (target.read_text(), target.stat().st_mode & 0o777) == ("new", 0o600)


def test_an_interrupted_write_leaves_the_old_file_whole(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    target = tmp_path / "a.txt"
    target.write_text("old")

    def full_disk(handle: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full_disk)
    with pytest.raises(WriteError, match="no space left on device"):
        write_file(target, b"new", force=True)
    assert (target.read_text(), list(tmp_path.iterdir())) == ("old", [target])


def test_a_link_is_followed(tmp_path: Path) -> None:
    (tmp_path / "real.txt").write_text("old")
    (tmp_path / "link.txt").symlink_to("real.txt")
    write_file(tmp_path / "link.txt", b"new", force=True)
    assert (tmp_path / "link.txt").is_symlink()
    assert (tmp_path / "real.txt").read_text() == "new"


@pytest.mark.parametrize("force", [False, True])
def test_folders_devices_and_missing_folders_are_refused(tmp_path: Path, *, force: bool) -> None:
    os.mkfifo(tmp_path / "pipe")
    for target, words in {
        tmp_path: "folder",
        tmp_path / "pipe": "not an ordinary file",
        tmp_path / "gone" / "a.txt": "there is no folder",
        tmp_path / ("x" * 300): "too long",
        tmp_path / "a\0b": "null",
    }.items():
        with pytest.raises(WriteError, match=words):
            write_file(target, b"new", force=force)
    assert [path.name for path in tmp_path.iterdir()] == ["pipe"]


@pytest.mark.parametrize("command", ["measure", "check"])
def test_the_model_itself_is_never_replaced(
    command: str, models: dict[str, Path], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    model = tmp_path / "house.toml"
    text = models["lantern-street"].read_bytes()
    model.write_bytes(text)
    assert main([command, str(model), "-o", str(model), "--force"]) == 2
    assert "is the file that is read, and stays as it is" in capsys.readouterr().err
    assert model.read_bytes() == text
