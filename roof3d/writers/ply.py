"""PLY: the closed building as one binary mesh in double precision."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from roof3d.writers.shell import merged_shell

if TYPE_CHECKING:
    from collections.abc import Mapping

    from roof3d.scene.model import Scene


def ply_bytes(roof: Scene, _details: Mapping[str, Scene]) -> bytes:
    """Write the closed building as PLY.

    Parameters
    ----------
    roof : Scene
    _details : Mapping[str, Scene]
        Not written: PLY has no named parts.

    Returns
    -------
    bytes
        Little-endian, true coordinates in metres as ``double``, z up.

    Raises
    ------
    WriteError
        Where the building does not close.
    """
    vertices, triangles = merged_shell(roof)
    header = "\n".join(
        [
            "ply",
            "format binary_little_endian 1.0",
            "comment metres, z up, +y north",
            f"element vertex {len(vertices)}",
            "property double x",
            "property double y",
            "property double z",
            f"element face {len(triangles)}",
            "property list uchar int vertex_indices",
            "end_header",
            "",
        ]
    )
    faces = np.zeros(len(triangles), dtype=[("count", "<u1"), ("corners", "<i4", (3,))])
    faces["count"] = 3
    faces["corners"] = triangles
    return header.encode("ascii") + vertices.astype("<f8").tobytes() + faces.tobytes()
