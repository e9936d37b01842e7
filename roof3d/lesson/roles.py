"""What a layer of a detail is in the assembly that it belongs to."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from roof3d.details.model import Detail, DetailLayer
from roof3d.project import Project


def roles_of(project: Project, detail: Detail) -> Mapping[int, frozenset[str]]:
    """Return, by number of layer, its role and the ids of the strips made of its material.

    Parameters
    ----------
    project : Project
    detail : Detail
        Of that project.
    """
    known: dict[str, set[str]] = {}
    for plane_id in detail.planes:
        assembly = project.catalog.assembly(project.assembly_of(plane_id))
        for layer in assembly.layers_at(project.roof.plane(plane_id).slope):
            known.setdefault(layer.material, set()).add(layer.role)
        for strip in assembly.strips:
            known.setdefault(strip.material, set()).add(strip.id)
    return {
        layer.number: frozenset(known.get(layer.material, ())) if layer.material else frozenset()
        for layer in detail.layers
    }


def belongs(row: Mapping[str, Any], layer: DetailLayer, roles: frozenset[str]) -> bool:
    """Whether a row of data is said of a layer: by its material, or by one of its roles."""
    wanted = set(row.get("roles", ()))
    return layer.material in row.get("materials", ()) or bool(wanted & roles)
