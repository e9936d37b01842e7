"""Answers prepared for the salesperson's questions: another limit, another assembly."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import shapely

from roof3d.errors import Fault, Severity, SpecError
from roof3d.project import Project, build
from roof3d.roof.model import Kind, Plane
from roof3d.spec.model import PlaneSpec, RoofSpec
from roof3d.units import Units, format_area, format_pitch, parse_pitch
from roof3d.writers.page.facts import variant_entry

_KINDS = {"low": Kind.LOW, "steep": Kind.STEEP}
_PLAIN = {Kind.LOW: "nearly flat", Kind.STEEP: "steep"}
_SHOWN = 60
_HINT = 'write low="ID", steep="ID", PLANE="ID" or cutoff=3:12'
_BACK = 0.45
"""How far the water of a wrong roof is drawn back up the slope at least, metres."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Alternative:
    """Another roof on the same house.

    Attributes
    ----------
    id, title, question : str
    project : Project
        Built anew from the changed model.
    """

    id: str
    title: str
    question: str
    project: Project


def build_alternative(project: Project, wish: str) -> Alternative:
    """Build the roof that a wish such as ``low=single-ply`` or ``cutoff=3:12`` asks for.

    Parameters
    ----------
    project : Project
    wish : str
        ``low=ID`` and ``steep=ID`` lay an assembly on every plane of that kind, ``PLANE=ID`` on
        one plane, whether it may lie there or not; ``cutoff=PITCH`` moves the limit between low
        and steep.

    Raises
    ------
    SpecError
        Where a wish names nothing that there is.
    GeometryError, LayoutError
        As ``build`` and the laying raise them.
    """
    name, found, value = (part.strip() for part in wish.partition("="))
    value = value.strip("\"'")
    if not found or not name or not value:
        raise _refused(wish, "is no wish")
    if name == "cutoff":
        return _moved(project, wish, value)
    planes = [
        plane.id
        for plane in project.roof.planes
        if plane.id == name or plane.kind is _KINDS.get(name)
    ]
    if not planes:
        allowed = ", ".join(["low", "steep", "cutoff", *(p.id for p in project.roof.planes)])
        what = f"no {name} plane" if name in _KINDS else f'no plane "{name[:_SHOWN]}"'
        raise _refused(wish, f"finds {what} on this roof", f"allowed: {allowed}")
    known = {assembly.id: assembly.name for assembly in project.catalog.assemblies}
    # Part of an id will do where it fits one alone: "two-ply" for "self-adhered-two-ply".
    like = [one for one in known if value in one]
    value = like[0] if value not in known and len(like) == 1 else value
    if value not in known:
        raise _refused(
            wish, f'names no assembly "{value[:_SHOWN]}"', f"assemblies: {', '.join(known)}"
        )
    kept = tuple(plane for plane in project.spec.planes if plane.id not in planes)
    named = tuple(PlaneSpec(id=plane, assembly=value) for plane in planes)
    where = f"the {_PLAIN[_KINDS[name]]} part" if name in _KINDS else name
    return Alternative(
        id=f"{name}={value}",
        title=f"{known[value]} on {where}",
        question=f"What if {where} were covered with {_lower(known[value])}?",
        project=build(replace(project.spec, planes=kept + named)),
    )


def alternative_entry(project: Project, other: Alternative) -> dict[str, Any]:
    """Return an alternative as one answer of the page, with what changes and what goes wrong."""
    entry = variant_entry(
        other.project,
        name=other.id,
        title=other.title,
        question=other.question,
        plain=_changes(project, other.project),
    )
    entry["water"] = _leaks(other.project)
    return entry


def usual_questions(project: Project) -> tuple[str, ...]:
    """Return the wish that every homeowner has: shingles on the nearly flat part too."""
    shingles = [a.id for a in project.catalog.assemblies if a.kind == "shingle"]
    low = any(plane.kind is Kind.LOW for plane in project.roof.planes)
    return (f"low={shingles[0]}",) if low and shingles else ()


def _moved(project: Project, wish: str, value: str) -> Alternative:
    try:
        cutoff = parse_pitch(value)
    except ValueError as error:
        raise _refused(wish, f"has no pitch: {error}") from error
    rules = replace(project.spec.rules, low_slope_cutoff=cutoff)
    spec: RoofSpec = replace(project.spec, rules=rules)
    words = format_pitch(cutoff)
    return Alternative(
        id=f"cutoff={format_pitch(cutoff, decimal=True)}",
        title=f"Nearly flat below {words}",
        question=f"What if everything flatter than {words} were treated as nearly flat?",
        project=build(spec),
    )


