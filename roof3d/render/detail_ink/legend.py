"""The legend of a layered detail: top layer first, as the drawing stands."""

from __future__ import annotations

from roof3d.details.model import Detail, DetailLayer, PieceKind
from roof3d.render.detail_ink.markers import ink_marker
from roof3d.render.detail_ink.palette import INK, NOTE_INK, colour_of
from roof3d.render.detail_ink.paragraph import broken, write_lines
from roof3d.render.lettering import LINE_PITCH, Box
from roof3d.render.sheet import Sheet

_GAP = 0.95


def set_legend(
    detail: Detail,
    area: tuple[float, float, float, float],
    sizes: tuple[float, float],
    sheet: Sheet | None = None,
) -> tuple[Box, ...]:
    """Write one row a layer into an area; returns the boxes of all its text.

    Parameters
    ----------
    area : (left, top, right, bottom)
        Pixels; rows too many for it run past its bottom.
    sizes : tuple[float, float]
        Font size of names and of notes, pixels.
    sheet : Sheet or None
        None to measure only.
    """
    left, top, right, bottom = area
    name, note = sizes
    radius = 0.72 * name
    text_left = left + 2 * radius + 0.5 * name + 2.4 * name
    rows = []
    for layer in reversed(detail.layers):
        heading = broken(layer.name, name, right - text_left, bold=True)
        notes = [
            line
            for words in (layer.why, layer.size, layer.fastening)
            for line in broken(_sentence(words), note, right - text_left)
        ]
        height = LINE_PITCH * (name * len(heading) + note * len(notes))
        rows.append((layer, heading, notes, height))
    free = bottom - top - sum(row[3] for row in rows)
    gap = max(0.3 * note, min(_GAP * name, free / max(1, len(rows) - 1)))
    boxes: list[Box] = []
    y = top
    for layer, heading, notes, height in rows:
        middle = y + LINE_PITCH * name / 2.0
        if sheet is not None:
            ink_marker(sheet, layer.number, (left + radius, middle), radius)
            _swatch(sheet, detail, layer, (left + 2 * radius + 0.5 * name, middle), name)
        boxes += write_lines(sheet, (text_left, middle), heading, name, INK, bold=True)
        below = y + LINE_PITCH * (name * len(heading) + note / 2.0)
        boxes += write_lines(sheet, (text_left, below), notes, note, NOTE_INK)
        y += height + gap
    return tuple(boxes)


def _sentence(words: str) -> str:
    return words[:1].upper() + words[1:]


def _swatch(
    sheet: Sheet, detail: Detail, layer: DetailLayer, at: tuple[float, float], size: float
) -> None:
    piece = next(
        p
        for p in detail.pieces
        if p.layer == layer.number
        and p.kind not in {PieceKind.FRAMING, PieceKind.FASTENER}
        and p.material == layer.material
    )
    x, y = at
    half = 0.62 * size
    ring = [(x, y - half), (x + 1.9 * size, y - half), (x + 1.9 * size, y + half), (x, y + half)]
    sheet.polygon(ring, fill=colour_of(piece), ink=INK, width=0.07 * size, order=4.0)
