"""Closed solids from developed outlines: everything is a prism along the break, or a small disc."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from roof3d.details.drape import Laid
from roof3d.details.model import Floats, Frame

_DISC_SIDES = 8


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Body:
    """A closed mesh with the lines to be inked."""

    vertices: Floats
    triangles: NDArray[np.int64]
    rims: tuple[Floats, ...]


def prisms(frame: Frame, laid: Laid, spans: Sequence[tuple[float, float]]) -> Body:
    """Return one closed body a span, with the cross-section of a laid piece.

    Parameters
    ----------
    frame : Frame
    laid : Laid
        Developed cross-section; ``under`` below ``over`` everywhere.
    spans : sequence of (float, float)
        From where to where along the break, the first below the second; they may not meet.

    Returns
    -------
    Body
        Wound counterclockwise seen from outside. Its rims: the closed outline at both ends
        of each span, and the four edges that run along it.
    """
    count = len(laid.at)
    vertices, triangles, rims = [], [], []
    for index, (start, end) in enumerate(spans):
        corners = [
            frame.place(np.full(count, across), laid.at, height)
            for across in (start, end)
            for height in (laid.under, laid.over)
        ]
        vertices += corners
        triangles.append(_prism_triangles(count) + 4 * count * index)
        for under, over in (corners[:2], corners[2:]):
            rims.append(np.concatenate((under, over[::-1], under[:1])))
        rims += [
            np.array([corners[k][i], corners[k + 2][i]]) for k in (0, 1) for i in (0, count - 1)
        ]
    return Body(
        vertices=np.concatenate(vertices),
        triangles=np.concatenate(triangles),
        rims=tuple(rims),
    )


def _prism_triangles(count: int) -> NDArray[np.int64]:
    """Triangles of a prism whose rows are: under and over at the start, under and over at the end.

    Each row has ``count`` points in order of the developed coordinate.
    """
    rows = np.arange(4 * count, dtype=np.int64).reshape(4, count)
    near_under, near_over, far_under, far_over = rows
    strips = [
        _strip(near_over, far_over),
        _strip(far_under, near_under),
        _strip(near_under, near_over),
        _strip(far_over, far_under),
    ]
    caps = [
        _quad(near_under[0], near_over[0], far_over[0], far_under[0]),
        _quad(near_under[-1], far_under[-1], far_over[-1], near_over[-1]),
    ]
    # Seen from the start's side the rows run from the low plane to the steep one.
    return np.concatenate(strips + caps)[:, ::-1]


def _strip(one: NDArray[np.int64], two: NDArray[np.int64]) -> NDArray[np.int64]:
    """Two triangles a step between two rows of points."""
    a, b, c, d = one[:-1], one[1:], two[1:], two[:-1]
    return np.concatenate((np.column_stack((a, b, c)), np.column_stack((a, c, d))))


def _quad(a: np.int64, b: np.int64, c: np.int64, d: np.int64) -> NDArray[np.int64]:
    return np.array([[a, b, c], [a, c, d]], dtype=np.int64)


def cross_section(frame: Frame, laid: Laid) -> Floats:
    """Return the outline (k, 2) of a laid piece in section coordinates, counterclockwise."""
    zero = np.zeros(len(laid.at))
    under = frame.section(frame.place(zero, laid.at, laid.under))
    over = frame.section(frame.place(zero, laid.at, laid.over))
    return np.concatenate((under, over[::-1]))


def discs(
    frame: Frame,
    centres: Sequence[tuple[float, float, float]],
    *,
    radius: float,
    height: float,
) -> Body:
    """Return one flat octagonal disc a centre (across, developed, height of its underside).

    None may reach over the break.
    """
    turn = np.arange(_DISC_SIDES) * (2.0 * math.pi / _DISC_SIDES)
    vertices, triangles, rims = [], [], []
    for index, (across, at, base) in enumerate(centres):
        u, s = across + radius * np.cos(turn), at + radius * np.sin(turn)
        under = frame.place(u, s, np.full(_DISC_SIDES, base))
        over = frame.place(u, s, np.full(_DISC_SIDES, base + height))
        vertices += [under, over]
        triangles.append(_disc_triangles() + 2 * _DISC_SIDES * index)
        rims.append(np.concatenate((over, over[:1])))
    return Body(
        vertices=np.concatenate(vertices), triangles=np.concatenate(triangles), rims=tuple(rims)
    )


def _disc_triangles() -> NDArray[np.int64]:
    ring = np.arange(_DISC_SIDES, dtype=np.int64)
    following = np.roll(ring, -1)
    over = ring + _DISC_SIDES
    sides = np.concatenate(
        (
            np.column_stack((ring, following, following + _DISC_SIDES)),
            np.column_stack((ring, following + _DISC_SIDES, over)),
        )
    )
    fan = np.column_stack((np.zeros(_DISC_SIDES - 2, np.int64), ring[1:-1], ring[2:]))
    return np.concatenate((sides, fan + _DISC_SIDES, fan[:, ::-1]))
