"""The take-off as CSV, read back by the standard reader: nothing runs, nothing is lost."""

from __future__ import annotations

import csv
import io
import re
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from roof3d.takeoff.cost import price_takeoff
from roof3d.takeoff.prices import parse_prices
from roof3d.units import Units
from roof3d.writers.takeoff.job import Job
from roof3d.writers.takeoff.rows import COSTS, HEAD, inert, price_list_csv, takeoff_csv
from tests.hand_takeoff import HOSTILE, hand_job, hand_takeoff, hostile_job

PRICES = "item,unit,price\ncap,roll,128.50\nprimer,gal,12\n"


def read(job: Job) -> list[dict[str, str]]:
    text = takeoff_csv(job).decode("utf-8-sig")
    return list(csv.DictReader(io.StringIO(text, newline=""), strict=True))


def test_one_head_and_one_row_an_item_behind_a_byte_order_mark() -> None:
    data = takeoff_csv(hand_job())
    assert data.startswith(b"\xef\xbb\xbf" + ",".join(HEAD).encode() + b"\r\n")
    assert data.count(b"\r\n") == data.count(b"\n") == 1 + len(hand_job().items)


# 12 m2 / 0.09290304 m2; 12.2 m / 0.3048 m; 0.5 l / 3.785411784 l (231 cu in); 80 kg / 0.45359237
@pytest.mark.parametrize(
    ("units", "amounts", "weight"),
    [
        (
            Units.IMPERIAL,
            {"cap": ("129.1669", "sq ft"), "edge-metal": ("40.0262", "ft"),
             "primer": ("0.1321", "gal"), "nail": ("84.0", "piece")},
            ("176.3698", "lb"),
        ),
        (
            Units.METRIC,
            {"cap": ("12.0", "m2"), "edge-metal": ("12.2", "m"), "primer": ("0.5", "l"),
             "nail": ("84.0", "piece")},
            ("80.0", "kg"),
        ),
    ],
)  # fmt: skip
def test_amounts_are_in_the_units_of_the_model(
    units: Units, amounts: dict[str, tuple[str, str]], weight: tuple[str, str]
) -> None:
    rows = {row["material"]: row for row in read(hand_job(units))}
    assert {name: (rows[name]["net"], rows[name]["unit"]) for name in amounts} == amounts
    assert (rows["cap"]["weight"], rows["cap"]["weight_unit"]) == weight


def test_waste_and_what_is_left_are_in_the_unit_of_the_item() -> None:
    rows = {row["material"]: row for row in read(hand_job(Units.METRIC))}
    assert {name: (row["waste"], row["left"]) for name, row in rows.items()} == {
        "cap": ("8.0", "0.0"),
        "shingle": ("10.5", "4.5"),
        "edge-metal": ("0.0", "2.8"),
        "primer": ("0.0", "18.5"),
        "nail": ("0.0", "216.0"),
        "lining": ("0.0", "0.0"),
    }
    for row in rows.values():
        parts = [float(row[key]) for key in ("net", "waste", "left")]
        assert float(row["ordered"]) == pytest.approx(sum(parts), abs=1e-9)


def test_a_price_list_is_read_back_with_every_price_missing_and_each_unit_right() -> None:
    job = hand_job()
    data = price_list_csv(job.items, job.units)
    assert data.decode("utf-8-sig").split("\r\n") == [
        "item,unit,price,name",
        "cap,roll,,Granule cap sheet",
        "shingle,bundle,,Laminated shingle",
        "edge-metal,length,,Edge metal",
        "primer,pail,,Primer",
        "nail,box,,Roofing nail",
        "lining,ft,,Valley lining",
        "",
    ]
    assert parse_prices(data.decode("utf-8-sig")).rows == ()
    filled = data.decode("utf-8-sig").replace(",,", ",1.50,")
    priced = price_takeoff(hand_takeoff(), prices=parse_prices(filled))
    # 2, 58, 5, 1 and 3 packs and 7 m, 22.966 ft, at 1.50
    assert [str(line.amount) for line in priced.items] == [
        "3.00", "87.00", "7.50", "1.50", "4.50", "34.45",
    ]  # fmt: skip
    assert (priced.complete, priced.findings) == (True, ())


def test_costs_are_columns_where_prices_were_given() -> None:
    assert tuple(read(hand_job())[0]) == HEAD
    rows = read(hand_job(prices=PRICES, allowance="70"))
    assert tuple(rows[0]) == HEAD + COSTS
    # 12 m2 and 70 % are 2.04 rolls of 10; a price that is not known is blank, not 0
    assert [rows[0][key] for key in ("packs", "packs_to_order", *COSTS)] == [
        "2", "3", "roll", "128.5", "385.5",
    ]  # fmt: skip
    assert [rows[1][key] for key in COSTS] == ["", "", ""]


def test_hostile_names_are_inert_in_every_column_and_otherwise_whole() -> None:
    rows = read(hostile_job())
    for column in ("name", "rule", "source", "pack"):
        cells = [row[column] for row in rows]
        assert [
            cell for cell in cells if re.match(r"\s*[=+\-@\uff1d\uff0b\uff0d\uff20]", cell)
        ] == []
        assert [cell for cell in cells if cell[:1] in {"\t", "\r", "\n"}] == []
        assert [cell.replace("'", "") for cell in cells] == list(HOSTILE)


def test_what_a_semicolon_would_part_does_not_run_either() -> None:
    assert inert("a;=1+1") == "a;'=1+1"
    assert inert("a; @x\n+1\r\n-2") == "a;' @x\n'+1\r'\n'-2"


def test_harmless_text_and_numbers_stay_as_they_are() -> None:
    kept = ("roof-1", "3-tab", "a = b", "", "'", '12" wide', -1.5, -3, 0)
    assert tuple(inert(cell) for cell in kept) == kept


@given(st.text(st.sampled_from("=+-@\uff1d;\t\r\n ,\"'a1"), max_size=12))
def test_no_text_runs_however_it_is_parted(text: str) -> None:
    cell = inert(text)
    assert isinstance(cell, str)
    parts = re.split(r"[;\t\r\n]", cell)
    assert [part for part in parts if part.lstrip(" ")[:1] in set("=+-@\uff1d")] == []
    assert cell[:1] not in {"\t", "\r", "\n"}


def test_a_negative_number_is_a_number() -> None:
    job = hand_job()
    shrunk = replace(job.priced.items[0].item, waste=-6.0)  # of 12
    line = replace(job.priced.items[0], item=shrunk)
    rows = read(replace(job, priced=replace(job.priced, items=(line,))))
    assert float(rows[0]["waste_percent"]) == -50.0
