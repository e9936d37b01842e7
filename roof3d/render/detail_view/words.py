"""Title, subtitle, captions, notes and cautions of a picture of a detail."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence

import shapely

from roof3d.details.model import Detail
from roof3d.render.detail_ink.legend import set_legend, set_names
from roof3d.render.detail_ink.palette import LIGHT, Theme
from roof3d.render.detail_ink.paragraph import broken, write_lines
from roof3d.render.detail_view.look import Look, Style
from roof3d.render.detail_view.plan import Area, Plan
from roof3d.render.lettering import LINE_PITCH, Box
from roof3d.render.sheet import Sheet, text_width
from roof3d.scene.detail_scene import title_words
from roof3d.scene.model import Scene

_NOTES_SHOWN, _MANY = 4, 9
_TRUE_WIDTH = 0.97
"""Share of a line's room that is filled: small letters come out a little wider than measured."""
_CUT = {
    "low": "the break",
    "pitch": "the change of pitch",
    "cap": "the lap",
    "headwall": "the wall",
    "sidewall": "the wall",
}
"""What a section goes through, by the first word of the kind; else that word itself."""


def title_of(detail: Detail, look: Look) -> str:
    """Return the title of a sheet."""
    return title_words(detail, "in section" if look.style is Style.SECTION else "layer by layer")


def shown_words(look: Look) -> str | None:
    """Say how the layers are shown; None where they are lifted."""
    if look.style is Style.CUTAWAY:
        return "Layers where they belong, each cut back in steps to show what it lies on."
    if look.style is Style.SECTION:
        gaps = "" if look.exaggerate == 1.0 else "; white gaps come from the thickness as drawn"
        return f"Cut square through the middle of the joint{gaps}."
    return None


def cut_words(detail: Detail) -> str:
    """Say what the section goes through."""
    word = detail.kind.value.split("-")[0]
    return _CUT.get(word, f"the {word}")


def write_words(
    sheet: Sheet | None,
    detail: Detail,
    scene: Scene,
    plan: Plan,
    look: Look,
    tones: Mapping[int, float],
    cut: Collection[int],
    theme: Theme = LIGHT,
    *,
    hidden: Collection[int] = (),
) -> tuple[Box, ...]:
    """Write title, subtitle, legend, the section's heading and cautions; returns their boxes.

    ``cut`` are the layers that the section shows, ``hidden`` those that the drawing does not.
    """
    left, _, right, _ = plan.figure
    unit, note = plan.unit, plan.note
    title = title_of(detail, look)
    room = _TRUE_WIDTH * (right - left)
    size = min(plan.title, plan.title * room / text_width(title, plan.title, bold=True))
    y = 46.0 * unit
    boxes = list(write_lines(sheet, (left, y), (title,), size, theme.ink, bold=True))
    y += 0.5 * LINE_PITCH * (plan.title + note)
    for factor in (1.0, 0.93, 0.86, 0.8):
        lines = broken(scene.subtitle, factor * note, _TRUE_WIDTH * (right - left))
        if len(lines) <= (1 if look.style is Style.SECTION else 2):
            break
    boxes += write_lines(sheet, (left, y), lines, factor * note, theme.note)
    sizes = legend_sizes(plan)
    if look.style is Style.SECTION:
        columns = names_columns(detail)
        boxes += set_names(
            detail, plan.legend, sizes, tones, sheet, cut=cut, columns=columns, theme=theme
        )
        if plan.notes is not None:
            count = len(detail.notes)
            boxes += write_notes(sheet, detail, plan, count, plan.notes, theme, hung=True)
    else:
        boxes += set_legend(detail, plan.legend, sizes, tones, sheet, hidden=hidden, theme=theme)
        boxes += _head_section(sheet, detail, plan, cut, theme)
    x, y, right, bottom = plan.cautions
    small = 0.8 * note
    lines = broken(" ".join(scene.cautions), small, _TRUE_WIDTH * (right - x))
    at = (x, bottom - LINE_PITCH * small * (len(lines) - 0.5))
    boxes += write_lines(sheet, at, lines, small, theme.note)
    return tuple(boxes)


