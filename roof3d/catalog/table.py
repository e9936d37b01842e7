"""One table of a data file: read its values and note every fault with its path.

Checked by hand, not by a schema library: the files are short, and a first ``measure``
must not wait for an import it can do without.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterable
from fractions import Fraction
from functools import lru_cache
from typing import Final, TypeAlias

from roof3d.catalog.laying import Reach
from roof3d.errors import Fault
from roof3d.units import exact_length, parse_area, parse_volume

Values: TypeAlias = dict[str, object]

_REACH_EXAMPLES: Final = '"2 in", "-1/2 in", "rise + 6 in", "6 in - rise" or "-gap"'
_SHARE: Final = re.compile(r"[0-9]{1,6}(?:/[0-9]{1,6}|\.[0-9]{1,9})?")
_SHOWN: Final = 60
_MOST_COUNT: Final = 1_000_000


def shown(value: object) -> str:
    """Return a wrong value as a message repeats it, never longer than a line."""
    text = repr(value)
    return text if len(text) <= _SHOWN else text[:_SHOWN] + "..."


class TableReader:
    """One table of a data file; gathers faults with their path instead of raising.

    Parameters
    ----------
    values : object
        What stands at that place of the file; a fault where it is no table.
    where : str
        Its path.
    faults : list[Fault]
        Shared by all tables of a file.
    """

    def __init__(self, values: object, where: str, faults: list[Fault]) -> None:
        self.where = where
        self.faults = faults
        self.values: Values = values if isinstance(values, dict) else {}
        if not isinstance(values, dict):
            self.fault("", f"must be a table, is {shown(values)}")

    def fault(self, key: str, message: str, hint: str = "") -> None:
        """Note one fault at a key of this table."""
        name = key if key.isprintable() and len(key) <= _SHOWN else shown(key)
        path = f"{self.where}.{name}" if key else self.where
        self.faults.append(Fault(where=path, message=message, hint=hint))

    def only(self, allowed: Iterable[str]) -> None:
        """Note every key that has no meaning here."""
        for key in self.values:
            if key not in allowed:
                self.fault(key or '""', "unknown key", f"allowed: {', '.join(sorted(allowed))}")

    def text(self, key: str, default: str = "", *, needed: bool = True) -> str:
        """Return a text; empty, with a fault if it was needed, where there is none."""
        value = self.values.get(key, default)
        if not isinstance(value, str):
            self.fault(key, f"must be text, is {shown(value)}")
            return ""
        if needed and not value.strip():
            self.fault(key, "missing or empty")
        return value

    def name(self, key: str) -> str:
        """Return a text fit for an id; empty, with a fault, where it is not."""
        value = self.text(key)
        if value.isprintable() and len(value) <= _SHOWN:
            return value.strip()
        self.fault(key, f"{shown(value)} is no name", f"at most {_SHOWN} letters on one line")
        return ""

    def names(self, key: str) -> list[str]:
        """Return a list of names, none where the key is not given."""
        value = self.values.get(key, [])
        if isinstance(value, list) and all(isinstance(name, str) for name in value):
            return value
        self.fault(key, f"must be a list of names, is {shown(value)}")
        return []

    def choice(self, key: str, allowed: tuple[str, ...]) -> str:
        """Return one of the allowed words; the first, with a fault, where it is none."""
        value = self.text(key)
        if value in allowed:
            return value
        if value.strip():
            hint = f"allowed: {', '.join(allowed)}"
            self.fault(key, f"{shown(value)} is none of the allowed", hint)
        return allowed[0]

    def measure(self, key: str, parse: Callable[[str], float], default: float) -> float:
        """Return a parsed quantity above zero, or the default where the key is not given."""
        number = self.parsed(key, parse, default)
        if key in self.values and number is not default and not 0.0 < number < math.inf:
            self.fault(key, f"must be above zero, is {shown(self.values[key])}")
            return default
        return number

    def parsed(self, key: str, parse: Callable[[str], float], default: float) -> float:
        """Return a parsed quantity of any sign, or the default where the key is not given."""
        if key not in self.values:
            return default
        value = self.values[key]
        if not isinstance(value, str):
            self.fault(key, f"must be text with its unit, is {shown(value)}")
            return default
        try:
            return _read(parse, value)
        except ValueError as error:
            self.fault(key, f"cannot be read: {error}")
            return default

    def share(self, key: str, default: float) -> float:
        """Return a share above 0 and at most 1, written ``"2/3"`` or as a number."""
        value = self.values.get(key, default)
        share = math.nan
        if isinstance(value, str) and _SHARE.fullmatch(value):
            part, _, whole = value.partition("/")
            share = float(Fraction(part) / int(whole or 1)) if int(whole or 1) else math.nan
        elif isinstance(value, int | float) and not isinstance(value, bool):
            share = min(value, 2.0)
        if not 0.0 < share <= 1.0:
            hint = 'write "2/3", or a number above 0 and at most 1'
            self.fault(key, f"{shown(value)} is not a share", hint)
            return default
        return float(share)

    def count(self, key: str, default: int = 0) -> int:
        """Return a whole number above 0, or the default where the key is not given."""
        if key not in self.values:
            return default
        value = self.values[key]
        whole = isinstance(value, int) and not isinstance(value, bool)
        if not (whole and isinstance(value, int) and 0 < value <= _MOST_COUNT):
            hint = f"a whole number from 1 to {_MOST_COUNT:,}"
            self.fault(key, f"{shown(value)} is not a count", hint)
            return default
        return value

    def flag(self, key: str, *, default: bool = False) -> bool:
        """Return a truth value, or the default where the key is not given."""
        value = self.values.get(key, default)
        if not isinstance(value, bool):
            self.fault(key, f"must be true or false, is {shown(value)}")
            return False
        return value

    def reach(self, key: str, default: Reach = Reach()) -> Reach:
        """Return a reach, or the default where the key is not given."""
        if key not in self.values:
            return default
        value = self.values[key]
        if not isinstance(value, str):
            self.fault(key, f"must be text, is {shown(value)}", f"write {_REACH_EXAMPLES}")
            return Reach()
        try:
            return parse_reach(value)
        except ValueError as error:
            self.fault(key, f"cannot be read: {error}", f"write {_REACH_EXAMPLES}")
            return Reach()

    def table(self, key: str) -> TableReader | None:
        """Return a table within this one; None where there is none."""
        if key not in self.values:
            return None
        return TableReader(self.values[key], f"{self.where}.{key}", self.faults)

    def tables(self, key: str, *, needed: bool = True) -> list[TableReader]:
        """Return the tables of an array; none, with a fault if needed, where there is none."""
        if not needed and key not in self.values:
            return []
        value = self.values.get(key)
        if not isinstance(value, list) or not value:
            self.fault(key, "must be one or more tables")
            return []
        return [
            TableReader(item, f"{self.where}.{key}[{index}]", self.faults)
            for index, item in enumerate(value)
        ]


@lru_cache(maxsize=1024)
def _read(parse: Callable[[str], float], text: str) -> float:
    """Parse a text once: the same few sizes stand in a catalog hundreds of times."""
    return parse(text)


@lru_cache(maxsize=1024)
def parse_reach(text: str) -> Reach:
    """Read how far a layer runs past an edge: lengths, ``rise`` and ``gap``, added up.

    Parameters
    ----------
    text : str
        Terms with a plus or minus sign between spaces; each of ``rise``, ``gap`` and a
        length at most once.

    Returns
    -------
    Reach

    Raises
    ------
    ValueError
        With a sentence that shows what cannot be read.

    Examples
    --------
    >>> parse_reach("6 in - rise")
    Reach(length=0.1524, rise=-1, gap=0)
    >>> parse_reach("-gap").at(rise=0.4572, gap=0.0508)
    -0.0508
    """
    first, *rest = re.split(r"\s([+-])\s", f" {text.strip()}")
    first = first.strip()
    sign = "-" if first.startswith("-") else "+"
    terms = [(sign, first.removeprefix(sign)), *zip(rest[::2], rest[1::2], strict=True)]
    found: dict[str, Fraction] = {}
    for sign, term in terms:
        name = term.strip()
        if name.startswith(("+", "-")):
            raise ValueError(f"{shown(text)} has two signs in a row")
        kind = name if name in {"rise", "gap"} else "length"
        if kind in found:
            raise ValueError(f"{shown(text)} gives the {kind} twice")
        size = exact_length(name) if kind == "length" else Fraction(1)
        found[kind] = -size if sign == "-" else size
    return Reach(
        length=float(found.get("length", Fraction(0))),
        rise=int(found.get("rise", 0)),
        gap=int(found.get("gap", 0)),
    )


def parse_rate(text: str) -> float:
    """Read how thick a liquid is spread, ``0.75 gal per 100 sq ft``.

    Returns
    -------
    float
        Metres, which is m3 on m2.

    Raises
    ------
    ValueError
        With a sentence that shows what cannot be read.
    """
    volume, per, area = text.partition(" per ")
    if not per:
        raise ValueError(f'{shown(text)} is not a rate: write "0.75 gal per 100 sq ft"')
    spread = parse_area(area)
    if spread <= 0.0:
        raise ValueError(f"{shown(text)}: the area must be above zero")
    return parse_volume(volume) / spread
