"""Each section alone: its walls and the faces of its own roof, before sections meet.

Every form over a rectangle is the lower envelope of a few planes over the roof outline:
water runs off along whichever plane is lowest. So one rule makes them all. Sections over any
outline are made in ``outlines``.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import shapely

from roof3d.errors import GeometryError
from roof3d.geometry.plane import HeightPlane, Point2, crossing
from roof3d.geometry.polygon import clip_left, signed_area, without_repeats
from roof3d.spec.model import Form, SectionSpec
from roof3d.tolerance import Tolerance


@dataclass(frozen=True, slots=True)
class Face:
    """One plane of one section over its whole plan polygon.

    ``ring`` runs counterclockwise, ``holes`` clockwise; ``storey`` is ``lower`` or ``upper``
    where one wall carries a plane above another.
    """

    plane: HeightPlane
    ring: tuple[Point2, ...]
    holes: tuple[tuple[Point2, ...], ...] = ()
    storey: str = ""

    def edges(self) -> Iterator[tuple[Point2, Point2]]:
        """Yield every side of the plan polygon."""
        for ring in (self.ring, *self.holes):
            yield from zip(ring, (*ring[1:], ring[0]), strict=True)


@dataclass(frozen=True, slots=True, kw_only=True)
class SectionRoof:
    """A section in plan, local coordinates.

    Attributes
    ----------
    id : str
    walls : tuple of rings
        Outside wall faces: the exterior counterclockwise, courtyards clockwise.
    overhangs : tuple of tuples of float
        Past each wall, ring by ring, metres.
    outline : tuple of points
        Outer roof outline, overhangs included, counterclockwise.
    faces : tuple[Face, ...]
        They tile the outline.
    base : float
        Underside of the body, ``-inf`` when it stands on the ground.
    open : bool
        Without walls: it swallows nothing.
    covering : str
        What the model wants on it; planes that run on under another covering part there.
    """

    id: str
    walls: tuple[tuple[Point2, ...], ...]
    overhangs: tuple[tuple[float, ...], ...]
    outline: tuple[Point2, ...]
    faces: tuple[Face, ...]
    base: float
    open: bool
    covering: str = ""

    def body(self) -> shapely.Polygon:
        """Return the plan of the walls, courtyards left out."""
        return shapely.Polygon(self.walls[0], self.walls[1:])

    def wall_edges(self) -> Iterator[tuple[Point2, Point2, float]]:
        """Yield every wall, the body on its left, with the overhang past it."""
        for ring, overhangs in zip(self.walls, self.overhangs, strict=True):
            yield from zip(ring, (*ring[1:], ring[0]), overhangs, strict=True)


def build_section(spec: SectionSpec, origin: Point2, *, tol: Tolerance) -> SectionRoof:
    """Build one section's walls and faces.

    Parameters
    ----------
    spec : SectionSpec
    origin : (x, y)
        World point that becomes the local origin, metres.
    tol : Tolerance

    Returns
    -------
    SectionRoof
        In local coordinates.

    Raises
    ------
    GeometryError
        If its planes leave a part of the outline uncovered (sizes that cannot be built).
    """
    length, width = spec.length, spec.width
    south, east, north, west = past = _past_walls(spec)
    outline = _rectangle(-west, -south, length + east, width + north)
    faces = lower_envelope(outline, section_planes(spec), tol=tol)
    covered = sum(signed_area(face.ring) for face in faces)
    if abs(covered - signed_area(outline)) > tol.area:
        raise GeometryError(
            f"the planes cover {covered:.3f} of {signed_area(outline):.3f} m2",
            where=f'section "{spec.id}"',
            hint="check width, break_in and pitches",
        )
    place = placement(spec, origin)
    return SectionRoof(
        id=spec.id,
        walls=(tuple(place.point(p) for p in _rectangle(0.0, 0.0, length, width)),),
        overhangs=(past,),
        outline=tuple(place.point(p) for p in outline),
        faces=tuple(
            replace(f, plane=place.plane(f.plane), ring=tuple(place.point(p) for p in f.ring))
            for f in _storeyed(spec.form, faces)
        ),
        base=spec.base if spec.base > 0.0 else -math.inf,
        open=spec.open,
        covering=spec.assembly,
    )


def build_any_section(spec: SectionSpec, origin: Point2, *, tol: Tolerance) -> SectionRoof:
    """Build one section of any form; see ``build_section`` and ``build_outline_section``."""
    if spec.outline is None:
        return build_section(spec, origin, tol=tol)
    # Most models have no outline, and the skeleton takes a while to import.
    from roof3d.roof.outlines import build_outline_section  # noqa: PLC0415

    return build_outline_section(spec, spec.outline, origin, tol=tol)


def section_planes(spec: SectionSpec) -> tuple[HeightPlane, ...]:
    """Return the planes whose lower envelope is the section's roof, in its own frame.

    The frame has x along the ridge, y across, the first wall corner at the origin.
    """
    length, width, eave, pitch = spec.length, spec.width, spec.eave, spec.pitch

    def sides(slope: float, inset: float, height: float) -> tuple[HeightPlane, ...]:
        return (
            HeightPlane(0.0, slope, height - slope * inset),
            HeightPlane(-slope, 0.0, height + slope * (length - inset)),
            HeightPlane(0.0, -slope, height + slope * (width - inset)),
            HeightPlane(slope, 0.0, height - slope * inset),
        )

    match spec.form:
        case Form.GABLE:
            back = spec.pitch_back
            return (HeightPlane(0.0, pitch, eave), HeightPlane(0.0, -back, eave + back * width))
        case Form.SHED | Form.FLAT:
            return (HeightPlane(0.0, pitch, eave),)
        case Form.HIP:
            return sides(pitch, 0.0, eave)
        case Form.GAMBREL:
            knee = eave + spec.lower_pitch * spec.break_in
            lower = sides(spec.lower_pitch, 0.0, eave)
            upper = sides(pitch, spec.break_in, knee)
            return (lower[0], lower[2], upper[0], upper[2])
        case Form.MANSARD:
            knee = eave + spec.lower_pitch * spec.break_in
            lower = sides(spec.lower_pitch, 0.0, eave)
            return lower + sides(pitch, spec.break_in, knee)
        case Form.OUTLINE:
            return ()


def lower_envelope(
    outline: Sequence[Point2], planes: Sequence[HeightPlane], *, tol: Tolerance
) -> tuple[Face, ...]:
    """Cut a convex outline into the parts where each plane is the lowest.

    Parameters
    ----------
    outline : sequence of (x, y)
        Convex, counterclockwise, metres.
    planes : sequence of HeightPlane
        Equal planes count once.

    Returns
    -------
    tuple[Face, ...]
        In the order of the planes; planes that are nowhere lowest are left out.
    """
    distinct: list[HeightPlane] = []
    for plane in planes:
        if not any(plane.same_as(p, slope=tol.slope, height=tol.height) for p in distinct):
            distinct.append(plane)
    faces = []
    for plane in distinct:
        ring = tuple(outline)
        for other in distinct:
            if other is plane or not ring:
                continue
            lower_here = crossing(other, plane, slope=tol.slope)
            if lower_here is not None:
                ring = clip_left(ring, lower_here)
            elif other.c < plane.c:
                ring = ()
        if ring and signed_area(ring) > tol.area:
            faces.append(Face(plane, without_repeats(ring, merge=tol.merge)))
    return tuple(faces)


@dataclass(frozen=True, slots=True)
class Placement:
    """Turn about the section's own origin, then move."""

    cos: float
    sin: float
    shift: Point2

    def point(self, p: Point2) -> Point2:
        """Return a point of the section's frame in local coordinates."""
        return (
            self.cos * p[0] - self.sin * p[1] + self.shift[0],
            self.sin * p[0] + self.cos * p[1] + self.shift[1],
        )

    def plane(self, plane: HeightPlane) -> HeightPlane:
        """Return a plane of the section's frame in local coordinates."""
        gx = self.cos * plane.gx - self.sin * plane.gy
        gy = self.sin * plane.gx + self.cos * plane.gy
        return HeightPlane(gx, gy, plane.c).moved(self.shift)


