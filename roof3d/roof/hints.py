"""Hints that a model may not say what its author meant."""

from __future__ import annotations

import math
from collections.abc import Iterator

import shapely

from roof3d.errors import Finding, Severity
from roof3d.roof.model import Edge, Plane, Role, Roof
from roof3d.tolerance import Tolerance
from roof3d.units import Units, format_area, format_length, parse_length

NARROW = parse_length("30 in")
"""What stands in the way of the water and is no wider needs no cricket."""


def hints(roof: Roof, *, units: Units, tol: Tolerance) -> tuple[Finding, ...]:
    """Tell of crumbs, of roofs that drain against a wall, and of valleys without fall.

    Parameters
    ----------
    roof : Roof
    units : Units
        In which lengths and areas are told.
    tol : Tolerance
        ``crumb_width``, ``crumb_length`` and ``level`` decide.

    Returns
    -------
    tuple[Finding, ...]
        In the order of planes, then of edges.
    """
    return (
        *_crumbs(roof, units, tol),
        *_backwalls(roof, units, tol),
        *_level_valleys(roof, units, tol),
    )


def _crumbs(roof: Roof, units: Units, tol: Tolerance) -> Iterator[Finding]:
    advice = "check that the sections that meet there fit, and that none comes out too far"
    for plane in roof.planes:
        ring = plane.outline
        around = sum(math.dist(a, b) for a, b in zip(ring, (*ring[1:], ring[0]), strict=True))
        if 2.0 * plane.area / around < tol.crumb_width or plane.area < tol.crumb_area:
            yield Finding(
                code="R3D-CRUMB",
                severity=Severity.CAUTION,
                where=f"planes[{plane.id}]",
                message=(
                    f"the plane is a sliver of {format_area(plane.area, units)} in "
                    f"{format_length(around, units)} of outline; {advice}"
                ),
            )
    for edge in roof.edges:
        if edge.length < tol.crumb_length:
            yield Finding(
                code="R3D-CRUMB",
                severity=Severity.CAUTION,
                where=f"edges[{edge.id}]",
                message=f"the {edge.role} is only {edge.length * 1000:.1f} mm long; {advice}",
            )


def _level_valleys(roof: Roof, units: Units, tol: Tolerance) -> Iterator[Finding]:
    """Find valleys without fall."""
    for edge in roof.edges:
        fall = abs(edge.ends[1][2] - edge.ends[0][2])
        if edge.role is Role.VALLEY and fall <= tol.level * edge.plan_length:
            yield Finding(
                code="R3D-LEVEL-VALLEY",
                severity=Severity.CAUTION,
                where=f"edges[{edge.id}]",
                message=(
                    f"the valley between {' and '.join(edge.planes)} is level over "
                    f"{format_length(edge.length, units)}: water stands in it; turn a section so "
                    "that it falls away from the other, or plan a cricket or a drain"
                ),
                source="common practice, no source",
            )


def _backwalls(roof: Roof, units: Units, tol: Tolerance) -> Iterator[Finding]:
    """Find level walls against which a roof drains: water stands there."""
    for edge in roof.edges:
        if edge.role is not Role.HEADWALL or edge.parapet is not None:  # told with its outlets
            continue
        plane = roof.plane(edge.planes[0])
        (ax, ay, _), (bx, by, _) = edge.ends
        nx, ny = -(by - ay) / edge.plan_length, (bx - ax) / edge.plan_length
        middle = ((ax + bx) / 2.0 + tol.weld * nx, (ay + by) / 2.0 + tol.weld * ny)
        inside = 1.0 if _outline(plane).covers(shapely.Point(middle)) else -1.0
        if inside * (plane.gradient[0] * nx + plane.gradient[1] * ny) > tol.level:
            yield _narrow(edge, units) if edge.length <= NARROW else _wide(edge, units)


def _wide(edge: Edge, units: Units) -> Finding:
    return Finding(
        code="R3D-BACKWALL",
        severity=Severity.CAUTION,
        where=f"edges[{edge.id}]",
        message=(
            f"{edge.planes[0]} drains against a wall along {format_length(edge.length, units)}, "
            "where water stands: turn the section so that it falls away, let the one that "
            "stands there run on into the roof, or plan a cricket"
        ),
        source="common practice, no source",
    )


def _narrow(edge: Edge, units: Units) -> Finding:
    """Tell of the end of a wall: no wider than a chimney that needs no cricket."""
    return Finding(
        code="R3D-BACKWALL",
        severity=Severity.NOTE,
        where=f"edges[{edge.id}]",
        message=(
            f"{edge.planes[0]} drains against the end of a wall, "
            f"{format_length(edge.length, units)} wide: turn the water aside there with a small "
            f"saddle; a cricket is asked for above {format_length(NARROW, units)}"
        ),
        source="IRC 2018, R903.2.2 (edition from memory)",
    )


def _outline(plane: Plane) -> shapely.Polygon:
    return shapely.Polygon(
        [p[:2] for p in plane.outline], [[p[:2] for p in hole] for hole in plane.holes]
    )
