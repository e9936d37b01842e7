"""Aim the camera at a detail, and find room beside it for lengths and notes."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

import numpy as np
import shapely

from roof3d.details.model import INCH, Detail, DetailKind, Measure
from roof3d.render.camera import Camera, fit_camera
from roof3d.render.detail_ink.dimension import DrawnDimension, set_beside
from roof3d.render.detail_view.cutaway import move_measures
from roof3d.render.detail_view.eye import eye_of
from roof3d.render.detail_view.look import Look, Style
from roof3d.render.detail_view.plan import Area, Plan
from roof3d.render.detail_view.words import place_notes
from roof3d.scene.model import Dimension, Part, Point3, Scene
from roof3d.tolerance import DEFAULT

Beside = tuple[list[Dimension], list[float], list[Point3]]
"""What is measured beside the layers, how far off each line stands at the least, and which way."""
_NARROW, _OFFSET = 4.0 * INCH, 9.0 * INCH
_LANE = 4.5 * INCH
_MOST = {Style.EXPLODED: 10, Style.CUTAWAY: 7}
_FEWEST_NOTES = 2
_RAISED = 110.0
"""How far up the layers make way where no corner is free for the notes, at 1200 px."""
_IN_SECTION_ONLY = frozenset({"gap", "rise_up", "shingle_short"})


def choose_beside(
    detail: Detail, scene: Scene, outward: Point3, places: Mapping[int, float], look: Look
) -> Beside:
    """Choose what is measured beside the layers, and how far off each line stands."""
    moved = move_measures(detail, scene.dimensions, outward, places)
    flat = [
        (dimension, behind, measure)
        for (dimension, behind), measure in zip(moved, detail.measures, strict=True)
        if abs(measure.value - math.dist(*dimension.ends)) < DEFAULT.merge
        and measure.reach[1] - measure.reach[0] > 0.9 * measure.value
        and measure.id not in _IN_SECTION_ONLY
        and not _is_cut_away(detail, measure, places)
    ]
    flat = flat[: _MOST.get(look.style, 0)]
    if look.style is Style.EXPLODED:
        near = [_NARROW if m.value < 2.0 * _OFFSET else _OFFSET for _, _, m in flat]
        offsets = [b + off for (_, b, _), off in zip(flat, near, strict=True)]
    else:
        flat.sort(key=lambda found: found[2].value)
        lanes = _lanes([measure for _, _, measure in flat])
        offsets = [b + _NARROW + _LANE * k for (_, b, _), k in zip(flat, lanes, strict=True)]
    before = _before(detail, scene, look)
    return (
        [*(d for d, _, _ in flat), *(d for d, _ in before)],
        [*offsets, *(off for _, off in before)],
        [*(outward for _ in flat), *(detail.frame.near for _ in before)],
    )


def _before(detail: Detail, scene: Scene, look: Look) -> list[tuple[Dimension, float]]:
    """Choose what is measured along the line, in front of the layers; with how far off."""
    if detail.kind is not DetailKind.CAP_LAP or look.style not in _MOST:
        return []
    found: list[tuple[Dimension, float]] = []
    for dimension, measure in zip(scene.dimensions, detail.measures, strict=True):
        if measure.reach[1] - measure.reach[0] < DEFAULT.merge:
            behind = 0.0
            if look.style is Style.CUTAWAY:
                behind = detail.size[1] + measure.reach[0]
            found.append((dimension, behind + _NARROW + _LANE * len(found)))
    return found


def _is_cut_away(detail: Detail, measure: Measure, places: Mapping[int, float]) -> bool:
    """Return whether what is measured at a corner's end has been cut off there."""
    half = detail.size[0] / 2.0
    return detail.kind is DetailKind.CORNER and places.get(measure.layer, half) < half


def _lanes(measures: Sequence[Measure]) -> list[int]:
    """Give each length a lane; those side by side along the profile share one."""
    lanes: list[int] = []
    for k, measure in enumerate(measures):
        first, last = measure.reach
        taken = {
            lane
            for lane, other in zip(lanes, measures[:k], strict=True)
            if min(last, other.reach[1]) - max(first, other.reach[0]) > -INCH
        }
        lanes.append(next(lane for lane in range(len(measures)) if lane not in taken))
    return lanes


def aim(
    detail: Detail,
    parts: Sequence[Part],
    beside: Beside,
    plan: Plan,
    size: tuple[int, int],
    look: Look,
) -> tuple[Camera, tuple[DrawnDimension, ...], tuple[int, Area] | None]:
    """Aim the camera, set the dimensions, and find where the notes go.

    Where no corner is free for the notes the layers make way.
    """
    eye = eye_of(detail, look.azimuth_deg, lifted=look.style is Style.EXPLODED)
    points = np.concatenate([part.vertices for part in parts])
    left, top, right, bottom = plan.figure
    unit = plan.unit
    if look.plain or look.style is Style.SECTION:
        margins = (left, top, size[0] - right, size[1] - bottom)
        return fit_camera(points, eye, size, margins), (), None
    found = []
    for raised in (0.0, 0.5, 1.0, 2.0):
        more = raised * _RAISED * unit
        margins = (left + 60 * unit, top, size[0] - right + 120 * unit, size[1] - bottom + more)
        camera = fit_camera(points, eye, size, margins)
        outlines = [outline for part in parts for outline in outlines_of(part, camera)]
        drawn = shapely.STRtree(outlines)
        area = (left, top, right + 20.0 * unit, bottom)
        shown, offsets, ways = beside
        dimensions = set_beside(shown, camera, ways, offsets, plan.note, drawn=drawn, area=area)
        marks = [mark for dimension in dimensions for mark in _shapes_of(dimension)]
        notes = place_notes(detail, [*outlines, *marks], plan)
        found.append((camera, dimensions, notes))
        if not detail.notes or (notes and notes[0] >= min(_FEWEST_NOTES, len(detail.notes))):
            break
    return next((f for f in reversed(found) if f[2] is not None), found[0])


def outlines_of(part: Part, camera: Camera) -> list[shapely.Geometry]:
    """Triangles of a part that face the eye: exact, also where it is hollow.

    Those turned away cover the same, since parts are closed.
    """
    if not len(part.triangles):
        return []
    pixels, _ = camera.project(part.vertices)
    rings = pixels[part.triangles]
    (ax, ay), (bx, by) = (rings[:, 1] - rings[:, 0]).T, (rings[:, 2] - rings[:, 0]).T
    rings = rings[ax * by - ay * bx < 0.0]
    closed = np.concatenate((rings, rings[:, :1]), axis=1)
    return list(shapely.polygons(closed))


def _shapes_of(drawn: DrawnDimension) -> list[shapely.Geometry]:
    lines = [drawn.ends, drawn.leader, *zip(drawn.feet, drawn.ends, strict=True)]
    return [
        shapely.Polygon(drawn.box.corners),
        *(shapely.LineString(line) for line in lines if line),
    ]
