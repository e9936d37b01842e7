"""The values that stand in the tables of the model file, each checked by itself."""

from __future__ import annotations

import re
from fractions import Fraction
from pathlib import PurePosixPath, PureWindowsPath
from typing import Annotated, Final, TypeAlias

from pydantic import BeforeValidator, WithJsonSchema

from roof3d.spec.model import Zones
from roof3d.spec.parapets.sides import WINDS
from roof3d.units import exact_length, exact_pitch, parse_angle, parse_temperature

STEEPEST: Final = "60:12"
COLDEST: Final = "-60 C"
HOTTEST: Final = "60 C"
LARGEST_SIZE: Final = "10000 m"
_SMALLEST_SIDE: Final = "10 cm"
_FARTHEST: Final = "10000000 m"
_LONGEST_NAME: Final = 120
_LONGEST_PATH: Final = 400
_NAMED_ZONES: Final = tuple(zones for zones in Zones if zones is not Zones.GIVEN)

_ID: Final = re.compile(r"[A-Za-z][A-Za-z0-9_-]{0,39}")
_PLANE_ID: Final = re.compile(r"[A-Za-z][A-Za-z0-9_-]{0,39}\.[a-z][a-z0-9_]{0,39}")


def _size(value: object) -> Fraction:
    size = exact_length(value, signed=True)
    if size < 0:
        raise ValueError(f'"{value}" must be more than 0')
    if size < exact_length(_SMALLEST_SIDE):
        raise ValueError(f'"{value}" is too small: at least {_SMALLEST_SIDE}')
    return _bounded(value, size, LARGEST_SIZE)


def _hole(value: object) -> Fraction:
    size = exact_length(value, signed=True)
    if size <= 0:
        raise ValueError(f'"{value}" must be more than 0')
    return _bounded(value, size, LARGEST_SIZE)


def read_extent(value: object) -> Fraction:
    """Return a length of 0 or more, metres; ``ValueError`` where it is none."""
    return _bounded(value, exact_length(value), LARGEST_SIZE)


def _coordinate(value: object) -> Fraction:
    return _bounded(value, exact_length(value, signed=True), _FARTHEST)


def _bounded(value: object, size: Fraction, most: str) -> Fraction:
    if abs(size) > exact_length(most):
        raise ValueError(f'"{value}" is too large: at most {most}')
    return size


def _pitch(value: object) -> Fraction:
    slope = exact_pitch(value)
    if slope > exact_pitch(STEEPEST):
        raise ValueError(f'"{value}" is steeper than {STEEPEST}, the most allowed')
    return slope


def _temperature(value: object) -> float:
    celsius = parse_temperature(value)
    if not parse_temperature(COLDEST) <= celsius <= parse_temperature(HOTTEST):
        raise ValueError(f'"{value}" is no day for a roof: {COLDEST} to {HOTTEST} is allowed')
    return celsius


def _zone_rule(value: object) -> Zones | Fraction:
    """Return a rule by its name, or the width given, metres."""
    for zones in _NAMED_ZONES:
        if value == zones:
            return zones
    try:
        return _hole(value)
    except ValueError as error:
        names = ", ".join(f'"{zones}"' for zones in _NAMED_ZONES)
        raise ValueError(f"{error}; a rule is one of {names}") from None


def read_file_name(value: object) -> str:
    """Return a path from the model file; ``ValueError`` where it is none."""
    name = _one_line(value, "is no file name: write it in quotes, on one line")
    if len(name) > _LONGEST_PATH:
        raise ValueError(f"is {len(name)} letters long: at most {_LONGEST_PATH}")
    # Both kinds, so that a model means the same wherever it is read.
    if PurePosixPath(name).root or PureWindowsPath(name).anchor:
        raise ValueError(
            f"{_shown(value)} begins at the root of one machine: write the path from the "
            "model file, and both can move together"
        )
    return name


def _id(value: object) -> str:
    return _matched(value, _ID, 'a letter first, then letters, digits, "-" or "_", 40 at most')


def _plane_id(value: object) -> str:
    return _matched(value, _PLANE_ID, 'a section, a point and a side, such as "main.south"')


def _name(value: object) -> str:
    name = _one_line(value, "is no name: write some words in quotes, on one line")
    if len(name) > _LONGEST_NAME:
        raise ValueError(f"is {len(name)} letters long: at most {_LONGEST_NAME}")
    return name.strip()


def _one_line(value: object, otherwise: str) -> str:
    if not isinstance(value, str) or not value.strip() or not value.isprintable():
        raise ValueError(f"{_shown(value)} {otherwise}")
    return value


def _matched(value: object, pattern: re.Pattern[str], rule: str) -> str:
    if not isinstance(value, str) or not pattern.fullmatch(value):
        raise ValueError(f"{_shown(value)} cannot be used: {rule}")
    return value


def _shown(value: object) -> str:
    text = f'"{value}"' if isinstance(value, str) and value.isprintable() else repr(value)
    return text if len(text) < _LONGEST_NAME else f"{text[:40]}..."


def _number(value: object) -> int:
    if isinstance(value, bool) or not isinstance(value, int) or value < 0:
        raise ValueError(f"{_shown(value)} is not a whole number from 0 up, without quotes")
    return value


def _text(pattern: str = "") -> WithJsonSchema:
    return WithJsonSchema({"type": "string", **({"pattern": pattern} if pattern else {})})


def _wall_side(value: object) -> str | int:
    """Return a wind, or the number of an edge."""
    if isinstance(value, str):
        if value not in WINDS:
            raise ValueError(f"{_shown(value)} is no side: {', '.join(WINDS)}, or an edge's number")
        return value
    return _number(value)


Size = Annotated[Fraction, BeforeValidator(_size), _text()]
Hole = Annotated[Fraction, BeforeValidator(_hole), _text()]
Extent = Annotated[Fraction, BeforeValidator(read_extent), _text()]
Coordinate = Annotated[Fraction, BeforeValidator(_coordinate), _text()]
Pitch = Annotated[Fraction, BeforeValidator(_pitch), _text()]
Angle = Annotated[float, BeforeValidator(parse_angle), _text()]
Number = Annotated[int, BeforeValidator(_number), WithJsonSchema({"type": "integer", "minimum": 0})]
WallSide = Annotated[
    str | int,
    BeforeValidator(_wall_side),
    WithJsonSchema({"anyOf": [{"enum": list(WINDS)}, {"type": "integer", "minimum": 0}]}),
]
Corner: TypeAlias = tuple[Coordinate, Coordinate]
Id = Annotated[str, BeforeValidator(_id), _text(f"^{_ID.pattern}$")]
PlaneId = Annotated[str, BeforeValidator(_plane_id), _text(f"^{_PLANE_ID.pattern}$")]
Name = Annotated[str, BeforeValidator(_name), _text()]
FileName = Annotated[str, BeforeValidator(read_file_name), _text()]
Temperature = Annotated[float, BeforeValidator(_temperature), _text()]
ZoneRule = Annotated[Zones | Fraction, BeforeValidator(_zone_rule), _text()]
