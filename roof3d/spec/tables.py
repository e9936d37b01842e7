"""The tables of the model file as written, checked one value at a time by Pydantic.

Measures arrive as exact fractions (metres, rise over run); what one value means beside
another is settled in ``resolve``.
"""

from __future__ import annotations

import re
from fractions import Fraction
from typing import Annotated, Any, Final, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, StrictBool, WithJsonSchema

from roof3d.spec.model import Form, OpeningKind, Units
from roof3d.units import exact_length, exact_pitch, parse_angle

MAX_SECTIONS: Final = 500
MAX_OPENINGS: Final = 2000
MAX_PLANES: Final = 5000
_SMALLEST_SIDE: Final = "10 cm"
_LARGEST_SIZE: Final = "10000 m"
_FARTHEST: Final = "10000000 m"
STEEPEST: Final = "60:12"
_LONGEST_NAME: Final = 120

_ID: Final = re.compile(r"[A-Za-z][A-Za-z0-9_-]{0,39}")
_PLANE_ID: Final = re.compile(r"[A-Za-z][A-Za-z0-9_-]{0,39}\.[a-z][a-z0-9_]{0,39}")


def _size(value: object) -> Fraction:
    size = exact_length(value)
    if size < exact_length(_SMALLEST_SIDE):
        raise ValueError(f'"{value}" is too small: at least {_SMALLEST_SIDE}')
    return _bounded(value, size, _LARGEST_SIZE)


def _hole(value: object) -> Fraction:
    size = exact_length(value)
    if size <= 0:
        raise ValueError(f'"{value}" must be above 0')
    return _bounded(value, size, _LARGEST_SIZE)


def _extent(value: object) -> Fraction:
    return _bounded(value, exact_length(value), _LARGEST_SIZE)


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


def _id(value: object) -> str:
    return _matched(value, _ID, 'a letter first, then letters, digits, "-" or "_", 40 at most')


def _plane_id(value: object) -> str:
    return _matched(value, _PLANE_ID, 'a section, a point and a side, such as "main.south"')


def _name(value: object) -> str:
    if not isinstance(value, str) or not value.strip() or not value.isprintable():
        raise ValueError(f"{_shown(value)} is no name: write some words in quotes, on one line")
    if len(value) > _LONGEST_NAME:
        raise ValueError(f"is {len(value)} letters long: at most {_LONGEST_NAME}")
    return value.strip()


def _matched(value: object, pattern: re.Pattern[str], rule: str) -> str:
    if not isinstance(value, str) or not pattern.fullmatch(value):
        raise ValueError(f"{_shown(value)} cannot be used: {rule}")
    return value


def _shown(value: object) -> str:
    text = f'"{value}"' if isinstance(value, str) and value.isprintable() else repr(value)
    return text if len(text) < _LONGEST_NAME else f"{text[:40]}..."


def _overhang(value: object) -> object:
    """Let one length stand for both overhangs."""
    if isinstance(value, dict | OverhangTable | None):
        return value
    _extent(value)
    return {"eave": value, "rake": value}


def _text(pattern: str = "") -> WithJsonSchema:
    return WithJsonSchema({"type": "string", **({"pattern": pattern} if pattern else {})})


Size = Annotated[Fraction, BeforeValidator(_size), _text()]
Hole = Annotated[Fraction, BeforeValidator(_hole), _text()]
Extent = Annotated[Fraction, BeforeValidator(_extent), _text()]
Coordinate = Annotated[Fraction, BeforeValidator(_coordinate), _text()]
Pitch = Annotated[Fraction, BeforeValidator(_pitch), _text()]
Angle = Annotated[float, BeforeValidator(parse_angle), _text()]
Id = Annotated[str, BeforeValidator(_id), _text(f"^{_ID.pattern}$")]
PlaneId = Annotated[str, BeforeValidator(_plane_id), _text(f"^{_PLANE_ID.pattern}$")]
Name = Annotated[str, BeforeValidator(_name), _text()]


class Table(BaseModel):
    """A table of the file: no key that is not listed, no value changed after reading."""

    model_config = ConfigDict(
        extra="forbid", frozen=True, arbitrary_types_allowed=True, validate_default=True
    )


def _field(description: str, *examples: Any, default: Any = ...) -> Any:
    return Field(default, description=description, examples=list(examples))


class RulesTable(Table):
    """Limits that this model moves."""

    low_slope_cutoff: Pitch = _field(
        "Planes below this pitch are low, those at it or above are steep.",
        "2:12",
        default="2:12",
    )


class OverhangTable(Table):
    """How far the roof runs past the walls, in plan; one length in quotes sets both."""

    eave: Extent = _field("Past the walls below a level edge.", "16 in", "400 mm", default="0 ft")
    rake: Extent | None = _field(
        "Past the walls below a sloping edge; a hip or mansard has none.", "8 in", default=None
    )


