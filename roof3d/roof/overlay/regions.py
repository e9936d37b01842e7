"""Connected pieces of one plane, with their outlines."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from roof3d.geometry.arrangement import ArrangementEdge
from roof3d.geometry.groups import Groups
from roof3d.geometry.plane import HeightPlane, Point2
from roof3d.geometry.polygon import signed_area
from roof3d.geometry.rings import trace_rings
from roof3d.roof.overlay.sheets import Overlay, Sheet
from roof3d.tolerance import Tolerance


@dataclass(frozen=True, slots=True, kw_only=True)
class Region:
    """A connected piece of one plane class, local coordinates.

    Attributes
    ----------
    section, face : int
        First section in it, and one of that section's faces there.
    plane : HeightPlane
    outer : tuple of points
        Counterclockwise, straight vertices left out.
    holes : tuple of rings
        Clockwise.
    plan_area, covered_area : float
        Square metres.
    """

    section: int
    face: int
    plane: HeightPlane
    outer: tuple[Point2, ...]
    holes: tuple[tuple[Point2, ...], ...]
    plan_area: float
    covered_area: float


RegionKey = tuple[int, int]


def find_regions(
    built: Overlay, *, tol: Tolerance
) -> tuple[tuple[Region, ...], Mapping[RegionKey, int]]:
    """Join live, uncut sheets of one plane that touch along an edge.

    Returns
    -------
    regions : tuple[Region, ...]
        In the order of sections and their faces.
    region_of : mapping from (cell, plane class) to the number of its region
    """
    members = _components(built)
    cell_area = built.arrangement.cell_areas()
    found: list[tuple[tuple[int, int, float, float], Region, list[RegionKey]]] = []
    for sheets in members:
        keys = [(s.cell, s.plane_class) for s in sheets]
        first = min(sheets, key=lambda s: (s.section, s.face))
        outer, holes = _outline(built, set(keys), tol)
        if not outer:
            # A crumb without width: nobody could lay it.
            for sheet in sheets:
                sheet.live = False
            continue
        region = Region(
            section=first.section,
            face=first.face,
            plane=built.plane(first),
            outer=outer,
            holes=holes,
            plan_area=sum(cell_area[s.cell] for s in sheets),
            covered_area=sum((cell_area[s.cell] for s in sheets if built.hidden(s)), 0.0),
        )
        corner = min((round(x, 6), round(y, 6)) for x, y in outer)
        found.append(((first.section, first.face, *corner), region, keys))
    found.sort(key=lambda item: item[0])
    region_of = {key: number for number, (_, _, keys) in enumerate(found) for key in keys}
    return tuple(region for _, region, _ in found), region_of


def _components(built: Overlay) -> list[list[Sheet]]:
    """Group touching live, uncut sheets of one plane class."""
    uncut = {(s.cell, s.plane_class): s for s in built.sheets if s.live and s.opening < 0}
    groups = Groups(uncut)
    for edge in built.arrangement.edges:
        for sheet in built.live(edge.left):
            here, there = (edge.left, sheet.plane_class), (edge.right, sheet.plane_class)
            if here in uncut and there in uncut:
                one, two = (built.sections[uncut[key].section].covering for key in (here, there))
                if one == two:
                    groups.join(here, there)
    return [[uncut[key] for key in members] for members in groups.members()]


def _outline(
    built: Overlay, keys: set[RegionKey], tol: Tolerance
) -> tuple[tuple[Point2, ...], tuple[tuple[Point2, ...], ...]]:
    """Boundary of a region: its outer ring and its holes, straight vertices dropped."""
    plane_class = next(iter(keys))[1]
    directed, owner = [], {}
    for edge in built.arrangement.edges:
        left = (edge.left, plane_class) in keys
        right = (edge.right, plane_class) in keys
        if left != right:
            pair = (edge.start, edge.end) if left else (edge.end, edge.start)
            directed.append(pair)
            owner[pair] = edge
    vertices = built.arrangement.vertices
    traced = [_straightened(ring, vertices, tol) for ring in trace_rings(directed, vertices)]
    rings = [ring for ring in traced if len(ring) > 2 and abs(signed_area(ring)) > tol.area]
    outer = max(rings, key=signed_area, default=())
    return outer, tuple(ring for ring in rings if ring is not outer)


def _straightened(
    ring: Sequence[int], vertices: Sequence[Point2], tol: Tolerance
) -> tuple[Point2, ...]:
    """Leave out vertices on the straight line between their neighbours."""
    points = [vertices[v] for v in ring]
    kept = []
    for before, here, after in zip(
        (points[-1], *points[:-1]), points, (*points[1:], points[0]), strict=True
    ):
        ax, ay = here[0] - before[0], here[1] - before[1]
        bx, by = after[0] - here[0], after[1] - here[1]
        spread = (ax * ax + ay * ay) ** 0.5 + (bx * bx + by * by) ** 0.5
        if abs(ax * by - ay * bx) > tol.merge * spread:
            kept.append(here)
    start = kept.index(min(kept)) if kept else 0
    return tuple(kept[start:] + kept[:start])


def sides(edge: ArrangementEdge) -> tuple[tuple[int, int], tuple[int, int]]:
    """Return (cell, other cell) as seen from the left, then from the right."""
    return (edge.left, edge.right), (edge.right, edge.left)
