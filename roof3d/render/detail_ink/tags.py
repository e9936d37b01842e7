"""The names of both planes, written along the lifted detail's deck."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from roof3d.details.model import Detail, Point3
from roof3d.render.camera import Camera
from roof3d.render.detail_ink.palette import INK, PAPER
from roof3d.render.detail_ink.paragraph import text_box
from roof3d.render.lettering import Box
from roof3d.render.sheet import Sheet
from roof3d.units import format_pitch

_OFFS = (3.7, 5.2)
"""Distances from the edge of the deck, in heights of the letters: clears rafters."""
_SHARES = (0.55, 0.48, 0.62, 0.41, 0.69, 0.34, 0.76, 0.27, 0.2)


@dataclass(frozen=True, slots=True, kw_only=True)
class Tag:
    """One line of text with its turned box."""

    text: str
    box: Box


def set_tags(
    detail: Detail, camera: Camera, outward: Point3, size: float, avoid: Sequence[Box]
) -> tuple[Tag, Tag]:
    """Set the name and pitch of the low and of the steep plane beside the deck's end.

    Parameters
    ----------
    outward : Point3
        Unit vector along the break, away from the end that is measured; it points to the
        right in the picture.
    size : float
        Font size, pixels.
    avoid : sequence of Box
        Texts to keep clear of; a tag moves along its deck to do so.
    """
    low_name, steep_name = detail.planes
    low, steep = (format_pitch(slope) for slope in detail.slopes)
    across = detail.size[0] / 2.0
    same = sum(a * b for a, b in zip(outward, detail.frame.along, strict=True)) > 0.0
    u = across if same else -across
    return (
        _first_clear(detail, camera, u, -detail.size[1], f"{low_name}, {low}", size, avoid),
        _first_clear(detail, camera, u, detail.size[2], f"{steep_name}, {steep}", size, avoid),
    )


def _first_clear(
    detail: Detail,
    camera: Camera,
    u: float,
    end: float,
    text: str,
    size: float,
    avoid: Sequence[Box],
) -> Tag:
    """Return the tag at the first share of the deck where it touches nothing, or at the first."""
    tags = [
        _tag(detail, camera, (u, share * end), text, size, off)
        for off in _OFFS
        for share in _SHARES
    ]
    clear = [tag for tag in tags if not any(tag.box.grown(2.0).overlaps(b) for b in avoid)]
    return (clear or tags)[0]


def _tag(
    detail: Detail, camera: Camera, at: tuple[float, float], text: str, size: float, off: float
) -> Tag:
    u, s = at
    here = camera.pixel(detail.frame.point(u, s, 0.0))
    there = camera.pixel(detail.frame.point(u, 1.1 * s, 0.0))
    dx, dy = there[0] - here[0], there[1] - here[1]
    if dx < 0.0:
        dx, dy = -dx, -dy
    length = math.hypot(dx, dy)
    # To the right of and below the edge; the edge runs left to right.
    off *= size
    centre = (here[0] - dy / length * off, here[1] + dx / length * off)
    turn = -math.degrees(math.atan2(dy, dx))
    return Tag(text=text, box=replace(text_box(centre, text, size, across="center"), turn_deg=turn))


def ink_tags(sheet: Sheet, tags: tuple[Tag, ...], size: float) -> None:
    """Write tags."""
    for tag in tags:
        sheet.text(
            tag.box.centre,
            tag.text,
            size=size,
            ink=INK,
            bold=False,
            across="center",
            turn_deg=tag.box.turn_deg,
            halo=PAPER,
            order=6.5,
        )
