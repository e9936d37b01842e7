"""The model file as frozen values: SI numbers, every default filled in.

Owned by the reader in this room, which parses the TOML and resolves units and the
eave-ridge-pitch triangle; everything above it sees only these.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from roof3d.units import Units

__all__ = [
    "CatalogText",
    "Form",
    "LayoutSpec",
    "OpeningKind",
    "OpeningSpec",
    "OverhangSpec",
    "ParapetSpec",
    "PlaneSpec",
    "Rise",
    "RoofSpec",
    "RuleSpec",
    "SectionSpec",
    "SiteSpec",
    "Units",
    "Valley",
    "Wind",
    "Zones",
]


class Form(StrEnum):
    """Shape of a section's roof over its wall rectangle."""

    GABLE = "gable"
    HIP = "hip"
    SHED = "shed"
    FLAT = "flat"
    GAMBREL = "gambrel"
    MANSARD = "mansard"
    OUTLINE = "outline"


class Level(StrEnum):
    """What gives way where pitches differ along an outline, so that its fascia stays level."""

    FASCIA = "fascia"  # overhangs stay as they are, the plate moves
    PLATE = "plate"  # the plate stays level, overhangs change


class OpeningKind(StrEnum):
    """What goes through the roof."""

    CHIMNEY = "chimney"
    SKYLIGHT = "skylight"
    PIPE = "pipe"
    DRAIN = "drain"
    SCUPPER = "scupper"


class Wind(StrEnum):
    """Fastening asked for by the wind."""

    NORMAL = "normal"
    HIGH = "high"


class Zones(StrEnum):
    """How far in from the edges wind pulls harder, by which rule."""

    NONE = "none"
    GIVEN = "given"
    ASCE_7_10 = "asce_7_10"  # a: a tenth of the least side or 0.4 h
    ASCE_7_16 = "asce_7_16"  # low slope: 0.6 h


class Valley(StrEnum):
    """How valleys between shingle planes are made."""

    OPEN = "open"
    CLOSED_CUT = "closed_cut"


class Rise(StrEnum):
    """How the 18 in that a membrane is carried up a steep slope are read."""

    ALONG = "along"  # on the slope, and at least 8 in straight up
    VERTICAL = "vertical"  # straight up


@dataclass(frozen=True, slots=True, kw_only=True)
class RuleSpec:
    """Limits that the model may move, and what it would rather have.

    Attributes
    ----------
    low_slope_cutoff : float
        Rise over run; a plane below it is low, one exactly at it is steep.
    low_assembly, steep_assembly : str
        Catalog id wished for planes of that kind; empty to choose by rule.
    """

    low_slope_cutoff: float
    low_assembly: str = ""
    steep_assembly: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class SiteSpec:
    """Where and when the roof is laid.

    Attributes
    ----------
    temperature : float or None
        On the day of laying, degrees Celsius; None where not said.
    ice_barrier : bool
        Whether the place asks for one along the eaves.
    code : str
        Edition whose rules hold, for instance ``IRC 2018``.
    wind : Wind
    zones : Zones
    zone_width : float
        Metres, where ``zones`` is given; 0 otherwise.
    """

    temperature: float | None = None
    ice_barrier: bool = False
    code: str = "IRC 2018"
    wind: Wind = Wind.NORMAL
    zones: Zones = Zones.NONE
    zone_width: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class LayoutSpec:
    """What the model wants of the laying.

    Attributes
    ----------
    valley : Valley
    membrane_rise : Rise
    even_laps : bool or None
        Widen the laps of sheets to one exposure for all layers of a plane, so that laps
        once parted never drift together; None to do so where no first course keeps them apart.
    ridge_vent : bool
        A vent along every ridge between shingles.
    rake_starter : bool
        A starter under the shingles along rakes too.
    """

    valley: Valley = Valley.OPEN
    membrane_rise: Rise = Rise.ALONG
    even_laps: bool | None = None
    ridge_vent: bool = False
    rake_starter: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class CatalogText:
    """A catalog file that the model brings along: its name as written, and its text."""

    name: str
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class OverhangSpec:
    """How far the roof runs past the outside wall faces, in plan, metres.

    Attributes
    ----------
    eave : float
        Past the walls that carry a level edge, also the high wall of a shed.
    rake : float
        Past the walls that end in a sloping edge.
    """

    eave: float
    rake: float


