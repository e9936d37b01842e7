"""Plain tables: no frames, nothing cut off, wide enough for every id and number."""

from __future__ import annotations

import io
import os
import sys
import textwrap
from collections.abc import Sequence
from dataclasses import dataclass

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
    dressed = not plain and sys.stdout.isatty()
    width = max(_terminal_width(), LEAST_WIDTH)
    blocks = []
    for part in parts:
        if isinstance(part, str):
            if part:
                blocks.append(_paragraphs(part, width))
            continue
        blocks.append(_dressed(part) if dressed else _aligned(part))
    return "\n\n".join(blocks)


def _terminal_width() -> int:
    """Columns of the terminal, ``COLUMNS`` first, or a good line where there is none."""
    wanted = os.environ.get("COLUMNS", "")
    if wanted.isdecimal() and int(wanted) > 0:
        return int(wanted)
    try:
        return os.get_terminal_size(sys.__stdout__.fileno()).columns if sys.__stdout__ else 0
    except (OSError, ValueError):
        return MOST_TEXT_WIDTH


def _aligned(table: Table) -> str:
    """Set a table without dress: the same letters, and no need to load a library for it."""
    heads = tuple(head.removeprefix(">") for head in table.columns)
    lines = (heads, *table.rows, *table.totals)
    widths = [max(map(len, column)) for column in zip(*lines, strict=True)]
    set_lines = [
        "  ".join(
            cell.rjust(width) if head.startswith(">") else cell.ljust(width)
            for cell, width, head in zip(line, widths, table.columns, strict=True)
        ).rstrip()
        for line in lines
    ]
    return "\n".join([table.title, *set_lines])


def _dressed(table: Table) -> str:
    """Set a table for a terminal: bold titles and totals, dim heads."""
    from rich.console import Console
    from rich.table import Column
    from rich.table import Table as RichTable

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
    canvas = io.StringIO()
    console = Console(
        file=canvas,
        width=WIDER_THAN_ANY_TABLE,
        force_terminal=True,
        highlight=False,
        markup=False,
    )
    console.print(table.title, style="bold")
    console.print(result)
    return "\n".join(line.rstrip() for line in canvas.getvalue().splitlines())


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
