"""Rays at one place: which pieces of front go on together."""

from __future__ import annotations

import functools
from collections.abc import Sequence
from dataclasses import dataclass

from roof3d.skeleton.fronts import Front, Number, Slack
from roof3d.skeleton.vertex import Vertex


class Stuck(Exception):  # noqa: N818
    """The numbers cannot tell what happens; the exact kernel is asked then."""


class Unbounded(Exception):  # noqa: N818
    """Fronts are left that never meet, that of ``edge`` among them."""

    def __init__(self, edge: int) -> None:
        super().__init__(edge)
        self.edge = edge


@dataclass(frozen=True, slots=True)
class Ray:
    """A piece of front seen from the place where it ends.

    ``out`` is true where the front leaves the place; ``far`` is the vertex at its other end.
    """

    dx: Number
    dy: Number
    out: bool
    edge: int
    far: Vertex

    @classmethod
    def arriving(cls, front: Front, edge: int, far: Vertex) -> Ray:
        """Return a front that ends here, seen backward."""
        return cls(-front.b, front.a, out=False, edge=edge, far=far)

    @classmethod
    def leaving(cls, front: Front, edge: int, far: Vertex) -> Ray:
        """Return a front that starts here."""
        return cls(front.b, -front.a, out=True, edge=edge, far=far)


def alternating(rays: Sequence[Ray], slack: Slack) -> list[tuple[Ray, Ray]]:
    """Pair each leaving ray with the arriving ray next to it counterclockwise.

    The inside lies between the two. Where they have one direction the leaving one counts
    as first: no inside is left between them, a ridge is about to form.

    Raises
    ------
    Stuck
        If leaving and arriving rays do not alternate.
    """
    count = len(rays)
    if count == 2 and rays[0].out != rays[1].out:
        return [(rays[0], rays[1]) if rays[0].out else (rays[1], rays[0])]
    ring = sorted(rays, key=functools.cmp_to_key(_by_angle))
    for _ in range(count):
        swapped = False
        for k in range(count):
            one, two = ring[k], ring[(k + 1) % count]
            if not one.out and two.out and _alike(one, two, slack):
                ring[k], ring[(k + 1) % count] = two, one
                swapped = True
        if not swapped:
            break
    pairs = []
    for k, ray in enumerate(ring):
        onward = ring[(k + 1) % count]
        if ray.out == onward.out:
            raise Stuck("leaving and arriving fronts do not alternate")
        if ray.out:
            pairs.append((ray, onward))
    return pairs


def _alike(one: Ray, two: Ray, slack: Slack) -> bool:
    cross = one.dx * two.dy - one.dy * two.dx
    return bool(abs(cross) <= slack.turn and one.dx * two.dx + one.dy * two.dy > 0)


def _by_angle(one: Ray, two: Ray) -> int:
    """Order by angle from the x axis, counterclockwise, by signs alone."""
    upper = (_upper(one), _upper(two))
    if upper[0] != upper[1]:
        return -1 if upper[0] else 1
    cross = one.dx * two.dy - one.dy * two.dx
    return -1 if cross > 0 else 1 if cross < 0 else 0


def _upper(ray: Ray) -> bool:
    return bool(ray.dy > 0 or (ray.dy == 0 and ray.dx > 0))
