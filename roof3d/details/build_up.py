"""Lay pieces one after another on a joint: the pieces, and the ground they leave."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from roof3d.catalog.material import Material
from roof3d.catalog.model import Catalog
from roof3d.details.drape import SHEET_RAMP, STIFF_RAMP, Ground, Laid, bare, lay
from roof3d.details.model import DetailLayer, Frame, Measure, Piece, PieceKind, size_text
from roof3d.details.options import TransitionOptions
from roof3d.details.solids import Body, cross_section, discs, prisms
from roof3d.tolerance import DEFAULT, Tolerance
from roof3d.units import Units


@dataclass(frozen=True, slots=True, kw_only=True)
class JointMaterials:
    """Catalog material ids by what they do in the joint."""

    deck: str
    base: str
    ply: str
    cap: str
    underlayment: str
    starter: str
    shingles: str


@dataclass(slots=True, eq=False, kw_only=True)
class BuildUp:
    """A joint being built; pieces are added bottom up.

    Attributes
    ----------
    frame : Frame
    catalog : Catalog
    options : TransitionOptions
    units : Units
        For words.
    size : tuple[float, float, float]
        Metres along the break, onto the low plane, onto the steep plane.
    convex : bool
        Low plane above the steep one.
    ground : Ground
    pieces : list[Piece]
    measures : list[Measure]
    """

    frame: Frame
    catalog: Catalog
    options: TransitionOptions
    units: Units
    size: tuple[float, float, float]
    convex: bool
    ground: Ground = field(init=False)
    pieces: list[Piece] = field(default_factory=list)
    measures: list[Measure] = field(default_factory=list)
    tol: Tolerance = DEFAULT

    def __post_init__(self) -> None:
        self.ground = bare(-self.size[1], self.size[2])

    @property
    def span(self) -> tuple[float, float]:
        """From where to where the joint is cut out along the break."""
        return (-self.size[0] / 2.0, self.size[0] / 2.0)

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

    def sheet(
        self,
        piece_id: str,
        name: str,
        kind: PieceKind,
        layer: int,
        material: str,
        reach: tuple[float, float],
        *,
        spans: Sequence[tuple[float, float]] = (),
        taper: tuple[float, float] = (1.0, 1.0),
    ) -> bool:
        """Lay a piece on the ground; returns whether any of it is in the cut-out.

        ``taper`` scales the thickness at the low and at the steep end; ``spans`` are the
        pieces side by side, one the full width where not given.
        """
        inside = self.clipped(reach)
        if inside is None:
            return False
        full = self.thickness(material)
        ends = [
            full * (taper[0] + (taper[1] - taper[0]) * (s - reach[0]) / (reach[1] - reach[0]))
            for s in inside
        ]
        ramp = STIFF_RAMP if kind is PieceKind.SHINGLE else SHEET_RAMP
        laid, self.ground = lay(self.ground, inside, (ends[0], ends[1]), ramp=ramp, tol=self.tol)
        spans = spans or (self.span,)
        self.add(piece_id, name, kind, layer, material, laid, spans)
        return True

    def add(
        self,
        piece_id: str,
        name: str,
        kind: PieceKind,
        layer: int,
        material: str,
        laid: Laid,
        spans: Sequence[tuple[float, float]],
    ) -> None:
        """Add a piece of a given cross-section without touching the ground."""
        body = prisms(self.frame, laid, spans)
        reach = (float(laid.at[0]), float(laid.at[-1]))
        self._append(
            piece_id, name, kind, layer, material, body, reach, (spans[0][0], spans[-1][1]), laid
        )

    def nails(
        self,
        piece_id: str,
        name: str,
        layer: int,
        material: str,
        places: Sequence[tuple[float, float]],
    ) -> None:
        """Set nail heads at (across, developed) places, sunk to show their cap only."""
        if not places:
            return
        made = self.catalog.material(material)
        # Drawn a little proud, so that the cap shows on the sheet that it holds.
        height = self.options.least_thickness / 4.0 or made.width / 16.0
        body = discs(
            self.frame,
            [(u, s, self.ground.top(s)) for u, s in places],
            radius=made.width / 2.0,
            height=height,
        )
        along = [s for _, s in places]
        across = [u for u, _ in places]
        self._append(
            piece_id,
            name,
            PieceKind.FASTENER,
            layer,
            material,
            body,
            (min(along), max(along)),
            (min(across), max(across)),
            None,
        )

    def _append(
        self,
        piece_id: str,
        name: str,
        kind: PieceKind,
        layer: int,
        material: str,
        body: Body,
        reach: tuple[float, float],
        span: tuple[float, float],
        laid: Laid | None,
    ) -> None:
        profile = np.zeros((0, 2)) if laid is None else cross_section(self.frame, laid)
        for array in (body.vertices, body.triangles, profile, *body.rims):
            array.setflags(write=False)
        self.pieces.append(
            Piece(
                id=piece_id,
                name=name,
                kind=kind,
                layer=layer,
                material=material,
                reach=reach,
                span=span,
                vertices=body.vertices,
                triangles=body.triangles,
                rims=body.rims,
                profile=profile,
                lift=self.frame.low_normal,
            )
        )

    def measure(
        self,
        name: str,
        layer: int,
        reach: tuple[float, float],
        text: str,
        source: str,
    ) -> None:
        """Note a length along the deck on one plane, at the height of what is laid there.

        It is measured at the end of the cut-out that faces one who sees the joint from
        its lower side with the low deck to the right or at the back.
        """
        inside = self.clipped(reach)
        if inside is None or inside != reach:
            return
        u = self.span[0 if self.convex else 1]
        height = self.ground.top((reach[0] + reach[1]) / 2.0)
        ends = (self.frame.point(u, reach[0], 0.0), self.frame.point(u, reach[1], 0.0))
        normal = self.frame.low_normal if reach[1] <= 0.0 else self.frame.steep_normal
        raised = [
            (p[0] + height * normal[0], p[1] + height * normal[1], p[2] + height * normal[2])
            for p in ends
        ]
        self.measures.append(
            Measure(
                id=name,
                layer=layer,
                reach=reach,
                ends=(raised[0], raised[1]),
                value=reach[1] - reach[0],
                text=text,
                source=source,
            )
        )

    def measure_up(self, name: str, layer: int, at: float, source: str) -> None:
        """Note how high a place of the steep deck stands over the break, straight up."""
        if self.clipped((0.0, at)) != (0.0, at):
            return
        head = self.frame.point(self.span[0 if self.convex else 1], at, 0.0)
        height = at * self.frame.steep[2]
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


def describe(number: int, made: Material, size: str, fastening: str, why: str) -> DetailLayer:
    """Return the words of a layer of one catalog material."""
    return DetailLayer(
        number=number,
        name=made.name,
        material=made.id,
        size=size,
        why=why,
        fastening=fastening,
        source=made.source,
    )


def courses(
    start: float, end: float, *, width: float, lap: float, below: float
) -> tuple[tuple[float, float], ...]:
    """Set out sheets that run along the break, in the order they are laid: going up.

    Parameters
    ----------
    start, end : float
        Lower edge of the sheet that sets the layout, and upper end of the last.
    width, lap : float
        Of a sheet, metres; the lap below the width.
    below : float
        Sheets are laid out downward as far as this, too.

    Returns
    -------
    tuple of (float, float)
        Reach of each, lowest first; each but the lowest lies on the one before by ``lap``.
    """
    sheets = [(start, min(start + width, end))]
    while sheets[0][0] > below:
        head = sheets[0][0] + lap
        sheets.insert(0, (head - width, head))
    while sheets[-1][1] < end:
        foot = sheets[-1][1] - lap
        sheets.append((foot, min(foot + width, end)))
    return tuple(sheets)
