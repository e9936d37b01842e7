"""Water that a lower piece brings down behind the head of one that lies over it."""

from __future__ import annotations

import math

import numpy as np
import shapely

from roof3d.laps.edges import Edges, Mask, bands_along
from roof3d.laps.model import Face, FaultKind, LapFault, Rim
from roof3d.laps.pile import Pile, pairs_under, uncovered
from roof3d.tolerance import Tolerance

_INCH = 0.0254
_FAR = 50.0
_TOUCH = 8.0 * _INCH
"""What touches a border for less than this ends at it."""


def trapped_heads(face: Face, pile: Pile, heads: Edges, tol: Tolerance) -> list[LapFault]:
    """Find heads behind which water stands.

    A piece that is stuck down, or metal turned down over an eave, lets no water through
    below. So where its head lies on an earlier piece that goes on above it and ends below it, a
    later piece that is stuck down too must close the head.

    Parameters
    ----------
    face : Face
    pile : Pile
    heads : Edges
        Of the face.
    tol : Tolerance

    Returns
    -------
    list[LapFault]
    """
    guest = pile.flags("guest")
    down = pile.flags("turned_down")
    tight = pile.bonded | (down & _at(face, pile, Rim.EAVE, tol))
    heads = heads.where((tight & ~pile.flags("welded"))[heads.owner])
    wanted = np.maximum(pile.numbers("other_lap"), 8.0 * tol.snap)[heads.owner]
    bands = bands_along(heads, -tol.snap, tol.snap - wanted, tol)
    open_ = uncovered(
        bands,
        heads.owner,
        pile,
        lambda i, j: (pile.order[j] > pile.order[i]) & pile.bonded[j],
        tol,
    )
    left = dict(open_)
    both = bands_along(heads, -4.0 * tol.snap, 4.0 * tol.snap, tol)
    at, other, shared = pairs_under(
        both,
        heads.owner,
        pile,
        lambda i, j: (pile.order[j] < pile.order[i]) & (pile.layer[j] != pile.layer[i]) & ~guest[j],
        tol,
    )
    faults = []
    for i, j, part in zip(at.tolist(), other.tolist(), shared.tolist(), strict=True):
        owner = int(heads.owner[i])
        # Shorter than an inch it is the corner of a cut.
        if i not in left or part.area < 8.0 * tol.snap * _INCH or not part.intersects(left[i]):
            continue
        spot = shapely.intersection(part, left[i].buffer(tol.snap)).representative_point()
        if not _goes_on(pile.shapes[j], spot, heads.out[i], tol):
            continue
        if not down[owner] and _leaves(pile.shapes[j], spot, face, tol):
            continue
        below, over = (_run_out(pile.shapes[k], spot, face, tol) for k in (j, owner))
        if _goes_past(pile.shapes[j], spot, below, face, tol):
            continue
        if below <= over + 4.0 * tol.snap:
            faults.append(_fault(face, pile, owner, j, spot, float(wanted[i])))
    return faults + _rake_faults(face, pile, tol)


def _goes_on(
    shape: shapely.Geometry,
    spot: shapely.Point,
    out: np.ndarray[tuple[int], np.dtype[np.float64]],
    tol: Tolerance,
) -> bool:
    x, y = spot.x + 10.0 * tol.snap * out[0], spot.y + 10.0 * tol.snap * out[1]
    return bool(shape.intersects(shapely.Point(x, y)))


def _goes_past(
    shape: shapely.Geometry, spot: shapely.Point, reach: float, face: Face, tol: Tolerance
) -> bool:
    """Return whether a shape, followed down to a seam of the face, goes on beyond it."""
    far = reach + 10.0 * tol.snap
    end = shapely.Point(spot.x + far * face.flow[0], spot.y + far * face.flow[1])
    if face.region.intersects(end) or not shape.intersects(end):
        return False
    return all(
        shapely.LineString([border.start, border.end]).distance(end) > 20.0 * tol.snap
        for border in face.borders
    )


