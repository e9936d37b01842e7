"""Whether water comes down on an opening: what roof lies above its uphill sides."""

from __future__ import annotations

import math
from collections.abc import Iterable

import shapely

from roof3d.roof.model import Plane, Roof, RoofOpening
from roof3d.tolerance import DEFAULT, Tolerance


def dams_water(opening: RoofOpening, roof: Roof, *, tol: Tolerance = DEFAULT) -> bool:
    """Tell whether some plane falls toward the opening from above.

    Parameters
    ----------
    opening : RoofOpening
    roof : Roof
    tol : Tolerance
        ``crumb_width`` uphill of the opening is looked at; what touches less than
        ``crumb_length`` of a side does not count.

    Returns
    -------
    bool
        True where a sloping plane that the opening cuts, or that meets one it cuts, exists
        just outside a side that faces up its slope more than across it. False astride a
        ridge or a high edge, and on a level plane.

    Notes
    -----
    A ridge among the planes cut is not enough to tell: where a wing's ridge dies into a
    larger slope, the slope above still drains onto what stands there.
    """
    return any(
        plane.slope > tol.slope and _drains_onto(plane, opening, tol)
        for plane in _planes_around(opening, roof)
    )


def _planes_around(opening: RoofOpening, roof: Roof) -> Iterable[Plane]:
    """Return the planes cut and their neighbours: an edge may run along a side."""
    cut = set(opening.planes)
    near = cut.union(*(edge.planes for edge in roof.edges if cut.intersection(edge.planes)))
    return (plane for plane in roof.planes if plane.id in near)


def _drains_onto(plane: Plane, opening: RoofOpening, tol: Tolerance) -> bool:
    up_x, up_y = (part / plane.slope for part in plane.gradient)
    there = shapely.Polygon(
        [point[:2] for point in plane.outline],
        [[point[:2] for point in hole] for hole in plane.holes],
    )
    ring = opening.outline
    for (ax, ay), (bx, by) in zip(ring, (*ring[1:], ring[0]), strict=True):
        length = math.hypot(bx - ax, by - ay)
        # Outward of a counterclockwise ring.
        out_x, out_y = (by - ay) / length, (ax - bx) / length
        facing = out_x * up_x + out_y * up_y
        across = abs(out_x * up_y - out_y * up_x)
        if facing < across - tol.direction:
            continue  # water runs along this side, or away from it
        step_x, step_y = out_x * tol.crumb_width, out_y * tol.crumb_width
        side = shapely.LineString([(ax + step_x, ay + step_y), (bx + step_x, by + step_y)])
        if side.intersection(there).length > tol.crumb_length:
            return True
    return False
