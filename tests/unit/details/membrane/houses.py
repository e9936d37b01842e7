"""A shed that leans on a tower, with every joint of a membrane, and what holds of each."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from itertools import combinations, pairwise
from typing import TYPE_CHECKING

import numpy as np
import shapely

from roof3d.details.build import build_detail
from roof3d.details.frame import Face
from roof3d.details.model import Detail, DetailKind, Piece, PieceKind
from roof3d.details.options import DetailOptions
from roof3d.details.places import places
from roof3d.details.shapes.solids import Body, cut_body
from roof3d.details.site import DetailSite, Place
from roof3d.project import build
from roof3d.spec.read import parse_spec
from tests.unit.details.solid_checks import open_or_inside_out, shared_area

if TYPE_CHECKING:
    from roof3d.project import Project

INCH = 0.0254
DRAWN, TRUE = (4.0, 0.5 * INCH), (1.0, 0.0)
ASSEMBLIES = (
    "self-adhered-membrane",
    "self-adhered-two-ply",
    "heat-applied-cap",
    "single-ply",
    "mineral-roll",
)
ROLES = {
    "self-adhered-membrane": ("base", "ply", "cap"),
    "self-adhered-two-ply": ("ply", "cap"),
    "heat-applied-cap": ("base", "cap"),
    "single-ply": ("cap",),
    "mineral-roll": ("cap",),
}
KINDS = (
    DetailKind.EAVE_MEMBRANE,
    DetailKind.RAKE_MEMBRANE,
    DetailKind.HEADWALL_MEMBRANE,
    DetailKind.SIDEWALL_MEMBRANE,
    DetailKind.CAP_LAP,
    DetailKind.CORNER,
)


@cache
def house(pitch: float, assembly: str = "self-adhered-membrane") -> Project:
    """Build a tower with a shed in front and one at its side, all sheds of one pitch in 12."""
    shed = f"""form = "shed"
eave = "9 ft"
pitch = "{pitch}:12"
assembly = "{assembly}"
overhang = {{ eave = "12 in", rake = "8 in" }}
"""
    return build(
        parse_spec(
            f"""schema = 1
