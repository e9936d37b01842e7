"""What is written in the moving pictures: few words, in large letters."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from roof3d.lesson.model import Lesson, Step
from roof3d.render.detail_ink.palette import LIGHT
from roof3d.render.detail_ink.paragraph import broken, write_lines
from roof3d.render.lesson_pictures.plan import NOW, WARN, Area
from roof3d.render.lesson_pictures.words import ink_number, ink_strip, write_cautions
from roof3d.render.lettering import LINE_PITCH, Box
from roof3d.render.sheet import Sheet, shortened

_SHRINK = (1.25, 1.12, 1.0, 0.9, 0.8, 0.7)


@dataclass(frozen=True, slots=True, kw_only=True)
class FilmPlan:
    """Where things go in a frame, pixels."""

    unit: float
    figure: Area
    panel: Area
    strip: Area
    cautions: Area


@dataclass(frozen=True, slots=True, kw_only=True)
class Caption:
    """What a frame says.

    Attributes
    ----------
    now : int
        Number of the step; 0 before the first, one more than the last at the end.
    number, name : str
        The number is left out at the beginning and the end.
    lines : tuple[tuple[str, str], ...]
        Heading and words.
    warns : bool
    """

    now: int
    numbers: tuple[int, ...]
    name: str
    lines: tuple[tuple[str, str], ...]
    warns: bool = False

    @property
    def words(self) -> str:
        """All that is to be read."""
        return " ".join((self.name, *(" ".join(line) for line in self.lines)))


def plan_film(size: tuple[int, int]) -> FilmPlan:
    """Return the plan of a frame of a size, pixels."""
    w, h = size
    unit = min(w / 1280.0, h / 720.0)
    split = 0.625 * w
    foot = h - 74.0 * unit
    return FilmPlan(
        unit=unit,
        figure=(20.0 * unit, 70.0 * unit, split - 10.0 * unit, foot - 10.0 * unit),
        panel=(split, 0.0, float(w), foot - 8.0 * unit),
        strip=(24.0 * unit, foot, w - 24.0 * unit, foot + 22.0 * unit),
        cautions=(24.0 * unit, foot + 28.0 * unit, w - 24.0 * unit, h - 6.0 * unit),
    )


def opening(lesson: Lesson) -> Caption:
    """Return what is said before the first step: what to wear, first of all."""
    lines = [("Wear and keep", ", ".join(lesson.gear)), ("For", lesson.audience)]
    if lesson.day is not None:
        lines.insert(0, (f"At {lesson.day.words}", lesson.day.summary))
    return Caption(now=0, numbers=(), name=f"{len(lesson.steps)} steps", lines=tuple(lines))


def caption_of(lesson: Lesson, steps: Sequence[Step]) -> Caption:
    """Return what is said of a step, or of steps done turn about."""
    lines: list[tuple[str, str]] = []
    for step in steps:
        if lesson.day is not None and step.stop:
            lines.append((f"Not at {lesson.day.words}", step.day[0].text))
        if len(steps) > 1:
            lines.append((f"{step.number} {step.name}", step.size))
        else:
            lines += [("Size", step.size), ("Held by", step.held)]
        lines.append(("Check", step.check))
    return Caption(
        now=steps[0].number,
        numbers=tuple(step.number for step in steps),
        name=steps[0].name if len(steps) == 1 else "Laid turn about",
        lines=tuple(lines),
        warns=any(step.stop for step in steps),
    )


def ending(lesson: Lesson) -> Caption:
    """Return what is said when all lies."""
    names = "; ".join(f"{step.number} {step.name}" for step in lesson.steps)
    lines = (("From the bottom up", names), ("Last look", lesson.look.text))
    return Caption(now=len(lesson.steps) + 1, numbers=(), name="All laid", lines=lines)


def write_frame(
    sheet: Sheet | None, lesson: Lesson, caption: Caption, plan: FilmPlan
) -> tuple[Box, ...]:
    """Write the words of a frame; returns their boxes."""
    unit = plan.unit
    left = plan.strip[0]
    room = plan.panel[0] - left - 16.0 * unit
    title = shortened(lesson.title, 26.0 * unit, room, bold=True)
    boxes = list(
        write_lines(sheet, (left, 30.0 * unit), (title,), 26.0 * unit, LIGHT.ink, bold=True)
    )
    under = shortened(f"{lesson.model}: {lesson.summary}", 16.0 * unit, room)
    boxes += write_lines(sheet, (left, 58.0 * unit), (under,), 16.0 * unit, LIGHT.note)
    boxes += _write_panel(sheet, caption, plan)
    boxes += ink_strip(sheet, caption.numbers or (caption.now,), len(lesson.steps), plan.strip)
    boxes += write_cautions(sheet, lesson, plan.cautions, 13.5 * unit)
    return tuple(boxes)


def _write_panel(sheet: Sheet | None, caption: Caption, plan: FilmPlan) -> tuple[Box, ...]:
    left, top, right, bottom = plan.panel
    unit = plan.unit
    x, y = left + 24.0 * unit, top + 34.0 * unit
    radius = 18.0 * unit
    if sheet is not None:
        ring = [(left, top), (right, top), (right, bottom), (left, bottom)]
        sheet.polygon(ring, fill=LIGHT.panel, order=0.5)
        for k, number in enumerate(caption.numbers):
            ink_number(sheet, number, (x + radius + 2.4 * radius * k, y), radius)
    start = x + (2.4 * radius * len(caption.numbers) + 4.0 * unit if caption.numbers else 0.0)
    name = 25.0 * unit
    heading = broken(caption.name, name, right - start - 20.0 * unit, bold=True)
    ink = WARN if caption.warns else LIGHT.ink
    boxes = list(write_lines(sheet, (start, y), heading, name, ink, bold=True))
    y += LINE_PITCH * name * len(heading) + 8.0 * unit
    width = right - x - 22.0 * unit
    for factor in _SHRINK:
        size = 21.0 * unit * factor
        rows = [(head, broken(_sentence(words), size, width)) for head, words in caption.lines]
        tall = sum(LINE_PITCH * size * (0.8 + len(lines)) + 0.55 * size for _, lines in rows)
        if y + tall <= bottom - 6.0 * unit:
            break
    for head, lines in rows:
        small = 0.78 * size
        at = (x, y + 0.5 * LINE_PITCH * small)
        boxes += write_lines(sheet, at, (head.upper(),), small, NOW, bold=True)
        y += LINE_PITCH * 0.8 * size
        boxes += write_lines(sheet, (x, y + 0.5 * LINE_PITCH * size), lines, size, LIGHT.ink)
        y += LINE_PITCH * size * len(lines) + 0.55 * size
    return tuple(boxes)


def _sentence(words: str) -> str:
    words = words.strip()
    return f"{words[:1].upper()}{words[1:]}{'' if words.endswith('.') else '.'}"
