"""The closed building: roof, fascias, soffits, walls and floor as one watertight mesh.

Over every plan cell the building is a stack of height intervals bounded by planes: bodies
from the ground to their roof, slabs where a roof overhangs, and what goes through it. The
union of the intervals gives tops and undersides; where neighbouring cells differ, upright
strips close the gap. Strips carry every height that occurs at their ends, so that no vertex
lies on another triangle's side.
"""

from __future__ import annotations

import itertools
import math
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely

from roof3d.errors import InvariantError
from roof3d.geometry.arrangement import Segment
from roof3d.geometry.plane import HeightPlane, Point2, line_through
from roof3d.geometry.polygon import signed_area
from roof3d.roof.build import local_origin
from roof3d.roof.model import Roof, Solid
from roof3d.roof.naming import plane_names
from roof3d.roof.openings import cutting_openings, opening_cut
from roof3d.roof.overlay.linework import Cut
from roof3d.roof.overlay.regions import Region, find_regions
from roof3d.roof.overlay.sheets import Overlay, overlay
from roof3d.roof.overlay.undersides import underside
from roof3d.roof.parapets.holes import WallHole, wall_holes
from roof3d.roof.parapets.raise_walls import raise_walls
from roof3d.roof.sections import build_any_section
from roof3d.roof.weld import weld_sections
from roof3d.spec.model import OpeningKind, OpeningSpec, RoofSpec
from roof3d.tolerance import DEFAULT, Tolerance

TICK_ROUNDS = 8
"""Most passes for finding heights that change order along an edge; two have sufficed."""

PARAPET = "parapet"
"""What the top of a parapet is called among the faces."""

EAVE_DEPTH = 0.15
"""Depth of an overhang's slab, metres: a drawing value, no rule."""


@dataclass(frozen=True, slots=True)
class _Span:
    """Heights between two planes over one cell, and the name of the top."""

    low: HeightPlane
    high: HeightPlane
    name: str


@dataclass(slots=True)
class _Mesh:
    """Triangles under construction; corners are (plan vertex, level number)."""

    triangles: list[tuple[tuple[int, int], ...]]
    faces: list[str]

    def add(self, a: tuple[int, int], b: tuple[int, int], c: tuple[int, int], name: str) -> None:
        if len({a, b, c}) == 3:
            self.triangles.append((a, b, c))
            self.faces.append(name)


def build_solid(
    spec: RoofSpec, roof: Roof, *, depth: float = EAVE_DEPTH, tol: Tolerance = DEFAULT
) -> Solid:
    """Mesh the whole building.

    Parameters
    ----------
    spec : RoofSpec
    roof : Roof
        As ``build_roof`` made it from the same spec.
    depth : float
        Thickness of the overhangs, metres, above 0.
    tol : Tolerance

    Returns
    -------
    Solid
        Every half-edge has its reverse; triangles counterclockwise seen from outside;
        world coordinates. ``faces`` are plane ids, opening ids, ``wall``, ``parapet`` (its
        top alone), ``fascia``, ``soffit`` or ``floor``.
    """
    origin = local_origin(spec)
    welded, _ = weld_sections(spec.sections, origin, tol=tol)
    sections = [build_any_section(section, origin, tol=tol) for section in welded]
    for wall in raise_walls(welded, sections, tol=tol):
        sections += wall.bodies
    through = cutting_openings(spec)
    cuts = [
        _capped(opening_cut(o, origin), o.kind, o.height, found.top)
        for o, found in zip(through, roof.openings, strict=True)
    ]
    holes = wall_holes(roof, origin)
    extra = [side for hole in holes for side in hole.sides(tol=tol)]
    for _ in range(TICK_ROUNDS):
        built = overlay(sections, cuts, tol=tol, soffit=depth, extra=extra)
        stacks = _stacks(built, len(spec.sections), through, cuts, holes, depth, tol)
        ticks = list(_ticks(built, stacks, tol))
        if not ticks:
            break
        extra.extend(ticks)
    else:
        raise InvariantError(
            "walls of touching sections keep crossing", hint="please report the model file"
        )
    levels, level_of = _levels(built, stacks, tol)
    mesh = _Mesh([], [])
    _add_tops(built, stacks, level_of, mesh)
    ground = _ground(built)
    _add_undersides(built, stacks, level_of, ground, mesh)
    _add_strips(built, stacks, levels, level_of, [o.id for o in through], mesh)
    return _packed(built, levels, mesh, origin)


