"""The way the water takes: down the slope over what is on top, in at a fault, on to the deck."""

from __future__ import annotations

import itertools
import math
import operator
from collections.abc import Sequence
from typing import Final

import numpy as np
import shapely

from roof3d.details.frame import Face, Point2, Point3
from roof3d.details.model import INCH, Detail, Piece, PieceKind
from roof3d.details.proof.ground import bowl_of, flow_at, flow_on, is_drop, is_wall
from roof3d.details.proof.model import DetailFault, Waypoint
from roof3d.details.proof.roles import family_of
from roof3d.tolerance import DEFAULT

_STEP: Final = 1.0 * INCH
_LANDS: Final = 14.0 * INCH
"""How far up the slope from a fault the drawn drop lands."""
_UNDER: Final = 10.0 * INCH
"""How far it is followed below what let it in."""
_RUNS_UP: Final = 5.0 * INCH
"""So far up the slope it is already below a piece that covers all the way up."""
_OVER_HEAD: Final = 4.0 * INCH
"""How far over the head of the metal on a chimney the drawn drop runs down the brick."""
_ON_EACH: Final = 3
"""Steps on each layer before it is through to the next."""
_NONE: Final = 10**9
_OFF: Final = 0.25 * INCH
_AGAINST: Final = 0.5
_HIGHEST: Final = 8.0 * INCH
"""No top of a piece stands higher over its face."""
_LEANS: Final = 0.3
"""Least cosine between a face and what counts as lying on it."""


def water_path(detail: Detail, start: Point2 | None = None) -> tuple[Waypoint, ...]:
    """Follow a drop over what is on top, from where it lands until it leaves the cut-out.

    Parameters
    ----------
    detail : Detail
    start : Point2 or None
        Where it lands in (u, s), metres; near the upper rim in the middle where not given.

    Returns
    -------
    tuple[Waypoint, ...]
        One a step, each on the piece that carries the water there.
    """
    spot = start or _top_of(detail)
    pieces = [piece for piece in detail.pieces if _leads(piece)]
    marks = [(place, _mark(detail, place, pieces)) for place in _down(detail, spot, 400)]
    return tuple(mark for place, mark in marks if _stands(detail, place, mark))


def leak_path(
    detail: Detail, spot: Point2, upper: Sequence[str], *, from_above: bool = False
) -> tuple[Waypoint, ...]:
    """Follow the water to a fault, in under what let it in, and on down to the deck.

    Parameters
    ----------
    detail : Detail
    spot : Point2
        Of the fault, in (u, s).
    upper : sequence of str
        Ids of the pieces that it runs in under.
    from_above : bool
        Whether it goes straight in there: a hole, a nail, bare deck.
    """
    pieces = [piece for piece in detail.pieces if _leads(piece)]
    orders = [piece.order for piece in pieces if piece.id in upper]
    first = min(orders, default=_NONE)
    # What comes down to an open edge under others runs on what that edge lies on.
    carriers = pieces if from_above else [piece for piece in pieces if piece.order < first]
    above = _down(detail, spot, int(_LANDS / _STEP), way=-1.0)
    above = list(reversed(_off_holes(above, pieces)))
    over = [piece for piece in pieces if piece.order >= first and piece.id in upper]
    lies = [piece_on(over, _face_at(place), place) is not None for place in above]
    # It comes in where the upper piece begins; where that has no head, a little up the slope.
    near = next((k + 1 for k in range(len(above) - 1, -1, -1) if not lies[k]), None)
    near = max(0, len(above) - int(_RUNS_UP / _STEP)) if near is None else near
    # What runs in below others comes over these all the same.
    near = max(near, 1)
    before = [
        mark
        for k, place in enumerate(above)
        if _stands(detail, place, mark := _mark(detail, place, carriers if k >= near else pieces))
    ]
    after: list[Waypoint] = []
    under = [piece for piece in pieces if piece.order < first]
    for k, place in enumerate(_down(detail, spot, int(_UNDER / _STEP))):
        mark = _mark(detail, place, under)
        after += [mark] if _stands(detail, place, mark) else []
        order = next((p.order for p in pieces if p.id == mark.piece), 0)
        if mark.layer == 1:
            break
        through = k % _ON_EACH == _ON_EACH - 1
        under = [piece for piece in pieces if piece.order < order + (not through)]
    end = _place_of(detail, after[-1]) if after else spot
    return (*before, *after, _mark(detail, end, []))


