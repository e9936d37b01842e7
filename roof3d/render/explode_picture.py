"""The picture of a layered detail: lifted layers, numbered, with legend, dimensions, section."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from roof3d.details.model import INCH, Detail, DetailKind
from roof3d.project import Project
from roof3d.render.camera import Camera, fit_camera
from roof3d.render.detail_ink.dimension import DrawnDimension, ink_dimension, set_beside
from roof3d.render.detail_ink.ink import ink_rims, ink_trails
from roof3d.render.detail_ink.legend import set_legend
from roof3d.render.detail_ink.markers import Marker, ink_markers, place_markers
from roof3d.render.detail_ink.palette import INK, NOTE_INK, PANEL, PAPER, colour_of
from roof3d.render.detail_ink.paragraph import broken, write_lines
from roof3d.render.detail_ink.section import Section, ink_section, set_section
from roof3d.render.detail_ink.tags import Tag, ink_tags, set_tags
from roof3d.render.detail_ink.texture import texture_of
from roof3d.render.lettering import LINE_PITCH, Box
from roof3d.render.machine import require_graphics
from roof3d.render.passes import Light, Raster, RasterPart, rasterise
from roof3d.render.sheet import Sheet
from roof3d.scene.detail_scene import build_detail, scene_of
from roof3d.scene.model import Point3, Scene
from roof3d.tolerance import DEFAULT
from roof3d.units import Units

LIFT = 9.5 * INCH
"""From layer to layer in the picture."""
_NARROW, _OFFSET = 4.0 * INCH, 9.0 * INCH
_NOTES_SHOWN = 4
_SPLIT = 0.655
"""Share of the width that the lifted layers have; legend and section have the rest."""


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class DetailPicture:
    """A picture of a detail before it is inked: all that tests can hold exactly.

    Attributes
    ----------
    detail : Detail
    scene : Scene
        Lifted.
    camera : Camera
    raster : Raster
    layer_of : dict[int, int]
        Layer by part number of the raster.
    markers : tuple[Marker, ...]
    dimensions : tuple[DrawnDimension, ...]
        Of the lifted layers.
    section : Section
    tags : tuple[Tag, ...]
        Names of the planes.
    words : tuple[Box, ...]
        What title, legend, notes and cautions cover.
    notes : int
        How many of the detail's notes there is room for.
    """

    detail: Detail
    scene: Scene
    camera: Camera
    raster: Raster
    layer_of: dict[int, int]
    markers: tuple[Marker, ...]
    dimensions: tuple[DrawnDimension, ...]
    section: Section
    tags: tuple[Tag, ...]
    words: tuple[Box, ...]
    notes: int


def draw_detail(
    project: Project,
    place: str | None = None,
    size: tuple[int, int] = (1600, 1200),
    *,
    lift: float = LIFT,
) -> bytes:
    """Draw the detail of a place of a project, its layers lifted, as a PNG.

    Parameters
    ----------
    project : Project
    place : str or None
        Id of an edge, opening or plane, or a kind of detail; None for the first.
    size : tuple[int, int]
        Width and height, pixels.
    lift : float
        Metres from layer to layer, above 0.

    Returns
    -------
    bytes
        The same input on the same machine gives the same bytes.

    Raises
    ------
    LayoutError
        Where there is no such place, or no detail for what its planes carry.
    RoofError
        Code ``R3D-GRAPHICS``, where this machine cannot draw.
    """
    require_graphics()
    return ink_picture(set_picture(project, place, size, lift=lift))


def set_picture(
    project: Project,
    place: str | None = None,
    size: tuple[int, int] = (1600, 1200),
    *,
    lift: float = LIFT,
) -> DetailPicture:
    """Set everything of a picture in its place without inking it; see ``draw_detail``."""
    detail = build_detail(project, place)
    scene = scene_of(detail, project, lift=lift)
    camera = _camera(detail, scene, size)
    raster, layer_of = _rasterise(detail, scene, camera)
    _, name, note = _font_sizes(size)
    areas = _areas(size)
    outward = _outward(detail)
    shown = [d for d in scene.dimensions if d.id.rsplit(".", 1)[1] not in _IN_SECTION_ONLY]
    lengths = [math.dist(*d.ends) for d in shown]
    offsets = [_NARROW if length < 2.0 * _OFFSET else _OFFSET for length in lengths]
    dimensions = set_beside(shown, camera, outward, offsets, note)
    boxes = [drawn.box for drawn in dimensions]
    notes = _notes_that_fit(detail, size, raster, boxes)
    words = _write(None, detail, scene, size, notes)
    texts = [*words, *(drawn.box for drawn in dimensions)]
    units = Units(project.spec.units.value)
    tags = set_tags(detail, camera, outward, note, texts, units)
    return DetailPicture(
        detail=detail,
        scene=scene,
        camera=camera,
        raster=raster,
        layer_of=layer_of,
        markers=place_markers(
            raster,
            layer_of,
            0.86 * name,
            areas.figure[1],
            areas.figure[3],
            [box for drawn in dimensions for box in drawn.covers],
        ),
        dimensions=dimensions,
        tags=tags,
        section=set_section(detail, areas.section, 0.93 * note, units),
        words=words,
        notes=notes,
    )


_IN_SECTION_ONLY = frozenset({"gap", "rise_up", "shingle_short"})


def ink_picture(picture: DetailPicture) -> bytes:
    """Ink a picture that is set; returns a PNG."""
    size = picture.camera.size
    weight = _unit(size)
    note = _font_sizes(size)[2]
    detail = picture.detail
    sheet = Sheet(size, PAPER)
    sheet.image(picture.raster.colour)
    areas = _areas(size)
    left, top, right, bottom = areas.panel
    sheet.polygon(
        [(left, top), (right, top), (right, bottom), (left, bottom)], fill=PANEL, order=0.5
    )
    parts = list(zip(detail.pieces, picture.scene.parts, strict=True))
    ink_rims(sheet, picture.raster, picture.camera, parts, picture.layer_of, 1.5 * weight)
    ink_trails(sheet, picture.raster, picture.camera, picture.scene.lines, 1.3 * weight)
    for drawn in picture.dimensions:
        ink_dimension(sheet, drawn, note, 1.1 * weight)
    ink_markers(sheet, picture.markers, 1.2 * weight)
    ink_tags(sheet, picture.tags, note)
    ink_section(sheet, detail, picture.section, 0.93 * note, weight)
    for drawn in picture.section.dimensions:
        ink_dimension(sheet, drawn, 0.93 * note, weight)
    _write(sheet, detail, picture.scene, size, picture.notes)
    return sheet.png()


def _unit(size: tuple[int, int]) -> float:
    """One pixel of a sheet of 1600 by 1200, in pixels: the layout grows with the sheet."""
    return min(size[0] / 1600.0, size[1] / 1200.0)


def _font_sizes(size: tuple[int, int]) -> tuple[float, float, float]:
    """Sizes of title, name and note, pixels; they shrink as the layout does."""
    unit = _unit(size)
    return 34.0 * unit, 18.0 * unit, 15.0 * unit


@dataclass(frozen=True, slots=True, kw_only=True)
class _Areas:
    """Rectangles of the sheet: left, top, right, bottom, pixels."""

    figure: tuple[float, float, float, float]
    panel: tuple[float, float, float, float]
    legend: tuple[float, float, float, float]
    section: tuple[float, float, float, float]
    notes: tuple[float, float, float, float]
    cautions: tuple[float, float, float, float]


def _areas(size: tuple[int, int]) -> _Areas:
    w, h = size
    unit = _unit(size)
    left = _SPLIT * w
    return _Areas(
        figure=(36 * unit, 128 * unit, left - 20 * unit, h - 104 * unit),
        panel=(left, 0.0, float(w), float(h)),
        legend=(left + 24 * unit, 36 * unit, w - 24 * unit, h - 438 * unit),
        section=(left + 16 * unit, h - 388 * unit, w - 16 * unit, h - 8 * unit),
        notes=(left - 350 * unit, h - 240 * unit, left - 20 * unit, h - 108 * unit),
        cautions=(36 * unit, h - 88 * unit, left - 24 * unit, h - 10 * unit),
    )


def _write(
    sheet: Sheet | None, detail: Detail, scene: Scene, size: tuple[int, int], notes: int
) -> tuple[Box, ...]:
    """Write title, subtitle, legend, the section's heading and cautions; returns their boxes."""
    title, name, note = _font_sizes(size)
    areas = _areas(size)
    left, _, right, _ = areas.figure
    unit = _unit(size)
    y = 46.0 * unit
    boxes = list(write_lines(sheet, (left, y), (scene.title,), title, INK, bold=True))
    y += 0.5 * LINE_PITCH * (title + note)
    lines = broken(scene.subtitle, note, right - left)
    boxes += write_lines(sheet, (left, y), lines, note, NOTE_INK)
    boxes += set_legend(detail, areas.legend, (0.93 * name, 0.84 * note), sheet)
    x, y, _, _ = areas.section
    words = f"Section through {_cut_words(detail)}, as laid; colours as above"
    boxes += write_lines(
        sheet, (x + 8 * unit, y - 24 * unit), (words,), 0.93 * name, INK, bold=True
    )
    if detail.thickness[0] > 1.0:
        words = "White gaps come from the thickness, drawn larger than it is."
        boxes += write_lines(sheet, (x + 8 * unit, y - 5 * unit), (words,), 0.84 * note, NOTE_INK)
    boxes += _write_notes(sheet, detail, size, notes)
    x, y, right, bottom = areas.cautions
    small = 0.8 * note
    lines = broken(" ".join(scene.cautions), small, right - x)
    boxes += write_lines(
        sheet, (x, bottom - LINE_PITCH * small * (len(lines) - 0.5)), lines, small, NOTE_INK
    )
    return tuple(boxes)


