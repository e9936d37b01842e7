"""Rows along the break: sheets with their laps, capped nails, shingle courses with their joints."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from roof3d.catalog.material import Material
from roof3d.details.build_up import BuildUp
from roof3d.details.model import INCH, DetailLayer, PieceKind

_JOINT_SHARES = (0.02, 0.43, 0.17, 0.63, 0.32, 0.78)
"""Where joints fall in successive courses, as shares of a shingle's length: no two
neighbours closer than a tenth of it."""
_JOINT_GAP = 0.125 * INCH
LAP_NAILS, FIELD_NAILS = 9.0 * INCH, 18.0 * INCH
_EDGE = 1.5 * INCH


def lay_sheets(
    work: BuildUp,
    layer: int,
    made: Material,
    reaches: Sequence[tuple[float, float]],
    name: str,
) -> None:
    """Lay sheets in the order given, the full width of the cut-out."""
    number = 0
    for reach in reaches:
        if work.clipped(reach):
            number += 1
            work.sheet(
                f"{name}.{number}", f"{made.name} {number}", PieceKind.SHEET, layer, made.id, reach
            )


def nail_base(
    work: BuildUp,
    layer: int,
    nail: str,
    reaches: Sequence[tuple[float, float]],
    *,
    clear: float,
) -> None:
    """Nail a base sheet: rows in its laps, two staggered field rows, none ``clear`` to the line."""
    rows: list[tuple[float, float, float]] = []
    for index, (foot, head) in enumerate(reaches):
        width = head - foot
        rows.append((foot + _EDGE, LAP_NAILS, 0.5))
        rows.append((foot + width / 3.0, FIELD_NAILS, 0.25))
        rows.append((foot + 2.0 * width / 3.0, FIELD_NAILS, 0.75))
        if index == len(reaches) - 1:
            rows.append((head - _EDGE, LAP_NAILS, 0.5))
    start, end = work.span
    low, steep = -work.size[1] + _EDGE, work.size[2] - _EDGE
    places = [
        (start + (k + phase) * step, s)
        for s, step, phase in rows
        if low < s < steep and abs(s) >= clear
        for k in range(int((end - start) / step) + 1)
        if start + (k + phase) * step < end - _EDGE / 2.0
    ]
    work.nails("base.nails", "Capped nails of the base sheet", layer, nail, places)


def joint_spans(
    span: tuple[float, float], length: float, share: float
) -> tuple[tuple[float, float], ...]:
    """Pieces side by side along a span, their first joint at a share of a piece's length."""
    start, end = span
    joints = [start + share * length]
    while joints[-1] + length < end:
        joints.append(joints[-1] + length)
    half = _JOINT_GAP / 2.0
    cuts = [start - half, *(j for j in joints if start + 4 * half < j < end - 4 * half), end + half]
    return tuple((a + half, b - half) for a, b in pairwise(cuts))


def lay_shingles(
    work: BuildUp,
    layer: int,
    made: Material,
    reaches: Sequence[tuple[float, float]],
    name: str,
    kind: PieceKind,
    *,
    up: bool,
    phase: int,
) -> None:
    """Lay courses in the order given.

    Parameters
    ----------
    up : bool
        Whether the developed coordinate grows up the slope; the butt is the lower end.
    phase : int
        Which place in the pattern of joints the first course has.
    """
    thin = 0.45 if kind is PieceKind.SHINGLE else 1.0
    taper = (1.0, thin) if up else (thin, 1.0)
    for number, reach in enumerate(reaches):
        share = _JOINT_SHARES[(phase + number) % len(_JOINT_SHARES)]
        spans = joint_spans(work.span, made.length, share)
        title = f"{made.name}, course {number + 1}" if len(reaches) > 1 else made.name
        work.sheet(
            f"{name}.{number + 1}", title, kind, layer, made.id, reach, spans=spans, taper=taper
        )


def lap_source(work: BuildUp, made: Material, lap: float, drawn: str) -> str:
    """Say where a side lap comes from: the material's least, or more than that as a rule asks."""
    least = made.source_of("side_lap")
    if lap <= made.side_lap + work.tol.merge:
        return least
    return f"least lap {work.least(made.side_lap)}: {least}; drawn: {drawn}"


def describe(
    number: int,
    made: Material,
    size: str,
    fastening: str,
    why: str,
    *,
    tool: str = "",
    gear: str = "",
    mistake: str = "",
    check: str = "",
) -> DetailLayer:
    """Return the words of a layer of one catalog material."""
    return DetailLayer(
        number=number,
        name=made.name,
        material=made.id,
        size=size,
        why=why,
        fastening=fastening,
        source=made.source,
        tool=tool,
        gear=gear,
        mistake=mistake,
        check=check,
    )


def courses(
    start: float, end: float, *, width: float, lap: float, below: float
) -> tuple[tuple[float, float], ...]:
    """Set out sheets that run along the break, in the order they are laid: going up.

    Parameters
    ----------
    start, end : float
        Lower edge of the sheet that sets the layout, and upper end of the last.
    width, lap : float
        Of a sheet, metres; the lap below the width.
    below : float
        Sheets are laid out downward as far as this, too.

    Returns
    -------
    tuple of (float, float)
        Reach of each, lowest first; each but the lowest lies on the one before by ``lap``.
    """
    sheets = [(start, min(start + width, end))]
    while sheets[0][0] > below:
        head = sheets[0][0] + lap
        sheets.insert(0, (head - width, head))
    while sheets[-1][1] < end:
        foot = sheets[-1][1] - lap
        sheets.append((foot, min(foot + width, end)))
    return tuple(sheets)
