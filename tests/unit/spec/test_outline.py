"""Outline sections: what they become, by hand arithmetic, and every fault with its place."""

from __future__ import annotations

import math
from collections.abc import Sequence
from fractions import Fraction

import pytest

from roof3d.errors import SpecError
from roof3d.spec.model import EdgeSpec, Form, OutlineSpec, OverhangSpec, SectionSpec
from roof3d.spec.read import parse_spec
from roof3d.spec.write import format_spec
from roof3d.units import parse_length

FOOT = 0.3048
Corners = Sequence[tuple[float, float]]
HEAD = 'schema = 1\nname = "trial"\n'
# An L, 30 ft by 20 ft, its notch of 10 ft by 8 ft in the north-east.
CORNERS = [(0, 0), (30, 0), (30, 12), (20, 12), (20, 20), (0, 20)]
YARD = [(4, 4), (8, 4), (8, 8), (4, 8)]


def ring(corners: Corners) -> str:
    return "[" + ", ".join(f'["{x} ft", "{y} ft"]' for x, y in corners) + "]"


def model(
    *lines: str,
    corners: Corners = CORNERS,
    eave: str = "9 ft",
    pitch: str = "6:12",
    overhang: str = '{ eave = "2 ft", rake = "1 ft" }',
) -> str:
    body = [
        '[[section]]\nid = "wing"\nform = "outline"',
        f"outline = {ring(corners)}",
        f'eave = "{eave}"\npitch = "{pitch}"\noverhang = {overhang}',
        *lines,
    ]
    return HEAD + "\n".join(body)


def section(text: str) -> SectionSpec:
    return parse_spec(text).sections[0]


def outline(text: str) -> OutlineSpec:
    found = section(text).outline
    assert found is not None
    return found


def edge(
    *, pitch: float = 0.5, eave: float = 9.0, overhang: float = 2.0, **more: float
) -> EdgeSpec:
    """An edge by feet."""
    return EdgeSpec(
        pitch=pitch,
        eave=eave * FOOT,
        overhang=overhang * FOOT,
        hip_from=more["hip_from"] * FOOT if "hip_from" in more else None,
        hip_pitch=more.get("hip_pitch", 0.0),
        gable_from=more["gable_from"] * FOOT if "gable_from" in more else None,
    )


def close(found: EdgeSpec, expected: EdgeSpec) -> bool:
    """Whether two edges are the same to the last bits."""
    pairs = [
        (getattr(found, key), getattr(expected, key))
        for key in ("pitch", "eave", "overhang", "hip_from", "hip_pitch", "gable_from")
    ]
    return all(
        a == b if a is None or b is None else a == pytest.approx(b, rel=1e-15, abs=0)
        for a, b in pairs
    )


def faults(text: str) -> list[str]:
    with pytest.raises(SpecError) as caught:
        parse_spec(text)
    return [str(fault) for fault in caught.value.faults]


