"""What every test may ask for."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path
from typing import Protocol

import pytest

ROOT = Path(__file__).parent.parent


class RunRoof3d(Protocol):
    """Run ``roof3d`` as a process of its own."""

    def __call__(
        self, *arguments: str | Path, folder: Path | None = None, **environment: str
    ) -> subprocess.CompletedProcess[str]: ...


@pytest.fixture(scope="session")
def root() -> Path:
    """Top folder of the project."""
    return ROOT


@pytest.fixture(scope="session")
def models() -> dict[str, Path]:
    """Shipped models by name."""
    return {path.stem: path for path in sorted((ROOT / "models").glob("*.toml"))}


@pytest.fixture
def roof3d_process(tmp_path: Path) -> RunRoof3d:
    """Give a function that runs the program in an empty folder, without a terminal."""

    def run(
        *arguments: str | Path, folder: Path | None = None, **environment: str
    ) -> subprocess.CompletedProcess[str]:
        inherited = {
            name: value
            for name, value in os.environ.items()
            if name not in {"COLUMNS", "FORCE_COLOR", "ROOF3D_TRACEBACK"}
        }
        return subprocess.run(
            [sys.executable, "-m", "roof3d", *map(str, arguments)],
            cwd=folder or tmp_path,
            env=inherited | environment,
            stdin=subprocess.DEVNULL,
            capture_output=True,
            encoding="utf-8",
            timeout=300,
            check=False,
        )

    return run
