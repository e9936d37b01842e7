"""A detail laid flat: what each piece covers, what of it is seen, where layers are cut back."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import shapely

from roof3d.details.frame import Floats
from roof3d.details.model import INCH, Detail, Piece, PieceKind
from roof3d.tolerance import DEFAULT

_WHOLE = frozenset({PieceKind.DECK, PieceKind.WALL, PieceKind.UNIT, PieceKind.FRAMING})
"""What is never cut back."""
_SHARE, _WIDEST = 0.6, 7.0 * INCH
"""Of the width that the steps may take, and the widest step."""
_FULL = 0.55
"""Share of the width from which on a layer is cut back with the others."""
_QUARTERS = 4


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Flat:
    """A piece laid flat.

    Attributes
    ----------
    piece : Piece
    shape : shapely geometry
        What is drawn of it, in (u, s), metres.
    seen : shapely geometry
        What of that nothing else covers.
    """

    piece: Piece
    shape: shapely.Geometry
    seen: shapely.Geometry


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Spread:
    """A detail laid flat.

    Attributes
    ----------
    flats : tuple of Flat
        In the order of work.
    nails : tuple of (Point, bool)
        Each nail's place in (u, s), and whether it is in sight.
    steps : Mapping[int, float]
        Where along the line each layer that is cut back ends, metres.
    cut_right : bool
        Whether that is at the end of the line where u is above zero.
    quarter : int
        By how many right angles all is turned on the paper, so that water runs down it.
    """

    flats: tuple[Flat, ...]
    nails: tuple[tuple[tuple[float, float], bool], ...]
    steps: Mapping[int, float]
    cut_right: bool
    quarter: int


def spread_detail(detail: Detail) -> Spread:
    """Lay a detail flat on the deck: both faces in one plane, each layer cut back in steps."""
    shapes = [
        (piece, _shape(piece))
        for piece in sorted(detail.pieces, key=lambda piece: piece.order)
        if piece.footprints and piece.kind is not PieceKind.FASTENER
    ]
    quarter = _quarter(detail)
    right = _cut_right(detail, shapes)
    steps = _steps(detail, shapes)
    cut = [
        (piece, _cut(shape, steps[piece.layer], right=right) if _is_cut(piece, steps) else shape)
        for piece, shape in shapes
    ]
    over: shapely.Geometry = shapely.Polygon()
    seen = []
    for _, shape in reversed(cut):
        seen.append(areas_of(shapely.difference(shape, over, grid_size=DEFAULT.cut_grid)))
        over = areas_of(shapely.union(over, shape, grid_size=DEFAULT.cut_grid))
    flats = tuple(
        Flat(piece=piece, shape=shape, seen=open_part)
        for (piece, shape), open_part in zip(cut, reversed(seen), strict=True)
        if not shape.is_empty
    )
    return Spread(
        flats=flats,
        nails=_nails(detail, flats, steps, right=right),
        steps=steps,
        cut_right=right,
        quarter=quarter,
    )


def _shape(piece: Piece) -> shapely.Geometry:
    parts = [
        areas_of(shapely.make_valid(shapely.Polygon(print_.outline, print_.holes)))
        for print_ in piece.footprints
    ]
    # Both faces' shares of one sheet are one shape.
    return areas_of(shapely.union_all(parts, grid_size=DEFAULT.cut_grid))


def areas_of(shape: shapely.Geometry) -> shapely.Geometry:
    """Return the areas of a shape without the lines that cutting may have left beside them."""
    parts = [part for part in shapely.get_parts(shape) if part.geom_type == "Polygon"]
    return shapely.union_all(parts) if parts else shapely.Polygon()


def _is_cut(piece: Piece, steps: Mapping[int, float]) -> bool:
    return piece.layer in steps and piece.kind not in _WHOLE


def _cut(shape: shapely.Geometry, end: float, *, right: bool) -> shapely.Geometry:
    far = 100.0
    box = shapely.box(-far, -far, end, far) if right else shapely.box(-end, -far, far, far)
    return areas_of(shapely.intersection(shape, box))


def _steps(detail: Detail, shapes: list[tuple[Piece, shapely.Geometry]]) -> Mapping[int, float]:
    """Return how far along the line each layer goes that is cut back, the upper the shorter."""
    whole = {
        layer.number: shapely.union_all(
            [s for p, s in shapes if p.layer == layer.number and p.kind not in _WHOLE]
        )
        for layer in detail.layers
    }
    wide = {
        number: shape
        for number, shape in whole.items()
        if not shape.is_empty and shape.bounds[2] - shape.bounds[0] > _FULL * detail.size[0]
    }
    level: dict[int, int] = {}
    for number, shape in wide.items():
        below = [
            level[other]
            for other in level
            if shapely.intersection(shape, wide[other]).area > INCH * INCH
        ]
        level[number] = max(below, default=0) + 1
    most = max([1, *level.values()])
    step = min(_WIDEST, _SHARE * detail.size[0] / most)
    return {number: detail.size[0] / 2.0 - step * deep for number, deep in level.items()}


def _cut_right(detail: Detail, shapes: list[tuple[Piece, shapely.Geometry]]) -> bool:
    """Whether layers are cut back at the end of the line above zero: where less happens."""
    middles = [
        shape.centroid.x
        for piece, shape in shapes
        if piece.kind not in _WHOLE
        and shape.bounds[2] - shape.bounds[0] < _FULL * detail.size[0]
        and piece.kind not in {PieceKind.SHINGLE, PieceKind.STARTER}
    ]
    return float(np.mean(middles)) <= INCH if middles else True


def _quarter(detail: Detail) -> int:
    """Return how many right angles, counterclockwise, bring the way of the water down."""
    flows = [face.flow for face in detail.faces if face.flow is not None and face.slope is not None]
    flow = np.sum(np.array(flows), axis=0) if flows else np.array((0.0, -1.0))
    turns = []
    for quarter in range(_QUARTERS):
        x, y = turned((float(flow[0]), float(flow[1])), quarter)
        turns.append((round(y, 6), abs(round(x, 6)), quarter))
    return min(turns)[2]


def turned(point: tuple[float, float], quarter: int) -> tuple[float, float]:
    """Return a point turned by right angles about the origin."""
    x, y = point
    for _ in range(quarter):
        x, y = -y, x
    return x, y


def _nails(
    detail: Detail, flats: tuple[Flat, ...], steps: Mapping[int, float], *, right: bool
) -> tuple[tuple[tuple[float, float], bool], ...]:
    found = []
    for piece in detail.pieces:
        if piece.kind is not PieceKind.FASTENER:
            continue
        over = shapely.union_all(
            [flat.shape for flat in flats if flat.piece.order > piece.order],
            grid_size=DEFAULT.cut_grid,
        )
        shapely.prepare(over)
        for u, s in heads(detail, piece):
            end = steps.get(piece.layer)
            if end is not None and (u if right else -u) > end:
                continue
            found.append(((u, s), not shapely.intersects_xy(over, u, s)))
    return tuple(found)


def heads(detail: Detail, piece: Piece) -> list[tuple[float, float]]:
    """Return where each nail of a piece is, in (u, s): the middle of each closed part of it."""
    developed: Floats = detail.frame.developed(piece.vertices)
    group = np.arange(len(piece.vertices))
    # Vertices that a triangle joins are of one nail; so are those at one place.
    _, same = np.unique(
        np.round(piece.vertices / DEFAULT.merge).astype(np.int64), axis=0, return_inverse=True
    )
    first: dict[int, int] = {}
    pairs = [(a, b) for a, b, c in piece.triangles.tolist() for a, b in ((a, b), (b, c))]
    pairs += [(k, first.setdefault(int(place), k)) for k, place in enumerate(same.ravel())]

    def root(k: int) -> int:
        while group[k] != k:
            group[k] = group[group[k]]
            k = int(group[k])
        return k

    for a, b in pairs:
        group[root(a)] = root(b)
    roots = np.array([root(k) for k in range(len(group))])
    return [
        (float(np.mean(developed[roots == one, 0])), float(np.mean(developed[roots == one, 1])))
        for one in np.unique(roots)
    ]


def angle_of(flow: tuple[float, float], quarter: int) -> float:
    """Return the direction of a flow on the paper, radians."""
    x, y = turned(flow, quarter)
    return math.atan2(y, x)
