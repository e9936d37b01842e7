"""Questions about what is done wrong, how it is seen, and how layers are held."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from roof3d.details.model import PRACTICE
from roof3d.lesson.model import Question, Step
from roof3d.lesson.questions.choices import sentence, set_question


def ask_mistakes(steps: Sequence[Step], seed: str) -> Iterator[Question]:
    """Ask what follows from a mistake, where the layer's words tell both."""
    told: list[tuple[Step, str, str]] = []
    for step in steps:
        done, colon, follows = step.mistake.split(". ")[0].partition(":")
        if colon and ":" not in follows:
            told.append((step, done, follows))
    for step, done, follows in told:
        question = set_question(
            f"mistake-{step.number}",
            f"Step {step.number}, {step.name.lower()}. A crew has it wrong: "
            f"\u201c{sentence(done)}.\u201d What follows?",
            sentence(follows),
            [sentence(other[2]) for other in _nearest(step, told)],
            reason=f"{sentence(done)}: {follows.strip().rstrip('.')}. To see that it is right: "
            f"{step.check[:1].lower()}{step.check[1:]}",
            source=PRACTICE,
            step=step.number,
            seed=seed,
        )
        if question is not None:
            yield question


def ask_checks(steps: Sequence[Step], seed: str) -> Iterator[Question]:
    """Ask how it is seen that a layer is right."""
    for step in steps:
        others = sorted(
            (other for other in steps if other.check != step.check),
            key=lambda other: (abs(other.number - step.number), other.number),
        )
        question = set_question(
            f"check-{step.number}",
            f"How do you check step {step.number}, {step.name.lower()}?",
            sentence(step.check),
            [sentence(other.check) for other in others],
            reason=f"{sentence(step.check)}. What it finds: {step.mistake[:1].lower()}"
            f"{step.mistake[1:]}",
            source=PRACTICE,
            step=step.number,
            seed=seed,
        )
        if question is not None:
            yield question


def ask_fastening(steps: Sequence[Step], seed: str) -> Iterator[Question]:
    """Ask how a layer is held."""
    for step in steps:
        others = sorted(
            (other for other in steps if _held(other) != _held(step)),
            key=lambda other: (abs(other.number - step.number), other.number),
        )
        unlike = {_held(other): other for other in reversed(others)}
        question = set_question(
            f"hold-{step.number}",
            f"How is step {step.number}, {step.name.lower()}, held?",
            sentence(step.fastening),
            [sentence(other.fastening) for other in others if unlike[_held(other)] is other],
            reason=f"{sentence(step.fastening)}. {step.why}",
            source=PRACTICE,
            step=step.number,
            seed=seed,
        )
        if question is not None:
            yield question


def ask_taught(
    taught: Mapping[int, tuple[Mapping[str, Any], ...]], steps: Sequence[Step], seed: str
) -> Iterator[Question]:
    """Ask what is taught at the steps besides their own words: of this joint alone first."""
    number = {step.layer: step.number for step in steps}
    asking = [(layer, row) for layer, rows in taught.items() for row in rows if "ask" in row]
    for layer, row in sorted(asking, key=lambda found: "kinds" not in found[1]):
        question = set_question(
            row["id"],
            row["ask"],
            row["right"],
            row["wrong"],
            reason=row["text"],
            source=row["source"],
            step=number[layer],
            seed=seed,
        )
        if question is not None:
            yield question


def _held(step: Step) -> tuple[str, ...]:
    """Return what two ways of holding must differ in to be told apart: their first words."""
    return tuple(step.fastening.lower().replace(",", " ").split()[:2])


def _nearest(step: Step, told: Sequence[tuple[Step, str, str]]) -> list[tuple[Step, str, str]]:
    rest = [found for found in told if found[0] is not step]
    return sorted(rest, key=lambda found: (abs(found[0].number - step.number), found[0].number))