@dataclass(frozen=True, slots=True, kw_only=True)
class ParapetSpec:
    """A low wall that stands on the walls of a section and holds its roof in.

    Attributes
    ----------
    height : float
        From the highest point of the roof along its inside up to its level top, metres.
    thickness : float
        Metres; its outside face is that of the wall below.
    sides : tuple of int or None
        Walls that carry it where the roof ends free: of a rectangle counterclockwise from the
        one that a shed falls toward; of an outline its edges. None for all, courtyards too.
    """

    height: float
    thickness: float
    sides: tuple[int, ...] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class EdgeSpec:
    """One wall of an outline, from its corner to the next, and the roof over it.

    Attributes
    ----------
    pitch : float
        Rise over run; ``inf`` is a gable, a wall that runs up to the roof.
    eave : float
        Height of the roof surface straight above the outside wall face, metres; of a gable
        the section's.
    overhang : float
        Past this wall, in plan, metres.
    hip_from : float or None
        Gable only: height above which a hip leans back (a clipped gable), metres.
    hip_pitch : float
        Rise over run of that hip; 0 without one.
    gable_from : float or None
        Sloping only: height above which it is a gable (a gable on a hip), metres.
    """

    pitch: float
    eave: float
    overhang: float
    hip_from: float | None
    hip_pitch: float
    gable_from: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class OutlineSpec:
    """Walls of any shape, and the roof over each of them.

    Attributes
    ----------
    rings : tuple of rings of (x, y)
        Outside wall faces in the section's own frame, metres: the exterior
        counterclockwise, then courtyards clockwise.
    edges : tuple of rings of EdgeSpec
        Edge k runs from corner k to the next.
    fall : int or None
        With it the whole outline has one plane, which falls to this edge of the exterior.
    deck : float or None
        Height at which the roof is cut by a deck, metres.
    deck_pitch : float
        Rise over run with which the deck falls to all sides; 0 is level.
    """

    rings: tuple[tuple[tuple[float, float], ...], ...]
    edges: tuple[tuple[EdgeSpec, ...], ...]
    fall: int | None
    deck: float | None
    deck_pitch: float


@dataclass(frozen=True, slots=True, kw_only=True)
class SectionSpec:
    """A block of building with its roof.

    The wall rectangle is ``[0, length] x [0, width]`` in the section's own frame: x along
    the ridge, y across, the first corner at ``at``, the frame turned by ``turn`` about it.

    Attributes
    ----------
    id : str
    form : Form
    length, width : float
        Outside of the walls, metres, above 0.
    at : tuple[float, float]
        First wall corner in plan, metres.
    turn : float
        Radians, counterclockwise.
    eave : float
        Height of the roof surface straight above the outside wall face, metres; the low
        wall where the walls differ.
    ridge : float
        Highest point of the roof over the wall rectangle, metres; of a shed the high wall.
    pitch : float
        Rise over run, 0 or more; above the break on a gambrel or mansard.
    pitch_back : float
        Rise over run of a gable's side that falls to +y; ``pitch`` on every other form.
    lower_pitch : float
        Rise over run below the break; 0 on forms without one.
    break_in : float
        Plan distance from the wall to the break, metres; 0 on forms without one.
    overhang : OverhangSpec
    base : float
        Underside of the walls, metres; 0 is the ground.
    open : bool
        True without walls, as a carport.
    assembly : str
        Catalog id of what lies on every plane of the section; empty to choose by rule.
    outline : OutlineSpec or None
        Of the form ``outline``, whose ``length`` and ``width`` are 0 and whose ``ridge`` is
        its ``eave``: the highest point follows from the outline.
    parapet : ParapetSpec or None
        Where one stands, the roof has no overhang.
    """

    id: str
    form: Form
    length: float
    width: float
    at: tuple[float, float]
    turn: float
    eave: float
    ridge: float
    pitch: float
    pitch_back: float
    lower_pitch: float
    break_in: float
    overhang: OverhangSpec
    base: float
    open: bool
    assembly: str
    outline: OutlineSpec | None = None
    parapet: ParapetSpec | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class OpeningSpec:
    """A chimney, skylight, pipe, roof drain or scupper.

    Attributes
    ----------
    id : str
    kind : OpeningKind
    at : tuple[float, float]
        Centre in plan, metres; of a scupper a place on or beside its parapet.
    size : tuple[float, float]
        Plan size along its own x and y, metres; of a pipe or a drain's bowl its diameter
        twice; of a scupper the width and the height of its opening.
    turn : float
        Radians, counterclockwise.
    height : float
        From the highest roof point of its rim up to its top, metres: of a drain that of its
        strainer; of a scupper the height of its opening.
    sump, sill : float
        Of a drain: side of the square that is sunk round it (0 for none); of a drain or
        scupper: its inlet above the low point of the roof, metres.
    overflow : bool
        Of a drain or scupper: water leaves by it only when the others are clogged.
    """

    id: str
    kind: OpeningKind
    at: tuple[float, float]
    size: tuple[float, float]
    turn: float
    height: float
    sump: float = 0.0
    overflow: bool = False
    sill: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class PlaneSpec:
    """The assembly that the model asks for on one plane."""

    id: str
    assembly: str


@dataclass(frozen=True, slots=True, kw_only=True)
class RoofSpec:
    """A whole model.

    Attributes
    ----------
    version : int
        Of the file format.
    name : str
    units : Units
    rules : RuleSpec
    sections : tuple[SectionSpec, ...]
        In the order of the file.
    openings : tuple[OpeningSpec, ...]
    planes : tuple[PlaneSpec, ...]
    site : SiteSpec
    layout : LayoutSpec
    catalog : CatalogText or None
        Materials and assemblies that the model adds or replaces.
    """

    version: int
    name: str
    units: Units
    rules: RuleSpec
    sections: tuple[SectionSpec, ...]
    openings: tuple[OpeningSpec, ...]
    planes: tuple[PlaneSpec, ...]
    site: SiteSpec = SiteSpec()
    layout: LayoutSpec = LayoutSpec()
    catalog: CatalogText | None = None
