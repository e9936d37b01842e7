"""Laps of details against printed rules: what each forbids is caught, what it asks for passes.

Clauses: IRC 2018 R905.2.8.5 (drip edge under the underlayment at eaves, over it at rakes, laps
2 in), R905.2.8.3 (step flashing, one piece a course), R905.1.2 (ice barrier), R905.2.7 and
R905.1.1 (underlayment laid shingle fashion), edition from memory; UFGS-07550, 3.3.6 (side laps
3 in, end laps 6 in, laps of touching plies 12 in apart); UFGS-07511 (laps of base sheets);
roofing contractors' manual of British Columbia, SBS metal edge (flange set in mastic on the
membrane, laps 4 in).
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from roof3d.catalog.load import load_catalog
from roof3d.details.build import build_detail
from roof3d.details.mistakes.model import Mistake
from roof3d.details.model import Detail, DetailKind, Footprint, Piece
from roof3d.details.proof.model import DetailFault, FaultKind
from roof3d.details.proof.prove import prove_detail
from tests.unit.details.proof.mutations import (
    detail_of,
    first_of_each,
    in_order,
    project_of,
    site_of,
    swapped,
    turned,
    without,
)

CATALOG = load_catalog()
INCH = 0.0254


def proved(detail: Detail) -> tuple[DetailFault, ...]:
    return prove_detail(detail, CATALOG)


def kinds_of(detail: Detail) -> set[FaultKind]:
    return {fault.kind for fault in proved(detail)}


def wrong(kind: DetailKind, mistake: Mistake) -> Detail:
    model, place = first_of_each()[kind]
    return build_detail(site_of(project_of(model), place), mistake)


def layer(detail: Detail, family: str) -> int:
    return next(p.layer for p in detail.pieces if p.id.startswith(f"{family}."))


def moved(detail: Detail, name: str, by: float) -> Detail:
    """Move what a piece covers along s, as if it were laid there."""

    def there(piece: Piece) -> Piece:
        prints = tuple(
            Footprint(face=p.face, outline=p.outline + np.array([0.0, by]), holes=p.holes)
            for p in piece.footprints
        )
        low, high = piece.reach
        return replace(piece, footprints=prints, reach=(low + by, high + by))

    pieces = [there(piece) if piece.id.startswith(name) else piece for piece in detail.pieces]
    return in_order(detail, pieces)


def test_drip_edge_under_the_underlayment_at_the_eave() -> None:
    detail = detail_of(DetailKind.EAVE_SHINGLE)
    assert proved(detail) == ()
    over = swapped(detail, layer(detail, "metal"), layer(detail, "underlayment"))
    faults = [fault for fault in proved(over) if fault.kind is FaultKind.BACK_WATER]
    assert any({"metal.1", "underlayment.1"} == set(fault.pieces) for fault in faults)


def test_drip_edge_over_the_underlayment_at_the_rake() -> None:
    detail = detail_of(DetailKind.RAKE_SHINGLE)
    under = swapped(detail, layer(detail, "metal"), layer(detail, "underlayment"))
    faults = [fault for fault in proved(under) if fault.kind is FaultKind.BACK_WATER]
    assert any("metal.1" in fault.pieces for fault in faults)


def test_joints_of_rake_metal_lie_up_over_down() -> None:
    detail = detail_of(DetailKind.RAKE_MEMBRANE)
    metal = [piece for piece in detail.pieces if piece.id in {"metal.1", "metal.2"}]
    assert FaultKind.BACK_WATER in kinds_of(turned(detail, *metal))


def test_ice_barrier_left_out_opens_the_heads_below_it() -> None:
    detail = without(detail_of(DetailKind.LOW_BELOW_STEEP), "barrier")
    bare = {f.pieces[0] for f in proved(detail) if f.kind is FaultKind.HEAD_BARE}
    assert {"cap.2", "ply.3"} <= bare


def test_ice_barrier_tucked_under_the_cap_opens_its_head() -> None:
    detail = wrong(DetailKind.LOW_BELOW_STEEP, Mistake.BARRIER_UNDER)
    faults = [f for f in proved(detail) if f.kind is FaultKind.HEAD_BARE]
    assert "cap.2" in {fault.pieces[0] for fault in faults}
    (far,) = {fault.face for fault in faults if fault.pieces[0] == "cap.2"}
    assert far.value == "far"


@pytest.mark.parametrize(("left", "caught"), [(4.0, False), (3.0, False), (2.0, True)])
def test_side_lap_of_a_cap_sheet_is_three_inches(left: float, *, caught: bool) -> None:
    detail = detail_of(DetailKind.LOW_BELOW_STEEP)
    faults = proved(moved(detail, "cap.1", (left - 4.0) * INCH))
    short = [f for f in faults if f.kind is FaultKind.SHORT_LAP and "cap.1" in f.pieces]
    assert bool(short) is caught
    if caught:
        assert short[0].wanted == pytest.approx(3.0 * INCH)
        assert short[0].reached == pytest.approx(left * INCH, abs=3e-3)


def test_laps_of_touching_plies_keep_twelve_inches() -> None:
    detail = moved(detail_of(DetailKind.LOW_BELOW_STEEP), "ply", 8.0 * INCH)
    stacked = [f for f in proved(detail) if f.kind is FaultKind.STACKED]
    assert stacked
    assert all(fault.wanted == pytest.approx(12.0 * INCH) for fault in stacked)


def test_a_flange_lies_in_cement() -> None:
    for kind in (DetailKind.EAVE_MEMBRANE, DetailKind.RAKE_MEMBRANE, DetailKind.LOW_ABOVE_STEEP):
        assert FaultKind.DRY_METAL in kinds_of(without(detail_of(kind), "bed"))


def test_the_cap_covers_the_flange() -> None:
    detail = moved(detail_of(DetailKind.EAVE_MEMBRANE), "cap.1", -4.5 * INCH)
    heads = {
        f.pieces[0]
        for f in proved(detail)
        if f.kind in {FaultKind.HEAD_BARE, FaultKind.BACK_WATER, FaultKind.SHORT_LAP}
    }
    assert heads & {"metal.1", "metal.2"}


def test_one_step_a_course() -> None:
    detail = detail_of(DetailKind.SIDEWALL_SHINGLE)
    steps = [
        piece.id for piece in detail.pieces if piece.id.startswith("step.") and piece.footprints
    ]
    assert proved(without(detail, steps[1])) != ()


def test_no_starter_leaves_the_first_joints_open() -> None:
    detail = without(detail_of(DetailKind.EAVE_SHINGLE), "starter")
    assert FaultKind.BARE in kinds_of(detail)


def test_an_end_lap_on_granules_lies_in_cement() -> None:
    assert FaultKind.DRY_METAL in kinds_of(without(detail_of(DetailKind.CAP_LAP), "bed"))


def test_the_cut_edge_of_a_valley_lies_in_cement() -> None:
    assert FaultKind.DRY_METAL in kinds_of(without(detail_of(DetailKind.VALLEY_OPEN), "bed"))


@pytest.mark.parametrize("kind", [DetailKind.EAVE_SHINGLE, DetailKind.HIP, DetailKind.CAP_LAP])
def test_a_nail_in_the_weather_is_found_where_it_is(kind: DetailKind) -> None:
    detail = wrong(kind, Mistake.LOW_NAIL)
    (nail,) = (piece for piece in detail.pieces if piece.id == "mistake.nails")
    middle = detail.frame.developed(nail.vertices)[:, :2].mean(axis=0)
    faults = [f for f in proved(detail) if f.kind is FaultKind.NAIL_BARE]
    assert min(float(np.hypot(*(middle - f.spot))) for f in faults) < INCH
