"""What a proof of laps is given and what it tells: pieces on a developed surface, and faults.

All is measured in one unfolded plane, metres. Nothing here has a meaning by its name: which of
two pieces lies on top is told by ``order`` alone.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum
from typing import TypeAlias

import numpy as np
import shapely
from numpy.typing import NDArray

Point2: TypeAlias = tuple[float, float]
Floats: TypeAlias = NDArray[np.float64]


class PieceKind(StrEnum):
    """What a piece is for the water: a sheet holds it, a shingle sheds it."""

    SHEET = "sheet"
    SHINGLE = "shingle"
    METAL = "metal"


class Rim(StrEnum):
    """What lies beyond a border of a face.

    ``eave`` and ``rake`` are free edges; ``closed`` is a wall, or whatever else keeps the water
    off a head that ends there.
    """

    EAVE = "eave"
    RAKE = "rake"
    CLOSED = "closed"


def _no_nails() -> Floats:
    none = np.empty((0, 2))
    none.setflags(write=False)
    return none


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class LapPiece:
    """One piece as it lies on the developed surface.

    Attributes
    ----------
    id, layer : str
        Pieces of one layer lap each other by ``row_lap`` and ``end_lap``.
    kind : PieceKind
    order : float
        Later pieces lie over earlier ones.
    shape : shapely.Geometry
        Polygon or multipolygon.
    row_lap, end_lap : float
        Least laps within its layer: between rows, and within a row. 0 for none.
    other_lap : float
        Least lap of a later piece of another layer over its head.
    bonded : bool
        Whether it is stuck down: self-adhered, cemented or welded.
    seals_nails : bool
        Whether a nail through it does no harm.
    weathers : bool
        Whether it may be seen from above.
    turned_down : bool
        Whether it is bent down over a free edge that it touches.
    nails : (k, 2) float64
        Its fasteners.
    nail_cover : float
        How far a later piece reaches past each; below 0 where they may be seen.
    welded : bool
        Whether its edges are sealed so that they may face the flow.
    guest : bool
        Whether it is judged elsewhere: it covers and carries here, no more.
    ends_known : bool
        False where only its long edges have their place.
    course : int
        Row in the layer; pieces of one row are neighbours.
    run : Point2
        Unit vector along the row.
    stagger : float
        Least distance of joints in neighbouring rows; 0 for none.
    below : str
        Layer whose laps its own stay off; empty for none.
    side_offset, end_offset : float
        How far: laps between rows, and within them.
    name : str
        For people; empty where the id will do.
    """

    id: str
    layer: str
    kind: PieceKind
    order: float
    shape: shapely.Geometry
    row_lap: float = 0.0
    end_lap: float = 0.0
    other_lap: float = 0.0
    bonded: bool = False
    seals_nails: bool = False
    weathers: bool = False
    turned_down: bool = False
    nails: Floats = field(default_factory=_no_nails)
    nail_cover: float = -1.0
    welded: bool = False
    guest: bool = False
    ends_known: bool = True
    course: int = 1
    run: Point2 = (1.0, 0.0)
    stagger: float = 0.0
    below: str = ""
    side_offset: float = 0.0
    end_offset: float = 0.0
    name: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Border:
    """A straight border of a face: what lies beyond, and how near it an edge counts as there."""

    rim: Rim
    start: Point2
    end: Point2
    within: float


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Face:
    """A part of the surface in which all water runs one way.

    Attributes
    ----------
    id : str
    region : shapely.Geometry
    flow : Point2
        Unit vector down the slope; (0, 0) where it is level.
    borders : tuple[Border, ...]
        Where no border is given the surface goes on.
    asked : tuple[tuple[str, shapely.Geometry], ...]
        Layers, and the part of the face that each must cover.
    """

    id: str
    region: shapely.Geometry
    flow: Point2
    borders: tuple[Border, ...] = ()
    asked: tuple[tuple[str, shapely.Geometry], ...] = ()


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Surface:
    """Faces side by side, unfolded into one plane."""

    faces: tuple[Face, ...]


class FaultKind(StrEnum):
    """What can be wrong with a lap."""

    BACK_WATER = "back_water"
    HEAD_BARE = "head_bare"
    SHORT_LAP = "short_lap"
    BUTT_IN_AIR = "butt_in_air"
    STACKED = "stacked"
    NAIL_BARE = "nail_bare"
    BARE = "bare"
    LEFT_OUT = "left_out"


WORDS = {
    FaultKind.BACK_WATER: "a lap faces up the slope: water runs in under the upper piece",
    FaultKind.HEAD_BARE: "the upper edge of a piece is not under a later one that closes it",
    FaultKind.SHORT_LAP: "a lap is shorter than its rule",
    FaultKind.BUTT_IN_AIR: "the lower edge of a piece rests on nothing",
    FaultKind.STACKED: "laps or joints lie too near over each other",
    FaultKind.NAIL_BARE: "a fastener is not covered by a later piece, or pierces what must hold",
    FaultKind.BARE: "what must be covered is seen from above",
    FaultKind.LEFT_OUT: "a layer does not lie where its assembly asks for it",
}
"""Each invariant in plain words."""

WHY = {
    FaultKind.BACK_WATER: "what runs down is led under the sheet and onto the deck",
    FaultKind.HEAD_BARE: "water that comes from above runs in behind it",
    FaultKind.SHORT_LAP: "wind and standing water drive rain back through it",
    FaultKind.BUTT_IN_AIR: "what runs off it falls on the deck",
    FaultKind.STACKED: "one leak goes through all sheets at one line, and the edges telegraph",
    FaultKind.NAIL_BARE: "water follows the shank of the nail into the deck",
    FaultKind.BARE: "nothing there keeps the rain off",
    FaultKind.LEFT_OUT: "the roof there is thinner by a layer, and what it was for is not done",
}
"""Why each matters, in plain words."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LapFault:
    """One place where water may get in.

    Attributes
    ----------
    kind : FaultKind
    face : str
    pieces : tuple[str, ...]
        Ids: the piece at fault, then what it meets.
    layers : tuple[str, ...]
        Of those pieces.
    at : Point2
        In the developed surface.
    reached, wanted : float
        Metres; of ``bare`` and ``left_out`` square metres, and none wanted.
    """

    kind: FaultKind
    face: str
    pieces: tuple[str, ...]
    layers: tuple[str, ...]
    at: Point2
    reached: float
    wanted: float

    @property
    def words(self) -> str:
        """Return the rule that is broken, in plain words."""
        return WORDS[self.kind]