def test_every_key_lands_in_its_place_in_si() -> None:
    text = """schema = 1
name = "All keys"
[[section]]
id = "wing"
form = "outline"
outline = [["0 m", "0 m"], ["12 m", "0 m"], ["12 m", "10 m"], ["0 m", "10 m"]]
courtyard = [[["4 m", "4 m"], ["4 m", "6 m"], ["6 m", "6 m"], ["6 m", "4 m"]]]
at = ["-1 m", "2 m"]
turn = "90 deg"
eave = "3 m"
pitch = "6:12"
overhang = { eave = "40 cm", rake = "20 cm" }
level = "fascia"
edge = [
  { at = 0, gable = true, hip_from = "5 m", pitch = "9:12" },
  { at = 1, gable_from = "4 m" },
  { at = 2, gable = true, overhang = "50 cm" },
  { at = 3, pitch = "12:12" },
  { courtyard = 0, at = 1, pitch = "3:12", eave = "3.5 m", overhang = "10 cm" },
]
deck = "6 m"
base = "1 m"
open = true
assembly = "laminated-shingle"
"""
    hip = EdgeSpec(pitch=0.5, eave=3.0, overhang=0.4, hip_from=None, hip_pitch=0.0, gable_from=None)
    assert section(text) == SectionSpec(
        id="wing",
        form=Form.OUTLINE,
        length=0.0,
        width=0.0,
        at=(-1.0, 2.0),
        turn=math.pi / 2,
        eave=3.0,
        ridge=3.0,
        pitch=0.5,
        pitch_back=0.5,
        lower_pitch=0.0,
        break_in=0.0,
        overhang=OverhangSpec(eave=0.4, rake=0.2),
        base=1.0,
        open=True,
        assembly="laminated-shingle",
        outline=OutlineSpec(
            rings=(
                ((0.0, 0.0), (12.0, 0.0), (12.0, 10.0), (0.0, 10.0)),
                ((4.0, 4.0), (4.0, 6.0), (6.0, 6.0), (6.0, 4.0)),
            ),
            edges=(
                (
                    EdgeSpec(
                        pitch=math.inf,
                        eave=3.0,
                        overhang=0.2,
                        hip_from=5.0,
                        hip_pitch=0.75,
                        gable_from=None,
                    ),
                    EdgeSpec(
                        pitch=0.5,
                        eave=3.0,
                        overhang=0.4,
                        hip_from=None,
                        hip_pitch=0.0,
                        gable_from=4.0,
                    ),
                    EdgeSpec(
                        pitch=math.inf,
                        eave=3.0,
                        overhang=0.5,
                        hip_from=None,
                        hip_pitch=0.0,
                        gable_from=None,
                    ),
                    EdgeSpec(
                        pitch=1.0,
                        eave=3.2,
                        overhang=0.4,
                        hip_from=None,
                        hip_pitch=0.0,
                        gable_from=None,
                    ),  # 3 - 0.2 + 0.4
                ),
                (
                    hip,
                    EdgeSpec(
                        pitch=0.25,
                        eave=3.5,
                        overhang=0.1,
                        hip_from=None,
                        hip_pitch=0.0,
                        gable_from=None,
                    ),
                    hip,
                    hip,
                ),
            ),
            fall=None,
            deck=6.0,
            deck_pitch=float(Fraction(1, 48)),
        ),
    )


# Section: eave 9 ft, 6:12, overhang 2 ft, so the fascia lies at 8 ft.
LEVELS = {
    "fascia keeps the overhang": ("", '{ at = 0, pitch = "12:12" }', edge(pitch=1.0, eave=10.0)),
    "fascia follows its own overhang": (
        "",
        '{ at = 0, pitch = "12:12", overhang = "3 ft" }',
        edge(pitch=1.0, eave=11.0, overhang=3.0),
    ),
    "an overhang alone moves the plate too": (
        "",
        '{ at = 0, overhang = "3 ft" }',
        edge(eave=9.5, overhang=3.0),
    ),
    "plate changes the overhang": (
        'level = "plate"',
        '{ at = 0, pitch = "12:12" }',
        edge(pitch=1.0, overhang=1.0),
    ),
    "plate with a flatter edge": (
        'level = "plate"',
        '{ at = 0, pitch = "3:12" }',
        edge(pitch=0.25, overhang=4.0),
    ),
    "plate and overhang given, the fascia steps": (
        'level = "plate"',
        '{ at = 0, pitch = "12:12", overhang = "2 ft" }',
        edge(pitch=1.0),
    ),
    "a step in the plate": ("", '{ at = 0, eave = "11 ft" }', edge(eave=11.0)),
    "a step in the plate, all given": (
        'level = "plate"',
        '{ at = 0, eave = "11 ft", pitch = "3:12", overhang = "1 ft" }',
        edge(pitch=0.25, eave=11.0, overhang=1.0),
    ),
    "gable": ("", "{ at = 0, gable = true }", edge(pitch=math.inf, overhang=1.0)),
    "clipped gable with the section's pitch": (
        "",
        '{ at = 0, gable = true, hip_from = "12 ft" }',
        edge(pitch=math.inf, overhang=1.0, hip_from=12.0, hip_pitch=0.5),
    ),
    "gable on a hip": (
        "",
        '{ at = 0, gable_from = "11 ft" }',
        edge(gable_from=11.0),
    ),
}


