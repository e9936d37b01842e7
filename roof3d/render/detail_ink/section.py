"""The cut through the break: the same pieces where they belong, flat, with the main lengths."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely

from roof3d.details.frame import Face, Floats
from roof3d.details.model import INCH, Detail, Measure, Piece, PieceKind
from roof3d.render.detail_ink.callouts import set_callouts
from roof3d.render.detail_ink.dimension import DrawnDimension
from roof3d.render.detail_ink.markers import Marker, ink_markers
from roof3d.render.detail_ink.palette import INK, colour_of
from roof3d.render.detail_ink.paragraph import text_box
from roof3d.render.detail_ink.tags import Triangle, set_triangles
from roof3d.render.lettering import Box
from roof3d.render.sheet import Pixel, Sheet
from roof3d.units import Units

_LOW_SHOWN = 19.0 * INCH
_MOST_TURN = math.pi / 2.0
_SLIDES = (0.0, 1.0, 2.0, 3.0)
_MORE = (0.0, 0.8, 1.6, 2.4, 3.2, 4.0, 4.8)
"""Inches by which a dimension line is moved off another."""
_BEYOND, _START_SHOWN = 6.0 * INCH, 5.0 * INCH
"""How far past the head of the cap, and past where the last layer begins, the section runs."""


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


def set_section(
    detail: Detail,
    area: tuple[float, float, float, float],
    size: float,
    units: Units = Units.IMPERIAL,
) -> Section:
    """Lay a section into an area of the sheet (left, top, right, bottom), pixels."""
    reach = _reach(detail)
    clip = _window(detail, reach)
    shapes = []
    for index, piece in enumerate(detail.pieces):
        if not _is_cut(piece):
            continue
        rings = [
            np.array(part.exterior.coords)
            for profile in piece.profiles
            for part in shapely.get_parts(shapely.intersection(shapely.Polygon(profile), clip))
            if part.geom_type == "Polygon"
        ]
        if rings:
            shapes.append((index, rings))
    points = np.concatenate([ring for _, rings in shapes for ring in rings])
    to_pixels = _Fit(points, area, size, convex=detail.convex)
    drawn = tuple((i, tuple(to_pixels(ring) for ring in rings)) for i, rings in shapes)
    callouts = set_callouts(detail, reach, to_pixels.pixel, to_pixels.scale, 0.72 * size)
    dimensions = _dimensions(detail, to_pixels, size, callouts)
    # Below each deck, where its middle is.
    places = [
        to_pixels.pixel(_flat(detail, at, -1.6 * INCH))
        for at in (-0.62 * reach[0], (0.66 if detail.convex else 0.36) * reach[1])
    ]
    marks = [
        *(shapely.Polygon(ring) for _, rings in drawn for ring in rings),
        *(shape for dimension in dimensions for shape in _shapes_of(dimension)),
        *(shapely.Polygon(marker.box.corners) for marker in callouts),
        *(shapely.LineString(marker.leader) for marker in callouts if marker.leader),
    ]
    return Section(
        shapes=drawn,
        dimensions=dimensions,
        triangles=set_triangles(detail, places, marks, area, size, units),
        callouts=callouts,
    )


def _shapes_of(drawn: DrawnDimension) -> tuple[shapely.Geometry, ...]:
    """Return what a dimension covers: its text, its line and its extension lines."""
    return (
        shapely.Polygon(drawn.box.corners),
        shapely.LineString(drawn.ends),
        *(shapely.LineString(pair) for pair in zip(drawn.feet, drawn.ends, strict=True)),
    )


class _Fit:
    """From section coordinates, metres, to pixels of an area; leaves room for text."""

    def __init__(
        self,
        points: Floats,
        area: tuple[float, float, float, float],
        size: float,
        *,
        convex: bool,
    ) -> None:
        left, top, right, bottom = area
        low, high = points.min(axis=0), points.max(axis=0)
        span = high - low
        # Below a low deck at the foot of the section stand numbers and slope triangles.
        below = 7.0 * size if convex else 10.5 * size
        room = (right - left - 5.0 * size, bottom - top - below)
        self.scale = float(min(room[0] / span[0], room[1] / span[1]))
        self.origin = (
            left + (right - left - 3.0 * size - self.scale * float(span[0])) / 2.0,
            (top + bottom + self.scale * float(span[1])) / 2.0 + (1.9 if convex else -1.6) * size,
        )
        self.low = low

    def __call__(self, points: Floats) -> Floats:
        away = (points - self.low) * self.scale
        return np.column_stack((self.origin[0] + away[:, 0], self.origin[1] - away[:, 1]))

    def pixel(self, point: Floats) -> Pixel:
        found = self(point.reshape(1, 2))[0]
        return (float(found[0]), float(found[1]))


def _reach(detail: Detail) -> tuple[float, float]:
    """How much of the low and of the steep plane the section shows, metres."""
    if detail.convex:
        return min(detail.size[1], _LOW_SHOWN), min(detail.size[2], 1.05 * _LOW_SHOWN)
    rise = next((m.value for m in detail.measures if m.id == "rise"), _LOW_SHOWN)
    starts = [
        min(p.reach[0] for p in detail.pieces if p.layer == layer.number and _is_cut(p))
        for layer in detail.layers
    ]
    steep = max(rise + _BEYOND, max(starts) + _START_SHOWN)
    return min(detail.size[1], _LOW_SHOWN), min(detail.size[2], steep)


def _is_cut(piece: Piece) -> bool:
    """Whether the section shows a piece: it does not show rafters and nails."""
    return piece.kind is not PieceKind.FRAMING and len(piece.profiles) > 0


def _window(detail: Detail, reach: tuple[float, float]) -> shapely.Geometry:
    """Everything near the deck, cut square to it at both ends."""
    tall = 8.0 * INCH
    frame = detail.frame
    wide = tall * math.tan(min(frame.turn, _MOST_TURN) / 2.0)
    quads = []
    for face, first, last in ((Face.NEAR, -reach[0], wide), (Face.FAR, -wide, reach[1])):
        at = np.array((first, last, last, first))
        height = np.array((-tall, -tall, tall, tall))
        quads.append(shapely.Polygon(frame.section(frame.on_face(face, np.zeros(4), at, height))))
    return shapely.union(*quads)


def _flat(detail: Detail, at: float, height: float) -> Floats:
    frame = detail.frame
    point = frame.place(np.zeros(1), np.array([at]), np.array([height]))
    return _only(frame.section(point))


def _dimensions(
    detail: Detail, fit: _Fit, size: float, callouts: Sequence[Marker]
) -> tuple[DrawnDimension, ...]:
    """Set the lengths that decide whether the joint holds, off the deck at growing distance."""
    found = {m.id: m for m in detail.measures}
    wanted = (
        (("leg", 4.5), ("flange", 6.6))
        if detail.convex
        else (("gap", 4.2), ("head_lap", 5.6), ("rise", 8.4))
    )
    drawn: list[DrawnDimension] = []
    for name, height in wanted:
        if name in found:
            # Where the section is small their texts would touch: further off, then.
            trials = [
                _along_deck(detail, found[name], (height + more) * INCH, fit, size, slide)
                for more in _MORE
                for slide in _SLIDES
            ]
            clear = [t for t in trials if _is_clear(t.box, drawn, callouts)]
            drawn.append((clear or trials)[0])
    if "rise_up" in found:
        drawn.append(_upright(detail, found["rise_up"], fit, size, callouts))
    return tuple(drawn)


def _is_clear(box: Box, drawn: Sequence[DrawnDimension], callouts: Sequence[Marker]) -> bool:
    """Whether a text lies clear of other texts and of the numbers with their leaders."""
    return not any(box.overlaps(other.box) for other in drawn) and not any(
        box.overlaps(m.box) or (m.leader and box.hit_by(*m.leader)) for m in callouts
    )


def _along_deck(
    detail: Detail, measure: Measure, height: float, fit: _Fit, size: float, slide: float
) -> DrawnDimension:
    """Set a dimension parallel to the deck at a height off it, its text along it.

    ``slide`` moves the text away from the break, in heights of its letters.
    """
    reach = measure.reach
    feet = tuple(fit.pixel(_flat_side(detail, s, 1.2 * INCH, reach)) for s in reach)
    ends = tuple(fit.pixel(_flat_side(detail, s, height, reach)) for s in reach)
    middle = ((ends[0][0] + ends[1][0]) / 2.0, (ends[0][1] + ends[1][1]) / 2.0)
    dx, dy = ends[1][0] - ends[0][0], ends[1][1] - ends[0][1]
    away = (ends[0][0] - feet[0][0], ends[0][1] - feet[0][1])
    out = math.hypot(*away)
    normal = (away[0] / out, away[1] / out)
    # Along its line, read from below or from the right.
    turn = -math.degrees(math.atan2(dy, dx))
    turn = turn - 180.0 if turn > 90.0 else turn + 180.0 if turn < -90.0 else turn
    step = 0.85 * size
    away_from_break = slide * size / math.hypot(dx, dy)
    at = (
        middle[0] + normal[0] * step + dx * away_from_break,
        middle[1] + normal[1] * step + dy * away_from_break,
    )
    return DrawnDimension(
        id=measure.id,
        feet=(feet[0], feet[1]),
        ends=(ends[0], ends[1]),
        text=measure.text,
        at=at,
        across="center",
        box=replace(text_box(at, measure.text, size, across="center"), turn_deg=turn),
    )


def _flat_side(detail: Detail, at: float, height: float, reach: tuple[float, float]) -> Floats:
    """Return a point off the deck, square to the plane that the reach lies on."""
    frame = detail.frame
    on_near = reach[0] + reach[1] < 0.0
    into, normal = (frame.near, frame.near_normal) if on_near else (frame.far, frame.far_normal)
    point = np.array(frame.origin) + abs(at) * np.array(into) + height * np.array(normal)
    return _only(frame.section(point.reshape(1, 3)))


def _only(points: Floats) -> Floats:
    first: Floats = points[0]
    return first


def _upright(
    detail: Detail, rise: Measure, fit: _Fit, size: float, callouts: Sequence[Marker]
) -> DrawnDimension:
    """How high the head of the membrane stands over the break, straight up."""
    foot = fit.pixel(_flat(detail, 0.0, 0.0))
    head = fit.pixel(detail.frame.section(np.array(rise.ends[1:]))[0])
    x = head[0] + 2.6 * size
    words = rise.text
    beside = (x + 0.5 * size, (foot[1] + head[1]) / 2.0)
    below = (x, foot[1] + 1.1 * size)
    across, at = "left", beside
    covered = text_box(beside, words, size).grown(0.2 * size)
    if not _is_clear(covered, (), callouts):
        across, at = "center", below
    return DrawnDimension(
        id="rise_up",
        feet=(foot, head),
        ends=((x, foot[1]), (x, head[1])),
        text=words,
        at=at,
        across=across,
        box=text_box(at, words, size, across=across),
    )


def ink_section(sheet: Sheet, detail: Detail, section: Section, size: float, weight: float) -> None:
    """Ink a section: pieces, slope triangles; its dimensions are inked like the others."""
    for index, rings in section.shapes:
        for ring in rings:
            sheet.polygon(
                ring,
                fill=colour_of(detail.pieces[index]),
                ink=INK,
                width=0.7 * weight,
                order=3.0 + index / 1000.0,
            )
    ink_markers(sheet, section.callouts, 0.8 * weight)
    for corners, words, boxes in section.triangles:
        sheet.polygon(corners, ink=INK, width=0.9 * weight, order=4.0)
        for word, box in zip(words, boxes, strict=True):
            sheet.text(box.centre, word, size=size, ink=INK, across="center", order=5.0)
