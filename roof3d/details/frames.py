"""Frames of joints: where planes meet, at a wall, at a free edge, on one plane."""

from __future__ import annotations

import math

import numpy as np

from roof3d.details.frame import Floats, Frame, Point3
from roof3d.roof.model import Plane
from roof3d.tolerance import DEFAULT, Tolerance

Ends = tuple[Point3, Point3]


def frame_at_break(ends: Ends, near: Plane, far: Plane) -> Frame:
    """Return the frame of a line where two planes meet: transition, hip, ridge, valley."""
    along = _direction(ends)
    n_near, n_far = np.array(near.normal), np.array(far.normal)
    into_near = _into(near, n_near, along, _middle(ends))
    into_far = _into(far, n_far, along, _middle(ends))
    return _frame(_middle(ends), along, (into_near, into_far), (n_near, n_far))


def frame_at_wall(ends: Ends, near: Plane) -> Frame:
    """Return the frame of a line where a plane meets a wall, which is the far face, going up.

    The rim of an opening is such a line, too.
    """
    return _upright_frame(ends, near, up=True)


def frame_at_drop(ends: Ends, near: Plane) -> Frame:
    """Return the frame of a free edge: the far face is the fascia or barge board, going down."""
    return _upright_frame(ends, near, up=False)


def frame_on_plane(middle: Point3, plane: Plane, *, tol: Tolerance = DEFAULT) -> Frame:
    """Return the frame of a level line on one plane: near below it, far above it.

    On a dead-level plane the line runs east.
    """
    normal = np.array(plane.normal)
    gx, gy = plane.gradient
    along = (
        np.array((gy, -gx, 0.0))
        if plane.slope > tol.slope
        else np.array((normal[2], 0.0, -normal[0]))
    )
    along /= np.linalg.norm(along)
    up = np.cross(normal, along)
    return _frame(np.array(middle), along, (-up, up), (normal, normal))


def room_on(plane: Plane, middle: Point3, into: Point3, *, tol: Tolerance = DEFAULT) -> float:
    """Return how far a plane reaches from a place of it in a direction in it, metres."""
    reach = math.inf
    rings = (plane.outline, *plane.holes)
    for (ax, ay, _), (bx, by, _) in (
        pair for ring in rings for pair in zip(ring, (*ring[1:], ring[0]), strict=True)
    ):
        sx, sy = bx - ax, by - ay
        turn = into[0] * sy - into[1] * sx
        if abs(turn) <= tol.direction:
            continue
        away = ((ax - middle[0]) * sy - (ay - middle[1]) * sx) / turn
        share = ((ax - middle[0]) * into[1] - (ay - middle[1]) * into[0]) / turn
        if away > tol.merge and 0.0 <= share <= 1.0:
            reach = min(reach, away)
    return reach


def _upright_frame(ends: Ends, near: Plane, *, up: bool) -> Frame:
    along = _direction(ends)
    normal = np.array(near.normal)
    into = _into(near, normal, along, _middle(ends))
    rise = np.array((0.0, 0.0, 1.0)) - along[2] * along
    rise /= np.linalg.norm(rise)
    out = np.cross(along, rise)
    out = out if bool(out @ into > 0.0) == up else -out
    return _frame(_middle(ends), along, (into, rise if up else -rise), (normal, out))


def _frame(
    origin: Floats, along: Floats, into: tuple[Floats, Floats], normals: tuple[Floats, Floats]
) -> Frame:
    """Axes of a joint: along the line, and square to it in each face."""
    near, far = into
    upright = np.array((0.0, 0.0, 1.0)) - along[2] * along
    upright /= np.linalg.norm(upright)
    level = np.cross(upright, along)
    if level @ (far - near) < 0.0:
        along, level = -along, -level
    n_near, n_far = normals
    return Frame(
        origin=_point(origin),
        along=_point(along),
        near=_point(near),
        far=_point(far),
        near_normal=_point(n_near),
        far_normal=_point(n_far),
        mitre=_point((n_near + n_far) / (1.0 + n_near @ n_far)),
        level=_point(level),
        upright=_point(upright),
    )


def _direction(ends: Ends) -> Floats:
    start, end = (np.array(point) for point in ends)
    along: Floats = (end - start) / np.linalg.norm(end - start)
    return along


def _middle(ends: Ends) -> Floats:
    middle: Floats = (np.array(ends[0]) + np.array(ends[1])) / 2.0
    return middle


def _into(plane: Plane, normal: Floats, along: Floats, middle: Floats) -> Floats:
    """Return the unit vector in a plane, square to its edge, toward where the plane lies.

    The plane is to the left of its outline and of its holes as they run, so the side that
    the middle of the edge lies on tells the way.
    """
    across: Floats = np.cross(normal, along)
    rings = [np.array(ring) for ring in (plane.outline, *plane.holes)]
    starts = np.concatenate(rings)
    sides = np.concatenate([np.roll(ring, -1, axis=0) - ring for ring in rings])
    lengths = np.linalg.norm(sides[:, :2], axis=1)
    away = middle - starts
    share = np.clip(np.sum(away[:, :2] * sides[:, :2], axis=1) / lengths**2, 0.0, 1.0)
    gaps = np.linalg.norm((away - share[:, None] * sides)[:, :2], axis=1)
    nearest = int(np.argmin(gaps))
    return across if sides[nearest] @ along > 0.0 else -across


def _point(values: Floats) -> Point3:
    return (float(values[0]), float(values[1]), float(values[2]))
