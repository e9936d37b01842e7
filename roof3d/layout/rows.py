"""Courses from a low side to a high side, and the side that runs start from."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from typing import Final

import numpy as np
import shapely

from roof3d.catalog.laying import Border
from roof3d.errors import Finding, LayoutError, Severity
from roof3d.layout.joint import INCH, PRACTICE
from roof3d.layout.model import Course, Direction, Floats, LaidPlane
from roof3d.tolerance import DEFAULT, Tolerance
from roof3d.units import Units, format_length

MOST_COURSES: Final = 1_000_000
"""More than any roof has: a lap that leaves nearly no exposure is told, not laid."""

NARROW: Final = 12.0 * INCH
"""A course that shows less up a steep deck is a sliver there: common practice, no source."""


def courses_of(
    low: float,
    high: float,
    *,
    width: float,
    lap: float,
    first: float,
    starter: bool = False,
    from_high: bool = False,
    tol: Tolerance = DEFAULT,
) -> tuple[Course, ...]:
    """Return the courses that cover a plane from its low to its high side.

    Parameters
    ----------
    low, high : float
        Sides of the extent in the stacking direction, metres; ``high`` above ``low``.
    width, lap : float
        Of a sheet, and of one course over the one before, metres; ``0 <= lap < width``.
    first : float
        Width of the first course, metres, at most ``width``; more than ``lap`` where a
        second course follows.
    starter : bool
        Every point under two courses: a strip as wide as the lap, whatever ``first``, then
        whole sheets from the same low side until two of them reach ``high``. The lap is
        then at least half the width.
    from_high : bool
        Count from the greater side down, as a mirrored plane does whose courses stack
        along it.
    tol : Tolerance
        A last course thinner than its ``sliver`` is none: the one before gives that much
        of its lap.

    Returns
    -------
    tuple[Course, ...]
        No more than needed. Each laps the one before by ``lap``; the last may stand past
        the extent.

    Raises
    ------
    LayoutError
        A size that is no size, a lap not below the width, a first course not above the lap,
        or too many courses.

    References
    ----------
    Starter and half-lapped sheets: IBC 2018, 1507.1.1, exception 2.

    Examples
    --------
    >>> [(c.low, c.high) for c in courses_of(0, 60, width=36, lap=19, first=36, starter=True)]
    [(0.0, 19.0), (0.0, 36.0), (17.0, 53.0), (34.0, 70.0), (51.0, 87.0)]
    """
    first = lap if starter else first
    _check_sizes(low, high, width, lap, first, starter=starter, tol=tol)
    exposure = width - lap
    left = high - low - first - tol.sliver
    needed = 1 + max(0, math.ceil(left / exposure)) + starter
    if needed > MOST_COURSES:
        raise LayoutError(
            f"{needed} courses of {exposure:g} m exposure on {high - low:g} m",
            hint="a smaller lap, or a wider sheet",
        )
    if needed > 1 and not starter and first <= lap:
        raise LayoutError(
            f"the first course is {first:g} m wide, not more than its lap of {lap:g} m",
            hint="a wider first course",
        )
    heads = first + exposure * np.arange(needed, dtype=np.float64)
    feet = heads - width
    feet[0] = 0.0
    if not starter:
        crumb = max(0.0, high - low - float(heads[-1]))
        feet[-1] += crumb
        heads[-1] += crumb
    if from_high:
        lows, highs = high - heads, high - feet
    else:
        lows, highs = low + feet, low + heads
    return tuple(
        Course(number=number, low=start, high=end)
        for number, (start, end) in enumerate(zip(lows.tolist(), highs.tolist(), strict=True), 1)
    )


def tell_slivers(
    laid: Iterable[LaidPlane], *, units: Units, tol: Tolerance = DEFAULT
) -> Iterator[Finding]:
    """Find last courses of top sheets, up the steep deck past a break, that are slivers.

    Their laps are kept: the sheets lie as they must, but one that goes on through the break in
    place of the two is less to seal.
    """
    for plane in laid:
        if not plane.layers or not any(s.border is Border.JOINT_LOWER for s in plane.sides):
            continue
        top = plane.layers[-1]
        if top.end_lap <= 0.0 or len(top.courses) < 2 or top.direction is not Direction.ACROSS:
            continue
        shown = float(top.extent.bounds[3]) - top.courses[-1].low
        if tol.sliver < shown < NARROW - tol.snap:
            yield Finding(
                code="R3D-SLIVER-AT-BREAK",
                severity=Severity.NOTE,
                where=f"layers[{top.id}]",
                message=(
                    f"its last course, up the steep deck past the break, is "
                    f"{format_length(shown, units)} wide with "
                    f"{format_length(top.side_lap, units)} of lap, less than "
                    f"{format_length(NARROW, units)}: begin with a wider first course, or let the "
                    "sheet below go on to the head"
                ),
                source=PRACTICE,
            )


def _check_sizes(
    low: float,
    high: float,
    width: float,
    lap: float,
    first: float,
    *,
    starter: bool,
    tol: Tolerance,
) -> None:
    if not all(map(math.isfinite, (low, high, width, lap, first))):
        raise LayoutError(f"sizes must be numbers: {low}, {high}, {width}, {lap}, {first}")
    if high <= low:
        raise LayoutError(f"the high side at {high:g} m is not above the low side at {low:g} m")
    if width <= 0.0 or not 0.0 <= lap < width:
        raise LayoutError(
            f"a lap of {lap:g} m does not fit a sheet {width:g} m wide",
            hint="the lap is at least 0 and less than the width",
        )
    if not 0.0 < first <= width + tol.sliver:
        raise LayoutError(
            f"the first course is {first:g} m wide, the sheet {width:g} m",
            hint="more than 0, and no wider than the sheet",
        )
    if starter and lap < width - lap - tol.sliver:
        raise LayoutError(
            f"a lap of {lap:g} m is less than half of {width:g} m: it does not cover twice",
            hint="lap half the width or more",
        )


def start_side(extent: shapely.Geometry, *, tol: Tolerance = DEFAULT) -> bool:
    """Return whether laying starts at the greater u: a rule that flips with a mirrored roof.

    Sheets that run across the slope start their runs there; of sheets that run along it, the
    first course lies there.

    Parameters
    ----------
    extent : shapely.Geometry
        Polygon or multipolygon in the plane's frame; not changed.
    tol : Tolerance
        Profiles that differ by no more than its ``sliver`` are equal.

    Returns
    -------
    bool
        True where the profile seen from the right comes first: at the lowest scan line on
        which the two differ, the nearer outline. False where the extent is its own mirror.

    Notes
    -----
    Two scan lines between neighbouring heights of corners tell all there is to an outline.

    Examples
    --------
    >>> start_side(shapely.Polygon([(0, 0), (4, 0), (4, 3), (3, 3)]))
    True
    """
    if extent.is_empty:
        return False
    least_u, _, most_u, _ = extent.bounds
    levels = np.unique(shapely.get_coordinates(extent)[:, 1])
    lows, gaps = levels[:-1], np.diff(levels)
    real = gaps > tol.sliver
    heights = (lows[real, None] + gaps[real, None] * (1.0 / 3.0, 2.0 / 3.0)).ravel()
    ends = np.empty((len(heights), 2, 2))
    ends[:, 0, 0], ends[:, 1, 0], ends[:, :, 1] = least_u - 1.0, most_u + 1.0, heights[:, None]
    cuts, line = shapely.get_coordinates(
        shapely.intersection(extent, shapely.linestrings(ends)), return_index=True
    )
    left = _profile(cuts[:, 0] - least_u, line)
    right = _profile(most_u - cuts[:, 0], line)
    apart = np.flatnonzero(np.abs(left - right) > tol.sliver)
    return bool(len(apart) and right[apart[0]] < left[apart[0]])


def starts_far(shapes: Iterable[shapely.Geometry], *, tol: Tolerance = DEFAULT) -> bool:
    """Return ``start_side`` of the first shape that is not its own mirror.

    A plane may be its own mirror and yet end unlike on both sides: a rake here, a wall there.

    Parameters
    ----------
    shapes : iterable of shapely.Geometry
        In one plane's frame: its outline, then what else tells its sides apart.
    tol : Tolerance

    Returns
    -------
    bool
        False where all are their own mirrors.

    Examples
    --------
    >>> square = shapely.box(0, 0, 4, 4)
    >>> starts_far([square, shapely.Polygon([(0, 0), (4, 0), (4, 3), (3, 3)])])
    True
    """
    for shape in shapes:
        if start_side(shape, tol=tol):
            return True
        if start_side(shapely.transform(shape, lambda points: points * (-1.0, 1.0)), tol=tol):
            return False
    return False


def _profile(distances: Floats, line: np.ndarray[tuple[int], np.dtype[np.int64]]) -> Floats:
    """Return the distances sorted on each scan line, lowest line first."""
    order = np.lexsort((distances, line))
    return np.asarray(distances[order], dtype=np.float64)
