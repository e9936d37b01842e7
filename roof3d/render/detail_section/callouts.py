"""Numbers of the layers on a section: below the deck, with a leader up into the layer.

At a drop the far face is short: its numbers stand outside it.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

import numpy as np
import shapely

from roof3d.details.frame import Face, Floats
from roof3d.details.model import INCH, Detail, PieceKind
from roof3d.render.detail_ink.markers import Marker
from roof3d.render.lettering import spread
from roof3d.render.sheet import Pixel

Cut = Mapping[int, Sequence[shapely.Geometry]]
_CLEAR = 5.0 * INCH
"""Nearest to the break that a disc stands, along the deck."""
_END = 1.0 * INCH
_DROP, _SHORT = 0.9, 16.0 * INCH
"""Radians by which the faces bend at a drop, and how short the far one then is."""
_OUTSIDE = 3.2 * INCH
_TRIES = 24


def set_callouts(
    detail: Detail,
    cut: Cut,
    reach: tuple[float, float],
    pixel: Callable[[Floats], Pixel],
    scale: float,
    radius: float,
) -> tuple[Marker, ...]:
    """Set one number a layer that the section shows.

    Parameters
    ----------
    cut : mapping of int to shapely geometries
        What the section shows of each layer, metres.
    reach : tuple[float, float]
        How much of the low and of the steep plane is shown, metres.
    pixel : function
        From section coordinates (2,) to the sheet.
    scale : float
        Pixels per metre of the section.
    radius : float
        Of a disc, pixels.
    """
    places = _wanted(detail, cut, reach)
    low = {n: s for n, s in places.items() if s <= 0.0}
    steep = {n: s for n, s in places.items() if s > 0.0}
    step = 2.9 * radius / scale
    depth = 3.6 * radius / scale
    found: dict[int, Marker] = {}
    drops = detail.convex and detail.frame.turn > _DROP and reach[1] < _SHORT
    off = _OUTSIDE + 2.4 * radius / scale if drops else -depth
    sides = (
        (low, -reach[0] + _END / 2.0, -_CLEAR, -depth),
        (steep, radius / scale if drops else _CLEAR, reach[1] - _END / 2.0, off),
    )
    for wanted, first, last, height in sides:
        order = sorted(wanted, key=lambda n: (wanted[n], n))
        apart = spread([wanted[n] for n in order], [step] * len(order), first, last)
        for number, place in zip(order, apart, strict=True):
            anchor = _anchor(detail, cut[number], wanted[number], reach)
            centre = _at(detail, place, height)
            found[number] = Marker(
                number=number, centre=pixel(centre), anchor=pixel(anchor), radius=radius
            )
    return tuple(found[number] for number in sorted(found))


def _wanted(detail: Detail, cut: Cut, reach: tuple[float, float]) -> dict[int, float]:
    """Where along the profile each layer is pointed at: on the plane that it belongs to."""
    intervals = {}
    for layer in detail.layers:
        pieces = [
            p
            for p in detail.pieces
            if p.layer == layer.number and p.kind not in {PieceKind.FRAMING, PieceKind.FASTENER}
        ]
        if not pieces or layer.number not in cut:
            continue
        first = max(-reach[0] + _END, min(p.reach[0] for p in pieces))
        last = min(reach[1] - _END, max(p.reach[1] for p in pieces))
        if last - first > _END:
            intervals[layer.number] = (first, last)
    # What runs far over the low plane is pointed at there, one after another.
    wide = [n for n, (a, b) in intervals.items() if a < -0.5 * reach[0]]
    wanted = {n: -reach[0] * (0.9 - 0.62 * k / max(1, len(wide) - 1)) for k, n in enumerate(wide)}
    for number, (first, last) in intervals.items():
        if number not in wanted:
            narrow = last <= 0.0 or first >= 0.0
            middle = (first + last) / 2.0 if narrow else 0.72 * last
            wanted[number] = middle
    return wanted


def _anchor(
    detail: Detail, shapes: Sequence[shapely.Geometry], place: float, reach: tuple[float, float]
) -> Floats:
    """Find a place inside a layer: where it is wanted, else the nearest where it is cut."""
    steps = np.linspace(-reach[0] + _END, reach[1] - _END, _TRIES)
    for at in (place, *sorted(steps.tolist(), key=lambda step: abs(step - place))):
        found = _inside(detail, shapes, at)
        if found is not None:
            return found
    middle = shapely.point_on_surface(max(shapes, key=shapely.area))
    return np.array([middle.x, middle.y])


def _at(detail: Detail, place: float, height: float) -> Floats:
    """Return a point off the deck in section coordinates; not at the break itself."""
    frame = detail.frame
    face = Face.NEAR if place < 0.0 else Face.FAR
    points = frame.on_face(face, np.zeros(1), np.array([place]), np.array([height]))
    found: Floats = frame.section(points)[0]
    return found


def _inside(detail: Detail, shapes: Sequence[shapely.Geometry], place: float) -> Floats | None:
    """Find the middle of what a layer fills over a place of the deck; None where it ends."""
    line = shapely.LineString([_at(detail, place, -6.0 * INCH), _at(detail, place, 10.0 * INCH)])
    cuts = [shapely.intersection(line, shape) for shape in shapes]
    cuts = [cut for cut in cuts if not cut.is_empty and cut.length > INCH / 10.0]
    if not cuts:
        return None
    # The topmost piece: what is laid last there.
    run = max(shapely.get_parts(cuts[-1]), key=shapely.length)
    middle = run.interpolate(0.5, normalized=True)
    return np.array([middle.x, middle.y])
