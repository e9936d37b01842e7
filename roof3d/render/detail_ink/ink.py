"""Lines of a layered detail: rims that are seen, lap edges that are buried, trails."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from itertools import pairwise

import numpy as np

from roof3d.details.model import Piece, PieceKind
from roof3d.render.camera import Camera, Floats
from roof3d.render.detail_ink.palette import LIGHT, RIM, Theme
from roof3d.render.passes import FINE, Raster
from roof3d.render.sheet import Pixel, Sheet
from roof3d.render.visibility import Run, split_lines
from roof3d.scene.model import Line, Part

_THIN = frozenset({PieceKind.DECK, PieceKind.FRAMING, PieceKind.FASTENER})
_THINNEST_DASHED = 0.9
"""Pixels: a thinner broken line is lost among granules."""
_SHORTEST_DASHED = 8.0
"""In widths of a full line."""
_BESIDE = 9.0
"""Pixels within which two dashed lines are one and the same to the eye."""


def ink_rims(
    sheet: Sheet,
    raster: Raster,
    camera: Camera,
    parts: Sequence[tuple[Piece, Part]],
    layer_of: Mapping[int, int],
    weight: float,
    *,
    lifted: bool = True,
) -> None:
    """Ink what is seen of every rim; dash sheet edges that lie buried in their own layer.

    At rest those are dashed too that lie under a sheet of their own kind laid later: of an
    end lap, of flashing on the field.

    Parameters
    ----------
    layer_of : Mapping[int, int]
        Layer by the part number in ``raster``.
    weight : float
        Width of a full line, pixels.
    lifted : bool
        Whether layers stand apart.
    """
    kind_of = {piece.layer: piece.material for piece, _ in parts if piece.kind is PieceKind.SHEET}
    seen: dict[bool, list[tuple[Pixel, Pixel]]] = {True: [], False: []}
    buried: list[tuple[Pixel, Pixel]] = []
    rims = [(piece, rim) for piece, part in parts for rim in part.rims]
    found = iter(split_lines(raster, camera, _segments([rim for _, rim in rims]), shortest=1.0))
    for piece, rim in rims:
        for _ in pairwise(rim):
            for run in next(found):
                if run.visible:
                    seen[piece.kind in _THIN].append((run.start, run.end))
                elif piece.kind is PieceKind.SHEET and run.length >= _SHORTEST_DASHED * weight:
                    over = _hider(raster, run, layer_of)
                    alike = over > piece.layer and kind_of.get(over) == piece.material
                    if (len(rim) == 2 and over == piece.layer) or (alike and not lifted):
                        buried.append((run.start, run.end))
    sheet.lines(seen[False], width=weight, ink=RIM, order=3.0)
    sheet.lines(seen[True], width=0.6 * weight, ink=RIM, alpha=0.85, order=2.9)
    sheet.lines(
        _apart(buried),
        width=max(0.75 * weight, _THINNEST_DASHED),
        ink=RIM,
        dash=(6.0 * weight, 4.0 * weight),
        alpha=0.75,
        order=2.8,
    )


def ink_trails(
    sheet: Sheet,
    raster: Raster,
    camera: Camera,
    lines: Sequence[Line],
    weight: float,
    *,
    theme: Theme = LIGHT,
) -> None:
    """Dash the trails from each corner to its place, where nothing is in front."""
    split = split_lines(raster, camera, [line.ends for line in lines])
    runs = [(run.start, run.end) for line in split for run in line if run.visible]
    sheet.lines(
        runs,
        width=0.8 * weight,
        ink=theme.trail,
        dash=(5.0 * weight, 5.0 * weight),
        order=2.5,
    )


def _segments(rims: Sequence[Floats]) -> Floats:
    """Every straight piece of every rim, (n, 2, 3)."""
    if not rims:
        return np.empty((0, 2, 3))
    points = np.concatenate(rims)
    within = np.ones(len(points) - 1, dtype=np.bool_)
    within[np.cumsum([len(rim) for rim in rims[:-1]], dtype=np.int64) - 1] = False
    segments: Floats = np.stack((points[:-1], points[1:]), axis=1)[within]
    return segments


def _hider(raster: Raster, run: Run, layer_of: Mapping[int, int]) -> int:
    """Layer in front of the middle of a hidden run; 0 where there is none."""
    x, y = (run.start[0] + run.end[0]) / 2.0, (run.start[1] + run.end[1]) / 2.0
    faces = raster.front.pick(np.array([int(y * FINE)]), np.array([int(x * FINE)]))
    return layer_of.get(int(raster.numbers[faces[0]]), 0)


def _apart(runs: list[tuple[Pixel, Pixel]]) -> list[tuple[Pixel, Pixel]]:
    """Leave out a line that runs close along one kept that is longer: a sheet's two edges."""
    kept: list[tuple[Pixel, Pixel]] = []
    for run in sorted(runs, key=lambda run: -math.dist(*run)):
        if not any(_runs_along(run, other) for other in kept):
            kept.append(run)
    return kept


def _runs_along(run: tuple[Pixel, Pixel], other: tuple[Pixel, Pixel]) -> bool:
    """Whether both ends of a line lie close beside another one."""
    (ax, ay), (bx, by) = other
    length = math.dist(*other)
    for x, y in run:
        along = ((x - ax) * (bx - ax) + (y - ay) * (by - ay)) / length
        off = abs((x - ax) * (by - ay) - (y - ay) * (bx - ax)) / length
        if off > _BESIDE or not -_BESIDE < along < length + _BESIDE:
            return False
    return True
