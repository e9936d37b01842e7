"""From the checked table of an outline section to its frozen spec."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction
from typing import Final

from roof3d.errors import Fault
from roof3d.spec.faults import TableFaults
from roof3d.spec.heights import FLAT_PITCH
from roof3d.spec.model import EdgeSpec, Level, OutlineSpec, OverhangSpec, ParapetSpec, SectionSpec
from roof3d.spec.outline.edges import (
    SectionRoofline,
    check_edge,
    check_under_fall,
    place_edges,
    resolve_edge,
    resolve_fall,
)
from roof3d.spec.outline.rings import (
    Ring,
    check_rings,
    is_counterclockwise,
    reversed_corners,
    reversed_edges,
    ring_name,
    straight_corners,
    vectors,
)
from roof3d.spec.parapets.resolve import resolve_parapet
from roof3d.spec.tables.section import EdgeTable, SectionTable
from roof3d.tolerance import DEFAULT
from roof3d.units import Units, format_length, format_pitch

_OF_RECTANGLES: Final = ("length", "width", "pitch_back", "lower_pitch", "break_in")


def resolve_outline(
    table: SectionTable, where: str, *, units: Units, faults: list[Fault]
) -> SectionSpec | None:
    """Settle a section of the form ``outline``.

    Parameters
    ----------
    table : SectionTable
    where : str
        Its place in the file, for faults.
    units : Units
        In which faults show lengths.
    faults : list of Fault
        Grows by every fault found.

    Returns
    -------
    SectionSpec or None
        None if there was a fault. Rings run counterclockwise, courtyards clockwise; a ring
        that had to be turned keeps its first corner.
    """
    notes = TableFaults(where, [])
    for key in _OF_RECTANGLES:
        if getattr(table, key) is not None:
            notes.add(key, "does not belong to an outline", "leave it out")
    if table.ridge is not None:
        notes.add("ridge", "follows from the outline, its eaves and pitches", "leave it out")
    rings: tuple[Ring, ...] = (table.outline or (), *(table.courtyard or ()))
    told = len(notes.found)
    check_rings(rings, notes, units)
    sound = len(notes.found) == told
    roofline = _roofline(table)
    _check_section(table, roofline, notes, units)
    tables = table.edge or ()
    placed = place_edges(tables, [len(ring) for ring in rings], notes)
    for index, edge in enumerate(tables):
        if table.fall is None:
            check_edge(edge, f"edge[{index}]", roofline, notes, units)
        else:
            check_under_fall(edge, f"edge[{index}]", notes)
    own = {place: tables[index] for place, index in placed.items()}
    edges = None if not sound or roofline.pitch == 0 else _edges(table, roofline, rings, own, notes)
    if edges is not None:
        _check_edges(rings, edges, notes, one_plane=table.fall is not None)
        _check_deck(table, edges, notes, units)
    parapet = resolve_parapet(table, notes, units, edges=edges[0]) if edges else None
    faults.extend(notes.found)
    return None if edges is None or notes.found else _spec(table, roofline, rings, edges, parapet)


def _roofline(table: SectionTable) -> SectionRoofline:
    over = table.overhang
    return SectionRoofline(
        eave=table.eave or Fraction(0),
        pitch=table.pitch or Fraction(0),
        past_eave=over.eave if over else Fraction(0),
        past_rake=(over.rake if over else None) or Fraction(0),
        level=table.level or Level.FASCIA,
        base=table.base,
    )


def _check_section(
    table: SectionTable, roofline: SectionRoofline, notes: TableFaults, units: Units
) -> None:
    """Find heights and slopes of the section that no roof has."""
    eave, base = roofline.eave, roofline.base
    if not roofline.pitch:
        notes.add("pitch", "is 0:12, and an outline has a slope", 'form = "flat" may be level')
    if eave <= base:
        floor = format_length(float(base), units)
        shown = format_length(float(eave), units)
        notes.add("eave", f"{shown} is not above the underside of the walls, {floor}")
    elif roofline.past_eave and roofline.fascia <= 0:
        drop = format_length(float(eave - roofline.fascia), units)
        notes.add(
            "overhang",
            f"runs down {drop} from an eave at {format_length(float(eave), units)}, "
            "into the ground",
            "make it shorter or the eave higher",
        )
    if table.deck_pitch is not None and table.deck is None:
        notes.add("deck_pitch", "there is no deck", 'add its height, such as deck = "14 ft"')
    if table.deck is not None and table.fall is not None:
        notes.add("deck", "cannot be with fall: one plane has no deck", "leave one of them out")


def _edges(
    table: SectionTable,
    roofline: SectionRoofline,
    rings: Sequence[Ring],
    own: dict[tuple[int, int], EdgeTable],
    notes: TableFaults,
) -> tuple[tuple[EdgeSpec, ...], ...] | None:
    """Settle every edge in the order written; None where the faults leave no sense in it."""
    if table.fall is not None:
        if not _is_low_edge(rings[0], table.fall, notes):
            return None
        return resolve_fall(roofline, rings, table.fall, own)
    if any(edge.pitch == 0 for edge in own.values()):
        return None
    return tuple(
        tuple(resolve_edge(roofline, own.get((number, at))) for at in range(len(ring)))
        for number, ring in enumerate(rings)
    )


def _is_low_edge(ring: Ring, fall: int, notes: TableFaults) -> bool:
    """Whether no corner lies outside an edge; notes a fault where one does."""
    if fall >= len(ring):
        notes.add("fall", f"outline has no corner {fall}", f"they count from 0 to {len(ring) - 1}")
        return False
    (x0, y0), (dx, dy) = ring[fall], vectors(ring)[fall]
    inside = 1.0 if is_counterclockwise(ring) else -1.0
    for corner, (x, y) in enumerate(ring):
        off = inside * (dx * float(y - y0) - dy * float(x - x0)) / math.hypot(dx, dy)
        if off < -DEFAULT.merge:
            notes.add(
                "fall",
                f"edge {fall} is not the lowest: corner {corner} lies beyond it",
                "choose an edge with the whole outline on one side",
            )
            return False
    return True


def _check_edges(
    rings: Sequence[Ring],
    edges: Sequence[Sequence[EdgeSpec]],
    notes: TableFaults,
    *,
    one_plane: bool,
) -> None:
    """Find walls in line under planes that never meet, and roofs without a slope."""
    if all(math.isinf(edge.pitch) for ring in edges for edge in ring):
        notes.add("edge", "every edge is a gable, so nothing carries the roof", "let one slope")
    for number, (ring, row) in enumerate(zip(rings, edges, strict=True)):
        for corner in straight_corners(ring):
            unlike = _unlike(row[corner - 1], row[corner], one_plane=one_plane)
            if unlike:
                first = (corner - 1) % len(ring)
                more = "; a step of the eave between them is not enough" * (unlike == "pitches")
                notes.add(
                    f"{ring_name(number)}[{corner}]",
                    f"edges {first} and {corner} run straight on here with unlike {unlike}, so "
                    f"their planes never meet{more}",
                    "make them alike, or move the corner so that the wall turns",
                )


def _unlike(before: EdgeSpec, after: EdgeSpec, *, one_plane: bool) -> str:
    """Return what differs between two edges in line; nothing where they have one plane."""
    if before.pitch != after.pitch and not one_plane:
        return "pitches"
    if before.eave != after.eave:
        return "eaves"
    if before.overhang != after.overhang:
        return "overhangs"
    if one_plane or before == after:
        return ""
    return "hip_from" if math.isinf(before.pitch) else "gable_from"


def _check_deck(
    table: SectionTable,
    edges: Sequence[Sequence[EdgeSpec]],
    notes: TableFaults,
    units: Units,
) -> None:
    """Find decks under an eave or as steep as the roof."""
    sloping = [edge for ring in edges for edge in ring if not math.isinf(edge.pitch)]
    if table.deck is None or table.fall is not None or not sloping:
        return
    eave = max(edge.eave for edge in sloping)
    if float(table.deck) <= eave:
        shown = format_length(float(table.deck), units)
        notes.add("deck", f"{shown} is not above the eave, {format_length(eave, units)}")
    flattest = min(edge.pitch for edge in sloping)
    fall = _deck_pitch(table)
    if float(fall) >= flattest:
        notes.add(
            "deck_pitch",
            f"{format_pitch(float(fall))} is not flatter than the roof below, "
            f"{format_pitch(flattest)}",
        )


def _deck_pitch(table: SectionTable) -> Fraction:
    if table.deck is None:
        return Fraction(0)
    return FLAT_PITCH if table.deck_pitch is None else table.deck_pitch


def _spec(
    table: SectionTable,
    roofline: SectionRoofline,
    rings: Sequence[Ring],
    edges: Sequence[Sequence[EdgeSpec]],
    parapet: ParapetSpec | None,
) -> SectionSpec:
    points = [tuple((float(x), float(y)) for x, y in ring) for ring in rings]
    turned = [is_counterclockwise(ring) == (number > 0) for number, ring in enumerate(rings)]
    fall = table.fall
    if fall is not None and turned[0]:
        fall = len(rings[0]) - 1 - fall
    if parapet is not None and parapet.sides is not None and turned[0]:
        mirrored = sorted(len(rings[0]) - 1 - side for side in parapet.sides)
        parapet = replace(parapet, sides=tuple(mirrored))
    return SectionSpec(
        id=table.id,
        form=table.form,
        length=0.0,
        width=0.0,
        at=(float(table.at[0]), float(table.at[1])),
        turn=table.turn,
        eave=float(roofline.eave),
        ridge=float(roofline.eave),
        pitch=float(roofline.pitch),
        pitch_back=float(roofline.pitch),
        lower_pitch=0.0,
        break_in=0.0,
        overhang=OverhangSpec(eave=float(roofline.past_eave), rake=float(roofline.past_rake)),
        base=float(table.base),
        open=table.open,
        assembly=table.assembly or "",
        parapet=parapet,
        outline=OutlineSpec(
            rings=tuple(
                reversed_corners(ring) if turn else ring
                for ring, turn in zip(points, turned, strict=True)
            ),
            edges=tuple(
                reversed_edges(row) if turn else tuple(row)
                for row, turn in zip(edges, turned, strict=True)
            ),
            fall=fall,
            deck=None if table.deck is None else float(table.deck),
            deck_pitch=float(_deck_pitch(table)),
        ),
    )