@pytest.mark.parametrize("name", LEVELS)
def test_what_an_edge_does_not_say_follows_from_the_section(name: str) -> None:
    level, table, expected = LEVELS[name]
    found = outline(model(level, f"edge = [{table}]"))
    assert close(found.edges[0][0], expected), found.edges[0][0]
    assert all(close(other, edge()) for other in found.edges[0][1:])


@pytest.mark.parametrize("start", range(6))
def test_a_ring_written_the_other_way_round_is_the_same_walls(start: int) -> None:
    """Each edge keeps its roof whichever way and from whichever corner the ring is written."""
    pitches = [3, 4, 5, 6, 7, 8]

    def roofs(order: list[int]) -> dict[frozenset[tuple[float, float]], tuple[float, float]]:
        tables = []
        for at, corner in enumerate(order):
            following = order[(at + 1) % 6]
            wall = corner if following == (corner + 1) % 6 else following
            tables.append(f'{{ at = {at}, pitch = "{pitches[wall]}:12" }}')
        text = model(f"edge = [{', '.join(tables)}]", corners=[CORNERS[k] for k in order])
        found = outline(text)
        points, row = found.rings[0], found.edges[0]
        assert area(points) > 0.0
        assert points[0] == tuple(parse_length(f"{value} ft") for value in CORNERS[order[0]])
        return {
            frozenset({points[at], points[(at + 1) % 6]}): (row[at].pitch, row[at].eave)
            for at in range(6)
        }

    forward = [(start + step) % 6 for step in range(6)]
    backward = [(start - step) % 6 for step in range(6)]
    assert roofs(forward) == roofs(backward) == roofs(list(range(6)))
    assert len(set(roofs(forward).values())) == 6


def area(points: tuple[tuple[float, float], ...]) -> float:
    return (
        sum(
            ax * by - bx * ay
            for (ax, ay), (bx, by) in zip(points, points[1:] + points[:1], strict=True)
        )
        / 2.0
    )


@pytest.mark.parametrize("turned", [False, True])
def test_courtyards_run_clockwise_and_keep_their_edges(turned: bool) -> None:  # noqa: FBT001
    yard = YARD[::-1] if turned else YARD
    at = 2 if turned else 0  # the south wall of the yard
    found = outline(
        model(
            f"courtyard = [{ring(yard)}]",
            f'edge = [{{ courtyard = 0, at = {at}, pitch = "4:12" }}]',
        )
    )
    points, row = found.rings[1], found.edges[1]
    assert area(points) == pytest.approx(-16 * FOOT**2, rel=1e-12)
    special = [k for k in range(4) if row[k].pitch == float(Fraction(1, 3))]
    assert len(special) == 1
    ends = {points[special[0]], points[(special[0] + 1) % 4]}
    assert ends == {(4 * FOOT, 4 * FOOT), (8 * FOOT, 4 * FOOT)}


@pytest.mark.parametrize("turned", [False, True])
def test_one_plane_falls_to_its_edge_and_level_edges_have_the_overhang_of_an_eave(
    turned: bool,  # noqa: FBT001
) -> None:
    corners = CORNERS[::-1] if turned else CORNERS
    fall = 4 if turned else 0
    found = outline(model(f"fall = {fall}", corners=corners))
    assert found.fall is not None
    low = {found.rings[0][found.fall], found.rings[0][(found.fall + 1) % 6]}
    assert low == {(0.0, 0.0), (30 * FOOT, 0.0)}
    levels = {k for k in range(6) if found.rings[0][k][1] == found.rings[0][(k + 1) % 6][1]}
    row = found.edges[0]
    assert {k for k in range(6) if row[k].overhang == 2 * FOOT} == levels
    assert {k for k in range(6) if row[k].overhang == FOOT} == set(range(6)) - levels
    assert {k for k in range(6) if row[k].pitch == 0.5} == {found.fall}


