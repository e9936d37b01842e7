"""``roof3d outline``: what it writes, what it lists, what it refuses."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from roof3d.cli.app import main
from roof3d.spec.model import Form, Units
from roof3d.spec.read import load_spec
from roof3d.units import parse_length

CRS = {"type": "name", "properties": {"name": "urn:ogc:def:crs:EPSG::32632"}}


def box(west: float, south: float, length: float, width: float) -> list[list[float]]:
    east, north = west + length, south + width
    return [[west, south], [east, south], [east, north], [west, north], [west, south]]


def feature(id_: object, *rings: list[list[float]], name: str = "") -> dict[str, object]:
    return {
        "type": "Feature",
        "id": id_,
        "properties": {"name": name},
        "geometry": {"type": "Polygon", "coordinates": list(rings)},
    }


@pytest.fixture
def site(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Two buildings and a line that crosses itself, in an otherwise empty working folder."""
    bow = [[500_000.0, 0.0], [500_009.0, 9.0], [500_009.0, 0.0], [500_000.0, 9.0]]
    path = tmp_path / "site.geojson"
    path.write_text(
        json.dumps(
            {
                "type": "FeatureCollection",
                "crs": CRS,
                "features": [
                    feature("mill", box(500_000.0, 100.0, 20.0, 9.0), name="Old mill"),
                    feature(22, box(500_030.0, 100.0, 12.0, 12.0), box(500_034.0, 104.0, 4.0, 4.0)),
                    feature("bow", bow),
                ],
            }
        )
    )
    monkeypatch.chdir(tmp_path)
    return path


def test_a_chosen_outline_becomes_a_model(site: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["outline", "site.geojson", "--id", "22", "-o", "yard.toml"]) == 0
    said = capsys.readouterr()
    assert (said.out, said.err) == ("Wrote yard.toml\nNext: roof3d measure yard.toml\n", "")
    spec = load_spec("yard.toml")
    (section,) = spec.sections
    assert section.outline is not None
    assert (spec.name, spec.units, section.form) == ("Outline 22", Units.IMPERIAL, Form.OUTLINE)
    assert [len(ring) for ring in section.outline.rings] == [4, 4]
    assert (section.pitch, section.eave) == (0.5, parse_length("9 ft"))


def test_options_say_what_lies_on_it(site: Path) -> None:
    options = ["--pitch", "30 deg", "--overhang", "50 cm", "--gable-ends", "--units", "metric"]
    assert main(["outline", "site.geojson", "--number", "1", "-o", "mill.toml", *options]) == 0
    spec = load_spec("mill.toml")
    (section,) = spec.sections
    assert section.outline is not None
    assert (spec.name, spec.units, section.eave) == ("Old mill", Units.METRIC, 2.8)
    assert [edge.hip_from is None and edge.pitch for edge in section.outline.edges[0]] == [
        pytest.approx(3**-0.5),
        float("inf"),
        pytest.approx(3**-0.5),
        float("inf"),
    ]
    assert {edge.overhang for edge in section.outline.edges[0]} == {0.5}


def test_several_outlines_are_listed_for_choice(
    site: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["outline", "site.geojson", "-o", "x.toml"]) == 2
    said = capsys.readouterr()
    lines = said.err.splitlines()
    assert said.out == ""
    assert lines[0] == (
        "roof3d: site.geojson: holds 3 outlines: choose one, with --number 1 or --id mill"
    )
    assert [line.split() for line in lines[1:3]] == [
        ["1", "mill", "4", "corners", "180.00", "m2", "Old", "mill"],
        ["2", "22", "8", "corners", "128.00", "m2"],
    ]
    assert lines[3].startswith("    3  bow   crosses or touches itself")
    assert len(lines) == 4
    assert list(site.parent.iterdir()) == [site]


def test_a_long_list_is_cut(site: Path, capsys: pytest.CaptureFixture[str]) -> None:
    features = [feature(k, box(500_000.0 + 30 * k, 0.0, 9.0, 9.0)) for k in range(200)]
    site.write_text(json.dumps({"type": "FeatureCollection", "crs": CRS, "features": features}))
    assert main(["outline", "site.geojson", "-o", "x.toml"]) == 2
    lines = capsys.readouterr().err.splitlines()
    assert (len(lines), lines[-1].strip()) == (42, "and 160 more")


