"""What a wrong build is, for those who are to learn from it."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from roof3d.details.proof.model import FaultKind


class Mistake(StrEnum):
    """A mistake that a detail can be built with."""

    BACK_LAP = "back-lap"
    SHORT_LAP = "short-lap"
    MISSING_LAYER = "missing-layer"
    LOW_NAIL = "low-nail"
    STACKED_JOINT = "stacked-joint"
    METAL_OVER = "metal-over"
    METAL_UNDER = "metal-under"
    BARRIER_UNDER = "barrier-under"
    DRY_BED = "dry-bed"
    SWAPPED_PLIES = "swapped-plies"
    STOPPED_SHORT = "stopped-short"
    FACE_NAILED = "face-nailed"
    NO_KICK_OUT = "no-kick-out"
    WRONG_SIDE = "wrong-side"
    NO_COUNTERFLASHING = "no-counterflashing"


@dataclass(frozen=True, slots=True, kw_only=True)
class WrongBuild:
    """A mistake at one kind of joint, in plain words.

    Attributes
    ----------
    mistake : Mistake
    title : str
        A few words.
    wrong, water, cost, see : str
        One sentence each: what is built wrong, what the water does, what that costs, and how
        it is seen before it is covered.
    expected : FaultKind
        What the proof finds.
    source : str
    """

    mistake: Mistake
    title: str
    wrong: str
    water: str
    cost: str
    see: str
    expected: FaultKind
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """What is changed: ``late`` families are laid before those of ``soon``; ``gone`` not at all.

    ``low`` families end half as high as they should on the far face; ``back`` ones stop behind
    the metal of the edge; through the metal of ``nailed`` nails are driven. All empty where the
    pieces themselves tell: see ``rewrite``.
    """

    late: tuple[str, ...] = ()
    soon: tuple[str, ...] = ()
    gone: tuple[str, ...] = ()
    low: tuple[str, ...] = ()
    back: tuple[str, ...] = ()
    nailed: tuple[str, ...] = ()
