"""Questions about order: what comes next, what lies on top, which way laps are looked at."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise

import numpy as np

from roof3d.details.model import INCH, PRACTICE, Detail, PieceKind
from roof3d.details.proof.model import Facing, LapRow
from roof3d.lesson.model import Fact, Question, Step
from roof3d.lesson.pieces import woven_with
from roof3d.lesson.questions.choices import called, sentence, set_question, turn

_LAPPED = frozenset({PieceKind.SHEET, PieceKind.METAL, PieceKind.STARTER, PieceKind.SHINGLE})
_OVER = _LAPPED | {PieceKind.WALL}


def ask_next(detail: Detail, steps: Sequence[Step], seed: str) -> Iterator[Question]:
    """Ask what is laid after a step, or what lies already: wrong answers are all still to come."""
    names = [step.name for step in steps]
    for before, after in pairwise(steps):
        if woven_with(detail, before.layer) or names.count(after.name) > 1:
            continue
        later = [s for s in steps if s.number > after.number and s.name not in _both(before, after)]
        name = f"next-{before.number}-{after.number}"
        if turn(seed, name, 2):
            asked = f"{sentence(called(before, steps))}: done. What comes next?"
            right, wrong = after, later
        else:
            asked = f"The crew is about to lay {called(after, steps)}. Which of these lies already?"
            right, wrong = before, later
        question = set_question(
            name,
            asked,
            sentence(called(right, steps)),
            [sentence(called(other, steps)) for other in wrong],
            reason=f"{sentence(called(after, steps))} is step {after.number}, after "
            f"{called(before, steps)}. {after.why}",
            source=PRACTICE,
            step=after.number,
            seed=seed,
        )
        if question is not None:
            yield question


def ask_on_top(
    detail: Detail, steps: Sequence[Step], laps: Sequence[LapRow], seed: str
) -> Iterator[Question]:
    """Ask of two unlike layers that hand water on which lies on top, the last such pair first.

    What lies beside or under the way of the water is not asked about: there the reason is another
    one.
    """
    for upper, lower in hand_water(detail, steps, laps):
        over, under = called(upper, steps), called(lower, steps)
        name = f"top-{upper.number}-{lower.number}"
        asked, right, wrong = _lap_asked(over, under, turn(seed, name, 3))
        question = set_question(
            name,
            asked,
            right,
            wrong,
            reason=f"{sentence(over)} (step {upper.number}) comes down over the head of {under} "
            f"(step {lower.number}): water goes on over it. The other way about it would run in "
            "behind the head",
            source=PRACTICE,
            step=upper.number,
            seed=seed,
        )
        if question is not None:
            yield question


def _lap_asked(over: str, under: str, way: int) -> tuple[str, str, tuple[str, ...]]:
    """Return question, right answer and wrong ones; one way has right what another has wrong."""
    if way == 0:
        return (
            f"Where {over} and {under} meet: which lies on top, and why?",
            f"{sentence(over)}: it covers the head of {under}, and hands its water onto it",
            (
                f"{sentence(under)}: it covers the foot of {over}, and hands its water onto it",
                f"{sentence(under)}: it covers the nails of {over}, which is laid before it",
                f"{sentence(over)}: it is to be lifted off without touching {under}",
            ),
        )
    on = f"It runs off {over} and on over the face of {under}"
    behind = f"It runs down {over} and in behind the head of {under}"
    more = (
        f"It runs along the head of {under} and off at its end",
        f"It runs over the head of {under} and stands on {over}",
    )
    if way == 1:
        asked = f"A crew has tucked {over} in under the head of {under}. What does water do?"
        return asked, behind, (on, *more)
    asked = f"{sentence(over)} comes down over the head of {under}. What does water do?"
    return asked, on, (behind, *more)


def hand_water(
    detail: Detail, steps: Sequence[Step], laps: Sequence[LapRow]
) -> Iterator[tuple[Step, Step]]:
    """Return the steps of unlike layers, the upper first, whose laps all face down the slope."""
    by_layer = {step.layer: step for step in steps}
    shown = {frozenset(row.layers) for row in laps_shown(detail, laps)}
    for upper in reversed(steps):
        landing = max((r.layers[1] for r in laps if r.layers[0] == upper.layer), default=0)
        for number in upper.over:
            lower = steps[number - 1]
            rows = [row for row in laps if set(row.layers) == {upper.layer, lower.layer}]
            down = rows and all(
                row.facing is Facing.DOWN and by_layer[row.layers[0]] is upper for row in rows
            )
            lapped = frozenset({upper.layer, lower.layer}) in shown
            goes_on = landing == lower.layer and all(_runs_on(detail, r) for r in rows)
            if (
                lapped
                and down
                and goes_on
                and upper.name != lower.name
                and not woven_with(detail, upper.layer)
            ):
                yield upper, lower
                break


def _runs_on(detail: Detail, row: LapRow) -> bool:
    """Whether water of the upper layer lands on the lower one: that goes on below its foot."""
    flow = next(words.flow for words in detail.faces if words.face is row.face)
    if flow is None:
        return False
    upper, lower = (
        min(
            float((-print_.outline @ np.array(flow)).min())
            for piece in detail.pieces
            if piece.layer == layer
            for print_ in piece.footprints
            if print_.face is row.face
        )
        for layer in row.layers
    )
    return lower < upper - INCH


def laps_shown(detail: Detail, laps: Sequence[LapRow]) -> tuple[LapRow, ...]:
    """Return the laps of a roofer's making: wood and wall that metal covers are none."""
    kinds = {piece.id: piece.kind for piece in detail.pieces}
    return tuple(row for row in laps if kinds[row.lower] in _LAPPED and kinds[row.upper] in _OVER)


def ask_look(detail: Detail, look: Fact, laps: Sequence[LapRow], seed: str) -> Iterator[Question]:
    """Ask what is seen of a lap from above and from below, where the joint has one."""
    if not any(row.facing is Facing.DOWN for row in laps_shown(detail, laps)):
        return
    asked, right, wrong = _LOOKS[turn(seed, "back-water", len(_LOOKS))]
    question = set_question(
        "back-water", asked, right, wrong, reason=look.text, source=look.source, seed=seed
    )
    if question is not None:
        yield question


_LOOKS = (
    (
        (
            "You look over a finished roof for a back-water lap. Where do you stand, and which way "
            "do you look?"
        ),
        "At the top, down the slope: an edge that faces you is a back-water lap",
        (
            "At the eave, up the slope: an edge that faces you is a back-water lap",
            "At the top, down the slope: an edge that hides from you is a back-water lap",
            "At the side, along the courses: an edge that faces you is a back-water lap",
        ),
    ),
    (
        (
            "You stand at the top and look down the slope. The edge of one piece faces you. What "
            "is it?"
        ),
        "It is a back-water lap: the edge faces up the slope, and water runs in under it",
        (
            "It is a lap as it should be: from the top every lap shows its edge",
            "It is a lap that is too short: a longer one would hide its edge from the top",
            "It is a lap not rolled down: once it is rolled, its edge is hidden from the top",
        ),
    ),
    (
        (
            "You stand at the eave and look up the slope. Every course shows you its lower edge. "
            "What does that tell you?"
        ),
        "The laps face down the slope, as they should: a back-water lap hides its edge from below",
        (
            "The laps are back-water laps: one that is right hides its edge from below",
            "The laps are too short: a lap of full length hides its edge from below",
            "The laps are not pressed down: once they are, no edge shows from below",
        ),
    ),
)
"""Question, right answer, wrong ones: an edge is seen by those it faces."""


def _both(*steps: Step) -> set[str]:
    return {step.name for step in steps}
