"""Check assemblies against the materials they name: ids, forms, laps that the rolls allow."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Final

from roof3d.catalog.laying import Layer, Nailing, StripRule
from roof3d.catalog.material import Material, MaterialForm
from roof3d.catalog.model import UNDERLAYMENT, Assembly
from roof3d.catalog.table import shown
from roof3d.errors import Fault
from roof3d.tolerance import DEFAULT, Tolerance
from roof3d.units import format_length

_LAID: Final = (
    MaterialForm.DECK,
    MaterialForm.SHEET,
    MaterialForm.SHINGLE,
    MaterialForm.STRIP,
)
_IN_ROWS: Final = (
    MaterialForm.SHEET,
    MaterialForm.SHINGLE,
    MaterialForm.STRIP,
    MaterialForm.METAL,
    MaterialForm.UNIT,
)


def check_links(
    assembly: Assembly,
    where: str,
    materials: Mapping[str, Material],
    *,
    tol: Tolerance = DEFAULT,
) -> Iterator[Fault]:
    """Find what does not fit between an assembly and its materials.

    Parameters
    ----------
    assembly : Assembly
    where : str
        Its path in the file.
    materials : mapping of str to Material
        By id.
    tol : Tolerance
        Its ``merge`` is the least difference of two lengths.

    Yields
    ------
    Fault
        One for each wrong value, with its path.
    """
    if assembly.double_underlayment:
        yield from _named(
            f"{where}.double_underlayment",
            assembly.double_underlayment,
            materials,
            (MaterialForm.SHEET,),
        )
    double = materials.get(assembly.double_underlayment)
    for index, layer in enumerate(assembly.layers):
        place = f"{where}.layer[{index}]"
        yield from _named(f"{place}.material", layer.material, materials, _LAID)
        yield from _named(f"{place}.bed", layer.bed, materials, (MaterialForm.LIQUID,))
        yield from _named(f"{place}.primer", layer.primer, materials, (MaterialForm.LIQUID,))
        yield from _nailed(place, layer.nailing, materials)
        material = materials.get(layer.material)
        if material is not None and material.form is MaterialForm.SHEET:
            yield from _sheet_laps(place, layer, material, tol)
        if layer.role == UNDERLAYMENT and double is not None:
            yield from _sheet_laps(place, layer, double, tol)
    roles = [layer.role for layer in assembly.layers]
    for index, strip in enumerate(assembly.strips):
        place = f"{where}.strip[{index}]"
        if strip.before and strip.before not in roles:
            message = f"no layer has the role {shown(strip.before)}"
            yield Fault(
                where=f"{place}.before", message=message, hint=f"it has: {', '.join(roles)}"
            )
        if strip.joints_of and strip.joints_of not in [other.id for other in assembly.strips]:
            message = f"there is no strip {shown(strip.joints_of)}"
            yield Fault(where=f"{place}.joints_of", message=message)
        yield from _named(f"{place}.material", strip.material, materials, _IN_ROWS)
        yield from _named(f"{place}.bed", strip.bed, materials, (MaterialForm.LIQUID,))
        yield from _named(f"{place}.primer", strip.primer, materials, (MaterialForm.LIQUID,))
        yield from _nailed(place, strip.nailing, materials)
        if strip.material in materials:
            yield from _strip_pieces(place, strip, materials[strip.material], tol)


def _named(
    where: str,
    material_id: str,
    materials: Mapping[str, Material],
    forms: tuple[MaterialForm, ...],
) -> Iterator[Fault]:
    """Tell an id that is unknown or names something of another form; empty is no id."""
    if not material_id:
        return
    if material_id not in materials:
        fitting = sorted(name for name, material in materials.items() if material.form in forms)
        known = f"known: {', '.join(fitting)}"
        yield Fault(where=where, message=f"no material {shown(material_id)}", hint=known)
    elif materials[material_id].form not in forms:
        form = materials[material_id].form
        wanted = " or ".join(forms)
        yield Fault(where=where, message=f"{material_id!r} is a {form}, not a {wanted}")


def _nailed(
    place: str, nailing: Nailing | None, materials: Mapping[str, Material]
) -> Iterator[Fault]:
    if nailing is not None:
        where = f"{place}.nailing.fastener"
        yield from _named(where, nailing.fastener, materials, (MaterialForm.FASTENER,))


def _sheet_laps(place: str, layer: Layer, material: Material, tol: Tolerance) -> Iterator[Fault]:
    """Tell laps wider than the roll or its first course, and laps below its least."""
    for key, asked, least, size in (
        ("side_lap", layer.side_lap, material.side_lap, material.width),
        ("end_lap", layer.end_lap, material.end_lap, material.length),
    ):
        if asked and asked < least - tol.merge:
            message = f"is less than the least lap of {material.id!r}, {format_length(least)}"
            yield Fault(where=f"{place}.{key}", message=message, hint="leave it out for the least")
        if 0.0 < size <= max(asked, least) + tol.merge:
            message = f"leaves nothing of {material.id!r}, which measures {format_length(size)}"
            yield Fault(where=f"{place}.{key}", message=message)
    lap, first = max(layer.side_lap, material.side_lap), layer.first * material.width
    if lap < material.width - tol.merge and first <= lap + tol.merge:
        message = (
            f"leaves a first course of {format_length(first)}, not wider than the side lap of "
            f"{format_length(lap)}"
        )
        yield Fault(where=f"{place}.first", message=message)


def _strip_pieces(
    place: str, strip: StripRule, material: Material, tol: Tolerance
) -> Iterator[Fault]:
    """Tell laps and first pieces longer than a whole one."""
    length = material.length
    if not length or strip.each:
        return
    if max(strip.lap, material.end_lap) >= length - tol.merge:
        message = f"leaves nothing of {material.id!r}, which is {format_length(length)} long"
        yield Fault(where=f"{place}.lap", message=message)
    if strip.first > length + tol.merge:
        message = f"is longer than {material.id!r}, {format_length(length)}"
        yield Fault(where=f"{place}.first", message=message)
