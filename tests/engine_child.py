"""Run as a process: roofs by PySFCGAL, one JSON line in, one out.

PySFCGAL is an independent straight-skeleton engine (GPL-3.0-or-later, SFCGAL and CGAL below):
a peer for tests only, never imported by the package. Some inputs kill its interpreter, so it
has one of its own. Its C library writes to the standard streams, so the answers go through a
copy of the first one.
"""

from __future__ import annotations

import importlib
import json
import os
import sys
import time
from typing import Any

CAP = 1.0e4
"""Metres; the engine cuts roofs here, so it is put out of reach."""


def roof(polygon: Any, job: dict[str, Any]) -> list[Any]:
    """Return the faces above the outline as lists of corners, closed."""
    # The engine gives value k to the edge that ends at vertex k.
    shifted = [[ring[-1], *ring[:-1]] for ring in job["angles"]]
    surface = polygon.extrude_straight_skeleton_with_angles(CAP, shifted)
    faces = [face.to_coordinates() for face in surface]
    return [face for face in faces if any(point[2] for point in face[0])]


def answer(job: dict[str, Any]) -> dict[str, Any]:
    """Do one job: a roof, or the seconds that several rounds of both calls take."""
    # The bare name pysfcgal.sfcgal is deprecated; geometry holds the classes.
    make = importlib.import_module("pysfcgal.geometry").Polygon
    rings = job["rings"]
    polygon = make(rings[0], rings[1:]) if len(rings) > 1 else make(rings[0])
    if not job.get("timed"):
        return {"faces": roof(polygon, job)}
    shifted = [[ring[-1], *ring[:-1]] for ring in job["angles"]]
    start = time.perf_counter()
    polygon.extrude_straight_skeleton_with_angles(CAP, shifted)
    middle = time.perf_counter()
    polygon.straight_skeleton_partition()
    return {"with_angles": middle - start, "partition": time.perf_counter() - middle}


def main() -> None:
    """Answer until the input ends."""
    out = os.fdopen(os.dup(1), "w")
    silence = os.open(os.devnull, os.O_WRONLY)
    os.dup2(silence, 1)
    os.dup2(silence, 2)
    for line in sys.stdin:
        try:
            reply = answer(json.loads(line))
        except Exception as error:  # noqa: BLE001 - whatever the engine raises is told
            reply = {"error": f"{type(error).__name__}: {error}"}
        out.write(json.dumps(reply) + "\n")
        out.flush()


if __name__ == "__main__":
    main()