def _head_section(
    sheet: Sheet | None, detail: Detail, plan: Plan, cut: Collection[int], theme: Theme
) -> tuple[Box, ...]:
    x, y, _, _ = plan.section
    unit = plan.unit
    words = f"Section through {cut_words(detail)}, as laid; colours as above"
    size = 0.93 * plan.name
    room = _TRUE_WIDTH * (plan.section[2] - x - 8 * unit)
    size = min(size, size * room / text_width(words, size, bold=True))
    boxes = write_lines(sheet, (x + 8 * unit, y - 32 * unit), (words,), size, theme.ink, bold=True)
    said = ["Gaps come from the thickness, drawn larger than it is."]
    missing = [str(layer.number) for layer in detail.layers if layer.number not in cut]
    said = said if detail.thickness[0] > 1.0 else []
    said += [f"Not cut here: {', '.join(missing)}."] if missing else []
    small = 0.84 * plan.note
    words = " ".join(said)
    if words:
        small = min(small, small * room / text_width(words, small))
        at = (x + 8 * unit, y - 12 * unit)
        boxes += write_lines(sheet, at, (words,), small, theme.note)
    return boxes


def legend_sizes(plan: Plan) -> tuple[float, float]:
    """Return the font sizes of names and of notes, pixels."""
    return 0.93 * plan.name, 0.84 * plan.note


def names_columns(detail: Detail) -> int:
    """Return in how many columns the layers are named under a section."""
    return (2 if detail.notes else 3) + (len(detail.layers) > _MANY)


def place_notes(
    detail: Detail, drawn: Sequence[shapely.Geometry], plan: Plan
) -> tuple[int, Area] | None:
    """Find a corner of bare paper for the notes.

    Parameters
    ----------
    drawn : sequence of shapely geometries
        What the notes must not touch, pixels.

    Returns
    -------
    tuple or None
        How many notes there is room for, and where; None where not one can stand clear of
        what is drawn.
    """
    tree = shapely.STRtree(drawn)
    corners = _corners(plan)
    for count in range(min(_NOTES_SHOWN, len(detail.notes)), 0, -1):
        for area in corners:
            boxes = write_notes(None, detail, plan, count, area)
            covered = [shapely.Polygon(box.grown(6.0 * plan.unit).corners) for box in boxes]
            high = min(box.centre[1] for box in boxes) < plan.figure[1]
            if not high and not len(tree.query(covered, predicate="intersects")[0]):
                return count, area
    return None


def _corners(plan: Plan) -> tuple[Area, ...]:
    left, top, right, bottom = plan.figure
    wide, tall = 330 * plan.unit, 200 * plan.unit
    low = bottom - 4 * plan.unit
    return (
        (right - wide, bottom - tall, right, low),
        (left, bottom - tall, left + wide, low),
        (right - wide, top, right, top + tall),
        (left, top, left + wide, top + tall),
    )


def write_notes(
    sheet: Sheet | None,
    detail: Detail,
    plan: Plan,
    count: int,
    area: Area,
    theme: Theme = LIGHT,
    *,
    hung: bool = False,
) -> tuple[Box, ...]:
    """Write the first notes of a detail into an area: at its foot, or hung from its top."""
    x, top, right, bottom = area
    size = 0.84 * plan.note
    rows = [
        ("\u2022 " if k == 0 else "   ") + line
        for words in detail.notes[:count]
        for k, line in enumerate(broken(words, size, right - x - plan.note))
    ]
    y = bottom - LINE_PITCH * size * (len(rows) - 0.5)
    head = LINE_PITCH * 0.95 * plan.note
    if hung:
        y = top + LINE_PITCH * 0.93 * plan.name / 2.0 + head
    elif top <= plan.figure[1]:
        y = top + 1.8 * head
    heading = ("What keeps it dry" + (", built right" if detail.mistake else ""),)
    boxes = write_lines(sheet, (x, y - head), heading, 0.93 * plan.name, theme.ink, bold=True)
    return (*boxes, *write_lines(sheet, (x, y), rows, size, theme.ink))
