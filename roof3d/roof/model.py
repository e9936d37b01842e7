"""The roof as found: planes, edges, openings. Immutable; metres, z up, +y north."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from roof3d.spec.model import OpeningKind

Point3: TypeAlias = tuple[float, float, float]
Ring3: TypeAlias = tuple[Point3, ...]


class Kind(StrEnum):
    """A plane against the model's low-slope cutoff; exactly at the cutoff is steep."""

    LOW = "low"
    STEEP = "steep"


class Role(StrEnum):
    """What an edge of the roof is."""

    EAVE = "eave"
    RAKE = "rake"
    HIGH_EDGE = "high_edge"
    RIDGE = "ridge"
    HIP = "hip"
    VALLEY = "valley"
    TRANSITION = "transition"
    PITCH_BREAK = "pitch_break"
    HEADWALL = "headwall"
    SIDEWALL = "sidewall"


@dataclass(frozen=True, slots=True, kw_only=True)
class Plane:
    """One visible-or-covered connected piece of one roof plane.

    Attributes
    ----------
    id : str
        ``section.side``, for instance ``main.south``; further pieces get ``_2``, ``_3``.
    section : str
        Id of the section that the plane belongs to.
    kind : Kind
    gradient : tuple[float, float]
        dz/dx, dz/dy (uphill).
    offset : float
        z at x = y = 0, in metres.
    outline : Ring3
        Counterclockwise seen from above, not closed.
    holes : tuple[Ring3, ...]
        Clockwise seen from above, not closed.
    plan_area, area : float
        Square metres, in plan and along the slope, holes left out.
    covered_plan_area : float
        The part of ``plan_area`` that lies under another roof of the same building.
    """

    id: str
    section: str
    kind: Kind
    gradient: tuple[float, float]
    offset: float
    outline: Ring3
    holes: tuple[Ring3, ...]
    plan_area: float
    area: float
    covered_plan_area: float

    @property
    def slope(self) -> float:
        """Rise over run."""
        return math.hypot(*self.gradient)

    @property
    def slope_deg(self) -> float:
        """Angle from the horizontal, degrees."""
        return math.degrees(math.atan(self.slope))

    @property
    def azimuth_deg(self) -> float | None:
        """Downhill direction clockwise from north; None on a dead-level plane."""
        if self.slope == 0.0:
            return None
        azimuth = math.degrees(math.atan2(-self.gradient[0], -self.gradient[1])) % 360.0
        return 0.0 if azimuth == 360.0 else azimuth  # a tiny negative angle rounds up

    @property
    def normal(self) -> Point3:
        """Unit normal, pointing up and out."""
        length = math.sqrt(1.0 + self.gradient[0] ** 2 + self.gradient[1] ** 2)
        return (-self.gradient[0] / length, -self.gradient[1] / length, 1.0 / length)


