"""The section of a detail as a sheet: cut pieces hatched, numbered, measured, with their slopes."""

from __future__ import annotations

import math
from functools import partial

import numpy as np
import shapely

from roof3d.details.frame import Face
from roof3d.details.model import INCH, Detail, Measure, Piece, PieceKind
from roof3d.drawing.detail.breaks import break_lines
from roof3d.drawing.detail.cut import (
    Cut,
    choose_measures,
    cut_detail,
    lies,
    on_face,
    uncut_layers,
)
from roof3d.drawing.detail.entries import (
    heading_of,
    legend_of,
    line_words,
    notes_of,
    thickness_line,
    units_of,
)
from roof3d.drawing.detail.numbers import number_cut
from roof3d.drawing.hatches import choose_hatches
from roof3d.drawing.marks.clear import covers_of, text_box
from roof3d.drawing.marks.lengths import Wish, set_lengths
from roof3d.drawing.marks.slopes import set_slope
from roof3d.drawing.model import Area, Drawing, Line, Mark, Point, Stroke
from roof3d.drawing.sheet.fit import TEXT, Sketch, fit_sheet
from roof3d.project import Project
from roof3d.tolerance import DEFAULT
from roof3d.units import Units

_WANTED = {Units.IMPERIAL: 8.0, Units.METRIC: 5.0}
_SHOWN = (60.0 * INCH, 40.0 * INCH, 32.0 * INCH, 26.0 * INCH, 20.0 * INCH)
"""How far from the line lengths are shown: all of them, or on small paper fewer."""
_CUT_PEN, _BEHIND, _BREAK = Stroke(width=0.3), Stroke(width=0.18), Stroke(width=0.18)
_ASKEW = 0.02


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
    cuts = [cut_detail(detail, choose_measures(detail, _SHOWN[0]))]
    for shown in _SHOWN[1:]:
        less = cut_detail(detail, choose_measures(detail, shown))
        if (less.reach, less.measures) != (cuts[-1].reach, cuts[-1].measures):
            cuts.append(less)
    unseen = uncut_layers(detail, cuts[0])
    framed = any(piece.kind is PieceKind.FRAMING for piece, _, _ in cuts[0].parts)
    lines = (
        "Cut square through the middle of the joint.",
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
    breaks = tuple(
        Line(layer="breaks", points=points, stroke=_BREAK)
        for points in break_lines(detail, cut, size)
    )
    taken = [*outlines, *(shape for mark in breaks for shape in covers_of(mark))]
    wishes = [_wish(detail, measure, size) for measure in cut.measures]
    lengths = set_lengths(wishes, taken, TEXT)
    thin = [shapely.LineString(line) for mark in lengths for line in mark.extensions]
    solid = [shape for mark in breaks for shape in covers_of(mark)]
    solid += [shape for mark in lengths for shape in (text_box(mark.text), covers_of(mark)[1])]
    numbers = number_cut(detail, cut, size, outlines, solid, thin)
    taken += [*solid, *thin]
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
