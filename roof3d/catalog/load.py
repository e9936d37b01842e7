"""Read the catalog's data files into frozen values, telling every fault at once.

Checked by hand, not by a schema library: the files are short, and a first ``measure``
must not wait for an import it can do without.
"""

from __future__ import annotations

import math
import tomllib
from collections.abc import Callable
from functools import cache
from pathlib import Path

from roof3d.catalog.laying import Layer
from roof3d.catalog.material import Material, MaterialForm
from roof3d.catalog.model import UNDERLAYMENT, Assembly, Catalog
from roof3d.errors import CatalogError, Fault, RoofError
from roof3d.units import parse_length, parse_pitch

Table = dict[str, object]

_SIZES = ("thickness", "width", "length", "exposure", "side_lap", "end_lap")
_MATERIAL_KEYS = {"id", "name", "form", "purpose", "standard", "note", "sources", *_SIZES}
_LAYER_KEYS = {"material", "role", "fastening", "source"}
_ASSEMBLY_KINDS = ("membrane", "shingle")
_ASSEMBLY_KEYS = {
    "id",
    "name",
    "kind",
    "least_slope",
    "most_slope",
    "slope_source",
    "layer",
    "double_underlayment_below",
    "double_underlayment",
    "double_underlayment_source",
    "special_attachment_above",
    "special_attachment_source",
    "uses_heat",
}


class _Reader:
    """One table of a data file; gathers faults with their path instead of raising."""

    def __init__(self, table: object, where: str, faults: list[Fault]) -> None:
        self.where = where
        self.faults = faults
        self.table: Table = table if isinstance(table, dict) else {}
        if not isinstance(table, dict):
            self.fault("", f"must be a table, is {table!r}")

    def fault(self, key: str, message: str, hint: str = "") -> None:
        """Note one fault at a key of this table."""
        path = f"{self.where}.{key}" if key else self.where
        self.faults.append(Fault(where=path, message=message, hint=hint))

    def only(self, allowed: set[str]) -> None:
        """Note every key that has no meaning here."""
        for key in self.table:
            if key not in allowed:
                self.fault(key, "unknown key", f"allowed: {', '.join(sorted(allowed))}")

    def text(self, key: str, *, needed: bool = True) -> str:
        """Return a text; empty, with a fault if it was needed, where there is none."""
        value = self.table.get(key, "")
        if not isinstance(value, str):
            self.fault(key, f"must be text, is {value!r}")
            return ""
        if needed and not value.strip():
            self.fault(key, "missing or empty")
        return value

    def measure(self, key: str, parse: Callable[[str], float], default: float) -> float:
        """Return a parsed positive quantity, or the default where the key is not given."""
        if key not in self.table:
            return default
        value = self.table[key]
        if not isinstance(value, str):
            self.fault(key, f"must be text with its unit, is {value!r}")
            return default
        try:
            number = parse(value)
        except (RoofError, ValueError) as error:
            self.fault(key, f"{value!r} cannot be read: {error}")
            return default
        if not (math.isfinite(number) and number > 0.0):
            self.fault(key, f"must be above zero, is {value!r}")
            return default
        return number

    def flag(self, key: str) -> bool:
        """Return a truth value, false where not given."""
        value = self.table.get(key, False)
        if not isinstance(value, bool):
            self.fault(key, f"must be true or false, is {value!r}")
            return False
        return value

    def tables(self, key: str) -> list[_Reader]:
        """Return the tables of an array; none, with a fault, where there is none."""
        value = self.table.get(key)
        if not isinstance(value, list) or not value:
            self.fault(key, "must be one or more tables")
            return []
        return [
            _Reader(item, f"{self.where}.{key}[{index}]", self.faults)
            for index, item in enumerate(value)
        ]


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
    texts = []
    for name in ("materials.toml", "assemblies.toml"):
        try:
            texts.append((data / name).read_text(encoding="utf-8"))
        except (OSError, UnicodeDecodeError) as error:
            raise CatalogError(
                f"cannot be read: {error}", where=name, hint="install the program again"
            ) from error
    return parse_catalog(materials=texts[0], assemblies=texts[1])


def parse_catalog(*, materials: str, assemblies: str) -> Catalog:
    """Parse the two data files of a catalog.

    Parameters
    ----------
    materials, assemblies : str
        TOML with ``[[material]]`` and ``[[assembly]]`` tables.

    Returns
    -------
    Catalog
        In the order of the data; every layer names a material that exists.

    Raises
    ------
    CatalogError
        Where the text is no TOML or any value is wrong; the message lists every fault
        with its path.
    """
    faults: list[Fault] = []
    material_file = _Reader(_toml(materials, "materials"), "materials", faults)
    material_file.only({"material"})
    found = tuple(_material(table) for table in material_file.tables("material"))
    _no_twins([material.id for material in found], "materials.material", faults)
    assembly_file = _Reader(_toml(assemblies, "assemblies"), "assemblies", faults)
    assembly_file.only({"assembly"})
    known = {material.id for material in found}
    built = tuple(_assembly(table, known) for table in assembly_file.tables("assembly"))
    _no_twins([assembly.id for assembly in built], "assemblies.assembly", faults)
    if faults:
        raise CatalogError("; ".join(str(fault) for fault in faults), where="catalog")
    return Catalog(materials=found, assemblies=built)


