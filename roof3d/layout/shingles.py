"""Shingles course by course: one lattice of joints a plane, cut where the roof ends."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray

from roof3d.catalog.material import Material
from roof3d.errors import LayoutError
from roof3d.layout.model import Course, Floats, Integers, Pieces
from roof3d.layout.offsets import Kept, Shortfall
from roof3d.layout.trim import trim
from roof3d.tolerance import DEFAULT, Tolerance

_BLOCK: Final = 16384
"""Courses cut out of the extent at a time, so that memory stays bounded."""


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class ShingleRun:
    """Shingles of one plane.

    Attributes
    ----------
    courses : tuple[Course, ...]
    pieces : Pieces
    least_stagger : float
        Smallest distance of joints in neighbouring courses, metres; inf where none meet.
    shortfalls : tuple[Shortfall, ...]
        One where that is less than the material's ``stagger``: a run between openings may
        leave a joint no better place.
    """

    courses: tuple[Course, ...]
    pieces: Pieces
    least_stagger: float
    shortfalls: tuple[Shortfall, ...]


@dataclass(frozen=True, slots=True, eq=False)
class _Runs:
    """Stretches of the courses between ends of the roof, from the start side on.

    ``course`` counts from 0; ``left`` and ``right`` grow away from the start side.
    """

    course: Integers
    left: Floats
    right: Floats


@dataclass(frozen=True, slots=True)
class _Lattice:
    """Joints of course k stand at ``origin + m length - shift``, the shift one of a pattern."""

    origin: float
    length: float
    shifts: tuple[float, ...]
    stagger: float
    shortest: float

    def starts(self, course: Integers) -> Floats:
        """Return where the lattice of each course begins."""
        return self.origin - np.array(self.shifts)[course % len(self.shifts)]

    def joints(self, course: int, least: float, most: float) -> list[float]:
        """Return the joints of one course between two places."""
        start = self.origin - self.shifts[course % len(self.shifts)]
        first = math.ceil((least - start) / self.length)
        last = math.floor((most - start) / self.length)
        return [start + m * self.length for m in range(first, last + 1)]


def lay_shingles(
    extent: shapely.Geometry,
    *,
    low: float,
    material: Material,
    from_high: bool,
    spare: float = 0.0,
    tol: Tolerance = DEFAULT,
) -> ShingleRun:
    """Lay shingles over an extent, course over course from its low line up.

    Parameters
    ----------
    extent : shapely.Geometry
        Polygon or multipolygon in the plane's frame, not empty.
    low : float
        Lower edge of the first course, metres; at or below the extent's lowest point.
    material : Material
        A shingle: its ``width`` up the slope, ``length``, ``exposure``, ``course_offset``,
        ``stagger`` and ``shortest``.
    from_high : bool
        Whether each course starts at the side of greatest ``u``.
    spare : float
        A last course that would show no more than this is not laid, for what lies along the
        top covers it; metres, less than a shingle's head lap and exposure.
    tol : Tolerance

    Returns
    -------
    ShingleRun
        Course k reaches from ``low + k exposure`` up by the shingle's height; the last one
        shows what is left. Boxes keep the whole height; what a rake, hip, valley, opening
        or ridge takes off is trimmed.

    Raises
    ------
    LayoutError
        If the shingle has no height, length or exposure or is lower than its exposure, or
        if the extent is empty or reaches below ``low``.

    Notes
    -----
    Every course keeps the one lattice of joints, also beyond an opening. Only where it would
    leave an end piece narrower than ``shortest`` is the joint next to it moved, no further
    than the joints of the courses below and above allow, or left out where one shingle
    covers the whole stretch. Cost grows with the count of shingles; shapes are only made
    where the roof ends.
    """
    _check(extent, low, material, tol)
    top = float(extent.bounds[3])
    spare = min(spare, material.width - material.exposure)
    count = max(1, math.ceil((top - low - spare - tol.merge) / material.exposure))
    lows = low + np.arange(count, dtype=np.float64) * material.exposure
    runs = _find_runs(extent, lows, material.width, from_high=from_high, tol=tol)
    lattice = _set_lattice(extent, material, from_high=from_high)
    course, lefts, rights, joint = _set_joints(runs, lattice, tol)
    stagger = float(_distances_below(course[joint], lefts[joint]).min(initial=math.inf))
    short = Shortfall(kept=Kept.STAGGER, reached=stagger, wanted=material.stagger)
    if from_high:
        lefts, rights = -rights, -lefts
    boxes = np.column_stack([lefts, lows[course], rights, lows[course] + material.width])
    courses = tuple(
        Course(number=k + 1, low=float(v), high=float(v) + material.width)
        for k, v in enumerate(lows)
    )
    return ShingleRun(
        courses=courses,
        pieces=_trim_all(boxes, course, material.exposure, extent, tol),
        least_stagger=stagger,
        shortfalls=(short,) if stagger < material.stagger - tol.sliver else (),
    )


def _check(extent: shapely.Geometry, low: float, material: Material, tol: Tolerance) -> None:
    """Refuse what cannot be laid."""
    where = f"material[{material.id}]"
    sizes = {"width": material.width, "length": material.length, "exposure": material.exposure}
    for name, size in sizes.items():
        if not (0.0 < size < math.inf):
            raise LayoutError(
                f"a shingle's {name} must be above 0, not {size:g} m",
                where=f"{where}.{name}",
                hint="give the size of the whole shingle",
            )
    if material.width < material.exposure - tol.merge:
        raise LayoutError(
            f"shingles {material.width:g} m high leave gaps at {material.exposure:g} m exposure",
            where=f"{where}.exposure",
            hint="expose at most half of the height less the head lap",
        )
    if extent.is_empty:
        raise LayoutError("there is nothing to lay shingles on", hint="give an extent with area")
    if extent.bounds[1] < low - tol.merge:
        raise LayoutError(
            f"the roof reaches down to {extent.bounds[1]:g} m, below the first course at {low:g} m",
            hint="start the first course at the low line of the extent",
        )


def _set_lattice(extent: shapely.Geometry, material: Material, *, from_high: bool) -> _Lattice:
    """Return the joints' lattice: steps of the course offset as long as they keep the stagger."""
    length, step = material.length, material.course_offset
    count = 1
    if step > 0.0:
        count = max(1, math.floor((length - max(material.stagger, step / 2)) / step) + 1)
    return _Lattice(
        origin=-float(extent.bounds[2]) if from_high else float(extent.bounds[0]),
        length=length,
        shifts=tuple(k * step for k in range(count)),
        stagger=material.stagger,
        shortest=min(material.shortest, length / 2),
    )


