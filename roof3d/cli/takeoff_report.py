"""What a take-off reads like: items with their places, layers, cutting, what must be told."""

from __future__ import annotations

import math
from decimal import Decimal

from roof3d.catalog.material import MaterialForm
from roof3d.cli.report import findings_text
from roof3d.cli.tables import Table, set_tables
from roof3d.errors import Severity
from roof3d.layout.model import LaidLayer
from roof3d.takeoff.model import Item, Unit
from roof3d.units import Units, format_area, format_length, format_squares
from roof3d.writers.takeoff.amounts import (
    amount_in,
    packs_text,
    places_of,
    unit_of,
    weight_in,
    weight_unit,
)
from roof3d.writers.takeoff.comparison import compare_jobs
from roof3d.writers.takeoff.job import Job, sum_by_place


def takeoff_text(job: Job, *, plain: bool) -> str:
    """Set the whole take-off.

    Parameters
    ----------
    job : Job
    plain : bool
        Whether the text goes to a file.

    Returns
    -------
    str
        Without the last line end.
    """
    errors = tuple(found for found in job.findings if found.severity is Severity.ERROR)
    others = tuple(found for found in job.findings if found.severity is not Severity.ERROR)
    return set_tables(
        [
            _title(job),
            findings_text(errors).replace("Findings", "Errors", 1),
            items_table(job),
            *costs_tables(job),
            layers_table(job),
            *cutting_tables(job),
            _bullets("Assumed", job.assumptions),
            findings_text(others),
            _bullets("Cautions", job.cautions),
        ],
        plain=plain,
    )


def _title(job: Job) -> str:
    if job.allowance > 0.0:
        return job.name
    return f'{job.name}\nNothing is added for damage or error; --allowance "5 %" adds it.'


def items_table(job: Job) -> Table:
    """Make the table of items; below each the places that it goes to."""
    allowed = job.allowance > 0.0
    rows: list[tuple[str, ...]] = []
    for line in job.priced.items:
        item = line.item
        unit = unit_of(item.unit, job.units)
        rows.append(
            (
                item.name,
                _number(item.net, item, job.units),
                _pieces_text(item, job.units) if item.unit is Unit.PIECE else unit,
                _number(item.waste, item, job.units),
                f"{item.waste_percent:,.1f} %",
                _number(item.left, item, job.units),
                _number(item.ordered, item, job.units),
                packs_text(item.packs, item),
                *((packs_text(line.packs, item),) if allowed else ()),
            )
        )
        rest = ("",) * (7 if allowed else 6)
        rows += [
            (f"  {use.of}", _number(use.net, item, job.units), *rest)
            for use in sum_by_place(job, item)
        ]
    return Table(
        title="Items (net: in place with its laps; waste: scrap; left: can be used; all three are"
        " ordered)",
        columns=(
            "item, where used",
            ">net",
            "",
            ">waste",
            ">of net",
            ">left",
            ">ordered",
            ">packs",
            *((f">with {job.priced.allowance:f} %",) if allowed else ()),
        ),
        rows=tuple(rows),
    )


def _pieces_text(item: Item, units: Units) -> str:
    """Say that pieces are counted, of shingles also what they cover."""
    if item.form is not MaterialForm.SHINGLE:
        return "pcs"
    imperial = units is Units.IMPERIAL
    return f"pcs, {format_squares(item.covered) if imperial else format_area(item.covered, units)}"


def _number(amount: float, item: Item, units: Units) -> str:
    return f"{amount_in(amount, item.unit, units):,.{places_of(item.unit, units)}f}"


def costs_tables(job: Job) -> tuple[Table | str, ...]:
    """Make the tables of costs and of labour, with what has no price; none without prices."""
    if not job.costed:
        return ()
    priced = job.priced
    items = tuple(
        (line.item.name, f"{line.quantity:,.1f}", line.unit, f"{line.price:,}", f"{line.amount:,}")
        for line in priced.items
        if line.quantity is not None and line.price is not None and line.amount is not None
    )
    labour = tuple(
        (
            line.plane,
            f"{line.quantity:,.2f}",
            line.rate.unit,
            f"{line.rate.rate:,}",
            f"{line.amount:,}",
        )
        for line in priced.labour
    )
    columns = (">quantity", "unit", ">price", ">cost")
    tables = [
        Table(
            title=title,
            columns=(head, *columns),
            rows=rows,
            totals=(("all", "", "", "", f"{total:,}"),),
        )
        for title, head, rows, total in (
            ("Cost of materials", "item", items, priced.materials_total),
            ("Cost of labour", "plane", labour, priced.labour_total),
        )
        if rows
    ]
    return (*tables, f"Total {priced.total_text}")


def amount_text(amount: float, item: Item, units: Units) -> str:
    """Write an amount of an item with its unit, as ``1,234.5 sq ft`` or ``320 pieces``."""
    number = _number(amount, item, units)
    unit = unit_of(item.unit, units)
    return f"{number} {unit}{'s' if item.unit is Unit.PIECE and number != '1' else ''}"


