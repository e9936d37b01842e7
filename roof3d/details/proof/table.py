"""Every pair of pieces that hand water to each other: which is on top, how far, which way."""

from __future__ import annotations

from itertools import combinations
from typing import Final

import numpy as np
import shapely

from roof3d.catalog.model import Catalog
from roof3d.details.frame import Face, Point2
from roof3d.details.model import INCH, Detail, Piece
from roof3d.details.proof.ground import flow_on
from roof3d.details.proof.model import Facing, FaultKind, LapRow
from roof3d.details.proof.path import point_at
from roof3d.details.proof.pile import DetailPile, pile_of
from roof3d.details.proof.prove import prove_detail
from roof3d.details.proof.shingled import layer_of
from roof3d.laps.edges import only_areas
from roof3d.laps.model import LapPiece
from roof3d.laps.model import PieceKind as LapKind
from roof3d.tolerance import DEFAULT

_REAL: Final = 1.0 * INCH * INCH
_ASKEW: Final = 0.25 * INCH
"""Edges that go farther off than that both ways run askew."""


def lap_table(detail: Detail, catalog: Catalog) -> tuple[LapRow, ...]:
    """Return every lap of a detail along the way of the water, in the order of work.

    Two pieces lap where one goes over the other's end: what lies wholly on something is no
    lap. ``ok`` is whether the proof finds no fault between the two.

    Parameters
    ----------
    detail : Detail
    catalog : Catalog
        It was built from.
    """
    pile = pile_of(detail, catalog)
    rules = {pile.piece_of[one.id].id: one for one in pile.pieces if one.id in pile.piece_of}
    kinds = {FaultKind.BACK_WATER, FaultKind.SHORT_LAP, FaultKind.HEAD_BARE, FaultKind.BUTT_IN_AIR}
    wrong = [set(f.pieces) for f in prove_detail(detail, catalog) if f.kind in kinds]
    laid = [piece for piece in detail.pieces if piece.id in rules]
    found = []
    for lower, upper in combinations(laid, 2):
        both = only_areas(shapely.intersection(pile.shape_of[lower.id], pile.shape_of[upper.id]))
        for face in Face:
            row = _row(detail, pile, rules, (lower, upper), both, face, wrong)
            found += [] if row is None else [row]
    return tuple(found)


def _row(
    detail: Detail,
    pile: DetailPile,
    rules: dict[str, LapPiece],
    pair: tuple[Piece, Piece],
    both: shapely.Geometry,
    face: Face,
    wrong: list[set[str]],
) -> LapRow | None:
    lower, upper = pair
    flow = flow_on(detail, face)
    half = (
        shapely.box(-1e2, -1e2, 1e2, 0.0) if face is Face.NEAR else shapely.box(-1e2, 0.0, 1e2, 1e2)
    )
    here = only_areas(shapely.intersection(both, half))
    if here.area < _REAL or flow == (0.0, 0.0):
        return None
    shapes = [only_areas(shapely.intersection(pile.shape_of[p.id], half)) for p in pair]
    for axis, along in ((flow, False), ((-flow[1], flow[0]), True)):
        (low, low_head), (high, high_head) = (_reach(shape, axis) for shape in shapes)
        steps = (high - low, high_head - low_head)
        if min(map(abs, steps)) > _ASKEW and steps[0] * steps[1] > 0.0:
            facing = Facing.ALONG if along else Facing.DOWN if steps[0] > 0.0 else Facing.UP
            lap = min(low_head, high_head) - max(low, high)
            same = layer_of(lower) == layer_of(upper)
            ok = not any(ids <= {lower.id, upper.id} and ids for ids in wrong)
            if facing is not Facing.DOWN and not same and ok:
                return None  # they lie on one another, but neither hands water to the other
            wanted = _wanted(rules[lower.id], rules[upper.id], along=along) if same else 0.0
            ok &= not (facing is Facing.UP and same) and lap > wanted - DEFAULT.snap
            spot = here.representative_point()
            place: Point2 = (float(spot.x), float(spot.y))
            return LapRow(
                upper=upper.id,
                lower=lower.id,
                layers=(upper.layer, lower.layer),
                face=face,
                lap=lap,
                facing=facing,
                wanted=wanted,
                ok=ok,
                at=point_at(detail, place, [upper]),
            )
    return None


def _wanted(lower: LapPiece, upper: LapPiece, *, along: bool) -> float:
    """Return the least lap of two pieces of one run: next to each other, or a row apart."""
    if along:
        return lower.end_lap
    if abs(lower.course - upper.course) <= 1:
        return lower.row_lap
    return lower.other_lap if lower.kind is LapKind.SHINGLE else 0.0


def _reach(area: shapely.Geometry, flow: Point2) -> tuple[float, float]:
    up = -shapely.get_coordinates(area) @ np.array(flow)
    return float(up.min()), float(up.max())
