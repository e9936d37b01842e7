"""How far a layer reaches: a plane's outline moved side by side."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np
import shapely

from roof3d.catalog.laying import Layer
from roof3d.layout.borders.margins import corners_of, inner_margins, outer_margins
from roof3d.layout.model import Floats, Side
from roof3d.tolerance import DEFAULT, Tolerance


def extent_of(
    outline: shapely.Polygon,
    sides: Sequence[Side],
    layer: Layer,
    *,
    cut_corners: bool = False,
    tol: Tolerance = DEFAULT,
) -> shapely.Geometry:
    """Return what a layer covers, in the plane's frame, past its edges unfolded.

    Parameters
    ----------
    outline : shapely.Polygon
        Of the plane, in its frame.
    sides : sequence of Side
        Of the same plane.
    layer : Layer
    cut_corners : bool
        Whether it is folded down over the edges, and its corners cut at 45 degrees.
    tol : Tolerance

    Returns
    -------
    shapely.Geometry
        See ``move_sides``. What is turned up beside a joint and runs on past its end stays off
        the gap of the joint.
    """
    reaches = [layer.reach_at(s.border, rise=s.rise, gap=s.gap) for s in sides]
    extent = move_sides(outline, sides, reaches, cut_corners=cut_corners, lapped=True, tol=tol)
    gaps = [min(max(reach, -s.gap), 0.0) for s, reach in zip(sides, reaches, strict=True)]
    if not any(gaps) or max(reaches) <= 0.0:
        return extent
    rings = corners_of(sides, gaps, tol=tol, lapped=True)
    return cut_away(extent, [inner_margins(ring, tol=tol, filled=False) for ring in rings], tol=tol)


def move_sides(
    outline: shapely.Polygon,
    sides: Sequence[Side],
    distances: Sequence[float],
    *,
    cut_corners: bool,
    lapped: bool = False,
    tol: Tolerance = DEFAULT,
) -> shapely.Geometry:
    """Return an outline with every side moved square to itself.

    Parameters
    ----------
    outline : shapely.Polygon
    sides : sequence of Side
        All of them, ring after ring, as ``sides_of`` returns them.
    distances : sequence of float
        One a side, metres: outward positive (on a hole: into it), inward negative.
    cut_corners : bool
        A convex corner between two sides moved outward is filled to where their lines meet,
        or, cut at 45 degrees, by the triangle between the ends of both margins. A corner that
        would run out more than ``margins.MITRE`` times the farther distance is always cut.
    lapped : bool
        Whether what moves inward keeps a lap on what comes up from a valley, at its ends too.
    tol : Tolerance

    Returns
    -------
    shapely.Geometry
        Polygon or multipolygon, valid, corners on ``tol.cut_grid``; the outline itself where
        nothing moves; an empty polygon where nothing is left. Margins end square to their side
        where the neighbour stays; in line with each other they make a step. What has lost
        the plane behind it is gone.

    Raises
    ------
    InvariantError
        If the sides do not close to rings.

    Examples
    --------
    >>> from roof3d.catalog.laying import Border
    >>> points = [(0.0, 0.0), (4.0, 0.0), (4.0, 3.0), (0.0, 3.0)]
    >>> sides = [
    ...     Side(border=Border.EAVE, edge="e", start=a, end=b)
    ...     for a, b in zip(points, points[1:] + points[:1])
    ... ]
    >>> move_sides(shapely.Polygon(points), sides, [0.5, 0, -1, 0], cut_corners=False).bounds
    (0.0, -0.5, 4.0, 2.0)
    """
    rings = corners_of(sides, distances, tol=tol, lapped=lapped)
    if not any(distances):
        return outline
    rest = cut_away(outline, [inner_margins(ring, tol=tol) for ring in rings], tol=tol)
    if rest.is_empty:
        return rest
    gained = [outer_margins(ring, rest, cut_corners=cut_corners, tol=tol) for ring in rings]
    whole = _united(rest, (_united(shapely.Polygon(), group, tol) for group in gained), tol)
    return _tidy(shapely.get_parts(whole), tol)


def cut_away(
    shape: shapely.Geometry, margins: Iterable[Iterable[shapely.Geometry]], *, tol: Tolerance
) -> shapely.Geometry:
    """Return what margins leave of a shape, without slivers; the shape where there are none.

    They come ring by ring: those of one ring share sides, those of two only cross.
    """
    away = _all(margins, tol)
    if away.is_empty:
        return shape
    left = shapely.difference(shape, away, grid_size=tol.cut_grid)
    return _tidy(shapely.get_parts(left), tol)


def keep_within(
    shape: shapely.Geometry, margins: Iterable[Iterable[shapely.Geometry]], *, tol: Tolerance
) -> shapely.Geometry:
    """Return what lies both in a shape and in one of the margins, without slivers."""
    kept = shapely.intersection(shape, _all(margins, tol), grid_size=tol.cut_grid)
    return _tidy(shapely.get_parts(kept), tol)


def _all(margins: Iterable[Iterable[shapely.Geometry]], tol: Tolerance) -> shapely.Geometry:
    rings = [_united(shapely.Polygon(), ring, tol) for ring in margins]
    whole = shapely.union_all([_areas(ring) for ring in rings], grid_size=tol.cut_grid)
    return _areas(whole)


def _areas(shape: shapely.Geometry) -> shapely.Geometry:
    """Leave out the lines and points that snapping to a grid may make of slivers."""
    parts = shapely.get_parts(shape)
    flat = [part for part in parts if part.geom_type == "Polygon"]
    return shape if len(flat) == len(parts) else shapely.MultiPolygon(flat)


def _united(
    shape: shapely.Geometry, more: Iterable[shapely.Geometry], tol: Tolerance
) -> shapely.Geometry:
    """Add shapes one by one, what rounding has parted made one again."""
    near = 4.0 * tol.cut_grid
    for added in more:
        fitted = shapely.snap(shape, added, near)
        shape = _areas(shapely.union(fitted, added, grid_size=tol.cut_grid))
    return shape


def _tidy(parts: Iterable[shapely.Geometry], tol: Tolerance) -> shapely.Geometry:
    """Drop parts and holes that are nothing, and corners at which nothing turns."""
    clean = []
    for part in parts:
        if part.geom_type == "Polygon" and part.area > tol.area:
            holes = [ring for ring in part.interiors if shapely.Polygon(ring).area > tol.area]
            rings = [_without_spikes(ring, tol) for ring in (part.exterior, *holes)]
            clean.append(shapely.Polygon(rings[0], rings[1:]))
    if not clean:
        return shapely.Polygon()
    whole = clean[0] if len(clean) == 1 else shapely.MultiPolygon(clean)
    return shapely.simplify(whole, 4.0 * tol.cut_grid)


def _without_spikes(ring: shapely.LinearRing, tol: Tolerance) -> Floats:
    """Return a ring without what runs out and straight back: cuts that share a line leave it."""
    points: Floats = shapely.get_coordinates(ring)[:-1]
    while len(points) > 3:
        before, after = np.roll(points, 1, axis=0), np.roll(points, -1, axis=0)
        lengths = np.hypot(*(after - points).T)
        long = np.minimum(lengths, np.roll(lengths, 1)) > tol.sliver
        back = long & (((points - before) * (after - points)).sum(axis=1) < 0.0)
        arms = (
            shapely.linestrings(np.stack([before, points], axis=1)),
            shapely.linestrings(np.stack([points, after], axis=1)),
        )
        width = np.minimum(
            shapely.distance(arms[0], shapely.points(after)),
            shapely.distance(arms[1], shapely.points(before)),
        )
        spikes = np.flatnonzero(back & (width <= tol.merge))
        if not len(spikes):
            break
        points = np.delete(points, spikes[0], axis=0)
    return points
