"""From a project to the bytes of pictures and meshes; what is heavy is loaded when called."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from roof3d.project import Project
    from roof3d.render.detail_view.look import Look


def transitions(project: Project) -> tuple[str, ...]:
    """Return the ids of the edges where a low plane meets a steep one, in the model's order."""
    return tuple(edge.id for edge in project.roof.edges if edge.role.value == "transition")


def draw_roof_picture(
    project: Project, size: tuple[int, int], azimuth_deg: float | None = None
) -> bytes:
    """Draw the roof as a PNG of that size in pixels, seen from a side or from the telling one.

    Raises
    ------
    RoofError
        Code ``R3D-GRAPHICS``, where this machine cannot draw.
    """
    from roof3d.render.machine import require_graphics
    from roof3d.render.roof_picture import draw_roof

    require_graphics()
    return draw_roof(project, size, azimuth_deg=azimuth_deg)


def draw_detail_picture(
    project: Project, place: str, size: tuple[int, int], look: Look | None = None
) -> bytes:
    """Draw the layers of one joint as a PNG of that size in pixels, lifted if not said else.

    Raises
    ------
    RoofError
        Code ``R3D-GRAPHICS``, where this machine cannot draw.
    """
    from roof3d.render.explode_picture import draw_detail
    from roof3d.render.machine import require_graphics

    require_graphics()
    return draw_detail(project, place, size, look)


def mesh_endings() -> tuple[str, ...]:
    """Return the endings of mesh files that can be written."""
    from roof3d.writers.mesh import MESH_WRITERS

    return tuple(MESH_WRITERS)


def mesh_of(project: Project, ending: str) -> tuple[bytes, tuple[str, ...]]:
    """Return the roof, and each of its joints in layers, as the bytes of a mesh file.

    Returns
    -------
    data : bytes
    left_out : tuple of str
        Why a joint is not in it: assemblies whose layers are not known there.

    Notes
    -----
    Layers keep their true thickness here, unlike in a picture.
    """
    from roof3d.errors import LayoutError
    from roof3d.scene.detail_scene import build_detail_scene
    from roof3d.scene.roof_scene import build_roof_scene
    from roof3d.writers.mesh import mesh_bytes

    details = {}
    left_out = []
    for edge_id in transitions(project):
        try:
            details[edge_id] = build_detail_scene(
                project, edge_id, exaggerate=1.0, least_thickness=0.0
            )
        except LayoutError as error:
            left_out.append(f"{edge_id}: {error.message}")
    return mesh_bytes(ending, build_roof_scene(project), details), tuple(left_out)
