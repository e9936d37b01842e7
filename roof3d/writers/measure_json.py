"""The measured roof as a document for other programs: schema ``roof3d.measure/1``."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

from roof3d.errors import Finding, InvariantError
from roof3d.project import Project
from roof3d.roof.model import Edge, Parapet, Plane, Ring3, RoofOpening, Scupper
from roof3d.rules.bands import pitch_beside
from roof3d.rules.cautions import cautions_for
from roof3d.takeoff.measure import Totals, assembly_change, measure_roof

SCHEMA = "roof3d.measure/1"


def measure_document(project: Project) -> dict[str, Any]:
    """Return everything measured about a roof as plain values, ready for ``json.dumps``.

    Parameters
    ----------
    project : Project

    Returns
    -------
    dict
        Fixed keys and their order; SI numbers in full precision with the unit in the
        name; coordinates in metres, z up, +y north. Every number is finite; a dead-level
        plane has no azimuth (None), an edge without a wall no wall heights (None).

    Raises
    ------
    InvariantError
        Where a number is not finite.
    """
    assembly_of = {choice.plane: choice.assembly for choice in project.choices}
    cutoff = project.spec.rules.low_slope_cutoff
    document = {
        "schema": SCHEMA,
        "model": project.spec.name,
        "units": project.spec.units.value,
        "planes": [_plane(plane, assembly_of[plane.id], cutoff) for plane in project.roof.planes],
        "edges": [_edge(edge, assembly_of) for edge in project.roof.edges],
        "openings": [_opening(opening) for opening in project.roof.openings],
        "scuppers": [_scupper(scupper) for scupper in project.roof.scuppers],
        "totals": _totals(measure_roof(project.roof, assembly_of)),
        "findings": [finding_entry(finding) for finding in project.findings],
        "caution": list(cautions_for(project.choices, project.catalog, project.spec)),
    }
    refuse_non_finite(document, "")
    return document


def check_document(project: Project) -> dict[str, Any]:
    """Return every finding of a roof, of the laying too, ready for ``json.dumps``.

    Raises
    ------
    LayoutError
        Where pieces cannot be set out as the assemblies ask.
    """
    return {
        "schema": "roof3d.check/1",
        "model": project.spec.name,
        "findings": [finding_entry(finding) for finding in project.every_finding],
    }


def _plane(plane: Plane, assembly: str, cutoff: float) -> dict[str, Any]:
    return {
        "id": plane.id,
        "section": plane.section,
        "kind": plane.kind.value,
        "pitch": pitch_beside(plane.slope, cutoff, decimal=True),
        "slope": plane.slope,
        "slope_deg": plane.slope_deg,
        "azimuth_deg": _azimuth(plane),
        "assembly": assembly,
        "plan_area_m2": plane.plan_area,
        "area_m2": plane.area,
        "covered_plan_area_m2": plane.covered_plan_area,
        "outline": _ring(plane.outline),
        "holes": [_ring(hole) for hole in plane.holes],
    }


def _azimuth(plane: Plane) -> float | None:
    """Return the azimuth in [0, 360): a hair west of north rounds to 360, which is 0."""
    azimuth = plane.azimuth_deg
    return None if azimuth is None else math.fmod(azimuth, 360.0)


def _edge(edge: Edge, assembly_of: Mapping[str, str]) -> dict[str, Any]:
    return {
        "id": edge.id,
        "role": edge.role.value,
        "length_m": edge.length,
        "plan_length_m": edge.plan_length,
        "planes": list(edge.planes),
        "assembly_change": assembly_change(edge, assembly_of),
        "convex": edge.convex,
        "wall_heights_m": None if edge.wall_heights is None else list(edge.wall_heights),
        "parapet": None if edge.parapet is None else _parapet(edge.parapet),
        "ends": _ring(edge.ends),
    }


def _opening(opening: RoofOpening) -> dict[str, Any]:
    return {
        "id": opening.id,
        "kind": opening.kind.value,
        "planes": list(opening.planes),
        "perimeter_m": opening.perimeter,
        "plan_area_m2": opening.plan_area,
        "width_across_m": opening.width_across,
    }


def _parapet(parapet: Parapet) -> dict[str, Any]:
    return {
        "section": parapet.section,
        "height_m": parapet.height,
        "thickness_m": parapet.thickness,
        "top_m": parapet.top,
        "coping_m": parapet.coping_length,
    }


def _scupper(scupper: Scupper) -> dict[str, Any]:
    return {
        "id": scupper.id,
        "edge": scupper.edge,
        "plane": scupper.plane,
        "along_m": scupper.along,
        "width_m": scupper.width,
        "height_m": scupper.height,
        "sill_m": scupper.sill,
        "overflow": scupper.overflow,
        "place": [float(value) for value in scupper.place],
    }


def _totals(totals: Totals) -> dict[str, float]:
    return {
        "plan_area_m2": totals.plan_area,
        "area_m2": totals.area,
        "low_area_m2": totals.low_area,
        "steep_area_m2": totals.steep_area,
        "eave_m": totals.eave,
        "rake_m": totals.rake,
        "ridge_m": totals.ridge,
        "hip_m": totals.hip,
        "valley_m": totals.valley,
        "transition_m": totals.transition,
        "pitch_break_m": totals.pitch_break,
        "headwall_m": totals.headwall,
        "sidewall_m": totals.sidewall,
        "high_edge_m": totals.high_edge,
        "assembly_change_m": totals.assembly_change,
        "parapet_m": totals.parapet,
        "coping_m": totals.coping,
    }


def finding_entry(finding: Finding) -> dict[str, Any]:
    """Return one finding as plain values; ``at_m`` only where it has a place in space."""
    entry: dict[str, Any] = {
        "code": finding.code,
        "severity": finding.severity.value,
        "where": finding.where,
        "message": finding.message,
        "source": finding.source,
    }
    return entry if finding.at is None else entry | {"at_m": list(finding.at)}


def _ring(ring: Ring3) -> list[list[float]]:
    # float() so that a NumPy scalar never reaches the JSON encoder
    return [[float(value) for value in point] for point in ring]


def refuse_non_finite(value: object, where: str) -> None:
    """Raise InvariantError, with the place, where a document holds a number that is none."""
    if isinstance(value, dict):
        for key, item in value.items():
            refuse_non_finite(item, f"{where}.{key}" if where else str(key))
    elif isinstance(value, list):
        for index, item in enumerate(value):
            refuse_non_finite(item, f"{where}[{index}]")
    elif isinstance(value, float) and not math.isfinite(value):
        raise InvariantError(f"must be finite, is {value}", where=where)
