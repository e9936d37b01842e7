"""The picture of a layered detail: layers lifted or cut back, numbered, with a section."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from roof3d.details.model import INCH, Detail
from roof3d.project import Project
from roof3d.render.camera import Camera, fit_camera
from roof3d.render.detail_ink.dimension import DrawnDimension, ink_dimension, set_beside
from roof3d.render.detail_ink.ink import ink_rims, ink_trails
from roof3d.render.detail_ink.markers import Marker, ink_markers, mend_markers, place_markers
from roof3d.render.detail_ink.palette import DARK, LIGHT, Theme, colour_of
from roof3d.render.detail_ink.tags import Tag, ink_tags, set_tags
from roof3d.render.detail_ink.texture import texture_of
from roof3d.render.detail_section.section import Section, ink_section, set_section
from roof3d.render.detail_view.cutaway import cut_back, cut_places, move_measures
from roof3d.render.detail_view.eye import eye_of, outward_of
from roof3d.render.detail_view.look import Look, Style
from roof3d.render.detail_view.plan import Area, Plan, plan_sheet
from roof3d.render.detail_view.tones import greys_of, least_contrast, tone_of, tones_of
from roof3d.render.detail_view.words import place_notes, shown_words, write_notes, write_words
from roof3d.render.lettering import Box
from roof3d.render.machine import require_graphics
from roof3d.render.passes import Light, Raster, RasterPart, rasterise
from roof3d.render.sheet import Sheet
from roof3d.scene.detail_scene import DRAWN_THICKNESS, build_detail, scene_of
from roof3d.scene.model import Dimension, Part, Point3, Scene
from roof3d.tolerance import DEFAULT
from roof3d.units import Units

_NARROW, _OFFSET = 4.0 * INCH, 9.0 * INCH
_LANE = 4.5 * INCH
_MOST_MEASURES = 10
_FEWEST_NOTES = 2
_RAISED = 110.0
"""How far up the layers make way where no corner is free for the notes, at 1200 px."""
_LIGHT = Light(shadow=1.0)
_CONTRAST = 0.078
"""Least difference of grey, 0 to 1, between layers laid one after another: 20 of 255."""


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Figure:
    """The layers in space, set on the sheet.

    Attributes
    ----------
    parts : tuple[Part, ...]
        As drawn: lifted or cut back; they pair with the detail's pieces.
    camera : Camera
    raster : Raster
    layer_of : dict[int, int]
        Layer by part number of the raster.
    markers : tuple[Marker, ...]
    dimensions : tuple[DrawnDimension, ...]
    tags : tuple[Tag, ...]
        Names of the faces.
    """

    parts: tuple[Part, ...]
    camera: Camera
    raster: Raster
    layer_of: dict[int, int]
    markers: tuple[Marker, ...] = ()
    dimensions: tuple[DrawnDimension, ...] = ()
    tags: tuple[Tag, ...] = ()


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class DetailPicture:
    """A picture of a detail before it is inked: all that tests can hold exactly.

    Attributes
    ----------
    detail : Detail
    scene : Scene
    look : Look
    plan : Plan
    size : tuple[int, int]
        Pixels.
    tones : Mapping[int, float]
        Factor on the lightness of each layer.
    figure : Figure or None
        None where the section has the sheet alone.
    section : Section or None
        None on a plain sheet of layers.
    words : tuple[Box, ...]
        What title, legend, notes and cautions cover.
    notes : tuple or None
        How many of the detail's notes are written, and where.
    """

    detail: Detail
    scene: Scene
    look: Look
    plan: Plan
    size: tuple[int, int]
    tones: Mapping[int, float]
    figure: Figure | None
    section: Section | None
    words: tuple[Box, ...]
    notes: tuple[int, Area] | None


def draw_detail(
    project: Project,
    place: str | None = None,
    size: tuple[int, int] = (1600, 1200),
    look: Look | None = None,
) -> bytes:
    """Draw the detail of a place of a project as a PNG.

    Parameters
    ----------
    project : Project
    place : str or None
        Id of an edge, opening or plane, or a kind of detail; None for the first.
    size : tuple[int, int]
        Width and height, pixels.
    look : Look or None
        Style and what goes with it; None for lifted layers.

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
    return ink_picture(set_picture(project, place, size, look))


