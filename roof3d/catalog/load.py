"""Read catalog files into frozen values, telling every fault at once."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Final

from roof3d.catalog.like import read_assemblies, read_materials
from roof3d.catalog.links import check_links
from roof3d.catalog.model import Catalog
from roof3d.catalog.table import TableReader
from roof3d.errors import CatalogError, Fault

SHIPPED: Final = (
    "sheets.toml",
    "shingles.toml",
    "metals.toml",
    "parapets.toml",
    "liquids.toml",
    "fasteners.toml",
    "membrane_assemblies.toml",
    "shingle_assemblies.toml",
)
"""The data files that come with the program, in the order in which they are read."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Entries:
    """The tables of one or more files, yet to be read."""

    materials: list[TableReader]
    assemblies: list[TableReader]


@cache
def load_catalog() -> Catalog:
    """Load the catalog that comes with the program.

    Returns
    -------
    Catalog
        Read once a process; the same object on every call.

    Raises
    ------
    CatalogError
        Where a data file is missing or wrong; the message lists every fault.
    """
    data = Path(__file__).parent / "data"
    texts = {}
    for name in SHIPPED:
        try:
            texts[name] = (data / name).read_text(encoding="utf-8")
        except (OSError, UnicodeDecodeError) as error:
            raise CatalogError(
                f"cannot be read: {error}", where=name, hint="install the program again"
            ) from error
    return parse_catalog(texts)


def parse_catalog(texts: Mapping[str, str]) -> Catalog:
    """Parse the files of a whole catalog.

    Parameters
    ----------
    texts : mapping of str to str
        By the name of the file, TOML with ``[[material]]`` and ``[[assembly]]`` tables.

    Returns
    -------
    Catalog
        In the order of the data; every assembly names materials that exist.

    Raises
    ------
    CatalogError
        Where a text is no TOML or any value is wrong; the message lists every fault with
        its path.
    """
    faults: list[Fault] = []
    entries = _Entries(materials=[], assemblies=[])
    for name, text in texts.items():
        _read_file(text, name, entries, faults)
    return _built(Catalog(materials=(), assemblies=()), "", entries, faults)


def add_catalog(base: Catalog, text: str, *, name: str) -> Catalog:
    """Add a file's materials and assemblies to a catalog.

    Parameters
    ----------
    base : Catalog
        Stays as it is.
    text : str
        TOML with ``[[material]]`` and ``[[assembly]]`` tables, at least one.
    name : str
        Of the file; every path in a message starts with it.

    Returns
    -------
    Catalog
        Entries with an id that ``base`` has take its place there, others follow after.

    Raises
    ------
    CatalogError
        Where the text is no TOML or any value is wrong; the message lists every fault with
        its path.
    """
    faults: list[Fault] = []
    new = _Entries(materials=[], assemblies=[])
    _read_file(text, name, new, faults)
    return _built(base, f"{name}: catalog", new, faults)


def _read_file(text: str, name: str, entries: _Entries, faults: list[Fault]) -> None:
    """Read one file's tables into the entries; an id that another table has is a fault."""
    try:
        values = tomllib.loads(text)
    except RecursionError as error:
        raise CatalogError("is nested too deep", where=name) from error
    except ValueError as error:  # also a number too long to be read
        raise CatalogError(f"is not TOML: {error}", where=name) from error
    file = TableReader(values, name, faults)
    file.only(("assembly", "material"))
    if not {"assembly", "material"} & set(values):
        hint = "write [[material]] or [[assembly]] tables"
        faults.append(Fault(where=name, message="holds no material and no assembly", hint=hint))
    entries.materials.extend(file.tables("material", needed=False))
    entries.assemblies.extend(file.tables("assembly", needed=False))


def _built(base: Catalog, base_name: str, new: _Entries, faults: list[Fault]) -> Catalog:
    """Put new entries into a catalog, check that everything fits together and build it."""
    materials = {one.id: one for one in base.materials}
    materials |= read_materials(new.materials, materials)
    old = {one.id: one for one in base.assemblies}
    assemblies = {name: (one, f'{base_name}.assembly "{name}"') for name, one in old.items()}
    assemblies |= read_assemblies(new.assemblies, old, frozenset(materials))
    for assembly, where in assemblies.values():
        faults.extend(check_links(assembly, where, materials))
    if faults:
        raise CatalogError("; ".join(str(fault) for fault in faults))
    return Catalog(
        materials=tuple(materials.values()),
        assemblies=tuple(assembly for assembly, _ in assemblies.values()),
    )
