"""The picture of one step: what is being laid in full colour, what lies already faded."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from roof3d.details.model import Detail, PieceKind
from roof3d.lesson.model import Lesson, Step
from roof3d.project import Project
from roof3d.render.detail_ink.dimension import DrawnDimension, ink_dimension
from roof3d.render.detail_ink.markers import Marker
from roof3d.render.detail_ink.palette import LIGHT
from roof3d.render.lesson_pictures.measures import measure_step, number_step
from roof3d.render.lesson_pictures.plan import NOW, StepPlan, plan_step
from roof3d.render.lesson_pictures.stage import (
    Edges,
    Stage,
    draw_stage,
    ink_edges,
    rim_runs,
    set_stage,
)
from roof3d.render.lesson_pictures.words import ink_number, write_step
from roof3d.render.lettering import Box
from roof3d.render.passes import Raster
from roof3d.render.sheet import Sheet

_BESIDE, _LEFT = 132.0, 30.0
"""Pixels at 1600 kept free beside the layers for their lengths, and at the left."""
_FAINT = 0.3
_STANDS = frozenset({PieceKind.WALL, PieceKind.UNIT})
_SLIVERS = 6000
"""How many slivers would fill the sheet: of less than one nothing is seen."""


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class StepPicture:
    """The picture of a step before it is inked.

    Attributes
    ----------
    lesson : Lesson
    step : Step
    stage : Stage
    plan : StepPlan
    raster : Raster
        What lies before faded.
    dimensions : tuple[DrawnDimension, ...]
    marker : Marker or None
        The step's number; None where its layer is not in sight.
    words : tuple[Box, ...]
        What title, words, strip and cautions cover.
    edges : tuple[Edges, Edges]
        What is seen of the edges of what lies before, and of what is being laid.
    """

    lesson: Lesson
    step: Step
    stage: Stage
    plan: StepPlan
    raster: Raster
    dimensions: tuple[DrawnDimension, ...]
    marker: Marker | None
    words: tuple[Box, ...]
    edges: tuple[Edges, Edges]

    @property
    def texts(self) -> tuple[Box, ...]:
        """Every text of the picture, the number too."""
        own = () if self.marker is None else (self.marker.box,)
        return (*self.words, *(drawn.box for drawn in self.dimensions), *own)


def set_steps(
    project: Project, detail: Detail, lesson: Lesson, size: tuple[int, int] = (1600, 1200)
) -> Iterator[StepPicture]:
    """Set the picture of each step, one after the other, all from one camera.

    Parameters
    ----------
    project : Project
    detail : Detail
        Of that project.
    lesson : Lesson
        Of that detail.
    size : tuple[int, int]
        Pixels.
    """
    plan = plan_step(size)
    room = (_LEFT * plan.unit, 8.0 * plan.unit, _BESIDE * plan.unit, 0.0)
    stage = set_stage(project, detail, size, plan.figure, room)
    for step in lesson.steps:
        yield set_step(stage, lesson, step, plan)


def set_step(stage: Stage, lesson: Lesson, step: Step, plan: StepPlan) -> StepPicture:
    """Set the picture of one step."""
    before = {other.layer for other in lesson.steps if other.number < step.number}
    old, new = stage.numbers(before), stage.numbers({step.layer})
    raster = draw_step(stage, old, new)
    words = write_step(None, lesson, step, plan)
    dimensions = tuple(
        drawn
        for drawn in measure_step(stage, step.layer, plan)
        if not any(drawn.box.overlaps(box) for box in words)
    )
    covers = [box for drawn in dimensions for box in drawn.covers]
    radius = 1.05 * plan.name
    return StepPicture(
        lesson=lesson,
        step=step,
        stage=stage,
        plan=plan,
        raster=raster,
        dimensions=dimensions,
        marker=number_step(stage, raster, step.layer, radius, plan, covers),
        words=words,
        edges=(rim_runs(stage, raster, old), rim_runs(stage, raster, new)),
    )


def draw_step(stage: Stage, old: Sequence[int], new: Sequence[int]) -> Raster:
    """Rasterise what lies before, faded, and what is new: through what stands in front of it."""
    raster = draw_stage(stage, (*old, *new), old)
    seen = np.count_nonzero(np.isin(raster.ids, new))
    if seen * _SLIVERS > raster.ids.size:
        return raster
    through = [n for n in old if stage.detail.pieces[n - 1].kind not in _STANDS]
    other = draw_stage(stage, (*through, *new), through)
    return other if np.count_nonzero(np.isin(other.ids, new)) > 2 * seen else raster


def ink_step(picture: StepPicture) -> bytes:
    """Ink the picture of a step with its words; returns a PNG."""
    sheet = Sheet(picture.stage.camera.size, LIGHT.paper)
    _ink_layers(sheet, picture)
    write_step(sheet, picture.lesson, picture.step, picture.plan)
    return sheet.png()


def ink_figure(picture: StepPicture, *, lengths: bool = True) -> NDArray[np.uint8]:
    """Ink the layers of a step alone, cut out of its sheet, (h, w, 3)."""
    sheet = Sheet(picture.stage.camera.size, LIGHT.paper)
    _ink_layers(sheet, picture, lengths=lengths)
    left, top, right, bottom = (round(side) for side in picture.plan.figure)
    return sheet.pixels()[top:bottom, left : right + round(12.0 * picture.plan.unit)]


def _ink_layers(sheet: Sheet, picture: StepPicture, *, lengths: bool = True) -> None:
    unit = picture.plan.unit
    sheet.image(picture.raster.colour)
    before, new = picture.edges
    ink_edges(sheet, before, 1.3 * unit, _FAINT)
    ink_edges(sheet, new, 1.7 * unit)
    if not lengths:
        return
    for drawn in picture.dimensions:
        ink_dimension(sheet, drawn, picture.plan.note, 1.2 * unit)
    if picture.marker is not None:
        ink_leader(sheet, picture.marker, unit)


def ink_leader(sheet: Sheet, marker: Marker, unit: float) -> None:
    """Ink the number of a step with the line that leads to its layer."""
    if marker.leader:
        sheet.lines([marker.leader], width=4.0 * unit, ink=LIGHT.paper, alpha=0.85, order=7.0)
        sheet.lines([marker.leader], width=1.6 * unit, ink=NOW, order=7.1)
        sheet.disc(
            marker.anchor, 4.5 * unit, fill=NOW, ink=LIGHT.paper, width=1.4 * unit, order=7.2
        )
    ink_number(sheet, marker.number, marker.centre, marker.radius)
