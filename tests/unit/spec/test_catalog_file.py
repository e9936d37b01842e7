"""The catalog that a model brings along: read as text beside it, or one fault with its path."""

from __future__ import annotations

import os
from pathlib import Path
from typing import NoReturn

import pytest

from roof3d.errors import SpecError
from roof3d.spec.files import LARGEST_FILE
from roof3d.spec.model import CatalogText
from roof3d.spec.read import load_spec, parse_spec

BODY = """[[section]]
id = "main"
form = "hip"
length = "9 m"
width = "6 m"
eave = "3 m"
pitch = "6:12"
"""


def text(name: str) -> str:
    return f"schema = 1\nname = 'trial'\ncatalog = '{name}'\n{BODY}"


def told(name: str, folder: Path | None) -> str:
    with pytest.raises(SpecError) as caught:
        parse_spec(text(name), folder=folder)
    (fault,) = caught.value.faults
    assert fault.where == "catalog"
    return str(fault)


@pytest.mark.parametrize("name", ["our-roofs.toml", "data/our roofs.toml", "../roofs/ours.toml"])
def test_its_path_starts_at_the_model_file_wherever_one_stands(
    name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    job = tmp_path / "job"
    file = job / name
    (job / "data").mkdir(parents=True)
    file.parent.mkdir(exist_ok=True)
    file.write_text("# caf\u00e9\n", encoding="utf-8")
    (job / "m.toml").write_text(text(name))
    wanted = CatalogText(name=name, text="# caf\u00e9\n")
    monkeypatch.chdir(tmp_path)
    assert load_spec("job/m.toml").catalog == load_spec(job / "m.toml").catalog == wanted
    monkeypatch.chdir(job)
    assert load_spec("m.toml").catalog == wanted


def test_a_byte_order_mark_is_dropped(tmp_path: Path) -> None:
    (tmp_path / "c.toml").write_bytes(b"\xef\xbb\xbf# ours")
    spec = parse_spec(text("c.toml"), folder=tmp_path)
    assert spec.catalog == CatalogText(name="c.toml", text="# ours")


def test_a_model_without_a_file_must_say_where_to_look() -> None:
    assert told("our-roofs.toml", None) == (
        'catalog: "our-roofs.toml" lies beside a model file, and this model is in none '
        "(save the model as a file, or say in which folder to look)"
    )


def test_a_file_that_cannot_be_used_is_one_fault(tmp_path: Path) -> None:
    (tmp_path / "folder").mkdir()
    (tmp_path / "latin.toml").write_bytes(b'name = "caf\xe9"')
    (tmp_path / "large.toml").write_bytes(b"#" * (LARGEST_FILE + 1))
    (tmp_path / "long.toml").write_text("# one\n" + "x." * 501 + "\n")
    (tmp_path / "loop.toml").symlink_to("loop.toml")
    os.mkfifo(tmp_path / "pipe")
    wrong = {
        "gone.toml": "there is no such file",
        "gone/ours.toml": "there is no such file",
        "folder": "is a directory, not a catalog file",
        "latin.toml": "is not UTF-8 text (byte 11) (save it as UTF-8)",
        "large.toml": "is larger than 2,000,000 bytes, too large for a catalog",
        "long.toml": "line 2 is 1,002 letters long, too long for a catalog (at most 1,000)",
        "loop.toml": "cannot be read: Too many levels of symbolic links",
        "pipe": "is a pipe or a device, not a catalog file",
    }
    assert {name: told(name, tmp_path) for name in wrong} == {
        name: f'catalog: "{name}": {words}' for name, words in wrong.items()
    }


def test_a_file_that_may_not_be_read_is_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(path: Path, mode: str) -> NoReturn:
        raise PermissionError(13, "Permission denied", f"{path} {mode}")

    # By hand, since root may read every file.
    (tmp_path / "secret.toml").touch()
    monkeypatch.setattr(Path, "open", refuse)
    assert told("secret.toml", tmp_path) == (
        'catalog: "secret.toml": may not be read (check its permissions)'
    )


@pytest.mark.parametrize(
    "name",
    ["/etc/roofs.toml", "C:\\roofs\\ours.toml", "C:ours.toml", "\\\\server\\roofs\\ours.toml"],
)
def test_a_path_that_begins_at_a_root_is_refused(name: str, tmp_path: Path) -> None:
    assert told(name, tmp_path) == (
        f'catalog: "{name}" begins at the root of one machine: write the path from the model '
        "file, and both can move together"
    )


def test_what_is_no_path_is_refused_before_anything_is_opened(tmp_path: Path) -> None:
    head = "schema = 1\nname = 'trial'\ncatalog = "
    wrong = {
        '""': '"" is no file name: write it in quotes, on one line',
        "3": "3 is no file name: write it in quotes, on one line",
        '"a\\u0000b"': "'a\\x00b' is no file name: write it in quotes, on one line",
        f'"{"x" * 401}"': "is 401 letters long: at most 400",
    }
    for value, words in wrong.items():
        with pytest.raises(SpecError) as caught:
            parse_spec(f"{head}{value}\n{BODY}", folder=tmp_path)
        assert [str(fault) for fault in caught.value.faults] == [f"catalog: {words}"]


def test_its_fault_is_told_beside_those_of_the_model(tmp_path: Path) -> None:
    spoilt = text("gone.toml").replace('"9 m"', "9")
    with pytest.raises(SpecError) as caught:
        parse_spec(spoilt, folder=tmp_path)
    assert [fault.where for fault in caught.value.faults] == ['section[0] "main".length', "catalog"]
