"""Lay the layers of one plane, bottom up: courses, pieces and nails."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from roof3d.catalog.material import MaterialForm
from roof3d.catalog.model import Assembly, Catalog
from roof3d.errors import Finding, LayoutError
from roof3d.layout.layers.starts import say_shortfall, start_group, touching
from roof3d.layout.layers.task import Ground, Task, list_tasks
from roof3d.layout.model import Course, Direction, Floats, LaidLayer
from roof3d.layout.nails.sheets import nail_sheets
from roof3d.layout.nails.shingles import nail_shingles
from roof3d.layout.offsets import Shortfall, end_laps_of, lap_distance
from roof3d.layout.rows import courses_of, starts_far
from roof3d.layout.runs import lay_sheets
from roof3d.layout.shingles import lay_shingles
from roof3d.spec.model import RoofSpec, Wind
from roof3d.tolerance import DEFAULT, Tolerance


def lay_layers(
    ground: Ground,
    assembly: Assembly,
    catalog: Catalog,
    spec: RoofSpec,
    *,
    tol: Tolerance = DEFAULT,
) -> tuple[tuple[LaidLayer, ...], tuple[Finding, ...]]:
    """Lay every sheet and shingle layer of a plane.

    Parameters
    ----------
    ground : Ground
    assembly : Assembly
    catalog : Catalog
    spec : RoofSpec
        For the wind, the laps wished for, and the units of the words.
    tol : Tolerance

    Returns
    -------
    tuple of LaidLayer, tuple of Finding
        Bottom up; a layer that covers nothing here is left out. A distance that no cut of
        the first course keeps is told.

    Raises
    ------
    LayoutError
        Where a material cannot be laid as asked; its place is the layer.
    """
    tasks = list(list_tasks(ground, assembly, catalog, tol))
    zones = (ground.zones.corner, ground.zones.perimeter) if ground.zones else ()
    shapes = (ground.outline, *(task.extent for task in tasks), *zones)
    ground = replace(ground, from_far=starts_far(shapes, tol=tol))
    laid: list[LaidLayer] = []
    findings: list[Finding] = []
    for group in touching(tasks):
        started, found = start_group(group, ground, spec, tol)
        findings += found
        below = None
        for task in started:
            below, told = _lay(task, ground, below, spec, tol)
            laid.append(below)
            findings += [say_shortfall(task, short, spec.units) for short in told]
    return tuple(laid), tuple(findings)


def _lay(
    task: Task, ground: Ground, below: LaidLayer | None, spec: RoofSpec, tol: Tolerance
) -> tuple[LaidLayer, tuple[Shortfall, ...]]:
    lay = _lay_shingles if task.material.form is MaterialForm.SHINGLE else _lay_sheets
    try:
        return lay(task, ground, below, spec, tol)
    except LayoutError as error:
        place = f"layers[{task.id}]"
        raise LayoutError(error.message, where=place, hint=error.hint) from error


def _lay_sheets(
    task: Task, ground: Ground, below: LaidLayer | None, _spec: RoofSpec, tol: Tolerance
) -> tuple[LaidLayer, tuple[Shortfall, ...]]:
    material = task.material
    low, high = task.range()
    along = task.direction is Direction.ALONG
    courses = courses_of(
        low,
        high,
        width=material.width,
        lap=task.side_lap,
        first=task.first,
        starter=task.doubled,
        from_high=along and ground.from_far,
        tol=tol,
    )
    run = lay_sheets(
        task.extent,
        courses,
        direction=task.direction,
        length=material.length,
        end_lap=task.end_lap,
        stagger=material.stagger,
        end_offset=material.end_offset,
        shortest=material.shortest,
        below=below,
        from_high=ground.from_far and not along,
        tol=tol,
    )
    laps = end_laps_of(run.pieces, task.direction).boxes
    layer = LaidLayer(
        id=task.id,
        plane=ground.plane.id,
        role=task.layer.role,
        material=material.id,
        number=task.number,
        direction=task.direction,
        extent=task.extent,
        width=material.width,
        length=material.length,
        side_lap=task.side_lap,
        end_lap=task.end_lap,
        courses=courses,
        pieces=run.pieces,
        nails=_nail_sheets(task, courses, ground, tol),
        fastener=task.layer.nailing.fastener if task.layer.nailing else "",
        least_side_offset=lap_distance(below.courses, courses) if below else math.inf,
        least_end_offset=run.least_end_offset,
        least_stagger=run.least_stagger,
        bed=task.layer.bed,
        bed_area=float(np.prod(laps[:, 2:] - laps[:, :2], axis=1).sum()) if task.layer.bed else 0.0,
        primer=task.layer.primer,
        primer_area=float(task.extent.area) if task.layer.primer else 0.0,
    )
    return layer, run.shortfalls


def _nail_sheets(task: Task, courses: Sequence[Course], ground: Ground, tol: Tolerance) -> Floats:
    if task.layer.nailing is None:
        return _fixed(np.empty((0, 2)))
    nails = nail_sheets(
        courses,
        direction=task.direction,
        side_lap=task.side_lap,
        nailing=task.layer.nailing,
        extent=task.extent,
        sides=ground.sides,
        zones=ground.zones,
        edge_rows=not task.top,
        from_high=ground.from_far and task.direction is Direction.ALONG,
        tol=tol,
    )
    return _fixed(nails)


def _lay_shingles(
    task: Task, ground: Ground, _below: LaidLayer | None, spec: RoofSpec, tol: Tolerance
) -> tuple[LaidLayer, tuple[Shortfall, ...]]:
    material, nailing = task.material, task.layer.nailing
    run = lay_shingles(
        task.extent,
        low=task.range()[0],
        material=material,
        from_high=ground.from_far,
        spare=ground.spare,
        tol=tol,
    )
    nails = np.empty((0, 2))
    if nailing is not None:
        windy = spec.site.wind is Wind.HIGH
        nails = nail_shingles(run.pieces, nailing, length=material.length, high_wind=windy, tol=tol)
    layer = LaidLayer(
        id=task.id,
        plane=ground.plane.id,
        role=task.layer.role,
        material=material.id,
        number=task.number,
        direction=task.direction,
        extent=task.extent,
        width=material.width,
        length=material.length,
        side_lap=task.side_lap,
        end_lap=0.0,
        courses=run.courses,
        pieces=run.pieces,
        nails=_fixed(nails),
        fastener=nailing.fastener if nailing is not None else "",
        least_side_offset=math.inf,
        least_end_offset=math.inf,
        least_stagger=run.least_stagger,
    )
    return layer, run.shortfalls


def _fixed(nails: Floats) -> Floats:
    nails.setflags(write=False)
    return nails
