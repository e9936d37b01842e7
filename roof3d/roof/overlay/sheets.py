"""Which roof exists where sections overlap: a stack of sheets over every plan cell.

A *sheet* is one face over one cell. What a builder would build decides, not what is seen:

1. Swallow: a sheet inside another section's body (its walls, under its roof) is not built.
2. Backing: an overhang lives only in front of its own live roof.
3. Tie: of sheets in the same plane one is kept.
4. Trim: offcuts below a valley and overhangs that float are not built.

A lower roof that runs on under a higher overhang is real, and stays.
"""

from __future__ import annotations

import itertools
import math
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
import shapely

from roof3d.geometry.arrangement import Arrangement, ArrangementEdge, Segment, arrange
from roof3d.geometry.groups import Groups
from roof3d.geometry.plane import HeightPlane, PlanLine, Point2, line_through
from roof3d.roof.overlay.linework import Cut, draw_linework
from roof3d.roof.sections import Face, SectionRoof
from roof3d.tolerance import Tolerance


@dataclass(slots=True)
class Sheet:
    """One face over one cell; ``live`` changes while the rules are applied."""

    cell: int
    face: int
    section: int
    plane_class: int
    live: bool = True
    swallowed: bool = False
    opening: int = -1


@dataclass(slots=True, kw_only=True)
class Overlay:
    """The arrangement with its sheets; private to this room and not changed once built.

    Attributes
    ----------
    faces : list[tuple[int, Face]]
        Section number and face.
    class_planes : list[HeightPlane]
        One plane for each plane class.
    lines : list[PlanLine]
        The unrounded line of each segment that the arrangement's edges name.
    sheets : list[Sheet]
    stack : list[list[int]]
        For each cell the sheets over it.
    bodies : list[dict[int, HeightPlane]]
        For each cell the closed sections whose walls hold it, with their roof there.
    opening_at : list[int]
        For each cell the opening it lies in, or -1.
    walls_at : list[frozenset[int]]
        For each cell the sections whose walls hold it, open ones too.
    """

    sections: Sequence[SectionRoof]
    faces: list[tuple[int, Face]]
    class_planes: list[HeightPlane]
    arrangement: Arrangement
    lines: list[PlanLine]
    sheets: list[Sheet] = field(default_factory=list)
    stack: list[list[int]] = field(default_factory=list)
    bodies: list[dict[int, HeightPlane]] = field(default_factory=list)
    opening_at: list[int] = field(default_factory=list)
    walls_at: list[frozenset[int]] = field(default_factory=list)

    def plane(self, sheet: Sheet) -> HeightPlane:
        """Return the plane of a sheet."""
        return self.class_planes[sheet.plane_class]

    def live(self, cell: int) -> list[Sheet]:
        """Return the live sheets over a cell; none over the outside."""
        if cell < 0:
            return []
        return [s for s in (self.sheets[k] for k in self.stack[cell]) if s.live]

    def hidden(self, sheet: Sheet) -> bool:
        """Whether another live sheet lies higher over the same cell."""
        inside = self.arrangement.inside[sheet.cell]
        height = self.plane(sheet).at(inside)
        return any(
            self.plane(other).at(inside) > height
            for other in self.live(sheet.cell)
            if other is not sheet
        )

    def ends(self, edge: ArrangementEdge) -> tuple[Point2, Point2]:
        """Plan ends of an edge."""
        return self.arrangement.vertices[edge.start], self.arrangement.vertices[edge.end]

    def meet(
        self, first: HeightPlane, second: HeightPlane, edge: ArrangementEdge, gap: float
    ) -> bool:
        """Whether two planes have equal heights at both ends of an edge."""
        return all(abs(first.at(p) - second.at(p)) <= gap for p in self.ends(edge))


def overlay(
    sections: Sequence[SectionRoof],
    cuts: Sequence[Cut],
    *,
    tol: Tolerance,
    soffit: float | None = None,
    extra: Sequence[Segment] = (),
) -> Overlay:
    """Find which sheets exist.

    Parameters
    ----------
    sections : sequence of SectionRoof
        Local coordinates.
    cuts : sequence of Cut
        What goes through the roof.
    tol : Tolerance
    soffit : float, optional
        As for ``draw_linework``.
    extra : sequence of Segment
        Further lines to node with the rest.

    Returns
    -------
    Overlay
        Every rule applied.
    """
    faces = [(n, face) for n, section in enumerate(sections) for face in section.faces]
    classes, class_planes = _plane_classes(faces, tol)
    segments = (*draw_linework(sections, cuts, tol=tol, soffit=soffit), *extra)
    built = Overlay(
        sections=sections,
        faces=faces,
        class_planes=class_planes,
        arrangement=arrange(segments, tol=tol),
        lines=[segment.line for segment in segments],
    )
    _stack_sheets(built, classes, cuts)
    _swallow(built)
    _require_backing(built, tol)
    _settle_ties(built)
    _trim(built, tol)
    _cut_openings(built, cuts)
    return built


