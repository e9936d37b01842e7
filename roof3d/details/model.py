"""A layered detail: its pieces at true size in the roof's own place, in the order of work."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

from roof3d.details.frame import Face, Floats, Frame, Point2, Point3
from roof3d.details.mistakes.model import WrongBuild
from roof3d.units import Units

INCH = 0.0254
PRACTICE = "common practice, no source"
_MILLIMETRE = 1000.0
_COARSE, _FINE = 8, 32
_EXACT = 0.01


class DetailKind(StrEnum):
    """What a place of a roof is, as its detail shows it."""

    LOW_BELOW_STEEP = "low-below-steep"
    LOW_ABOVE_STEEP = "low-above-steep"
    EAVE_MEMBRANE = "eave-membrane"
    EAVE_SHINGLE = "eave-shingle"
    RAKE_MEMBRANE = "rake-membrane"
    RAKE_SHINGLE = "rake-shingle"
    VALLEY_OPEN = "valley-open"
    VALLEY_CLOSED = "valley-closed"
    VALLEY_JOINT = "valley-joint"
    HIP = "hip"
    RIDGE = "ridge"
    RIDGE_VENTED = "ridge-vented"
    HEADWALL_MEMBRANE = "headwall-membrane"
    HEADWALL_SHINGLE = "headwall-shingle"
    SIDEWALL_MEMBRANE = "sidewall-membrane"
    SIDEWALL_SHINGLE = "sidewall-shingle"
    PITCH_BREAK = "pitch-break"
    CAP_LAP = "cap-lap"
    CORNER = "corner"
    PIPE_MEMBRANE = "pipe-membrane"
    PIPE_SHINGLE = "pipe-shingle"
    CHIMNEY = "chimney"
    CHIMNEY_MEMBRANE = "chimney-membrane"
    PARAPET = "parapet"
    DRAIN = "drain"
    SCUPPER = "scupper"


class PieceKind(StrEnum):
    """What a piece is, for those who draw it."""

    FRAMING = "framing"
    DECK = "deck"
    SHEET = "sheet"
    BED = "bed"
    METAL = "metal"
    STARTER = "starter"
    SHINGLE = "shingle"
    FASTENER = "fastener"
    WALL = "wall"
    UNIT = "unit"


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Footprint:
    """What a piece covers of one face, as it would be measured on the deck.

    Attributes
    ----------
    face : Face
    outline : (n, 2) float64
        Corners in (u, s), metres, counterclockwise, not closed; read-only.
    holes : tuple of (k, 2) float64
        Clockwise, not closed; read-only.
    """

    face: Face
    outline: Floats
    holes: tuple[Floats, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class FaceWords:
    """A face of a detail for those who name it.

    Attributes
    ----------
    face : Face
    name : str
        A plane's id, or ``wall``, ``fascia``, ``barge board``.
    slope : float or None
        Rise over run; None where it is upright.
    flow : Point2 or None
        The way of water on it, a unit vector in (u, s); None where it is level.
    """

    face: Face
    name: str
    slope: float | None
    flow: Point2 | None


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Piece:
    """One piece as it is laid: a closed solid.

    Attributes
    ----------
    id, name : str
        The id is unique in the detail; the name is for people.
    order : int
        Its place in the order of work, from 0.
    kind : PieceKind
    layer : int
        Number of its layer, 1 at the bottom.
    material : str
        Catalog material id; empty for framing.
    reach : tuple[float, float]
        From where to where it lies along the profile, metres on the deck, square to the
        line: below zero on the near face, above zero on the far one.
    span : tuple[float, float]
        From where to where it lies along the line, metres from the middle of the detail.
    footprints : tuple[Footprint, ...]
        What it covers of each face, at its true size whatever the drawn thickness; empty
        for framing and fasteners.
    vertices : (n, 3) float64, metres, read-only
    triangles : (m, 3) int64, counterclockwise seen from outside, read-only
    rims : tuple of (k, 3) float64
        Lines that a draughtsman inks.
    profiles : tuple of (k, 2) float64
        Its outlines where a plane square to the line cuts it at the detail's middle: metres
        in ``Frame.section`` coordinates, counterclockwise; empty for fasteners.
    lift : Point3
        Unit direction in which an exploded view moves it.
    """

    id: str
    name: str
    order: int
    kind: PieceKind
    layer: int
    material: str
    reach: tuple[float, float]
    span: tuple[float, float]
    footprints: tuple[Footprint, ...]
    vertices: Floats
    triangles: NDArray[np.int64]
    rims: tuple[Floats, ...]
    profiles: tuple[Floats, ...]
    lift: Point3


@dataclass(frozen=True, slots=True, kw_only=True)
class DetailLayer:
    """One step of the work.

    Attributes
    ----------
    number : int
        1 at the bottom.
    name, size, why, fastening, source : str
        Plain words; ``size`` holds the lengths that matter, ``source`` where they come
        from.
    tool, gear, mistake, check : str
        Plain words: what it is done with, what protects the one who does it, what is
        commonly done wrong, and how to see that it is right.
    material : str
        Catalog material id.
    """

    number: int
    name: str
    material: str
    size: str
    why: str
    fastening: str
    source: str
    tool: str = ""
    gear: str = ""
    mistake: str = ""
    check: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Measure:
    """A length of the detail that is drawn: between two points in the roof's own place.

    Attributes
    ----------
    id : str
    layer : int
        Layer whose pieces it measures; it moves with that layer when that is lifted.
    reach : tuple[float, float]
        Its two ends along the profile, as ``Piece.reach``.
    ends : tuple[Point3, Point3]
        Their distance is ``value``.
    value : float
        Metres.
    text, source : str
    """

    id: str
    layer: int
    reach: tuple[float, float]
    ends: tuple[Point3, Point3]
    value: float
    text: str
    source: str


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Detail:
    """A joint of the roof, cut out and put together.

    Attributes
    ----------
    id : str
        Of the place: the edge, opening or plane.
    kind : DetailKind
    name : str
        Its title.
    summary : str
        The slopes that meet, in a few words.
    planes : tuple[str, ...]
        Ids of the planes that it lies on; the near one first.
    faces : tuple[FaceWords, FaceWords]
        The near and the far one.
    frame : Frame
    size : tuple[float, float, float]
        Metres along the line, onto the near face, onto the far face.
    layers : tuple[DetailLayer, ...]
        In the order of work; a layer that the cut-out does not reach is left out.
    pieces : tuple[Piece, ...]
        In the order of work.
    measures : tuple[Measure, ...]
    notes : tuple[str, ...]
        What else must be known.
    thickness : tuple[float, float]
        Factor on true thickness, and least drawn thickness in metres (0 for none).
    uses_heat : bool
        Whether hot tools are used.
    mistake : WrongBuild or None
        What is built wrong on purpose.
    missing : tuple[DetailLayer, ...]
        Layers left out by it.
    mistakes : tuple[WrongBuild, ...]
        Those that it can be built with, where they were asked for.
    """

    id: str
    kind: DetailKind
    name: str
    summary: str
    planes: tuple[str, ...]
    faces: tuple[FaceWords, FaceWords]
    frame: Frame
    size: tuple[float, float, float]
    layers: tuple[DetailLayer, ...]
    pieces: tuple[Piece, ...]
    measures: tuple[Measure, ...]
    notes: tuple[str, ...]
    thickness: tuple[float, float]
    uses_heat: bool
    mistake: WrongBuild | None = None
    missing: tuple[DetailLayer, ...] = ()
    mistakes: tuple[WrongBuild, ...] = ()

    @property
    def convex(self) -> bool:
        """Whether the faces bend away from the sky at the line."""
        return self.frame.convex


def size_text(metres: float, units: Units = Units.IMPERIAL, *, least: bool = False) -> str:
    """Write a length of a detail: inches and fractions, or whole millimetres.

    A length that is no whole number of thirty-seconds is rounded to the nearest eighth.

    Parameters
    ----------
    metres : float
    units : Units
    least : bool
        A minimum: rounded up, so that what is built as written never falls short.

    Examples
    --------
    >>> size_text(1.000125), size_text(15 / 32 * INCH), size_text(0.1016, Units.METRIC)
    ('39 3/8 in', '15/32 in', '102 mm')
    >>> size_text(20.8 * INCH), size_text(20.8 * INCH, least=True)
    ('20 3/4 in', '20 7/8 in')
    """
    if units is Units.METRIC:
        return f"{_steps(metres * _MILLIMETRE, least=least)} mm"
    fine = metres / INCH * _FINE
    steps = _FINE if abs(fine - round(fine)) < _EXACT else _COARSE
    whole, part = divmod(_steps(metres / INCH * steps, least=least), steps)
    fraction = Fraction(part, steps)
    words = [str(whole)] if whole or not part else []
    if part:
        words.append(f"{fraction.numerator}/{fraction.denominator}")
    return " ".join(words) + " in"


def _steps(number: float, *, least: bool) -> int:
    """Round to whole steps; a minimum up, but for what is off a whole step by rounding alone."""
    return math.ceil(number - _EXACT) if least else round(number)
