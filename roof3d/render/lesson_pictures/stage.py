"""A detail on its stage: every layer at rest, one camera for all steps."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import TypeAlias

import numpy as np

from roof3d.details.model import Detail, Piece, PieceKind
from roof3d.project import Project
from roof3d.render.camera import Camera, fit_camera
from roof3d.render.detail_ink.palette import LIGHT, RIM, colour_of
from roof3d.render.detail_ink.texture import texture_of
from roof3d.render.detail_view.eye import eye_of, outward_of
from roof3d.render.detail_view.tones import tone_of, tones_of
from roof3d.render.lesson_pictures.plan import Area
from roof3d.render.passes import Light, Raster, RasterPart, faded, rasterise
from roof3d.render.sheet import Pixel, Sheet
from roof3d.render.visibility import split_lines
from roof3d.scene.detail_scene import scene_of
from roof3d.scene.model import Part, Point3

Edges: TypeAlias = tuple[Sequence[tuple[Pixel, Pixel]], Sequence[tuple[Pixel, Pixel]]]
"""Runs of sheets, and of what is inked thin."""
LIGHTING = Light(shadow=1.0)
FADED = 0.55
"""How far toward the paper what is laid before is drawn."""
_THIN = frozenset({PieceKind.DECK, PieceKind.FRAMING, PieceKind.FASTENER})


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Stage:
    """What all pictures of a lesson have in common.

    Attributes
    ----------
    detail : Detail
    parts : tuple[Part, ...]
        At rest; they pair with the detail's pieces.
    camera : Camera
    outward : Point3
        Toward the end that is measured.
    tones : Mapping[int, float]
        Factor on the lightness of each layer.
    meshes : tuple[RasterPart, ...]
        The parts as they are drawn; number k is piece k - 1.
    """

    detail: Detail
    parts: tuple[Part, ...]
    camera: Camera
    outward: Point3
    tones: Mapping[int, float]
    meshes: tuple[RasterPart, ...]

    def numbers(self, layers: Collection[int]) -> tuple[int, ...]:
        """Return the part numbers of some layers."""
        return tuple(
            k for k, piece in enumerate(self.detail.pieces, start=1) if piece.layer in layers
        )


def set_stage(
    project: Project,
    detail: Detail,
    size: tuple[int, int],
    area: Area,
    room: tuple[float, float, float, float] = (0.0, 0.0, 0.0, 0.0),
) -> Stage:
    """Set a detail on its stage.

    Parameters
    ----------
    project : Project
    detail : Detail
        Of that project.
    size : tuple[int, int]
        Of the picture, pixels.
    area : Area
        Where in it the layers stand.
    room : tuple of float
        Pixels kept free inside the area at the left, top, right and bottom: for lengths
        beside the layers, or for layers on their way down.
    """
    parts = scene_of(detail, project).parts
    left, top, right, bottom = area
    margins = (
        left + room[0],
        top + room[1],
        size[0] - right + room[2],
        size[1] - bottom + room[3],
    )
    points = np.concatenate([part.vertices for part in parts])
    camera = fit_camera(points, eye_of(detail), size, margins)
    tones = tones_of(detail, parts, camera, LIGHTING)
    meshes = tuple(
        RasterPart(
            number=number,
            vertices=part.vertices,
            triangles=part.triangles,
            colour=colour_of(piece, tone_of(piece, tones)),
            texture=texture_of(detail, piece, np.zeros(3)),
        )
        for number, (piece, part) in enumerate(zip(detail.pieces, parts, strict=True), start=1)
    )
    return Stage(
        detail=detail,
        parts=parts,
        camera=camera,
        outward=outward_of(detail),
        tones=tones,
        meshes=meshes,
    )


def draw_stage(stage: Stage, numbers: Collection[int], old: Collection[int] = ()) -> Raster:
    """Rasterise some parts of a stage, those that are ``old`` faded."""
    chosen = [mesh for mesh in stage.meshes if mesh.number in numbers]
    raster = rasterise(chosen, stage.camera, paper=LIGHT.paper, light=LIGHTING)
    return faded(raster, old, FADED, LIGHT.paper) if old else raster


def rim_runs(stage: Stage, raster: Raster, numbers: Collection[int]) -> Edges:
    """Return what is seen of the edges of some parts."""
    segments, thin = [], []
    for number in numbers:
        piece, part = stage.detail.pieces[number - 1], stage.parts[number - 1]
        for rim in part.rims:
            segments += list(pairwise(rim.tolist()))
            thin += [piece.kind in _THIN] * (len(rim) - 1)
    if not segments:
        return (), ()
    found = split_lines(raster, stage.camera, np.array(segments), shortest=1.0)
    seen: dict[bool, list[tuple[Pixel, Pixel]]] = {True: [], False: []}
    for runs, is_thin in zip(found, thin, strict=True):
        seen[is_thin] += [(run.start, run.end) for run in runs if run.visible]
    return seen[False], seen[True]


def ink_edges(
    sheet: Sheet,
    runs: Edges,
    weight: float,
    strength: float = 1.0,
) -> None:
    """Ink what is seen of edges; a ``strength`` below 1 for what is laid before."""
    sheet.lines(runs[0], width=weight, ink=RIM, alpha=strength, order=3.0)
    sheet.lines(runs[1], width=0.6 * weight, ink=RIM, alpha=0.85 * strength, order=2.9)


def main_pieces(detail: Detail, layer: int) -> list[Piece]:
    """Return the pieces of a layer without its fasteners, unless it has nothing else."""
    pieces = [piece for piece in detail.pieces if piece.layer == layer]
    return [piece for piece in pieces if piece.kind is not PieceKind.FASTENER] or pieces
