"""Set an answer among wrong ones, always in the same place for the same question."""

from __future__ import annotations

import zlib
from collections.abc import Iterable, Sequence

from roof3d.lesson.model import Question, Step

MOST, FEWEST = 4, 3
"""Answers to choose from."""


def set_question(
    name: str,
    asked: str,
    right: str,
    wrong: Iterable[str],
    *,
    reason: str,
    source: str,
    step: int = 0,
    seed: str = "",
) -> Question | None:
    """Return a question whose right answer stands among the first of some wrong ones.

    Parameters
    ----------
    name : str
        Id of the question.
    wrong : iterable of str
        The most plausible first; those like the right one or one another are passed over.
    seed : str
        With the name tells where the right answer stands.

    Returns
    -------
    Question or None
        None where there are too few wrong answers.
    """
    others: dict[str, str] = {}
    for option in wrong:
        if _same(option) != _same(right):
            others.setdefault(_same(option), option)
    options = list(others.values())[: MOST - 1]
    if len(options) < FEWEST - 1:
        return None
    place = zlib.crc32(f"{seed} {name}".encode()) % (len(options) + 1)
    options.insert(place, right)
    return Question(
        id=name,
        asked=asked,
        options=tuple(options),
        right=place,
        reason=reason,
        source=source,
        step=step,
    )


def turn(seed: str, name: str, count: int) -> int:
    """Return which of so many ways a question is put in: always the same for the same one."""
    return zlib.crc32(f"{seed} {name} way".encode()) % count


def called(step: Step, steps: Sequence[Step]) -> str:
    """Return what a step is called in a question: its number, which tells the order, if it must.

    That is where another step has the same name.
    """
    short = step.name.split(", ")[0]
    alone = sum(other.name.startswith(short) for other in steps) == 1
    name = short if alone else step.name
    name = f"{name[:1].lower()}{name[1:]}"
    name = name if name.startswith("the ") else f"the {name}"
    alike = sum(other.name == step.name for other in steps) > 1
    return f"{name} of step {step.number}" if alike else name


def sentence(words: str) -> str:
    """Return words with a capital first letter and without the last stop."""
    words = words.strip().rstrip(".")
    return words[:1].upper() + words[1:]


def _same(option: str) -> str:
    return sentence(option).casefold()
