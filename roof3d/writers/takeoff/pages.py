"""The pages behind the items: layers, strips along edges, cutting, notes."""

from __future__ import annotations

import math
from collections import Counter
from itertools import groupby
from typing import Final

from roof3d.layout.model import LaidLayer, LaidPlane
from roof3d.takeoff.model import Cutting, Item, Unit
from roof3d.units import FOOT, INCH, Units, format_length
from roof3d.writers.takeoff.amounts import amount_in, packs_text
from roof3d.writers.takeoff.grid import Cell, Column, Grid, Look
from roof3d.writers.takeoff.job import Job, laid_area

MILLIMETRES: Final = 1000.0
LAYER_NOTES: Final = (
    "Extent: the plane and what the layer runs past an edge, less what it stops short of one.",
    "Pieces laid less extent lies in laps.",
    "Offsets are from the laps of the layer below, the stagger is between neighbouring courses.",
)


def write_layers(grid: Grid, job: Job) -> None:
    """Write a row for each layer of each plane: areas, courses, pieces, laps, offsets."""
    imperial = job.units is Units.IMPERIAL
    area, small = ("sq ft", "in") if imperial else ("m2", "mm")
    areas = Look.TENTHS if imperial else Look.HUNDREDTHS
    lengths = Look.TENTHS if imperial else Look.WHOLE
    columns = (
        Column(head="Plane", width=20),
        Column(head="Layer", width=20),
        Column(head="Material", width=28),
        Column(head="Laid", width=8),
        Column(head=f"Plane, {area}", width=11, look=areas),
        Column(head=f"Extent of the layer, {area}", width=11, look=areas),
        Column(head=f"Pieces laid, {area}", width=11, look=areas),
        Column(head="Courses", width=9, look=Look.WHOLE),
        Column(head="Pieces", width=9, look=Look.WHOLE),
        Column(head="Fasteners", width=10, look=Look.WHOLE),
        Column(head=f"Side lap, {small}", width=8, look=lengths),
        Column(head=f"End lap, {small}", width=8, look=lengths),
        Column(head=f"Least side offset, {small}", width=10, look=lengths),
        Column(head=f"Least end offset, {small}", width=10, look=lengths),
        Column(head=f"Least stagger, {small}", width=10, look=lengths),
    )
    grid.head(0, columns)
    laid = [(plane, layer) for plane in job.layout.planes for layer in plane.layers]
    for row, (plane, layer) in enumerate(laid, start=1):
        grid.row(row, columns, _layer(plane, layer, job))
    for below, note in enumerate(LAYER_NOTES, start=len(laid) + 2):
        grid.put(below, 0, note)


def _layer(plane: LaidPlane, layer: LaidLayer, job: Job) -> tuple[Cell, ...]:
    def area(square_metres: float) -> float:
        return amount_in(square_metres, Unit.AREA, job.units)

    def small(metres: float) -> float | None:
        if metres == math.inf:
            return None
        size = metres / float(INCH) if job.units is Units.IMPERIAL else metres * MILLIMETRES
        return float(size)

    return (
        layer.plane,
        layer.role,
        job.name_of(layer.material),
        layer.direction.value,
        area(plane.plane.area),
        area(float(layer.extent.area)),
        area(laid_area(layer)),
        len(layer.courses),
        len(layer.pieces),
        len(layer.nails),
        small(layer.side_lap),
        small(layer.end_lap),
        small(layer.least_side_offset),
        small(layer.least_end_offset),
        small(layer.least_stagger),
    )


