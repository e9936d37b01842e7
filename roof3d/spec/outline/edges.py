"""The edges of an outline: what each wall's roof is, from the section and its own table."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from roof3d.spec.faults import TableFaults
from roof3d.spec.model import EdgeSpec, Level
from roof3d.spec.outline.rings import Ring, ring_name, vectors
from roof3d.spec.tables.section import EdgeTable
from roof3d.tolerance import DEFAULT, Tolerance
from roof3d.units import Units, format_length


@dataclass(frozen=True, slots=True, kw_only=True)
class SectionRoofline:
    """What holds for every edge that does not say otherwise; metres, rise over run."""

    eave: Fraction
    pitch: Fraction
    past_eave: Fraction
    past_rake: Fraction
    level: Level
    base: Fraction

    @property
    def fascia(self) -> Fraction:
        """Height of the roof surface at the outer end of the eave."""
        return self.eave - self.pitch * self.past_eave


def place_edges(
    tables: Sequence[EdgeTable], counts: Sequence[int], notes: TableFaults
) -> dict[tuple[int, int], int]:
    """Find the edge that each edge table is about.

    Parameters
    ----------
    tables : sequence of EdgeTable
    counts : sequence of int
        Corners of each ring, the outline first.
    notes : TableFaults
        Grows by a fault for every table that is about no edge, or about another's.

    Returns
    -------
    dict
        From ring and edge to the number of the table.
    """
    placed: dict[tuple[int, int], int] = {}
    for index, table in enumerate(tables):
        ring = 0 if table.courtyard is None else table.courtyard + 1
        if ring >= len(counts):
            known = f"courtyards count from 0, and there are {len(counts) - 1}"
            notes.add(f"edge[{index}].courtyard", f"there is no courtyard {table.courtyard}", known)
        elif table.at >= counts[ring]:
            notes.add(
                f"edge[{index}].at",
                f"{ring_name(ring)} has no corner {table.at}",
                f"its corners count from 0 to {counts[ring] - 1}",
            )
        elif (ring, table.at) in placed:
            first = placed[ring, table.at]
            notes.add(f"edge[{index}].at", f"this edge was given before, by edge[{first}]")
        else:
            placed[ring, table.at] = index
    return placed


def resolve_edge(roofline: SectionRoofline, table: EdgeTable | None) -> EdgeSpec:
    """Settle one edge.

    Parameters
    ----------
    roofline : SectionRoofline
    table : EdgeTable or None
        None where the edge has no table of its own.

    Returns
    -------
    EdgeSpec
        The fascia runs level unless the table gives both ``eave`` and what else moves it.
    """
    own = table.overhang if table else None
    if table and table.gable:
        past = roofline.past_rake if own is None else own
        clipped = table.hip_from is not None
        lean = (roofline.pitch if table.pitch is None else table.pitch) if clipped else Fraction(0)
        return EdgeSpec(
            pitch=math.inf,
            eave=float(roofline.eave),
            overhang=float(past),
            hip_from=None if table.hip_from is None else float(table.hip_from),
            hip_pitch=float(lean),
            gable_from=None,
        )
    pitch = table.pitch if table and table.pitch is not None else roofline.pitch
    past = roofline.past_eave if own is None else own
    if table and table.eave is not None:
        eave = table.eave
    elif roofline.level is Level.FASCIA:
        eave = roofline.fascia + pitch * past
    else:
        eave = roofline.eave
        past = (eave - roofline.fascia) / pitch if own is None else own
    gable_from = table.gable_from if table else None
    return EdgeSpec(
        pitch=float(pitch),
        eave=float(eave),
        overhang=float(past),
        hip_from=None,
        hip_pitch=0.0,
        gable_from=None if gable_from is None else float(gable_from),
    )


def resolve_fall(
    roofline: SectionRoofline,
    rings: Sequence[Ring],
    fall: int,
    tables: dict[tuple[int, int], EdgeTable],
    *,
    tol: Tolerance = DEFAULT,
) -> tuple[tuple[EdgeSpec, ...], ...]:
    """Settle the edges of an outline under one plane.

    Parameters
    ----------
    roofline : SectionRoofline
    rings : sequence of rings of (x, y)
    fall : int
        Edge of the first ring to which the plane falls.
    tables : dict
        From ring and edge to its table, of which only the overhang counts.

    Returns
    -------
    tuple of rings of EdgeSpec
        Edge ``fall`` slopes, every other wall runs up to the roof; edges level under the
        plane have the overhang of an eave, the others that of a rake.
    """
    low = vectors(rings[0])[fall]
    settled = []
    for number, ring in enumerate(rings):
        row = []
        for at, side in enumerate(vectors(ring)):
            cross = low[0] * side[1] - low[1] * side[0]
            level = abs(cross) <= tol.in_line * math.hypot(*low) * math.hypot(*side)
            past = roofline.past_eave if level else roofline.past_rake
            own = tables[number, at].overhang if (number, at) in tables else None
            row.append(
                EdgeSpec(
                    pitch=float(roofline.pitch) if (number, at) == (0, fall) else math.inf,
                    eave=float(roofline.eave),
                    overhang=float(past if own is None else own),
                    hip_from=None,
                    hip_pitch=0.0,
                    gable_from=None,
                )
            )
        settled.append(tuple(row))
    return tuple(settled)


def check_edge(
    table: EdgeTable, place: str, roofline: SectionRoofline, notes: TableFaults, units: Units
) -> None:
    """Find keys that do not go together, and heights and slopes that no roof has."""
    shown = format_length(float(roofline.eave), units)
    if table.pitch == 0:
        notes.add(f"{place}.pitch", "is 0:12, and the roof over an edge falls to it")
    if table.gable:
        _check_gable(table, place, notes)
        if table.hip_from is not None and table.hip_from <= roofline.eave:
            notes.add(
                f"{place}.hip_from",
                f"{format_length(float(table.hip_from), units)} is not above the eave, {shown}",
                "leave gable and hip_from out for a hip from the eave up",
            )
        return
    if table.hip_from is not None:
        notes.add(
            f"{place}.hip_from", "a hip that starts higher up needs a gable", "write gable = true"
        )
    if table.pitch == 0:
        return
    spec = resolve_edge(roofline, table)
    eave = format_length(spec.eave, units)
    if table.gable_from is not None and float(table.gable_from) <= spec.eave:
        notes.add(
            f"{place}.gable_from",
            f"{format_length(float(table.gable_from), units)} is not above its eave, {eave}",
            "write gable = true for a gable from the eave up",
        )
    if spec.eave <= float(roofline.base):
        floor = format_length(float(roofline.base), units)
        key = f"{place}.eave" if table.eave is not None else place
        message = f"its eave, {eave}, is not above the underside of the walls, {floor}"
        notes.add(key, message)
    elif spec.overhang and spec.pitch * spec.overhang >= spec.eave:
        drop = format_length(spec.pitch * spec.overhang, units)
        message = f"its overhang runs down {drop} from an eave at {eave}, into the ground"
        notes.add(place, message, "make it shorter or the eave higher")


def check_under_fall(table: EdgeTable, place: str, notes: TableFaults) -> None:
    """Find keys that mean nothing under one plane."""
    for key in ("hip_from", "gable_from", "pitch", "eave"):
        if getattr(table, key) is not None:
            notes.add(f"{place}.{key}", "cannot be with fall: the roof is one plane")
    if table.gable:
        notes.add(f"{place}.gable", "cannot be with fall: every wall but one runs up to the plane")


def _check_gable(table: EdgeTable, place: str, notes: TableFaults) -> None:
    if table.eave is not None:
        notes.add(f"{place}.eave", "a gable has no eave", "leave it out")
    if table.gable_from is not None:
        notes.add(f"{place}.gable_from", "is a gable from the eave up already", "leave one out")
    if table.pitch is not None and table.hip_from is None:
        notes.add(
            f"{place}.pitch",
            "a gable has no pitch",
            'leave it out, or add hip_from, such as hip_from = "14 ft", for a clipped gable',
        )
