"""The whole model file, and its tables that are no section."""

from __future__ import annotations

from typing import Final, Literal

from pydantic import ConfigDict, Field, StrictBool

from roof3d.spec.model import OpeningKind, Rise, Units, Valley, Wind
from roof3d.spec.tables.section import SectionTable
from roof3d.spec.tables.table import Table, field
from roof3d.spec.values import (
    Angle,
    Coordinate,
    Extent,
    FileName,
    Hole,
    Id,
    Name,
    Pitch,
    PlaneId,
    Temperature,
    ZoneRule,
)

MAX_SECTIONS: Final = 500
MAX_OPENINGS: Final = 2000
MAX_PLANES: Final = 5000


class RulesTable(Table):
    """Limits that this model moves, and what it would rather have than what the rules choose."""

    low_slope_cutoff: Pitch = field(
        "Planes below this pitch are low, those at it or above are steep.",
        "2:12",
        default="2:12",
    )
    low_assembly: Id | None = field(
        "Catalog id of what low planes shall carry where it may lie at their slope; the first "
        "that may if left out.",
        "self-adhered-membrane",
        default=None,
    )
    steep_assembly: Id | None = field(
        "Catalog id of what steep planes shall carry where it may lie at their slope; the first "
        "that may if left out.",
        "laminated-shingle",
        default=None,
    )


class SiteTable(Table):
    """What place and day ask of the roof."""

    temperature: Temperature | None = field(
        "Of the day on which the roof is laid; it picks the method of materials that it matters "
        "to.",
        "35 F",
        "2 C",
        default=None,
    )
    ice_barrier: StrictBool = field(
        "The place asks for an ice barrier along the eaves.", True, default=False
    )
    code: Name = field(
        "Edition of the code that holds there.", "IRC 2018", "IBC 2021", default="IRC 2018"
    )
    wind: Wind = field("Nailing for normal or for high wind.", "normal", "high", default="normal")
    zones: ZoneRule = field(
        "How far in from the edges wind pulls harder: none, by the rule of an edition (asce_7_10, "
        "asce_7_16), or a width.",
        "none",
        "asce_7_10",
        "asce_7_16",
        "4 ft",
        default="none",
    )


class LayoutTable(Table):
    """How things are laid where more than one way is right."""

    valley: Valley = field(
        "How valleys between shingles are made.", "open", "closed_cut", default="open"
    )
    membrane_rise: Rise = field(
        "How the 18 in that a membrane is carried up a steep slope are read: along the slope (and "
        "at least 8 in straight up), or vertical.",
        "along",
        "vertical",
        default="along",
    )
    even_laps: StrictBool | None = field(
        "Widen the laps of sheets to one exposure for all layers of a plane, so that laps once "
        "parted never drift together; where no first course keeps them apart, if left out.",
        True,
        default=None,
    )
    ridge_vent: StrictBool = field(
        "A vent along every ridge between shingles.", True, default=False
    )
    rake_starter: StrictBool = field(
        "A starter under the shingles along rakes too.", True, default=False
    )


class OpeningTable(Table):
    """A chimney, skylight, pipe or drain through the roof, or a scupper through a parapet."""

    id: Id = field("Name of the opening.", "stack")
    kind: OpeningKind = field(
        "A chimney, a skylight, a pipe, a roof drain, or a scupper: a hole through a parapet.",
        "chimney",
        "pipe",
        "drain",
    )
    at: tuple[Coordinate, Coordinate] = field(
        "Its centre in plan: to the east, to the north; of a scupper any place on or just inside "
        "the parapet that it goes through.",
        ["12 ft", "9 ft"],
    )
    size: tuple[Hole, Hole] | None = field(
        "Chimney and skylight: plan size along its own two sides.", ["32 in", "24 in"], default=None
    )
    diameter: Hole | None = field(
        "Pipe: outside diameter. Drain: diameter of its bowl.", "3 in", "110 mm", default=None
    )
    width: Hole | None = field("Scupper: width of its opening.", "12 in", default=None)
    sump: Hole | None = field(
        "Drain: side of the square that is sunk round it; none if left out.", "36 in", default=None
    )
    overflow: StrictBool | None = field(
        "Drain and scupper: water leaves by it only when the others are clogged.",
        True,
        default=None,
    )
    sill: Extent | None = field(
        "Drain and scupper: inlet above the low point of the roof; 2 in for an overflow, none "
        "for others if left out.",
        "2 in",
        default=None,
    )
    turn: Angle = field("Turn about its centre, counterclockwise.", "45 deg", default="0 deg")
    height: Hole | None = field(
        "From the highest roof point at its rim up to its top; 3 ft for a chimney, 12 in for a "
        "pipe and 4 in for a skylight or a drain's strainer if left out. Scupper: height of its "
        "opening, 4 in if left out.",
        "4 ft",
        default=None,
    )


class PlaneTable(Table):
    """The assembly that one plane shall carry, against the rule or the section."""

    id: PlaneId = field("Plane as results name it.", "porch.south")
    assembly: Id = field("Catalog id of the assembly.", "self-adhered-membrane")


class ModelTable(Table):
    """A roof: its name, how results are shown, and the blocks of building it covers."""

    model_config = ConfigDict(title="Model of a roof")

    version: Literal[1] = Field(
        alias="schema", description="Version of the file format.", examples=[1]
    )
    name: Name = field("What the model is called.", "Lantern Street house")
    units: Units = field("How results are shown.", "imperial", "metric", default="imperial")
    rules: RulesTable = field(
        "Limits that this model moves from where they usually lie.",
        {"low_slope_cutoff": "2:12"},
        default={},
    )
    site: SiteTable = field(
        "Where and when the roof is laid.",
        {"temperature": "35 F", "ice_barrier": True},
        default={},
    )
    layout: LayoutTable = field(
        "What this model wants of the laying.", {"valley": "closed_cut"}, default={}
    )
    catalog: FileName | None = field(
        "File of materials and assemblies that add to the built-in ones or replace them; beside "
        "the model file or by a path that starts there.",
        "our-roofs.toml",
        default=None,
    )
    section: list[SectionTable] = Field(
        description="The blocks of building; where they overlap, the higher surface is the roof.",
        examples=[[{"id": "main", "form": "gable", "length": "42 ft", "width": "28 ft"}]],
        min_length=1,
        max_length=MAX_SECTIONS,
    )
    opening: list[OpeningTable] = Field(
        default=[],
        description="Chimneys, skylights, pipes, roof drains and scuppers.",
        examples=[[{"id": "stack", "kind": "pipe", "at": ["3 m", "2 m"], "diameter": "110 mm"}]],
        max_length=MAX_OPENINGS,
    )
    plane: list[PlaneTable] = Field(
        default=[],
        description="Planes that shall carry a given assembly.",
        examples=[[{"id": "porch.south", "assembly": "self-adhered-membrane"}]],
        max_length=MAX_PLANES,
    )
