"""Where along a hip, ridge or valley its detail is cut out, and the strips laid there."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from roof3d.details.build_up import BuildUp
from roof3d.details.frame import Floats, Frame
from roof3d.details.frames import frame_at_break, room_on
from roof3d.details.site import DetailSite, open_build
from roof3d.errors import LayoutError
from roof3d.layout.model import LaidStrip
from roof3d.roof.model import Edge


@dataclass(frozen=True, slots=True, kw_only=True)
class CutOut:
    """A stretch of an edge.

    Attributes
    ----------
    edge : Edge
    middle : float
        Along the edge from its first end, metres.
    turned : float
        1 where u grows from the first end to the second, else -1.
    work : BuildUp
    """

    edge: Edge
    middle: float
    turned: float
    work: BuildUp

    def u_at(self, place: float) -> float:
        """Return u of a place along the edge, metres."""
        return self.turned * (place - self.middle)

    def down_from_top(self, u: float) -> float:
        """Return how far a place lies below the upper end, along the edge; never below 0."""
        return max(0.0, self.edge.length - self.middle - self.turned * u)

    def spans(self, strip: LaidStrip) -> list[tuple[float, float]]:
        """Return from where to where in u each piece of a strip lies, as laid."""
        ends = [(self.u_at(a), self.u_at(b)) for a, b in strip.pieces.tolist()]
        return [(min(pair), max(pair)) for pair in ends]

    def nails(self, strip: LaidStrip) -> Floats:
        """Return the nails of a strip astride the line as places (k, 2) in (u, s)."""
        u = self.turned * (strip.nails[:, 0] - self.middle)
        head = self.work.catalog.material(strip.fastener).width
        low, high = self.work.span
        s = strip.nails[:, 1] - strip.width / 2.0
        inside = (u > low + head) & (u < high - head)
        inside &= (s > head - self.work.size[1]) & (s < self.work.size[2] - head)
        found: Floats = np.column_stack((u, s))[inside]
        return found


def cut_out(site: DetailSite, runs: tuple[float, float], *, at: float | None = None) -> CutOut:
    """Cut a joint out of the roof.

    Parameters
    ----------
    site : DetailSite
        Its place names the near plane first.
    runs : tuple[float, float]
        Onto the near and the far plane, metres; less where they are smaller.
    at : float or None
        Place along the edge that is to be in its middle, as far as it can be; else the
        middle of the edge.

    Raises
    ------
    LayoutError
        Where the edge does not part two planes.
    """
    edge = site.roof.edge(site.place.edge)
    if len(site.place.planes) != 2:
        raise LayoutError("does not part two planes", where=f"edges[{edge.id}]")
    near, far = (site.roof.plane(plane) for plane in site.place.planes)
    width = min(site.options.width.metres, edge.length)
    wanted = edge.length / 2.0 if at is None else at
    middle = min(max(wanted, width / 2.0), edge.length - width / 2.0)
    start, end = (np.array(point) for point in edge.ends)
    way = (end - start) / math.dist(*edge.ends)
    ends = [(start + (middle + k * width / 2.0) * way).tolist() for k in (-1.0, 1.0)]
    (ax, ay, az), (bx, by, bz) = ends
    frame = frame_at_break(((ax, ay, az), (bx, by, bz)), near, far)
    size = (
        width,
        min(runs[0], room_on(near, frame.origin, frame.near)),
        min(runs[1], room_on(far, frame.origin, frame.far)),
    )
    return CutOut(
        edge=edge,
        middle=middle,
        turned=_same_way(frame, way),
        work=open_build(site, frame, size),
    )


def strip_of(site: DetailSite, rule: str) -> LaidStrip:
    """Return a strip of the place's edge as the layout has it.

    Raises
    ------
    LayoutError
        Where it holds none.
    """
    edge = site.place.edge
    found = [strip for strip in site.layout.strips if strip.edge == edge and strip.rule == rule]
    if not found:
        raise LayoutError(
            f"the layout holds no {rule!r} here",
            where=f"edges[{edge}]",
            hint=f"give one of its planes an assembly with the strip {rule!r}",
        )
    return found[0]


def _same_way(frame: Frame, way: Floats) -> float:
    return 1.0 if float(np.array(frame.along) @ way) > 0.0 else -1.0
