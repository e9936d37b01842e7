"""Which fronts a reflex vertex may run into, and when.

The line of a front never changes, only which part of it is alive. So the heights at which a
vertex crosses the lines are found once, for the vertex's whole life, and are tried in order.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from roof3d.skeleton.fronts import Front, Number, Slack
from roof3d.skeleton.vertex import Vertex

FEW = 24
"""Up to this many fronts a plain loop beats array work."""


class FrontTable:
    """All fronts as float rows, for a quick look at every line at once."""

    def __init__(self, fronts: Sequence[Front], slack: Slack) -> None:
        rows = np.array([(f.a, f.b, f.c, f.s) for f in fronts], dtype=np.float64)
        rows /= np.hypot(rows[:, 0], rows[:, 1])[:, np.newaxis]
        self._columns = rows.T.copy()
        self._rows = rows.tolist() if len(fronts) <= FEW else []
        self._fronts = fronts
        self._slack = slack

    def ahead(self, v: Vertex, now: Number, until: float) -> list[tuple[Number, int]]:
        """Return (height, edge) of the lines that v crosses from now to a height, latest first.

        In the exact kernel floats only reject; heights are exact.
        """
        start = self._start(v, now, until)
        found = self._looped(v, start) if self._rows else self._vectorised(v, start)
        if self._slack.exact:
            found = [
                (t, k) for t, k in ((self._exact(v, now, k), k) for _, k in found) if t is not None
            ]
        found.sort(reverse=True)
        return found

    def _start(self, v: Vertex, now: Number, until: float) -> tuple[float, ...]:
        """Place and move of v, and the bounds of the look, as floats."""
        late = self._slack.look_late * (1.0 + until) if math.isfinite(until) else 0.0
        x, y = v.at(now)
        move = (float(x), float(y), float(now), float(v.vx), float(v.vy))
        return (*move, until + late, -self._slack.look_behind)

    def _looped(self, v: Vertex, start: tuple[float, ...]) -> list[tuple[Number, int]]:
        x, y, t0, vx, vy, last, behind = start
        found: list[tuple[Number, int]] = []
        for k, (a, b, c, s) in enumerate(self._rows):
            rate = a * vx + b * vy - s
            if rate < 0.0 and k not in (v.left, v.right):
                gap = a * x + b * y - c - s * t0
                if gap >= behind and t0 - gap / rate <= last:
                    found.append((t0 - gap / rate, k))
        return found

    def _vectorised(self, v: Vertex, start: tuple[float, ...]) -> list[tuple[Number, int]]:
        x, y, t0, vx, vy, last, behind = start
        a, b, c, s = self._columns
        rate = a * vx + b * vy - s
        gap = a * x + b * y - (c + s * t0)
        with np.errstate(divide="ignore", invalid="ignore"):
            t = t0 - gap / rate
        good = (rate < 0.0) & (gap >= behind) & (t <= last)
        good[v.left] = good[v.right] = False
        edges = np.flatnonzero(good)
        return list(zip(t[edges].tolist(), edges.tolist(), strict=True))

    def _exact(self, v: Vertex, now: Number, k: int) -> Number | None:
        f = self._fronts[k]
        x, y = v.at(now)
        rate = f.a * v.vx + f.b * v.vy - f.s
        gap = f.a * x + f.b * y - f.c - f.s * now
        return now - gap / rate if rate < 0 <= gap else None
