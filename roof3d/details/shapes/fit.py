"""Fit one piece onto what lies on two faces: its heights, its solid's outline, its tops."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely

from roof3d.details.frame import Face, Floats, Frame, Point2
from roof3d.details.model import Footprint
from roof3d.details.shapes.drape import Ground, Laid, Segment, lay
from roof3d.details.shapes.ground import Stack, Top, extent_along
from roof3d.details.shapes.patches import Placer, patch_body
from roof3d.details.shapes.solids import Body, join_bodies
from roof3d.tolerance import DEFAULT, Tolerance

_PAST = 10.0
"""More than any cut-out reaches, metres."""
_NEAR_LINE = 0.075
"""What stands within this of the line on the other face may be in a piece's way, metres."""
_EASE = 1.02
"""A little wider than it must be, so that no corner of a bend folds over by rounding."""


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Fit:
    """A piece in its place.

    Attributes
    ----------
    face : Face or None
        None where it bends over the line.
    axis : Point2
    parts : list of (Face, shapely.Polygon)
        What it covers, as asked for.
    solids : list of shapely.Polygon
        What it covers as drawn: cut back in an inside corner from what stands on the
        other face.
    near, far : Laid
        Heights along the axis on either face; the same one where it does not fold.
    """

    face: Face | None
    axis: Point2
    parts: list[tuple[Face, shapely.Polygon]]
    solids: list[shapely.Polygon]
    near: Laid
    far: Laid

    @property
    def turns(self) -> list[float]:
        """Where along the axis its height turns."""
        return sorted({*self.near.at[1:-1].tolist(), *self.far.at[1:-1].tolist()})

    @property
    def bends(self) -> tuple[float, ...]:
        """Values of s at which it bends."""
        return (0.0,) if self.face is None else ()

    def across(self) -> tuple[Laid, Laid | None]:
        """Return heights over s of a piece that runs along the line; see ``prisms``."""
        if self.near is self.far:
            return self.near, None
        first, last = self.near, self.far
        at = np.concatenate((first.at[:-1], last.at))
        there = at > 0.0

        def joined(near: Floats, far: Floats, *, of_near: bool) -> Floats:
            found = np.concatenate((near[:-1], far))
            if of_near:
                found[~there] = near
            return found

        def laid(*, of_near: bool) -> Laid:
            return Laid(
                at=at,
                under=joined(first.under, last.under, of_near=of_near),
                over=joined(first.over, last.over, of_near=of_near),
            )

        return laid(of_near=True), laid(of_near=False)

    def heights(self, points: Floats, laid: Laid, *, top: bool) -> Floats:
        """Return heights of one leg over places (n, 2)."""
        height = laid.over if top else laid.under
        found: Floats = np.interp(points @ np.array(self.axis), laid.at, height)
        return found

    def placer(self, frame: Frame) -> Placer:
        """Return how places of the piece go to space."""

        def place(points: Floats, top: bool) -> Floats:  # noqa: FBT001 - as Placer says
            u, s = points.T
            if self.face is not None:
                laid = self.near if self.face is Face.NEAR else self.far
                return frame.on_face(self.face, u, s, self.heights(points, laid, top=top))
            near = self.heights(points, self.near, top=top)
            if self.near is self.far:
                return frame.place(u, s, near)
            return frame.place(u, s, near, self.heights(points, self.far, top=top))

        return place

    def body(self, frame: Frame, *, tol: Tolerance = DEFAULT) -> Body:
        """Return the solid of the piece.

        Notes
        -----
        One whose height changes aslant to a bend cannot fold there: each leg lies flat on its
        own face and ends at the mitre, with its top in an inside bend, else with its underside.
        """
        place = self.placer(frame)
        whole = patch_body(self.solids, self.axis, self.turns, place, bends=self.bends, tol=tol)
        aslant = min(abs(self.axis[0]), abs(self.axis[1])) > tol.parallel
        bent = self.face is None and frame.turn > tol.parallel
        if not (aslant and bent) or self.near is not self.far:
            return whole
        bodies = []
        for face in Face:
            legs = [shapely.intersection(s, self._up_to_mitre(frame, face)) for s in self.solids]
            solids = [
                shapely.orient_polygons(part)
                for leg in legs
                for part in shapely.get_parts(leg)
                if part.geom_type == "Polygon" and part.area > tol.merge
            ]
            place = replace(self, face=face).placer(frame)
            if solids:
                bodies.append(patch_body(solids, self.axis, self.turns, place, tol=tol))
        return join_bodies(bodies) if bodies else whole

    def _up_to_mitre(self, frame: Frame, face: Face) -> shapely.Polygon:
        sign = -1.0 if face is Face.NEAR else 1.0
        first, last = self.near.at[0] - _PAST, self.near.at[-1] + _PAST
        at = np.concatenate(([first], self.near.at, [last]))
        height = -self.near.under if frame.convex else self.near.over
        s = sign * np.interp(at, self.near.at, height) * math.tan(frame.turn / 2.0)
        u = (at - self.axis[1] * s) / self.axis[0]
        out = sign * _PAST
        ring = [*zip(u.tolist(), s.tolist(), strict=True), (u[-1], out), (u[0], out)]
        return shapely.orient_polygons(shapely.Polygon(ring))

    def tops(self, frame: Frame) -> list[Top]:
        """Return what later pieces lie on; over an outside corner it sticks out past the line."""
        found = []
        for face, area in self.parts:
            laid = self.near if face is Face.NEAR else self.far
            outline = area
            if self.face is None and frame.convex:
                outline = self._past_line(frame, face, area)
            found.append(
                Top(face=face, outline=outline, axis=self.axis, at=laid.at, over=laid.over)
            )
        return found

    def _past_line(self, frame: Frame, face: Face, area: shapely.Polygon) -> shapely.Geometry:
        u0, s0, u1, s1 = area.bounds
        if s0 < 0.0 < s1 or (s1 < 0.0 if face is Face.NEAR else s0 > 0.0):
            return area
        points = shapely.get_coordinates(area)
        edge = points[points[:, 1] == 0.0]
        if len(edge) < 2:
            return area
        placed = self.placer(frame)(edge, True) - np.array(frame.origin)
        into = frame.near if face is Face.NEAR else frame.far
        past = float((-(placed @ np.array(into))).max())
        if past <= 0.0:
            return area
        u0, u1 = float(edge[:, 0].min()), float(edge[:, 0].max())
        strip = (u0, 0.0, u1, past) if face is Face.NEAR else (u0, -past, u1, 0.0)
        return shapely.union(area, shapely.box(*strip))