def _cut_words(detail: Detail) -> str:
    bends = detail.frame.turn > DEFAULT.parallel
    named = detail.kind in {DetailKind.LOW_BELOW_STEEP, DetailKind.LOW_ABOVE_STEEP}
    return "the break" if named else "the edge" if bends else "the middle"


def _write_notes(
    sheet: Sheet | None, detail: Detail, size: tuple[int, int], count: int
) -> tuple[Box, ...]:
    """Write the first notes of a detail upward from the foot of their place."""
    _, name, note = _font_sizes(size)
    x, _, right, bottom = _areas(size).notes
    rows = [
        ("\u2022 " if k == 0 else "   ") + line
        for words in detail.notes[:count]
        for k, line in enumerate(broken(words, 0.84 * note, right - x - note))
    ]
    y = bottom - LINE_PITCH * 0.84 * note * (len(rows) - 0.5)
    boxes = write_lines(sheet, (x, y), rows, 0.84 * note, INK)
    heading_at = (x, y - LINE_PITCH * 0.95 * note)
    heading = ("What keeps it dry",)
    return (*boxes, *write_lines(sheet, heading_at, heading, 0.93 * name, INK, bold=True))


def _notes_that_fit(
    detail: Detail, size: tuple[int, int], raster: Raster, texts: Sequence[Box]
) -> int:
    """Return how many notes lie on bare paper clear of other texts; one at the least."""
    for count in range(min(_NOTES_SHOWN, len(detail.notes)), 1, -1):
        boxes = _write_notes(None, detail, size, count)
        if not any(box.overlaps(text) for box in boxes for text in texts) and not any(
            _under(raster, box) for box in boxes
        ):
            return count
    return 1


