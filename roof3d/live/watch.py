"""A model's page kept up to date: the last good one stays while the file is wrong."""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace
from itertools import islice
from pathlib import Path
from typing import TypeAlias

from roof3d.errors import Fault, RoofError, SpecError
from roof3d.project import Project
from roof3d.writers.page.facts import Live
from roof3d.writers.page.page import PageOptions, build_page

_MOST_FILES = 200
"""So many files are looked at: a model in a home folder must not stall its own page."""

Stamp: TypeAlias = tuple[tuple[str, int, int], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Built:
    """One state of the page.

    Attributes
    ----------
    page : bytes
        The last good page; empty before the first.
    number : int
        Counts good states of the model, from 1.
    whole : bool
        Whether the joints are on the page already.
    error : RoofError or None
        What is wrong with the model now.
    stamp : Stamp
        Of the files that it was built from.
    """

    page: bytes = b""
    number: int = 0
    whole: bool = False
    error: RoofError | None = None
    stamp: Stamp = ()

    @property
    def state(self) -> str:
        """Name of what the page shows, for one who asks whether it has changed."""
        return f"{self.number}{'w' if self.whole else 'h'}"

    @property
    def fault(self) -> str:
        """What is wrong, in words; empty where nothing is."""
        return "" if self.error is None else str(self.error)


@dataclass(frozen=True, slots=True, kw_only=True)
class Watched:
    """What is watched.

    Attributes
    ----------
    model : Path
    read : callable
        Builds the project of the model file; raises RoofError.
    options : PageOptions
    live : Live
    """

    model: Path
    read: Callable[[Path], Project]
    options: PageOptions = field(default_factory=PageOptions)
    live: Live


def stamp_of(model: Path) -> Stamp:
    """Return what changes when a file that the page may be built from is written.

    The model and the catalogs in its folder and below count; nothing outside is looked at.
    """
    found = []
    for path in sorted({model, *islice(model.parent.rglob("*.toml"), _MOST_FILES)}):
        try:
            told = path.stat()
        except OSError:
            continue
        found.append((str(path), told.st_mtime_ns, told.st_size))
    return tuple(found)


def rebuild(watched: Watched, before: Built) -> Iterator[Built]:
    """Build the page anew: first the house alone, then with its joints.

    Where the model is wrong the last good page stays, with the fault. Any RoofError becomes the
    fault; what else goes wrong is our own bug and is raised.
    """
    stamp = stamp_of(watched.model)
    try:
        _stay_inside(watched.model)
        project = watched.read(watched.model)
        for whole in (False, True):
            made = Built(number=before.number + 1, whole=whole, stamp=stamp)
            live = replace(watched.live, state=made.state)
            page = build_page(project, options=watched.options, live=live, house_only=not whole)
            yield replace(made, page=page)
    except RoofError as error:
        yield Built(
            page=before.page,
            number=before.number,
            whole=before.whole,
            error=error,
            stamp=stamp,
        )


def _stay_inside(model: Path) -> None:
    """Refuse a catalog outside the model's folder: who can write a model must not read all."""
    try:
        name = tomllib.loads(model.read_text(encoding="utf-8")).get("catalog")
    except (OSError, ValueError, RecursionError):
        return  # the reader of the model says what is wrong with it
    folder = model.parent.resolve()
    if not isinstance(name, str) or (folder / name).resolve().is_relative_to(folder):
        return
    raise SpecError(
        (
            Fault(
                where="catalog",
                message=f'"{name}" lies outside the folder of the model',
                hint="put it beside the model while it is served",
            ),
        ),
        source=str(model),
    )
