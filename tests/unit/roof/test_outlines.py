"""Sections over any outline: forms, steps, decks, and two ways to one roof."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Sequence

import pytest

from roof3d.errors import GeometryError
from roof3d.roof.build import build_roof
from roof3d.roof.model import Roof
from roof3d.spec.read import parse_spec

HEAD = 'schema = 1\nname = "o"\nunits = "metric"\n'
RECTANGLE = [(0, 0), (12, 0), (12, 8), (0, 8)]
ELL = [(0, 0), (12, 0), (12, 8), (8, 8), (8, 14), (0, 14)]


def outline(
    corners: Sequence[tuple[float, float]], *rest: str, name: str = "a", overhang: str = "0.5 m"
) -> str:
    points = ", ".join(f'["{x} m", "{y} m"]' for x, y in corners)
    given = "\n".join(rest)
    return f"""
[[section]]
id = "{name}"
form = "outline"
outline = [{points}]
eave = "3 m"
pitch = "6:12"
overhang = "{overhang}"
{given}
"""


def hip(name: str, length: float, width: float, at: tuple[float, float], turn: int = 0) -> str:
    return f"""
[[section]]
id = "{name}"
form = "hip"
length = "{length} m"
width = "{width} m"
at = ["{at[0]} m", "{at[1]} m"]
turn = "{turn} deg"
eave = "3 m"
pitch = "6:12"
overhang = "0.5 m"
"""


def built(*sections: str) -> Roof:
    return build_roof(parse_spec(HEAD + "".join(sections)))[0]


def sums(roof: Roof) -> dict[str, float]:
    found: dict[str, float] = defaultdict(float)
    for edge in roof.edges:
        found[edge.role.value] += edge.plan_length
    return dict(found)


def top(roof: Roof) -> float:
    return max(z for plane in roof.planes for _, _, z in plane.outline)


def test_clipped_gable_leans_back_from_its_height() -> None:
    """Hip at 12:12 through 4 m over the wall, against 6:12 planes that meet at 5 m.

    The hip meets a side plane where 3 + y/2 = 4 + x, and the ridge (5 m) at x = 1.
    Its eave, 0.5 m out, lies at 3.5 m, where the sides are 1 m in from the wall: 8 - 2 = 6 m.
    """
    roof = built(
        outline(RECTANGLE, 'edge = [{at = 1, gable = true, hip_from = "4 m", pitch = "12:12"}]')
    )
    found = sums(roof)
    assert [p.id for p in roof.planes] == ["a.south", "a.east", "a.north", "a.west"]
    assert (found["rake"], found["eave"]) == pytest.approx((2 * 1.5, 2 * 13 + 9 + 6), abs=1e-9)
    assert top(roof) == pytest.approx(5.0, abs=1e-9)


def test_gable_on_a_hip_stands_on_it_as_a_wall() -> None:
    """6:12 hip up to 4 m, 2 m in from the wall, where the sides are 4 m apart."""
    found = sums(built(outline(RECTANGLE, 'edge = [{at = 1, gable_from = "4 m"}]')))
    assert found["headwall"] == pytest.approx(4.0, abs=1e-9)
    assert found["rake"] == pytest.approx(4.0, abs=1e-9)
    assert found["ridge"] == pytest.approx(6.0, abs=1e-9)


def test_level_deck_is_a_low_plane_with_a_transition_all_round() -> None:
    """At 4 m every side is 2 m in: 8 x 4 m."""
    roof = built(outline(RECTANGLE, 'deck = "4 m"', 'deck_pitch = "0:12"'))
    deck = roof.plane("a.level")
    assert deck.kind == "low"
    assert deck.plan_area == pytest.approx(32.0, abs=1e-9)
    assert sums(roof)["transition"] == pytest.approx(24.0, abs=1e-9)


def test_deck_with_a_fall_drains_to_all_its_sides() -> None:
    roof = built(outline(ELL, 'deck = "4 m"'))
    low = [plane for plane in roof.planes if plane.kind == "low"]
    assert {plane.id for plane in low} >= {"a.south_upper", "a.west_upper"}
    assert sum(plane.plan_area for plane in low) == pytest.approx(8 * 4 + 4 * 6, abs=1e-6)
    assert sums(roof)["transition"] == pytest.approx(36.0, abs=1e-6)


def test_one_plane_over_a_whole_outline() -> None:
    roof = built(outline(ELL, "fall = 0"))
    (plane,) = roof.planes
    assert plane.plan_area == pytest.approx(171.0, abs=1e-9)
    assert sums(roof) == pytest.approx({"eave": 13.0, "rake": 30.0, "high_edge": 13.0}, abs=1e-9)


def test_a_step_in_the_plate_lifts_one_eave() -> None:
    """Plate of the south wall 1 m up: at its eave the ends already are 2 m in."""
    roof = built(outline(RECTANGLE, 'edge = [{at = 0, eave = "4 m"}]', overhang="0 m"))
    found = sums(roof)
    assert found["eave"] == pytest.approx(12 + 8 + 8 + (12 - 4), abs=1e-9)
    assert found["rake"] == pytest.approx(4.0, abs=1e-9)
    assert sum(p.plan_area for p in roof.planes) == pytest.approx(96.0, abs=1e-9)


@pytest.mark.parametrize(("level", "plan"), [("fascia", 13 * 9), ("plate", 13 * 8.75)])
def test_fascia_stays_level_whichever_gives_way(level: str, plan: float) -> None:
    """South at 12:12 beside 6:12: its overhang of 0.5 m stays, or shrinks to 0.25 m."""
    roof = built(outline(RECTANGLE, 'edge = [{at = 0, pitch = "12:12"}]', f'level = "{level}"'))
    eaves = [z for e in roof.edges if e.role == "eave" for _, _, z in e.ends]
    assert eaves == pytest.approx([2.75] * 8, abs=1e-9)
    assert sum(p.plan_area for p in roof.planes) == pytest.approx(plan, abs=1e-9)


def test_octagon_rises_to_one_point_along_eight_hips() -> None:
    """Hip run is 1.08239 times the common run (octagon practice; books round to 13 per 12)."""
    corners = [
        (
            round(5 * math.cos((k + 0.5) * math.pi / 4), 9),
            round(5 * math.sin((k + 0.5) * math.pi / 4), 9),
        )
        for k in range(8)
    ]
    roof = built(outline(corners, overhang="0 m"))
    common = 5 * math.cos(math.pi / 8)
    assert sums(roof)["hip"] == pytest.approx(8 * 1.08239 * common, rel=1e-5)
    assert top(roof) == pytest.approx(3.0 + common / 2, abs=1e-6)


def test_courtyard_has_valleys_at_its_corners() -> None:
    yard = '[["7 m", "7 m"], ["13 m", "7 m"], ["13 m", "13 m"], ["7 m", "13 m"]]'
    square = [(0, 0), (20, 0), (20, 20), (0, 20)]
    found = sums(built(outline(square, f"courtyard = [{yard}]")))
    diagonal = math.sqrt(2.0) * 4 * 4
    assert (found["hip"], found["valley"]) == pytest.approx((diagonal, diagonal), abs=1e-9)
    assert found["ridge"] == pytest.approx(4 * 13.0, abs=1e-9)


TWO_WAYS = {
    "L": ((hip("m", 12, 8, (0, 0)), hip("w", 14, 8, (8, 0), 90)), ELL),
    "T": (
        (hip("m", 16, 8, (0, 0)), hip("w", 12, 6, (11, -6), 90)),
        [(0, 0), (5, 0), (5, -6), (11, -6), (11, 0), (16, 0), (16, 8), (0, 8)],
    ),
    "U": (
        (hip("m", 20, 6, (0, 0)), hip("w", 12, 6, (6, 0), 90), hip("x", 12, 6, (20, 0), 90)),
        [(0, 0), (20, 0), (20, 12), (14, 12), (14, 6), (6, 6), (6, 12), (0, 12)],
    ),
    "cross": (
        (hip("m", 18, 6, (-6, 0)), hip("w", 18, 6, (6, -6), 90)),
        [
            (0, 0),
            (0, -6),
            (6, -6),
            (6, 0),
            (12, 0),
            (12, 6),
            (6, 6),
            (6, 12),
            (0, 12),
            (0, 6),
            (-6, 6),
            (-6, 0),
        ],
    ),
}


@pytest.mark.parametrize("shape", TWO_WAYS)
def test_sections_and_one_outline_give_the_same_roof(shape: str) -> None:
    sections, corners = TWO_WAYS[shape]
    one, two = built(*sections), built(outline(corners))

    def planes(roof: Roof) -> list[tuple[str, float]]:
        return sorted(
            (p.id.partition(".")[2].partition("_")[0], round(p.area, 6)) for p in roof.planes
        )

    def edges(roof: Roof) -> list[tuple[str, float]]:
        return sorted((e.role.value, round(e.length, 6)) for e in roof.edges)

    assert planes(one) == planes(two)
    assert edges(one) == edges(two)


def test_a_wing_meets_an_outline_like_any_section() -> None:
    """A gable wing 4 m wide into the south plane of an L: two valleys of 4.75 m in plan."""
    wing = outline(
        [(3, -6), (7, -6), (7, 5), (3, 5)],
        "edge = [{at = 0, gable = true}, {at = 2, gable = true}]",
        name="b",
    )
    found = sums(built(outline(ELL), wing))
    assert found["valley"] == pytest.approx(6.364 + 2 * 2.5 * math.sqrt(2.0), abs=1e-3)


def test_overhangs_that_meet_in_a_notch_are_refused_by_place() -> None:
    notched = [(0, 0), (5, 0), (5, 1), (5.4, 1), (5.4, 0), (12, 0), (12, 8), (0, 8)]
    with pytest.raises(
        GeometryError, match=r'section "a".*overhangs cross near .*smaller overhang'
    ):
        built(outline(notched))


def test_a_ridge_between_walls_not_quite_parallel_is_a_ridge() -> None:
    """The far wall 3 cm out of true over 12 m: the top line climbs by less than 0.1 %."""
    skew = [(0, 0), (12, 0), (12, 8.03), (0, 8)]
    gables = "edge = [{at = 1, gable = true}, {at = 3, gable = true}]"
    assert set(sums(built(outline(skew, gables)))) == {"eave", "rake", "ridge"}


def test_hips_of_a_very_low_deck_are_hips() -> None:
    found = sums(built(outline(RECTANGLE, 'deck = "4 m"', 'deck_pitch = "0.02:12"')))
    assert found["hip"] == pytest.approx(4 * 4.5 * math.sqrt(2.0), abs=1e-6)


def test_a_needle_of_a_corner_is_refused_with_its_overhang() -> None:
    with pytest.raises(GeometryError, match="so sharp that its overhang runs out"):
        built(outline([(0, 0), (12, 0), (0, 0.3)]))
