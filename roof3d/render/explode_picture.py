"""The picture of a layered detail: layers lifted or cut back, numbered, with a section."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from roof3d.details.model import Detail, PieceKind
from roof3d.project import Project
from roof3d.render.camera import Camera
from roof3d.render.detail_ink.dimension import DrawnDimension, ink_dimension
from roof3d.render.detail_ink.discs import ink_markers
from roof3d.render.detail_ink.ink import ink_rims, ink_trails
from roof3d.render.detail_ink.markers import (
    Marker,
    faulty_markers,
    mend_markers,
    place_markers,
)
from roof3d.render.detail_ink.palette import DARK, LIGHT, Theme, colour_of
from roof3d.render.detail_ink.tags import Tag, ink_tags, set_tags
from roof3d.render.detail_ink.texture import texture_of
from roof3d.render.detail_ink.water import ink_band, ink_water
from roof3d.render.detail_section.section import Section, cut_section, ink_section, set_section
from roof3d.render.detail_view.aim import aim, choose_beside
from roof3d.render.detail_view.cutaway import (
    cut_back,
    cut_places,
    cut_way,
    keep_under,
    move_water,
)
from roof3d.render.detail_view.eye import outward_of
from roof3d.render.detail_view.look import Look, Style
from roof3d.render.detail_view.panel import share_panel
from roof3d.render.detail_view.plan import Area, Plan, plan_sheet
from roof3d.render.detail_view.tones import greys_of, least_contrast, tone_of, tones_of
from roof3d.render.detail_view.words import shown_words, write_notes, write_words
from roof3d.render.lettering import Box
from roof3d.render.machine import require_graphics
from roof3d.render.passes import Light, Raster, RasterPart, rasterise
from roof3d.render.sheet import Sheet
from roof3d.scene.detail_scene import (
    DRAWN_THICKNESS,
    SECTION_THICKNESS,
    TRAIL,
    build_detail,
    fault_of,
    scene_of,
)
from roof3d.scene.model import Part, Point3, Scene
from roof3d.units import Units

_LIGHT = Light(shadow=1.0)
_OUTLINE = 0.45
"""Factor on the colour where one piece ends before another, though it has no edge there."""
_TRIES = 4
_ASIDE = frozenset({PieceKind.FRAMING, PieceKind.UNIT, PieceKind.WALL, PieceKind.FASTENER})
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
    cut : frozenset[int]
        Layers that a section shows.
    hidden : frozenset[int]
        Layers of which the drawing in space shows nothing.
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
    cut: frozenset[int]
    hidden: frozenset[int]


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
    factor, least = SECTION_THICKNESS if look.style is Style.SECTION else DRAWN_THICKNESS
    if look.exaggerate is not None:
        factor, least = look.exaggerate, 0.0
    detail = build_detail(
        project, place, exaggerate=factor, least_thickness=least, mistake=look.mistake
    )
    lift = look.lift if look.style is Style.EXPLODED else 0.0
    scene = scene_of(detail, project, lift=lift, shown=shown_words(look))
    plan = plan_sheet(size, look)
    units = Units(project.spec.units.value)
    outward = outward_of(detail, look.azimuth_deg)
    parts = scene.parts
    places: Mapping[int, float] = {}
    if look.style is Style.CUTAWAY:
        scene, parts, places = _cut_away(project, detail, scene, outward)
    beside = choose_beside(detail, scene, outward, places, look)
    camera, dimensions, notes = aim(detail, parts, beside, plan, size, look)
    tones = tones_of(detail, parts, camera, _LIGHT, dark=look.dark)
    figure = None
    if look.style is not Style.SECTION:
        figure, tones = _drawn(detail, scene, parts, camera, tones, look)
    cut = cut_section(detail, most=8 if look.style is Style.SECTION else 5)
    shown = frozenset(detail.pieces[index].layer for index, _ in cut.shapes)
    hidden = _hidden(detail, figure)
    plan = share_panel(plan, size, look, detail, cut.span, shown, hidden)
    words: tuple[Box, ...] = ()
    if not look.plain:
        words = write_words(None, detail, scene, plan, look, tones, shown, hidden=hidden)
    if notes is not None:
        words += write_notes(None, detail, plan, *notes)
    if figure is not None and not look.plain:
        figure = _annotated(figure, detail, plan, dimensions, outward, words, units, look)
    section = None
    if look.style is Style.SECTION or not look.plain:
        section = set_section(detail, cut, plan.section, plan.section_note, units)
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
        cut=shown,
        hidden=hidden,
    )


def _cut_away(
    project: Project, detail: Detail, scene: Scene, outward: Point3
) -> tuple[Scene, tuple[Part, ...], Mapping[int, float]]:
    """Return the scene, its parts cut back, and where they end toward the viewer."""
    way = cut_way(detail, outward)
    places = keep_under(detail, cut_places(detail, way), way, fault_of(detail, project))
    parts = cut_back(detail, scene.parts, way, places)
    return move_water(detail, scene, way, places), parts, places if way == outward else {}


def _hidden(detail: Detail, figure: Figure | None) -> frozenset[int]:
    """Layers of which the drawing in space shows nothing."""
    if figure is None:
        return frozenset()
    left, top, right, bottom = figure.raster.front.box
    found = np.zeros(len(figure.parts) + 1, dtype=np.bool_)
    found[figure.raster.ids[top:bottom, left:right]] = True
    seen = {figure.layer_of[number] for number in (np.flatnonzero(found[1:]) + 1).tolist()}
    return frozenset(layer.number for layer in detail.layers) - seen


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
        tones = tones_of(detail, parts, camera, _LIGHT, greys, dark=look.dark)
        raster, _ = _rasterise(detail, scene, parts, camera, tones, look, raster)
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
    cutaway = look.style is Style.CUTAWAY
    covers = [box for d in dimensions for box in (d.covers[:1] if cutaway else d.covers)]
    lines = [line for d in dimensions for line in (d.ends, d.leader) if line]
    texts = [*words, *(drawn.box for drawn in dimensions)]
    thin = [pair for d in dimensions for pair in zip(d.feet, d.ends, strict=True)]
    bare = [*lines, *thin]
    covered = figure.raster.ids > 0
    tags = set_tags(detail, figure.camera, outward, plan.note, texts, units, bare, covered)
    texts += [tag.box for tag in tags]
    area = (0.3 * plan.figure[0], *plan.figure[1:])
    radius, room = (0.74, 0.9) if cutaway else (0.86, 1.42)
    radius *= plan.name
    # What stands on the roof, and rafters, say little of the layer that they are counted to.
    aside = [k for k, piece in enumerate(detail.pieces, start=1) if piece.kind in _ASIDE]
    for _ in range(_TRIES):
        markers = place_markers(
            figure.raster, figure.layer_of, radius, area, covers, room=room, aside=aside
        )
        markers = mend_markers(markers, texts, area, lines, covered)
        faulty = faulty_markers(markers, texts, lines)
        if not faulty:
            break
        # Point at another place of the same layer.
        about = 3.0 * radius
        covers += [Box(centre=markers[k].anchor, width=about, height=about) for k in faulty]
    return replace(figure, dimensions=dimensions, tags=tags, markers=markers)


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
        write_words(
            sheet,
            detail,
            picture.scene,
            plan,
            look,
            picture.tones,
            picture.cut,
            theme,
            hidden=picture.hidden,
        )
    if picture.notes is not None:
        write_notes(sheet, detail, plan, *picture.notes, theme)
    if detail.mistake is not None:
        ink_band(sheet, picture.size, plan.unit)
    return sheet.png()


def _ink_figure(sheet: Sheet, picture: DetailPicture, figure: Figure, theme: Theme) -> None:
    weight, note = picture.plan.unit, picture.plan.note
    sheet.image(figure.raster.colour)
    parts = list(zip(picture.detail.pieces, figure.parts, strict=True))
    lifted = picture.look.style is Style.EXPLODED
    ink_rims(
        sheet, figure.raster, figure.camera, parts, figure.layer_of, 1.5 * weight, lifted=lifted
    )
    trails = [line for line in picture.scene.lines if line.style == TRAIL]
    ink_trails(sheet, figure.raster, figure.camera, trails, 1.3 * weight, theme=theme)
    covered = figure.raster.ids > 0
    for drawn in figure.dimensions:
        ink_dimension(sheet, drawn, note, 1.1 * weight, theme=theme, covered=covered)
    ink_markers(sheet, figure.markers, 1.2 * weight, theme=theme)
    ink_tags(sheet, figure.tags, note, theme=theme)
    ink_water(sheet, figure.raster, figure.camera, picture.scene, weight)


def _rasterise(
    detail: Detail,
    scene: Scene,
    drawn: Sequence[Part],
    camera: Camera,
    tones: Mapping[int, float],
    look: Look,
    found: Raster | None = None,
) -> tuple[Raster, dict[int, int]]:
    """Rasterise all parts, or paint them anew; returns also the layer of each part number."""
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
    raster = rasterise(parts, camera, paper=paper, light=_LIGHT, found=found, rim=_OUTLINE)
    return raster, layer_of
