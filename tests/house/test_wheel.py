"""What an installed user gets."""

from __future__ import annotations

import re
import shutil
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory, root: Path) -> zipfile.ZipFile:
    """Build the wheel from a copy of the source, without the network."""
    folder = tmp_path_factory.mktemp("wheel")
    source = folder / "source"
    source.mkdir()
    for name in ("pyproject.toml", "README.md", "LICENSE"):
        shutil.copy(root / name, source)
    for name in ("roof3d", "models"):
        shutil.copytree(
            root / name, source / name, ignore=shutil.ignore_patterns("__pycache__", "*.pyc")
        )
    build = [sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", str(folder)]
    subprocess.run(build, cwd=source, check=True, capture_output=True)
    (path,) = folder.glob("*.whl")
    return zipfile.ZipFile(path)


def _is_left_out(name: str) -> bool:
    """Whether a file serves the building of the package alone."""
    return "__pycache__" in name or name.startswith("writers/page/frontend/")


def test_wheel_holds_the_package_its_data_and_the_models_and_nothing_else(
    wheel: zipfile.ZipFile, root: Path
) -> None:
    source = root / "roof3d"
    expected = {
        f"roof3d/{path.relative_to(source).as_posix()}"
        for path in source.rglob("*")
        if path.is_file() and not _is_left_out(path.relative_to(source).as_posix())
    } | {f"roof3d/models/{path.name}" for path in (root / "models").iterdir()}
    held = {name for name in wheel.namelist() if ".dist-info/" not in name}
    assert held == expected
    assert sum(name.startswith("roof3d/models/") for name in held) >= 3


def test_wheel_names_its_license_and_its_command(wheel: zipfile.ZipFile) -> None:
    (entry_points,) = [name for name in wheel.namelist() if name.endswith("entry_points.txt")]
    assert "roof3d = roof3d.cli.app:main" in wheel.read(entry_points).decode()
    assert any(name.endswith("licenses/LICENSE") for name in wheel.namelist())


def test_every_library_that_is_imported_is_declared(root: Path, wheel: zipfile.ZipFile) -> None:
    (metadata,) = [name for name in wheel.namelist() if name.endswith(".dist-info/METADATA")]
    lines = wheel.read(metadata).decode().splitlines()
    declared = {
        re.split(r"[<>=!~ ;\[]", line.removeprefix("Requires-Dist: "))[0].lower()
        for line in lines
        if line.startswith("Requires-Dist: ") and "extra ==" not in line
    }
    distribution = {"PIL": "pillow", "skia": "skia-python", "vtk": "pyvista"}
    distribution["vtkmodules"] = "pyvista"
    pattern = re.compile(r"^\s*(?:from|import) ([A-Za-z_]\w*)", flags=re.MULTILINE)
    imported = (
        {
            name
            for path in (root / "roof3d").rglob("*.py")
            if not _is_left_out(path.relative_to(root / "roof3d").as_posix())
            for name in pattern.findall(re.sub(r'"""[\s\S]*?"""', "", path.read_text()))
        }
        - set(sys.stdlib_module_names)
        - {"roof3d"}
    )
    assert {distribution.get(name, name) for name in imported} <= declared
