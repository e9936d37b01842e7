"""What a reader of a sheet of a detail would stumble over, counted: zero of each is the bar."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import astuple, dataclass
from itertools import combinations

from roof3d.render.detail_ink.dimension import DrawnDimension
from roof3d.render.detail_ink.markers import Marker
from roof3d.render.explode_picture import DetailPicture
from roof3d.render.lettering import Box, segments_cross
from roof3d.render.sheet import Pixel

Line = tuple[Pixel, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Faults:
    """Counts on one sheet.

    Attributes
    ----------
    texts : int
        Pairs of texts or numbers that overlap.
    struck : int
        Texts and numbers that a leader or a dimension line of another runs through.
    crossed : int
        Pairs of leaders, or of a leader and a dimension line, that cross.
    cut_off : int
        Corners of texts and numbers, and ends of leaders, off the sheet.
    on_panel : int
        Texts and numbers that lie across the rim of the panel.
    """

    texts: int
    struck: int
    crossed: int
    cut_off: int
    on_panel: int

    @property
    def total(self) -> int:
        """All of them."""
        return sum(astuple(self))


def count_faults(found: DetailPicture) -> Faults:
    """Count the faults of a sheet."""
    marks = marks_of(found)
    lines = [(k, line) for k, (_, own) in enumerate(marks) for line in own]
    boxes = [box for box, _ in marks]
    width, height = found.size
    ends = [corner for box in boxes for corner in box.corners]
    ends += [point for _, line in lines for point in line]
    rim = found.plan.panel
    return Faults(
        texts=sum(one.overlaps(other) for one, other in combinations(boxes, 2)),
        struck=sum(
            any(box.hit_by(*line) for k, line in lines if k != own) for own, box in enumerate(boxes)
        ),
        crossed=sum(
            segments_cross(one, other) for (j, one), (k, other) in combinations(lines, 2) if j != k
        ),
        cut_off=sum(not (0.0 <= x <= width and 0.0 <= y <= height) for x, y in ends),
        on_panel=0 if rim is None else sum(_straddles(box, rim) for box in boxes),
    )


def marks_of(found: DetailPicture) -> list[tuple[Box, Sequence[Line]]]:
    """Every text and number of a sheet, each with its own lines."""
    marks: list[tuple[Box, Sequence[Line]]] = [(box, ()) for box in found.words]
    if found.figure is not None:
        marks += [(tag.box, ()) for tag in found.figure.tags]
        marks += [(d.box, _lines_of(d)) for d in found.figure.dimensions]
        marks += [_numbered(marker) for marker in found.figure.markers]
    if found.section is not None:
        marks += [(d.box, _lines_of(d)) for d in found.section.dimensions]
        marks += [_numbered(marker) for marker in found.section.callouts]
        marks += [(box, ()) for _, _, row in found.section.triangles for box in row]
    return marks


def _lines_of(drawn: DrawnDimension) -> list[Line]:
    """A dimension's line and leader; what lengthens it to its foot is thin, and may cross."""
    return [line for line in (drawn.ends, drawn.leader) if line]


def _numbered(marker: Marker) -> tuple[Box, list[Line]]:
    return marker.box, [marker.leader] if marker.leader else []


def _straddles(box: Box, rim: tuple[float, float, float, float]) -> bool:
    left, top, right, bottom = rim
    inside = [left <= x <= right and top <= y <= bottom for x, y in box.corners]
    return any(inside) and not all(inside)
