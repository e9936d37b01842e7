"""Where sheets of one course lap at their ends, with the courses above and below them."""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
import shapely

from roof3d.details.frame import Floats, Frame
from roof3d.details.site import DetailSite
from roof3d.layout.borders.frame import frame_of, to_plane, to_space
from roof3d.layout.model import Direction, LaidLayer, PlaneFrame
from roof3d.roof.model import Plane, Point3

Box = tuple[float, float, float, float]
Row = tuple[float, float]


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class EndLap:
    """A joint of three sheets, in coordinates (along the course, up the courses).

    Attributes
    ----------
    first, second : Box
        The two sheets of one course; the second lies on the first.
    above, below : tuple of Box
        Sheets of the neighbouring courses; those above lie over both.
    across : bool
        Whether courses run across the slope.
    plane_frame : PlaneFrame
    real : bool
        Whether the layout has it; else it is shown where none is needed.
    """

    first: Box
    second: Box
    above: tuple[Box, ...]
    below: tuple[Box, ...]
    across: bool
    plane_frame: PlaneFrame
    real: bool

    @property
    def way(self) -> float:
        """1 where the second sheet lies to the greater side, else -1."""
        return 1.0 if self.second[0] > self.first[0] else -1.0

    @property
    def lap(self) -> tuple[float, float]:
        """From where to where the two lap along the course."""
        ends = sorted((self.first[0], self.first[2], self.second[0], self.second[2]))
        return ends[1], ends[2]

    @property
    def middle(self) -> Point3:
        """Where the middle of the lap lies in space."""
        x = sum(self.lap) / 2.0
        y = (self.first[1] + self.first[3]) / 2.0
        place = (x, y) if self.across else (y, x)
        a, b, c = to_space(self.plane_frame, [place])[0].tolist()
        return (a, b, c)

    def seen(self, frame: Frame, outline: shapely.Polygon) -> shapely.Polygon:
        """Return an outline in the joint's coordinates as one in (u, s) of a frame."""
        corners = shapely.get_coordinates(outline)[:-1]
        flat: Floats = corners if self.across else corners[:, ::-1]
        away = to_space(self.plane_frame, flat) - np.array(frame.origin)
        places = np.column_stack((away @ np.array(frame.along), away @ np.array(frame.far)))
        return shapely.orient_polygons(shapely.Polygon(places))

    def cut(self, box: Box, *, legs: float) -> shapely.Polygon:
        """Return a sheet's outline with its corner cut at 45 degrees, if it is one of the two.

        The first loses the low corner of its lapped end, where it lies between the course
        below and the second; the second the high corner of its own, where it lies between
        the first and the course above.
        """
        whole = shapely.box(*box)
        x0, y0, x1, y1 = box
        if box == self.first and self.below:
            x = x1 if self.way > 0.0 else x0
            tip = [(x - self.way * legs, y0), (x, y0), (x, y0 + legs)]
        elif box == self.second and self.above:
            x = x0 if self.way > 0.0 else x1
            tip = [(x + self.way * legs, y1), (x, y1), (x, y1 - legs)]
        else:
            return whole
        return shapely.Polygon(whole.difference(shapely.Polygon(tip)).exterior)


def find_end_lap(site: DetailSite, plane: Plane) -> EndLap:
    """Return the plane's end lap with the most sheets round it, or one where none is needed."""
    laid, layer = site.laid_plane(plane.id), site.laid_layer(plane.id, "cap")
    if laid is None or layer is None:
        return _made_up(site, plane)
    boxes = _boxes(layer)
    numbers = layer.pieces.course.tolist()
    found: list[EndLap] = []
    for (one, a), (two, b) in pairwise(zip(boxes, numbers, strict=True)):
        if a != b or min(one[2], two[2]) <= max(one[0], two[0]):
            continue
        joint = EndLap(
            first=one,
            second=two,
            above=tuple(box for box, n in zip(boxes, numbers, strict=True) if n == a + 1),
            below=tuple(box for box, n in zip(boxes, numbers, strict=True) if n == a - 1),
            across=layer.direction is Direction.ACROSS,
            plane_frame=laid.frame,
            real=True,
        )
        found.append(_near(joint))
    return max(found, key=_worth) if found else _made_up(site, plane)


def _near(joint: EndLap) -> EndLap:
    """Keep of the neighbours those that lie over or under the lap."""
    low, high = joint.lap

    def kept(boxes: tuple[Box, ...]) -> tuple[Box, ...]:
        return tuple(box for box in boxes if box[0] < high and box[2] > low)

    return replace(joint, above=kept(joint.above), below=kept(joint.below))


def _worth(joint: EndLap) -> tuple[int, float]:
    return bool(joint.above) + bool(joint.below), joint.first[3] - joint.first[1]


def _boxes(layer: LaidLayer) -> list[Box]:
    rows = layer.pieces.boxes
    if layer.direction is not Direction.ACROSS:
        rows = rows[:, [1, 0, 3, 2]]
    return [(a, b, c, d) for a, b, c, d in rows.tolist()]


def _made_up(site: DetailSite, plane: Plane) -> EndLap:
    """Return an end lap in the middle of a plane whose sheets need none."""
    rule = site.layers(plane.id)["cap"]
    made = site.catalog.material(rule.material)
    frame = frame_of(plane)
    flat = to_plane(frame, plane.outline)
    across = plane.slope < rule.along_from
    x, y = (flat.min(axis=0) + flat.max(axis=0))[:: 1 if across else -1].tolist()
    x, y = x / 2.0, y / 2.0
    lap, far = (rule.end_lap or made.end_lap) / 2.0, made.length
    step = made.width - (rule.side_lap or made.side_lap)
    below, (low, high), above = _rows(site, plane, y, made.width, step)
    return EndLap(
        first=(x - far, low, x + lap, high),
        second=(x - lap, low, x + far, high),
        above=tuple((x - far, a, x + far, b) for a, b in above),
        below=tuple((x - far, a, x + far, b) for a, b in below),
        across=across,
        plane_frame=frame,
        real=False,
    )


def _rows(
    site: DetailSite, plane: Plane, middle: float, width: float, step: float
) -> tuple[list[Row], Row, list[Row]]:
    """Return the course nearest to the middle that has neighbours, with those below and above.

    The layout's own, so that side laps keep off those of the layers below; else full ones.
    """
    layer = site.laid_layer(plane.id, "cap")
    rows = sorted({(low, high) for _, low, _, high in _boxes(layer)}) if layer else []
    if not rows:
        low, high = middle - width / 2.0, middle + width / 2.0
        return [(low - step, high - step)], (low, high), [(low + step, high + step)]
    best = min(
        range(len(rows)),
        key=lambda k: (-(k > 0) - (k < len(rows) - 1), abs(sum(rows[k]) / 2.0 - middle)),
    )
    return rows[max(0, best - 1) : best], rows[best], rows[best + 1 : best + 2]
