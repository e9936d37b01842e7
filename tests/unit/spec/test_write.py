"""A spec written as a file: every key comes back."""

from __future__ import annotations

from pathlib import Path

import pytest

from roof3d.spec.read import load_spec, parse_spec
from roof3d.spec.starter import starter_model
from roof3d.spec.write import format_spec

MODELS = sorted((Path(__file__).parents[3] / "models").glob("*.toml"))


@pytest.mark.parametrize("path", MODELS, ids=lambda path: path.stem)
def test_the_demo_models_come_back_equal(path: Path) -> None:
    spec = load_spec(path)
    assert parse_spec(format_spec(spec)) == spec


def test_the_starter_comes_back_equal_with_quotes_in_its_name() -> None:
    spec = parse_spec(starter_model().replace('"My roof"', "'The \"old\" roof \\ barn'"))
    assert spec.name == 'The "old" roof \\ barn'
    assert parse_spec(format_spec(spec)) == spec


def test_a_pitch_is_written_as_its_ratio() -> None:
    text = format_spec(load_spec(next(path for path in MODELS if path.stem == "plum-corner")))
    assert text.count('pitch = "7:12"') == 3


TABLES = """catalog = "our\\\\roofs.toml"
[rules]
low_slope_cutoff = "3:12"
low_assembly = "two-ply"
steep_assembly = "three-tab"
[site]
temperature = "35 F"
ice_barrier = true
code = "IBC 2021, \\"as adopted\\""
wind = "high"
zones = "4 ft 1/3 in"
[layout]
valley = "closed_cut"
membrane_rise = "vertical"
even_laps = true
ridge_vent = true
rake_starter = true
"""


def test_every_table_comes_back_equal(tmp_path: Path) -> None:
    (tmp_path / "our\\roofs.toml").write_text("# nothing yet\n")
    body = 'schema = 1\nname = "all"\n' + TABLES
    section = '[[section]]\nid = "s"\nform = "hip"\nlength = "9 m"\nwidth = "6 m"\n'
    spec = parse_spec(body + section + 'eave = "3 m"\npitch = "6:12"\n', folder=tmp_path)
    written = format_spec(spec)
    assert parse_spec(written, folder=tmp_path) == spec
    for key in ("site", "layout"):
        default = getattr(load_spec(MODELS[0]), key)
        changed = getattr(spec, key)
        same = [
            name for name in default.__slots__ if getattr(default, name) == getattr(changed, name)
        ]
        assert same == [], "each key must be written to come back"


def test_every_turn_comes_back_to_the_last_bit() -> None:
    # One in twenty of these needs the neighbour of its nearest degrees.
    body = 'schema = 1\nname = "turns"\n' + "".join(
        f'[[section]]\nid = "s{step}"\nform = "hip"\nlength = "9 m"\nwidth = "6 m"\n'
        f'turn = "{step * 7}.{step:03d} deg"\neave = "3 m"\npitch = "6:12"\n'
        for step in range(400)
    )
    spec = parse_spec(body)
    assert parse_spec(format_spec(spec)) == spec
