"""The take-off as a workbook: read by openpyxl, calculated by LibreOffice, by hand arithmetic."""

from __future__ import annotations

import io
import math
import shutil
import subprocess
import zipfile
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from openpyxl.utils.escape import unescape

from roof3d.units import Units
from roof3d.writers.takeoff.document import takeoff_document
from roof3d.writers.takeoff.grid import LONGEST_CELL
from roof3d.writers.takeoff.job import Job, build_job
from roof3d.writers.takeoff.workbook import ALLOWANCE_CELL, takeoff_xlsx
from tests.hand_takeoff import HOSTILE, hand_job, hand_takeoff, hostile_job

SHEETS = ["Items", "Layers", "Edges", "Cutting", "Notes"]
HEAD_ROW, FIRST = 5, 6
PRICES = "item,unit,price\ncap,roll,128.50\nshingle,bundle,41.275\nprimer,gal,12\nlining,m,3.3\n"
LABOUR = "kind,from_pitch,from_height,unit,rate\nsteep,4:12,0 ft,square,95\n"
ALLOWANCE = ALLOWANCE_CELL.replace("$", "")
POUND, FOOT, GALLON = 0.45359237, 0.3048, 3.785411784e-3

Recalculate = Callable[[Any], Any]


def opened(job: Job, *, values: bool = False) -> Any:
    """The workbook as openpyxl reads it: formulas, or the values written beside them."""
    return openpyxl.load_workbook(io.BytesIO(takeoff_xlsx(job)), data_only=values)


@pytest.fixture
def recalculate(tmp_path: Path) -> Recalculate:
    """Give a function that saves a book without values and has LibreOffice calculate them."""
    office = shutil.which("soffice")
    if office is None:
        pytest.skip("LibreOffice (soffice) is not installed; .ci/run installs it")

    def run(book: Any) -> Any:
        bare = tmp_path / "bare.xlsx"
        book.save(bare)
        assert b"<v></v>" in zipfile.ZipFile(bare).read("xl/worksheets/sheet1.xml").replace(
            b"<v />", b"<v></v>"
        )  # no value is left beside a formula
        subprocess.run(
            [
                office,
                f"-env:UserInstallation={(tmp_path / 'profile').as_uri()}",
                *("--headless", "--convert-to", "xlsx", "--outdir", str(tmp_path / "out")),
                str(bare),
            ],
            check=True,
            capture_output=True,
            timeout=120,
        )
        return openpyxl.load_workbook(tmp_path / "out" / "bare.xlsx", data_only=True)

    return run


def column(book: Any, letter: str, job: Job) -> list[Any]:
    """One column of the items, without head and totals."""
    return [book["Items"][f"{letter}{FIRST + row}"].value for row in range(len(job.items))]


def cells(book: Any) -> list[tuple[str, str, Any]]:
    return [
        (sheet.title, cell.coordinate, cell.value)
        for sheet in book
        for row in sheet.iter_rows()
        for cell in row
    ]


@pytest.mark.parametrize(
    ("units", "labour"), [(Units.IMPERIAL, LABOUR), (Units.METRIC, "")], ids=list(Units)
)
def test_recalculated_values_are_those_written_beside_the_formulas(
    recalculate: Recalculate, units: Units, labour: str
) -> None:
    job = hand_job(units, prices=PRICES, labour=labour, allowance="5")
    written = [cell for cell in cells(opened(job, values=True)) if cell[2] not in {None, ""}]
    calculated = {
        (sheet, place): value
        for sheet, place, value in cells(recalculate(opened(job)))
        if value not in {None, ""}
    }
    assert set(calculated) == {(sheet, place) for sheet, place, _ in written}
    for sheet, place, value in written:
        expected = pytest.approx(value, rel=1e-12) if isinstance(value, float | int) else value
        assert calculated[sheet, place] == expected, (sheet, place)


