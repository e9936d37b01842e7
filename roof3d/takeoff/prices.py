"""Prices and labour rates as the user gives them, in CSV files; none comes with the program.

A number that cannot be taken for sure is refused, never guessed: all faults of a file are told
at once, each with its line.
"""

from __future__ import annotations

import csv
import io
import os
import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path
from typing import Final, NoReturn, TypeVar

from roof3d.errors import ReadError
from roof3d.roof.model import Kind
from roof3d.units import parse_length, parse_pitch

LARGEST_FILE: Final = 5_000_000
PRICE_COLUMNS: Final = ("item", "unit", "price")
NAME_COLUMN: Final = "name"
"""May stand in a price file for its reader; it decides nothing."""
LABOUR_COLUMNS: Final = ("kind", "from_pitch", "from_height", "unit", "rate")
LABOUR_UNITS: Final = ("square", "sq ft", "m2")
MOST_FAULTS: Final = 20
"""So many faults are listed; of more, the count is told."""
_PLAIN: Final = re.compile(r"[0-9]{1,12}(?:\.[0-9]{1,6})?", re.ASCII)
_LONGEST: Final = 40
_Value = TypeVar("_Value")


@dataclass(frozen=True, slots=True, kw_only=True)
class Price:
    """What a unit of a material costs, in the currency of the file, and its line there."""

    item: str
    unit: str
    price: Decimal
    line: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Prices:
    """A price file: its name, and its prices in the order of the file, one a material."""

    source: str
    rows: tuple[Price, ...]

    def of(self, item: str) -> Price | None:
        """Return the price of a material; None where the file has none."""
        return next((row for row in self.rows if row.item == item), None)


@dataclass(frozen=True, slots=True, kw_only=True)
class Rate:
    """What laying costs on planes of a kind from a pitch and a height on.

    Attributes
    ----------
    kind : Kind
    from_pitch : float
        Rise over run.
    from_height : float
        Of the plane's lowest point above the ground, metres.
    unit : str
        ``square``, ``sq ft`` or ``m2``.
    rate : Decimal
    line : int
    """

    kind: Kind
    from_pitch: float
    from_height: float
    unit: str
    rate: Decimal
    line: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Labour:
    """A file of labour rates: its name, and its rates in the order of the file."""

    source: str
    rows: tuple[Rate, ...]


def load_prices(path: str | os.PathLike[str]) -> Prices:
    """Read a price file.

    Parameters
    ----------
    path : str or path-like
        CSV in UTF-8 with the columns ``item`` (a material id), ``unit`` (the name of its
        pack, or ``sq ft``, ``square``, ``m2``, ``ft``, ``m``, ``piece``, ``gal``, ``l``,
        ``lb``, ``kg``) and ``price`` (a plain decimal, 0 or more), in any order; a column
        ``name`` is passed over. A row whose price is empty gives none.

    Returns
    -------
    Prices

    Raises
    ------
    ReadError
        If the file cannot be read, with every fault and its line: a missing column, a price
        that is no plain decimal, an item given twice.
    """
    source = os.fspath(path) or "."
    return parse_prices(_read(source), source)


def parse_prices(text: str, source: str = "prices") -> Prices:
    r"""Read the text of a price file, as ``load_prices`` does.

    Examples
    --------
    >>> parse_prices("item,unit,price\ngranule-cap,roll,128.50\n").rows[0].price
    Decimal('128.50')
    """
    faults: list[str] = []
    rows: dict[str, Price] = {}
    for line, row in _rows(text, PRICE_COLUMNS, faults, source, passed_over=NAME_COLUMN):
        if not row["price"].strip():
            continue
        cells = _Cells(row, line, faults)
        item, unit = cells.text("item"), cells.text("unit").lower()
        price = cells.read("price", _plain_decimal)
        if not (item and unit) or price is None:
            continue
        if item in rows:
            cells.fault(f"item {_shown(item)} was already given in line {rows[item].line}")
            continue
        rows[item] = Price(item=item, unit=unit, price=price, line=line)
    if faults:
        refuse(faults, source)
    return Prices(source=source, rows=tuple(rows.values()))


def load_labour(path: str | os.PathLike[str]) -> Labour:
    """Read a file of labour rates.

    Parameters
    ----------
    path : str or path-like
        CSV in UTF-8 with the columns ``kind`` (``low`` or ``steep``), ``from_pitch``
        (``6:12``), ``from_height`` (``0 ft``), ``unit`` (``square``, ``sq ft`` or ``m2``)
        and ``rate`` (a plain decimal, 0 or more), in any order. A pitch or height left empty
        is 0; a row whose rate is empty gives none.

    Returns
    -------
    Labour

    Raises
    ------
    ReadError
        As ``load_prices``; two rows of one kind, pitch and height are a fault.
    """
    source = os.fspath(path) or "."
    return parse_labour(_read(source), source)


