"""Copings of parapets: the metal hat as one closed solid an edge, for pictures and meshes."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray

from roof3d.details.curbs.parapet_bench import ParapetLengths
from roof3d.roof.model import Parapet, Roof
from roof3d.scene.model import Part, PartKind

# Drawing values, no rule: as much as shows at the size of a house.
_LIP = 0.02
_THICKNESS = 0.03


def coping_parts(roof: Roof) -> Iterable[Part]:
    """Give the coping of every edge that carries a parapet.

    Parameters
    ----------
    roof : Roof

    Yields
    ------
    Part
        ``edge.coping``: a closed solid on the wall's top, its legs down both faces, mitred
        where the next one begins.
    """
    for edge in roof.edges:
        if edge.parapet is not None:
            vertices, triangles = _hat(edge.parapet)
            yield Part(
                id=f"{edge.id}.coping",
                name=f"coping on {edge.id}",
                kind=PartKind.COPING,
                vertices=vertices,
                triangles=triangles,
            )


def _hat(parapet: Parapet) -> tuple[NDArray[np.float64], NDArray[np.int64]]:
    """Sweep a flat U, open below, from one end of a wall to the other."""
    top, thick, lengths = parapet.top, parapet.thickness, ParapetLengths()
    outside, inside = top - lengths.outside.metres, top - lengths.inside.metres
    fall = lengths.fall.metres * (thick + 2.0 * _LIP)
    # Out from the outside face, and up: counterclockwise as seen with the roof on the right.
    profile = (
        (0.0, outside),
        (_LIP, outside),
        (_LIP, top + _THICKNESS + fall),
        (-thick - _LIP, top + _THICKNESS),
        (-thick - _LIP, inside),
        (-thick, inside),
        (-thick, top),
        (0.0, top),
    )
    outer_start, outer_end, inner_end, inner_start = (np.array(p) for p in parapet.plan)
    ends = ((outer_start, outer_start - inner_start), (outer_end, outer_end - inner_end))
    vertices = np.array(
        [
            (*(outer + away * (out / thick)), height)
            for outer, away in ends
            for out, height in profile
        ]
    )
    count = len(profile)
    sides = [
        face
        for k in range(count)
        for face in (
            (k, count + k, count + (k + 1) % count),
            (k, count + (k + 1) % count, (k + 1) % count),
        )
    ]
    # The U as three fields: outer leg, top, inner leg.
    fields = ((0, 1, 2), (0, 2, 7), (2, 3, 7), (3, 6, 7), (3, 4, 6), (4, 5, 6))
    caps = [*fields, *((c + count, b + count, a + count) for a, b, c in fields)]
    triangles = np.array([*sides, *caps], dtype=np.int64)
    vertices.setflags(write=False)
    triangles.setflags(write=False)
    return vertices, triangles
