"""Where places of a corner lie when a cant strip softens it."""

from __future__ import annotations

import numpy as np

from roof3d.details.frame import Floats, Frame
from roof3d.details.membrane.sheets.quilt import Bend
from roof3d.tolerance import DEFAULT, Tolerance


def cant_bend(frame: Frame, leg: float, *, tol: Tolerance = DEFAULT) -> Bend:
    """Return how places go to space where a cant of equal legs lies in the corner.

    Up to the foot of the cant and from its head on, places are those of the two faces; in
    between they lie on its face, so that heights up the wall and lengths on the roof stay true.
    """
    merge = tol.merge
    origin, along = np.array(frame.origin), np.array(frame.along)
    near, far = np.array(frame.near), np.array(frame.far)
    across = leg * (far - near)
    middle = np.array(frame.near_normal) + np.array(frame.far_normal)
    normal = np.cross(along, across)
    normal = normal / np.linalg.norm(normal)
    normal = normal if float(normal @ middle) > 0.0 else -normal
    normals = (np.array(frame.near_normal), normal, np.array(frame.far_normal))
    mitres = [
        (a + b) / (1.0 + float(a @ b)) for a, b in ((normals[0], normal), (normal, normals[2]))
    ]

    slants = [float(np.tan(np.arccos(min(1.0, float(n @ normal))) / 2.0)) for n in normals[::2]]

    def bend(places: Floats, height: Floats) -> Floats:
        u, s = places.T
        # Drawn thick, what lies high near a bend gives way, so that it stays on its own side.
        for at, slant, inside in ((-leg, slants[0], 1.0), (leg, slants[1], -1.0)):
            away, room = s - at, height * slant
            for way in (-1.0, 1.0):
                moved = room * (0.5 if way == inside else 1.0)
                here = (way * away > merge) & (way * away < 2.0 * moved)
                s = np.where(here, at + way * (moved + way * away / 2.0), s)
        share = ((s + leg) / (2.0 * leg))[:, None]
        flat = np.where(
            (s <= -leg)[:, None],
            -s[:, None] * near,
            np.where((s >= leg)[:, None], s[:, None] * far, leg * near + share * across),
        )
        lift = np.select(
            [
                (np.abs(s + leg) <= merge)[:, None],
                (np.abs(s - leg) <= merge)[:, None],
                (s < -leg)[:, None],
                (s > leg)[:, None],
            ],
            [np.broadcast_to(m, flat.shape) for m in (*mitres, normals[0], normals[2])],
            np.broadcast_to(normal, flat.shape),
        )
        points: Floats = origin + np.outer(u, along) + flat + height[:, None] * lift
        return points

    return bend
