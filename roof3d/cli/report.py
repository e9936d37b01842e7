"""What a measured roof reads like: tables, findings and cautions."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from roof3d.cli.tables import Table, set_tables
from roof3d.roof.model import Kind, Role
from roof3d.rules.bands import pitch_beside
from roof3d.rules.cautions import cautions_for
from roof3d.takeoff.measure import Totals, measure_roof
from roof3d.units import Units, format_angle, format_area, format_length, format_squares

if TYPE_CHECKING:
    from roof3d.errors import Finding
    from roof3d.project import Project


def measure_text(project: Project, *, plain: bool) -> str:
    """Set the whole measurement: planes, openings, edges, findings, cautions.

    Parameters
    ----------
    project : Project
    plain : bool
        Whether the text goes to a file.

    Returns
    -------
    str
        Without the last line end.
    """
    parts: list[Table | str] = [
        project.spec.name,
        planes_table(project),
        *openings_tables(project),
        edges_table(project),
        findings_text(project.findings),
        cautions_text(project),
    ]
    return set_tables(parts, plain=plain)


def check_text(project: Project, *, plain: bool) -> str:
    """Set the findings and the cautions."""
    findings = project.every_finding
    count = len(findings)
    planes = len(project.roof.planes)
    summary = f"{planes} planes and {len(project.roof.edges)} edges looked at, "
    summary += f"{count or 'no'} {'finding' if count == 1 else 'findings'}."
    parts = [project.spec.name, findings_text(findings), summary, cautions_text(project)]
    return set_tables(parts, plain=plain)


def totals_of(project: Project) -> Totals:
    """Return the totals of a project's roof."""
    chosen = {choice.plane: choice.assembly for choice in project.choices}
    return measure_roof(project.roof, chosen)


def planes_table(project: Project) -> Table:
    """Make the table of planes, with the sums of low and of steep ones."""
    units = project.spec.units
    planes = project.roof.planes
    imperial = units is Units.IMPERIAL
    unit = " sq ft" if imperial else " m2"

    def areas(plan_area: float, area: float) -> tuple[str, ...]:
        cells = tuple(format_area(size, units).removesuffix(unit) for size in (plan_area, area))
        return (*cells, format_squares(area).removesuffix(" squares")) if imperial else cells

    totals = totals_of(project)
    plan_area = {
        kind: math.fsum(plane.plan_area for plane in planes if plane.kind is kind) for kind in Kind
    }
    return Table(
        title="Planes",
        columns=(
            "plane",
            "kind",
            ">pitch",
            f">plan{unit}",
            f">true{unit}",
            *((">squares",) if imperial else ()),
            "assembly",
        ),
        rows=tuple(
            (
                plane.id,
                plane.kind.value,
                pitch_beside(plane.slope, project.spec.rules.low_slope_cutoff)
                if imperial
                else format_angle(math.atan(plane.slope)),
                *areas(plane.plan_area, plane.area),
                project.assembly_of(plane.id),
            )
            for plane in planes
        ),
        totals=(
            ("all low", "", "", *areas(plan_area[Kind.LOW], totals.low_area), ""),
            ("all steep", "", "", *areas(plan_area[Kind.STEEP], totals.steep_area), ""),
            ("all", "", "", *areas(totals.plan_area, totals.area), ""),
        ),
    )


def edges_table(project: Project) -> Table:
    """Make the table of edges, role by role, each role with its total."""
    units = project.spec.units
    rows: list[tuple[str, ...]] = []
    for role in Role:
        edges = [edge for edge in project.roof.edges if edge.role is role]
        if not edges:
            continue
        length = format_length(math.fsum(edge.length for edge in edges), units)
        rows.append((role_name(role), f"{len(edges)} in all", length, ""))
        rows += [
            ("", edge.id, format_length(edge.length, units), " / ".join(edge.planes))
            for edge in edges
        ]
    return Table(
        title="Edges (true length)",
        columns=("role", "edge", ">length", "planes"),
        rows=tuple(rows),
    )


def openings_tables(project: Project) -> tuple[Table, ...]:
    """Make the table of openings, or none where there are none."""
    units = project.spec.units
    rows = tuple(
        (
            opening.id,
            opening.kind.value,
            format_length(opening.perimeter, units),
            format_area(opening.plan_area, units),
            " / ".join(opening.planes),
        )
        for opening in project.roof.openings
    )
    columns = ("opening", "kind", ">perimeter", ">plan area", "planes")
    table = (Table(title="Openings", columns=columns, rows=rows),) if rows else ()
    return (*table, *_scuppers_table(project), *_parapets_table(project))


def _scuppers_table(project: Project) -> tuple[Table, ...]:
    units = project.spec.units
    rows = tuple(
        (
            scupper.id,
            "overflow" if scupper.overflow else "outlet",
            f"{format_length(scupper.width, units)} x {format_length(scupper.height, units)}",
            format_length(scupper.sill, units),
            scupper.edge,
        )
        for scupper in project.roof.scuppers
    )
    columns = ("scupper", "use", ">width x height", ">above low point", "through the wall on")
    return (Table(title="Scuppers", columns=columns, rows=rows),) if rows else ()


def _parapets_table(project: Project) -> tuple[Table, ...]:
    units = project.spec.units
    rows = tuple(
        (
            edge.id,
            " to ".join(dict.fromkeys(format_length(h, units) for h in sorted(edge.wall_heights))),
            format_length(edge.parapet.thickness, units),
            format_length(edge.parapet.coping_length, units),
        )
        for edge in project.roof.edges
        if edge.parapet is not None and edge.wall_heights is not None
    )
    columns = ("edge", ">above the roof", ">thick", ">coping")
    return (Table(title="Parapets", columns=columns, rows=rows),) if rows else ()


def findings_text(findings: tuple[Finding, ...]) -> str:
    """Return the findings as lines, each with its source; empty where there are none."""
    lines = []
    for finding in findings:
        source = f" [{finding.source}]" if finding.source else ""
        lines.append(f"- {finding.severity.value}: {finding.where}: {finding.message}{source}")
    return "\n".join(["Findings", *lines]) if lines else ""


def cautions_text(project: Project) -> str:
    """Return the cautions that every output carries which could send someone onto a roof."""
    return "\n".join(
        ["Cautions", *_bullets(cautions_for(project.choices, project.catalog, project.spec))]
    )


def role_name(role: Role) -> str:
    """Return a role in plain words."""
    return role.value.replace("_", " ")


def _bullets(lines: tuple[str, ...]) -> list[str]:
    return [f"- {line}" for line in lines]
