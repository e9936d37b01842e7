"""Rows of a detail: which way they run, their open joints, the course below the cut-out."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import replace
from typing import Final

import numpy as np
import shapely
from shapely import affinity

from roof3d.details.frame import Face, Point2
from roof3d.details.model import INCH, Detail, DetailKind, Piece, PieceKind
from roof3d.details.proof.ground import ALONG, face_box, flow_on
from roof3d.details.proof.roles import family_of
from roof3d.laps.edges import only_areas
from roof3d.laps.model import LapPiece
from roof3d.tolerance import DEFAULT

_JOINT: Final = 0.125 * INCH
"""Width of a joint between shingles."""
_CLIP: Final = 2.5 * INCH
"""No more than this is clipped off the points of shingles beside a valley."""
_CUT: Final = frozenset({DetailKind.VALLEY_OPEN, DetailKind.VALLEY_CLOSED, DetailKind.VALLEY_JOINT})
_SAME_ROW: Final = 1.0 * INCH
_COURSE: Final = re.compile(r"\.(\d+)")


def layer_of(piece: Piece) -> str:
    """Return the name under which a piece laps others of its own kind."""
    apart = ".strip" if piece.id.endswith(".strip") else ""
    return f"{piece.layer}:{family_of(piece)}{apart}"


def face_of(piece: Piece) -> Face | None:
    """Return the plane that a piece belongs to, where its name says so, however far it runs."""
    family = family_of(piece)
    return next((face for face in Face if family.endswith(f"_{face.value}")), None)


def run_of(piece: Piece, part: shapely.Geometry, detail: Detail) -> Point2:
    """Return the way of a piece's rows: square to the flow, and of a cap over the line, to it."""
    areas = {face: shapely.intersection(part, face_box(detail, face)).area for face in Face}
    own = face_of(piece)
    face = own or max(Face, key=lambda one: float(areas[one]))
    flow = flow_on(detail, face)
    astride = own is None and min(areas.values()) > 0.0 and detail.frame.turn > DEFAULT.parallel
    if astride and piece.kind in {PieceKind.SHINGLE, PieceKind.METAL} and abs(flow[1]) > ALONG:
        u0, s0, u1, s1 = part.bounds
        return (0.0, 1.0) if piece.kind is PieceKind.SHINGLE or s1 - s0 < u1 - u0 else (1.0, 0.0)
    return (-flow[1], flow[0]) if flow != (0.0, 0.0) else (1.0, 0.0)


def rows_of(detail: Detail, shapes: dict[str, shapely.Geometry]) -> dict[str, int]:
    """Return the number of the course that each piece is of, from its id or else its place."""
    rows: dict[str, int] = {}
    spans: dict[str, list[tuple[float, float]]] = {}
    for piece in detail.pieces:
        shape = shapes.get(piece.id)
        if shape is None or shape.is_empty:
            continue
        number = _COURSE.search(piece.id)
        if piece.kind is PieceKind.SHINGLE and number:
            rows[piece.id] = int(number[1])
            continue
        face = face_of(piece) or (Face.NEAR if piece.reach[0] < 0.0 else Face.FAR)
        flow = flow_on(detail, face)
        along = -shapely.get_coordinates(shape) @ np.array(flow)
        reach = (float(along.min()), float(along.max()))
        known = spans.setdefault(layer_of(piece), [])
        same = [k for k, one in enumerate(known) if math.dist(one, reach) < _SAME_ROW]
        if not same:
            known.append(reach)
        rows[piece.id] = same[0] if same else len(known) - 1
    return rows


def row_of(piece: Piece, rows: dict[str, int]) -> tuple[str, int]:
    """Return run and row of a piece."""
    return layer_of(piece), rows[piece.id]


def whole_courses(
    detail: Detail, shapes: dict[str, shapely.Geometry], rows: dict[str, int]
) -> dict[tuple[str, int], shapely.Geometry]:
    """Return each course of shingles in one, its open joints closed."""
    courses: dict[tuple[str, int], list[shapely.Geometry]] = {}
    for piece in detail.pieces:
        if piece.kind in {PieceKind.SHINGLE, PieceKind.STARTER} and piece.id in rows:
            courses.setdefault(row_of(piece, rows), []).append(shapes[piece.id])
    half = _JOINT / 2.0 + DEFAULT.height
    return {
        row: shapely.union_all(parts, grid_size=DEFAULT.grid)
        .buffer(half, join_style="mitre")
        .buffer(-half, join_style="mitre")
        for row, parts in courses.items()
    }


