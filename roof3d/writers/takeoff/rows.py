"""Rows for a spreadsheet (CSV), nothing that runs: take-offs, and lists to be filled in."""

from __future__ import annotations

import csv
import io
import math
import re
from collections.abc import Iterable
from typing import Final, TypeAlias

from roof3d.roof.model import Kind, Plane
from roof3d.takeoff.compare import ComparedItem
from roof3d.takeoff.cost import PricedItem
from roof3d.takeoff.model import Item
from roof3d.takeoff.prices import LABOUR_COLUMNS, NAME_COLUMN, PRICE_COLUMNS
from roof3d.units import Units
from roof3d.writers.takeoff.amounts import amount_in, unit_of, weight_in, weight_unit
from roof3d.writers.takeoff.comparison import compare_jobs
from roof3d.writers.takeoff.job import Job, used_text

Cell: TypeAlias = str | int | float

HEAD: Final = (
    "material", "name", "form", "unit", "net", "waste", "left", "ordered", "packs",
    "packs_to_order", "pack", "pack_holds", "waste_percent", "weight", "weight_unit", "used",
    "rule", "source",
)  # fmt: skip
COSTS: Final = ("price_unit", "price", "amount")
"""More columns, where the user gave prices."""
COMPARED: Final = (
    "material", "name", "unit", "net_one", "net_two", "more_net", "packs_one", "pack_one",
    "packs_two", "pack_two", "more_packs", "more_weight", "weight_unit",
)  # fmt: skip
COMPARED_COSTS: Final = ("cost_one", "cost_two", "more_cost")
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


def labour_list_csv(planes: Iterable[Plane], units: Units) -> bytes:
    """Write a file of labour rates for a roof with empty rates, a row a kind and pitch.

    Parameters
    ----------
    planes : iterable of Plane
    units : Units
        Of the model: squares or square metres.

    Returns
    -------
    bytes
        As ``load_labour`` reads them, low roofs first, then by pitch; a pitch is cut to a
        hundredth of an inch a foot, so that its plane is not steeper. The height is left
        empty: the same from the ground up.
    """
    unit = "square" if units is Units.IMPERIAL else "m2"
    found = {(plane.kind is Kind.STEEP, _pitch_below(plane.slope)): plane.kind for plane in planes}
    rows = (
        (kind.value, f"{pitch / 100:g}:12", "", unit, "")
        for (_, pitch), kind in sorted(found.items(), key=lambda one: one[0])
    )
    return _written(LABOUR_COLUMNS, rows)


def _pitch_below(slope: float) -> int:
    """Return a slope in hundredths of an inch a foot, rounded down but for the last bits."""
    return math.floor(round(slope * 1200.0, PLACES))


def comparison_csv(one: Job, two: Job) -> bytes:
    """Write two take-offs side by side as CSV.

    Parameters
    ----------
    one, two : Job
        Amounts are in the units of the first.

    Returns
    -------
    bytes
        As ``takeoff_csv`` writes; a difference is the second less the first, and stands empty
        where the two are not alike or one is not known.
    """
    costed = one.costed and two.costed
    head = COMPARED + COMPARED_COSTS if costed else COMPARED
    rows = (
        _compared_row(row, one.units) + (_compared_costs(row) if costed else ())
        for row in compare_jobs(one, two).rows
    )
    return _written(head, rows)


def _compared_row(row: ComparedItem, units: Units) -> tuple[Cell, ...]:
    def net(amount: float | None, item: Item | None) -> Cell:
        if item is None:
            return 0
        return "" if amount is None else round(amount_in(amount, item.unit, units), PLACES)

    def told(item: Item | None) -> tuple[Cell, ...]:
        return (item.packs, item.pack) if item else (0, "")

    pounds = row.more_weight
    return (
        row.material,
        row.name,
        "" if row.unit is None else unit_of(row.unit, units),
        net(row.one.net if row.one else None, row.one),
        net(row.two.net if row.two else None, row.two),
        net(row.more_net, row.two or row.one),
        *told(row.one),
        *told(row.two),
        "" if row.more_packs is None else row.more_packs,
        "" if pounds is None else round(weight_in(pounds, units), PLACES),
        weight_unit(units),
    )


def _compared_costs(row: ComparedItem) -> tuple[Cell, ...]:
    costs = (row.cost_one, row.cost_two, row.more_cost)
    return tuple("" if money is None else float(money) for money in costs)


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
