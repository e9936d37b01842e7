"""A plane's own two dimensions: ``u`` level along the eave, ``v`` straight up the slope."""

from __future__ import annotations

import math

import numpy as np
import shapely
from numpy.typing import ArrayLike

from roof3d.layout.model import Floats, PlaneFrame
from roof3d.roof.model import Plane, Point3
from roof3d.tolerance import DEFAULT, Tolerance


def frame_of(plane: Plane, *, tol: Tolerance = DEFAULT) -> PlaneFrame:
    """Return the frame in which a plane is laid out.

    Parameters
    ----------
    plane : Plane
    tol : Tolerance
        Planes flatter than its ``slope`` count as level: ``along`` is then east.

    Returns
    -------
    PlaneFrame
        Right-handed and orthonormal. Its origin is the lowest left corner of the box around
        the outline: but for rounding, no ``u`` and no ``v`` of the outline is below 0.
    """
    gx, gy = plane.gradient
    nx, ny, nz = plane.normal
    if plane.slope <= tol.slope:
        size = math.hypot(nx, nz)
        along = (nz / size, 0.0, -nx / size)
    else:
        along = (gy / plane.slope, -gx / plane.slope, 0.0)
    up = (
        ny * along[2] - nz * along[1],
        nz * along[0] - nx * along[2],
        nx * along[1] - ny * along[0],
    )
    corner = PlaneFrame(origin=plane.outline[0], along=along, up=up, normal=plane.normal)
    least = to_plane(corner, plane.outline).min(axis=0)
    (x, y, z) = to_space(corner, [least])[0]
    return PlaneFrame(
        origin=(float(x), float(y), float(z)), along=along, up=up, normal=plane.normal
    )


def to_plane(frame: PlaneFrame, points: ArrayLike) -> Floats:
    """Return points of the plane in its own coordinates.

    Parameters
    ----------
    frame : PlaneFrame
    points : (n, 3) array_like
        World coordinates, metres.

    Returns
    -------
    (n, 2) float64
        ``u`` and ``v``, metres; what stands off the plane is dropped square onto it.
    """
    away = np.asarray(points, dtype=np.float64).reshape(-1, 3) - np.asarray(frame.origin)
    flat: Floats = away @ np.array([frame.along, frame.up]).T
    return flat


def to_space(frame: PlaneFrame, points: ArrayLike, *, height: float = 0.0) -> Floats:
    """Return points given in a plane's own coordinates as points of the world.

    Parameters
    ----------
    frame : PlaneFrame
    points : (n, 2) array_like
        ``u`` and ``v``, metres.
    height : float
        Off the plane, square to it and up, metres.

    Returns
    -------
    (n, 3) float64
    """
    flat = np.asarray(points, dtype=np.float64).reshape(-1, 2)
    lift = np.asarray(frame.origin) + height * np.asarray(frame.normal)
    placed: Floats = lift + flat @ np.array([frame.along, frame.up])
    return placed


def outline_of(plane: Plane, frame: PlaneFrame) -> shapely.Polygon:
    """Return a plane's outline with its holes in the plane's own coordinates."""

    def ring(points: tuple[Point3, ...]) -> Floats:
        return to_plane(frame, points)

    return shapely.Polygon(ring(plane.outline), [ring(hole) for hole in plane.holes])
