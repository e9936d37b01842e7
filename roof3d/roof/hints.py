"""Hints that a model may not say what its author meant."""

from __future__ import annotations

import math
from collections.abc import Iterator

import shapely

from roof3d.errors import Finding, Severity
from roof3d.roof.model import Plane, Role, Roof
from roof3d.tolerance import Tolerance


def hints(roof: Roof, *, tol: Tolerance) -> tuple[Finding, ...]:
    """Tell of crumbs and of roofs that drain against a wall.

    Parameters
    ----------
    roof : Roof
    tol : Tolerance
        ``crumb_width``, ``crumb_length`` and ``level`` decide.

    Returns
    -------
    tuple[Finding, ...]
        In the order of planes, then of edges.
    """
    return (*_crumbs(roof, tol), *_backwalls(roof, tol))


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


def _backwalls(roof: Roof, tol: Tolerance) -> Iterator[Finding]:
    """Find level walls against which a roof drains: water stands there."""
    for edge in roof.edges:
        if edge.role is not Role.HEADWALL:
            continue
        plane = roof.plane(edge.planes[0])
        (ax, ay, _), (bx, by, _) = edge.ends
        nx, ny = -(by - ay) / edge.plan_length, (bx - ax) / edge.plan_length
        middle = ((ax + bx) / 2.0 + tol.weld * nx, (ay + by) / 2.0 + tol.weld * ny)
        inside = 1.0 if _outline(plane).covers(shapely.Point(middle)) else -1.0
        if inside * (plane.gradient[0] * nx + plane.gradient[1] * ny) > tol.level:
            yield Finding(
                code="R3D-BACKWALL",
                severity=Severity.CAUTION,
                where=f"edges[{edge.id}]",
                message=(
                    f"{plane.id} drains against a wall along {edge.length:.2f} m, where water "
                    "stands: let the section that stands there run on into the roof, or plan "
                    "a cricket"
                ),
                source="common practice, no source",
            )


def _outline(plane: Plane) -> shapely.Polygon:
    return shapely.Polygon(
        [p[:2] for p in plane.outline], [[p[:2] for p in hole] for hole in plane.holes]
    )
