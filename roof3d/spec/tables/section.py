"""Tables of a block of building: its walls, its roof, and what is special about an edge."""

from __future__ import annotations

from typing import Annotated, Final

from pydantic import BeforeValidator, Field, StrictBool, ValidationInfo, field_validator

from roof3d.spec.model import Form, Level
from roof3d.spec.tables.table import MissingKeyError, Table, field
from roof3d.spec.values import (
    Angle,
    Coordinate,
    Corner,
    Extent,
    Hole,
    Id,
    Number,
    Pitch,
    Size,
    WallSide,
    read_extent,
)

MAX_CORNERS: Final = 2000
MAX_COURTYARDS: Final = 100
_NEEDED_BY_OUTLINES: Final = frozenset({"outline", "eave", "pitch"})
_NEEDED_BY_OTHERS: Final = frozenset({"length", "width"})

Corners = Annotated[list[Corner], Field(max_length=MAX_CORNERS)]
Sides = Annotated[list[WallSide], Field(min_length=1, max_length=MAX_CORNERS)]


def _overhang(value: object) -> object:
    """Let one length stand for both overhangs."""
    if isinstance(value, dict | OverhangTable | None):
        return value
    read_extent(value)
    return {"eave": value, "rake": value}


class OverhangTable(Table):
    """How far the roof runs past the walls, in plan; one length in quotes sets both."""

    eave: Extent = field("Past the walls below a level edge.", "16 in", "400 mm", default="0 ft")
    rake: Extent | None = field(
        "Past the walls below a sloping edge; a hip or mansard has none.", "8 in", default=None
    )


class EdgeTable(Table):
    """What is special about one wall of an outline, and about the roof over it."""

    at: Number = field("Corner from which the wall runs to the next, counted from 0.", 2)
    courtyard: Number | None = field(
        "The courtyard whose wall it is, counted from 0; of the outline itself if left out.",
        0,
        default=None,
    )
    gable: StrictBool = field("A gable: the wall runs up to the roof.", True, default=False)
    hip_from: Extent | None = field(
        "Gable only: height above which a hip leans back, with this edge's pitch.",
        "14 ft",
        default=None,
    )
    gable_from: Extent | None = field(
        "Height above which a sloping edge becomes a gable.", "13 ft", default=None
    )
    pitch: Pitch | None = field("Rise over run, where not the section's.", "8:12", default=None)
    eave: Extent | None = field(
        "Height of the roof surface straight above this wall's outside face, where the plate "
        "has a step.",
        "11 ft",
        default=None,
    )
    overhang: Extent | None = field(
        "Past this wall, where not the section's.", "1 ft", default=None
    )


class ParapetTable(Table):
    """A low wall along edges of a section whose roof is a membrane."""

    height: Hole = field(
        "From the highest point of the roof along it up to the top of the wall, which runs level.",
        "2 ft",
        "600 mm",
    )
    thickness: Hole = field(
        "Of the wall; its outside face is that of the wall below.", "8 in", default="8 in"
    )
    sides: Sides | None = field(
        "Only on these sides: winds, as in the ids of planes; of an outline the numbers of its "
        "edges. On every side where the roof ends free, if left out.",
        ["south", "east"],
        [0, 3],
        default=None,
    )
    without: Sides | None = field(
        "On every side but these, named in the same way.", ["north"], default=None
    )


