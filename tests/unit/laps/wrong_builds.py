"""Right piles of pieces off real roofs, and ways to build them wrong."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import affinity

from roof3d.catalog.load import load_catalog
from roof3d.laps.laid.unfold import around, surface_of
from roof3d.laps.layout import own_pieces
from roof3d.laps.model import LapPiece, PieceKind, Surface
from roof3d.project import Project, build
from roof3d.roof.build import build_roof
from roof3d.spec.model import PlaneSpec
from roof3d.spec.read import parse_spec
from roof3d.tolerance import DEFAULT

if TYPE_CHECKING:
    from collections.abc import Iterator

    from roof3d.roof.model import Roof

INCH = 0.0254
MODELS = Path(__file__).parents[3] / "models"
CATALOG = load_catalog()
ASSEMBLIES = tuple(assembly.id for assembly in CATALOG.assemblies)


@dataclass(frozen=True, slots=True)
class Build:
    """One plane's surface and every piece on it."""

    surface: Surface
    pieces: tuple[LapPiece, ...]

    def layer(self, part: str) -> list[LapPiece]:
        """Return the pieces of the layers whose id holds a word."""
        found = [piece for piece in self.pieces if part in piece.layer and not piece.guest]
        assert found, part
        return found

    def without(self, *gone: LapPiece) -> Build:
        """Leave pieces out."""
        ids = {piece.id for piece in gone}
        return Build(self.surface, tuple(piece for piece in self.pieces if piece.id not in ids))

    def with_(self, *new: LapPiece) -> Build:
        """Put pieces in place of those of their ids."""
        by_id = {piece.id: piece for piece in new}
        return Build(self.surface, tuple(by_id.get(piece.id, piece) for piece in self.pieces))


@cache
def project_of(model: str, assembly: str = "") -> Project:
    """Build a shipped model, with one assembly wished for on every plane if one is named."""
    path = MODELS / f"{model}.toml"
    spec = parse_spec(path.read_text(encoding="utf-8"), source=path.name)
    if not assembly:
        return build(spec)
    roof = build_roof(spec)[0]
    wishes = tuple(PlaneSpec(id=plane.id, assembly=assembly) for plane in roof.planes)
    return build(replace(spec, planes=wishes))


def roof_of(model: str) -> Roof:
    """Build the roof of a shipped model, without what lies on it."""
    path = MODELS / f"{model}.toml"
    return build_roof(parse_spec(path.read_text(encoding="utf-8"), source=path.name))[0]


@cache
def forced(model: str, plane: str, assembly: str) -> Project:
    """Build a shipped model with one assembly wished for on one of its planes."""
    path = MODELS / f"{model}.toml"
    spec = parse_spec(path.read_text(encoding="utf-8"), source=path.name)
    others = tuple(wish for wish in spec.planes if wish.id != plane)
    return build(replace(spec, planes=(*others, PlaneSpec(id=plane, assembly=assembly))))


@cache
def build_of(model: str, plane: str, assembly: str = "") -> Build:
    """Return the right build of one plane of a shipped model."""
    return builds_of(project_of(model, assembly))[plane]


def builds_of(project: Project) -> dict[str, Build]:
    """Return the build of every plane of a project by its id."""
    planes = {one.plane.id: one for one in project.layout.planes}
    own = own_pieces(project.layout, project.catalog, DEFAULT)
    return {
        name: Build(
            surface_of(plane, planes, DEFAULT),
            (*own[name], *around(plane, planes, own, project.catalog, DEFAULT)),
        )
        for name, plane in planes.items()
    }


def swapped(build_: Build, one: str, two: str) -> Build:
    """Lay two layers in each other's turn."""
    first, second = build_.layer(one), build_.layer(two)
    low = min(piece.order for piece in first)
    high = min(piece.order for piece in second)
    return build_.with_(
        *(replace(piece, order=piece.order - low + high) for piece in first),
        *(replace(piece, order=piece.order - high + low) for piece in second),
    )


def turned(build_: Build, layer: str) -> Iterator[tuple[str, Build]]:
    """Lay two neighbouring courses in each other's turn, one pair after the other."""
    pieces = build_.layer(layer)
    courses = sorted({piece.course for piece in pieces})
    for low, high in pairwise(courses):
        below = [piece for piece in pieces if piece.course == low]
        above = [piece for piece in pieces if piece.course == high]
        # The higher one first: what is above goes just under the lower one.
        late = max(piece.order for piece in above)
        early = min(piece.order for piece in below)
        span = late - early + 1e-6
        yield (
            f"{layer} {low}/{high}",
            build_.with_(
                *(
                    replace(piece, order=early + (piece.order - early) / 4 + span / 2)
                    for piece in below
                ),
                *(replace(piece, order=early + (piece.order - early) / 4) for piece in above),
            ),
        )


def shortened(build_: Build, layer: str, by: float) -> Iterator[tuple[str, Build]]:
    """Push one course after the other off the one before it, so that its lap is short."""
    pieces = build_.layer(layer)
    courses = sorted({piece.course for piece in pieces})
    axis = 0 if abs(pieces[0].run[1]) > 0.5 else 1
    first, last = (
        np.mean([piece.shape.bounds[axis] for piece in pieces if piece.course == course])
        for course in (courses[0], courses[-1])
    )
    step = by if last >= first else -by
    shift = (step, 0.0) if axis == 0 else (0.0, step)
    for course in courses[1:-1]:
        own = [
            replace(piece, shape=affinity.translate(piece.shape, *shift))
            for piece in pieces
            if piece.course >= course
        ]
        yield f"{layer} {course}", build_.with_(*own)


def shifted(build_: Build, layer: str) -> Build:
    """Bring the joints of the second course over those of the first."""
    pieces = [piece for piece in build_.layer(layer) if piece.kind is PieceKind.SHINGLE]
    first = [piece for piece in pieces if piece.course == 1]
    second = [piece for piece in pieces if piece.course == 2]
    joint = max(first[0].shape.bounds[0], first[1].shape.bounds[0])
    joints = np.array([piece.shape.bounds[0] for piece in second])
    by = joint - float(joints[np.argmin(np.abs(joints - joint))])
    return build_.with_(
        *(replace(piece, shape=affinity.translate(piece.shape, by, 0.0)) for piece in second)
    )


def pulled(build_: Build, layer: str) -> Iterator[tuple[str, Build]]:
    """Drive one more nail into each course, where nothing covers it."""
    for piece in build_.layer(layer):
        later = [
            other.shape
            for other in build_.pieces
            if other.order > piece.order and other.shape.intersects(piece.shape)
        ]
        ground = build_.surface.faces[0].region.buffer(-3 * INCH)
        seen = piece.shape.intersection(ground).difference(shapely.union_all(later))
        seen = seen.buffer(-INCH)
        if not seen.is_empty and seen.area > INCH * INCH:
            at = seen.representative_point()
            nails = np.vstack([piece.nails, [[at.x, at.y]]])
            yield f"{piece.id}", build_.with_(replace(piece, nails=nails, nail_cover=0.0))
