"""What is laid on a roof, as frozen values: the pieces that every quantity is counted from.

Each plane has a frame of its own: ``u`` level, along the eave, to the right for one who looks
up the slope; ``v`` straight up the slope; true metres in both. A sheet that is laid across the
slope stacks its courses along ``v`` and runs along ``u``; one laid along the slope the other
way round. Whatever way, a course is known by its ``low`` and ``high`` side, and a later course
lies over the earlier one.

Pieces and nails are columns of numbers, not objects: a large roof has a million shingles.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TypeAlias

import numpy as np
import shapely
from numpy.typing import NDArray

from roof3d.catalog.laying import Border
from roof3d.errors import Finding
from roof3d.roof.model import Plane, Point3

Point2: TypeAlias = tuple[float, float]
Floats: TypeAlias = NDArray[np.float64]
Integers: TypeAlias = NDArray[np.int64]


class Direction(StrEnum):
    """How sheets run on a plane."""

    ACROSS = "across"
    ALONG = "along"


@dataclass(frozen=True, slots=True, kw_only=True)
class PlaneFrame:
    """Coordinates in a plane: origin at its lowest left corner, ``u`` level, ``v`` up the slope.

    ``origin``, ``along``, ``up`` and ``normal`` are points and unit vectors in space. On a
    dead-level plane ``along`` is east.
    """

    origin: Point3
    along: Point3
    up: Point3
    normal: Point3


@dataclass(frozen=True, slots=True, kw_only=True)
class Side:
    """One straight side of a plane's outline, with the plane on its left.

    Attributes
    ----------
    border : Border
    edge : str
        Id of the roof edge, or of the opening, that it belongs to.
    start, end : Point2
        In the plane's frame; the outer ring runs counterclockwise, holes clockwise.
    neighbour : str
        Plane beyond; empty where there is none.
    rise : float
        Of a joint: how far the membrane is carried up the steep plane, metres; else 0.
    gap : float
        Of a joint: how far shingles stay off it, metres; else 0.
    overhang : float
        Of an eave: plan distance from the edge in to the wall line below, metres, negative
        where the wall stands outside; 0 else.
    parapet : float
        Height of the parapet on it, at its higher end, metres; 0 where there is none.
    foot : Point2 or None
        Of a joint in a valley, from the shingles: where the membrane that is carried up begins,
        if that is at an eave or wall, or on the way; None where it has no such end.
    """

    border: Border
    edge: str
    start: Point2
    end: Point2
    neighbour: str = ""
    rise: float = 0.0
    gap: float = 0.0
    overhang: float = 0.0
    parapet: float = 0.0
    foot: Point2 | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Course:
    """One row of a layer.

    Attributes
    ----------
    number : int
        From 1 at the low side.
    low, high : float
        Its sides in the stacking direction, metres in the plane's frame, before trimming
        to the extent; the first course may be narrower than the material.
    """

    number: int
    low: float
    high: float


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Pieces:
    """The pieces of one layer in the order of laying, as columns of one length n.

    Attributes
    ----------
    boxes : (n, 4) float64
        Least u, least v, greatest u, greatest v before trimming to the extent, metres: the
        rectangle that is taken off the roll or out of the bundle.
    course, place : (n,) int64
        Number of its course, and its place in the course from 1.
    areas : (n,) float64
        Of the trimmed piece, m2.
    trimmed : dict[int, shapely.Geometry]
        What is left of a piece that is not its whole box, by its index.
    """

    boxes: Floats
    course: Integers
    place: Integers
    areas: Floats
    trimmed: dict[int, shapely.Geometry]

    def __len__(self) -> int:
        return len(self.areas)

    def outline(self, index: int) -> shapely.Geometry:
        """Return the trimmed piece as a polygon in the plane's frame."""
        return self.trimmed.get(index, shapely.box(*self.boxes[index]))


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class LaidLayer:
    """One layer set out on one plane.

    Attributes
    ----------
    id : str
        ``plane/role``, for instance ``porch.south/cap``.
    plane, role, material : str
    number : int
        From 1, bottom up, as in the plane's assembly.
    direction : Direction
    extent : shapely.Geometry
        Polygon or multipolygon that the pieces cover, in the plane's frame.
    width, length : float
        Of a whole piece, metres: across the courses and along them.
    side_lap, end_lap : float
        As laid; between courses and within one.
    courses : tuple[Course, ...]
    pieces : Pieces
    nails : (k, 2) float64
        Every fastener in the plane's frame.
    fastener : str
        Material id; empty without nails.
    least_side_offset, least_end_offset : float
        Smallest distance of its side laps and end laps from those of the layer below, over
        the whole plane; inf where there is none to keep.
    least_stagger : float
        Smallest distance of its own end laps in neighbouring courses; inf where none meet.
    bed : str
    bed_area : float
        Liquid under its end laps, m2.
    primer : str
    primer_area : float
        Liquid under the whole of it, m2.
    """

    id: str
    plane: str
    role: str
    material: str
    number: int
    direction: Direction
    extent: shapely.Geometry
    width: float
    length: float
    side_lap: float
    end_lap: float
    courses: tuple[Course, ...]
    pieces: Pieces
    nails: Floats
    fastener: str
    least_side_offset: float
    least_end_offset: float
    least_stagger: float
    bed: str = ""
    bed_area: float = 0.0
    primer: str = ""
    primer_area: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class LaidPlane:
    """A plane with its frame, its sides and its layers, bottom up."""

    plane: Plane
    assembly: str
    frame: PlaneFrame
    outline: shapely.Polygon
    sides: tuple[Side, ...]
    layers: tuple[LaidLayer, ...]


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class LaidStrip:
    """Pieces in a row along one edge.

    Attributes
    ----------
    id : str
        ``edge/rule``, for instance ``porch.eave/edge-metal``.
    edge, rule, material : str
    planes : tuple[str, ...]
        On whose assembly's rule it is laid; two where it straddles a ridge, hip or valley.
    length : float
        Of the edge, metres.
    width, lap : float
        Square to the edge, and along it between pieces.
    pieces : (n, 2) float64
        From where to where along the edge each piece reaches, in the order of laying (uphill,
        from the lower end); may begin below 0 or end past the length where pieces stand over.
    crosswise : bool
        Its pieces are cut across the roll, so that ``width`` lies along it.
    nails : (k, 2) float64
        Along the edge, and inward from the strip's outer side.
    fastener : str
    bed, bed_area : str, float
    primer, primer_area : str, float
        Liquids, m2.
    """

    id: str
    edge: str
    rule: str
    material: str
    planes: tuple[str, ...]
    length: float
    width: float
    lap: float
    pieces: Floats
    nails: Floats
    crosswise: bool = False
    fastener: str = ""
    bed: str = ""
    bed_area: float = 0.0
    primer: str = ""
    primer_area: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Layout:
    """Everything laid on the roof, and what must be told about it."""

    planes: tuple[LaidPlane, ...]
    strips: tuple[LaidStrip, ...]
    findings: tuple[Finding, ...]

    def layer(self, layer_id: str) -> LaidLayer:
        """Return the layer of that id; KeyError if there is none."""
        for plane in self.planes:
            for layer in plane.layers:
                if layer.id == layer_id:
                    return layer
        raise KeyError(layer_id)
