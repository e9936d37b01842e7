"""What tells the two faces: their names along the deck."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from roof3d.details.frame import Point3
from roof3d.details.model import Detail
from roof3d.details.site import pitch_words
from roof3d.render.camera import Camera
from roof3d.render.detail_ink.palette import LIGHT, Theme
from roof3d.render.detail_ink.paragraph import text_box
from roof3d.render.lettering import Box
from roof3d.render.sheet import Pixel, Sheet
from roof3d.units import Units

_OFFS = (3.7, 5.2, 7.2, 9.4, 12.0, 15.0)
"""Distances from the edge of the deck, in heights of the letters: clears rafters."""
_SHARES = (0.55, 0.48, 0.62, 0.41, 0.69, 0.34, 0.76, 0.27, 0.2, 0.9, 1.05, 0.1)

_SAMPLES = 40
_LEFT = 0.65
"""Share of the sheet's width that the layers have."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Tag:
    """One line of text with its turned box."""

    text: str
    box: Box


def set_tags(
    detail: Detail,
    camera: Camera,
    outward: Point3,
    size: float,
    avoid: Sequence[Box],
    units: Units,
    lines: Sequence[tuple[Pixel, ...]] = (),
    covered: NDArray[np.bool_] | None = None,
) -> tuple[Tag, ...]:
    """Set the name and pitch of the near and of the far face beside the deck's end.

    Parameters
    ----------
    outward : Point3
        Unit vector along the break, away from the end that is measured; it points to the
        right in the picture.
    size : float
        Font size, pixels.
    avoid : sequence of Box
        Texts to keep clear of; a tag moves along its deck to do so, or is left out.
    units : Units
        For the pitches.
    lines : sequence of pairs of Pixel
        Lines that must not run through a tag.
    covered : (h, w) bool or None
        Where the drawing lies: a tag on it would seem to name a layer, and is left out.
    """
    across = detail.size[0] / 2.0
    same = sum(a * b for a, b in zip(outward, detail.frame.along, strict=True)) > 0.0
    u = across if same else -across
    ends = (-detail.size[1], detail.size[2])
    words = [
        face.name if face.slope is None else f"{face.name}, {pitch_words(face.slope, units)}"
        for face in detail.faces
    ]
    if words[0] == words[1]:
        words = words[:1]
    found: list[Tag] = []
    for end, text in zip(ends, words, strict=False):
        # Two names on one line would be read as one.
        taken = [*avoid, *(tag.box.grown(1.5 * size) for tag in found)]
        tag = _first_clear(detail, camera, u, end, text, size, taken, lines, covered)
        found += [tag] if tag else []
    return tuple(found)


def _first_clear(
    detail: Detail,
    camera: Camera,
    u: float,
    end: float,
    text: str,
    size: float,
    avoid: Sequence[Box],
    lines: Sequence[tuple[Pixel, ...]],
    covered: NDArray[np.bool_] | None,
) -> Tag | None:
    """Return the tag at the first share of the deck where it touches nothing, if there is one."""
    edges = [_edge(detail, camera, u, share * end) for share in _SHARES]
    tags = (
        _tag(edge, text, size, off)
        for off in (*_OFFS, *(-off for off in _OFFS[:3]))
        for edge in edges
    )
    width, height = camera.size
    for tag in tags:
        inside = all(0.0 < x < _LEFT * width and 0.0 < y < height for x, y in tag.box.corners)
        if not inside or any(tag.box.hit_by(*line) for line in lines):
            continue
        if any(tag.box.grown(2.0).overlaps(box) for box in avoid):
            continue
        if covered is None or not _covers(tag.box, covered):
            return tag
    return None


def _covers(box: Box, covered: NDArray[np.bool_]) -> bool:
    """Whether a text lies on the drawing: looked at along its middle and its rim."""
    (ax, ay), (bx, by), (cx, cy), (dx, dy) = box.corners
    share = np.linspace(0.0, 1.0, _SAMPLES)
    for (px, py), (qx, qy) in (
        ((ax, ay), (bx, by)),
        ((dx, dy), (cx, cy)),
        (((ax + dx) / 2.0, (ay + dy) / 2.0), ((bx + cx) / 2.0, (by + cy) / 2.0)),
    ):
        x = (px + share * (qx - px)).astype(int)
        y = (py + share * (qy - py)).astype(int)
        if covered[y.clip(0, covered.shape[0] - 1), x.clip(0, covered.shape[1] - 1)].any():
            return True
    return False


def _edge(detail: Detail, camera: Camera, u: float, s: float) -> tuple[Pixel, float, float]:
    """Return a place of the deck's edge in the picture, and how the edge runs there."""
    here = camera.pixel(detail.frame.point(u, s, 0.0))
    there = camera.pixel(detail.frame.point(u, 1.1 * s, 0.0))
    dx, dy = there[0] - here[0], there[1] - here[1]
    if dx < 0.0:
        dx, dy = -dx, -dy
    return here, dx, dy


def _tag(edge: tuple[Pixel, float, float], text: str, size: float, off: float) -> Tag:
    here, dx, dy = edge
    length = math.hypot(dx, dy)
    # To the right of and below the edge; the edge runs left to right.
    off *= size
    centre = (here[0] - dy / length * off, here[1] + dx / length * off)
    turn = -math.degrees(math.atan2(dy, dx))
    return Tag(text=text, box=replace(text_box(centre, text, size, across="center"), turn_deg=turn))


def ink_tags(sheet: Sheet, tags: tuple[Tag, ...], size: float, *, theme: Theme = LIGHT) -> None:
    """Write tags."""
    for tag in tags:
        sheet.text(
            tag.box.centre,
            tag.text,
            size=size,
            ink=theme.ink,
            bold=False,
            across="center",
            turn_deg=tag.box.turn_deg,
            halo=theme.paper,
            order=6.5,
        )
