"""The two faces of a joint and the line where they meet: developed coordinates and space."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from roof3d.tolerance import DEFAULT, Tolerance

Point2: TypeAlias = tuple[float, float]
Point3: TypeAlias = tuple[float, float, float]
Floats: TypeAlias = NDArray[np.float64]


class Face(StrEnum):
    """One of the two faces of a joint: near has s below 0, far has it above."""

    NEAR = "near"
    FAR = "far"


@dataclass(frozen=True, slots=True, kw_only=True)
class Frame:
    """Where the line of a joint lies and which way its two faces go.

    Attributes
    ----------
    origin : Point3
        A point of the line on top of the sheathing: the middle of the detail.
    along : Point3
        Unit vector of the line; to the right of one who looks from the near face.
    near, far : Point3
        Unit vectors in each face, square to the line, away from it.
    near_normal, far_normal : Point3
        Unit normals, up and out.
    mitre : Point3
        What one metre of height off both faces is at the line itself.
    level, upright : Point3
        Unit vectors of the section, square to the line: level-most toward the far face,
        and up. ``along``, ``level``, ``upright`` are right-handed.
    """

    origin: Point3
    along: Point3
    near: Point3
    far: Point3
    near_normal: Point3
    far_normal: Point3
    mitre: Point3
    level: Point3
    upright: Point3

    @property
    def turn(self) -> float:
        """Angle by which a sheet over the line bends, radians; never below 0."""
        return math.acos(max(-1.0, min(1.0, dot(self.near_normal, self.far_normal))))

    @property
    def convex(self) -> bool:
        """Whether the faces bend away from the sky at the line; False where they are one plane."""
        return dot(self.near, self.far_normal) < -DEFAULT.slope

    def normal(self, face: Face) -> Point3:
        """Return the unit normal of a face."""
        return self.near_normal if face is Face.NEAR else self.far_normal

    def flow(self, face: Face, *, tol: Tolerance = DEFAULT) -> Point2 | None:
        """Return the way of water on a face as a unit vector in (u, s); None on a level one."""
        into = self.far if face is Face.FAR else (-self.near[0], -self.near[1], -self.near[2])
        u, s = -self.along[2], -into[2]
        size = math.hypot(u, s)
        return (u / size, s / size) if size > tol.slope else None

    def place(
        self, across: Floats, developed: Floats, height: Floats, far_height: Floats | None = None
    ) -> Floats:
        """Return points of space (n, 3) from developed coordinates, each (n,) metres.

        Parameters
        ----------
        across : (n,) float64
            Along the line.
        developed : (n,) float64
            On the deck, square to the line; below zero on the near face.
        height : (n,) float64
            Off the deck; at the line itself along the mitre, so both faces agree there.
        far_height : (n,) float64 or None
            Height off the far face where it differs: at the line the point then stands
            ``height`` off the near and ``far_height`` off the far face.
        """
        beyond = height if far_height is None else far_height
        s, h, f = developed[:, None], height[:, None], beyond[:, None]
        near = -s * np.array(self.near) + h * np.array(self.near_normal)
        far = s * np.array(self.far) + f * np.array(self.far_normal)
        bend = h * np.array(self.mitre)
        if far_height is not None:
            c = dot(self.near_normal, self.far_normal)
            bend = (h - c * f) * np.array(self.near_normal) + (f - c * h) * np.array(
                self.far_normal
            )
            bend = bend / (1.0 - c * c)
        flat = np.where(s < 0.0, near, np.where(s > 0.0, far, bend))
        points: Floats = np.array(self.origin) + np.outer(across, np.array(self.along)) + flat
        return points

    def on_face(self, face: Face, across: Floats, developed: Floats, height: Floats) -> Floats:
        """Return points of space (n, 3) on one face carried on flat past the line."""
        into = -np.array(self.near) if face is Face.NEAR else np.array(self.far)
        points: Floats = (
            np.array(self.origin)
            + np.outer(across, np.array(self.along))
            + np.outer(developed, into)
            + np.outer(height, np.array(self.normal(face)))
        )
        return points

    def point(self, across: float, developed: float, height: float) -> Point3:
        """Return one point of space from developed coordinates."""
        found = self.place(np.array([across]), np.array([developed]), np.array([height]))[0]
        return (float(found[0]), float(found[1]), float(found[2]))

    def section(self, points: Floats) -> Floats:
        """Return the coordinates (n, 2) of points of space in the plane square to the line."""
        away = points - np.array(self.origin)
        return np.column_stack((away @ np.array(self.level), away @ np.array(self.upright)))

    def developed(self, points: Floats) -> Floats:
        """Return (n, 3) developed coordinates of points of space: the reverse of ``place``.

        Notes
        -----
        The mitre plane parts the two sides, so a point over the line gets the side that
        it stands over.
        """
        away = points - np.array(self.origin)
        side = away @ (np.array(self.far) - np.array(self.near))
        near = np.column_stack((-(away @ np.array(self.near)), away @ np.array(self.near_normal)))
        far = np.column_stack((away @ np.array(self.far), away @ np.array(self.far_normal)))
        flat = np.where(side[:, None] < 0.0, near, far)
        return np.column_stack((away @ np.array(self.along), flat))


def dot(one: Point3, two: Point3) -> float:
    """Return the scalar product of two vectors."""
    return sum(a * b for a, b in zip(one, two, strict=True))
