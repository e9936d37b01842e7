"""What lies on the two faces of a joint so far, and how high it stands under a new piece."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
import shapely
from numpy.typing import NDArray

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
        segments = [np.array([((low, 0.0), (high, 0.0)), *extra]).reshape(-1, 4)]
        for face, area in parts:
            tops = [top for top in self.tops if top.face is face]
            outlines = np.array([top.outline for top in tops], dtype=object)
            lying = np.flatnonzero(shapely.intersects(outlines, area))
            shared, owner = shapely.get_parts(
                shapely.intersection(outlines[lying], area), return_index=True
            )
            found = _polygons(shared, self.tol.merge**2)
            for part, k in zip(shared[found], owner[found].tolist(), strict=True):
                segments.append(self._of_top(tops[lying[k]], part, axis))
        return envelope(np.concatenate(segments), tol=self.tol)

    def _of_top(self, top: Top, part: shapely.Geometry, axis: Point2) -> Floats:
        low, high = extent_along(part, top.axis)
        inner = top.at[(top.at > low) & (top.at < high)]
        cuts = np.array([low, *inner, high])
        if abs(axis[0] * top.axis[1] - axis[1] * top.axis[0]) <= self.tol.direction:
            heights = np.interp(cuts, top.at, top.over)
            sign = axis[0] * top.axis[0] + axis[1] * top.axis[1]
            return _segments(sign * cuts, heights)
        strips = shapely.get_parts(bands(part, top.axis, cuts))
        rings = shapely.get_rings(strips[_polygons(strips)])
        points, ring = shapely.get_coordinates(rings, return_index=True)
        heights = np.interp(points @ np.array(top.axis), top.at, top.over)
        found: Floats = _segments(points @ np.array(axis), heights)[ring[1:] == ring[:-1]]
        return found


def _segments(at: Floats, height: Floats) -> Floats:
    """Return the pieces of a polyline (k, 4), each from a place and its height to the next."""
    return np.column_stack((at[:-1], height[:-1], at[1:], height[1:]))


def _polygons(parts: NDArray[np.object_], least: float = -1.0) -> NDArray[np.bool_]:
    """Which parts are polygons larger than some area."""
    polygon: NDArray[np.bool_] = shapely.get_type_id(parts) == shapely.GeometryType.POLYGON
    large: NDArray[np.bool_] = shapely.area(parts) > least
    return polygon & large


def extent_along(area: shapely.Geometry, axis: Point2) -> tuple[float, float]:
    """Return from where to where an area reaches along an axis."""
    at = shapely.get_coordinates(area) @ np.array(axis)
    return float(at.min()), float(at.max())


def bands(area: shapely.Geometry, axis: Point2, cuts: Floats) -> NDArray[np.object_]:
    """Return what of an area lies from each cut to the next along an axis."""
    side = np.array((-axis[1], axis[0]))
    across = shapely.get_coordinates(area) @ side
    a, b = float(across.min()) - 1.0, float(across.max()) + 1.0
    ahead = cuts[:, None] * np.array(axis)
    one, other = ahead + a * side, ahead + b * side
    strips = shapely.polygons(np.stack((one[:-1], one[1:], other[1:], other[:-1]), axis=1))
    found: NDArray[np.object_] = shapely.intersection(area, strips)
    return found
