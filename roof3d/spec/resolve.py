"""From checked tables to the frozen spec: what one value means beside another."""

from __future__ import annotations

from fractions import Fraction
from typing import Final

from roof3d.errors import Fault
from roof3d.spec.faults import TableFaults
from roof3d.spec.heights import (
    FLAT_PITCH,
    Heights,
    narrow_side,
    section_profile,
    solve_heights,
)
from roof3d.spec.model import (
    Form,
    LayoutSpec,
    OpeningKind,
    OpeningSpec,
    OverhangSpec,
    RuleSpec,
    SectionSpec,
    SiteSpec,
    Zones,
)
from roof3d.spec.parapets.resolve import resolve_parapet
from roof3d.spec.tables.model import LayoutTable, OpeningTable, RulesTable, SiteTable
from roof3d.spec.tables.section import SectionTable
from roof3d.spec.values import STEEPEST
from roof3d.units import Units, exact_length, exact_pitch, format_length, format_pitch

_BROKEN: Final = frozenset({Form.GAMBREL, Form.MANSARD})
_FOUR_WAYS: Final = frozenset({Form.HIP, Form.MANSARD})
_OF_OUTLINES: Final = ("outline", "courtyard", "level", "edge", "fall", "deck", "deck_pitch")
_MAY_BE_LEVEL: Final = frozenset({Form.FLAT, Form.GAMBREL, Form.MANSARD})

# Where a model does not say: 3 ft is the least height of a chimney above the roof at its
# highest side in IRC R1003.9 (from memory), 4 in the least opening of a scupper in IRC R903.4.1;
# the others are common practice, no source.
_DEFAULT_HEIGHT: Final = {
    OpeningKind.CHIMNEY: exact_length("3 ft"),
    OpeningKind.SKYLIGHT: exact_length("4 in"),
    OpeningKind.PIPE: exact_length("12 in"),
    OpeningKind.DRAIN: exact_length("4 in"),
    OpeningKind.SCUPPER: exact_length("4 in"),
}
# Inlet of an overflow above the low point: IRC R903.4.1.
_OVERFLOW_SILL: Final = exact_length("2 in")
_OUTLETS: Final = (OpeningKind.DRAIN, OpeningKind.SCUPPER)
_SIZED_BY: Final = {
    OpeningKind.CHIMNEY: "size",
    OpeningKind.SKYLIGHT: "size",
    OpeningKind.PIPE: "diameter",
    OpeningKind.DRAIN: "diameter",
    OpeningKind.SCUPPER: "width",
}
_EXAMPLES: Final = {
    "size": 'size = ["32 in", "24 in"]',
    "diameter": 'diameter = "3 in"',
    "width": 'width = "12 in"',
}


def resolve_section(
    table: SectionTable, where: str, *, units: Units, faults: list[Fault]
) -> SectionSpec | None:
    """Settle one section.

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
        None if there was a fault.
    """
    if table.form is Form.OUTLINE:
        # Most models have no outline.
        from roof3d.spec.outline.section import resolve_outline

        return resolve_outline(table, where, units=units, faults=faults)
    if table.length is None or table.width is None:
        return None  # told by the table
    sides = (table.length, table.width)
    notes = TableFaults(where, [])
    _check_keys(table, sides, notes, units)
    heights = None if notes.found else _heights(table, sides, notes, units)
    if heights is not None:
        _check_heights(table, heights, notes, units)
    parapet = resolve_parapet(table, notes, units)
    faults.extend(notes.found)
    if heights is None or notes.found:
        return None
    overhang = table.overhang
    past_eave = overhang.eave if overhang else Fraction(0)
    past_rake = (overhang.rake if overhang else None) or Fraction(0)
    pitch_back = heights.pitch if table.pitch_back is None else table.pitch_back
    return SectionSpec(
        id=table.id,
        form=table.form,
        length=float(sides[0]),
        width=float(sides[1]),
        at=(float(table.at[0]), float(table.at[1])),
        turn=table.turn,
        eave=float(heights.eave),
        ridge=float(heights.ridge),
        pitch=float(heights.pitch),
        pitch_back=float(pitch_back),
        lower_pitch=float(table.lower_pitch or 0),
        break_in=float(table.break_in or 0),
        overhang=OverhangSpec(
            eave=float(past_eave),
            rake=float(past_eave if table.form in _FOUR_WAYS else past_rake),
        ),
        base=float(table.base),
        open=table.open,
        assembly=table.assembly or "",
        parapet=parapet,
    )


def _check_keys(
    table: SectionTable, sides: tuple[Fraction, Fraction], notes: TableFaults, units: Units
) -> None:
    """Find keys that do not belong to the form, and keys that it lacks."""
    form = table.form
    if form is not Form.GABLE and table.pitch_back is not None:
        notes.add("pitch_back", f"belongs to a gable, and this is a {form}", "leave it out")
    for key in ("lower_pitch", "break_in"):
        value = getattr(table, key)
        if form in _BROKEN and value is None:
            example = '"20:12"' if key == "lower_pitch" else '"4 ft"'
            notes.add(key, f"is missing: a {form} needs it", f"for instance {key} = {example}")
        elif form not in _BROKEN and value is not None:
            notes.add(key, f"belongs to a gambrel or mansard, and this is a {form}", "leave it out")
    for key in _OF_OUTLINES:
        if getattr(table, key) is not None:
            notes.add(key, f"belongs to an outline, and this is a {form}", "leave it out")
    half = narrow_side(form, *sides) / 2
    if form in _BROKEN and table.break_in is not None and table.break_in >= half:
        notes.add(
            "break_in",
            f"{_length(table.break_in, units)} reaches the middle of the roof",
            f"it must be below {_length(half, units)}, half the narrow side",
        )
    over = table.overhang
    if form in _FOUR_WAYS and over and over.rake is not None and over.rake != over.eave:
        notes.add("overhang.rake", f"a {form} has eaves all round and no rake", "leave it out")