def _capped(cut: Cut, kind: OpeningKind, height: float, top: float) -> Cut:
    if kind is OpeningKind.SKYLIGHT:
        return cut
    return replace(cut, cap=HeightPlane(0.0, 0.0, max(top, height)))


def _ground(built: Overlay) -> HeightPlane:
    lowest = min(face.plane.at(p) for _, face in built.faces for p in face.ring)
    return HeightPlane(0.0, 0.0, 0.0 if lowest > 1.0 else math.floor(lowest) - 1.0)


def _stacks(
    built: Overlay,
    sections: int,
    through: Sequence[OpeningSpec],
    cuts: Sequence[Cut],
    holes: Sequence[WallHole],
    depth: float,
    tol: Tolerance,
) -> list[list[_Span]]:
    """For each cell its disjoint spans, lowest first; after the sections come parapets."""
    regions, region_of = find_regions(built, tol=tol)
    names = plane_names(built, regions)
    ground = _ground(built)
    stacks = []
    for cell, inside in enumerate(built.arrangement.inside):
        spans = []
        top_names = {
            s.plane_class: _name_of_top(regions, names, region_of[(cell, s.plane_class)], sections)
            for s in built.live(cell)
            if s.opening < 0
        }
        for section, roof in built.bodies[cell].items():
            base = built.sections[section].base
            low = ground if math.isinf(base) else HeightPlane(0.0, 0.0, base)
            name = top_names.get(built.class_planes.index(roof), "wall")
            hole = next((h for h in holes if section >= sections and h.holds(inside)), None)
            if hole is not None:
                spans.append(_Span(low, HeightPlane(0.0, 0.0, hole.bottom), "wall"))
                low = HeightPlane(0.0, 0.0, hole.top)
            spans.append(_Span(low, roof, name))
        for sheet in built.live(cell):
            roof = built.plane(sheet)
            name = top_names.get(sheet.plane_class, "wall")
            if sheet.section not in built.bodies[cell]:
                spans.append(_Span(underside(built, sheet, depth), roof, name))
            if sheet.opening >= 0:
                opening = through[sheet.opening]
                cap = cuts[sheet.opening].cap or roof.raised(opening.height)
                spans.append(_Span(roof.raised(-depth), cap, opening.id))
        stacks.append(_united(spans, inside, tol))
    return stacks


def _name_of_top(
    regions: Sequence[Region], names: Sequence[str], number: int, sections: int
) -> str:
    return names[number] if regions[number].section < sections else PARAPET


def _united(spans: Sequence[_Span], inside: Point2, tol: Tolerance) -> list[_Span]:
    """Union of spans, decided at a point inside the cell where none cross."""
    # Of equal tops the one that is a roof plane names the union.
    order = sorted(spans, key=lambda s: (s.low.at(inside), s.high.at(inside), s.name == "wall"))
    united: list[_Span] = []
    for span in order:
        if not united or span.low.at(inside) > united[-1].high.at(inside) + tol.height:
            united.append(span)
            continue
        last = united[-1]
        higher = span.high.at(inside) - last.high.at(inside)
        if higher > tol.height or (abs(higher) <= tol.height and last.name == "wall"):
            united[-1] = _Span(last.low, span.high, span.name)
    return united


