"""A neutral 3D scene: parts, lines and labels. Pictures, meshes and pages draw the same one."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

Point3: TypeAlias = tuple[float, float, float]


class PartKind(StrEnum):
    """What a part stands for; a drawing chooses colour, hatch and texture by it."""

    LOW_PLANE = "low_plane"
    STEEP_PLANE = "steep_plane"
    WALL = "wall"
    SOFFIT = "soffit"
    FLOOR = "floor"
    CHIMNEY = "chimney"
    SKYLIGHT = "skylight"
    PIPE = "pipe"
    DRAIN = "drain"
    COPING = "coping"
    DECK = "deck"
    LAYER = "layer"
    FASTENER = "fastener"


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Part:
    """One named mesh.

    Attributes
    ----------
    id : str
        Stable, unique in the scene: a plane id, or ``place.layer.piece``.
    name : str
        Plain words for people.
    kind : PartKind
    material : str
        Catalog material id, or empty for massing.
    vertices : (n, 3) float64, metres, read-only
    triangles : (m, 3) int64, counterclockwise seen from outside, read-only
    rims : tuple[NDArray, ...]
        Polylines (k, 3) to be inked: the outline of the part as a draughtsman sees it.
    layer : int
        Place in the order of work, 1 at the bottom; 0 where there is no order.
    lift : Point3
        Unit direction along which an exploded view lifts the part; zero for none.
    """

    id: str
    name: str
    kind: PartKind
    vertices: NDArray[np.float64]
    triangles: NDArray[np.int64]
    material: str = ""
    rims: tuple[NDArray[np.float64], ...] = ()
    layer: int = 0
    lift: Point3 = (0.0, 0.0, 0.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One straight line to draw, for instance a roof edge with its role as ``style``."""

    id: str
    style: str
    ends: tuple[Point3, Point3]


@dataclass(frozen=True, slots=True, kw_only=True)
class Label:
    """Words that belong to a place in space.

    Attributes
    ----------
    anchor : Point3
        The place named.
    lines : tuple[str, ...]
        First the name, then notes.
    subject : str
        Id of the part or line that it names.
    """

    anchor: Point3
    lines: tuple[str, ...]
    subject: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Dimension:
    """A measured distance between two points, with the text to print."""

    id: str
    ends: tuple[Point3, Point3]
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Scene:
    """All that a drawing needs to know.

    Attributes
    ----------
    title, subtitle : str
    cautions : tuple[str, ...]
        Short lines that every sheet must carry.
    """

    title: str
    subtitle: str
    parts: tuple[Part, ...]
    lines: tuple[Line, ...] = ()
    labels: tuple[Label, ...] = ()
    dimensions: tuple[Dimension, ...] = ()
    cautions: tuple[str, ...] = ()
