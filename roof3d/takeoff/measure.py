"""Totals of a roof: areas by kind, lengths by role.

Which numbers are true: ``area`` of a plane lies along the slope, ``plan_area`` is its shadow
on the ground. Every ``length`` and every ``*_length`` total is the true length in space, from
end point to end point: a rake, hip, valley or sidewall along its slope; an eave, ridge or
level transition is as long in plan as in space. Plan lengths stand beside each edge only.
Wall, soffit and overhang are in as far as the roof surface reaches, so an eave is measured
at the roof's rim, not at the wall.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from roof3d.errors import InvariantError
from roof3d.roof.model import Edge, Kind, Role, Roof


@dataclass(frozen=True, slots=True, kw_only=True)
class Totals:
    """Sums over a roof; square metres and metres, all true unless named plan.

    Attributes
    ----------
    plan_area, area : float
        Holes left out. Where one roof reaches over another both are counted, for both
        are covered.
    low_area, steep_area : float
        Parts of ``area`` by kind.
    eave, rake, ridge, hip, valley, transition, pitch_break, headwall, sidewall,
    high_edge : float
        True lengths by role; an edge between two planes is counted once.
    assembly_change : float
        True length of the edges where two assemblies meet, whatever their role.
    area_of_assembly : tuple[tuple[str, float], ...]
        Parts of ``area`` by assembly id, in the order in which planes first name them.
    parapet : float
        True length of the edges on which a parapet stands, part of ``headwall`` and
        ``sidewall``: along its inside face.
    coping : float
        Along the outside faces of the parapets, level.
    """

    plan_area: float
    area: float
    low_area: float
    steep_area: float
    eave: float
    rake: float
    ridge: float
    hip: float
    valley: float
    transition: float
    pitch_break: float
    headwall: float
    sidewall: float
    high_edge: float
    assembly_change: float
    area_of_assembly: tuple[tuple[str, float], ...]
    parapet: float = 0.0
    coping: float = 0.0


def measure_roof(roof: Roof, assembly_of: Mapping[str, str]) -> Totals:
    """Sum the planes and edges of a roof.

    Parameters
    ----------
    roof : Roof
    assembly_of : mapping of str to str
        Plane id to assembly id, for every plane.

    Returns
    -------
    Totals
        Finite; ``low_area + steep_area`` and the parts by assembly each make up ``area``
        to rounding. Sums are exact before the last rounding, so the order of planes and
        edges does not matter.

    Raises
    ------
    InvariantError
        Where a plane has no assembly, or a number is not finite.
    """
    length = {role: _total(_lengths(roof.edges, role)) for role in Role}
    by_assembly: dict[str, list[float]] = {}
    for plane in roof.planes:
        by_assembly.setdefault(_assembly(plane.id, assembly_of), []).append(plane.area)
    return Totals(
        plan_area=_total(plane.plan_area for plane in roof.planes),
        area=_total(plane.area for plane in roof.planes),
        low_area=_total(plane.area for plane in roof.planes if plane.kind is Kind.LOW),
        steep_area=_total(plane.area for plane in roof.planes if plane.kind is Kind.STEEP),
        eave=length[Role.EAVE],
        rake=length[Role.RAKE],
        ridge=length[Role.RIDGE],
        hip=length[Role.HIP],
        valley=length[Role.VALLEY],
        transition=length[Role.TRANSITION],
        pitch_break=length[Role.PITCH_BREAK],
        headwall=length[Role.HEADWALL],
        sidewall=length[Role.SIDEWALL],
        high_edge=length[Role.HIGH_EDGE],
        assembly_change=_total(
            edge.length for edge in roof.edges if assembly_change(edge, assembly_of)
        ),
        area_of_assembly=tuple((name, _total(areas)) for name, areas in by_assembly.items()),
        parapet=_total(edge.length for edge in roof.edges if edge.parapet),
        coping=_total(edge.parapet.coping_length for edge in roof.edges if edge.parapet),
    )


def assembly_change(edge: Edge, assembly_of: Mapping[str, str]) -> bool:
    """Return whether the planes that meet at an edge carry different assemblies.

    Parameters
    ----------
    edge : Edge
        Of any role; one with a single plane never changes assembly.
    assembly_of : mapping of str to str
        Plane id to assembly id, for every plane of the edge.

    Raises
    ------
    InvariantError
        Where a plane of the edge has no assembly.
    """
    return len({_assembly(plane_id, assembly_of) for plane_id in edge.planes}) > 1


def _assembly(plane_id: str, assembly_of: Mapping[str, str]) -> str:
    try:
        return assembly_of[plane_id]
    except KeyError as error:
        raise InvariantError("plane has no assembly", where=f"planes[{plane_id}]") from error


def _lengths(edges: Iterable[Edge], role: Role) -> Iterable[float]:
    return (edge.length for edge in edges if edge.role is role)


def _total(values: Iterable[float]) -> float:
    total = math.fsum(values)
    if not math.isfinite(total):
        raise InvariantError(f"a sum over the roof is {total}")
    return total
