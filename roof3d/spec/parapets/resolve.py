"""From the checked table of a parapet to its frozen spec."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from fractions import Fraction
from typing import Any

from roof3d.errors import Fault
from roof3d.spec.faults import TableFaults, place_of, show
from roof3d.spec.model import EdgeSpec, ParapetSpec, SectionSpec
from roof3d.spec.parapets.sides import side_names
from roof3d.spec.tables.section import ParapetTable, SectionTable
from roof3d.units import Units, format_length, format_pitch


def resolve_parapet(
    table: SectionTable, notes: TableFaults, units: Units, *, edges: Sequence[EdgeSpec] = ()
) -> ParapetSpec | None:
    """Settle the parapet of a section.

    Parameters
    ----------
    table : SectionTable
    notes : TableFaults
        Grows by every fault found.
    units : Units
        In which faults show lengths.
    edges : sequence of EdgeSpec
        Of an outline, in the order written; none for a rectangle.

    Returns
    -------
    ParapetSpec or None
        None where the section has none, or where there was a fault.
    """
    given = table.parapet
    if given is None:
        return None
    before = len(notes.found)
    if table.open:
        notes.add("parapet", "stands on a wall, and an open section has none", "leave one out")
    if given.sides is not None and given.without is not None:
        notes.add("parapet.without", "cannot be with sides", "leave one of them out")
    if table.length is not None and table.width is not None and not edges:
        _check_thickness(given, min(table.length, table.width), notes, units)
    names: Sequence[str | int] = tuple(range(len(edges))) if edges else side_names(table.turn)
    sides = _numbers(given.sides, "sides", names, notes)
    left_out = _numbers(given.without, "without", names, notes)
    if left_out is not None:
        sides = tuple(number for number in range(len(names)) if number not in left_out)
        if not sides:
            notes.add("parapet.without", "leaves no side", "leave the parapet out")
    for number in range(len(edges)) if sides is None else sides:
        if edges and number < len(edges) and edges[number].overhang > 0.0:
            shown = format_length(edges[number].overhang, units)
            notes.add(
                "parapet",
                f"edge {number} has an overhang of {shown}, and a parapet stands on the wall",
                f'for instance edge = [{{ at = {number}, overhang = "0 ft" }}]',
            )
    if len(notes.found) > before:
        return None
    return ParapetSpec(height=float(given.height), thickness=float(given.thickness), sides=sides)


def _check_thickness(
    given: ParapetTable, narrow: Fraction, notes: TableFaults, units: Units
) -> None:
    if 2 * given.thickness >= narrow:
        notes.add(
            "parapet.thickness",
            f"{format_length(float(given.thickness), units)} on both sides leaves no roof",
            f"it must be below {format_length(float(narrow) / 2.0, units)}, half the narrow side",
        )


def _numbers(
    given: Sequence[str | int] | None,
    key: str,
    names: Sequence[str | int],
    notes: TableFaults,
) -> tuple[int, ...] | None:
    """Return the numbers of the walls named, each once and rising."""
    if given is None:
        return None
    found = set()
    for index, name in enumerate(given):
        if name in names:
            found.add(names.index(name))
            continue
        known = (
            f"its edges count from 0 to {len(names) - 1}"
            if isinstance(names[0], int)
            else f"its sides are {', '.join(map(str, names))}"
        )
        notes.add(f"parapet.{key}[{index}]", f"this section has no side {show(name)}", known)
    return tuple(sorted(found))


def check_parapets(
    sections: Sequence[SectionSpec | None],
    cutoff: float,
    data: Mapping[str, Any],
    faults: list[Fault],
) -> None:
    """Find parapets on roofs that are steep enough for shingles.

    Parameters
    ----------
    sections : sequence of SectionSpec or None
        In the order of the file.
    cutoff : float
        The model's, rise over run.
    data : mapping
        The whole file, to name places.
    faults : list of Fault
        Grows by every fault found.
    """
    for index, section in enumerate(sections):
        if section is None or section.parapet is None:
            continue
        steepest = _steepest(section)
        if steepest >= cutoff:
            faults.append(
                Fault(
                    where=place_of(("section", index, "parapet"), data),
                    message=(
                        f"this roof has {format_pitch(steepest)}, and a parapet holds in only a "
                        f"membrane, below {format_pitch(cutoff)}"
                    ),
                    hint="leave it out, or make the roof flatter",
                )
            )


def _steepest(section: SectionSpec) -> float:
    slopes = [section.pitch, section.pitch_back, section.lower_pitch]
    if section.outline is not None:
        edges = [edge for ring in section.outline.edges for edge in ring]
        slopes += [edge.pitch for edge in edges if not math.isinf(edge.pitch)]
        slopes += [edge.hip_pitch for edge in edges]
    return max(slopes)
