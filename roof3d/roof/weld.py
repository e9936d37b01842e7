"""Make sections meet exactly where they were meant to.

Models are typed from tapes and drawings: one wall to the sixteenth of an inch, its neighbour to
the millimetre, one pitch as 6:12 and the next as 26.57 degrees. Left alone, such pairs part by
a hair and grow ridges, valleys and holes that nobody would build. So, before faces are made,
what differs by less than the weld is made equal; the first section named sets the value.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from roof3d.errors import Finding, Severity
from roof3d.geometry.plane import Point2
from roof3d.spec.model import EdgeSpec, Form, SectionSpec
from roof3d.tolerance import Tolerance

QUARTER = math.pi / 2.0


def weld_sections(
    sections: Sequence[SectionSpec], origin: Point2, *, tol: Tolerance
) -> tuple[tuple[SectionSpec, ...], tuple[Finding, ...]]:
    """Weld plate heights, pitches, directions and wall lines across sections.

    Parameters
    ----------
    sections : sequence of SectionSpec
    origin : (x, y)
        Local origin, metres.
    tol : Tolerance
        ``weld`` for heights and walls, ``weld_pitch`` as a share of the pitch, ``weld_turn``
        for directions; what differs by less than ``merge`` thousandths is left alone.

    Returns
    -------
    sections : tuple[SectionSpec, ...]
    findings : tuple[Finding, ...]
        One note for each section that was changed.
    """
    welded = list(sections)
    _weld_heights(welded, tol)
    _weld_pitches(welded, tol)
    _weld_turns(welded, tol)
    _weld_walls(welded, origin, tol)
    findings = [
        Finding(
            code="R3D-WELD",
            severity=Severity.NOTE,
            where=f'section "{now.id}"',
            message=f"{_changes(before, now)}, so that it meets its neighbours exactly",
        )
        for before, now in zip(sections, welded, strict=True)
        if before != now
    ]
    return tuple(welded), tuple(findings)


def _changes(before: SectionSpec, now: SectionSpec) -> str:
    """Return in words what the weld changed."""
    parts = []
    if before.eave != now.eave:
        parts.append(f"its eave was moved by {abs(before.eave - now.eave) * 1000:.1f} mm")
    pitches = [(before.pitch, now.pitch), (before.pitch_back, now.pitch_back)]
    pitches.append((before.lower_pitch, now.lower_pitch))
    if any(a != b for a, b in pitches):
        most = max(abs(math.degrees(math.atan(a) - math.atan(b))) for a, b in pitches)
        parts.append(f"its pitch was changed by {most:.2f} deg")
    if before.turn != now.turn:
        parts.append(f"it was turned by {abs(math.degrees(before.turn - now.turn)):.3f} deg")
    sides = (before.length - now.length, before.width - now.width)
    moved = max(math.dist(before.at, now.at), *(abs(side) for side in sides))
    if moved > 0.0:
        parts.append(f"its walls were moved by up to {moved * 1000:.1f} mm")
    if before.outline != now.outline and not parts:
        parts.append("plates or pitches of its edges were changed a little")
    return " and ".join(parts)


def _first_near(value: float, known: list[float], reach: float) -> float:
    """Return the first known value within reach, or the value itself, which is then known."""
    for other in known:
        if abs(value - other) <= reach:
            return other
    known.append(value)
    return value


def _weld_heights(welded: list[SectionSpec], tol: Tolerance) -> None:
    known: list[float] = []
    for k, section in enumerate(welded):
        welded[k] = _with_edges(
            replace(section, eave=_first_near(section.eave, known, tol.weld)),
            lambda edge: replace(edge, eave=_first_near(edge.eave, known, tol.weld)),
        )


def _with_edges(section: SectionSpec, change: Callable[[EdgeSpec], EdgeSpec]) -> SectionSpec:
    """Return a section with every edge of its outline changed, if it has one."""
    if section.outline is None:
        return section
    edges = tuple(tuple(map(change, ring)) for ring in section.outline.edges)
    return replace(section, outline=replace(section.outline, edges=edges))


def _weld_pitches(welded: list[SectionSpec], tol: Tolerance) -> None:
    known: list[float] = []

    def near(pitch: float) -> float:
        if math.isinf(pitch):
            return pitch
        return _first_near(pitch, known, tol.weld_pitch * pitch)

    for k, section in enumerate(welded):
        own = replace(
            section,
            pitch=near(section.pitch),
            pitch_back=near(section.pitch_back),
            lower_pitch=near(section.lower_pitch),
        )
        welded[k] = _with_edges(
            own,
            lambda edge: replace(edge, pitch=near(edge.pitch), hip_pitch=near(edge.hip_pitch)),
        )


def _weld_turns(welded: list[SectionSpec], tol: Tolerance) -> None:
    """Make directions equal but for quarter turns."""
    known: list[float] = []
    for k, section in enumerate(welded):
        rest = section.turn % QUARTER
        for other in known:
            # Directions just below and just above a quarter turn are neighbours too.
            apart = (rest - other + QUARTER / 2.0) % QUARTER - QUARTER / 2.0
            if abs(apart) <= tol.weld_turn:
                if abs(apart) > tol.direction:
                    welded[k] = replace(section, turn=section.turn - apart)
                break
        else:
            known.append(rest)


@dataclass(slots=True)
class _Box:
    """A wall rectangle in the frame of its direction: u along it, v square to it."""

    number: int
    quarter: int
    u: list[float]
    v: list[float]


def _weld_walls(welded: list[SectionSpec], origin: Point2, tol: Tolerance) -> None:
    by_direction: list[tuple[float, list[int]]] = []
    for k, section in enumerate(welded):
        if section.form is not Form.OUTLINE:
            rest = section.turn % QUARTER
            for angle, members in by_direction:
                apart = (rest - angle + QUARTER / 2.0) % QUARTER - QUARTER / 2.0
                if abs(apart) <= tol.direction:
                    members.append(k)
                    break
            else:
                by_direction.append((rest, [k]))
    for angle, members in by_direction:
        boxes = [_box(k, welded[k], angle, origin) for k in members]
        moved = {b.number for b in boxes if _weld_sides([b.u for b in boxes], b.u, tol)}
        moved |= {b.number for b in boxes if _weld_sides([b.v for b in boxes], b.v, tol)}
        for box in boxes:
            if box.number in moved:
                welded[box.number] = _rebuilt(welded[box.number], box, angle, origin)


def _weld_sides(others: Sequence[list[float]], own: list[float], tol: Tolerance) -> bool:
    """Move the two sides of a box onto sides of boxes before it; tell whether any moved."""
    changed = False
    for k, value in enumerate(own):
        for box in others:
            if box is own:
                break
            near = next((side for side in box if abs(side - value) <= tol.weld), None)
            if near is not None:
                if abs(near - value) > tol.direction:
                    own[k] = near
                    changed = True
                break
    return changed


def _box(number: int, section: SectionSpec, angle: float, origin: Point2) -> _Box:
    cos, sin = math.cos(angle), math.sin(angle)
    x, y = section.at[0] - origin[0], section.at[1] - origin[1]
    u, v = cos * x + sin * y, cos * y - sin * x
    quarter = round((section.turn - angle) / QUARTER) % 4
    length, width = section.length, section.width
    along_u = (length, -width, -length, width)[quarter]
    along_v = (width, length, -width, -length)[quarter]
    return _Box(number, quarter, sorted((u, u + along_u)), sorted((v, v + along_v)))


def _rebuilt(section: SectionSpec, box: _Box, angle: float, origin: Point2) -> SectionSpec:
    cos, sin = math.cos(angle), math.sin(angle)
    u = box.u[0] if box.quarter in (0, 3) else box.u[1]
    v = box.v[0] if box.quarter in (0, 1) else box.v[1]
    across = (box.u[1] - box.u[0], box.v[1] - box.v[0])
    length, width = across if box.quarter % 2 == 0 else across[::-1]
    at = (cos * u - sin * v + origin[0], sin * u + cos * v + origin[1])
    return replace(section, at=at, length=length, width=width)
