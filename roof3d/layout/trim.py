"""An extent cut into the runs of its courses, and sheets trimmed to it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray

from roof3d.layout.model import Course, Floats
from roof3d.tolerance import DEFAULT, Tolerance

CHUNK: Final = 16384
"""Rectangles made into geometries at a time, so that memory stays bounded."""


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Trimmed:
    """What is left of rectangles, in their order, without those of which nothing is.

    Attributes
    ----------
    kept : (n,) bool
        For each rectangle given: whether anything is left of it.
    areas : (m,) float64
        Of what is left, m2; one for each kept.
    outlines : dict[int, shapely.Geometry]
        Polygon or multipolygon of those that are not whole, by their index among the kept.
    """

    kept: NDArray[np.bool_]
    areas: Floats
    outlines: dict[int, shapely.Geometry]


@dataclass(frozen=True, slots=True)
class Strip:
    """What one course covers: its sides within the extent, and its runs from where to where."""

    course: int
    low: float
    high: float
    runs: tuple[tuple[float, float], ...]


def trim(boxes: Floats, extent: shapely.Geometry, *, tol: Tolerance = DEFAULT) -> Trimmed:
    """Trim rectangles to an extent.

    Parameters
    ----------
    boxes : (n, 4) float64
        Least u, least v, greatest u, greatest v, metres.
    extent : shapely.Geometry
        Valid polygon or multipolygon; not changed but for its prepared index.
    tol : Tolerance
        A piece is nothing below its ``area_share`` of the extent, and whole where it misses
        its rectangle by no more than that share.

    Returns
    -------
    Trimmed

    Notes
    -----
    Only rectangles that the prepared extent does not cover are cut: on a large plane those
    are its borders.

    Examples
    --------
    >>> done = trim(np.array([[0.0, 0, 1, 1], [1, 0, 2, 1], [5, 5, 6, 6]]),
    ...     shapely.box(0, 0, 1.5, 1))
    >>> done.areas.tolist(), done.kept.tolist(), sorted(done.outlines)
    ([1.0, 0.5], [True, True, False], [1])
    """
    boxes = np.asarray(boxes, dtype=np.float64).reshape(-1, 4)
    areas = (boxes[:, 2] - boxes[:, 0]) * (boxes[:, 3] - boxes[:, 1])
    least = tol.area_share * float(extent.area)
    cut: dict[int, shapely.Geometry] = {}
    shapely.prepare(extent)
    for start in range(0, len(boxes), CHUNK):
        part = boxes[start : start + CHUNK]
        shapes = shapely.box(*part.T)
        rest = np.flatnonzero(~shapely.covers(extent, shapes))
        left = shapely.intersection(extent, shapes[rest])
        left_areas = shapely.area(left)
        whole = left_areas >= areas[start + rest] * (1.0 - tol.area_share)
        areas[start + rest] = np.where(whole, areas[start + rest], left_areas)
        for index in np.flatnonzero(~whole).tolist():
            cut[start + int(rest[index])] = _polygons_of(left[index])
    kept = areas > least
    new_index = np.cumsum(kept) - 1
    outlines = {int(new_index[index]): shape for index, shape in cut.items() if kept[index]}
    return Trimmed(kept=kept, areas=areas[kept], outlines=outlines)


def _polygons_of(shape: shapely.Geometry) -> shapely.Geometry:
    """Return the areas of an overlay, without points and lines where shapes only touch."""
    if shape.geom_type in {"Polygon", "MultiPolygon"}:
        return shape
    parts = [part for part in shapely.get_parts(shape) if part.geom_type == "Polygon"]
    return parts[0] if len(parts) == 1 else shapely.MultiPolygon(parts)


def strips_of(
    ground: shapely.Geometry, courses: Sequence[Course], *, tol: Tolerance = DEFAULT
) -> list[Strip]:
    """Return the runs of each course, in the order of laying.

    Parameters
    ----------
    ground : shapely.Geometry
        Extent turned so that courses run along its x and stack along its y.
    courses : sequence of Course
    tol : Tolerance
        A corner or opening whose side lies on a side of a course, but for rounding, neither
        lengthens nor joins its runs: what shows only within a ``sliver`` of it is left out.

    Returns
    -------
    list[Strip]
        Of each course with something to cover. Its parts side by side are runs of their
        own; parts that overlap along the run, or stand no more than a ``crumb_length``
        apart, are one.
    """
    if ground.is_empty or not courses:
        return []
    _, least, _, most = ground.bounds
    lows = np.maximum([course.low for course in courses], least)
    highs = np.maximum(lows, np.minimum([course.high for course in courses], most))
    whole = _parts_of(ground, lows, highs, tol)
    inner_lows = np.where(lows > least, lows + tol.sliver, lows)
    inner_highs = np.where(highs < most, highs - tol.sliver, highs)
    inner = _parts_of(ground, inner_lows, np.maximum(inner_lows, inner_highs), tol)
    strips = []
    for row, course in enumerate(courses):
        for k, (start, end) in enumerate(inner[row]):
            low, high = next(run for run in whole[row] if run[0] < end and start < run[1])
            inner[row][k] = (
                low if start - low < tol.crumb_length else start,
                high if high - end < tol.crumb_length else end,
            )
        if inner[row]:
            sides = float(lows[row]), float(highs[row])
            strips.append(Strip(course.number, *sides, tuple(_joined(inner[row], tol))))
    return strips


def _parts_of(
    ground: shapely.Geometry, lows: Floats, highs: Floats, tol: Tolerance
) -> list[list[tuple[float, float]]]:
    """Return for each band from where to where its parts reach along the run, in order."""
    start, _, end, _ = ground.bounds
    bands = shapely.intersection(ground, shapely.box(start - 1.0, lows, end + 1.0, highs))
    parts, at = shapely.get_parts(bands, return_index=True)
    real = shapely.area(parts) > tol.area_share * float(ground.area)
    found: list[list[tuple[float, float]]] = [[] for _ in lows]
    for row, (low, _, high, _) in zip(
        at[real].tolist(), shapely.bounds(parts[real]).tolist(), strict=True
    ):
        found[row].append((low, high))
    return [_joined(sorted(runs), tol) for runs in found]


def _joined(runs: list[tuple[float, float]], tol: Tolerance) -> list[tuple[float, float]]:
    """Join runs that overlap, or hardly part: they are cut from the same sheets."""
    joined: list[tuple[float, float]] = []
    for low, high in runs:
        if joined and low < joined[-1][1] + tol.crumb_length:
            joined[-1] = (joined[-1][0], max(joined[-1][1], high))
        else:
            joined.append((low, high))
    return joined
