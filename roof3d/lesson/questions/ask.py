"""Choose the questions of a lesson: a mixture, none twice about the same thing."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from typing import Any, Final

from roof3d.catalog.material import Material
from roof3d.details.model import Detail
from roof3d.details.proof.model import LapRow
from roof3d.lesson.model import Day, Fact, Question, Step
from roof3d.lesson.questions.lengths import ask_lengths
from roof3d.lesson.questions.order import ask_look, ask_next, ask_on_top
from roof3d.lesson.questions.weather import ask_weather
from roof3d.lesson.questions.words import (
    ask_checks,
    ask_fastening,
    ask_mistakes,
    ask_taught,
)
from roof3d.units import Units

MOST: Final = 10
"""Questions of a lesson."""

_OF_STEPS: Final = frozenset({"top", "next", "length", "mistake", "check", "hold", "weather"})
"""Kinds of questions that are made of the words and lengths of steps."""


def ask_questions(
    detail: Detail,
    steps: Sequence[Step],
    look: Fact,
    laps: Sequence[LapRow],
    taught: Mapping[int, tuple[Mapping[str, Any], ...]],
    sensitive: Sequence[Material],
    day: Day | None,
    units: Units,
    *,
    most: int = MOST,
) -> tuple[Question, ...]:
    """Return the questions of a lesson, those about a step in the order of steps.

    Parameters
    ----------
    detail : Detail
    steps : sequence of Step
    look : Fact
        Which way laps are looked at.
    laps : sequence of LapRow
        Of the detail.
    taught : Mapping[int, tuple]
        Rows of practice by number of layer.
    sensitive : sequence of Material
        Those that a temperature matters to.
    day : Day or None
    units : Units
    most : int
        Questions to ask.

    Returns
    -------
    tuple[Question, ...]
        The same detail gives the same ones.
    """
    seed = f"{detail.kind} {detail.id}"
    kinds: tuple[tuple[Iterator[Question], int], ...] = (
        (ask_on_top(detail, steps, laps, seed), 1),
        (ask_lengths(detail, steps, units, seed), 3),
        (ask_mistakes(steps, seed), 2),
        (ask_look(detail, look, laps, seed), 1),
        (ask_weather(sensitive, steps, day, units, seed), 1),
        (ask_next(detail, steps, seed), 1),
        (ask_fastening(steps, seed), 1),
        (ask_checks(steps, seed), 1),
    )
    found = [(_spread(list(questions), 3 * count), count) for questions, count in kinds]
    found.insert(0, (list(ask_taught(taught, steps, seed))[:2], 2))
    chosen: list[Question] = []
    for turn in range(max(count for _, count in found)):
        for questions, count in found:
            rest = [
                question
                for question in questions
                if not any(_hands_out(question, other) for other in chosen)
            ]
            if turn < count and rest and len(chosen) < most:
                chosen.append(_least_asked(rest, chosen))
    return tuple(sorted(chosen, key=lambda question: (question.step == 0, question.step)))


def _hands_out(one: Question, two: Question) -> bool:
    """Whether one of two questions tells the answer of the other, or is the other."""
    if one.id == two.id:
        return True
    kinds = {_kind(one), _kind(two)}
    if kinds <= {"top", "next"}:
        return set(one.id.split("-")[1:]) == set(two.id.split("-")[1:])
    if one.step == two.step and kinds - _OF_STEPS and kinds & {"hold"}:
        return True  # what is taught at a step may say how it is held
    if kinds == {"length"}:
        return False  # lengths are few, and stand for many things
    for this, other in ((one, two), (two, one)):
        if _kind(this) == "length":
            told = " ".join((other.asked, *other.options))
            return (
                re.search(rf"(?<![\d/]){re.escape(this.options[this.right])}\b", told) is not None
            )
    return one.options[one.right] in two.options or two.options[two.right] in one.options


def _kind(question: Question) -> str:
    return question.id.split("-", maxsplit=1)[0]


def _least_asked(rest: Sequence[Question], chosen: Sequence[Question]) -> Question:
    """Return the first of the questions whose step has been asked about least."""
    steps = [question.step for question in chosen]
    return min(rest, key=lambda question: steps.count(question.step))


def _spread(questions: Sequence[Question], most: int) -> list[Question]:
    """Return at most so many questions, spread evenly over what there is."""
    if len(questions) <= most:
        return list(questions)
    step = len(questions) / most
    return [questions[int((k + 0.5) * step)] for k in range(most)]
