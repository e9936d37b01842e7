"""The way of the water: round what stands in it, off the corners of cants, in where it gets in."""

from __future__ import annotations

import math

import numpy as np
import pytest

from roof3d.details.model import Detail, PieceKind
from roof3d.details.proof.model import DetailFault, FaultKind
from roof3d.details.proof.prove import prove_detail
from roof3d.scene.detail_scene import build_detail, fault_of
from tests.unit.details.every_kind import project_of

INCH = 0.0254


def wrong(model: str, place: str, mistake: str) -> tuple[Detail, DetailFault]:
    project = project_of(model)
    detail = build_detail(project, place, mistake=mistake)
    fault = fault_of(detail, project)
    assert fault is not None
    return detail, fault


def places(detail: Detail, fault: DetailFault) -> list[tuple[float, float]]:
    found = detail.frame.developed(np.array([mark.point for mark in fault.path]))
    return [(u, s) for u, s, _ in found.tolist()]


def test_water_does_not_run_through_a_pipe() -> None:
    detail, fault = wrong("alder-row", "shop-vent", "dry-bed")
    layers = [mark.layer for mark in fault.path]
    # Down from layer to layer to the deck, which it reaches once, at the end.
    assert layers.index(1) >= len(layers) - 2
    assert layers[0] == max(layers)
    assert min(math.hypot(u, s) for u, s in places(detail, fault)) > 2.0 * INCH


@pytest.mark.parametrize(
    ("model", "place", "mistake"),
    [
        ("tide-house", "entrance.headwall", "no-counterflashing"),
        ("tide-house", "entrance.headwall", "stopped-short"),
        ("alder-row", "shop.headwall", "missing-layer"),
        ("alder-row", "shop.headwall", "back-lap"),
        ("lantern-street", "porch.eave", "back-lap"),
    ],
)
def test_water_never_climbs(model: str, place: str, mistake: str) -> None:
    _, fault = wrong(model, place, mistake)
    heights = [mark.point[2] for mark in fault.path]
    steps = np.diff(heights)
    # Onto what lies on the roof, no higher: sheets are drawn thick, a lap is three of them.
    assert steps.max() < 2.5 * INCH
    assert heights[-1] < heights[0]


def test_without_counterflashing_it_goes_in_at_the_head_of_the_sheets() -> None:
    detail, fault = wrong("tide-house", "entrance.headwall", "no-counterflashing")
    assert fault.kind is FaultKind.MISSING
    head = max(p.reach[1] for p in detail.pieces if p.kind is PieceKind.SHEET)
    assert fault.spot[1] == pytest.approx(head)
    after = [mark for mark in fault.path if mark.layer != 1][1:]
    top = max(mark.layer for mark in fault.path)
    assert after[-1].layer < top


def test_without_counterflashing_it_runs_down_the_chimney_in_behind_the_apron() -> None:
    detail, fault = wrong("plum-corner", "chimney", "no-counterflashing")
    apron = next(p for p in detail.pieces if p.id == "apron.1")
    # In at the upper edge of the apron's leg, having come down the brick from above it.
    assert fault.at[2] == pytest.approx(apron.vertices[:, 2].max())
    heights = [mark.point[2] for mark in fault.path]
    assert heights == sorted(heights, reverse=True)
    assert heights[0] - fault.at[2] == pytest.approx(4.0 * INCH)
    assert heights[-1] < apron.vertices[:, 2].min() + 2.0 * INCH
    # Plumb, before the middle of the lower face.
    plan = np.array([mark.point[:2] for mark in fault.path])
    assert np.ptp(plan, axis=0).max() < 1e-9


def test_a_dry_end_lap_is_shown_at_the_lap() -> None:
    detail, fault = wrong("lantern-street", "porch.south.cap-lap", "dry-bed")
    first = next(p for p in detail.pieces if p.id == "cap.first")
    second = next(p for p in detail.pieces if p.id == "cap.second")
    low = max(first.span[0], second.span[0])
    high = min(first.span[1], second.span[1])
    assert low < fault.spot[0] < high


@pytest.mark.parametrize("place", ["porch.eave", "porch.rake"])
def test_the_uppermost_fault_is_shown(place: str) -> None:
    """With the ply on the wood, the base nailed through it, two layers are out of order."""
    project = project_of("lantern-street")
    detail = build_detail(project, place, mistake="swapped-plies")
    expected = detail.mistake.expected if detail.mistake else None
    tops = {
        max(fault.layers)
        for fault in prove_detail(detail, project.catalog)
        if fault.kind is expected
    }
    shown = fault_of(detail, project)
    assert len(tops) > 1
    assert shown is not None
    assert max(shown.layers) == max(tops)


def test_a_right_build_has_none() -> None:
    project = project_of("lantern-street")
    assert fault_of(build_detail(project, "porch.eave"), project) is None
