"""Sections over any outline: walls of any shape, a pitch for each, by the skeleton."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

import numpy as np
import shapely

from roof3d.errors import GeometryError
from roof3d.geometry.plane import HeightPlane, Point2, line_through
from roof3d.roof.sections import Face, Placement, SectionRoof, placement
from roof3d.skeleton.assembly import RoofNet
from roof3d.skeleton.faces import Stage, solve
from roof3d.skeleton.outline import read_outline
from roof3d.spec.model import EdgeSpec, OutlineSpec, SectionSpec
from roof3d.tolerance import Tolerance

OVERHANGS_CROSS = "R3D-OVERHANGS-CROSS"
SHARPEST = 20.0
"""Most reach of a corner's overhang, in overhangs: a corner of six degrees."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Side:
    """One side of the roof outline: the wall below it, and where its roof starts.

    ``edge`` is None on a jog, the short side where the roof steps out or in along one wall.
    """

    start: Point2
    edge: int | None


def build_outline_section(
    spec: SectionSpec, outline: OutlineSpec, origin: Point2, *, tol: Tolerance
) -> SectionRoof:
    """Build the walls and faces of a section over any outline.

    Parameters
    ----------
    spec : SectionSpec
    outline : OutlineSpec
        ``spec.outline``.
    origin : (x, y)
        World point that becomes the local origin, metres.
    tol : Tolerance

    Returns
    -------
    SectionRoof

    Raises
    ------
    GeometryError
        With the section, ring and corner, where the outline has no roof.
    """
    place = placement(spec, origin)
    edges = [edge for ring in outline.edges for edge in ring]
    overhangs = tuple(tuple(edge.overhang for edge in ring) for ring in outline.edges)
    try:
        roof_rings = _offset_rings(outline.rings, overhangs, tol)
        _require_simple(roof_rings)
        if outline.fall is not None:
            faces = _one_plane(outline, roof_rings)
        else:
            faces = _faces(outline, edges, roof_rings, tol)
    except GeometryError as error:
        raise GeometryError(
            error.message,
            where=f'section "{spec.id}", {error.where or "outline"}',
            hint=error.hint,
            code=error.code,
        ) from error
    return SectionRoof(
        id=spec.id,
        walls=tuple(tuple(place.point(p) for p in ring) for ring in outline.rings),
        overhangs=overhangs,
        outline=tuple(place.point(side.start) for side in roof_rings[0]),
        faces=tuple(_placed(face, place) for face in faces),
        base=spec.base if spec.base > 0.0 else -math.inf,
        open=spec.open,
        covering=spec.assembly,
    )


def _placed(face: Face, place: Placement) -> Face:
    return replace(
        face,
        plane=place.plane(face.plane),
        ring=tuple(place.point(p) for p in face.ring),
        holes=tuple(tuple(place.point(p) for p in hole) for hole in face.holes),
    )


def _offset_rings(
    rings: Sequence[Sequence[Point2]], distances: Sequence[Sequence[float]], tol: Tolerance
) -> list[list[_Side]]:
    """Move every side outward by its own distance, with a jog where that parts a straight run."""
    moved = []
    first = 0
    for ring, out in zip(rings, distances, strict=True):
        sides: list[_Side] = []
        count = len(ring)
        for k, corner in enumerate(ring):
            before = line_through(ring[k - 1], corner)
            after = line_through(corner, ring[(k + 1) % count])
            turn = before.nx * after.ny - before.ny * after.nx
            if abs(turn) > tol.in_line:
                # Both lines moved out: n.p = offset - distance.
                c, d = before.offset - out[k - 1], after.offset - out[k]
                x = (c * after.ny - d * before.ny) / turn
                y = (before.nx * d - after.nx * c) / turn
                reach = math.dist((x, y), corner)
                if reach > SHARPEST * max(out[k - 1], out[k]) + tol.weld:
                    raise GeometryError(
                        f"the corner is so sharp that its overhang runs out {reach:.1f} m",
                        where=f"edge {first + k}",
                        hint="give the edges that meet there a smaller overhang, or none",
                        code=OVERHANGS_CROSS,
                    )
                sides.append(_Side(start=(x, y), edge=first + k))
                continue
            leave = _moved(corner, before.nx, before.ny, out[k - 1])
            arrive = _moved(corner, after.nx, after.ny, out[k])
            if math.dist(leave, arrive) > tol.merge:
                sides.append(_Side(start=leave, edge=None))
            sides.append(_Side(start=arrive, edge=first + k))
        moved.append(sides)
        first += count
    return moved


