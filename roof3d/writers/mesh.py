"""One table from the ending of a mesh file to its writer; bytes out, nothing on disk."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from types import MappingProxyType
from typing import TypeAlias

from roof3d.errors import WriteError
from roof3d.scene.model import Scene
from roof3d.writers.glb import glb_bytes
from roof3d.writers.obj import obj_bytes
from roof3d.writers.ply import ply_bytes
from roof3d.writers.shell import check_parts
from roof3d.writers.stl import stl_bytes

MeshWriter: TypeAlias = Callable[[Scene, Mapping[str, Scene]], bytes]

#: File ending, with its dot, to the writer of that format.
MESH_WRITERS: Mapping[str, MeshWriter] = MappingProxyType(
    {".glb": glb_bytes, ".obj": obj_bytes, ".ply": ply_bytes, ".stl": stl_bytes}
)


def mesh_bytes(ending: str, roof: Scene, details: Mapping[str, Scene] | None = None) -> bytes:
    """Write a roof, and details beside it, as the bytes of a mesh file.

    Parameters
    ----------
    ending : str
        ``.glb``, ``.obj``, ``.ply`` or ``.stl``; case does not matter.
    roof : Scene
        The building: planes, walls, soffits, floor, openings; metres, z up.
    details : Mapping[str, Scene], optional
        Layered details by the id of their place. GLB and OBJ carry them beside the
        building; STL and PLY hold the closed building alone.

    Returns
    -------
    bytes
        Equal for equal input.

    Raises
    ------
    WriteError
        Where the ending is not a mesh format, a scene has no parts or a part no triangles,
        a coordinate is not finite, or two parts of a scene share an id.
    """
    writer = MESH_WRITERS.get(ending.lower())
    if writer is None:
        raise WriteError(
            f"no mesh format has the ending {ending!r}",
            hint="use one of " + ", ".join(MESH_WRITERS),
            code="R3D-WRITE-KIND",
        )
    details = details or {}
    for name, scene in {"roof": roof, **details}.items():
        check_parts(name, scene)
    return writer(roof, details)