def test_recalculated_items_are_those_of_the_json(recalculate: Recalculate) -> None:
    job = hand_job(Units.METRIC, prices=PRICES, labour=LABOUR)
    document = takeoff_document(job)
    book = recalculate(opened(job))
    litres = [1000.0 if entry["unit"] == "m3" else 1.0 for entry in document["items"]]

    def amounts(key: str) -> list[object]:
        pairs = zip(document["items"], litres, strict=True)
        return [pytest.approx(entry[key] * size, rel=1e-12) for entry, size in pairs]

    assert column(book, "D", job) == amounts("net")
    assert column(book, "E", job) == amounts("waste")
    assert column(book, "K", job) == amounts("ordered")
    left = [
        pytest.approx(entry["left"] * size, abs=1e-9)
        for entry, size in zip(document["items"], litres, strict=True)
    ]
    assert column(book, "L", job) == left
    assert [packs or 0 for packs in column(book, "J", job)] == [
        entry["packs"] for entry in document["items"]
    ]
    assert [100 * share for share in column(book, "F", job)] == [
        pytest.approx(entry["waste_percent"], rel=1e-12, abs=1e-9) for entry in document["items"]
    ]
    assert [weight or 0 for weight in column(book, "N", job)] == [
        pytest.approx(entry["weight_kg"], rel=1e-12) for entry in document["items"]
    ]
    prices = document["prices"]
    assert [cost or None for cost in column(book, "P", job)] == [
        entry["amount"] for entry in prices["items"]
    ]
    total, labour, both = (book["Items"][f"P{row}"].value for row in (12, 15, 16))
    assert (total, labour, both) == pytest.approx(
        (prices["materials_total"], prices["labour_total"], prices["total"]), abs=1e-9
    )


def test_a_real_roof_recalculated_is_its_json(
    recalculate: Recalculate, models: dict[str, Path]
) -> None:
    import roof3d

    job = build_job(roof3d.build(roof3d.load(models["lantern-street"])))
    assert job.units is Units.IMPERIAL
    document = takeoff_document(job)
    size = {"m2": FOOT**2, "m": FOOT, "piece": 1.0, "m3": GALLON}
    book = recalculate(opened(job))
    for row, entry in enumerate(document["items"], start=FIRST):
        sheet = book["Items"]
        assert sheet[f"A{row}"].value == entry["name"]
        assert sheet[f"J{row}"].value == entry["packs"]
        shown = [sheet[f"{letter}{row}"].value for letter in "DEKL"]
        assert shown == pytest.approx(
            [entry[key] / size[entry["unit"]] for key in ("net", "waste", "ordered", "left")],
            rel=1e-9,
            abs=1e-6,
        )
        assert (sheet[f"N{row}"].value or 0.0) == pytest.approx(
            entry["weight_kg"] / POUND, rel=1e-9
        )


def test_an_allowance_filled_in_gives_the_packs_of_hand_arithmetic(
    recalculate: Recalculate,
) -> None:
    job = hand_job(prices=PRICES)
    book = opened(job)
    assert book["Items"][ALLOWANCE].value == 0
    book["Items"][ALLOWANCE].value = 0.7
    book["Items"]["O8"].value = 7.25  # a price for the edge metal, which had none
    book = recalculate(book)
    # 70 % more of what is in place: 20.4 m2 of 10, 2,045.1 shingles of 21, 20.74 m of 3, each up
    # to whole packs; 0.85 l and 142.8 nails are ordered anyway; no pack of the lining is known
    assert column(book, "J", job) == [3, 98, 7, 1, 3, None]
    # 3 rolls of 10 m2, 98 bundles of 21, 7 lengths of 3 m, a pail of 19 l, 3 boxes, 7 m + 70 %
    assert column(book, "K", job) == pytest.approx(
        [30 / FOOT**2, 2058, 21 / FOOT, 0.019 / GALLON, 300, 11.9 / FOOT], rel=1e-12
    )
    # left over is what is neither in place nor waste: of the rolls 30 - 12 - 8 m2
    assert column(book, "L", job) == pytest.approx(
        [10 / FOOT**2, 2058 - 1203 - 10.5, 8.8 / FOOT, 0.0185 / GALLON, 216, 4.9 / FOOT], abs=1e-8
    )
    # a pail of 19 l is 5.019264 gal at 12
    costs = [3 * 128.5, 98 * 41.275, 7 * 7.25, round(5.0192640 * 12, 2), None, 39.27]
    assert [cost or None for cost in column(book, "P", job)] == pytest.approx(costs, abs=1e-9)
    assert book["Items"]["P12"].value == pytest.approx(sum(filter(None, costs)), abs=1e-9)
    # the nails alone lack a price; edge metal and lining lack a weight
    assert (book["Items"]["P14"].value, book["Items"]["N13"].value) == (1, 2)


