"""Where a strip that is asked for does not lie: edge by edge, metre by metre."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from roof3d.laps.laid.asked import AskedStrip, join_spans, middle_of, point_between
from roof3d.layout.model import LaidStrip
from roof3d.roof.model import Point3
from roof3d.tolerance import DEFAULT, Tolerance


@dataclass(frozen=True, slots=True, kw_only=True)
class Gap:
    """Where a strip does not lie: metres that are missing, and the middle of the first of them."""

    asked: AskedStrip
    missing: float
    at: Point3


@dataclass(frozen=True, slots=True, kw_only=True)
class ShortLap:
    """Where pieces of a strip lap each other too little: the least lap, how many, and where."""

    asked: AskedStrip
    reached: float
    wanted: float
    count: int
    at: Point3


def find_gaps(
    asked: Iterable[AskedStrip], strips: Sequence[LaidStrip], *, tol: Tolerance = DEFAULT
) -> Iterator[Gap]:
    """Give where strips do not lie that must.

    Parameters
    ----------
    asked : iterable of AskedStrip
    strips : sequence of LaidStrip
    tol : Tolerance
        Gaps of up to ``snap`` are none.
    """
    laid: dict[tuple[str, str], list[LaidStrip]] = defaultdict(list)
    for strip in strips:
        laid[(strip.edge, strip.rule)].append(strip)
    for one in asked:
        own = [s for s in laid[(one.edge, one.rule.id)] if set(s.planes) & set(one.planes)]
        if one.rule.joints_of:
            yield from _bare_joints(one, own, laid[(one.edge, one.rule.joints_of)])
        elif one.rule.each:
            if not any(len(strip.pieces) for strip in own):
                yield Gap(asked=one, missing=one.length, at=middle_of(one.places[0]))
        elif one.rim:
            yield from _missing_sides(one, own, tol)
        else:
            yield from _missing_spans(one, own, tol)


def find_short_laps(
    asked: Iterable[AskedStrip], strips: Sequence[LaidStrip], *, tol: Tolerance = DEFAULT
) -> Iterator[ShortLap]:
    """Give where pieces of a strip along an edge lie side by side with too little lap.

    Parameters
    ----------
    asked : iterable of AskedStrip
    strips : sequence of LaidStrip
        Their own ``lap`` is what is wanted; where pieces do not meet at all there is a gap.
    tol : Tolerance
        Laps that lack up to ``snap`` are none too short.
    """
    along = {(one.edge, one.rule.id): one for one in asked if not one.rim}
    for strip in strips:
        one = along.get((strip.edge, strip.rule))
        if one is None or strip.lap <= tol.snap:
            continue
        pieces = strip.pieces[strip.pieces[:, 0].argsort()]
        # One may reach past the next: a short edge is laid from both ends.
        laps = np.maximum.accumulate(pieces[:-1, 1]) - pieces[1:, 0]
        # A piece cut shorter than its lap, at the end of an edge, is lapped by all of it.
        wanted = np.minimum(strip.lap, pieces[1:, 1] - pieces[1:, 0])
        short = (laps >= -tol.snap) & (laps < wanted - tol.snap)
        if not short.any():
            continue
        worst = min(short.nonzero()[0].tolist(), key=lambda place: float(laps[place]))
        start = float(pieces[worst + 1, 0])
        (low, high), ends = min(
            zip(one.spans, one.places, strict=True),
            key=lambda run: max(run[0][0] - start, start - run[0][1], 0.0),
        )
        share = min(1.0, max(0.0, (start - low) / (high - low)))
        yield ShortLap(
            asked=one,
            reached=max(0.0, float(laps[worst])),
            wanted=strip.lap,
            count=int(short.sum()),
            at=point_between(ends, share),
        )


def _missing_spans(asked: AskedStrip, own: Sequence[LaidStrip], tol: Tolerance) -> Iterator[Gap]:
    """Give what no piece covers of an edge, all of it as one."""
    pieces = join_spans((low, high) for strip in own for low, high in strip.pieces.tolist())
    bare: list[tuple[float, Point3]] = []
    for (low, high), ends in zip(asked.spans, asked.places, strict=True):
        at = low
        for one, two in (*pieces, (high, high)):
            if min(one, high) - at > tol.snap:
                share = ((at + min(one, high)) / 2.0 - low) / (high - low)
                bare.append((min(one, high) - at, point_between(ends, share)))
            at = max(at, two)
    if bare:
        yield Gap(asked=asked, missing=sum(size for size, _ in bare), at=bare[0][1])


def _missing_sides(asked: AskedStrip, own: Sequence[LaidStrip], tol: Tolerance) -> Iterator[Gap]:
    """Give what is missing round an opening; of sides as long as each other the first is named."""
    laid = [
        sum(
            min(high, strip.length) - max(low, 0.0)
            for low, high in join_spans(strip.pieces.tolist())
        )
        for strip in own
    ]
    missing = asked.length - sum(laid)
    if missing > tol.snap:
        sides = list(zip(asked.spans, asked.places, strict=True))
        for size in sorted(laid, reverse=True):
            near = min(sides, key=lambda side: abs(side[0][1] - size), default=None)
            if near is not None and len(sides) > 1:
                sides.remove(near)
        yield Gap(asked=asked, missing=missing, at=middle_of(sides[0][1]))


def _bare_joints(
    asked: AskedStrip, own: Sequence[LaidStrip], above: Sequence[LaidStrip]
) -> Iterator[Gap]:
    """Give the joints of another strip, and its corner, under which no piece lies."""
    joints = [float(low) for strip in above for low in strip.pieces[1:, 0]]
    joints += [] if asked.corner is None else [asked.corner]
    bare = [
        at
        for at in joints
        if not any(low < at < high for strip in own for low, high in strip.pieces.tolist())
    ]
    if bare:
        share = min(1.0, max(0.0, bare[0] / asked.length))
        size = asked.rule.width * len(bare)
        yield Gap(asked=asked, missing=size, at=point_between(asked.places[0], share))
