"""What ``roof3d takeoff`` says and writes: real models, all the way from the file."""

from __future__ import annotations

import csv
import io
import json
import re
import threading
import time
from pathlib import Path
from typing import Any

import openpyxl
import pytest

import roof3d
from roof3d.cli.app import main
from roof3d.cli.output import progress
from tests.model_text import SQUARE_FOOT

SHED = """\
schema = 1
name = "{name}"
units = "{units}"

[[section]]
id = "shed"
form = "shed"
length = "30 ft"
width = "{width}"
at = ["0 ft", "0 ft"]
eave = "9 ft"
pitch = "1:12"
"""


def shed(
    folder: Path, *, name: str = "Shed", units: str = "imperial", width: str = "20 ft"
) -> Path:
    path = folder / f"shed-{width.split(maxsplit=1)[0]}-{units}.toml"
    path.write_text(SHED.format(name=name, units=units, width=width))
    return path


def counted(model: Path, capsys: pytest.CaptureFixture[str], *more: str) -> dict[str, Any]:
    assert main(["takeoff", str(model), "--json", *more]) == 0
    document: dict[str, Any] = json.loads(capsys.readouterr().out)
    return document


def said(capsys: pytest.CaptureFixture[str], *arguments: str | Path) -> str:
    assert main(["takeoff", *map(str, arguments)]) == 0
    out, err = capsys.readouterr()
    assert err == ""
    return out


def rows(text: str, title: str) -> list[list[str]]:
    """Rows of one table; cells are parted by two spaces or more."""
    block = text.split(f"\n{title}", 1)[1].split("\n\n", 1)[0]
    return [re.split(r" {2,}", line) for line in block.splitlines()[2:]]


