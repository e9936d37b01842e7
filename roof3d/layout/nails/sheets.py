"""Nails of sheets: along laps and free edges, and in rows over the field."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import Final

import numpy as np
import shapely

from roof3d.catalog.laying import Nailing
from roof3d.layout.joint import INCH
from roof3d.layout.model import Course, Direction, Floats, Side
from roof3d.layout.nails.rows import RowRule, nail_rows
from roof3d.layout.zones import FREE, Zoned
from roof3d.tolerance import DEFAULT, Tolerance

_COVER: Final = 2.0 * INCH
"""So far from the ends of a sheet a nail in a lap stands, where the lap is cut there."""

EDGE_INSET: Final = 2.0 * INCH
"""Rows along free edges stand no further in: common practice, no source."""


def nail_sheets(
    courses: Sequence[Course],
    *,
    direction: Direction,
    side_lap: float,
    nailing: Nailing,
    extent: shapely.Geometry,
    sides: Sequence[Side] = (),
    zones: Zoned | None = None,
    edge_rows: bool = True,
    from_high: bool = False,
    tol: Tolerance = DEFAULT,
) -> Floats:
    """Nail the sheets of one layer.

    Parameters
    ----------
    courses : sequence of Course
        In the order of laying; neighbours overlap by the side lap.
    direction : Direction
    side_lap : float
        Metres; rows along free edges keep half of it off the edge, as those in the laps do, but
        no more than ``EDGE_INSET``.
    nailing : Nailing
        Rows whose spacing is 0 are left out.
    extent : shapely.Geometry
        What the sheets cover, in the plane's frame.
    sides : sequence of Side
        Of the plane: only where an eave, rake or high edge is nearest is the edge nailed. Where
        none are given, all around.
    zones : Zoned, optional
        Wind zones in the plane's frame.
    edge_rows : bool
        False where nothing lies over them: the metal of the edge holds the sheet there, and no
        nail stands nearer to it than it is covered.
    from_high : bool
        Count the field rows, every other one of which is shifted, from the greater side.
    tol : Tolerance

    Returns
    -------
    (k, 2) float64
        In the extent: lap rows, then edge rows, then field rows. A row runs on over the end
        laps of its sheets.

    Notes
    -----
    Between two laps lie ``field_rows`` rows at even shares of the width that is left, every
    other one shifted by half its spacing.

    References
    ----------
    Rows in the laps and two staggered ones in the field: common practice, no source.
    """
    if extent.is_empty:
        return np.empty((0, 2))
    nails = [np.empty((0, 2))]
    laps = _laps(courses)
    if nailing.lap_spacing > 0.0:
        rule = RowRule(first=nailing.lap_start, spacing=nailing.lap_spacing, nailing=nailing)
        rows, _ = _across(extent, _middles(laps, extent, direction), direction, tol)
        nails.append(nail_rows(rows, rule, zones=zones, tol=tol))
        if edge_rows:
            inset = min(side_lap / 2.0, EDGE_INSET)
            around = nail_rows(_edge_rows(extent, inset, tol), rule, zones=zones, tol=tol)
            nails.append(around[_at_free_edge(around, sides, tol)])
    if nailing.field_spacing > 0.0 and nailing.field_rows > 0:
        rule = RowRule(first=nailing.lap_start, spacing=nailing.field_spacing, nailing=nailing)
        share = np.arange(1, nailing.field_rows + 1) / (nailing.field_rows + 1)
        bands = _between(courses, laps, extent, direction, tol)
        places = (bands[:, :1] + (bands[:, 1:] - bands[:, :1]) * share).ravel()
        places = places[::-1] if from_high else places
        rows, number = _across(extent, places, direction, tol)
        nails.append(nail_rows(rows, rule, shifted=number % 2 == 1, zones=zones, tol=tol))
    done = np.concatenate(nails)
    return done if edge_rows or not len(done) else done[_off_edge(done, extent, tol)]


def _laps(courses: Sequence[Course]) -> list[tuple[float, float]]:
    """Return where neighbouring courses overlap, in the stacking direction."""
    pairs = [(max(a.low, b.low), min(a.high, b.high)) for a, b in pairwise(courses)]
    return [(low, high) for low, high in pairs if low < high]


def _middles(
    laps: list[tuple[float, float]], extent: shapely.Geometry, direction: Direction
) -> Floats:
    """Return the middle of each lap as far as the extent goes, where a nail has cover there."""
    axis = 1 if direction is Direction.ACROSS else 0
    low, high = extent.bounds[axis], extent.bounds[axis + 2]
    ends = np.array(laps, dtype=np.float64).reshape(-1, 2)
    cut = np.clip(ends, low, high)
    wide = (cut == ends).all(axis=1) | (cut[:, 1] - cut[:, 0] >= 2.0 * _COVER)
    return np.asarray(cut[wide].mean(axis=1))


def _between(
    courses: Sequence[Course],
    laps: list[tuple[float, float]],
    extent: shapely.Geometry,
    direction: Direction,
    tol: Tolerance,
) -> Floats:
    """Return the bands of single sheet between laps and the ends of the extent, low one first."""
    axis = 1 if direction is Direction.ACROSS else 0
    low = max(min(course.low for course in courses), extent.bounds[axis])
    high = min(max(course.high for course in courses), extent.bounds[axis + 2])
    bands = []
    for lap_low, lap_high in sorted(laps):
        bands.append((low, min(lap_low, high)))
        low = max(low, lap_high)
    bands.append((low, high))
    wide = [band for band in bands if band[1] - band[0] > tol.sliver]
    return np.array(wide, dtype=np.float64).reshape(-1, 2)


def _across(
    extent: shapely.Geometry, places: Floats, direction: Direction, tol: Tolerance
) -> tuple[Floats, np.ndarray[tuple[int], np.dtype[np.intp]]]:
    """Return the rows along the courses at those places, and the index of each row's place."""
    axis = 0 if direction is Direction.ACROSS else 1
    ends = np.empty((len(places), 2, 2))
    ends[:, 0, axis], ends[:, 1, axis] = extent.bounds[axis] - 1.0, extent.bounds[axis + 2] + 1.0
    ends[:, :, 1 - axis] = places[:, None]
    cut = shapely.line_merge(shapely.intersection(extent, shapely.linestrings(ends)))
    parts, index = shapely.get_parts(cut, return_index=True)
    real = shapely.length(parts) > tol.sliver
    bounds = shapely.bounds(parts[real])
    return bounds.reshape(-1, 2, 2), index[real]


