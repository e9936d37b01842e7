"""Questions about lengths: what is written beside the layers, with a gap to fill."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from roof3d.details.model import INCH, Detail, Measure, size_text
from roof3d.lesson.model import Question, Step
from roof3d.lesson.questions.choices import called, set_question
from roof3d.units import Units

_SIZE = re.compile(r"\d+ \d+/\d+ (?:in|mm)\b|\d+/\d+ in\b|\d+(?:\.\d+)? (?:in|mm)\b")
_GAP = "____"
_BARE = {"", "on", "past", "up", "down", "out", "in", "over"}
"""What is left of the words beside a length where they say too little to be asked about."""
_OFFS = (2.0, 0.5, 1.5, 3.0)
"""What a length is taken times for wrong answers, where the roof has too few of its own."""


def ask_lengths(
    detail: Detail, steps: Sequence[Step], units: Units, seed: str
) -> Iterator[Question]:
    """Ask for the first length of each layer that has one."""
    by_layer = {step.layer: step for step in steps}
    asked = set()
    for measure in detail.measures:
        found = _SIZE.findall(measure.text)
        if measure.layer in asked or len(found) != 1:
            continue
        asked.add(measure.layer)
        step = by_layer[measure.layer]
        right = found[0]
        label = _label(measure, step, right)
        if label.replace(_GAP, "").strip() in _BARE:
            continue
        question = set_question(
            f"length-{measure.id}",
            f"Of {called(step, steps)}: \u201c{label}\u201d. Which length belongs in the gap?",
            right,
            _others(detail, measure, right, units),
            reason=f"{measure.text}: {step.why}",
            source=measure.source,
            step=step.number,
            seed=seed,
        )
        if question is not None:
            yield question


def _label(measure: Measure, step: Step, right: str) -> str:
    """Return the words in which a length stands, a gap in its place: the step's, if they can be.

    Those beside the layers are short, and tell more with the picture than without.
    """
    whole = re.compile(rf"(?<![\d/] )(?<![\d/]){re.escape(right)}\b")
    clauses = [clause for clause in re.split(r"[;,] ", step.size) if whole.search(clause)]
    if len(clauses) == 1 and len(whole.findall(clauses[0])) == 1:
        return whole.sub(_GAP, clauses[0]).rstrip(".")
    return measure.text.replace(right, _GAP)


def _others(detail: Detail, measure: Measure, right: str, units: Units) -> Iterator[str]:
    """Other lengths of the same detail, nearest first; then multiples of this one."""
    near = sorted(detail.measures, key=lambda other: abs(other.value - measure.value))
    for other in near:
        found = _SIZE.findall(other.text)
        if len(found) == 1 and found[0] != right:
            yield found[0]
    for factor in _OFFS:
        inches = max(1.0, round(factor * measure.value / INCH))
        if units is Units.METRIC:
            yield f"{round(factor * measure.value * 100) * 10} mm"
        else:
            yield size_text(inches * INCH, units)