def fit_piece(
    stack: Stack,
    frame: Frame,
    outlines: Sequence[shapely.Polygon],
    face: Face | None,
    axis: Point2,
    *,
    thickness: tuple[float, float],
    reach: tuple[float, float],
    ramp: float,
    folded: bool,
    tol: Tolerance = DEFAULT,
) -> Fit:
    """Fit a piece onto what lies there.

    Parameters
    ----------
    stack : Stack
        Not changed.
    frame : Frame
    outlines : sequence of shapely.Polygon
    face : Face or None
    axis : Point2
    thickness, reach : tuple[float, float]
        Thickness at the two ends of its reach along the axis, before it was cut out.
    ramp : float
        Length over height by which it comes down from an edge.
    folded : bool
        Whether each leg has heights of its own.
    """
    parts = split_at_line(outlines, tol=tol) if face is None else [(face, o) for o in outlines]
    solids = list(outlines)
    inside = not frame.convex and frame.turn > tol.parallel
    along = _extent([area for _, area in parts], axis)

    def thick(at: float) -> float:
        share = (at - reach[0]) / (reach[1] - reach[0])
        return thickness[0] + share * (thickness[1] - thickness[0])

    def laid(legs: Sequence[tuple[Face, shapely.Polygon]], extra: Sequence[Segment]) -> Laid:
        low, high = _extent([area for _, area in legs], axis)
        ground = stack.under(legs, axis, extra)
        ends = (thick(low), thick(high))
        keep = (0.0,) if face is None and axis[0] == 0.0 else ()
        found, _ = lay(ground, (low, high), ends, ramp=ramp, keep=keep, tol=tol)
        return found

    legs = {side: [part for part in parts if part[0] is side] for side in Face}
    both = bool(legs[Face.NEAR] and legs[Face.FAR])
    bend = both and axis[0] == 0.0 and (inside or folded)
    extra: Sequence[Segment] = ()
    if not (folded and both):
        if bend:
            extra = _flat_at_bend(stack.under(parts, axis), frame, along, max(thickness))
        one = laid(parts, extra)
        if face is not None and (inside or (folded and frame.convex)):
            solids = _cut_back(stack, frame, solids, face, one, axis, folded=folded)
        return Fit(face=face, axis=axis, parts=parts, solids=solids, near=one, far=one)
    pair: tuple[Sequence[Segment], Sequence[Segment]] = ((), ())
    if bend:
        grounds = (stack.under(legs[Face.NEAR], axis), stack.under(legs[Face.FAR], axis))
        pair = _flat_at_fold(grounds, frame, axis, max(thickness))
    near, far = laid(legs[Face.NEAR], pair[0]), laid(legs[Face.FAR], pair[1])
    return Fit(face=face, axis=axis, parts=parts, solids=solids, near=near, far=far)