_QUARTERS = ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0))


def placement(spec: SectionSpec, origin: Point2) -> Placement:
    """Return how a section's own frame lies in local coordinates."""
    quarters = spec.turn / (math.pi / 2.0)
    if quarters == round(quarters):
        # A quarter turn is exact, so that parallel walls stay parallel to the last bit.
        cos, sin = _QUARTERS[round(quarters) % 4]
    else:
        cos, sin = math.cos(spec.turn), math.sin(spec.turn)
    return Placement(cos, sin, (spec.at[0] - origin[0], spec.at[1] - origin[1]))


def _past_walls(spec: SectionSpec) -> tuple[float, float, float, float]:
    """Overhang past each wall, the first wall first; none past one that carries a parapet."""
    along, across = _overhangs(spec.form, spec.overhang.eave, spec.overhang.rake)
    past = [across, along, across, along]
    if spec.parapet is not None:
        carried = range(len(past)) if spec.parapet.sides is None else spec.parapet.sides
        for side in carried:
            past[side] = 0.0
    return (past[0], past[1], past[2], past[3])


def _overhangs(form: Form, eave: float, rake: float) -> tuple[float, float]:
    """Overhang beyond the ends (along x) and beyond the sides (along y)."""
    match form:
        case Form.HIP | Form.MANSARD:
            return eave, eave
        case Form.GABLE | Form.GAMBREL | Form.SHED | Form.FLAT | Form.OUTLINE:
            return rake, eave


def _storeyed(form: Form, faces: Sequence[Face]) -> tuple[Face, ...]:
    """Tell lower planes from upper ones where a form has both."""
    if form not in (Form.GAMBREL, Form.MANSARD):
        return tuple(faces)
    slopes = [math.hypot(f.plane.gx, f.plane.gy) for f in faces]
    between = (max(slopes) + min(slopes)) / 2.0
    return tuple(
        replace(face, storey="lower" if slope > between else "upper")
        for face, slope in zip(faces, slopes, strict=True)
    )


def _rectangle(x0: float, y0: float, x1: float, y1: float) -> tuple[Point2, ...]:
    return ((x0, y0), (x1, y0), (x1, y1), (x0, y1))
