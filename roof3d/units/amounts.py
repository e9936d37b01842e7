"""Read an amount and its unit from text into an exact fraction, or refuse it in words."""

from __future__ import annotations

import math
import re
from fractions import Fraction
from typing import Final, NoReturn

# 6, 6.5, .5, 3/4, 6 1/2, 6-1/2
AMOUNT: Final = r"(?:[0-9]+[ -][0-9]+/[0-9]+|[0-9]+/[0-9]+|[0-9]+(?:\.[0-9]*)?|\.[0-9]+)"
_ONE_UNIT: Final = re.compile(rf"({AMOUNT}) ?([^0-9.].*)")
_PLAIN_NUMBER: Final = re.compile(rf"{AMOUNT}(?:e[-+]?[0-9]+)?")
_NOT_FINITE: Final = re.compile(r"(?:nan|inf|infinity)\b.*")
_LONGEST: Final = 60
_SHOWN: Final = 40


def prepare(value: object, what: str, examples: str) -> tuple[bool, str]:
    """Refuse what can be no measure at all; return the sign and the text without it."""
    if isinstance(value, int | float) and not isinstance(value, bool):
        if not math.isfinite(value):
            raise ValueError(f"{value} is no {what}: write {examples}")
        raise ValueError(f"{shown(value)} has no unit: write {examples}, in quotes")  # noqa: TRY004
    if not isinstance(value, str):
        raise ValueError(f"{shown(value)} is not text: write {examples}")  # noqa: TRY004
    text = " ".join(value.replace("\u2212", "-").lower().split())
    if not text:
        raise ValueError(f"the text is empty: write {examples}")
    negative = text.startswith("-")
    text = text.removeprefix("-" if negative else "+").strip()
    if len(text) > _LONGEST:
        raise ValueError(f"{shown(value)} is too long for a {what}: write {examples}")
    if "," in text:
        raise ValueError(
            f"{shown(value)}: a comma may stand for thousands or decimals, so it is not guessed: "
            "write 1200, or 1.2 with a point"
        )
    if _NOT_FINITE.fullmatch(text):
        raise ValueError(f"{shown(value)} is no {what}: write {examples}")
    if _PLAIN_NUMBER.fullmatch(text) and not (what == "pitch" and "/" in text):
        raise ValueError(f"{shown(value)} has no unit: write {examples}")
    return negative, text


def with_unit(
    text: str, value: object, units: dict[str, Fraction], what: str, examples: str
) -> Fraction:
    """Read an amount with one of the units that are known for what it measures."""
    found = _ONE_UNIT.fullmatch(text)
    if not found:
        _refuse(value, what, examples)
    unit = found[2].strip()
    if unit not in units:
        _refuse(value, what, examples)
    return amount(found[1], value) * units[unit]


def _refuse(value: object, what: str, examples: str) -> NoReturn:
    article = "an" if what[0] in "aeiou" else "a"
    raise ValueError(f"{shown(value)} is not {article} {what}: write {examples}")


def amount(text: str, value: object) -> Fraction:
    """Read 6, 6.5, 3/4 or 6 1/2."""
    try:
        return sum((Fraction(part) for part in re.split("[ -]", text)), Fraction(0))
    except (ValueError, ZeroDivisionError):
        raise ValueError(f"{shown(value)} has no number that can be read") from None


def with_sign(size: Fraction, value: object, *, negative: bool, signed: bool) -> Fraction:
    """Return the size with its sign; refuse one below zero where none may be."""
    if not negative:
        return size
    if not signed and size:
        raise ValueError(f"{shown(value)} is below 0; it must be 0 or more")
    return -size


def shown(value: object) -> str:
    """Return the value as the message shows it: printable, and not a page long."""
    text = str(value)
    short = text if len(text) <= _SHOWN else text[:_SHOWN] + "..."
    clean = "".join(letter if letter.isprintable() else "?" for letter in short)
    return f'"{clean}"' if isinstance(value, str) else clean