def _extent(areas: Sequence[shapely.Geometry], axis: Point2) -> tuple[float, float]:
    ends = [extent_along(area, axis) for area in areas]
    return min(low for low, _ in ends), max(high for _, high in ends)


def _flat_at_bend(
    ground: Ground, frame: Frame, along: tuple[float, float], thick: float
) -> tuple[Segment, ...]:
    """Height that a piece keeps across an inside bend, so that it does not fold into itself."""
    half = math.tan(frame.turn / 2.0)
    height = ground.top(0.0)
    for _ in range(3):
        wide = _EASE * (height + thick) * half
        height = ground.highest(max(-wide, along[0]), min(wide, along[1]))
    low, high = max(-wide, along[0]), min(wide, along[1])
    return (((low, height), (high, height)),)


def _flat_at_fold(
    grounds: tuple[Ground, Ground], frame: Frame, axis: Point2, thick: float
) -> tuple[tuple[Segment, ...], tuple[Segment, ...]]:
    """Find the same where each leg has a height of its own."""
    near, far = grounds
    sine = math.sin(frame.turn)
    up = axis[1] > 0.0
    heights = [
        near.top(near.at[-1] if up else near.at[0]),
        far.top(far.at[0] if up else far.at[-1]),
    ]
    ends: list[tuple[float, float]] = []
    for _ in range(3):
        ends = []
        for index, ground in enumerate(grounds):
            reach = thick
            if not frame.convex:
                # In a corner sharper than square what stands high on one face leans over.
                leans = max(0.0, -math.cos(frame.turn)) * (heights[index] + thick)
                reach = (heights[1 - index] + thick + leans) / sine
            wide = min(reach, ground.at[-1] - ground.at[0])
            last = (index == 0) is up
            ends.append(
                (ground.at[-1] - wide, ground.at[-1])
                if last
                else (ground.at[0], ground.at[0] + wide)
            )
        heights = [g.highest(*e) for g, e in zip(grounds, ends, strict=True)]
    flat = [
        (((low, height), (high, height)),)
        for (low, high), height in zip(ends, heights, strict=True)
    ]
    return flat[0], flat[1]


