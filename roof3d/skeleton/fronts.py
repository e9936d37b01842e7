"""Moving fronts in two kinds of number: floats with slack, and exact fractions."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Any, TypeAlias

from roof3d.tolerance import Tolerance

# One algorithm runs on either kind; a type checker cannot know that they never mix.
Number: TypeAlias = Any
"""A float in the float kernel, a Fraction in the exact one."""

ROOT_BITS = 80


@dataclass(frozen=True, slots=True)
class Front:
    """The moving line of one edge: a x + b y = c + s t, with (a, b) pointing inward.

    ``t`` is the height. With floats (a, b) has unit length. With fractions it is the
    least whole vector, and ``s`` carries its length, cut to ``2**-80``: the only
    rounding in the exact kernel, and the same for all parallel edges.
    """

    a: Number
    b: Number
    c: Number
    s: Number


@dataclass(frozen=True, slots=True, kw_only=True)
class Slack:
    """How near counts as equal; all zero for exact numbers.

    Attributes
    ----------
    place : float
        Metres.
    time : float
        Metres of height, relative to one metre plus the height.
    turn : float
        Sine of an angle.
    exact : bool
    look_late, look_behind : float
        As ``Tolerance`` has them.
    """

    place: float
    time: float
    turn: float
    exact: bool
    look_late: float
    look_behind: float


def exact_slack(tol: Tolerance) -> Slack:
    """Return the slack of the exact kernel: none, but for the float look ahead."""
    return Slack(
        place=0.0,
        time=0.0,
        turn=0.0,
        exact=True,
        look_late=tol.look_late,
        look_behind=tol.look_behind,
    )


def float_slack(extent: float, tol: Tolerance) -> Slack:
    """Return the slack of the float kernel for an outline of some extent, metres."""
    return Slack(
        place=tol.front_place * extent,
        time=tol.front_time * extent,
        turn=tol.direction,
        exact=False,
        look_late=tol.look_late,
        look_behind=tol.front_place * extent,
    )


def float_fronts(
    ring: Sequence[tuple[int, int]], runs: Sequence[Fraction], unit: Fraction
) -> list[Front]:
    """Return the fronts of a ring as floats.

    Parameters
    ----------
    ring : sequence of (int, int)
        Corners in whole units, the inside on the left.
    runs : sequence of Fraction
        Run over rise of each edge; 0 is vertical.
    unit : Fraction
        Metres.
    """
    fronts = []
    scale = float(unit)
    for (ax, ay), (bx, by), run in zip(ring, (*ring[1:], ring[0]), runs, strict=True):
        dx, dy = bx - ax, by - ay
        length = math.hypot(dx, dy)
        # The whole-number cross product is exact, so parallel fronts keep their distance.
        c = (dx * ay - dy * ax) / length * scale
        fronts.append(Front(-dy / length, dx / length, c, float(run)))
    return fronts


def exact_fronts(
    ring: Sequence[tuple[int, int]], runs: Sequence[Fraction], unit: Fraction
) -> list[Front]:
    """Return the fronts of a ring as fractions; parameters as for ``float_fronts``."""
    fronts = []
    for (ax, ay), (bx, by), run in zip(ring, (*ring[1:], ring[0]), runs, strict=True):
        dx, dy = bx - ax, by - ay
        shrink = math.gcd(dx, dy)
        dx, dy = dx // shrink, dy // shrink
        length = direction_length(dx, dy)
        c = Fraction(dx * ay - dy * ax) * unit
        fronts.append(Front(Fraction(-dy), Fraction(dx), c, length * run))
    return fronts


def changed_front(front: Front, run: Number, t: Number, *, exact: bool) -> Front:
    """Return the front that goes on from height ``t`` with another run over rise."""
    size = direction_length(int(front.a), int(front.b)) if exact else 1.0
    s = size * run
    return Front(front.a, front.b, front.c + (front.s - s) * t, s)


def direction_length(dx: int, dy: int) -> Fraction:
    """Length of a whole vector, cut to ``2**-ROOT_BITS``."""
    return Fraction(math.isqrt((dx * dx + dy * dy) << (2 * ROOT_BITS)), 1 << ROOT_BITS)
