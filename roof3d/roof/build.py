"""From the sections of a model to its roof."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Sequence

import shapely

from roof3d.errors import Finding, Severity
from roof3d.geometry.plane import HeightPlane, Point2
from roof3d.roof.hints import hints
from roof3d.roof.model import Edge, Kind, Plane, Point3, Roof, RoofOpening
from roof3d.roof.naming import plane_names
from roof3d.roof.openings import (
    cutting_openings,
    opening_cut,
    require_apart,
    require_cut,
    require_low,
    rim_chains,
    rim_length,
    width_across,
)
from roof3d.roof.overlay.edges import EdgeRecord, RimRecord, find_edges
from roof3d.roof.overlay.regions import Region, find_regions
from roof3d.roof.overlay.sheets import Overlay, overlay
from roof3d.roof.parapets.edges import in_world, without_tops
from roof3d.roof.parapets.raise_walls import raise_walls
from roof3d.roof.parapets.scuppers import place_scupper
from roof3d.roof.sections import build_any_section
from roof3d.roof.weld import weld_sections
from roof3d.spec.model import OpeningKind, OpeningSpec, RoofSpec
from roof3d.tolerance import DEFAULT, Tolerance


def local_origin(spec: RoofSpec) -> Point2:
    """World point that serves as local origin: the middle of the first corners, whole metres."""
    xs = [section.at[0] for section in spec.sections]
    ys = [section.at[1] for section in spec.sections]
    return (float(round((min(xs) + max(xs)) / 2.0)), float(round((min(ys) + max(ys)) / 2.0)))


def build_roof(spec: RoofSpec, *, tol: Tolerance = DEFAULT) -> tuple[Roof, tuple[Finding, ...]]:
    """Build the roof that stands where the sections of a model overlap.

    Parameters
    ----------
    spec : RoofSpec
    tol : Tolerance

    Returns
    -------
    roof : Roof
        World coordinates. Neighbouring planes share the ends of their edges to well
        below ``tol.height``.
    findings : tuple[Finding, ...]
        Hints that the drawing may not be what was meant.

    Raises
    ------
    GeometryError
        If a section cannot be built or an opening is not on the roof.
    """
    origin = local_origin(spec)
    welded, notes = weld_sections(spec.sections, origin, tol=tol)
    sections = [build_any_section(section, origin, tol=tol) for section in welded]
    walls = raise_walls(welded, sections, tol=tol)
    through = cutting_openings(spec)
    cuts = [opening_cut(opening, origin) for opening in through]
    require_apart(through, cuts)
    bodies = [body for wall in walls for body in wall.bodies]
    built = overlay([*sections, *bodies], cuts, tol=tol)
    regions, region_of = find_regions(built, tol=tol)
    cutoff = spec.rules.low_slope_cutoff
    is_low = [math.hypot(r.plane.gx, r.plane.gy) < cutoff - tol.slope for r in regions]
    records, rims = find_edges(built, region_of, is_low, tol=tol)
    edges = without_tops(records, regions, walls, [s.id for s in sections], tol=tol)
    names = plane_names(built, regions)
    planes = tuple(
        _plane(region, name, spec.sections[region.section].id, low, origin)
        for region, name, low in zip(regions, names, is_low, strict=True)
        if region.section < len(sections)
    )
    found = _edges(spec, regions, names, edges, built, origin, tol)
    roof = Roof(
        planes=planes,
        edges=found,
        openings=_openings(spec, through, built, regions, names, rims, origin),
        scuppers=tuple(
            place_scupper(opening, found, planes, units=spec.units, tol=tol)
            for opening in spec.openings
            if opening.kind is OpeningKind.SCUPPER
        ),
    )
    require_low(roof)
    return roof, (*notes, *_without_roof(spec, built), *hints(roof, units=spec.units, tol=tol))


def _without_roof(spec: RoofSpec, built: Overlay) -> tuple[Finding, ...]:
    """Tell of sections of which nothing is left: buried in others, or drawn twice."""
    living = {sheet.section for sheet in built.sheets if sheet.live}
    return tuple(
        Finding(
            code="R3D-BURIED",
            severity=Severity.CAUTION,
            where=f'section "{section.id}"',
            message="none of its roof is left: it lies inside other sections, or is one of them "
            "drawn twice",
        )
        for number, section in enumerate(spec.sections)
        if number not in living
    )


def _world(point: Point2, plane: HeightPlane, origin: Point2) -> Point3:
    return (point[0] + origin[0], point[1] + origin[1], plane.at(point))


def _plane(region: Region, name: str, section: str, low: bool, origin: Point2) -> Plane:  # noqa: FBT001
    plane = region.plane
    factor = math.sqrt(1.0 + plane.gx**2 + plane.gy**2)
    return Plane(
        id=name,
        section=section,
        kind=Kind.LOW if low else Kind.STEEP,
        gradient=(plane.gx, plane.gy),
        offset=plane.moved(origin).c,
        outline=tuple(_world(p, plane, origin) for p in region.outer),
        holes=tuple(tuple(_world(p, plane, origin) for p in hole) for hole in region.holes),
        plan_area=region.plan_area,
        area=region.plan_area * factor,
        covered_plan_area=region.covered_area,
    )


def _edges(
    spec: RoofSpec,
    regions: Sequence[Region],
    names: Sequence[str],
    records: Sequence[EdgeRecord],
    built: Overlay,
    origin: Point2,
    tol: Tolerance,
) -> tuple[Edge, ...]:
    """Give numbers to the edges, section by section and role by role."""
    order = {role: k for k, role in enumerate(type(records[0].role))} if records else {}

    def rank(record: EdgeRecord) -> tuple[object, ...]:
        owner = max(regions[r].section for r in record.regions)
        # Rounded, so that the unit in which a model was typed does not decide.
        place = sorted((round(x, 6), round(y, 6)) for x, y in record.ends)
        return (owner, order[record.role], sorted(record.regions), place)

    count: dict[str, int] = defaultdict(int)
    edges = []
    for record in sorted(records, key=rank):
        plane = regions[record.regions[0]].plane
        low, high = _ordered(record.ends, plane, tol)
        stem = f"{spec.sections[max(regions[r].section for r in record.regions)].id}.{record.role}"
        count[stem] += 1
        ends = (_world(low, plane, origin), _world(high, plane, origin))
        edges.append(
            Edge(
                id=stem if count[stem] == 1 else f"{stem}_{count[stem]}",
                role=record.role,
                ends=ends,
                planes=tuple(names[r] for r in record.regions),
                length=math.hypot(math.dist(low, high), plane.at(high) - plane.at(low)),
                plan_length=math.dist(low, high),
                convex=record.convex,
                wall_heights=_wall_heights(built, record, plane, (low, high)),
                wall_area=record.wall_area,
                parapet=None if record.parapet is None else in_world(record.parapet, origin),
            )
        )
    return tuple(edges)


def _ordered(
    ends: tuple[Point2, Point2], plane: HeightPlane, tol: Tolerance
) -> tuple[Point2, Point2]:
    """Lower end first; where level, the western (then southern) end first."""
    first, second = sorted(ends)
    if plane.at(second) < plane.at(first) - tol.height:
        return second, first
    return first, second


def _wall_heights(
    built: Overlay, record: EdgeRecord, plane: HeightPlane, ends: tuple[Point2, Point2]
) -> tuple[float, float] | None:
    """Height of the wall above the roof at both ends of a wall edge."""
    if record.wall < 0:
        return None
    faces = [face for number, face in built.faces if number == record.wall]
    outlines = [shapely.Polygon(face.ring, face.holes) for face in faces]
    heights = []
    for p in ends:
        away = shapely.distance(outlines, shapely.Point(p))
        face = faces[int(away.argmin())]
        heights.append(max(face.plane.at(p) - plane.at(p), 0.0))
    return (heights[0], heights[1])


def _openings(
    spec: RoofSpec,
    through: Sequence[OpeningSpec],
    built: Overlay,
    regions: Sequence[Region],
    names: Sequence[str],
    rims: Sequence[RimRecord],
    origin: Point2,
) -> tuple[RoofOpening, ...]:
    openings = []
    sections = len(spec.sections)  # what comes after them are parapets
    areas = built.arrangement.cell_areas()
    for number, opening in enumerate(through):
        chains = rim_chains(number, [r for r in rims if regions[r.region].section < sections])
        require_cut(opening, dict(chains), spec.units)
        longest = max(chains, key=lambda r: rim_length(chains[r], regions[r].plane))
        ring = opening_cut(opening, origin).ring
        cut = {sheet.cell for sheet in built.sheets if sheet.opening == number}
        tops = [
            regions[r].plane.at(p) for r, found in chains.items() for pts, _ in found for p in pts
        ]
        openings.append(
            RoofOpening(
                id=opening.id,
                kind=opening.kind,
                planes=tuple(names[r] for r in chains),
                outline=tuple((x + origin[0], y + origin[1]) for x, y in ring),
                rim=tuple(
                    tuple(_world(p, regions[r].plane, origin) for p in points)
                    + ((_world(points[0], regions[r].plane, origin),) if closed else ())
                    for r, found in chains.items()
                    for points, closed in found
                ),
                perimeter=sum(rim_length(found, regions[r].plane) for r, found in chains.items()),
                width_across=width_across(ring, regions[longest].plane),
                plan_area=sum(areas[cell] for cell in cut),
                top=max(tops) + opening.height,
                sump=opening.sump,
                sill=opening.sill,
                overflow=opening.overflow,
            )
        )
    return tuple(openings)