@pytest.mark.parametrize("share", [0.05, 0.1])
def test_a_whole_number_of_packs_is_not_rounded_up_once_more(
    recalculate: Recalculate, share: float
) -> None:
    item = hand_takeoff().items[0]
    items = tuple(
        replace(
            item,
            material=f"m{packs}",
            net=10.0 * packs,
            waste=0.0,
            left=0.0,
            packs=packs,
            ordered=10.0 * packs,
            cutting=None,
        )
        for packs in (1, 20, 60, 100, 1000, 2020)
    )
    job = hand_job(takeoff=replace(hand_takeoff(), items=items), allowance=f"{100 * share:g}")
    counted = recalculate(opened(job))
    percent = round(100 * share)
    by_hand = [math.ceil(item.packs * (100 + percent) / 100) for item in items]
    assert column(counted, "J", job) == by_hand
    assert [line.packs for line in job.priced.items] == by_hand


def test_sheets_are_frozen_under_their_head_and_set_to_print() -> None:
    book = opened(hand_job(Units.METRIC, name="Smith & Sons 12"))
    assert book.sheetnames == SHEETS
    assert opened(hand_job(labour=LABOUR)).sheetnames == ["Items", "Labour", *SHEETS[1:]]
    heads = {"Items": HEAD_ROW}
    for sheet in book:
        head = heads.get(sheet.title, 1)
        assert sheet.freeze_panes == f"B{head + 1}"
        assert sheet.print_title_rows == f"${head}:${head}"
        assert sheet.page_setup.orientation == "landscape"
        assert (sheet.page_setup.fitToWidth or 1, sheet.page_setup.fitToHeight) == (1, 0)
        assert sheet.sheet_properties.pageSetUpPr.fitToPage
        assert sheet.page_setup.paperSize == 9
        assert sheet.oddHeader.left.text == "Smith && Sons 12"
        assert sheet.oddFooter.right.text == "Page &P of &N"
    assert opened(hand_job())["Items"].page_setup.paperSize == 1


def test_formulas_stand_where_something_follows_and_inputs_are_marked() -> None:
    sheet = opened(hand_job())["Items"]
    row = {letter: sheet[f"{letter}{FIRST}"].value for letter in "FIJKLNP"}
    assert row == {
        "F": "=IF(D6=0,0,E6/D6)",
        "I": 2,
        "J": "=MAX(I6,ROUNDUP(ROUND((D6*(1+$B$3)+E6)/H6,9),0))",
        "K": "=J6*H6",
        "L": "=MAX(0,ROUND(K6-D6-E6,9))",
        "N": '=IF(ISNUMBER(M6),J6*M6,"")',
        "P": '=IF(ISNUMBER(O6),ROUND(J6*O6,2),"")',
    }
    yellow = {
        cell.coordinate
        for line in sheet.iter_rows()
        for cell in line
        if cell.fill.fgColor.rgb == "FFFFF6CC"
    }
    # allowance, six prices, and the weights of edge metal and lining, which are not known
    assert yellow == {"B3", *(f"O{row}" for row in range(6, 12)), "M8", "M11"}
    (rule,) = sheet.data_validations.dataValidation
    assert (str(rule.sqref), rule.formula1, rule.formula2) == ("B3", "0", "1")