def write_edges(grid: Grid, job: Job) -> None:
    """Write a row for each strip along an edge: where, length, pieces, fasteners."""
    imperial = job.units is Units.IMPERIAL
    unit, small = ("ft", "in") if imperial else ("m", "mm")
    per_unit = float(FOOT) if imperial else 1.0
    per_small = float(INCH) if imperial else 1.0 / MILLIMETRES
    lengths = Look.TENTHS if imperial else Look.HUNDREDTHS
    columns = (
        Column(head="Edge", width=26),
        Column(head="What", width=20),
        Column(head="Material", width=30),
        Column(head="Planes", width=34, look=Look.WRAPPED),
        Column(head=f"Edge length, {unit}", width=11, look=lengths),
        Column(head=f"Width, {small}", width=9, look=Look.TENTHS if imperial else Look.WHOLE),
        Column(head=f"Lap, {small}", width=9, look=Look.TENTHS if imperial else Look.WHOLE),
        Column(head="Pieces", width=9, look=Look.WHOLE),
        Column(head="Fasteners", width=10, look=Look.WHOLE),
    )
    grid.head(0, columns)
    for row, strip in enumerate(job.layout.strips, start=1):
        cells: tuple[Cell, ...] = (
            strip.edge,
            strip.rule,
            job.name_of(strip.material),
            " + ".join(strip.planes),
            float(strip.length) / per_unit,
            float(strip.width) / per_small,
            float(strip.lap) / per_small,
            len(strip.pieces),
            len(strip.nails),
        )
        grid.row(row, columns, cells)


def write_cutting(grid: Grid, job: Job) -> None:
    """Write how each item is cut from whole ones, equal cuts together, and how good that is."""
    columns = (
        Column(head="Item", width=30, look=Look.WRAPPED),
        Column(head="How many", width=12, look=Look.WHOLE),
        Column(head="A whole one", width=14),
        Column(head="Cuts from each, longest first", width=70, look=Look.WRAPPED),
        Column(head="Left of each", width=14),
    )
    grid.head(0, columns)
    row = 1
    for item in job.items:
        if item.cutting is None:
            continue
        grid.put(row, 0, item.name, Look.WRAPPED, bold=True)
        grid.put(row, 3, verdict_text(item, item.cutting), Look.WRAPPED, italic=True)
        row += 1
        stock = format_length(item.cutting.stock, job.units)
        for count, cuts, left in grouped_patterns(item.cutting, job.units):
            cells: tuple[Cell, ...] = (None, count, stock, cuts, left)
            grid.row(row, columns, cells)
            row += 1


def verdict_text(item: Item, cutting: Cutting) -> str:
    """Say in a line how many whole ones are cut, and how far that may be from the least.

    Returns
    -------
    str
        ``12 rolls: no cutting needs fewer`` or ``12 rolls: no cutting needs fewer than 11``.
    """
    used = len(cutting.patterns)
    head = packs_text(used, item) if used == item.packs else f"{used:,} whole ones"
    if used <= cutting.bound:
        return f"{head}: no cutting needs fewer"
    if cutting.proven:
        return f"{head}: proven the fewest"
    return f"{head}: no cutting needs fewer than {cutting.bound:,}"


def grouped_patterns(cutting: Cutting, units: Units) -> list[tuple[int, str, str]]:
    """Return patterns that read alike together: how many, the cuts, what is left of each."""
    shown = Counter(
        (cuts_text(pattern, units), format_length(left, units))
        for pattern, left in zip(cutting.patterns, cutting.offcuts, strict=True)
    )
    return [(count, cuts, left) for (cuts, left), count in shown.items()]


def cuts_text(pattern: tuple[float, ...], units: Units) -> str:
    r"""Write a pattern with equal lengths together: ``2 x 10' 0"``, ``1 x 6' 6"``."""
    shown = [format_length(length, units) for length in pattern]
    return ", ".join(f"{len(list(group))} x {length}" for length, group in groupby(shown))


def write_notes(grid: Grid, job: Job) -> None:
    """Write how each item is counted, what is assumed, found and to be minded."""
    columns = (
        Column(head="Kind", width=14),
        Column(head="Where", width=30, look=Look.WRAPPED),
        Column(head="What", width=90, look=Look.WRAPPED),
        Column(head="Source", width=44, look=Look.WRAPPED),
    )
    grid.head(0, columns)
    rows: list[tuple[Cell, ...]] = [
        *(
            (finding.severity.value, finding.where, finding.message, finding.source)
            for finding in job.findings
        ),
        *(("safety", "", caution, "") for caution in job.cautions),
        *(("assumed", "", assumption, "") for assumption in job.assumptions),
        *(("counted", item.name, item.rule, item.source) for item in job.items),
    ]
    for row, cells in enumerate(rows, start=1):
        grid.row(row, columns, cells)
