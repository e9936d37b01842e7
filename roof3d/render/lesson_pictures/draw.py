"""Draw all pictures of a lesson: its steps, all on one sheet, and the moving pictures."""

from __future__ import annotations

import io
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from roof3d.details.model import Detail
from roof3d.lesson.model import Lesson
from roof3d.project import Project
from roof3d.render.lesson_pictures.contact import draw_contact, trim_alike
from roof3d.render.lesson_pictures.film.roll import FILM_SIZE, Film, draw_film
from roof3d.render.lesson_pictures.section_figure import draw_section_figure
from roof3d.render.lesson_pictures.step_picture import ink_figure, ink_step, set_steps
from roof3d.render.lesson_pictures.wrong_picture import ink_wrong, ink_wrong_figure, set_wrong
from roof3d.render.machine import require_graphics

Tell = Callable[[int, int], None]
_WIDE = 1100
"""Pixels across at most of a picture in a handout."""
_QUALITY = 82


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Figure:
    """A picture for a handout: WebP, and its size in pixels."""

    data: bytes
    size: tuple[int, int]


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class LessonPictures:
    """The pictures of a lesson as files.

    Attributes
    ----------
    steps : tuple[bytes, ...]
        PNG, with all words.
    figures : tuple[Figure, ...]
        The layers of each step with their lengths, without words.
    contact : bytes
        PNG of all steps.
    overview : Figure
        The same, smaller.
    section : Figure
        The cut through the joint.
    film : Film or None
        None where none was wanted.
    wrong : bytes
        PNG of what is built wrong on purpose, with all words; empty for none.
    wrong_figure : Figure or None
        The same without words.
    """

    steps: tuple[bytes, ...]
    figures: tuple[Figure, ...]
    contact: bytes
    overview: Figure
    section: Figure
    film: Film | None
    wrong: bytes = b""
    wrong_figure: Figure | None = None


def draw_lesson(
    project: Project,
    detail: Detail,
    lesson: Lesson,
    size: tuple[int, int] = (1600, 1200),
    *,
    film: bool = True,
    wrong: Detail | None = None,
    on_part: Tell | None = None,
) -> LessonPictures:
    """Draw the pictures of a lesson.

    Parameters
    ----------
    project : Project
    detail : Detail
        Of that project.
    lesson : Lesson
        Of that detail.
    size : tuple[int, int]
        Of the steps and the sheet of all, pixels.
    film : bool
        Whether moving pictures are drawn too.
    wrong : Detail or None
        The same joint built as ``lesson.wrong`` has it.
    on_part : callable of (int, int)
        Told how much of how much is drawn.

    Raises
    ------
    RoofError
        Code ``R3D-GRAPHICS``, where this machine cannot draw.
    """
    require_graphics()
    count = len(lesson.steps)
    total = 2 * count if film else count
    steps, told, bare = [], [], []
    for picture in set_steps(project, detail, lesson, size):
        steps.append(ink_step(picture))
        told.append(ink_figure(picture))
        bare.append(ink_figure(picture, lengths=False))
        if on_part is not None:
            on_part(picture.step.number, total)
    contact = draw_contact(lesson, bare, size)

    def on_move(done: int, of: int) -> None:
        if on_part is not None:
            on_part(count + round(count * done / of), total)

    wrong_png, wrong_figure = b"", None
    if wrong is not None and lesson.wrong is not None:
        picture_of_wrong = set_wrong(project, wrong, lesson, lesson.wrong, size)
        wrong_png = ink_wrong(picture_of_wrong)
        wrong_figure = _figure(trim_alike([ink_wrong_figure(picture_of_wrong)])[0])
    return LessonPictures(
        steps=tuple(steps),
        figures=tuple(_figure(figure) for figure in trim_alike(told)),
        contact=contact,
        overview=_reduced(contact),
        section=_figure(draw_section_figure(project, detail)),
        film=draw_film(project, detail, lesson, FILM_SIZE, on_move) if film else None,
        wrong=wrong_png,
        wrong_figure=wrong_figure,
    )


def _figure(pixels: NDArray[np.uint8]) -> Figure:
    from PIL import Image

    return _webp(Image.fromarray(np.ascontiguousarray(pixels)))


def _reduced(png: bytes) -> Figure:
    from PIL import Image

    return _webp(Image.open(io.BytesIO(png)))


def _webp(picture: Any) -> Figure:
    from PIL import Image

    if picture.width > _WIDE:
        tall = max(1, round(picture.height * _WIDE / picture.width))
        picture = picture.resize((_WIDE, tall), Image.Resampling.LANCZOS)
    buffer = io.BytesIO()
    picture.save(buffer, format="WEBP", quality=_QUALITY, method=4)
    return Figure(data=buffer.getvalue(), size=picture.size)
