"""Houses that have every joint of shingles, at a pitch asked for, and what holds of each."""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING

import numpy as np
import shapely

from roof3d.details.build import build_detail
from roof3d.details.frame import Floats
from roof3d.details.model import Detail, DetailKind, Piece, PieceKind
from roof3d.details.options import DetailOptions
from roof3d.details.places import places
from roof3d.details.site import DetailSite, Place
from roof3d.project import build
from roof3d.spec.read import parse_spec
from tests.unit.details.solid_checks import open_or_inside_out, shared_area

if TYPE_CHECKING:
    from pathlib import Path

    from roof3d.project import Project

INCH = 0.0254
DRAWN, TRUE = (4.0, 0.5 * INCH), (1.0, 0.0)
PITCHES = (2.0, 4.0, 6.0, 12.0, 21.0)


@cache
def house(pitch: float, *, ice: bool = False) -> Project:
    """Build a shed that leans on a tower, a wing beside it, and a pipe; ``pitch`` in 12."""
    site = "[site]\nice_barrier = true\n" if ice else ""
    return build(
        parse_spec(
            f"""schema = 1
name = "Test house"
units = "imperial"
{site}
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
form = "shed"
length = "20 ft"
width = "10 ft"
at = ["5 ft", "0 ft"]
eave = "9 ft"
pitch = "{pitch}:12"
overhang = {{ eave = "12 in", rake = "8 in" }}
[[section]]
id = "wing"
form = "gable"
length = "16 ft"
width = "16 ft"
at = ["30 ft", "12 ft"]
eave = "9 ft"
pitch = "{pitch}:12"
overhang = {{ eave = "12 in", rake = "8 in" }}
[[section]]
id = "shed"
form = "shed"
length = "16 ft"
width = "10 ft"
at = ["60 ft", "0 ft"]
eave = "9 ft"
pitch = "{pitch}:12"
overhang = {{ eave = "12 in", rake = "8 in" }}
[[opening]]
id = "vent"
kind = "pipe"
at = ["38 ft", "16 ft"]
diameter = "3 in"
height = "12 in"
"""
        )
    )


def place_of(project: Project, kind: DetailKind) -> Place:
    """Return the first place of a kind."""
    return next(place for place in every_place(project) if place.kind is kind)


def every_place(project: Project) -> tuple[Place, ...]:
    """Return all places of a project."""
    assembly_of = {choice.plane: choice.assembly for choice in project.choices}
    return places(project.roof, project.catalog, assembly_of, project.spec.layout)


def detail_at(project: Project, place: Place, thickness: tuple[float, float] = DRAWN) -> Detail:
    """Build the detail of a place."""
    return build_detail(
        DetailSite(
            place=place,
            roof=project.roof,
            layout=project.layout,
            catalog=project.catalog,
            assembly_of={choice.plane: choice.assembly for choice in project.choices},
            options=DetailOptions(thickness_factor=thickness[0], least_thickness=thickness[1]),
        )
    )


def shipped(path: Path) -> Project:
    """Build a shipped model."""
    return build(parse_spec(path.read_text(encoding="utf-8"), source=path.name))


def faults_of(detail: Detail) -> list[str]:
    """Say what is wrong with the solids of a detail; empty where nothing is."""
    found = [fault for piece in detail.pieces if (fault := open_or_inside_out(piece))]
    half = detail.size[0] / 2.0
    cuts = np.linspace(-half + 0.013, half - 0.017, 11).tolist()
    shared = shared_area(detail.frame, detail.pieces, cuts)
    # 1e-6 m2: a sliver thinner than the line that it is drawn with.
    found += [f"{a} in {b}: {area * 1e6:.1f} mm2" for (a, b), area in shared.items() if area > 1e-6]
    found += [f"{piece.id} lies on nothing" for piece in floating(detail)]
    found += [
        f"layer {layer.number} says no {word}"
        for layer in detail.layers
        for word in (
            "name",
            "size",
            "why",
            "fastening",
            "tool",
            "gear",
            "mistake",
            "check",
            "source",
        )
        if not getattr(layer, word)
    ]
    numbers = [layer.number for layer in detail.layers]
    if numbers != list(range(1, len(numbers) + 1)):
        found.append(f"layers are numbered {numbers}")
    return found


def floating(detail: Detail) -> list[Piece]:
    """Return pieces whose footprint lies on no piece laid before."""
    found = []
    for k, piece in enumerate(detail.pieces):
        if piece.layer == 1 or not piece.footprints:
            continue
        below = [
            (one.face, area_of(one.outline, one.holes))
            for other in detail.pieces[:k]
            for one in other.footprints
        ]
        mine = [(one.face, area_of(one.outline, one.holes)) for one in piece.footprints]
        if not any(a is b and one.intersects(two) for a, one in mine for b, two in below):
            found.append(piece)
    return found


def area_of(outline: Floats, holes: tuple[Floats, ...] = ()) -> shapely.Polygon:
    """Return a footprint as a polygon."""
    return shapely.Polygon(outline, holes)


def covered(piece: Piece) -> shapely.Geometry:
    """Return all that a piece covers, both faces together."""
    return shapely.union_all([area_of(one.outline, one.holes) for one in piece.footprints])


def pieces_of(detail: Detail, start: str) -> list[Piece]:
    """Return the pieces whose id begins so, in the order of work, without nails."""
    return [
        piece
        for piece in detail.pieces
        if piece.id.startswith(start) and piece.kind is not PieceKind.FASTENER
    ]


def lengths(detail: Detail) -> dict[str, float]:
    """Return the measures of a detail by id, inches."""
    return {measure.id: measure.value / INCH for measure in detail.measures}
