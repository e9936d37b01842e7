"""A page in parts: the house first, then what takes longer, what is looked at before the rest."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from enum import IntEnum
from typing import Any, TypeAlias

from roof3d.details.model import Detail
from roof3d.details.site import Place
from roof3d.project import Project
from roof3d.scene.roof_scene import build_roof_scene
from roof3d.writers.page.alternatives import alternative_entry
from roof3d.writers.page.colours import load_colours
from roof3d.writers.page.facts import (
    Live,
    finding_entries,
    page_facts,
    takeoff_entry,
    variant_entry,
)
from roof3d.writers.page.meshes import joint_glb, page_glb
from roof3d.writers.page.page import PageOptions, asked_for
from roof3d.writers.page.places import alike_places, draw_first, place_entry, waiting_entry
from roof3d.writers.page.words import plain_words
from roof3d.writers.page.wrong import Wrong, build_wrongs


class Stage(IntEnum):
    """What takes longer than the house, in the order in which it is made."""

    TAKEOFF = 1
    LAPS = 2
    JOINT = 3
    ANSWERS = 4
    WRONG = 5


_SEEN = {
    "whatif": frozenset({Stage.TAKEOFF, Stage.LAPS, Stage.ANSWERS}),
    "places": frozenset({Stage.JOINT}),
}
"""What each panel of the page shows."""

_Task: TypeAlias = tuple[Stage, str]
"""A stage, and of a joint its id."""


@dataclass(frozen=True, slots=True)
class Shows:
    """What the reader looks at: a panel, and of the open joint its id."""

    panel: str = ""
    place: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Joint:
    """A joint as it is now.

    Attributes
    ----------
    id : str
        Under which the page knows it so far.
    entry : Mapping or None
        None where it cannot be drawn.
    meshes : bytes
        GLB.
    """

    id: str
    entry: Mapping[str, Any] | None
    meshes: bytes = b""


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """What a page puts in place of what it has.

    Attributes
    ----------
    facts : Mapping
        As ``page_facts`` returns them, or some of them.
    house : bytes
        GLB; empty for the house that is there.
    joints : tuple[Joint, ...]
    """

    facts: Mapping[str, Any]
    house: bytes = b""
    joints: tuple[Joint, ...] = ()


class Work:
    """The page of one state of the model, made part by part."""

    def __init__(self, project: Project, options: PageOptions) -> None:
        self._project = project
        self._options = options
        self._scene = build_roof_scene(project)
        self._others = asked_for(project, options)
        self._alike = {places[0].id: places for places in alike_places(project)}
        self._variants = [
            variant_entry(project, name="as-is", title="As it is", waits=("takeoff", "laps"))
        ]
        self._left: dict[_Task, Iterator[Part]] = {
            (Stage.TAKEOFF, ""): self._count(),
            (Stage.LAPS, ""): self._prove(),
            (Stage.ANSWERS, ""): self._answer(),
        }
        for name, places in self._alike.items():
            self._left[Stage.JOINT, name] = self._draw(name, places)

    @property
    def whole(self) -> bool:
        """Whether nothing is left to make."""
        return not self._left

    def begin(self, live: Live, shows: Shows) -> Part:
        """Return the house, with the joint that is looked at."""
        options = self._options
        facts = page_facts(
            self._project,
            variants=list(self._variants),
            places=[waiting_entry(self._project, places) for places in self._alike.values()],
            words=plain_words(),
            colours=load_colours(options.colours, name=options.colours_name),
            live=live,
            whole=False,
        )
        opened = next((task for task in self._left if self._of(task, shows)), None)
        joints = () if opened is None else self._advance(opened).joints
        return Part(facts=facts, house=page_glb(self._scene, []), joints=joints)

    def make_next(self, shows: Shows) -> Part:
        """Return the next part: first what is looked at, then in the order of ``Stage``."""
        while self._left:
            part = self._advance(min(self._left, key=lambda task: self._rank(task, shows)))
            if part.facts or part.joints:
                break
        else:
            part = Part(facts={})
        return part if self._left else Part(facts={**part.facts, "whole": True}, joints=part.joints)

    def _rank(self, task: _Task, shows: Shows) -> tuple[bool, bool, Stage]:
        return (not self._of(task, shows), task[0] not in _SEEN.get(shows.panel, ()), task[0])

    def _of(self, task: _Task, shows: Shows) -> bool:
        """Whether a task draws the open joint."""
        return any(place.id == shows.place for place in self._alike.get(task[1], ()))

    def _advance(self, task: _Task) -> Part:
        steps = self._left.pop(task)
        part = next(steps, None)
        if part is not None:
            # A joint once drawn is there: its wrong builds come last.
            stage = Stage.WRONG if task[0] is Stage.JOINT else task[0]
            self._left[stage, task[1]] = steps
        return part or Part(facts={})

    def _count(self) -> Iterator[Part]:
        yield self._as_is({"takeoff": takeoff_entry(self._project)}, "takeoff")

    def _prove(self) -> Iterator[Part]:
        yield self._as_is({"findings": finding_entries(self._project)}, "laps")

    def _as_is(self, more: Mapping[str, Any], done: str) -> Part:
        first = self._variants[0]
        waits = [name for name in first["waits"] if name != done]
        self._variants[0] = {**first, **more, "waits": waits}
        return Part(facts={"variants": list(self._variants)})

    def _answer(self) -> Iterator[Part]:
        for other in self._others:
            self._variants.append(alternative_entry(self._project, other))
            yield Part(facts={"variants": list(self._variants)})

    def _draw(self, name: str, places: tuple[Place, ...]) -> Iterator[Part]:
        drawn = draw_first(self._project, places)
        if drawn is None:
            yield Part(facts={}, joints=(Joint(id=name, entry=None),))
            return
        wrongs: list[Wrong] = []
        yield self._joint(name, drawn, wrongs, more=True)
        for wrong in build_wrongs(self._project, drawn[0], drawn[1][0]):
            wrongs.append(wrong)
            yield self._joint(drawn[0].id, drawn, wrongs, more=True)
        yield self._joint(drawn[0].id, drawn, wrongs, more=False)

    def _joint(
        self,
        name: str,
        drawn: tuple[Detail, tuple[Place, ...]],
        wrongs: Sequence[Wrong],
        *,
        more: bool,
    ) -> Part:
        detail, places = drawn
        entry = place_entry(self._project, detail, places, wrongs)
        meshes = joint_glb(self._scene, detail, [wrong.detail for wrong in wrongs])
        if more:
            entry["wrong_waits"] = True
        return Part(facts={}, joints=(Joint(id=name, entry=entry, meshes=meshes),))
