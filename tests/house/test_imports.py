"""What a process loads: the heavy libraries only where they are used."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

HEAVY = {
    "pyvista",
    "vtk",
    "vtkmodules",
    "trimesh",
    "matplotlib",
    "PIL",
    "skia",
    "scipy",
    "networkx",
    "xlsxwriter",
}

REPORT = "; print('\\nLOADED', *sorted({name.split('.')[0] for name in sys.modules}))"


def loaded_by(code: str) -> set[str]:
    """Top-level modules that a fresh process has loaded after running the code."""
    result = subprocess.run(
        [sys.executable, "-c", f"import sys; {code}{REPORT}"],
        capture_output=True,
        encoding="utf-8",
        check=True,
    )
    head, *modules = result.stdout.splitlines()[-1].split(" ")
    assert head == "LOADED"
    return set(modules)


def test_importing_the_package_loads_no_library() -> None:
    assert loaded_by("import roof3d") & (HEAVY | {"numpy", "shapely", "pydantic", "typer"}) == set()


@pytest.mark.parametrize("command", ["measure", "check"])
def test_measuring_loads_nothing_that_draws_or_writes_meshes(
    command: str, models: dict[str, Path]
) -> None:
    model = next(iter(models.values()))
    code = f"from roof3d.cli.app import main; status = main([{command!r}, {str(model)!r}])"
    loaded = loaded_by(code)
    assert "numpy" in loaded
    assert loaded & HEAVY == set()


def test_the_version_loads_no_geometry() -> None:
    code = "from roof3d.cli.app import main; main(['--version'])"
    assert loaded_by(code) & (HEAVY | {"numpy", "shapely", "rich"}) == set()


def test_json_loads_no_table_setter(models: dict[str, Path]) -> None:
    model = next(iter(models.values()))
    code = f"from roof3d.cli.app import main; main(['measure', {str(model)!r}, '--json'])"
    assert "rich" not in loaded_by(code)
