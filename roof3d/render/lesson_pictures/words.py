"""The words on the sheet of a step: title, what to do, where in the row of steps, cautions."""

from __future__ import annotations

from collections.abc import Sequence

from roof3d.lesson.model import Lesson, Step
from roof3d.render.detail_ink.discs import ink_marker
from roof3d.render.detail_ink.palette import LIGHT, Theme
from roof3d.render.detail_ink.paragraph import broken, write_lines
from roof3d.render.lesson_pictures.plan import DONE, NOW, TO_COME, WARN, Area, StepPlan
from roof3d.render.lettering import LINE_PITCH, Box
from roof3d.render.passes import Colour
from roof3d.render.sheet import Sheet, shortened, text_width

_GROWN = (1.3, 1.2, 1.1)
_SHRINK = (1.0, 0.94, 0.88, 0.82, 0.76, 0.7)
Row = tuple[str, str, Colour]


def rows_of(lesson: Lesson, step: Step, theme: Theme = LIGHT) -> list[Row]:
    """Return what a sheet tells of a step: heading, words and colour, the weightiest first."""
    lengths = f" ({'; '.join(step.lengths)})" if step.lengths else ""
    size = f"{step.size}{lengths}"
    rows: list[Row] = [
        ("Why", step.why, theme.ink),
        ("Size", size, theme.ink),
        ("Order", step.order, theme.ink),
        ("Held by", step.held, theme.ink),
        ("Tool", step.tool, theme.ink),
        ("Wear", step.gear, theme.ink),
        ("Often wrong", step.mistake, theme.ink),
        ("Check", step.check, theme.ink),
    ]
    rows += [("Taught besides", fact.text, theme.ink) for fact in step.practice[:1]]
    if lesson.day is not None and step.day:
        colour = WARN if step.stop else NOW
        words = " ".join(_sentence(fact.text) for fact in step.day)
        rows.insert(0, (f"At {lesson.day.words}", words, colour))
    return [row for row in rows if row[1]]


def write_step(
    sheet: Sheet | None, lesson: Lesson, step: Step, plan: StepPlan, theme: Theme = LIGHT
) -> tuple[Box, ...]:
    """Write all words of a step; returns their boxes. Without a sheet they are only measured."""
    boxes = list(_write_head(sheet, lesson, step, plan, theme))
    boxes += write_panel(sheet, rows_of(lesson, step, theme), plan, theme)
    boxes += ink_strip(sheet, (step.number,), len(lesson.steps), plan.strip, theme)
    boxes += write_cautions(sheet, lesson, plan.cautions, plan.small, theme)
    return tuple(boxes)


def write_cautions(
    sheet: Sheet | None, lesson: Lesson, area: Area, size: float, theme: Theme = LIGHT
) -> tuple[Box, ...]:
    """Write the cautions into an area, in smaller letters where they are many."""
    left, top, right, bottom = area
    words = " ".join(lesson.cautions)
    for factor in _SHRINK:
        lines = broken(words, factor * size, right - left)
        if LINE_PITCH * factor * size * len(lines) <= bottom - top:
            break
    at = (left, top + 0.5 * LINE_PITCH * factor * size)
    return write_lines(sheet, at, lines, factor * size, theme.note)


def ink_strip(
    sheet: Sheet | None, now: Sequence[int], count: int, area: Area, theme: Theme = LIGHT
) -> tuple[Box, ...]:
    """Ink the strip of steps: done, being laid, to come; returns the boxes of its numbers."""
    left, top, right, bottom = area
    gap = 0.18 * (bottom - top)
    wide = (right - left + gap) / count
    boxes = []
    for number in range(1, count + 1):
        x = left + wide * (number - 1)
        fill = NOW if number in now else DONE if number < min(now) else TO_COME
        ink = theme.paper if number in now else theme.ink
        ring = [(x, top), (x + wide - gap, top), (x + wide - gap, bottom), (x, bottom)]
        size = 0.6 * (bottom - top)
        middle = (x + (wide - gap) / 2.0, (top + bottom) / 2.0)
        boxes.append(Box(centre=middle, width=text_width(str(number), size), height=size))
        if sheet is not None:
            sheet.polygon(ring, fill=fill, order=2.0)
            sheet.text(middle, str(number), size=size, ink=ink, bold=number in now, across="center")
    return tuple(boxes)


