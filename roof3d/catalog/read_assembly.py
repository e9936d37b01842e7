"""Read one assembly from its table."""

from __future__ import annotations

import math
from typing import Final

from roof3d.catalog.laying import Layer, StripRule
from roof3d.catalog.model import UNDERLAYMENT, Assembly
from roof3d.catalog.read_laying import read_layer, read_strip
from roof3d.catalog.table import TableReader, shown
from roof3d.units import parse_pitch

_KINDS: Final = ("membrane", "shingle")
_KEYS: Final = {
    "id", "name", "kind", "least_slope", "most_slope", "slope_source", "layer", "strip",
    "double_underlayment_below", "double_underlayment",
    "double_underlayment_source", "special_attachment_above", "special_attachment_source",
    "uses_heat", "not_counted",
}  # fmt: skip
_NOTHING: Final = Assembly(
    id="",
    name="",
    kind="",
    least_slope=math.inf,
    most_slope=math.inf,
    slope_source="",
    layers=(),
)


def read_assembly(reader: TableReader, model: Assembly | None = None) -> Assembly:
    """Read one ``[[assembly]]`` table; faults are noted in the reader.

    Parameters
    ----------
    reader : TableReader
    model : Assembly or None
        What holds where the table says nothing.

    Returns
    -------
    Assembly
        To be used only where no fault was noted; whether its materials exist is not asked
        here.
    """
    reader.only(_KEYS if model is None else {*_KEYS, "like", "swap", "without"})
    like = model or _NOTHING
    least = reader.measure("least_slope", parse_pitch, like.least_slope)
    if model is None and "least_slope" not in reader.values:
        reader.fault("least_slope", "missing")
    most = reader.measure("most_slope", parse_pitch, like.most_slope)
    if (model or "least_slope" in reader.values) and not least <= most:
        reader.fault("most_slope", "is below least_slope")
    layers = _layers(reader, model)
    below = reader.measure("double_underlayment_below", parse_pitch, like.double_underlayment_below)
    if below and UNDERLAYMENT not in {layer.role for layer in layers}:
        reader.fault("layer", f"none has the role {UNDERLAYMENT!r}, so none can be doubled")
    return Assembly(
        id=reader.name("id"),
        name=reader.text("name", like.name),
        kind=reader.choice("kind", _KINDS) if not model or "kind" in reader.values else like.kind,
        least_slope=least,
        most_slope=most,
        slope_source=_limit_source(reader, like, "least_slope", "slope_source"),
        layers=layers,
        strips=_strips(reader, model),
        double_underlayment_below=below,
        double_underlayment=reader.text(
            "double_underlayment", like.double_underlayment, needed=below > 0.0
        ),
        double_underlayment_source=_limit_source(
            reader, like, "double_underlayment_below", "double_underlayment_source"
        ),
        special_attachment_above=reader.measure(
            "special_attachment_above", parse_pitch, like.special_attachment_above
        ),
        special_attachment_source=_limit_source(
            reader, like, "special_attachment_above", "special_attachment_source"
        ),
        uses_heat=reader.flag("uses_heat", default=like.uses_heat),
        not_counted=reader.text("not_counted", like.not_counted, needed=False),
    )


def _layers(reader: TableReader, model: Assembly | None) -> tuple[Layer, ...]:
    """Return the layers; one that the model has changes it, and no other has a place there."""
    tables = reader.tables("layer", needed=model is None)
    known = {} if model is None else {layer.role: layer for layer in model.layers}
    own = [read_layer(table, known.get(_id(table, "role"))) for table in tables]
    _no_twins([layer.role for layer in own], tables, "role")
    if model is None:
        return tuple(own)
    for layer, table in zip(own, tables, strict=True):
        if layer.role and layer.role not in known:
            message = f"the model has no layer {shown(layer.role)} whose place it could take"
            table.fault("role", message, f"it has: {', '.join(known)}")
    return tuple((known | {layer.role: layer for layer in own}).values())


def _strips(reader: TableReader, model: Assembly | None) -> tuple[StripRule, ...]:
    """Return the strips; one that the model has changes it, others are laid last."""
    tables = reader.tables("strip", needed=False)
    known = {} if model is None else {strip.id: strip for strip in model.strips}
    own = [read_strip(table, known.get(_id(table, "id"))) for table in tables]
    _no_twins([strip.id for strip in own], tables, "id")
    if model is None:
        return tuple(own)
    return tuple((known | {strip.id: strip for strip in own}).values())


def _id(table: TableReader, key: str) -> str:
    return str(table.values.get(key, "")).strip()


def _limit_source(reader: TableReader, like: Assembly, limit: str, source: str) -> str:
    """Return the source of a limit; one of its own needs its own, and a source its limit."""
    if limit in reader.values:
        return reader.text(source)
    if source in reader.values and not getattr(like, source):
        reader.fault(source, f"is the source of {limit}, which is not given")
    return reader.text(source, getattr(like, source), needed=False)


def _no_twins(names: list[str], tables: list[TableReader], key: str) -> None:
    for index, (name, table) in enumerate(zip(names, tables, strict=True)):
        if name and name in names[:index]:
            table.fault(key, f"{shown(name)} is given twice")
