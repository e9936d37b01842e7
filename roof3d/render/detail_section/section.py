"""The cut through a detail: the same pieces where they belong, flat, with the main lengths."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from roof3d.details.frame import Face, Floats
from roof3d.details.model import INCH, Detail, Measure, Piece, PieceKind
from roof3d.render.detail_ink.dimension import DrawnDimension, ink_dimension
from roof3d.render.detail_ink.discs import ink_markers
from roof3d.render.detail_ink.markers import (
    Marker,
    faulty_markers,
    mend_markers,
)
from roof3d.render.detail_ink.palette import LIGHT, RIM, Theme, colour_of
from roof3d.render.detail_section.callouts import set_callouts
from roof3d.render.detail_section.fit import SHARP, Fit, flat_place
from roof3d.render.detail_section.lengths import Lengths, choose_measures
from roof3d.render.detail_section.triangles import Triangle, set_triangles
from roof3d.render.sheet import Sheet
from roof3d.tolerance import DEFAULT
from roof3d.units import Units

_SHOWN = 19.0 * INCH
"""How much of a plane is shown where nothing asks for more."""
_MOST_TURN = math.pi / 2.0
_WOOD = frozenset({PieceKind.DECK, PieceKind.WALL})
_SLIVER = INCH * INCH / 1000.0
"""Square metres of a cut that are no more than rounding."""
_NEAR, _TALL, _MARGIN = 8.0 * INCH, 80.0 * INCH, 2.0 * INCH
"""How far off the deck a section shows: plain, with what stands on the roof, past the rest."""
_BEYOND, _START_SHOWN = 6.0 * INCH, 5.0 * INCH
"""How far past the last length, and past where the last layer begins, the section runs."""


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Section:
    """A section before it is inked.

    Attributes
    ----------
    shapes : tuple
        For each piece cut, its index in the detail and the rings to fill (k, 2), pixels.
    dimensions : tuple[DrawnDimension, ...]
    triangles : tuple
        For each plane, the corners of its slope triangle, its texts and their boxes.
    callouts : tuple[Marker, ...]
        Numbers of the layers.
    """

    shapes: tuple[tuple[int, tuple[Floats, ...]], ...]
    dimensions: tuple[DrawnDimension, ...]
    triangles: tuple[Triangle, ...]
    callouts: tuple[Marker, ...]


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Cut:
    """What a plane square to the line lays open, metres.

    Attributes
    ----------
    measures : tuple[Measure, ...]
        Lengths to be drawn.
    reach : tuple[float, float]
        How much of the near and of the far face is shown.
    shapes : tuple
        For each piece cut, its index in the detail and its outlines (k, 2).
    """

    measures: tuple[Measure, ...]
    reach: tuple[float, float]
    shapes: tuple[tuple[int, tuple[Floats, ...]], ...]

    @property
    def span(self) -> tuple[float, float]:
        """Width and height of all that is cut."""
        points = np.concatenate([ring for _, rings in self.shapes for ring in rings])
        wide, high = np.ptp(points, axis=0)
        return float(wide), float(high)


def cut_section(detail: Detail, *, most: int = 4) -> Cut:
    """Cut a detail at its middle; at the most so many lengths, the nearest to the line first."""
    measures = choose_measures(detail, _SHOWN, most)
    reach = _reach(detail, measures)
    clip = _window(detail, reach)
    shapes = []
    for index, piece in enumerate(detail.pieces):
        if not _is_cut(piece):
            continue
        rings = tuple(
            np.array(part.exterior.coords)
            for profile in piece.profiles
            for part in shapely.get_parts(shapely.intersection(shapely.Polygon(profile), clip))
            if part.geom_type == "Polygon" and part.area > _SLIVER
        )
        if rings:
            shapes.append((index, rings))
    return Cut(measures=measures, reach=reach, shapes=tuple(shapes))


def set_section(
    detail: Detail,
    cut: Cut,
    area: tuple[float, float, float, float],
    size: float,
    units: Units = Units.IMPERIAL,
) -> Section:
    """Lay a section into an area of the sheet.

    Parameters
    ----------
    detail : Detail
    cut : Cut
        Of the same detail.
    area : (left, top, right, bottom)
        Pixels.
    size : float
        Font size, pixels.
    units : Units
    """
    measures, reach, shapes = cut.measures, cut.reach, cut.shapes
    points = np.concatenate([ring for _, rings in shapes for ring in rings])
    sharp = detail.frame.turn > SHARP
    to_pixels = Fit(points, area, size, convex=detail.convex, sharp=sharp)
    drawn = tuple((i, tuple(to_pixels(ring) for ring in rings)) for i, rings in shapes)
    open_of: dict[int, list[shapely.Geometry]] = {}
    for index, rings in shapes:
        layer = open_of.setdefault(detail.pieces[index].layer, [])
        layer += [shapely.Polygon(ring) for ring in rings]
    callouts = set_callouts(detail, open_of, reach, to_pixels.pixel, to_pixels.scale, 0.72 * size)
    pieces = [shapely.Polygon(ring) for _, rings in drawn for ring in rings]
    # Numbers make way for lengths; where they cannot, lengths keep clear of the numbers.
    lengths = Lengths(detail, measures, to_pixels, size, callouts, pieces, area)
    for strict in (False, True):
        dimensions = lengths.set(strict=strict)
        texts = [dimension.box for dimension in dimensions]
        lines = [dimension.ends for dimension in dimensions]
        moved = mend_markers(callouts, texts, area, lines)
        if not faulty_markers(moved, texts, lines):
            break
    callouts = moved
    # Below each deck, where its middle is.
    places = [
        to_pixels.pixel(flat_place(detail, at, -1.6 * INCH))
        for at in (-0.62 * reach[0], (0.66 if detail.convex else 0.36) * reach[1])
    ]
    marks = [
        *pieces,
        *(shape for dimension in dimensions for shape in _shapes_of(dimension)),
        *(shapely.Polygon(marker.box.corners) for marker in callouts),
        *(shapely.LineString(marker.leader) for marker in callouts if marker.leader),
    ]
    triangles = set_triangles(detail, places, marks, area, size, units)
    texts += [box for _, _, boxes in triangles for box in boxes]
    return Section(
        shapes=drawn,
        dimensions=dimensions,
        triangles=triangles,
        callouts=mend_markers(callouts, texts, area, lines),
    )


def _shapes_of(drawn: DrawnDimension) -> tuple[shapely.Geometry, ...]:
    """Return what a dimension covers: its text, its line and its extension lines."""
    return (
        shapely.Polygon(drawn.box.corners),
        shapely.LineString(drawn.ends),
        *(shapely.LineString(pair) for pair in zip(drawn.feet, drawn.ends, strict=True)),
    )


def _reach(detail: Detail, measures: Sequence[Measure]) -> tuple[float, float]:
    """How much of the near and of the far face the section shows, metres."""
    near = max([_SHOWN, *(_BEYOND - measure.reach[0] for measure in measures)])
    far = max([0.0, *(measure.reach[1] + _BEYOND for measure in measures)])
    if detail.convex or detail.frame.turn < DEFAULT.parallel:
        far = max(far, 1.05 * _SHOWN)
    else:
        starts = [
            min(p.reach[0] for p in pieces)
            for layer in detail.layers
            if (pieces := [p for p in detail.pieces if p.layer == layer.number and _is_cut(p)])
        ]
        far = max(far, max(starts) + _START_SHOWN)
    return min(detail.size[1], near), min(detail.size[2], far)


def _is_cut(piece: Piece) -> bool:
    """Whether the section shows a piece: it does not show rafters and nails."""
    return piece.kind is not PieceKind.FRAMING and len(piece.profiles) > 0


def _window(detail: Detail, reach: tuple[float, float]) -> shapely.Geometry:
    """Everything near the deck, cut square to it at both ends.

    What stands on the roof is cut off level a little above all that lies against it.
    """
    frame = detail.frame
    stands = any(piece.kind is PieceKind.UNIT for piece in detail.pieces)
    tall = _TALL if stands else _NEAR
    wide = tall * math.tan(min(frame.turn, _MOST_TURN) / 2.0)
    quads = []
    for face, first, last in ((Face.NEAR, -reach[0], wide), (Face.FAR, -wide, reach[1])):
        at = np.array((first, last, last, first))
        height = np.array((-tall, -tall, tall, tall))
        quads.append(shapely.Polygon(frame.section(frame.on_face(face, np.zeros(4), at, height))))
    whole = shapely.union(*quads)
    if not stands:
        return whole
    against = [
        shapely.intersection(shapely.Polygon(profile), whole)
        for piece in detail.pieces
        for profile in piece.profiles
        if _is_cut(piece) and piece.kind is not PieceKind.UNIT
    ]
    left, low, right, high = shapely.total_bounds(np.array(against))
    return shapely.intersection(
        whole, shapely.box(left - _TALL, low - _MARGIN, right + _TALL, high + _MARGIN)
    )


def ink_section(
    sheet: Sheet,
    detail: Detail,
    section: Section,
    tones: Mapping[int, float],
    sizes: tuple[float, float],
    *,
    theme: Theme = LIGHT,
) -> None:
    """Ink a section: pieces, numbers, slope triangles, dimensions.

    ``tones`` are factors on the lightness of layers; ``sizes`` the font size and the width
    of a line, pixels.
    """
    size, weight = sizes
    for index, rings in section.shapes:
        for ring in rings:
            sheet.polygon(
                ring,
                fill=colour_of(detail.pieces[index], tones.get(detail.pieces[index].layer, 1.0)),
                ink=RIM,
                width=0.7 * weight,
                order=3.0 + index / 1000.0,
            )
            if detail.pieces[index].kind in _WOOD:
                strokes = hatch(ring, 0.55 * size)
                sheet.lines(
                    strokes, width=0.5 * weight, ink=RIM, alpha=0.45, order=3.0 + index / 1000.0
                )
    ink_markers(sheet, section.callouts, 0.8 * weight, theme=theme)
    for corners, words, boxes in section.triangles:
        sheet.polygon(corners, ink=theme.ink, width=0.9 * weight, order=4.0)
        for word, box in zip(words, boxes, strict=True):
            sheet.text(box.centre, word, size=size, ink=theme.ink, across="center", order=5.0)
    for drawn in section.dimensions:
        ink_dimension(sheet, drawn, size, weight, theme=theme)


def hatch(ring: Floats, apart: float) -> list[Floats]:
    """Return strokes that rise to the right inside an outline, as wood is drawn where cut."""
    low, high = ring.min(axis=0), ring.max(axis=0)
    tall = float(high[1] - low[1])
    starts = np.arange(float(low[0]) - tall, float(high[0]), apart)
    strokes = shapely.linestrings(
        [[(x, float(high[1])), (x + tall, float(low[1]))] for x in starts]
    )
    inside = shapely.intersection(strokes, shapely.Polygon(ring))
    return [
        shapely.get_coordinates(part)
        for part in shapely.get_parts(inside)
        if part.geom_type == "LineString" and part.length > 1.0
    ]