name = "Test house"
units = "imperial"
[[section]]
id = "tower"
form = "gable"
length = "30 ft"
width = "20 ft"
at = ["0 ft", "10 ft"]
eave = "60 ft"
pitch = "6:12"
[[section]]
id = "lean"
length = "24 ft"
width = "12 ft"
at = ["3 ft", "-1 ft"]
{shed}
[[section]]
id = "side"
length = "20 ft"
width = "14 ft"
at = ["29 ft", "13 ft"]
{shed}"""
        )
    )


def site_of(project: Project, place: Place, thickness: tuple[float, float] = DRAWN) -> DetailSite:
    """Site of a place of a house."""
    return DetailSite(
        place=place,
        roof=project.roof,
        layout=project.layout,
        catalog=project.catalog,
        assembly_of={choice.plane: choice.assembly for choice in project.choices},
        options=DetailOptions(thickness_factor=thickness[0], least_thickness=thickness[1]),
    )


def places_of(project: Project, kind: DetailKind) -> list[Place]:
    """Places of one kind."""
    chosen = {choice.plane: choice.assembly for choice in project.choices}
    known = places(project.roof, project.catalog, chosen, project.spec.layout)
    return [place for place in known if place.kind is kind]


@cache
def detail_of(
    kind: DetailKind,
    pitch: float = 1.0,
    assembly: str = "self-adhered-membrane",
    thickness: tuple[float, float] = DRAWN,
) -> Detail:
    """First detail of a kind on the test house."""
    project = house(pitch, assembly)
    return build_detail(site_of(project, places_of(project, kind)[0], thickness))


def faults_of(detail: Detail) -> list[str]:
    """Everything wrong with a detail's solids; empty where all is well.

    Drawn thicker than they are, sheets crowd one another in the bends of a cant: there, and
    nowhere at true thickness, two may share a sliver of 30 mm2.
    """
    cant = any(piece.id == "cant.1" for piece in detail.pieces)
    most = 3e-5 if cant and detail.thickness == DRAWN else 1e-7
    found = [words for piece in detail.pieces if (words := open_or_inside_out(piece))]
    width = detail.size[0]
    cuts = [share * width for share in (-0.41, -0.13, 0.07, 0.222, 0.45)]
    shared = shared_area(detail.frame, detail.pieces, cuts)
    found += [f"{one} in {other}: {area}" for (one, other), area in shared.items() if area > most]
    found += [
        f"layer {layer.number} has no {word}"
        for layer in detail.layers
        for word in ("size", "why", "fastening", "source", "tool", "gear", "mistake", "check")
        if not getattr(layer, word)
    ]
    numbers = [layer.number for layer in detail.layers]
    found += [] if numbers == list(range(1, len(numbers) + 1)) else [f"numbers {numbers}"]
    return found + floating_of(detail)


def laps_of(detail: Detail) -> list[float]:
    """Middle in u of each lap of two pieces of a layer, side by side along the line.

    There a piece rests on what is below it. A narrow one may do so nowhere else, and straight
    metal over such laps does not.
    """
    laid = [p for p in detail.pieces if p.footprints and p.kind is not PieceKind.DECK]
    found = {
        round((max(one.span[0], other.span[0]) + min(one.span[1], other.span[1])) / 2.0, 6)
        for one, other in combinations(laid, 2)
        if one.layer == other.layer
        and (one.span[0] - other.span[0]) * (one.span[1] - other.span[1]) > 0.0
        and max(one.span[0], other.span[0]) < min(one.span[1], other.span[1])
    }
    return sorted(found)


def columns_of(detail: Detail) -> list[list[tuple[float, float, Piece]]]:
    """What rays square to each face go through: from where to where, lowest first."""
    frame, (width, near, far) = detail.frame, detail.size
    cant = any(piece.id == "cant.1" for piece in detail.pieces)
    corner = frame.turn > 0.1 and not frame.convex
    # Over a cant a ray square to one face runs across the sheets; so near a corner it runs
    # along those of the other face.
    clear = 6.0 * INCH if cant else 3.0 * INCH if corner else 0.0
    rays = []
    for face, run, way in ((Face.NEAR, near, -1.0), (Face.FAR, far, 1.0)):
        normal = np.array(frame.normal(face))
        for share in np.linspace(0.03, 0.97, 23):
            if run * share < clear:
                continue
            foot = np.array(frame.point(0.0, way * run * share, 0.0))
            ends = frame.section(np.array([foot - 0.03 * normal, foot + 0.3 * normal]))
            rays.append(shapely.LineString(ends))
    columns = []
    fixed = [share * width for share in (-0.45, -0.13, 0.01, 0.222, 0.4, 0.48)]
    for u in (*fixed, *laps_of(detail)):
        x, y, z = (np.array(frame.origin) + u * np.array(frame.along)).tolist()
        here = replace(frame, origin=(x, y, z))
        cuts = [
            (shapely.union_all([shapely.Polygon(ring) for ring in rings]), piece)
            for piece in detail.pieces
            if piece.footprints
            for body in (Body(vertices=piece.vertices, triangles=piece.triangles, rims=()),)
            for rings in (cut_body(body, here),)
            if rings
        ]
        for ray in rays:
            column = []
            for area, piece in cuts:
                part = shapely.intersection(area, ray)
                if part.length > 1e-5:
                    at = [ray.project(shapely.Point(c)) for c in shapely.get_coordinates(part)]
                    column.append((min(at), max(at), piece))
            columns.append(sorted(column, key=lambda row: row[0]))
    return columns


def floating_of(detail: Detail) -> list[str]:
    """Pieces that stand off whatever is below them in all of the columns that they are in.

    By a third of a drawn sheet: what one bridges beside a lap, in the few columns it has.
    """
    most = 4.2e-3 if detail.thickness == DRAWN else 1.0e-3
    gaps: dict[str, float] = {}
    for column in columns_of(detail):
        for (_, top, _), (foot, _, piece) in pairwise(column):
            gaps[piece.id] = min(gaps.get(piece.id, 1.0), foot - top)
    laid = {p.id for p in detail.pieces if p.kind is not PieceKind.DECK}
    return [f"{name} floats by {gap}" for name, gap in gaps.items() if gap > most and name in laid]


def out_of_order(detail: Detail) -> set[str]:
    """Pairs of pieces of which the earlier lies over the later."""
    return {
        f"{lower.id} under {upper.id}"
        for column in columns_of(detail)
        for (_, _, lower), (_, _, upper) in pairwise(column)
        if lower.order > upper.order and PieceKind.DECK not in {lower.kind, upper.kind}
    }
