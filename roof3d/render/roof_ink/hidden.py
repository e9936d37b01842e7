"""Drains that a wall hides: drawn dashed through it, and named."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

from roof3d.render.camera import Camera
from roof3d.render.lettering import Box
from roof3d.render.passes import Raster
from roof3d.render.roof_ink.palette import INK, PAPER
from roof3d.render.sheet import Pixel, Sheet, text_width
from roof3d.render.visibility import split_lines
from roof3d.roof.model import Roof, RoofOpening
from roof3d.spec.model import OpeningKind

_WAYS = (1.0, -1.0)
_OWN = 0.25
"""Metres toward the eye that a drain's own strainer may stand before its rim; a wall is farther."""
_RISES = (0.0, 1.8, -1.8, 3.6, -3.6)


def hidden_drains(roof: Roof, raster: Raster, camera: Camera) -> tuple[RoofOpening, ...]:
    """Return the drains of which nothing is in sight."""
    return tuple(
        opening
        for opening in roof.openings
        if opening.kind is OpeningKind.DRAIN and not _is_seen(opening, raster, camera)
    )


def draw_hidden_drains(
    sheet: Sheet,
    roof: Roof,
    raster: Raster,
    camera: Camera,
    note: float,
    taken: Sequence[Box],
) -> None:
    """Dash the rims of hidden drains, each with its name beside it, clear of what is ``taken``."""
    boxes = list(taken)
    for drain in hidden_drains(roof, raster, camera):
        rings = [[camera.pixel(point) for point in _closed(ring)] for ring in drain.rim]
        sheet.lines(rings, width=0.3 * note, ink=PAPER, alpha=0.8, order=5.0)
        dash = (0.3 * note, 0.2 * note)
        sheet.lines(rings, width=0.13 * note, ink=INK, dash=dash, order=5.1)
        points = [point for ring in rings for point in ring]
        words = f"{'overflow ' if drain.overflow else ''}drain, behind the wall"
        size = 0.86 * note
        found = _first_clear(points, text_width(words, size), size, boxes)
        if found is not None:
            box, start = found
            boxes.append(box)
            end = (box.centre[0] + math.copysign(box.width / 2.0, start[0] - box.centre[0]),)
            sheet.lines([[start, (*end, box.centre[1])]], width=0.07 * note, ink=INK, order=5.2)
            sheet.text(box.centre, words, size=size, ink=INK, across="center", halo=PAPER)


def _is_seen(drain: RoofOpening, raster: Raster, camera: Camera) -> bool:
    sides = [pair for ring in drain.rim for pair in pairwise(_closed(ring))]
    # Its sides are short: some of them less than a pixel.
    found = split_lines(raster, camera, sides, shortest=0.0, proud=_OWN)
    return any(run.visible for runs in found for run in runs)


def _closed(
    ring: Sequence[tuple[float, float, float]],
) -> tuple[tuple[float, float, float], ...]:
    return (*ring, ring[0])


def _first_clear(
    points: Sequence[Pixel], width: float, size: float, taken: Sequence[Box]
) -> tuple[Box, Pixel] | None:
    """Return the first place beside some points that is clear, and where its leader starts."""
    xs, ys = [x for x, _ in points], [y for _, y in points]
    middle = ((min(xs) + max(xs)) / 2.0, (min(ys) + max(ys)) / 2.0)
    half = (max(xs) - min(xs)) / 2.0
    for rise in _RISES:
        for way in _WAYS:
            x = middle[0] + way * (half + 1.5 * size + width / 2.0)
            box = Box(centre=(x, middle[1] + rise * size), width=width, height=size)
            if not any(box.grown(0.3 * size).overlaps(other) for other in taken):
                return box, (middle[0] + way * half, middle[1])
    return None
