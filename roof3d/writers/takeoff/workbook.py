"""The take-off as a workbook (XLSX): quantities with live formulas for allowance and price."""

from __future__ import annotations

import io
import math
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from typing import Any, Final

from roof3d.takeoff.cost import PricedItem
from roof3d.units import Units
from roof3d.writers.takeoff.amounts import amount_in, places_of, unit_of, weight_in, weight_unit
from roof3d.writers.takeoff.document import number
from roof3d.writers.takeoff.grid import Cell, Column, Entry, Formula, Grid, Look, head_text
from roof3d.writers.takeoff.job import Job, used_text
from roof3d.writers.takeoff.labour import LABOUR, labour_total, write_labour
from roof3d.writers.takeoff.pages import write_cutting, write_edges, write_layers, write_notes

FIXED_DAY: Final = datetime(2000, 1, 1, tzinfo=UTC)
"""So that equal jobs give equal bytes."""
ALLOWANCE_CELL: Final = "$B$3"
NO_PACK: Final = "loose"
PLACES: Final = 9
"""Decimals that count: no more is ordered, and nothing left, for a rounding crumb."""
_HEAD_ROW = 4
_TITLE_HEIGHT = 22
_LOOKS = {0: Look.WHOLE, 1: Look.TENTHS, 2: Look.HUNDREDTHS}


def takeoff_xlsx(job: Job) -> bytes:
    """Write the take-off as a workbook.

    Parameters
    ----------
    job : Job

    Returns
    -------
    bytes
        Sheets Items, Layers, Edges, Cutting and Notes, and Labour where rates were given,
        in the model's units. Equal for an
        equal job. On Items the allowance and the prices are cells to fill in; packs,
        amounts, weights, costs and totals follow from them by formulas, and stand there
        calculated for a reader that does not. Text is text: nothing in it runs.
    """
    import xlsxwriter

    data = io.BytesIO()
    book = xlsxwriter.Workbook(
        data, {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False}
    )
    title = head_text(job.name).replace("&&", "&")
    book.set_properties({"title": title, "created": FIXED_DAY})
    pages = [
        ("Items", _write_items),
        ("Layers", write_layers),
        ("Edges", write_edges),
        ("Cutting", write_cutting),
        ("Notes", write_notes),
    ]
    if job.priced.labour:
        pages.insert(1, (LABOUR, write_labour))
    for name, write in pages:
        grid = Grid(book, name)
        write(grid, job)
        grid.print_setup(job.name, job.units)
    book.close()
    return data.getvalue()


def _columns(units: Units) -> tuple[Column, ...]:
    weight = weight_unit(units)
    return (
        Column(head="Item", width=30, look=Look.WRAPPED),
        Column(head="Where used", width=38, look=Look.WRAPPED),
        Column(head="Unit", width=8),
        Column(head="Net in place", width=12, look=Look.AMOUNT),
        Column(head="Waste (scrap)", width=11, look=Look.AMOUNT),
        Column(head="Waste, %", width=10, look=Look.PERCENT),
        Column(head="Pack", width=10),
        Column(head="A pack holds", width=11, look=Look.AMOUNT),
        Column(head="Packs by the cutting", width=11, look=Look.WHOLE),
        Column(head="Packs to order", width=11, look=Look.WHOLE),
        Column(head="Amount ordered", width=12, look=Look.AMOUNT),
        Column(head="Left over", width=12, look=Look.AMOUNT),
        Column(head=f"Weight of a pack, {weight}", width=12, look=Look.TENTHS),
        Column(head=f"Weight, {weight}", width=12, look=Look.TENTHS),
        Column(head="Price of a pack, or a unit loose", width=12, look=Look.PRICE),
        Column(head="Cost", width=12, look=Look.HUNDREDTHS),
    )


def _write_items(grid: Grid, job: Job) -> None:
    grid.put(0, 0, job.name, bold=True, font_size=14)
    grid.sheet.set_row(0, _TITLE_HEIGHT)
    grid.put(1, 0, "Take-off from the pieces laid. Yellow cells are yours to fill in.")
    grid.put(2, 0, "Allowance on the net")
    grid.put(2, 1, Entry(job.allowance), Look.PERCENT, align="left", indent=1)
    grid.sheet.data_validation(
        2, 1, 2, 1,
        {"validate": "decimal", "criteria": "between", "minimum": 0, "maximum": 1,
         "error_title": "Allowance", "error_message": "A share from 0 % to 100 %."},
    )  # fmt: skip
    columns = _columns(job.units)
    grid.head(_HEAD_ROW, columns)
    first = _HEAD_ROW + 1
    counted = [_count(job, line, first + place + 1) for place, line in enumerate(job.priced.items)]
    for row, (line, count) in enumerate(zip(job.priced.items, counted, strict=True), start=first):
        look = _LOOKS[places_of(line.item.unit, job.units)]
        suited = tuple(
            replace(column, look=look) if column.look is Look.AMOUNT else column
            for column in columns
        )
        grid.row(row, suited, _cells(job, line, count, row + 1))
    if counted:
        _write_totals(grid, job, counted, first)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Count:
    """What is ordered of an item: packs, or its amount where the catalog knows no pack.

    ``cell`` holds it; ``weight`` (0 where not known) and ``price`` are of one.
    """

    cell: str
    number: float
    weight: float
    price: float | None
    cost: float | None


