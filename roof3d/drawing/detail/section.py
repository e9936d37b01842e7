"""The section of a detail as a sheet: cut pieces hatched, numbered, measured, with their slopes."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from functools import partial

import numpy as np
import shapely

from roof3d.details.frame import Face, Floats
from roof3d.details.model import INCH, Detail, Measure, Piece, PieceKind
from roof3d.drawing.detail.cut import Cut, cut_detail, lies, on_face, uncut_layers
from roof3d.drawing.detail.entries import (
    heading_of,
    legend_of,
    line_words,
    notes_of,
    thickness_line,
    units_of,
)
from roof3d.drawing.hatches import choose_hatches
from roof3d.drawing.marks.clear import covers_of, text_box
from roof3d.drawing.marks.lengths import Wish, set_lengths
from roof3d.drawing.marks.numbers import RADIUS, Slot, set_numbers
from roof3d.drawing.marks.slopes import set_slope
from roof3d.drawing.model import Area, Callout, Drawing, Line, Mark, Point, Stroke
from roof3d.drawing.sheet.fit import TEXT, Sketch, fit_sheet
from roof3d.project import Project
from roof3d.tolerance import DEFAULT
from roof3d.units import Units

_WANTED = {Units.IMPERIAL: 8.0, Units.METRIC: 5.0}
_SHOWN = (60.0 * INCH, 40.0 * INCH, 32.0 * INCH, 26.0 * INCH, 20.0 * INCH)
"""How far from the line lengths are shown: all of them, or on small paper fewer."""
_CUT_PEN, _BEHIND, _BREAK = Stroke(width=0.3), Stroke(width=0.18), Stroke(width=0.18)
_PITCH = 2.0 * RADIUS + 1.6
_ROW_OFF = 4.0
"""From what is drawn to the rim of the discs."""
_ASKEW = 0.02
_DROP = 0.9
"""Radians by which the faces bend where the far one is a fascia or barge board."""
_FINE = 1.0
_SHORT = 6.0 * INCH
"""Framing that ends this near the line, a hip rafter, is no reason to number lower."""


def build_section(detail: Detail, project: Project) -> Drawing:
    """Draw the section of a detail, cut square to its line at its middle, on one sheet.

    Parameters
    ----------
    detail : Detail
        Of the project; thicknesses as it was built with.
    project : Project
        Gives units, title and cautions.

    Returns
    -------
    Drawing
        The length of every dimension times the scale is the detail's own; no two texts
        overlap and no two leaders cross.
    """
    units = units_of(project)
    cuts = [cut_detail(detail, _SHOWN[0])]
    for shown in _SHOWN[1:]:
        less = cut_detail(detail, shown)
        if (less.reach, less.measures) != (cuts[-1].reach, cuts[-1].measures):
            cuts.append(less)
    unseen = uncut_layers(detail, cuts[0])
    framed = any(piece.kind is PieceKind.FRAMING for piece, _, _ in cuts[0].parts)
    lines = (
        "Cut square to the line, at the middle of the detail.",
        thickness_line(detail, units) + ("" if framed else " Rafters left out."),
    )
    return fit_sheet(
        [Sketch(extent=_extent(cut), draw=partial(_draw, detail, cut, units)) for cut in cuts],
        (
            *legend_of(detail, unseen, "Not cut here"),
            *notes_of(detail, project),
        ),
        heading_of(detail, project, f"Section through {line_words(detail)}", lines),
        units,
        _WANTED[units],
    )


def _extent(cut: Cut) -> tuple[float, float]:
    left, low, right, high = shapely.total_bounds([part for _, _, part in cut.parts])
    return float(right - left), float(high - low)


def _draw(detail: Detail, cut: Cut, units: Units, factor: float) -> tuple[Mark, ...]:
    """Draw a cut at a scale, in millimetres about the line."""
    size = 1000.0 / factor
    pieces = _areas(detail, cut, size)
    outlines = [shape for mark in pieces for shape in covers_of(mark)]
    breaks = _break_lines(detail, cut, size)
    taken = [*outlines, *(shape for mark in breaks for shape in covers_of(mark))]
    wishes = [_wish(detail, measure, size) for measure in cut.measures]
    lengths = set_lengths(wishes, taken, TEXT)
    taken += [shape for mark in lengths for shape in covers_of(mark)]
    numbers = _numbers(detail, cut, size, outlines, taken[len(outlines) :])
    taken += [shape for mark in numbers for shape in covers_of(mark)]
    # A length that a number cannot be led around is left to the legend.
    leaders = [shapely.LineString(mark.leader) for mark in numbers if mark.leader]
    lengths = tuple(
        mark for mark in lengths if not any(text_box(mark.text).intersects(run) for run in leaders)
    )
    slopes: list[Mark] = []
    for face, words in zip(Face, detail.faces, strict=True):
        if words.slope is None or not _shows(detail, face, words.slope):
            continue
        if face is Face.FAR and words.name == detail.faces[0].name:
            continue
        at = (-0.5 if face is Face.NEAR else 0.5) * cut.reach[0 if face is Face.NEAR else 1]
        (x, y), *_ = on_face(detail, face, np.array([at]), np.array([0.0])) * size
        into = detail.frame.near if face is Face.NEAR else detail.frame.far
        rise = _upright(detail, into) * _level(detail, into) > 0.0
        slopes += set_slope(words.slope, units, TEXT, (float(x), float(y)), taken, rise_right=rise)
    return (*pieces, *breaks, *lengths, *numbers, *slopes)


def _level(detail: Detail, into: tuple[float, float, float]) -> float:
    return sum(a * b for a, b in zip(into, detail.frame.level, strict=True))


def _upright(detail: Detail, into: tuple[float, float, float]) -> float:
    return sum(a * b for a, b in zip(into, detail.frame.upright, strict=True))


def _shows(detail: Detail, face: Face, slope: float) -> bool:
    """Whether the section shows a plane's pitch: not where it cuts it askew."""
    into = detail.frame.near if face is Face.NEAR else detail.frame.far
    level, upright = abs(_level(detail, into)), abs(_upright(detail, into))
    return abs(upright - slope * level) <= _ASKEW * slope * level


