"""Crickets behind wide chimneys: what lines their valleys."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Final

from roof3d.catalog.laying import Border, StripRule
from roof3d.catalog.model import Assembly
from roof3d.errors import Finding, Severity
from roof3d.layout.model import LaidPlane, Side
from roof3d.layout.strips.flashing import cricket_size, cricket_valley, load_flashing_rule
from roof3d.layout.strips.lines import Job, Line, Wishes, length_of, needs_cricket
from roof3d.roof.model import Roof, RoofOpening
from roof3d.tolerance import Tolerance
from roof3d.units import format_length

CRICKET_LINING: Final = "cricket-lining"
"""Rule by which the strips of a cricket are known, whatever lines the valleys of its roof."""
_PLACES: Final = 4
"""Decimals of metres by which the planes below a cricket differ, not by rounding."""


def cricket_jobs(
    plane: LaidPlane,
    laid: Sequence[LaidPlane],
    roof: Roof,
    assembly_of: Mapping[str, str],
    wishes: Wishes,
) -> tuple[list[Job], list[Finding]]:
    """Return the linings of the crickets that stand on a plane, and what is told of them.

    Parameters
    ----------
    plane : LaidPlane
    laid : sequence of LaidPlane
        All planes: a cricket stands where most of the opening's head lies.
    roof : Roof
    assembly_of : mapping of str to str
    wishes : Wishes

    Returns
    -------
    jobs : list[Job]
        Two a cricket, as the assembly lines its valleys; none where it has no lining.
    findings : list[Finding]
        One a cricket.
    """
    assembly = wishes.catalog.assembly(assembly_of[plane.plane.id])
    jobs: list[Job] = []
    findings = []
    for opening in roof.openings:
        if _stands_on(opening, plane, laid, wishes.tol):
            rule = _lining(assembly, wishes)
            jobs += _both_valleys(opening, plane, assembly, rule) if rule else []
            findings.append(_tell(opening, plane, assembly, rule, wishes))
    return jobs, findings


def _stands_on(
    opening: RoofOpening, plane: LaidPlane, laid: Sequence[LaidPlane], tol: Tolerance
) -> bool:
    if not needs_cricket(opening, tol):
        return False
    heads = {
        other.plane.id: (
            round(sum(map(length_of, _head(opening, other))), _PLACES),
            round(other.plane.slope, _PLACES),
            other.assembly,
        )
        for other in laid
    }
    widest = max(heads, key=lambda name: heads[name])
    return widest == plane.plane.id and heads[widest][0] > tol.merge


def _head(opening: RoofOpening, plane: LaidPlane) -> list[Side]:
    return [
        side
        for side in plane.sides
        if side.edge == opening.id and side.border is Border.OPENING_HEAD
    ]


def lines_valleys(rule: StripRule) -> bool:
    """Return whether a rule's strips lie in every valley, however it is made."""
    return Border.VALLEY in rule.at and not rule.valley


def _lining(assembly: Assembly, wishes: Wishes) -> StripRule | None:
    """Return what lies in every valley of an assembly, however the valley is made."""
    linings = (rule for rule in assembly.strips if lines_valleys(rule))
    return next((rule for rule in linings if wishes.ask_for(rule)), None)


def _both_valleys(
    opening: RoofOpening, plane: LaidPlane, assembly: Assembly, rule: StripRule
) -> list[Job]:
    slope = plane.plane.slope
    corners = [corner for side in _head(opening, plane) for corner in (side.start, side.end)]
    left, right = min(corners), max(corners)
    up_slope = cricket_size(opening.width_across, slope)[2]
    top = ((left[0] + right[0]) / 2.0, max(left[1], right[1]) + up_slope)
    return [
        Job(
            line=Line(
                owner=opening.id,
                rim=True,
                border=Border.VALLEY,
                ends=(corner, top),
                length=cricket_valley(opening.width_across, slope),
            ),
            rule=replace(rule, id=CRICKET_LINING),
            plane=plane,
            assembly=assembly,
        )
        for corner in (left, right)
    ]


def _tell(
    opening: RoofOpening,
    plane: LaidPlane,
    assembly: Assembly,
    rule: StripRule | None,
    wishes: Wishes,
) -> Finding:
    slope = plane.plane.slope
    sizes = (
        *cricket_size(opening.width_across, slope),
        cricket_valley(opening.width_across, slope),
    )
    height, back, up_slope, valley = (format_length(size, wishes.units) for size in sizes)
    lined = (
        f"lined with {wishes.catalog.material(rule.material).name.lower()}"
        if rule
        else f"not lined, as {assembly.id} has no valley lining"
    )
    return Finding(
        code="R3D-CRICKET-LAID",
        severity=Severity.NOTE,
        where=f"openings[{opening.id}]",
        message=(
            f"its cricket is {height} high and runs {back} back in plan, {up_slope} along the "
            f"slope; its two valleys, {valley} each, are {lined}; it is framed and covered by "
            "the roofer's choice, which is not counted"
        ),
        source=load_flashing_rule().cricket_height_source,
    )