def _under(raster: Raster, box: Box) -> bool:
    """Whether any piece is drawn under a box."""
    x, y = np.array(box.corners).T.astype(int)
    return bool(raster.ids[max(y.min(), 0) : y.max() + 2, max(x.min(), 0) : x.max() + 2].any())


def _outward(detail: Detail) -> Point3:
    """Along the break, away from the end that is measured."""
    sign = -1.0 if detail.convex else 1.0
    along = detail.frame.along
    return (sign * along[0], sign * along[1], sign * along[2])


def _camera(detail: Detail, scene: Scene, size: tuple[int, int]) -> Camera:
    """Look from the lower side, a little from the end that is measured, which comes right."""
    frame = detail.frame
    toward = 1.0 if detail.convex else -1.0
    eye = (
        toward * 0.74 * np.array(frame.level)
        + 0.67 * np.array(_outward(detail))
        + np.array((0.0, 0.0, 0.52))
    )
    points = np.concatenate([part.vertices for part in scene.parts])
    left, top, right, bottom = _areas(size).figure
    unit = _unit(size)
    margins = (left + 60 * unit, top, size[0] - right + 120 * unit, size[1] - bottom)
    return fit_camera(points, (float(eye[0]), float(eye[1]), float(eye[2])), size, margins)


def _rasterise(detail: Detail, scene: Scene, camera: Camera) -> tuple[Raster, dict[int, int]]:
    """Rasterise all parts; returns also the layer of each part number."""
    parts = []
    layer_of = {}
    for number, (piece, part) in enumerate(zip(detail.pieces, scene.parts, strict=True), start=1):
        layer_of[number] = piece.layer
        parts.append(
            RasterPart(
                number=number,
                vertices=part.vertices,
                triangles=part.triangles,
                colour=colour_of(piece),
                texture=texture_of(detail, piece, part.vertices[0] - piece.vertices[0]),
            )
        )
    return rasterise(parts, camera, paper=PAPER, light=Light(shadow=1.0)), layer_of
