"""The legend of a layered detail: top layer first, as the drawing stands; or in columns."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace

from roof3d.details.model import Detail, DetailLayer, PieceKind
from roof3d.render.detail_ink.discs import ink_marker
from roof3d.render.detail_ink.palette import LIGHT, RIM, Theme, colour_of
from roof3d.render.detail_ink.paragraph import broken, write_lines
from roof3d.render.lettering import LINE_PITCH, Box
from roof3d.render.sheet import Sheet
from roof3d.tolerance import DEFAULT

_GAP = 0.95
_TELLING = (
    (("why", "size", "fastening", "mistake", "check"), 1.0),
    (("why", "size", "fastening", "mistake"), 1.0),
    (("why", "size", "fastening"), 1.0),
    (("why", "size", "fastening"), 0.92),
    (("why", "size"), 1.0),
    (("why", "size"), 0.9),
    (("size",), 1.0),
    (("size",), 0.85),
    ((), 0.85),
)
"""What a row tells, and a factor on its letters; the first that fits is taken."""
_HIDDEN = "Under the others, not in sight here."
_LEAD = {"mistake": "Mistake: ", "check": "Check: "}
_Row = tuple[DetailLayer, tuple[str, ...], list[str], float]


def set_legend(
    detail: Detail,
    area: tuple[float, float, float, float],
    sizes: tuple[float, float],
    tones: Mapping[int, float],
    sheet: Sheet | None = None,
    *,
    hidden: Collection[int] = (),
    theme: Theme = LIGHT,
) -> tuple[Box, ...]:
    """Write one row a layer into an area; returns the boxes of all its text.

    Parameters
    ----------
    area : (left, top, right, bottom)
        Pixels; where there are many rows they tell less, in smaller letters.
    sizes : tuple[float, float]
        Font size of names and of notes, pixels.
    tones : Mapping[int, float]
        Factor on the lightness of each layer.
    sheet : Sheet or None
        None to measure only.
    hidden : collection of int
        Layers that are not in sight: it is said of them.
    """
    left, top, right, bottom = area
    for words, factor in _TELLING:
        name, note = (factor * size for size in sizes)
        width = right - left - _indent(name)
        rows = [
            _row(
                _of_right(detail, layer), words, (name, note), width, hidden=layer.number in hidden
            )
            for layer in reversed(detail.layers)
        ]
        free = bottom - top - sum(row[3] for row in rows)
        if free >= 0.3 * note * len(rows):
            break
    gap = max(0.3 * note, min(_GAP * name, free / max(1, len(rows) - 1)))
    boxes: list[Box] = []
    y = top
    for layer, heading, notes, height in rows:
        middle = y + LINE_PITCH * name / 2.0
        _head(sheet, detail, layer, (left, middle), name, tones, theme)
        text_left = left + _indent(name)
        boxes += write_lines(sheet, (text_left, middle), heading, name, theme.ink, bold=True)
        below = y + LINE_PITCH * (name * len(heading) + note / 2.0)
        boxes += write_lines(sheet, (text_left, below), notes, note, theme.note)
        y += height + gap
    return tuple(boxes)


def set_names(
    detail: Detail,
    area: tuple[float, float, float, float],
    sizes: tuple[float, float],
    tones: Mapping[int, float],
    sheet: Sheet | None = None,
    *,
    cut: Collection[int] | None = None,
    columns: int = 3,
    theme: Theme = LIGHT,
) -> tuple[Box, ...]:
    """Write the name and size of each layer into columns, from the bottom layer up.

    ``cut`` are the layers that the section shows: of others it says that it does not.
    """
    left, top, right, _ = area
    name, note = sizes
    wide = (right - left) / columns
    room = wide - _indent(name) - name
    rows = []
    for layer in detail.layers:
        words = _sentence(_of_right(detail, layer).size)
        if cut is not None and layer.number not in cut:
            words = f"Not cut here. {words}"
        rows.append((layer, broken(layer.name, name, room, bold=True), broken(words, note, room)))
    heights = [LINE_PITCH * (name * len(a) + note * len(b)) + 0.6 * name for _, a, b in rows]
    boxes: list[Box] = []
    column, y, deep = 0, top, _least_depth(heights, columns)
    for (layer, heading, notes), height in zip(rows, heights, strict=True):
        if y > top and y - top + height > deep + DEFAULT.merge:
            column, y = column + 1, top
        x, middle = left + wide * column, y + LINE_PITCH * name / 2.0
        _head(sheet, detail, layer, (x, middle), name, tones, theme)
        at = x + _indent(name)
        boxes += write_lines(sheet, (at, middle), heading, name, theme.ink, bold=True)
        below = y + LINE_PITCH * (name * len(heading) + note / 2.0)
        boxes += write_lines(sheet, (at, below), notes, note, theme.note)
        y += height
    return tuple(boxes)


def _least_depth(heights: Sequence[float], columns: int) -> float:
    """Return the least depth of so many columns that all rows go into, in order."""
    runs = {
        sum(heights[first:last])
        for first in range(len(heights))
        for last in range(first + 1, len(heights) + 1)
    }
    for deep in sorted(runs):
        used, filled = 1, 0.0
        for height in heights:
            if filled + height > deep + DEFAULT.merge:
                used, filled = used + 1, 0.0
            filled += height
        if used <= columns and max(heights) <= deep + DEFAULT.merge:
            return deep
    return sum(heights)


def _indent(name: float) -> float:
    """From the left of a row to its words: number and swatch."""
    return 4.34 * name


def _row(
    layer: DetailLayer,
    words: tuple[str, ...],
    sizes: tuple[float, float],
    width: float,
    *,
    hidden: bool,
) -> _Row:
    name, note = sizes
    heading = broken(layer.name, name, width, bold=True)
    notes = [
        line
        for word in words
        if getattr(layer, word)
        for line in broken(_LEAD.get(word, "") + _sentence(getattr(layer, word)), note, width)
    ]
    notes = [*((_HIDDEN,) if hidden else ()), *notes]
    return layer, heading, notes, LINE_PITCH * (name * len(heading) + note * len(notes))


def _of_right(detail: Detail, layer: DetailLayer) -> DetailLayer:
    """Return a layer whose words say that its sizes are those of the right build."""
    if detail.mistake is None or not layer.size:
        return layer
    return replace(layer, size=f"built right: {layer.size}")


def _sentence(words: str) -> str:
    return words[:1].upper() + words[1:]


def _head(
    sheet: Sheet | None,
    detail: Detail,
    layer: DetailLayer,
    at: tuple[float, float],
    size: float,
    tones: Mapping[int, float],
    theme: Theme,
) -> None:
    """Ink the number and the swatch of a row."""
    if sheet is None:
        return
    radius = 0.72 * size
    ink_marker(sheet, layer.number, (at[0] + radius, at[1]), radius, theme=theme)
    pieces = [
        p
        for p in detail.pieces
        if p.layer == layer.number and p.kind not in {PieceKind.FRAMING, PieceKind.FASTENER}
    ]
    if not pieces:
        return
    piece = next((p for p in pieces if p.material == layer.material), pieces[0])
    x, y = at[0] + 2.0 * radius + 0.5 * size, at[1]
    half = 0.62 * size
    ring = [(x, y - half), (x + 1.9 * size, y - half), (x + 1.9 * size, y + half), (x, y + half)]
    fill = colour_of(piece, tones.get(layer.number, 1.0))
    sheet.polygon(ring, fill=fill, ink=RIM, width=0.07 * size, order=4.0)