def _run_out(shape: shapely.Geometry, spot: shapely.Point, face: Face, tol: Tolerance) -> float:
    """Return how far a shape reaches from a spot straight down the flow, within the face."""
    dx, dy = face.flow
    ray = shapely.LineString(
        [(spot.x + tol.snap * dx, spot.y + tol.snap * dy), (spot.x + _FAR * dx, spot.y + _FAR * dy)]
    )
    ground = shapely.intersection(shape, face.region)
    here = shapely.Point(ray.coords[0])
    for part in shapely.get_parts(shapely.intersection(ray, ground)):
        if part.distance(here) <= 4.0 * tol.snap:
            ends = shapely.get_coordinates(part)
            return float(max(math.dist((spot.x, spot.y), end) for end in ends.tolist()))
    return 0.0


def _leaves(shape: shapely.Geometry, spot: shapely.Point, face: Face, tol: Tolerance) -> bool:
    """Return whether a shape lets its water go at a free eave straight below a spot."""
    reach = _run_out(shape, spot, face, tol) + tol.snap
    end = shapely.Point(spot.x + reach * face.flow[0], spot.y + reach * face.flow[1])
    return any(
        shapely.LineString([border.start, border.end]).distance(end) <= 4.0 * tol.snap
        for border in face.borders
        if border.rim is Rim.EAVE
    )


def _at(face: Face, pile: Pile, rim: Rim, tol: Tolerance) -> Mask:
    """Return which pieces touch a free border of a kind."""
    lines = [
        shapely.LineString([border.start, border.end])
        for border in face.borders
        if border.rim is rim
    ]
    if not lines:
        return np.zeros(len(pile.pieces), dtype=np.bool_)
    near = shapely.union_all(lines).buffer(tol.snap)
    shapely.prepare(near)
    found = np.asarray(shapely.intersects(near, pile.shapes))
    shared = shapely.area(shapely.intersection(near, pile.shapes[found]))
    found[found] = shared > 2.0 * tol.snap * _TOUCH
    return found


def _rake_faults(face: Face, pile: Pile, tol: Tolerance) -> list[LapFault]:
    """Find loose sheets that lie over the metal of a rake: rain from the side gets under them."""
    along = _at(face, pile, Rim.RAKE, tol)
    rake = along & ~_at(face, pile, Rim.EAVE, tol)
    metal = np.flatnonzero(rake & pile.flags("turned_down"))
    if not len(metal):
        return []
    ends = pile.flags("ends_known")
    away = [
        shapely.LineString([border.start, border.end]).buffer(border.within)
        for border in face.borders
        if border.rim is Rim.CLOSED
    ]
    open_ = shapely.difference(face.region, shapely.union_all(away, grid_size=tol.grid))
    ground = np.asarray(shapely.intersection(pile.shapes[metal], open_))
    at, other, shared = pairs_under(
        ground,
        metal,
        pile,
        lambda i, j: (
            (pile.order[j] > pile.order[i]) & pile.sheet[j] & ~pile.bonded[j] & ends[j] & along[j]
        ),
        tol,
    )
    found = []
    for i, j, part in zip(at.tolist(), other.tolist(), shared, strict=True):
        spot = part.representative_point()
        found.append(_fault(face, pile, int(j), int(metal[i]), spot, 0.0))
    return found


def _fault(
    face: Face, pile: Pile, owner: int, other: int, spot: shapely.Point, wanted: float
) -> LapFault:
    both = pile.pieces[owner], pile.pieces[other]
    return LapFault(
        kind=FaultKind.BACK_WATER,
        face=face.id,
        pieces=tuple(piece.id for piece in both),
        layers=tuple(piece.layer for piece in both),
        at=(float(spot.x), float(spot.y)),
        reached=0.0,
        wanted=wanted,
    )
