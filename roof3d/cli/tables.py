"""Plain tables: no frames, nothing cut off, wide enough for every id and number."""

from __future__ import annotations

import io
import shutil
import sys
import textwrap
from collections.abc import Sequence
from dataclasses import dataclass

from rich.console import Console
from rich.table import Column
from rich.table import Table as RichTable

LEAST_WIDTH = 80
MOST_TEXT_WIDTH = 100
WIDER_THAN_ANY_TABLE = 10_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """A table to be printed.

    Attributes
    ----------
    title : str
    columns : tuple of str
        Heads; one that begins with ``>`` heads numbers and is set flush right.
    rows : tuple of tuple of str
    totals : tuple of tuple of str
        Last rows apart from the others.
    """

    title: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    totals: tuple[tuple[str, ...], ...] = ()


def set_tables(parts: Sequence[Table | str], *, plain: bool) -> str:
    """Set tables and paragraphs one under the other.

    Parameters
    ----------
    parts : sequence of Table or str
        Empty strings are left out.
    plain : bool
        Whether the text goes to a file; else it is dressed for standard output: bold heads on
        a terminal, nothing in a pipe.

    Returns
    -------
    str
        Without the last line end. No cell is cut; a table wider than the terminal runs over.
    """
    canvas = io.StringIO()
    console = Console(
        file=canvas,
        width=WIDER_THAN_ANY_TABLE,
        force_terminal=not plain and sys.stdout.isatty(),
        highlight=False,
        markup=False,
    )
    width = max(shutil.get_terminal_size((MOST_TEXT_WIDTH, 24)).columns, LEAST_WIDTH)
    blocks = []
    for part in parts:
        if isinstance(part, str):
            if part:
                blocks.append(_paragraphs(part, width))
            continue
        table = _rich_table(part)
        canvas.seek(0)
        canvas.truncate()
        console.print(part.title, style="bold")
        console.print(table)
        blocks.append("\n".join(line.rstrip() for line in canvas.getvalue().splitlines()))
    return "\n\n".join(blocks)


def _rich_table(table: Table) -> RichTable:
    columns = [
        Column(
            head.removeprefix(">"),
            justify="right" if head.startswith(">") else "left",
            no_wrap=True,
        )
        for head in table.columns
    ]
    result = RichTable(*columns, box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="dim")
    for row in table.rows:
        result.add_row(*row)
    for row in table.totals:
        result.add_row(*row, style="bold")
    return result


def _paragraphs(text: str, width: int) -> str:
    """Wrap each line to a width that reads well; what follows a bullet hangs under it."""
    return "\n".join(
        textwrap.fill(
            line,
            min(width, MOST_TEXT_WIDTH),
            subsequent_indent="  " if line.startswith("- ") else "",
            break_long_words=False,
            break_on_hyphens=False,
        )
        for line in text.split("\n")
    )
