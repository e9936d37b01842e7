"""Every line at which something about the roof may change, for the arrangement."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from roof3d.geometry.arrangement import Segment
from roof3d.geometry.plane import HeightPlane, PlanLine, Point2, crossing, line_through
from roof3d.geometry.polygon import chord
from roof3d.roof.sections import Face, SectionRoof
from roof3d.tolerance import Tolerance


@dataclass(frozen=True, slots=True)
class Cut:
    """What goes through the roof: plan outline, counterclockwise and convex.

    ``through`` cuts every roof over the place, else the topmost alone; ``cap`` is the top
    of its body where that is known.
    """

    ring: tuple[Point2, ...]
    through: bool
    cap: HeightPlane | None = None


@dataclass(frozen=True, slots=True)
class _Drawn:
    """A segment and the sections that it belongs to."""

    segment: Segment
    sections: tuple[int, ...]


def draw_linework(
    sections: Sequence[SectionRoof],
    cuts: Sequence[Cut],
    *,
    tol: Tolerance,
    soffit: float | None = None,
) -> tuple[Segment, ...]:
    """Draw face boundaries, walls, crossings, openings and the cuts across overhangs.

    Parameters
    ----------
    sections : sequence of SectionRoof
        In local coordinates.
    cuts : sequence of Cut
        What goes through the roof.
    tol : Tolerance
    soffit : float, optional
        Thickness of the overhangs, metres: draws also where their undersides cross
        other roofs, as the closed solid needs it.

    Returns
    -------
    tuple[Segment, ...]
    """
    drawn: list[_Drawn] = []
    for number, section in enumerate(sections):
        rings = [ring for face in section.faces for ring in (face.ring, *face.holes)]
        for ring in (*section.walls, *rings):
            drawn.extend(_Drawn(piece, (number,)) for piece in _boundary(ring))
    faces = [(n, face) for n, section in enumerate(sections) for face in section.faces]
    near = _near_pairs(sections, faces, tol)
    drawn.extend(_crossings(faces, near, soffit, tol))
    drawn.extend(_base_lines(sections, faces, soffit, tol))
    neighbours = {frozenset((faces[i][0], faces[j][0])) for i, j in near}
    backing = list(_overhang_cuts(sections, neighbours, drawn, tol))
    rims = [piece for cut in cuts for piece in _boundary(cut.ring)]
    heads = _cap_lines(cuts, faces, tol)
    return tuple([d.segment for d in drawn] + backing + rims + heads)


def _boundary(ring: Sequence[Point2]) -> Iterator[Segment]:
    for a, b in zip(ring, (*ring[1:], ring[0]), strict=True):
        yield Segment(a, b, line_through(a, b))


def _near_pairs(
    sections: Sequence[SectionRoof], faces: Sequence[tuple[int, Face]], tol: Tolerance
) -> list[tuple[int, int]]:
    """Pairs of faces of different sections that overlap or touch in plan."""
    if len(sections) == 1:
        return []
    polygons = shapely.polygons([shapely.linearrings(face.ring) for _, face in faces])
    tree = shapely.STRtree(polygons)
    found = tree.query(polygons, predicate="dwithin", distance=tol.sliver)
    return [
        (i, j)
        for i, j in sorted(zip(found[0].tolist(), found[1].tolist(), strict=True))
        if i < j and faces[i][0] != faces[j][0]
    ]


def _common_chord(
    rings: Sequence[Sequence[Point2]], line: PlanLine, tol: Tolerance
) -> Segment | None:
    """Return the piece of a line that lies in all rings, run on at both ends."""
    dx, dy = line.direction
    lo, hi = -math.inf, math.inf
    for ring in rings:
        piece = chord(ring, line, reach=tol.overshoot)
        if piece is None:
            return None
        lo = max(lo, piece[0][0] * dx + piece[0][1] * dy)
        hi = min(hi, piece[1][0] * dx + piece[1][1] * dy)
    if hi <= lo:
        return None
    ox, oy = line.nx * line.offset, line.ny * line.offset
    return Segment((ox + lo * dx, oy + lo * dy), (ox + hi * dx, oy + hi * dy), line)


def _crossings(
    faces: Sequence[tuple[int, Face]],
    near: Sequence[tuple[int, int]],
    soffit: float | None,
    tol: Tolerance,
) -> Iterator[_Drawn]:
    drops = (0.0,) if soffit is None else (0.0, soffit, -soffit)
    for i, j in near:
        (first, a), (second, b) = faces[i], faces[j]
        for drop in drops:
            line = crossing(a.plane.raised(-drop), b.plane, slope=tol.slope)
            piece = line and _common_chord((a.ring, b.ring), line, tol)
            if piece:
                yield _Drawn(piece, (first, second))


def _base_lines(
    sections: Sequence[SectionRoof],
    faces: Sequence[tuple[int, Face]],
    soffit: float | None,
    tol: Tolerance,
) -> Iterator[_Drawn]:
    drops = (0.0,) if soffit is None else (0.0, soffit)
    for number, section in enumerate(sections):
        if math.isinf(section.base):
            continue
        floor = HeightPlane(0.0, 0.0, section.base)
        for (other, face), drop in itertools.product(faces, drops):
            line = crossing(face.plane.raised(-drop), floor, slope=tol.slope)
            piece = line and _common_chord((face.ring, section.walls[0]), line, tol)
            if piece:
                yield _Drawn(piece, (number, other))


def _cap_lines(
    cuts: Sequence[Cut], faces: Sequence[tuple[int, Face]], tol: Tolerance
) -> list[Segment]:
    pieces = []
    for cut, (_, face) in itertools.product(cuts, faces):
        line = crossing(face.plane, cut.cap, slope=tol.slope) if cut.cap else None
        piece = line and _common_chord((cut.ring, face.ring), line, tol)
        if piece:
            pieces.append(piece)
    return pieces


def _overhang_cuts(
    sections: Sequence[SectionRoof],
    neighbours: set[frozenset[int]],
    drawn: Sequence[_Drawn],
    tol: Tolerance,
) -> Iterator[Segment]:
    """Square cuts across an overhang from every event on the wall line beneath it."""
    for number, section in enumerate(sections):
        if not any(number in pair for pair in neighbours):
            continue
        others = [d.segment for d in drawn if d.sections != (number,)]
        for a, b, depth in section.wall_edges():
            wall = line_through(a, b)
            if depth <= tol.sliver:
                continue
            for event in (a, b, *_events(a, b, others, tol)):
                reach = depth + tol.overshoot
                near = (event[0] + wall.nx * tol.overshoot, event[1] + wall.ny * tol.overshoot)
                far = (event[0] - wall.nx * reach, event[1] - wall.ny * reach)
                dx, dy = wall.direction
                across = PlanLine(dx, dy, dx * event[0] + dy * event[1])
                yield Segment(near, far, across)


def _events(a: Point2, b: Point2, others: Sequence[Segment], tol: Tolerance) -> Iterator[Point2]:
    """Points of the wall piece a-b where another section's line crosses it."""
    length = math.dist(a, b)
    dx, dy = (b[0] - a[0]) / length, (b[1] - a[1]) / length
    ends = np.array([(*s.a, *s.b) for s in others])
    sa = dx * (ends[:, 1] - a[1]) - dy * (ends[:, 0] - a[0])
    sb = dx * (ends[:, 3] - a[1]) - dy * (ends[:, 2] - a[0])
    lengths = np.hypot(ends[:, 2] - ends[:, 0], ends[:, 3] - ends[:, 1])
    steep = np.abs(sa - sb) > tol.parallel * lengths
    hit = steep & (np.minimum(sa, sb) <= tol.overshoot) & (np.maximum(sa, sb) >= -tol.overshoot)
    for k in np.flatnonzero(hit):
        line = others[int(k)].line
        rate = line.nx * dx + line.ny * dy
        along = -line.side(a) / rate
        if -tol.overshoot <= along <= length + tol.overshoot:
            yield (a[0] + along * dx, a[1] + along * dy)
