"""Whether two roofs over one outline are the same, and why they may differ though both are right.

Two classes of outline have more than one right answer; neither is told apart by any printed
definition of the straight skeleton:

in line, unlike slopes
    Two fronts of one direction and unlike speeds come to lie in line side by side. Which of
    them goes on is a rule, not a fact. Seen afterwards as a side between two faces whose eaves
    have one direction and unlike slopes: two such planes meet only in a level line.
in line, equal slopes
    Two fronts in line move as one. The surface is one and the same, but where its two faces
    part is decided by noise. So their areas are compared together.
"""

from __future__ import annotations

import math
from itertools import combinations

import numpy as np

from roof3d.skeleton.faces import FaceRings
from tests.engine import EngineFace
from tests.face_measures import (
    Array,
    Faces,
    Key,
    by_edge,
    edge_ends,
    plan_area,
    sides,
    top_of,
    true_area,
)
from tests.outline_data import Rings, Values

#: Radians, and metres: what a rotation in double precision may put between equal things.
PARALLEL = 1e-6
IN_LINE = 1e-6


def direction(rings: Rings, key: Key) -> Array:
    """Return the unit direction of an edge in plan."""
    start, end = edge_ends(rings, key)
    step = np.array(end) - np.array(start)
    unit: Array = step / np.hypot(*step)
    return unit


def one_direction(rings: Rings, one: Key, two: Key) -> bool:
    """Tell whether two edges run the same way."""
    u, v = direction(rings, one), direction(rings, two)
    return bool(abs(u[0] * v[1] - u[1] * v[0]) < PARALLEL and u @ v > 0.0)


def coplanar(rings: Rings, slopes: Values, one: Key, two: Key) -> bool:
    """Tell whether the planes over two edges are one."""
    if slopes[one[0]][one[1]] != slopes[two[0]][two[1]] or not one_direction(rings, one, two):
        return False
    u, start = direction(rings, one), np.array(edge_ends(rings, one)[0])
    gaps = [np.array(end) - start for end in edge_ends(rings, two)]
    return all(abs(u[0] * gap[1] - u[1] * gap[0]) < IN_LINE for gap in gaps)


def has_overrun(found: Faces, rings: Rings, slopes: Values) -> bool:
    """Tell whether fronts of unlike slopes lay in line: there a rule decided."""
    return any(
        side.beyond is not None
        and slopes[side.face[0]][side.face[1]] != slopes[side.beyond[0]][side.beyond[1]]
        and one_direction(rings, side.face, side.beyond)
        for side in sides(found)
    )


def engine_has_overrun(engine: tuple[EngineFace, ...], rings: Rings, slopes: Values) -> bool:
    """Tell the same of the engine's roof, whose corners coincide to 1e-6 m only."""
    sides_of = []
    for face in engine:
        loops = [[tuple(point) for point in np.round(ring, 5).tolist()] for ring in face.rings]
        steps = {
            frozenset((a, b))
            for loop in loops
            for a, b in zip(loop, [*loop[1:], loop[0]], strict=True)
            if a != b
        }
        sides_of.append((face.edges[0], steps))
    return any(
        slopes[one[0]][one[1]] != slopes[two[0]][two[1]]
        and one_direction(rings, one, two)
        and bool(here & there)
        for (one, here), (two, there) in combinations(sides_of, 2)
    )


def planes_of(rings: Rings, slopes: Values) -> dict[Key, Key]:
    """Name for each edge the first edge that has the same plane."""
    first: dict[Key, Key] = {}
    for r, ring in enumerate(rings):
        for k in range(len(ring)):
            key = (r, k)
            same = (one for one in first.values() if coplanar(rings, slopes, one, key))
            first[key] = next(same, key)
    return first


def area_by_plane(found: Faces, rings: Rings, slopes: Values) -> dict[Key, float]:
    """Sum up true areas by plane."""
    areas: dict[Key, float] = {}
    first = planes_of(rings, slopes)
    for key, face in by_edge(found).items():
        areas[first[key]] = areas.get(first[key], 0.0) + true_area(face)
    return areas


def agrees(
    found: tuple[tuple[FaceRings, ...], ...],
    engine: tuple[EngineFace, ...],
    rings: Rings,
    slopes: Values,
) -> str:
    """Compare with the engine, to 1e-6 of every area and 1e-6 m of height.

    Returns
    -------
    str
        ``edge by edge``, ``plane by plane`` or ``differs``.
    """
    top = max(float(ring[:, 2].max()) for face in engine for ring in face.rings)
    if not math.isclose(top, top_of(found), abs_tol=1e-6):
        return "differs"
    ours = by_edge(found)
    if all(near(sum(true_area(ours[key]) for key in face.edges), face.area) for face in engine):
        return "edge by edge"
    first = planes_of(rings, slopes)
    theirs = dict.fromkeys(first.values(), 0.0)
    for face in engine:
        theirs[first[face.edges[0]]] += face.area
    areas = area_by_plane(found, rings, slopes)
    same = all(near(areas[key], theirs[key]) for key in areas)
    return "plane by plane" if same else "differs"


def near(one: float, two: float) -> bool:
    """Tell whether two areas are equal to 1e-6, or to 1e-9 square metres where tiny."""
    return math.isclose(one, two, rel_tol=1e-6, abs_tol=1e-9)


def faces_equal(one: Faces, two: Faces, rings: Rings, slopes: Values) -> bool:
    """Tell whether two roofs of ours have the same planes, heights and plan areas."""
    first, second = area_by_plane(one, rings, slopes), area_by_plane(two, rings, slopes)
    plans = [sum(plan_area(face) for face in by_edge(roof).values()) for roof in (one, two)]
    return (
        all(math.isclose(first[key], second[key], rel_tol=1e-6, abs_tol=1e-7) for key in first)
        and math.isclose(top_of(one), top_of(two), abs_tol=1e-6)
        and math.isclose(plans[0], plans[1], rel_tol=1e-9)
    )
