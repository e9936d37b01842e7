"""From Pydantic's errors to our faults: the path a person can find, and a way out."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final, TypeAlias

from roof3d.errors import Fault
from roof3d.spec.tables.model import (
    LayoutTable,
    ModelTable,
    OpeningTable,
    PlaneTable,
    RulesTable,
    SiteTable,
)
from roof3d.spec.tables.section import EdgeTable, OverhangTable, ParapetTable, SectionTable
from roof3d.spec.tables.table import MissingKeyError, Table

if TYPE_CHECKING:
    from pydantic import ValidationError

_TABLES: Final[Mapping[str, type[Table]]] = {
    "section": SectionTable,
    "opening": OpeningTable,
    "plane": PlaneTable,
    "rules": RulesTable,
    "site": SiteTable,
    "layout": LayoutTable,
    "overhang": OverhangTable,
    "edge": EdgeTable,
    "parapet": ParapetTable,
}
Path: TypeAlias = Sequence[int | str]
Words: TypeAlias = tuple[str, str]

_LISTS: Final = ("section", "opening", "plane")
_LONGEST: Final = 60


@dataclass(frozen=True, slots=True)
class TableFaults:
    """Faults of one table, gathered with their place."""

    where: str
    found: list[Fault]

    def add(self, key: str, message: str, hint: str = "") -> None:
        """Note a fault of one key; of the table itself where the key is empty."""
        place = f"{self.where}.{key}" if key else self.where
        self.found.append(Fault(where=place, message=message, hint=hint))


def place_of(path: Path, data: Mapping[str, Any]) -> str:
    """Return a path in words, ``section[1] "porch".pitch``; numbers count from 0.

    Parameters
    ----------
    path : sequence of int or str
    data : mapping
        The whole file, to find the ids.
    """
    text = ""
    for position, step in enumerate(path):
        if isinstance(step, str):
            text += f".{step}" if text else step
            continue
        text += f"[{step}]"
        if position == 1 and path[0] in _LISTS:
            name = _id_at(data, str(path[0]), step)
            text += f' "{name}"' if name else ""
    return text


def faults_of(error: ValidationError, data: Mapping[str, Any], *, most: int) -> list[Fault]:
    """Return one fault for each of Pydantic's errors, the first ``most`` of them."""
    return [_fault(entry, data) for entry in error.errors(include_url=False)[:most]]


def _fault(entry: Mapping[str, Any], data: Mapping[str, Any]) -> Fault:
    path = entry["loc"]
    words = _WORDS.get(entry["type"])
    message, hint = (
        words(entry, path) if words else (f"{show(entry['input'])}: {entry['msg'].lower()}", "")
    )
    return Fault(where=place_of(path, data), message=message, hint=hint)


def _missing(_entry: Mapping[str, Any], path: Path) -> Words:
    if isinstance(path[-1], int):
        return "is missing", "two lengths: to the east and to the north, or two sides"
    return "is missing", _example(path)


def _wrong_value(entry: Mapping[str, Any], path: Path) -> Words:
    error = entry["ctx"]["error"]
    return _missing(entry, path) if isinstance(error, MissingKeyError) else (str(error), "")


def _not_a_choice(entry: Mapping[str, Any], _path: Path) -> Words:
    return f"{show(entry['input'])} is not known", "allowed: " + entry["ctx"]["expected"].replace(
        "'", '"'
    )


def _not_a_bool(entry: Mapping[str, Any], _path: Path) -> Words:
    return f"{show(entry['input'])} is neither true nor false", "without quotes"


def _not_a_list(entry: Mapping[str, Any], path: Path) -> Words:
    if path[-1] in _LISTS:
        return "must be a list of tables", f"write [[{path[-1]}]], two brackets on each side"
    return f"{show(entry['input'])} is not a list", _example(path)


def _not_a_table(entry: Mapping[str, Any], path: Path) -> Words:
    return f"{show(entry['input'])} is not a table", _example(path)


def _too_few(_entry: Mapping[str, Any], path: Path) -> Words:
    return "is empty", _example(path)


def _too_many(entry: Mapping[str, Any], _path: Path) -> Words:
    return f"has more than the {entry['ctx']['max_length']} entries allowed", ""


def _unknown_key(_entry: Mapping[str, Any], path: Path) -> Words:
    from difflib import get_close_matches

    allowed = list(_fields(path))
    near = get_close_matches(str(path[-1])[:_LONGEST], allowed, n=1)
    return "unknown key", f'did you mean "{near[0]}"?' if near else f"allowed: {', '.join(allowed)}"


def _fields(path: Path) -> Mapping[str, Sequence[Any]]:
    """Return the keys allowed in the table that holds a path's end, each with its examples."""
    names = [step for step in path[:-1] if isinstance(step, str) and step in _TABLES]
    table = _TABLES[names[-1]] if names else ModelTable
    return {field.alias or name: field.examples or () for name, field in table.model_fields.items()}


def _example(path: Path) -> str:
    key = str(path[-1])
    if key in _LISTS:
        return f"write at least one [[{key}]]"
    examples = _fields(path).get(key)
    return f"for instance {key} = {_toml(examples[0])}" if examples else ""


def _toml(value: object) -> str:
    match value:
        case bool():
            return str(value).lower()
        case str():
            return f'"{value}"'
        case list():
            return f"[{', '.join(_toml(item) for item in value)}]"
        case dict():
            return "{ " + ", ".join(f"{key} = {_toml(item)}" for key, item in value.items()) + " }"
        case _:
            return str(value)


def show(value: object) -> str:
    """Return a value as a message shows it: on one line, and not a page long."""
    text = f'"{value}"' if isinstance(value, str) else repr(value)
    clean = "".join(letter if letter.isprintable() else "?" for letter in text[: _LONGEST + 1])
    return clean if len(clean) <= _LONGEST else f"{clean[:_LONGEST]}..."


def _id_at(data: Mapping[str, Any], key: str, index: int) -> str:
    tables = data.get(key)
    table = tables[index] if isinstance(tables, list) and index < len(tables) else None
    name = table.get("id") if isinstance(table, dict) else None
    return name if isinstance(name, str) and name.isprintable() and len(name) <= _LONGEST else ""


_WORDS: Final[Mapping[str, Callable[[Mapping[str, Any], Path], Words]]] = {
    "missing": _missing,
    "extra_forbidden": _unknown_key,
    "value_error": _wrong_value,
    "enum": _not_a_choice,
    "bool_type": _not_a_bool,
    "list_type": _not_a_list,
    "tuple_type": _not_a_list,
    "model_type": _not_a_table,
    "model_attributes_type": _not_a_table,
    "dict_type": _not_a_table,
    "too_short": _too_few,
    "too_long": _too_many,
}
