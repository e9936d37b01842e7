"""Planes as heights over the plan: z = gx x + gy y + c."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TypeAlias

Point2: TypeAlias = tuple[float, float]


@dataclass(frozen=True, slots=True)
class HeightPlane:
    """A plane that is nowhere vertical.

    Attributes
    ----------
    gx, gy : float
        Gradient, rise over run along x and y.
    c : float
        Height at the origin, metres.
    """

    gx: float
    gy: float
    c: float

    def at(self, point: Point2) -> float:
        """Height over a plan point."""
        return self.gx * point[0] + self.gy * point[1] + self.c

    def along(self, direction: Point2) -> float:
        """Rise per unit of run in a direction of unit length."""
        return self.gx * direction[0] + self.gy * direction[1]

    def raised(self, height: float) -> HeightPlane:
        """Return the same plane, ``height`` metres higher."""
        return HeightPlane(self.gx, self.gy, self.c + height)

    def moved(self, shift: Point2) -> HeightPlane:
        """Return the same plane after moving it in plan by ``shift``."""
        return HeightPlane(self.gx, self.gy, self.c - self.gx * shift[0] - self.gy * shift[1])

    def same_as(self, other: HeightPlane, *, slope: float, height: float) -> bool:
        """Whether two planes agree: gradients within ``slope``, origins within ``height``."""
        return (
            abs(self.gx - other.gx) <= slope
            and abs(self.gy - other.gy) <= slope
            and abs(self.c - other.c) <= height
        )


@dataclass(frozen=True, slots=True)
class PlanLine:
    """An infinite line in plan, nx x + ny y = offset, with (nx, ny) of unit length."""

    nx: float
    ny: float
    offset: float

    @property
    def direction(self) -> Point2:
        """Unit direction, the normal turned a quarter clockwise."""
        return (self.ny, -self.nx)

    def side(self, point: Point2) -> float:
        """Signed distance of a point, positive on the side of the normal."""
        return self.nx * point[0] + self.ny * point[1] - self.offset


def line_through(a: Point2, b: Point2) -> PlanLine:
    """Return the line through two distinct points, its normal to the left of a to b."""
    dx, dy = b[0] - a[0], b[1] - a[1]
    length = math.hypot(dx, dy)
    nx, ny = -dy / length, dx / length
    return PlanLine(nx, ny, nx * a[0] + ny * a[1])


def crossing(first: HeightPlane, second: HeightPlane, *, slope: float) -> PlanLine | None:
    """Return the plan line where two planes have one height; None if they are parallel.

    The normal points to where ``first`` is the higher one.
    """
    gx, gy = first.gx - second.gx, first.gy - second.gy
    size = math.hypot(gx, gy)
    if size <= slope:
        return None
    return PlanLine(gx / size, gy / size, (second.c - first.c) / size)
