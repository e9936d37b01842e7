"""The roof in three dimensions: planes by kind, edges by role, labels, key, north, scale."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from roof3d.project import Project
from roof3d.render.camera import Camera, direction_from, fit_camera
from roof3d.render.lettering import Box, Placed, write_labels
from roof3d.render.machine import require_graphics
from roof3d.render.passes import Colour, Raster, rasterise
from roof3d.render.roof_ink.annotate import Field, PlaneLabel, place_labels, upright
from roof3d.render.roof_ink.ground import draw_north, draw_scale, scale_length
from roof3d.render.roof_ink.hidden import draw_hidden_drains
from roof3d.render.roof_ink.key import (
    EdgeEntry,
    SurfaceEntry,
    draw_cautions,
    draw_edge_key,
    draw_stroke,
    draw_surface_words,
    paint_swatch,
)
from roof3d.render.roof_ink.layout import Layout, lay_out
from roof3d.render.roof_ink.massing import plain_part, raster_parts, sunlight
from roof3d.render.roof_ink.palette import INK, PAPER, RULE, SOFT_INK, STROKES
from roof3d.render.roof_ink.view import EYE_HEIGHT_DEG, choose_azimuth
from roof3d.render.sheet import Sheet, shortened
from roof3d.render.visibility import Run, split_line
from roof3d.roof.model import Kind, Plane
from roof3d.scene.model import Scene
from roof3d.scene.roof_scene import build_roof_scene, role_name
from roof3d.units import Units, format_angle, format_area, format_length, format_pitch

_WINDS = ("north", "north-east", "east", "south-east", "south", "south-west", "west", "north-west")


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class RoofPicture:
    """A roof picture before it is inked: all that tests can hold exactly.

    Attributes
    ----------
    camera : Camera
    azimuth_deg : float
        Compass direction in which the eye stands.
    raster : Raster
    numbers : dict
        Part number of each plane, opening and the ground, by id.
    runs : dict
        Visible and hidden runs of each edge, by id.
    labels : tuple of Placed
    left_out : tuple[str, ...]
        Planes and edges without a label: hidden, or no room.
    furniture : tuple of Box
        What labels must keep clear of: the key and the title.
    """

    camera: Camera
    azimuth_deg: float
    raster: Raster
    numbers: dict[str, int]
    runs: dict[str, tuple[Run, ...]]
    labels: tuple[Placed, ...]
    left_out: tuple[str, ...]
    furniture: tuple[Box, ...]
    layout: Layout


def draw_roof(
    project: Project,
    size: tuple[int, int] = (1600, 1200),
    *,
    azimuth_deg: float | None = None,
    height_deg: float = EYE_HEIGHT_DEG,
) -> bytes:
    """Draw the roof of a project as a PNG file.

    Parameters
    ----------
    project : Project
    size : tuple[int, int]
        Width and height in pixels; 800 x 600 is about the least that can be read.
    azimuth_deg : float or None
        Compass direction from which to look, clockwise from north; None to choose the
        one that shows most, with the place where low meets steep toward the reader.
    height_deg : float
        Height of the eye above the horizon, above 0 and below 90.

    Returns
    -------
    bytes
        The same project and size give the same bytes on the same machine.

    Raises
    ------
    RoofError
        Code ``R3D-GRAPHICS``, where this machine cannot draw.
    """
    scene = build_roof_scene(project)
    picture = compose_roof(project, scene, size, azimuth_deg=azimuth_deg, height_deg=height_deg)
    return _ink(project, scene, picture)


def compose_roof(
    project: Project,
    scene: Scene,
    size: tuple[int, int],
    *,
    azimuth_deg: float | None = None,
    height_deg: float = EYE_HEIGHT_DEG,
) -> RoofPicture:
    """Rasterise the roof, find what is in sight and place the labels, without inking.

    Parameters and errors as for ``draw_roof``; ``scene`` is that of the same project.
    """
    require_graphics()
    layout = lay_out(scene, size)
    numbers = {part.id: k + 1 for k, part in enumerate(scene.parts)}
    plain = [plain_part(part, numbers[part.id]) for part in scene.parts]
    azimuth = (
        choose_azimuth(project.roof, plain, numbers, height_deg)
        if azimuth_deg is None
        else azimuth_deg % 360.0
    )
    points = np.concatenate([part.vertices for part in scene.parts])
    side = layout.margin + 5.5 * layout.sizes[3]
    camera = fit_camera(
        points,
        direction_from(azimuth, height_deg),
        size,
        (side, layout.top, side, size[1] - layout.bottom),
    )
    parts, ground, openings = raster_parts(project, scene, numbers, camera)
    raster = rasterise(parts, camera, paper=PAPER, light=sunlight(camera), rim=0.55)
    runs = {line.id: split_line(raster, camera, line.ends) for line in scene.lines}
    area = Field(
        ids=raster.ids,
        ground=ground,
        bounds=(
            layout.margin,
            layout.top * 0.8,
            size[0] - layout.margin,
            layout.key_top - 2.0 * layout.sizes[3],
        ),
        runs={k: tuple(run for run in v if run.visible) for k, v in runs.items()},
        colour=raster.colour,
        keep_clear=openings,
    )
    labels, left_out = _place(project, scene, camera, numbers, area, layout)
    return RoofPicture(
        camera=camera,
        azimuth_deg=azimuth,
        raster=raster,
        numbers={**numbers, "ground": ground},
        runs=runs,
        labels=labels,
        left_out=left_out,
        furniture=(layout.title_box, layout.key_box),
        layout=layout,
    )


def _place(
    project: Project,
    scene: Scene,
    camera: Camera,
    numbers: dict[str, int],
    area: Field,
    layout: Layout,
) -> tuple[tuple[Placed, ...], tuple[str, ...]]:
    """Place the labels: planes in their order, edges by the order of the key, longest first."""
    planes = {plane.id: plane for plane in project.roof.planes}
    rank = {edge.id: (list(STROKES).index(edge.role), -edge.length) for edge in project.roof.edges}
    names = [
        PlaneLabel(
            label=label,
            number=numbers[label.subject],
            turn_deg=_level_turn(planes[label.subject], camera),
        )
        for label in scene.labels
        if label.subject in planes
    ]
    edges = sorted(
        (label for label in scene.labels if label.subject not in planes),
        key=lambda label: rank[label.subject],
    )
    return place_labels(names, edges, area, layout.sizes[2:])


def _level_turn(plane: Plane, camera: Camera) -> float:
    """Direction of the plane's level lines on the sheet, degrees, readable from below."""
    east, north = (-plane.gradient[1], plane.gradient[0]) if plane.slope else (1.0, 0.0)
    x = east * camera.right[0] + north * camera.right[1]
    y = east * camera.up[0] + north * camera.up[1]
    return upright(math.degrees(math.atan2(y, x)))


