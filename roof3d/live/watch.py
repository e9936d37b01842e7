"""A model's page kept up to date: the last good one stays while the file is wrong."""

from __future__ import annotations

import os
import tomllib
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any, TypeAlias

from roof3d.errors import Fault, RoofError, SpecError
from roof3d.live.parts import Joint, Part, Shows, Work
from roof3d.project import Project
from roof3d.spec.files import read_text
from roof3d.writers.page.document import page_bytes
from roof3d.writers.page.facts import Live
from roof3d.writers.page.page import PageOptions

Stamp: TypeAlias = tuple[tuple[str, int, int], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Built:
    """One good state of the model, with as much of its page as is made.

    Attributes
    ----------
    number : int
        Counts the good states, from 1.
    work : Work
        Makes the rest.
    facts : Mapping
        The page's document as far as it is made.
    parts : tuple[Part, ...]
        All that was made, in its order: the house first.
    stamp : Stamp
        Of the files that it was built from.
    fault : str
        What could not be made of the rest, in words.
    """

    number: int
    work: Work
    facts: Mapping[str, Any]
    parts: tuple[Part, ...]
    stamp: Stamp
    fault: str = ""

    @property
    def whole(self) -> bool:
        """Whether all of it is made."""
        return self.work.whole

    def page(self) -> bytes:
        """Return the page; the meshes of its joints are told as news."""
        places = [{**entry, "waits": True} for entry in self.facts["places"]]
        return page_bytes({**self.facts, "places": places}, self.parts[0].house)

    def so_far(self, *, house: bool) -> Part:
        """Return all that is made as one part, with or without the meshes of the house."""
        joints = {
            joint.entry["id"]: replace(joint, id=joint.entry["id"])
            for part in self.parts
            for joint in part.joints
            if joint.entry is not None
        }
        return Part(
            facts=self.facts,
            house=self.parts[0].house if house else b"",
            joints=tuple(joints.values()),
        )


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


def files_of(model: Path) -> tuple[Path, ...]:
    """Return the files that a model is built from; nothing outside its folder is looked at."""
    name = _catalog_of(model)
    return (model, model.parent / name) if name and _is_inside(model, name) else (model,)


def stamp_of(files: Sequence[Path]) -> Stamp:
    """Return what changes when one of some files is written."""
    found = []
    for path in files:
        try:
            told = path.stat()
        except OSError:
            continue
        found.append((str(path), told.st_mtime_ns, told.st_size))
    return tuple(found)


def build_house(watched: Watched, number: int, shows: Shows) -> Built:
    """Build the house of the model as it is now, and the joint that is looked at.

    Raises
    ------
    RoofError
        Where the model is wrong.
    """
    stamp = stamp_of(files_of(watched.model))
    _stay_inside(watched.model)
    work = Work(watched.read(watched.model), watched.options)
    part = work.begin(replace(watched.live, state=str(number)), shows)
    facts = _put(part.facts, part)
    return Built(number=number, work=work, facts=facts, parts=(part,), stamp=stamp)


def build_more(built: Built, shows: Shows) -> Built:
    """Make the next part; a RoofError becomes the fault, and what it is of stays unmade."""
    try:
        part = built.work.make_next(shows)
    except RoofError as error:
        return replace(built, fault=str(error))
    return replace(built, facts=_put(built.facts, part), parts=(*built.parts, part))


def _put(facts: Mapping[str, Any], part: Part) -> dict[str, Any]:
    """Put the entries of a part in place of those that are there."""
    known: dict[str, Joint] = {joint.id: joint for joint in part.joints}
    places = [
        known[entry["id"]].entry if entry["id"] in known else entry for entry in facts["places"]
    ]
    return {**facts, **part.facts, "places": [entry for entry in places if entry is not None]}


def _stay_inside(model: Path) -> None:
    """Refuse a catalog outside the model's folder: who can write a model must not read all."""
    name = _catalog_of(model)
    if not name or _is_inside(model, name):
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


def _is_inside(model: Path, name: str) -> bool:
    folder = model.parent.resolve()
    # A path that cannot be, or that is a loop, is left to the reader of the model to refuse.
    return Path(os.path.realpath(folder / name)).is_relative_to(folder)


def _catalog_of(model: Path) -> str:
    """Return what a model names as its catalog; empty where it names none or cannot be read."""
    try:
        # Read as the model is, or the name that is checked is not the one that is followed.
        name = tomllib.loads(read_text(model, "model")).get("catalog")
    except (ValueError, RecursionError):
        return ""  # the reader of the model says what is wrong with it
    return name if isinstance(name, str) and name.isprintable() else ""
