"""Sheets that lie over laps running both ways: heights on a grid, straight from line to line."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
import shapely
from numpy.typing import NDArray

from roof3d.details.build_up import BuildUp
from roof3d.details.frame import Face, Floats
from roof3d.details.model import INCH, PieceKind
from roof3d.details.shapes.fit import split_at_line
from roof3d.details.shapes.patches import Placer, patch_body
from roof3d.details.shapes.script import Script, moved, recorded, recorded_ahead
from roof3d.details.shapes.solids import Body

Bend = Callable[[Floats, Floats], Floats]
"""From places (n, 2) in (u, s) and heights (n,) to space, where a cant parts the faces."""
Cells = NDArray[np.bool_]
_STEPS = (-1.0, 1.0, -2.0, 2.0, -3.0, 3.0)
"""Grid lines beside an edge, in ramps: each piece over it comes down one cell further out."""


@dataclass(slots=True, eq=False, kw_only=True)
class Quilt:
    """Pieces laid on one grid, each over what its cells hold.

    In each cell a piece lies no lower than the highest place of what is below it in that
    cell, so none dips into another; it comes down from an edge over the next cell.

    Attributes
    ----------
    work : BuildUp
        Takes the pieces; its line is the grid's s = 0.
    us, ss : (n,) float64
        Grid lines.
    bend : Bend or None
        Where the faces do not simply meet at the line.
    ground : (nu - 1, ns - 1) float64
        Highest place of each cell so far.
    """

    work: BuildUp
    us: Floats
    ss: Floats
    bend: Bend | None = None
    ground: Floats = field(init=False)
    boxes: NDArray[np.object_] = field(init=False)

    def __post_init__(self) -> None:
        self.ground = np.zeros((len(self.us) - 1, len(self.ss) - 1))
        u, s = np.meshgrid(self.us, self.ss, indexing="ij")
        self.boxes = shapely.box(u[:-1, :-1], s[:-1, :-1], u[1:, 1:], s[1:, 1:])
        self.script.fresh.append(self.clear)

    @property
    def script(self) -> Script:
        """Return the script of its build-up."""
        return self.work.script

    def latest(self) -> tuple[str, int]:
        """Return id and layer of the piece laid last."""
        return self.work.latest()

    def clear(self) -> None:
        """Forget what was laid."""
        self.ground = np.zeros_like(self.ground)

    @recorded
    def lay(
        self,
        piece_id: str,
        name: str,
        kind: PieceKind,
        layer: int,
        material: str,
        outline: shapely.Polygon,
        *,
        thickness: float = 0.0,
        more: Sequence[Body] = (),
    ) -> bool:
        """Lay a piece of any outline in (u, s); returns whether any of it is on the grid.

        ``thickness`` is given for what is no catalog material; ``more`` are bodies of the same
        piece that hang beyond the grid.
        """
        tol = self.work.tol
        window = shapely.box(self.us[0], self.ss[0], self.us[-1], self.ss[-1])
        parts = [
            shapely.orient_polygons(part)
            for part in shapely.get_parts(shapely.intersection(moved(outline, self.script), window))
            if part.geom_type == "Polygon" and part.area > tol.merge
        ]
        if not parts:
            return False
        covered = self._covered(shapely.union_all(parts))
        thick = thickness or self.work.thickness(material)
        sides = self._sides(covered)
        under = [self._corners(side) for side in sides]
        for side, low in zip(sides, under, strict=True):
            high = np.maximum.reduce([low[:-1, :-1], low[1:, :-1], low[:-1, 1:], low[1:, 1:]])
            self.ground[side] = high[side] + thick
        place = self._placer(sides, under, thick)
        creases = self._creases(covered, place)
        body = patch_body(parts, (1.0, 0.0), (), place, creases=creases, tol=tol)
        body = replace(body, rims=tuple(_in_halves(body.rims)))
        faces = split_at_line(parts, tol=tol)
        self.work.solid(piece_id, name, kind, layer, material, [body, *more], faces)
        self._raise(covered)
        return True

    @recorded_ahead
    def level(self, outline: shapely.Polygon) -> None:
        """Bridge what lies under an outline along the line, as a straight length of metal does."""
        covered = self._covered(outline)
        row = np.where(covered, self.ground, 0.0).max(axis=0)
        self.ground = np.where(covered, row[None, :], self.ground)

    def _covered(self, outline: shapely.Geometry) -> Cells:
        """Cells of which an outline covers any."""
        shapely.prepare(outline)
        covered = np.asarray(shapely.covers(outline, self.boxes))
        rim = shapely.intersects(outline, self.boxes) & ~covered
        shared = shapely.area(shapely.intersection(self.boxes[rim], outline))
        covered[rim] = shared > self.work.tol.merge**2
        return covered

    def _creases(self, covered: Cells, place: Placer) -> list[shapely.LineString]:
        """Stretches of grid lines along which a piece turns: all others it crosses straight."""
        u, s = np.meshgrid(self.us, self.ss, indexing="ij")
        flat = np.column_stack((u.ravel(), s.ravel()))
        points = np.stack([place(flat, top).reshape(*u.shape, 3) for top in (False, True)])
        across = points[:, 1:] - points[:, :-1]
        twisted = _beyond(across[:, :, 1:] - across[:, :, :-1], self.work.tol.cut_grid)
        turns = [
            _turns(
                at,
                np.moveaxis(points, axis, 1),
                np.moveaxis(twisted, axis - 1, 0),
                np.moveaxis(covered, axis - 1, 0),
                self.work.tol.cut_grid,
            )
            for at, axis in ((self.us, 1), (self.ss, 2))
        ]
        if self.bend is None and self.work.folded and not self.work.frame.convex:
            # Drawn thick, a sheet does not run straight into an inside fold.
            turns[0] |= covered[:-1] | covered[1:]
        lines = [((x, self.ss[a]), (x, self.ss[b])) for x, a, b in _stretches(self.us, turns[0])]
        lines += [((self.us[a], y), (self.us[b], y)) for y, a, b in _stretches(self.ss, turns[1])]
        # What lies on a twisted cell is folded along the same diagonal, so none dips into another.
        lines += [
            ((self.us[i], self.ss[j]), (self.us[i + 1], self.ss[j + 1]))
            for i, j in np.argwhere(twisted & covered)
        ]
        return list(shapely.linestrings(lines)) if lines else []

    def _sides(self, covered: Cells) -> list[Cells]:
        """Cells on the near and on the far face where pieces fold over the line, else all."""
        if self.bend is not None or not self.work.folded:
            return [covered]
        near = self.ss[1:] <= self.work.tol.merge
        return [covered & near[None, :], covered & ~near[None, :]]

    def _corners(self, covered: Cells) -> Floats:
        """Height of a new piece at each grid point: the highest of the cells that it shares."""
        cells = np.pad(np.where(covered, self.ground, 0.0), 1)
        corners: Floats = np.maximum.reduce(
            [cells[:-1, :-1], cells[1:, :-1], cells[:-1, 1:], cells[1:, 1:]]
        )
        return corners

    def _placer(
        self, sides: Sequence[Cells], under: Sequence[Floats], thick: float
    ) -> Callable[[Floats, bool], Floats]:
        frame, merge = self.work.frame, self.work.tol.merge
        beyond = self._corners(np.broadcast_to(self.ss[:-1] >= -merge, self.ground.shape))
        only = [face for face, side in zip(Face, sides, strict=False) if side.any()]

        def place(points: Floats, top: bool) -> Floats:  # noqa: FBT001
            lift = thick if top else 0.0
            u, s = points[:, 0], np.where(np.abs(points[:, 1]) <= merge, 0.0, points[:, 1])
            heights = [self._between(low, u, s) + lift for low in under]
            if self.bend is not None:
                return self.bend(np.column_stack((u, s)), heights[0])
            if len(sides) == 1:
                return frame.place(u, s, heights[0])
            if len(only) == 1:
                face = only[0]
                if face is Face.NEAR and frame.convex:
                    # Cut off plumb, flush with what hangs on the board.
                    return frame.place(u, s, heights[0], self._between(beyond, u, s))
                return frame.on_face(face, u, s, heights[0 if face is Face.NEAR else 1])
            return frame.place(u, s, heights[0], heights[1])

        return place

    def _between(self, corners: Floats, u: Floats, s: Floats) -> Floats:
        i = np.clip(np.searchsorted(self.us, u, side="right") - 1, 0, len(self.us) - 2)
        j = np.clip(np.searchsorted(self.ss, s, side="right") - 1, 0, len(self.ss) - 2)
        a = (u - self.us[i]) / (self.us[i + 1] - self.us[i])
        b = (s - self.ss[j]) / (self.ss[j + 1] - self.ss[j])
        low = corners[i, j] * (1.0 - a) + corners[i + 1, j] * a
        high = corners[i, j + 1] * (1.0 - a) + corners[i + 1, j + 1] * a
        found: Floats = low * (1.0 - b) + high * b
        return found

    def _raise(self, covered: Cells) -> None:
        """Tell the build-up how high it stands, for nails and measures: a row of cells a top."""
        for j, (low, high) in enumerate(itertools.pairwise(self.ss.tolist())):
            here = covered[:, j]
            if not here.any():
                continue
            face = Face.NEAR if high <= self.work.tol.merge else Face.FAR
            first, last = np.flatnonzero(here)[[0, -1]]
            row = shapely.box(self.us[first], low, self.us[last + 1], high)
            height = np.repeat(self.ground[first : last + 1, j], 2)
            at = np.repeat(self.us[first : last + 2], 2)[1:-1]
            self.work.raise_ground(face, row, (1.0, 0.0), at.tolist(), height.tolist())


def _in_halves(rims: Sequence[Floats]) -> list[Floats]:
    """Give straight edges a middle: only an edge of two points is dashed where it is buried.

    That is for edges that run through; those of a quilt would be dashed beside themselves.
    """
    return [
        np.stack((rim[0], rim.mean(axis=0), rim[1])) if len(rim) == 2 and k % 3 < 2 else rim
        for k, rim in enumerate(rims)
    ]


def _beyond(gaps: Floats, tol: float) -> Cells:
    """Whether any coordinate, of underside or top, is off by more than a tolerance."""
    found: Cells = np.abs(gaps).max(axis=(0, 3)) > tol
    return found


def _turns(at: Floats, points: Floats, twisted: Cells, covered: Cells, tol: float) -> Cells:
    """Whether a piece turns at each inner grid line, from each line across to the next."""
    steps = np.diff(at)
    slopes = np.diff(points, axis=1) / steps[None, :, None, None]
    least = np.minimum(steps[1:], steps[:-1])[None, :, None, None]
    turned = _beyond((slopes[:, 1:] - slopes[:, :-1]) * least, tol)
    before, after = covered[:-1], covered[1:]
    found: Cells = turned[:, :-1] | turned[:, 1:] | twisted[:-1] | twisted[1:] | (before != after)
    return found & (before | after)


def _stretches(at: Floats, turns: Cells) -> list[tuple[float, int, int]]:
    """Each grid line with the first and last of the lines across between which it turns."""
    ends = np.diff(np.pad(turns, ((0, 0), (1, 1))).astype(np.int8), axis=1)
    rows, starts = np.nonzero(ends == 1)
    _, lasts = np.nonzero(ends == -1)
    return [
        (float(at[row + 1]), int(a), int(b)) for row, a, b in zip(rows, starts, lasts, strict=True)
    ]


def open_quilt(
    work: BuildUp,
    us: Sequence[float],
    ss: Sequence[float],
    *,
    bend: Bend | None = None,
    ramp: float = 1.0 * INCH,
    fine: tuple[Sequence[float], Sequence[float]] = ((), ()),
    span: tuple[float, float] | None = None,
) -> Quilt:
    """Return an empty quilt on a build-up's cut-out.

    Parameters
    ----------
    work : BuildUp
    us, ss : sequence of float
        Where edges of pieces lie; those outside the cut-out are left out.
    bend : Bend or None
    ramp : float
        Over which a piece comes down from an edge, metres.
    fine : two sequences of float
        Further grid lines, for edges that run askew.
    span : tuple of float or None
        From where to where along the line, where that is more than the cut-out.
    """
    start, end = span or work.span
    return Quilt(
        work=work,
        us=_lines(us, fine[0], (start, end), ramp),
        ss=_lines([*ss, 0.0], fine[1], (-work.size[1], work.size[2]), ramp),
        bend=bend,
    )


def _lines(
    marks: Sequence[float], fine: Sequence[float], ends: tuple[float, float], ramp: float
) -> Floats:
    """Grid lines at all edges, and one a ramp away from each where there is room for it."""
    low, high = ends
    least = ramp / 64.0
    kept: list[float] = [low, high]
    for wanted, room in (
        ((m for m in marks), least),
        ((f for f in fine), least),
        ((m + k * ramp for m in marks for k in _STEPS), 0.7 * ramp),
    ):
        for line in sorted(wanted):
            if low < line < high and min(abs(line - other) for other in kept) >= room:
                kept.append(line)
    return np.array(sorted(kept))
