"""The page of labour: each plane's area at the user's rate, with live formulas."""

from __future__ import annotations

from typing import Final

from roof3d.units import format_length, format_pitch
from roof3d.writers.takeoff.grid import Column, Entry, Formula, Grid, Look
from roof3d.writers.takeoff.job import Job

LABOUR: Final = "Labour"
"""Name of the sheet."""


def write_labour(grid: Grid, job: Job) -> None:
    """Write a row for each plane with a rate, their sum, and the planes without one."""
    columns = (
        Column(head="Plane", width=24),
        Column(head="Rate for", width=44),
        Column(head="Area", width=12, look=Look.HUNDREDTHS),
        Column(head="Unit", width=9),
        Column(head="Rate", width=12, look=Look.PRICE),
        Column(head="Cost", width=14, look=Look.HUNDREDTHS),
    )
    grid.head(0, columns)
    for row, line in enumerate(job.priced.labour, start=1):
        rate = line.rate
        reached = (
            f"{rate.kind.value}, from {format_pitch(rate.from_pitch)},"
            f" from {format_length(rate.from_height, job.units)} up"
        )
        cost = Formula(f"ROUND(C{row + 1}*E{row + 1},2)", float(line.amount))
        cells = (
            line.plane,
            reached,
            float(line.quantity),
            rate.unit,
            Entry(float(rate.rate)),
            cost,
        )
        grid.row(row, columns, cells)
    end = len(job.priced.labour) + 1
    total = Formula(f"SUM(F2:F{end})", float(job.priced.labour_total))
    grid.put(end, 0, "All", bold=True, top=1)
    grid.put(end, 5, total, Look.HUNDREDTHS, bold=True, top=1)
    if job.priced.unrated:
        grid.put(end + 1, 0, f"Without a rate: {', '.join(job.priced.unrated)}")


def labour_total(job: Job) -> str:
    """Return the formula of the labour's sum, as seen from another sheet."""
    return f"{LABOUR}!F{len(job.priced.labour) + 2}"
