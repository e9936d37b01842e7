"""A chimney in level and plumb coordinates: its brick, the joints in it, plates before it."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence

import numpy as np
import shapely

from roof3d.details.frame import Floats, Point3
from roof3d.details.shapes.solids import Body, extruded
from roof3d.details.shingle.openings.chimney_parts import Block
from roof3d.details.shingle.openings.upright import point3

Ring = Sequence[tuple[float, float]]
Ends = tuple[float, float]


class Plumb:
    """A chimney square to the fall: u along it, y level up the slope, z up, metres.

    Attributes
    ----------
    block : Block
    front, back : float
        y of its lower and its upper face.
    """

    def __init__(self, block: Block) -> None:
        frame = block.work.frame
        self.block = block
        self._cosine, self._slope = frame.near_normal[2], block.slope
        self.front, self.back = block.foot * self._cosine, block.head * self._cosine
        level = self._cosine * np.array(frame.far) - frame.far[2] * np.array(frame.near_normal)
        self._axes = np.array((frame.along, level, (0.0, 0.0, 1.0)))
        self._origin = np.array(frame.origin)

    def roof(self, y: float, height: float = 0.0) -> float:
        """Return z, at y, of what lies ``height`` off the deck."""
        return y * self._slope + height / self._cosine

    def point(self, u: float, y: float, z: float) -> Point3:
        """Return a place in space."""
        return point3(self._origin + np.array((u, y, z)) @ self._axes)

    def places(self, points: Floats) -> Floats:
        """Return (n, 3) points of space as (u, y, z)."""
        found: Floats = (points - self._origin) @ self._axes.T
        return found

    def box(self, u: Ends, y: Ends, z: Ends) -> Body:
        """Return a box between two values of each coordinate."""
        return self.slab(shapely.box(u[0], y[0], u[1], y[1]), z)

    def slab(self, plan: shapely.Polygon, z: Ends) -> Body:
        """Return what stands on an outline in (u, y) between two heights."""
        ring = shapely.get_coordinates(plan.normalize().exterior)[:-1]
        corners = [self.point(u, y, z[0]) for u, y in ring.tolist()]
        return extruded(corners, (0.0, 0.0, z[1] - z[0]))

    def across(self, ring: Ring, y: float, thick: float) -> Body:
        """Return a plate with an outline in (u, z), from y on, ``thick`` to the back."""
        away = point3(thick * self._axes[1])
        return extruded([self.point(u, y, z) for u, z in ring], away)

    def along(self, ring: Ring, u: Ends) -> Body:
        """Return what has an outline in (y, z), from one u to another."""
        away = point3((u[1] - u[0]) * self._axes[0])
        return extruded([self.point(u[0], y, z) for y, z in ring], away)

    def side(self, ring: Ring, face: float, out: Ends, thick: float) -> Body:
        """Return a plate with an outline in (y, z) off a side face.

        ``out`` is how far it stands off at its lower and at its upper end, signed.
        """
        ys = [y for y, _ in ring]
        low, high = min(ys), max(ys)
        corners = [
            self.point(face + out[0] + (y - low) / (high - low) * (out[1] - out[0]), y, z)
            for y, z in ring
        ]
        return extruded(corners, point3(math.copysign(thick, out[0]) * self._axes[0]))


def carve(
    plumb: Plumb,
    tongues: Sequence[tuple[float, shapely.Polygon]],
    joint: float,
    above: float,
) -> None:
    """Draw the chimney anew, raked out where metal goes into it, and a little higher than that.

    Parameters
    ----------
    tongues : sequence of (float, shapely.Polygon)
        Level and plan in (u, y) of the metal.
    joint : float
        Height of a joint, metres.
    above : float
        The chimney goes on that far over the last joint, at least as high as it was.
    """
    block = plumb.block
    work = block.work
    index = [piece.id for piece in work.pieces].index("chimney.1")
    old = work.pieces[index]
    side = plumb.places(old.vertices)[:, 1:]
    top = max(float(side[:, 1].max()), max(level for level, _ in tongues) + joint + above)
    foot = float(side[:, 1].min())
    deep = plumb.roof(plumb.front) - foot
    whole = shapely.Polygon(
        [
            (plumb.front, foot),
            (plumb.back, plumb.roof(plumb.back) - deep),
            (plumb.back, top),
            (plumb.front, top),
        ]
    )
    brick = shapely.box(block.left, plumb.front, block.right, plumb.back)
    bodies, at = [], foot
    for level, group in itertools.groupby(sorted(tongues, key=_level), key=_level):
        bodies += _between(plumb, whole, (at, level))
        end = min(plumb.back, plumb.front + (level - foot) / block.slope)
        plan = shapely.intersection(
            brick, shapely.box(block.left, plumb.front, block.right, end)
        ).difference(shapely.union_all([area for _, area in group]))
        bodies += [plumb.slab(part, (level, level + joint)) for part in shapely.get_parts(plan)]
        at = level + joint
    bodies += _between(plumb, whole, (at, top))
    work.reshape(old.id, bodies)


def _between(plumb: Plumb, whole: shapely.Polygon, z: Ends) -> list[Body]:
    """Return the brick between two heights."""
    band = shapely.box(plumb.front, z[0], plumb.back, z[1])
    return [
        plumb.along(
            shapely.get_coordinates(part)[:-1].tolist(), (plumb.block.left, plumb.block.right)
        )
        for part in shapely.get_parts(shapely.intersection(whole, band))
        if part.geom_type == "Polygon" and part.area > plumb.block.work.tol.merge
    ]


def _level(tongue: tuple[float, shapely.Polygon]) -> float:
    return tongue[0]