def parse_labour(text: str, source: str = "labour") -> Labour:
    r"""Read the text of a file of labour rates, as ``load_labour`` does.

    Examples
    --------
    >>> head = "kind,from_pitch,from_height,unit,rate\n"
    >>> parse_labour(head + "steep,4:12,0 ft,square,95\n").rows[0].rate
    Decimal('95')
    """
    faults: list[str] = []
    rows: dict[tuple[Kind, float, float], Rate] = {}
    for line, row in _rows(text, LABOUR_COLUMNS, faults, source):
        if not row["rate"].strip():
            continue
        cells = _Cells(row, line, faults)
        kind = cells.read("kind", _kind)
        pitch = cells.read("from_pitch", parse_pitch, empty=0.0)
        height = cells.read("from_height", parse_length, empty=0.0)
        unit = cells.read("unit", _labour_unit)
        rate = cells.read("rate", _plain_decimal)
        if kind is None or pitch is None or height is None or unit is None or rate is None:
            continue
        known = rows.get((kind, pitch, height))
        if known is not None:
            cells.fault(f"the same kind, pitch and height were already given in line {known.line}")
            continue
        rows[kind, pitch, height] = Rate(
            kind=kind, from_pitch=pitch, from_height=height, unit=unit, rate=rate, line=line
        )
    if faults:
        refuse(faults, source)
    return Labour(source=source, rows=tuple(rows.values()))


def refuse(faults: list[str], source: str, hint: str = "") -> NoReturn:
    """Raise one error that lists all faults of a file.

    Raises
    ------
    ReadError
        Always.
    """
    count = len(faults)
    listed = [f"\n  {fault}" for fault in faults[:MOST_FAULTS]]
    more = f"\n  and {count - MOST_FAULTS} more" if count > MOST_FAULTS else ""
    raise ReadError(
        f"{count} {'fault' if count == 1 else 'faults'}{''.join(listed)}{more}",
        where=source,
        hint=hint,
    )


@dataclass(frozen=True, slots=True)
class _Cells:
    """One row of a file by column; gathers faults with their line instead of raising."""

    row: Mapping[str, str]
    line: int
    faults: list[str]

    def fault(self, message: str) -> None:
        self.faults.append(f"line {self.line}: {message}")

    def text(self, column: str) -> str:
        value = self.row[column].strip()
        if not value:
            self.fault(f"{column} is empty")
        return value

    def read(
        self, column: str, parse: Callable[[str], _Value], *, empty: _Value | None = None
    ) -> _Value | None:
        if empty is not None and not self.row[column].strip():
            return empty
        value = self.text(column)
        if not value:
            return None
        try:
            return parse(value)
        except ValueError as error:
            self.fault(f"{column}: {error}")
            return None


def _plain_decimal(text: str) -> Decimal:
    if not _PLAIN.fullmatch(text):
        raise ValueError(
            f"{_shown(text)} is not a plain decimal: write digits with a point, as 128.50, no"
            " sign, no currency, no separator of thousands"
        )
    return Decimal(text)


def _kind(text: str) -> Kind:
    try:
        return Kind(text.lower())
    except ValueError:
        raise ValueError(f"{_shown(text)} is no kind of roof: write low or steep") from None


def _labour_unit(text: str) -> str:
    if text.lower() not in LABOUR_UNITS:
        raise ValueError(f"{_shown(text)} is not one of {', '.join(LABOUR_UNITS)}")
    return text.lower()


def _rows(
    text: str,
    columns: tuple[str, ...],
    faults: list[str],
    source: str,
    *,
    passed_over: str | None = None,
) -> Iterator[tuple[int, dict[str, str]]]:
    """Give line and cells of each row under the header; blank lines are passed over."""
    reader = csv.reader(io.StringIO(text, newline=""), strict=True)
    header: list[str] | None = None
    try:
        for row in reader:
            if not any(cell.strip() for cell in row):
                continue
            if header is None:
                header = [cell.strip().lower() for cell in row]
                if sorted(name for name in header if name != passed_over) != sorted(columns):
                    _refuse_header(row, columns, reader.line_num, source)
            elif len(row) != len(header):
                faults.append(
                    f"line {reader.line_num}: {len(row)} cells where the header has {len(header)}"
                )
            else:
                yield reader.line_num, dict(zip(header, row, strict=True))
    except csv.Error as error:
        faults.append(f"line {reader.line_num}: {error}")
    if header is None:
        refuse(["is empty"], source, f"begin with the line {','.join(columns)}")


def _refuse_header(row: list[str], columns: tuple[str, ...], line: int, source: str) -> NoReturn:
    refuse(
        [f"line {line}: the header is {_shown(','.join(row))}"],
        source,
        f"begin with the line {','.join(columns)}; columns are parted by commas",
    )


def _read(source: str) -> str:
    try:
        with Path(source).open("rb") as file:
            content = file.read(LARGEST_FILE + 1)
    except FileNotFoundError:
        raise ReadError("there is no such file", where=source) from None
    except IsADirectoryError:
        raise ReadError("is a directory, not a CSV file", where=source) from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise ReadError(f"cannot be read: {reason}", where=source) from error
    if len(content) > LARGEST_FILE:
        raise ReadError(f"is larger than {LARGEST_FILE // 10**6} MB", where=source)
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise ReadError(
            f"is not UTF-8 text (byte {error.start})",
            where=source,
            hint="save it as CSV in UTF-8",
        ) from None


def _shown(text: str) -> str:
    """Return a text as a message shows it: printable, and not a page long."""
    short = text if len(text) <= _LONGEST else text[:_LONGEST] + "..."
    return '"' + "".join(letter if letter.isprintable() else "?" for letter in short) + '"'
