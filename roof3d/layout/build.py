"""Lay out a whole roof: every layer on every plane, then the strips along the edges."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Final

from roof3d.catalog.laying import Border
from roof3d.catalog.model import Assembly, Catalog
from roof3d.errors import Finding
from roof3d.layout.borders.frame import frame_of, outline_of
from roof3d.layout.borders.ice import ice_rule
from roof3d.layout.borders.sides import sides_of
from roof3d.layout.joint import INCH, joint_rule
from roof3d.layout.layers import Ground, lay_layers
from roof3d.layout.model import LaidPlane, Layout, Side
from roof3d.layout.outlets import tell_laps_at_outlets
from roof3d.layout.rows import tell_slivers
from roof3d.layout.strips.lay import lay_strips
from roof3d.layout.zones import wind_zones, zone_width
from roof3d.roof.model import Role, Roof
from roof3d.roof.walls import wall_polygon
from roof3d.spec.model import RoofSpec, Valley
from roof3d.tolerance import DEFAULT, Tolerance

RIDGE_LAP: Final = 4.0 * INCH
"""So much of the last course lies under the ridge pieces at least: common practice, no source."""


def lay_out(
    spec: RoofSpec,
    roof: Roof,
    catalog: Catalog,
    assembly_of: Mapping[str, str],
    *,
    on_plane: Callable[[int, int], None] | None = None,
    tol: Tolerance = DEFAULT,
) -> Layout:
    """Lay every layer of every plane, and every strip along its edges.

    Parameters
    ----------
    spec : RoofSpec
        For the site, the walls and what the model wants of the laying.
    roof : Roof
        Built from that spec.
    catalog : Catalog
    assembly_of : mapping of str to str
        Plane id to assembly id, for every plane.
    on_plane : callable of (int, int), optional
        Told how many planes of how many are laid, after each.
    tol : Tolerance

    Returns
    -------
    Layout
        Planes in the order of the roof. What a rule of laying cannot keep is a finding.

    Raises
    ------
    LayoutError
        Where the site names an edition that is not known, or a material cannot be laid.
    """
    walls = {section.id: wall_polygon(section) for section in spec.sections}
    kinds = {name: catalog.assembly(chosen).kind for name, chosen in assembly_of.items()}
    ice = ice_rule(spec.site.code) if spec.site.ice_barrier else None
    closed = closed_valleys(roof, kinds, tol) if spec.layout.valley is Valley.CLOSED_CUT else {}
    rule = joint_rule(spec.layout.membrane_rise)
    planes: list[LaidPlane] = []
    findings: list[Finding] = []
    for plane in roof.planes:
        frame = frame_of(plane)
        outline = outline_of(plane, frame)
        sides = sides_of(roof, plane, frame, kinds, walls, rule=rule, tol=tol)
        slope = plane.slope
        width = zone_width(spec.site, roof, slope=slope, ground=min(s.base for s in spec.sections))
        ground = Ground(
            plane=plane,
            outline=outline,
            sides=sides,
            zones=wind_zones(sides, outline, width, slope=slope, zones=spec.site.zones, tol=tol),
            ice=ice,
            spare=_under_ridge(catalog.assembly(assembly_of[plane.id]), catalog, sides, tol),
            valleys={
                edge: Border.VALLEY_THROUGH if through == plane.id else Border.VALLEY_CUT
                for edge, through in closed.items()
            },
        )
        layers, told = lay_layers(
            ground, catalog.assembly(assembly_of[plane.id]), catalog, spec, tol=tol
        )
        findings += told
        planes.append(
            LaidPlane(
                plane=plane,
                assembly=assembly_of[plane.id],
                frame=frame,
                outline=outline,
                sides=sides,
                layers=layers,
            )
        )
        if on_plane is not None:
            on_plane(len(planes), len(roof.planes))
    strips, told = lay_strips(
        planes, roof, catalog, assembly_of, spec.site, spec.layout, units=spec.units, tol=tol
    )
    findings += told
    findings += tell_laps_at_outlets(planes, roof, units=spec.units, tol=tol)
    findings += tell_slivers(planes, units=spec.units, tol=tol)
    return Layout(planes=tuple(planes), strips=strips, findings=tuple(findings))


def closed_valleys(
    roof: Roof, kinds: Mapping[str, str], tol: Tolerance = DEFAULT
) -> dict[str, str]:
    """Return for each valley between shingles the plane whose shingles run through it.

    Parameters
    ----------
    roof : Roof
    kinds : mapping of str to str
        Kind of the assembly by plane id, for every plane.
    tol : Tolerance

    Returns
    -------
    dict of str to str
        Plane id by the id of the valley, were it closed-cut.

    Notes
    -----
    The plane that sheds less water runs through, the other lies over it and is cut, so that
    the cut edge faces away from the larger flow: the flatter plane, or the smaller one.
    """
    through = {}
    for edge in roof.edges:
        if edge.role is not Role.VALLEY or {kinds[plane] for plane in edge.planes} != {"shingle"}:
            continue
        one, two = (roof.plane(plane) for plane in edge.planes)
        if abs(one.slope - two.slope) > tol.slope:
            through[edge.id] = min(one, two, key=lambda plane: plane.slope).id
        else:
            through[edge.id] = min(one, two, key=lambda plane: plane.area).id
    return through


def _under_ridge(
    assembly: Assembly, catalog: Catalog, sides: Sequence[Side], tol: Tolerance
) -> float:
    """Return how much of the last course ridge pieces cover beside what they must lap: metres.

    A plane that ends in a ridge at its top has half of each piece on it.
    """
    top = max(point[1] for side in sides for point in (side.start, side.end))
    level = [
        s for s in sides if s.border is Border.RIDGE and min(s.start[1], s.end[1]) > top - tol.snap
    ]
    widths = [
        rule.width or catalog.material(rule.material).width
        for rule in assembly.strips
        if Border.RIDGE in rule.at and catalog.material(rule.material).exposure > 0.0
    ]
    return max(0.0, min(widths) / 2.0 - RIDGE_LAP) if level and widths else 0.0
