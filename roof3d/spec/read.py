"""Read a model file: TOML by the standard library, checked, resolved, or every fault told."""

from __future__ import annotations

import os
import re
import tomllib
from collections import Counter
from collections.abc import Mapping
from pathlib import Path
from typing import Any, Final, NoReturn, TypeVar

from pydantic import ValidationError

from roof3d.errors import Fault, SpecError
from roof3d.spec.faults import faults_of, place_of, show
from roof3d.spec.files import FileFaultError, check_size, read_text
from roof3d.spec.model import CatalogText, PlaneSpec, RoofSpec
from roof3d.spec.parapets.resolve import check_parapets
from roof3d.spec.resolve import (
    resolve_layout,
    resolve_opening,
    resolve_rules,
    resolve_section,
    resolve_site,
)
from roof3d.spec.tables.model import MAX_SECTIONS, ModelTable, OpeningTable
from roof3d.spec.tables.section import SectionTable
from roof3d.spec.tables.table import Table
from roof3d.spec.values import read_file_name
from roof3d.units import Units

_T = TypeVar("_T", bound=Table)

_MOST_FAULTS: Final = 100
_TOML_PLACE: Final = re.compile(r"(.*?) ?\(at (line \d+, column \d+|end of document)\)", re.DOTALL)
_TWICE: Final = re.compile(r"Cannot declare \('(\w+)',\) twice")


def load_spec(path: str | os.PathLike[str]) -> RoofSpec:
    """Read a model file.

    Parameters
    ----------
    path : str or path-like

    Returns
    -------
    RoofSpec
        SI numbers, every default filled in; the same file gives an equal spec.

    Raises
    ------
    SpecError
        If the file cannot be read or holds a fault; every fault found is listed.
    """
    source = os.fspath(path) or "."
    try:
        text = read_text(source, "model")
    except FileFaultError as error:
        raise SpecError((error.fault,), source=source) from None
    return parse_spec(text, source, folder=Path(source).parent)


def parse_spec(
    text: str, source: str = "model", *, folder: str | os.PathLike[str] | None = None
) -> RoofSpec:
    """Read the text of a model file.

    Parameters
    ----------
    text : str
        TOML.
    source : str
        What errors call it.
    folder : str or path-like, optional
        Where the path of its catalog begins; without one a model that names a catalog is
        refused.

    Returns
    -------
    RoofSpec

    Raises
    ------
    SpecError
        If it holds a fault; every fault found is listed.
    """
    data = _parse_toml(text, source)
    _require_version(data, source)
    faults: list[Fault] = []
    table: ModelTable | None = None
    try:
        table = ModelTable.model_validate(data)
    except ValidationError as error:
        faults += faults_of(error, data, most=_MOST_FAULTS + 1)
    if table is None:
        sections = _sound_tables(data.get("section"), SectionTable)
        openings = _sound_tables(data.get("opening"), OpeningTable)
    else:
        sections, openings = list(enumerate(table.section)), list(enumerate(table.opening))
    units = Units.METRIC if data.get("units") == Units.METRIC else Units.IMPERIAL
    section_specs = [
        resolve_section(entry, place_of(("section", index), data), units=units, faults=faults)
        for index, entry in sections
    ]
    if table is not None:
        check_parapets(section_specs, float(table.rules.low_slope_cutoff), data, faults)
    opening_specs = [
        resolve_opening(entry, place_of(("opening", index), data), faults=faults)
        for index, entry in openings
    ]
    _check_ids(data, faults)
    catalog = _catalog(data.get("catalog"), folder, faults)
    if faults or table is None:
        if len(faults) > _MOST_FAULTS:
            faults[_MOST_FAULTS:] = [Fault(where="file", message="and more beyond these")]
        raise SpecError(tuple(faults), source=source)
    return RoofSpec(
        version=table.version,
        name=table.name,
        units=table.units,
        rules=resolve_rules(table.rules),
        sections=tuple(section for section in section_specs if section is not None),
        openings=tuple(opening for opening in opening_specs if opening is not None),
        planes=tuple(PlaneSpec(id=plane.id, assembly=plane.assembly) for plane in table.plane),
        site=resolve_site(table.site),
        layout=resolve_layout(table.layout),
        catalog=catalog,
    )