def set_picture(
    project: Project,
    place: str | None = None,
    size: tuple[int, int] = (1600, 1200),
    look: Look | None = None,
) -> DetailPicture:
    """Set everything of a picture in its place without inking it; see ``draw_detail``."""
    look = look or Look()
    factor, least = DRAWN_THICKNESS
    if look.exaggerate is not None:
        factor, least = look.exaggerate, 0.0
    detail = build_detail(project, place, exaggerate=factor, least_thickness=least)
    lift = look.lift if look.style is Style.EXPLODED else 0.0
    scene = scene_of(detail, project, lift=lift, shown=shown_words(look))
    plan = plan_sheet(size, look)
    units = Units(project.spec.units.value)
    outward = outward_of(detail, look.azimuth_deg)
    parts = scene.parts
    places: Mapping[int, float] = {}
    if look.style is Style.CUTAWAY:
        places = cut_places(detail, outward)
        parts = cut_back(detail, parts, outward, places)
    beside = _beside(detail, scene, outward, places, look)
    camera, dimensions, notes = _aim(detail, parts, beside, outward, plan, size, look)
    tones = tones_of(detail, parts, camera, _LIGHT)
    figure = None
    if look.style is not Style.SECTION:
        figure, tones = _drawn(detail, scene, parts, camera, tones, look)
    words = () if look.plain else write_words(None, detail, scene, plan, look, tones)
    if notes is not None:
        words += write_notes(None, detail, plan, *notes)
    if figure is not None and not look.plain:
        figure = _annotated(figure, detail, plan, dimensions, outward, words, units, look)
    section = None
    if look.style is Style.SECTION or not look.plain:
        most = 8 if look.style is Style.SECTION else 5
        section = set_section(detail, plan.section, plan.section_note, units, most=most)
    return DetailPicture(
        detail=detail,
        scene=scene,
        look=look,
        plan=plan,
        size=size,
        tones=tones,
        figure=figure,
        section=section,
        words=words,
        notes=notes,
    )


def _drawn(
    detail: Detail,
    scene: Scene,
    parts: tuple[Part, ...],
    camera: Camera,
    tones: Mapping[int, float],
    look: Look,
) -> tuple[Figure, Mapping[int, float]]:
    """Rasterise; once more where layers on one another came out too alike."""
    raster, layer_of = _rasterise(detail, scene, parts, camera, tones, look)
    greys = greys_of(detail, raster, layer_of, tones)
    if least_contrast(detail, greys, tones) < _CONTRAST:
        tones = tones_of(detail, parts, camera, _LIGHT, greys)
        raster, layer_of = _rasterise(detail, scene, parts, camera, tones, look)
    return Figure(parts=parts, camera=camera, raster=raster, layer_of=layer_of), tones


def _annotated(
    figure: Figure,
    detail: Detail,
    plan: Plan,
    dimensions: tuple[DrawnDimension, ...],
    outward: Point3,
    words: Sequence[Box],
    units: Units,
    look: Look,
) -> Figure:
    """Add dimensions, numbers and the names of the faces."""
    dimensions = tuple(
        drawn for drawn in dimensions if not any(drawn.box.overlaps(box) for box in words)
    )
    cutaway = look.style is Style.CUTAWAY
    covers = [box for d in dimensions for box in (d.covers[:1] if cutaway else d.covers)]
    texts = [*words, *(drawn.box for drawn in dimensions)]
    tags = set_tags(detail, figure.camera, outward, plan.note, texts, units)
    markers = place_markers(
        figure.raster,
        figure.layer_of,
        (0.74 if cutaway else 0.86) * plan.name,
        plan.figure[1],
        plan.figure[3],
        covers,
        room=0.9 if cutaway else 1.42,
    )
    area = (0.0, *plan.figure[1:])
    texts += [tag.box for tag in tags]
    markers = mend_markers(markers, texts, area)
    return replace(figure, dimensions=dimensions, tags=tags, markers=markers)


def _beside(
    detail: Detail, scene: Scene, outward: Point3, places: Mapping[int, float], look: Look
) -> tuple[list[Dimension], list[float]]:
    """Choose what is measured beside the layers, and how far off each line stands."""
    moved = move_measures(detail, scene.dimensions, outward, places)
    return _offsets(detail, moved, look)


def _offsets(
    detail: Detail, moved: Sequence[tuple[Dimension, float]], look: Look
) -> tuple[list[Dimension], list[float]]:
    """Choose what is measured beside the layers, and how far off each line stands."""
    flat = [
        (dimension, behind, measure)
        for (dimension, behind), measure in zip(moved, detail.measures, strict=True)
        if abs(measure.value - math.dist(*dimension.ends)) < DEFAULT.merge
        and measure.reach[1] - measure.reach[0] > 0.9 * measure.value
        and measure.id not in _IN_SECTION_ONLY
    ]
    flat = flat[:_MOST_MEASURES]
    if look.style is Style.EXPLODED:
        near = [_NARROW if m.value < 2.0 * _OFFSET else _OFFSET for _, _, m in flat]
        return [d for d, _, _ in flat], [b + off for (_, b, _), off in zip(flat, near, strict=True)]
    flat.sort(key=lambda found: found[2].value)
    lanes: list[int] = []
    for k, (_, _, measure) in enumerate(flat):
        first, last = measure.reach
        taken = {
            lane
            for lane, (_, _, other) in zip(lanes, flat[:k], strict=True)
            if min(last, other.reach[1]) - max(first, other.reach[0]) > -INCH
        }
        lanes.append(next(lane for lane in range(len(flat)) if lane not in taken))
    offsets = [b + _NARROW + _LANE * lane for (_, b, _), lane in zip(flat, lanes, strict=True)]
    return [d for d, _, _ in flat], offsets


