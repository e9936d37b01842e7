"""A wrong build on the sheet: the band that says so, the way of the water, where it goes in."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

from roof3d.render.camera import Camera
from roof3d.render.passes import Colour, Raster
from roof3d.render.sheet import Sheet, text_width
from roof3d.render.visibility import Run, split_lines
from roof3d.scene.detail_scene import FAULT, WATER
from roof3d.scene.model import Point3, Scene

Pixel = tuple[float, float]
_WATER: Colour = (0.02, 0.36, 0.78)
_HALO: Colour = (1.0, 1.0, 1.0)
_WRONG: Colour = (0.76, 0.07, 0.09)
_ON_WRONG: Colour = (1.0, 1.0, 1.0)
_BAND = 23.0
_WORDS = "WRONG BUILD, shown to teach: never build it so"
_TOP = 9.0
_PROUD = 0.01
"""Metres by which it stands off what it runs on: the steps of draped sheets do not hide it."""
_NEAR = 0.2
"""Metres from the middle of a fault, within which its open edge lies."""


def ink_water(sheet: Sheet, raster: Raster, camera: Camera, scene: Scene, unit: float) -> None:
    """Draw the way of the water, dashed where layers hide it, with drops and an arrow.

    Where it goes in stands a mark.
    """
    lines = [line for line in scene.lines if line.style == WATER]
    if not lines:
        return
    points = [camera.pixel(lines[0].ends[0]), *(camera.pixel(line.ends[1]) for line in lines)]
    ends = [line.ends for line in lines]
    runs = [
        run
        for line in split_lines(raster, camera, ends, shortest=1.0, proud=_PROUD)
        for run in line
    ]
    seen, hidden = _ways(runs)
    sheet.lines(hidden, width=7.0 * unit, ink=_HALO, alpha=0.75, order=_TOP)
    dash = (10.0 * unit, 6.0 * unit)
    sheet.lines(hidden, width=3.5 * unit, ink=_WATER, dash=dash, order=_TOP + 0.1)
    if seen and math.dist(seen[-1][-1], points[-1]) < unit:
        seen[-1] = _cut_end(seen[-1], 14.0 * unit)
    sheet.lines(seen, width=10.0 * unit, ink=_HALO, alpha=0.9, order=_TOP)
    sheet.lines(seen, width=5.5 * unit, ink=_WATER, order=_TOP + 0.1)
    _ink_arrow(sheet, points, unit)
    for k in range(3):
        x, y = points[0]
        _ink_drop(sheet, (x + (k - 1) * 20.0 * unit, y - (30.0 + 16.0 * (k % 2)) * unit), unit)
    for label in scene.labels:
        if label.subject.endswith(f".{FAULT}"):
            _ink_fault(sheet, entry_of(runs, camera, label.anchor), unit)


def entry_of(runs: Sequence[Run], camera: Camera, fault: Point3) -> Pixel:
    """Return where the water goes in: where its way is first hidden, if that is near the fault."""
    at = camera.pixel(fault)
    near = _NEAR * camera.pixels_per_metre
    for before, run in pairwise(runs):
        if before.visible and not run.visible:
            return run.start if math.dist(run.start, at) < near else at
    return at


def _ways(runs: Sequence[Run]) -> tuple[list[list[Pixel]], list[list[Pixel]]]:
    """Return what is seen of the way and what is hidden, each as lines without a break."""
    found: dict[bool, list[list[Pixel]]] = {True: [], False: []}
    last: bool | None = None
    for run in runs:
        if run.visible == last:
            found[run.visible][-1].append(run.end)
        else:
            found[run.visible].append([run.start, run.end])
        last = run.visible
    return found[True], found[False]


def ink_band(sheet: Sheet, size: tuple[int, int], unit: float) -> None:
    """Frame the sheet and say across its upper edge that what it shows is wrong."""
    width, height = size
    deep = _BAND * unit
    sheet.polygon(
        [(0.0, 0.0), (width, 0.0), (width, deep), (0.0, deep)], fill=_WRONG, order=_TOP + 1.0
    )
    inset = 3.0 * unit
    ring = [
        (inset, inset),
        (width - inset, inset),
        (width - inset, height - inset),
        (inset, height - inset),
    ]
    sheet.polygon(ring, ink=_WRONG, width=2.0 * inset, order=_TOP + 1.0)
    letter = 0.66 * deep
    letter = min(letter, letter * 0.94 * width / text_width(_WORDS, letter, bold=True))
    sheet.text(
        (width / 2.0, deep / 2.0),
        _WORDS,
        size=letter,
        ink=_ON_WRONG,
        bold=True,
        across="center",
        order=_TOP + 2.0,
    )


def _cut_end(points: Sequence[Pixel], by: float) -> list[Pixel]:
    """Return a line that ends a little sooner, so that it does not stick out of its arrow."""
    kept = list(points)
    while len(kept) > 2 and math.dist(kept[-2], points[-1]) < by:
        kept.pop()
    (x, y), (a, b) = kept[-2], points[-1]
    share = max(0.0, 1.0 - by / (math.dist((x, y), (a, b)) or 1.0))
    return [*kept[:-1], (x + share * (a - x), y + share * (b - y))]


def _ink_arrow(sheet: Sheet, points: Sequence[Pixel], unit: float) -> None:
    x, y = points[-1]
    back = next((p for p in reversed(points) if math.dist(p, (x, y)) > 12.0 * unit), points[0])
    size = math.dist(back, (x, y)) or 1.0
    ax, ay = (x - back[0]) / size, (y - back[1]) / size
    long, wide = 26.0 * unit, 11.0 * unit
    foot = (x - long * ax, y - long * ay)
    head = [
        (x, y),
        (foot[0] - wide * ay, foot[1] + wide * ax),
        (foot[0] + wide * ay, foot[1] - wide * ax),
    ]
    sheet.polygon(head, fill=_WATER, ink=_HALO, width=2.0 * unit, order=_TOP + 0.2)


def _ink_drop(sheet: Sheet, at: Pixel, unit: float) -> None:
    x, y = at
    radius = 5.5 * unit
    tip = [
        (x, y - 2.3 * radius),
        (x - 0.86 * radius, y - 0.5 * radius),
        (x + 0.86 * radius, y - 0.5 * radius),
    ]
    sheet.polygon(tip, fill=_WATER, order=_TOP + 0.2)
    sheet.disc(at, radius, fill=_WATER, order=_TOP + 0.2)


def _ink_fault(sheet: Sheet, at: Pixel, unit: float) -> None:
    """Mark a place with a cross in a ring."""
    x, y = at
    radius, arm = 17.0 * unit, 11.0 * unit
    ring = [
        (x + radius * math.cos(k * math.pi / 16.0), y + radius * math.sin(k * math.pi / 16.0))
        for k in range(33)
    ]
    cross = [
        [(x - arm, y - arm), (x + arm, y + arm)],
        [(x - arm, y + arm), (x + arm, y - arm)],
    ]
    for ink, width in ((_HALO, 8.5), (_WRONG, 4.5)):
        sheet.lines([ring, *cross], width=width * unit, ink=ink, order=_TOP + 0.4)
