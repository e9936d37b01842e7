"""Upright parts round a chimney: its body, plates on its faces, the cricket behind it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from roof3d.details.build_up import BuildUp
from roof3d.details.frame import Face, Floats
from roof3d.details.shapes.solids import Body, extruded
from roof3d.details.shingle.openings.upright import point3

Point = tuple[float, float, float]
"""A place (u, s) on the deck with its height off it, all metres."""


@dataclass(frozen=True, slots=True, eq=False)
class Block:
    """A chimney square to the fall: its sides on the deck, and the bench it stands on.

    Attributes
    ----------
    work : BuildUp
    left, foot, right, head : float
        Where its faces meet the deck: in u, s, u, s.
    """

    work: BuildUp
    left: float
    foot: float
    right: float
    head: float

    @property
    def width(self) -> float:
        """Across the fall, metres."""
        return self.right - self.left

    @property
    def slope(self) -> float:
        """Rise over run of the plane."""
        return self.work.frame.far[2] / self.work.frame.near_normal[2]

    @property
    def plan(self) -> shapely.Polygon:
        """What it takes of the deck."""
        return shapely.box(self.left, self.foot, self.right, self.head)

    def open_from(self, low: float, high: float) -> shapely.Polygon:
        """Return what it takes of all that lies between two heights off the deck."""
        return shapely.box(
            self.left, self.foot + low * self.slope, self.right, self.head + high * self.slope
        )

    def space(self, places: Sequence[Point]) -> list[Point]:
        """Turn places on the deck into points of space."""
        u, s, h = np.array(places).T
        return [point3(p) for p in self.work.frame.on_face(Face.NEAR, u, s, h)]

    def way(self, vector: Point) -> Point:
        """Turn a vector in (u, s, h) into one of space."""
        (a, b) = np.array(self.space([(0.0, 0.0, 0.0), vector]))
        return point3(b - a)

    def level(self, length: float) -> Point:
        """Return a level vector down the slope, as (u, s, h)."""
        return (0.0, -length * self.work.frame.near_normal[2], length * self.work.frame.far[2])

    def body(self, below: float, above: float) -> Body:
        """Return its body, from below the deck up to a level top over its head."""
        tan = self.slope
        # A side face in (s, h), plumb at foot and head, level at its top.
        cosine, sine = self.work.frame.near_normal[2], self.work.frame.far[2]
        top = above + (self.head - self.foot) * sine
        side = [
            (self.left, self.foot - below * tan, -below),
            (self.left, self.head - below * tan, -below),
            (self.left, self.head + above * sine, above * cosine),
            (self.left, self.foot + top * sine, top * cosine),
        ]
        return extruded(self.space(side), self.way((self.width, 0.0, 0.0)))

    def front(self, low: float, high: float, out: float, thick: float, past: float = 0.0) -> Body:
        """Return a plate before its lower face, between heights; ``out`` is level."""
        return self._cross(self.foot, low, high, -out, -thick, past)

    def back(self, low: float, high: float, out: float, thick: float, past: float = 0.0) -> Body:
        """Return a plate behind its upper face; no corner of it is lower than ``low``."""
        low += (out + thick) * self.work.frame.far[2]
        return self._cross(self.head, low, high, out, thick, past)

    def bend(
        self, edge: tuple[float, float], top: float, out: float, thick: float, past: float
    ) -> Body:
        """Return the rest of a metal that lies on the roof: on to a face and up it, one body.

        Parameters
        ----------
        edge : tuple[float, float]
            s where the part on the roof ends, below the foot or above the head, and the height
            of its underside there.
        top : float
            Height off the deck of its upper edge.
        out, thick, past : float
            How far it stands off the face, level; how thick it is; how far past the sides.
        """
        s, low = edge
        sign, at = (1.0, self.head) if s > self.head else (-1.0, self.foot)

        def off(level: float, height: float) -> float:
            plumb = at + sign * level / self.work.frame.near_normal[2]
            return plumb + height * self.slope

        near, far = out, out + thick
        ring = [
            (s, low),
            (off(near, low), low),
            (off(near, top), top),
            (off(far, top), top),
            (off(far, low + thick), low + thick),
            (s, low + thick),
        ]
        corners = [(self.left - past, *place) for place in ring]
        along = self.way((self.width + 2.0 * past, 0.0, 0.0))
        return extruded(self.space(corners), along)

    def _cross(
        self, at: float, low: float, high: float, out: float, thick: float, past: float
    ) -> Body:
        a, b = self.left - past, self.right + past
        _, ds, dh = self.level(-out)
        tan = self.slope
        corners = [
            (a, at + ds + low * tan, low + dh),
            (b, at + ds + low * tan, low + dh),
            (b, at + ds + high * tan, high + dh),
            (a, at + ds + high * tan, high + dh),
        ]
        return extruded(self.space(corners), self.way(self.level(-thick)))

    def side(
        self,
        ring: Sequence[tuple[float, float]],
        out: tuple[float, float],
        thick: float,
        *,
        right: bool,
    ) -> Body:
        """Return a plate on a side face with an outline in (s, h).

        ``out`` is how far it stands off the face at its lower and at its upper end.
        """
        sign = 1.0 if right else -1.0
        face = self.right if right else self.left
        s = np.array(ring)[:, 0]
        share = (s - s.min()) / (s.max() - s.min())
        u = face + sign * (out[0] + share * (out[1] - out[0]))
        corners = [(float(a), *b) for a, b in zip(u, ring, strict=True)]
        return extruded(self.space(corners), self.way((sign * thick, 0.0, 0.0)))


def cricket_body(block: Block, base: float, out: float) -> tuple[Body, float, float]:
    """Return the framed cricket behind a chimney, its height and its length up the slope.

    Its two sides have the roof's own pitch: it is as high at the chimney as the roof rises in
    half its width, and its ridge runs level back to the roof. ``base`` is how high off the
    deck it stands, ``out`` how far from the chimney along the slope.
    """
    half = block.width / 2.0
    height = half * block.slope
    length = half / block.work.frame.near_normal[2]
    middle = (block.left + block.right) / 2.0
    cosine, sine = block.work.frame.near_normal[2], block.work.frame.far[2]
    start = block.head + out + base * block.slope
    corners = [
        (block.left, start, base),
        (block.right, start, base),
        (middle, start + length, base),
        (middle, start + height * sine, base + height * cosine),
    ]
    vertices: Floats = np.array(block.space(corners))
    triangles = np.array([[0, 2, 1], [0, 1, 3], [1, 2, 3], [2, 0, 3]], dtype=np.int64)
    volume = float(
        np.einsum(
            "ij,ij->i",
            vertices[triangles[:, 0]] - vertices[0],
            np.cross(
                vertices[triangles[:, 1]] - vertices[0], vertices[triangles[:, 2]] - vertices[0]
            ),
        ).sum()
    )
    triangles = triangles if volume > 0.0 else triangles[:, ::-1].copy()
    rims = tuple(vertices[[a, b]] for a, b in ((0, 1), (1, 2), (2, 0), (0, 3), (1, 3), (2, 3)))
    return Body(vertices=vertices, triangles=triangles, rims=rims), height, length


def shell(block: Block, base: float, out: float, thick: float, up: float) -> list[Body]:
    """Return the metal over a cricket: plates ``thick`` plumb, a leg ``up`` the chimney."""
    frame, _, _ = cricket_body(block, base, out)
    left, right, back, top = frame.vertices
    rise = point3(np.array((0.0, 0.0, thick)))
    plates = [
        extruded([point3(a), point3(b), point3(c)], rise)
        for a, b, c in ((left, back, top), (back, right, top))
    ]
    if up <= 0.0:
        return plates
    foot, head = np.array((0.0, 0.0, thick)), np.array((0.0, 0.0, thick + up))
    ring = [left + foot, top + foot, right + foot, right + head, top + head, left + head]
    away = block.way(block.level(-thick))
    return [*plates, extruded([point3(p) for p in ring], away)]


def valley_webs(
    block: Block, triangle: shapely.Polygon, base: float, thick: float, pan: tuple[Floats, Floats]
) -> list[Body]:
    """Return the bends where the metal over a cricket goes on as the pan beside it.

    ``pan``: s, and the height of the pan's upper side there; shingles lift it over the cricket's
    foot, and the metal comes down to that without a seam.
    """
    (a, b, top), sign = shapely.get_coordinates(triangle.exterior)[:3], (-1.0, 1.0)
    webs = []
    for corner, way in zip((a, b), sign, strict=True):
        at = np.unique(np.concatenate(((corner[1], top[1]), pan[0])))
        at = at[(at >= corner[1]) & (at <= top[1])]
        us = np.interp(at, (corner[1], top[1]), (corner[0], top[0]))
        high = np.maximum(np.interp(at, *pan), base + thick)
        ring = [(float(corner[0]), float(corner[1]), base), (float(top[0]), float(top[1]), base)]
        over = zip(us[::-1].tolist(), at[::-1].tolist(), high[::-1].tolist(), strict=True)
        out = np.array((way * (top[1] - corner[1]), abs(top[0] - corner[0])))
        u, s = (thick * out / np.linalg.norm(out)).tolist()
        webs.append(extruded(block.space([*ring, *over]), block.way((u, s, 0.0))))
    return webs


def clear_of(block: Block) -> float:
    """Return how far the metal on a face of the chimney stands off it, as drawn: all of it."""
    work = block.work
    return work.thickness("synthetic-underlayment") + 4.0 * work.thickness("step-flashing")


def apron_leg(block: Block, reach: tuple[float, float, float], past: float) -> shapely.Polygon:
    """Return the apron on the roof: along the foot, and round both corners under the steps."""
    low, edge, high = reach
    gap = clear_of(block)
    leg = shapely.box(block.left - past, low, block.right + past, edge)
    ears = [
        shapely.box(block.left - past, low, block.left - gap, high),
        shapely.box(block.right + gap, low, block.right + past, high),
    ]
    return shapely.union_all([leg, *ears])


def pan_leg(
    block: Block, reach: tuple[float, float, float], cricket: float, past: float
) -> shapely.Polygon:
    """Return the pan on the roof: behind the chimney, and down both corners over the steps."""
    low, foot, high = reach
    gap, middle = clear_of(block), (block.left + block.right) / 2.0
    left, right = block.left - past, block.right + past
    whole = shapely.Polygon(
        [(left, foot), (right, foot), (right, high), (middle, high + cricket), (left, high)]
    )
    ears = [
        shapely.box(left, low, block.left - gap, high),
        shapely.box(block.right + gap, low, right, high),
    ]
    return shapely.union_all([whole, *ears])


def cricket_plan(block: Block, start: float, cricket: float) -> shapely.Polygon:
    """Return what a cricket takes of the roof behind the chimney, from ``start`` on."""
    if not cricket:
        return shapely.Polygon()
    middle = (block.left + block.right) / 2.0
    return shapely.Polygon([(block.left, start), (block.right, start), (middle, start + cricket)])
