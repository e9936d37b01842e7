"""Lay the layout's own sheets and shingles beside a line: each piece where it lies, in order."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence

import numpy as np
import shapely

from roof3d.details.frame import Floats
from roof3d.details.model import INCH, PieceKind
from roof3d.details.valleys.slopes import LaidPiece, Slope
from roof3d.details.valleys.through import run_through
from roof3d.layout.model import LaidLayer

_GAP = 0.125 * INCH
"""Drawn between neighbouring shingles."""
_CRUMB = 4.0 * INCH**2
"""Corners of shingles smaller than this, which the cut-out takes in, are left out, m2."""
_THIN = 0.45
"""Thickness of a shingle at its head, as a share of that at its butt."""


def lay_laid_sheets(
    slope: Slope, number: int, role: str, keep: shapely.Polygon | None = None
) -> bool:
    """Lay the sheets of a plane as the layout has them; returns whether any is in the cut-out.

    Parameters
    ----------
    slope : Slope
    number : int
        Of the layer.
    role : str
    keep : shapely.Polygon or None
        What is left of them; None where they run over the line.
    """
    layer, work = slope.layer(role), slope.work
    if layer is None:
        return False
    made = work.catalog.material(layer.material)
    count = 0
    for piece in slope.pieces(role):
        outline = piece.trimmed if keep is None else _largest(piece.trimmed, keep)
        name = f"{role.replace(' ', '_')}_{slope.face}.{count + 1}"
        title = f"{made.name}, {slope.laid.plane.id}, {count + 1}"
        face = None if keep is None else slope.face
        kind = PieceKind.SHEET
        if outline is not None and work.patch(
            name, title, kind, number, made.id, face, [outline], slope.up
        ):
            count += 1
    return count > 0


def lay_laid_shingles(
    slope: Slope,
    number: int,
    keep: shapely.Polygon,
    *,
    clip: float = 0.0,
    nail_clear: float = 0.0,
) -> None:
    """Lay the shingles of a plane course by course, each nailed before the next.

    Parameters
    ----------
    slope : Slope
    number : int
        Of the layer.
    keep : shapely.Polygon
        What is left of them.
    clip : float
        Legs of the corner taken off the upper tip of what is cut, metres; 0 for none.
    nail_clear : float
        Nails nearer the line than this are left out, metres.
    """
    rows = _courses(slope)
    outlines = [
        [
            left
            for piece in pieces
            if (cut := _cut(slope, piece, keep, clip)) is not None
            and (left := _largest(cut, _narrowed(slope, piece.whole))) is not None
        ]
        for pieces in rows
    ]
    _lay_outlines(slope, number, [pieces[0].course for pieces in rows], outlines, nail_clear)


def lay_through_shingles(
    slope: Slope, number: int, *, joint_clear: float, nail_clear: float
) -> None:
    """Lay the shingles of the plane that runs through a valley onto the other one.

    Parameters
    ----------
    slope : Slope
    number : int
        Of the layer.
    joint_clear, nail_clear : float
        Joints and nails nearer the crease than this are moved back, or left out; metres.
    """
    rows = _courses(slope)
    outlines = run_through(slope, rows, joint_clear)
    _lay_outlines(slope, number, [pieces[0].course for pieces in rows], outlines, nail_clear)


def _courses(slope: Slope) -> list[list[LaidPiece]]:
    pieces = slope.pieces("shingles")
    return [list(row) for _, row in itertools.groupby(pieces, lambda piece: piece.course)]


def _lay_outlines(
    slope: Slope,
    number: int,
    courses: Sequence[int],
    outlines: Sequence[Sequence[shapely.Polygon]],
    nail_clear: float,
) -> None:
    work, layer = slope.work, slope.layer("shingles")
    if layer is None:
        return
    made = work.catalog.material(layer.material)
    nails = _nails_of(slope, layer, nail_clear)
    (start, end), (_, near, far) = work.span, work.size
    window = shapely.box(start, -near, end, far)
    for course, row in zip(courses, outlines, strict=True):
        drawn = []
        for place, outline in enumerate(row, start=1):
            if shapely.intersection(outline, window).area < _CRUMB:
                continue
            s = slope.sign * shapely.get_coordinates(outline)[:, 1]
            bends = bool(s.min() < -work.tol.merge)
            if work.patch(
                f"shingles_{slope.face}.{course}_{place}",
                f"{made.name}, {slope.laid.plane.id}, course {course}",
                PieceKind.SHINGLE,
                number,
                made.id,
                None if bends else slope.face,
                [outline],
                slope.up,
                taper=(1.0, 1.0) if bends else (1.0, _THIN),
            ):
                drawn.append(outline)
        _set_nails(slope, number, layer, course, drawn, nails)


def exposure_at(slope: Slope, number: int) -> None:
    """Note the exposure between the two courses nearest the middle of the face."""
    layer, work = slope.layer("shingles"), slope.work
    if layer is None:
        return
    made = work.catalog.material(layer.material)
    butts = np.array([course.low for course in layer.courses])
    reach = work.size[1] if slope.sign < 0.0 else work.size[2]
    middle = np.array((0.0, slope.sign * 0.65 * reach))
    up = np.array(slope.up)
    start = float(slope.flat(np.zeros((1, 2)))[0] @ up)
    at = float(middle @ up) - start
    low = float(butts[np.argmin(np.abs(butts + made.exposure / 2.0 - at))])
    a = middle + (low - at) * up
    b = a + made.exposure * up
    work.measure_between(
        f"exposure_{slope.face}",
        number,
        (float(a[0]), float(a[1])),
        (float(b[0]), float(b[1])),
        f"{work.text(made.exposure)} exposed",
        made.source_of("exposure"),
    )


def _cut(
    slope: Slope, piece: LaidPiece, keep: shapely.Polygon, clip: float
) -> shapely.Polygon | None:
    left = _largest(piece.trimmed, keep)
    if left is None or clip <= 0.0:
        return left
    ahead = (np.array(slope.up) + np.array(slope.toward)) / math.sqrt(2.0)
    points = shapely.get_coordinates(left)
    tip = points[int(np.argmax(points @ ahead))]
    if keep.exterior.distance(shapely.Point(tip)) > slope.work.tol.sliver:
        return left
    side = np.array((-ahead[1], ahead[0]))
    at = tip - clip / math.sqrt(2.0) * ahead
    ring = [at - side, at + side, at + side + ahead, at - side + ahead]
    return _largest(left, shapely.difference(left, shapely.Polygon(ring)))


def _narrowed(slope: Slope, whole: shapely.Polygon) -> shapely.Polygon:
    """Return a whole shingle less half a gap at either end."""
    level = np.array(slope.toward)
    along = shapely.get_coordinates(whole) @ level
    low, high = along.min(), along.max()
    half = _GAP / 2.0

    def moved(points: Floats) -> Floats:
        at = points @ level
        inner = np.clip(at, low + half, high - half)
        found: Floats = points + (inner - at)[:, None] * level
        return found

    return shapely.transform(whole, moved)


def _nails_of(slope: Slope, layer: LaidLayer, clear: float) -> tuple[Floats, Floats]:
    """Return places of nails in (u, s) off the line, and the course that each is in."""
    rule = slope.site.layers(slope.laid.plane.id)["shingles"].nailing
    if rule is None or not len(layer.nails):
        return np.empty((0, 2)), np.empty(0)
    made = slope.work.catalog.material(layer.material)
    low = layer.courses[0].low
    course = 1 + np.rint((layer.nails[:, 1] - rule.line - low) / made.exposure)
    flat = slope.flat(layer.nails)
    head = slope.work.catalog.material(layer.fastener).width
    inside = slope.holds(flat, layer.fastener) & (slope.sign * flat[:, 1] >= max(clear, head))
    return flat[inside], course[inside]


def _set_nails(
    slope: Slope,
    number: int,
    layer: LaidLayer,
    course: int,
    drawn: Sequence[shapely.Polygon],
    nails: tuple[Floats, Floats],
) -> None:
    head = slope.work.catalog.material(layer.fastener or "roofing-nail").width
    cover = shapely.buffer(shapely.MultiPolygon(drawn), -head / 2.0)
    places = [
        (u, s)
        for u, s in nails[0][nails[1] == course].tolist()
        if cover.covers(shapely.Point(u, s))
    ]
    title = f"Nails of course {course}"
    slope.work.nails(f"shingles_{slope.face}.{course}_nails", title, number, layer.fastener, places)


def _largest(one: shapely.Geometry, other: shapely.Geometry) -> shapely.Polygon | None:
    """Return the largest part that two outlines share; None where that is nothing."""
    shared = shapely.intersection(one, other)
    parts = [part for part in shapely.get_parts(shared) if part.geom_type == "Polygon"]
    best = max(parts, key=lambda part: part.area, default=None)
    return best if best is not None and best.area > INCH**2 else None