def _require_simple(rings: Sequence[Sequence[_Side]]) -> None:
    """Raise where overhangs run into each other, as in a notch narrower than both."""
    outer, holes = _as_polygon(rings)
    polygon = shapely.Polygon(outer, holes)
    if not polygon.is_valid:
        reason = shapely.is_valid_reason(polygon).partition("[")[2].rstrip("]")
        x, y = (float(value) for value in (reason.split() or ("nan", "nan"))[:2])
        flat = [side for ring in rings for side in ring]
        near = min(flat, key=lambda side: math.dist(side.start, (x, y)))
        raise GeometryError(
            f"overhangs cross near ({x:.2f}, {y:.2f}) m",
            where=f"edge {near.edge}",
            hint="give the edges of a narrow notch or a short step there a smaller overhang",
            code=OVERHANGS_CROSS,
        )


def _moved(p: Point2, nx: float, ny: float, out: float) -> Point2:
    return (p[0] - nx * out, p[1] - ny * out)


def _one_plane(outline: OutlineSpec, rings: Sequence[Sequence[_Side]]) -> list[Face]:
    """Cover the whole outline with one plane that falls to one wall."""
    walls, k = outline.rings[0], outline.fall or 0
    edge = outline.edges[0][k]
    plane = _plane(walls[k], walls[(k + 1) % len(walls)], edge.pitch, edge.eave)
    outer, *holes = (tuple(side.start for side in ring) for ring in rings)
    return [Face(plane, outer, tuple(holes))]


def _plane(a: Point2, b: Point2, pitch: float, height: float) -> HeightPlane:
    """Plane that has a height over the wall a-b and rises inward."""
    line = line_through(a, b)
    return HeightPlane(line.nx * pitch, line.ny * pitch, height - line.offset * pitch)


def _faces(
    outline: OutlineSpec,
    edges: Sequence[EdgeSpec],
    roof_rings: Sequence[Sequence[_Side]],
    tol: Tolerance,
) -> list[Face]:
    """Find the faces by shrinking the outline that all planes have at the lowest fascia.

    Where fascias lie at unlike heights, the higher ones are first carried down and out along
    their planes to the lowest; what then sticks out past the roof outline is cut off.
    """
    fascias = [e.eave - e.pitch * e.overhang for e in edges if not math.isinf(e.pitch)]
    low = min(fascias)
    stepped = max(fascias) - low > tol.merge
    sides = _offset_rings(outline.rings, _reaches(outline, low), tol) if stepped else roof_rings
    read = read_outline(
        [[side.start for side in ring] for ring in sides],
        [
            [math.inf if side.edge is None else edges[side.edge].pitch for side in ring]
            for ring in sides
        ],
        tol=tol,
    )
    flat = [side for ring in sides for side in ring]
    stages = _stages(outline, edges, flat, low)
    level = outline.deck if outline.deck_pitch == 0.0 else None
    cap = None if level is None else Fraction(level - low)
    net = solve(read, stages, cap, tol=tol)
    found = _collected(outline, flat, stages, low, net, read.origin)
    if level is not None:
        deck = HeightPlane(0.0, 0.0, level)
        rings = [_plan(net, ring, read.origin) for ring in net.deck]
        found.extend(Face(deck, ring, holes, "upper") for ring, holes in _nested(rings))
    if not stepped:
        return found
    whole = shapely.Polygon(*_as_polygon(roof_rings))
    return [piece for face in found for piece in _clipped(face, whole, tol)]


def _reaches(outline: OutlineSpec, low: float) -> list[list[float]]:
    """Plan distance from each wall out to where its plane has the height ``low``."""
    return [
        [e.overhang if math.isinf(e.pitch) else (e.eave - low) / e.pitch for e in ring]
        for ring in outline.edges
    ]


