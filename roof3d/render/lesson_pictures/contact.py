"""All steps on one sheet, to hang on a wall or to hand out."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from roof3d.lesson.model import Lesson
from roof3d.render.detail_ink.palette import LIGHT
from roof3d.render.detail_ink.paragraph import broken, write_lines
from roof3d.render.lesson_pictures.plan import NOW, Area
from roof3d.render.lesson_pictures.words import ink_number, write_cautions
from roof3d.render.lettering import LINE_PITCH, Box
from roof3d.render.sheet import Sheet, shortened

_LINES = 2
"""Of a step's size under its name, at most."""
_SMALLEST = 11.0
"""Its letters, where it needs more room."""


def draw_contact(
    lesson: Lesson, figures: Sequence[NDArray[np.uint8]], size: tuple[int, int] = (1600, 1200)
) -> bytes:
    """Draw all steps on one sheet; returns a PNG.

    Parameters
    ----------
    lesson : Lesson
    figures : sequence of (h, w, 3) uint8
        One a step, all of one size, without lengths.
    size : tuple[int, int]
        Of the sheet, pixels.
    """
    figures = trim_alike(figures)
    cells = contact_cells(len(figures), size, figures[0].shape[1] / figures[0].shape[0])
    image = np.full((size[1], size[0], 3), 255, dtype=np.uint8)
    for figure, (left, top, right, bottom) in zip(figures, cells, strict=True):
        words = _words_height(size)
        small = _fitted(figure, round(right - left), round(bottom - top - words))
        x = round(left + (right - left - small.shape[1]) / 2.0)
        image[round(top) : round(top) + small.shape[0], x : x + small.shape[1]] = small
    sheet = Sheet(size, LIGHT.paper)
    sheet.image(image)
    write_contact(sheet, lesson, cells, size)
    return sheet.png()


def write_contact(
    sheet: Sheet | None, lesson: Lesson, cells: Sequence[Area], size: tuple[int, int]
) -> tuple[Box, ...]:
    """Write title, names and cautions; returns their boxes."""
    unit = _unit(size)
    width, height = size
    edge = 36.0 * unit
    title = shortened(
        f"{lesson.title} in {len(lesson.steps)} steps", 34.0 * unit, width - 2.0 * edge, bold=True
    )
    boxes = list(
        write_lines(sheet, (edge, 44.0 * unit), (title,), 34.0 * unit, LIGHT.ink, bold=True)
    )
    under = shortened(
        f"{lesson.model}: {lesson.place}, {lesson.summary}", 18.0 * unit, width - 2.0 * edge
    )
    boxes += write_lines(sheet, (edge, 84.0 * unit), (under,), 18.0 * unit, LIGHT.note)
    for step, (left, _, right, bottom) in zip(lesson.steps, cells, strict=True):
        y = bottom - _words_height(size) + 18.0 * unit
        radius = 14.0 * unit
        x, name = left + 2.7 * radius, 18.0 * unit
        words = shortened(step.name, name, right - x, bold=True)
        boxes += write_lines(sheet, (x, y), (words,), name, LIGHT.ink, bold=True)
        small = 14.0 * unit
        lines = broken(f"{step.size[:1].upper()}{step.size[1:]}", small, right - x)
        while len(lines) > _LINES and small > _SMALLEST * unit:
            small -= 0.5 * unit
            lines = broken(f"{step.size[:1].upper()}{step.size[1:]}", small, right - x)
        if len(lines) > _LINES:
            rest = shortened(" ".join(lines[_LINES - 1 :]), small, right - x)
            lines = (*lines[: _LINES - 1], rest)
        below = y + 0.5 * LINE_PITCH * (name + small) + 1.0 * unit
        boxes += write_lines(sheet, (x, below), lines, small, LIGHT.note)
        if sheet is not None:
            ink_number(sheet, step.number, (left + radius, y), radius)
            sheet.lines([[(left, bottom), (right, bottom)]], width=1.0 * unit, ink=NOW, alpha=0.25)
    area = (edge, height - 62.0 * unit, width - edge, height - 10.0 * unit)
    boxes += write_cautions(sheet, lesson, area, 13.0 * unit)
    return tuple(boxes)


def contact_cells(count: int, size: tuple[int, int], shape: float) -> tuple[Area, ...]:
    """Return the cells of a sheet in reading order, their figures as large as can be.

    Parameters
    ----------
    shape : float
        Width over height of a figure.
    """
    unit = _unit(size)
    left, top = 36.0 * unit, 112.0 * unit
    right, bottom = size[0] - 36.0 * unit, size[1] - 74.0 * unit
    gap = 22.0 * unit

    def figure(columns: int) -> float:
        rows = math.ceil(count / columns)
        wide = (right - left - gap * (columns - 1)) / columns
        tall = (bottom - top - gap * (rows - 1)) / rows - _words_height(size)
        return min(wide, tall * shape)

    columns = max(range(1, count + 1), key=figure)
    rows = math.ceil(count / columns)
    wide = (right - left - gap * (columns - 1)) / columns
    tall = (bottom - top - gap * (rows - 1)) / rows
    return tuple(
        (
            left + (wide + gap) * (k % columns),
            top + (tall + gap) * (k // columns),
            left + (wide + gap) * (k % columns) + wide,
            top + (tall + gap) * (k // columns) + tall,
        )
        for k in range(count)
    )


def trim_alike(figures: Sequence[NDArray[np.uint8]]) -> list[NDArray[np.uint8]]:
    """Cut bare paper off figures of one size, all alike: layers keep their place."""
    drawn = np.logical_or.reduce([(figure < 255).any(axis=-1) for figure in figures])
    rows, columns = np.flatnonzero(drawn.any(axis=1)), np.flatnonzero(drawn.any(axis=0))
    if not len(rows):
        return list(figures)
    return [figure[rows[0] : rows[-1] + 1, columns[0] : columns[-1] + 1] for figure in figures]


def _unit(size: tuple[int, int]) -> float:
    return min(size[0] / 1600.0, size[1] / 1200.0)


def _words_height(size: tuple[int, int]) -> float:
    return 76.0 * _unit(size)


def _fitted(figure: NDArray[np.uint8], wide: int, tall: int) -> NDArray[np.uint8]:
    """Return a figure shrunk to fit into a cell."""
    from PIL import Image

    height, width = figure.shape[:2]
    share = min(wide / width, tall / height)
    to = (max(1, int(width * share)), max(1, int(height * share)))
    image = Image.fromarray(np.ascontiguousarray(figure)).resize(to, Image.Resampling.LANCZOS)
    return np.asarray(image)
