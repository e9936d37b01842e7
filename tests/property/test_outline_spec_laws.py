"""Laws of outline sections in the model file: they round-trip, and any value is read or refused."""

from __future__ import annotations

import json
import math

from hypothesis import given
from hypothesis import strategies as st

from roof3d.errors import SpecError
from roof3d.spec.read import parse_spec
from roof3d.spec.write import format_spec

RADII = st.lists(st.integers(3000, 12000), min_size=3, max_size=9)
YARD = [[-900, -900], [-900, 900], [900, 900], [900, -900]]


def millimetres(corner: list[int]) -> str:
    return f'["{corner[0]} mm", "{corner[1]} mm"]'


def ring(corners: list[list[int]]) -> str:
    return "[" + ",\n".join(map(millimetres, corners)) + "]"


@st.composite
def edge_tables(draw: st.DrawFn, counts: list[int]) -> str:
    """Tables for some edges, each kind that may stand."""
    tables = []
    for number, count in enumerate(counts):
        # The last edge slopes, so that not all are gables.
        for at in range(count - 1):
            kind = draw(st.sampled_from(["", "", "gable", "clipped", "hip", "step", "half"]))
            place = f"at = {at}" + (f", courtyard = {number - 1}" if number else "")
            pitch = f'pitch = "{draw(st.integers(20, 200))}:123"'
            past = f'overhang = "{draw(st.integers(0, 60))} in"'
            words = {
                "": [],
                "gable": ["gable = true", past],
                "clipped": ["gable = true", f'hip_from = "{draw(st.integers(31, 60))} ft"', pitch],
                "hip": [pitch, past],
                "step": [pitch, f'eave = "{draw(st.integers(30, 40))} ft 1/3 in"'],
                "half": ['gable_from = "300 ft"', pitch],
            }[kind]
            if words:
                tables.append("{ " + ", ".join([place, *words]) + " }")
    return "edge = [\n" + ",\n".join(tables) + "]"


@st.composite
def outlines(draw: st.DrawFn) -> str:
    """A model with one outline section: a star of corners, perhaps with a courtyard."""
    radii = draw(RADII)
    corners = [
        [
            round(radius * math.cos(k * math.tau / len(radii))),
            round(radius * math.sin(k * math.tau / len(radii))),
        ]
        for k, radius in enumerate(radii)
    ]
    rings = [corners, YARD] if len(radii) > 3 and draw(st.booleans()) else [corners]
    rings = [given[::-1] if draw(st.booleans()) else given for given in rings]
    lines = [
        'schema = 1\nname = "law"\n[[section]]\nid = "s"\nform = "outline"',
        f"outline = {ring(rings[0])}",
        f'eave = "30 ft"\npitch = "{draw(st.integers(12, 200))}:121"',
        f'overhang = "{draw(st.integers(0, 30))} in"',
        f'turn = "{draw(st.integers(-720_000, 720_000)) / 1000} deg"',
        f'level = "{draw(st.sampled_from(["fascia", "plate"]))}"',
    ]
    if rings[1:]:
        lines.append(f"courtyard = [{ring(rings[1])}]")
    if draw(st.booleans()):
        lines.append('deck = "299 ft"\ndeck_pitch = "0:12"')
    lines.append(draw(edge_tables([len(given) for given in rings])))
    return "\n".join(lines)


@given(text=outlines())
def test_a_written_outline_reads_back_equal(text: str) -> None:
    spec = parse_spec(text)
    written = format_spec(spec)
    assert parse_spec(written) == spec
    assert format_spec(parse_spec(written)) == written


_scalars = st.one_of(
    st.integers(-3, 9), st.floats(), st.booleans(), st.sampled_from(["9 ft", "6:12", "plate", ""])
)
_values = st.recursive(
    _scalars,
    lambda inner: (
        st.lists(inner, max_size=4)
        | st.dictionaries(st.sampled_from(["at", "gable", "pitch", "eave", "courtyard"]), inner)
    ),
    max_leaves=12,
)
_KEYS = ["outline", "courtyard", "edge", "fall", "deck", "deck_pitch", "level", "eave", "length"]


@given(key=st.sampled_from(_KEYS), value=_values)
def test_any_value_of_any_key_is_read_or_refused(key: str, value: object) -> None:
    section: dict[str, object] = {
        "id": "s",
        "form": "outline",
        "outline": [["0 m", "0 m"], ["9 m", "0 m"], ["0 m", "9 m"]],
        "eave": "2 m",
        "pitch": "6:12",
    }
    text = 'schema = 1\nname = "n"\nsection = [' + toml({**section, key: value}) + "]\n"
    try:
        spec = parse_spec(text)
    except SpecError as error:
        assert error.faults[0].where.startswith('section[0] "s"')  # noqa: PT017
    else:
        assert parse_spec(format_spec(spec)) == spec


def toml(value: object) -> str:
    """Write a value as TOML."""
    if isinstance(value, dict):
        return "{" + ", ".join(f"{json.dumps(k)} = {toml(v)}" for k, v in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(toml(item) for item in value) + "]"
    if isinstance(value, float):
        return repr(value)
    return json.dumps(value)
