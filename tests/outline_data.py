"""Open building outlines, and roofs of an independent engine over them, where they are at hand.

They lie beside the clone, in ``shared``; ``ROOF3D_SHARED`` names another place.
"""

from __future__ import annotations

import functools
import json
import math
import os
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

Point = tuple[float, float]
Rings = tuple[tuple[Point, ...], ...]
Values = tuple[tuple[float, ...], ...]
"""One value for every edge of every ring."""

NAMES = ("osm_west_oakland", "osm_bavaria", "ground_3dbag_901")


@dataclass(frozen=True, slots=True, kw_only=True)
class KnownRoof:
    """One line of the precomputed roofs: angles in degrees, faces as the engine gave them."""

    name: str
    rings: Rings
    angles: Values
    top: float
    lines: dict[str, float]
    faces: tuple[dict[str, Any], ...]


def shared_folder() -> Path | None:
    """Find the folder of open data, if any."""
    named = os.environ.get("ROOF3D_SHARED")
    places = [Path(named)] if named else [p / "shared" for p in Path(__file__).resolve().parents]
    return next((place for place in places if (place / "data").is_dir()), None)


needs_data = pytest.mark.skipif(
    shared_folder() is None, reason="the open outlines are not beside the clone"
)


def oriented(ring: list[list[float]], *, hole: bool) -> tuple[Point, ...]:
    """Open a closed ring and wind it right."""
    points = [(float(x), float(y)) for x, y, *_ in ring[:-1]]
    x0, y0 = points[0]
    twice = sum(
        (ax - x0) * (by - y0) - (bx - x0) * (ay - y0)
        for (ax, ay), (bx, by) in zip(points, [*points[1:], points[0]], strict=True)
    )
    return tuple(points if (twice > 0.0) != hole else points[::-1])


@functools.cache
def outlines(name: str) -> dict[str, Rings]:
    """Read the valid outlines of one data set by id."""
    folder = shared_folder()
    if folder is None:
        return {}
    read = json.loads((folder / "data" / f"{name}.geojson").read_text())
    return {
        str(feature["id"]): tuple(
            oriented(ring, hole=k > 0) for k, ring in enumerate(feature["geometry"]["coordinates"])
        )
        for feature in read["features"]
        if feature["properties"].get("valid", True)
    }


def all_outlines() -> list[tuple[str, Rings]]:
    """Read every valid outline of every data set, with its name."""
    return [(f"{name}/{key}", rings) for name in NAMES for key, rings in outlines(name).items()]


@functools.cache
def known_roofs(name: str) -> tuple[KnownRoof, ...]:
    """Read the precomputed roofs over one data set."""
    folder = shared_folder()
    if folder is None:
        return ()
    lines = (folder / "oracle" / f"{name}.oracle.jsonl").read_text().splitlines()
    found = []
    for row in map(json.loads, lines):
        rings = outlines(name)[str(row["id"])]
        found.append(
            KnownRoof(
                name=f"{name}/{row['id']}/{row['case']}",
                rings=rings,
                angles=tuple(tuple(ring) for ring in row["angles"]),
                top=row["ridge_height"],
                lines=row["lines"],
                faces=tuple(row["faces"]),
            )
        )
    return tuple(found)


def slopes_of(angles: Values) -> Values:
    """Turn degrees into rise over run; 90 degrees is vertical."""
    return tuple(
        tuple(math.inf if angle == 90.0 else math.tan(math.radians(angle)) for angle in ring)
        for ring in angles
    )


def angles_of(slopes: Values) -> Values:
    """Turn rise over run into degrees."""
    return tuple(
        tuple(90.0 if math.isinf(slope) else math.degrees(math.atan(slope)) for slope in ring)
        for ring in slopes
    )


def same_everywhere(value: float, rings: Rings) -> Values:
    """Give every edge one value."""
    return tuple((value,) * len(ring) for ring in rings)
