"""The title block and the scale bar."""

from __future__ import annotations

from dataclasses import dataclass

from roof3d.drawing.letters import break_text, shorten_text, text_width
from roof3d.drawing.model import Area, Hatch, Line, Mark, Point, Stroke, Text
from roof3d.drawing.sheet.paper import Paper, Scale
from roof3d.units import FOOT, INCH, Units

TITLE_WIDE, TITLE_HIGH = 78.0, 33.0
_PAD = 3.0
_THICK, _THIN = Stroke(width=0.5), Stroke(width=0.18)
_TITLE = 1.75
"""Height of the title, in heights of the small text."""
_LEAST = 0.7
_BAR = 2.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Heading:
    """What the title block says.

    Attributes
    ----------
    title, view : str
        The joint, and how it is shown.
    job, place : str
        Name of the model, and id of the place in it.
    lines : tuple of str
        What must be known to read the drawing.
    """

    title: str
    view: str
    job: str
    place: str
    lines: tuple[str, ...]


def set_title(
    heading: Heading,
    room: tuple[float, float, float, float],
    scale: Scale,
    paper: Paper,
    height: float,
) -> tuple[Mark, ...]:
    """Return the title block: a heavy rule, the title, the view and its scale, job and place."""
    left, _, right, high = room
    wide = right - left - 2.0 * _PAD
    x = left + _PAD
    size = _TITLE * height
    size = max(_LEAST * size, min(size, size * wide / text_width(heading.title, size, bold=True)))
    marks: list[Mark] = [Line(layer="sheet", points=((left, high), (right, high)), stroke=_THICK)]
    y = high - 1.2 - size
    marks.append(_text(shorten_text(heading.title, size, wide, bold=True), (x, y), size, bold=True))
    y -= size + 1.1 * height
    view = shorten_text(heading.view, 1.15 * height, wide, bold=True)
    marks.append(_text(view, (x, y), 1.15 * height, bold=True))
    y -= 2.1 * height
    words = f"{shorten_text(heading.job, height, 0.6 * wide)}, {heading.place}"
    marks.append(_text(shorten_text(words, height, wide), (x, y), height))
    y -= 1.75 * height
    marks.append(_text(f"Scale {scale.words} on {paper.name}", (x, y), height, bold=True))
    small = 0.86 * height
    lines = [line for words in heading.lines for line in break_text(words, small, wide)]
    y -= 0.4 * height
    for line in lines:
        y -= 1.7 * small
        marks.append(_text(line, (x, y), small))
    return tuple(marks)


def set_scale_bar(at: Point, factor: float, units: Units, height: float) -> tuple[Mark, ...]:
    """Return a bar of round lengths, black and white in turn, from its lower left corner."""
    steps, words = _bar(factor, units)
    marks: list[Mark] = []
    x, y = at[0] + 1.0, at[1]
    past = x
    for k, (length, word) in enumerate(zip(steps, words[1:], strict=True)):
        end = past + length * 1000.0 / factor
        ring = ((past, y), (end, y), (end, y + _BAR), (past, y + _BAR))
        tone = Hatch(tone=0.0 if k % 2 == 0 else 1.0)
        marks.append(Area(layer="scale", rings=(ring,), hatch=tone, stroke=_THIN))
        marks.append(_word(word, (end, y + _BAR + 1.1 * height), height))
        past = end
    marks.append(_word(words[0], (x, y + _BAR + 1.1 * height), height))
    return tuple(marks)


def _bar(factor: float, units: Units) -> tuple[list[float], list[str]]:
    """Lengths of the parts of a bar some 60 mm long, metres, and the words at their ends."""
    if units is Units.METRIC:
        step = next(size for size in (0.02, 0.05, 0.1, 0.2, 0.5, 1.0, 2.0) if size / factor > 0.011)
        ends = [step * k for k in range(1, 5)]
        return [step] * 4, [
            "0",
            *(f"{end * 1000.0:g}" for end in ends[:-1]),
            f"{ends[-1] * 1000:g} mm",
        ]
    inch, foot = float(INCH), float(FOOT)
    if factor <= 12.0:
        step = 3 if factor <= 4.0 else 6
        ends = [step, 2 * step, 3 * step, 4 * step]
        return [step * inch] * 4, ["0", *(str(end) for end in ends[:-1]), f"{ends[-1]} in"]
    step = 1 if factor <= 32.0 else 4
    return [step * foot] * 3, ["0", f"{step}", f"{2 * step}", f"{3 * step} ft"]


def _text(words: str, at: Point, height: float, *, bold: bool = False) -> Text:
    return Text(layer="title", at=at, text=words, height=height, bold=bold)


def _word(words: str, at: Point, height: float) -> Text:
    return Text(layer="scale", at=at, text=words, height=height, across="center")