def _heights(
    table: SectionTable, sides: tuple[Fraction, Fraction], notes: TableFaults, units: Units
) -> Heights | None:
    profile = section_profile(
        table.form,
        length=sides[0],
        width=sides[1],
        pitch_back=table.pitch_back,
        lower_pitch=table.lower_pitch or Fraction(0),
        break_in=table.break_in or Fraction(0),
    )
    pitch = table.pitch
    if table.form is Form.FLAT and pitch is None and (table.eave is None or table.ridge is None):
        pitch = FLAT_PITCH
    try:
        return solve_heights(profile, eave=table.eave, ridge=table.ridge, pitch=pitch, units=units)
    except ValueError as error:
        notes.add("", str(error))
        return None


def _check_heights(table: SectionTable, heights: Heights, notes: TableFaults, units: Units) -> None:
    """Find slopes and heights that no building has."""
    form, pitch = table.form, heights.pitch
    shown = format_pitch(float(pitch))
    if pitch > exact_pitch(STEEPEST):
        notes.add("pitch", f"comes to {shown}", f"the most allowed is {STEEPEST}")
    if not pitch and form not in _MAY_BE_LEVEL:
        notes.add("pitch", f"comes to 0:12, and a {form} has a slope", 'form = "flat" may be level')
    if table.pitch_back == 0:
        notes.add("pitch_back", "is 0:12, and a gable falls both ways")
    if form in _BROKEN and table.lower_pitch is not None and table.lower_pitch <= pitch:
        notes.add(
            "lower_pitch",
            f"{format_pitch(float(table.lower_pitch))} is not steeper than the pitch above the "
            f"break, {shown}",
        )
    eave = _length(heights.eave, units)
    if heights.eave <= table.base:
        notes.add(
            "eave", f"{eave} is not above the underside of the walls, {_length(table.base, units)}"
        )
    fall = max(table.lower_pitch or pitch, table.pitch_back or Fraction(0))
    drop = fall * table.overhang.eave if table.overhang else Fraction(0)
    if drop and drop >= heights.eave > table.base:
        notes.add(
            "overhang",
            f"runs down {_length(drop, units)} from an eave at {eave}, into the ground",
            "make it shorter or the eave higher",
        )


def resolve_opening(table: OpeningTable, where: str, *, faults: list[Fault]) -> OpeningSpec | None:
    """Settle one opening; see ``resolve_section`` for the parameters."""
    notes = TableFaults(where, [])
    kind, wanted = table.kind, _SIZED_BY[table.kind]
    if getattr(table, wanted) is None:
        notes.add(wanted, f"is missing: a {kind} needs it", f"for instance {_EXAMPLES[wanted]}")
    for key in _EXAMPLES:
        if key != wanted and getattr(table, key) is not None:
            notes.add(key, f"does not belong to a {kind}", f"it has {wanted}")
    if table.sump is not None and kind is not OpeningKind.DRAIN:
        notes.add("sump", f"does not belong to a {kind}", "leave it out")
    for key in ("overflow", "sill"):
        if getattr(table, key) is not None and kind not in _OUTLETS:
            notes.add(key, f"belongs to a drain or scupper, and this is a {kind}", "leave it out")
    if table.sump is not None and table.diameter is not None and table.sump <= table.diameter:
        notes.add("sump", "is no wider than the bowl", "leave it out, or make it wider")
    faults.extend(notes.found)
    height = table.height or _DEFAULT_HEIGHT[kind]
    sides = table.size or (table.diameter, table.diameter)
    if kind is OpeningKind.SCUPPER:
        sides = (table.width, height)
    if notes.found or sides[0] is None or sides[1] is None:
        return None
    sill = _OVERFLOW_SILL if table.overflow else Fraction(0)
    return OpeningSpec(
        id=table.id,
        kind=kind,
        at=(float(table.at[0]), float(table.at[1])),
        size=(float(sides[0]), float(sides[1])),
        turn=table.turn,
        height=float(height),
        sump=float(table.sump or 0),
        overflow=bool(table.overflow),
        sill=float(sill if table.sill is None else table.sill),
    )


def resolve_rules(table: RulesTable) -> RuleSpec:
    """Settle the limits and wishes."""
    return RuleSpec(
        low_slope_cutoff=float(table.low_slope_cutoff),
        low_assembly=table.low_assembly or "",
        steep_assembly=table.steep_assembly or "",
    )


def resolve_site(table: SiteTable) -> SiteSpec:
    """Settle the place and the day."""
    return SiteSpec(
        temperature=table.temperature,
        ice_barrier=table.ice_barrier,
        code=table.code,
        wind=table.wind,
        zones=Zones.GIVEN if isinstance(table.zones, Fraction) else table.zones,
        zone_width=float(table.zones) if isinstance(table.zones, Fraction) else 0.0,
    )


def resolve_layout(table: LayoutTable) -> LayoutSpec:
    """Settle the wishes for the laying."""
    return LayoutSpec(
        valley=table.valley,
        membrane_rise=table.membrane_rise,
        even_laps=table.even_laps,
        ridge_vent=table.ridge_vent,
        rake_starter=table.rake_starter,
    )


def _length(metres: Fraction, units: Units) -> str:
    return format_length(float(metres), units)
