"""What holds of the solids of any detail: closed, wound outward, none inside another."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import combinations

import numpy as np
import shapely

from roof3d.details.frame import Frame
from roof3d.details.model import Piece, PieceKind
from roof3d.details.shapes.solids import Body, cut_body


def open_or_inside_out(piece: Piece) -> str:
    """Say what is wrong with the mesh of a piece; empty where it is closed and outward."""
    sides = piece.triangles[:, [[0, 1], [1, 2], [2, 0]]].reshape(-1, 2)
    forward = {tuple(side) for side in sides.tolist()}
    if len(forward) != len(sides) or {(b, a) for a, b in forward} != forward:
        return f"{piece.id} is not closed"
    a, b, c = (piece.vertices[piece.triangles[:, k]] - piece.vertices[0] for k in range(3))
    volume = float(np.einsum("ij,ij->i", a, np.cross(b, c)).sum()) / 6.0
    return "" if volume > 0.0 else f"{piece.id} has volume {volume}"


def shared_area(
    frame: Frame, pieces: Sequence[Piece], places: Sequence[float]
) -> dict[tuple[str, str], float]:
    """Area in m2 that two pieces share where planes square to the line at ``places`` cut them."""
    found: dict[tuple[str, str], float] = {}
    solid = [p for p in pieces if p.kind is not PieceKind.FASTENER]
    for u in places:
        x, y, z = (np.array(frame.origin) + u * np.array(frame.along)).tolist()
        here = replace(frame, origin=(x, y, z))
        cuts = []
        for piece in solid:
            body = Body(vertices=piece.vertices, triangles=piece.triangles, rims=())
            rings = [shapely.Polygon(ring) for ring in cut_body(body, here)]
            if rings:
                cuts.append((piece.id, shapely.union_all(rings)))
        for (one, a), (other, b) in combinations(cuts, 2):
            area = shapely.intersection(a, b).area
            if area > found.get((one, other), 1e-7):
                found[one, other] = area
    return found