def test_under_one_plane_an_edge_has_its_own_overhang() -> None:
    found = outline(model("fall = 0", 'edge = [{ at = 1, overhang = "3 ft" }]'))
    assert [spec.overhang for spec in found.edges[0][:2]] == [2 * FOOT, pytest.approx(3 * FOOT)]


def test_walls_in_line_may_be_alike() -> None:
    corners = [(0, 0), (10, 0), (30, 0), (30, 20), (0, 20)]
    assert len(outline(model(corners=corners)).rings[0]) == 5
    both = 'edge = [{ at = 0, pitch = "4:12" }, { at = 1, pitch = "4:12" }]'
    assert [e.pitch for e in outline(model(both, corners=corners)).edges[0][:2]] == [1 / 3, 1 / 3]
    assert outline(model("fall = 0", corners=corners)).fall == 0


SQUARE: Corners = [(0, 0), (20, 0), (20, 20), (0, 20)]
IN_LINE: Corners = [(0, 0), (10, 0), (30, 0), (30, 20), (0, 20)]
WRONG: dict[str, tuple[str, str]] = {
    "two corners": (
        model(corners=[(0, 0), (9, 0)]),
        "outline: has 2 corners, and walls need 3 or more",
    ),
    "no corners": (model(corners=[]), "outline: has 0 corners"),
    "closed": (
        model(corners=[*SQUARE, (0, 0)]),
        "outline[4]: is corner 0 once more (leave it out: the walls close anyway)",
    ),
    "repeated": (model(corners=[*SQUARE[:2], *SQUARE[1:]]), "outline[2]: lies on corner 1"),
    "there and back": (
        model(corners=[(0, 0), (20, 0), (20, 20), (20, 30), (20, 20.0001), (0, 20)]),
        "outline[3]: the wall turns straight back on itself here",
    ),
    "a line": (
        model(corners=[(0, 0), (10, 0), (20, 0)]),
        "outline[0]: the wall turns straight back on itself here",
    ),
    "bow tie": (
        model(corners=[(0, 0), (20, 20), (20, 0), (0, 20)]),
        (
            "outline[2]: the edge from corner 2 to 3 crosses the edge from corner 0 to 1 "
            "(put the corners in order round the walls)"
        ),
    ),
    "pinched": (
        model(corners=[(0, 0), (20, 0), (20, 20), (10, 0), (0, 20)]),
        "outline[2]: the edge from corner 2 to 3 touches the edge from corner 0 to 1",
    ),
    "too many corners": (
        HEAD
        + '[[section]]\nid = "wing"\nform = "outline"\neave = "9 ft"\npitch = "6:12"\noutline = [\n'
        + '["0 m", "0 m"],\n' * 2001
        + "]",
        "outline: has more than the 2000 entries allowed",
    ),
    "too many corners with the courtyards": (
        model(corners=[(k, k * k) for k in range(2000)]).replace('"], ["', '"],\n["')
        + f"\ncourtyard = [{ring(YARD)}]",
        "outline: has 2004 corners with its courtyards, at most 2000",
    ),
    "as large as a county": (
        model(corners=[(0, 0), (40_000, 0), (0, 40_000)]),
        "outline: is 40000' 0\" from end to end: at most 10000 m",
    ),
    "beyond the earth": (
        model(corners=[(0, 0), (40_000_000, 0), (0, 40)]),
        'outline[1][0]: "40000000 ft" is too large: at most 10000000 m',
    ),
    "bare corner": (
        model().replace('"30 ft", "0 ft"', "30, 0", 1).replace("30, 0", '30, "0 ft"'),
        "outline[1][0]: 30 has no unit",
    ),
    "one number for a corner": (
        model().replace('["30 ft", "0 ft"]', '["30 ft"]', 1),
        "outline[1][1]: is missing",
    ),
    "nan": (model().replace('"30 ft"', "nan", 1), "outline[1][0]: nan is no length"),
    "courtyard outside": (
        model(f"courtyard = [{ring([(40, 4), (44, 4), (44, 8)])}]"),
        "courtyard[0]: lies outside the outline",
    ),
    "courtyard round it": (
        model(f"courtyard = [{ring([(-5, -5), (44, -5), (44, 44), (-5, 44)])}]"),
        "courtyard[0]: lies outside the outline",
    ),
    "courtyard across": (
        model(f"courtyard = [{ring([(10, 4), (44, 5), (10, 6)])}]"),
        (
            "courtyard[0][0]: the edge from corner 0 to 1 crosses the edge from corner 1 to 2 of "
            "outline (keep them apart)"
        ),
    ),
    "courtyard touching": (
        model(f"courtyard = [{ring([(10, 0), (14, 4), (10, 8)])}]"),
        (
            "courtyard[0][0]: the edge from corner 0 to 1 touches the edge from corner 0 to 1 of "
            "outline"
        ),
    ),
    "courtyard in a courtyard": (
        model(f"courtyard = [{ring(YARD)}, {ring([(5, 5), (6, 5), (6, 6)])}]"),
        "courtyard[1]: lies in courtyard[0]",
    ),
    "courtyard round a courtyard": (
        model(f"courtyard = [{ring([(5, 5), (6, 5), (6, 6)])}, {ring(YARD)}]"),
        "courtyard[0]: lies in courtyard[1]",
    ),
    "edge beyond the last": (
        model("edge = [{ at = 6, gable = true }]"),
        "edge[0].at: outline has no corner 6 (its corners count from 0 to 5)",
    ),
    "edge of no courtyard": (
        model("edge = [{ courtyard = 0, at = 1, gable = true }]"),
        "edge[0].courtyard: there is no courtyard 0",
    ),
    "edge twice": (
        model("edge = [{ at = 1, gable = true }, { at = 1, gable = true }]"),
        "edge[1].at: this edge was given before, by edge[0]",
    ),
    "edge before the first": (model("edge = [{ at = -1 }]"), "edge[0].at: -1 is not a whole"),
    "edge by name": (model('edge = [{ at = "2" }]'), 'edge[0].at: "2" is not a whole number'),
    "edge without at": (
        model("edge = [{ gable = true }]"),
        "edge[0].at: is missing (for instance at = 2)",
    ),
    "edge with a typo": (
        model("edge = [{ at = 1, gabel = true }]"),
        'edge[0].gabel: unknown key (did you mean "gable"?)',
    ),
    "level edge": (model('edge = [{ at = 1, pitch = "0:12" }]'), "edge[0].pitch: is 0:12"),
    "level plane": (model(pitch="0:12"), "pitch: is 0:12, and an outline has a slope"),
    "gable and gable_from": (
        model('edge = [{ at = 1, gable = true, gable_from = "12 ft" }]'),
        "edge[0].gable_from: is a gable from the eave up already",
    ),
    "gable with a pitch": (
        model('edge = [{ at = 1, gable = true, pitch = "3:12" }]'),
        "edge[0].pitch: a gable has no pitch (leave it out, or add hip_from",
    ),
    "gable with an eave": (
        model('edge = [{ at = 1, gable = true, eave = "9 ft" }]'),
        "edge[0].eave: a gable has no eave",
    ),
    "hip_from alone": (
        model('edge = [{ at = 1, hip_from = "12 ft" }]'),
        "edge[0].hip_from: a hip that starts higher up needs a gable (write gable = true)",
    ),
    "hip_from under the eave": (
        model('edge = [{ at = 1, gable = true, hip_from = "9 ft" }]'),
        "edge[0].hip_from: 9' 0\" is not above the eave, 9' 0\"",
    ),
    "gable_from under its own eave": (
        model('edge = [{ at = 1, gable_from = "10 ft", eave = "10 ft" }]'),
        "edge[0].gable_from: 10' 0\" is not above its eave, 10' 0\"",
    ),
    "all gables": (
        model("edge = [" + ", ".join(f"{{ at = {k}, gable = true }}" for k in range(6)) + "]"),
        "edge: every edge is a gable, so nothing carries the roof",
    ),
    "deck under the eave": (model('deck = "9 ft"'), "deck: 9' 0\" is not above the eave, 9' 0\""),
    "deck under one eave": (
        model('deck = "10 ft"', 'edge = [{ at = 1, eave = "11 ft" }]'),
        "deck: 10' 0\" is not above the eave, 11' 0\"",
    ),
    "deck as steep as the roof": (
        model('deck = "12 ft"\ndeck_pitch = "6:12"'),
        "deck_pitch: 6:12 is not flatter than the roof below, 6:12",
    ),
    "deck_pitch alone": (model('deck_pitch = "1:12"'), "deck_pitch: there is no deck"),
    "fall to no edge": (model("fall = 6"), "fall: outline has no corner 6"),
    "fall to an inner edge": (
        model("fall = 2"),
        "fall: edge 2 is not the lowest: corner 4 lies beyond it",
    ),
    "fall and deck": (model('fall = 0\ndeck = "12 ft"'), "deck: cannot be with fall"),
    "fall and gable": (
        model("fall = 0", "edge = [{ at = 1, gable = true }]"),
        "edge[0].gable: cannot be with fall",
    ),
    "fall and pitch": (
        model("fall = 0", 'edge = [{ at = 1, pitch = "3:12" }]'),
        "edge[0].pitch: cannot be with fall: the roof is one plane",
    ),
    "pitches in line": (
        model('edge = [{ at = 1, pitch = "3:12" }]', corners=IN_LINE),
        (
            "outline[1]: edges 0 and 1 run straight on here with unlike pitches, so their "
            "planes never meet; a step of the eave between them is not enough"
        ),
    ),
    "pitches in line, eave stepped": (
        model('edge = [{ at = 1, pitch = "3:12", eave = "12 ft" }]', corners=IN_LINE),
        "outline[1]: edges 0 and 1 run straight on here with unlike pitches",
    ),
    "gable in line with an eave": (
        model("edge = [{ at = 0, gable = true }]", corners=IN_LINE),
        "outline[1]: edges 0 and 1 run straight on here with unlike pitches",
    ),
    "eaves in line": (
        model('edge = [{ at = 1, eave = "12 ft" }]', corners=IN_LINE),
        "outline[1]: edges 0 and 1 run straight on here with unlike eaves",
    ),
    "gable_from in line": (
        model('edge = [{ at = 1, gable_from = "12 ft" }]', corners=IN_LINE),
        "outline[1]: edges 0 and 1 run straight on here with unlike gable_from",
    ),
    "corner 0 in line": (
        model('edge = [{ at = 0, pitch = "3:12" }]', corners=[*IN_LINE[1:], IN_LINE[0]]),
        "outline[0]: edges 4 and 0 run straight on here with unlike pitches",
    ),
    "overhang into the ground": (
        model(overhang='"18 ft"'),
        "overhang: runs down 9' 0\" from an eave at 9' 0\", into the ground",
    ),
    "overhang of an edge into the ground": (
        model('level = "plate"', 'edge = [{ at = 1, pitch = "60:12", overhang = "2 ft" }]'),
        "edge[0]: its overhang runs down 10' 0\" from an eave at 9' 0\", into the ground",
    ),
    "eave under the walls": (
        model('base = "9 ft"', overhang='"0 ft"'),
        "eave: 9' 0\" is not above the underside of the walls, 9' 0\"",
    ),
    "eave of an edge under the walls": (
        model('base = "3 ft"', 'edge = [{ at = 1, eave = "3 ft" }]'),
        "edge[0].eave: its eave, 3' 0\", is not above the underside of the walls, 3' 0\"",
    ),
    "unknown level": (model('level = "ridge"'), 'level: "ridge" is not known (allowed: "fascia"'),
    "ridge": (model('ridge = "20 ft"'), "ridge: follows from the outline"),
    "length": (model('length = "20 ft"'), "length: does not belong to an outline"),
    "pitch_back": (model('pitch_back = "6:12"'), "pitch_back: does not belong to an outline"),
    "no eave": (model().replace('eave = "9 ft"\n', ""), "eave: is missing (for instance eave ="),
    "no pitch": (model().replace('pitch = "6:12"\n', ""), "pitch: is missing"),
}


