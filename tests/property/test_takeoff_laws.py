"""Laws of the take-off of whole roofs: what is added, mirrored, turned and moved; what is cut."""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from roof3d.catalog.material import MaterialForm
from roof3d.takeoff.model import Unit
from roof3d.tolerance import DEFAULT
from tests.model_text import Block
from tests.property.layout_models import (
    CATALOG,
    FEW,
    KNOWN,
    Motion,
    any_piles,
    layers_of,
    spec_of,
    wanted,
    wished,
    wished_alike,
)

if TYPE_CHECKING:
    from roof3d.project import Project
    from tests.property.layout_models import Drawn, Wanted

FINE = 1e-9
#: What snapping after a motion may change of a length, a share of a square metre or a litre.
SNAPPED = 1e-4


def _lengths_laid(project: Project) -> dict[str, list[tuple[float, float]]]:
    """Return (length, width) of every piece of every material, read off the layout."""
    sizes: dict[str, list[tuple[float, float]]] = {}
    for _, layer in layers_of(project):
        u0, v0, u1, v1 = layer.pieces.boxes.T
        pairs = [(u1 - u0), (v1 - v0)]
        long, wide = pairs if layer.direction.value == "across" else pairs[::-1]
        sizes.setdefault(layer.material, []).extend(zip(long.tolist(), wide.tolist(), strict=True))
    for strip in project.layout.strips:
        long = strip.pieces[:, 1] - strip.pieces[:, 0]
        sizes.setdefault(strip.material, []).extend((x, strip.width) for x in long.tolist())
    return sizes


def check_cuts(project: Project) -> None:
    laid = _lengths_laid(project)
    for item in project.takeoff.items:
        if item.cutting is None:
            continue
        cutting, material = item.cutting, CATALOG.material(item.material)
        assert cutting.stock == material.length
        assert all(sum(p) <= cutting.stock + DEFAULT.merge * len(p) for p in cutting.patterns)
        assert all(list(p) == sorted(p, reverse=True) for p in cutting.patterns)
        assert cutting.bound <= len(cutting.patterns)
        assert cutting.proven == (cutting.bound == len(cutting.patterns))
        taken = Counter(length for pattern in cutting.patterns for length in pattern)
        pieces = laid[item.material]
        whole = Counter(length for length, _ in pieces)
        # Nothing is cut that is not laid.
        assert not taken - whole, item.material
        if item.form is MaterialForm.SHINGLE:
            left = whole - taken
            assert all(abs(x - material.length) <= DEFAULT.merge for x in left), item.material
        elif item.form is MaterialForm.SHEET and not material.selvage:
            # Only a strip that lies beside another is cut without a place of its own.
            least = min((wide for _, wide in pieces), default=0.0)
            beside = Counter(x for x, wide in pieces if wide <= material.width - least + 1e-5)
            assert not (whole - taken) - beside, item.material
            area = math.fsum(x * wide for x, wide in pieces)
            assert area <= len(cutting.patterns) * material.length * material.width + FINE
        else:
            assert taken == whole, item.material


def check_sums(project: Project) -> None:
    layout, takeoff = project.layout, project.takeoff
    assert len({item.material for item in takeoff.items}) == len(takeoff.items)
    for item in takeoff.items:
        assert item.net == pytest.approx(math.fsum(use.net for use in item.used), rel=FINE)
        assert item.ordered >= item.net - FINE * max(1.0, item.net), item.material
        assert item.ordered == pytest.approx(
            item.packs * item.pack_holds if item.pack_holds else item.net, rel=FINE
        )
        if item.pack_holds and item.form not in {
            MaterialForm.SHEET,
            MaterialForm.METAL,
            MaterialForm.STRIP,
            MaterialForm.SHINGLE,
        }:
            assert item.ordered - item.pack_holds < item.net + FINE, item.material
    nails: Counter[str] = Counter()
    sheets: dict[str, list[float]] = {}
    covered: dict[str, list[float]] = {}
    for _, layer in layers_of(project):
        if len(layer.nails):
            nails[layer.fastener] += len(layer.nails)
        if CATALOG.material(layer.material).form is MaterialForm.SHEET:
            sheets.setdefault(layer.material, []).extend(layer.pieces.areas.tolist())
            covered.setdefault(layer.material, []).append(layer.extent.area)
    for strip in layout.strips:
        if len(strip.nails):
            nails[strip.fastener] += len(strip.nails)
        if CATALOG.material(strip.material).form is MaterialForm.SHEET:
            long = (strip.pieces[:, 1] - strip.pieces[:, 0]) * strip.width
            sheets.setdefault(strip.material, []).extend(long.tolist())
    counted = {i.material: int(i.net) for i in takeoff.items if i.form is MaterialForm.FASTENER}
    assert {k: v for k, v in counted.items() if k in nails} == dict(nails)
    areas = {i.material: i.net for i in takeoff.items if i.unit is Unit.AREA}
    assert areas == pytest.approx({k: math.fsum(v) for k, v in sheets.items()}, rel=FINE)


