"""What the published rules say of a roof, as findings. Informs; approves nothing."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import partial

from roof3d.catalog.model import Assembly, Catalog
from roof3d.errors import Finding, Severity
from roof3d.roof.model import Edge, Kind, Plane, Role, Roof, RoofOpening
from roof3d.rules.assembly import AssemblyChoice, limits_of, may_lie
from roof3d.rules.bands import Band, band_of, pitch_beside
from roof3d.rules.drainage import check_drainage
from roof3d.rules.limits import Limits, load_limits
from roof3d.rules.uphill import dams_water
from roof3d.spec.model import OpeningKind, RoofSpec
from roof3d.tolerance import DEFAULT, Tolerance
from roof3d.units import Units, format_area, format_length, format_pitch

_WORST_FIRST = (Severity.ERROR, Severity.CAUTION, Severity.NOTE)


def check_roof(
    spec: RoofSpec,
    roof: Roof,
    catalog: Catalog,
    choices: Sequence[AssemblyChoice],
    *,
    tol: Tolerance = DEFAULT,
) -> tuple[Finding, ...]:
    """Check every plane, opening and edge against the rules as data.

    Parameters
    ----------
    spec : RoofSpec
    roof : Roof
        Built from that spec.
    catalog : Catalog
    choices : sequence of AssemblyChoice
        One for every plane of the roof.
    tol : Tolerance
        ``slope`` and ``snap`` keep rounding from crossing a limit.

    Returns
    -------
    tuple[Finding, ...]
        Planes in order, for each the worst first; then openings; then outlets and
        parapets; then edges. Empty where nothing is to be told. Never raises for what the
        roof is like.
    """
    limits = load_limits()
    chosen = {choice.plane: catalog.assembly(choice.assembly) for choice in choices}
    refused = {choice.plane: choice.refused for choice in choices if choice.refused}
    found: list[Finding] = []
    for plane in roof.planes:
        of_plane = list(_check_plane(plane, chosen[plane.id], spec, catalog, limits, tol))
        if plane.id in refused:
            of_plane.append(
                _refused_wish(plane, catalog.assembly(refused[plane.id]), chosen[plane.id])
            )
        found += sorted(of_plane, key=lambda finding: _WORST_FIRST.index(finding.severity))
    for opening in roof.openings:
        found += _check_cricket(opening, roof, spec.units, limits, tol)
    found += check_drainage(roof, spec.units, tol=tol)
    for edge in roof.edges:
        found += _check_meeting(edge, chosen)
    return tuple(found)


def _check_plane(
    plane: Plane,
    assembly: Assembly,
    spec: RoofSpec,
    catalog: Catalog,
    limits: Limits,
    tol: Tolerance,
) -> Iterable[Finding]:
    yield from _check_drainage(plane, assembly, limits, tol)
    yield from _check_limits(plane, assembly, spec, catalog, limits, tol)
    where = f"planes[{plane.id}]"
    beside = partial(pitch_beside, plane.slope, tol=tol)
    allowed = plane.slope >= assembly.least_slope - tol.slope
    if allowed and assembly.needs_double_underlayment(plane.slope, tol=tol):
        yield Finding(
            code="R3D-DOUBLE-UNDERLAYMENT",
            severity=Severity.NOTE,
            where=where,
            message=(
                f"{assembly.name} at {beside(assembly.double_underlayment_below)}: "
                "double underlayment below "
                f"{format_pitch(assembly.double_underlayment_below)}"
            ),
            source=assembly.double_underlayment_source,
        )
    if plane.slope > assembly.special_attachment_above + tol.slope:
        yield Finding(
            code="R3D-STEEP-ATTACHMENT",
            severity=Severity.NOTE,
            where=where,
            message=(
                f"{assembly.name} at {beside(assembly.special_attachment_above)}: "
                "special attachment by the maker's instructions above "
                f"{format_pitch(assembly.special_attachment_above)}"
            ),
            source=assembly.special_attachment_source,
        )
    if plane.covered_plan_area > tol.area:
        yield Finding(
            code="R3D-COVERED",
            severity=Severity.NOTE,
            where=where,
            message=(
                f"{format_area(plane.covered_plan_area, spec.units)} of its "
                f"{format_area(plane.plan_area, spec.units)} in plan lie under the overhang "
                "or roof of another section; they have to be covered too, and are counted"
            ),
        )


def _refused_wish(plane: Plane, wished: Assembly, taken: Assembly) -> Finding:
    """Tell that what the model wishes for planes of a kind may not lie on this one."""
    limit = wished.least_slope if plane.slope < wished.least_slope else wished.most_slope
    return Finding(
        code="R3D-WISH-REFUSED",
        severity=Severity.CAUTION,
        where=f"planes[{plane.id}]",
        message=(
            f"{wished.name}, wished for {plane.kind} planes, {limits_of(wished, plane.slope)}; "
            f"this plane has {pitch_beside(plane.slope, limit)}: {taken.name} takes its place"
        ),
        source=wished.slope_source,
    )


def _check_drainage(
    plane: Plane, assembly: Assembly, limits: Limits, tol: Tolerance
) -> Iterable[Finding]:
    """Tell a plane below the least design slope; between its two printings only warn."""
    dead_level = band_of(plane.slope, tol=tol) is Band.DEAD_LEVEL
    if not dead_level or plane.slope >= assembly.least_slope - tol.slope:
        return
    least = format_pitch(limits.least_drainage)
    rounded = f"{limits.least_drainage_rounded:.0%}"
    slope = f"{pitch_beside(plane.slope, limits.least_drainage, tol=tol)} ({plane.slope:.2%})"
    between = plane.slope >= limits.least_drainage_rounded - tol.slope
    yield Finding(
        code="R3D-DEAD-LEVEL",
        severity=Severity.CAUTION if between else Severity.ERROR,
        where=f"planes[{plane.id}]",
        message=(
            f"slope {slope} is just under {least}; the clause also prints {rounded}: "
            "ask the building official which one holds"
            if between
            else f"slope {slope} is below the least design slope of {least}: water will stand"
        ),
        source=limits.drainage_source,
    )


def _check_limits(
    plane: Plane,
    assembly: Assembly,
    spec: RoofSpec,
    catalog: Catalog,
    limits: Limits,
    tol: Tolerance,
) -> Iterable[Finding]:
    """Tell an assembly outside its own slopes; what only drains too slowly is told elsewhere."""
    where = f"planes[{plane.id}]"
    if plane.slope > assembly.most_slope + tol.slope:
        yield Finding(
            code="R3D-SLOPE-ABOVE",
            severity=Severity.ERROR,
            where=where,
            message=(
                f"{assembly.name}: greatest slope {format_pitch(assembly.most_slope)}, this plane "
                f"has {pitch_beside(plane.slope, assembly.most_slope, tol=tol)}"
            ),
            source=assembly.slope_source,
        )
    below = plane.slope < assembly.least_slope - tol.slope
    if not below or assembly.least_slope <= limits.least_drainage + tol.slope:
        return
    yield Finding(
        code="R3D-SLOPE-BELOW",
        severity=Severity.ERROR,
        where=where,
        message=(
            f"{assembly.name}: least slope {format_pitch(assembly.least_slope)}, this plane has "
            f"{pitch_beside(plane.slope, assembly.least_slope, tol=tol)}; "
            f"{_way_out(plane, assembly, spec, catalog, tol)}"
        ),
        source=assembly.slope_source,
    )


def _way_out(
    plane: Plane, assembly: Assembly, spec: RoofSpec, catalog: Catalog, tol: Tolerance
) -> str:
    """Return what to do about a plane that is too flat for what lies on it."""
    cutoff = spec.rules.low_slope_cutoff
    fit = [other.id for other in catalog.assemblies if may_lie(other, plane.slope, tol=tol)]
    names = " or ".join(filter(None, (", ".join(fit[:-1]), *fit[-1:])))
    advice = f"name {names} for it" if fit else "make it steeper"
    if plane.kind is Kind.STEEP and cutoff < assembly.least_slope - tol.slope:
        advice += f", or raise low_slope_cutoff from {format_pitch(cutoff)}"
    return advice


def _check_cricket(
    opening: RoofOpening, roof: Roof, units: Units, limits: Limits, tol: Tolerance
) -> Iterable[Finding]:
    """Tell a penetration wide enough to dam the water that comes down on it."""
    if opening.width_across <= limits.cricket_width + tol.snap:
        return
    if opening.kind is OpeningKind.DRAIN:
        return  # water is meant to come down on it
    if not dams_water(opening, roof, tol=tol):
        return
    skylight = opening.kind is OpeningKind.SKYLIGHT
    yield Finding(
        code="R3D-CRICKET",
        severity=Severity.NOTE if skylight else Severity.CAUTION,
        where=f"openings[{opening.id}]",
        message=(
            f"{opening.kind} is {format_length(opening.width_across, units)} wide across the "
            f"slope, more than {format_length(limits.cricket_width, units)}: it needs a cricket "
            "or saddle on its uphill side"
            + (", unless its maker's flashing kit is made to do without" if skylight else "")
        ),
        source=limits.cricket_source,
    )


def _check_meeting(edge: Edge, chosen: dict[str, Assembly]) -> Iterable[Finding]:
    """Tell where two assemblies meet on an edge that is no transition by its kind."""
    if edge.role is Role.TRANSITION:
        return
    match edge.planes:
        case (one, other):
            first, second = chosen[one], chosen[other]
        case _:
            return
    if first.id == second.id:
        return
    advice = (
        "; both drain into it, so the membrane goes up under the shingles"
        if edge.role is Role.VALLEY and {first.kind, second.kind} == {"membrane", "shingle"}
        else ""
    )
    yield Finding(
        code="R3D-ASSEMBLY-CHANGE",
        severity=Severity.NOTE,
        where=f"edges[{edge.id}]",
        message=(
            f"{first.name} and {second.name} meet at this "
            f"{edge.role.replace('_', ' ')}{advice}: detail it as a joint of two roofs"
        ),
        source="common practice, no source" if advice else "",
    )
