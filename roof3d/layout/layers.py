"""Lay the layers of one plane, bottom up: what each covers, its courses, pieces and nails."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely

from roof3d.catalog.laying import Border, Layer
from roof3d.catalog.material import Material, MaterialForm
from roof3d.catalog.model import Assembly, Catalog
from roof3d.errors import Finding, LayoutError, Severity
from roof3d.layout.borders.extent import cut_away, extent_of
from roof3d.layout.borders.ice import IceRule, without_ice
from roof3d.layout.model import Course, Direction, Floats, LaidLayer, Side
from roof3d.layout.nails.sheets import nail_sheets
from roof3d.layout.nails.shingles import nail_shingles
from roof3d.layout.offsets import (
    Kept,
    Shortfall,
    StartRule,
    choose_firsts,
    end_laps_of,
    even_laps,
    lap_distance,
)
from roof3d.layout.rows import courses_of, starts_far
from roof3d.layout.runs import lay_sheets
from roof3d.layout.shingles import lay_shingles
from roof3d.layout.zones import Zoned
from roof3d.roof.model import Plane
from roof3d.spec.model import RoofSpec, Wind
from roof3d.tolerance import DEFAULT, Tolerance
from roof3d.units import Units, format_length

_LAID_OUT = (MaterialForm.SHEET, MaterialForm.SHINGLE)


@dataclass(frozen=True, slots=True, kw_only=True)
class Ground:
    """A plane made ready for its layers.

    ``ice`` is None where no ice barrier is asked for. ``valleys`` says of each closed-cut
    valley, by its edge, how the shingles of this plane end there. ``from_far``: every layer
    starts at the side of greatest ``u``. ``spare``: so much of the last shingle course lies
    under the ridge pieces that it need not be laid for it alone.
    """

    plane: Plane
    outline: shapely.Polygon
    sides: tuple[Side, ...]
    zones: Zoned | None
    ice: IceRule | None
    valleys: Mapping[str, Border]
    from_far: bool = False
    spare: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class _Task:
    """A layer to be laid: its number in the assembly, its material, what it covers."""

    number: int
    layer: Layer
    material: Material
    extent: shapely.Geometry
    direction: Direction
    side_lap: float
    end_lap: float
    first: float

    @property
    def doubled(self) -> bool:
        """Whether it laps by half or more, so that every point lies under two sheets."""
        return 2.0 * self.side_lap >= self.material.width

    def range(self) -> tuple[float, float]:
        """Return its extent in the stacking direction."""
        axis = 1 if self.direction is Direction.ACROSS else 0
        bounds = self.extent.bounds
        return bounds[axis], bounds[axis + 2]


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
    tasks = _tasks(ground, assembly, catalog, tol)
    zones = (ground.zones.corner, ground.zones.perimeter) if ground.zones else ()
    shapes = (ground.outline, *(task.extent for task in tasks), *zones)
    ground = replace(ground, from_far=starts_far(shapes, tol=tol))
    if spec.layout.even_laps:
        tasks = [task for group in _touching(tasks) for task in _evened(group)]
    laid: list[LaidLayer] = []
    findings: list[Finding] = []
    for group in _touching(tasks):
        starts = choose_firsts([_start_rule(task, ground, tol) for task in group], tol=tol)
        findings += [
            _told(ground, group[short.layer], short, spec.units) for short in starts.shortfalls
        ]
        below = None
        for task, first in zip(group, starts.firsts, strict=True):
            below, told = _lay(replace(task, first=first), ground, below, spec, tol)
            laid.append(below)
            findings += [_told(ground, task, short, spec.units) for short in told]
    return tuple(laid), tuple(findings)


def _tasks(ground: Ground, assembly: Assembly, catalog: Catalog, tol: Tolerance) -> list[_Task]:
    tasks = []
    slope = ground.plane.slope
    for number, layer in enumerate(assembly.layers_at(slope, tol=tol), 1):
        material = catalog.material(layer.material)
        if material.form not in _LAID_OUT or (layer.ice_only and ground.ice is None):
            continue
        extent = _extent(ground, layer, material, tol)
        if extent.is_empty:
            continue
        along = slope >= layer.along_from - tol.slope
        shingle = material.form is MaterialForm.SHINGLE
        side_lap = material.width - material.exposure if shingle else material.side_lap
        tasks.append(
            _Task(
                number=number,
                layer=layer,
                material=material,
                extent=extent,
                direction=Direction.ALONG if along else Direction.ACROSS,
                side_lap=max(layer.side_lap, side_lap),
                end_lap=max(layer.end_lap, material.end_lap),
                first=layer.first * material.width,
            )
        )
    return tasks


def _extent(ground: Ground, layer: Layer, material: Material, tol: Tolerance) -> shapely.Geometry:
    """Return what a layer covers: the outline moved side by side, parted at the ice line."""
    listed = {border for border, _ in layer.reach}
    own = [
        replace(side, border=end)
        if (end := ground.valleys.get(side.edge)) in listed and end is not None
        else side
        for side in ground.sides
    ]
    turned = material.form is MaterialForm.SHEET
    extent = extent_of(ground.outline, own, layer, cut_corners=turned, tol=tol)
    if ground.ice is None or not (layer.ice_only or layer.after_ice > 0.0):
        return extent
    above = without_ice(
        extent,
        ground.outline,
        ground.sides,
        ground.plane.slope,
        ground.ice,
        0.0 if layer.ice_only else layer.after_ice,
        tol=tol,
    )
    if not layer.ice_only:
        return above
    return cut_away(extent, [[above]], tol=tol)


def _touching(tasks: Sequence[_Task]) -> Iterator[list[_Task]]:
    """Yield runs of layers each of which keeps its laps off those of the one before."""
    group: list[_Task] = []
    for task in tasks:
        bound = task.material.side_offset > 0.0 and not task.doubled
        if group and not (bound and task.direction is group[-1].direction):
            yield group
            group = []
        group.append(task)
    if group:
        yield group


def _evened(group: list[_Task]) -> list[_Task]:
    laps = even_laps([(task.material.width, task.side_lap) for task in group])
    return [replace(task, side_lap=lap) for task, lap in zip(group, laps, strict=True)]


def _start_rule(task: _Task, ground: Ground, tol: Tolerance) -> StartRule:
    low, high = task.range()
    if task.direction is Direction.ALONG and ground.from_far:
        low, high = -high, -low
    return StartRule(
        low=low,
        high=high,
        width=task.material.width,
        lap=task.side_lap,
        first=task.first,
        least_offset=task.material.side_offset,
        clear=tuple(_clear_lines(task, ground, tol)),
    )


def _clear_lines(task: _Task, ground: Ground, tol: Tolerance) -> Iterator[tuple[float, float]]:
    """Yield joints that the sheets cross and their laps run along: the sheets bend there."""
    if task.layer.clear <= 0.0 or task.direction is Direction.ALONG:
        return
    for side in ground.sides:
        level = abs(side.end[1] - side.start[1]) <= tol.snap
        if side.border is Border.JOINT_LOWER and level:
            yield (side.start[1] + side.end[1]) / 2.0, task.layer.clear


def _lay(
    task: _Task, ground: Ground, below: LaidLayer | None, spec: RoofSpec, tol: Tolerance
) -> tuple[LaidLayer, tuple[Shortfall, ...]]:
    lay = _lay_shingles if task.material.form is MaterialForm.SHINGLE else _lay_sheets
    try:
        return lay(task, ground, below, spec, tol)
    except LayoutError as error:
        place = f"layers[{_id(ground, task)}]"
        raise LayoutError(error.message, where=place, hint=error.hint) from error


def _lay_sheets(
    task: _Task, ground: Ground, below: LaidLayer | None, _spec: RoofSpec, tol: Tolerance
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
        id=_id(ground, task),
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


def _nail_sheets(task: _Task, courses: Sequence[Course], ground: Ground, tol: Tolerance) -> Floats:
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
        from_high=ground.from_far and task.direction is Direction.ALONG,
        tol=tol,
    )
    return _fixed(nails)


def _lay_shingles(
    task: _Task, ground: Ground, _below: LaidLayer | None, spec: RoofSpec, tol: Tolerance
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
        id=_id(ground, task),
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


def _id(ground: Ground, task: _Task) -> str:
    return f"{ground.plane.id}/{task.layer.role.replace(' ', '-')}"


def _fixed(nails: Floats) -> Floats:
    nails.setflags(write=False)
    return nails


_KEPT_IN_DATA = {
    Kept.SIDE_OFFSET: "side_offset",
    Kept.END_OFFSET: "end_offset",
    Kept.STAGGER: "stagger",
}


def _told(ground: Ground, task: _Task, short: Shortfall, units: Units) -> Finding:
    """Say which distance the pieces do not keep, by how much, and what would help."""
    value = _KEPT_IN_DATA.get(short.kept)
    advice = (
        "; even_laps = true under [layout] gives the sheets one exposure"
        if short.kept is Kept.SIDE_OFFSET
        else ""
    )
    kept = "side laps from the joint with shingles" if short.kept is Kept.CLEAR else short.kept
    return Finding(
        code="R3D-LAPS",
        severity=Severity.CAUTION,
        where=f"layers[{_id(ground, task)}]",
        message=(
            f"{task.material.name}: {kept}: {format_length(short.reached, units)} at the "
            f"nearest, {format_length(short.wanted, units)} asked; no cut keeps it{advice}"
        ),
        source=task.material.source_of(value) if value else task.layer.source,
    )
