"""Published slope bands and what happens exactly at their limits."""

from __future__ import annotations

import math
import re
from importlib.resources import files
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from roof3d.errors import CatalogError, InvariantError
from roof3d.rules.bands import Band, band_limit, band_of, pitch_beside
from roof3d.rules.limits import load_limits, parse_limits, read_data
from roof3d.tolerance import DEFAULT, Tolerance

# IRC R905.11.1 (1/4:12), IRC R905.2.2 (2:12), IBC 1507.1.1 (4:12)
LIMITS = {
    Band.NO_SHINGLES: 0.25 / 12,
    Band.DOUBLE_UNDERLAYMENT: 2 / 12,
    Band.SINGLE_UNDERLAYMENT: 4 / 12,
}
BELOW = dict(zip(LIMITS, Band, strict=False))


@pytest.mark.parametrize(
    ("rise", "band"),
    [
        (0.0, Band.DEAD_LEVEL),
        (0.24, Band.DEAD_LEVEL),
        (0.25, Band.NO_SHINGLES),
        (1.0, Band.NO_SHINGLES),
        # 1.9:12 too flat for shingles, 2:12 double underlayment, 4:12 single
        (1.9, Band.NO_SHINGLES),
        (2.0, Band.DOUBLE_UNDERLAYMENT),
        (3.99, Band.DOUBLE_UNDERLAYMENT),
        (4.0, Band.SINGLE_UNDERLAYMENT),
        (24.0, Band.SINGLE_UNDERLAYMENT),
        (math.inf, Band.SINGLE_UNDERLAYMENT),
    ],
)
def test_band_of_a_rise_in_twelve(rise: float, band: Band) -> None:
    assert band_of(rise / 12) is band


@pytest.mark.parametrize(("band", "limit"), LIMITS.items())
def test_rounding_never_crosses_a_limit(band: Band, limit: float) -> None:
    noisy = [limit - 1e-16, math.nextafter(limit, 0.0), limit, limit + 1e-16, limit - 1e-9]
    assert {band_of(slope) for slope in noisy} == {band}


@pytest.mark.parametrize(("band", "limit"), LIMITS.items())
def test_slope_really_below_a_limit_is_below_it(band: Band, limit: float) -> None:
    assert band_of(limit - 2 * DEFAULT.slope) is BELOW[band]


@given(
    limit=st.sampled_from(sorted(LIMITS.items())),
    turn=st.floats(min_value=0.0, max_value=2 * math.pi),
)
def test_turning_a_plane_keeps_its_band(limit: tuple[Band, float], turn: float) -> None:
    band, slope = limit
    gradient = (slope * math.cos(turn), slope * math.sin(turn))
    assert band_of(math.hypot(*gradient)) is band


def test_zero_tolerance_means_exact() -> None:
    exact = Tolerance(slope=0.0)
    assert band_of(math.nextafter(2 / 12, 0.0), tol=exact) is Band.NO_SHINGLES


@given(st.floats(min_value=0.0, max_value=10.0), st.floats(min_value=0.0, max_value=10.0))
def test_steeper_never_falls_into_a_flatter_band(first: float, second: float) -> None:
    order = list(Band)
    low, high = sorted((first, second))
    assert order.index(band_of(low)) <= order.index(band_of(high))


@pytest.mark.parametrize("slope", [-1e-9, -1.0, math.nan])
def test_impossible_slope_is_our_bug(slope: float) -> None:
    with pytest.raises(InvariantError):
        band_of(slope)


@pytest.mark.parametrize(
    ("rise", "limit", "shown"),
    [
        (2.0, 2.0, "2:12"),
        (1.0, 2.0, "1:12"),
        (2 - 1e-8, 2.0, "2:12"),  # within the tolerance they are one
        (1.999, 2.0, "1.999:12"),
        (1.9999, 2.0, "1.9999:12"),
        (2 - 2e-6, 2.0, "1.999998:12"),
        (21.0001, 21.0, "21.0001:12"),
        (0.25, math.inf, "1/4:12"),
    ],
)
def test_pitch_beside_a_limit_reads_otherwise(rise: float, limit: float, shown: str) -> None:
    assert pitch_beside(rise / 12, limit / 12) == shown


@given(
    st.floats(min_value=0.0, max_value=3.0),
    st.floats(min_value=1.01e-7, max_value=1e-3),
)
def test_two_slopes_held_apart_never_read_alike(low: float, apart: float) -> None:
    high = low + apart
    assert pitch_beside(low, high) != pitch_beside(high, low)


def test_every_band_names_edition_and_clause() -> None:
    sources = [band_limit(slope).source for slope in (0.0, 0.1, 0.2, 0.5)]
    assert [source for source in sources if not source.startswith(("IRC 2", "IBC 2"))] == []


@pytest.mark.parametrize("room", ["rules", "catalog"])
def test_edition_that_was_not_read_says_so(room: str) -> None:
    # Of the residential code the clauses were read, the edition was not.
    texts = [
        path.read_text(encoding="utf-8")
        for path in Path(str(files(f"roof3d.{room}"))).glob("data/*.toml")
    ]
    cited = [
        found for text in texts for found in re.findall(r"IRC 20\d\d, R[\d.]+\d(.{0,22})", text)
    ]
    assert set(cited) == {" (edition from memory)"}


def test_cricket_limit_is_thirty_inches() -> None:
    # IRC R903.2.2: wider than 30 in across the slope
    assert load_limits().cricket_width == pytest.approx(30 * 0.0254, abs=1e-12)


@pytest.mark.parametrize(
    ("path", "value"),
    [
        (("band", 1, "below"), "1/8:12"),
        (("band", 3, "below"), "12:12"),
        (("band", 0, "below"), 0.02),
        (("cricket", "wider_than"), "30"),
        (("drainage", "least"), "flat"),
    ],
)
def test_wrong_limits_are_refused(path: tuple[str | int, ...], value: object) -> None:
    data = read_data("slopes.toml")
    target = data
    for step in path[:-1]:
        target = target[step]  # type: ignore[index]
    target[path[-1]] = value  # type: ignore[index]
    with pytest.raises(CatalogError):
        parse_limits(data)


@pytest.mark.parametrize("key", ["band", "cricket", "drainage"])
def test_missing_limits_are_refused(key: str) -> None:
    data = read_data("slopes.toml")
    del data[key]
    with pytest.raises(CatalogError, match=key):
        parse_limits(data)


def test_missing_file_is_told_by_name() -> None:
    with pytest.raises(CatalogError, match=r"nothing\.toml"):
        read_data("nothing.toml")
