"""The cut through a detail: the same pieces where they belong, flat, with the main lengths."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
import shapely

from roof3d.details.frame import Floats
from roof3d.details.model import INCH, Detail, PieceKind
from roof3d.drawing.detail.cut import Cut as PaperCut
from roof3d.drawing.detail.cut import cut_detail
from roof3d.render.detail_ink.dimension import DrawnDimension, ink_dimension
from roof3d.render.detail_ink.discs import ink_markers
from roof3d.render.detail_ink.markers import Marker, mend_markers
from roof3d.render.detail_ink.palette import LIGHT, RIM, Theme, colour_of
from roof3d.render.detail_section.callouts import Paper, set_breaks, set_callouts
from roof3d.render.detail_section.fit import SHARP, Fit, flat_place
from roof3d.render.detail_section.lengths import choose_measures, set_lengths
from roof3d.render.detail_section.triangles import Triangle, set_triangles
from roof3d.render.sheet import Sheet
from roof3d.tolerance import DEFAULT
from roof3d.units import Units

_SHOWN = 19.0 * INCH
"""How far from the line a length may begin that is drawn."""
_HATCHES = {PieceKind.DECK: (0.55, False), PieceKind.WALL: (0.9, True)}
"""How far apart the strokes of wood and of walls are, in heights of the letters; which fall."""
_CUT = 0.06
"""Width of the outline of what is cut, in heights of the letters: heavier than a dimension's."""


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
    breaks : tuple
        Lines (k, 2) where roof that goes on is left off, pixels.
    """

    shapes: tuple[tuple[int, tuple[Floats, ...]], ...]
    dimensions: tuple[DrawnDimension, ...]
    triangles: tuple[Triangle, ...]
    callouts: tuple[Marker, ...]
    breaks: tuple[Floats, ...] = ()


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Cut:
    """What a plane square to the line lays open, metres.

    Attributes
    ----------
    whole : drawing.detail.cut.Cut
        As it is drawn on paper too.
    shapes : tuple
        For each piece cut, its index in the detail and its outlines (k, 2).
    """

    whole: PaperCut
    shapes: tuple[tuple[int, tuple[Floats, ...]], ...]

    @property
    def span(self) -> tuple[float, float]:
        """Width and height of all that is cut."""
        points = np.concatenate([ring for _, rings in self.shapes for ring in rings])
        wide, high = np.ptp(points, axis=0)
        return float(wide), float(high)


def cut_section(detail: Detail, *, most: int = 4) -> Cut:
    """Cut a detail at its middle; at the most so many lengths, the nearest to the line first."""
    whole = cut_detail(detail, choose_measures(detail, _SHOWN, most))
    # It does not show rafters.
    shown = tuple(part for part in whole.parts if part[0].kind is not PieceKind.FRAMING)
    whole = replace(whole, parts=shown)
    parts: dict[str, list[shapely.Geometry]] = {}
    for piece, _, part in shown:
        parts.setdefault(piece.id, []).append(part)
    shapes = []
    for index, piece in enumerate(detail.pieces):
        if piece.id in parts:
            # Not parted where the faces meet.
            joined = shapely.union_all(parts[piece.id], grid_size=DEFAULT.cut_grid)
            rings = tuple(
                np.array(ring.coords)
                for part in shapely.get_parts(joined)
                if part.geom_type == "Polygon" and part.area > DEFAULT.area
                for ring in (part.exterior,)
            )
            if rings:
                shapes.append((index, rings))
    return Cut(whole=whole, shapes=tuple(shapes))


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
    measures, reach, shapes = cut.whole.measures, cut.whole.reach, cut.shapes
    points = np.concatenate([ring for _, rings in shapes for ring in rings])
    sharp = detail.frame.turn > SHARP
    to_pixels = Fit(points, area, size, convex=detail.convex, sharp=sharp)
    drawn = tuple((i, tuple(to_pixels(ring) for ring in rings)) for i, rings in shapes)
    pieces = [shapely.Polygon(ring) for _, rings in drawn for ring in rings]
    dimensions = set_lengths(detail, measures, to_pixels, size, pieces, area)
    paper = Paper(to_pixels, 0.72 * size)
    breaks = set_breaks(detail, cut.whole, paper)
    texts = [dimension.box for dimension in dimensions]
    lines = [dimension.ends for dimension in dimensions]
    taken = [shapely.Polygon(box.corners) for box in texts]
    taken += [shapely.LineString(line) for line in (*lines, *breaks)]
    thin = [
        shapely.LineString(pair)
        for dimension in dimensions
        for pair in zip(dimension.feet, dimension.ends, strict=True)
    ]
    callouts = set_callouts(detail, cut.whole, paper, pieces, taken, thin)
    callouts = mend_markers(callouts, texts, area, lines)
    # Below each deck, where its middle is.
    places = [
        to_pixels.pixel(flat_place(detail, at, -1.6 * INCH))
        for at in (-0.62 * reach[0], (0.66 if detail.convex else 0.36) * reach[1])
    ]
    marks = [
        *pieces,
        *taken,
        *thin,
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
        breaks=breaks,
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
                width=_CUT * size,
                order=3.0 + index / 1000.0,
            )
            strokes = _HATCHES.get(detail.pieces[index].kind)
            if strokes is not None:
                apart, falls = strokes
                lines = hatch(ring, apart * size, falls=falls)
                order = 3.0 + index / 1000.0
                sheet.lines(lines, width=0.5 * weight, ink=RIM, alpha=0.45, order=order)
    sheet.lines(section.breaks, width=0.8 * weight, ink=theme.ink, order=3.95)
    ink_markers(sheet, section.callouts, 0.8 * weight, theme=theme)
    for corners, words, boxes in section.triangles:
        sheet.polygon(corners, ink=theme.ink, width=0.9 * weight, order=4.0)
        for word, box in zip(words, boxes, strict=True):
            sheet.text(box.centre, word, size=size, ink=theme.ink, across="center", order=5.0)
    for drawn in section.dimensions:
        ink_dimension(sheet, drawn, size, weight, theme=theme)


def hatch(ring: Floats, apart: float, *, falls: bool = False) -> list[Floats]:
    """Return strokes inside an outline that rise to the right, or fall."""
    low, high = ring.min(axis=0), ring.max(axis=0)
    tall = float(high[1] - low[1])
    first, last = (float(low[1]), float(high[1])) if falls else (float(high[1]), float(low[1]))
    starts = np.arange(float(low[0]) - tall, float(high[0]), apart)
    strokes = shapely.linestrings([[(x, first), (x + tall, last)] for x in starts])
    inside = shapely.intersection(strokes, shapely.Polygon(ring))
    return [
        shapely.get_coordinates(part)
        for part in shapely.get_parts(inside)
        if part.geom_type == "LineString" and part.length > 1.0
    ]
