"""A real browser, the pages of the shipped models, and what a page may not do."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path

import pytest
from playwright.sync_api import Browser, BrowserContext, Error, Page, sync_playwright

import roof3d
from roof3d.writers.page.page import PageOptions, build_page

MODELS = Path(__file__).parents[2] / "models"
NAMES = tuple(sorted(path.stem for path in MODELS.glob("*.toml")))
_FLAGS = (
    "--no-sandbox",
    "--use-angle=swiftshader",
    "--enable-unsafe-swiftshader",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)


@dataclass
class Watched:
    """A page with what it said and asked for."""

    page: Page
    said: list[str] = field(default_factory=list)
    asked: list[str] = field(default_factory=list)

    def is_quiet(self) -> bool:
        """Whether it neither complained nor asked for anything outside the file."""
        return self.said == [] and self.asked == []


def chromium() -> str:
    found = shutil.which("chromium") or shutil.which("chromium-browser")
    if found is None:
        pytest.skip("no Chromium on this machine: apt-get install chromium")
    return found


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    path = chromium()
    with sync_playwright() as runner:
        opened = runner.chromium.launch(executable_path=path, args=list(_FLAGS))
        yield opened
        opened.close()


@pytest.fixture
def context(browser: Browser) -> Iterator[BrowserContext]:
    """Give a tablet's window, without movement."""
    made = browser.new_context(viewport={"width": 1024, "height": 768}, reduced_motion="reduce")
    yield made
    made.close()


@cache
def html_of(name: str) -> bytes:
    project = roof3d.build(roof3d.load(MODELS / f"{name}.toml"))
    wishes = ("cutoff=4:12",) if name == "lantern-street" else ()
    return build_page(project, options=PageOptions(wishes=wishes))


@pytest.fixture(scope="session")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("pages")


def written(folder: Path, name: str) -> Path:
    path = folder / f"{name}.html"
    if not path.exists():
        path.write_bytes(html_of(name))
    return path


def wait_until(page: Page, truth: str, seconds: float = 20.0) -> None:
    """Wait until an expression is true; the page's policy forbids it to look for itself."""
    for _ in range(int(seconds * 20)):
        try:
            if page.evaluate(truth):
                return
        except Error as error:  # the page was being loaded again
            if "navigation" not in error.message:
                raise
        page.wait_for_timeout(50)
    raise AssertionError(f"never: {truth}; {page.evaluate('location.hash')}")


def opened(context: BrowserContext, path: Path, fragment: str = "") -> Watched:
    """Open a page and wait until it is drawn, or says that it cannot draw."""
    page = context.new_page()
    found = Watched(page)
    page.on("console", lambda m: found.said.append(m.text) if m.type == "error" else None)
    page.on("pageerror", lambda error: found.said.append(str(error)))
    page.on(
        "request",
        lambda r: (
            None if r.url.startswith(("file:", "data:", "blob:")) else found.asked.append(r.url)
        ),
    )
    page.goto(path.as_uri() + fragment)
    page.wait_for_selector(
        'body[data-state="ready"], body[data-state="no-picture"]', timeout=60_000
    )
    return found
