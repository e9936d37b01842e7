"""Build the lesson of a joint from the detail that is drawn of it."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import replace

from roof3d.details.mistakes.model import WrongBuild
from roof3d.details.model import PRACTICE, Detail, DetailLayer
from roof3d.details.places import places
from roof3d.details.proof.table import lap_table
from roof3d.lesson.model import Fact, Lesson, Step, Term, Wrong
from roof3d.lesson.practice import practice_rows
from roof3d.lesson.questions.ask import MOST, ask_questions
from roof3d.lesson.questions.wrong import ask_wrong
from roof3d.lesson.roles import roles_of
from roof3d.lesson.rows import read_rows
from roof3d.lesson.steps import build_steps, material_of
from roof3d.lesson.weather import name_day, weather_rows
from roof3d.project import Project
from roof3d.rules.cautions import cautions_for
from roof3d.units import Units

AUDIENCE = (
    "For those who learn to lay it, and for those who sell it, price it, or pay for it and want "
    "to see how it is put together."
)
_WORDS = (
    f"Why, tools, gear, mistakes and checks are {PRACTICE}, unless a source stands beside them."
)
_WINDS = ("north", "northeast", "east", "southeast", "south", "southwest", "west", "northwest")


def build_lesson(
    project: Project,
    detail: Detail,
    *,
    celsius: float | None = None,
    wrong: WrongBuild | None = None,
    others: Sequence[WrongBuild] = (),
) -> Lesson:
    """Build the lesson of a detail.

    Parameters
    ----------
    project : Project
    detail : Detail
        Of that project.
    celsius : float or None
        Temperature of sheet and deck on the day; None for the model's own, if it gives one.
    wrong : WrongBuild or None
        What is shown built wrong on purpose, and asked about.
    others : sequence of WrongBuild
        Mistakes of the same joint, for the wrong answers.

    Returns
    -------
    Lesson
        Its steps are the detail's layers, its sizes the detail's and the catalog's. The same
        input gives the same lesson, questions and order of answers too.

    Raises
    ------
    CatalogError
        Where the lesson's own data cannot be read.
    """
    units = Units(project.spec.units.value)
    if celsius is None:
        celsius = project.spec.site.temperature
    site = replace(project.spec.site, temperature=celsius)
    spec = replace(project.spec, site=site)
    choices = [choice for choice in project.choices if choice.plane in detail.planes]
    roles = roles_of(project, detail)
    taught = practice_rows(detail, roles)
    steps = build_steps(project, detail, roles, taught, celsius)
    materials = {
        step.material: material_of(project, layer) for step, layer in _pairs(steps, detail)
    }
    sensitive = [made for made in materials.values() if made is not None and made.weather]
    day = None if celsius is None else name_day(celsius, units, sensitive)
    look = look_fact(project, detail)
    lesson = Lesson(
        title=detail.name,
        model=project.spec.name,
        place=_place_words(project, detail),
        summary=detail.summary,
        detail=detail.id,
        kind=detail.kind,
        audience=AUDIENCE,
        gear=_each(step.gear for step in steps),
        cautions=cautions_for(choices, project.catalog, spec),
        tools=_each(step.tool for step in steps),
        steps=steps,
        look=look,
        questions=(
            *ask_wrong(detail, wrong, others),
            *ask_questions(
                detail,
                steps,
                look,
                lap_table(detail, project.catalog),
                taught,
                sensitive,
                day,
                units,
                most=MOST - (wrong is not None),
            ),
        ),
        notes=(*detail.notes, _WORDS),
        day=day,
        weather=weather_rows(sensitive, units),
        terms=(),
        wrong=None if wrong is None else _wrong(wrong),
    )
    return replace(lesson, terms=_terms(lesson))


def _wrong(wrong: WrongBuild) -> Wrong:
    return Wrong(
        name=wrong.mistake.value,
        title=wrong.title,
        wrong=wrong.wrong,
        water=wrong.water,
        cost=wrong.cost,
        see=wrong.see,
        source=wrong.source,
    )


def look_fact(project: Project, detail: Detail) -> Fact:
    """Say which way to look for a lap that faces up the slope, on the planes of a detail."""
    falls: dict[str, list[str]] = {}
    for plane_id in dict.fromkeys(detail.planes):
        azimuth = project.roof.plane(plane_id).azimuth_deg
        if azimuth is not None:
            falls.setdefault(_WINDS[round(azimuth / 45.0) % len(_WINDS)], []).append(plane_id)
    told = [
        f"{' and '.join(names)} {'fall' if len(names) > 1 else 'falls'} {wind}: look {wind}"
        for wind, names in falls.items()
    ]
    here = f" Here {'; '.join(told)}." if told else ""
    return Fact(
        text="To find a back-water lap, stand at the top and look down the slope: laps that are "
        "right hide their edges from you, an edge that faces you drinks water. From below every "
        f"lap that is right shows its edge.{here}",
        source=PRACTICE,
    )


def _pairs(steps: tuple[Step, ...], detail: Detail) -> Iterable[tuple[Step, DetailLayer]]:
    return zip(steps, detail.layers, strict=True)


def _place_words(project: Project, detail: Detail) -> str:
    assembly_of = {choice.plane: choice.assembly for choice in project.choices}
    known = places(project.roof, project.catalog, assembly_of, project.spec.layout)
    return next((place.words for place in known if place.id == detail.id), detail.id)


def _each(lists: Iterable[str]) -> tuple[str, ...]:
    """Return what comma-separated lists name, each once, in the order met."""
    return tuple(
        dict.fromkeys(
            word
            for words in lists
            for word in (w.strip() for w in re.split(r",|;| or (?=[a-z])", words))
            if word
        )
    )


def _terms(lesson: Lesson) -> tuple[Term, ...]:
    """Return the words of the trade that a lesson uses."""
    said = " ".join(
        f"{s.name} {s.what} {s.why} {s.size} {s.fastening} {s.mistake} {s.check} {s.order} "
        + " ".join(fact.text for fact in s.practice)
        for s in lesson.steps
    )
    said = f"{lesson.title} {said} {' '.join(lesson.notes)} {lesson.look.text}".lower()
    return tuple(
        Term(word=row["word"], meaning=row["meaning"])
        for row in read_rows("terms.term")
        if any(
            re.search(rf"\b{re.escape(form)}\b", said)
            for form in (row["word"], *row.get("also", ()))
        )
    )