def spot_of_missing(detail: Detail, name: str) -> tuple[Point2, tuple[Piece, ...]]:
    """Return where water goes in for want of a layer called so, and what it runs in behind."""
    width, near, _ = detail.size
    spot = (0.0, -min(4.0 * INCH, near / 2.0))
    if "kick-out" in name:
        return (flow_on(detail, Face.NEAR)[0] * (width / 2.0 - 4.0 * INCH), spot[1]), ()
    if "counterflashing" not in name or not is_wall(detail):
        return spot, ()
    sheets = [piece for piece in detail.pieces if piece.kind is PieceKind.SHEET]
    head = max((piece.reach[1] for piece in sheets), default=0.0)
    return (0.0, head), tuple(piece for piece in sheets if piece.reach[1] > head - INCH)


def path_down_face(detail: Detail) -> tuple[Point3, tuple[Waypoint, ...]]:
    """Follow the water down a chimney's lower face, in behind the metal there, to the deck.

    Returns
    -------
    Point3
        The head of the metal, where it goes in.
    tuple[Waypoint, ...]
        One an inch, plumb, on the face.
    """
    block = next(piece for piece in detail.pieces if piece.kind is PieceKind.WALL)
    # So far up the slope a plumb face runs on its way off the deck.
    sine, cosine = detail.frame.far[2], detail.frame.near_normal[2]
    lean = sine / cosine
    u, s, high = detail.frame.developed(block.vertices).T
    foot, half = float((s - high * lean).min()), float(np.ptp(u)) / 2.0
    head = 0.0
    for piece in detail.pieces:
        if piece.kind in {PieceKind.METAL, PieceKind.SHEET}:
            u, s, high = detail.frame.developed(piece.vertices).T
            out = foot - (s - high * lean)
            before = (np.abs(u) < half + _OFF) & (out > -DEFAULT.merge)
            # As high off the deck as the place on the face that is level with it.
            level = high - out * sine * cosine
            head = max(head, float(level[before].max(initial=0.0)))
    top, fall = head + _OVER_HEAD * cosine, _STEP * cosine
    heights = [top - k * fall for k in range(int(top / fall) + 1)]
    marks = [
        Waypoint(
            point=detail.frame.point(0.0, foot + h * lean, h), layer=block.layer, piece=block.id
        )
        for h in (*heights, 0.0)
    ]
    return detail.frame.point(0.0, foot + head * lean, head), tuple(marks)


def _stands(detail: Detail, place: Point2, mark: Waypoint) -> bool:
    """Return whether a mark stands over its place: over a cant the corner is cut off."""
    return abs(_place_of(detail, mark)[1] - place[1]) < _STEP / 2.0


def _off_holes(places: Sequence[Point2], pieces: Sequence[Piece]) -> list[Point2]:
    """Return places up the slope from a fault as far as sheets lie there: water parts at a pipe."""
    covered = [piece_on(pieces, _face_at(place), place) is not None for place in places]
    if not covered[0]:
        return list(places)
    return [*itertools.compress(places, itertools.accumulate(covered, operator.and_))]


def _face_at(place: Point2) -> Face:
    return Face.NEAR if place[1] < 0.0 else Face.FAR


def is_sheltered(detail: Detail, fault: DetailFault) -> bool:
    """Return whether a piece laid later than those at fault lies over the place of the fault."""
    last = max((p.order for p in detail.pieces if p.id in fault.pieces), default=_NONE)
    later = [piece for piece in detail.pieces if piece.order > last and _leads(piece)]
    return piece_on(later, _face_at(fault.spot), fault.spot) is not None


def _place_of(detail: Detail, mark: Waypoint) -> Point2:
    u, s, _ = detail.frame.developed(np.array([mark.point]))[0].tolist()
    return (u, s)


def _leads(piece: Piece) -> bool:
    # Water runs in under the strainer over a drain.
    over = piece.kind is PieceKind.BED or family_of(piece) == "ring"
    return bool(piece.footprints) and not over


def _top_of(detail: Detail) -> Point2:
    """Return a place near the upper rim from which a drop crosses the cut-out."""
    width, near, far = detail.size
    flow = flow_on(detail, Face.NEAR)
    if flow[1] > 0.3 or (is_drop(detail) and abs(flow[0]) < _AGAINST):
        return (0.0, -near + 2.0 * INCH)
    if abs(flow[0]) > _AGAINST:
        return (-math.copysign(width / 2.0 - 2.0 * INCH, flow[0]), -near / 3.0)
    return (0.0, far - 2.0 * INCH)


