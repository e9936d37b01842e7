"""From what is drawn and what is said to a sheet: paper, scale, and where things stand on it."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from roof3d.drawing.marks.clear import bounds_of
from roof3d.drawing.model import Callout, Dimension, Drawing, Line, Mark, Stroke, moved
from roof3d.drawing.sheet.paper import MARGIN, PAPERS, SCALES, Paper, Scale
from roof3d.drawing.sheet.title import TITLE_HIGH, TITLE_WIDE, Heading, set_scale_bar, set_title
from roof3d.drawing.sheet.words import Column, Entry, flow
from roof3d.units import Units

TEXT = 1.8
"""Height of a capital, millimetres."""
_PAD, _GAP = 3.0, 5.0
_FOOT = 9.0
"""Under the drawing, for the scale bar."""
_FRAME = Stroke(width=0.5)
_THIN = Stroke(width=0.18)
_PANELS = (78.0, 88.0, 100.0)
_BANDS = (38.0, 44.0, 50.0, 56.0, 62.0, 70.0, 80.0)
_MOST = 0.7
"""Share of the lengths that a larger scale must still show."""
Room = tuple[float, float, float, float]
"""Left, low, right, high."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Plate:
    """A sheet without its drawing: room for that, and everything else in its place."""

    paper: Paper
    room: Room
    title: Room
    marks: tuple[Mark, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Sketch:
    """A way to draw a thing.

    Attributes
    ----------
    extent : tuple[float, float]
        Width and height of the thing alone, metres.
    draw : callable
        Takes the factor of a scale and returns the marks in millimetres, anywhere.
    """

    extent: tuple[float, float]
    draw: Callable[[float], tuple[Mark, ...]]


def fit_sheet(
    sketches: Sequence[Sketch],
    entries: Sequence[Entry],
    heading: Heading,
    units: Units,
    wanted: float,
) -> Drawing:
    """Choose the smallest paper on which a drawing fits at a readable scale, and set it there.

    Parameters
    ----------
    sketches : sequence of Sketch
        The first shows most, and each further one no more. A larger scale is taken for most
        of the lengths rather than a smaller one for all.
    entries : sequence of Entry
        Legend, notes, cautions.
    heading : Heading
    units : Units
    wanted : float
        Factor of the smallest scale that is still readable; a smaller drawing only where no
        paper is large enough.
    """
    for paper in PAPERS[units]:
        plates = tuple(_plates(paper, entries))
        last = paper is PAPERS[units][-1]
        scales = [scale for scale in SCALES[units] if last or scale.factor <= wanted]
        found = [fit for sketch in sketches for fit in _largest(sketch, scales, plates)]
        if not found:
            continue
        named = max(_count(marks, Callout) for marks, _, _ in found)
        found = [fit for fit in found if _count(fit[0], Callout) == named]
        most = max(_count(marks, Dimension) for marks, _, _ in found)
        enough = [fit for fit in found if _count(fit[0], Dimension) >= _MOST * most]
        marks, plate, scale = min(
            enough, key=lambda fit: (fit[2].factor, -_count(fit[0], Dimension))
        )
        return _sheet(marks, plate, scale, heading, units)
    scale = SCALES[units][-1]
    return _sheet(sketches[-1].draw(scale.factor), plates[-1], scale, heading, units)


def _largest(
    sketch: Sketch, scales: Sequence[Scale], plates: Sequence[Plate]
) -> Iterator[tuple[tuple[Mark, ...], Plate, Scale]]:
    """Yield a sketch at the largest scale that fits any of the plates, if one does."""
    for scale in scales:
        wide, high = (size * 1000.0 / scale.factor for size in sketch.extent)
        rooms = [
            plate
            for plate in plates
            if wide <= plate.room[2] - plate.room[0] and high <= plate.room[3] - plate.room[1]
        ]
        marks = sketch.draw(scale.factor) if rooms else ()
        for plate in rooms:
            if _fits(marks, plate.room):
                yield marks, plate, scale
                return


def _count(marks: tuple[Mark, ...], kind: type[Callout | Dimension]) -> int:
    return sum(isinstance(mark, kind) for mark in marks)


def _fits(marks: tuple[Mark, ...], room: Room) -> bool:
    left, low, right, high = bounds_of(marks)
    return right - left <= room[2] - room[0] and high - low <= room[3] - room[1]


def _sheet(
    marks: tuple[Mark, ...], plate: Plate, scale: Scale, heading: Heading, units: Units
) -> Drawing:
    left, low, right, high = bounds_of(marks)
    x0, y0, x1, y1 = plate.room
    by = ((x0 + x1 - left - right) / 2.0, (y0 + y1 - low - high) / 2.0)
    paper = plate.paper
    return Drawing(
        title=heading.title,
        size=(paper.width, paper.height),
        paper=paper.name,
        scale=scale.factor,
        scale_words=scale.words,
        units=units,
        marks=(
            *(moved(mark, by) for mark in marks),
            *plate.marks,
            *set_title(heading, plate.title, scale, paper, TEXT),
            *set_scale_bar((x0, y0 - _FOOT + 1.0), scale.factor, units, TEXT),
        ),
    )


def _plates(paper: Paper, entries: Sequence[Entry]) -> Iterator[Plate]:
    """Yield ways to part a sheet: words below, and words at the right, the smallest that do."""
    yield from _first(_band(paper, entries, high) for high in _BANDS)
    yield from _first(_panel(paper, entries, wide) for wide in _PANELS)


def _first(plates: Iterator[Plate | None]) -> Iterator[Plate]:
    for plate in plates:
        if plate is not None:
            yield plate
            return


def _band(paper: Paper, entries: Sequence[Entry], high: float) -> Plate | None:
    """Words in columns along the foot of the sheet, the title block at their right."""
    left, right = MARGIN, paper.width - MARGIN
    top = MARGIN + high
    wide = right - left - TITLE_WIDE
    count = max(2, round(wide / 68.0))
    step = wide / count
    columns: list[Column] = [
        (left + k * step + _PAD, top - _PAD, step - 2.0 * _PAD, MARGIN + _PAD) for k in range(count)
    ]
    columns.append(
        (right - TITLE_WIDE + _PAD, top - _PAD, TITLE_WIDE - 2 * _PAD, MARGIN + TITLE_HIGH + _PAD)
    )
    words = flow(entries, columns, TEXT)
    if words is None:
        return None
    rules = (
        _rule((left, top), (right, top)),
        _rule((right - TITLE_WIDE, MARGIN), (right - TITLE_WIDE, top)),
    )
    room = (left + _GAP, top + _FOOT, right - _GAP, paper.height - MARGIN - _GAP)
    title = (right - TITLE_WIDE, MARGIN, right, MARGIN + TITLE_HIGH)
    return Plate(paper=paper, room=room, title=title, marks=(*_border(paper), *rules, *words))


def _panel(paper: Paper, entries: Sequence[Entry], wide: float) -> Plate | None:
    """Words in a column at the right, the title block at its foot."""
    right, top = paper.width - MARGIN, paper.height - MARGIN
    left = right - wide
    column = (left + _PAD, top - _PAD, wide - 2.0 * _PAD, MARGIN + TITLE_HIGH + _PAD)
    words = flow(entries, (column,), TEXT)
    if words is None:
        return None
    rules = (_rule((left, MARGIN), (left, top)),)
    room = (MARGIN + _GAP, MARGIN + _FOOT, left - _GAP, top - _GAP)
    title = (left, MARGIN, right, MARGIN + TITLE_HIGH)
    return Plate(paper=paper, room=room, title=title, marks=(*_border(paper), *rules, *words))


def _border(paper: Paper) -> tuple[Mark, ...]:
    a, b, c, d = MARGIN, MARGIN, paper.width - MARGIN, paper.height - MARGIN
    ring = ((a, b), (c, b), (c, d), (a, d), (a, b))
    return (Line(layer="sheet", points=ring, stroke=_FRAME),)


def _rule(start: tuple[float, float], end: tuple[float, float]) -> Line:
    return Line(layer="sheet", points=(start, end), stroke=_THIN)