def _collected(
    outline: OutlineSpec,
    sides: Sequence[_Side],
    stages: Sequence[Stage],
    low: float,
    net: RoofNet,
    origin: Point2,
) -> list[Face]:
    """Give every piece of the roof net the plane of its wall, stage by stage."""
    edges = [edge for ring in outline.edges for edge in ring]
    walls = [
        (a, b) for ring in outline.rings for a, b in zip(ring, (*ring[1:], ring[0]), strict=True)
    ]
    found: list[Face] = []
    for front, side in enumerate(sides):
        if side.edge is None:
            continue
        own = [number for number, stage in enumerate(stages) if stage.edge == front]
        planes = _planes(walls[side.edge], edges[side.edge], [stages[k] for k in own], low)
        upright = [plane is None for plane in planes]
        storeyed = upright.count(False) > 1
        for k, number in enumerate((front, *(len(sides) + n for n in own))):
            plane = planes[k]
            if plane is None:
                continue
            storey = "" if not storeyed else "lower" if all(upright[:k]) else "upper"
            rings = [_plan(net, ring, origin) for ring in net.faces[number]]
            found.extend(Face(plane, ring, holes, storey) for ring, holes in _nested(rings))
    return found


def _stages(
    outline: OutlineSpec, edges: Sequence[EdgeSpec], sides: Sequence[_Side], low: float
) -> list[Stage]:
    """Collect where planes change their pitch on the way up, lowest first."""
    stages = []
    for number, side in enumerate(sides):
        if side.edge is None:
            continue
        edge = edges[side.edge]
        if edge.hip_from is not None:
            # Like an eave, the height is that over the wall; the overhang hangs lower.
            height = Fraction(edge.hip_from - edge.hip_pitch * edge.overhang - low)
            run = 1 / Fraction(edge.hip_pitch)
            stages.append(Stage(height=height, edge=number, run=run))
        if edge.gable_from is not None:
            height = Fraction(edge.gable_from - low)
            stages.append(Stage(height=height, edge=number, run=Fraction(0)))
        # A gable stays one past the deck's height: the deck falls to the sloping sides.
        gable = edge.gable_from is not None or (math.isinf(edge.pitch) and edge.hip_from is None)
        if outline.deck is not None and outline.deck_pitch > 0.0 and not gable:
            run = 1 / Fraction(outline.deck_pitch)
            stages.append(Stage(height=Fraction(outline.deck - low), edge=number, run=run))
    return sorted(stages, key=lambda stage: (stage.height, stage.edge))


def _planes(
    wall: tuple[Point2, Point2], edge: EdgeSpec, stages: Sequence[Stage], low: float
) -> list[HeightPlane | None]:
    """Planes over one wall, lowest first; None where it is a gable."""
    gable = math.isinf(edge.pitch)
    planes = [None if gable else _plane(*wall, edge.pitch, edge.eave)]
    # The front stands so far in from the wall when it has this height.
    inward, height, pitch = (-edge.overhang, low, 0.0) if gable else (0.0, edge.eave, edge.pitch)
    for stage in stages:
        at = float(stage.height) + low
        inward += (at - height) / pitch if pitch else 0.0
        height, pitch = at, float(1 / stage.run) if stage.run else 0.0
        planes.append(_plane(*wall, pitch, height - pitch * inward) if pitch else None)
    return planes


def _plan(net: RoofNet, ring: Sequence[int], origin: Point2) -> tuple[Point2, ...]:
    return tuple((net.nodes[v][0] + origin[0], net.nodes[v][1] + origin[1]) for v in ring)


def _nested(
    rings: Sequence[tuple[Point2, ...]],
) -> Iterator[tuple[tuple[Point2, ...], tuple[tuple[Point2, ...], ...]]]:
    """Give each outer ring the holes that lie in it."""
    outers = [ring for ring in rings if shapely.LinearRing(ring).is_ccw]
    holes = [ring for ring in rings if not shapely.LinearRing(ring).is_ccw]
    for outer in outers:
        shell = shapely.Polygon(outer)
        yield outer, tuple(h for h in holes if len(outers) == 1 or shell.covers(shapely.Polygon(h)))


def _as_polygon(
    rings: Sequence[Sequence[_Side]],
) -> tuple[list[Point2], list[list[Point2]]]:
    outer, *holes = ([side.start for side in ring] for ring in rings)
    return outer, holes


def _clipped(face: Face, whole: shapely.Polygon, tol: Tolerance) -> Iterator[Face]:
    """Cut a face to the roof outline."""
    cut = shapely.intersection(shapely.Polygon(face.ring, face.holes), whole)
    parts = [p for p in shapely.get_parts(cut) if isinstance(p, shapely.Polygon)]
    for part in shapely.orient_polygons([p for p in parts if p.area > tol.area]):
        yield replace(
            face,
            ring=tuple(map(tuple, np.asarray(part.exterior.coords)[:-1].tolist())),
            holes=tuple(
                tuple(map(tuple, np.asarray(hole.coords)[:-1].tolist())) for hole in part.interiors
            ),
        )