class SectionTable(Table):
    """A block of building with its roof. Any two of eave, ridge and pitch give the third."""

    id: Id = _field("Name of the section, used in every result.", "main", "porch")
    form: Form = _field("Shape of the roof over the wall rectangle.", "gable", "hip")
    length: Size = _field("Outside of the walls, along the ridge.", "42 ft", "12.8 m")
    width: Size = _field("Outside of the walls, across the ridge.", "28 ft", "8.5 m")
    at: tuple[Coordinate, Coordinate] = _field(
        "First corner of the wall rectangle: to the east, to the north.",
        ["0 ft", "0 ft"],
        ["-3.2 m", "12 m"],
        default=("0 ft", "0 ft"),
    )
    turn: Angle = _field(
        "Turn of the rectangle about its first corner, counterclockwise.", "30 deg", default="0 deg"
    )
    eave: Extent | None = _field(
        "Height of the roof surface straight above the outside wall face; the low wall of a "
        "shed or flat roof.",
        "9 ft",
        "2.8 m",
        default=None,
    )
    ridge: Extent | None = _field(
        "Height of the highest roof point above the walls; the high wall of a shed or flat roof.",
        "16 ft",
        default=None,
    )
    pitch: Pitch | None = _field(
        "Rise over run; above the break on a gambrel or mansard. A flat roof falls 1/4:12 "
        "where nothing else is said.",
        "6:12",
        "26.6 deg",
        "50 %",
        default=None,
    )
    pitch_back: Pitch | None = _field(
        "Gable only: pitch of the other side, which falls to the left of the ridge's direction; "
        "both sides have one pitch if left out.",
        "9:12",
        default=None,
    )
    lower_pitch: Pitch | None = _field(
        "Gambrel and mansard only: pitch below the break.", "20:12", default=None
    )
    break_in: Hole | None = _field(
        "Gambrel and mansard only: plan distance from the wall in to the break.",
        "4 ft",
        "1.2 m",
        default=None,
    )
    overhang: Annotated[
        OverhangTable | None,
        BeforeValidator(_overhang),
    ] = _field(
        "How far the roof runs past the walls: one length, or one for eave and one for rake; "
        "none if left out.",
        "16 in",
        {"eave": "16 in", "rake": "8 in"},
        default=None,
    )
    base: Extent = _field(
        "Underside of its walls, where the section does not reach the ground.",
        "9 ft",
        default="0 ft",
    )
    open: StrictBool = _field("Without walls, as a carport.", True, default=False)
    assembly: Id | None = _field(
        "Catalog id of what lies on every plane of the section; chosen by rule if left out.",
        "self-adhered-membrane",
        default=None,
    )


class OpeningTable(Table):
    """A chimney, skylight or pipe through the roof."""

    id: Id = _field("Name of the opening.", "stack")
    kind: OpeningKind = _field("A chimney, a skylight or a pipe.", "chimney", "pipe")
    at: tuple[Coordinate, Coordinate] = _field(
        "Its centre in plan: to the east, to the north.", ["12 ft", "9 ft"]
    )
    size: tuple[Hole, Hole] | None = _field(
        "Chimney and skylight: plan size along its own two sides.", ["32 in", "24 in"], default=None
    )
    diameter: Hole | None = _field("Pipe: outside diameter.", "3 in", "110 mm", default=None)
    turn: Angle = _field("Turn about its centre, counterclockwise.", "45 deg", default="0 deg")
    height: Hole | None = _field(
        "From the highest roof point at its rim up to its top; 3 ft for a chimney, 12 in for a "
        "pipe and 4 in for a skylight if left out.",
        "4 ft",
        default=None,
    )


class PlaneTable(Table):
    """The assembly that one plane shall carry, against the rule or the section."""

    id: PlaneId = _field("Plane as results name it.", "porch.south")
    assembly: Id = _field("Catalog id of the assembly.", "self-adhered-membrane")


class ModelTable(Table):
    """A roof: its name, how results are shown, and the blocks of building it covers."""

    model_config = ConfigDict(title="Model of a roof")

    version: Literal[1] = Field(
        alias="schema", description="Version of the file format.", examples=[1]
    )
    name: Name = _field("What the model is called.", "Lantern Street house")
    units: Units = _field("How results are shown.", "imperial", "metric", default="imperial")
    rules: RulesTable = _field(
        "Limits that this model moves from where they usually lie.",
        {"low_slope_cutoff": "2:12"},
        default={},
    )
    section: list[SectionTable] = Field(
        description="The blocks of building; where they overlap, the higher surface is the roof.",
        examples=[[{"id": "main", "form": "gable", "length": "42 ft", "width": "28 ft"}]],
        min_length=1,
        max_length=MAX_SECTIONS,
    )
    opening: list[OpeningTable] = Field(
        default=[],
        description="Chimneys, skylights and pipes.",
        examples=[[{"id": "stack", "kind": "pipe", "at": ["3 m", "2 m"], "diameter": "110 mm"}]],
        max_length=MAX_OPENINGS,
    )
    plane: list[PlaneTable] = Field(
        default=[],
        description="Planes that shall carry a given assembly.",
        examples=[[{"id": "porch.south", "assembly": "self-adhered-membrane"}]],
        max_length=MAX_PLANES,
    )
