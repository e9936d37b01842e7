"""Legend, notes and cautions as blocks of text that flow down columns."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from roof3d.drawing.letters import LINE_PITCH, break_text
from roof3d.drawing.marks.numbers import RADIUS
from roof3d.drawing.model import Area, Callout, Hatch, Line, Mark, Point, Stroke, Text, moved

_INDENT = 16.0
_SWATCH, _DISC_AT = (5.6, 14.4), RADIUS
"""From where to where a swatch lies, and where the middle of the disc is, from the left."""
_LEAD, _AFTER, _AFTER_HEAD = 1.2, 1.5, 0.6
_RIM = 0.18
Column = tuple[float, float, float, float]
"""Left, top, width, bottom."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """One entry of the words beside a drawing.

    Attributes
    ----------
    heading, words : str
        In bold, and below it; each may be empty.
    number : str
        In a disc before it; empty for none.
    hatch : Hatch or None
        Of its swatch.
    symbol : tuple of Mark
        Drawn in place of a swatch, about the origin.
    opens : bool
        Whether it is the title of what follows.
    """

    heading: str = ""
    words: str = ""
    number: str = ""
    hatch: Hatch | None = None
    symbol: tuple[Mark, ...] = ()
    opens: bool = False


def flow(
    entries: Sequence[Entry], columns: Sequence[Column], height: float
) -> tuple[Mark, ...] | None:
    """Write entries down columns, one after another; None where they do not all fit.

    Parameters
    ----------
    entries : sequence of Entry
    columns : sequence of Column
        In the order in which they are filled.
    height : float
        Of a capital in the words, millimetres; headings are a little larger.
    """
    marks: list[Mark] = []
    place = 0
    y = columns[0][1]
    for k, entry in enumerate(entries):
        while True:
            left, top, width, bottom = columns[place]
            found, deep = _written(entry, width, height)
            # A title does not stand alone at the foot of a column.
            after = entries[k + 1] if entry.opens and k + 1 < len(entries) else None
            more = _written(after, width, height)[1] + _LEAD + _AFTER_HEAD if after else 0.0
            needed = deep + more
            if y - needed >= bottom:
                break
            place += 1
            if place == len(columns):
                return None
            y = columns[place][1]
        lead = _LEAD if entry.opens and y < top else 0.0
        marks += [moved(mark, (left, y - lead)) for mark in found]
        y -= deep + lead + (_AFTER_HEAD if entry.opens else _AFTER)
    return tuple(marks)


def _written(entry: Entry, width: float, height: float) -> tuple[list[Mark], float]:
    """Return an entry with its upper left corner at the origin, and how deep it is."""
    title = 1.2 * height if entry.opens else 1.08 * height
    indent = _INDENT if entry.number or entry.hatch or entry.symbol else 0.0
    marks: list[Mark] = []
    y = 0.0
    for words, size, bold in ((entry.heading, title, True), (entry.words, height, False)):
        for line in break_text(words, size, width - indent, bold=bold) if words else ():
            y -= 0.5 * LINE_PITCH * size
            marks.append(Text(layer="text", at=(indent, y), text=line, height=size, bold=bold))
            y -= 0.5 * LINE_PITCH * size
    middle = -max(RADIUS, 0.5 * LINE_PITCH * title)
    if entry.number:
        at = (_DISC_AT, middle)
        marks.append(
            Callout(layer="numbers", number=entry.number, centre=at, anchor=at, radius=RADIUS)
        )
        y = min(y, middle - RADIUS)
    if entry.hatch is not None:
        marks.append(_swatch(entry.hatch, middle))
    marks += [moved(mark, (sum(_SWATCH) / 2.0, middle)) for mark in entry.symbol]
    return marks, -y


def _swatch(hatch: Hatch, middle: float) -> Area:
    left, right = _SWATCH
    low, high = middle - 1.7, middle + 1.7
    ring = ((left, low), (right, low), (right, high), (left, high))
    return Area(layer="legend", rings=(ring,), hatch=hatch, stroke=Stroke(width=hatch.rim))


def frame_of(left: float, low: float, right: float, high: float) -> Line:
    """Return a frame around a part of the sheet."""
    ring: tuple[Point, ...] = ((left, low), (right, low), (right, high), (left, high), (left, low))
    return Line(layer="sheet", points=ring, stroke=Stroke(width=_RIM))
