"""Title, subtitle, captions, notes and cautions of a picture of a detail."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
import shapely

from roof3d.details.model import Detail
from roof3d.render.camera import Camera
from roof3d.render.detail_ink.legend import set_legend, set_names
from roof3d.render.detail_ink.palette import LIGHT, Theme
from roof3d.render.detail_ink.paragraph import broken, write_lines
from roof3d.render.detail_view.look import Look, Style
from roof3d.render.detail_view.plan import Area, Plan
from roof3d.render.lettering import LINE_PITCH, Box
from roof3d.render.sheet import Sheet, text_width
from roof3d.scene.model import Part, Scene

_NOTES_SHOWN = 4
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
    return f"{detail.name}, {'in section' if look.style is Style.SECTION else 'layer by layer'}"


def shown_words(look: Look) -> str | None:
    """Say how the layers are shown; None where they are lifted."""
    if look.style is Style.CUTAWAY:
        return "Layers where they belong, each cut back in steps to show what it lies on."
    if look.style is Style.SECTION:
        return "Cut square to the line, layers where they belong; edges drawn to scale."
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
    theme: Theme = LIGHT,
) -> tuple[Box, ...]:
    """Write title, subtitle, legend, the section's heading and cautions; returns their boxes."""
    left, _, right, _ = plan.figure
    unit, note = plan.unit, plan.note
    title = title_of(detail, look)
    size = min(plan.title, plan.title * (right - left) / text_width(title, plan.title, bold=True))
    y = 46.0 * unit
    boxes = list(write_lines(sheet, (left, y), (title,), size, theme.ink, bold=True))
    y += 0.5 * LINE_PITCH * (plan.title + note)
    for factor in (1.0, 0.93, 0.86, 0.8):
        lines = broken(scene.subtitle, factor * note, right - left)
        if len(lines) <= (1 if look.style is Style.SECTION else 2):
            break
    boxes += write_lines(sheet, (left, y), lines, factor * note, theme.note)
    sizes = (0.93 * plan.name, 0.84 * note)
    if look.style is Style.SECTION:
        boxes += set_names(detail, plan.legend, sizes, tones, sheet, theme=theme)
    else:
        boxes += set_legend(detail, plan.legend, sizes, tones, sheet, theme=theme)
        boxes += _head_section(sheet, detail, plan, theme)
    x, y, right, bottom = plan.cautions
    small = 0.8 * note
    lines = broken(" ".join(scene.cautions), small, right - x)
    at = (x, bottom - LINE_PITCH * small * (len(lines) - 0.5))
    boxes += write_lines(sheet, at, lines, small, theme.note)
    return tuple(boxes)


def _head_section(sheet: Sheet | None, detail: Detail, plan: Plan, theme: Theme) -> tuple[Box, ...]:
    x, y, _, _ = plan.section
    unit = plan.unit
    words = f"Section through {cut_words(detail)}, as laid; colours as above"
    size = 0.93 * plan.name
    room = plan.section[2] - x - 8 * unit
    size = min(size, size * room / text_width(words, size, bold=True))
    boxes = write_lines(sheet, (x + 8 * unit, y - 24 * unit), (words,), size, theme.ink, bold=True)
    if detail.thickness[0] > 1.0:
        words = "Gaps in it come from the thickness, drawn larger than it is."
        at = (x + 8 * unit, y - 5 * unit)
        boxes += write_lines(sheet, at, (words,), 0.84 * plan.note, theme.note)
    return boxes


def place_notes(
    detail: Detail,
    parts: Sequence[Part],
    camera: Camera,
    plan: Plan,
    avoid: Sequence[Box] = (),
) -> tuple[int, Area] | None:
    """Find a corner of bare paper for the notes.

    Returns
    -------
    tuple or None
        How many notes there is room for, and where; None where not one can stand clear of
        what is drawn.
    """
    taken = [outline for part in parts for outline in _outlines(part, camera)]
    drawn = shapely.STRtree([*taken, *(shapely.Polygon(box.corners) for box in avoid)])
    corners = _corners(plan)
    for count in range(min(_NOTES_SHOWN, len(detail.notes)), 0, -1):
        for area in corners:
            boxes = write_notes(None, detail, plan, count, area)
            covered = [shapely.Polygon(box.grown(6.0 * plan.unit).corners) for box in boxes]
            high = min(box.centre[1] for box in boxes) < plan.figure[1]
            if not high and not len(drawn.query(covered, predicate="intersects")[0]):
                return count, area
    return None


def _outlines(part: Part, camera: Camera) -> list[shapely.Geometry]:
    """Triangles of a part in the picture: exact, also where it is hollow."""
    if not len(part.triangles):
        return []
    pixels, _ = camera.project(part.vertices)
    rings = pixels[part.triangles]
    closed = np.concatenate((rings, rings[:, :1]), axis=1)
    return list(shapely.polygons(closed))


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
    sheet: Sheet | None, detail: Detail, plan: Plan, count: int, area: Area, theme: Theme = LIGHT
) -> tuple[Box, ...]:
    """Write the first notes of a detail into a corner: at its foot, or from its top."""
    x, top, right, bottom = area
    size = 0.84 * plan.note
    rows = [
        ("\u2022 " if k == 0 else "   ") + line
        for words in detail.notes[:count]
        for k, line in enumerate(broken(words, size, right - x - plan.note))
    ]
    y = bottom - LINE_PITCH * size * (len(rows) - 0.5)
    head = LINE_PITCH * 0.95 * plan.note
    if top <= plan.figure[1]:
        y = top + 1.8 * head
    heading = ("What keeps it dry",)
    boxes = write_lines(sheet, (x, y - head), heading, 0.93 * plan.name, theme.ink, bold=True)
    return (*boxes, *write_lines(sheet, (x, y), rows, size, theme.ink))
