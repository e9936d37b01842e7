"""Edges of a plan, seen and covered, and the laps between pieces of one layer."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import shapely

from roof3d.details.model import INCH, PieceKind
from roof3d.drawing.detail.spread import Flat, Spread, areas_of, turned
from roof3d.drawing.model import Line, Point, Stroke
from roof3d.tolerance import DEFAULT

COVERED = Stroke(width=0.18, dash=(1.6, 0.9))
CRUMB = 1.0
"""Runs of line shorter than this on the paper are left out, millimetres."""
_EDGE = Stroke(width=0.3)
_DASHED = frozenset({PieceKind.SHEET, PieceKind.METAL, PieceKind.BED, PieceKind.STARTER})
"""Whose covered edges are shown; of shingles they would be too many."""
_LAPPED = frozenset({PieceKind.SHEET, PieceKind.METAL})


def on_paper(shape: shapely.Geometry, quarter: int, size: float) -> shapely.Geometry:
    """Return a shape as it lies on the paper, millimetres."""
    (a, b), (c, d) = turned((size, 0.0), quarter), turned((0.0, size), quarter)
    return shapely.transform(shape, lambda points: points @ np.array(((a, b), (c, d))))


def yield_edges(spread: Spread, size: float) -> Iterator[Line]:
    """Yield every edge once: whole where it is seen, dashed where something covers it."""
    over: shapely.Geometry = shapely.Polygon()
    whole: shapely.Geometry = shapely.MultiLineString()
    found: list[tuple[Flat, shapely.Geometry]] = []
    for flat in reversed(spread.flats):
        rim = shapely.boundary(flat.shape)
        seen = shapely.difference(rim, over)
        whole = shapely.union(whole, seen)
        yield from _runs(seen, f"layer-{flat.piece.layer:02d}", _EDGE, spread, size)
        if flat.piece.kind in _DASHED:
            found.append((flat, shapely.difference(rim, seen)))
        over = areas_of(shapely.union(over, flat.shape, grid_size=DEFAULT.cut_grid))
    # What lies on the rim of the plan, where a layer is cut back, or under a whole line is none.
    left, low, right, high = shapely.total_bounds([flat.shape for flat in spread.flats])
    rim = shapely.boundary(shapely.box(left, low, right, high))
    near = _beside(shapely.union(whole, rim), size)
    for flat, hidden in found:
        end = spread.steps.get(flat.piece.layer)
        if end is not None:
            u = end if spread.cut_right else -end
            cut = _beside(shapely.LineString(((u, low), (u, high))), size)
            hidden = shapely.difference(hidden, cut)  # noqa: PLW2901 - what is left of it
        runs = shapely.difference(hidden, near)
        near = shapely.union(near, _beside(runs, size))
        yield from _runs(runs, f"hidden-{flat.piece.layer:02d}", COVERED, spread, size)


def _beside(lines: shapely.Geometry, size: float) -> shapely.Geometry:
    """Return what lies within half a millimetre of lines, on the paper."""
    return shapely.buffer(lines, 0.5 / size, quad_segs=2, cap_style="flat")


def _runs(
    lines: shapely.Geometry, layer: str, stroke: Stroke, spread: Spread, size: float
) -> Iterator[Line]:
    merged = shapely.line_merge(on_paper(lines, spread.quarter, size))
    for run in shapely.get_parts(merged):
        if run.geom_type == "LineString" and run.length > CRUMB:
            points = tuple((float(x), float(y)) for x, y in run.coords)
            yield Line(layer=layer, points=points, stroke=stroke)


def yield_laps(spread: Spread) -> Iterator[tuple[Point, Point]]:
    """Yield for each layer a lap in sight: a place in it, and the way from upper to lower."""
    done: set[int] = set()
    for k, upper in enumerate(spread.flats):
        for lower in spread.flats[:k]:
            layer = upper.piece.layer
            if layer in done or lower.piece.layer != layer or upper.piece.kind not in _LAPPED:
                continue
            lap = shapely.intersection(upper.shape, lower.shape)
            open_lap = shapely.intersection(lap, upper.seen)
            if lap.area < INCH * INCH or open_lap.area < INCH * INCH / 2.0:
                continue
            box = shapely.get_coordinates(shapely.oriented_envelope(lap))
            sides = sorted(
                (box[1] - box[0], box[2] - box[1]), key=lambda side: float(np.hypot(*side))
            )
            way = sides[0] / np.hypot(*sides[0])
            (ax, ay), (bx, by) = (
                shapely.get_coordinates(shapely.centroid(flat.shape))[0] for flat in (upper, lower)
            )
            sign = 1.0 if way @ np.array((bx - ax, by - ay)) > 0.0 else -1.0
            spot = shapely.point_on_surface(
                max(shapely.get_parts(open_lap), key=lambda one: one.area)
            )
            done.add(layer)
            yield (float(spot.x), float(spot.y)), (sign * float(way[0]), sign * float(way[1]))
