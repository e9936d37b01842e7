"""Questions about what is done wrong, how it is seen, and how layers are held."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from roof3d.details.model import PRACTICE
from roof3d.lesson.model import Question, Step
from roof3d.lesson.questions.choices import called, sentence, set_question, turn

_HALF = re.compile(
    r"(?:its|their|an?|one|no|patch|nothing under|the lower piece|what runs on that)\b",
    re.IGNORECASE,
)
"""What follows from a mistake begins so where it is no sentence, or none without the mistake."""

_CHECKS = ("how do you check it?", "what shows you that it is laid right?")

_WAYS = (
    (r"(?:bonded|clamped|dressed|fixed|framed|hooked|bolted)\b", "It is {}"),
    (r"(?:to the|on one side|at its rim)\b", "It is fixed {}"),
    (
        (
            r"(?:capped nails|nails|screws|its own adhesive|adhesive|lead wedges|the usual nails"
            r"|(?:at least )?(?:one|two|four|\d+) (?:roofing )?nails?)\b"
        ),
        "It is held by {}",
    ),
)
"""How the words for what holds a layer become a sentence, by how they begin."""


def ask_mistakes(steps: Sequence[Step], seed: str) -> Iterator[Question]:
    """Ask what follows from a mistake, where the layer's words tell both."""
    told: list[tuple[Step, str, str]] = []
    for step in steps:
        done, colon, follows = step.mistake.split(". ")[0].partition(":")
        if colon and ":" not in follows and not _HALF.match(follows.strip()):
            told.append((step, done, follows))
    for step, done, follows in told:
        question = set_question(
            f"mistake-{step.number}",
            f"{sentence(called(step, steps))}. A crew has it wrong: "
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
    told = [step for step in steps if not step.check.startswith(("Its ", "Their "))]
    for step in told:
        others = sorted(
            (other for other in told if other.check != step.check),
            key=lambda other: (abs(other.number - step.number), other.number),
        )
        question = set_question(
            f"check-{step.number}",
            f"{sentence(called(step, steps))}: {_CHECKS[turn(seed, step.name, len(_CHECKS))]}",
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
    """Ask how a layer is held, unless the day changes it."""
    told = [(step, words) for step in steps if (words := _held_sentence(step))]
    for step, right in told:
        if step.held != step.fastening:
            continue
        others = sorted(
            (found for found in told if _held(found[0]) != _held(step)),
            key=lambda found: (abs(found[0].number - step.number), found[0].number),
        )
        unlike = {_held(other): other for other, _ in reversed(others)}
        question = set_question(
            f"hold-{step.number}",
            f"{sentence(called(step, steps))}: how is it held?",
            right,
            [words for other, words in others if unlike[_held(other)] is other],
            reason=f"{right}. {step.why}",
            source=PRACTICE,
            step=step.number,
            seed=seed,
        )
        if question is not None:
            yield question


def ask_taught(
    taught: Mapping[int, tuple[Mapping[str, Any], ...]], steps: Sequence[Step], seed: str
) -> Iterator[Question]:
    """Ask what is taught at the steps besides their own words: of this joint alone first.

    What is taught at many joints is asked at every other one.
    """
    number = {step.layer: step.number for step in steps}
    asking = [(layer, row) for layer, rows in taught.items() for row in rows if "ask" in row]
    for layer, row in sorted(asking, key=lambda found: "kinds" not in found[1]):
        if "kinds" not in row and turn(seed, row["id"], 2):
            continue
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


def _held_sentence(step: Step) -> str:
    """Say how a layer is held in a sentence; "" where its words make none."""
    words = step.fastening.strip().rstrip(".").removesuffix(f" ({PRACTICE})")
    if "hot air" in words:
        return ""  # it would tell what the day asks for
    words = words[:1].lower() + words[1:]
    return next((way.format(words) for start, way in _WAYS if re.match(start, words)), "")


def _held(step: Step) -> tuple[str, ...]:
    """Return what two ways of holding must differ in to be told apart: their first words."""
    return tuple(step.fastening.lower().replace(",", " ").split()[:2])


def _nearest(step: Step, told: Sequence[tuple[Step, str, str]]) -> list[tuple[Step, str, str]]:
    rest = [found for found in told if found[0] is not step]
    return sorted(rest, key=lambda found: (abs(found[0].number - step.number), found[0].number))
