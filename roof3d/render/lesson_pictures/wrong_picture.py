"""The picture of a build that is wrong on purpose, with the way the water takes."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from roof3d.details.model import Detail
from roof3d.lesson.model import Lesson, Wrong
from roof3d.project import Project
from roof3d.render.detail_ink.palette import LIGHT
from roof3d.render.detail_ink.paragraph import write_lines
from roof3d.render.detail_ink.water import entry_of
from roof3d.render.lesson_pictures.plan import WARN, StepPlan, plan_step
from roof3d.render.lesson_pictures.stage import (
    Edges,
    Stage,
    draw_stage,
    ink_edges,
    rim_runs,
    set_stage,
)
from roof3d.render.lesson_pictures.words import Row, write_cautions, write_panel
from roof3d.render.lettering import Box
from roof3d.render.passes import Colour, Raster
from roof3d.render.sheet import Pixel, Sheet, shortened, text_width
from roof3d.render.visibility import split_lines
from roof3d.scene.detail_scene import FAULT, WATER, fault_of, scene_of

STREAM: Colour = (0.03, 0.33, 0.72)
"""The way of the water."""
_RING = 26.0
_SUNK = 1.5
"""Pixels by which the water counts as deeper: under one thin sheet it is hidden."""


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class WrongPicture:
    """The picture of a wrong build before it is inked.

    Attributes
    ----------
    lesson : Lesson
    wrong : Wrong
    stage : Stage
    plan : StepPlan
    raster : Raster
    edges : Edges
    open_way, hidden_way : tuple of pairs of Pixel
        Where the water runs in sight, and under what lies over it.
    fault : Pixel or None
        Where it gets in.
    words : tuple[Box, ...]
    """

    lesson: Lesson
    wrong: Wrong
    stage: Stage
    plan: StepPlan
    raster: Raster
    edges: Edges
    open_way: tuple[tuple[Pixel, Pixel], ...]
    hidden_way: tuple[tuple[Pixel, Pixel], ...]
    fault: Pixel | None
    words: tuple[Box, ...]


def set_wrong(
    project: Project,
    detail: Detail,
    lesson: Lesson,
    wrong: Wrong,
    size: tuple[int, int] = (1600, 1200),
) -> WrongPicture:
    """Set the picture of a wrong build.

    Parameters
    ----------
    project : Project
    detail : Detail
        Built wrong.
    lesson : Lesson
        Of the same joint built right.
    wrong : Wrong
        The lesson's.
    size : tuple[int, int]
        Pixels.
    """
    plan = plan_step(size)
    room = (30.0 * plan.unit, 30.0 * plan.unit, 30.0 * plan.unit, 30.0 * plan.unit)
    stage = set_stage(project, detail, size, plan.figure, room)
    every = laid_until(project, detail)
    raster = draw_stage(stage, every)
    scene = scene_of(detail, project)
    way = [line.ends for line in scene.lines if line.style == WATER]
    sunk = -_SUNK / stage.camera.pixels_per_metre
    runs = [run for line in split_lines(raster, stage.camera, way, proud=sunk) for run in line]
    at = next((label.anchor for label in scene.labels if label.subject.endswith(FAULT)), None)
    return WrongPicture(
        lesson=lesson,
        wrong=wrong,
        stage=stage,
        plan=plan,
        raster=raster,
        edges=rim_runs(stage, raster, every),
        open_way=tuple((run.start, run.end) for run in runs if run.visible),
        hidden_way=tuple((run.start, run.end) for run in runs if not run.visible),
        fault=None if at is None else entry_of(runs, stage.camera, at),
        words=write_wrong(None, lesson, wrong, plan),
    )


def laid_until(project: Project, detail: Detail) -> tuple[int, ...]:
    """Return the part numbers of what lies when the mistake can still be seen.

    What is laid over it later is left out; where a layer is missing the next one is shown.
    """
    # The same that the scene leads the water to.
    shown = fault_of(detail, project)
    layers = set() if shown is None else set(shown.layers)
    if detail.missing:
        gone = detail.missing[0].number
        layers |= {min((n.number for n in detail.layers if n.number > gone), default=gone)}
    last = max((p.order for p in detail.pieces if p.layer in layers), default=len(detail.pieces))
    return tuple(k for k, p in enumerate(detail.pieces, start=1) if p.order <= last)


def ink_wrong(picture: WrongPicture) -> bytes:
    """Ink the picture of a wrong build with its words; returns a PNG."""
    sheet = Sheet(picture.stage.camera.size, LIGHT.paper)
    _ink_build(sheet, picture)
    write_wrong(sheet, picture.lesson, picture.wrong, picture.plan)
    return sheet.png()


def ink_wrong_figure(picture: WrongPicture) -> NDArray[np.uint8]:
    """Ink the wrong build alone, without a word of what is wrong, (h, w, 3)."""
    sheet = Sheet(picture.stage.camera.size, LIGHT.paper)
    _ink_build(sheet, picture)
    left, top, right, bottom = (round(side) for side in picture.plan.figure)
    return sheet.pixels()[top:bottom, left:right]


def write_wrong(
    sheet: Sheet | None, lesson: Lesson, wrong: Wrong, plan: StepPlan
) -> tuple[Box, ...]:
    """Write what is wrong, what the water does, what it costs, how it is seen."""
    left, top, right, _ = plan.head
    what = f"{lesson.title}: {lesson.summary}   \u00b7   {lesson.model}"
    small = shortened(what, plan.name, right - left)
    boxes = list(write_lines(sheet, (left, top + 8.0 * plan.unit), (small,), plan.name, LIGHT.note))
    title = f"Wrong on purpose: {wrong.title[:1].lower()}{wrong.title[1:]}"
    size = min(plan.title, plan.title * (right - left) / text_width(title, plan.title, bold=True))
    at = (left, top + 68.0 * plan.unit)
    boxes += write_lines(sheet, at, (title,), size, WARN, bold=True)
    rows: list[Row] = [
        ("What is wrong", wrong.wrong, WARN),
        ("What the water does", wrong.water, STREAM),
        ("What that costs", wrong.cost, LIGHT.ink),
        ("How it is seen in time", wrong.see, LIGHT.ink),
        ("Source", wrong.source, LIGHT.note),
    ]
    boxes += write_panel(sheet, rows, plan, LIGHT)
    note = (
        "Blue: the way of the water, dashed where it runs hidden. Ring: where it gets in. What is "
        "laid later is left out."
    )
    x, y, end, _ = plan.strip
    words = shortened(note, plan.name, end - x)
    boxes += write_lines(sheet, (x, y + 14.0 * plan.unit), (words,), plan.name, LIGHT.ink)
    boxes += write_cautions(sheet, lesson, plan.cautions, plan.small)
    return tuple(boxes)


def _ink_build(sheet: Sheet, picture: WrongPicture) -> None:
    unit = picture.plan.unit
    sheet.image(picture.raster.colour)
    ink_edges(sheet, picture.edges, 1.5 * unit)
    both = (*picture.open_way, *picture.hidden_way)
    sheet.lines(both, width=9.0 * unit, ink=LIGHT.paper, alpha=0.75, order=6.0)
    sheet.lines(picture.open_way, width=5.0 * unit, ink=STREAM, order=6.1)
    dash = (10.0 * unit, 7.0 * unit)
    sheet.lines(picture.hidden_way, width=4.0 * unit, ink=STREAM, dash=dash, order=6.1)
    if picture.fault is None:
        return
    x, y = picture.fault
    turns = np.linspace(0.0, 2.0 * np.pi, 49)
    radius = _RING * unit
    ring = np.column_stack((x + radius * np.cos(turns), y + radius * np.sin(turns)))
    sheet.lines([ring], width=8.0 * unit, ink=LIGHT.paper, alpha=0.85, order=6.2)
    sheet.lines([ring], width=4.0 * unit, ink=WARN, order=6.3)