def ordered(project: Project) -> dict[str, tuple[int, int]]:
    """Return packs and count of pieces of every item."""
    return {
        item.material: (item.packs, sum(use.pieces for use in item.used))
        for item in project.takeoff.items
    }


def nets(project: Project) -> dict[str, float]:
    """Return what is in place of every item."""
    return {item.material: item.net for item in project.takeoff.items}


def assert_ordered_alike(one: Project, other: Project) -> None:
    """The same packs, pieces, amounts and lengths."""
    assert ordered(one) == ordered(other)
    assert nets(one) == pytest.approx(nets(other), rel=SNAPPED, abs=SNAPPED)
    lengths, others = (
        {name: sorted(x for x, _ in pieces) for name, pieces in _lengths_laid(project).items()}
        for project in (one, other)
    )
    assert lengths.keys() == others.keys()
    for name, row in lengths.items():
        assert row == pytest.approx(others[name], abs=SNAPPED), name


FAR = Block(id="far", form="gable", length=9.0, width=6.0, at=(500.0, 300.0), overhang=(0.4, 0.3))


def check_far(drawn: Drawn, asked: Wanted) -> None:
    pile, cuts_ = drawn
    one = wished(spec_of(drawn, asked.tables), asked.assemblies)
    more = wished(spec_of(((*pile, FAR), cuts_), asked.tables), asked.assemblies)
    old = {plane.id for plane in one.roof.planes}
    assert old == {p.id for p in more.roof.planes if not p.id.startswith("far")}
    before, after = (
        {(item.material, use.of): use for item in project.takeoff.items for use in item.used}
        for project in (one, more)
    )
    kept = {key: use for key, use in after.items() if not key[1].startswith("far")}
    assert {key: use.pieces for key, use in kept.items()} == {
        key: use.pieces for key, use in before.items()
    }
    assert {key: use.net for key, use in kept.items()} == pytest.approx(
        {key: use.net for key, use in before.items()}, abs=SNAPPED
    )
    assert len(after) > len(before)
    for item in one.takeoff.items:
        assert more.takeoff.item(item.material).packs >= item.packs, item.material


def check_motion(drawn: Drawn, asked: Wanted, motion: Motion) -> bool:
    """Return whether the moved roof has the same planes and edges; then it orders the same."""
    if motion.degrees and any(cut.kind == "pipe" for cut in drawn[1]):
        motion = replace(motion, degrees=90.0)  # the rim of a pipe is a polygon that never turns
    one = wished(spec_of(drawn, asked.tables), asked.assemblies)
    other = wished_alike(spec_of(motion.of(drawn), asked.tables), one, motion)
    if other is not None:
        assert_ordered_alike(one, other)
    return other is not None


MIRROR = Motion(mirror=True)
MOTIONS = st.builds(
    Motion,
    degrees=st.sampled_from((0.0, 90.0, 33.0)),
    shift=st.sampled_from(((7.3, -2.9), (500_000.0, 4_000_000.0))),
)


@FEW
@given(any_piles(), wanted())
def test_everything_is_counted_and_cut_once(drawn: Drawn, asked: Wanted) -> None:
    project = wished(spec_of(drawn, asked.tables), asked.assemblies)
    check_sums(project)
    check_cuts(project)


@FEW
@given(any_piles(), wanted(of_the_building=False))
def test_a_section_far_away_adds_its_own_and_takes_nothing(drawn: Drawn, asked: Wanted) -> None:
    check_far(drawn, asked)


@FEW
@given(any_piles(), wanted())
def test_a_mirrored_roof_orders_the_same(drawn: Drawn, asked: Wanted) -> None:
    assume(check_motion(drawn, asked, MIRROR))


@FEW
@given(any_piles(), wanted(), MOTIONS)
def test_a_moved_roof_orders_the_same(drawn: Drawn, asked: Wanted, motion: Motion) -> None:
    assume(check_motion(drawn, asked, motion))


@pytest.mark.parametrize(("drawn", "asked"), [k[1:] for k in KNOWN], ids=[k[0] for k in KNOWN])
def test_roofs_that_once_ordered_otherwise(drawn: Drawn, asked: Wanted) -> None:
    assert check_motion(drawn, asked, MIRROR)
    assert check_motion(drawn, asked, Motion(degrees=90.0, shift=(7.3, -2.9)))
    project = wished(spec_of(drawn, asked.tables), asked.assemblies)
    check_sums(project)
    check_cuts(project)
