"""The lengths and the number of a step, set beside and on the layer that is being laid."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from roof3d.details.model import INCH, Measure
from roof3d.render.detail_ink.dimension import DrawnDimension, set_beside
from roof3d.render.detail_ink.markers import Marker
from roof3d.render.lesson_pictures.plan import StepPlan
from roof3d.render.lesson_pictures.stage import Stage, main_pieces
from roof3d.render.lettering import Box
from roof3d.render.passes import Raster
from roof3d.scene.model import Dimension, Point3
from roof3d.tolerance import DEFAULT

_OFF, _LANE = 4.0 * INCH, 4.5 * INCH
_DEEP = 10.0
"""Pixels at 1200 that an anchor would like to lie off the edge of its layer."""


def measure_step(stage: Stage, layer: int, plan: StepPlan) -> tuple[DrawnDimension, ...]:
    """Set the lengths of a layer beside the measured end; those without room are left out.

    All of them stand in the words of the step too.
    """
    found = sorted(
        (m for m in stage.detail.measures if m.layer == layer and _is_flat(m)),
        key=lambda measure: measure.value,
    )
    lanes: list[int] = []
    for k, measure in enumerate(found):
        taken = {
            lane for lane, other in zip(lanes, found[:k], strict=True) if _meet(measure, other)
        }
        lanes.append(next(lane for lane in range(len(found)) if lane not in taken))
    dimensions = [
        Dimension(id=measure.id, ends=_at_end(stage, measure), text=measure.text)
        for measure in found
    ]
    offsets = [_OFF + _LANE * lane for lane in lanes]
    ways = [stage.outward] * len(dimensions)
    drawn = set_beside(dimensions, stage.camera, ways, offsets, plan.note)
    left, top, right, bottom = plan.figure
    return tuple(
        one
        for one in drawn
        if all(
            left <= x <= right + 12.0 * plan.unit and top <= y <= bottom for x, y in one.box.corners
        )
    )


def number_step(
    stage: Stage, raster: Raster, layer: int, radius: float, plan: StepPlan, avoid: Sequence[Box]
) -> Marker | None:
    """Place the number of a step: on its layer where that has room, else on bare paper near it.

    Returns
    -------
    Marker or None
        Its anchor is in sight; None where the layer is not.
    """
    from scipy.ndimage import distance_transform_edt

    telling = {piece.order for piece in main_pieces(stage.detail, layer)}
    numbers = [k for k, p in enumerate(stage.detail.pieces, start=1) if p.order in telling]
    mask = np.isin(raster.ids, numbers)
    if not mask.any():
        return None
    step = stage.detail.layers.index(next(n for n in stage.detail.layers if n.number == layer)) + 1
    free = mask & ~_covered(mask.shape, avoid)
    depth = distance_transform_edt(np.pad(free if free.any() else mask, 1))[1:-1, 1:-1]
    row, column = np.unravel_index(int(np.argmax(depth)), depth.shape)
    anchor = (float(column) + 0.5, float(row) + 0.5)
    if depth[row, column] >= 1.35 * radius:
        return Marker(number=step, centre=anchor, anchor=anchor, radius=radius)
    centre = _bare_place(raster, anchor, radius, plan, avoid)
    return Marker(number=step, centre=centre or anchor, anchor=anchor, radius=radius)


def _bare_place(
    raster: Raster,
    anchor: tuple[float, float],
    radius: float,
    plan: StepPlan,
    avoid: Sequence[Box],
) -> tuple[float, float] | None:
    """Bare paper nearest to an anchor on which a disc has room."""
    from scipy.ndimage import distance_transform_edt

    bare = (raster.ids == 0) & ~_covered(raster.ids.shape, avoid)
    left, top, right, bottom = (round(side) for side in plan.figure)
    room = np.zeros_like(bare)
    room[top:bottom, left:right] = bare[top:bottom, left:right]
    depth = distance_transform_edt(room)
    rows, columns = np.nonzero(depth >= 1.5 * radius)
    if not len(rows):
        return None
    away = np.hypot(columns + 0.5 - anchor[0], rows + 0.5 - anchor[1])
    nearest = int(np.argmin(away))
    return float(columns[nearest]) + 0.5, float(rows[nearest]) + 0.5


def _is_flat(measure: Measure) -> bool:
    """Whether a length lies along the profile, so that it can be drawn beside the layers."""
    long = math.dist(*measure.ends)
    along = measure.reach[1] - measure.reach[0]
    return abs(measure.value - long) < DEFAULT.merge and 0.9 < along / measure.value < 1.1


def _at_end(stage: Stage, measure: Measure) -> tuple[Point3, Point3]:
    """Bring what is measured at either end of the detail to the measured one."""
    away = np.array(stage.outward)
    half = stage.detail.size[0] / 2.0
    ends = np.array(measure.ends)
    at = (ends - np.array(stage.detail.frame.origin)) @ away
    if abs(abs(float(at.mean())) - half) < DEFAULT.merge and np.ptp(at) < DEFAULT.merge:
        ends = ends + np.outer(half - at, away)
    a, b = ((float(x), float(y), float(z)) for x, y, z in ends)
    return a, b


def _meet(one: Measure, other: Measure) -> bool:
    return min(one.reach[1], other.reach[1]) - max(one.reach[0], other.reach[0]) > -INCH


def _covered(shape: tuple[int, ...], boxes: Sequence[Box]) -> NDArray[np.bool_]:
    """Pixels inside any of some boxes."""
    mask = np.zeros(shape, dtype=np.bool_)
    for box in boxes:
        xs, ys = zip(*box.corners, strict=True)
        rows = slice(max(0, int(min(ys))), max(0, int(max(ys)) + 1))
        mask[rows, max(0, int(min(xs))) : max(0, int(max(xs)) + 1)] = True
    return mask