_IN_SECTION_ONLY = frozenset({"gap", "rise_up", "shingle_short"})


def ink_picture(picture: DetailPicture) -> bytes:
    """Ink a picture that is set; returns a PNG."""
    detail, plan, look = picture.detail, picture.plan, picture.look
    theme = DARK if look.dark else LIGHT
    sheet = Sheet(picture.size, theme.paper)
    if plan.panel is not None:
        left, top, right, bottom = plan.panel
        ring = [(left, top), (right, top), (right, bottom), (left, bottom)]
        sheet.polygon(ring, fill=theme.panel, order=0.5)
    if picture.figure is not None:
        _ink_figure(sheet, picture, picture.figure, theme)
    if picture.section is not None:
        section = picture.section
        if look.plain:
            section = Section(shapes=section.shapes, dimensions=(), triangles=(), callouts=())
        sizes = (plan.section_note, plan.unit)
        ink_section(sheet, detail, section, picture.tones, sizes, theme=theme)
    if not look.plain:
        write_words(sheet, detail, picture.scene, plan, look, picture.tones, theme)
    if picture.notes is not None:
        write_notes(sheet, detail, plan, *picture.notes, theme)
    return sheet.png()


def _ink_figure(sheet: Sheet, picture: DetailPicture, figure: Figure, theme: Theme) -> None:
    weight, note = picture.plan.unit, picture.plan.note
    sheet.image(figure.raster.colour)
    parts = list(zip(picture.detail.pieces, figure.parts, strict=True))
    ink_rims(sheet, figure.raster, figure.camera, parts, figure.layer_of, 1.5 * weight)
    ink_trails(sheet, figure.raster, figure.camera, picture.scene.lines, 1.3 * weight, theme=theme)
    for drawn in figure.dimensions:
        ink_dimension(sheet, drawn, note, 1.1 * weight, theme=theme)
    ink_markers(sheet, figure.markers, 1.2 * weight, theme=theme)
    ink_tags(sheet, figure.tags, note, theme=theme)


def _aim(
    detail: Detail,
    parts: Sequence[Part],
    beside: tuple[list[Dimension], list[float]],
    outward: Point3,
    plan: Plan,
    size: tuple[int, int],
    look: Look,
) -> tuple[Camera, tuple[DrawnDimension, ...], tuple[int, Area] | None]:
    """Aim the camera, set the dimensions, and find where the notes go.

    Where no corner is free for the notes the layers make way.
    """
    eye = eye_of(detail, look.azimuth_deg)
    points = np.concatenate([part.vertices for part in parts])
    left, top, right, bottom = plan.figure
    unit = plan.unit
    if look.plain or look.style is Style.SECTION:
        margins = (left, top, size[0] - right, size[1] - bottom)
        return fit_camera(points, eye, size, margins), (), None
    found = []
    for raised in (0.0, 0.5, 1.0, 2.0):
        more = raised * _RAISED * unit
        margins = (left + 60 * unit, top, size[0] - right + 120 * unit, size[1] - bottom + more)
        camera = fit_camera(points, eye, size, margins)
        shown, offsets = beside
        dimensions = tuple(
            drawn
            for drawn in set_beside(shown, camera, outward, offsets, plan.note)
            if max(x for x, _ in drawn.box.corners) <= right + 20.0 * unit
        )
        boxes = [drawn.box for drawn in dimensions]
        notes = place_notes(detail, parts, camera, plan, boxes)
        found.append((camera, dimensions, notes))
        if not detail.notes or (notes and notes[0] >= min(_FEWEST_NOTES, len(detail.notes))):
            break
    return next((f for f in reversed(found) if f[2] is not None), found[0])


def _rasterise(
    detail: Detail,
    scene: Scene,
    drawn: Sequence[Part],
    camera: Camera,
    tones: Mapping[int, float],
    look: Look,
) -> tuple[Raster, dict[int, int]]:
    """Rasterise all parts; returns also the layer of each part number."""
    parts = []
    layer_of = {}
    both = zip(detail.pieces, scene.parts, drawn, strict=True)
    for number, (piece, whole, part) in enumerate(both, start=1):
        layer_of[number] = piece.layer
        parts.append(
            RasterPart(
                number=number,
                vertices=part.vertices,
                triangles=part.triangles,
                colour=colour_of(piece, tone_of(piece, tones)),
                texture=texture_of(detail, piece, whole.vertices[0] - piece.vertices[0]),
            )
        )
    paper = (DARK if look.dark else LIGHT).paper
    return rasterise(parts, camera, paper=paper, light=_LIGHT), layer_of
