"""One lesson of each kind of joint that the shipped models have."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import roof3d
from roof3d.details.model import Detail
from roof3d.lesson.build import build_lesson
from roof3d.lesson.model import Lesson
from roof3d.project import Project
from roof3d.scene.detail_scene import build_detail, detail_places
from roof3d.units import parse_temperature

_MODELS = Path(__file__).parents[3] / "models"


@cache
def project_of(name: str) -> Project:
    """Return a shipped model, built."""
    return roof3d.build(roof3d.load(_MODELS / f"{name}.toml"))


@cache
def every_lesson_at(written: str) -> tuple[tuple[Project, Detail, Lesson], ...]:
    """Return the same on a day of a temperature."""
    celsius = parse_temperature(written)
    return tuple(
        (project, detail, build_lesson(project, detail, celsius=celsius))
        for project, detail, _ in every_lesson().values()
    )


@cache
def every_lesson() -> dict[str, tuple[Project, Detail, Lesson]]:
    """Return project, detail and lesson by kind of joint, the first of each kind."""
    found: dict[str, tuple[Project, Detail, Lesson]] = {}
    for path in sorted(_MODELS.glob("*.toml")):
        project = project_of(path.stem)
        for place in detail_places(project):
            if place.kind.value not in found:
                detail = build_detail(project, place.id)
                found[place.kind.value] = (project, detail, build_lesson(project, detail))
    return found
