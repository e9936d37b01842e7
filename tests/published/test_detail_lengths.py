"""Lengths that the details show against printed ones, each with its clause beside it."""

from __future__ import annotations

import math

import pytest

from roof3d.details.model import DetailKind
from tests.unit.details.every_kind import detail_of, first_of_each, project_of

INCH = 0.0254
STEEPS = ("steep 2", "steep 4", "steep 8", "steep 12", "steep 21")
LOWS = ("low 0.25", "low 1", "low 1.9")


def lengths(house: str, kind: DetailKind) -> dict[str, float]:
    """Lengths of the first detail of a kind on a small house, inches by id."""
    place = first_of_each(project_of(house))[kind]
    return {m.id: m.value / INCH for m in detail_of(house, place.id).measures}


# Published value, how it binds, and where it is printed.
EXACT, LEAST = "exactly", "at least"
FACTS: list[tuple[tuple[str, ...], DetailKind, str, str, float, str]] = [
    (STEEPS, DetailKind.EAVE_SHINGLE, "flange", LEAST, 2.0, "IRC R905.2.8.5: 2 in on the deck"),
    (STEEPS, DetailKind.RAKE_SHINGLE, "flange", LEAST, 2.0, "IRC R905.2.8.5: 2 in on the deck"),
    (STEEPS, DetailKind.EAVE_SHINGLE, "leg", LEAST, 1.5, "IBC 2018 1507.2.8.3: face 1 1/2 in"),
    (STEEPS, DetailKind.SIDEWALL_SHINGLE, "leg_roof", LEAST, 4.0, "IRC R905.2.8.3: 4 in wide"),
    (STEEPS, DetailKind.SIDEWALL_SHINGLE, "leg_wall", LEAST, 4.0, "IRC R905.2.8.3: 4 in high"),
    (STEEPS, DetailKind.SIDEWALL_SHINGLE, "step_lap", LEAST, 2.0, "guide specification: 2 in"),
    (STEEPS, DetailKind.HEADWALL_SHINGLE, "apron_roof", LEAST, 4.0, "guide specification: 4 in"),
    (STEEPS, DetailKind.HEADWALL_SHINGLE, "apron_up", LEAST, 6.0, "guide specification: 6 in up"),
    (STEEPS, DetailKind.CHIMNEY, "apron_roof", LEAST, 4.0, "guide specification: 4 in"),
    (STEEPS, DetailKind.CHIMNEY, "cover", EXACT, 4.0, "Copper Flashings: covers it by 4 in"),
    (LOWS, DetailKind.HEADWALL_MEMBRANE, "flashing_up", LEAST, 8.0, "VA 07 52 16: 8 in up"),
    (LOWS, DetailKind.SIDEWALL_MEMBRANE, "flashing_up", LEAST, 8.0, "VA 07 52 16: 8 in up"),
    (LOWS, DetailKind.CHIMNEY_MEMBRANE, "flashing_up", LEAST, 8.0, "VA 07 52 16: 8 in up"),
    (LOWS, DetailKind.HEADWALL_MEMBRANE, "flashing-ply_out", LEAST, 4.0, "UFGS-07600: 4 in on"),
    (LOWS, DetailKind.CHIMNEY_MEMBRANE, "flashing-ply_out", LEAST, 4.0, "UFGS-07600: 4 in on"),
    (LOWS, DetailKind.HEADWALL_MEMBRANE, "flashing-cap_lap", LEAST, 3.0, "UFGS-07600: laps 3 in"),
    (LOWS, DetailKind.CAP_LAP, "end_lap", LEAST, 6.0, "UFGS-07550 3.3.6: end laps 6 in"),
    (LOWS, DetailKind.CAP_LAP, "side_lap", LEAST, 3.0, "UFGS-07550 3.3.6: side laps 3 in"),
    (LOWS, DetailKind.EAVE_MEMBRANE, "flange", LEAST, 4.0, "association manual: flange 4 in"),
    (LOWS, DetailKind.EAVE_MEMBRANE, "base_lap", LEAST, 2.0, "UFGS-07511: base laps 2 in"),
]
CASES = [
    pytest.param(house, *fact, id=f"{house}: {kind} {fact[1]}")
    for houses, kind, *rest in FACTS
    for house in houses
    for fact in [(kind, *rest)]
]


