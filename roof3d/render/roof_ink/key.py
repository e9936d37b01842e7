"""The key below the drawing: surfaces, edges with their total lengths, cautions."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from roof3d.render.passes import FINE
from roof3d.render.roof_ink.hatching import Hatch, courses, strips
from roof3d.render.roof_ink.palette import (
    CAUTION_INK,
    INK,
    PAPER,
    PART_COLOURS,
    SOFT_INK,
    STROKES,
    Stroke,
)
from roof3d.render.sheet import Pixel, Sheet, text_width
from roof3d.roof.model import Kind, Role
from roof3d.scene.model import PartKind

SURFACES: dict[Kind, tuple[PartKind, Hatch]] = {
    Kind.STEEP: (PartKind.STEEP_PLANE, courses),
    Kind.LOW: (PartKind.LOW_PLANE, strips),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class SurfaceEntry:
    """One kind of plane in the key: its words, first the name."""

    kind: Kind
    lines: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class EdgeEntry:
    """One role in the key, with the total length as text."""

    role: Role
    name: str
    total: str


def paint_swatch(
    colour: NDArray[np.uint8], kind: Kind, corner: tuple[int, int], size: tuple[int, int]
) -> None:
    """Paint a patch of a surface into a raster, in place, hatched as on the roof."""
    part, hatch = SURFACES[kind]
    (x0, y0), (width, height) = corner, size
    rows, columns = np.mgrid[0 : height * FINE, 0 : width * FINE]
    # At a fixed scale of the sheet's own, so that the sample shows a few strips of each.
    per_metre = height / 1.9
    u = columns.ravel() / FINE / per_metre
    s = (height * FINE - rows.ravel()) / FINE / per_metre
    tone = hatch(u, s, per_metre, per_metre).reshape(height, FINE, width, FINE).mean(axis=(1, 3))
    patch = np.clip(tone[..., None] * np.array(PART_COLOURS[part]) * 255.0, 0.0, 255.0)
    colour[y0 : y0 + height, x0 : x0 + width] = np.rint(patch).astype(np.uint8)


def draw_stroke(
    sheet: Sheet,
    segments: Sequence[tuple[Pixel, Pixel]],
    stroke: Stroke,
    share: float,
    order: float,
) -> None:
    """Ink segments in the style of their role; ``share`` scales widths and dashes."""
    dash = tuple(step * share for step in stroke.dash)
    if stroke.under:
        sheet.lines(segments, width=max(0.8, stroke.under * share), ink=stroke.ink, order=order)
    width = max(1.2, stroke.width * share)
    sheet.lines(segments, width=width, ink=stroke.ink, dash=dash, order=order + 0.01)
    if stroke.core:
        sheet.lines(
            segments, width=max(0.6, stroke.core * share), ink=PAPER, order=order + 0.02, butt=True
        )


def draw_edge_key(
    sheet: Sheet,
    entries: Sequence[EdgeEntry],
    corner: Pixel,
    row: float,
    column: float,
    rows: int,
    size: float,
) -> None:
    """Write the edge key in columns of ``rows`` entries, ``row`` pixels apart.

    Words are set smaller, all alike, where a name would run into its length.
    """
    share, room = size / 15.0, column - (4.9 + 1.6 + 1.0) * size
    wide = [text_width(e.name, size) + text_width(e.total, size, bold=True) for e in entries]
    letters = size * min(1.0, room / max(1.0, *wide))
    for k, entry in enumerate(entries):
        x = corner[0] + (k // rows) * column
        y = corner[1] + (k % rows + 0.5) * row
        line = ((x, y), (x + 4.2 * size, y))
        draw_stroke(sheet, [line], STROKES[entry.role], share, 6.0)
        sheet.text((x + 4.9 * size, y), entry.name, size=letters, ink=INK)
        end = x + column - 1.6 * size
        sheet.text((end, y), entry.total, size=letters, ink=INK, across="right", bold=True)


def draw_surface_words(
    sheet: Sheet, entry: SurfaceEntry, at: Pixel, size: float, height: float
) -> None:
    """Write the words of one surface beside its swatch, which is ``height`` pixels high."""
    step = height / max(3, len(entry.lines))
    for k, line in enumerate(entry.lines):
        y = at[1] + (k + 0.5) * step
        sheet.text((at[0], y), line, size=size, ink=INK if not k else SOFT_INK, bold=not k)


def caution_rows(cautions: Sequence[str], width: float, size: float) -> tuple[tuple[str, ...], ...]:
    """Set cautions two in a row where every one fits half the width, else one in a row."""
    gap = 2.0 * size
    longest = max((text_width(line, size) for line in cautions), default=0.0)
    per_row = 2 if longest <= (width - gap) / 2 else 1
    return tuple(tuple(cautions[k : k + per_row]) for k in range(0, len(cautions), per_row))


def draw_cautions(
    sheet: Sheet, rows: Sequence[Sequence[str]], corner: Pixel, width: float, size: float
) -> None:
    """Write the cautions at the foot of the sheet; a line too long is set smaller."""
    for r, row in enumerate(rows):
        for c, line in enumerate(row):
            room = width if len(row) == 1 else (width - 2.0 * size) / 2
            fit = min(1.0, room / max(1.0, text_width(line, size)))
            x = corner[0] + c * (width + 2.0 * size) / 2
            y = corner[1] + (r + 0.5) * size * 1.5
            sheet.text((x, y), line, size=size * fit, ink=CAUTION_INK)