def test_one_outline_needs_no_choice(site: Path) -> None:
    site.write_text(json.dumps({**feature("solo", box(5e5, 0.0, 9.0, 7.0)), "crs": CRS}))
    assert main(["outline", "site.geojson", "-o", "solo.toml"]) == 0
    assert load_spec("solo.toml").name == "Outline solo"


WRONG = {
    "no such id": (["--id", "mil"], ('no outline with the id "mil"', 'did you mean "mill"?')),
    "no such number": (["--number", "4"], ("has no outline 4", "--number 1 to 3")),
    "number zero": (["--number", "0"], ("has no outline 0",)),
    "both ways": (["--number", "1", "--id", "22"], ("--id, --number: two ways to choose",)),
    "crossing": (["--id", "bow"], ('outline "bow"', "crosses or touches itself", "mend it")),
    "pitch without unit": (["--number", "1", "--pitch", "6"], ("--pitch:", '"6" has no unit')),
    "eave of nothing": (["--number", "1", "--eave", "0 ft"], ("--eave:", "is not above")),
    "units": (["--number", "1", "--units", "cubits"], ("cubits", "imperial")),
    "gables of a yard": (["--number", "2", "--gable-ends"], ("8 corners", "not guessed")),
    "ending": (["--number", "1", "-o", "x.json"], ("the ending must be .toml",)),
}


@pytest.mark.parametrize("name", WRONG)
def test_wrong_input_is_told_with_a_way_out_and_nothing_is_written(
    name: str, site: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    options, words = WRONG[name]
    assert main(["outline", "site.geojson", "-o", "x.toml", *options]) == 2
    said = capsys.readouterr()
    assert said.out == ""
    assert [word for word in words if word not in said.err] == []
    assert "Traceback" not in said.err
    assert list(site.parent.iterdir()) == [site]


def test_a_missing_file_and_one_that_is_no_geojson_are_refused(
    site: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["outline", "gone.geojson", "-o", "x.toml"]) == 2
    assert capsys.readouterr().err == "roof3d: gone.geojson: there is no such file\n"
    site.write_text("no JSON")
    assert main(["outline", "site.geojson", "-o", "x.toml"]) == 2
    assert "site.geojson: is not JSON: " in capsys.readouterr().err


def test_a_model_that_is_there_stays_until_forced(
    site: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    command = ["outline", "site.geojson", "--number", "1", "-o", "mill.toml"]
    Path("mill.toml").write_text("mine")
    assert main(command) == 2
    assert "is already there" in capsys.readouterr().err
    assert Path("mill.toml").read_text() == "mine"
    assert main([*command, "--force"]) == 0
    assert load_spec("mill.toml").name == "Old mill"


def test_overhangs_that_meet_in_a_notch_are_made_smaller_and_that_is_said(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A notch 0.4 m wide: two overhangs of 400 mm cross in it, two of 100 mm do not."""
    corners = [(0, 0), (5, 0), (5, 1), (5.4, 1), (5.4, 0), (12, 0), (12, 8), (0, 8), (0, 0)]
    ring = [[1000 + x, 1000 + y] for x, y in corners]
    site = tmp_path / "site.geojson"
    site.write_text(json.dumps({"type": "Polygon", "coordinates": [ring]}), encoding="utf-8")
    model = tmp_path / "house.toml"
    assert main(["outline", str(site), "-o", str(model), "--units", "metric"]) == 0
    assert "the model has 0.100 m all round" in capsys.readouterr().out
    assert main(["measure", str(model)]) == 0


@pytest.mark.parametrize("overhang", ["1,5 ft", "-1 ft", "16"])
def test_an_overhang_that_is_none_is_refused(
    overhang: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    site = tmp_path / "site.geojson"
    site.write_text(json.dumps({"type": "Polygon", "coordinates": [box(0, 0, 200, 90)]}))
    arguments = ["outline", str(site), "-o", str(tmp_path / "m.toml"), "--overhang", overhang]
    assert main(arguments) == 2
    assert "overhang" in capsys.readouterr().err
