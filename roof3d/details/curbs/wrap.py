"""Sheets over a broken line, as over roof, cant, wall and coping: each on what its cells hold."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

import numpy as np
import shapely
from numpy.typing import NDArray

from roof3d.details.frame import Floats
from roof3d.details.model import PieceKind
from roof3d.details.shapes.fit import split_at_line
from roof3d.details.shapes.solids import Body
from roof3d.details.shingle.field import Field
from roof3d.tolerance import DEFAULT, Tolerance

Reach = tuple[float, float]
_INKED = 8
"""What is carried through more stations is taken for round: its sections are not inked."""


@dataclass(slots=True, eq=False, kw_only=True)
class Wrap:
    """A section with what lies on it so far.

    Attributes
    ----------
    marks : (n,) float64
        Where along the line it bends, metres as the layout counts them: into corners and up.
    line : (n, 2) float64
        The same places in the section: across and up. What lies on the line is to its left.
    cuts : (m,) float64
        Ends of cells along the line.
    ground : (m - 1,) float64
        Highest place of each cell so far.
    """

    marks: Floats
    line: Floats
    cuts: Floats
    tol: Tolerance = DEFAULT
    ground: Floats = field(init=False)

    def __post_init__(self) -> None:
        self.ground = np.zeros(len(self.cuts) - 1)

    def lay(self, reach: Reach, thick: float) -> Floats:
        """Lay a sheet from one place along the line to another; returns its outline (k, 2)."""
        first, last = (int(np.argmin(np.abs(self.cuts - end))) for end in reach)
        cells = self.ground[first:last]
        under = np.maximum(np.append(cells, 0.0), np.insert(cells, 0, 0.0))
        self.ground[first:last] = np.maximum(under[:-1], under[1:]) + thick
        at = self.cuts[first : last + 1]
        low = [self.point(t, h) for t, h in zip(at, under, strict=True)]
        high = [self.point(t, h + thick) for t, h in zip(at, under, strict=True)]
        return _ring([*low, *reversed(high)], self.tol)

    def top(self, at: float) -> float:
        """Return how high what has been laid stands at a place along the line."""
        cell = int(
            np.clip(np.searchsorted(self.cuts, at, side="right") - 1, 0, len(self.ground) - 1)
        )
        return float(self.ground[cell])

    def point(self, at: float, height: float) -> Floats:
        """Return a place of the section; in a corner what is high gives way to the other side."""
        marks, line = self.marks, self.line
        k = int(np.clip(np.searchsorted(marks, at, side="right") - 1, 0, len(marks) - 2))
        near = int(np.argmin(np.abs(marks - at)))
        if abs(float(marks[near] - at)) <= self.tol.merge and 0 < near < len(marks) - 1:
            corner: Floats = line[near] + height * self._mitre(near)
            return corner
        share = (at - marks[k]) / (marks[k + 1] - marks[k])
        length = float(np.linalg.norm(line[k + 1] - line[k]))
        low, high = (height * self._slant(j) for j in (k, k + 1))
        away = float(np.clip(share * length, min(low, length), max(length - high, 0.0)))
        way = (line[k + 1] - line[k]) / length
        found: Floats = line[k] + away * way + height * np.array((-way[1], way[0]))
        return found

    def _ways(self, corner: int) -> tuple[Floats, Floats]:
        a, b = (self.line[corner + j + 1] - self.line[corner + j] for j in (-1, 0))
        return a / np.linalg.norm(a), b / np.linalg.norm(b)

    def _mitre(self, corner: int) -> Floats:
        a, b = self._ways(corner)
        one, two = np.array((-a[1], a[0])), np.array((-b[1], b[0]))
        found: Floats = (one + two) / (1.0 + float(one @ two))
        return found

    def _slant(self, corner: int) -> float:
        """How far a place one metre high must keep off an inside corner; 0 at an outside one."""
        if not 0 < corner < len(self.marks) - 1:
            return 0.0
        a, b = self._ways(corner)
        turn = float(a[0] * b[1] - a[1] * b[0])
        return math.tan(math.asin(min(1.0, turn)) / 2.0) if turn > 0.0 else 0.0


def open_wrap(
    bends: Sequence[tuple[float, tuple[float, float]]],
    ends: Sequence[float],
    *,
    ramp: float,
) -> Wrap:
    """Return an empty wrap.

    Parameters
    ----------
    bends : sequence of (float, (float, float))
        Places along the line with where they lie in the section, both ends among them.
    ends : sequence of float
        Where sheets end along the line.
    ramp : float
        Over which a sheet comes down from an end below it, metres.
    """
    marks = np.array([at for at, _ in bends])
    low, high = float(marks[0]), float(marks[-1])
    kept = [*marks.tolist()]
    least = ramp / 32.0
    steps = [(e, least) for e in ends]
    steps += [(e + k * ramp, 0.6 * ramp) for e in ends for k in (-1.0, 1.0)]
    for at, room in steps:
        if low < at < high and min(abs(at - other) for other in kept) >= room:
            kept.append(at)
    return Wrap(
        marks=marks, line=np.array([place for _, place in bends]), cuts=np.array(sorted(kept))
    )


def lay_round(
    field: Field,
    number: int,
    role: str,
    fold: Body,
    *,
    hole: shapely.Polygon,
    stands: shapely.Polygon,
) -> None:
    """Lay a layer of the field with a hole in it, filled by what of it is folded there.

    ``stands`` is what goes through the roof: all but that is covered.
    """
    work, made = field.work, field.material(role)
    roof = shapely.box(work.span[0], -work.size[1], work.span[1], work.size[2])
    flat = roof.difference(hole)
    work.patch(f"{role}.1", made.name, PieceKind.SHEET, number, made.id, None, [flat], field.up)
    covers = split_at_line([roof.difference(stands)], tol=work.tol)
    work.join_last([fold], covers, hole.boundary)


def swept(ring: Floats, stations: Sequence[Callable[[Floats], Floats]], *, closed: bool) -> Body:
    """Return the body of an outline carried from station to station.

    Parameters
    ----------
    ring : (k, 2) float64
        Outline in a section, not closed.
    stations : sequence of callables
        Each turns places of the section (k, 2) into space (k, 3).
    closed : bool
        Whether the last station is followed by the first, as round a chimney.
    """
    count, turns = len(ring), len(stations)
    vertices = np.concatenate([station(ring) for station in stations])
    here = np.arange(count, dtype=np.int64)
    after = np.roll(here, -1)
    # The diagonal of a quad runs the same way above and below, so that sheets fit where it bends.
    step = ring[after] - ring
    outward = np.where(np.abs(step[:, 0]) > np.abs(step[:, 1]), step[:, 0], step[:, 1]) > 0.0
    pairs = [(k, (k + 1) % turns) for k in range(turns if closed else turns - 1)]
    triangles = []
    for k, m in pairs:
        a, b, c, d = here + k * count, after + k * count, after + m * count, here + m * count
        one = np.where(outward[:, None], np.column_stack((a, b, c)), np.column_stack((a, b, d)))
        two = np.where(outward[:, None], np.column_stack((a, c, d)), np.column_stack((b, c, d)))
        triangles += [one, two]
    if not closed:
        cap = _cap(ring)
        triangles += [cap[:, ::-1], cap + (turns - 1) * count]
    faces = np.concatenate(triangles)
    a, b, c = (vertices[faces[:, k]] - vertices[0] for k in range(3))
    if float(np.einsum("ij,ij->i", a, np.cross(b, c)).sum()) < 0.0:
        faces = faces[:, ::-1].copy()
    return Body(
        vertices=vertices, triangles=faces, rims=tuple(_rims(ring, vertices, turns, closed))
    )


def _rims(ring: Floats, vertices: Floats, turns: int, closed: bool) -> list[Floats]:  # noqa: FBT001
    """Inked: the outline at each station, and the two long edges at either end of the sheet."""
    count = len(ring)
    whole = vertices.reshape(turns, count, 3)
    few = turns <= _INKED
    rims = [np.concatenate((one, one[:1])) for one in whole] if few else []
    half = count // 2
    for k in (0, half - 1, half, count - 1):
        line = whole[:, k]
        rims.append(np.concatenate((line, line[:1])) if closed else line)
    return rims


def _cap(ring: Floats) -> NDArray[np.int64]:
    number = {(x, y): k for k, (x, y) in enumerate(ring.tolist())}
    found = []
    for part in shapely.get_parts(shapely.constrained_delaunay_triangles(shapely.Polygon(ring))):
        corners = shapely.get_coordinates(part)[:3]
        (ax, ay), (bx, by) = corners[1] - corners[0], corners[2] - corners[0]
        a, b, c = (number[(x, y)] for x, y in corners.tolist())
        found.append((a, b, c) if ax * by - ay * bx > 0.0 else (a, c, b))
    return np.array(found, dtype=np.int64)


def _ring(points: Sequence[Floats], tol: Tolerance) -> Floats:
    """Drop places that fall together."""
    kept: list[Floats] = []
    for point in points:
        if not kept or float(np.linalg.norm(point - kept[-1])) > tol.merge:
            kept.append(point)
    if float(np.linalg.norm(kept[0] - kept[-1])) <= tol.merge:
        kept.pop()
    return np.array(kept)
