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