def _plane_classes(
    faces: Sequence[tuple[int, Face]], tol: Tolerance
) -> tuple[list[int], list[HeightPlane]]:
    planes: list[HeightPlane] = []
    classes = []
    for _, face in faces:
        for number, plane in enumerate(planes):
            if face.plane.same_as(plane, slope=tol.slope, height=tol.height):
                classes.append(number)
                break
        else:
            classes.append(len(planes))
            planes.append(face.plane)
    return classes, planes


def _stack_sheets(built: Overlay, classes: Sequence[int], cuts: Sequence[Cut]) -> None:
    inside = shapely.points(np.array(built.arrangement.inside).reshape(-1, 2))

    def holding(polygons: Sequence[shapely.Polygon]) -> list[list[int]]:
        """For each cell the polygons that hold it."""
        found: list[list[int]] = [[] for _ in inside]
        if polygons:
            tree = shapely.STRtree(polygons)
            for cell, number in sorted(tree.query(inside, predicate="intersects").T.tolist()):
                found[cell].append(number)
        return found

    at_face = holding([shapely.Polygon(face.ring, face.holes) for _, face in built.faces])
    at_walls = holding([section.body() for section in built.sections])
    at_opening = holding([shapely.Polygon(cut.ring) for cut in cuts])
    built.walls_at = [frozenset(found) for found in at_walls]
    built.opening_at = [found[0] if found else -1 for found in at_opening]
    for cell, numbers in enumerate(at_face):
        built.stack.append([])
        # A cell may touch two faces of one section only by rounding: the first counts.
        taken: dict[int, int] = {}
        for number in numbers:
            taken.setdefault(built.faces[number][0], number)
        for section, number in taken.items():
            built.stack[cell].append(len(built.sheets))
            built.sheets.append(Sheet(cell, number, section, classes[number]))
        built.bodies.append(
            {
                s: built.class_planes[classes[taken[s]]]
                for s in at_walls[cell]
                if s in taken and not built.sections[s].open
            }
        )


def _swallow(built: Overlay) -> None:
    for sheet in built.sheets:
        inside = built.arrangement.inside[sheet.cell]
        plane = built.plane(sheet)
        height = plane.at(inside)
        for section, roof in built.bodies[sheet.cell].items():
            if section == sheet.section or roof is plane:
                continue
            if built.sections[section].base <= height < roof.at(inside):
                sheet.swallowed = True
                sheet.live = False


def _require_backing(built: Overlay, tol: Tolerance) -> None:
    """Delete overhangs straight out from where their own roof is swallowed."""
    swallowed = {(s.section, s.cell) for s in built.sheets if s.swallowed}
    if not swallowed:
        return
    overhanging: dict[int, list[Sheet]] = defaultdict(list)
    for sheet in built.sheets:
        if sheet.section not in built.walls_at[sheet.cell]:
            overhanging[sheet.section].append(sheet)
    for number in sorted({section for section, _ in swallowed}):
        walls = list(built.sections[number].wall_edges())
        reach = max(depth for _, _, depth in walls)
        for a, b, depth in walls:
            length = math.dist(a, b)
            dead = _dead_pieces(built, number, a, b, swallowed, tol)
            for sheet in overhanging[number]:
                along, out = _from_wall(built.arrangement.inside[sheet.cell], a, b)
                if 0.0 < out < depth and any(
                    (lo < along < hi)
                    or (-reach < along < 0.0 and lo <= tol.sliver)
                    or (length < along < length + reach and hi >= length - tol.sliver)
                    for lo, hi in dead
                ):
                    sheet.live = False


def _dead_pieces(
    built: Overlay,
    number: int,
    a: Point2,
    b: Point2,
    swallowed: set[tuple[int, int]],
    tol: Tolerance,
) -> list[tuple[float, float]]:
    """Pieces of the wall line a-b, as distances from a, beside which the roof is swallowed."""
    line, length = line_through(a, b), math.dist(a, b)
    dead = []
    for edge in built.arrangement.edges:
        p, q = built.ends(edge)
        if abs(line.side(p)) > tol.sliver or abs(line.side(q)) > tol.sliver:
            continue
        along = sorted((_from_wall(p, a, b)[0], _from_wall(q, a, b)[0]))
        if along[1] <= tol.sliver or along[0] >= length - tol.sliver:
            continue
        if (number, edge.left) in swallowed or (number, edge.right) in swallowed:
            dead.append((along[0], along[1]))
    return dead


