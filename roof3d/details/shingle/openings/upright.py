"""What stands upright through a plane: holes, tubes, the deck round them."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
import shapely

from roof3d.catalog.model import Catalog
from roof3d.details.build_up import BuildUp
from roof3d.details.frame import Face, Floats, Frame
from roof3d.details.model import INCH, DetailLayer, PieceKind
from roof3d.details.rows import describe
from roof3d.details.shapes.drape import STIFF_RAMP, lay
from roof3d.details.shapes.fit import split_at_line
from roof3d.details.shapes.patches import patch_body
from roof3d.details.shapes.solids import Body, extruded
from roof3d.details.site import DetailSite
from roof3d.layout.joint import Given
from roof3d.roof.model import Point3

SIDES = 24
THIN = (2.0, INCH / 8.0)
"""Round what stands through a roof sheets are drawn no thicker: thicker, metal leaves its seat."""
_ROUNDS = 40
_BELOW = 4.0 * INCH


@dataclass(frozen=True, slots=True, kw_only=True)
class Pipe:
    """A pipe through the middle of a detail on one plane.

    Attributes
    ----------
    frame : Frame
        Its origin is where the axis of the pipe meets the deck.
    radius, top : float
        Metres; of its top the height in space.
    """

    frame: Frame
    radius: float
    top: float

    @property
    def sine(self) -> float:
        """Of the angle between the deck and the level."""
        return self.frame.far[2]

    @property
    def cosine(self) -> float:
        """Of the same angle."""
        return self.frame.near_normal[2]

    def hole(self, gap: float, height: float) -> shapely.Polygon:
        """Return what a sheet leaves open round it, in (u, s).

        The pipe stands plumb, so that it leans up the slope as seen square to the deck:
        ``height`` is how high off the deck the sheet lies at most.
        """
        ring = self._ring(self.radius)
        at = np.column_stack((ring[:, 0], ring[:, 1] / self.cosine))
        lean = height * self.sine / self.cosine
        both = shapely.MultiPoint(np.concatenate((at, at + np.array((0.0, lean)))))
        hull = shapely.convex_hull(both).buffer(gap, quad_segs=4)
        return shapely.orient_polygons(shapely.simplify(hull, INCH / 100.0))

    def circle(self, radius: float, height: float) -> Floats:
        """Return a ring (n, 3) round the axis, each point ``height`` off the deck."""
        flat = self._ring(radius) @ np.array((self.frame.along, self._level()))
        slope = self.sine / self.cosine
        up = self._ring(radius)[:, 1] * slope + height / self.cosine
        points: Floats = np.array(self.frame.origin) + flat
        points[:, 2] += up
        return points

    def on(self, radius: float, at: Floats, height: Floats) -> Floats:
        """Return where a tube round it meets a surface: rows (n, 3) of u, s and height.

        ``height`` is that of the surface off the deck along ``at``, both (k,).
        """
        ring, tan = self._ring(radius), self.sine / self.cosine
        up = np.zeros(len(ring))
        # The tube stands plumb: the higher the surface, the further up the slope they meet.
        for _ in range(_ROUNDS):
            up = np.interp(ring[:, 1] / self.cosine + up * tan, at, height)
        return np.column_stack((ring[:, 0], ring[:, 1] / self.cosine + up * tan, up))

    def space(self, places: Floats) -> Floats:
        """Turn rows of u, s and height into points (n, 3)."""
        return self.frame.on_face(Face.NEAR, *places.T)

    def level_circle(self, radius: float, above: float) -> Floats:
        """Return a level ring (n, 3) round the axis, ``above`` where it meets the deck."""
        flat = self._ring(radius) @ np.array((self.frame.along, self._level()))
        points: Floats = np.array(self.frame.origin) + flat
        points[:, 2] += above
        return points

    def body(self) -> Body:
        """Return the pipe itself, from below the deck to its top."""
        start = -_BELOW / self.cosine - self.radius
        ring = [point3(p) for p in self.level_circle(self.radius, start)]
        return extruded(ring, (0.0, 0.0, self.top - self.frame.origin[2] - start))

    def _level(self) -> Point3:
        """Level way up the slope."""
        x, y, _ = self.frame.far
        size = math.hypot(x, y) or 1.0
        return (x / size, y / size, 0.0)

    def _ring(self, radius: float) -> Floats:
        turn = (np.arange(SIDES) + 0.5) * (2.0 * math.pi / SIDES)
        return radius * np.column_stack((np.cos(turn), np.sin(turn)))


def tube(outer: tuple[Floats, Floats], inner: tuple[Floats, Floats]) -> Body:
    """Return the body between two surfaces, each from a low ring to a high one, all (n, 3)."""
    count = len(outer[0])
    here = np.arange(count, dtype=np.int64)
    after = np.roll(here, -1)
    order = (outer[0], outer[1], inner[1], inner[0])
    triangles = []
    for k in range(4):
        a, b = k * count, (k + 1) % 4 * count
        triangles.append(np.column_stack((here + a, after + a, after + b)))
        triangles.append(np.column_stack((here + a, after + b, here + b)))
    rims = [np.concatenate((ring, ring[:1])) for ring in order]
    return Body(
        vertices=np.concatenate(order), triangles=np.concatenate(triangles), rims=tuple(rims)
    )


def cut_flange(work: BuildUp, pipe: Pipe, gap: float, made: str, size: Floats) -> shapely.Polygon:
    """Return a flange (u0, s0, u1, s1), its hole as small as the pipe lets it be where it lies."""
    whole = shapely.box(*size)
    ground = work.stack.under(split_at_line([whole], tol=work.tol), (0.0, 1.0))
    thick = work.thickness(made)
    laid, _ = lay(ground, (ground.at[0], ground.at[-1]), (thick, thick), ramp=STIFF_RAMP)
    rings = [pipe.on(pipe.radius, laid.at, height)[:, :2] for height in (laid.under, laid.over)]
    hole = shapely.convex_hull(shapely.MultiPoint(np.concatenate(rings))).buffer(gap, quad_segs=4)
    return shapely.orient_polygons(whole.difference(shapely.simplify(hole, INCH / 100.0)))


def last_surface(work: BuildUp) -> tuple[Floats, Floats]:
    """Return the upper side of the piece laid last, on both sides of the line: s, height."""
    near, far = (next(t for t in work.stack.tops[::-1] if t.face is face) for face in Face)
    low, high = near.at <= 0.0, far.at > 0.0
    return np.append(near.at[low], far.at[high]), np.append(near.over[low], far.over[high])


def draw_thin(site: DetailSite, most: tuple[float, float] = THIN) -> DetailSite:
    """Return a site whose sheets are drawn no thicker than a factor and a least thickness say."""
    drawn = replace(
        site.options,
        thickness_factor=min(site.options.thickness_factor, most[0]),
        least_thickness=min(site.options.least_thickness, most[1]),
    )
    return replace(site, options=drawn)


def lay_deck_with_hole(
    work: BuildUp, material: str, hole: shapely.Polygon, what: str
) -> DetailLayer:
    """Lay the deck of one plane, open round what goes through it; returns its words."""
    made = work.catalog.material(material)
    depth = made.thickness
    start, end = work.span
    whole = shapely.box(start, -work.size[1], end, work.size[2])
    area = shapely.orient_polygons(shapely.difference(whole, hole))

    def place(points: Floats, top: bool) -> Floats:  # noqa: FBT001 - as Placer says
        u, s = points.T
        return work.frame.on_face(Face.NEAR, u, s, np.full(len(points), 0.0 if top else -depth))

    body = patch_body([area], (0.0, 1.0), (), place, tol=work.tol)
    parts = split_at_line([area], tol=work.tol)
    work.solid("deck.1", made.name, PieceKind.DECK, 1, material, [body], parts)
    return describe(
        1,
        made,
        f"panels {work.text(depth)}, open round the {what}",
        "nails or screws at panel edges; wood under each cut edge",
        f"Bears everything; the {what} passes it without touching.",
        tool="saw, tape, screw gun",
        gear="eye guard, gloves, harness",
        mistake=f"A ragged cut: nothing under the sheets round the {what}.",
        check="Press beside the hole: nothing gives.",
    )


def with_thickness(catalog: Catalog, material: str, thickness: Given) -> Catalog:
    """Return a catalog in which a material has a thickness, where it had none."""
    return replace(
        catalog,
        materials=tuple(
            replace(made, thickness=made.thickness or thickness.metres)
            if made.id == material
            else made
            for made in catalog.materials
        ),
    )


def join_last(work: BuildUp, bodies: list[Body]) -> None:
    """Make bodies parts of the piece laid last."""
    work.join_last(bodies)


def point3(values: Floats) -> Point3:
    """Return a point as plain numbers."""
    x, y, z = values.tolist()
    return (x, y, z)