def _write_head(
    sheet: Sheet | None, lesson: Lesson, step: Step, plan: StepPlan, theme: Theme
) -> tuple[Box, ...]:
    left, top, right, _ = plan.head
    radius = 0.78 * plan.title
    y = top + 68.0 * plan.unit
    where = f"Step {step.number} of {len(lesson.steps)}"
    what = f"{where}   \u00b7   {lesson.title}: {lesson.summary}   \u00b7   {lesson.model}"
    small = shortened(what, plan.name, right - left)
    boxes = list(write_lines(sheet, (left, top + 8.0 * plan.unit), (small,), plan.name, theme.note))
    name = step.name
    if lesson.day is not None and step.stop:
        name = f"{name} \u2013 not at {lesson.day.words}"
    room = right - left - 2.6 * radius
    size = min(plan.title, plan.title * room / text_width(name, plan.title, bold=True))
    ink = WARN if step.stop else theme.ink
    boxes += write_lines(sheet, (left + 2.6 * radius, y), (name,), size, ink, bold=True)
    if sheet is not None:
        ink_number(sheet, step.number, (left + radius, y), radius)
    return tuple(boxes)


def ink_number(
    sheet: Sheet, number: int, centre: tuple[float, float], radius: float, order: float = 9.0
) -> None:
    """Ink the number of the step that is being laid in a disc of its colour."""
    ink_marker(sheet, number, centre, radius, order=order, theme=_NOW_THEME)


_NOW_THEME = Theme(
    ink=NOW,
    note=LIGHT.note,
    measure=LIGHT.measure,
    trail=LIGHT.trail,
    paper=LIGHT.paper,
    panel=LIGHT.panel,
)


def write_panel(
    sheet: Sheet | None, rows: Sequence[Row], plan: StepPlan, theme: Theme
) -> tuple[Box, ...]:
    """Write rows under one another into the panel, in smaller letters where they are many."""
    left, top, right, bottom = plan.panel
    x, y = left + 26.0 * plan.unit, top + 22.0 * plan.unit
    width, room = right - x - 30.0 * plan.unit, bottom - y - 24.0 * plan.unit
    for factor in (*_GROWN, *_SHRINK):
        size = factor * plan.note
        set_rows = [(head, broken(_sentence(words), size, width), ink) for head, words, ink in rows]
        tall = sum(LINE_PITCH * (0.8 * size + size * len(lines)) for _, lines, _ in set_rows)
        gap = min(0.9 * size, (room - tall) / max(1, len(rows) - 1))
        if gap >= 0.45 * size:
            break
    boxes: list[Box] = []
    if sheet is not None:
        ring = [(left, top), (right, top), (right, bottom), (left, bottom)]
        sheet.polygon(ring, fill=theme.panel, order=0.5)
    gap = max(gap, 0.1 * size)
    for head, lines, ink in set_rows:
        small = 0.8 * size
        boxes += write_lines(
            sheet, (x, y + 0.5 * LINE_PITCH * small), (head.upper(),), small, NOW, bold=True
        )
        y += LINE_PITCH * small
        boxes += write_lines(sheet, (x, y + 0.5 * LINE_PITCH * size), lines, size, ink)
        y += LINE_PITCH * size * len(lines) + gap
    return tuple(boxes)


def _sentence(words: str) -> str:
    words = words.strip()
    return f"{words[:1].upper()}{words[1:]}{'' if words.endswith('.') else '.'}"