def _toml(text: str, where: str) -> Table:
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise CatalogError(f"is not TOML: {error}", where=where) from error


def _no_twins(ids: list[str], where: str, faults: list[Fault]) -> None:
    for index, name in enumerate(ids):
        if name in ids[:index]:
            faults.append(Fault(where=f"{where}[{index}].id", message=f"{name!r} is given twice"))


def _choice(reader: _Reader, key: str, allowed: tuple[str, ...]) -> str:
    value = reader.text(key)
    if value not in allowed:
        reader.fault(key, f"{value!r} is none of the allowed", f"allowed: {', '.join(allowed)}")
        return allowed[0]
    return value


def _material(reader: _Reader) -> Material:
    reader.only(_MATERIAL_KEYS)
    sizes = {key: reader.measure(key, parse_length, 0.0) for key in _SIZES}
    standard = reader.text("standard", needed=False)
    sources = _sources(reader, standard=standard)
    return Material(
        id=reader.text("id"),
        name=reader.text("name"),
        form=MaterialForm(_choice(reader, "form", tuple(MaterialForm))),
        purpose=reader.text("purpose"),
        source="; ".join(f"{value}: {source}" for value, source in sources),
        standard=standard,
        note=reader.text("note", needed=False),
        sources=sources,
        **sizes,
    )


def _sources(reader: _Reader, *, standard: str) -> tuple[tuple[str, str], ...]:
    """Return the source of each value; a value without one is a fault, and so is the reverse."""
    table = _Reader(reader.table.get("sources", {}), f"{reader.where}.sources", reader.faults)
    given = [key for key in _SIZES if key in reader.table] + (["standard"] if standard else [])
    for key in table.table:
        if key not in given:
            table.fault(key, "is the source of a value that is not given")
    return tuple((key, table.text(key)) for key in given)


def _assembly(reader: _Reader, materials: set[str]) -> Assembly:
    reader.only(_ASSEMBLY_KEYS)
    least = reader.measure("least_slope", parse_pitch, math.inf)
    if math.isinf(least) and "least_slope" not in reader.table:
        reader.fault("least_slope", "missing")
    most = reader.measure("most_slope", parse_pitch, math.inf)
    if "least_slope" in reader.table and not least <= most:
        reader.fault("most_slope", "is below least_slope")
    layers = tuple(_layer(table, materials) for table in reader.tables("layer"))
    double = _pair(reader, "double_underlayment_below", "double_underlayment_source")
    special = _pair(reader, "special_attachment_above", "special_attachment_source")
    underlayment = reader.text("double_underlayment", needed=double)
    if underlayment and underlayment not in materials:
        reader.fault("double_underlayment", f"no material {underlayment!r}")
    if double and UNDERLAYMENT not in {layer.role for layer in layers}:
        reader.fault("layer", f"none has the role {UNDERLAYMENT!r}, so none can be doubled")
    return Assembly(
        id=reader.text("id"),
        name=reader.text("name"),
        kind=_choice(reader, "kind", _ASSEMBLY_KINDS),
        least_slope=least,
        most_slope=most,
        slope_source=reader.text("slope_source"),
        layers=layers,
        double_underlayment_below=reader.measure("double_underlayment_below", parse_pitch, 0.0),
        double_underlayment=underlayment,
        double_underlayment_source=reader.text("double_underlayment_source", needed=double),
        special_attachment_above=reader.measure("special_attachment_above", parse_pitch, math.inf),
        special_attachment_source=reader.text("special_attachment_source", needed=special),
        uses_heat=reader.flag("uses_heat"),
    )


def _pair(reader: _Reader, limit: str, source: str) -> bool:
    """Return whether a limit is given; a source without its limit is a fault."""
    if source in reader.table and limit not in reader.table:
        reader.fault(source, f"is the source of {limit}, which is not given")
    return limit in reader.table


def _layer(reader: _Reader, materials: set[str]) -> Layer:
    reader.only(_LAYER_KEYS)
    material = reader.text("material")
    if material and material not in materials:
        known = f"known: {', '.join(sorted(materials))}"
        reader.fault("material", f"no material {material!r}", known)
    return Layer(
        material=material,
        role=reader.text("role"),
        fastening=reader.text("fastening"),
        source=reader.text("source"),
    )
