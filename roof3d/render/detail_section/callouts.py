"""Numbers of the layers on a section: placed as on paper, in the pixels of an area."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely

from roof3d.details.frame import Floats
from roof3d.details.model import Detail
from roof3d.drawing.detail.breaks import break_lines
from roof3d.drawing.detail.cut import Cut
from roof3d.drawing.detail.numbers import number_cut
from roof3d.drawing.marks.numbers import RADIUS
from roof3d.render.detail_ink.markers import Marker
from roof3d.render.detail_section.fit import Fit
from roof3d.render.sheet import Pixel


class Paper:
    """From pixels of a fitted section to the millimetres in which drawings set their marks.

    A disc of a number is as large there as on paper.
    """

    def __init__(self, fit: Fit, radius: float) -> None:
        self.fit = fit
        self.pixels = radius / RADIUS
        self.size = fit.scale / self.pixels
        """Millimetres a metre of the section."""

    def on_sheet(self, points: Sequence[Pixel]) -> Floats:
        """Return pixels (k, 2) of points in millimetres."""
        return self.fit(np.array(points) / self.size)

    def on_paper(self, shape: shapely.Geometry) -> shapely.Geometry:
        """Return in millimetres a shape that is given in pixels."""
        return shapely.transform(shape, lambda points: self.fit.back(points) * self.size)


def set_callouts(
    detail: Detail,
    cut: Cut,
    paper: Paper,
    pieces: Sequence[shapely.Geometry],
    taken: Sequence[shapely.Geometry],
    thin: Sequence[shapely.Geometry],
) -> tuple[Marker, ...]:
    """Set one number a layer that the section shows.

    Parameters
    ----------
    detail : Detail
    cut : Cut
        Of the same detail.
    paper : Paper
    pieces : sequence of shapely geometries
        What is drawn of them, pixels.
    taken : sequence of shapely geometries
        What neither discs nor leaders may meet, pixels.
    thin : sequence of shapely geometries
        Extension lines, pixels.
    """
    found = number_cut(
        detail,
        cut,
        paper.size,
        [paper.on_paper(shape) for shape in pieces],
        [paper.on_paper(shape) for shape in taken],
        [paper.on_paper(shape) for shape in thin],
    )
    made = []
    for callout in found:
        centre, anchor = paper.on_sheet((callout.centre, callout.anchor)).tolist()
        made.append(
            Marker(
                number=int(callout.number),
                centre=(centre[0], centre[1]),
                anchor=(anchor[0], anchor[1]),
                radius=callout.radius * paper.pixels,
            )
        )
    return tuple(made)


def set_breaks(detail: Detail, cut: Cut, paper: Paper) -> tuple[Floats, ...]:
    """Return the lines that mark where roof or wall goes on, pixels."""
    return tuple(paper.on_sheet(line) for line in break_lines(detail, cut, paper.size))
