"""Rays at one place and how they pair."""

from __future__ import annotations

import math

import pytest

from roof3d.skeleton.fronts import Front, float_slack
from roof3d.skeleton.place import Ray, Stuck, alternating
from roof3d.skeleton.vertex import Vertex
from roof3d.tolerance import DEFAULT

SLACK = float_slack(10.0, DEFAULT)
FAR = Vertex(0, (0, 1), 0, (0.0, 0.0), 0.0)


def ray(degrees: float, edge: int, *, out: bool) -> Ray:
    angle = math.radians(degrees)
    return Ray(math.cos(angle), math.sin(angle), out=out, edge=edge, far=FAR)


def pairs(*rays: Ray) -> list[tuple[int, int]]:
    return sorted((out.edge, into.edge) for out, into in alternating(rays, SLACK))


def test_an_arriving_front_is_seen_backward_and_a_leaving_one_forward() -> None:
    up = Front(0.0, 1.0, 0.0, 1.0)  # the front runs along +x, the inside above it
    arriving, leaving = Ray.arriving(up, 3, FAR), Ray.leaving(up, 4, FAR)
    assert (arriving.dx, arriving.dy, arriving.out) == (-1.0, 0.0, False)
    assert (leaving.dx, leaving.dy, leaving.out) == (1.0, 0.0, True)


def test_a_collapse_leaves_one_pair() -> None:
    assert pairs(ray(180, 1, out=False), ray(40, 2, out=True)) == [(2, 1)]


def test_a_split_makes_two_pairs_each_on_its_side() -> None:
    # A reflex corner comes down on a front that runs along +x: left of it the front arrives,
    # right of it it leaves.
    found = pairs(
        ray(180, 1, out=False), ray(0, 1, out=True), ray(60, 2, out=False), ray(120, 3, out=True)
    )
    assert found == [(1, 2), (3, 1)]


def test_four_reflex_corners_in_one_place_make_four_pairs() -> None:
    rays = [ray(90 * k + 10, 2 * k, out=True) for k in range(4)]
    rays += [ray(90 * k + 80, 2 * k + 1, out=False) for k in range(4)]
    assert pairs(*rays) == [(0, 1), (2, 3), (4, 5), (6, 7)]


@pytest.mark.parametrize("noise", [0.0, 1e-12, -1e-12])
def test_of_two_rays_in_one_direction_the_leaving_one_comes_first(noise: float) -> None:
    # Nothing is left between them: a ridge forms.
    found = pairs(
        ray(0.0, 1, out=True), ray(noise, 2, out=False),
        ray(180.0, 3, out=True), ray(180.0 + noise, 4, out=False),
    )  # fmt: skip
    assert found == [(1, 2), (3, 4)]


def test_rays_that_do_not_alternate_are_not_guessed_at() -> None:
    with pytest.raises(Stuck, match="alternate"):
        pairs(ray(0, 1, out=True), ray(90, 2, out=True), ray(180, 3, out=False))