def _areas(detail: Detail, cut: Cut, size: float) -> tuple[Area, ...]:
    """Hatch each part of each piece as its face lies; outline each piece whole."""
    hatches = choose_hatches(detail)
    turns = {face: _turn(detail, face) for face in Face}
    made = []
    whole: dict[str, list[shapely.Geometry]] = {}
    for piece, _, part in cut.parts:
        whole.setdefault(piece.id, []).append(part)
    done = set()
    for piece, _, _ in cut.parts:
        if piece.id in done:
            continue
        done.add(piece.id)
        name = f"layer-{piece.layer:02d}"
        parts = [(face, part) for one, face, part in cut.parts if one is piece]
        hatch = hatches.get((piece.layer, piece.kind))
        if hatch is not None:
            for face, part in parts:
                turn = turns[_lain(piece, face)]
                made.append(Area(layer=name, rings=_rings(part, size), hatch=hatch, turn_deg=turn))
        pen = _BEHIND if hatch is None else Stroke(width=hatch.rim)
        whole_piece = shapely.union_all(whole[piece.id], grid_size=DEFAULT.cut_grid)
        made += [
            Area(layer=name, rings=_rings(outline, size), stroke=pen)
            for outline in shapely.get_parts(whole_piece)
            if outline.geom_type == "Polygon"
        ]
    return tuple(made)


def _lain(piece: Piece, face: Face) -> Face:
    """Return the face on which a part of a piece lies: not one that it barely reaches over."""
    if face is Face.NEAR:
        return Face.NEAR if piece.reach[0] < -INCH / 2.0 else Face.FAR
    return Face.FAR if piece.reach[1] > INCH / 2.0 else Face.NEAR


def _rings(part: shapely.Geometry, size: float) -> tuple[tuple[Point, ...], ...]:
    return tuple(
        tuple((float(x) * size, float(y) * size) for x, y in shapely.get_coordinates(ring)[:-1])
        for ring in (part.exterior, *part.interiors)
    )


def _turn(detail: Detail, face: Face) -> float:
    """Degrees by which a face leans in the section."""
    (ax, ay), (bx, by) = on_face(detail, face, np.array([0.0, 1.0]), np.zeros(2))
    return math.degrees(math.atan2(by - ay, bx - ax))


