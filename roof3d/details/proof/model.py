"""What a proof of a detail tells: faults with their place, and the way the water takes."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from roof3d.details.frame import Face, Point3


class FaultKind(StrEnum):
    """What can be wrong with a detail; the first seven are those of any lap."""

    BACK_WATER = "back_water"
    HEAD_BARE = "head_bare"
    SHORT_LAP = "short_lap"
    BUTT_IN_AIR = "butt_in_air"
    STACKED = "stacked"
    NAIL_BARE = "nail_bare"
    BARE = "bare"
    DRY_METAL = "dry_metal"
    OUT_OF_ORDER = "out_of_order"
    MISSING = "missing"


@dataclass(frozen=True, slots=True, kw_only=True)
class Waypoint:
    """A place that the water passes.

    Attributes
    ----------
    point : Point3
        Metres, with all layers where they belong, as thick as drawn.
    layer : int
        Number of the layer that it runs on, and with which it is lifted.
    piece : str
        Id of the piece; of the deck where nothing else is there.
    """

    point: Point3
    layer: int
    piece: str


@dataclass(frozen=True, slots=True, kw_only=True)
class DetailFault:
    """One place of a detail where water gets in.

    Attributes
    ----------
    kind : FaultKind
    face : Face
    pieces : tuple[str, ...]
        Ids: the piece at fault first, then what it meets; empty for bare deck.
    layers : tuple[int, ...]
        Of those pieces.
    reached, wanted : float
        Metres; of ``bare`` square metres seen, and none wanted.
    words : str
        One plain sentence.
    at : Point3
        The place, on the drawn pieces where they belong.
    spot : tuple[float, float]
        The same in (u, s).
    path : tuple[Waypoint, ...]
        How the water goes: down the slope over what is on top, in at the fault, and on below
        down to the deck.
    """

    kind: FaultKind
    face: Face
    pieces: tuple[str, ...]
    layers: tuple[int, ...]
    reached: float
    wanted: float
    words: str
    at: Point3
    spot: tuple[float, float]
    path: tuple[Waypoint, ...]


class Facing(StrEnum):
    """Which way the open edge of a lap looks."""

    DOWN = "down the slope"
    UP = "up the slope"
    ALONG = "along the flow"


@dataclass(frozen=True, slots=True, kw_only=True)
class LapRow:
    """Two pieces that lie on one another along the way of the water.

    Attributes
    ----------
    upper, lower : str
        Ids of the pieces.
    layers : tuple[int, int]
        Of the upper and the lower one.
    face : Face
        Where they meet.
    lap : float
        Metres, measured along the flow, or across it where the lap runs along the flow.
    facing : Facing
        Which way the open edge of the upper piece looks.
    wanted : float
        Least lap that the rule asks, metres; 0 where it asks none.
    ok : bool
    at : Point3
    """

    upper: str
    lower: str
    layers: tuple[int, int]
    face: Face
    lap: float
    facing: Facing
    wanted: float
    ok: bool
    at: Point3
