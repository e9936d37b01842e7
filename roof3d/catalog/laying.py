"""How an assembly lays its materials: layers, strips along edges, and their nails."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum


class Border(StrEnum):
    """How an edge looks from one of the planes that it bounds.

    ``break`` is a transition or pitch break between assemblies of one kind, ``joint`` an edge
    between a membrane and shingles. On both, ``upper`` is the plane that the water leaves
    and ``lower`` the one that it runs onto; a joint may also be a valley. A ridge or hip is
    one whatever lies beyond. In a closed-cut valley one plane's shingles run through and the
    other's are cut: ``valley_through`` and ``valley_cut``. The rim of a chimney or skylight has
    a foot (its low side), a head and sides; that of a pipe is one, and that of a drain's bowl.
    A scupper bounds no plane: strips alone lie round it. A parapet is a headwall or a sidewall.
    """

    EAVE = "eave"
    RAKE = "rake"
    HIGH_EDGE = "high_edge"
    RIDGE = "ridge"
    HIP = "hip"
    VALLEY = "valley"
    VALLEY_THROUGH = "valley_through"
    VALLEY_CUT = "valley_cut"
    HEADWALL = "headwall"
    SIDEWALL = "sidewall"
    PIPE = "pipe"
    DRAIN = "drain"
    SCUPPER = "scupper"
    OPENING_FOOT = "opening_foot"
    OPENING_SIDE = "opening_side"
    OPENING_HEAD = "opening_head"
    BREAK_UPPER = "break_upper"
    BREAK_LOWER = "break_lower"
    JOINT_UPPER = "joint_upper"
    JOINT_LOWER = "joint_lower"
    JOINT_VALLEY = "joint_valley"


@dataclass(frozen=True, slots=True, kw_only=True)
class Reach:
    """How far a layer runs past an edge, measured square to it in the plane, unfolded.

    ``length + rise * R + gap * G`` metres, negative where it stops short: R is how far the
    membrane is carried up the steep side of a joint, G how far shingles stay off it.
    """

    length: float = 0.0
    rise: int = 0
    gap: int = 0

    def at(self, rise: float, gap: float) -> float:
        """Return the reach in metres at a joint with that rise and gap."""
        return self.length + self.rise * rise + self.gap * gap


@dataclass(frozen=True, slots=True, kw_only=True)
class Nailing:
    """Where fasteners go. Metres; 0 where that row is not nailed.

    Attributes
    ----------
    fastener : str
        Material id.
    lap_spacing : float
        Apart along every side lap; of a strip, along each of its rows.
    lap_start : float
        First of a lap row from the end of the sheet or strip.
    field_spacing, field_rows : float, int
        Staggered rows between the laps.
    strip_rows, strip_first, strip_between : int, float, float
        Of a strip: rows, the first row's distance from its edge, and between rows; rows
        are staggered by half the spacing.
    per_piece, per_piece_wind : int
        Of shingles and starters: nails a whole piece, and in high wind.
    line, inset : float
        Of shingles: height of the nail line over the lower edge; first nail from the ends.
    perimeter_share, corner_share : float
        Spacing in the wind zones as a share of the field's; 1 for no change.
    source : str
    """

    fastener: str
    source: str
    lap_spacing: float = 0.0
    lap_start: float = 0.0
    field_spacing: float = 0.0
    field_rows: int = 0
    strip_rows: int = 0
    strip_first: float = 0.0
    strip_between: float = 0.0
    per_piece: int = 0
    per_piece_wind: int = 0
    line: float = 0.0
    inset: float = 0.0
    perimeter_share: float = 1.0
    corner_share: float = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Layer:
    """One layer of an assembly, bottom up: a material id, its role, how it is laid and held.

    Attributes
    ----------
    material, role : str
    fastening : str
        In plain words.
    source : str
    reach : tuple[tuple[Border, Reach], ...]
        How far it runs past each kind of edge; 0 where not listed.
    first : float
        Share of a sheet's width laid as the first course, above 0, at most 1.
    side_lap, end_lap : float
        As laid here, where more than the material's least; 0 for the material's.
    clear : float
        Least distance of its side laps from a joint with shingles that it crosses.
    along_from : float
        Sheets run along the slope on slopes from this on, across it below; rise over run.
    nailing : Nailing or None
    ice_only : bool
        Laid only where the site asks for an ice barrier, and only to the ice line.
    after_ice : float
        Where an ice barrier lies below, this layer starts this far below its head; 0 where
        it runs on to the edge as usual.
    bed : str
        Liquid material id spread under its end laps, or empty.
    bed_sides : bool
        Whether it goes under the side laps too.
    primer : str
        Liquid material id spread on what lies below, over the whole extent, or empty.
    """

    material: str
    role: str
    fastening: str
    source: str
    reach: tuple[tuple[Border, Reach], ...] = ()
    first: float = 1.0
    side_lap: float = 0.0
    end_lap: float = 0.0
    clear: float = 0.0
    along_from: float = math.inf
    nailing: Nailing | None = None
    ice_only: bool = False
    after_ice: float = 0.0
    bed: str = ""
    bed_sides: bool = False
    primer: str = ""

    def reach_at(self, border: Border, *, rise: float = 0.0, gap: float = 0.0) -> float:
        """Return how far it runs past an edge, metres; negative where it stops short."""
        for known, reach in self.reach:
            if known is border:
                return reach.at(rise, gap)
        return 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class StripRule:
    """Pieces laid in a row along edges: metals, starters, hip and ridge pieces, linings.

    Attributes
    ----------
    id : str
        ``edge-metal``, ``starter``, ``valley-lining``; unique in its assembly.
    material : str
    at : tuple[Border, ...]
        Where it is laid.
    start : Reach
        Where its lower (outer) side lies, measured from the edge inward, up the plane.
    width : float
        Square to the edge; 0 for the material's. Across a hip, ridge or valley it is the
        whole width, half on each side, laid once.
    lap : float
        Along the edge; 0 for the material's ``end_lap`` (or length less exposure).
    per_course : bool
        One piece a shingle course along the edge, as step flashing.
    first : float
        Length of the first piece where it is not a whole one, so that joints do not stand
        over each other; 0 for a whole one.
    each : bool
        One piece an edge or opening, whatever its length, as a pipe flashing.
    extra : int
        Pieces more than the length asks for, each run: the closed end of a ridge.
    past : float
        How far the row stands past both ends of the edge.
    nailing : Nailing or None
    bed, bed_width : str, float
        Liquid material under it and the width of the bed.
    primer, primed_faces : str, int
        Liquid material on it, and on how many faces.
    valley : str
        Only where the model's valleys are made this way (``open`` or ``closed_cut``);
        empty for every one.
    ice_only : bool
        Only where the site asks for an ice barrier.
    vent, no_vent : bool
        Only where the model wants a vented ridge; everywhere but along a vented ridge.
    rake_starter : bool
        Only where the model wants starters along rakes.
    opening : str
        Only round openings of that kind; empty for every kind.
    no_cricket : bool
        Not round an opening behind which a cricket stands.
    before : str
        Role of the layer that it is laid before; empty where it comes after all layers.
    parapet : str
        ``never`` along parapets; ``inside`` or ``outside`` along them alone, as long as that
        face of the wall; empty along every wall.
    over : str
        Along a parapet, what it is wider by: ``top`` its thickness, ``wall`` its height too.
        A sheet carried over the wall is cut across the roll.
    higher_than : float
        Only along walls of a parapet higher than this above the roof.
    joints_of : str
        One piece under each joint of the strip with this id, and at each corner; empty for
        pieces in a row.
    source : str
    """

    id: str
    material: str
    at: tuple[Border, ...]
    source: str
    start: Reach = Reach()
    width: float = 0.0
    lap: float = 0.0
    per_course: bool = False
    first: float = 0.0
    each: bool = False
    extra: int = 0
    nailing: Nailing | None = None
    bed: str = ""
    bed_width: float = 0.0
    primer: str = ""
    primed_faces: int = 0
    valley: str = ""
    ice_only: bool = False
    vent: bool = False
    no_vent: bool = False
    rake_starter: bool = False
    opening: str = ""
    no_cricket: bool = False
    before: str = ""
    past: float = 0.0
    parapet: str = ""
    over: str = ""
    higher_than: float = 0.0
    joints_of: str = ""
