"""An independent engine (PySFCGAL, tests only) in a process that may die and be replaced."""

from __future__ import annotations

import importlib.util
import json
import math
import select
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path
from types import TracebackType
from typing import Any, Self

import numpy as np
import pytest

from tests.face_measures import Array, Key, newell, outline_area
from tests.outline_data import Rings, Values

#: Metres; the engine's own corners miss their planes by up to 2e-8.
OFF_PLANE = 1e-6

needs_engine = pytest.mark.skipif(
    importlib.util.find_spec("pysfcgal") is None, reason="PySFCGAL is not installed"
)


class EngineError(Exception):
    """The engine died, took too long, or gave no roof."""


@dataclass(frozen=True, slots=True, kw_only=True)
class EngineFace:
    """A face of the engine's roof, over one edge or over several exactly in line."""

    edges: tuple[Key, ...]
    rings: tuple[Array, ...]

    @property
    def area(self) -> float:
        """True area, square metres."""
        return float(np.linalg.norm(sum((newell(ring) for ring in self.rings), np.zeros(3))))

    @property
    def plan(self) -> float:
        """Plan area, square metres."""
        return float(sum(newell(ring)[2] for ring in self.rings))


class Engine:
    """A child process that is asked for roofs."""

    def __init__(self, timeout: float = 20.0) -> None:
        self._timeout = timeout
        self._process: subprocess.Popen[str] | None = None

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self._stop()

    def _stop(self) -> None:
        if self._process is not None:
            self._process.kill()
            self._process.communicate()
            self._process = None

    def _ask(self, job: dict[str, Any]) -> dict[str, Any]:
        if self._process is None:
            self._process = subprocess.Popen(
                [sys.executable, str(Path(__file__).with_name("engine_child.py"))],
                stdin=subprocess.PIPE,
                stdout=subprocess.PIPE,
                stderr=subprocess.DEVNULL,
                text=True,
            )
        process = self._process
        if process.stdin is None or process.stdout is None:
            raise EngineError("no pipes")
        process.stdin.write(json.dumps(job) + "\n")
        process.stdin.flush()
        # Answers are one line each, and one is asked for at a time, so none is buffered here.
        if not select.select([process.stdout], [], [], self._timeout)[0]:
            self._stop()
            raise EngineError(f"no answer in {self._timeout:g} s")
        line = process.stdout.readline()
        if not line:
            code = process.wait()
            self._stop()
            raise EngineError(f"died with code {code}")
        reply: dict[str, Any] = json.loads(line)
        if "error" in reply:
            raise EngineError(reply["error"])
        return reply

    def seconds(self, rings: Rings, angles: Values) -> tuple[float, float]:
        """Return the times of one roof with angles and of one bare partition in plan."""
        reply = self._ask({"rings": near_origin(rings)[0], "angles": angles, "timed": True})
        return float(reply["with_angles"]), float(reply["partition"])

    def plan_areas(self, rings: Rings, angles: Values) -> list[float]:
        """Return the signed plan areas of whatever the engine gives as faces, unchecked."""
        reply = self._ask({"rings": near_origin(rings)[0], "angles": angles})
        return [
            sum(float(newell(np.array(ring, dtype=np.float64)[:-1])[2]) for ring in face)
            for face in reply["faces"]
        ]

    def roof(self, rings: Rings, angles: Values) -> tuple[EngineFace, ...]:
        """Return the engine's faces; their corners are as given, but near the origin.

        Raises
        ------
        EngineError
            If it fails, leaves an edge without a face, or covers another area in plan.
        """
        local, (x0, y0) = near_origin(rings)
        reply = self._ask({"rings": local, "angles": angles})
        where = {
            (start, end): (r, k)
            for r, ring in enumerate(local)
            for k, (start, end) in enumerate(zip(ring, (*ring[1:], ring[0]), strict=True))
        }
        found: list[EngineFace] = []
        loose: list[EngineFace] = []
        for face in reply["faces"]:
            loops = tuple(np.array(ring, dtype=np.float64)[:-1] for ring in face)
            points = [tuple(point) for point in loops[0].tolist()]
            edges = tuple(
                where[a[:2], b[:2]]
                for a, b in zip(points, [*points[1:], points[0]], strict=True)
                if a[2] == 0.0 == b[2] and (a[:2], b[:2]) in where
            )
            moved = tuple(loop + np.array([x0, y0, 0.0]) for loop in loops)
            (found if edges else loose).append(EngineFace(edges=edges, rings=moved))
        for piece in loose:
            _join(piece, found)
        if sum(len(face.edges) for face in found) != len(where):
            raise EngineError("an edge has no face")
        area = outline_area(rings)
        if abs(sum(face.plan for face in found) - area) > 1e-6 * area:
            raise EngineError("the faces cover another area than the outline")
        if any(not math.isfinite(face.area) for face in found):
            raise EngineError("an area is not a number")
        return tuple(found)


def _join(piece: EngineFace, found: list[EngineFace]) -> None:
    """Join a piece that touches no eave to the face it was cut from.

    The engine cuts some faces along a line, so that one of two coplanar pieces has no eave.
    """
    for k, face in enumerate(found):
        plane = newell(face.rings[0])
        plane /= np.linalg.norm(plane)
        off = [np.abs((ring - face.rings[0][0]) @ plane).max() for ring in piece.rings]
        if max(off) < OFF_PLANE:
            found[k] = EngineFace(edges=face.edges, rings=(*face.rings, *piece.rings))
            return
    raise EngineError("a piece of roof belongs to no edge")


def near_origin(rings: Rings) -> tuple[Rings, tuple[float, float]]:
    """Move an outline by whole metres to the origin."""
    x0 = math.floor(min(x for x, _ in rings[0]))
    y0 = math.floor(min(y for _, y in rings[0]))
    return tuple(tuple((x - x0, y - y0) for x, y in ring) for ring in rings), (x0, y0)
