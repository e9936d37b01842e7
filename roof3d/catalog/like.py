"""Read what says only what differs: each entry from its own table and its model."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import replace
from typing import TypeVar

from roof3d.catalog.laying import Layer, StripRule
from roof3d.catalog.material import Material
from roof3d.catalog.model import Assembly
from roof3d.catalog.read_assembly import read_assembly
from roof3d.catalog.read_material import read_material
from roof3d.catalog.table import TableReader, shown

_Part = TypeVar("_Part", Layer, StripRule)
_Entry = TypeVar("_Entry", Material, Assembly)


def read_materials(
    tables: Sequence[TableReader], base: Mapping[str, Material]
) -> dict[str, Material]:
    """Read ``[[material]]`` tables, whole ones and those that are like another.

    Parameters
    ----------
    tables : sequence of TableReader
        As of ``read_assemblies``.
    base : mapping of str to Material

    Returns
    -------
    dict[str, Material]
        By id in the order of the tables.
    """
    named = _named(tables)
    read: dict[str, Material | None] = {}
    for table in tables:
        for each in _models_first(table, named, base, read):
            if "like" not in each.values:
                read[each.where] = read_material(each)
            else:
                model = _model(each, named, base, read, "material")
                read[each.where] = read_material(each, model) if model else None
    found = [read[table.where] for table in named.values()]
    return {material.id: material for material in found if material is not None and material.id}


def read_assemblies(
    tables: Sequence[TableReader], base: Mapping[str, Assembly], materials: frozenset[str]
) -> dict[str, tuple[Assembly, str]]:
    """Read ``[[assembly]]`` tables, whole ones and those that are like another.

    Parameters
    ----------
    tables : sequence of TableReader
        Of one or more files; a model may stand before or after what is like it.
    base : mapping of str to Assembly
        Models that the files do not give themselves; a file's assembly may be like the one
        whose place it takes.
    materials : frozenset of str
        Ids.

    Returns
    -------
    dict[str, tuple[Assembly, str]]
        By id in the order of the tables, each with its path. Of what is like an assembly that
        does not exist only that is told.
    """
    named = _named(tables)
    read: dict[str, Assembly | None] = {}
    for table in tables:
        for each in _models_first(table, named, base, read):
            read[each.where] = _read(each, named, base, read, materials)
    found = {}
    for name, table in named.items():
        assembly = read[table.where]
        if assembly is not None:
            where = table.where
            if "like" in table.values:  # its layers are counted with those of its model
                where = f"{where} (like {_text(table, 'like')!r})"
            found[name] = (assembly, where)
    return found


def _named(tables: Sequence[TableReader]) -> dict[str, TableReader]:
    """Return the tables by id; an id given twice is a fault of the second."""
    named: dict[str, TableReader] = {}
    for table in tables:
        name = _text(table, "id")
        if name in named:
            table.fault("id", f"{shown(name)} is given twice, first at {named[name].where}")
        elif name:
            named[name] = table
    return named


def _models_first(
    table: TableReader,
    named: Mapping[str, TableReader],
    base: Collection[str],
    read: dict[str, _Entry | None],
) -> list[TableReader]:
    """Return what must be read for a table, the model of all first, itself last.

    A table in a circle has no model; it counts as read, as nothing.
    """
    chain: dict[str, TableReader] = {}
    next_up: TableReader | None = table
    while next_up is not None and next_up.where not in read:
        if next_up.where in chain:
            links = [*chain.values(), next_up]
            names = [_text(one, "id") for one in links[list(chain).index(next_up.where) :]]
            hint = "one of them must be given whole"
            links[-2].fault("like", f"goes in a circle: {' -> '.join(names)}", hint)
            read |= dict.fromkeys(chain, None)
            return []
        chain[next_up.where] = next_up
        next_up = _own_model(next_up, named, base)
    return [*chain.values()][::-1]


def _own_model(
    table: TableReader, named: Mapping[str, TableReader], base: Collection[str]
) -> TableReader | None:
    """Return the table that gives the model of another; None where no table does."""
    model = named.get(_text(table, "like"))
    return None if model is table and _text(table, "id") in base else model


def _read(
    table: TableReader,
    named: Mapping[str, TableReader],
    base: Mapping[str, Assembly],
    read: Mapping[str, Assembly | None],
    materials: frozenset[str],
) -> Assembly | None:
    if "like" not in table.values:
        return read_assembly(table)
    model = _model(table, named, base, read, "assembly")
    if model is None:
        return None
    return read_assembly(table, _swapped(table, _without(table, model), materials))


def _model(
    table: TableReader,
    named: Mapping[str, TableReader],
    base: Mapping[str, _Entry],
    read: Mapping[str, _Entry | None],
    what: str,
) -> _Entry | None:
    """Return what a table is like; None, with a fault unless one is noted, where nothing is."""
    name = table.name("like")
    own = _own_model(table, named, base)
    model = base.get(name) if own is None else read[own.where]
    if name and own is None and model is None:
        known = sorted({*named, *base} - {_text(table, "id")})
        table.fault("like", f"no {what} {shown(name)}", f"known: {', '.join(known)}")
    return model


def _text(table: TableReader, key: str) -> str:
    value = table.values.get(key)
    return value.strip() if isinstance(value, str) else ""


def _without(table: TableReader, model: Assembly) -> Assembly:
    """Return a model less the layers of some roles and the strips of some ids."""
    left_out = table.names("without")
    known = dict.fromkeys([one.role for one in model.layers] + [one.id for one in model.strips])
    for index, name in enumerate(left_out):
        if name not in known:
            message = f"{model.id!r} has no layer and no strip {shown(name)}"
            table.fault(f"without[{index}]", message, f"it has: {', '.join(known)}")
    roles = [layer.role for layer in model.layers]

    def before(role: str) -> str:
        above = roles[roles.index(role) :] if role in roles else []
        return next((one for one in above if one not in left_out), "")

    return replace(
        model,
        layers=tuple(layer for layer in model.layers if layer.role not in left_out),
        strips=tuple(
            replace(strip, before=before(strip.before))
            for strip in model.strips
            if strip.id not in left_out
        ),
    )


def _swapped(table: TableReader, model: Assembly, materials: frozenset[str]) -> Assembly:
    """Return a model with other materials, wherever it names them."""
    swap = table.table("swap")
    if swap is None:
        return model
    used = dict.fromkeys(_used(model))
    new = {old: swap.name(old) for old in swap.values}
    for old, material in new.items():
        if old not in used:
            swap.fault(old, "is no material of the model", f"it has: {', '.join(used)}")
        if material and material not in materials:
            hint = "give it in a [[material]] table"
            swap.fault(old, f"no material {shown(material)}", hint)
    fit = {old: material for old, material in new.items() if material in materials}
    return replace(
        model,
        layers=tuple(_swap_in(layer, fit) for layer in model.layers),
        strips=tuple(_swap_in(strip, fit) for strip in model.strips),
        double_underlayment=fit.get(model.double_underlayment, model.double_underlayment),
    )


def _used(model: Assembly) -> Iterator[str]:
    parts: list[Layer | StripRule] = [*model.layers, *model.strips]
    for part in parts:
        fastener = part.nailing.fastener if part.nailing else ""
        yield from filter(None, (part.material, part.bed, part.primer, fastener))
    if model.double_underlayment:
        yield model.double_underlayment


def _swap_in(part: _Part, swap: Mapping[str, str]) -> _Part:
    nailing = part.nailing
    if nailing is not None:
        nailing = replace(nailing, fastener=swap.get(nailing.fastener, nailing.fastener))
    return replace(
        part,
        material=swap.get(part.material, part.material),
        bed=swap.get(part.bed, part.bed),
        primer=swap.get(part.primer, part.primer),
        nailing=nailing,
    )
