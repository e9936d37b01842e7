"""The storeys hold, and the architecture page shows the same storeys."""

from __future__ import annotations

import re
import subprocess
import sys
import tomllib
from pathlib import Path


def layers(root: Path) -> list[list[str]]:
    """Rooms of each storey as the contract has them, top first, without the way in."""
    settings = tomllib.loads((root / "pyproject.toml").read_text())
    contracts = settings["tool"]["importlinter"]["contracts"]
    (storeys,) = [contract for contract in contracts if contract["type"] == "layers"]
    rooms = [[room.strip() for room in layer.split("|")] for layer in storeys["layers"]]
    assert rooms[0] == ["__main__"]
    return rooms[1:]


def test_import_contracts_hold(root: Path) -> None:
    lint = Path(sys.executable).parent / "lint-imports"
    result = subprocess.run(
        [lint, "--no-cache"], cwd=root, capture_output=True, text=True, check=False
    )
    assert result.returncode == 0, result.stdout + result.stderr
    assert "0 broken" in result.stdout


def test_every_room_has_a_storey(root: Path) -> None:
    rooms = {room for storey in layers(root) for room in storey}
    found = {
        path.stem
        for path in (root / "roof3d").iterdir()
        if path.name not in {"__init__.py", "__main__.py", "__pycache__", "py.typed"}
    }
    assert rooms == found


def test_developers_page_shows_the_storeys_of_the_contract(root: Path) -> None:
    page = (root / "DEVELOPERS.md").read_text()
    rows = re.findall(r"^\| *(\d+) *\|([^|]*)\|", page, flags=re.MULTILINE)
    shown = [
        [re.sub(r"/$|\.py$", "", room) for room in re.findall(r"`([^`]+)`", cell)]
        for _, cell in rows
    ]
    assert shown == layers(root)
    assert [int(number) for number, _ in rows] == list(range(len(rows), 0, -1))


def test_forbidden_contracts_name_every_other_room(root: Path) -> None:
    settings = tomllib.loads((root / "pyproject.toml").read_text())
    all_rooms = {f"roof3d.{room}" for storey in layers(root) for room in storey}
    exempt = {
        "pyvista": {"roof3d.render"},
        "typer": {"roof3d.cli"},
        "trimesh": {"roof3d.writers"},
        "xlsxwriter": {"roof3d.writers"},
        "reportlab": {"roof3d.writers"},
        "ezdxf": {"roof3d.writers"},
        "coloraide": {"roof3d.writers"},
        "tornado": {"roof3d.live"},
    }
    contracts = settings["tool"]["importlinter"]["contracts"]
    held = {
        contract["forbidden_modules"][0]: set(contract["source_modules"])
        for contract in contracts
        if contract["type"] == "forbidden"
    }
    assert held == {library: all_rooms - rooms for library, rooms in exempt.items()}
