"""One roof plane beside a hip, ridge or valley: the layout's own pieces, unfolded to the line."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely
from numpy.typing import NDArray

from roof3d.details.build_up import BuildUp
from roof3d.details.frame import Face, Floats, Point2
from roof3d.details.site import DetailSite
from roof3d.errors import LayoutError
from roof3d.layout.model import LaidLayer, LaidPlane

_WIDE = 100.0
"""More than any cut-out is wide, metres."""
_AROUND = 1.0
"""Pieces that begin this near the cut-out are taken along whole, metres."""


@dataclass(frozen=True, kw_only=True)
class LaidPiece:
    """A piece of the layout in (u, s) metres: as it came, and as trimmed."""

    course: int
    whole: shapely.Polygon
    trimmed: shapely.Polygon


@dataclass(frozen=True, kw_only=True)
class Slope:
    """A plane of a joint.

    Attributes
    ----------
    site : DetailSite
    work : BuildUp
    face : Face
        The face that it is.
    laid : LaidPlane
        As the layout has it.
    """

    site: DetailSite
    work: BuildUp
    face: Face
    laid: LaidPlane

    @property
    def sign(self) -> float:
        """Return -1 on the near face, 1 on the far one: the sign of s."""
        return -1.0 if self.face is Face.NEAR else 1.0

    @cached_property
    def up(self) -> Point2:
        """Unit vector in (u, s) straight up the plane."""
        across, into = self._axes(self.laid.frame.up)
        return (across, into)

    @cached_property
    def toward(self) -> Point2:
        """Unit vector in (u, s), level on the plane, that leads to the line."""
        a, b = self.up
        return (-b, a) if -self.sign * a > 0.0 else (b, -a)

    def _axes(self, vector: tuple[float, float, float]) -> Point2:
        frame = self.work.frame
        into = np.array(frame.far) if self.face is Face.FAR else -np.array(frame.near)
        v = np.array(vector)
        return (float(v @ np.array(frame.along)), float(v @ into))

    def flat(self, points: Floats) -> Floats:
        """Return places (n, 2) of the plane's own frame in (u, s), past the line unfolded."""
        start = np.array(self.laid.frame.origin) - np.array(self.work.frame.origin)
        x, y, z = start.tolist()
        found: Floats = (
            np.array(self._axes((x, y, z)))
            + points[:, :1] * np.array(self._axes(self.laid.frame.along))
            + points[:, 1:] * np.array(self.up)
        )
        return found

    def layer(self, role: str) -> LaidLayer | None:
        """Return a layer of the plane; None where it holds none of that role."""
        return self.site.laid_layer(self.laid.plane.id, role)

    def pieces(self, role: str) -> Iterator[LaidPiece]:
        """Give the pieces of a layer in or near the cut-out, in the order of laying."""
        layer = self.layer(role)
        if layer is None:
            return
        boxes = layer.pieces.boxes
        corners = np.stack([self.flat(boxes[:, pick]) for pick in ([0, 1], [2, 1], [2, 3], [0, 3])])
        low, high = corners.min(axis=0) - _AROUND, corners.max(axis=0) + _AROUND
        (start, end), (_, near, far) = self.work.span, self.work.size
        inside = (low[:, 0] < end) & (high[:, 0] > start) & (low[:, 1] < far) & (high[:, 1] > -near)
        for index in np.flatnonzero(inside).tolist():
            whole = shapely.Polygon(corners[:, index])
            for part in shapely.get_parts(layer.pieces.outline(index)):
                if part.geom_type == "Polygon":
                    yield LaidPiece(
                        course=int(layer.pieces.course[index]),
                        whole=whole,
                        trimmed=shapely.transform(part, self.flat),
                    )

    def holds(self, places: Floats, fastener: str) -> NDArray[np.bool_]:
        """Return at which places (n, 2) in (u, s) a whole head lies in the cut-out."""
        head = self.work.catalog.material(fastener).width
        (start, end), (_, near, far) = self.work.span, self.work.size
        u, s = places.T
        inside: NDArray[np.bool_] = (u > start + head) & (u < end - head)
        inside &= (s > head - near) & (s < far - head)
        return inside

    def beyond(self, start: float, end: float | None = None) -> shapely.Polygon:
        """Return what of the face lies farther off the line than ``start``, straight across.

        ``start`` is where the cut-out begins along the line, ``end`` where it ends; the same
        where not given.
        """
        last = start if end is None else end
        a, b = self.work.span
        rate = (last - start) / (b - a)
        ring = [(u, self.sign * (start + rate * (u - a))) for u in (a - _AROUND, b + _AROUND)]
        u0, u1 = ring[0][0], ring[1][0]
        out = self.sign * _WIDE
        return shapely.orient_polygons(shapely.Polygon([*ring, (u1, out), (u0, out)]))

    def strip(self, start: Point2, width: float) -> shapely.Polygon:
        """Return a strip of the face that begins ``start`` off the line at either end."""
        outer = self.beyond(start[0] + width, start[1] + width)
        return shapely.difference(self.beyond(*start), outer)


def slopes_of(site: DetailSite, work: BuildUp) -> tuple[Slope, Slope]:
    """Return both planes of a joint, the near one first.

    Raises
    ------
    LayoutError
        Where the layout does not hold them.
    """
    found = []
    for face, plane in zip(Face, site.place.planes, strict=True):
        laid = site.laid_plane(plane)
        if laid is None:
            raise LayoutError(
                "nothing is laid out here, so there are no pieces to draw",
                where=f"planes[{plane}]",
                hint="lay out the roof first",
            )
        found.append(Slope(site=site, work=work, face=face, laid=laid))
    return found[0], found[1]