def _changes(before: Project, after: Project) -> list[str]:
    """Say in plain words which planes change."""
    kinds = {plane.id: plane.kind for plane in before.roof.planes}
    laid: dict[tuple[str, str], list[Plane]] = {}
    counted: dict[str, list[Plane]] = {}
    for plane in after.roof.planes:
        name = after.catalog.assembly(after.assembly_of(plane.id)).name
        was = before.catalog.assembly(before.assembly_of(plane.id)).name
        if name != was:
            laid.setdefault((name, was), []).append(plane)
        elif kinds.get(plane.id) is not plane.kind:
            counted.setdefault(_PLAIN[plane.kind], []).append(plane)
    lines = [
        f"{name} in place of {_lower(was)}, on {_together(planes, before)}."
        for (name, was), planes in laid.items()
    ]
    lines += [
        f"Counted as {kind} now, with the same on it: {_together(planes, before)}."
        for kind, planes in counted.items()
    ]
    if not lines:
        lines.append("Nothing changes: every plane carries what it did.")
    gone = [f for f in after.every_finding if f.severity is Severity.ERROR]
    if gone:
        lines.append(f"This must not be built: {_plain(gone[0].message)}")
    return lines


def _together(planes: Sequence[Plane], before: Project) -> str:
    """Name planes by id with their area; as one part where they are all of the kind they were."""
    ids = {plane.id for plane in planes}
    size = format_area(sum(plane.area for plane in planes), Units(before.spec.units.value))
    for kind, name in _PLAIN.items():
        if ids == {plane.id for plane in before.roof.planes if plane.kind is kind}:
            return f"the {name} part ({size})"
    *first, last = (plane.id for plane in planes)
    return f"{', '.join(first)} and {last} ({size})" if first else f"{last} ({size})"


def _leaks(project: Project) -> list[dict[str, Any]]:
    """Return the way of the water on each plane that is too flat for the shingles it carries."""
    told = {finding.where for finding in project.every_finding if finding.code == "R3D-SLOPE-BELOW"}
    return [
        {
            "plane": plane.id,
            "points": _way_back(plane),
            "says": "On so little slope water does not run off: wind and its own film drive it "
            "back up under the shingles, over their heads and onto the wood.",
        }
        for plane in project.roof.planes
        if any(f"[{plane.id}]" in where for where in told)
        and project.catalog.assembly(project.assembly_of(plane.id)).kind == "shingle"
    ]


def _way_back(plane: Plane) -> list[list[float]]:
    """Down a plane where it is widest, then back up the slope under a course; never off it."""
    shape = shapely.Polygon([point[:2] for point in plane.outline])
    inside = shapely.maximum_inscribed_circle(shape)
    widest = np.array(inside.coords[0])
    azimuth = np.radians(plane.azimuth_deg or 0.0)
    down = np.array((np.sin(azimuth), np.cos(azimuth)))
    far = down * 2.0 * shapely.minimum_bounding_radius(shape)
    line = shape.intersection(shapely.LineString([widest - far, widest + far]))
    way = min(shapely.get_parts(line), key=lambda part: part.distance(shapely.Point(widest)))
    ends = sorted(way.coords, key=lambda point: float(np.dot(point, down)))
    first, last = np.array(ends[0]), np.array(ends[-1])
    aside = np.array((down[1], -down[0])) * 0.3 * inside.length

    def at(share: float, beside: float) -> tuple[float, float]:
        east, north = first + share * (last - first) + beside * aside
        return (float(east), float(north))

    plan = [at(0.1, 0.0), at(0.8, 0.0), at(0.8, 1.0), at(0.4, 1.0)]
    if not shape.contains(shapely.LineString(plan)):
        plan = [at(0.1, 0.0), at(0.8, 0.0), at(0.4, 0.0)]
    (dx, dy), base = plane.gradient, plane.offset
    points = [[u, v, u * dx + v * dy + base] for u, v in plan]
    east, north, height = points[-1]
    return [*points, [east, north, height - _BACK / 2.0]]


def _plain(message: str) -> str:
    """Leave off the way out, which is for who writes the model."""
    told = message.partition("; ")[0].rstrip(".")
    return f"{told}."


def _lower(name: str) -> str:
    return name[:1].lower() + name[1:]


def _refused(wish: str, why: str, hint: str = _HINT) -> SpecError:
    fault = Fault(where=f'--with "{wish[:_SHOWN]}"', message=f"this {why}", hint=hint)
    return SpecError((fault,), source="--with")
