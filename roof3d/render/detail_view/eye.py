"""Where a detail is looked at from: so that both faces are seen, the lower end in front."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from roof3d.details.frame import Face
from roof3d.details.model import Detail, DetailKind, PieceKind
from roof3d.render.camera import Floats, Vector, direction_from
from roof3d.scene.lifts import TRANSITIONS
from roof3d.scene.model import Point3

_SLOPING = 0.08
_ENOUGH = 0.3
"""Sine of the angle at which a face must be seen."""
_AHEAD = 0.9
"""Cosine between the eye and the way of a lift: nearer to it, a layer hides the one below."""
_HEIGHT_DEG = 28.0
_STEEPER = (1.0, 1.4, 2.0, 2.8)
"""How much higher one looks from; the first only at layers that are lifted."""
_SHORT = 0.4
"""Share of the width below which a layer is short."""


def outward_of(detail: Detail, azimuth_deg: float | None = None) -> Point3:
    """Return the unit vector along the line toward the end on the right of the picture.

    It is the end that is measured. Unless the viewer's place is given, it is the lower one
    where a line between two planes slopes.
    """
    along = detail.frame.along
    sign = -_side(detail)
    if azimuth_deg is not None:
        angle = math.radians(azimuth_deg)
        right = along[1] * math.sin(angle) - along[0] * math.cos(angle)
        sign = 1.0 if right >= 0.0 else -1.0
    return (sign * along[0], sign * along[1], sign * along[2])


def eye_of(detail: Detail, azimuth_deg: float | None = None, *, lifted: bool = True) -> Vector:
    """Return the direction from the detail toward the eye; higher up where nothing is lifted.

    Where it is not given: the first of a row of places from which both faces are seen well
    and no layer hides the next, else the one that comes nearest to that.
    """
    if azimuth_deg is not None:
        return direction_from(azimuth_deg, _HEIGHT_DEG)
    normals = [np.array(detail.frame.normal(face)) for face in (Face.NEAR, Face.FAR)]
    ways = {piece.lift for piece in detail.pieces if lifted and piece.layer > 1}
    found: list[tuple[float, Floats]] = []
    for steeper in _STEEPER[0 if lifted else 1 :]:
        for eye in _eyes(detail, steeper):
            toward = eye / float(np.linalg.norm(eye))
            seen = min(float(normal @ toward) for normal in normals)
            ahead = max((float(np.array(way) @ toward) for way in ways), default=0.0)
            fault = max(0.0, _ENOUGH - seen) + max(0.0, ahead - _AHEAD)
            found.append((fault, eye))
            if fault == 0.0:
                return _vector(eye)
    return _vector(min(found, key=lambda trial: trial[0])[1])


def _side(detail: Detail) -> float:
    """1 where the eye stands over the far face, -1 where over the near one."""
    slopes = abs(detail.frame.along[2]) > _SLOPING
    if slopes and detail.kind not in TRANSITIONS and None not in _slopes(detail):
        return 1.0 if detail.frame.along[2] > 0.0 else -1.0
    # Of two steep planes the near one is the lower: a roof is looked at from below.
    return 1.0 if detail.convex and detail.kind is not DetailKind.PITCH_BREAK else -1.0


def _slopes(detail: Detail) -> tuple[float | None, ...]:
    return tuple(face.slope for face in detail.faces)


def _eyes(detail: Detail, steeper: float) -> Iterator[Floats]:
    level = np.array(detail.frame.level) * _side(detail)
    outward = np.array(outward_of(detail))
    up = np.array((0.0, 0.0, 1.0))
    # Courses are seen from below: lean back from an end that lies higher.
    lean = 1.0 if outward[2] < _SLOPING else -0.6
    if _gathers(detail, outward):
        lean = -0.8
    places = ((0.74, 0.67, 0.52), (0.62, 0.72, 0.66), (0.48, 0.76, 0.78), (0.34, 0.8, 0.9))
    for across, beside, above in (*places, (0.15, 0.85, 1.0)):
        yield across * level + lean * beside * outward + steeper * above * up


def _gathers(detail: Detail, outward: Floats) -> bool:
    """Whether short layers, a corner patch for instance, lie at the other end than ``outward``."""
    sign = 1.0 if outward @ np.array(detail.frame.along) > 0.0 else -1.0
    wide = detail.size[0]
    middles = []
    for layer in detail.layers:
        spans = [
            p.span
            for p in detail.pieces
            if p.layer == layer.number and p.kind is not PieceKind.FASTENER
        ]
        if spans and (last := max(b for _, b in spans)) - (first := min(a for a, _ in spans)) < (
            _SHORT * wide
        ):
            middles.append(sign * (first + last) / 2.0)
    return bool(middles) and float(np.mean(middles)) < -0.2 * wide


def _vector(values: Floats) -> Vector:
    return (float(values[0]), float(values[1]), float(values[2]))
