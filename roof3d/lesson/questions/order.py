"""Questions about order: what comes next, what lies on top, which way laps are looked at."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise

from roof3d.details.model import PRACTICE, Detail, PieceKind
from roof3d.lesson.model import Fact, Question, Step
from roof3d.lesson.pieces import woven_with
from roof3d.lesson.questions.choices import sentence, set_question

_LAPPED = frozenset(
    {PieceKind.SHEET, PieceKind.METAL, PieceKind.STARTER, PieceKind.SHINGLE, PieceKind.WALL}
)


def ask_next(detail: Detail, steps: Sequence[Step], seed: str) -> Iterator[Question]:
    """Ask what is laid after a step, and what for: of each step that one follows clearly."""
    names = [step.name for step in steps]
    for before, after in pairwise(steps):
        if woven_with(detail, before.layer) or names.count(after.name) > 1:
            continue
        others = sorted(
            (s for s in steps if s not in {before, after} and s.name != before.name),
            key=lambda s: (abs(s.number - after.number), s.number),
        )
        question = set_question(
            f"next-{after.number}",
            f"Step {before.number}, {before.name.lower()}, is done. What comes next, and what for?",
            _named(after),
            [_named(other) for other in others],
            reason=f"Step {after.number}: {after.name.lower()}. {after.why}",
            source=PRACTICE,
            step=after.number,
            seed=seed,
        )
        if question is not None:
            yield question


def ask_on_top(detail: Detail, steps: Sequence[Step], seed: str) -> Iterator[Question]:
    """Ask which of two unlike layers lies on top where they meet, the last such pair first."""
    kinds = {
        step.number: {p.kind for p in detail.pieces if p.layer == step.layer} & _LAPPED
        for step in steps
    }
    by_number = {step.number: step for step in steps}
    for upper in reversed(steps):
        if woven_with(detail, upper.layer):
            continue
        for number in upper.over:
            lower = by_number[number]
            if not kinds[upper.number] or not kinds[number] or upper.name == lower.name:
                continue
            over, under = upper.name.lower(), lower.name.lower()
            question = set_question(
                f"top-{upper.number}-{number}",
                f"Where step {number}, {under}, and step {upper.number}, {over}, meet: which lies "
                "on top, and why?",
                f"The {over}: laid later, it hands its water onto the {under}",
                (
                    f"The {under}: it is lifted, and the {over} is tucked in below it",
                    f"Neither: the {over} is cut to butt against the {under}",
                    "Either will do, as long as both are nailed through the lap",
                ),
                reason=f"The {over} (step {upper.number}) lies over the {under} (step {number}). "
                f"{upper.why}",
                source=PRACTICE,
                step=upper.number,
                seed=seed,
            )
            if question is not None:
                yield question
            break


def ask_look(look: Fact, seed: str) -> Iterator[Question]:
    """Ask which way to look for a lap that faces up the slope."""
    question = set_question(
        "back-water",
        "You look over a finished roof for a back-water lap. Where do you stand, and which way do "
        "you look?",
        "At the top, down the slope: an edge that faces you is a back-water lap",
        (
            "At the eave, up the slope: an edge that faces you is a back-water lap",
            "Beside the roof, along the courses: a lap that stands proud is a back-water lap",
            "Inside, from below: a back-water lap lets daylight through",
        ),
        reason=look.text,
        source=look.source,
        seed=seed,
    )
    if question is not None:
        yield question


def _named(step: Step) -> str:
    return f"{step.name}: {sentence(step.why)}"
