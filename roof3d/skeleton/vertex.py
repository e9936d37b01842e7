"""A corner of the wavefront and how it moves."""

from __future__ import annotations

from enum import IntEnum

from roof3d.skeleton.fronts import Front, Number, Slack


class Motion(IntEnum):
    """How the two fronts of a vertex lie to each other."""

    CONVEX = 0
    REFLEX = 1
    FLAT = 2  # in line, equal speeds: moves with them
    RIDGE = 3  # facing each other: they meet along a line, now
    OVERRUN = 4  # in line, unequal speeds: one overruns the other, now


class Vertex:
    """A moving corner; it also names the segment of front that starts at it.

    Attributes
    ----------
    left, right : int
        Edges whose fronts arrive and leave; the inside lies on their left.
    node : int
        Where it was born.
    x, y, t, vx, vy : Number
        Place at height ``t``, and move per unit of height.
    reach : Number
        Height up to which its possible hits have been looked for.
    hits : list[tuple[float, int]]
        Hits not tried yet, latest first: height and edge.
    """

    __slots__ = (
        "alive",
        "hits",
        "left",
        "motion",
        "next",
        "node",
        "number",
        "prev",
        "reach",
        "right",
        "t",
        "vx",
        "vy",
        "x",
        "y",
    )

    def __init__(
        self,
        number: int,
        edges: tuple[int, int],
        node: int,
        place: tuple[Number, Number],
        t: Number,
    ) -> None:
        self.number = number
        self.left, self.right = edges
        self.node = node
        self.x, self.y = place
        self.t = t
        self.vx: Number = 0
        self.vy: Number = 0
        self.motion = Motion.CONVEX
        self.prev = self
        self.next = self
        self.alive = True
        self.reach: Number = 0
        self.hits: list[tuple[float, int]] = []

    def at(self, t: Number) -> tuple[Number, Number]:
        """Place at a height."""
        dt = t - self.t
        return self.x + self.vx * dt, self.y + self.vy * dt

    def speed(self) -> Number:
        """Size of its move per unit of height, in the sum norm."""
        return abs(self.vx) + abs(self.vy)

    def set_moving(self, f: Front, g: Front, slack: Slack) -> None:
        """Work out the move from the fronts that arrive and leave."""
        det = f.a * g.b - f.b * g.a
        if abs(det) > slack.turn:
            self.vx = (f.s * g.b - g.s * f.b) / det
            self.vy = (f.a * g.s - g.a * f.s) / det
            self.motion = Motion.CONVEX if det > 0 else Motion.REFLEX
        elif f.a * g.a + f.b * g.b < 0:
            self.motion = Motion.RIDGE
        elif abs(faster(f, g)) <= slack.turn:
            size = f.a * f.a + f.b * f.b
            self.vx, self.vy = f.a * f.s / size, f.b * f.s / size
            self.motion = Motion.FLAT
        else:
            self.motion = Motion.OVERRUN


def faster(f: Front, g: Front) -> Number:
    """Positive where f is faster than g, zero where equal, whatever the size of the normals."""
    return f.s * f.s * (g.a * g.a + g.b * g.b) - g.s * g.s * (f.a * f.a + f.b * f.b)
