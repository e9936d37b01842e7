"""Laws of the model file: the triangle closes, units do not matter, files round-trip."""

from __future__ import annotations

import json
import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from roof3d.errors import SpecError
from roof3d.spec.model import Form, RoofSpec
from roof3d.spec.read import parse_spec
from roof3d.spec.write import format_spec

# Whole sixteenths of an inch, so that the metric twin of a length is an exact decimal.
sizes = st.integers(12 * 16, 200 * 12 * 16)
coordinates = st.integers(-(10**7), 10**7)


@dataclass(frozen=True)
class Block:
    """A section in whole numbers: lengths in 1/16 in, pitches in 1/8 in a foot, turn in mdeg."""

    form: Form
    length: int
    width: int
    x: int
    y: int
    turn: int
    eave: int
    pitch: int
    back: int
    break_in: int


@st.composite
def blocks(draw: st.DrawFn) -> Block:
    length, width = draw(sizes), draw(sizes)
    return Block(
        form=draw(st.sampled_from([form for form in Form if form is not Form.OUTLINE])),
        length=length,
        width=width,
        x=draw(coordinates),
        y=draw(coordinates),
        turn=draw(st.integers(-720_000, 720_000)),
        eave=draw(st.integers(8 * 12 * 16, 40 * 12 * 16)),
        pitch=draw(st.integers(1, 15 * 8)),
        back=draw(st.integers(1, 15 * 8)),
        # Narrower than half of both sides, and the lower pitch of 16:12 steeper than any here.
        break_in=draw(st.integers(1, (min(length, width) - 1) // 2)),
    )


def imperial(sixteenths: int) -> str:
    sign = "-" if sixteenths < 0 else ""
    feet, rest = divmod(abs(sixteenths), 12 * 16)
    return f"{sign}{feet} ft {rest // 16} {rest % 16}/16 in"


def metric(sixteenths: int) -> str:
    # 1/16 in = 1.5875 mm
    units = abs(sixteenths) * 15875
    return f"{'-' if sixteenths < 0 else ''}{units // 10000}.{units % 10000:04d} mm"


def write(
    block: Block, length: Callable[[int], str], *, ridge: Fraction | None = None, leave: str = ""
) -> str:
    form = block.form
    lines = {
        "form": f'"{form}"',
        "length": f'"{length(block.length)}"',
        "width": f'"{length(block.width)}"',
        "at": f'["{length(block.x)}", "{length(block.y)}"]',
        "turn": f'"{Decimal(block.turn) / 1000} deg"',
        "eave": f'"{length(block.eave)}"',
        "pitch": f'"{block.pitch}:96"',
    }
    if form is Form.GABLE:
        lines["pitch_back"] = f'"{block.back}:96"'
    if form in {Form.GAMBREL, Form.MANSARD}:
        lines["lower_pitch"] = '"16:12"'
        lines["break_in"] = f'"{length(block.break_in)}"'
    if ridge is not None:
        # An inch part with any fraction is exact in the file: p/q in.
        lines["ridge"] = f'"{ridge.numerator}/{ridge.denominator} in"'
    lines.pop(leave, None)
    body = "\n".join(f"{key} = {value}" for key, value in lines.items())
    return f'schema = 1\nname = "law"\n[[section]]\nid = "s"\n{body}\n'


def rise(block: Block) -> Fraction:
    """Height of the ridge over the eave in inches, written apart from the package."""
    pitch, back = Fraction(block.pitch, 96), Fraction(block.back, 96)
    width, narrow = block.width, min(block.width, block.length)
    inset = Fraction(block.break_in, 16)
    match block.form:
        case Form.GABLE:
            near = Fraction(width, 16) * back / (pitch + back)  # where the two sides meet
            return near * pitch
        case Form.HIP:
            return Fraction(narrow, 32) * pitch
        case Form.SHED | Form.FLAT:
            return Fraction(width, 16) * pitch
        case Form.GAMBREL:
            return inset * Fraction(4, 3) + (Fraction(width, 32) - inset) * pitch
        case _:
            return inset * Fraction(4, 3) + (Fraction(narrow, 32) - inset) * pitch


@given(block=blocks())
def test_any_two_of_three_agree_with_all_three(block: Block) -> None:
    ridge = Fraction(block.eave, 16) + rise(block)
    whole = parse_spec(write(block, imperial, ridge=ridge))
    for leave in ("eave", "pitch", "ridge"):
        assert parse_spec(write(block, imperial, ridge=ridge, leave=leave)) == whole


@given(block=blocks())
def test_the_unit_of_input_changes_nothing(block: Block) -> None:
    assert parse_spec(write(block, imperial)) == parse_spec(write(block, metric))


def nearly(spec: RoofSpec, other: RoofSpec) -> bool:
    """Equal but for the last bits of a ridge."""
    pairs = list(zip(spec.sections, other.sections, strict=True))
    return all(
        abs(a.ridge - b.ridge) <= 2 * math.ulp(a.ridge) for a, b in pairs
    ) and spec == replace(other, sections=tuple(replace(b, ridge=a.ridge) for a, b in pairs))


@given(block=blocks())
def test_a_written_spec_reads_back_and_then_never_moves(block: Block) -> None:
    spec = parse_spec(write(block, imperial))
    text = format_spec(spec)
    again = parse_spec(text)
    assert nearly(spec, again)
    assert format_spec(again) == text


temperatures = st.one_of(
    st.integers(-7600, 14000).map(lambda hundredths: f"{Decimal(hundredths) / 100} F"),
    st.integers(-6000, 6000).map(lambda hundredths: f"{Decimal(hundredths) / 100} C"),
)
zones = st.one_of(
    st.sampled_from(["none", "asce_7_10", "asce_7_16"]), st.integers(1, 10**6).map(imperial)
)
words = st.text(
    st.characters(codec="utf-8", exclude_categories=["C", "Z"]), min_size=1, max_size=20
)
ids = st.from_regex(r"[A-Za-z][A-Za-z0-9_-]{0,39}", fullmatch=True)
tables = st.fixed_dictionaries(
    {},
    optional={
        "rules": st.fixed_dictionaries({}, optional={"low_assembly": ids, "steep_assembly": ids}),
        "site": st.fixed_dictionaries(
            {},
            optional={
                "temperature": temperatures,
                "ice_barrier": st.booleans(),
                "code": words,
                "wind": st.sampled_from(["normal", "high"]),
                "zones": zones,
            },
        ),
        "layout": st.fixed_dictionaries(
            {},
            optional={
                "valley": st.sampled_from(["open", "closed_cut"]),
                "even_laps": st.booleans(),
                "ridge_vent": st.booleans(),
            },
        ),
    },
)
BOX = {"id": "s", "form": "hip", "length": "9 m", "width": "6 m", "eave": "3 m", "pitch": "6:12"}


def whole_file(given: dict[str, object]) -> str:
    lines = {"schema": 1, "name": "n", **given, "section": [BOX]}
    return "".join(f"{key} = {toml(value)}\n" for key, value in lines.items())


@given(given=tables)
def test_site_laying_and_wishes_read_back_equal_and_keep_what_was_given(
    given: dict[str, dict[str, object]],
) -> None:
    spec = parse_spec(whole_file(dict(given)))
    text = format_spec(spec)
    assert parse_spec(text) == spec
    assert format_spec(parse_spec(text)) == text
    plain = {
        (table, key): value
        for table, values in given.items()
        for key, value in values.items()
        if key not in {"temperature", "zones"}
    }
    assert {place: getattr(getattr(spec, place[0]), place[1]) for place in plain} == plain


@given(text=st.text(max_size=200))
def test_any_text_is_refused_with_faults_and_nothing_else(text: str) -> None:
    with pytest.raises(SpecError) as caught:
        parse_spec(text)
    assert caught.value.faults


_scalars = st.one_of(
    st.integers(), st.floats(), st.booleans(), st.text(max_size=12), st.sampled_from(["6 ft", "s"])
)
_values = st.recursive(
    _scalars,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=6), inner),
    max_leaves=6,
)


