"""What holds for the sides and extents of any pile of sections."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
import shapely
from hypothesis import assume, given, settings

from roof3d.catalog.laying import Border
from roof3d.errors import GeometryError
from roof3d.layout.borders.extent import move_sides
from roof3d.layout.borders.ice import ice_rule, ice_zone, without_ice
from tests.model_text import Block, mirrored, model_text
from tests.property.strategies import EXAMPLES, SETTINGS, Cut, cut_piles, piles
from tests.unit.layout.borders.shipped_planes import Laid, laid_planes

INWARD = {Border.VALLEY, Border.JOINT_UPPER, Border.PIPE, Border.OPENING_SIDE}
RULE = ice_rule("IRC 2018")
FEW = settings(SETTINGS, max_examples=EXAMPLES or 25)


def laid(pile: tuple[Block, ...], cuts: tuple[Cut, ...] = ()) -> tuple[Laid, ...]:
    text = model_text(pile) + "".join(cut.text(f"cut{k}") for k, cut in enumerate(cuts))
    try:
        return laid_planes(text)
    except GeometryError:
        assume(False)  # an opening beside the roof
        return ()


@FEW
@given(cut_piles(raised=True))
def test_sides_are_the_whole_outline_of_any_plane(
    drawn: tuple[tuple[Block, ...], tuple[Cut, ...]],
) -> None:
    for one in laid(*drawn):
        lengths = [math.dist(side.start, side.end) for side in one.sides]
        assert sum(lengths) == pytest.approx(one.outline.length, abs=1e-6)
        assert min(lengths) > 0.0
        for side in one.sides:
            if side.border in {Border.JOINT_LOWER, Border.JOINT_UPPER, Border.JOINT_VALLEY}:
                assert 0.0 < side.gap < 0.2
                assert 0.0 <= side.rise < 20.0


@FEW
@given(cut_piles(raised=True))
def test_extents_of_any_plane_are_sound(
    drawn: tuple[tuple[Block, ...], tuple[Cut, ...]],
) -> None:
    for one in laid(*drawn):
        reaches = [-0.06 if side.border in INWARD else 0.05 for side in one.sides]
        extent = move_sides(one.outline, one.sides, reaches, cut_corners=True)
        assert extent.is_valid
        corners = len(one.sides) * 0.05**2 / 2.0
        assert extent.area < one.outline.area + 0.05 * one.outline.length + corners + 1e-6
        zone = ice_zone(one.outline, one.sides, one.plane.slope, RULE)
        left = without_ice(extent, one.outline, one.sides, one.plane.slope, RULE, 0.15)
        assert left.is_valid
        # Barrier and what is laid after it cover what would be laid without one.
        both = shapely.union_all([zone, left])
        assert extent.intersection(one.outline).difference(both).area < 1e-5


@FEW
@given(piles(overhangs=(0.0, 0.3, 0.5), most=3))
def test_a_mirrored_roof_has_the_same_sides_and_extents(pile: tuple[Block, ...]) -> None:
    def measures(planes: tuple[Laid, ...]) -> list[float]:
        areas = []
        for one in planes:
            reaches = [-0.06 if side.border in INWARD else 0.05 for side in one.sides]
            areas += [
                move_sides(one.outline, one.sides, reaches, cut_corners=cut).area
                for cut in (False, True)
            ]
        return sorted(areas)

    def lengths(planes: tuple[Laid, ...]) -> dict[Border, float]:
        total: dict[Border, float] = {}
        for one in planes:
            for side in one.sides:
                run = math.dist(side.start, side.end)
                total[side.border] = total.get(side.border, 0.0) + run
        return {border: run for border, run in total.items() if run > 1e-3}

    def seen(block: Block) -> Block:
        other = mirrored(block)
        x, y = (round(value, 9) + 0.0 for value in other.at)
        return replace(other, at=(x, y))

    here, there = laid(pile), laid(tuple(seen(block) for block in pile))
    assert measures(there) == pytest.approx(measures(here), abs=1e-3)
    assert lengths(there) == pytest.approx(lengths(here), abs=1e-3)
