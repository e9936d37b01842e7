"""Random outlines by seed: radial, convex, rectilinear, with holes, star and comb."""

from __future__ import annotations

import math
from collections.abc import Callable
from itertools import pairwise

import numpy as np
import shapely

from tests.outline_data import Point, Rings, Values

Random = np.random.Generator

#: Neighbours that turn by less (degrees) share a slope: the engine makes nothing of others.
STRAIGHT = 5.0


def rings_of(polygon: shapely.Polygon) -> Rings:
    """Return the rings of a polygon, open and wound right."""
    turned = shapely.orient_polygons(polygon)
    return tuple(
        tuple((float(x), float(y)) for x, y in ring.coords[:-1])
        for ring in (turned.exterior, *turned.interiors)
    )


def radial(rng: Random, count: int) -> Rings:
    """Corners at random distances in all directions."""
    angles = (np.arange(count) + rng.uniform(0.1, 0.9, count)) * (2.0 * math.pi / count)
    radii = rng.uniform(4.0, 12.0, count)
    return (tuple(zip((radii * np.cos(angles)).tolist(), (radii * np.sin(angles)).tolist(),
                      strict=True)),)  # fmt: skip


def convex(rng: Random, count: int) -> Rings:
    """Hull of random points."""
    hull = shapely.MultiPoint(rng.uniform(0.0, 15.0, (count + 3, 2))).convex_hull
    return rings_of(hull)


def star(rng: Random, count: int) -> Rings:
    """Long and short corners in turn, a little off."""
    angles = (np.arange(count) + rng.uniform(-0.1, 0.1, count)) * (2.0 * math.pi / count)
    radii = np.where(np.arange(count) % 2 == 0, 20.0, 10.0) + rng.uniform(-1.0, 1.0, count)
    return (tuple(zip((radii * np.cos(angles)).tolist(), (radii * np.sin(angles)).tolist(),
                      strict=True)),)  # fmt: skip


