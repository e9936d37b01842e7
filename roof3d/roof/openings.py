"""Chimneys, skylights and pipes: what they cut and how long their rims are."""

from __future__ import annotations

import itertools
import math
from collections import defaultdict
from collections.abc import Sequence

import shapely

from roof3d.errors import GeometryError
from roof3d.geometry.plane import HeightPlane, Point2
from roof3d.roof.model import Kind, Roof
from roof3d.roof.overlay.edges import RimRecord
from roof3d.roof.overlay.linework import Cut
from roof3d.spec.model import OpeningKind, OpeningSpec, RoofSpec
from roof3d.units import Units, format_length

PIPE_SIDES = 32


def opening_cut(spec: OpeningSpec, origin: Point2) -> Cut:
    """Return the plan outline of an opening in local coordinates.

    A pipe or a drain's bowl is a regular polygon of the circle's area.
    """
    x0, y0 = spec.at[0] - origin[0], spec.at[1] - origin[1]
    cos, sin = math.cos(spec.turn), math.sin(spec.turn)
    if spec.kind in {OpeningKind.PIPE, OpeningKind.DRAIN}:
        step = math.tau / PIPE_SIDES
        radius = spec.size[0] / 2.0 * math.sqrt(step / math.sin(step))
        corners = [
            (radius * math.cos((k + 0.5) * step), radius * math.sin((k + 0.5) * step))
            for k in range(PIPE_SIDES)
        ]
    else:
        hx, hy = spec.size[0] / 2.0, spec.size[1] / 2.0
        corners = [(-hx, -hy), (hx, -hy), (hx, hy), (-hx, hy)]
    ring = tuple((x0 + cos * x - sin * y, y0 + sin * x + cos * y) for x, y in corners)
    return Cut(ring, through=spec.kind is not OpeningKind.SKYLIGHT)


def cutting_openings(spec: RoofSpec) -> tuple[OpeningSpec, ...]:
    """Return the openings that cut the roof: all but scuppers, which go through walls."""
    return tuple(o for o in spec.openings if o.kind is not OpeningKind.SCUPPER)


def require_low(roof: Roof) -> None:
    """Raise GeometryError where a drain lies on a steep plane."""
    for opening in roof.openings:
        steep = [name for name in opening.planes if roof.plane(name).kind is Kind.STEEP]
        if opening.kind is OpeningKind.DRAIN and steep:
            raise GeometryError(
                f"a roof drain lies in a membrane, and {steep[0]} is steep",
                where=f'opening "{opening.id}".at',
                hint="put it on a low plane: roof3d measure shows the kind of each",
            )


def rim_chains(
    number: int, rims: Sequence[RimRecord]
) -> dict[int, tuple[tuple[tuple[Point2, ...], bool], ...]]:
    """Chain the rim pieces of one opening region by region.

    Returns
    -------
    dict
        Region number to its chains; each is its points and whether it closes.
    """
    pieces: dict[int, list[tuple[Point2, Point2]]] = defaultdict(list)
    for rim in rims:
        if rim.opening == number:
            pieces[rim.region].append(rim.ends)
    return {region: _chains(found) for region, found in sorted(pieces.items())}


def _chains(pieces: list[tuple[Point2, Point2]]) -> tuple[tuple[tuple[Point2, ...], bool], ...]:
    left = sorted(pieces)
    chains = []
    while left:
        chain = list(left.pop(0))
        grown = True
        while grown:
            grown = False
            for piece in left:
                for near, far in (piece, piece[::-1]):
                    if near == chain[-1]:
                        chain.append(far)
                    elif near == chain[0]:
                        chain.insert(0, far)
                    else:
                        continue
                    left.remove(piece)
                    grown = True
                    break
                if grown:
                    break
        closed = chain[0] == chain[-1]
        chains.append((tuple(chain[:-1] if closed else chain), closed))
    return tuple(chains)


def rim_length(chains: Sequence[tuple[tuple[Point2, ...], bool]], plane: HeightPlane) -> float:
    """Return the true length of rim chains on a plane, metres."""
    total = 0.0
    for points, closed in chains:
        onward = (*points[1:], points[0]) if closed else points[1:]
        for a, b in zip(points, onward, strict=False):
            total += math.hypot(b[0] - a[0], b[1] - a[1], plane.at(b) - plane.at(a))
    return total


def width_across(ring: Sequence[Point2], plane: HeightPlane) -> float:
    """Plan width of a ring square to the fall of a plane; the largest side when level."""
    fall = math.hypot(plane.gx, plane.gy)
    if fall == 0.0:
        return max(math.dist(a, b) for a, b in zip(ring, (*ring[1:], ring[0]), strict=True))
    along = [(-plane.gy * x + plane.gx * y) / fall for x, y in ring]
    return max(along) - min(along)


def require_cut(spec: OpeningSpec, chains: dict[int, object], units: Units) -> None:
    """Raise GeometryError when an opening touches no roof."""
    if not chains:
        east, north = (format_length(value, units) for value in spec.at)
        raise GeometryError(
            f"its centre, {east} east and {north} north, is not on the roof",
            where=f'opening "{spec.id}".at',
            hint="roof3d measure --json gives the outline of every plane",
        )


def require_apart(specs: Sequence[OpeningSpec], cuts: Sequence[Cut]) -> None:
    """Raise GeometryError where two openings overlap in plan."""
    for (one, a), (two, b) in itertools.combinations(zip(specs, cuts, strict=True), 2):
        if shapely.Polygon(a.ring).intersects(shapely.Polygon(b.ring)):
            raise GeometryError(
                f'overlaps or touches opening "{one.id}"',
                where=f'opening "{two.id}"',
                hint="move one of them, or make them one",
            )
