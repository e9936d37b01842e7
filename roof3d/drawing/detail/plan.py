"""The plan of a detail as a sheet: both faces laid flat, layers cut back, covered edges dashed."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from functools import partial

import numpy as np
import shapely

from roof3d.details.frame import Face
from roof3d.details.model import INCH, Detail, FaceWords, Measure
from roof3d.drawing.detail.cut import lies
from roof3d.drawing.detail.edges import COVERED, CRUMB, on_paper, yield_edges, yield_laps
from roof3d.drawing.detail.entries import (
    heading_of,
    legend_of,
    line_words,
    notes_of,
    units_of,
)
from roof3d.drawing.detail.spread import Spread, spread_detail, turned
from roof3d.drawing.hatches import choose_hatches
from roof3d.drawing.marks.arrows import lap_arrow, set_way
from roof3d.drawing.marks.clear import covers_of
from roof3d.drawing.marks.lengths import Wish, set_lengths
from roof3d.drawing.marks.numbers import RADIUS, Slot, set_numbers
from roof3d.drawing.model import Area, Callout, Dot, Drawing, Line, Mark, Point, Stroke
from roof3d.drawing.sheet.fit import TEXT, Sketch, fit_sheet
from roof3d.drawing.sheet.words import Entry
from roof3d.project import Project
from roof3d.tolerance import DEFAULT
from roof3d.units import Units, format_pitch

_WANTED = {Units.IMPERIAL: 12.0, Units.METRIC: 10.0}
_WIDENED = 1.7
"""How much farther apart the lines of hatches are than in a section."""
_CENTRE = Stroke(width=0.25, dash=(6.0, 1.0, 1.0, 1.0))
_PAST_LINE = 5.0
_NAIL = 0.4
_OFF, _PITCH = 7.0, 2.0 * RADIUS + 1.6
_EXACT = INCH / 50.0
_SIDE = 26.0
"""From the middle of an arrow up the slope to the plan."""


def build_plan(detail: Detail, project: Project) -> Drawing:
    """Draw the plan of a detail on one sheet: every piece at its true size, laid flat.

    Parameters
    ----------
    detail : Detail
        Of the project.
    project : Project
        Gives units, title and cautions.

    Returns
    -------
    Drawing
        Both faces in one plane, as they are measured on the deck; up the slope is up on the
        paper. The length of every dimension times the scale is the detail's own.
    """
    units = units_of(project)
    spread = spread_detail(detail)
    seen = {flat.piece.layer for flat in spread.flats if flat.seen.area > DEFAULT.area}
    unseen = [layer.number for layer in detail.layers if layer.number not in seen]
    folded = detail.frame.turn > DEFAULT.parallel
    lines = (
        f"Unfolded on the deck at {line_words(detail)}; lengths true on each face."
        if folded
        else "Seen square to the deck; lengths true.",
        "Layers cut back in steps at one end to show what each lies on.",
    )
    left, low, right, high = _bounds(spread)
    return fit_sheet(
        [Sketch(extent=(right - left, high - low), draw=partial(_draw, detail, spread, units))],
        (
            *legend_of(detail, unseen, "Covered here", widened=_WIDENED),
            *_key(detail, spread, folded=folded),
            *notes_of(detail, project),
        ),
        heading_of(detail, project, f"Plan at {line_words(detail)}", lines),
        units,
        _WANTED[units],
    )


def _key(detail: Detail, spread: Spread, *, folded: bool) -> Iterator[Entry]:
    """Say what the signs of the plan mean."""
    yield Entry(heading="Signs", opens=True)
    if folded:
        words = line_words(detail)
        yield Entry(words=f"Line of {words}", symbol=(_sample(_CENTRE),))
    yield Entry(words="Edge that is covered", symbol=(_sample(COVERED),))
    if spread.nails:
        signs = (_nail((-1.2, 0.0), seen=True), _nail((1.2, 0.0), seen=False))
        yield Entry(words="Nail in sight here; nail that is covered", symbol=signs)
    if any(True for _ in yield_laps(spread)):
        yield Entry(
            words="At a lap: from the upper piece over the lower",
            symbol=lap_arrow((0.0, 0.0), (1.0, 0.0)),
        )


def _sample(stroke: Stroke) -> Line:
    return Line(layer="legend", points=((-4.4, 0.0), (4.4, 0.0)), stroke=stroke)


def _nail(at: Point, *, seen: bool) -> Dot:
    return Dot(layer="nails", at=at, radius=_NAIL, filled=seen)


def _bounds(spread: Spread) -> tuple[float, float, float, float]:
    """Return what the plan reaches on the paper, metres: left, low, right, high."""
    shapes = [on_paper(flat.shape, spread.quarter, 1.0) for flat in spread.flats]
    left, low, right, high = shapely.total_bounds(shapes)
    return float(left), float(low), float(right), float(high)


def _draw(detail: Detail, spread: Spread, units: Units, factor: float) -> tuple[Mark, ...]:
    """Draw a spread at a scale, in millimetres about the middle of the line."""
    size = 1000.0 / factor
    figure = shapely.box(*(size * side for side in _bounds(spread)))
    areas = tuple(_areas(detail, spread, size))
    edges = tuple(yield_edges(spread, size))
    nails = tuple(_nail(_on_paper(at, spread, size), seen=seen) for at, seen in spread.nails)
    laps = tuple(mark for at, way in yield_laps(spread) for mark in _lap(at, way, spread, size))
    line = _line(detail, spread, size)
    wishes = [
        wish
        for measure in detail.measures
        if (wish := _wish(detail, spread, measure, size, figure))
    ]
    taken = [figure, *(shape for mark in line for shape in covers_of(mark))]
    lengths = set_lengths(_distinct(wishes), taken, TEXT)
    taken += [shape for mark in lengths for shape in covers_of(mark)]
    numbers = _numbers(detail, spread, size, figure, taken[1:])
    taken += [shape for mark in numbers for shape in covers_of(mark)]
    ways = [
        mark for words in _ways(detail, spread, units, figure) for mark in set_way(*words, taken)
    ]
    return (*areas, *edges, *line, *nails, *laps, *lengths, *numbers, *ways)


def _on_paper(at: Point, spread: Spread, size: float) -> Point:
    x, y = turned(at, spread.quarter)
    return x * size, y * size


def _areas(detail: Detail, spread: Spread, size: float) -> Iterator[Area]:
    hatches = choose_hatches(detail)
    for flat in spread.flats:
        hatch = hatches.get((flat.piece.layer, flat.piece.kind))
        if hatch is None:
            continue
        for part in shapely.get_parts(on_paper(flat.seen, spread.quarter, size)):
            if part.geom_type == "Polygon" and part.area > CRUMB / 10.0:
                yield Area(
                    layer=f"layer-{flat.piece.layer:02d}",
                    rings=_rings(part),
                    hatch=hatch.widened(_WIDENED),
                )


def _rings(part: shapely.Geometry) -> tuple[tuple[Point, ...], ...]:
    return tuple(
        tuple((float(x), float(y)) for x, y in shapely.get_coordinates(ring)[:-1])
        for ring in (part.exterior, *part.interiors)
    )


def _line(detail: Detail, spread: Spread, size: float) -> tuple[Line, ...]:
    """Return the line of the joint, a little past the plan at both ends."""
    if detail.frame.turn <= DEFAULT.parallel:
        return ()
    half = detail.size[0] / 2.0 + _PAST_LINE / size
    ends = tuple(_on_paper((u, 0.0), spread, size) for u in (-half, half))
    return (Line(layer="line", points=ends, stroke=_CENTRE),)


def _lap(at: Point, way: Point, spread: Spread, size: float) -> tuple[Mark, ...]:
    return lap_arrow(_on_paper(at, spread, size), turned(way, spread.quarter))


def _wish(
    detail: Detail, spread: Spread, measure: Measure, size: float, figure: shapely.Polygon
) -> Wish | None:
    """Say where a length may stand; None for one that does not lie along or across the plan."""
    flat = detail.frame.developed(np.array(measure.ends))[:, :2]
    if lies(measure):
        # Over the line itself a point off the deck would be told from it askew.
        flat[:, 1] = measure.reach
    du, ds = np.abs(flat[1] - flat[0])
    if abs(math.hypot(du, ds) - measure.value) > _EXACT or min(du, ds) > _EXACT:
        return None
    shapes = [f.shape for f in spread.flats if f.piece.layer == measure.layer]
    if not shapes:
        return None
    left, low, right, high = shapely.total_bounds(shapes)
    ends = [(float(u), float(s)) for u, s in flat]
    if du <= _EXACT:
        # Along the slope: beside the end at which nothing is cut back.
        u, out = (float(left), (-1.0, 0.0)) if spread.cut_right else (float(right), (1.0, 0.0))
        ends = [(u, s) for _, s in ends]
    else:
        below = sum(s for _, s in ends) < high + low
        s, out = (float(low), (0.0, -1.0)) if below else (float(high), (0.0, 1.0))
        ends = [(u, s) for u, _ in ends]
    one, two = (_on_paper(end, spread, size) for end in ends)
    way = turned(out, spread.quarter)
    return Wish(
        id=measure.id,
        text=measure.text,
        feet=(one, two),
        value=measure.value,
        ways=((way, _to_rim(one, way, figure) + 4.0),),
    )


def _to_rim(at: Point, way: Point, figure: shapely.Polygon) -> float:
    """How far it is from a place to the rim of the plan that way."""
    left, low, right, high = figure.bounds
    x, y = way
    if abs(x) > abs(y):
        return float(right - at[0] if x > 0.0 else at[0] - left)
    return float(high - at[1] if y > 0.0 else at[1] - low)


def _distinct(wishes: Sequence[Wish]) -> list[Wish]:
    """Leave out what says again what another does."""
    kept: dict[tuple[object, ...], Wish] = {}
    for wish in wishes:
        (ax, ay), (bx, by) = wish.feet
        across = abs(ax - bx) > abs(ay - by)
        ends = sorted((round(ax), round(bx)) if across else (round(ay), round(by)))
        kept.setdefault((across, *ends), wish)
    return list(kept.values())


def _numbers(
    detail: Detail,
    spread: Spread,
    size: float,
    figure: shapely.Polygon,
    taken: Sequence[shapely.Geometry],
) -> tuple[Callout, ...]:
    """Set the numbers of the layers at the end where they are cut back."""
    side = 1.0 if spread.cut_right else -1.0
    way = turned((side, 0.0), spread.quarter)
    left, low, right, high = figure.bounds
    upright = abs(way[0]) > abs(way[1])
    if upright:
        x = float(right + _OFF if way[0] > 0.0 else left - _OFF)
        ats = [(x, float(y)) for y in np.arange(low + RADIUS, high - RADIUS, _PITCH)]
    else:
        y = float(high + _OFF if way[1] > 0.0 else low - _OFF)
        ats = [(float(x), y) for x in np.arange(left + RADIUS, right - RADIUS, _PITCH)]
    slots = [Slot(at=at, along=(0.0, 1.0) if upright else (1.0, 0.0)) for at in ats]
    anchors: dict[int, list[Point]] = {}
    rows = np.arange(low + 1.0, high, 1.0) if upright else np.arange(left + 1.0, right, 1.0)
    for number in (layer.number for layer in detail.layers):
        seen = shapely.union_all([f.seen for f in spread.flats if f.piece.layer == number])
        whole = on_paper(seen, spread.quarter, size)
        shape = shapely.buffer(whole, -0.4)
        shapely.prepare(shape)
        for row in rows:
            far = 1.0e4
            ends = ((-far, row), (far, row)) if upright else ((row, -far), (row, far))
            met = shapely.intersection(shapely.LineString(ends), shape)
            spots = [_outer(run, way) for run in shapely.get_parts(met) if run.length > 0.0]
            if spots:
                best = max(spots, key=lambda at: at[0] * way[0] + at[1] * way[1])
                anchors.setdefault(number, []).append(best)
        if number not in anchors and seen.area > DEFAULT.area:
            # Too narrow to stand off its rim.
            spot = shapely.point_on_surface(whole)
            anchors[number] = [(float(spot.x), float(spot.y))]
    return set_numbers(slots, anchors, taken)


def _outer(run: shapely.Geometry, way: Point) -> Point:
    """Return a place on a run of line, a little inside its outer end."""
    ends = sorted(run.coords, key=lambda at: -(at[0] * way[0] + at[1] * way[1]))
    (ax, ay), (bx, by) = ends[0], ends[-1]
    share = min(0.5, 2.5 / run.length)
    return float(ax + share * (bx - ax)), float(ay + share * (by - ay))


def _ways(
    detail: Detail, spread: Spread, units: Units, figure: shapely.Polygon
) -> Iterator[tuple[float, tuple[str, ...], float, Point]]:
    """Yield for each face the way up it, its words, and where they are wanted."""
    left, low, right, high = figure.bounds
    named = set()
    for face, words in zip(Face, detail.faces, strict=True):
        name = words.name.split(",")[0]
        if words.flow is None or name in named:
            continue
        named.add(name)
        x, y = turned((-words.flow[0], -words.flow[1]), spread.quarter)
        s = -0.5 if face is Face.NEAR else 0.5
        at = turned((-1.0 if spread.cut_right else 1.0, s), spread.quarter)
        middle = ((left + right) / 2.0, (low + high) / 2.0)
        if abs(at[0]) > abs(at[1]):
            place = (
                left - _SIDE if at[0] < 0.0 else right + _SIDE,
                middle[1] + at[1] * (high - low) / 2.0,
            )
        else:
            place = (
                middle[0] + at[0] * (right - left) / 2.0,
                low - _SIDE if at[1] < 0.0 else high + _SIDE,
            )
        yield math.atan2(y, x), _way_words(words, name, units), TEXT, place


def _way_words(face: FaceWords, name: str, units: Units) -> tuple[str, ...]:
    if name in {"wall", "fascia", "barge board", "parapet"}:
        return (f"up the {name}",)
    if face.slope is None:
        return (name, "up the slope")
    if units is Units.METRIC:
        pitch = f"{round(math.degrees(math.atan(face.slope)), 1):g} deg"
    else:
        pitch = format_pitch(face.slope)
    return name, f"up the slope, {pitch}"