def comb(rng: Random, count: int) -> Rings:
    """A bar with teeth of unlike lengths."""
    teeth = max(1, (count - 2) // 4)
    points: list[Point] = [(0.0, 0.0), (2.0 * teeth + 1.0, 0.0)]
    for k in reversed(range(teeth)):
        high = 8.0 + float(rng.uniform(-1.0, 1.0))
        points += [(2.0 * k + 2.0, 3.0), (2.0 * k + 2.0, high), (2.0 * k + 1.0, high),
                   (2.0 * k + 1.0, 3.0)]  # fmt: skip
    points += [(0.0, 3.0)]
    points[3 - 1] = (2.0 * teeth + 1.0, 3.0)
    points.insert(3, (2.0 * teeth, 3.0))
    return (tuple(points),)


def without_pinches(cells: np.ndarray) -> np.ndarray:
    """Fill cells until no two touch in a corner alone."""
    cells = cells.copy()
    while True:
        a, b, c, d = cells[:-1, :-1], cells[:-1, 1:], cells[1:, :-1], cells[1:, 1:]
        crossed = ((a & d) & ~(b | c)) | ((b & c) & ~(a | d))
        if not crossed.any():
            return cells
        i, j = np.argwhere(crossed)[0]
        cells[i : i + 2, j : j + 2] = True


def polyomino(cells: np.ndarray, columns: np.ndarray, rows: np.ndarray) -> Rings:
    """Return the outline of the largest connected set of cells between given lines."""
    cells = without_pinches(cells)
    boxes = [
        shapely.box(columns[i], rows[j], columns[i + 1], rows[j + 1]) for i, j in np.argwhere(cells)
    ]
    # Cells share lines bit for bit, so the union is exact; corners in line are dropped.
    union = shapely.union_all(boxes)
    largest = max(shapely.get_parts(union), key=lambda part: part.area)
    return tuple(_without_straight(ring) for ring in rings_of(largest))


def _without_straight(ring: tuple[Point, ...]) -> tuple[Point, ...]:
    count = len(ring)
    return tuple(
        ring[k]
        for k in range(count)
        if not (
            ring[k - 1][0] == ring[k][0] == ring[(k + 1) % count][0]
            or ring[k - 1][1] == ring[k][1] == ring[(k + 1) % count][1]
        )
    )


def rectilinear(rng: Random, count: int) -> Rings:
    """Cells between unevenly spaced lines, often with holes."""
    side = max(3, round(math.sqrt(count * 1.1)))
    columns, rows = (np.cumsum(rng.uniform(0.8, 3.0, side + 1)) for _ in range(2))
    return polyomino(rng.random((side, side)) < 0.7, columns, rows)


def grid_cells(rng: Random, count: int) -> Rings:
    """Cells of one size: everything happens at once."""
    side = max(3, round(math.sqrt(count * 1.1)))
    lines = np.arange(side + 1, dtype=np.float64) * 2.0
    return polyomino(rng.random((side, side)) < 0.7, lines, lines)


def holed(rng: Random, count: int) -> Rings:
    """A radial shell with radial holes in it."""
    shell = shapely.Polygon([(4.0 * x, 4.0 * y) for x, y in radial(rng, max(4, count // 2))[0]])
    for _ in range(int(rng.integers(1, 4))):
        x, y, size = rng.uniform(-20, 20), rng.uniform(-20, 20), rng.uniform(0.1, 0.8)
        hole = shapely.Polygon([(x + size * u, y + size * v) for u, v in radial(rng, 6)[0]])
        if shell.contains_properly(hole) and shell.boundary.distance(hole) > 0.01:
            shell = shell.difference(hole)
    return rings_of(shell)


def moved(rings: Rings, *, turn: float = 0.0, by: Point = (0.0, 0.0), shear: float = 0.0) -> Rings:
    """Shear along x, then turn (radians), then move."""
    c, s = math.cos(turn), math.sin(turn)
    return tuple(
        tuple(
            ((x + shear * y) * c - y * s + by[0], (x + shear * y) * s + y * c + by[1])
            for x, y in ring
        )
        for ring in rings
    )


SHAPES: tuple[Callable[[Random, int], Rings], ...] = (
    radial, convex, star, comb, rectilinear, grid_cells, holed,
)  # fmt: skip


def runs_in_line(ring: tuple[Point, ...], within: float = STRAIGHT) -> list[int]:
    """Number the edges so that those that run straight on, within degrees, share a number."""
    count = len(ring)
    steps = [
        (ring[(k + 1) % count][0] - ring[k][0], ring[(k + 1) % count][1] - ring[k][1])
        for k in range(count)
    ]
    limit = math.radians(within)
    turns = [
        abs(math.atan2(ux * vy - uy * vx, ux * vx + uy * vy)) for (ux, uy), (vx, vy) in
        pairwise([steps[-1], *steps])
    ]  # fmt: skip
    numbers, number = [], 0
    for k in range(count):
        number += turns[k] > limit
        numbers.append(number)
    if turns[0] <= limit:
        numbers = [numbers[0] if n == numbers[-1] else n for n in numbers]
    return numbers


def random_slopes(rng: Random, rings: Rings, kind: str) -> Values:
    """Give slopes: ``one`` for all, ``mixed`` 15 to 60 degrees, ``gables`` with some vertical."""
    found = []
    for ring in rings:
        numbers = runs_in_line(ring)
        match kind:
            case "one":
                choice = dict.fromkeys(numbers, math.tan(math.radians(30.0)))
            case "mixed":
                choice = {n: math.tan(math.radians(rng.uniform(15.0, 60.0))) for n in set(numbers)}
            case _:
                choice = dict.fromkeys(numbers, math.tan(math.radians(30.0)))
                choice[int(rng.choice(numbers))] = math.inf
        found.append(tuple(choice[n] for n in numbers))
    return tuple(found)


def random_case(seed: int) -> tuple[str, Rings, Values]:
    """Return one outline with slopes, by seed: its kind, rings and slopes."""
    rng = np.random.default_rng(seed)
    shape = SHAPES[seed % len(SHAPES)]
    kind = ("one", "mixed", "gables")[seed // len(SHAPES) % 3]
    rings = shape(rng, int(rng.integers(4, 24)))
    if rng.random() < 0.5:
        rings = moved(rings, turn=float(rng.uniform(0.0, 6.3)))
    return f"{shape.__name__}/{kind}", rings, random_slopes(rng, rings, kind)
