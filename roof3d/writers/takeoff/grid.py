"""A page of the workbook: columns with their formats, a frozen head, ready to print."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Any, Final, TypeAlias

from roof3d.units import Units

Value: TypeAlias = str | int | float | None
LONGEST_CELL: Final = 32_000
"""A workbook holds a few letters more in a cell, and drops a longer text whole."""
_LONGEST_HEAD: Final = 80
_LINE_HEIGHT: Final = 15
"""Points."""
_MOST_LINES: Final = 27
"""A row can be no higher than 409 points."""
_LETTER, _A4 = 1, 9


class Look(StrEnum):
    """How a cell is formatted; a number stands off the cell to its right."""

    TEXT = "text"
    WRAPPED = "wrapped"
    WHOLE = "#,##0_)"
    TENTHS = "#,##0.0_)"
    HUNDREDTHS = "#,##0.00_)"
    AMOUNT = "General"
    PRICE = "#,##0.00##_)"
    PERCENT = "#,##0.0%_)"


_WORDS: Final = frozenset({Look.TEXT, Look.WRAPPED})


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """Head, width in letters, and look of one column."""

    head: str
    width: float
    look: Look = Look.TEXT


@dataclass(frozen=True, slots=True)
class Formula:
    """A live cell: its formula, and its value for a reader that does not calculate."""

    text: str
    value: str | float


@dataclass(frozen=True, slots=True)
class Entry:
    """A cell for the user to fill in; its value may be None for a blank."""

    value: float | None


Cell: TypeAlias = Value | Formula | Entry


class Grid:
    """One sheet of a workbook, filled from the top; formats are made once and shared.

    Parameters
    ----------
    book : xlsxwriter.Workbook
    name : str
        Of the sheet.
    """

    def __init__(self, book: Any, name: str) -> None:
        self._book = book
        self._formats: dict[tuple[tuple[str, Any], ...], Any] = {}
        self.sheet = book.add_worksheet(name)

    def style(self, look: Look = Look.TEXT, **more: Any) -> Any:
        """Return the format of a look with more properties as XlsxWriter names them."""
        wanted: dict[str, Any] = {"valign": "top"}
        if look in _WORDS:
            wanted |= {"align": "left", "indent": 1, "text_wrap": look is Look.WRAPPED}
        else:
            wanted["num_format"] = look.value
        wanted |= more
        key = tuple(sorted(wanted.items()))
        if key not in self._formats:
            self._formats[key] = self._book.add_format(wanted)
        return self._formats[key]

    def head(self, row: int, columns: tuple[Column, ...]) -> None:
        """Write the heads, set the widths, and freeze and repeat the head row."""
        for place, column in enumerate(columns):
            self.sheet.set_column(place, place, column.width)
            flush = {} if column.look in _WORDS else {"align": "right", "indent": 0}
            style = self.style(
                Look.WRAPPED, bold=True, bg_color="#DDE3EA", bottom=1, valign="bottom", **flush
            )
            self.sheet.write_string(row, place, column.head, style)
        lines = max(lines_in(replace(column, look=Look.WRAPPED), column.head) for column in columns)
        self.sheet.set_row(row, _LINE_HEIGHT * lines)
        self.sheet.freeze_panes(row + 1, 1)
        self.sheet.repeat_rows(row)

    def put(self, row: int, place: int, cell: Cell, look: Look = Look.TEXT, **more: Any) -> None:
        """Write one cell as what it is; text is never taken for a formula or a link."""
        if isinstance(cell, Entry):
            style = self.style(look, bg_color="#FFF6CC", border=1, border_color="#C9B458", **more)
            if cell.value is None:
                self.sheet.write_blank(row, place, None, style)
            else:
                self.sheet.write_number(row, place, cell.value, style)
            return
        style = self.style(look, **more)
        if isinstance(cell, Formula):
            self.sheet.write_formula(row, place, f"={cell.text}", style, cell.value)
        elif isinstance(cell, str):
            self.sheet.write_string(row, place, clipped(cell), style)
        elif cell is None:
            self.sheet.write_blank(row, place, None, style)
        else:
            self.sheet.write_number(row, place, cell, style)

    def row(self, row: int, columns: tuple[Column, ...], cells: tuple[Cell, ...]) -> None:
        """Write a row, each cell with the look of its column, high enough for the longest."""
        for place, (column, cell) in enumerate(zip(columns, cells, strict=True)):
            self.put(row, place, cell, column.look)
        lines = max(map(lines_in, columns, cells))
        if lines > 1:  # not every reader makes a row fit its text
            self.sheet.set_row(row, _LINE_HEIGHT * min(lines, _MOST_LINES))

    def print_setup(self, model: str, units: Units) -> None:
        """Set the page: landscape, one page wide, the model's name above, page numbers below."""
        self.sheet.set_landscape()
        self.sheet.set_paper(_LETTER if units is Units.IMPERIAL else _A4)
        self.sheet.fit_to_pages(1, 0)
        self.sheet.set_margins(left=0.5, right=0.5, top=0.8, bottom=0.7)
        self.sheet.set_header(f"&L{head_text(model)}&R&A")
        self.sheet.set_footer("&LTake-off&RPage &P of &N")


def lines_in(column: Column, cell: Cell) -> int:
    r"""Return how many lines a cell takes, a little on the safe side.

    Examples
    --------
    >>> lines_in(Column(head="Where", width=10, look=Look.WRAPPED), "main.south\nnorth")
    3
    """
    if not isinstance(cell, str) or column.look is not Look.WRAPPED:
        return 1
    room = column.width - 2  # for the indent and the gaps between words
    return sum(max(1, math.ceil(len(line) / room)) for line in clipped(cell).split("\n"))


def head_text(name: str) -> str:
    """Return a name as a page head can hold it: short, printable, its ampersands told apart.

    Examples
    --------
    >>> head_text("Smith & Sons"), len(head_text("x" * 500))
    ('Smith && Sons', 80)
    """
    plain = "".join(letter if letter.isprintable() else " " for letter in name)
    return plain[:_LONGEST_HEAD].replace("&", "&&")


def clipped(text: str) -> str:
    """Return a text that fits into a cell, with dots where it was cut."""
    return text if len(text) <= LONGEST_CELL else f"{text[: LONGEST_CELL - 3]}..."
