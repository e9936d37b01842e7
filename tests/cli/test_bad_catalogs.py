"""Wrong catalogs and planes of odd size: one clear error and nothing left, or a right answer."""

from __future__ import annotations

import json
import math
import os
import subprocess
import sys
from pathlib import Path
from typing import Any, NamedTuple

import pytest

from roof3d.cli.app import main
from tests.model_text import FOOT, INCH, SQUARE_FOOT

SHED = """\
schema = 1
name = "Shed"
units = "imperial"
{top}
[[section]]
id = "shed"
form = "{form}"
length = "{length}"
width = "{width}"
at = ["0 ft", "0 ft"]
eave = "9 ft"
pitch = "{pitch}"
"""

CAP = """\
[[material]]
id = "granule-cap"
name = "Our cap sheet"
form = "sheet"
purpose = "Weather surface."
thickness = "0.14 in"
width = "36 in"
length = "33 ft"
side_lap = "4 in"
end_lap = "6 in"
pack = "roll"
[material.sources]
thickness = "label"
width = "label"
length = "label"
side_lap = "label"
end_lap = "label"
"""

LIKE = """\
[[assembly]]
id = "self-adhered-membrane"
like = "self-adhered-membrane"
name = "Our membrane"
"""


def written(
    folder: Path,
    *,
    catalog: str = "",
    tables: str = "",
    form: str = "shed",
    length: str = "30 ft",
    width: str = "20 ft",
    pitch: str = "1:12",
) -> Path:
    """Write a model, and its own catalog beside it where there is one."""
    top = ('catalog = "own.toml"\n' if catalog else "") + tables
    path = folder / "model.toml"
    path.write_text(SHED.format(top=top, form=form, length=length, width=width, pitch=pitch))
    if catalog:
        (folder / "own.toml").write_text(catalog)
    return path


def names(folder: Path) -> set[str]:
    return {path.name for path in folder.iterdir()}


class Wrong(NamedTuple):
    """A catalog or tables that are wrong, the place that is told, and words of the message."""

    place: str
    words: tuple[str, ...]
    catalog: str = ""
    tables: str = ""


WRONG = {
    "layer of an unknown material": Wrong(
        "own.toml.assembly[0] (like 'self-adhered-membrane').layer[3].material",
        ("no material 'moss'", "known: ", "granule-cap"),
        LIKE + '[[assembly.layer]]\nrole = "cap"\nmaterial = "moss"\n',
    ),
    "unknown layer left out": Wrong(
        "own.toml.assembly[0].without[0]",
        ("no layer and no strip 'moss'", "it has: deck, base, ply, cap"),
        LIKE + 'without = ["moss"]\n',
    ),
    "like an unknown assembly": Wrong(
        "own.toml.assembly[0]",
        ("like", "no assembly 'thatch'"),
        LIKE.replace('like = "self-adhered-membrane"', 'like = "thatch"'),
    ),
    "side lap wider than the roll": Wrong(
        "own.toml.material[0].side_lap",
        ("leaves nothing", "40 in", "36 in"),
        CAP.replace('"4 in"', '"40 in"'),
    ),
    "side lap as wide as the roll": Wrong(
        "own.toml.material[0].side_lap",
        ("leaves nothing", "36 in"),
        CAP.replace('"4 in"', '"36 in"'),
    ),
    "end lap longer than the roll": Wrong(
        "own.toml.material[0].end_lap",
        ("leaves nothing", "40 ft", "33 ft"),
        CAP.replace('"6 in"', '"40 ft"'),
    ),
    "lap of a layer wider than its roll": Wrong(
        "layer[3].side_lap",
        ("leaves nothing of 'granule-cap'", "3' 3 3/8\""),
        LIKE + '[[assembly.layer]]\nrole = "cap"\nside_lap = "40 in"\n',
    ),
    "roll of zero length": Wrong(
        "own.toml.material[0].length",
        ("above zero", "0 ft"),
        CAP.replace('"33 ft"', '"0 ft"'),
    ),
    "roll of zero width": Wrong(
        "own.toml.material[0].width",
        ("above zero", "0 in"),
        CAP.replace('"36 in"', '"0 in"'),
    ),
    "roll of negative length": Wrong(
        "own.toml.material[0].length", ("-33 ft",), CAP.replace('"33 ft"', '"-33 ft"')
    ),
    "roll as a bare number": Wrong(
        "own.toml.material[0].length", ("33", "unit"), CAP.replace('"33 ft"', "33")
    ),
    "value without a source": Wrong(
        "own.toml.material[0]", ("length", "source"), CAP.replace('length = "label"\n', "")
    ),
    "assembly wish that is not there": Wrong(
        "rules.low_assembly",
        ('no assembly "thatch"', "self-adhered-membrane", "mineral-roll"),
        tables='[rules]\nlow_assembly = "thatch"\n',
    ),
    "edition that is not known": Wrong(
        "site.code",
        ("no ice barrier rule", "IRC 1999", "IRC 2015", "IRC 2024"),
        tables='[site]\ncode = "IRC 1999"\nice_barrier = true\n',
    ),
    "temperature without its unit": Wrong(
        "site.temperature", ("35 has no unit", '"35 F"'), tables="[site]\ntemperature = 35\n"
    ),
}


