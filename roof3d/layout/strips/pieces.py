"""The pieces of one strip, its nails, and what is spread under and over it."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np

from roof3d.catalog.laying import Border, StripRule
from roof3d.catalog.material import Material, MaterialForm
from roof3d.errors import Finding, LayoutError, Severity
from roof3d.layout.joint import INCH, PRACTICE
from roof3d.layout.model import Floats, LaidStrip
from roof3d.layout.nails import nail_strip
from roof3d.layout.strips.lines import Job, Wishes
from roof3d.layout.strips.parapets import OVER_WALL
from roof3d.layout.strips.run import course_pieces, joint_distance, run_pieces
from roof3d.spec.model import Wind
from roof3d.tolerance import Tolerance
from roof3d.units import format_length

_FEET: Final = (Border.EAVE, Border.JOINT_UPPER, Border.BREAK_UPPER)
"""Where a first course of shingles lies along the edge."""

_SHORTEST_ACROSS: Final = 12.0 * INCH
"""Along the wall, of a piece cut across the roll: common practice, no source."""

_ALONG: Final = (Border.HIP, Border.RIDGE)
"""Where pieces lie over each other along the edge, a nail on either side."""


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class _Row:
    """Pieces from where laying starts; ``far`` where that is the second end of the line."""

    pieces: Floats
    far: bool = False
    findings: tuple[Finding, ...] = ()


def lay_strip(shared: list[Job], wishes: Wishes) -> tuple[LaidStrip, list[Finding]]:
    """Lay the one strip that some jobs have in common.

    Parameters
    ----------
    shared : list[Job]
        One at least; of several, that whose assembly is first in the catalog is done.
    wishes : Wishes

    Returns
    -------
    strip : LaidStrip
        Its id is not yet unique.
    findings : list[Finding]

    Raises
    ------
    LayoutError
        Where sizes allow no run of pieces.
    """
    order = [assembly.id for assembly in wishes.catalog.assemblies]
    job = min(shared, key=lambda one: order.index(one.assembly.id))
    line, rule = job.line, job.rule
    material = wishes.catalog.material(rule.material)
    length = line.length
    if rule.each and line.rim:
        length = sum(one.line.length for one in shared)
    row = _lay_row(job, material, length, wishes)
    width = rule.width or material.width
    pieces, nails = row.pieces, np.empty((0, 2))
    if rule.nailing:
        windy = wishes.site.wind is Wind.HIGH
        nails = nail_strip(
            pieces,
            width,
            rule.nailing,
            high_wind=windy,
            across=rule.per_course or (line.border in _ALONG and _shows(material)),
            tol=wishes.tol,
        )
    if row.far:
        pieces = length - pieces[:, ::-1]
        nails[:, 0] = length - nails[:, 0]
    metal = float((pieces[:, 1] - pieces[:, 0]).sum())
    if rule.each and material.length:
        metal = width if _square(rule, material) else material.length
    strip = LaidStrip(
        id=f"{line.owner}/{rule.id}",
        edge=line.owner,
        rule=rule.id,
        material=rule.material,
        planes=tuple(dict.fromkeys(one.plane.plane.id for one in shared)),
        length=length,
        width=width,
        lap=_lap(rule, material),
        pieces=pieces,
        crosswise=_crosswise(rule, material),
        nails=nails,
        fastener=rule.nailing.fastener if rule.nailing and len(nails) else "",
        bed=rule.bed,
        bed_area=_bedded(rule, pieces, length, width),
        primer=rule.primer,
        primer_area=metal * width * rule.primed_faces if rule.primer else 0.0,
    )
    return strip, [*_tell_choice(job, shared), *row.findings]


def _lap(rule: StripRule, material: Material) -> float:
    """Return the lap along the edge: the rule's, what the exposure leaves, or the material's."""
    if rule.lap:
        return rule.lap
    return material.length - material.exposure if _shows(material) else material.end_lap


def _shows(material: Material) -> bool:
    """Return whether its exposure runs along the strip: a hip or ridge piece, no shingle."""
    return material.exposure > 0.0 and material.form is not MaterialForm.SHINGLE


def _lay_row(job: Job, material: Material, length: float, wishes: Wishes) -> _Row:
    rule, tol = job.rule, wishes.tol
    lap = _lap(rule, material)
    if rule.each:
        return _Row(pieces=np.array([[0.0, rule.width if _square(rule, material) else length]]))
    if rule.joints_of:
        return _Row(pieces=_under_joints(job, material, length, wishes))
    if rule.per_course:
        climbs = abs(job.line.ends[1][1] - job.line.ends[0][1])
        pieces = course_pieces(
            length,
            rise=climbs if climbs > tol.merge else length,
            exposure=_exposure(job, wishes),
            lap=lap,
            tol=tol,
        )
        return _Row(pieces=pieces, findings=tuple(_tell_stock(pieces, material, job, wishes)))
    joints, far = _first_course(job, tol) if rule.first else (np.empty(0), False)
    joints = length - joints if far else joints
    apart = _apart(job, material, wishes)
    pieces = run_pieces(
        length,
        piece=material.width if _crosswise(rule, material) else material.length or math.inf,
        lap=lap,
        first=rule.first,
        extra=rule.extra,
        shortest=_SHORTEST_ACROSS if _crosswise(rule, material) else material.shortest,
        avoid=joints,
        apart=apart,
        before=rule.past,
        # The head of the last exposed piece runs past the end: each shows its exposure only.
        after=rule.past + (lap if _shows(material) else 0.0),
        where=f"{job.line.where}, {rule.id}",
        tol=tol,
    )
    told = _tell_joints(joint_distance(pieces, joints), apart, job, wishes)
    return _Row(pieces=pieces, far=far, findings=tuple(told))


def _crosswise(rule: StripRule, material: Material) -> bool:
    """Return whether its pieces are cut across the roll, as they are to go over a wall."""
    return rule.over == OVER_WALL and material.form is MaterialForm.SHEET


def _square(rule: StripRule, material: Material) -> bool:
    """Return whether it is one square piece of a sheet, whatever the length of the rim."""
    return rule.each and rule.width > 0.0 and material.form is MaterialForm.SHEET


def _bedded(rule: StripRule, pieces: Floats, length: float, width: float) -> float:
    """Return the area of the bed: along the strip, or across each of its pieces at a joint."""
    if not rule.bed:
        return 0.0
    return (len(pieces) * width if rule.joints_of else length) * rule.bed_width


def _under_joints(job: Job, material: Material, length: float, wishes: Wishes) -> Floats:
    """Lay one piece under each joint of another strip of the assembly, and at its corner."""
    above = next(rule for rule in job.assembly.strips if rule.id == job.rule.joints_of)
    whole = wishes.catalog.material(above.material)
    row = run_pieces(
        length,
        piece=whole.length or math.inf,
        lap=_lap(above, whole),
        shortest=whole.shortest,
        where=f"{job.line.where}, {above.id}",
        tol=wishes.tol,
    )
    joints = [*row[1:, 0], *([] if job.line.corner is None else [job.line.corner])]
    half = material.length / 2.0
    return np.array([[at - half, at + half] for at in joints]).reshape(-1, 2)


def _shingle(job: Job, wishes: Wishes) -> Material | None:
    """Return the shingles that a strip goes with."""
    for layer in job.assembly.layers:
        material = wishes.catalog.material(layer.material)
        if material.form is MaterialForm.SHINGLE:
            return material
    return None


def _apart(job: Job, material: Material, wishes: Wishes) -> float:
    """Return how far joints stay apart: as the strip's material says, or the shingles'."""
    shingle = _shingle(job, wishes)
    return material.stagger or (shingle.stagger if shingle else 0.0)


def _exposure(job: Job, wishes: Wishes) -> float:
    """Return the exposure of the shingles that a piece a course goes with."""
    shingle = _shingle(job, wishes)
    if shingle is None or not shingle.exposure:
        raise LayoutError(
            f"is laid one a course, but {job.assembly.id} has no shingles",
            where=f"{job.line.where}, {job.rule.id}",
            hint="leave out per_course there",
        )
    return shingle.exposure


def _first_course(job: Job, tol: Tolerance) -> tuple[Floats, bool]:
    """Return where the first course on a starter has its joints, and whether it starts far.

    Along the line from its first end. The first course is the highest whose lower edge is not
    above that of the strip.
    """
    layers = [layer for layer in job.plane.layers if layer.role == "shingles"]
    (u0, v0), (u1, v1) = job.line.ends
    if job.line.border not in _FEET or not layers or abs(u1 - u0) <= tol.merge:
        return np.empty(0), False
    pieces = layers[0].pieces
    start = min(v0, v1) + max(0.0, job.rule.start.at(job.line.rise, job.line.gap))
    courses = [course.number for course in layers[0].courses if course.low <= start + tol.merge]
    there = (
        (pieces.course == max(courses, default=1))
        & (pieces.boxes[:, 2] > min(u0, u1) + tol.merge)
        & (pieces.boxes[:, 0] < max(u0, u1) - tol.merge)
    )
    if not there.any():
        return np.empty(0), False
    along = (pieces.boxes[there][:, [0, 2]] - u0) / (u1 - u0) * job.line.length
    joints = along[(along > tol.merge) & (along < job.line.length - tol.merge)]
    place, middle = pieces.place[there], along.mean(axis=1)
    return np.unique(joints), bool(middle[place.argmin()] > middle[place.argmax()])


def _tell_choice(job: Job, shared: list[Job]) -> Iterator[Finding]:
    others = {one.rule.material for one in shared} - {job.rule.material}
    if others:
        yield Finding(
            code="R3D-STRIP-CHOICE",
            severity=Severity.NOTE,
            where=job.line.where,
            message=(
                f"its assemblies name unlike materials for {job.rule.id}: {job.rule.material} of "
                f"{job.assembly.id} is laid, not {', '.join(sorted(others))}"
            ),
            source=PRACTICE,
        )


def _tell_stock(pieces: Floats, material: Material, job: Job, wishes: Wishes) -> Iterator[Finding]:
    longest = float((pieces[:, 1] - pieces[:, 0]).max())
    if 0.0 < material.length < longest - wishes.tol.merge:
        asked, stock = (format_length(x, wishes.units) for x in (longest, material.length))
        yield Finding(
            code="R3D-STRIP-SHORT",
            severity=Severity.CAUTION,
            where=job.line.where,
            message=(
                f"each {material.name.lower()} must be {asked} long, a course and its lap, but "
                f"comes in {stock}"
            ),
            source=job.rule.source,
        )


def _tell_joints(near: float, apart: float, job: Job, wishes: Wishes) -> Iterator[Finding]:
    if near < apart - wishes.tol.merge:
        found, asked = (format_length(x, wishes.units) for x in (near, apart))
        yield Finding(
            code="R3D-STRIP-JOINTS",
            severity=Severity.CAUTION,
            where=job.line.where,
            message=(
                f"a joint of {job.rule.id} lies {found} from one of the first course, closer than "
                f"{asked}; no cut of its first piece does better"
            ),
            source=PRACTICE,
        )
