"""Rows for a spreadsheet (CSV), nothing that runs: the take-off, and prices to be filled in."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable
from typing import Final, TypeAlias

from roof3d.takeoff.cost import PricedItem
from roof3d.takeoff.model import Item
from roof3d.takeoff.prices import NAME_COLUMN, PRICE_COLUMNS
from roof3d.units import Units
from roof3d.writers.takeoff.amounts import amount_in, unit_of, weight_in, weight_unit
from roof3d.writers.takeoff.job import Job, used_text

Cell: TypeAlias = str | int | float

HEAD: Final = (
    "material", "name", "form", "unit", "net", "waste", "left", "ordered", "packs",
    "packs_to_order", "pack", "pack_holds", "waste_percent", "weight", "weight_unit", "used",
    "rule", "source",
)  # fmt: skip
COSTS: Final = ("price_unit", "price", "amount")
"""More columns, where the user gave prices."""
PLACES: Final = 4
"""Decimals of a number: a spreadsheet shows fewer, and none is a rounding crumb."""

_RUNS: Final = re.compile(
    r"(?:\A|(?<=[;\t\r\n]))(?=\s*[=+\-@\uff1d\uff0b\uff0d\uff20])|\A(?=[\t\r\n])"
)


def takeoff_csv(job: Job) -> bytes:
    r"""Write the items as CSV.

    Parameters
    ----------
    job : Job

    Returns
    -------
    bytes
        RFC 4180: commas, CRLF, quotes doubled. UTF-8 behind a byte order mark: it is the one
        sign by which the commonest spreadsheet does not take the file for an old code page
        and spoil every accent. Amounts in the model's units, a decimal point, no thousands.

    Notes
    -----
    A text that a spreadsheet would run as a formula gets an apostrophe before it. A number
    is written as a number, also below 0.
    """
    head = HEAD + COSTS if job.costed else HEAD
    rows = (_row(job, line) + (_costs(line) if job.costed else ()) for line in job.priced.items)
    return _written(head, rows)


def price_list_csv(items: Iterable[Item], units: Units) -> bytes:
    """Write a price file for some items with empty prices, a pack as the unit of each.

    Parameters
    ----------
    items : iterable of Item
        Where the catalog knows no pack, the unit is that of its amount.
    units : Units
        Of the model.

    Returns
    -------
    bytes
        As ``load_prices`` reads them, written as ``takeoff_csv`` writes.
    """
    rows = (
        (item.material, item.pack if item.packs else unit_of(item.unit, units), "", item.name)
        for item in items
    )
    return _written((*PRICE_COLUMNS, NAME_COLUMN), rows)


def _written(head: tuple[str, ...], rows: Iterable[tuple[Cell, ...]]) -> bytes:
    text = io.StringIO(newline="")
    writer = csv.writer(text, lineterminator="\r\n")
    writer.writerow(head)
    for cells in rows:
        writer.writerow([inert(cell) for cell in cells])
    return text.getvalue().encode("utf-8-sig")


def inert(cell: Cell) -> Cell:
    r"""Return a cell that no spreadsheet runs: text that it would run, behind an apostrophe.

    Notes
    -----
    Also behind a semicolon, a tab or a line break: where commas are decimals a spreadsheet
    parts cells there.

    Examples
    --------
    >>> inert("=1+1"), inert("  @sum"), inert("\tx"), inert("a; -2"), inert("roof-1"), inert(-1.5)
    ("'=1+1", "'  @sum", "'\tx", "a;' -2", 'roof-1', -1.5)
    """
    return _RUNS.sub("'", cell) if isinstance(cell, str) else cell


def _costs(line: PricedItem) -> tuple[Cell, ...]:
    price, amount = ("" if money is None else float(money) for money in (line.price, line.amount))
    return (line.unit, price, amount)


def _row(job: Job, line: PricedItem) -> tuple[Cell, ...]:
    item = line.item

    def shown(amount: float) -> float:
        return round(amount_in(amount, item.unit, job.units), PLACES)

    return (
        item.material,
        item.name,
        item.form.value,
        unit_of(item.unit, job.units),
        shown(item.net),
        shown(item.waste),
        shown(item.left),
        shown(item.ordered),
        item.packs,
        line.packs,
        item.pack,
        shown(item.pack_holds),
        round(item.waste_percent, PLACES),
        round(weight_in(item.weight, job.units), PLACES),
        weight_unit(job.units),
        used_text(job, item),
        item.rule,
        item.source,
    )