def _edge_rows(extent: shapely.Geometry, inset: float, tol: Tolerance) -> Floats:
    """Return the straight rows all around the extent, that far inside."""
    inner = extent.buffer(-inset, join_style="mitre").simplify(tol.merge)
    rings = shapely.get_parts(shapely.get_rings(shapely.get_parts(inner)))
    rows = [np.stack([ring[:-1], ring[1:]], axis=1) for ring in map(shapely.get_coordinates, rings)]
    return np.concatenate([np.empty((0, 2, 2)), *rows])


def _off_edge(
    nails: Floats, extent: shapely.Geometry, tol: Tolerance
) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
    """Return which nails have cover all round: where a lap is cut askew, some stand too near."""
    away = shapely.distance(shapely.points(nails), extent.boundary)
    return np.asarray(away >= _COVER - tol.merge)


def _at_free_edge(
    nails: Floats, sides: Sequence[Side], tol: Tolerance
) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
    """Return which nails have no other border nearer than a free edge."""
    points = shapely.points(nails)
    nearest = {True: np.full(len(nails), np.inf), False: np.full(len(nails), np.inf)}
    for side in sides:
        free = side.border in FREE
        away = shapely.distance(points, shapely.linestrings([side.start, side.end]))
        nearest[free] = np.minimum(nearest[free], away)
    return np.asarray(nearest[True] <= nearest[False] + tol.merge)