def _find_runs(
    extent: shapely.Geometry, lows: Floats, height: float, *, from_high: bool, tol: Tolerance
) -> _Runs:
    """Return where each course has roof below it, over the shingles' whole height."""
    left, _, right, _ = extent.bounds
    found: list[tuple[int, float, float]] = []
    for first in range(0, len(lows), _BLOCK):
        block = lows[first : first + _BLOCK]
        bands = shapely.box(left - 1.0, block, right + 1.0, block + height)
        parts, course = shapely.get_parts(shapely.intersection(extent, bands), return_index=True)
        course = course[shapely.area(parts) > tol.area] + first
        bounds = shapely.bounds(parts[shapely.area(parts) > tol.area])
        ends = -bounds[:, [2, 0]] if from_high else bounds[:, [0, 2]]
        order = np.lexsort((ends[:, 0], course))
        for k, start, end in zip(course[order].tolist(), *ends[order].T.tolist(), strict=True):
            if found and found[-1][0] == k and start <= found[-1][2] + tol.merge:
                found[-1] = (k, found[-1][1], max(found[-1][2], end))
            else:
                found.append((k, start, end))
    columns = list(zip(*found, strict=True)) or [(), (), ()]
    return _Runs(
        np.array(columns[0], dtype=np.int64),
        np.array(columns[1], dtype=np.float64),
        np.array(columns[2], dtype=np.float64),
    )


def _set_joints(
    runs: _Runs, lattice: _Lattice, tol: Tolerance
) -> tuple[Integers, Floats, Floats, NDArray[np.bool_]]:
    """Return course and ends of every shingle, and which of them begin at a joint."""
    length = lattice.length
    starts = lattice.starts(runs.course)
    first = np.floor((runs.left + tol.merge - starts) / length) + 1
    last = np.ceil((runs.right - tol.merge - starts) / length) - 1
    count = np.maximum(last - first + 1, 0).astype(np.int64) + 1
    begin = np.concatenate([[0], np.cumsum(count)])
    place = np.arange(begin[-1]) - np.repeat(begin[:-1], count)
    base = np.repeat(starts + (first - 1) * length, count)
    lefts, rights = base + place * length, base + (place + 1) * length
    lefts[begin[:-1]], rights[begin[1:] - 1] = runs.left, runs.right
    course = np.repeat(runs.course, count)
    joint = place > 0
    kept = _widen_ends(runs, lattice, begin, lefts, rights, joint, tol)
    return course[kept], lefts[kept], rights[kept], joint[kept]


