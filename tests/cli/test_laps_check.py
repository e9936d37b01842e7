"""``roof3d check`` proves the laps: a model can be built wrong by its own settings, and is told."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from roof3d.cli.app import main

SHED = """\
schema = 1
name = "Shed"
units = "{units}"
{top}
[[section]]
id = "shed"
form = "shed"
length = "{length}"
width = "{width}"
at = ["0 ft", "0 ft"]
eave = "9 ft"
pitch = "{pitch}"
{tables}
"""

#: The ply of a membrane with laps of an inch: UFGS-07550, 3.3.6 asks for 3 in.
SHORT = """\
[[material]]
id = "self-adhered-ply"
like = "self-adhered-ply"
side_lap = "1 in"

[[assembly]]
id = "self-adhered-membrane"
like = "self-adhered-membrane"
[[assembly.layer]]
role = "ply"
without = ["side_lap"]
"""

#: Felt with laps of an inch under shingles: NAVEDTRA 14045 asks for 2 in.
FELT = """\
[[material]]
id = "synthetic-underlayment"
like = "synthetic-underlayment"
side_lap = "1 in"
"""

#: Else the laps of an inch are widened to those of the sheets they touch.
USUAL = "[layout]\neven_laps = false\n"

LAYER = """
[[assembly.layer]]
material = "{material}"
role = "{role}"
fastening = "As the label says."
source = "our own"
"""


def _own(*layers: tuple[str, str]) -> str:
    """Write an assembly of our own, its layers in that order, bottom up."""
    text = '[[assembly]]\nid = "ours"\nname = "Ours"\nkind = "{kind}"\nleast_slope = "1/4:12"\n'
    text += 'slope_source = "our own"\n'
    return text + "".join(LAYER.format(material=m, role=r) for m, r in layers)


ORDERS = {
    "cap under its base": (
        "membrane",
        "1:12",
        (("sheathing", "deck"), ("granule-cap", "cap"), ("base-sheet", "base")),
        {"R3D-LAP-BARE"},
    ),
    "felt over the shingles": (
        "shingle",
        "6:12",
        (
            ("sheathing", "deck"),
            ("laminated-shingle", "shingles"),
            ("synthetic-underlayment", "underlayment"),
        ),
        {"R3D-LAP-BARE"},
    ),
}


def _written(folder: Path, *, catalog: str = "", **values: str) -> Path:
    known = {"units": "imperial", "length": "30 ft", "width": "20 ft", "pitch": "1:12"}
    top = 'catalog = "ours.toml"' if catalog else ""
    if catalog:
        (folder / "ours.toml").write_text(catalog, encoding="utf-8")
    model = folder / "shed.toml"
    text = SHED.format(**(known | {"tables": "", "top": top} | values))
    model.write_text(text, encoding="utf-8")
    return model


def _laps(model: Path, capsys: pytest.CaptureFixture[str], status: int) -> list[dict[str, Any]]:
    """Check a model, and return what is told of its laps."""
    assert main(["check", str(model), "--json"]) == status
    findings = json.loads(capsys.readouterr().out)["findings"]
    return [finding for finding in findings if finding["code"].startswith("R3D-LAP-")]


@pytest.mark.parametrize("pitch", ["1:12", "6:12"])
def test_a_right_shed_says_nothing_of_laps(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], pitch: str
) -> None:
    assert _laps(_written(tmp_path, pitch=pitch), capsys, 0) == []


@pytest.mark.parametrize(
    ("catalog", "pitch", "layer", "asked", "source"),
    [
        (SHORT, "1:12", "shed.south/ply", '3"', "UFGS-07550, 3.3.6"),
        (FELT, "6:12", "shed.south/underlayment", '2"', "NAVEDTRA 14045"),
    ],
)
def test_laps_of_an_inch_break_the_printed_rule(
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    catalog: str,
    pitch: str,
    layer: str,
    asked: str,
    source: str,
) -> None:
    """However many courses there are: one line, with its piece, place, numbers and source."""
    model = _written(tmp_path, catalog=catalog, pitch=pitch, tables=USUAL)
    (found,) = [f for f in _laps(model, capsys, 1) if f["code"] == "R3D-LAP-SHORT-LAP"]
    assert found["severity"] == "error"
    assert found["where"].startswith(f"planes[shed.south], layers[{layer}], course ")
    assert f'1" where {asked} is asked' in found["message"]
    assert "more like it on this layer" in found["message"]
    assert source in found["source"]
    x, y, z = found["at_m"]
    assert 0.0 <= x <= 30 * 0.3048
    assert 0.0 <= y <= 20 * 0.3048
    rise = 1 / 12 if pitch == "1:12" else 1 / 2
    assert z == pytest.approx(9 * 0.3048 + y * rise, abs=1e-6)
    feet = ", ".join(f"{value / 0.3048:.2f}" for value in (x, y, z))
    assert f"at ({feet}) ft" in found["message"]


@pytest.mark.parametrize("order", ORDERS)
def test_layers_in_the_wrong_order_are_told(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], order: str
) -> None:
    kind, pitch, layers, codes = ORDERS[order]
    catalog = _own(*layers).replace("{kind}", kind)
    tables = 'assembly = "ours"'
    found = _laps(_written(tmp_path, catalog=catalog, pitch=pitch, tables=tables), capsys, 1)
    assert codes <= {f["code"] for f in found if f["severity"] == "error"}


def test_even_laps_forbidden_where_they_are_needed_are_told(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A wide shed whose laps drift together: the model may ask for even ones, or be told."""
    wide = {"length": "90 ft", "width": "70 ft", "pitch": "1/2:12"}
    for word, status in (("true", 0), ("false", 1)):
        tables = f"[layout]\neven_laps = {word}\n"
        found = _laps(_written(tmp_path, tables=tables, **wide), capsys, status)
        assert bool(found) == bool(status)
    (stacked,) = found
    assert stacked["code"] == "R3D-LAP-STACKED"
    assert stacked["severity"] == "error"
    assert stacked["where"].startswith("planes[shed.south], layers[shed.south/ply]")
    assert stacked["source"] == "UFGS-07550"


def test_the_text_tells_what_the_document_tells(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """In the model's own units, and ending with status 1."""
    model = _written(tmp_path, catalog=SHORT, units="metric", tables=USUAL)
    (found,) = [f for f in _laps(model, capsys, 1) if f["code"] == "R3D-LAP-SHORT-LAP"]
    assert main(["check", str(model)]) == 1
    said = " ".join(capsys.readouterr().out.split())
    assert f"- error: {found['where']}: {found['message']}" in said
    metres = ", ".join(f"{value:.2f}" for value in found["at_m"])
    assert f"at ({metres}) m" in found["message"]
