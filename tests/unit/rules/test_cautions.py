"""The safety lines: which, whence, and short enough for a picture's foot."""

from __future__ import annotations

import math

from roof3d.catalog.load import load_catalog
from roof3d.rules.assembly import AssemblyChoice
from roof3d.rules.cautions import When, cautions_for, load_cautions
from roof3d.units import parse_temperature

FOOT_OF_A_PICTURE = 120


def on(*assemblies: str) -> tuple[str, ...]:
    choices = [
        AssemblyChoice(plane=f"p{index}", assembly=assembly, why="test")
        for index, assembly in enumerate(assemblies)
    ]
    return cautions_for(choices, load_catalog())


def test_shingles_need_no_fire_watch() -> None:
    assert [line for line in on("laminated-shingle") if "fire watch" in line] == []


def test_membrane_laid_with_hot_air_asks_for_a_fire_watch() -> None:
    # NFPA 51B-2019: 1 h after hot work; NFPA 241-2022: 2 h after torch-applied roofing
    (line,) = [
        line for line in on("laminated-shingle", "self-adhered-membrane") if "fire watch" in line
    ]
    assert [part for part in ("1 h", "2 h", "51B-2019", "241-2022") if part not in line] == []


def test_falls_ladder_and_who_decides_are_always_told() -> None:
    # 29 CFR 1926.501(b)(1): 6 ft; 29 CFR 1926.1053(b): 1 out for 4 up, 3 ft above the landing
    foot = "\n".join(on())
    needed = (
        "6 ft",
        "29 CFR 1926.501(b)(1)",
        "1 out for 4 up",
        "3 ft",
        "29 CFR 1926.1053(b)",
        "local code",
        "maker's instructions",
        "licensed professional",
        "does not approve",
    )
    assert [words for words in needed if words not in foot] == []


def test_lines_are_short_and_single() -> None:
    lengths = {caution.id: len(caution.line) for caution in load_cautions()}
    assert {name: size for name, size in lengths.items() if size > FOOT_OF_A_PICTURE} == {}


def test_lines_keep_the_order_of_the_data() -> None:
    whatever_the_day = {When.ALWAYS, When.HEAT}
    assert on("self-adhered-membrane") == tuple(
        caution.line for caution in load_cautions() if caution.when in whatever_the_day
    )


def test_a_limit_has_its_source_and_nothing_else_has_one() -> None:
    for caution in load_cautions():
        limited = caution.when in {When.COLD, When.HOT}
        assert bool(caution.limit_source) is limited, caution.id


def test_a_line_of_cold_or_heat_has_one_limit_and_the_others_none() -> None:
    limits = {caution.id: (caution.least, caution.most) for caution in load_cautions()}
    assert {name: pair for name, pair in limits.items() if pair != (-math.inf, math.inf)} == {
        "frost": (-math.inf, parse_temperature("40 F")),
        "heat-illness": (parse_temperature("80 F"), math.inf),
    }
