"""Closed solids: prisms along the line of a joint, small discs, extruded outlines."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from numpy.typing import NDArray

from roof3d.details.frame import Floats, Frame, Point3
from roof3d.details.shapes.drape import Laid
from roof3d.tolerance import DEFAULT, Tolerance

_DISC_SIDES = 8
_ON_SEAM = 0.01
"""Metres: what lies nearer to a seam than that all along runs along it."""
_INKED_CORNERS = 8
"""An outline of more corners is taken for round: its uprights are not inked."""


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Body:
    """A closed mesh with the lines to be inked."""

    vertices: Floats
    triangles: NDArray[np.int64]
    rims: tuple[Floats, ...]


def prisms(
    frame: Frame, laid: Laid, spans: Sequence[tuple[float, float]], beyond: Laid | None = None
) -> Body:
    """Return one closed body a span, with the cross-section of a laid piece.

    Parameters
    ----------
    frame : Frame
    laid : Laid
        Developed cross-section; ``under`` below ``over`` everywhere.
    spans : sequence of (float, float)
        From where to where along the line, the first below the second; they may not meet.
    beyond : Laid or None
        The same places with heights off the far face, where they differ at the line.

    Returns
    -------
    Body
        Wound counterclockwise seen from outside. Its rims: the closed outline at both ends
        of each span, and the four edges that run along it.
    """
    count = len(laid.at)
    vertices, triangles, rims = [], [], []
    for index, (start, end) in enumerate(spans):
        corners = [
            frame.place(np.full(count, across), laid.at, height, far)
            for across in (start, end)
            for height, far in _sides(laid, beyond)
        ]
        vertices += corners
        triangles.append(_prism_triangles(count) + 4 * count * index)
        for under, over in (corners[:2], corners[2:]):
            rims.append(np.concatenate((under, over[::-1], under[:1])))
        rims += [
            np.array([corners[k][i], corners[k + 2][i]]) for k in (0, 1) for i in (0, count - 1)
        ]
    return Body(
        vertices=np.concatenate(vertices),
        triangles=np.concatenate(triangles),
        rims=tuple(rims),
    )


def _sides(laid: Laid, beyond: Laid | None) -> tuple[tuple[Floats, Floats | None], ...]:
    """Heights of underside and top off the near and, where they differ, off the far face."""
    if beyond is None:
        return (laid.under, None), (laid.over, None)
    return (laid.under, beyond.under), (laid.over, beyond.over)


def _prism_triangles(count: int) -> NDArray[np.int64]:
    """Triangles of a prism whose rows are: under and over at the start, under and over at the end.

    Each row has ``count`` points in order of the developed coordinate.
    """
    rows = np.arange(4 * count, dtype=np.int64).reshape(4, count)
    near_under, near_over, far_under, far_over = rows
    strips = [
        _strip(near_over, far_over),
        _strip(far_under, near_under),
        _strip(near_under, near_over),
        _strip(far_over, far_under),
    ]
    caps = [
        _quad(near_under[0], near_over[0], far_over[0], far_under[0]),
        _quad(near_under[-1], far_under[-1], far_over[-1], near_over[-1]),
    ]
    # Seen from the start's side the rows run from the low plane to the steep one.
    return np.concatenate(strips + caps)[:, ::-1]


def _strip(one: NDArray[np.int64], two: NDArray[np.int64]) -> NDArray[np.int64]:
    """Two triangles a step between two rows of points."""
    a, b, c, d = one[:-1], one[1:], two[1:], two[:-1]
    return np.concatenate((np.column_stack((a, b, c)), np.column_stack((a, c, d))))


def _quad(a: np.int64, b: np.int64, c: np.int64, d: np.int64) -> NDArray[np.int64]:
    return np.array([[a, b, c], [a, c, d]], dtype=np.int64)


def cross_section(frame: Frame, laid: Laid, beyond: Laid | None = None) -> Floats:
    """Return the outline (k, 2) of a laid piece in section coordinates, counterclockwise."""
    zero = np.zeros(len(laid.at))
    under, over = (
        frame.section(frame.place(zero, laid.at, height, far))
        for height, far in _sides(laid, beyond)
    )
    return np.concatenate((under, over[::-1]))


def cut_body(body: Body, frame: Frame, *, tol: Tolerance = DEFAULT) -> tuple[Floats, ...]:
    """Return the outlines (k, 2) where the plane square to the line through its origin cuts."""
    along = (body.vertices - np.array(frame.origin)) @ np.array(frame.along)
    flat = frame.section(body.vertices)
    side = along > 0.0
    cut = body.triangles[side[body.triangles].any(axis=1) & ~side[body.triangles].all(axis=1)]
    if not len(cut):
        return ()
    # The two sides of each triangle that go through the plane, from the lower number on.
    ends = np.sort(cut[:, [[0, 1], [1, 2], [2, 0]]], axis=2)
    i, j = ends[side[ends[..., 0]] != side[ends[..., 1]]].T
    share = (along[i] / (along[i] - along[j]))[:, None]
    lines = shapely.linestrings((flat[i] + share * (flat[j] - flat[i])).reshape(-1, 2, 2))
    noded = shapely.union_all(lines, grid_size=tol.cut_grid)
    cells = shapely.get_parts(shapely.polygonize(shapely.get_parts(noded)))
    rings = [
        shapely.get_coordinates(shapely.orient_polygons(cell).exterior)[:-1]
        for cell in cells
        if cell.area > tol.merge**2
    ]
    return tuple(np.asarray(ring, dtype=np.float64) for ring in rings)


def extruded(ring: Sequence[Point3], away: Point3) -> Body:
    """Return the body between a flat outline and the same moved by a vector.

    Parameters
    ----------
    ring : sequence of Point3
        Corners of the outline, not closed, no three neighbours in line; either way round.
    away : Point3
        Not in the plane of the outline.
    """
    first = np.array(ring)
    count = len(first)
    normal = np.sum(np.cross(first, np.roll(first, -1, axis=0)), axis=0)
    if float(normal @ np.array(away)) < 0.0:
        first = first[::-1]
        normal = -normal
    second = first + np.array(away)
    across = first[1] - first[0]
    across = across / np.linalg.norm(across)
    up = np.cross(normal / np.linalg.norm(normal), across)
    flat = np.column_stack(((first - first[0]) @ across, (first - first[0]) @ up))
    number = {(x, y): k for k, (x, y) in enumerate(flat.tolist())}
    cap = []
    for part in shapely.get_parts(shapely.constrained_delaunay_triangles(shapely.Polygon(flat))):
        corners = shapely.get_coordinates(part)[:3]
        (ax, ay), (bx, by) = corners[1] - corners[0], corners[2] - corners[0]
        a, b, c = (number[(x, y)] for x, y in corners.tolist())
        cap.append((a, b, c) if ax * by - ay * bx > 0.0 else (a, c, b))
    top = np.array(cap, dtype=np.int64)
    here = np.arange(count, dtype=np.int64)
    after = np.roll(here, -1)
    sides = np.concatenate(
        (
            np.column_stack((here, after, after + count)),
            np.column_stack((here, after + count, here + count)),
        )
    )
    rims = [np.concatenate((points, points[:1])) for points in (first, second)]
    if count <= _INKED_CORNERS:
        rims += [np.array([a, b]) for a, b in zip(first, second, strict=True)]
    return Body(
        vertices=np.concatenate((first, second)),
        triangles=np.concatenate((top + count, top[:, ::-1], sides)),
        rims=tuple(rims),
    )


def discs(
    frame: Frame,
    centres: Sequence[tuple[float, float, float]],
    *,
    radius: float,
    height: float,
) -> Body:
    """Return one flat octagonal disc a centre (across, developed, height of its underside).

    None may reach over the break.
    """
    turn = np.arange(_DISC_SIDES) * (2.0 * math.pi / _DISC_SIDES)
    across, at, base = np.array(centres, dtype=np.float64).reshape(-1, 3).T[:, :, None]
    u, s = (across + radius * np.cos(turn)).ravel(), (at + radius * np.sin(turn)).ravel()
    under = np.repeat(base, _DISC_SIDES)
    both = [frame.place(u, s, h).reshape(-1, _DISC_SIDES, 3) for h in (under, under + height)]
    first = 2 * _DISC_SIDES * np.arange(len(centres), dtype=np.int64)
    return Body(
        vertices=np.concatenate(both, axis=1).reshape(-1, 3),
        triangles=(_disc_triangles() + first[:, None, None]).reshape(-1, 3),
        rims=tuple(np.concatenate((over, over[:1])) for over in both[1]),
    )


def _disc_triangles() -> NDArray[np.int64]:
    ring = np.arange(_DISC_SIDES, dtype=np.int64)
    following = np.roll(ring, -1)
    over = ring + _DISC_SIDES
    sides = np.concatenate(
        (
            np.column_stack((ring, following, following + _DISC_SIDES)),
            np.column_stack((ring, following + _DISC_SIDES, over)),
        )
    )
    fan = np.column_stack((np.zeros(_DISC_SIDES - 2, np.int64), ring[1:-1], ring[2:]))
    return np.concatenate((sides, fan + _DISC_SIDES, fan[:, ::-1]))


def join_bodies(bodies: Sequence[Body]) -> Body:
    """Return several bodies as one mesh."""
    counts = np.cumsum([0, *(len(body.vertices) for body in bodies)])
    return Body(
        vertices=np.concatenate([body.vertices for body in bodies]),
        triangles=np.concatenate(
            [body.triangles + k for body, k in zip(bodies, counts, strict=False)]
        ),
        rims=tuple(rim for body in bodies for rim in body.rims),
    )


def off_seam(frame: Frame, body: Body, seam: shapely.Geometry) -> Body:
    """Return a body without the inked lines that run along a line, in (u, s), of the deck."""
    kept = []
    for rim in body.rims:
        away = shapely.distance(shapely.points(frame.developed(rim)[:, :2]), seam)
        if float(away.max()) > _ON_SEAM:
            kept.append(rim)
    return replace(body, rims=tuple(kept))
