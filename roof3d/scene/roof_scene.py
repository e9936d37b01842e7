"""The whole roof as a scene: planes, massing, openings, edges by role, labels."""

from __future__ import annotations

import math
from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray

from roof3d.project import Project
from roof3d.roof.model import Edge, Kind, Plane, Point3, RoofOpening, Solid
from roof3d.roof.solid import build_solid
from roof3d.rules.cautions import cautions_for
from roof3d.scene.copings import coping_parts
from roof3d.scene.model import Label, Line, Part, PartKind, Scene
from roof3d.spec.model import OpeningKind
from roof3d.units import Units, format_angle, format_area, format_length, format_pitch

_PLANE_KINDS = {Kind.LOW: PartKind.LOW_PLANE, Kind.STEEP: PartKind.STEEP_PLANE}
_OPENING_KINDS = {
    OpeningKind.CHIMNEY: PartKind.CHIMNEY,
    OpeningKind.SKYLIGHT: PartKind.SKYLIGHT,
    OpeningKind.PIPE: PartKind.PIPE,
    OpeningKind.DRAIN: PartKind.DRAIN,
}
# The thin edge board under the roof's rim belongs to what is seen from below.
_MASSING = {
    "wall": ("building.wall", "walls", PartKind.WALL),
    "parapet": ("building.parapet", "tops of parapets", PartKind.WALL),
    "fascia": ("building.fascia", "edge boards", PartKind.SOFFIT),
    "soffit": ("building.soffit", "soffits", PartKind.SOFFIT),
    "floor": ("building.floor", "floor", PartKind.FLOOR),
}


def build_roof_scene(project: Project) -> Scene:
    """Turn a project into a scene.

    Parameters
    ----------
    project : Project

    Returns
    -------
    Scene
        Parts in this order: one a plane (id of the plane), one an opening (its id), then
        ``building.wall``, ``.parapet`` (their tops), ``.fascia``, ``.soffit``, ``.floor``
        where there are any, then one an edge with a parapet, ``edge.coping``. One
        line an edge with its role as style. Labels: first one a plane (id, pitch, true
        area), then one an edge (role, true length), in the model's units.

    Notes
    -----
    The area of a plane's triangles is the plane's true area: what lies under another roof
    is kept, and openings are cut out.
    """
    roof, units = project.roof, Units(project.spec.units.value)
    solid = build_solid(project.spec, roof)
    planes = tuple(_plane_part(plane, solid) for plane in roof.planes)
    parts = (
        *planes,
        *(_opening_part(opening, solid) for opening in roof.openings),
        *_massing_parts(solid),
        *coping_parts(roof),
    )
    return Scene(
        title=project.spec.name,
        subtitle=f"{len(roof.planes)} roof planes, {len(roof.edges)} edges; "
        + ("feet and inches" if units is Units.IMPERIAL else "metres"),
        parts=tuple(part for part in parts if len(part.triangles)),
        lines=tuple(Line(id=e.id, style=e.role.value, ends=e.ends) for e in roof.edges),
        labels=(
            *(_plane_label(p, part, units) for p, part in zip(roof.planes, planes, strict=True)),
            *(_edge_label(edge, units) for edge in roof.edges),
        ),
        cautions=cautions_for(project.choices, project.catalog, project.spec),
    )


def role_name(role: str) -> str:
    """Return a role in plain words: ``high_edge`` as ``high edge``."""
    return role.replace("_", " ")


def edge_name(edge: Edge) -> str:
    """Return what an edge is in plain words: a wall of its own is a parapet."""
    return role_name(edge.role.value) if edge.parapet is None else "parapet"


def _plane_part(plane: Plane, solid: Solid) -> Part:
    # The solid's own triangles: they share every corner with the walls and edge boards below,
    # so that the parts together close.
    vertices, triangles = _faces_of(solid, {plane.id})
    return Part(
        id=plane.id,
        name=f"{plane.kind.value} plane {plane.id}",
        kind=_PLANE_KINDS[plane.kind],
        vertices=vertices,
        triangles=triangles,
        rims=tuple(_frozen(np.array([*ring, ring[0]])) for ring in (plane.outline, *plane.holes)),
    )


def _opening_part(opening: RoofOpening, solid: Solid) -> Part:
    vertices, triangles = _faces_of(solid, {opening.id})
    return Part(
        id=opening.id,
        name=f"{opening.kind.value} {opening.id}",
        kind=_OPENING_KINDS[opening.kind],
        vertices=vertices,
        triangles=triangles,
        rims=tuple(_frozen(np.array(ring, dtype=np.float64)) for ring in opening.rim),
    )


def _massing_parts(solid: Solid) -> Iterable[Part]:
    for face, (part_id, name, kind) in _MASSING.items():
        vertices, triangles = _faces_of(solid, {face})
        yield Part(id=part_id, name=name, kind=kind, vertices=vertices, triangles=triangles)


def _faces_of(solid: Solid, names: set[str]) -> tuple[NDArray[np.float64], NDArray[np.int64]]:
    """Triangles of a solid whose face bears one of the names, with only their own vertices."""
    chosen = np.array([face in names for face in solid.faces], dtype=np.bool_)
    used, inverse = np.unique(solid.triangles[chosen], return_inverse=True)
    return _frozen(solid.vertices[used]), _frozen(inverse.reshape(-1, 3).astype(np.int64))


def _plane_label(plane: Plane, part: Part, units: Units) -> Label:
    metric = units is Units.METRIC
    pitch = format_angle(math.atan(plane.slope)) if metric else format_pitch(plane.slope)
    notes = f"{pitch}, {format_area(plane.area, units)}"
    return Label(anchor=_inside(part), lines=(plane.id, notes), subject=plane.id)


def _edge_label(edge: Edge, units: Units) -> Label:
    (ax, ay, az), (bx, by, bz) = edge.ends
    return Label(
        anchor=((ax + bx) / 2, (ay + by) / 2, (az + bz) / 2),
        lines=(edge_name(edge), format_length(edge.length, units)),
        subject=edge.id,
    )


def _inside(part: Part) -> Point3:
    """Find a point well inside a plane: the middle of its largest triangle."""
    corners = part.vertices[part.triangles]
    spans = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    x, y, z = corners[int(np.argmax(np.linalg.norm(spans, axis=1)))].mean(axis=0)
    return (float(x), float(y), float(z))


def _frozen(values: NDArray) -> NDArray:  # type: ignore[type-arg]
    """Return an array that cannot be written to."""
    values = values.copy()
    values.setflags(write=False)
    return values
