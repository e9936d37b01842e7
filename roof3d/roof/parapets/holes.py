"""The holes of scuppers through their walls, for the closed solid."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from roof3d.geometry.arrangement import Segment
from roof3d.geometry.plane import Point2, line_through
from roof3d.roof.model import Parapet, Roof
from roof3d.tolerance import Tolerance


@dataclass(frozen=True, slots=True, kw_only=True)
class WallHole:
    """A box through a wall.

    Attributes
    ----------
    plan : tuple of four plan points
        Counterclockwise from the outside face: outer two, then inner two.
    bottom, top : float
        Above datum, metres.
    """

    plan: tuple[Point2, Point2, Point2, Point2]
    bottom: float
    top: float

    def holds(self, point: Point2) -> bool:
        """Return whether a plan point lies in it."""
        ring = self.plan
        return all(
            line_through(a, b).side(point) > 0.0
            for a, b in zip(ring, (*ring[1:], ring[0]), strict=True)
        )

    def sides(self, *, tol: Tolerance) -> Iterator[Segment]:
        """Yield its two jambs, from a hair outside the wall to a hair inside."""
        outer_start, outer_end, inner_end, inner_start = self.plan
        for outer, inner in ((outer_start, inner_start), (outer_end, inner_end)):
            line = line_through(outer, inner)
            dx, dy = (part * tol.overshoot for part in line.direction)
            yield Segment((outer[0] - dx, outer[1] - dy), (inner[0] + dx, inner[1] + dy), line)


def wall_holes(roof: Roof, origin: Point2) -> tuple[WallHole, ...]:
    """Return the holes of a roof's scuppers, plans in local coordinates.

    Parameters
    ----------
    roof : Roof
    origin : (x, y)
        World point that is the local origin, metres.
    """
    holes = []
    for scupper in roof.scuppers:
        parapet = roof.edge(scupper.edge).parapet
        if parapet is not None:
            x, y, bottom = scupper.place
            middle = (x - origin[0], y - origin[1])
            plan = _plan(middle, scupper.width, parapet)
            holes.append(WallHole(plan=plan, bottom=bottom, top=bottom + scupper.height))
    return tuple(holes)


def _plan(middle: Point2, width: float, parapet: Parapet) -> tuple[Point2, Point2, Point2, Point2]:
    outer_start, outer_end, _, _ = parapet.plan
    face = line_through(outer_start, outer_end)  # its normal points inward
    dx, dy = face.direction
    nx, ny = face.nx * parapet.thickness, face.ny * parapet.thickness
    x, y = middle
    half = width / 2.0
    start, end = (x - half * dx, y - half * dy), (x + half * dx, y + half * dy)
    return (start[0] - nx, start[1] - ny), (end[0] - nx, end[1] - ny), end, start
