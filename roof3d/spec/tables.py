"""The tables of the model file as written, checked one value at a time by Pydantic.

Measures arrive as exact fractions (metres, rise over run); what one value means beside
another is settled in ``resolve``.
"""

from __future__ import annotations

from typing import Annotated, Any, Final, Literal

from pydantic import (
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    StrictBool,
    ValidationInfo,
    field_validator,
)

from roof3d.spec.model import Form, Level, OpeningKind, Units
from roof3d.spec.values import (
    Angle,
    Coordinate,
    Corner,
    Extent,
    Hole,
    Id,
    Name,
    Number,
    Pitch,
    PlaneId,
    Size,
    read_extent,
)

MAX_SECTIONS: Final = 500
MAX_OPENINGS: Final = 2000
MAX_PLANES: Final = 5000
MAX_CORNERS: Final = 2000
MAX_COURTYARDS: Final = 100
_NEEDED_BY_OUTLINES: Final = frozenset({"outline", "eave", "pitch"})
_NEEDED_BY_OTHERS: Final = frozenset({"length", "width"})

Corners = Annotated[list[Corner], Field(max_length=MAX_CORNERS)]


def _overhang(value: object) -> object:
    """Let one length stand for both overhangs."""
    if isinstance(value, dict | OverhangTable | None):
        return value
    read_extent(value)
    return {"eave": value, "rake": value}


class MissingKeyError(ValueError):
    """A key that may be left out elsewhere is needed by this form."""


class Table(BaseModel):
    """A table of the file: no key that is not listed, no value changed after reading."""

    model_config = ConfigDict(
        extra="forbid",
        frozen=True,
        arbitrary_types_allowed=True,
        validate_default=True,
        defer_build=True,  # built once, inside the model that holds it
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


class EdgeTable(Table):
    """What is special about one wall of an outline, and about the roof over it."""

    at: Number = _field("Corner from which the wall runs to the next, counted from 0.", 2)
    courtyard: Number | None = _field(
        "The courtyard whose wall it is, counted from 0; of the outline itself if left out.",
        0,
        default=None,
    )
    gable: StrictBool = _field("A gable: the wall runs up to the roof.", True, default=False)
    hip_from: Extent | None = _field(
        "Gable only: height above which a hip leans back, with this edge's pitch.",
        "14 ft",
        default=None,
    )
    gable_from: Extent | None = _field(
        "Height above which a sloping edge becomes a gable.", "13 ft", default=None
    )
    pitch: Pitch | None = _field("Rise over run, where not the section's.", "8:12", default=None)
    eave: Extent | None = _field(
        "Height of the roof surface straight above this wall's outside face, where the plate "
        "has a step.",
        "11 ft",
        default=None,
    )
    overhang: Extent | None = _field(
        "Past this wall, where not the section's.", "1 ft", default=None
    )


class SectionTable(Table):
    """A block of building with its roof.

    Any two of eave, ridge and pitch give the third; an outline has eave and pitch.
    """

    id: Id = _field("Name of the section, used in every result.", "main", "porch")
    form: Form = _field(
        "Shape of the roof over the wall rectangle; outline for walls of any shape.",
        "gable",
        "outline",
    )
    length: Size | None = _field(
        "Outside of the walls, along the ridge; every form but outline needs it.",
        "42 ft",
        "12.8 m",
        default=None,
    )
    width: Size | None = _field(
        "Outside of the walls, across the ridge; every form but outline needs it.",
        "28 ft",
        "8.5 m",
        default=None,
    )
    at: tuple[Coordinate, Coordinate] = _field(
        "First corner of the wall rectangle, or where the zero of an outline lies: to the east, "
        "to the north.",
        ["0 ft", "0 ft"],
        ["-3.2 m", "12 m"],
        default=("0 ft", "0 ft"),
    )
    turn: Angle = _field(
        "Turn of the rectangle about its first corner, or of an outline about its zero, "
        "counterclockwise.",
        "30 deg",
        default="0 deg",
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
    outline: Corners | None = _field(
        "Outline only: outside corners of its walls in order, either way round, the first not "
        "said again.",
        [["0 ft", "0 ft"], ["30 ft", "0 ft"], ["30 ft", "20 ft"], ["0 ft", "20 ft"]],
        default=None,
    )
    courtyard: Annotated[list[Corners], Field(max_length=MAX_COURTYARDS)] | None = _field(
        "Outline only: courtyards in it, each a list of corners.",
        [[["9 ft", "6 ft"], ["15 ft", "6 ft"], ["15 ft", "12 ft"], ["9 ft", "12 ft"]]],
        default=None,
    )
    level: Level | None = _field(
        "Outline only: where pitches differ the fascia stays level; fascia keeps the overhangs "
        "and moves the plate (so it is if left out), plate keeps the plate and changes the "
        "overhangs.",
        "fascia",
        "plate",
        default=None,
    )
    edge: Annotated[list[EdgeTable], Field(max_length=MAX_CORNERS)] | None = _field(
        "Outline only: walls with a gable, or a pitch, eave or overhang of their own.",
        [{"at": 2, "gable": True}, {"at": 4, "pitch": "8:12"}],
        default=None,
    )
    fall: Number | None = _field(
        "Outline only: one plane over all of it, which falls to the wall from this corner.",
        3,
        default=None,
    )
    deck: Extent | None = _field(
        "Outline only: height at which a deck cuts the roof off.", "14 ft", default=None
    )
    deck_pitch: Pitch | None = _field(
        "Outline only: fall of the deck to all sides; 1/4:12 if left out, 0:12 is level.",
        "1/4:12",
        default=None,
    )

    @field_validator("length", "width", "eave", "pitch", "outline")
    @classmethod
    def _needed_by_form(cls, value: object, info: ValidationInfo) -> object:
        form = info.data.get("form")
        needed = _NEEDED_BY_OUTLINES if form is Form.OUTLINE else _NEEDED_BY_OTHERS
        if value is None and form is not None and info.field_name in needed:
            raise MissingKeyError
        return value


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
