"""Hints that a model may not say what its author meant."""

from __future__ import annotations

import math
from collections.abc import Iterator

import shapely

from roof3d.errors import Finding, Severity
from roof3d.geometry.plane import HeightPlane
from roof3d.roof.model import Edge, Plane, Role, Roof
from roof3d.tolerance import Tolerance


def hints(roof: Roof, *, tol: Tolerance) -> tuple[Finding, ...]:
    """Tell of crumbs and of roofs that stop just above another instead of meeting it.

    Parameters
    ----------
    roof : Roof
    tol : Tolerance
        ``crumb_width``, ``crumb_length`` and ``near_miss`` decide.

    Returns
    -------
    tuple[Finding, ...]
        In the order of planes, then of edges.
    """
    return (*_crumbs(roof, tol), *_stops_short(roof, tol))


def _crumbs(roof: Roof, tol: Tolerance) -> Iterator[Finding]:
    advice = "check that the corners of the sections that meet there fit exactly"
    for plane in roof.planes:
        ring = plane.outline
        around = sum(math.dist(a, b) for a, b in zip(ring, (*ring[1:], ring[0]), strict=True))
        width = 2.0 * plane.area / around
        if width < tol.crumb_width:
            yield Finding(
                code="R3D-CRUMB",
                severity=Severity.CAUTION,
                where=f"planes[{plane.id}]",
                message=f"the plane is only {width * 1000:.1f} mm wide; {advice}",
            )
    for edge in roof.edges:
        if edge.length < tol.crumb_length:
            yield Finding(
                code="R3D-CRUMB",
                severity=Severity.CAUTION,
                where=f"edges[{edge.id}]",
                message=f"the {edge.role} is only {edge.length * 1000:.1f} mm long; {advice}",
            )


def _stops_short(roof: Roof, tol: Tolerance) -> Iterator[Finding]:
    """Find upper edges that hang close above the roof of another section."""
    for edge in roof.edges:
        if edge.role is not Role.HIGH_EDGE:
            continue
        owner = roof.plane(edge.planes[0]).section
        for plane in roof.planes:
            gap = _gap_above(edge, plane)
            if plane.section != owner and 0.0 < gap < tol.near_miss:
                yield Finding(
                    code="R3D-STOPS-SHORT",
                    severity=Severity.CAUTION,
                    where=f"edges[{edge.id}]",
                    message=(
                        f"the top of this roof hangs {gap:.2f} m above {plane.id} without meeting "
                        f'it; if section "{owner}" should run into that roof, draw its walls '
                        "further in, past the line where the two planes meet"
                    ),
                )


def _gap_above(edge: Edge, plane: Plane) -> float:
    """Height of an edge's middle above a plane, or 0 where it is not over it."""
    (ax, ay, az), (bx, by, bz) = edge.ends
    x, y, z = (ax + bx) / 2.0, (ay + by) / 2.0, (az + bz) / 2.0
    outline = shapely.Polygon(
        [p[:2] for p in plane.outline], [[p[:2] for p in hole] for hole in plane.holes]
    )
    if not outline.covers(shapely.Point(x, y)):
        return 0.0
    return z - HeightPlane(*plane.gradient, plane.offset).at((x, y))
