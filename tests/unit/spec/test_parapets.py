"""Parapets, drains and scuppers in the model file: what they become, and what is refused."""

from __future__ import annotations

import math

import pytest

from roof3d.errors import SpecError
from roof3d.spec.model import OpeningKind, RoofSpec
from roof3d.spec.parapets.sides import WINDS, side_names
from roof3d.spec.read import parse_spec
from roof3d.spec.write import format_spec

INCH = 0.0254
HEAD = 'schema = 1\nname = "test"\nunits = "imperial"\n'
FLAT = """[[section]]
id = "deck"
form = "flat"
length = "30 ft"
width = "20 ft"
eave = "11 ft"
"""
DRAWN = """[[section]]
id = "deck"
form = "outline"
outline = [["0 ft", "0 ft"], ["30 ft", "0 ft"], ["30 ft", "20 ft"], ["0 ft", "20 ft"]]
eave = "11 ft"
pitch = "1/4:12"
fall = 0
"""
PLACE = 'section[0] "deck"'


def faults(text: str) -> list[str]:
    with pytest.raises(SpecError) as caught:
        parse_spec(text)
    return [str(fault) for fault in caught.value.faults]


def read(text: str, parapet: str = '{ height = "2 ft" }') -> RoofSpec:
    return parse_spec(f"{HEAD}{text}parapet = {parapet}\n")


def test_it_stands_on_every_side_and_is_8_in_thick_unless_told() -> None:
    parapet = read(FLAT).sections[0].parapet
    assert parapet is not None
    assert (parapet.height, parapet.thickness) == pytest.approx((24 * INCH, 8 * INCH))
    assert parapet.sides is None


@pytest.mark.parametrize(
    ("words", "sides"),
    [
        ('sides = ["south"]', (0,)),
        ('sides = ["west", "east", "west"]', (1, 3)),
        ('without = ["north"]', (0, 1, 3)),
    ],
)
def test_sides_of_a_rectangle_are_winds(words: str, sides: tuple[int, ...]) -> None:
    parapet = read(FLAT, f'{{ height = "2 ft", {words} }}').sections[0].parapet
    assert parapet is not None
    assert parapet.sides == sides


def test_winds_turn_with_the_section() -> None:
    spec = read(FLAT + 'turn = "90 deg"\n', '{ height = "2 ft", sides = ["east"] }')
    assert spec.sections[0].parapet is not None
    # Turned a quarter to the left, the first wall looks east.
    assert spec.sections[0].parapet.sides == (0,)


@pytest.mark.parametrize("degrees", [0, 22, 23, 45, 90, 137, 180, 271, 359, -40])
def test_four_sides_never_share_a_name(degrees: float) -> None:
    names = side_names(math.radians(degrees))
    assert len(set(names)) == 4
    assert set(names) <= set(WINDS)
    # The first wall looks south, turned to the left: no name is off by more than half a wind.
    azimuth = WINDS.index(names[0]) * 45.0
    assert abs((azimuth - (180.0 - degrees) + 180.0) % 360.0 - 180.0) <= 22.5


CLOCKWISE = """[[section]]
id = "deck"
form = "outline"
outline = [["0 ft", "0 ft"], ["0 ft", "20 ft"], ["30 ft", "20 ft"], ["30 ft", "0 ft"]]
eave = "11 ft"
pitch = "1/4:12"
fall = 3
"""


@pytest.mark.parametrize(
    ("text", "sides"),
    # The south and the east wall, as each list counts its edges.
    [(DRAWN, "[0, 1]"), (CLOCKWISE, "[2, 3]")],
)
def test_sides_of_an_outline_are_its_edges_whichever_way_it_runs(text: str, sides: str) -> None:
    section = read(text, f'{{ height = "2 ft", sides = {sides} }}').sections[0]
    assert section.outline is not None
    assert section.parapet is not None
    ring = [(round(x / INCH), round(y / INCH)) for x, y in section.outline.rings[0]]
    walls = [(ring[k], ring[(k + 1) % 4]) for k in section.parapet.sides or ()]
    assert set(walls) == {((0, 0), (360, 0)), ((360, 0), (360, 240))}


OUTLETS = """
[[opening]]
id = "drain"
kind = "drain"
at = ["15 ft", "2 ft"]
diameter = "8 in"
sump = "36 in"
[[opening]]
id = "low"
kind = "scupper"
at = ["4 ft", "0 ft"]
width = "12 in"
[[opening]]
id = "high"
kind = "scupper"
at = ["8 ft", "0 ft"]
width = "12 in"
height = "6 in"
overflow = true
[[opening]]
id = "spare"
kind = "drain"
at = ["20 ft", "2 ft"]
diameter = "6 in"
overflow = true
sill = "3 in"
"""


def test_drains_and_scuppers_land_in_si_with_their_defaults() -> None:
    drain, low, high, spare = read(FLAT, '{ height = "2 ft" }' + OUTLETS).openings
    inches = [round(value / INCH, 9) for value in (*drain.size, drain.height, drain.sump)]
    assert (drain.kind, inches) == (OpeningKind.DRAIN, [8, 8, 4, 36])
    inches = [round(value / INCH, 9) for value in (*low.size, low.height, low.sill)]
    assert (low.kind, low.overflow, inches) == (OpeningKind.SCUPPER, False, [12, 4, 4, 0])
    # IRC R903.4.1: the inlet of an overflow lies 2 in above the low point.
    assert (high.overflow, spare.overflow) == (True, True)
    assert (high.size[1], high.sill, spare.sill) == pytest.approx((6 * INCH, 2 * INCH, 3 * INCH))


