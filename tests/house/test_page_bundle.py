"""The page's scripts come along however the package is built, or one message says why not."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

_BUNDLE = "roof3d/writers/page/bundle/"
_PARTS = {"bundle.json", "licences.txt", "viewer.css", "viewer.js"}


def copied(root: Path, folder: Path, *, bundle: bool) -> Path:
    """Copy what the package is built from."""
    source = folder / "source"
    source.mkdir()
    for name in ("pyproject.toml", "README.md", "LICENSE"):
        shutil.copy(root / name, source)
    left_out = ["__pycache__", "*.pyc", "node_modules"] + ([] if bundle else ["bundle"])
    for name in ("roof3d", "models"):
        shutil.copytree(root / name, source / name, ignore=shutil.ignore_patterns(*left_out))
    return source


def without_node(folder: Path) -> dict[str, str]:
    """Return an environment in which neither Node nor npm is on the path."""
    tools = folder / "tools"
    tools.mkdir()
    for name in ("sh", "env", "uname", "ldd", "git"):
        found = shutil.which(name)
        if found:
            (tools / name).symlink_to(found)
    return {**os.environ, "PATH": str(tools)}


def build(source: Path, kind: str, env: dict[str, str]) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-m", "hatchling", "build", "-t", kind, "-d", str(source / "out")]
    return subprocess.run(command, cwd=source, env=env, capture_output=True, text=True, check=False)


def held(wheel: Path) -> set[str]:
    names = zipfile.ZipFile(wheel).namelist()
    return {name.removeprefix(_BUNDLE) for name in names if name.startswith(_BUNDLE)}


def view_from(wheel: Path, root: Path, folder: Path) -> subprocess.CompletedProcess[str]:
    """Make a page with the package of a wheel, far from its sources."""
    there = folder / "installed"
    zipfile.ZipFile(wheel).extractall(there)
    model = root / "models" / "lantern-street.toml"
    return subprocess.run(
        [sys.executable, "-m", "roof3d", "view", str(model), "-o", "x.html"],
        cwd=folder,
        env={**os.environ, "PYTHONPATH": str(there)},
        capture_output=True,
        text=True,
        check=False,
    )


def test_wheel_with_a_bundle_in_step_needs_no_node(root: Path, tmp_path: Path) -> None:
    source = copied(root, tmp_path, bundle=True)
    done = build(source, "wheel", without_node(tmp_path))
    assert done.returncode == 0, done.stderr
    (wheel,) = (source / "out").glob("*.whl")
    assert held(wheel) == _PARTS
    view = view_from(wheel, root, tmp_path)
    assert (view.returncode, view.stderr) == (0, "")
    script = (root / _BUNDLE / "viewer.js").read_text(encoding="utf-8")
    assert script in (tmp_path / "x.html").read_text(encoding="utf-8")


def test_sdist_carries_the_bundle_and_builds_without_node(root: Path, tmp_path: Path) -> None:
    source = copied(root, tmp_path, bundle=True)
    env = without_node(tmp_path)
    for name in ("tests", "renders"):
        (source / name).mkdir()
    for name in ("DEVELOPERS.md", "CHANGELOG.md"):
        shutil.copy(root / name, source)
    assert build(source, "sdist", env).returncode == 0
    (packed,) = (source / "out").glob("*.tar.gz")
    shutil.unpack_archive(packed, tmp_path / "unpacked", filter="data")
    (again,) = (tmp_path / "unpacked").iterdir()
    done = build(again, "wheel", env)
    assert done.returncode == 0, done.stderr
    (wheel,) = (again / "out").glob("*.whl")
    assert held(wheel) == _PARTS


@pytest.mark.parametrize(
    ("missing", "says"),
    [("node", "needs Node 20 or newer"), ("registry", "npm registry cannot be reached")],
)
def test_what_is_missing_is_one_message(
    root: Path, tmp_path: Path, missing: str, says: str
) -> None:
    source = copied(root, tmp_path, bundle=False)
    env = {**os.environ, "npm_config_registry": "http://127.0.0.1:9"}
    if missing == "node":
        env = without_node(tmp_path)
    elif shutil.which("npm") is None:
        pytest.skip("no npm on this machine")
    done = build(source, "wheel", env)
    assert done.returncode == 1
    (line,) = done.stderr.strip().splitlines()
    assert says in line
    assert "ROOF3D_PAGE=skip" in line


def test_skipping_builds_without_the_page_and_view_says_so(root: Path, tmp_path: Path) -> None:
    source = copied(root, tmp_path, bundle=False)
    done = build(source, "wheel", {**without_node(tmp_path), "ROOF3D_PAGE": "skip"})
    assert done.returncode == 0, done.stderr
    (wheel,) = (source / "out").glob("*.whl")
    assert held(wheel) == set()
    view = view_from(wheel, root, tmp_path)
    assert view.returncode == 2
    assert "installed without the page's scripts" in view.stderr
    assert not (tmp_path / "x.html").exists()


def test_without_node_the_build_brings_its_own(root: Path, tmp_path: Path) -> None:
    source = copied(root, tmp_path, bundle=False)
    command = [sys.executable, "-m", "pip", "wheel", "-q", "--no-deps", "-w", "out", "."]
    done = subprocess.run(
        command,
        cwd=source,
        env=without_node(tmp_path),
        capture_output=True,
        text=True,
        check=False,
    )
    if done.returncode and "No matching distribution" in done.stderr + done.stdout:
        pytest.skip("no package registry is reached from here")
    assert done.returncode == 0, done.stderr
    (wheel,) = (source / "out").glob("*.whl")
    script = zipfile.ZipFile(wheel).read(_BUNDLE + "viewer.js")
    assert script == (root / _BUNDLE / "viewer.js").read_bytes()


def editable(source: Path, folder: Path, env: dict[str, str]) -> list[Path]:
    """Install in place under a prefix of its own; return where Python would find it."""
    command = [sys.executable, "-m", "pip", "install", "-q", "--no-deps", "--ignore-installed"]
    command += ["--prefix", str(folder / "prefix"), "-e", str(source)]
    done = subprocess.run(command, cwd=folder, env=env, capture_output=True, text=True, check=False)
    if done.returncode and "No matching distribution" in done.stderr + done.stdout:
        pytest.skip("no package registry is reached from here")
    assert done.returncode == 0, done.stderr
    (link,) = (folder / "prefix").rglob("*roof3d*.pth")
    return [Path(line) for line in link.read_text(encoding="utf-8").split()]


def view_in_place(places: list[Path], root: Path, folder: Path) -> None:
    """Make a page with the package that an editable install points to."""
    model = root / "models" / "lantern-street.toml"
    done = subprocess.run(
        [sys.executable, "-m", "roof3d", "view", str(model), "-o", "x.html"],
        cwd=folder,
        env={**os.environ, "PYTHONPATH": os.pathsep.join(map(str, places))},
        capture_output=True,
        text=True,
        check=False,
    )
    assert (done.returncode, done.stderr) == (0, "")
    script = (places[0] / _BUNDLE / "viewer.js").read_text(encoding="utf-8")
    assert script in (folder / "x.html").read_text(encoding="utf-8")


@pytest.mark.heavy
def test_editable_install_with_a_bundle_in_step_needs_no_node(root: Path, tmp_path: Path) -> None:
    source = copied(root, tmp_path, bundle=True)
    places = editable(source, tmp_path, without_node(tmp_path))
    assert places == [source]
    view_in_place(places, root, tmp_path)


@pytest.mark.heavy
def test_editable_install_without_node_brings_its_own(root: Path, tmp_path: Path) -> None:
    source = copied(root, tmp_path, bundle=False)
    places = editable(source, tmp_path, without_node(tmp_path))
    assert {path.name for path in (source / _BUNDLE).iterdir()} == _PARTS
    assert (source / _BUNDLE / "viewer.js").read_bytes() == (
        root / _BUNDLE / "viewer.js"
    ).read_bytes()
    view_in_place(places, root, tmp_path)