def test_table_shows_the_numbers_of_the_json(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    model = shed(tmp_path)
    document = counted(model, capsys)
    text = said(capsys, model)
    table = rows(text, "Items")
    shown = {cells[0]: cells for cells in table if cells[0]}
    places = [cells[1:] for cells in table if not cells[0]]
    assert list(shown) == [item["name"] for item in document["items"]]
    sheets = [item for item in document["items"] if item["unit"] == "m2"]
    assert len(sheets) >= 2
    for item in sheets:
        _, net, unit, waste, percent, left, ordered, packs = shown[item["name"]]
        assert ["shed.south", net] in places
        assert unit == "sq ft"
        assert [net, waste, left, ordered] == [
            f"{item[key] / SQUARE_FOOT:,.1f}" for key in ("net", "waste", "left", "ordered")
        ]
        assert packs.split()[0] == str(item["packs"])
        assert percent == f"{item['waste_percent']:,.1f} %"
    plane, *below = rows(text, "Layers")
    area = document["layers"][0]["plane_area_m2"] / SQUARE_FOOT
    assert plane == ["shed.south", f"{area:,.1f}", f"{area / 100:.2f}"]
    layers = {cells[1]: cells for cells in below}
    for layer in document["layers"]:
        _, _, extent, squares, courses, pieces, nails, *_ = layers[layer["role"]]
        assert extent == f"{layer['extent_area_m2'] / SQUARE_FOOT:,.1f}"
        assert squares == f"{layer['extent_area_m2'] / SQUARE_FOOT / 100:.2f}"
        assert [courses, pieces, nails] == [
            f"{layer[key]:,}" for key in ("courses", "pieces", "nails")
        ]
    assert "\nAssumed\n- " in text
    assert "\nCautions\n- Falls kill" in text


def test_a_metric_model_is_told_in_metric_units_and_orders_the_same(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    imperial, metric = (shed(tmp_path, units=units) for units in ("imperial", "metric"))
    one, two = (counted(model, capsys)["items"] for model in (imperial, metric))
    for item in (*one, *two):
        item.pop("rule")  # it says sizes in the units of the model
    assert one == two
    text = said(capsys, metric)
    table = text.split("\nItems", 1)[1].split("\n\n", 1)[0]
    assert re.search(r"\b(sq ft|ft|gal)\b", table) is None
    assert {" m2", " m ", " l "} - {
        unit for unit in (" m2", " m ", " l ") if unit in table
    } == set()


PIPES = {'bath-vent, 3" pipe'}
"""Of plum-corner: a flashing is told by its pipe."""


def test_where_used_is_told_by_plane_and_sums_to_the_net(
    models: dict[str, Path], capsys: pytest.CaptureFixture[str]
) -> None:
    model = models["plum-corner"]
    document = counted(model, capsys)
    planes = {layer["plane"] for layer in document["layers"]}
    table = rows(said(capsys, model), "Items")
    starts = [row for row, cells in enumerate(table) if cells[0]]
    pieces = {item["name"]: item["net"] for item in document["items"] if item["unit"] == "piece"}
    seen = 0
    for start, end in zip(starts, [*starts[1:], len(table)], strict=True):
        name, below = table[start][0], table[start + 1 : end]
        if name in pieces:
            amounts = [int(cells[2].replace(",", "")) for cells in below]
            # shingles may come to a part of a whole one; each plane is shown rounded
            assert sum(amounts) == pytest.approx(pieces[name], abs=0.5 * len(amounts))
            places = {plane for cells in below for plane in cells[1].split(" + ")}
            assert places <= planes | {plane.split(".")[0] for plane in planes} | PIPES
            seen += 1
    assert seen >= 2


def test_each_ending_writes_its_format_with_the_same_packs(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    model = shed(tmp_path)
    packs = {
        item["material"]: item["packs_to_order"]
        for item in counted(model, capsys, "--allowance", "10 %")["items"]
    }
    for ending in ("json", "csv", "xlsx", "txt"):
        target = tmp_path / f"out.{ending}"
        assert said(capsys, model, "-o", target, "--allowance", "10%") == f"Wrote {target}\n"
    as_json = json.loads((tmp_path / "out.json").read_text())
    assert {item["material"]: item["packs_to_order"] for item in as_json["items"]} == packs
    text = (tmp_path / "out.csv").read_bytes().decode("utf-8-sig")
    as_csv = csv.DictReader(io.StringIO(text, newline=""), strict=True)
    assert {row["material"]: int(row["packs_to_order"]) for row in as_csv} == packs
    sheet = openpyxl.load_workbook(tmp_path / "out.xlsx", data_only=True)["Items"]
    assert sheet["B3"].value == 0.1
    column = [sheet[f"J{row}"].value or 0 for row in range(6, 6 + len(packs))]
    assert column == list(packs.values())
    table = (tmp_path / "out.txt").read_text()
    assert "with 10 %" in table
    assert "Allowance: at least 10 % of what is in place is left" in table
    assert "Nothing is counted for damage or error." not in table
    assert "Nothing is counted for damage or error." in said(capsys, model)


def test_prices_and_rates_make_costs_and_what_lacks_one_is_named(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    model = shed(tmp_path)
    cap = next(i for i in counted(model, capsys)["items"] if i["name"] == "Granule cap sheet")
    (tmp_path / "prices.csv").write_text(f"item,unit,price\n{cap['material']},roll,100.25\n")
    (tmp_path / "labour.csv").write_text(
        "kind,from_pitch,from_height,unit,rate\nlow,0:12,0 ft,square,50\n"
    )
    files = ("--prices", str(tmp_path / "prices.csv"), "--labour", str(tmp_path / "labour.csv"))
    prices = counted(model, capsys, *files)["prices"]
    assert prices["materials_total"] == round(cap["packs"] * 100.25, 2)
    # 30 by 20 ft in plan at 1:12, sqrt(1 + 1/144) longer along the slope, 50 a square
    assert prices["labour_total"] == round(6 * (1 + 1 / 144) ** 0.5 * 50, 2)
    text = said(capsys, model, *files)
    total = f"{prices['total']:,.2f}"
    assert f"\nTotal {total} without {len(prices['unpriced'])} items (" in text
    assert "base-sheet" in text.split("\nTotal ")[1].split("\n\n")[0]


@pytest.mark.parametrize("name", ["lantern-street", "plum-corner", "ferry-quay", "tide-house"])
def test_what_is_ordered_is_in_place_or_waste_or_left(
    name: str, models: dict[str, Path], capsys: pytest.CaptureFixture[str]
) -> None:
    items = counted(models[name], capsys)["items"]
    assert len(items) >= 10
    for item in items:
        assert item["net"] + item["waste"] + item["left"] == pytest.approx(
            item["ordered"], rel=1e-8
        ), item["material"]
        assert min(item["waste"], item["left"]) >= 0.0
        assert item["ordered"] == pytest.approx(item["packs"] * item["pack_holds"], rel=1e-12)
        # of shingles, sheets and metals less is waste than is in place; of nails and pails none
        assert item["waste"] < (item["net"] if item["cutting"] else 1e-12)


def test_a_price_list_filled_in_prices_every_item(
    tmp_path: Path, models: dict[str, Path], capsys: pytest.CaptureFixture[str]
) -> None:
    model, target = models["plum-corner"], tmp_path / "prices.csv"
    assert said(capsys, model, "--price-list", target) == f"Wrote {target}\n"
    items = counted(model, capsys)["items"]
    with target.open(encoding="utf-8-sig", newline="") as file:
        listed = list(csv.DictReader(file, strict=True))
    assert [(row["item"], row["unit"], row["price"], row["name"]) for row in listed] == [
        (item["material"], item["pack"], "", item["name"]) for item in items
    ]
    unpriced = counted(model, capsys, "--prices", str(target))["prices"]
    assert (unpriced["unpriced"], unpriced["total"]) == ([item["material"] for item in items], 0)
    target.write_text(target.read_text("utf-8-sig").replace(",,", ",2,"), encoding="utf-8")
    prices = counted(model, capsys, "--prices", str(target))["prices"]
    assert prices["complete"]
    assert prices["total"] == 2 * sum(item["packs"] for item in items)


# 22 strips of 39 3/8 in at 5 5/8 in cover 33.84 sq ft: catalog, renovation handbook.
def test_shingles_are_priced_by_the_square(
    tmp_path: Path, models: dict[str, Path], capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "prices.csv"
    path.write_text("item,unit,price\nlaminated-shingle,square,100\nhip-ridge-laminated,ft,2\n")
    document = counted(models["lantern-street"], capsys, "--prices", str(path))
    packs = {item["material"]: item["packs"] for item in document["items"]}
    amounts = {entry["material"]: entry["amount"] for entry in document["prices"]["items"]}
    squares = packs["laminated-shingle"] * 22 * 39.375 * 5.625 / 14400
    assert amounts["laminated-shingle"] == round(100 * squares, 2)
    feet = packs["hip-ridge-laminated"] * 66 * 5.625 / 12
    assert amounts["hip-ridge-laminated"] == round(2 * feet, 2)


def test_a_comparison_shows_the_second_less_the_first(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    small, large = shed(tmp_path), shed(tmp_path, name="Wide shed", width="40 ft")
    one, two = (
        {item["name"]: item for item in counted(model, capsys)["items"]} for model in (small, large)
    )
    text = said(capsys, small, "--compare", large)
    assert text.startswith("A: Shed\nB: Wide shed\n")
    for name, _, _, more_net, packs_one, packs_two, more in rows(text, "Items side by side"):
        assert packs_one.split()[0] == str(one[name]["packs"])
        assert packs_two.split()[0] == str(two[name]["packs"])
        assert int(more) == two[name]["packs"] - one[name]["packs"]
        assert more_net[0] in "+-"
    document = counted(small, capsys, "--compare", str(large))
    assert (document["schema"], document["models"]) == (
        "roof3d.takeoff-comparison/1",
        ["Shed", "Wide shed"],
    )
    assert all(
        row["more_packs"] == 0 for row in counted(small, capsys, "--compare", str(small))["items"]
    )


class Screen(io.StringIO):
    """A terminal, or a pipe, that keeps what it is shown."""

    def __init__(self, *, terminal: bool) -> None:
        super().__init__()
        self.terminal = terminal

    def isatty(self) -> bool:
        return self.terminal


@pytest.mark.parametrize(
    ("terminal", "patience", "shown"),
    [(True, 0.0, True), (True, 60.0, False), (False, 0.0, False)],
    ids=["long work", "short work", "pipe"],
)
def test_a_long_work_shows_a_bar_on_a_terminal_alone(
    terminal: bool,  # noqa: FBT001
    patience: float,
    shown: bool,  # noqa: FBT001
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    screen = Screen(terminal=terminal)
    monkeypatch.setattr("sys.stderr", screen)
    monkeypatch.setattr("roof3d.cli.output.PATIENCE", patience)
    monkeypatch.setenv("TERM", "xterm")
    with progress("Laying out") as tell:
        for done in range(1, 4):
            tell(done, 7)
            time.sleep(0.25)
    text = screen.getvalue()
    assert ("Laying out" in text, "3/7" in text) == (shown, shown)
    if not shown:
        assert text == ""


def test_a_bar_ends_where_the_work_fails(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("sys.stderr", Screen(terminal=True))
    before = threading.active_count()
    seen = []

    def tear() -> None:
        with progress("Laying out"):
            seen.append(threading.active_count())
            raise ValueError("torn")

    with pytest.raises(ValueError, match="torn"):
        tear()
    assert (seen, threading.active_count()) == ([before + 1], before)


def test_laying_out_tells_each_plane_once_and_is_kept(models: dict[str, Path]) -> None:
    project = roof3d.build(roof3d.load(models["lantern-street"]))
    told: list[tuple[int, int]] = []
    project.lay_out(lambda done, of: told.append((done, of)))
    layout = project.layout
    project.lay_out(lambda done, of: told.append((done, of)))
    assert told == [(1, 3), (2, 3), (3, 3)]
    assert project.layout is layout


@pytest.mark.parametrize(
    ("more", "words"),
    [
        (["-o", "a.pdf"], ["a.pdf", ".xlsx", ".csv", ".json"]),
        (["--json", "-o", "a.csv"], ["--json", ".csv", "a.json"]),
        (["--compare", "shed-20-imperial.toml", "-o", "a.xlsx"], ["--compare", "a.csv"]),
        (["--labour-list", "list.txt"], ["list.txt", ".csv"]),
        (["--labour-list", "prices.csv"], ["prices.csv", "already there"]),
        (["--labour-list", "l.csv", "--json"], ["--labour-list writes", "with --labour)"]),
        (["--labour-list", "l.csv", "--price-list", "p.csv"], ["writes this file and nothing"]),
        (["--allowance", "5"], ["--allowance", "'5'", '"5 %"']),
        (["--allowance", "101 %"], ["--allowance", "from 0 to 100"]),
        (["--allowance", "-5 %"], ["--allowance", "'-5 %'"]),
        (["--prices", "gone.csv"], ["gone.csv", "no such file"]),
        (["--labour", "gone.csv"], ["gone.csv", "no such file"]),
        (["--compare", "gone.toml"], ["gone.toml"]),
        (["--prices", "bad.csv"], ["bad.csv", "line 2", '"12,50"']),
        (["--prices", "unit.csv"], ["unit.csv", "line 2", "cannot be counted", "gal"]),
        (["-o", "prices.csv", "--prices", "prices.csv", "--force"], ["is the file that is read"]),
        (["--price-list", "list.xlsx"], ["list.xlsx", ".csv"]),
        (["--price-list", "prices.csv"], ["prices.csv", "already there"]),
        (["--price-list", "list.csv", "--json"], ["--price-list writes this file and nothing"]),
        (["--price-list", "list.csv", "--prices", "prices.csv"], ["leave the other options out"]),
    ],
)
def test_wrong_input_is_told_with_a_way_out_and_status_2(
    more: list[str],
    words: list[str],
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.chdir(tmp_path)
    model = shed(tmp_path)
    (tmp_path / "prices.csv").write_text("item,unit,price\n")
    (tmp_path / "bad.csv").write_text('item,unit,price\nbase-sheet,roll,"12,50"\n')
    (tmp_path / "unit.csv").write_text("item,unit,price\nbase-sheet,gal,12\n")
    before = sorted(path.name for path in tmp_path.iterdir())
    assert main(["takeoff", model.name, *more]) == 2
    out, err = capsys.readouterr()
    assert (out, sorted(path.name for path in tmp_path.iterdir())) == ("", before)
    assert [word for word in words if word not in err] == []


def test_a_file_that_is_there_stays_unless_forced(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    model, target = shed(tmp_path), tmp_path / "out.xlsx"
    target.write_text("old")
    assert main(["takeoff", str(model), "-o", str(target)]) == 2
    assert ("already there" in capsys.readouterr().err, target.read_text()) == (True, "old")
    said(capsys, model, "-o", target, "--force")
    first = target.read_bytes()
    said(capsys, model, "-o", target, "--force")
    assert first[:2] == b"PK"
    assert target.read_bytes() == first


def test_a_hostile_name_runs_nowhere(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    model, target = shed(tmp_path, name="=1+1"), tmp_path / "out.xlsx"
    said(capsys, model, "-o", target)
    cell = openpyxl.load_workbook(target)["Items"]["A1"]
    assert (cell.value, cell.data_type) == ("=1+1", "s")


def test_a_list_of_rates_filled_in_rates_every_plane(
    tmp_path: Path, models: dict[str, Path], capsys: pytest.CaptureFixture[str]
) -> None:
    model, target = models["lantern-street"], tmp_path / "labour.csv"
    assert said(capsys, model, "--labour-list", target) == f"Wrote {target}\n"
    # its porch falls 1 in 12, its house 6 in 12
    empty = "kind,from_pitch,from_height,unit,rate\r\nlow,1:12,,square,\r\nsteep,6:12,,square,\r\n"
    assert target.read_bytes().decode("utf-8-sig") == empty
    document = counted(model, capsys, "--labour", str(target))
    assert len(document["prices"]["unrated"]) == 3
    target.write_text(empty.replace("square,", "square,100"), encoding="utf-8", newline="")
    prices = counted(model, capsys, "--labour", str(target))["prices"]
    assert prices["unrated"] == []
    area = {one["plane"]: one["plane_area_m2"] for one in document["layers"]}
    assert prices["labour_total"] == pytest.approx(sum(area.values()) / SQUARE_FOOT, abs=0.02)


def test_a_list_of_rates_reaches_planes_of_any_pitch(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    model, target = shed(tmp_path, units="metric"), tmp_path / "labour.csv"
    model.write_text(model.read_text().replace('"1:12"', '"33.3 deg"'))
    said(capsys, model, "--labour-list", target)
    # tan 33.3 deg is 7.8822 in 12
    (row,) = csv.DictReader(io.StringIO(target.read_text("utf-8-sig")))
    assert (row["kind"], row["from_pitch"], row["unit"]) == ("steep", "7.88:12", "m2")
    target.write_text("kind,from_pitch,from_height,unit,rate\nsteep,7.88:12,,m2,1\n")
    assert counted(model, capsys, "--labour", str(target))["prices"]["unrated"] == []


def test_a_comparison_as_rows_says_the_same_as_its_json(
    tmp_path: Path, models: dict[str, Path], capsys: pytest.CaptureFixture[str]
) -> None:
    one, two = shed(tmp_path), models["lantern-street"]
    (tmp_path / "prices.csv").write_text("item,unit,price\nbase-sheet,roll,80\n")
    priced = ("--prices", str(tmp_path / "prices.csv"))
    for more in ((), priced):
        document = counted(one, capsys, "--compare", str(two), *more)
        target = tmp_path / "both.csv"
        said(capsys, one, "--compare", two, "-o", target, "--force", *more)
        listed = list(csv.DictReader(io.StringIO(target.read_text("utf-8-sig"), newline="")))
        assert [row["material"] for row in listed] == [r["material"] for r in document["items"]]
        for row, item in zip(listed, document["items"], strict=True):
            for side in ("one", "two"):
                assert int(row[f"packs_{side}"]) == (item[side] or {"packs": 0})["packs"]
            wanted = item["more_packs"]
            assert row["more_packs"] == ("" if wanted is None else str(wanted))
            if row["unit"] == "sq ft":
                assert float(row["more_net"]) * SQUARE_FOOT == pytest.approx(
                    item["more_net"], abs=1e-4
                )
        assert ("cost_one" in listed[0]) is bool(more)
    base = next(row for row in listed if row["material"] == "base-sheet")
    assert float(base["cost_one"]) == 80.0 * int(base["packs_one"])


def test_the_table_begins_with_what_is_wrong_and_what_is_left_out(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    model = shed(tmp_path)
    title, hint, *_ = said(capsys, model).splitlines()
    assert (title, hint) == (
        "Shed", 'Nothing is added for damage or error; --allowance "5 %" adds it.'
    )  # fmt: skip
    assert "--allowance" not in said(capsys, model, "--allowance", "5 %")
    # shingles at 1:12 are below the 2:12 that they need
    text = model.read_text().replace("pitch =", 'assembly = "three-tab"\npitch =')
    model.write_text(text)
    told = said(capsys, model)
    assert told.index("\nErrors\n- error: ") < told.index("\nItems")
    assert "- error: " not in told[told.index("\nItems") :]


def test_shingles_show_their_squares_and_a_pipe_flashing_its_pipe(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    model = shed(tmp_path)
    opening = '[[opening]]\nid = "vent"\nkind = "pipe"\nat = ["9 ft", "9 ft"]\ndiameter = "3 in"\n'
    model.write_text(model.read_text().replace('"1:12"', '"6:12"') + opening)
    text = said(capsys, model)
    document = counted(model, capsys)
    (shingle,) = [one for one in document["items"] if one["form"] == "shingle"]
    squares = f"{shingle['covered_m2'] / SQUARE_FOOT / 100:.2f}"
    line = next(line for line in text.splitlines() if line.startswith(shingle["name"]))
    assert re.search(rf" pcs, {squares} squares ", line)
    table = rows(text, "Items")
    below = table[[cells[0] for cells in table].index("Pipe flashing, shingles") + 1]
    assert below == ["", 'vent, 3" pipe', "1"]
    assert text.count('vent, 3" pipe') == 1  # its nails are told by the plane
