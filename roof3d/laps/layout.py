"""Prove the laps of a whole roof: every layer and strip of every plane, over its edges too."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from roof3d.catalog.model import Catalog
from roof3d.errors import Finding, Severity
from roof3d.laps.laid.pieces import layer_pieces, strip_pieces
from roof3d.laps.laid.unfold import around, surface_of
from roof3d.laps.model import FaultKind, LapFault, LapPiece
from roof3d.laps.prove import check_laps
from roof3d.layout.borders.frame import to_space
from roof3d.layout.joint import PRACTICE
from roof3d.layout.model import LaidPlane, Layout, PlaneFrame
from roof3d.roof.model import Point3
from roof3d.tolerance import DEFAULT, Tolerance
from roof3d.units import Units, format_length

_FOOT: Final = 0.3048


def check_layout(
    layout: Layout, catalog: Catalog, *, units: Units = Units.IMPERIAL, tol: Tolerance = DEFAULT
) -> tuple[Finding, ...]:
    """Check every lap of a layout for water that could run in.

    Parameters
    ----------
    layout : Layout
    catalog : Catalog
        It was laid out from.
    units : Units
        Of lengths and places in the findings.
    tol : Tolerance

    Returns
    -------
    tuple[Finding, ...]
        Plane by plane; none on a roof that is laid right. Distances that the layout already
        tells it cannot keep are not told again.

    Notes
    -----
    Flashings of pipes and steps at walls that run across the fall have no place on the plane
    and are left out.
    """
    told = {finding.where for finding in layout.findings if finding.code == "R3D-LAPS"}
    findings = []
    for plane, faults in prove_layout(layout, catalog, tol=tol):
        for fault in faults:
            if fault.kind is FaultKind.STACKED and f"layers[{fault.layers[0]}]" in told:
                continue
            findings.append(_finding(fault, plane, units))
    return tuple(findings)


def prove_layout(
    layout: Layout, catalog: Catalog, *, tol: Tolerance = DEFAULT
) -> Iterator[tuple[LaidPlane, tuple[LapFault, ...]]]:
    """Give each plane with the faults of its laps, in its frame."""
    planes = {plane.plane.id: plane for plane in layout.planes}
    own = own_pieces(layout, catalog, tol)
    for name, plane in planes.items():
        pieces = [*own[name], *around(plane, planes, own, catalog, tol)]
        yield plane, check_laps(surface_of(plane, planes, tol), pieces, tol=tol)


def own_pieces(layout: Layout, catalog: Catalog, tol: Tolerance) -> dict[str, list[LapPiece]]:
    """Return by plane the pieces of its layers and of the strips along its sides."""
    own = {plane.plane.id: list(layer_pieces(plane, catalog, tol)) for plane in layout.planes}
    for plane in layout.planes:
        for strip in layout.strips:
            if plane.plane.id in strip.planes:
                own[plane.plane.id] += strip_pieces(plane, strip, catalog, tol)
    return own


def place_of(fault: LapFault, frame: PlaneFrame) -> Point3:
    """Return the place of a fault in space, metres."""
    x, y, z = to_space(frame, [fault.at])[0].tolist()
    return (x, y, z)


def _finding(fault: LapFault, plane: LaidPlane, units: Units) -> Finding:
    metric = units is Units.METRIC
    x, y, z = (value if metric else value / _FOOT for value in place_of(fault, plane.frame))
    unit = "m" if metric else "ft"
    where = f"planes[{fault.face}]"
    pieces = " and ".join(fault.pieces) or "the deck"
    lap = ""
    if fault.wanted > 0.0:
        lap = (
            f", {format_length(fault.reached, units)} where "
            f"{format_length(fault.wanted, units)} is asked"
        )
    return Finding(
        code=f"R3D-LAP-{fault.kind.name.replace('_', '-')}",
        severity=Severity.CAUTION if fault.kind is FaultKind.STACKED else Severity.ERROR,
        where=where,
        message=f"{pieces}: {fault.words}{lap}, at {x:.2f}, {y:.2f}, {z:.2f} {unit}",
        source=PRACTICE,
    )
