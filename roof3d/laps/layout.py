"""Prove the laps of a whole roof: every layer and strip of every plane, over its edges too."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from roof3d.catalog.material import Material, MaterialForm
from roof3d.catalog.model import Catalog
from roof3d.errors import Finding, Severity
from roof3d.laps.laid.asked import AskedStrip
from roof3d.laps.laid.gaps import Gap, ShortLap, find_gaps, find_short_laps
from roof3d.laps.laid.knots import knots_of
from roof3d.laps.laid.pieces import layer_pieces, strip_pieces
from roof3d.laps.laid.rules import lap_rule
from roof3d.laps.laid.unfold import around, surface_of
from roof3d.laps.model import WHY, FaultKind, LapFault, LapPiece
from roof3d.laps.prove import check_laps
from roof3d.layout.borders.frame import to_space
from roof3d.layout.joint import INCH, PRACTICE
from roof3d.layout.model import LaidLayer, LaidPlane, Layout, PlaneFrame, Point2
from roof3d.roof.model import Point3
from roof3d.tolerance import DEFAULT, Tolerance
from roof3d.units import Units, format_length

_FOOT: Final = 0.3048
MOST_PIECES: Final = 50_000
"""A plane with more is not looked at: it would fill the memory."""
_SMALL: Final = 12.0 * INCH
"""Silence within so little of a corner is not told."""
_BACK_WATER: Final = "UFGS-07550: no back-water laps"
_OPEN: Final = frozenset({FaultKind.BACK_WATER, FaultKind.HEAD_BARE, FaultKind.BARE})
"""Water runs straight in: wrong whatever the rule."""


@dataclass(frozen=True, slots=True, eq=False)
class _Proof:
    """The faults of one plane, and its pieces by id."""

    plane: LaidPlane
    faults: tuple[LapFault, ...]
    pieces: Mapping[str, LapPiece]


def check_layout(
    layout: Layout,
    catalog: Catalog,
    *,
    units: Units = Units.IMPERIAL,
    even_laps: bool | None = None,
    asked: Sequence[AskedStrip] = (),
    tol: Tolerance = DEFAULT,
) -> tuple[Finding, ...]:
    """Check every lap of a layout for water that could run in.

    Parameters
    ----------
    layout : Layout
    catalog : Catalog
        It was laid out from.
    units : Units
        Of lengths and places in the findings.
    even_laps : bool or None
        What the model says of them: where it forbids them, laps that then lie over each other
        are its own doing.
    asked : sequence of AskedStrip
        Strips that must be there, whatever the layout says of them; only along those are laps
        from piece to piece of one strip looked at.
    tol : Tolerance

    Returns
    -------
    tuple[Finding, ...]
        Plane by plane, ``R3D-LAP-`` and a word of ``FaultKind``: one of each kind a layer or
        strip, the worst of them with its place and how many more there are. An error where
        water runs straight in, and where a lap falls short of a printed rule; else a caution.
        None on a roof that is laid right, but a note, ``R3D-LAP-UNSEEN``, of the corners at
        which the proof keeps silent. Distances that the layout already tells it cannot keep
        are not told again.

    Notes
    -----
    Flashings of pipes and steps at walls that run across the fall have no place on the plane
    and are left out.
    """
    told = {finding.where for finding in layout.findings if finding.code == "R3D-LAPS"}
    findings = []
    for proof in _proofs(layout, catalog, tol):
        groups: dict[tuple[FaultKind, str], list[LapFault]] = {}
        for fault in proof.faults:
            layer = f"layers[{fault.layers[0]}]" if fault.layers else ""
            if fault.kind is FaultKind.STACKED and layer in told and even_laps is not False:
                continue
            groups.setdefault((fault.kind, layer), []).append(fault)
        findings += [_tell(alike, proof, catalog, units, tol) for alike in groups.values()]
    gaps = find_gaps(asked, layout.strips, tol=tol)
    findings += [_tell_gap(gap, catalog, units) for gap in gaps]
    laps = find_short_laps(asked, layout.strips, tol=tol)
    findings += [_tell_short_lap(lap, catalog, units) for lap in laps]
    return (*findings, *_silent(layout, units, tol))


def prove_layout(
    layout: Layout, catalog: Catalog, *, tol: Tolerance = DEFAULT
) -> Iterator[tuple[LaidPlane, tuple[LapFault, ...]]]:
    """Give each plane with the faults of its laps, in its frame."""
    for proof in _proofs(layout, catalog, tol):
        yield proof.plane, proof.faults


def _proofs(layout: Layout, catalog: Catalog, tol: Tolerance) -> Iterator[_Proof]:
    planes = {plane.plane.id: plane for plane in layout.planes}
    own = own_pieces(layout, catalog, tol)
    for name, plane in planes.items():
        if _too_large(plane):
            continue
        pieces = [*own[name], *around(plane, planes, own, catalog, tol)]
        faults = (
            *check_laps(surface_of(plane, planes, tol), pieces, tol=tol),
            *_left_out(plane, catalog),
        )
        by_id = {piece.id: piece for piece in pieces} if faults else {}
        yield _Proof(plane, faults, by_id)


def _left_out(plane: LaidPlane, catalog: Catalog) -> Iterator[LapFault]:
    """Give the sheets of a membrane that are not laid at all."""
    assembly = catalog.assembly(plane.assembly)
    laid = {layer.role for layer in plane.layers}
    at = plane.outline.representative_point()
    for layer in assembly.layers if assembly.kind == "membrane" else ():
        if catalog.material(layer.material).form is MaterialForm.SHEET and layer.role not in laid:
            yield LapFault(
                kind=FaultKind.LEFT_OUT,
                face=plane.plane.id,
                pieces=(),
                layers=(f"{plane.plane.id}/{layer.role}",),
                at=(float(at.x), float(at.y)),
                reached=float(plane.outline.area),
                wanted=0.0,
            )


def _too_large(plane: LaidPlane) -> bool:
    return sum(len(layer.pieces) for layer in plane.layers) > MOST_PIECES


def own_pieces(layout: Layout, catalog: Catalog, tol: Tolerance) -> dict[str, list[LapPiece]]:
    """Return by plane the pieces of its layers and of the strips along its sides."""
    own: dict[str, list[LapPiece]] = {
        plane.plane.id: [] if _too_large(plane) else list(layer_pieces(plane, catalog, tol))
        for plane in layout.planes
    }
    for plane in layout.planes:
        for strip in layout.strips:
            if plane.plane.id in strip.planes:
                own[plane.plane.id] += strip_pieces(plane, strip, catalog, tol)
    return own


def place_of(fault: LapFault, frame: PlaneFrame) -> Point3:
    """Return the place of a fault in space, metres."""
    return _in_space(fault.at, frame)


def _in_space(at: Point2, frame: PlaneFrame) -> Point3:
    x, y, z = to_space(frame, [at])[0].tolist()
    return (x, y, z)


def _tell(
    alike: Sequence[LapFault], proof: _Proof, catalog: Catalog, units: Units, tol: Tolerance
) -> Finding:
    """Say the worst of faults that are alike."""
    fault = min(alike, key=lambda one: one.reached - one.wanted)
    names = [proof.pieces[piece].name or piece for piece in fault.pieces]
    if fault.kind is FaultKind.LEFT_OUT:
        names = [f"layers[{fault.layers[0]}]"]
    lap = ""
    if fault.wanted > 0.0:
        lap = (
            f", {format_length(fault.reached, units)} where "
            f"{format_length(fault.wanted, units)} is asked"
        )
    meets = f" (it meets {names[1]})" if len(names) > 1 else ""
    more = f"; {len(alike) - 1} more like it on this layer" if len(alike) > 1 else ""
    severity, source = _weigh(fault, proof.plane, catalog, tol)
    at = _in_space(fault.at, proof.plane.frame)
    return Finding(
        code=f"R3D-LAP-{fault.kind.name.replace('_', '-')}",
        severity=severity,
        where=f"planes[{fault.face}]" + (f", {names[0]}" if names else ", the deck"),
        message=f"{fault.words}{lap}, at {_print_place(at, units)}{meets}: {WHY[fault.kind]}{more}",
        source=source,
        at=at,
    )


def _tell_gap(gap: Gap, catalog: Catalog, units: Units) -> Finding:
    """Say which strip is missing where, how much of it, and what to do."""
    asked, rule = gap.asked, gap.asked.rule
    material = catalog.material(rule.material)
    missing, length = (format_length(size, units) for size in (gap.missing, asked.length))
    much = "it is missing" if rule.each else f"{missing} of {length} is missing"
    return Finding(
        code="R3D-LAP-LEFT-OUT",
        severity=Severity.ERROR,
        where=f"{'openings' if asked.rim else 'edges'}[{asked.edge}], "
        f"strips[{asked.edge}/{rule.id}]",
        message=(
            f"{material.name.lower()} does not lie where {asked.assembly} asks for it: {much}, at "
            f"{_print_place(gap.at, units)}; lay {rule.id} there"
        ),
        source=rule.source,
        at=gap.at,
    )


def _tell_short_lap(lap: ShortLap, catalog: Catalog, units: Units) -> Finding:
    """Say which strip laps too little along an edge, where, and what to do."""
    asked, rule = lap.asked, lap.asked.rule
    material = catalog.material(rule.material)
    reached, wanted = (format_length(size, units) for size in (lap.reached, lap.wanted))
    more = f"; {lap.count - 1} more like it along this edge" if lap.count > 1 else ""
    return Finding(
        code="R3D-LAP-SHORT-LAP",
        severity=Severity.CAUTION if lap.reached > 0.0 else Severity.ERROR,
        where=f"edges[{asked.edge}], strips[{asked.edge}/{rule.id}]",
        message=(
            f"one piece of {material.name.lower()} laps the next by {reached} where {wanted} is "
            f"asked, at {_print_place(lap.at, units)}{more}; lap them by {wanted} or more"
        ),
        source=rule.source,
        at=lap.at,
    )


def _print_place(at: Point3, units: Units) -> str:
    metric = units is Units.METRIC
    x, y, z = (value if metric else value / _FOOT for value in at)
    return f"({x:.2f}, {y:.2f}, {z:.2f}) {'m' if metric else 'ft'}"


def _weigh(
    fault: LapFault, plane: LaidPlane, catalog: Catalog, tol: Tolerance
) -> tuple[Severity, str]:
    """Return how much a fault weighs, and by whose word."""
    if fault.kind is FaultKind.LEFT_OUT:
        return Severity.ERROR, PRACTICE
    if fault.kind in _OPEN:
        back = fault.kind is FaultKind.BACK_WATER
        return Severity.ERROR, _BACK_WATER if back else PRACTICE
    layer = next((one for one in plane.layers if fault.layers and one.id == fault.layers[0]), None)
    if layer is None:
        return Severity.CAUTION, PRACTICE
    material = catalog.material(layer.material)
    if fault.kind is FaultKind.SHORT_LAP and len(fault.layers) > 1:
        return _weigh_lap(fault, plane, layer, material, catalog, tol)
    if fault.kind is FaultKind.STACKED:
        kept = (
            (material.stagger, "stagger"),
            (material.side_offset, "side_offset"),
            (material.end_offset, "end_offset"),
        )
        source = _source(material, *(value for asked, value in kept if asked == fault.wanted))
        return Severity.CAUTION if source == PRACTICE else Severity.ERROR, source
    return Severity.CAUTION, PRACTICE


def _weigh_lap(
    fault: LapFault,
    plane: LaidPlane,
    layer: LaidLayer,
    material: Material,
    catalog: Catalog,
    tol: Tolerance,
) -> tuple[Severity, str]:
    """Weigh a short lap within a layer: an error below the printed rule, if there is one."""
    rule = lap_rule(catalog.assembly(plane.assembly), layer.role, plane.plane.slope, tol=tol)
    if rule is not None:
        side = fault.wanted in {rule.side, material.side_lap}
        if fault.reached < (rule.side if side else rule.end) - tol.snap:
            return Severity.ERROR, rule.source
    value = "side_lap" if fault.wanted == material.side_lap else "end_lap"
    return Severity.CAUTION, _source(material, value)


def _source(material: Material, *values: str) -> str:
    """Return where the first of some values of a material comes from."""
    known = dict(material.sources)
    return next((known[value] for value in values if value in known), PRACTICE)


def _silent(layout: Layout, units: Units, tol: Tolerance) -> Iterator[Finding]:
    """Say once where nothing is told, because no piece says how the fold is made."""
    planes = {plane.plane.id: plane for plane in layout.planes}
    found: dict[str, list[tuple[Point3, float]]] = {}
    for plane in layout.planes:
        if _too_large(plane):
            why = f"a plane of more than {MOST_PIECES:,} pieces"
            start = plane.sides[0].start
            found.setdefault(why, []).append((_in_space(start, plane.frame), math.inf))
            continue
        for knot in knots_of(plane, planes, tol):
            if 0.0 < knot.within <= _SMALL:
                continue
            place = (_in_space(knot.start, plane.frame), knot.within)
            places = found.setdefault(knot.why, [])
            if place not in places:
                places.append(place)
    if found:
        reasons = "; ".join(_print_silence(why, places, units) for why, places in found.items())
        yield Finding(
            code="R3D-LAP-UNSEEN",
            severity=Severity.NOTE,
            where="roof",
            message=f"laps are not judged where folds are made by hand and not laid out: {reasons}",
            source=PRACTICE,
        )


def _print_silence(why: str, places: Sequence[tuple[Point3, float]], units: Units) -> str:
    first, within = places[0]
    near = f" within {format_length(within, units)} of" if 0.0 < within < math.inf else " at"
    return f"{why}, {len(places)} in all, the first{near} {_print_place(first, units)}"