def test_numbers_are_shown_with_the_decimals_of_their_unit() -> None:
    imperial = opened(hand_job())["Items"]
    assert [imperial[f"D{row}"].number_format for row in range(6, 11)] == [
        "#,##0.0_)", "#,##0_)", "#,##0.0_)", "#,##0.00_)", "#,##0_)",
    ]  # fmt: skip
    metric = opened(hand_job(Units.METRIC))["Items"]
    assert [metric[f"D{row}"].number_format for row in (6, 7, 8)] == [
        "#,##0.00_)", "#,##0_)", "#,##0.00_)",
    ]  # fmt: skip


def test_hostile_names_are_text_in_every_cell_and_come_back_whole() -> None:
    job = hostile_job()
    data = takeoff_xlsx(job)
    book = openpyxl.load_workbook(io.BytesIO(data))
    formulas = {
        (cell.column_letter, cell.value)
        for sheet in book
        for line in sheet.iter_rows()
        for cell in line
        if cell.data_type == "f"
    }
    assert {letter for letter, _ in formulas} == set("FJKLNP")
    assert [text for _, text in formulas if any(name in text for name in HOSTILE)] == []
    assert [unescape(name) for name in column(book, "A", job)] == list(HOSTILE)
    assert [sheet.hyperlinks for sheet in (book["Items"], book["Notes"]) if sheet._hyperlinks] == []
    with zipfile.ZipFile(io.BytesIO(data)) as parts:
        assert [name for name in parts.namelist() if "_rels/sheet" in name] == []
        assert {info.date_time[0] for info in parts.infolist()} == {1980}


def test_hostile_names_are_inert_where_they_are_calculated(recalculate: Recalculate) -> None:
    job = hostile_job()
    book = recalculate(opened(job))
    plain = [name for name in HOSTILE if name.isprintable()]
    assert [name for name in column(book, "A", job) if name in plain] == plain


@pytest.mark.parametrize("name", ["x" * 400, "&" * 200, "a\x01b\ufffe", "[red]&D&A", "\u6c34" * 90])
def test_any_name_makes_a_book_that_opens(name: str) -> None:
    takeoff = hand_takeoff()
    items = (replace(takeoff.items[0], name=name, rule="y" * 40_000), *takeoff.items[1:])
    book = opened(hand_job(name=name, takeoff=replace(takeoff, items=items)))
    header = book["Items"].oddHeader.left.text
    assert len(header) <= 200
    assert header.replace("&&", "").count("&") == 0
    (longest,) = [row[2].value for row in book["Notes"].iter_rows() if "yyy" in str(row[2].value)]
    assert (len(longest), longest[-4:]) == (LONGEST_CELL, "y...")


def test_equal_cuts_stand_together_with_what_is_left() -> None:
    rows = [
        tuple(cell.value for cell in line)
        for line in opened(hand_job(Units.METRIC))["Cutting"].iter_rows(min_row=2)
    ]
    assert rows == [
        ("Granule cap sheet", None, None, "2 rolls: no cutting needs fewer", None),
        (None, 2, "10.000 m", "1 x 6.000 m", "4.000 m"),
        ("Edge metal", None, None, "5 lengths: no cutting needs fewer than 4", None),
        (None, 4, "3.000 m", "1 x 3.000 m", "0.000 m"),
        (None, 1, "3.000 m", "2 x 0.100 m", "2.800 m"),
    ]


def test_two_writes_are_byte_equal() -> None:
    assert takeoff_xlsx(hand_job(prices=PRICES)) == takeoff_xlsx(hand_job(prices=PRICES))
    core = zipfile.ZipFile(io.BytesIO(takeoff_xlsx(hand_job()))).read("docProps/core.xml")
    assert core.count(b"2000-01-01T00:00:00Z") == 2  # created and modified: no clock is read


def test_an_empty_list_makes_a_book_too() -> None:
    empty = hand_job(takeoff=replace(hand_takeoff(), items=()))
    assert opened(empty)["Items"].max_row == HEAD_ROW
