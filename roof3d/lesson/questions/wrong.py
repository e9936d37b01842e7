"""The question about a build that is wrong on purpose."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from roof3d.details.mistakes.model import Mistake, WrongBuild
from roof3d.details.mistakes.table import wrong_builds
from roof3d.details.model import Detail
from roof3d.lesson.model import Question
from roof3d.lesson.questions.choices import sentence, set_question


def ask_wrong(
    detail: Detail,
    wrong: WrongBuild | None,
    others: Sequence[WrongBuild],
) -> Iterator[Question]:
    """Ask what is wrong in the picture of a wrong build; wrong answers are its other mistakes."""
    if wrong is None:
        return
    question = set_question(
        f"wrong-{wrong.mistake.value}",
        "The picture shows this joint built wrong on purpose: blue is the way the water takes, the "
        "ring is where it gets in. Set it beside the pictures of the steps. What is wrong?",
        sentence(wrong.wrong),
        [
            *(sentence(other.wrong) for other in others),
            *(sentence(other.wrong) for other in _known(detail)),
        ],
        reason=f"{sentence(wrong.wrong)}. {wrong.water} {wrong.cost} To see it in time: "
        f"{wrong.see[:1].lower()}{wrong.see[1:]}",
        source=wrong.source,
        seed=f"{detail.kind} {detail.id}",
    )
    if question is not None:
        yield question


def _known(detail: Detail) -> Iterator[WrongBuild]:
    """Return what is built wrong elsewhere at such a joint; nothing left out that it never had."""
    for wrong, _ in wrong_builds(detail.kind):
        if wrong.mistake is not Mistake.MISSING_LAYER:
            yield wrong