def whole_sides(
    courses: dict[tuple[str, int], shapely.Geometry],
) -> dict[str, shapely.Geometry]:
    """Return all courses of a run of shingles in one."""
    sides: dict[str, list[shapely.Geometry]] = {}
    for (layer, _), course in courses.items():
        sides.setdefault(layer, []).append(course)
    return {layer: shapely.union_all(parts) for layer, parts in sides.items()}


def closed_part(
    part: shapely.Polygon,
    piece: Piece,
    course: shapely.Geometry,
    side: shapely.Geometry,
    detail: Detail,
) -> shapely.Geometry:
    """Return a shingle as wide as it is with half of the open joint on either side."""
    du, ds = (_JOINT / 2.0 * way for way in run_of(piece, part, detail))
    both = [affinity.translate(part, k * du, k * ds) for k in (-1.0, 1.0)]
    wide = only_areas(shapely.intersection(shapely.union_all([part, *both]), course))
    if detail.kind in _CUT and ds != 0.0:
        # Points are clipped beside a valley: the corner counts as if it were there.
        k = _CLIP / ds * (1.0 if part.bounds[1] < 0.0 else -1.0)
        clipped = affinity.translate(part, k * du, k * ds)
        free = only_areas(shapely.difference(side, course))
        wide = only_areas(wide, shapely.intersection(clipped, free))
    return only_areas(wide, part)


def uncut_part(piece: Piece, shape: shapely.Geometry, detail: Detail) -> shapely.Geometry:
    """Return a top sheet with the corners back on that are cut off for a joint of three.

    What is cut away there lies in the middle of a glued lap. Lengths of a vent butt on one
    another under the caps: each counts as far as the middle of the joint.
    """
    if family_of(piece) == "vent":
        return only_areas(shape, *(affinity.translate(shape, k * _JOINT, 0.0) for k in (-1.0, 1.0)))
    whole = shapely.box(*shape.bounds) if not shape.is_empty else shape
    cut = detail.kind is DetailKind.CAP_LAP and family_of(piece) == "cap"
    return whole if cut else shape


def courses_below(
    pieces: Sequence[LapPiece], sides: dict[str, shapely.Geometry], detail: Detail
) -> list[LapPiece]:
    """Return of each run of shingles the course below the lowest drawn, as far as it is seen."""
    if any(piece.kind is PieceKind.STARTER for piece in detail.pieces):
        return []
    found = []
    begun: set[str] = set()
    for layer, side in sides.items():
        own = [piece for piece in pieces if piece.layer == layer]
        family = layer.split(":", 1)[1]
        if not own or family in begun:
            continue  # beside and above an opening the courses go on over those that are drawn
        begun.add(family)
        face = Face.NEAR if own[0].shape.representative_point().y < 0.0 else Face.FAR
        flow = flow_on(detail, face)
        if flow == (0.0, 0.0) or own[0].run == (0.0, 1.0) != (-flow[1], flow[0]):
            continue
        course = min(own, key=lambda piece: piece.order).course
        lowest = [piece for piece in own if piece.course == course]
        points = np.concatenate([shapely.get_coordinates(piece.shape) for piece in lowest])
        foot = float((-points @ np.array(flow)).min())
        up = foot + lowest[0].row_lap
        far = 1e2
        band = shapely.Polygon(
            [
                (-h * flow[0] - w * flow[1], -h * flow[1] + w * flow[0])
                for h, w in ((-far, -far), (-far, far), (up, far), (up, -far))
            ]
        )
        hull = (
            shapely.union_all([side, face_box(detail, face)]) if detail.kind not in _CUT else side
        )
        shape = only_areas(shapely.intersection(band, hull.convex_hull))
        found.append(
            replace(
                lowest[0],
                id=f"below {layer}",
                layer=f"below {layer}",
                order=lowest[0].order - 0.5,
                shape=shape,
                guest=True,
                nails=np.empty((0, 2)),
            )
        )
    return found
