"""The corner lists of an outline: sound or not, and which way round."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence
from fractions import Fraction
from typing import Final, TypeAlias, TypeVar

from roof3d.spec.faults import TableFaults
from roof3d.spec.tables.section import MAX_CORNERS
from roof3d.spec.values import LARGEST_SIZE
from roof3d.tolerance import DEFAULT, Tolerance
from roof3d.units import Units, exact_length, format_length

Ring: TypeAlias = Sequence[tuple[Fraction, Fraction]]
Vector: TypeAlias = tuple[float, float]

_MOST_CROSSINGS: Final = 10

_T = TypeVar("_T")


def ring_name(ring: int) -> str:
    """Return the key of a ring: 0 is the outline, then its courtyards."""
    return f"courtyard[{ring - 1}]" if ring else "outline"


def check_rings(
    rings: Sequence[Ring], notes: TableFaults, units: Units, *, tol: Tolerance = DEFAULT
) -> None:
    """Find what keeps corner lists from being walls.

    Parameters
    ----------
    rings : sequence of rings of (x, y)
        As written, the outline first, then its courtyards, metres.
    notes : TableFaults
        Grows by every fault found.
    units : Units
        In which faults show lengths.
    tol : Tolerance
    """
    before = len(notes.found)
    count = sum(len(ring) for ring in rings)
    if count > MAX_CORNERS:
        notes.add("outline", f"has {count} corners with its courtyards, at most {MAX_CORNERS}")
        return
    for number, ring in enumerate(rings):
        _check_corners(ring, ring_name(number), notes, tol)
    _check_span(rings, notes, units)
    if len(notes.found) == before:
        _check_crossings(rings, notes)
    if len(notes.found) == before:
        _check_places(rings, notes)


def is_counterclockwise(ring: Ring) -> bool:
    """Whether a simple ring has its inside on the left, decided exactly."""
    return (
        sum(
            ax * by - bx * ay for (ax, ay), (bx, by) in zip(ring, [*ring[1:], ring[0]], strict=True)
        )
        > 0
    )


def reversed_corners(corners: Sequence[_T]) -> tuple[_T, ...]:
    """Return corners the other way round, the first one still first."""
    return (corners[0], *corners[:0:-1])


def reversed_edges(edges: Sequence[_T]) -> tuple[_T, ...]:
    """Return what belongs to the edges of a ring in the order of its ``reversed_corners``."""
    return tuple(edges[::-1])


def vectors(ring: Ring) -> list[Vector]:
    """Return each edge of a ring as a vector, from its corner to the next."""
    return [
        (float(bx - ax), float(by - ay))
        for (ax, ay), (bx, by) in zip(ring, [*ring[1:], *ring[:1]], strict=True)
    ]


def straight_corners(ring: Ring, *, tol: Tolerance = DEFAULT) -> Iterator[int]:
    """Yield the corners at which the wall runs straight on."""
    sides = vectors(ring)
    for corner, ahead in enumerate(sides):
        if _turn(sides[corner - 1], ahead, tol) == 1:
            yield corner


def _turn(before: Vector, after: Vector, tol: Tolerance) -> int:
    """Return 1 where an edge runs straight on, -1 where it comes straight back, else 0."""
    cross = before[0] * after[1] - before[1] * after[0]
    dot = before[0] * after[0] + before[1] * after[1]
    size = math.hypot(*before) * math.hypot(*after)
    if abs(cross) > tol.in_line * size:
        return 0
    return 1 if dot > 0.0 else -1


def _check_corners(ring: Ring, name: str, notes: TableFaults, tol: Tolerance) -> None:
    if len(ring) < 3:
        notes.add(name, f"has {len(ring)} corners, and walls need 3 or more")
        return
    sides = vectors(ring)
    repeated = [corner for corner, side in enumerate(sides) if math.hypot(*side) < tol.merge]
    for corner in repeated:
        if corner == len(ring) - 1:
            notes.add(
                f"{name}[{corner}]", "is corner 0 once more", "leave it out: the walls close anyway"
            )
        else:
            notes.add(f"{name}[{corner + 1}]", f"lies on corner {corner}", "leave one of them out")
    if repeated:
        return
    for corner, ahead in enumerate(sides):
        if _turn(sides[corner - 1], ahead, tol) == -1:
            notes.add(f"{name}[{corner}]", "the wall turns straight back on itself here")


def _check_span(rings: Sequence[Ring], notes: TableFaults, units: Units) -> None:
    for axis in (0, 1):
        values = [corner[axis] for ring in rings for corner in ring]
        span = max(values, default=Fraction(0)) - min(values, default=Fraction(0))
        if span > exact_length(LARGEST_SIZE):
            notes.add(
                "outline",
                f"is {format_length(float(span), units)} from end to end: at most {LARGEST_SIZE}",
            )
            return


def _check_crossings(rings: Sequence[Ring], notes: TableFaults) -> None:
    """Name pairs of edges that meet elsewhere than in a corner between them."""
    import shapely

    flat = [[(float(x), float(y)) for x, y in ring] for ring in rings]
    places = [(number, corner) for number, ring in enumerate(flat) for corner in range(len(ring))]
    lines = shapely.linestrings(
        [(ring[k], ring[(k + 1) % len(ring)]) for ring in flat for k in range(len(ring))]
    )
    found = shapely.STRtree(lines).query(lines, predicate="intersects").T.tolist()
    told = 0
    for one, two in sorted((i, j) for i, j in found if i < j):
        (ring, corner), (other, at) = places[one], places[two]
        count = len(flat[ring])
        if ring == other and (at - corner) % count in {1, count - 1}:
            continue  # neighbours; one that folds back is found by its corner
        if told == _MOST_CROSSINGS:
            notes.add(ring_name(ring), "and more crossings beyond these")
            return
        told += 1
        verb = "touches" if shapely.touches(lines[one], lines[two]) else "crosses"
        notes.add(
            f"{ring_name(other)}[{at}]",
            f"the edge from corner {at} to {(at + 1) % len(flat[other])} {verb} the edge from "
            f"corner {corner} to {(corner + 1) % count}"
            + ("" if ring == other else f" of {ring_name(ring)}"),
            "put the corners in order round the walls" if ring == other else "keep them apart",
        )


def _check_places(rings: Sequence[Ring], notes: TableFaults) -> None:
    """Find courtyards outside the outline or in each other, where no edges meet."""
    import shapely

    shapes = [shapely.Polygon([(float(x), float(y)) for x, y in ring]) for ring in rings]
    for number in range(1, len(shapes)):
        if not shapes[0].contains(shapes[number]):
            notes.add(ring_name(number), "lies outside the outline")
    for one, two in itertools.combinations(range(1, len(shapes)), 2):
        if shapes[one].intersects(shapes[two]):
            inner, outer = (one, two) if shapes[two].contains(shapes[one]) else (two, one)
            notes.add(ring_name(inner), f"lies in {ring_name(outer)}", "leave one of them out")
