"""Where words go: no overlap, no crossing leaders; both are counted, and zero is the bar."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import combinations, pairwise

from roof3d.render.sheet import Ink, Pixel, Sheet, text_width

LINE_PITCH = 1.28
"""Height of a line of text over its font size."""


@lru_cache(maxsize=1024)
def _turned(turn_deg: float) -> tuple[float, float]:
    """Cosine and sine of a turn on the paper, where y runs down."""
    angle = math.radians(-turn_deg)
    return math.cos(angle), math.sin(angle)


@dataclass(frozen=True, slots=True, kw_only=True)
class Box:
    """A rectangle of the sheet, pixels, y down; may be turned about its centre.

    Attributes
    ----------
    centre : Pixel
    width, height : float
    turn_deg : float
        Counterclockwise on the paper.
    """

    centre: Pixel
    width: float
    height: float
    turn_deg: float = 0.0

    @property
    def corners(self) -> tuple[Pixel, Pixel, Pixel, Pixel]:
        """Four corners in order."""
        x, y = self.centre
        cos, sin = _turned(self.turn_deg)
        ax, ay = 0.5 * cos * self.width, 0.5 * sin * self.width
        bx, by = -0.5 * sin * self.height, 0.5 * cos * self.height
        return (
            (x - ax - bx, y - ay - by),
            (x + ax - bx, y + ay - by),
            (x + ax + bx, y + ay + by),
            (x - ax + bx, y - ay + by),
        )

    def grown(self, by: float) -> Box:
        """Return the box with ``by`` pixels more on every side."""
        return Box(
            centre=self.centre,
            width=self.width + 2.0 * by,
            height=self.height + 2.0 * by,
            turn_deg=self.turn_deg,
        )

    def overlaps(self, other: Box) -> bool:
        """Whether two boxes share more than their rims."""
        across = abs(self.centre[0] - other.centre[0])
        down = abs(self.centre[1] - other.centre[1])
        if self.turn_deg == other.turn_deg == 0.0:
            wide, high = self.width + other.width, self.height + other.height
            return 2.0 * across < wide and 2.0 * down < high
        reach = math.hypot(self.width, self.height) + math.hypot(other.width, other.height)
        if 2.0 * math.hypot(across, down) >= reach:
            return False
        mine, theirs = self.corners, other.corners
        for ring in (mine, theirs):
            for a, b in pairwise(ring):
                along = (b[0] - a[0], b[1] - a[1])
                one = [p[0] * along[0] + p[1] * along[1] for p in mine]
                two = [p[0] * along[0] + p[1] * along[1] for p in theirs]
                if max(one) <= min(two) or max(two) <= min(one):
                    return False
        return True

    def hit_by(self, start: Pixel, end: Pixel) -> bool:
        """Whether a straight line runs through the box."""
        reach = math.hypot(self.width, self.height) / 2
        (x, y), (ax, ay), (bx, by) = self.centre, start, end
        if not (min(ax, bx) - reach < x < max(ax, bx) + reach):
            return False
        if not (min(ay, by) - reach < y < max(ay, by) + reach):
            return False
        low, high = 0.0, 1.0
        cos, sin = _turned(self.turn_deg)
        axes = ((cos, sin), (-sin, cos))
        step = (end[0] - start[0], end[1] - start[1])
        away = (start[0] - self.centre[0], start[1] - self.centre[1])
        for (ax, ay), size in zip(axes, (self.width, self.height), strict=True):
            speed, place = step[0] * ax + step[1] * ay, away[0] * ax + away[1] * ay
            if speed == 0.0:
                if abs(place) >= size / 2:
                    return False
                continue
            first, last = sorted(((-size / 2 - place) / speed, (size / 2 - place) / speed))
            low, high = max(low, first), min(high, last)
        return low < high


@dataclass(frozen=True, slots=True, kw_only=True)
class Words:
    """A label before it has a place.

    Attributes
    ----------
    subject : str
        What it names.
    anchor : Pixel
        The place named; its leader ends here.
    lines : tuple[str, ...]
        The first is the name, in bold.
    sizes : tuple[float, float]
        Font size of the name and of the notes, pixels.
    """

    subject: str
    anchor: Pixel
    lines: tuple[str, ...]
    sizes: tuple[float, float]

    @property
    def extent(self) -> tuple[float, float]:
        """Width and height of the set text, pixels."""
        name, note = self.sizes
        widths = [
            text_width(line, note if k else name, bold=not k) for k, line in enumerate(self.lines)
        ]
        return max(widths), LINE_PITCH * (name + note * (len(self.lines) - 1))


@dataclass(frozen=True, slots=True, kw_only=True)
class Placed:
    """A label with its place.

    Attributes
    ----------
    words : Words
    box : Box
        What the text covers.
    leader : tuple[Pixel, ...]
        Points from the text to the anchor; empty where the text stands on its subject.
    side : str
        ``left`` or ``right`` of the drawing (text is set toward the drawing), or ``center``.
    """

    words: Words
    box: Box
    leader: tuple[Pixel, ...] = ()
    side: str = "center"


def font_sizes(height: int) -> tuple[float, float, float, float]:
    """Return the sizes of title, heading, name and note for a picture's height, pixels.

    In proportion to the height at 1200 and above; smaller pictures keep letters that can
    be read, so they shrink less than the picture.
    """
    share = height / 1200.0
    if share < 1.0:
        share = max(0.45, share**0.72)
    return 34.0 * share, 21.0 * share, 18.0 * share, 15.0 * share


def spread(
    wanted: Sequence[float], heights: Sequence[float], low: float, high: float
) -> list[float]:
    """Place boxes in a column, in order, without overlap and with least squared movement.

    Parameters
    ----------
    wanted : sequence of float
        Middle that each box would like, pixels, in the order of the column.
    heights : sequence of float
        Height of each box with its gap.
    low, high : float
        Ends of the column. Boxes that are too many for it run past ``high``.

    Returns
    -------
    list of float
        Middles, top to bottom.

    References
    ----------
    Isotonic regression by pooling adjacent violators.
    """
    if not wanted:
        return []
    offsets = [0.0]
    for above, below in pairwise(heights):
        offsets.append(offsets[-1] + (above + below) / 2)
    pools: list[tuple[float, int]] = []
    for want, offset in zip(wanted, offsets, strict=True):
        mean, count = want - offset, 1
        while pools and pools[-1][0] > mean:
            before, number = pools.pop()
            mean = (mean * count + before * number) / (count + number)
            count += number
        pools.append((mean, count))
    top = low + heights[0] / 2
    bottom = high - heights[-1] / 2 - offsets[-1]
    starts = [max(top, min(bottom, mean)) for mean, count in pools for _ in range(count)]
    return [start + offset for start, offset in zip(starts, offsets, strict=True)]


def set_in_columns(
    labels: Sequence[Words],
    *,
    left: float,
    right: float,
    top: float,
    bottom: float,
    gap: float,
) -> tuple[Placed, ...]:
    """Set labels in a column at the left and one at the right, with straight leaders.

    Parameters
    ----------
    labels : sequence of Words
    left, right : float
        x of the inner ends of the text: the left column ends at ``left``, set flush
        right; the right column begins at ``right``.
    top, bottom : float
        Ends of the columns.
    gap : float
        Between labels, and between text and leader.

    Returns
    -------
    tuple of Placed
        In the order of ``labels``.
    """
    order = sorted(range(len(labels)), key=lambda k: (labels[k].anchor[0], k))
    heights = [label.extent[1] + gap for label in labels]
    cut, best = 0, math.inf
    middle = (left + right) / 2
    for split in range(len(order) + 1):
        # Near side for each label, but neither column fuller than it can hold.
        wrong = sum(
            abs(labels[k].anchor[0] - middle)
            for place, k in enumerate(order)
            if (place < split) != (labels[k].anchor[0] < middle)
        )
        fill = [sum(heights[k] for k in side) for side in (order[:split], order[split:])]
        cost = wrong + 10.0 * sum(max(0.0, f - (bottom - top)) for f in fill)
        if cost < best:
            cut, best = split, cost
    placed: dict[int, Placed] = {}
    for side, members, x in (("left", order[:cut], left), ("right", order[cut:], right)):
        placed.update(_column(labels, members, side, x, (top, bottom), gap))
    return tuple(placed[k] for k in range(len(labels)))


def _column(
    labels: Sequence[Words],
    members: Sequence[int],
    side: str,
    x: float,
    ends: tuple[float, float],
    gap: float,
) -> dict[int, Placed]:
    """Place one column; swap any two whose leaders cross until none do."""
    column = sorted(members, key=lambda k: (labels[k].anchor[1], k))
    sign = -1.0 if side == "left" else 1.0
    result: dict[int, Placed] = {}
    for _ in range(len(column) ** 2 + 1):
        extents = [labels[k].extent for k in column]
        heights = [extent[1] + gap for extent in extents]
        middles = spread([labels[k].anchor[1] for k in column], heights, *ends)
        for k, (width, height), y in zip(column, extents, middles, strict=True):
            box = Box(centre=(x + sign * width / 2, y), width=width, height=height)
            leader = ((x - sign * gap / 2, y), labels[k].anchor)
            result[k] = Placed(words=labels[k], box=box, leader=leader, side=side)
        crossed = [
            (i, j)
            for i, j in combinations(range(len(column)), 2)
            if segments_cross(result[column[i]].leader, result[column[j]].leader)
        ]
        if not crossed:
            break
        i, j = crossed[0]
        column[i], column[j] = column[j], column[i]
    return result


def segments_cross(one: Sequence[Pixel], two: Sequence[Pixel]) -> bool:
    """Whether two polylines cross anywhere."""
    return any(_cross(a, b, c, d) for a, b in pairwise(one) for c, d in pairwise(two))


def _cross(a: Pixel, b: Pixel, c: Pixel, d: Pixel) -> bool:
    def side(p: Pixel, q: Pixel, r: Pixel) -> float:
        return (q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0])

    return side(a, b, c) * side(a, b, d) < 0.0 and side(c, d, a) * side(c, d, b) < 0.0


def count_overlaps(placed: Iterable[Placed], others: Iterable[Box] = ()) -> int:
    """Count pairs of texts that overlap, with one another or with other boxes."""
    labels, fixed = [label.box for label in placed], list(others)
    return sum(a.overlaps(b) for a, b in combinations(labels, 2)) + sum(
        a.overlaps(b) for a in labels for b in fixed
    )


def count_crossings(placed: Iterable[Placed], others: Iterable[Box] = ()) -> int:
    """Count leaders that cross a leader, or run through the text of another label or box."""
    labels, fixed = list(placed), list(others)
    crossings = sum(
        segments_cross(a.leader, b.leader)
        for a, b in combinations(labels, 2)
        if a.leader and b.leader
    )
    through = 0
    for label in labels:
        walls = [other.box for other in labels if other is not label] + fixed
        runs = list(zip(label.leader[:-1], label.leader[1:], strict=True))
        through += sum(any(box.hit_by(*run) for run in runs) for box in walls)
    return crossings + through


def write_labels(
    sheet: Sheet,
    placed: Iterable[Placed],
    *,
    ink: Ink = "#20242A",
    note_ink: Ink = "#50565E",
    halo: Ink | None = "white",
    order: float = 8.0,
) -> None:
    """Ink placed labels: leaders with a halo and a dot at the anchor, then the words."""
    labels = list(placed)
    for label in labels:
        if not label.leader:
            continue
        weight = max(1.0, label.words.sizes[1] / 12.0)
        if halo is not None:
            sheet.lines([label.leader], width=3.0 * weight, ink=halo, alpha=0.85, order=order)
        sheet.lines([label.leader], width=weight, ink=ink, order=order + 0.1)
        sheet.disc(label.words.anchor, 2.4 * weight, fill=ink, order=order + 0.2)
    for label in labels:
        _write_words(sheet, label, (ink, note_ink), halo, order + 0.3)


def _write_words(
    sheet: Sheet, label: Placed, inks: tuple[Ink, Ink], halo: Ink | None, order: float
) -> None:
    """Write the lines of one label inside its box, flush toward the drawing."""
    box, (name, note) = label.box, label.words.sizes
    across = {"left": "right", "right": "left"}.get(label.side, "center")
    shift = {"left": box.width / 2, "right": -box.width / 2}.get(label.side, 0.0)
    angle = math.radians(-box.turn_deg)
    y = -box.height / 2
    for k, line in enumerate(label.words.lines):
        size = note if k else name
        y += LINE_PITCH * size / 2
        at = (
            box.centre[0] + shift * math.cos(angle) - y * math.sin(angle),
            box.centre[1] + shift * math.sin(angle) + y * math.cos(angle),
        )
        sheet.text(
            at,
            line,
            size=size,
            ink=inks[1] if k else inks[0],
            bold=not k,
            across=across,
            turn_deg=box.turn_deg,
            halo=halo,
            halo_width=max(1.5, size / 7.0),
            order=order,
        )
        y += LINE_PITCH * size / 2
