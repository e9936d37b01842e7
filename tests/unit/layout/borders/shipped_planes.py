"""The planes of the shipped models with their frames and sides, each model built once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import shapely

from roof3d.catalog.laying import Border
from roof3d.layout.borders.frame import frame_of, outline_of
from roof3d.layout.borders.sides import sides_of
from roof3d.layout.model import PlaneFrame, Point2, Side
from roof3d.roof.build import build_roof
from roof3d.roof.model import Kind, Plane, Roof
from roof3d.roof.walls import wall_polygon
from roof3d.spec.read import parse_spec

MODELS = Path(__file__).parents[4] / "models"
NAMES = ("lantern-street", "plum-corner", "tide-house", "ferry-quay")
INCH = 0.0254


@dataclass(frozen=True)
class Laid:
    """One plane in its own frame."""

    roof: Roof
    plane: Plane
    frame: PlaneFrame
    outline: shapely.Polygon
    sides: tuple[Side, ...]


@cache
def planes_of(name: str) -> tuple[Laid, ...]:
    return laid_planes((MODELS / f"{name}.toml").read_text())


def laid_planes(text: str) -> tuple[Laid, ...]:
    """Build a model; low planes carry a membrane, steep ones shingles."""
    spec = parse_spec(text)
    roof, _ = build_roof(spec)
    kinds = {p.id: "membrane" if p.kind is Kind.LOW else "shingle" for p in roof.planes}
    walls = {section.id: wall_polygon(section) for section in spec.sections}
    laid = []
    for plane in roof.planes:
        frame = frame_of(plane)
        sides = sides_of(roof, plane, frame, kinds, walls)
        laid.append(Laid(roof, plane, frame, outline_of(plane, frame), sides))
    return tuple(laid)


def plane(name: str, plane_id: str) -> Laid:
    return next(laid for laid in planes_of(name) if laid.plane.id == plane_id)


EVERY = [(name, laid.plane.id) for name in NAMES for laid in planes_of(name)]


def ring_sides(*rings: Sequence[Point2], borders: Sequence[Border] = ()) -> tuple[Side, ...]:
    """Sides of hand-made rings, eaves where no border is given."""
    ends = [pair for ring in rings for pair in zip(ring, (*ring[1:], ring[0]), strict=True)]
    given = borders or [Border.EAVE] * len(ends)
    return tuple(
        Side(border=border, edge=f"e{k}", start=start, end=end)
        for k, (border, (start, end)) in enumerate(zip(given, ends, strict=True))
    )


def mirrored(outline: shapely.Polygon, sides: Sequence[Side]) -> tuple[shapely.Polygon, list[Side]]:
    """The same plane seen in a mirror: left and right change places, rings run the same way."""
    flipped = shapely.transform(outline, lambda points: points * (-1.0, 1.0))
    turned = [
        Side(
            border=side.border,
            edge=side.edge,
            start=(-side.end[0], side.end[1]),
            end=(-side.start[0], side.start[1]),
            neighbour=side.neighbour,
            rise=side.rise,
            gap=side.gap,
            overhang=side.overhang,
        )
        for ring in rings_of(sides)
        for side in reversed(ring)
    ]
    return flipped, turned


def rings_of(sides: Sequence[Side]) -> list[list[Side]]:
    rings: list[list[Side]] = [[]]
    for side in sides:
        if rings[-1] and rings[-1][-1].end == rings[-1][0].start:
            rings.append([])
        rings[-1].append(side)
    return rings


def apart(a: shapely.Geometry, b: shapely.Geometry) -> float:
    """Area that only one of two shapes covers, m2."""
    return float(shapely.symmetric_difference(a, b).area)