def _parse_toml(text: str, source: str) -> dict[str, Any]:
    try:
        check_size(text, "model")
        return tomllib.loads(text)
    except FileFaultError as error:
        raise SpecError((error.fault,), source=source) from None
    except RecursionError:
        _refuse("file", "is not a model: its values are nested too deep", source=source)
    except ValueError as error:  # TOMLDecodeError, and numbers with thousands of digits
        found = _TOML_PLACE.fullmatch(str(error))
        message, place = (found[1], found[2]) if found else (str(error), "file")
        said = f"is not TOML: {message[:1].lower()}{message[1:]}"
        _refuse(place, f"{said}{_way_out(message)}", source=source)


def _way_out(message: str) -> str:
    """Say what is commonly behind a fault of the text; empty where nothing is."""
    if message.startswith("Illegal character '\\n'"):
        return ": close the text with its quote on the same line"
    twice = _TWICE.fullmatch(message)
    return f": write [[{twice[1]}]], in double brackets, for each one" if twice else ""


def _catalog(
    named: object, folder: str | os.PathLike[str] | None, faults: list[Fault]
) -> CatalogText | None:
    """Read the catalog that the model names, which lies where its path leads from the folder."""
    try:
        name = read_file_name(named)
    except ValueError:
        return None  # there is none, or the whole model's check has told it
    if folder is None:
        message = f"{show(name)} lies beside a model file, and this model is in none"
        hint = "save the model as a file, or say in which folder to look"
        faults.append(Fault(where="catalog", message=message, hint=hint))
        return None
    try:
        text = read_text(Path(folder) / name, "catalog", regular=True)
        check_size(text, "catalog")
    except FileFaultError as error:
        line = "" if error.fault.where == "file" else f"{error.fault.where} "
        message = f"{show(name)}: {line}{error.fault.message}"
        faults.append(Fault(where="catalog", message=message, hint=error.fault.hint))
        return None
    return CatalogText(name=name, text=text)


def _require_version(data: Mapping[str, Any], source: str) -> None:
    """Refuse other versions before anything else: their keys may mean other things."""
    if "schema" not in data:
        _refuse("schema", "is missing", "write schema = 1 at the top", source=source)
    version = data["schema"]
    if isinstance(version, bool) or version != 1 or not isinstance(version, int):
        _refuse("schema", f"{show(version)} is not known", "this program reads 1", source=source)


def _sound_tables(raw: object, kind: type[_T]) -> list[tuple[int, _T]]:
    """Return the tables of a list that are sound one by one, each with its index."""
    sound: list[tuple[int, _T]] = []
    for index, entry in enumerate(raw if isinstance(raw, list) else ()):
        if index >= MAX_SECTIONS:
            break
        try:
            sound.append((index, kind.model_validate(entry)))
        except ValidationError:
            continue  # already told by the whole model's check
    return sound


def _check_ids(data: Mapping[str, Any], faults: list[Fault]) -> None:
    """Find ids used twice, and planes of sections that do not exist."""
    seen: dict[str, str] = {}
    for key in ("section", "opening"):
        for index, name in _ids(data, key):
            place = place_of((key, index), data)
            if name in seen:
                message = f'"{name}" is used twice, first by {seen[name]}'
                faults.append(Fault(where=f"{place}.id", message=message, hint="rename one"))
            seen.setdefault(name, place)
    sections = [name for _, name in _ids(data, "section")]
    counts = Counter(name for _, name in _ids(data, "plane"))
    for index, name in _ids(data, "plane"):
        where = place_of(("plane", index, "id"), data)
        section = name.partition(".")[0]
        if counts[name] > 1:
            faults.append(Fault(where=where, message=f'"{name}" is given more than once'))
        if section not in sections:
            known = f"sections: {', '.join(sections[:10])}"
            faults.append(
                Fault(where=where, message=f'there is no section "{section[:40]}"', hint=known)
            )


def _ids(data: Mapping[str, Any], key: str) -> list[tuple[int, str]]:
    tables = data.get(key)
    return [
        (index, table["id"])
        for index, table in enumerate(tables if isinstance(tables, list) else ())
        if isinstance(table, dict) and isinstance(table.get("id"), str)
    ]


def _refuse(where: str, message: str, hint: str = "", *, source: str) -> NoReturn:
    fault = Fault(where=where, message=message, hint=hint)
    raise SpecError((fault,), source=source) from None
