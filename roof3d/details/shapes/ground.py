"""What lies on the two faces of a joint so far, and how high it stands under a new piece."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
import shapely

from roof3d.details.frame import Face, Point2
from roof3d.details.shapes.drape import Floats, Ground, Segment, envelope
from roof3d.tolerance import DEFAULT, Tolerance


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Top:
    """The upper side of one piece on one face.

    Attributes
    ----------
    face : Face
    outline : shapely.Geometry
        What it covers, in (u, s) metres.
    axis : Point2
        Unit vector in (u, s) along which its height changes.
    at, over : (n,) float64
        Height off the face along that axis.
    """

    face: Face
    outline: shapely.Geometry
    axis: Point2
    at: Floats
    over: Floats


@dataclass(slots=True, eq=False)
class Stack:
    """All tops of a joint, in the order laid."""

    tops: list[Top] = field(default_factory=list)
    tol: Tolerance = DEFAULT

    def add(self, top: Top) -> None:
        """Put a piece on top."""
        shapely.prepare(top.outline)
        self.tops.append(top)

    def height_at(self, face: Face, u: float, s: float) -> float:
        """Return the greatest height over one place of a face; 0 on the bare deck."""
        place = shapely.Point(u, s)
        return max(
            (
                float(np.interp(top.axis[0] * u + top.axis[1] * s, top.at, top.over))
                for top in self.tops
                if top.face is face and top.outline.intersects(place)
            ),
            default=0.0,
        )

    def highest(self, face: Face, area: shapely.Geometry) -> float:
        """Return the greatest height of what lies over any of an area of a face."""
        return max(
            (
                float(top.over.max())
                for top in self.tops
                if top.face is face and top.outline.intersects(area)
            ),
            default=0.0,
        )

    def under(
        self,
        parts: Sequence[tuple[Face, shapely.Geometry]],
        axis: Point2,
        extra: Sequence[Segment] = (),
    ) -> Ground:
        """Return the ground under footprints along an axis: at each place the highest point.

        Parameters
        ----------
        parts : sequence of (Face, polygon)
            Footprints in (u, s).
        axis : Point2
            Unit vector in (u, s).
        extra : sequence of Segment
            Heights that it must also keep above.

        Notes
        -----
        Within one strip of a top its height is linear over the plane, so along any line
        square to the axis the highest point lies on the outline: the sides of the strips
        that lie under the footprint are all that matters.
        """
        ends = [extent_along(area, axis) for _, area in parts]
        low, high = min(low for low, _ in ends), max(high for _, high in ends)
        segments: list[Segment] = [((low, 0.0), (high, 0.0)), *extra]
        for face, area in parts:
            for top in self.tops:
                if top.face is face and top.outline.intersects(area):
                    segments += self._of_top(top, area, axis)
        return envelope(segments, tol=self.tol)

    def _of_top(self, top: Top, area: shapely.Geometry, axis: Point2) -> list[Segment]:
        shared = shapely.intersection(top.outline, area)
        found: list[Segment] = []
        same = abs(axis[0] * top.axis[1] - axis[1] * top.axis[0]) <= self.tol.direction
        for part in shapely.get_parts(shared):
            if part.geom_type != "Polygon" or part.area <= self.tol.merge**2:
                continue
            low, high = extent_along(part, top.axis)
            inner = top.at[(top.at > low) & (top.at < high)]
            cuts = np.array([low, *inner, high])
            heights = np.interp(cuts, top.at, top.over)
            if same:
                sign = axis[0] * top.axis[0] + axis[1] * top.axis[1]
                flat = [(float(sign * c), float(h)) for c, h in zip(cuts, heights, strict=True)]
                found += list(itertools.pairwise(flat))
                continue
            for k in range(len(cuts) - 1):
                strip = band(part, top.axis, float(cuts[k]), float(cuts[k + 1]))
                found += _sides(strip, top, axis)
        return found


def _sides(strip: shapely.Geometry, top: Top, axis: Point2) -> list[Segment]:
    """Sides of a part of a top as places along another axis with their heights."""
    found: list[Segment] = []
    for part in shapely.get_parts(strip):
        if part.geom_type != "Polygon":
            continue
        for ring in (part.exterior, *part.interiors):
            points = np.array(ring.coords)
            at = points @ np.array(axis)
            height = np.interp(points @ np.array(top.axis), top.at, top.over)
            rows = list(zip(at.tolist(), height.tolist(), strict=True))
            found += list(itertools.pairwise(rows))
    return found


def extent_along(area: shapely.Geometry, axis: Point2) -> tuple[float, float]:
    """Return from where to where an area reaches along an axis."""
    at = shapely.get_coordinates(area) @ np.array(axis)
    return float(at.min()), float(at.max())


def band(area: shapely.Geometry, axis: Point2, low: float, high: float) -> shapely.Geometry:
    """Return what of an area lies from ``low`` to ``high`` along an axis."""
    side = np.array((-axis[1], axis[0]))
    across = shapely.get_coordinates(area) @ side
    a, b = float(across.min()) - 1.0, float(across.max()) + 1.0
    ahead = np.array(axis)
    corners = [
        low * ahead + a * side,
        high * ahead + a * side,
        high * ahead + b * side,
        low * ahead + b * side,
    ]
    return shapely.intersection(area, shapely.Polygon(corners))
