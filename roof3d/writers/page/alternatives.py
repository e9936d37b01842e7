"""Answers prepared for the salesperson's questions: another limit, another assembly."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from roof3d.errors import Fault, Severity, SpecError
from roof3d.project import Project, build
from roof3d.roof.model import Kind, Plane
from roof3d.spec.model import PlaneSpec, RoofSpec
from roof3d.units import Units, format_area, format_pitch, parse_pitch
from roof3d.writers.page.facts import variant_entry

_KINDS = {"low": Kind.LOW, "steep": Kind.STEEP}
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
    known = {assembly.id: assembly.name for assembly in project.catalog.assemblies}
    if value not in known:
        raise _refused(
            wish, f'names no assembly "{value[:_SHOWN]}"', f"assemblies: {', '.join(known)}"
        )
    planes = [
        plane.id
        for plane in project.roof.planes
        if plane.id == name or plane.kind is _KINDS.get(name)
    ]
    if not planes:
        allowed = ", ".join(["low", "steep", "cutoff", *(p.id for p in project.roof.planes)])
        what = f"no {name} plane" if name in _KINDS else f'no plane "{name[:_SHOWN]}"'
        raise _refused(wish, f"finds {what} on this roof", f"allowed: {allowed}")
    kept = tuple(plane for plane in project.spec.planes if plane.id not in planes)
    named = tuple(PlaneSpec(id=plane, assembly=value) for plane in planes)
    where = {"low": "the nearly flat part", "steep": "the steep part"}.get(name, name)
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
        id=f"cutoff={words}",
        title=f"Nearly flat below {words}",
        question=f"What if everything flatter than {words} were treated as nearly flat?",
        project=build(spec),
    )


def _changes(before: Project, after: Project) -> list[str]:
    """Say in plain words which planes change."""
    units = Units(before.spec.units.value)
    kinds = {plane.id: plane.kind for plane in before.roof.planes}
    lines = []
    for plane in after.roof.planes:
        name = after.catalog.assembly(after.assembly_of(plane.id)).name
        was = before.catalog.assembly(before.assembly_of(plane.id)).name
        if name != was:
            lines.append(
                f"{plane.id} ({format_area(plane.area, units)}) gets {_lower(name)} in place of "
                f"{_lower(was)}."
            )
        elif kinds.get(plane.id) is not plane.kind:
            lines.append(f"{plane.id} counts as {plane.kind.value} now, and carries the same.")
    if not lines:
        lines.append("Nothing changes: every plane carries what it did.")
    gone = [f for f in after.every_finding if f.severity is Severity.ERROR]
    if gone:
        lines.append(f"This must not be built: {_plain(gone[0].message)}")
    return lines


def _leaks(project: Project) -> list[dict[str, Any]]:
    """Return the way of the water on each plane whose assembly may not lie at its slope."""
    paths = []
    for finding in project.every_finding:
        if finding.severity is not Severity.ERROR:
            continue
        plane = next((p for p in project.roof.planes if f"[{p.id}]" in finding.where), None)
        carried = None if plane is None else project.catalog.assembly(project.assembly_of(plane.id))
        if plane is None or carried is None or carried.kind != "shingle":
            continue
        paths.append(
            {
                "plane": plane.id,
                "points": _way_back(plane),
                "says": "On so little slope water does not run off: wind and its own film drive it "
                "back up under the shingles, over their heads and onto the wood.",
            }
        )
    return paths


def _way_back(plane: Plane) -> list[list[float]]:
    """Down the middle of a plane, then back up the slope under a course."""
    ring = np.array(plane.outline, dtype=np.float64)
    azimuth = np.radians(plane.azimuth_deg or 0.0)
    down = np.array((np.sin(azimuth), np.cos(azimuth), -plane.slope))
    down /= np.linalg.norm(down)
    side = np.array((-np.cos(azimuth), np.sin(azimuth), 0.0))
    middle = ring.mean(axis=0)
    reach, width = (float(((ring - middle) @ way).max()) for way in (down, side))
    start = middle + 0.45 * width * side
    top, low = start - 0.75 * reach * down, start + 0.55 * reach * down
    again = max(_BACK, 0.25 * reach)
    turn = low + again / 2.0 * side
    back = turn - 2.0 * again * down
    under = back - np.array((0.0, 0.0, _BACK / 2.0))
    return [[float(v) for v in point] for point in (top, low, turn, back, under)]


def _plain(message: str) -> str:
    """Leave off the way out, which is for who writes the model."""
    told = message.partition("; ")[0].rstrip(".")
    return f"{told}."


def _lower(name: str) -> str:
    return name[:1].lower() + name[1:]


def _refused(wish: str, why: str, hint: str = _HINT) -> SpecError:
    fault = Fault(where=f'--with "{wish[:_SHOWN]}"', message=f"this {why}", hint=hint)
    return SpecError((fault,), source="--with")