@dataclass(frozen=True, slots=True, kw_only=True)
class Parapet:
    """A low wall whose inside face stands on an edge of the roof.

    Attributes
    ----------
    section : str
        Id of the section that asks for it.
    height : float
        As asked: above the highest point of the roof along the section's parapet, metres.
    thickness : float
    top : float
        Height of the wall's level top above datum, below its coping, metres.
    coping_length : float
        Along its outside face, metres.
    plan : tuple of four plan points
        Counterclockwise: outer start, outer end, inner end, inner start; mitred at corners.
    """

    section: str
    height: float
    thickness: float
    top: float
    coping_length: float
    plan: tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Edge:
    """One straight edge of the roof.

    Attributes
    ----------
    id : str
        ``section.role``, numbered where there are several: ``main.eave``, ``main.eave_2``.
    role : Role
    ends : tuple[Point3, Point3]
        From the lower to the higher end where sloping. True end points.
    planes : tuple[str, ...]
        One plane id for a free or wall edge, two where planes meet. On a transition or
        pitch break the first is the plane that the water leaves (the upper one).
    length, plan_length : float
        Metres.
    convex : bool
        True where the roof bends away from the sky (hip, ridge, low above steep).
    wall_heights : tuple[float, float] | None
        Height of the wall above the roof at each end; None unless a wall edge.
    wall_area : float
        Of that wall above the roof, square metres: a gable wall is higher between the ends.
    parapet : Parapet or None
        Where the wall is a parapet of this very roof, which ends at its inside face.
    """

    id: str
    role: Role
    ends: tuple[Point3, Point3]
    planes: tuple[str, ...]
    length: float
    plan_length: float
    convex: bool = False
    wall_heights: tuple[float, float] | None = None
    wall_area: float = 0.0
    parapet: Parapet | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class RoofOpening:
    """A hole cut through one or more planes.

    Attributes
    ----------
    id : str
    kind : OpeningKind
    planes : tuple[str, ...]
        Every plane that it cuts.
    outline : tuple[tuple[float, float], ...]
        Plan outline, counterclockwise.
    rim : tuple[Ring3, ...]
        The cut lines on the roof, one open polyline or ring for each plane cut.
    perimeter : float
        True length of the rim, metres.
    width_across : float
        Plan width square to the fall of the plane that it cuts most of, metres (a
        chimney wider than the rule's limit needs a cricket).
    plan_area : float
        Plan area cut away, square metres.
    top : float
        Height of its top above datum, metres.
    sump, sill : float
        Of a drain: side of the square sunk round it (0 for none), and its inlet above the low
        point of the plane, metres.
    overflow : bool
        Of a drain: it takes water only when the others are clogged.
    """

    id: str
    kind: OpeningKind
    planes: tuple[str, ...]
    outline: tuple[tuple[float, float], ...]
    rim: tuple[Ring3, ...]
    perimeter: float
    width_across: float
    plan_area: float
    top: float
    sump: float = 0.0
    sill: float = 0.0
    overflow: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Scupper:
    """A hole through a parapet by which water leaves the roof.

    Attributes
    ----------
    id : str
    edge, plane : str
        Ids of the edge on which the parapet stands, and of the plane that drains to it.
    along : float
        Of its middle, from the first end of the edge, metres along it.
    width, height : float
        Of the opening, metres.
    sill : float
        Above the lowest point of the plane, metres.
    bottom : float
        Of the opening, above datum, metres.
    overflow : bool
        Water leaves by it only when the other outlets are clogged.
    place : Point3
        Middle of the sill, on the inside face of the parapet.
    """

    id: str
    edge: str
    plane: str
    along: float
    width: float
    height: float
    sill: float
    bottom: float
    overflow: bool
    place: Point3


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Solid:
    """A closed building: roof, soffits, walls, floor, as one triangle mesh.

    Attributes
    ----------
    vertices : (n, 3) float64, metres, read-only
    triangles : (m, 3) int64, counterclockwise seen from outside, read-only
    faces : tuple[str, ...]
        For each triangle the plane id it belongs to, or ``wall``, ``soffit``, ``floor``.
    """

    vertices: NDArray[np.float64]
    triangles: NDArray[np.int64]
    faces: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Roof:
    """Everything found about the roof of one model."""

    planes: tuple[Plane, ...]
    edges: tuple[Edge, ...]
    openings: tuple[RoofOpening, ...]
    scuppers: tuple[Scupper, ...] = ()

    def plane(self, plane_id: str) -> Plane:
        """Return the plane of that id; KeyError if there is none."""
        for plane in self.planes:
            if plane.id == plane_id:
                return plane
        raise KeyError(plane_id)

    def edge(self, edge_id: str) -> Edge:
        """Return the edge of that id; KeyError if there is none."""
        for edge in self.edges:
            if edge.id == edge_id:
                return edge
        raise KeyError(edge_id)

    def scupper(self, scupper_id: str) -> Scupper:
        """Return the scupper of that id; KeyError if there is none."""
        for scupper in self.scuppers:
            if scupper.id == scupper_id:
                return scupper
        raise KeyError(scupper_id)
