"""A pipe through shingles, and one through a membrane."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import shapely

from roof3d.details.build_up import BuildUp
from roof3d.details.frame import Face
from roof3d.details.frames import frame_on_plane, room_on
from roof3d.details.model import INCH, PRACTICE, Detail, DetailLayer, PieceKind
from roof3d.details.rows import describe
from roof3d.details.shingle.field import Field, Shape, open_field
from roof3d.details.shingle.openings.upright import (
    Pipe,
    cut_flange,
    draw_thin,
    join_last,
    last_surface,
    lay_deck_with_hole,
    tube,
    with_thickness,
)
from roof3d.details.shingle.words import course_words, steep_note, underlayment_words
from roof3d.details.site import DetailSite, close_build, open_build, slope_words
from roof3d.layout.joint import Given

_FLANGE = "pipe-flashing-shingle"
_GAP = 0.5 * INCH


@dataclass(frozen=True, slots=True, kw_only=True)
class PipeLengths:
    """Lengths round a pipe on shingles that neither the catalog nor the layout has.

    Attributes
    ----------
    width, below, above : Given
        Of roof shown, and from the pipe down and up the slope.
    shown : float
        Share of the flange's length that lies open over the shingles below.
    collar : Given
        Height of the collar over the flange.
    thickness : Given
        Of the flange.
    """

    width: Given = Given(30.0 * INCH)
    below: Given = Given(16.0 * INCH)
    above: Given = Given(18.0 * INCH)
    shown: float = 1.0 / 3.0
    collar: Given = Given(3.0 * INCH)
    thickness: Given = Given(0.03 * INCH)


def pipe_at(site: DetailSite) -> Pipe:
    """Return the pipe of a site, its frame on the plane that it goes through."""
    opening = next(o for o in site.roof.openings if o.id == site.place.opening)
    plane = site.roof.plane(site.place.planes[0])
    ring = np.array(opening.outline)
    middle = (ring.min(axis=0) + ring.max(axis=0)) / 2.0
    x, y = middle.tolist()
    z = float(plane.gradient[0] * x + plane.gradient[1] * y + plane.offset)
    # The outline has corners: those of the circle that it stands for lie on it.
    radius = float(np.linalg.norm(ring - middle, axis=1).max())
    return Pipe(frame=frame_on_plane((x, y, z), plane), radius=radius, top=opening.top)


def pipe_size(
    site: DetailSite, pipe: Pipe, wanted: tuple[float, float, float]
) -> tuple[float, float, float]:
    """Return the cut-out round a pipe: what is wanted, as far as there is plane."""
    plane = site.roof.plane(site.place.planes[0])
    frame = pipe.frame
    # From just outside the hole that the pipe makes in its plane.
    out = 2.0 * pipe.radius / pipe.cosine

    def room(into: tuple[float, float, float]) -> float:
        x, y, z = (a + out * b for a, b in zip(frame.origin, into, strict=True))
        return out + room_on(plane, (x, y, z), into)

    width, below, above = wanted
    return width, min(below, room(frame.near)), min(above, room(frame.far))


def build_shingle_pipe(site: DetailSite, lengths: PipeLengths | None = None) -> Detail:
    """Build the layers round a pipe through shingles.

    Raises
    ------
    LayoutError
        Where its plane is not laid out, or its assembly has no flashing for a pipe.
    """
    o = lengths or PipeLengths()
    site = draw_thin(site)
    site = replace(site, catalog=with_thickness(site.catalog, _FLANGE, o.thickness))
    plane = site.roof.plane(site.place.planes[0])
    pipe = pipe_at(site)
    size = pipe_size(site, pipe, (o.width.metres, o.below.metres, o.above.metres))
    work = open_build(site, pipe.frame, size)
    field = open_field(site, work, plane.id, None)
    deck = field.layers["deck"].material
    rise = work.catalog.material(deck).thickness
    layers = [lay_deck_with_hole(work, deck, _hole(pipe, _GAP / 2.0, (-rise, 0.0)), "pipe")]
    number = 2
    for role in ("ice barrier", "underlayment"):
        close = cut_round(work, pipe, _GAP / 2.0, field.material(role).id)
        if field.lay_sheets(number, role, shape=close):
            layers.append(underlayment_words(field, number, "cut close round the pipe", role=role))
            number += 1
    layers += _flange_and_courses(field, pipe, number, o)
    return close_build(
        site,
        work,
        name="Pipe through shingles",
        summary=slope_words(plane.slope, site.units),
        layers=layers,
        notes=(
            *steep_note(field),
            f"Shingles below, flange over them, shingles above over the flange ({PRACTICE}).",
            (
                "The foot of the flange lies open: what gets on it runs out over the shingle below "
                f"({PRACTICE})."
            ),
            f"The collar grips the pipe, which may slide in it as it warms ({PRACTICE}).",
        ),
        near=f"{plane.id}, below the pipe",
        far=f"{plane.id}, above it",
    )


def _hole(pipe: Pipe, gap: float, heights: tuple[float, float]) -> shapely.Polygon:
    low, high = (pipe.hole(gap, height) for height in heights)
    return shapely.orient_polygons(shapely.convex_hull(shapely.union(low, high)))


def cut_round(work: BuildUp, pipe: Pipe, gap: float, material: str) -> Shape:
    """Return what cuts a sheet clear of a pipe at the height that it lies there, as drawn."""
    own = work.thickness(material)

    def cut(part: shapely.Polygon) -> shapely.Geometry:
        near = shapely.box(*pipe.hole(gap, 0.0).bounds)
        below = max(work.stack.highest(face, near) for face in Face)
        return shapely.difference(part, _hole(pipe, gap, (below / 2.0, below + own)))

    return cut


def _flange_and_courses(field: Field, pipe: Pipe, number: int, o: PipeLengths) -> list[DetailLayer]:
    """Lay the courses below, the flange over them, the courses above over that."""
    work, rule = field.work, field.rule("pipe-flashing")
    made = work.catalog.material(rule.material)
    half = made.length / 2.0
    shown = -half + o.shown * made.length
    butts = field.butts()
    shingle = field.material("shingles").id
    below = cut_round(work, pipe, _GAP, shingle)
    courses = list(field.pieces("shingles"))
    for course, outlines in courses:
        if butts[course] < shown:
            field.lay_course(number, course, outlines, shape=below)
    size = np.array((-made.width / 2.0, -half, made.width / 2.0, half))
    flange = cut_flange(work, pipe, _GAP / 8.0, made.id, size)
    work.patch("flange.1", made.name, PieceKind.UNIT, number + 1, made.id, None, [flange], field.up)
    at, over = last_surface(work)
    wall = max(work.thickness(made.id), INCH / 4.0)
    outer, inner = (
        pipe.on(radius, at, over) for radius in (pipe.radius + wall + _GAP, pipe.radius)
    )
    high = float(outer[:, 2].max()) / pipe.cosine + o.collar.metres
    collar = tube(
        (pipe.space(outer), pipe.level_circle(pipe.radius + wall, high)),
        (pipe.space(inner), pipe.level_circle(pipe.radius, high)),
    )
    join_last(work, [collar])
    nails = rule.nailing
    if nails is not None:
        places = [
            (side * (made.width / 2.0 - nails.inset), -half + nails.line) for side in (-1.0, 1.0)
        ]
        work.nails("flange.nails", "Nails of the flange", number + 1, nails.fastener, places)
    _measure_flange(field, number + 1, (made.width, half))
    work.solid("pipe.1", "Pipe", PieceKind.UNIT, number + 1, made.id, [pipe.body()])
    above = cut_round(work, pipe, wall + 2.0 * _GAP, shingle)
    for course, outlines in courses:
        if butts[course] >= shown:
            field.lay_course(number + 2, course, outlines, shape=above)
    return [
        course_words(field, number, "up to the pipe, under the flange"),
        _flange_words(field, number + 1),
        course_words(field, number + 2, "over the flange, cut clear of the collar"),
    ]


def _measure_flange(field: Field, number: int, size: tuple[float, float]) -> None:
    work, rule = field.work, field.rule("pipe-flashing")
    made = work.catalog.material(rule.material)
    width, half = size
    foot, side, source = -half, width / 2.0, made.source_of("length")
    work.measure_between(
        "long",
        number,
        (side, foot),
        (side, half),
        work.text(made.length),
        source,
        face=Face.NEAR,
    )


def _flange_words(field: Field, number: int) -> DetailLayer:
    work, rule = field.work, field.rule("pipe-flashing")
    made = work.catalog.material(rule.material)
    count = rule.nailing.per_piece if rule.nailing else 2
    return describe(
        number,
        made,
        f"{work.text(made.width)} by {work.text(made.length)}; its lower third lies open",
        f"{count} nails, at its upper corners alone",
        "Takes the water that comes down round the pipe out onto the shingles below.",
        tool="flat bar, hammer, snips",
        gear="gloves, harness",
        mistake="All four sides under shingles: the water has no way out.",
        check="See its lower edge, bare, on top of the shingle below; no nail there.",
    )