def _ink(project: Project, scene: Scene, picture: RoofPicture) -> bytes:
    """Ink everything a reader must read over the raster."""
    layout = picture.layout
    width = layout.size[0]
    note = layout.sizes[3]
    colour = picture.raster.colour.copy()
    colour[int(layout.key_top) :] = np.rint(np.array(PAPER) * 255.0).astype(np.uint8)
    swatches = _swatches(project, layout)
    for entry, corner, extent in swatches:
        paint_swatch(colour, entry.kind, corner, extent)
    sheet = Sheet(layout.size, PAPER)
    sheet.image(colour)
    share = note / 15.0
    for place, (role, stroke) in enumerate(reversed(STROKES.items())):
        edges = [edge.id for edge in project.roof.edges if edge.role is role]
        seen = [(r.start, r.end) for edge in edges for r in picture.runs[edge] if r.visible]
        draw_stroke(sheet, seen, stroke, share, 2.0 + place / 10.0)
    _write_labels(sheet, project, picture)
    taken = [label.box for label in picture.labels]
    draw_hidden_drains(sheet, project.roof, picture.raster, picture.camera, note, taken)
    _draw_title(sheet, scene, picture)
    for y in (layout.key_top, layout.key_bottom):
        line = [(layout.margin, y), (width - layout.margin, y)]
        sheet.lines([line], width=max(1.0, note / 12.0), ink=RULE, order=6.0)
    for entry, corner, extent in swatches:
        _frame_swatch(sheet, entry, corner, extent, note)
    _draw_edge_entries(sheet, project, layout)
    _draw_ground(sheet, project, picture)
    if picture.left_out:
        count = len(picture.left_out)
        what = "plane or edge" if count == 1 else "planes or edges"
        words = f"{count} {what} out of sight or short of room for a label"
        at = (width - layout.margin, layout.key_top - 1.1 * note)
        sheet.text(at, words, size=0.86 * note, ink=SOFT_INK, across="right")
    foot = (layout.margin, layout.key_bottom + 0.5 * note)
    draw_cautions(sheet, layout.cautions, foot, width - 2.0 * layout.margin, 0.86 * note)
    return sheet.png()


def _write_labels(sheet: Sheet, project: Project, picture: RoofPicture) -> None:
    """Write labels in the colour of their edge, with a halo of the surface they stand on."""
    inks = {edge.id: STROKES[edge.role].words for edge in project.roof.edges}
    for label in picture.labels:
        ink = inks.get(label.words.subject, INK)
        halo = _tone_under(picture.raster, label.box)
        write_labels(sheet, [label], ink=ink, note_ink=INK, halo=halo)