def _ticks(built: Overlay, stacks: Sequence[Sequence[_Span]], tol: Tolerance) -> Iterator[Segment]:
    """Short cuts across edges along which heights of the two sides change order."""
    for edge in built.arrangement.edges:
        u, v = built.ends(edge)
        planes = {
            plane
            for cell in (edge.left, edge.right)
            if cell >= 0
            for span in stacks[cell]
            for plane in (span.low, span.high)
        }
        for one, two in itertools.combinations(sorted(planes, key=lambda p: (p.c, p.gx, p.gy)), 2):
            at_u, at_v = one.at(u) - two.at(u), one.at(v) - two.at(v)
            if min(at_u, at_v) < -tol.height and max(at_u, at_v) > tol.height:
                t = at_u / (at_u - at_v)
                x, y = u[0] + t * (v[0] - u[0]), u[1] + t * (v[1] - u[1])
                line = line_through(u, v)
                dx, dy = line.nx * tol.overshoot, line.ny * tol.overshoot
                ends = ((x - dx, y - dy), (x + dx, y + dy))
                yield Segment(*ends, line_through(*ends))


def _levels(
    built: Overlay, stacks: Sequence[Sequence[_Span]], tol: Tolerance
) -> tuple[list[list[float]], list[dict[HeightPlane, int]]]:
    """Distinct heights at every plan vertex, and the level of each plane there."""
    planes_at: list[set[HeightPlane]] = [set() for _ in built.arrangement.vertices]
    for edge in built.arrangement.edges:
        for cell in (edge.left, edge.right):
            if cell < 0:
                continue
            for span in stacks[cell]:
                planes_at[edge.start].update((span.low, span.high))
                planes_at[edge.end].update((span.low, span.high))
    levels, level_of = [], []
    for vertex, planes in zip(built.arrangement.vertices, planes_at, strict=True):
        heights: list[float] = []
        numbers: dict[HeightPlane, int] = {}
        for plane in sorted(planes, key=lambda p: (p.at(vertex), p.c, p.gx, p.gy)):
            z = plane.at(vertex)
            if not heights or z > heights[-1] + tol.height:
                heights.append(z)
            numbers[plane] = len(heights) - 1
        levels.append(heights)
        level_of.append(numbers)
    return levels, level_of


def _plan_triangles(built: Overlay, cell_rings: Sequence[Sequence[int]]) -> list[tuple[int, ...]]:
    """Triangulate one cell in plan, keeping every vertex on its boundary."""
    vertices = built.arrangement.vertices
    number = {vertices[v]: v for ring in cell_rings for v in ring}
    shells = [r for r in cell_rings if signed_area([vertices[v] for v in r]) > 0.0]
    holes = [r for r in cell_rings if signed_area([vertices[v] for v in r]) < 0.0]
    found = []
    for shell in shells:
        outer = shapely.polygons(shapely.linearrings([vertices[v] for v in shell]))
        own = [h for h in holes if len(shells) == 1 or outer.covers(_middle(h, vertices))]
        polygon = shapely.Polygon(
            [vertices[v] for v in shell], [[vertices[v] for v in h] for h in own]
        )
        for triangle in shapely.get_parts(shapely.constrained_delaunay_triangles(polygon)):
            corners = [number[p] for p in list(triangle.exterior.coords)[:3]]
            if signed_area([vertices[v] for v in corners]) < 0.0:
                corners.reverse()
            found.append(tuple(corners))
    return found


def _middle(ring: Sequence[int], vertices: Sequence[Point2]) -> shapely.Point:
    a, b = vertices[ring[0]], vertices[ring[1]]
    return shapely.Point((a[0] + b[0]) / 2.0, (a[1] + b[1]) / 2.0)


def _bounds_at(spans: Sequence[_Span], levels: dict[HeightPlane, int]) -> list[tuple[int, int]]:
    """Levels of the spans of one cell at one of its vertices, never falling.

    A crumb of a cell that went to its neighbour can leave a corner just past the line where
    two heights cross; there the upper one is taken to meet the lower.
    """
    bounds: list[tuple[int, int]] = []
    floor = 0
    for span in spans:
        low = max(floor, levels[span.low])
        floor = max(low, levels[span.high])
        bounds.append((low, floor))
    return bounds