def _widen_ends(
    runs: _Runs,
    lattice: _Lattice,
    begin: Integers,
    lefts: Floats,
    rights: Floats,
    joint: NDArray[np.bool_],
    tol: Tolerance,
) -> NDArray[np.bool_]:
    """Move or leave out joints beside end pieces that are too narrow; return what stays.

    Courses are gone through from the low one up, so that each sees the joints below as they
    are and those above as they will be.
    """
    kept = np.ones(len(lefts), dtype=np.bool_)
    pieces = begin[1:] - begin[:-1]
    least = lattice.shortest - tol.merge
    narrow_first = rights[begin[:-1]] - runs.left < least
    narrow_last = runs.right - lefts[begin[1:] - 1] < least
    course_of_piece = np.repeat(runs.course, pieces)
    for run in np.flatnonzero((pieces > 1) & (narrow_first | narrow_last)):
        start, end, k = int(begin[run]), int(begin[run + 1]), int(runs.course[run])
        below = slice(*np.searchsorted(course_of_piece, [k - 1, k]).tolist())
        seconds = [start + 1] if narrow_first[run] else []
        if narrow_last[run] and end - 1 not in seconds:
            seconds.append(end - 1)
        if len(seconds) == 2 and end - start == 3:  # one whole shingle between two narrow ones
            kept[end - 1] = False
            rights[end - 2] = rights[end - 1]
            seconds.pop()
        for second in seconds:
            p, q = float(lefts[second - 1]), float(rights[second])
            near = lefts[below][joint[below] & kept[below]]
            near = near[(near > p - lattice.stagger) & (near < q + lattice.stagger)]
            above = lattice.joints(k + 1, p, q)
            at = _place_joint(p, q, float(lefts[second]), near.tolist(), above, lattice, tol)
            if at is None:
                kept[second] = False
                rights[second - 1] = q
            else:
                lefts[second] = rights[second - 1] = at
    return kept


def _place_joint(
    p: float,
    q: float,
    wish: float,
    below: list[float],
    above: list[float],
    lattice: _Lattice,
    tol: Tolerance,
) -> float | None:
    """Return where a joint between ``p`` and ``q`` stands, as near to ``wish`` as may be.

    None where one shingle reaches from ``p`` to ``q`` and no place keeps all distances.
    """
    shortest, length, stagger = lattice.shortest, lattice.length, lattice.stagger
    least, most = max(p + shortest, q - length), min(q - shortest, p + length)
    if least > most + tol.merge:
        return None
    most = max(least, most)
    known = [*below, *above]
    places = [min(max(wish, least), most), least, most]
    places += [x + sign * stagger for x in known for sign in (-1, 1)]
    places = [x for x in places if least <= x <= most]
    places.sort(key=lambda x: (abs(x - wish), x))
    for joints in (known, below):
        for x in places:
            if all(abs(x - other) >= stagger - tol.merge for other in joints):
                return x
        if q - p <= length + tol.merge:
            return None
    middles = [(x + y) / 2 for x, y in zip(sorted(below), sorted(below)[1:], strict=False)]
    places += [x for x in middles if least <= x <= most]
    return max(places, key=lambda x: min(abs(x - other) for other in below))


def _distances_below(course: Integers, at: Floats) -> Floats:
    """Return each joint's distance to the nearest of the course below, inf where none is."""
    distances = np.full(len(at), np.inf)
    if len(at) == 0:
        return distances
    pitch = float(at.max() - at.min()) + 1.0
    keys = course * pitch + (at - at.min())
    spot = np.searchsorted(keys, keys - pitch)
    for other in (spot - 1, spot):
        there = np.clip(other, 0, len(at) - 1)
        below = course[there] == course - 1
        distances = np.where(below, np.minimum(distances, np.abs(at[there] - at)), distances)
    return distances


def _trim_all(
    boxes: Floats, course: Integers, exposure: float, extent: shapely.Geometry, tol: Tolerance
) -> Pieces:
    """Trim the shingles to the extent and number them in the order of laying.

    Over a level foot, of an opening or a joint, a course may keep only a straight strip that
    the next one lies over all of: that is not laid. What is cut at a slant stays, head lap for
    the next course.
    """
    done = trim(boxes, extent, tol=tol)
    boxes, course = boxes[done.kept], course[done.kept] + 1
    seen = np.ones(len(course), dtype=np.bool_)
    last = int(course.max(initial=0))
    for index, shape in done.outlines.items():
        left, foot, right, head = shape.bounds
        straight = shape.area >= (right - left) * (head - foot) - tol.area
        hidden = foot >= boxes[index, 1] + exposure - tol.merge
        seen[index] = not (hidden and straight) or course[index] == last
    number = np.cumsum(seen) - 1
    course = course[seen]
    return Pieces(
        boxes=boxes[seen],
        course=course,
        place=np.arange(len(course)) - np.searchsorted(course, course) + 1,
        areas=done.areas[seen],
        trimmed={int(number[k]): shape for k, shape in done.outlines.items() if seen[k]},
    )