def _down(detail: Detail, start: Point2, most: int, *, way: float = 1.0) -> list[Point2]:
    """Return places down the flow from a start, or up it, within the cut-out."""
    width, near, far = detail.size
    bowl, holes = bowl_of(detail), _holes(detail)
    u, s = start
    found = [start]
    before = flow_at(detail, start)
    for _ in range(most):
        flow = flow_at(detail, (u, s))
        if flow[0] * before[0] + flow[1] * before[1] < 0.0:
            # In the corner between roof and wall it stands; it climbs nothing.
            break
        before = flow
        u, s = u + way * _STEP * flow[0], s + way * _STEP * flow[1]
        if abs(u) > width / 2.0 or not -near < s < far or flow == (0.0, 0.0):
            break
        # Up the slope it comes from a hip or ridge at the most, or from the foot of a chimney.
        if way < 0.0 and flow_at(detail, (u, s))[1] * flow[1] < 0.0:
            break
        if holes.intersects(shapely.Point(u, s)):
            break
        if bowl.intersects(shapely.Point(u, s)):
            break
        found.append((u, s))
    return found


def _holes(detail: Detail) -> shapely.Geometry:
    """Return where the deck is open round what passes it."""
    prints = [part for p in detail.pieces if p.kind is PieceKind.DECK for part in p.footprints]
    panels = [shapely.Polygon(part.outline, part.holes).buffer(_OFF) for part in prints]
    whole = shapely.union_all(panels)
    return shapely.union_all(
        [shapely.Polygon(ring) for part in shapely.get_parts(whole) for ring in part.interiors]
    )


def _mark(detail: Detail, place: Point2, pieces: Sequence[Piece]) -> Waypoint:
    """Return the place on top of the last of the pieces that lies there."""
    top = piece_on(pieces, _face_at(place), place)
    if top is None:
        deck = next((p for p in detail.pieces if p.kind is PieceKind.DECK), detail.pieces[0])
        return Waypoint(point=detail.frame.point(*place, _OFF / 4.0), layer=1, piece=deck.id)
    height = height_of(detail, top, place)
    return Waypoint(point=detail.frame.point(*place, height), layer=top.layer, piece=top.id)


def piece_on(pieces: Sequence[Piece], face: Face, place: Point2) -> Piece | None:
    """Return the last of some pieces that covers a place of a face."""
    spot = shapely.Point(place)
    for piece in reversed(pieces):
        for part in piece.footprints:
            if part.face is face and shapely.Polygon(part.outline, part.holes).intersects(spot):
                return piece
    return None


def height_of(detail: Detail, piece: Piece, place: Point2) -> float:
    """Return how high the top of a piece stands over a place of its face."""
    # Carried on flat past the line: what stands high beside a wall is over the roof all the same.
    frame, face = detail.frame, _face_at(place)
    into = -np.array(frame.near) if face is Face.NEAR else np.array(frame.far)
    axes = np.array((frame.along, into, frame.normal(face)))
    corners = ((piece.vertices - np.array(frame.origin)) @ axes.T)[piece.triangles]
    u, s = place
    a, b, c = corners[:, 0], corners[:, 1], corners[:, 2]
    d = (b[:, 0] - a[:, 0]) * (c[:, 1] - a[:, 1]) - (c[:, 0] - a[:, 0]) * (b[:, 1] - a[:, 1])
    areas = np.linalg.norm(np.cross(b - a, c - a), axis=1)
    # Only what looks off the face is a top.
    side = np.sign(np.linalg.det(axes))
    flat = side * d > np.maximum(_LEANS * areas, DEFAULT.merge**2)
    a, b, c, d = a[flat], b[flat], c[flat], d[flat]
    p = ((u - a[:, 0]) * (c[:, 1] - a[:, 1]) - (c[:, 0] - a[:, 0]) * (s - a[:, 1])) / d
    q = ((b[:, 0] - a[:, 0]) * (s - a[:, 1]) - (u - a[:, 0]) * (b[:, 1] - a[:, 1])) / d
    height = a[:, 2] + p * (b[:, 2] - a[:, 2]) + q * (c[:, 2] - a[:, 2])
    # The far rim of a piece that bends looks off this face too, far over it.
    inside = (p >= 0.0) & (q >= 0.0) & (p + q <= 1.0) & (height < _HIGHEST)
    if inside.any():
        return float(height[inside].max())
    # In a bend no face lies flat over the place: the nearest corners tell.
    points = frame.developed(piece.vertices)
    away = np.hypot(points[:, 0] - u, points[:, 1] - s)
    across = np.abs(points[:, 1] - s)
    near = across <= across.min() + _STEP / 8.0
    return float(points[near, 2][np.argsort(away[near])[:2]].max())


def point_at(detail: Detail, place: Point2, pieces: Sequence[Piece] = ()) -> Point3:
    """Return the place on top of the last of some pieces there, of all where none is given."""
    mine = [piece for piece in pieces if _leads(piece)]
    if piece_on(mine, _face_at(place), place) is None:
        mine = [piece for piece in detail.pieces if _leads(piece)]
    return _mark(detail, place, mine).point
