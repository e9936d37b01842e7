"""One building outline: rings cleaned and wound, or why it cannot be used."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, TypeAlias

from roof3d.readers.flat import flattened
from roof3d.tolerance import DEFAULT, Tolerance

Point: TypeAlias = tuple[float, float]

MOST_CORNERS: Final = 20_000
DEGREES: Final = "longitude and latitude"
_LARGEST_BUILDING: Final = 10_000.0
_FARTHEST: Final = 1e7
_LONGEST_WORDS: Final = 120


@dataclass(frozen=True, slots=True, kw_only=True)
class BuildingOutline:
    """One polygon of a file.

    Attributes
    ----------
    id : str
        The feature's own, else its number in the file, from 1; parts of a feature have
        ``-1``, ``-2`` appended.
    name : str
        May be empty.
    rings : tuple of rings of (x, y)
        Metres, not closed: the exterior counterclockwise, then holes clockwise. Without a
        ring, ``problems`` says why.
    crs : str
        What the file says of its coordinates; may be empty.
    origin : (float, float) or None
        Longitude and latitude, degrees, at which degrees were laid flat.
    repairs : tuple of str
        What was put right in reading.
    problems : tuple of str
        Why it cannot be roofed as it is.
    """

    id: str
    name: str
    rings: tuple[tuple[Point, ...], ...]
    crs: str
    origin: Point | None
    repairs: tuple[str, ...]
    problems: tuple[str, ...]

    @property
    def corners(self) -> int:
        """Number of corners, those of holes too."""
        return sum(len(ring) for ring in self.rings)

    @property
    def plan_area(self) -> float:
        """Area inside, holes taken out, square metres."""
        return sum(_signed_area(ring) for ring in self.rings)


def is_place(point: object) -> bool:
    """Whether two numbers come first that can be a place; a height after them is passed over."""
    if not isinstance(point, list) or len(point) < 2:
        return False
    return all(
        isinstance(value, int | float) and not isinstance(value, bool) and abs(value) <= _FARTHEST
        for value in point[:2]
    )


def building_outline(
    name: str,
    words: str,
    coordinates: object,
    crs: str,
    *,
    degrees: bool,
    tol: Tolerance = DEFAULT,
) -> BuildingOutline:
    """Make an outline of the coordinates of one polygon.

    Parameters
    ----------
    name, words, crs : str
        Its id, its name, and what the file says of its coordinates.
    coordinates : object
        As they stand in the file: rings of positions, if all is well.
    degrees : bool
        Whether they are longitude and latitude, to be laid flat.
    tol : Tolerance
    """
    repairs: list[str] = []
    rings, problem = _raw_rings(coordinates)
    origin = None
    if rings and degrees:
        rings, origin = flattened(rings)
    if rings and not problem:
        rings = [_cleaned(ring, k, repairs, tol) for k, ring in enumerate(rings)]
        problem = _problem(rings, degrees=degrees)
    return BuildingOutline(
        id=name,
        name=words,
        rings=() if problem else tuple(tuple(ring) for ring in rings),
        crs=crs or (DEGREES if degrees else ""),
        origin=origin,
        repairs=tuple(repairs),
        problems=(problem,) if problem else (),
    )


def _raw_rings(coordinates: object) -> tuple[list[list[Point]], str]:
    """Return rings as written, or what is wrong with them."""
    if not isinstance(coordinates, list) or not coordinates:
        return [], "has no coordinates"
    rings: list[list[Point]] = []
    for number, ring in enumerate(coordinates):
        if not isinstance(ring, list):
            return [], f"{_which(number)} is no list of positions"
        for place, point in enumerate(ring):
            if not is_place(point):
                return [], (
                    f"{_which(number)}, position {place}: {printable(point)} is no place: two "
                    f"numbers up to {_FARTHEST:,.0f} are needed"
                )
        rings.append([(float(point[0]), float(point[1])) for point in ring])
    if sum(len(ring) for ring in rings) > MOST_CORNERS:
        return [], f"has more than {MOST_CORNERS:,} corners"
    return rings, ""


def _cleaned(ring: list[Point], number: int, repairs: list[str], tol: Tolerance) -> list[Point]:
    """Open a ring, drop repeated corners, wind it right; tell what was not as it should be."""
    closed = len(ring) > 1 and math.dist(ring[0], ring[-1]) <= tol.merge
    corners = ring[:-1] if closed else ring
    if not closed:
        repairs.append(f"{_which(number)} was not closed")
    kept: list[Point] = []
    for corner in corners:
        if not kept or math.dist(kept[-1], corner) > tol.merge:
            kept.append(corner)
    while len(kept) > 1 and math.dist(kept[-1], kept[0]) <= tol.merge:
        kept.pop()
    if len(kept) < len(corners):
        repairs.append(f"{_which(number)}: repeated corners dropped, {len(corners) - len(kept)}")
    if kept and (_signed_area(kept) > 0.0) == (number > 0):
        kept = [kept[0], *kept[:0:-1]]
        repairs.append(f"{_which(number)} ran the wrong way round")
    return kept


def _problem(rings: Sequence[Sequence[Point]], *, degrees: bool) -> str:
    """Return what keeps clean rings from being walls, if anything."""
    import shapely

    for number, ring in enumerate(rings):
        if len(ring) < 3 or not shapely.MultiPoint(ring).convex_hull.area:
            return f"{_which(number)} encloses nothing"
    span = max(max(values) - min(values) for values in zip(*rings[0], strict=True))
    if span > _LARGEST_BUILDING:
        hint = ' as longitude and latitude; name a plane "crs" for metres' if degrees else ""
        return f"is {span / 1000.0:,.0f} km from end to end{hint}"
    x0, y0 = rings[0][0]
    local = [[(x - x0, y - y0) for x, y in ring] for ring in rings]
    shape = shapely.Polygon(local[0], local[1:])
    if shape.is_valid:
        return ""
    reason = str(shapely.is_valid_reason(shape))
    found = re.fullmatch(r"(.*)\[(\S+) (\S+)\]", reason)
    if not found:
        return reason.lower()
    what, x, y = found[1].lower(), float(found[2]) + x0, float(found[3]) + y0
    return f"crosses or touches itself: {what} near ({x:.2f}, {y:.2f}) m"


def _signed_area(ring: Sequence[Point]) -> float:
    x0, y0 = ring[0]
    return math.fsum(
        ((ax - x0) * (by - y0) - (bx - x0) * (ay - y0)) / 2.0
        for (ax, ay), (bx, by) in zip(ring, [*ring[1:], ring[0]], strict=True)
    )


def _which(ring: int) -> str:
    return f"hole {ring}" if ring else "exterior"


def printable(value: object) -> str:
    """Return a value of the file on one printable line that is not a page long."""
    text = value if isinstance(value, str) else repr(value)
    clean = "".join(letter if letter.isprintable() else "?" for letter in text[:_LONGEST_WORDS])
    return clean.strip()