class SectionTable(Table):
    """A block of building with its roof.

    Any two of eave, ridge and pitch give the third; an outline has eave and pitch.
    """

    id: Id = field("Name of the section, used in every result.", "main", "porch")
    form: Form = field(
        "Shape of the roof over the wall rectangle; outline for walls of any shape.",
        "gable",
        "outline",
    )
    length: Size | None = field(
        "Outside of the walls, along the ridge; every form but outline needs it.",
        "42 ft",
        "12.8 m",
        default=None,
    )
    width: Size | None = field(
        "Outside of the walls, across the ridge; every form but outline needs it.",
        "28 ft",
        "8.5 m",
        default=None,
    )
    at: tuple[Coordinate, Coordinate] = field(
        "First corner of the wall rectangle, or where the zero of an outline lies: to the east, "
        "to the north.",
        ["0 ft", "0 ft"],
        ["-3.2 m", "12 m"],
        default=("0 ft", "0 ft"),
    )
    turn: Angle = field(
        "Turn of the rectangle about its first corner, or of an outline about its zero, "
        "counterclockwise.",
        "30 deg",
        default="0 deg",
    )
    eave: Extent | None = field(
        "Height of the roof surface straight above the outside wall face; the low wall of a "
        "shed or flat roof.",
        "9 ft",
        "2.8 m",
        default=None,
    )
    ridge: Extent | None = field(
        "Height of the highest roof point above the walls; the high wall of a shed or flat roof.",
        "16 ft",
        default=None,
    )
    pitch: Pitch | None = field(
        "Rise over run; above the break on a gambrel or mansard. A flat roof falls 1/4:12 "
        "where nothing else is said.",
        "6:12",
        "26.6 deg",
        "50 %",
        default=None,
    )
    pitch_back: Pitch | None = field(
        "Gable only: pitch of the other side, which falls to the left of the ridge's direction; "
        "both sides have one pitch if left out.",
        "9:12",
        default=None,
    )
    lower_pitch: Pitch | None = field(
        "Gambrel and mansard only: pitch below the break.", "20:12", default=None
    )
    break_in: Hole | None = field(
        "Gambrel and mansard only: plan distance from the wall in to the break.",
        "4 ft",
        "1.2 m",
        default=None,
    )
    overhang: Annotated[
        OverhangTable | None,
        BeforeValidator(_overhang),
    ] = field(
        "How far the roof runs past the walls: one length, or one for eave and one for rake; "
        "none if left out.",
        "16 in",
        {"eave": "16 in", "rake": "8 in"},
        default=None,
    )
    base: Extent = field(
        "Underside of its walls, where the section does not reach the ground.",
        "9 ft",
        default="0 ft",
    )
    open: StrictBool = field("Without walls, as a carport.", True, default=False)
    assembly: Id | None = field(
        "Catalog id of what lies on every plane of the section; chosen by rule if left out.",
        "self-adhered-membrane",
        default=None,
    )
    parapet: ParapetTable | None = field(
        "A low wall round the roof, which takes the place of the overhang; for roofs too flat for "
        "shingles.",
        {"height": "2 ft", "thickness": "8 in"},
        default=None,
    )
    outline: Corners | None = field(
        "Outline only: outside corners of its walls in order, either way round, the first not "
        "said again.",
        [["0 ft", "0 ft"], ["30 ft", "0 ft"], ["30 ft", "20 ft"], ["0 ft", "20 ft"]],
        default=None,
    )
    courtyard: Annotated[list[Corners], Field(max_length=MAX_COURTYARDS)] | None = field(
        "Outline only: courtyards in it, each a list of corners.",
        [[["9 ft", "6 ft"], ["15 ft", "6 ft"], ["15 ft", "12 ft"], ["9 ft", "12 ft"]]],
        default=None,
    )
    level: Level | None = field(
        "Outline only: where pitches differ the fascia stays level; fascia keeps the overhangs "
        "and moves the plate (so it is if left out), plate keeps the plate and changes the "
        "overhangs.",
        "fascia",
        "plate",
        default=None,
    )
    edge: Annotated[list[EdgeTable], Field(max_length=MAX_CORNERS)] | None = field(
        "Outline only: walls with a gable, or a pitch, eave or overhang of their own.",
        [{"at": 2, "gable": True}, {"at": 4, "pitch": "8:12"}],
        default=None,
    )
    fall: Number | None = field(
        "Outline only: one plane over all of it, which falls to the wall from this corner.",
        3,
        default=None,
    )
    deck: Extent | None = field(
        "Outline only: height at which a deck cuts the roof off.", "14 ft", default=None
    )
    deck_pitch: Pitch | None = field(
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