# A line turns back at both its ends; where a corner lies on an edge both its edges meet it.
TOLD_TWICE = {"a line", "pinched", "courtyard across", "courtyard touching"}


@pytest.mark.parametrize("name", WRONG)
def test_a_wrong_outline_is_one_fault_with_its_place(name: str) -> None:
    text, fault = WRONG[name]
    found = faults(text)
    assert found[0].startswith(f'section[0] "wing".{fault}'), found
    assert len(found) == (2 if name in TOLD_TWICE else 1), found


def test_all_faults_of_an_outline_come_at_once() -> None:
    text = model(
        'length = "9 ft"\nridge = "12 ft"\ndeck = "8 ft"',
        "edge = [",
        '  { at = 9, gable = true }, { at = 0, gable = true, hip_from = "3 ft" },',
        '  { at = 1, pitch = "0:12" },',
        "]",
    )
    assert [
        fault.partition(": ")[0].removeprefix('section[0] "wing".') for fault in faults(text)
    ] == [
        "length",
        "ridge",
        "edge[0].at",
        "edge[1].hip_from",
        "edge[2].pitch",
    ]


def test_a_scribble_of_two_thousand_corners_is_refused_with_ten_crossings() -> None:
    corners = [(k * 7919 % 2003, k * 104729 % 1999) for k in range(2000)]
    found = faults(model(corners=corners).replace('"], ["', '"],\n["'))
    assert len(found) == 11
    assert found[-1].endswith("and more crossings beyond these")