def _tone_under(raster: Raster, box: Box) -> Colour:
    """Mean colour under a box, lightened toward the paper."""
    height, width = raster.ids.shape
    x = np.clip([round(p[0]) for p in box.corners], 0, width - 1)
    y = np.clip([round(p[1]) for p in box.corners], 0, height - 1)
    patch = raster.colour[y.min() : y.max() + 1, x.min() : x.max() + 1].reshape(-1, 3) / 255.0
    tone = 0.38 * patch.mean(axis=0) + 0.62 * np.array(PAPER)
    return (float(tone[0]), float(tone[1]), float(tone[2]))


def _draw_title(sheet: Sheet, scene: Scene, picture: RoofPicture) -> None:
    layout = picture.layout
    title, _, _, note = layout.sizes
    wind = _WINDS[round(picture.azimuth_deg / 45.0) % 8]
    y = layout.margin + 0.5 * title
    room = layout.size[0] - 2.0 * layout.margin
    heading = shortened(scene.title, title, room, bold=True)
    sheet.text((layout.margin, y), heading, size=title, ink=INK, bold=True)
    words = (
        f"{scene.subtitle}. Parallel view from the {wind}; figures are true lengths and areas "
        "along the slope."
    )
    at = (layout.margin, y + 0.55 * title + 1.1 * note)
    sheet.text(at, shortened(words, note, room), size=note, ink=SOFT_INK)


def _swatches(
    project: Project, layout: Layout
) -> list[tuple[SurfaceEntry, tuple[int, int], tuple[int, int]]]:
    """Surfaces that occur, with the corner and size of their swatches."""
    units = Units(project.spec.units.value)
    cutoff = format_pitch(project.spec.rules.low_slope_cutoff)
    if units is Units.METRIC:
        cutoff = format_angle(math.atan(project.spec.rules.low_slope_cutoff))
    words = {
        Kind.STEEP: ("steep plane", f"{cutoff} and steeper"),
        Kind.LOW: ("low plane", f"below {cutoff}"),
    }
    note = layout.sizes[3]
    extent = (round(6.0 * note), round(4.2 * note))
    found = []
    y = layout.key_top + 2.6 * note
    for kind, lines in words.items():
        area = sum(plane.area for plane in project.roof.planes if plane.kind is kind)
        if area:
            entry = SurfaceEntry(kind=kind, lines=(*lines, f"{format_area(area, units)} in all"))
            found.append((entry, (round(layout.margin), round(y)), extent))
            y += extent[1] + 0.8 * note
    return found


def _frame_swatch(
    sheet: Sheet, entry: SurfaceEntry, corner: tuple[int, int], extent: tuple[int, int], note: float
) -> None:
    (x, y), (width, height) = corner, extent
    ring = [(x, y), (x + width, y), (x + width, y + height), (x, y + height)]
    sheet.polygon(ring, ink=INK, width=max(1.0, note / 14.0), order=6.0)
    draw_surface_words(sheet, entry, (x + width + 0.8 * note, y), note, height)


def _draw_edge_entries(sheet: Sheet, project: Project, layout: Layout) -> None:
    units = Units(project.spec.units.value)
    note = layout.sizes[3]
    entries = []
    for role in STROKES:
        total = sum(edge.length for edge in project.roof.edges if edge.role is role)
        if total:
            parapets = any(edge.parapet for edge in project.roof.edges if edge.role is role)
            name = role_name(role.value) + " + parapet" * parapets
            entries.append(EdgeEntry(role=role, name=name, total=format_length(total, units)))
    heads: Sequence[tuple[float, str]] = (
        (layout.margin, "Planes"),
        (layout.edge_key_left, "Edges, with total length in and out of sight"),
        (layout.ground_left, "North, and scale on the ground"),
    )
    for x, head in heads:
        sheet.text((x, layout.key_top + 1.4 * note), head, size=note, ink=SOFT_INK, bold=True)
    column = (layout.ground_left - layout.edge_key_left) / 2
    corner = (layout.edge_key_left, layout.key_top + 2.4 * note)
    draw_edge_key(sheet, entries, corner, 2.0 * note, column, 5, note)


def _draw_ground(sheet: Sheet, project: Project, picture: RoofPicture) -> None:
    layout = picture.layout
    note = layout.sizes[3]
    left, right = layout.ground_left, layout.size[0] - layout.margin
    middle = (layout.key_top + layout.key_bottom) / 2 + 0.7 * note
    width = right - left
    draw_north(sheet, (left + 0.20 * width, middle), 0.135 * width, picture.camera, note)
    units = Units(project.spec.units.value)
    turn = project.spec.sections[0].turn
    length = scale_length(picture.camera, units, turn, (0.38 * width, 5.0 * note))
    centre = (left + 0.70 * width, middle - 0.4 * note)
    draw_scale(sheet, centre, length, turn, picture.camera, units, 0.9 * note)
    words = "each bar is true for level lengths parallel to it"
    place = (right, layout.key_bottom - 0.9 * note)
    sheet.text(place, words, size=0.86 * note, ink=SOFT_INK, across="right")