@given(
    key=st.sampled_from(["length", "at", "overhang", "open", "form", "id", "pitch", "base", "zz"]),
    value=_values,
)
def test_any_value_of_any_key_is_read_or_refused(key: str, value: object) -> None:
    section = {
        "id": "s",
        "form": "hip",
        "length": "9 m",
        "width": "6 m",
        "eave": "3 m",
        "pitch": "6:12",
    }
    text = 'schema = 1\nname = "n"\nsection = [' + toml({**section, key: value}) + "]\n"
    try:
        spec = parse_spec(text)
    except SpecError as error:
        assert error.faults[0].where.startswith(("section[0]", "line", "file"))  # noqa: PT017
    else:
        assert len(spec.sections) == 1


@given(
    table=st.sampled_from(["site", "layout", "rules"]),
    key=st.sampled_from(["temperature", "zones", "code", "wind", "valley", "low_assembly", "zz"]),
    value=_values,
)
def test_any_value_of_any_key_of_the_other_tables_is_read_or_refused(
    table: str, key: str, value: object
) -> None:
    try:
        spec = parse_spec(whole_file({table: {key: value}}))
    except SpecError as error:
        assert error.faults[0].where.startswith((table, "line", "file"))  # noqa: PT017
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
    return json.dumps(value, ensure_ascii=False)
