"""A layered detail: its pieces at true size in the roof's own place, in the order of work."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from roof3d.units import Units

Point3: TypeAlias = tuple[float, float, float]
Floats: TypeAlias = NDArray[np.float64]

INCH = 0.0254
PRACTICE = "common practice, no source"
_MILLIMETRE = 1000.0
_COARSE, _FINE = 8, 32
_EXACT = 0.01


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


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Piece:
    """One piece as it is laid: a closed solid.

    Attributes
    ----------
    id, name : str
        The id is unique in the detail; the name is for people.
    kind : PieceKind
    layer : int
        Number of its layer, 1 at the bottom.
    material : str
        Catalog material id; empty for framing.
    reach : tuple[float, float]
        From where to where it lies along the profile, metres on the deck, square to the
        break: below zero on the low plane, above zero on the steep one.
    span : tuple[float, float]
        From where to where it lies along the break, metres from the middle of the detail.
    vertices : (n, 3) float64, metres, read-only
    triangles : (m, 3) int64, counterclockwise seen from outside, read-only
    rims : tuple of (k, 3) float64
        Lines that a draughtsman inks.
    profile : (k, 2) float64
        Its outline where a plane square to the break cuts it: metres in
        ``Frame.section`` coordinates, counterclockwise; empty for fasteners.
    lift : Point3
        Unit direction in which an exploded view moves it.
    """

    id: str
    name: str
    kind: PieceKind
    layer: int
    material: str
    reach: tuple[float, float]
    span: tuple[float, float]
    vertices: Floats
    triangles: NDArray[np.int64]
    rims: tuple[Floats, ...]
    profile: Floats
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


@dataclass(frozen=True, slots=True, kw_only=True)
class Frame:
    """Where a break line lies and which way its planes go.

    Attributes
    ----------
    origin : Point3
        A point of the break on top of the sheathing: the middle of the detail.
    along : Point3
        Unit vector of the break; to the right of one who looks from the low plane.
    low, steep : Point3
        Unit vectors in each plane, square to the break, away from it.
    low_normal, steep_normal : Point3
        Unit normals, up and out.
    mitre : Point3
        What one metre of height off both planes is at the break itself.
    level, upright : Point3
        Unit vectors of the section, square to the break: level-most toward the steep
        plane, and up. ``along``, ``level``, ``upright`` are right-handed.
    """

    origin: Point3
    along: Point3
    low: Point3
    steep: Point3
    low_normal: Point3
    steep_normal: Point3
    mitre: Point3
    level: Point3
    upright: Point3

    def place(self, across: Floats, developed: Floats, height: Floats) -> Floats:
        """Return points of space (n, 3) from developed coordinates, each (n,) metres.

        Parameters
        ----------
        across : (n,) float64
            Along the break.
        developed : (n,) float64
            On the deck, square to the break; below zero on the low plane.
        height : (n,) float64
            Off the deck; at the break itself along the mitre, so both planes agree there.
        """
        s, h = developed[:, None], height[:, None]
        low = -s * np.array(self.low) + h * np.array(self.low_normal)
        steep = s * np.array(self.steep) + h * np.array(self.steep_normal)
        bend = h * np.array(self.mitre)
        flat = np.where(s < 0.0, low, np.where(s > 0.0, steep, bend))
        points: Floats = np.array(self.origin) + np.outer(across, np.array(self.along)) + flat
        return points

    def point(self, across: float, developed: float, height: float) -> Point3:
        """Return one point of space from developed coordinates."""
        found = self.place(np.array([across]), np.array([developed]), np.array([height]))[0]
        return (float(found[0]), float(found[1]), float(found[2]))

    def section(self, points: Floats) -> Floats:
        """Return the coordinates (n, 2) of points of space in the plane square to the break."""
        away = points - np.array(self.origin)
        return np.column_stack((away @ np.array(self.level), away @ np.array(self.upright)))

    def developed(self, points: Floats) -> Floats:
        """Return (n, 3) developed coordinates of points of space: the reverse of ``place``.

        Notes
        -----
        The mitre plane parts the two sides, so a point over the break gets the side that
        it stands over.
        """
        away = points - np.array(self.origin)
        side = away @ (np.array(self.steep) - np.array(self.low))
        low = np.column_stack((-(away @ np.array(self.low)), away @ np.array(self.low_normal)))
        steep = np.column_stack((away @ np.array(self.steep), away @ np.array(self.steep_normal)))
        flat = np.where(side[:, None] < 0.0, low, steep)
        return np.column_stack((away @ np.array(self.along), flat))


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Detail:
    """A joint of the roof, cut out and put together.

    Attributes
    ----------
    id : str
        The edge.
    name : str
    convex : bool
        True where the low plane lies above the steep one.
    planes : tuple[str, str]
        Ids of the low and of the steep plane.
    frame : Frame
    size : tuple[float, float, float]
        Metres along the break, onto the low plane, onto the steep plane.
    slopes : tuple[float, float]
        Of the low and the steep plane, rise over run.
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
    """

    id: str
    name: str
    convex: bool
    planes: tuple[str, str]
    frame: Frame
    size: tuple[float, float, float]
    slopes: tuple[float, float]
    layers: tuple[DetailLayer, ...]
    pieces: tuple[Piece, ...]
    measures: tuple[Measure, ...]
    notes: tuple[str, ...]
    thickness: tuple[float, float]
    uses_heat: bool


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