def _cut_back(
    stack: Stack,
    frame: Frame,
    outlines: Sequence[shapely.Polygon],
    face: Face,
    laid: Laid,
    axis: Point2,
    *,
    folded: bool,
) -> list[shapely.Polygon]:
    """Cut outlines back at the line, so that nothing is in the way of the other face.

    In an inside corner from what stands there; where nothing folds every piece keeps to its
    own side of the mitre.
    """
    other = Face.FAR if face is Face.NEAR else Face.NEAR
    sign = -1.0 if face is Face.NEAR else 1.0
    cosine, sine = math.cos(frame.turn), math.sin(frame.turn)
    found = []
    for outline in outlines:
        u0, s0, u1, s1 = outline.bounds
        strip = (u0, 0.0, u1, _NEAR_LINE) if other is Face.FAR else (u0, -_NEAR_LINE, u1, 0.0)
        high = stack.highest(other, shapely.box(*strip))
        edge = s1 if face is Face.NEAR else s0
        beside = _within(outline, face, _NEAR_LINE)
        if beside.is_empty and not (folded or frame.convex):
            # What begins further off is in the way only where the planes meet at a sharp angle.
            beside = _within(outline, face, 2.0 * _NEAR_LINE)
        if beside.is_empty:
            found.append(outline)
            continue
        first, last = extent_along(beside, axis)
        cuts = np.array([first, *laid.at[(laid.at > first) & (laid.at < last)], last])
        if frame.convex:
            # Cut plumb with the other face, but for what is meant to stick out past it; where
            # that is hardly another way, so little that it still lies on the edge.
            over = float(np.interp(cuts, laid.at, laid.over).max())
            plumb = max(0.0, min(cosine / sine, sine / cosine if cosine > 0.0 else 0.0))
            shy = over * plumb if sign * edge >= 0.0 else sign * edge
        elif folded:
            low = np.interp(cuts, laid.at, laid.under if cosine >= 0.0 else laid.over)
            shy = (high - cosine * float(low.min() if cosine >= 0.0 else low.max())) / sine
            shy = shy if high > 0.0 else 0.0
        else:
            shy = float(np.interp(cuts, laid.at, laid.over).max()) * math.tan(frame.turn / 2.0)
        if shy <= sign * edge:
            found.append(outline)
            continue
        far_out = sign * 1e3
        found += [
            shapely.orient_polygons(part)
            for part in shapely.get_parts(
                shapely.intersection(outline, _box(u0, u1, sign * shy, far_out))
            )
            if part.geom_type == "Polygon"
        ]
    return found


def _within(outline: shapely.Polygon, face: Face, reach: float) -> shapely.Geometry:
    u0, _, u1, _ = outline.bounds
    low, high = (-reach, 0.0) if face is Face.NEAR else (0.0, reach)
    return shapely.intersection(outline, shapely.box(u0, low, u1, high))


def _box(u0: float, u1: float, one: float, other: float) -> shapely.Polygon:
    return shapely.box(u0 - 1.0, min(one, other), u1 + 1.0, max(one, other))


def split_at_line(
    outlines: Sequence[shapely.Polygon], *, tol: Tolerance = DEFAULT
) -> list[tuple[Face, shapely.Polygon]]:
    """Part outlines in (u, s) at the line, near part first."""
    found = []
    for outline in outlines:
        u0, s0, u1, s1 = outline.bounds
        for face, low, high in ((Face.NEAR, s0 - 1.0, 0.0), (Face.FAR, 0.0, s1 + 1.0)):
            if high - low <= 1.0:
                continue
            cut = shapely.intersection(outline, shapely.box(u0 - 1.0, low, u1 + 1.0, high))
            found += [
                (face, shapely.orient_polygons(part))
                for part in shapely.get_parts(cut)
                if part.geom_type == "Polygon" and part.area > tol.merge**2
            ]
    return found


def polygon_of(outline: object) -> shapely.Polygon:
    """Return an outline, given as corners or as a polygon, counterclockwise."""
    polygon = (
        outline if isinstance(outline, shapely.Polygon) else shapely.Polygon(np.asarray(outline))
    )
    return shapely.orient_polygons(polygon)


def footprint_of(face: Face, area: shapely.Polygon) -> Footprint:
    """Return what a piece covers of a face as plain numbers."""
    rings = [shapely.get_coordinates(ring)[:-1] for ring in (area.exterior, *area.interiors)]
    for ring in rings:
        ring.setflags(write=False)
    return Footprint(face=face, outline=rings[0], holes=tuple(rings[1:]))
