"""In what order layers come down in the moving pictures, and how long each is shown."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import groupby

from roof3d.details.model import Detail
from roof3d.lesson.model import Lesson, Step
from roof3d.lesson.pieces import woven_with

FALL, WOVEN_FALL = 1.2, 0.56
"""Seconds that a layer takes to come down, and one course of layers laid turn about."""
_LEAST, _MOST, _A_SECOND, _LOOK = 3.0, 16.0, 3.6, 0.8
"""Seconds that a finished layer is shown, at least and at most; words read in a second; and
seconds to look at what moved."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Move:
    """One layer, or layers laid turn about, on their way down.

    Attributes
    ----------
    steps : tuple[Step, ...]
    groups : tuple[tuple[int, ...], ...]
        Part numbers that come down together, one group after the other.
    """

    steps: tuple[Step, ...]
    groups: tuple[tuple[int, ...], ...]

    @property
    def fall(self) -> float:
        """Seconds that one group takes."""
        return FALL if len(self.groups) == 1 else WOVEN_FALL


def plan_moves(detail: Detail, lesson: Lesson) -> tuple[Move, ...]:
    """Return the moves of a lesson in the order of work: every part is in one of them."""
    taken: set[int] = set()
    moves = []
    for step in lesson.steps:
        if step.layer in taken:
            continue
        layers = {step.layer, *woven_with(detail, step.layer)} - taken
        taken |= layers
        pieces = [(k, p.layer) for k, p in enumerate(detail.pieces, start=1) if p.layer in layers]
        groups = tuple(
            tuple(k for k, _ in run) for _, run in groupby(pieces, key=lambda piece: piece[1])
        )
        steps = tuple(s for s in lesson.steps if s.layer in layers)
        moves.append(Move(steps=steps, groups=groups))
    return tuple(moves)


def reading_seconds(words: str) -> float:
    """Return how long words are shown: long enough to be read, and to look up from them."""
    return max(_LEAST, min(_MOST, _LOOK + len(words.split()) / _A_SECOND))
