"""The bench on which a joint is built: its frame, what lies on it, its measures and words."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np

from roof3d.catalog.model import Catalog
from roof3d.details.frame import Face, Floats, Frame, Point2, Point3
from roof3d.details.model import Measure, Piece, size_text
from roof3d.details.options import DetailOptions
from roof3d.details.shapes.ground import Stack
from roof3d.details.shapes.script import Script, recorded
from roof3d.tolerance import DEFAULT, Tolerance
from roof3d.units import Units


@dataclass(slots=True, eq=False, kw_only=True)
class Bench:
    """A joint being built, as far as laid.

    Attributes
    ----------
    frame : Frame
    catalog : Catalog
    options : DetailOptions
    units : Units
        For words.
    size : tuple[float, float, float]
        Metres along the line, onto the near face, onto the far face.
    folded : bool
        Whether the two legs of a piece over the line lie each on its own face, as on a wall
        or a fascia; else it bends gently and is one height at the line.
    stack : Stack
        What lies where so far.
    pieces : list[Piece]
    measures : list[Measure]
    script : Script
        The work call by call, so that it can be done again otherwise.
    """

    frame: Frame
    catalog: Catalog
    options: DetailOptions
    units: Units
    size: tuple[float, float, float]
    folded: bool = False
    stack: Stack = field(init=False)
    pieces: list[Piece] = field(default_factory=list)
    measures: list[Measure] = field(default_factory=list)
    script: Script = field(default_factory=Script)
    tol: Tolerance = DEFAULT

    def __post_init__(self) -> None:
        self.stack = Stack(tol=self.tol)

    @property
    def convex(self) -> bool:
        """Whether the faces bend away from the sky."""
        return self.frame.convex

    @property
    def span(self) -> tuple[float, float]:
        """From where to where the joint is cut out along the line."""
        return (-self.size[0] / 2.0, self.size[0] / 2.0)

    def latest(self) -> tuple[str, int]:
        """Return id and layer of the piece laid last."""
        return (self.pieces[-1].id, self.pieces[-1].layer) if self.pieces else ("", 0)

    def text(self, metres: float) -> str:
        """Write a length in the model's units."""
        return size_text(metres, self.units)

    def least(self, metres: float) -> str:
        """Write a minimum in the model's units, never rounded below it."""
        return size_text(metres, self.units, least=True)

    def thickness(self, material: str) -> float:
        """Drawn thickness of a material, metres."""
        true = self.catalog.material(material).thickness
        return max(true * self.options.thickness_factor, self.options.least_thickness)

    def clipped(self, reach: tuple[float, float]) -> tuple[float, float] | None:
        """Return what of a reach lies in the cut-out; None where nothing does."""
        first, last = max(reach[0], -self.size[1]), min(reach[1], self.size[2])
        return (first, last) if last - first > self.tol.merge else None

    def measure(
        self, name: str, layer: int, reach: tuple[float, float], text: str, source: str
    ) -> None:
        """Note a length square to the line on one face, at the height of what is laid there.

        It is measured at the end of the cut-out that faces one who sees the joint from
        its lower side with the near deck to the right or at the back. Left out where the
        cut-out does not hold all of it.
        """
        u = self.span[0 if self.convex else 1]
        self.measure_between(name, layer, (u, reach[0]), (u, reach[1]), text, source)

    @recorded
    def measure_between(
        self,
        name: str,
        layer: int,
        start: Point2,
        end: Point2,
        text: str,
        source: str,
        *,
        face: Face | None = None,
    ) -> None:
        """Note a length between two places (u, s) of one face; see ``measure``.

        ``face`` where it goes on flat past the line, as an overhang does.
        """
        reach = (min(start[1], end[1]), max(start[1], end[1]))
        if reach[0] < -self.size[1] or reach[1] > self.size[2]:
            return
        face = face or (Face.NEAR if reach[1] <= 0.0 else Face.FAR)
        middle = ((start[0] + end[0]) / 2.0, (start[1] + end[1]) / 2.0)
        height = np.full(2, self.stack.height_at(face, *middle))
        across, along = np.array((start, end)).T
        a, b = self.frame.on_face(face, across, along, height)
        self.measures.append(
            Measure(
                id=name,
                layer=layer,
                reach=reach,
                ends=(_point(a), _point(b)),
                value=math.dist(start, end),
                text=text,
                source=source,
            )
        )

    @recorded
    def measure_up(self, name: str, layer: int, at: float, source: str) -> None:
        """Note how high a place of the far face stands over the line, straight up."""
        if self.clipped((0.0, at)) != (0.0, at):
            return
        head = self.frame.point(self.span[0 if self.convex else 1], at, 0.0)
        height = at * self.frame.far[2]
        self.measures.append(
            Measure(
                id=name,
                layer=layer,
                reach=(0.0, at),
                ends=((head[0], head[1], head[2] - height), head),
                value=height,
                text=f"{self.text(height)} up",
                source=source,
            )
        )

    @recorded
    def measure_upright(
        self, name: str, layer: int, ends: tuple[Point3, Point3], text: str, source: str
    ) -> None:
        """Note a length between two places in space, as of what stands on a roof."""
        flat = self.frame.developed(np.array(ends))[:, 1]
        self.measures.append(
            Measure(
                id=name,
                layer=layer,
                reach=(float(flat.min()), float(flat.max())),
                ends=ends,
                value=math.dist(*ends),
                text=text,
                source=source,
            )
        )


def _point(values: Floats) -> Point3:
    return (float(values[0]), float(values[1]), float(values[2]))