def _break_lines(detail: Detail, cut: Cut, size: float) -> tuple[Line, ...]:
    """Mark where roof that goes on is left off: a long line with a zigzag."""
    made = []
    for face, at in ((Face.NEAR, -cut.reach[0]), (Face.FAR, cut.reach[1])):
        if face is Face.FAR and _drops(detail):
            continue
        heights = _heights(detail, cut, face, at)
        if not heights:
            continue
        low, high = min(heights) - 1.5 / size, max(heights) + 1.5 / size
        middle, zig = (low + high) / 2.0, 0.9 / size
        run = np.array((0.0, 0.0, 1.6, -1.6, 0.0, 0.0)) * 0.7 / size + at
        rise = np.array(
            (low, middle - zig, middle - 0.4 * zig, middle + 0.4 * zig, middle + zig, high)
        )
        points = on_face(detail, face, run, rise) * size
        made.append(
            Line(
                layer="breaks", points=tuple((float(x), float(y)) for x, y in points), stroke=_BREAK
            )
        )
    return tuple(made)


def _drops(detail: Detail) -> bool:
    """Whether the far face is a board that ends below, so that nothing is left off there."""
    return detail.faces[1].slope is None and detail.convex


def _heights(detail: Detail, cut: Cut, face: Face, at: float) -> list[float]:
    """From where to where things are cut off at an end, metres off the deck."""
    found = []
    inward = at * (1.0 - INCH / 100.0)
    for _, side, part in cut.parts:
        if side is face:
            line = shapely.LineString(
                on_face(detail, face, np.array([inward] * 2), np.array([-1.0, 1.0]))
            )
            found += [
                _height(detail, face, inward, p)
                for p in shapely.get_coordinates(shapely.intersection(line, part))
            ]
    return found


def _height(detail: Detail, face: Face, at: float, point: Floats) -> float:
    foot, up = on_face(detail, face, np.array([at, at]), np.array([0.0, 1.0]))
    return float((point - foot) @ (up - foot))


def _wish(detail: Detail, measure: Measure, size: float) -> Wish:
    """Say where a length may stand: off the face it lies on, or if need be behind that."""
    frame = detail.frame
    a, b = frame.section(np.array(measure.ends)) * size
    feet = ((float(a[0]), float(a[1])), (float(b[0]), float(b[1])))
    if not lies(measure):
        away = 3.0
        ways: tuple[tuple[Point, float], ...] = (((1.0, 0.0), away), ((-1.0, 0.0), away))
        return Wish(id=measure.id, text=measure.text, feet=feet, value=measure.value, ways=ways)
    first, last = measure.reach
    face = Face.NEAR if first + last < 0.0 else Face.FAR
    out = _square(feet, _normal(detail, face))
    return Wish(
        id=measure.id,
        text=measure.text,
        feet=feet,
        value=measure.value,
        ways=((out, 3.5), ((-out[0], -out[1]), 3.5)),
        # Not into the rafters, where they are drawn.
        turned=12.0 if None in {words.slope for words in detail.faces} else 40.0,
    )


def _square(feet: tuple[Point, Point], wanted: Point) -> Point:
    """Return the unit vector square to a length that goes most nearly the way wanted."""
    (ax, ay), (bx, by) = feet
    size = math.dist(*feet)
    out = ((ay - by) / size, (bx - ax) / size)
    side = out[0] * wanted[0] + out[1] * wanted[1]
    # What lies along the way wanted, a length past an edge, is told from above.
    turn = side if abs(side) > _ASKEW else out[1]
    return out if turn >= 0.0 else (-out[0], -out[1])


def _normal(detail: Detail, face: Face) -> Point:
    foot, up = on_face(detail, face, np.zeros(2), np.array([0.0, 1.0]))
    return float(up[0] - foot[0]), float(up[1] - foot[1])


