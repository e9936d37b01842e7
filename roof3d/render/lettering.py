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
        across, down = other.centre[0] - self.centre[0], other.centre[1] - self.centre[1]
        wide, high = self.width + other.width, self.height + other.height
        if self.turn_deg == other.turn_deg == 0.0:
            return 2.0 * abs(across) < wide and 2.0 * abs(down) < high
        cos, sin = _turned(self.turn_deg)
        along, off = abs(across * cos + down * sin), abs(down * cos - across * sin)
        if self.turn_deg == other.turn_deg:
            return 2.0 * along < wide and 2.0 * off < high
        # Along the sides of either; how far the other reaches along them.
        cos_too, sin_too = _turned(other.turn_deg)
        flat, steep = abs(cos * cos_too + sin * sin_too), abs(cos * sin_too - sin * cos_too)
        width, height = self.width, self.height
        return (
            2.0 * along < width + flat * other.width + steep * other.height
            and 2.0 * off < height + steep * other.width + flat * other.height
            and 2.0 * abs(across * cos_too + down * sin_too)
            < other.width + flat * width + steep * height
            and 2.0 * abs(down * cos_too - across * sin_too)
            < other.height + steep * width + flat * height
        )

    def hit_by(self, start: Pixel, end: Pixel) -> bool:
        """Whether a straight line runs through the box."""
        reach = math.hypot(self.width, self.height) / 2
        (x, y), (ax, ay), (bx, by) = self.centre, start, end
        if (x <= ax - reach and x <= bx - reach) or (x >= ax + reach and x >= bx + reach):
            return False
        if (y <= ay - reach and y <= by - reach) or (y >= ay + reach and y >= by + reach):
            return False
        low, high = 0.0, 1.0
        cos, sin = _turned(self.turn_deg)
        step = (bx - ax, by - ay)
        away = (ax - x, ay - y)
        for (across, down), size in (((cos, sin), self.width), ((-sin, cos), self.height)):
            speed = step[0] * across + step[1] * down
            place = away[0] * across + away[1] * down
            if speed == 0.0:
                if abs(place) >= size / 2:
                    return False
                continue
            first, last = (-size / 2 - place) / speed, (size / 2 - place) / speed
            if speed < 0.0:
                first, last = last, first
            low, high = max(low, first), min(high, last)
            if low >= high:
                return False
        return True


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
    if len(one) == len(two) == 2:
        return _cross(*one, *two)
    return any(_cross(a, b, c, d) for a, b in pairwise(one) for c, d in pairwise(two))


def _cross(a: Pixel, b: Pixel, c: Pixel, d: Pixel) -> bool:
    (ax, ay), (bx, by), (cx, cy), (dx, dy) = a, b, c, d
    x, y = bx - ax, by - ay
    if (x * (cy - ay) - y * (cx - ax)) * (x * (dy - ay) - y * (dx - ax)) >= 0.0:
        return False
    x, y = dx - cx, dy - cy
    return (x * (ay - cy) - y * (ax - cx)) * (x * (by - cy) - y * (bx - cx)) < 0.0


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