def _add_tops(
    built: Overlay,
    stacks: Sequence[Sequence[_Span]],
    level_of: Sequence[dict[HeightPlane, int]],
    mesh: _Mesh,
) -> None:
    for spans, rings in zip(stacks, built.arrangement.cell_rings(), strict=True):
        for corners in _plan_triangles(built, rings) if spans else ():
            at = [_bounds_at(spans, level_of[v]) for v in corners]
            for k, span in enumerate(spans):
                a, b, c = ((v, bounds[k][1]) for v, bounds in zip(corners, at, strict=True))
                mesh.add(a, b, c, span.name)


def _add_undersides(
    built: Overlay,
    stacks: Sequence[Sequence[_Span]],
    level_of: Sequence[dict[HeightPlane, int]],
    ground: HeightPlane,
    mesh: _Mesh,
) -> None:
    for spans, rings in zip(stacks, built.arrangement.cell_rings(), strict=True):
        for corners in _plan_triangles(built, rings) if spans else ():
            at = [_bounds_at(spans, level_of[v]) for v in corners]
            for k, span in enumerate(spans):
                a, b, c = ((v, bounds[k][0]) for v, bounds in zip(corners, at, strict=True))
                mesh.add(c, b, a, "floor" if span.low == ground else "soffit")


def _add_strips(
    built: Overlay,
    stacks: Sequence[Sequence[_Span]],
    levels: Sequence[Sequence[float]],
    level_of: Sequence[dict[HeightPlane, int]],
    opening_ids: Sequence[str],
    mesh: _Mesh,
) -> None:
    for edge in built.arrangement.edges:
        u, v = edge.start, edge.end

        def bounds(cell: int, u: int = u, v: int = v) -> list[tuple[tuple[int, int], ...]]:
            spans = stacks[cell] if cell >= 0 else []
            return [
                ((a[0], b[0]), (a[1], b[1]))
                for a, b in zip(
                    _bounds_at(spans, level_of[u]), _bounds_at(spans, level_of[v]), strict=True
                )
            ]

        left, right = bounds(edge.left), bounds(edge.right)
        lines = sorted(
            {line for span in (*left, *right) for line in span},
            key=lambda k: (levels[u][k[0]] + levels[v][k[1]], k),
        )
        place = {line: k for k, line in enumerate(lines)}
        for k, (low, high) in enumerate(itertools.pairwise(lines)):
            in_left = any(place[a] <= k < place[b] for a, b in left)
            in_right = any(place[a] <= k < place[b] for a, b in right)
            if in_left == in_right:
                continue
            solid = edge.left if in_left else edge.right
            name = _strip_name(built, solid, opening_ids)
            for triangle in _strip(u, v, low, high):
                a, b, c = triangle if in_left else triangle[::-1]
                mesh.add(a, b, c, name)


def _strip_name(built: Overlay, cell: int, opening_ids: Sequence[str]) -> str:
    if built.opening_at[cell] >= 0 and any(s.opening >= 0 for s in built.live(cell)):
        return opening_ids[built.opening_at[cell]]
    return "wall" if built.bodies[cell] else "fascia"


def _strip(
    u: int, v: int, low: tuple[int, int], high: tuple[int, int]
) -> Iterator[tuple[tuple[int, int], ...]]:
    """Triangles of an upright strip, outward to the right of u to v, using every level."""
    i, j = low
    while i < high[0] or j < high[1]:
        if j < high[1] and (i == high[0] or j - low[1] <= i - low[0]):
            yield (u, i), (v, j), (v, j + 1)
            j += 1
        else:
            yield (u, i), (v, j), (u, i + 1)
            i += 1


def _packed(
    built: Overlay, levels: Sequence[Sequence[float]], mesh: _Mesh, origin: Point2
) -> Solid:
    number: dict[tuple[int, int], int] = defaultdict(lambda: len(number))
    triangles = np.array([[number[c] for c in t] for t in mesh.triangles], dtype=np.int64)
    vertices = np.empty((len(number), 3))
    for (vertex, level), k in number.items():
        x, y = built.arrangement.vertices[vertex]
        vertices[k] = (x + origin[0], y + origin[1], levels[vertex][level])
    vertices.flags.writeable = False
    triangles.flags.writeable = False
    return Solid(vertices=vertices, triangles=triangles, faces=tuple(mesh.faces))