def _count(job: Job, line: PricedItem, here: int) -> _Count:
    item = line.item
    if item.packs:
        return _Count(
            cell=f"J{here}",
            number=line.packs,
            weight=weight_in(item.weight, job.units) / item.packs,
            price=number(line.pack_price),
            cost=number(line.amount),
        )
    amount = amount_in(item.net, item.unit, job.units) * (1.0 + job.allowance)
    price = None
    if line.price is not None and line.quantity is not None and amount:
        price = float(line.price * line.quantity) / amount
    return _Count(cell=f"K{here}", number=amount, weight=0.0, price=price, cost=number(line.amount))


def _cells(job: Job, line: PricedItem, count: _Count, here: int) -> tuple[Cell, ...]:
    """One item; formulas know its row as ``here``, from 1."""
    item = line.item
    net = amount_in(item.net, item.unit, job.units)
    holds = amount_in(item.pack_holds, item.unit, job.units)
    if item.packs:
        wanted = f"(D{here}*(1+{ALLOWANCE_CELL})+E{here})/H{here}"
        to_order = f"MAX(I{here},ROUNDUP(ROUND({wanted},{PLACES}),0))"
        packs: tuple[Cell, ...] = (item.pack, holds, item.packs, Formula(to_order, line.packs))
        amount, formula = line.packs * holds, f"J{here}*H{here}"
    else:
        packs = (NO_PACK, None, None, None)
        amount, formula = count.number, f"D{here}*(1+{ALLOWANCE_CELL})"
    waste = amount_in(item.waste, item.unit, job.units)
    return (
        item.name,
        used_text(job, item, between="\n"),
        unit_of(item.unit, job.units),
        net,
        waste,
        Formula(f"IF(D{here}=0,0,E{here}/D{here})", item.waste_percent / 100.0),
        *packs,
        Formula(formula, amount),
        Formula(
            f"MAX(0,ROUND(K{here}-D{here}-E{here},{PLACES}))",
            max(0.0, round(amount - net - waste, PLACES)),
        ),
        count.weight or Entry(None),
        Formula(
            f'IF(ISNUMBER(M{here}),{count.cell}*M{here},"")', count.number * count.weight or ""
        ),
        Entry(count.price),
        Formula(
            f'IF(ISNUMBER(O{here}),ROUND({count.cell}*O{here},2),"")',
            "" if count.cost is None else count.cost,
        ),
    )


def _write_totals(grid: Grid, job: Job, counted: list[_Count], first: int) -> None:
    row = first + len(counted)
    top, bottom = first + 1, row
    bold: dict[str, Any] = {"bold": True, "top": 1}
    for place in range(len(_columns(job.units))):
        grid.put(row, place, None, **bold)
    weight = math.fsum(count.number * count.weight for count in counted)
    cost = math.fsum(count.cost or 0.0 for count in counted)
    grid.put(row, 0, "All materials", **bold)
    grid.put(row, 13, Formula(f"SUM(N{top}:N{bottom})", weight), Look.TENTHS, **bold)
    grid.put(row, 15, Formula(f"SUM(P{top}:P{bottom})", cost), Look.HUNDREDTHS, **bold)
    for label, place, column, missing in (
        ("Items without a known weight", 13, "M", sum(not count.weight for count in counted)),
        ("Items without a price", 15, "O", sum(count.price is None for count in counted)),
    ):
        row += 1
        cells = f"{column}{top}:{column}{bottom}"
        grid.put(row, 0, label)
        grid.put(row, place, Formula(f"ROWS({cells})-COUNT({cells})", missing), Look.WHOLE)
    if job.priced.labour:
        labour = float(job.priced.labour_total)
        grid.put(row + 1, 0, "Labour")
        grid.put(row + 1, 15, Formula(labour_total(job), labour), Look.HUNDREDTHS)
        grid.put(row + 2, 0, "Materials and labour", **bold)
        both = Formula(f"P{bottom + 1}+P{row + 2}", cost + labour)
        grid.put(row + 2, 15, both, Look.HUNDREDTHS, **bold)
