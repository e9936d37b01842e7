"""Fasteners: each under a later piece, and none through a sheet that must hold water."""

from __future__ import annotations

import numpy as np
import shapely

from roof3d.laps.edges import Shapes
from roof3d.laps.model import Face, FaultKind, LapFault, Rim
from roof3d.laps.pile import Pile, uncovered
from roof3d.tolerance import Tolerance


def bare_nails(face: Face, pile: Pile, tol: Tolerance) -> list[LapFault]:
    """Find the fasteners of a face that are seen, or nearly, or pierce what must hold.

    Parameters
    ----------
    face : Face
    pile : Pile
    tol : Tolerance

    Returns
    -------
    list[LapFault]
        One a piece: its first bare fastener.
    """
    owner = np.repeat(
        np.arange(len(pile.pieces)), [len(piece.nails) for piece in pile.pieces]
    ).astype(np.intp)
    if not len(owner):
        return []
    nails = np.concatenate([piece.nails for piece in pile.pieces])
    points = shapely.points(nails)
    shapely.prepare(face.region)
    there = np.asarray(shapely.contains(face.region, points))
    owner, points, nails = owner[there], points[there], nails[there]
    reach = pile.numbers("nail_cover")[owner]
    hidden = reach >= 0.0
    # A square around each head: what covers it covers the head.
    size = np.maximum(reach[hidden] - tol.snap, tol.snap / 2.0)[:, None]
    around = shapely.box(*np.hstack([nails[hidden] - size, nails[hidden] + size]).T)
    ground = _ground(face, (Rim.CLOSED,))
    # At a free edge what lies over a nail ends too.
    inner = _ground(face, (Rim.CLOSED, Rim.EAVE, Rim.RAKE))
    seen = pile.weathers[owner[hidden]]
    around[seen] = _within(around[seen], ground)
    around[~seen] = _within(around[~seen], inner)
    found: dict[int, LapFault] = {}
    later = uncovered(around, owner[hidden], pile, lambda i, j: pile.order[j] > pile.order[i], tol)
    for i, rest in later:
        piece = int(owner[hidden][i])
        point = points[hidden][i]
        near = point.distance(rest)
        found.setdefault(piece, _fault(face, pile, [piece], point, near, float(reach[hidden][i])))
    tight = pile.bonded & ~pile.flags("seals_nails")
    into = pile.sheet[owner] & ~pile.bonded[owner] & tight.any()
    owner, points = owner[into], points[into]
    at, other = pile.tree.query(points, predicate="intersects")
    through = tight[other] & (pile.order[other] < pile.order[owner[at]])
    through &= pile.layer[other] != pile.layer[owner[at]]
    for i, j in zip(at[through].tolist(), other[through].tolist(), strict=True):
        piece = int(owner[i])
        found.setdefault(piece, _fault(face, pile, [piece, j], points[i], 0.0, 0.0))
    return list(found.values())


def _ground(face: Face, rims: tuple[Rim, ...]) -> shapely.Geometry:
    away = [
        shapely.LineString([border.start, border.end]).buffer(border.within)
        for border in face.borders
        if border.rim in rims
    ]
    return shapely.difference(face.region, shapely.union_all(away)) if away else face.region


def _within(shapes: Shapes, ground: shapely.Geometry) -> Shapes:
    shapely.prepare(ground)
    cut = ~shapely.covers(ground, shapes)
    shapes[cut] = shapely.intersection(shapes[cut], ground)
    return shapes


def _fault(
    face: Face, pile: Pile, pieces: list[int], at: shapely.Point, reached: float, wanted: float
) -> LapFault:
    return LapFault(
        kind=FaultKind.NAIL_BARE,
        face=face.id,
        pieces=tuple(pile.pieces[k].id for k in pieces),
        layers=tuple(pile.pieces[k].layer for k in pieces),
        at=(float(at.x), float(at.y)),
        reached=reached,
        wanted=wanted,
    )