def test_an_outline_9000_km_from_zero_is_checked_to_the_millimetre() -> None:
    def far(gap_mm: int) -> str:
        corners = [(0, 0), (20000, 0), (20000, 20000), (10000, gap_mm), (0, 20000)]
        points = ", ".join(f'["{9_000_000_000 + x} mm", "{y} mm"]' for x, y in corners)
        return (
            HEAD
            + f'[[section]]\nid = "wing"\nform = "outline"\noutline = [{points}]\n'
            + 'eave = "3 m"\npitch = "6:12"'
        )

    assert len(outline(far(1)).rings[0]) == 5
    assert "touches" in faults(far(0))[0]
    assert "crosses" in faults(far(-1))[0]


@pytest.mark.parametrize(
    ("line", "pitch"),
    [("", 1 / 48), ('deck_pitch = "0:12"', 0.0), ('deck_pitch = "1/2:12"', 1 / 24)],
)
def test_a_deck_falls_a_quarter_inch_in_twelve_where_nothing_is_said(
    line: str, pitch: float
) -> None:
    found = outline(model('deck = "12 ft"', line))
    assert (found.deck, found.deck_pitch) == (parse_length("12 ft"), pitch)


def test_an_outline_comes_back_equal_with_everything_on_it() -> None:
    text = model(
        f"courtyard = [{ring(YARD[::-1])}, {ring([(12, 4), (14, 4), (13, 6)])}]",
        'level = "plate"\nturn = "33.3 deg"\nat = ["1/3 ft", "-2 m"]\ndeck = "12 ft"',
        "edge = [",
        '  { at = 0, gable = true, hip_from = "11 ft", pitch = "37.7 deg" },',
        '  { at = 1, gable_from = "10 ft 1/3 in" }, { at = 2, pitch = "7:12" },',
        '  { at = 3, gable = true }, { at = 4, eave = "10 ft", overhang = "5 in" },',
        '  { courtyard = 1, at = 2, pitch = "3:12" },',
        "]",
        corners=CORNERS[::-1],
    )
    spec = parse_spec(text)
    written = format_spec(spec)
    assert parse_spec(written) == spec
    assert format_spec(parse_spec(written)) == written


def test_one_plane_comes_back_equal() -> None:
    spec = parse_spec(
        model("fall = 4", 'edge = [{ at = 3, overhang = "5 in" }]', corners=CORNERS[::-1])
    )
    assert parse_spec(format_spec(spec)) == spec
