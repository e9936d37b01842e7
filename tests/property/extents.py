"""Extents to lay sheets on, on a coarse grid so that ties are common, and rules to lay by."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely
from hypothesis import strategies as st
from shapely import affinity

from roof3d.layout.model import Direction, LaidLayer
from roof3d.layout.rows import courses_of, start_side
from roof3d.layout.runs import SheetRun, lay_sheets

if TYPE_CHECKING:
    from hypothesis.strategies import DrawFn

    from roof3d.layout.model import Course

INCH = 0.0254
FOOT = 12.0 * INCH
SHAPES = ("rectangle", "trapezoid", "triangle", "ell", "holes", "turned", "sliver")

feet = st.integers(3, 60).map(lambda value: value * FOOT)


@st.composite
def extents(draw: DrawFn, shapes: tuple[str, ...] = SHAPES) -> shapely.Polygon:
    """Draw an extent whose corners lie on whole or half feet, unless it is turned."""
    shape = draw(st.sampled_from(shapes))
    long, high = draw(feet), draw(feet)
    cut, rise = (draw(st.integers(1, 5)) / 6.0 for _ in range(2))
    match shape:
        case "rectangle":
            extent = shapely.box(0.0, 0.0, long, high)
        case "trapezoid":
            left = cut * long / 2.0
            extent = shapely.Polygon([(0, 0), (long, 0), (long - rise * left, high), (left, high)])
        case "triangle":
            extent = shapely.Polygon([(0, 0), (long, 0), (cut * long, high)])
        case "ell":
            corner = (cut * long, rise * high)
            extent = shapely.Polygon(
                [(0, 0), (long, 0), (long, corner[1]), corner, (corner[0], high), (0, high)]
            )
        case "holes":
            hole = shapely.box(0.4 * long, 0.1 * high, 0.6 * long, rise * high + 0.12 * high)
            pipe = shapely.Point(cut * long, 0.93 * high).buffer(0.05 * min(long, high), 8)
            extent = shapely.box(0.0, 0.0, long, high) - hole - pipe
        case "turned":
            turn = draw(st.sampled_from((1.0, 17.0, 45.0, 89.0)))
            extent = affinity.rotate(shapely.box(0.0, 0.0, long, high), turn, origin=(0, 0))
        case "sliver":
            thin = draw(st.sampled_from((1e-3, 0.01, 0.1)))
            extent = shapely.Polygon([(0, 0), (long, 0), (long, thin), (0, thin * cut)])
        case _:
            raise ValueError(shape)
    return affinity.translate(extent, -draw(st.sampled_from((0.0, 2.0))) * INCH)


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetRule:
    """How the sheets of one layer are laid; metres."""

    width: float = 39.375 * INCH
    side_lap: float = 4.0 * INCH
    first: float = 39.375 * INCH
    length: float = 10.0
    end_lap: float = 6.0 * INCH
    stagger: float = 36.0 * INCH
    end_offset: float = 36.0 * INCH
    shortest: float = 48.0 * INCH
    direction: Direction = Direction.ACROSS
    starter: bool = False


@st.composite
def sheet_rules(draw: DrawFn) -> SheetRule:
    """Draw sizes of the trade and some at their limits."""
    width = draw(st.sampled_from((36.0, 39.375))) * INCH
    starter = draw(st.sampled_from((False, False, True)))
    share = draw(st.sampled_from((0.5, 2.0 / 3.0, 1.0)))
    return SheetRule(
        width=width,
        side_lap=(21.0 if starter else draw(st.sampled_from((2.0, 4.0)))) * INCH,
        first=share * width,
        length=draw(st.sampled_from((4.0, 10.0, 20.0, 40.0 * FOOT))),
        end_lap=draw(st.sampled_from((4.0, 6.0))) * INCH,
        stagger=draw(st.sampled_from((0.0, 36.0, 72.0))) * INCH,
        end_offset=draw(st.sampled_from((0.0, 36.0))) * INCH,
        shortest=draw(st.sampled_from((0.0, 48.0))) * INCH,
        direction=draw(st.sampled_from(tuple(Direction))),
        starter=starter,
    )


def lay(
    extent: shapely.Geometry, rule: SheetRule, *, below: LaidLayer | None = None
) -> tuple[tuple[Course, ...], SheetRun]:
    """Set courses and sheets out as a roofer would, from the side that the extent tells."""
    across = rule.direction is Direction.ACROSS
    side = start_side(extent)
    low, high = extent.bounds[1::2] if across else extent.bounds[::2]
    courses = courses_of(
        low,
        high,
        width=rule.width,
        lap=rule.side_lap,
        first=rule.first,
        starter=rule.starter,
        from_high=side and not across,
    )
    return courses, lay_sheets(
        extent,
        courses,
        direction=rule.direction,
        length=rule.length,
        end_lap=rule.end_lap,
        stagger=rule.stagger,
        end_offset=rule.end_offset,
        shortest=rule.shortest,
        below=below,
        from_high=side and across,
    )


def as_layer(
    extent: shapely.Geometry, rule: SheetRule, courses: tuple[Course, ...], run: SheetRun
) -> LaidLayer:
    """Return what was laid as a layer for the next one to lie on."""
    return LaidLayer(
        id="plane/ply",
        plane="plane",
        role="ply",
        material="ply",
        number=1,
        direction=rule.direction,
        extent=extent,
        width=rule.width,
        length=rule.length,
        side_lap=rule.side_lap,
        end_lap=rule.end_lap,
        courses=courses,
        pieces=run.pieces,
        nails=np.empty((0, 2)),
        fastener="",
        least_side_offset=math.inf,
        least_end_offset=run.least_end_offset,
        least_stagger=run.least_stagger,
    )


def ends_by_course(
    run: SheetRun, direction: Direction
) -> dict[int, list[tuple[float, float, float]]]:
    """Return (place, low, high) of the end laps of each course, by looking at each pair.

    The place is where the sheet laid later begins: written apart from the package.
    """
    axis = 0 if direction is Direction.ACROSS else 1
    result: dict[int, list[tuple[float, float, float]]] = {}
    pieces = run.pieces
    for k in range(1, len(pieces)):
        if pieces.course[k] != pieces.course[k - 1]:
            continue
        one, two = pieces.boxes[k - 1], pieces.boxes[k]
        ahead = two[axis] > one[axis]
        lap = one[axis + 2] - two[axis] if ahead else two[axis + 2] - one[axis]
        if lap > 0.0:
            place = two[axis] if ahead else two[axis + 2]
            band = (float(two[1 - axis]), float(two[3 - axis]))
            result.setdefault(int(pieces.course[k]), []).append((float(place), *band))
    return result


def least_stagger_of(run: SheetRun, direction: Direction) -> float:
    """Return the smallest distance of end laps in neighbouring courses, by brute force."""
    ends = ends_by_course(run, direction)
    return min(
        (
            abs(one[0] - two[0])
            for number, own in ends.items()
            for one in own
            for two in ends.get(number + 1, [])
        ),
        default=math.inf,
    )


def least_end_offset_of(run: SheetRun, lower: SheetRun, direction: Direction) -> float:
    """Return the smallest distance of end laps of two layers where they overlap, likewise."""
    upper_ends = [end for ends in ends_by_course(run, direction).values() for end in ends]
    lower_ends = [end for ends in ends_by_course(lower, direction).values() for end in ends]
    return min(
        (
            abs(one[0] - two[0])
            for one in upper_ends
            for two in lower_ends
            if min(one[2], two[2]) - max(one[1], two[1]) > 1e-4
        ),
        default=math.inf,
    )