def test_the_catalogs_that_are_spoilt_below_are_good(tmp_path: Path) -> None:
    for catalog in (CAP, LIKE):
        model = written(tmp_path, catalog=catalog)
        assert main(["takeoff", str(model), "-o", str(tmp_path / "good.json"), "--force"]) == 0


@pytest.mark.parametrize("ending", ["xlsx", "csv", "json", "txt"])
@pytest.mark.parametrize("wrong", WRONG.values(), ids=WRONG)
def test_a_fault_is_told_with_its_place_and_nothing_is_written(
    wrong: Wrong,
    ending: str,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    written(tmp_path, catalog=wrong.catalog, tables=wrong.tables)
    before = names(tmp_path)
    monkeypatch.chdir(tmp_path)
    assert main(["takeoff", "model.toml", "-o", f"out.{ending}"]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert err.startswith("roof3d: model.toml: ")
    assert wrong.place in err
    assert [word for word in wrong.words if word not in err] == []
    assert "Traceback" not in err
    assert names(tmp_path) == before


def test_every_fault_of_a_catalog_is_told_at_once(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    catalog = CAP.replace('"33 ft"', '"0 ft"').replace('"4 in"', '"40 in"')
    assert main(["takeoff", str(written(tmp_path, catalog=catalog))]) == 2
    err = capsys.readouterr().err
    assert "material[0].length" in err
    assert "material[0].side_lap" in err


def counted(model: Path, capsys: pytest.CaptureFixture[str]) -> dict[str, Any]:
    assert main(["takeoff", str(model), "--json"]) == 0
    out, err = capsys.readouterr()
    assert err == ""
    document: dict[str, Any] = json.loads(out)
    return document


def items(document: dict[str, Any]) -> dict[str, dict[str, Any]]:
    return {item["material"]: item for item in document["items"]}


# 4 in up the slope is less than any lap but the base sheet's: one course of each layer, half an
# inch back at the cap; two of what is half lapped, for every point to lie under two.
@pytest.mark.parametrize(
    ("wish", "role", "material", "courses"),
    [
        ("self-adhered-membrane", "ply", "self-adhered-ply", 1),
        ("self-adhered-membrane", "cap", "granule-cap", 1),
        ("single-ply", "cap", "single-ply-sheet", 1),
        ("mineral-roll", "cap", "mineral-roll", 2),
    ],
)
def test_a_plane_narrower_than_a_lap_takes_what_covers_it(
    wish: str,
    role: str,
    material: str,
    courses: int,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
) -> None:
    tables = f'[rules]\nlow_assembly = "{wish}"\n'
    model = written(tmp_path, tables=tables, length="12 ft", width="4 in")
    document = counted(model, capsys)
    (layer,) = (layer for layer in document["layers"] if layer["role"] == role)
    back = 0.5 if role == "cap" else 0.0
    area = (144 - 2 * back) * (4 * math.sqrt(145) / 12 - 2 * back) * INCH**2
    assert (layer["courses"], layer["pieces"]) == (courses, courses)
    assert layer["extent_area_m2"] == pytest.approx(area)
    item = items(document)[material]
    assert item["net"] == pytest.approx(courses * area)
    assert item["packs"] == 1


def test_a_steep_plane_narrower_than_an_exposure_takes_one_course(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    model = written(tmp_path, length="12 ft", width="4 in", pitch="6:12")
    document = counted(model, capsys)
    layers = {layer["role"]: layer for layer in document["layers"]}
    # 4 in in plan are 4.47 along the slope; 144.75 in of strips of 39 3/8 are four.
    assert (layers["shingles"]["courses"], layers["shingles"]["pieces"]) == (1, 4)
    assert layers["underlayment"]["pieces"] == 1
    assert items(document)["laminated-shingle"]["packs"] == 1


HALL = {"length": "1420 ft", "width": "1420 ft"}

#: A child that says last how much memory it took at most, in kB.
CHILD = """\
import resource, sys
from roof3d.cli.app import main
status = main(sys.argv[1:])
print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss, file=sys.stderr)
sys.exit(status)
"""
MOST_MEMORY = 1_500_000


def large(model: Path) -> dict[str, Any]:
    """Take off a large roof in a process of its own, in bounded memory, quietly."""
    result = subprocess.run(
        [sys.executable, "-c", CHILD, "takeoff", str(model), "--json"],
        capture_output=True,
        encoding="utf-8",
        timeout=300,
        check=False,
    )
    assert result.returncode == 0
    assert int(result.stderr) < MOST_MEMORY  # and where no terminal is, no bar
    document: dict[str, Any] = json.loads(result.stdout)
    return document


def test_two_million_square_feet_of_membrane(tmp_path: Path) -> None:
    document = large(written(tmp_path, **HALL))
    side, sloped = 17040.0, 17040.0 * math.sqrt(145) / 12
    base, ply, cap = document["layers"]
    assert base["plane_area_m2"] == pytest.approx(side * sloped * INCH**2)
    assert base["plane_area_m2"] > 2e6 * SQUARE_FOOT
    # Courses: the whole height and one lap more, by what shows of a sheet; the first may be cut.
    for layer, height, shown in (
        (base, sloped + 4, 35.375),  # laps widened to those of the plies
        (ply, sloped, 35.375),
        (cap, sloped - 1, 35.375),
    ):
        least = math.ceil((height - 39.375) / shown) + 1
        assert least <= layer["courses"] <= least + 1
    # Extent, side laps and end laps, a little less in the last course, cut at the high edge.
    wide = side - 1
    laps = (cap["courses"] - 1) * 4 * wide
    ends = (cap["pieces"] - cap["courses"]) * 6 * 39.375
    net = items(document)["granule-cap"]["net"] / INCH**2
    assert net == pytest.approx(wide * (sloped - 1) + laps + ends, rel=5e-5)
    rolls = items(document)["granule-cap"]["packs"]
    assert net <= rolls * 39.375 * 10 / INCH <= 1.005 * net
    # What laps of their least width would not keep over so many courses is told.
    assert "R3D-LAPS-WIDENED" in {finding["code"] for finding in document["findings"]}


def test_two_million_square_feet_of_shingles(tmp_path: Path) -> None:
    document = large(written(tmp_path, **HALL, pitch="6:12"))
    across, up = 17040.75, 17040.0 * math.sqrt(1.25) + 0.375
    shingles = document["layers"][-1]
    assert shingles["role"] == "shingles"
    assert shingles["courses"] == math.ceil(up / 5.625)
    strips = shingles["courses"] * across / 39.375
    bundles = items(document)["laminated-shingle"]["packs"]
    assert strips <= 22 * bundles <= 1.001 * strips + 22
    whole = shingles["courses"] * (across / 39.375 - 2)
    assert 4 * whole <= shingles["nails"] <= 4 * shingles["pieces"]


@pytest.mark.skipif(sys.platform == "win32", reason="needs a pseudo-terminal")
def test_long_work_shows_on_a_terminal_how_far_it_is(tmp_path: Path) -> None:
    import pty

    model = written(tmp_path, **HALL, form="hip", pitch="6:12")
    leader, follower = pty.openpty()
    with subprocess.Popen(
        [sys.executable, "-m", "roof3d", "takeoff", str(model), "--json"],
        stdout=subprocess.DEVNULL,
        stderr=follower,
        env=os.environ | {"TERM": "xterm", "NO_COLOR": "1", "COLUMNS": "80"},
    ) as process:
        os.close(follower)
        shown = b""
        while True:
            try:
                part = os.read(leader, 65536)
            except OSError:  # the other end is closed
                break
            if not part:
                break
            shown += part
        assert process.wait(timeout=300) == 0
    os.close(leader)
    text = shown.decode("utf-8", "replace")
    assert "Laying out" in text
    assert "/4" in text  # planes of the hip
    # The bar is gone in the end: its line is cleared.
    assert text.rstrip().endswith("\x1b[?25h") or "\x1b[2K" in text


def test_laps_that_leave_a_hair_of_each_sheet_are_refused_or_laid(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    # A ten-thousandth of an inch shows of each sheet: two million courses on 20 ft.
    catalog = LIKE + '[[assembly.layer]]\nrole = "cap"\nside_lap = "39.3749 in"\n'
    model = written(tmp_path, catalog=catalog)
    before = names(tmp_path)
    assert main(["takeoff", str(model), "-o", str(tmp_path / "out.json")]) == 2
    err = capsys.readouterr().err
    assert "layers[shed.south/cap]" in err
    assert "courses" in err
    assert names(tmp_path) == before


def test_a_roll_of_7_inches_is_a_roll(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    # Odd, but right: an inch shows of each piece, and what cannot be kept is told.
    catalog = CAP.replace('"33 ft"', '"7 in"').replace(
        'pack = "roll"', 'pack = "roll"\nstagger = "3 in"'
    )
    catalog = catalog.replace('end_lap = "label"', 'end_lap = "label"\nstagger = "label"')
    document = counted(written(tmp_path, catalog=catalog), capsys)
    (cap,) = (layer for layer in document["layers"] if layer["role"] == "cap")
    # 359 in: a piece of 7 and 352 more of an inch each, or one or two more where courses start
    # with a shorter one; eight courses of 36 in with 4 in laps.
    assert cap["courses"] == math.ceil((20 * FOOT * math.sqrt(145) / 12 / INCH - 1 - 36) / 32) + 1
    assert 353 * cap["courses"] <= cap["pieces"] <= 355 * cap["courses"]
    assert "R3D-LAPS" in {finding["code"] for finding in document["findings"]}
