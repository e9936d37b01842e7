"""Site, laying and wishes in the model file: what they become, and each fault with its place."""

from __future__ import annotations

from pathlib import Path

import pytest

from roof3d.errors import SpecError
from roof3d.spec.model import LayoutSpec, RuleSpec, SiteSpec, Valley, Wind, Zones
from roof3d.spec.read import load_spec, parse_spec

MODELS = sorted((Path(__file__).parents[3] / "models").glob("*.toml"))
HEAD = 'schema = 1\nname = "trial"\n'
BODY = """[[section]]
id = "main"
form = "gable"
length = "42 ft"
width = "28 ft"
eave = "9 ft"
pitch = "6:12"
"""


def site(lines: str) -> SiteSpec:
    return parse_spec(f"{HEAD}[site]\n{lines}\n{BODY}").site


def faults(tables: str) -> list[str]:
    with pytest.raises(SpecError) as caught:
        parse_spec(HEAD + tables + "\n" + BODY)
    return [str(fault) for fault in caught.value.faults]


def test_every_key_lands_in_its_place() -> None:
    spec = parse_spec(
        f"""{HEAD}
[rules]
low_slope_cutoff = "3:12"
low_assembly = "two-ply"
steep_assembly = "three-tab"
[site]
temperature = "35 F"
ice_barrier = true
code = "IBC 2021"
wind = "high"
zones = "4 ft"
[layout]
valley = "closed_cut"
even_laps = true
ridge_vent = true
rake_starter = true
{BODY}"""
    )
    assert spec.rules == RuleSpec(
        low_slope_cutoff=0.25, low_assembly="two-ply", steep_assembly="three-tab"
    )
    assert spec.site == SiteSpec(
        temperature=float(5 / 3),  # (35 - 32) x 5/9
        ice_barrier=True,
        code="IBC 2021",
        wind=Wind.HIGH,
        zones=Zones.GIVEN,
        zone_width=1.2192,
    )
    assert spec.layout == LayoutSpec(
        valley=Valley.CLOSED_CUT, even_laps=True, ridge_vent=True, rake_starter=True
    )


def test_what_is_left_out_has_its_default() -> None:
    spec = parse_spec(HEAD + BODY)
    assert (spec.rules, spec.site, spec.layout, spec.catalog) == (
        RuleSpec(low_slope_cutoff=2 / 12),
        SiteSpec(),
        LayoutSpec(),
        None,
    )
    empty = parse_spec(f"{HEAD}[rules]\n[site]\n[layout]\n{BODY}")
    assert empty == spec


@pytest.mark.parametrize("text", ["2 C", "-5 deg C", "-60 C", "60 C", "140 F", "-76 F", "0 F"])
def test_a_temperature_is_read_in_either_scale_up_to_its_bounds(text: str) -> None:
    number, fahrenheit = float(text.partition(" ")[0]), text.endswith("F")
    celsius = (number - 32) / 1.8 if fahrenheit else number
    assert site(f'temperature = "{text}"').temperature == pytest.approx(celsius, abs=1e-12)


@pytest.mark.parametrize(
    ("written", "zones"),
    [("none", Zones.NONE), ("asce_7_10", Zones.ASCE_7_10), ("asce_7_16", Zones.ASCE_7_16)],
)
def test_a_zone_rule_by_name_has_no_width(written: str, zones: Zones) -> None:
    read = site(f'zones = "{written}"')
    assert (read.zones, read.zone_width) == (zones, 0.0)


RULES = 'a rule is one of "none", "asce_7_10", "asce_7_16"'
WRONG = {
    'temperature = "60.1 C"': '"60.1 C" is no day for a roof: -60 C to 60 C is allowed',
    'temperature = "-77 F"': '"-77 F" is no day for a roof: -60 C to 60 C is allowed',
    'temperature = "35"': '"35" has no unit',
    "temperature = 35": "35 has no unit",
    'temperature = "35 K"': '"35 K" is not a temperature',
    'temperature = "warm"': '"warm" is not a temperature',
    'temperature = "nan C"': '"nan C" is no temperature',
    "ice_barrier = 1": "1 is neither true nor false (without quotes)",
    'ice_barrier = "yes"': '"yes" is neither true nor false (without quotes)',
    'code = " "': '" " is no name',
    "code = 2018": "2018 is no name",
    'wind = "strong"': '"strong" is not known (allowed: "normal" or "high")',
    'zones = "given"': f'"given" is not a length: write "28 ft", "12\' 6 1/2\\"", "345 mm" or "3.2 m"; {RULES}',  # noqa: E501
    'zones = "0 ft"': f'"0 ft" must be more than 0; {RULES}',
    "zones = 4": "4 has no unit",
    'zones = "20 km"': f"; {RULES}",
    'snow = "30 psf"': "unknown key (allowed: temperature, ice_barrier, code, wind, zones)",
    'temprature = "35 F"': 'unknown key (did you mean "temperature"?)',
}


@pytest.mark.parametrize("line", WRONG)
def test_a_wrong_value_of_the_site_is_told(line: str) -> None:
    (told,) = faults(f"[site]\n{line}")
    assert told.startswith(f"site.{line.partition(' =')[0]}: ")
    assert WRONG[line] in told


WRONG_LAYING = {
    'valley = "woven"': '"woven" is not known (allowed: "open" or "closed_cut")',
    'even_laps = "true"': '"true" is neither true nor false (without quotes)',
    "ridge_vent = 0": "0 is neither true nor false (without quotes)",
    "ridge = true": 'unknown key (did you mean "ridge_vent"?)',
}


@pytest.mark.parametrize("line", WRONG_LAYING)
def test_a_wrong_value_of_the_laying_is_told(line: str) -> None:
    assert faults(f"[layout]\n{line}") == [
        f"layout.{line.partition(' =')[0]}: {WRONG_LAYING[line]}"
    ]


def test_a_wish_that_is_no_id_is_told() -> None:
    rule = 'cannot be used: a letter first, then letters, digits, "-" or "_", 40 at most'
    assert faults('[rules]\nlow_assembly = "our roof"\nsteep_assembly = 3') == [
        f'rules.low_assembly: "our roof" {rule}',
        f"rules.steep_assembly: 3 {rule}",
    ]


def test_a_table_that_is_none_is_told_with_an_example() -> None:
    example = 'site = { temperature = "35 F", ice_barrier = true }'
    assert faults('site = "north"\nlayout = [1]') == [
        f'site: "north" is not a table (for instance {example})',
        'layout: [1] is not a table (for instance layout = { valley = "closed_cut" })',
    ]


def test_faults_of_all_tables_are_told_at_once() -> None:
    text = (
        'catalog = "gone.toml"\n[rules]\nlow_assembly = ""\n[site]\nwind = 1\n'
        "[layout]\nvalley = 2\n"
    )
    places = [told.partition(":")[0] for told in faults(text)]
    assert places == ["rules.low_assembly", "site.wind", "layout.valley", "catalog"]


@pytest.mark.parametrize("path", MODELS, ids=lambda path: path.stem)
def test_models_without_the_new_tables_read_as_before(path: Path) -> None:
    spec = load_spec(path)
    text = path.read_text(encoding="utf-8")
    if "[site]" not in text:
        assert spec.site == SiteSpec()
    if "[layout]" not in text:
        assert spec.layout == LayoutSpec()
