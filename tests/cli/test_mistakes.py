"""``roof3d explode --mistake``: wrong builds on purpose, never to be taken for right ones."""

from __future__ import annotations

import io
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import pytest
from PIL import Image

from roof3d.cli.app import main

if TYPE_CHECKING:
    from numpy.typing import NDArray

MODEL = str(Path(__file__).parents[2] / "models" / "lantern-street.toml")
RED, BLUE = (194, 18, 23), (5, 92, 199)


def drawn(folder: Path, *options: str) -> NDArray[np.int64]:
    target = folder / "out.png"
    size = ["--size", "800x600"]
    assert main(["explode", MODEL, "main.eave", *size, "-o", str(target), *options]) == 0
    return np.asarray(Image.open(io.BytesIO(target.read_bytes())).convert("RGB")).astype(np.int64)


def share_of(pixels: NDArray[np.int64], colour: tuple[int, int, int]) -> float:
    return float((np.abs(pixels - colour).max(axis=-1) < 12).mean())


@pytest.mark.parametrize("options", [(), ("--plain",), ("--style", "section"), ("--dark",)])
def test_a_wrong_build_is_framed_and_banded_in_red(
    tmp_path: Path, options: tuple[str, ...]
) -> None:
    pixels = drawn(tmp_path, "--mistake", "back-lap", *options)
    assert share_of(pixels[2:8], RED) > 0.8
    for edge in (pixels[:, :2], pixels[:, -2:], pixels[-2:]):
        assert share_of(edge, RED) > 0.9
    if "section" not in options:
        assert share_of(pixels, BLUE) > 2e-4


def test_a_right_build_has_no_band_and_no_water(tmp_path: Path) -> None:
    pixels = drawn(tmp_path)
    assert share_of(pixels[2:8], RED) == 0.0
    assert share_of(pixels, BLUE) < 2e-5


def test_mistakes_of_a_joint_are_listed(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["explode", MODEL, "main.eave", "--mistake", "list"]) == 0
    said = capsys.readouterr().out
    for name in ("back-lap", "low-nail", "missing-layer", "metal-over"):
        assert name in said
    assert "barrier-under" not in said


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (("main.eave", "--mistake", "upside-down"), ("upside-down", "back-lap")),
        (("main.eave", "--mistake", "barrier-under"), ("barrier-under", "metal-over")),
        (("--all", "--mistake", "back-lap"), ("--all", "back-lap")),
    ],
)
def test_what_cannot_be_shown_is_refused(
    tmp_path: Path,
    options: tuple[str, ...],
    words: tuple[str, ...],
    capsys: pytest.CaptureFixture[str],
) -> None:
    target = tmp_path / "out.png"
    assert main(["explode", MODEL, *options, "-o", str(target)]) == 2
    said = capsys.readouterr().err
    assert all(word in said for word in words)
    assert not target.exists()
