"""The take-off: every material counted from its pieces, and ordered in whole packs.

No factor for waste is used anywhere. What is ordered is in place, or scrap of the cutting, or
left over whole.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final

import numpy as np

from roof3d.catalog.material import Material, MaterialForm
from roof3d.catalog.model import Catalog
from roof3d.errors import Finding, LayoutError, Severity
from roof3d.layout.model import Layout
from roof3d.spec.model import RoofSpec
from roof3d.takeoff.assume import assume
from roof3d.takeoff.cutting import cut, cut_sheets
from roof3d.takeoff.model import Cutting, Item, Takeoff, Unit
from roof3d.takeoff.tally import Tally, tally_materials
from roof3d.tolerance import DEFAULT, Tolerance
from roof3d.units import ROOF_SQUARE, Units, format_area, format_length, format_volume

_PLACES: Final = 9
"""Decimals of a number of packs that count: a pail filled to the brim is one pail."""
_DECIDING: Final = {
    MaterialForm.SHEET: ("width", "length", "side_lap", "end_lap"),
    MaterialForm.SHINGLE: ("length", "exposure", "pack_count"),
    MaterialForm.STRIP: ("length", "end_lap", "exposure", "pack_count"),
    MaterialForm.METAL: ("length", "end_lap"),
    MaterialForm.LIQUID: ("rate", "thickness", "pack_volume"),
    MaterialForm.FASTENER: ("pack_count",),
    MaterialForm.UNIT: ("pack_count",),
}


def count_takeoff(
    layout: Layout, catalog: Catalog, spec: RoofSpec, *, tol: Tolerance = DEFAULT
) -> Takeoff:
    """Count what is laid and what must be ordered for it.

    Parameters
    ----------
    layout : Layout
    catalog : Catalog
        That the layout was made from.
    spec : RoofSpec
        For the units in sentences, the openings and what the site asks for.
    tol : Tolerance

    Returns
    -------
    Takeoff
        One item a material, in the order of work as ``tally_materials`` tells it. All planes
        and edges share rolls and lengths. Where a better cutting may save a pack, a material
        without a pack or without a rate is a finding.

    Raises
    ------
    LayoutError
        Where a piece cannot be cut from its stock.
    InvariantError
        Where the layout names a material that the catalog has not.
    """
    items: list[Item] = []
    findings: list[Finding] = []
    for tally in tally_materials(layout, catalog):
        try:
            item = _count(tally, spec.units, tol)
        except LayoutError as error:
            raise LayoutError(
                error.message, where=f"materials[{tally.material.id}]", hint=error.hint
            ) from error
        items.append(item)
        findings += _tell(item, tally)
    return Takeoff(
        items=tuple(items),
        assumptions=tuple(assume(items, layout, catalog, spec, tol=tol)),
        findings=tuple(findings),
    )


def _count(tally: Tally, units: Units, tol: Tolerance) -> Item:
    form = tally.material.form
    if form is MaterialForm.LIQUID:
        return _count_liquid(tally, units)
    if tally.by_piece:
        return _count_pieces(tally)
    if form is MaterialForm.SHEET:
        return _count_sheets(tally, units, tol)
    if form is MaterialForm.SHINGLE:
        return _count_shingles(tally, tol)
    return _count_lengths(tally, units, tol)


def _count_sheets(tally: Tally, units: Units, tol: Tolerance) -> Item:
    material = tally.material
    sizes = np.concatenate(tally.sizes)
    cutting = cut_sheets(
        [(float(length), float(width)) for length, width in sizes],
        roll_length=material.length,
        roll_width=material.width,
        shortest=material.shortest,
        side_by_side=material.selvage == 0.0,
        tol=tol,
    )
    narrow = int(np.count_nonzero(sizes[:, 1] < material.width - tol.merge))
    per_pack = max(1.0, material.pack_count)
    if not narrow:
        strips = ""
    elif material.selvage:
        strips = f"; {narrow} narrower ones keep the selvage, so nothing lies beside them"
    else:
        strips = f"; {narrow} narrower ones side by side where they fit"
    return _ordered(
        tally,
        unit=Unit.AREA,
        packs=_packs(len(cutting.patterns), per_pack),
        pack_holds=per_pack * material.width * material.length,
        waste=(_cut_off(cutting) + cutting.scrap) * material.width - tally.net,
        offcuts=cutting.usable * material.width,
        unopened=_unopened(len(cutting.patterns), per_pack) * material.width * material.length,
        cutting=cutting,
        rule=(
            f"{_number(tally.pieces, 'piece')}, laps included, cut by length from rolls of"
            f" {format_length(material.length, units)} by {format_length(material.width, units)}"
            f"{strips}; {_how_good(cutting)}"
        ),
    )


def _count_shingles(tally: Tally, tol: Tolerance) -> Item:
    material = tally.material
    lengths = np.concatenate(tally.sizes)[:, 0]
    cut_ones = lengths[np.abs(lengths - material.length) > tol.merge]
    cutting = cut(
        [float(length) for length in cut_ones],
        stock=material.length,
        shortest=material.shortest,
        tol=tol,
    )
    whole = len(lengths) - len(cut_ones)
    per_pack = max(1.0, material.pack_count)
    return _ordered(
        tally,
        unit=Unit.PIECE,
        packs=_packs(whole + len(cutting.patterns), per_pack),
        pack_holds=per_pack,
        waste=whole + (_cut_off(cutting) + cutting.scrap) / material.length - tally.net,
        offcuts=cutting.usable / material.length,
        unopened=_unopened(whole + len(cutting.patterns), per_pack),
        pack_area=per_pack * material.length * material.exposure,
        cutting=cutting,
        rule=(
            f"{whole:,} whole and {_number(len(cut_ones), 'cut piece')}, the cut ones from"
            f" {_number(len(cutting.patterns), 'whole shingle')} by their length along the course;"
            f" {_how_good(cutting)}"
        ),
    )


def _count_lengths(tally: Tally, units: Units, tol: Tolerance) -> Item:
    material = tally.material
    lengths = [float(length) for length in np.concatenate(tally.sizes)[:, 0]]
    if material.length == 0.0:
        return _ordered(
            tally,
            unit=Unit.LENGTH,
            packs=0,
            pack_holds=0.0,
            rule=f"{_number(tally.pieces, 'piece')} in any length, laps included",
        )
    cutting = cut(lengths, stock=material.length, shortest=material.shortest, tol=tol)
    per_pack = max(1.0, material.pack_count)
    each = 1.0 if tally.bundled else material.length
    return _ordered(
        tally,
        unit=Unit.PIECE if tally.bundled else Unit.LENGTH,
        packs=_packs(len(cutting.patterns), per_pack),
        pack_holds=per_pack * each,
        waste=(_cut_off(cutting) + cutting.scrap) / material.length * each - tally.net,
        offcuts=cutting.usable / material.length * each,
        unopened=_unopened(len(cutting.patterns), per_pack) * each,
        pack_length=per_pack * material.length,
        cutting=cutting,
        rule=(
            f"{_number(tally.pieces, 'piece')}, laps included, cut from"
            f" {len(cutting.patterns):,} of {format_length(material.length, units)};"
            f" {_how_good(cutting)}"
        ),
    )


def _count_pieces(tally: Tally) -> Item:
    per_pack = tally.material.pack_count
    fastener = tally.material.form is MaterialForm.FASTENER
    return _ordered(
        tally,
        unit=Unit.PIECE,
        packs=_packs(tally.pieces, per_pack or 1.0) if per_pack or not fastener else 0,
        pack_holds=per_pack or (0.0 if fastener else 1.0),
        unopened=_unopened(tally.pieces, per_pack or 1.0) if per_pack or not fastener else 0.0,
        pack_length=(per_pack or 1.0) * tally.material.exposure,
        rule="every nail set out is counted" if fastener else "every piece set out is counted",
    )


def _count_liquid(tally: Tally, units: Units) -> Item:
    material = tally.material
    area = tally.net / depth if (depth := material.rate or material.thickness) else 0.0
    if material.rate:
        each = float(ROOF_SQUARE) if units is Units.IMPERIAL else 10.0
        volume = format_volume(material.rate * each, units)
        rule = f"{format_area(area, units)} at {volume} on {format_area(each, units)}"
    else:
        rule = f"{format_area(area, units)}, {format_length(depth, units)} thick"
    return _ordered(
        tally,
        unit=Unit.VOLUME,
        packs=_packs(tally.net, material.pack_volume) if material.pack_volume else 0,
        pack_holds=material.pack_volume,
        unopened=_unopened(tally.net, material.pack_volume) if material.pack_volume else 0.0,
        rule=rule,
    )


def _ordered(
    tally: Tally,
    *,
    unit: Unit,
    packs: int,
    pack_holds: float,
    rule: str,
    waste: float = 0.0,
    offcuts: float = 0.0,
    unopened: float = 0.0,
    pack_area: float = 0.0,
    pack_length: float = 0.0,
    cutting: Cutting | None = None,
) -> Item:
    material = tally.material
    default = "roll" if material.form is MaterialForm.SHEET else "piece"
    return Item(
        material=material.id,
        name=material.name,
        form=material.form,
        used=tuple(tally.uses),
        unit=unit,
        net=tally.net,
        waste=max(0.0, waste),
        left=offcuts + unopened,
        covered=math.fsum(tally.covered),
        ordered=packs * pack_holds if pack_holds else tally.net,
        packs=packs,
        pack=(material.pack or default) if pack_holds else "",
        pack_holds=pack_holds,
        pack_area=pack_area,
        pack_length=pack_length,
        weight=packs * material.pack_weight,
        cutting=cutting,
        rule=rule,
        source=_source(material),
    )


def _packs(amount: float, holds: float) -> int:
    return math.ceil(round(amount / holds, _PLACES))


def _unopened(amount: float, holds: float) -> float:
    """Return what stays in the last pack."""
    return max(0.0, _packs(amount, holds) * holds - amount)


def _cut_off(cutting: Cutting) -> float:
    """Return the length of all that is cut from whole ones, metres."""
    return math.fsum(math.fsum(pattern) for pattern in cutting.patterns)


def _number(count: int, noun: str) -> str:
    return f"{count:,} {noun}{'' if count == 1 else 's'}"


def _how_good(cutting: Cutting) -> str:
    if cutting.proven:
        return "no cutting takes fewer"
    return f"no cutting takes fewer than {cutting.bound:,}"


def _source(material: Material) -> str:
    """Return where the sizes that decide come from, each source once with what it gives."""
    given: dict[str, list[str]] = {}
    known = dict(material.sources)
    for name in _DECIDING.get(material.form, ()):
        if name in known and getattr(material, name):
            given.setdefault(known[name], []).append(name.replace("_", " "))
    if not given:
        return material.source
    return "; ".join(f"{', '.join(names)}: {source}" for source, names in given.items())


def _tell(item: Item, tally: Tally) -> Iterator[Finding]:
    material = tally.material
    where = f"materials[{item.material}]"
    if item.form is MaterialForm.LIQUID and not item.net:
        yield Finding(
            code="R3D-TAKEOFF-RATE",
            severity=Severity.CAUTION,
            where=where,
            message=f"{item.name} is used, but the catalog gives neither a rate nor a thickness:"
            " none is counted",
            source=material.source,
        )
    elif not item.pack_holds:
        yield Finding(
            code="R3D-TAKEOFF-PACK",
            severity=Severity.NOTE,
            where=where,
            message=f"the catalog does not say what a pack of {item.name} holds: the amount in"
            " place is listed, not rounded up to packs",
            source=material.source,
        )
    cutting = item.cutting
    if cutting is not None and _could_save(item, cutting, tally):
        yield Finding(
            code="R3D-TAKEOFF-CUTTING",
            severity=Severity.NOTE,
            where=where,
            message=f"{item.name}: cut from {len(cutting.patterns):,} whole ones; whether"
            f" {cutting.bound:,} would do is not proven",
        )


def _could_save(item: Item, cutting: Cutting, tally: Tally) -> bool:
    """Return whether a cutting as good as the bound would need fewer packs."""
    uncut = 0
    if item.form is MaterialForm.SHINGLE:
        uncut = tally.pieces - sum(len(pattern) for pattern in cutting.patterns)
    return _packs(uncut + cutting.bound, max(1.0, tally.material.pack_count)) < item.packs