def layers_table(job: Job) -> Table:
    """Make the table of layers: under what a plane measures, what each layer covers."""
    imperial = job.units is Units.IMPERIAL
    rows: list[tuple[str, ...]] = []
    for plane in job.layout.planes:
        rows.append((plane.plane.id, *_areas(plane.plane.area, job.units), *[""] * 6))
        rows += [_layer_row(layer, job.units) for layer in plane.layers]
    return Table(
        title="Layers (area: the plane's, and what each layer covers; offsets: from the laps of the"
        " layer below)",
        columns=(
            "plane, layer",
            *((">sq ft", ">squares") if imperial else (">m2",)),
            ">courses",
            ">pieces",
            ">nails",
            ">side offset",
            ">end offset",
            ">stagger",
        ),
        rows=tuple(rows),
    )


def _layer_row(layer: LaidLayer, units: Units) -> tuple[str, ...]:
    kept = (layer.least_side_offset, layer.least_end_offset, layer.least_stagger)
    return (
        f"  {layer.role}",
        *_areas(float(layer.extent.area), units),
        f"{len(layer.courses):,}",
        f"{len(layer.pieces):,}",
        f"{len(layer.nails):,}",
        *("-" if distance == math.inf else format_length(distance, units) for distance in kept),
    )


def _areas(area: float, units: Units) -> tuple[str, ...]:
    if units is Units.METRIC:
        return (format_area(area, units).removesuffix(" m2"),)
    squares = format_squares(area).removesuffix(" squares")
    return (format_area(area, units).removesuffix(" sq ft"), squares)


def cutting_tables(job: Job) -> tuple[Table, ...]:
    """Make the table of what is cut from whole ones, or none where nothing is."""
    rows = tuple(
        (
            item.name,
            format_length(item.cutting.stock, job.units),
            f"{len(item.cutting.patterns):,}",
            f"{item.cutting.bound:,}",
            "yes" if item.cutting.proven else "open",
            format_length(item.cutting.usable, job.units),
            format_length(item.cutting.scrap, job.units),
        )
        for item in job.items
        if item.cutting is not None
    )
    columns = ("item", ">a whole one", ">cut", ">bound", "fewest", ">left over", ">scrap")
    title = "Cutting (bound: no cutting can do with fewer; -o x.xlsx and --json show each cut)"
    return (Table(title=title, columns=columns, rows=rows),) if rows else ()


def comparison_text(one: Job, two: Job, *, plain: bool) -> str:
    """Set two take-offs side by side, with their differences.

    Parameters
    ----------
    one, two : Job
        Amounts are shown in the units of the first.
    plain : bool
        Whether the text goes to a file.
    """
    comparison = compare_jobs(one, two)
    units, unit = one.units, weight_unit(one.units)
    costed = bool(comparison.total_one)
    rows = tuple(
        (
            row.name,
            *(_side_text(item, units) for item in (row.one, row.two)),
            "" if row.more_net is None else _signed(row.more_net, row.two or row.one, units),
            *(packs_text(item.packs, item) if item else "none" for item in (row.one, row.two)),
            "" if row.more_packs is None else f"{row.more_packs:+,}",
            *(
                _money(cost, signed=signed)
                for cost, signed in (
                    (row.cost_one, False),
                    (row.cost_two, False),
                    (row.more_cost, True),
                )
                if costed
            ),
        )
        for row in comparison.rows
    )
    weights = [weight_in(each, units) for each in (comparison.weight_one, comparison.weight_two)]
    pairs = zip("AB", weights, strict=True)
    known = ", ".join(f"{name} {weight:,.0f} {unit}" for name, weight in pairs)
    lines = [f"Weight, as far as known: {known}, B less A {weights[1] - weights[0]:+,.0f} {unit}"]
    if costed:
        more = _money(comparison.more_cost, signed=True)
        lines.append(f"Total of A: {comparison.total_one}")
        lines.append(f"Total of B: {comparison.total_two}")
        lines.append(f"B less A: {more}" if more else "No difference is told: a price is missing")
    return set_tables(
        [
            f"A: {one.name}\nB: {two.name}",
            Table(
                title="Items side by side (more: B less A; packs as cut, costs with the allowance)",
                columns=(
                    "item",
                    *(">net A", ">net B", ">more", ">packs A", ">packs B", ">more"),
                    *((">cost A", ">cost B", ">more") if costed else ()),
                ),
                rows=rows,
            ),
            "\n".join(lines),
            _bullets("Cautions", tuple(dict.fromkeys((*one.cautions, *two.cautions)))),
        ],
        plain=plain,
    )


def _side_text(item: Item | None, units: Units) -> str:
    return "none" if item is None else amount_text(item.net, item, units)


def _signed(amount: float, item: Item | None, units: Units) -> str:
    """Write a difference with its sign, in the unit of the item."""
    if item is None:
        return ""
    return f"{amount_in(amount, item.unit, units):+,.{places_of(item.unit, units)}f}"


def _money(amount: Decimal | None, *, signed: bool) -> str:
    if amount is None:
        return ""
    return f"{amount:+,}" if signed else f"{amount:,}"


def _bullets(title: str, lines: tuple[str, ...]) -> str:
    return "\n".join([title, *(f"- {line}" for line in lines)]) if lines else ""
