"""Lay pieces one after another on a joint: the pieces, and the ground they leave."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TypeAlias

import numpy as np
import shapely
from numpy.typing import ArrayLike

from roof3d.details.frame import Face, Floats, Point2
from roof3d.details.model import Piece, PieceKind
from roof3d.details.shapes.bench import Bench
from roof3d.details.shapes.drape import SHEET_RAMP, STIFF_RAMP, Laid
from roof3d.details.shapes.fit import Fit, fit_piece, footprint_of, polygon_of, split_at_line
from roof3d.details.shapes.ground import Stack, Top
from roof3d.details.shapes.script import Act, as_played, moved, recorded
from roof3d.details.shapes.solids import (
    Body,
    cross_section,
    cut_body,
    discs,
    join_bodies,
    off_seam,
    prisms,
)

Outline: TypeAlias = ArrayLike | shapely.Polygon
_ACROSS: Point2 = (0.0, 1.0)
_OVERHANG = 0.15
"""How far a piece may stick out past the line, metres; more is cut off."""
_NO_TOUCH = frozenset({PieceKind.FASTENER, PieceKind.FRAMING})
_SHARP_LIFT = 0.9
_PAST = 0.025
"""A layer that begins less than that before the line is one of the far face alone, metres."""


@dataclass(slots=True, eq=False, kw_only=True)
class BuildUp(Bench):
    """A joint being built; pieces are added bottom up. See ``Bench`` for its attributes.

    Its ``script`` keeps the work, so that it can be done again otherwise.
    """

    @recorded
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
        """Lay a piece that runs along the line; returns whether any of it is in the cut-out.

        ``reach`` is from where to where in s; it bends over the line where it crosses it.
        ``taper`` scales the thickness at the near and at the far end; ``spans`` are the
        pieces side by side, one the full width where not given.
        """
        reach, spans = as_played(self.script, self.span, reach, spans or (self.span,))
        inside = self.clipped(reach)
        if inside is None:
            return False
        if self.folded and (reach[0] >= 0.0 or reach[1] <= 0.0):
            face = Face.FAR if reach[0] >= 0.0 else Face.NEAR
            whole = [shapely.box(a, reach[0], b, reach[1]) for a, b in spans]
            return self.patch(
                piece_id, name, kind, layer, material, face, whole, _ACROSS, taper=taper
            )
        outlines = [shapely.box(a, inside[0], b, inside[1]) for a, b in spans]
        fit = self._fit(outlines, None, _ACROSS, material, kind, reach, taper)
        laid, beyond = fit.across()
        self._append(
            piece_id,
            name,
            kind,
            layer,
            material,
            prisms(self.frame, laid, spans, beyond),
            fit.parts,
            (cross_section(self.frame, laid, beyond),),
        )
        return True

    @recorded
    def patch(
        self,
        piece_id: str,
        name: str,
        kind: PieceKind,
        layer: int,
        material: str,
        face: Face | None,
        outlines: Sequence[Outline],
        axis: Point2,
        *,
        taper: tuple[float, float] = (1.0, 1.0),
    ) -> bool:
        """Lay a piece of any outline; returns whether any of it is in the cut-out.

        Parameters
        ----------
        piece_id, name, kind, layer, material
            As of the piece.
        face : Face or None
            The face that it lies flat on, past the line if its outline says so; None where
            it bends over the line.
        outlines : sequence of (n, 2) array_like or shapely.Polygon
            One a part of the piece (shingles of a course), in (u, s) metres; they may not
            touch. What lies outside the cut-out is cut off.
        axis : Point2
            Unit vector in (u, s) along which its height changes: the way up the slope for
            courses, so that later ones lie on earlier ones.
        taper : tuple[float, float]
            Scale of the thickness where it begins along the axis, and where it ends.
        """
        wanted = [
            part
            for outline in outlines
            for part in shapely.get_parts(moved(polygon_of(outline), self.script))
            if part.geom_type == "Polygon" and part.area > self.tol.merge
        ]
        if face is None:
            sides = {side for side, _ in split_at_line(wanted, tol=self.tol)}
            face = sides.pop() if len(sides) == 1 else None
        inside = self._inside(wanted, face)
        if not inside:
            return False
        along = [shapely.get_coordinates(polygon) @ np.array(axis) for polygon in wanted]
        reach = (min(float(a.min()) for a in along), max(float(a.max()) for a in along))
        fit = self._fit(inside, face, axis, material, kind, reach, taper)
        if sum(part.area for part in fit.solids) <= self.tol.merge:  # a crumb in a corner
            return False
        body = fit.body(self.frame, tol=self.tol)
        profiles = cut_body(body, self.frame, tol=self.tol)
        self._append(piece_id, name, kind, layer, material, body, fit.parts, profiles)
        return True

    def bent(
        self,
        piece_id: str,
        name: str,
        kind: PieceKind,
        layer: int,
        material: str,
        span: tuple[float, float],
        reach: tuple[float, float],
        *,
        up: float = 1.0,
    ) -> bool:
        """Lay one short piece bent over the line, its heights following what lies along u.

        For a step flashing or a hip piece: ``span`` in u, ``reach`` in s across 0; ``up`` is
        1 where u grows up the slope, else -1.
        """
        (a, b), (c, d) = span, reach
        outline = ((a, c), (b, c), (b, d), (a, d))
        return self.patch(piece_id, name, kind, layer, material, None, (outline,), (up, 0.0))

    @recorded
    def solid(
        self,
        piece_id: str,
        name: str,
        kind: PieceKind,
        layer: int,
        material: str,
        bodies: Sequence[Body],
        footprints: Sequence[tuple[Face, Outline]] = (),
    ) -> None:
        """Add what is no sheet: a pipe, a chimney, a cant strip. The ground does not rise."""
        body = join_bodies(bodies)
        parts = [(face, polygon_of(outline)) for face, outline in footprints]
        profiles = tuple(ring for one in bodies for ring in cut_body(one, self.frame, tol=self.tol))
        self._append(piece_id, name, kind, layer, material, body, parts, profiles)

    @recorded
    def raise_ground(
        self,
        face: Face,
        outline: Outline,
        axis: Point2,
        at: Sequence[float],
        height: Sequence[float],
    ) -> None:
        """Let later pieces lie over a shape on a face, for instance on a solid added before."""
        polygon = polygon_of(outline)
        self.stack.add(
            Top(face=face, outline=polygon, axis=axis, at=np.array(at), over=np.array(height))
        )

    @recorded
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
        """Add a prism of a given cross-section without touching the ground."""
        body = prisms(self.frame, laid, spans)
        boxes = [shapely.box(a, laid.at[0], b, laid.at[-1]) for a, b in spans]
        self._append(
            piece_id,
            name,
            kind,
            layer,
            material,
            body,
            split_at_line(boxes, tol=self.tol),
            (cross_section(self.frame, laid),),
        )

    @recorded
    def nails(
        self,
        piece_id: str,
        name: str,
        layer: int,
        material: str,
        places: Sequence[tuple[float, float]],
    ) -> None:
        """Set nail heads at places (u, s), sunk to show their cap only; none on the line."""
        if not places:
            return
        made = self.catalog.material(material)
        # Drawn a little proud, so that the cap shows on the sheet that it holds.
        height = self.options.least_thickness / 4.0 or made.width / 16.0
        tops = [
            (u, s, self.stack.height_at(Face.NEAR if s < 0.0 else Face.FAR, u, s))
            for u, s in places
        ]
        body = discs(self.frame, tops, radius=made.width / 2.0, height=height)
        dots = shapely.MultiPoint(list(places))
        self._append(
            piece_id,
            name,
            PieceKind.FASTENER,
            layer,
            material,
            body,
            [(Face.NEAR, dots)],
            (),
        )

    @recorded
    def join_last(
        self,
        bodies: Sequence[Body],
        footprints: Sequence[tuple[Face, Outline]] = (),
        seam: shapely.Geometry | None = None,
    ) -> None:
        """Make bodies parts of the piece laid last, which then covers ``footprints``.

        Along ``seam`` they are one sheet: nothing is inked.
        """
        piece = self.pieces.pop()
        whole = Body(vertices=piece.vertices, triangles=piece.triangles, rims=piece.rims)
        parts = [(p.face, shapely.Polygon(p.outline, p.holes)) for p in piece.footprints]
        joined = [whole, *bodies]
        joined = joined if seam is None else [off_seam(self.frame, one, seam) for one in joined]
        said = (piece.id, piece.name, piece.kind, piece.layer, piece.material)
        self.solid(*said, joined, footprints or parts)

    @recorded
    def reshape(self, piece_id: str, bodies: Sequence[Body]) -> None:
        """Give a piece that covers nothing of the faces another solid."""
        index = [piece.id for piece in self.pieces].index(piece_id)
        old = self.pieces[index]
        self.solid(old.id, old.name, old.kind, old.layer, old.material, bodies)
        self.pieces[index] = replace(self.pieces.pop(), order=old.order)

    def play(self, acts: Sequence[Act]) -> None:
        """Do the work again from the bare joint, by these acts."""
        self.pieces.clear()
        self.measures.clear()
        self.stack = Stack(tol=self.tol)
        for forget in self.script.fresh:
            forget()
        self.script.busy = True
        for act in acts:
            self.script.now = act
            for call in act.calls:
                call()
        self.script.now = None

    def _inside(
        self, wanted: Sequence[shapely.Polygon], face: Face | None
    ) -> list[shapely.Polygon]:
        """Cut outlines to the cut-out; on one face they may stick out past the line a little."""
        low = -_OVERHANG if face is Face.FAR else -self.size[1]
        high = _OVERHANG if face is Face.NEAR else self.size[2]
        window = shapely.box(self.span[0], low, self.span[1], high)
        return [
            shapely.orient_polygons(part)
            for polygon in wanted
            for part in shapely.get_parts(shapely.intersection(polygon, window))
            if part.geom_type == "Polygon" and part.area > self.tol.merge
        ]

    def _fit(
        self,
        outlines: Sequence[shapely.Polygon],
        face: Face | None,
        axis: Point2,
        material: str,
        kind: PieceKind,
        reach: tuple[float, float],
        taper: tuple[float, float],
    ) -> Fit:
        full = self.thickness(material)
        fit = fit_piece(
            self.stack,
            self.frame,
            outlines,
            face,
            axis,
            thickness=(full * taper[0], full * taper[1]),
            reach=reach,
            ramp=STIFF_RAMP if kind is PieceKind.SHINGLE else SHEET_RAMP,
            folded=self.folded,
            tol=self.tol,
        )
        for top in fit.tops(self.frame):
            self.stack.add(top)
        return fit

    def _append(
        self,
        piece_id: str,
        name: str,
        kind: PieceKind,
        layer: int,
        material: str,
        body: Body,
        parts: Sequence[tuple[Face, shapely.Geometry]],
        profiles: tuple[Floats, ...],
    ) -> None:
        if parts:
            covered = np.concatenate([shapely.get_coordinates(area) for _, area in parts])
        else:
            covered = self.frame.developed(body.vertices)[:, :2]
        for array in (body.vertices, body.triangles, *profiles, *body.rims):
            array.setflags(write=False)
        footprints = (
            () if kind in _NO_TOUCH else tuple(footprint_of(face, area) for face, area in parts)
        )
        low, high = covered.min(axis=0).tolist(), covered.max(axis=0).tolist()
        self.pieces.append(
            Piece(
                id=piece_id,
                name=name,
                order=len(self.pieces),
                kind=kind,
                layer=layer,
                material=material,
                reach=(low[1], high[1]),
                span=(low[0], high[0]),
                footprints=footprints,
                vertices=body.vertices,
                triangles=body.triangles,
                rims=body.rims,
                profiles=profiles,
                lift=self.frame.near_normal,
            )
        )

    def finished(self) -> tuple[Piece, ...]:
        """Return the pieces, each with the direction in which its layer is lifted.

        Where the faces bend away from each other every layer is lifted square to its own.
        Where they bend toward each other that would swing the far layers in front of the
        rest, so all go one way: square to the near face, or, where the bend is sharp,
        between the two, so that they leave both.
        """
        frame = self.frame
        numbers = {piece.layer for piece in self.pieces}
        beyond = {
            number
            for number in numbers
            if self.convex and all(p.reach[0] > -_PAST for p in self.pieces if p.layer == number)
        }
        usual = frame.near_normal
        if self.folded and not self.convex and frame.turn > _SHARP_LIFT:
            middle = np.array(frame.near_normal) + np.array(frame.far_normal)
            x, y, z = (middle / np.linalg.norm(middle)).tolist()
            usual = (x, y, z)
        return tuple(
            replace(p, lift=frame.far_normal if p.layer in beyond else usual) for p in self.pieces
        )
