"""Numbers of the layers: in a row beside the drawing, each with a leader that crosses no other."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.optimize import linear_sum_assignment

from roof3d.details.frame import Floats
from roof3d.drawing.model import Callout, Point

RADIUS = 2.3
_FAR = 1.0e6
_TILT, _STRAY, _LENGTH = 10.0, 1.0, 0.8
"""What a leader costs a millimetre that it leans, and is long; and a slot out of the order."""
_MET, _CROSSED = 400.0, 30.0
"""What a leader costs that runs through a text or a dimension; through an extension line."""
_TRIED, _TRIALS = 6, 120
_BETWEEN = 0.8
_ROUNDS = 12


@dataclass(frozen=True, slots=True, kw_only=True)
class Slot:
    """A place where a disc may stand.

    Attributes
    ----------
    at : Point
    along : Point
        Unit vector of its row; a leader goes square to it if it can.
    """

    at: Point
    along: Point


def set_numbers(
    slots: Sequence[Slot],
    anchors: Mapping[int, Sequence[Point]],
    taken: Sequence[shapely.Geometry] = (),
    thin: Sequence[shapely.Geometry] = (),
) -> tuple[Callout, ...]:
    """Give each layer a slot and, of its anchors, the one that the leader reaches straightest.

    Parameters
    ----------
    slots : sequence of Slot
        In the order in which the numbers are wanted, if nothing speaks against it.
    anchors : mapping of layer to points
        Places that show the layer; none for one that is not seen.
    taken : sequence of shapely geometries
        Texts and lines of dimensions, of which discs and leaders keep clear.
    thin : sequence of shapely geometries
        Extension lines: no disc stands on one, a leader crosses it only if it must.

    Returns
    -------
    tuple of Callout
        In the order of layers; no leader crosses another. A layer for which there is no slot
        has none.
    """
    shown = [number for number in sorted(anchors) if len(anchors[number])]
    trees = shapely.STRtree(list(taken)), shapely.STRtree(list(thin))
    free = _free(slots, trees)
    if not shown or not free:
        return ()
    places = np.array([slot.at for slot in free])
    along = np.array([slot.along for slot in free])
    priced = [
        _priced(np.array(anchors[number]), places, along, trees, (row + 0.5) / len(shown))
        for row, number in enumerate(shown)
    ]
    cost = np.array([price.min(axis=1) for price, _ in priced])
    rows, columns = linear_sum_assignment(cost)
    made = [
        _callout(shown[row], free[column].at, _cheapest(priced[row], column))
        for row, column in zip(rows, columns, strict=True)
    ]
    trials = {
        str(shown[row]): [
            _callout(shown[row], free[slot].at, priced[row][1][slot, k])
            for slot, k in _best_first(priced[row][0])
        ]
        for row in rows
    }
    return mend(uncross(tuple(made)), trials)


def _priced(
    points: Floats,
    places: Floats,
    along: Floats,
    trees: tuple[shapely.STRtree, shapely.STRtree],
    share: float,
) -> tuple[Floats, Floats]:
    """Return for each slot the cheapest anchors: their prices (s, k) and themselves (s, k, 2)."""
    away = points[None, :, :] - places[:, None, :]
    lean = np.abs(np.einsum("spk,sk->sp", away, along))
    reach = np.hypot(away[..., 0], away[..., 1])
    price = _TILT * np.maximum(lean - 0.6, 0.0) + _LENGTH * reach
    few = np.argsort(price, axis=1, kind="stable")[:, :_TRIED]
    ends = points[few]
    starts = np.broadcast_to(places[:, None, :], ends.shape)
    lines = shapely.linestrings(np.stack((starts, ends), axis=2).reshape(-1, 2, 2))
    hits = np.zeros(few.shape)
    for tree, cost in zip(trees, (_MET, _CROSSED), strict=True):
        met = tree.query(lines, predicate="crosses")[0]
        hits += cost * np.bincount(met, minlength=len(lines)).reshape(few.shape)
    stray = np.abs(np.arange(len(places)) - share * len(places))
    found: Floats = np.take_along_axis(price, few, axis=1) + hits + _STRAY * stray[:, None]
    return found, ends


def _cheapest(priced: tuple[Floats, Floats], slot: int) -> Floats:
    prices, ends = priced
    found: Floats = ends[slot, int(np.argmin(prices[slot]))]
    return found


def _best_first(prices: Floats) -> list[tuple[int, int]]:
    """Return slot and anchor of the cheapest places, in order."""
    order = np.argsort(prices, axis=None, kind="stable")[:_TRIALS]
    return [(int(k) // prices.shape[1], int(k) % prices.shape[1]) for k in order]


def _callout(number: int, centre: Point, anchor: Floats) -> Callout:
    return Callout(
        layer="numbers",
        number=str(number),
        centre=centre,
        anchor=(float(anchor[0]), float(anchor[1])),
        radius=RADIUS,
    )


def _free(slots: Sequence[Slot], trees: tuple[shapely.STRtree, shapely.STRtree]) -> list[Slot]:
    """Return the slots in which a disc touches neither what is taken nor another disc."""
    free: list[Slot] = []
    for slot in slots:
        spot = shapely.Point(slot.at)
        taken = [len(tree.query(spot, "dwithin", RADIUS + 0.5)) > 0 for tree in trees]
        if not any(taken) and all(
            math.dist(slot.at, other.at) > 2.0 * RADIUS + _BETWEEN for other in free
        ):
            free.append(slot)
    return free


def uncross(callouts: tuple[Callout, ...]) -> tuple[Callout, ...]:
    """Exchange the discs of numbers whose leaders cross until none do.

    Each exchange makes the leaders shorter together, so it comes to an end.
    """
    found = list(callouts)
    for _ in range(_ROUNDS):
        crossed = np.argwhere(np.triu(crossings(found, found)))
        if not len(crossed):
            break
        for i, j in crossed.tolist():
            if cross(found[i], found[j]):
                one, two = found[i].centre, found[j].centre
                found[i], found[j] = replace(found[i], centre=two), replace(found[j], centre=one)
    return tuple(found)


def mend(
    callouts: tuple[Callout, ...], trials: Mapping[str, Sequence[Callout]]
) -> tuple[Callout, ...]:
    """Move numbers whose leaders still cross to the cheapest of their places where none does."""
    found = list(callouts)
    for _ in range(_ROUNDS):
        counts = crossings(found, found).sum(axis=1)
        if not counts.any():
            break
        worst = int(counts.argmax())
        rest = [mark for k, mark in enumerate(found) if k != worst]
        free = [
            trial
            for trial in trials[found[worst].number]
            if all(math.dist(trial.centre, mark.centre) > 2.0 * RADIUS for mark in rest)
        ]
        if not free:
            break
        found[worst] = free[int(crossings(free, rest).sum(axis=1).argmin())]
    return tuple(found)


def cross(one: Callout, two: Callout) -> bool:
    """Whether two leaders cross, or one runs through the other's disc."""
    return bool(crossings([one], [two])[0, 0])


def crossings(ones: Sequence[Callout], twos: Sequence[Callout]) -> NDArray[np.bool_]:
    """Return which of some numbers ``cross`` which of others, (n, m); none itself."""
    (lines, discs, radii), (others, their_discs, their_radii) = _shapes(ones), _shapes(twos)
    lines, discs, radii = lines[:, None], discs[:, None], radii[:, None]
    apart = shapely.distance(discs, their_discs) >= radii + their_radii
    found: NDArray[np.bool_] = apart & (
        shapely.intersects(lines, others)
        | (shapely.distance(lines, their_discs) < their_radii)
        | (shapely.distance(others, discs) < radii)
    )
    return found


def _shapes(
    marks: Sequence[Callout],
) -> tuple[NDArray[np.object_], NDArray[np.object_], Floats]:
    """Return the leaders, the middles and the radii of numbers."""
    ends = np.array([(mark.centre, mark.anchor) for mark in marks]).reshape(-1, 2, 2)
    radii = np.array([mark.radius for mark in marks])
    return shapely.linestrings(ends), shapely.points(ends[:, 0]), radii
