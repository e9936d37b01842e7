"""The faces of a detail on which laps are judged, and what lies beyond their borders."""

from __future__ import annotations

from itertools import pairwise
from typing import Final

import numpy as np
import shapely

from roof3d.details.frame import Face, Point2
from roof3d.details.model import INCH, Detail, DetailKind
from roof3d.details.proof.ground import (
    ALONG,
    GAP,
    bowl_of,
    face_box,
    flow_at,
    flow_on,
    is_wall,
    sump_of,
    wood_of,
)
from roof3d.details.proof.roles import family_of
from roof3d.laps.model import Border, Rim
from roof3d.laps.model import Face as LapFace
from roof3d.tolerance import Tolerance

_RIM: Final = 1.0 * INCH
"""So near the rim of the cut-out nothing is told: what goes on beyond is not drawn."""
_AT_EDGE: Final = 1.25 * INCH
"""So near a free edge or a wall an edge of a piece counts as there."""
_AT_HOLE: Final = 2.0 * INCH
"""The same at what comes up through the roof: sheets and shingles are cut clear of it."""
_CUT: Final = frozenset({DetailKind.VALLEY_OPEN, DetailKind.VALLEY_CLOSED, DetailKind.VALLEY_JOINT})
_ENDED: Final = _CUT | {DetailKind.HIP, DetailKind.RIDGE, DetailKind.RIDGE_VENTED}


def faces_of(
    detail: Detail, shapes: dict[str, shapely.Geometry], *, drop: bool, tol: Tolerance
) -> list[LapFace]:
    """Return the faces on which laps are judged; a board that hangs from the edge is none."""
    deck = shapely.union_all([area for _, area in wood_of(detail)])
    deck = deck.buffer(GAP, join_style="mitre").buffer(-GAP, join_style="mitre")
    wall = is_wall(detail)
    holes = [
        _border(Rim.CLOSED, (a[0], a[1]), (b[0], b[1]), _AT_HOLE)
        for part in shapely.get_parts(deck)
        for ring in part.interiors
        for a, b in pairwise(shapely.get_coordinates(ring).tolist())
    ]
    found = []
    for face in Face:
        if face is Face.FAR and drop:
            continue
        region = shapely.intersection(face_box(detail, face, _RIM), deck)
        if detail.kind in _ENDED:
            region = shapely.intersection(region, _own_side(detail, shapes, face))
        borders = list(holes)
        if face is Face.FAR and wall:
            top = max(shape.bounds[3] for shape in shapes.values() if not shape.is_empty)
            if top < detail.size[2] - _RIM:
                width = detail.size[0] / 2.0
                region = shapely.intersection(region, shapely.box(-width, 0.0, width, top))
                borders.append(_border(Rim.CLOSED, (-width, top), (width, top)))
        if face is Face.NEAR and drop:
            borders.append(_free_edge(detail))
        sump = sump_of(detail)
        if not sump.is_empty:
            region = shapely.difference(region, sump.convex_hull)
            borders = []
        if region.area > tol.area:
            flow = flow_on(detail, face)
            found.append(LapFace(id=face.value, region=region, flow=flow, borders=tuple(borders)))
    return [*found, *_sides_of_sump(detail)]


def _sides_of_sump(detail: Detail) -> list[LapFace]:
    """Return the four sides of a sump, each falling to the bowl, where the water leaves."""
    sump = sump_of(detail)
    if sump.is_empty:
        return []
    u0, s0, u1, s1 = sump.bounds
    corners = [(u0, s0), (u1, s0), (u1, s1), (u0, s1)]
    rim = [
        _border(Rim.EAVE, (a[0], a[1]), (b[0], b[1]))
        for a, b in pairwise(shapely.get_coordinates(bowl_of(detail).exterior).tolist())
    ]
    found = []
    for start, end in pairwise([*corners, corners[0]]):
        side = shapely.Polygon([(0.0, 0.0), start, end])
        middle = side.centroid
        face = Face.NEAR if middle.y < 0.0 else Face.FAR
        flow = flow_at(detail, (float(middle.x), float(middle.y)))
        region = shapely.intersection(side, sump)
        found.append(LapFace(id=face.value, region=region, flow=flow, borders=tuple(rim)))
    return found


def _own_side(detail: Detail, shapes: dict[str, shapely.Geometry], face: Face) -> shapely.Geometry:
    """Return how far a plane reaches that may end within the cut-out, by what was laid on it."""
    hulls = []
    for family in ("shingles", "underlayment"):
        own = [
            shapely.intersection(shapes[piece.id], face_box(detail, face))
            for piece in detail.pieces
            if family_of(piece) == f"{family}_{face.value}" and piece.id in shapes
        ]
        if own:
            hulls.append(_up_to_line(shapely.union_all(own), face))
    return shapely.intersection_all([face_box(detail, face), *hulls])


def _up_to_line(area: shapely.Geometry, face: Face) -> shapely.Geometry:
    """Return the hull of an area, an inch smaller, but carried on to the line."""
    points = shapely.get_coordinates(area)
    near = points[np.abs(points[:, 1]) < np.abs(points[:, 1]).min() + 4.0 * _RIM]
    low, high = near[:, 0].min() + _RIM, near[:, 0].max() - _RIM
    hull = area.convex_hull.buffer(-_RIM, join_style="mitre")
    if hull.is_empty or high <= low:
        return hull
    reach = float(np.abs(points[:, 1]).min()) + 2.0 * _RIM
    ends = (-reach, 0.0) if face is Face.NEAR else (0.0, reach)
    return shapely.union(hull, shapely.box(low, ends[0], high, ends[1]))


def holes_of(detail: Detail) -> shapely.Geometry:
    """Return where something comes up through the deck, and as far round it as it is cut clear."""
    deck = shapely.union_all([area for _, area in wood_of(detail)])
    rings = [ring for part in shapely.get_parts(deck) for ring in part.interiors]
    return shapely.union_all([shapely.Polygon(ring).buffer(_AT_HOLE) for ring in rings])


def _free_edge(detail: Detail) -> Border:
    side = detail.size[0] / 2.0
    down = flow_on(detail, Face.NEAR)[1] > ALONG
    return _border(Rim.EAVE if down else Rim.RAKE, (-side, 0.0), (side, 0.0))


def _border(rim: Rim, start: Point2, end: Point2, within: float = _AT_EDGE) -> Border:
    return Border(rim=rim, start=start, end=end, within=within)
