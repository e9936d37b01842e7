"""STL: the closed building as one binary mesh, counted from a local origin."""

from __future__ import annotations

from typing import TYPE_CHECKING

from roof3d.writers.shell import local_origin, merged_shell

if TYPE_CHECKING:
    from collections.abc import Mapping

    from roof3d.scene.model import Scene

#: The header of a binary STL file is this many bytes.
HEADER_SIZE = 80


def stl_bytes(roof: Scene, _details: Mapping[str, Scene]) -> bytes:
    """Write the closed building as binary STL.

    Parameters
    ----------
    roof : Scene
    _details : Mapping[str, Scene]
        Not written: STL has no named parts.

    Returns
    -------
    bytes
        Single precision, metres, z up; coordinates count from the whole-metre origin that
        the header names, so that a building far from zero keeps its shape.

    Raises
    ------
    WriteError
        Where the building does not close.
    """
    import trimesh
    from trimesh.exchange.stl import export_stl

    vertices, triangles = merged_shell(roof)
    origin = local_origin(roof)
    mesh = trimesh.Trimesh(vertices=vertices - origin, faces=triangles, process=False)
    place = " ".join(f"{value:.0f}" for value in origin)
    header = f"roof3d, metres, z up, origin {place}".encode("ascii")[:HEADER_SIZE]
    data: bytes = export_stl(mesh)
    return header.ljust(HEADER_SIZE) + data[HEADER_SIZE:]