@pytest.mark.parametrize(
    ("section", "parapet"),
    [
        (FLAT, '{ height = "2 ft" }'),
        (
            FLAT + 'turn = "30 deg"\n',
            '{ height = "0.4 m", thickness = "20 cm", sides = ["southeast"] }',
        ),
        (DRAWN, '{ height = "2 ft", without = [2] }'),
    ],
)
def test_what_is_written_reads_back(section: str, parapet: str) -> None:
    spec = read(section, parapet + OUTLETS)
    assert parse_spec(format_spec(spec)) == spec


@pytest.mark.parametrize(
    ("text", "told"),
    [
        (
            FLAT + "parapet = {}\n",
            f'{PLACE}.parapet.height: is missing (for instance height = "2 ft")',
        ),
        (
            FLAT + 'parapet = { height = "0 ft" }\n',
            f'{PLACE}.parapet.height: "0 ft" must be more than 0',
        ),
        (
            FLAT + 'parapet = { height = "2 ft", side = ["south"] }\n',
            f'{PLACE}.parapet.side: unknown key (did you mean "sides"?)',
        ),
        (
            FLAT + 'parapet = { height = "2 ft", sides = ["southeast"] }\n',
            (
                f'{PLACE}.parapet.sides[0]: this section has no side "southeast" '
                "(its sides are south, east, north, west)"
            ),
        ),
        (
            FLAT + 'parapet = { height = "2 ft", sides = ["front"] }\n',
            (
                f'{PLACE}.parapet.sides[0]: "front" is no side: north, northeast, east, southeast, '
                "south, southwest, west, northwest, or an edge's number"
            ),
        ),
        (
            FLAT + 'parapet = { height = "2 ft", sides = ["south"], without = ["east"] }\n',
            f"{PLACE}.parapet.without: cannot be with sides (leave one of them out)",
        ),
        (
            FLAT + 'parapet = { height = "2 ft", without = ["south", "east", "north", "west"] }\n',
            f"{PLACE}.parapet.without: leaves no side (leave the parapet out)",
        ),
        (
            FLAT + 'parapet = { height = "2 ft", thickness = "10 ft" }\n',
            (
                f"{PLACE}.parapet.thickness: 10' 0\" on both sides leaves no roof "
                "(it must be below 10' 0\", half the narrow side)"
            ),
        ),
        (
            FLAT + 'open = true\nparapet = { height = "2 ft" }\n',
            f"{PLACE}.parapet: stands on a wall, and an open section has none (leave one out)",
        ),
        (
            FLAT + 'pitch = "2:12"\nparapet = { height = "2 ft" }\n',
            (
                f"{PLACE}.parapet: this roof has 2:12, and a parapet holds in only a membrane, "
                "below 2:12 (leave it out, or make the roof flatter)"
            ),
        ),
        (
            DRAWN + 'parapet = { height = "2 ft", sides = [4] }\n',
            f"{PLACE}.parapet.sides[0]: this section has no side 4 (its edges count from 0 to 3)",
        ),
        (
            DRAWN + 'edge = [{ at = 1, overhang = "1 ft" }]\nparapet = { height = "2 ft" }\n',
            (
                f"{PLACE}.parapet: edge 1 has an overhang of 1' 0\", and a parapet stands on the "
                'wall (for instance edge = [{ at = 1, overhang = "0 ft" }])'
            ),
        ),
    ],
)
def test_a_wrong_parapet_is_told_with_place_and_way_out(text: str, told: str) -> None:
    assert faults(HEAD + text) == [told]


@pytest.mark.parametrize(
    ("keys", "told"),
    [
        (
            'kind = "drain"',
            'diameter: is missing: a drain needs it (for instance diameter = "3 in")',
        ),
        (
            'kind = "scupper"',
            'width: is missing: a scupper needs it (for instance width = "12 in")',
        ),
        (
            'kind = "drain"\ndiameter = "8 in"\nsump = "8 in"',
            "sump: is no wider than the bowl (leave it out, or make it wider)",
        ),
        (
            'kind = "pipe"\ndiameter = "8 in"\noverflow = true',
            "overflow: belongs to a drain or scupper, and this is a pipe (leave it out)",
        ),
        (
            'kind = "scupper"\nwidth = "8 in"\nsump = "2 ft"',
            "sump: does not belong to a scupper (leave it out)",
        ),
        (
            'kind = "scupper"\nwidth = "8 in"\ndiameter = "2 in"',
            "diameter: does not belong to a scupper (it has width)",
        ),
    ],
)
def test_a_wrong_outlet_is_told_with_place_and_way_out(keys: str, told: str) -> None:
    opening = f'[[opening]]\nid = "o"\nat = ["2 ft", "2 ft"]\n{keys}\n'
    assert faults(HEAD + FLAT + opening) == [f'opening[0] "o".{told}']
