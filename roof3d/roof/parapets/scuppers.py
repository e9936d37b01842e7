"""Scuppers: holes through parapets, each put on the one that it lies nearest to."""

from __future__ import annotations

from collections.abc import Sequence

import shapely

from roof3d.errors import GeometryError
from roof3d.roof.model import Edge, Plane, Point3, Scupper
from roof3d.spec.model import OpeningSpec
from roof3d.tolerance import Tolerance
from roof3d.units import FOOT, Units, format_length

REACH = FOOT
"""So far off a parapet a scupper may be drawn."""


def place_scupper(
    spec: OpeningSpec,
    edges: Sequence[Edge],
    planes: Sequence[Plane],
    *,
    units: Units,
    tol: Tolerance,
) -> Scupper:
    """Put a scupper through the parapet beside it.

    Parameters
    ----------
    spec : OpeningSpec
        Of the kind ``scupper``.
    edges : sequence of Edge
    planes : sequence of Plane
    units : Units
        In which faults show lengths.
    tol : Tolerance

    Returns
    -------
    Scupper
        Its sill lies as high above the lowest point of the plane as was asked, but never
        below the roof in front of it.

    Raises
    ------
    GeometryError
        Where no parapet is near, or the hole does not fit into it.
    """
    where = f'opening "{spec.id}"'
    point = shapely.Point(spec.at)
    walls = [(edge, edge.parapet) for edge in edges if edge.parapet is not None]
    away = [shapely.Polygon(parapet.plan).distance(point) for _, parapet in walls]
    if not walls or min(away) > REACH:
        near = f"; the nearest is {format_length(min(away), units)} off" if walls else ""
        raise GeometryError(
            f"a scupper goes through a parapet, and none is at its place{near}",
            where=f"{where}.at",
            hint="put it on one, or give the section parapet = { height = "
            '"2 ft", thickness = "8 in" }',
        )
    edge, parapet = walls[away.index(min(away))]
    plane = next(plane for plane in planes if plane.id == edge.planes[0])
    along = _along(spec.at, edge)
    width, height = spec.size
    _require_length(where, along, width, edge, units, tol)
    low = min(z for _, _, z in plane.outline)
    front = [_at(edge, along + step)[2] for step in (-width / 2.0, width / 2.0)]
    bottom = max(low + spec.sill, *front)
    if bottom + height > parapet.top - tol.height:
        raise GeometryError(
            f"its head would lie {format_length(bottom + height - low, units)} above the low point "
            f"of {plane.id}, and the parapet is {format_length(parapet.top - low, units)} high "
            "there",
            where=where,
            hint="make it lower, or the parapet higher",
        )
    x, y, _ = _at(edge, along)
    return Scupper(
        id=spec.id,
        edge=edge.id,
        plane=plane.id,
        along=along,
        width=width,
        height=height,
        sill=bottom - low,
        bottom=bottom,
        overflow=spec.overflow,
        place=(x, y, bottom),
    )


def _along(at: tuple[float, float], edge: Edge) -> float:
    """Return how far along an edge a plan point lies, metres of the edge's true length."""
    (ax, ay, _), (bx, by, _) = edge.ends
    share = ((at[0] - ax) * (bx - ax) + (at[1] - ay) * (by - ay)) / edge.plan_length**2
    return share * edge.length


def _at(edge: Edge, along: float) -> Point3:
    share = along / edge.length
    x, y, z = (a + share * (b - a) for a, b in zip(*edge.ends, strict=True))
    return (x, y, z)


def _require_length(
    where: str, along: float, width: float, edge: Edge, units: Units, tol: Tolerance
) -> None:
    if width / 2.0 - tol.snap <= along <= edge.length - width / 2.0 + tol.snap:
        return
    raise GeometryError(
        f"its opening, {format_length(width, units)} wide, runs past the end of {edge.id}, which "
        f"is {format_length(edge.length, units)} long",
        where=where,
        hint="move it along the parapet, or make it narrower",
    )