def _from_wall(p: Point2, a: Point2, b: Point2) -> tuple[float, float]:
    """Distance along the wall from a, and out from it (walls run counterclockwise)."""
    length = math.dist(a, b)
    dx, dy = (b[0] - a[0]) / length, (b[1] - a[1]) / length
    x, y = p[0] - a[0], p[1] - a[1]
    return x * dx + y * dy, x * dy - y * dx


def _settle_ties(built: Overlay) -> None:
    """Keep one of the sheets in one plane: that of the section whose walls are nearest."""
    for cell, numbers in enumerate(built.stack):
        same: dict[int, list[Sheet]] = defaultdict(list)
        for number in numbers:
            if built.sheets[number].live:
                same[built.sheets[number].plane_class].append(built.sheets[number])
        place = shapely.Point(built.arrangement.inside[cell])
        for tied in same.values():
            if len(tied) > 1:
                tied.sort(key=lambda s: (_distance(built, s, place), s.section))
            for loser in tied[1:]:
                loser.live = False


def _distance(built: Overlay, sheet: Sheet, place: shapely.Point) -> float:
    """Distance from the walls of a sheet's section: 0 inside them."""
    away = built.sections[sheet.section].body().distance(place)
    return round(float(away), 6)  # equally near, rounding or not


def _trim(built: Overlay, tol: Tolerance) -> None:
    """Delete connected pieces of roof that nobody would build.

    First what floats with no wall of its own, then offcuts: a roof that seemed an offcut
    under a floater is whole once the floater is gone.
    """
    for is_doomed in (_floats, _is_offcut):
        groups, blocked = _linked_groups(built, tol)
        doomed = [
            sheet for members in groups if is_doomed(built, members, blocked) for sheet in members
        ]
        for sheet in doomed:
            sheet.live = False


def _linked_groups(built: Overlay, tol: Tolerance) -> tuple[list[list[Sheet]], set[int]]:
    """Group live sheets that go on into each other; and the ids of those at a blocked link."""
    number_of = {id(sheet): k for k, sheet in enumerate(built.sheets)}
    groups = Groups(k for k, sheet in enumerate(built.sheets) if sheet.live)
    blocked: set[int] = set()
    for edge in built.arrangement.edges:
        for f, g in itertools.product(built.live(edge.left), built.live(edge.right)):
            if not _linked(built, f, g, edge, tol):
                continue
            if _link_blocked(built, f, g, edge, tol):
                blocked.update((id(f), id(g)))
            else:
                groups.join(number_of[id(f)], number_of[id(g)])
    return [[built.sheets[k] for k in members] for members in groups.members()], blocked


def _floats(built: Overlay, sheets: Sequence[Sheet], _blocked: set[int]) -> bool:
    return not any(
        built.sections[s.section].open or s.section in built.bodies[s.cell] for s in sheets
    )


def _is_offcut(built: Overlay, sheets: Sequence[Sheet], blocked: set[int]) -> bool:
    return any(id(s) in blocked for s in sheets) and all(built.hidden(s) for s in sheets)


def _linked(built: Overlay, f: Sheet, g: Sheet, edge: ArrangementEdge, tol: Tolerance) -> bool:
    if f.plane_class == g.plane_class:
        return True
    return f.section == g.section and built.meet(built.plane(f), built.plane(g), edge, tol.height)


def _link_blocked(
    built: Overlay, f: Sheet, g: Sheet, edge: ArrangementEdge, tol: Tolerance
) -> bool:
    own = {f.plane_class, g.plane_class}
    for other in (*built.live(edge.left), *built.live(edge.right)):
        if other.section in (f.section, g.section) or other.plane_class in own:
            continue
        if built.meet(built.plane(other), built.plane(f), edge, tol.height):
            return True
    f_hidden, g_hidden = built.hidden(f), built.hidden(g)
    if f_hidden == g_hidden:
        return False
    under = f if f_hidden else g
    inside = built.arrangement.inside[under.cell]
    roof = built.plane(under)
    above = min(
        (p for p in map(built.plane, built.live(under.cell)) if p.at(inside) > roof.at(inside)),
        key=lambda p: p.at(inside),
    )
    least = tol.clearance - tol.height  # a gap of just the clearance is enough, rounding or not
    return all(above.at(p) - roof.at(p) < least for p in built.ends(edge))


def _cut_openings(built: Overlay, cuts: Sequence[Cut]) -> None:
    """Mark what each opening cuts."""
    for sheet in built.sheets:
        opening = built.opening_at[sheet.cell]
        if sheet.live and opening >= 0 and (cuts[opening].through or not built.hidden(sheet)):
            sheet.opening = opening
