"""Running text on a sheet: broken into lines, with the boxes that it covers."""

from __future__ import annotations

from collections.abc import Sequence

from roof3d.render.lettering import LINE_PITCH, Box
from roof3d.render.sheet import Ink, Pixel, Sheet, text_width


def broken(words: str, size: float, width: float, *, bold: bool = False) -> tuple[str, ...]:
    """Break words into lines no wider than ``width`` pixels; a longer word stands alone."""
    lines: list[str] = []
    for word in words.split():
        trial = f"{lines[-1]} {word}" if lines else word
        if lines and text_width(trial, size, bold=bold) > width:
            lines.append(word)
        elif lines:
            lines[-1] = trial
        else:
            lines.append(word)
    return tuple(lines)


def text_box(
    at: Pixel, words: str, size: float, *, across: str = "left", bold: bool = False
) -> Box:
    """Return what one line covers, written as ``Sheet.text`` does at the same place."""
    width = text_width(words, size, bold=bold)
    shift = {"left": width / 2.0, "right": -width / 2.0}.get(across, 0.0)
    return Box(centre=(at[0] + shift, at[1]), width=width, height=size)


def write_lines(
    sheet: Sheet | None,
    at: Pixel,
    lines: Sequence[str],
    size: float,
    ink: Ink,
    *,
    bold: bool = False,
) -> tuple[Box, ...]:
    """Write lines downward, the first with its middle at ``at``; returns their boxes.

    Without a sheet nothing is written, and the boxes are the same.
    """
    boxes = []
    for k, line in enumerate(lines):
        place = (at[0], at[1] + k * LINE_PITCH * size)
        boxes.append(text_box(place, line, size, bold=bold))
        if sheet is not None:
            sheet.text(place, line, size=size, ink=ink, bold=bold)
    return tuple(boxes)
