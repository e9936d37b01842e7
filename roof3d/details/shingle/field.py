"""The layout's own sheets and shingles of one plane, laid on one face of a joint."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from itertools import groupby

import numpy as np
import shapely

from roof3d.catalog.laying import Layer, StripRule
from roof3d.catalog.material import Material
from roof3d.details.build_up import BuildUp
from roof3d.details.frame import Face, Floats, Point2
from roof3d.details.model import INCH, PieceKind
from roof3d.details.site import DetailSite
from roof3d.errors import LayoutError
from roof3d.layout.borders.frame import to_space
from roof3d.layout.model import LaidLayer, LaidPlane, LaidStrip

THIN = 0.45
"""Thickness of a shingle at its head, as a share of that at its butt."""
_JOINT = 0.125 * INCH
_NAIL_EDGE = 0.5 * INCH
_OFF_CUT = 0.5 * INCH
"""A nail stands no nearer to the cut edge of a course."""
_SLIVER = 1.5 * INCH
"""What would be left of a course lower than that is not laid."""
_LIP = 0.25 * INCH
_CORNERS = ((0, 1), (2, 1), (2, 3), (0, 3))
"""Of a box: where its corners stand in its row."""
Shape = Callable[[shapely.Polygon], shapely.Geometry]


def trimmed(part: shapely.Geometry) -> shapely.Geometry:
    """Trim off strips lower than a shingle can be cut."""
    core = part.buffer(-_LIP, join_style="mitre", mitre_limit=20.0)
    return core.buffer(_LIP, join_style="mitre", mitre_limit=20.0)


@dataclass(frozen=True, slots=True, eq=False)
class Field:
    """What is laid on one plane, in (u, s) of a joint.

    Attributes
    ----------
    site : DetailSite
    work : BuildUp
    plane : LaidPlane
    face : Face or None
        That the plane is; None where both are, on a joint within one plane.
    turned : dict
        Pieces by role as far as they were asked for.
    """

    site: DetailSite
    work: BuildUp
    plane: LaidPlane
    face: Face | None
    turned: dict[str, list[tuple[int, shapely.Polygon]]] = field(default_factory=dict)

    @property
    def up(self) -> Point2:
        """The way up the slope, a unit vector in (u, s)."""
        (a, b) = self.flat(((0.0, 0.0), (0.0, 1.0)))
        u, s = (b - a).tolist()
        return (u, s)

    @property
    def layers(self) -> dict[str, Layer]:
        """Layers by role, as the catalog has them."""
        return self.site.layers(self.plane.plane.id)

    def material(self, role: str) -> Material:
        """Return what a layer is made of."""
        return self.work.catalog.material(self.layers[role].material)

    def rule(self, rule_id: str) -> StripRule:
        """Return a rule of strips.

        Raises
        ------
        LayoutError
            Where the assembly has none of that id.
        """
        found = self.site.strip(self.plane.plane.id, rule_id)
        if found is None:
            raise LayoutError(
                f"carries {self.plane.assembly!r}, which has no {rule_id!r}; this joint needs it",
                where=f"planes[{self.plane.plane.id}]",
                hint="give the plane another assembly, or the assembly that strip",
            )
        return found

    def laid(self, role: str) -> LaidLayer | None:
        """Return a layer as laid out; None where it is not."""
        return self.site.laid_layer(self.plane.plane.id, role)

    def flat(self, points: Sequence[Point2] | Floats) -> Floats:
        """Turn places of the plane into (u, s), the plane carried on flat past the line."""
        frame = self.work.frame
        away = to_space(self.plane.frame, points) - np.array(frame.origin)
        into = np.array(frame.far) if self.face is Face.FAR else -np.array(frame.near)
        found: Floats = np.column_stack((away @ np.array(frame.along), away @ into))
        return found

    def butts(self) -> dict[int, float]:
        """Return where the butt of each shingle course lies, up the slope from the middle."""
        shingles = self.laid("shingles")
        if shingles is None:
            return {}
        (zero,) = (self.flat(((0.0, 0.0),)) @ np.array(self.up)).tolist()
        return {course.number: zero + course.low for course in shingles.courses}

    def window(self, *, past: float = 0.15) -> shapely.Polygon:
        """Return the cut-out, with what may stick out past the line."""
        start, end = self.work.span
        low = -past if self.face is Face.FAR else -self.work.size[1]
        high = past if self.face is Face.NEAR else self.work.size[2]
        return shapely.box(start, low, end, high)

    def pieces(self, role: str) -> Iterator[tuple[int, list[shapely.Polygon]]]:
        """Yield the pieces of a layer course by course where the cut-out holds any of them.

        Shingles are parted by a joint; sheets keep their end laps, one list a piece.
        """
        found = self._turned(role)
        if role != "shingles":
            yield from ((course, [part]) for course, part in found)
            return
        for course, group in groupby(found, key=lambda item: item[0]):
            yield course, [part for _, part in group]

    def _turned(self, role: str) -> list[tuple[int, shapely.Polygon]]:
        """Return what the cut-out holds of each piece of a layer, with its course."""
        laid = self.laid(role)
        if laid is None:
            return []
        if role in self.turned:
            return self.turned[role]
        window = self.window()
        corners = self.flat(laid.pieces.boxes[:, _CORNERS].reshape(-1, 2)).reshape(-1, 4, 2)
        found = self.turned[role] = []
        for index in np.flatnonzero(window.intersects(shapely.polygons(corners))).tolist():
            outline = laid.pieces.outline(index)
            if role == "shingles":
                u0, v0, u1, v1 = laid.pieces.boxes[index].tolist()
                half = _JOINT / 2.0
                outline = outline.intersection(shapely.box(u0 + half, v0, u1 - half, v1))
            for part in shapely.get_parts(outline):
                if part.geom_type == "Polygon" and part.area > self.work.tol.merge:
                    turned = shapely.transform(part, self.flat)
                    if turned.intersection(window).area > self.work.tol.merge:
                        found.append((int(laid.pieces.course[index]), turned))
        return found

    def nails(self, role: str) -> Floats:
        """Return the fasteners of a layer that the cut-out holds, as (u, s)."""
        laid = self.laid(role)
        if laid is None or not len(laid.nails):
            return np.empty((0, 2))
        places = self.flat(laid.nails)
        start, end = self.work.span
        low = 0.0 if self.face is Face.FAR else -self.work.size[1]
        high = 0.0 if self.face is Face.NEAR else self.work.size[2]
        (u, s), edge = places.T, _NAIL_EDGE
        inside = (u > start + edge) & (u < end - edge) & (s > low + edge) & (s < high - edge)
        kept: Floats = places[inside]
        return kept

    def lay_sheets(
        self, number: int, role: str, *, shape: Shape | None = None, prefix: str = ""
    ) -> bool:
        """Lay the sheets of a layer; returns whether the cut-out holds any.

        ``shape`` cuts what the detail itself leaves out; ``prefix`` begins the ids.
        """
        made = self.material(role)
        name = prefix + role.replace(" ", "_")
        done = 0
        for _, parts in self.pieces(role):
            whole = [shape(part) for part in parts] if shape else parts
            outlines = _polygons(whole)
            crossing = any(self._crosses(part) for part in outlines)
            axis = self._square(self.up) if crossing else self.up
            if outlines and self.work.patch(
                f"{name}.{done + 1}",
                f"{made.name} {done + 1}",
                PieceKind.SHEET,
                number,
                made.id,
                None if crossing else self.face,
                outlines,
                axis,
            ):
                done += 1
        layer = self.laid(role)
        if done and layer is not None and layer.fastener:
            places = self._held(f"{name}.", self.nails(role))
            self.work.nails(f"{name}.nails", "Capped nails", number, layer.fastener, places)
        return done > 0

    def lay_course(
        self,
        number: int,
        course: int,
        outlines: Sequence[shapely.Polygon],
        *,
        shape: Shape | None = None,
        prefix: str = "",
    ) -> bool:
        """Lay one course of shingles with its nails; ``shape``, ``prefix`` as ``lay_sheets``."""
        name = f"{prefix}course.{course}"
        made = self.material("shingles")
        parts = _polygons([shape(part) for part in outlines] if shape else outlines)
        parts = [part for part in parts if self._tall(part) > _SLIVER]
        if not parts or not self.work.patch(
            name,
            f"{made.name}, course {course}",
            PieceKind.SHINGLE,
            number,
            made.id,
            self.face,
            parts,
            self.up,
            taper=(1.0, THIN),
        ):
            return False
        layer = self.laid("shingles")
        butt = self.butts()[course]
        if layer is not None and layer.fastener:
            places = self.nails("shingles")
            line = self.layers["shingles"].nailing
            at = butt + (line.line if line else 0.0)
            mine = places[np.abs(places @ np.array(self.up) - at) < INCH]
            held = self._held(name, mine, inside=_OFF_CUT)
            self.work.nails(f"{name}.nails", "Nails", number, layer.fastener, held)
        return True

    def lay_courses(
        self, number: int, *, shape: Shape | None = None, prefix: str = ""
    ) -> list[int]:
        """Lay all courses of shingles from the lowest up; returns their numbers."""
        return [
            course
            for course, outlines in self.pieces("shingles")
            if self.lay_course(number, course, outlines, shape=shape, prefix=prefix)
        ]

    def strip_spans(self, rule_id: str) -> list[tuple[float, float]]:
        """Return from where to where in u the pieces of a strip lie, in the order laid."""
        strip = self.laid_strip(rule_id)
        if strip is None:
            return []
        low, high = (np.array(end) for end in self.site.roof.edge(self.site.place.edge).ends)
        frame = self.work.frame
        along = np.array(frame.along)
        start = float((low - np.array(frame.origin)) @ along)
        sign = float(np.sign((high - low) @ along))
        ends = np.sort(start + sign * strip.pieces, axis=1)
        first, last = self.work.span
        return [(a, b) for a, b in ends.tolist() if b > first and a < last]

    def laid_strip(self, rule_id: str) -> LaidStrip | None:
        """Return the strip of a rule along the place's edge or opening, as laid out."""
        place = self.site.place.edge or self.site.place.opening
        return next(
            (s for s in self.site.layout.strips if s.edge == place and s.rule == rule_id), None
        )

    def measure_exposure(self, number: int, u: float) -> None:
        """Note the exposure of a course well inside the cut-out, at a place along the line."""
        made = self.material("shingles")
        butts = sorted(self.butts().values())
        window = self.window(past=0.0).buffer(self.work.tol.merge)
        shown = []
        for low in butts:
            ends = [self._on_line(u, at) for at in (low, low + made.exposure)]
            if all(window.intersects(shapely.Point(end)) for end in ends):
                shown.append(ends)
        if shown:
            a, b = shown[len(shown) // 2]
            words = f"{self.work.text(made.exposure)} exposed"
            source = made.source_of("exposure")
            self.work.measure_between("exposure", number, a, b, words, source)

    def _on_line(self, across: float, at: float) -> Point2:
        """Return the place ``at`` up the slope and ``across`` to the side of it."""
        u, s = self.up
        if abs(u) > abs(s):
            return (at * u, across)
        return (across, at * s)

    def _held(self, prefix: str, places: Floats, *, inside: float = 0.0) -> list[Point2]:
        """Keep the nails that stand on what was just laid, so far inside its edges."""
        areas = [
            shapely.Polygon(part.outline, part.holes)
            for piece in self.work.pieces
            if piece.id == prefix or (prefix.endswith(".") and piece.id.startswith(prefix))
            for part in piece.footprints
            if self.face in (None, part.face)
        ]
        ground = shapely.union_all(areas).buffer(-inside)
        return [(u, s) for u, s in places.tolist() if ground.contains(shapely.Point(u, s))]

    def _tall(self, part: shapely.Polygon) -> float:
        along = shapely.get_coordinates(part) @ np.array(self.up)
        return float(along.max() - along.min())

    def _crosses(self, part: shapely.Polygon) -> bool:
        if self.face is None:
            return False
        _, low, _, high = part.bounds
        tol = self.work.tol.merge
        return bool(low < -tol and high > tol)

    def _square(self, axis: Point2) -> Point2:
        """Turn an axis along the line or square to it, as of a piece that bends over it."""
        u, s = axis
        return (float(np.sign(u)), 0.0) if abs(u) > abs(s) else (0.0, float(np.sign(s)))


def open_field(site: DetailSite, work: BuildUp, plane: str, face: Face | None = Face.NEAR) -> Field:
    """Return what the layout has on a plane.

    Raises
    ------
    LayoutError
        Where the layout does not hold the plane.
    """
    laid = site.laid_plane(plane)
    if laid is None:
        raise LayoutError(
            "is not laid out; its joints are drawn with the pieces laid",
            where=f"planes[{plane}]",
            hint="lay out the roof first",
        )
    return Field(site, work, laid, face)


def _polygons(shapes: Sequence[shapely.Geometry]) -> list[shapely.Polygon]:
    return [
        part
        for one in shapes
        for part in shapely.get_parts(one)
        if part.geom_type == "Polygon" and part.area > INCH * INCH / 4.0
    ]