@pytest.mark.parametrize(("house", "kind", "name", "binds", "value", "source"), CASES)
def test_a_printed_length_is_kept(
    house: str, kind: DetailKind, name: str, binds: str, value: float, source: str
) -> None:
    found = lengths(house, kind)[name]
    kept = abs(found - value) < 1e-6 if binds == EXACT else found >= value - 1e-6
    assert kept, f"{found} in; {source}"


# NAVEDTRA 14044: underlayment 6 in over hips and ridges, each side.
@pytest.mark.parametrize("house", ["angled 2", "angled 8", "angled 21"])
@pytest.mark.parametrize("kind", [DetailKind.HIP, DetailKind.RIDGE])
def test_underlayment_runs_6_in_over_hip_and_ridge(house: str, kind: DetailKind) -> None:
    assert lengths(house, kind)["underlayment_past"] == pytest.approx(6.0)


# IRC R905.2.8.2: open valley metal at least 24 in wide; item 3: a lining of 36 in.
@pytest.mark.parametrize("house", ["angled 2", "angled 8", "angled 21"])
def test_valley_metal_is_24_and_its_lining_36_in_wide(house: str) -> None:
    found = lengths(house, DetailKind.VALLEY_OPEN)
    assert 2.0 * found["metal_near"] >= 24.0 - 1e-6
    assert 2.0 * found["lining_near"] == pytest.approx(36.0)


# Handbooks, from memory: closed-cut: 12 in across, cut back 2 in from the middle.
@pytest.mark.parametrize("house", ["angled, closed 2", "angled, closed 12"])
def test_closed_valley_runs_12_in_across_and_is_cut_2_in_back(house: str) -> None:
    found = lengths(house, DetailKind.VALLEY_CLOSED)
    assert [found["through"], found["cut_back"]] == pytest.approx([12.0, 2.0])


# 18 in along the slope, common practice, and as high as the 8 in of a wall flashing (VA 07 52 16):
# 8 / sin(theta) rules below 6:12. At 4:12 25.298 in along is 8 in up.
@pytest.mark.parametrize(
    ("house", "along"),
    [("porch 0.25 under 4", 8.0 * math.hypot(1.0, 3.0)), ("porch 1 under 8", 18.0)],
)
def test_membrane_is_carried_18_in_along_and_8_in_up(house: str, along: float) -> None:
    found = lengths(house, DetailKind.LOW_BELOW_STEEP)
    assert found["rise"] == pytest.approx(along)
    assert found["rise_up"] >= 8.0 - 1e-6


# IRC R903.4: an overflow 2 in above the low point, a scupper at least 4 in high.
@pytest.mark.parametrize("house", ["parapet 0.25", "parapet 1"])
def test_overflow_stands_2_in_over_the_low_point(house: str) -> None:
    (scupper,) = project_of(house).roof.scuppers
    low = min(z for *_, z in project_of(house).roof.planes[0].outline)
    assert (scupper.bottom - low) / INCH == pytest.approx(2.0)
    assert scupper.height / INCH >= 4.0 - 1e-6
    assert lengths(house, DetailKind.SCUPPER)["sill"] == pytest.approx(2.0, abs=0.01)


# IRC R1003.20: half the width times the pitch: 36 in at 8:12 gives 12 in.
def test_cricket_is_half_the_width_times_the_pitch_high() -> None:
    place = first_of_each(project_of("steep 8"))[DetailKind.CHIMNEY]
    detail = detail_of("steep 8", place.id, thick=False)
    (cricket,) = [p for p in detail.pieces if p.id.startswith("cricket.")]
    order = cricket.vertices[:, 2].argsort()
    back, top = cricket.vertices[order[-2:]]
    feet = cricket.vertices[order[:2]]
    assert (top[2] - feet[:, 2].mean()) / INCH == pytest.approx(12.0)
    assert top[2] == pytest.approx(back[2])
