"""Whether water gets off roofs behind parapets: outlets, overflows, and how high the walls are."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from roof3d.errors import Finding, Severity
from roof3d.roof.model import Edge, Plane, Role, Roof, RoofOpening, Scupper
from roof3d.rules.drainage_rule import DrainageRule, load_drainage_rule
from roof3d.spec.model import OpeningKind
from roof3d.tolerance import DEFAULT, Tolerance
from roof3d.units import Units, format_area, format_length, parse_length

_FREE: Final = frozenset({Role.EAVE, Role.RAKE, Role.HIGH_EDGE})
_WALLS: Final = frozenset({Role.HEADWALL, Role.SIDEWALL})
_ONWARD: Final = frozenset({Role.TRANSITION, Role.PITCH_BREAK})
_POUND_A_SQUARE_FOOT: Final = 47.88
"""Pascals."""


@dataclass(frozen=True, slots=True)
class _Outlets:
    """What lets water out of a basin."""

    drains: tuple[RoofOpening, ...]
    scuppers: tuple[Scupper, ...]

    @property
    def every(self) -> tuple[RoofOpening | Scupper, ...]:
        return (*self.drains, *self.scuppers)

    @property
    def primary(self) -> bool:
        return any(not outlet.overflow for outlet in self.every)

    @property
    def overflow(self) -> bool:
        return any(outlet.overflow for outlet in self.every)


def check_drainage(roof: Roof, units: Units, *, tol: Tolerance = DEFAULT) -> Iterator[Finding]:
    """Find roofs behind parapets that hold their water, and walls of a height that matters.

    Parameters
    ----------
    roof : Roof
    units : Units
        In which findings show lengths.
    tol : Tolerance
        ``snap`` tells what lies at the low point.

    Yields
    ------
    Finding
        Plane by plane, then outlet by outlet, then one section's parapet after the other;
        none for a roof without them.
    """
    rule = load_drainage_rule()
    told: set[str] = set()
    for plane in roof.planes:
        if plane.id in told:
            continue
        basin = _basin_of(plane, roof)
        told |= basin
        edges = [edge for edge in roof.edges if basin.intersection(edge.planes)]
        if any(edge.parapet for edge in edges) and _is_dammed(basin, edges, roof, tol):
            outlets = _Outlets(
                tuple(
                    o
                    for o in roof.openings
                    if o.kind is OpeningKind.DRAIN and basin.intersection(o.planes)
                ),
                tuple(s for s in roof.scuppers if s.plane in basin),
            )
            yield from _check_dammed(plane, edges, outlets, rule, units)
    yield from _check_outlets(roof, rule, units, tol)
    yield from _check_heights(roof, rule, units, tol)


def _basin_of(plane: Plane, roof: Roof) -> set[str]:
    """Return the planes whose water comes together: a plane, and those it shares valleys with."""
    basin = {plane.id}
    valleys = [edge.planes for edge in roof.edges if edge.role is Role.VALLEY]
    grown = True
    while grown:
        more = basin.union(*(pair for pair in valleys if basin.intersection(pair)))
        grown, basin = more != basin, more
    return basin


def _is_dammed(basin: set[str], edges: Sequence[Edge], roof: Roof, tol: Tolerance) -> bool:
    """Return whether all of the low side, or the low corner, of a basin lies behind walls."""
    low = min(z for name in basin for _, _, z in roof.plane(name).outline) + tol.snap
    rim = [edge for edge in edges if edge.role is not Role.VALLEY]
    lowest = [edge for edge in rim if max(z for _, _, z in edge.ends) <= low]
    if not lowest:
        lowest = [edge for edge in rim if min(z for _, _, z in edge.ends) <= low]
    return not any(
        edge.role in _FREE or (edge.role in _ONWARD and edge.planes[0] in basin) for edge in lowest
    ) and any(edge.role in _WALLS for edge in lowest)


def _check_dammed(
    plane: Plane, edges: Sequence[Edge], outlets: _Outlets, rule: DrainageRule, units: Units
) -> Iterator[Finding]:
    where = f"planes[{plane.id}]"
    if not outlets.primary:
        spills = any(edge.role in _FREE for edge in edges)
        yield Finding(
            code="R3D-NO-OUTLET",
            severity=Severity.CAUTION if spills else Severity.ERROR,
            where=where,
            message=(
                "its low side lies behind a parapet, and no drain or scupper lets the water out"
                + (" but over its free edges" if spills else "")
                + ": add an opening of the kind drain or scupper at the low point"
            ),
            source=rule.outlet_source,
        )
        return
    if not outlets.overflow:
        yield Finding(
            code="R3D-NO-OVERFLOW",
            severity=Severity.CAUTION,
            where=where,
            message=(
                "water stands behind its parapet if the drains clog, and there is no overflow: add "
                f"a scupper or drain with overflow = true, its inlet "
                f"{format_length(rule.overflow_sill, units)} above the low point"
            ),
            source=rule.overflow_source,
        )
        return
    sill = min(outlet.sill for outlet in outlets.every if outlet.overflow)
    load = sill * rule.water_weight
    weight = (
        f"{load / _POUND_A_SQUARE_FOOT:.1f} lb/sq ft"
        if units is Units.IMPERIAL
        else f"{load / 1000.0:.2f} kN/m2"
    )
    yield Finding(
        code="R3D-PONDING",
        severity=Severity.NOTE,
        where=where,
        message=(
            f"with its drains clogged water stands {format_length(sill, units)} deep at its low "
            f"side before the overflow runs, and weighs {weight} there: the structure must be "
            "checked for it and for the head above the inlet"
        ),
        source=rule.water_source,
    )


def _check_outlets(
    roof: Roof, rule: DrainageRule, units: Units, tol: Tolerance
) -> Iterator[Finding]:
    for opening in roof.openings:
        if opening.kind is OpeningKind.DRAIN:
            yield from _check_drain(opening, roof, rule, units, tol)
    for scupper in roof.scuppers:
        where = f"openings[{scupper.id}]"
        if not scupper.overflow:
            continue
        yield from _check_sill(where, scupper.sill, rule, units, tol)
        if scupper.height < rule.scupper_height - tol.snap:
            yield Finding(
                code="R3D-SCUPPER-SIZE",
                severity=Severity.CAUTION,
                where=where,
                message=(
                    f"its opening is {format_length(scupper.height, units)} high; an overflow "
                    f"scupper has at least {format_length(rule.scupper_height, units)}"
                ),
                source=rule.overflow_source,
            )
    for plane in roof.planes:
        yield from _check_area(plane, roof, rule, units, tol)


def _check_sill(
    where: str, sill: float, rule: DrainageRule, units: Units, tol: Tolerance
) -> Iterator[Finding]:
    if abs(sill - rule.overflow_sill) <= tol.snap:
        return
    yield Finding(
        code="R3D-OVERFLOW-SILL",
        severity=Severity.CAUTION,
        where=where,
        message=(
            f"its inlet lies {format_length(sill, units)} above the low point of the roof; that of "
            f"an overflow lies {format_length(rule.overflow_sill, units)} above it"
        ),
        source=rule.overflow_source,
    )


def _check_drain(
    drain: RoofOpening, roof: Roof, rule: DrainageRule, units: Units, tol: Tolerance
) -> Iterator[Finding]:
    where = f"openings[{drain.id}]"
    if drain.overflow:
        yield from _check_sill(where, drain.sill, rule, units, tol)
        primary = [
            o
            for o in roof.openings
            if o.kind is OpeningKind.DRAIN and not o.overflow and set(o.planes) & set(drain.planes)
        ]
        if primary and drain.width_across < max(o.width_across for o in primary) - tol.snap:
            yield Finding(
                code="R3D-OVERFLOW-SIZE",
                severity=Severity.CAUTION,
                where=where,
                message="it is smaller than the drain that it stands in for; it has the same size",
                source=rule.overflow_source,
            )
        return
    low = min(z for name in drain.planes for _, _, z in roof.plane(name).outline)
    above = min(z for ring in drain.rim for _, _, z in ring) - low
    if above > rule.overflow_sill + tol.snap:
        yield Finding(
            code="R3D-DRAIN-HIGH",
            severity=Severity.CAUTION,
            where=where,
            message=(
                f"it lies {format_length(above, units)} above the low point of "
                f"{', '.join(drain.planes)}, where water stands deeper than an overflow lets it: "
                "move it down"
            ),
            source=rule.outlet_source,
        )


def _check_area(
    plane: Plane, roof: Roof, rule: DrainageRule, units: Units, tol: Tolerance
) -> Iterator[Finding]:
    """Tell overflow scuppers that together are too small for the drains of their plane."""
    drains = math.fsum(
        math.pi / 4.0 * o.width_across**2
        for o in roof.openings
        if o.kind is OpeningKind.DRAIN and not o.overflow and plane.id in o.planes
    )
    overflow = [s for s in roof.scuppers if s.plane == plane.id and s.overflow]
    area = math.fsum(s.width * s.height for s in overflow)
    asked = rule.scupper_share * drains
    if overflow and area < asked - tol.snap**2:
        yield Finding(
            code="R3D-SCUPPER-AREA",
            severity=Severity.CAUTION,
            where=f"openings[{overflow[0].id}]",
            message=(
                f"the overflow scuppers of {plane.id} open {_small(area, units)}, less than "
                f"{rule.scupper_share:g} times its drains, {_small(asked, units)}"
            ),
            source=rule.overflow_source,
        )


def _small(area: float, units: Units) -> str:
    """Write an area of an opening: square inches are finer than square feet."""
    if units is Units.METRIC:
        return format_area(area, units)
    return f"{area / parse_length('1 in') ** 2:.0f} sq in"


def _check_heights(
    roof: Roof, rule: DrainageRule, units: Units, tol: Tolerance
) -> Iterator[Finding]:
    for section in dict.fromkeys(edge.parapet.section for edge in roof.edges if edge.parapet):
        walls = [
            height
            for edge in roof.edges
            if edge.parapet and edge.parapet.section == section
            for height in edge.wall_heights or ()
        ]
        low, high = min(walls), max(walls)
        yield from _of_heights(f'section "{section}".parapet', low, high, rule, units, tol)


def _of_heights(
    where: str, low: float, high: float, rule: DrainageRule, units: Units, tol: Tolerance
) -> Iterable[Finding]:
    if low < rule.least_flashing - tol.snap:
        yield Finding(
            code="R3D-PARAPET-LOW",
            severity=Severity.CAUTION,
            where=where,
            message=(
                f"it stands only {format_length(low, units)} above the roof; flashing goes up a "
                f"wall at least {format_length(rule.least_flashing, units)}"
            ),
            source=rule.flashing_source,
        )
    if high > rule.stops_above + tol.snap:
        yield Finding(
            code="R3D-PARAPET-STOPS",
            severity=Severity.NOTE,
            where=where,
            message=(
                f"it stands up to {format_length(high, units)} above the roof: flashing higher "
                f"than {format_length(rule.stops_above, units)} needs a stop that holds it"
            ),
            source=rule.stops_source,
        )
    if low < rule.least_guard - tol.snap:
        yield Finding(
            code="R3D-PARAPET-GUARD",
            severity=Severity.NOTE,
            where=where,
            message=(
                f"at {format_length(low, units)} it is no guard against falls, which is at least "
                f"{format_length(rule.least_guard, units)} high"
            ),
            source=rule.guard_source,
        )
