"""The cut through a detail, in metres: what is cut, how far it is shown, which lengths it shows."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from roof3d.details.frame import Face, Floats
from roof3d.details.model import INCH, Detail, DetailKind, Measure, Piece, PieceKind
from roof3d.tolerance import DEFAULT

_TALL, _DEEP = 20.0 * INCH, 7.7 * INCH
"""How far over and under the deck things are shown."""
_FAR = 10.0
STANDING = frozenset({PieceKind.UNIT, PieceKind.WALL})
"""Pieces that stand on the roof or beside it."""
_BEYOND = 4.0 * INCH
_LEAST = 18.0 * INCH
_RIGHT_ANGLE = math.pi / 2.0
_EXACT = INCH / 100.0
_ALIKE = INCH / 2.0


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Cut:
    """What a section shows.

    Attributes
    ----------
    reach : tuple[float, float]
        How much of the near and of the far face, metres, both positive.
    parts : tuple of (Piece, Face, shapely geometry)
        What is cut, in the order of work, parted at the line: metres in section coordinates.
    measures : tuple of Measure
    """

    reach: tuple[float, float]
    parts: tuple[tuple[Piece, Face, shapely.Geometry], ...]
    measures: tuple[Measure, ...]


def cut_detail(detail: Detail, measures: tuple[Measure, ...]) -> Cut:
    """Cut a detail square to its line, as far as the lengths reach that are to be drawn.

    Parameters
    ----------
    detail : Detail
    measures : tuple of Measure
        Of the detail; see ``choose_measures``.
    """
    # As far as the last layer begins, so that each is seen.
    spans = _spans(detail)
    near = max(
        [_LEAST, *(_BEYOND - m.reach[0] for m in measures), *(_BEYOND - b for _, b in spans)]
    )
    far = max([_LEAST, *(m.reach[1] + _BEYOND for m in measures), *(a + _BEYOND for a, _ in spans)])
    reach = (min(detail.size[1], near), min(detail.size[2], far))
    parts = []
    for piece in detail.pieces:
        if piece.kind is PieceKind.FRAMING and None in {face.slope for face in detail.faces}:
            # Cut off on the mitre at a board or a wall, it would mislead.
            continue
        for profile in piece.profiles:
            whole = shapely.make_valid(shapely.Polygon(profile))
            if piece.kind in STANDING and detail.frame.turn < DEFAULT.parallel:
                # A pipe or a chimney stands in the one plane, as tall as the model has it.
                parts.append((piece, Face.FAR, whole))
                continue
            if piece.kind is PieceKind.FRAMING:
                part = shapely.intersection(whole, _behind(detail, reach))
                parts += [(piece, Face.NEAR, one) for one in shapely.get_parts(part)]
                continue
            if piece.kind is PieceKind.WALL:
                # One wall over and under the deck, not parted where the faces meet.
                end = _end(detail, reach)
                at, height = np.array((-_TALL, end, end, -_TALL)), _FAR * np.array((-1, -1, 1, 1))
                both = shapely.Polygon(on_face(detail, Face.FAR, at, height))
                parts += [
                    (piece, Face.FAR, one)
                    for one in shapely.get_parts(shapely.intersection(whole, both))
                    if one.geom_type == "Polygon" and one.area > DEFAULT.area
                ]
                continue
            for face in Face:
                part = shapely.intersection(whole, window(detail, face, reach, piece.kind))
                polygons = [
                    one
                    for one in shapely.get_parts(part)
                    if one.geom_type == "Polygon" and one.area > DEFAULT.area
                ]
                parts += [(piece, face, one) for one in polygons]
    return Cut(reach=reach, parts=tuple(parts), measures=measures)


def _spans(detail: Detail) -> list[tuple[float, float]]:
    """From where to where each layer is cut, along the profile."""
    origin, near = on_face(detail, Face.NEAR, np.array([0.0, -1.0]), np.zeros(2))
    _, far = on_face(detail, Face.FAR, np.array([0.0, 1.0]), np.zeros(2))
    found = []
    for layer in detail.layers:
        profiles = [
            profile
            for piece in detail.pieces
            if piece.layer == layer.number and piece.kind is not PieceKind.FRAMING
            for profile in piece.profiles
        ]
        if profiles:
            points = np.concatenate(profiles) - origin
            on_far, on_near = points @ (far - origin), points @ (near - origin)
            at = np.where(on_far > on_near, on_far, -on_near)
            found.append((float(at.min()), float(at.max())))
    return found


def window(
    detail: Detail, face: Face, reach: tuple[float, float], kind: PieceKind
) -> shapely.Geometry:
    """Return what is shown over one face: cut off square to it, parted from the other face."""
    deep = _TALL if kind in STANDING or detail.kind is DetailKind.PARAPET else _DEEP
    turn = min(detail.frame.turn, _RIGHT_ANGLE) / 2.0
    over, under = _TALL * math.tan(turn), deep * math.tan(turn)
    sign = 1.0 if detail.convex else -1.0
    if face is Face.NEAR:
        at = np.array((-reach[0], -sign * under, 0.0, sign * over, -reach[0]))
    else:
        end = _end(detail, reach)
        at = np.array((end, sign * under, 0.0, -sign * over, end))
    height = np.array((-deep, -deep, 0.0, _TALL, _TALL))
    ring = on_face(detail, face, at, height)
    return shapely.make_valid(shapely.Polygon(ring))


def _end(detail: Detail, reach: tuple[float, float]) -> float:
    """Where the far face ends; a parapet is shown with what lies on its top."""
    return reach[1] + (_TALL if detail.kind is DetailKind.PARAPET else 0.0)


def _behind(detail: Detail, reach: tuple[float, float]) -> shapely.Geometry:
    """Return where framing is shown: under both faces, carried on past the line."""
    strips: list[shapely.Geometry] = []
    shown: list[shapely.Geometry] = []
    for face, at in ((Face.NEAR, (-reach[0], _FAR)), (Face.FAR, (-_FAR, reach[1]))):
        ring = np.array((at[0], at[1], at[1], at[0]))
        for height, found in (((-_DEEP, 0.0), strips), ((-_FAR, _FAR), shown)):
            low, high = height
            heights = np.array((low, low, high, high))
            found.append(shapely.Polygon(on_face(detail, face, ring, heights)))
    return shapely.intersection(shapely.union(*strips), shapely.intersection(*shown))


def on_face(detail: Detail, face: Face, at: Floats, height: Floats) -> Floats:
    """Return section coordinates (n, 2) of points over a face carried on past the line."""
    frame = detail.frame
    return frame.section(frame.on_face(face, np.zeros(len(at)), at, height))


def drops(detail: Detail) -> bool:
    """Whether the far face is a board that ends below, so that nothing is left off there."""
    return detail.faces[1].slope is None and detail.convex


def height_over(detail: Detail, face: Face, at: float, point: Floats) -> float:
    """Return how high a point of the section, metres, stands off a face."""
    foot, up = on_face(detail, face, np.array([at, at]), np.array([0.0, 1.0]))
    return float((point - foot) @ (up - foot))


def choose_measures(detail: Detail, shown: float) -> tuple[Measure, ...]:
    """Return the lengths that lie in the cut or stand upright in it, none twice.

    Parameters
    ----------
    detail : Detail
    shown : float
        How far from the line a length may end that is drawn, metres.
    """
    chosen: list[Measure] = []
    order = sorted(detail.measures, key=lambda m: (min(map(abs, m.reach)), -m.layer))
    for measure in order:
        if max(map(abs, measure.reach)) > shown or not (lies(measure) or stands(measure)):
            continue
        if not any(_same(measure, other) for other in chosen):
            chosen.append(measure)
    return tuple(chosen)


def lies(measure: Measure) -> bool:
    """Whether a length runs along the profile."""
    first, last = measure.reach
    return last - first > _EXACT > abs(measure.value - (last - first))


def stands(measure: Measure) -> bool:
    """Whether a length goes straight up."""
    (ax, ay, _), (bx, by, _) = measure.ends
    return math.hypot(bx - ax, by - ay) < _EXACT and not lies(measure)


def _same(one: Measure, other: Measure) -> bool:
    gaps = [abs(a - b) for a, b in zip(one.reach, other.reach, strict=True)]
    return (
        max(gaps) < _ALIKE
        and stands(one) == stands(other)
        and abs(one.value - other.value) < _ALIKE
    )


def uncut_layers(detail: Detail, cut: Cut) -> Sequence[int]:
    """Return the numbers of layers that the cut does not go through, or not where it shows."""
    seen = {piece.layer for piece, _, _ in cut.parts if piece.kind is not PieceKind.FRAMING}
    return [layer.number for layer in detail.layers if layer.number not in seen]