def _numbers(
    detail: Detail,
    cut: Cut,
    size: float,
    outlines: Sequence[shapely.Geometry],
    taken: Sequence[shapely.Geometry],
) -> tuple[Callout, ...]:
    """Set the numbers of what is cut: in a row under each face, or behind the wall."""
    anchors: dict[int, list[Point]] = {}
    for face in Face:
        for number, spots in _anchors(detail, cut, face, size).items():
            anchors.setdefault(number, []).extend(spots)
    for piece, _, part in cut.parts:
        if piece.layer not in anchors and piece.kind is not PieceKind.FRAMING:
            # Too narrow to be met a millimetre apart.
            spot = shapely.point_on_surface(part)
            anchors[piece.layer] = [(float(spot.x) * size, float(spot.y) * size)]
    slots = list(_slots(detail, cut, Face.NEAR, size))
    slots += [] if _drops(detail) else _slots(detail, cut, Face.FAR, size)
    pieces = shapely.STRtree(list(outlines))
    slots = [
        slot
        for slot in sorted(slots, key=lambda slot: slot.at[0])
        if not len(pieces.query(shapely.Point(slot.at), predicate="dwithin", distance=RADIUS + 0.8))
    ]
    return set_numbers(slots, anchors, taken)


def _anchors(detail: Detail, cut: Cut, face: Face, size: float) -> dict[int, list[Point]]:
    """Return for each layer the middles of what is cut of it over a face, a millimetre apart."""
    end = cut.reach[0 if face is Face.NEAR else 1]
    sign = -1.0 if face is Face.NEAR else 1.0
    found: dict[int, list[Point]] = {}
    for step in np.arange(1.5 / size, end - 1.5 / size, _FINE / size):
        at = sign * float(step)
        line = shapely.LineString(on_face(detail, face, np.array([at, at]), np.array([-0.4, 0.6])))
        tops: dict[int, Point] = {}
        for piece, side, part in cut.parts:
            if side is not face or piece.kind is PieceKind.FRAMING:
                continue
            met = shapely.intersection(line, part)
            if met.length > 0.0:
                spot = max(shapely.get_parts(met), key=lambda one: one.length).interpolate(
                    0.5, normalized=True
                )
                tops[piece.layer] = (float(spot.x) * size, float(spot.y) * size)
        for number, spot in tops.items():
            found.setdefault(number, []).append(spot)
    return found


def _slots(detail: Detail, cut: Cut, face: Face, size: float) -> Iterator[Slot]:
    """Yield places for discs in two rows under a face, clear of the other face's."""
    depth = _depth(detail, cut, face)
    sign = -1.0 if face is Face.NEAR else 1.0
    turn = min(detail.frame.turn, math.pi / 2.0) / 2.0
    last = cut.reach[0 if face is Face.NEAR else 1] - RADIUS / size
    if face is Face.FAR and detail.faces[1].slope is None:
        # Beside the top of a wall is room.
        last += 2.0 * _PITCH / size
    (ax, ay), (bx, by) = on_face(detail, face, np.array([0.0, 1.0]), np.zeros(2))
    # Leaders of the second row go between the discs of the first.
    for row in range(2):
        off = depth + (_ROW_OFF + RADIUS + row * _PITCH) / size
        first = (RADIUS + 1.0 + row * _PITCH / 2.0) / size
        if _drops(detail):
            first += depth
        elif detail.convex:
            first += off * math.tan(turn)
        places = sign * np.arange(first, last, _PITCH / size)
        for x, y in on_face(detail, face, places, np.full(len(places), -off)) * size:
            yield Slot(at=(float(x), float(y)), along=(float(bx - ax), float(by - ay)))


def _depth(detail: Detail, cut: Cut, face: Face) -> float:
    """How far what is drawn reaches under a face, metres."""
    foot, into = on_face(
        detail, face, np.array([0.0, -1.0 if face is Face.NEAR else 1.0]), np.zeros(2)
    )
    deepest = 0.0
    flat = detail.frame.turn < DEFAULT.parallel
    for piece, side, part in cut.parts:
        if flat and piece.kind in {PieceKind.UNIT, PieceKind.WALL}:
            continue  # a pipe; numbers stand beside it
        for point in shapely.get_coordinates(part):
            beside = float((point - foot) @ (into - foot))
            if side is face if piece.kind is not PieceKind.FRAMING else beside > _SHORT:
                deepest = max(deepest, -_height(detail, face, 0.0, point))
    return deepest
