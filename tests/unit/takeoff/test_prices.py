"""Price and labour files: what is read, and every fault with its line."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

import pytest

from roof3d.errors import ReadError
from roof3d.roof.model import Kind
from roof3d.takeoff.prices import load_labour, load_prices, parse_labour, parse_prices

HEAD = "item,unit,price\n"
LABOUR_HEAD = "kind,from_pitch,from_height,unit,rate\n"


def faults_of(text: str) -> list[str]:
    with pytest.raises(ReadError) as caught:
        parse_prices(text, "prices.csv")
    assert caught.value.where == "prices.csv"
    return caught.value.message.split("\n  ")[1:]


def labour_faults_of(text: str) -> list[str]:
    with pytest.raises(ReadError) as caught:
        parse_labour(text, "labour.csv")
    return caught.value.message.split("\n  ")[1:]


def test_prices_are_read_to_the_last_digit(tmp_path: Path) -> None:
    path = tmp_path / "prices.csv"
    text = '\ufeffUnit, Item ,price\r\n roll ,felt,128.50\r\n\r\nSq Ft,"cap","0.105000"\r\n'
    path.write_bytes(text.encode())
    prices = load_prices(path)
    assert [(p.item, p.unit, str(p.price), p.line) for p in prices.rows] == [
        ("felt", "roll", "128.50", 2),
        ("cap", "sq ft", "0.105000", 4),
    ]
    assert prices.source == str(path)
    assert prices.of("cap") == prices.rows[1]
    assert prices.of("velvet") is None


@pytest.mark.parametrize(
    "price",
    [
        "$5",
        "-1",
        "+1",
        "1e3",
        "1,20",
        "1 000",
        ".5",
        "5.",
        "nan",
        "inf",
        "5.1234567",
        "\u0661",
        "=1",
    ],
)
def test_price_that_is_no_plain_decimal_is_a_fault(price: str) -> None:
    (fault,) = faults_of(f'{HEAD}felt,roll,"{price}"\n')
    assert fault.startswith(f'line 2: price: "{price}" is not a plain decimal: write digits')


def test_all_faults_are_told_at_once_with_their_lines() -> None:
    text = f"{HEAD}felt,roll,1\n,roll,2\nfelt,roll,3\ncap,,4\nmetal,length\nnail,box,\n"
    assert faults_of(text) == [
        "line 3: item is empty",
        'line 4: item "felt" was already given in line 2',
        "line 5: unit is empty",
        "line 6: 2 cells where the header has 3",
    ]


def test_of_many_faults_the_first_are_listed_and_the_rest_counted() -> None:
    told = faults_of(HEAD + "felt,roll,x\n" * 100)
    assert (len(told), told[-1]) == (21, "and 80 more")


def test_an_empty_price_is_none_and_a_column_of_names_is_passed_over() -> None:
    text = 'item,unit,price,name\nfelt,roll,,Felt\ncap,roll,3,"Cap, granules"\nnail,, ,\n'
    prices = parse_prices(text)
    assert [(p.item, str(p.price), p.line) for p in prices.rows] == [("cap", "3", 3)]
    assert prices.of("felt") is None


@pytest.mark.parametrize("column", ["name", ""])
def test_names_are_passed_over_in_price_files_alone(column: str) -> None:
    header = LABOUR_HEAD.replace("\n", f",{column}\n")
    (fault,) = labour_faults_of(header + "steep,4:12,0 ft,square,95,x\n")
    assert fault.startswith("line 1: the header is")


@pytest.mark.parametrize("text", ["", "\n\n", "  \n"])
def test_an_empty_file_is_refused(text: str) -> None:
    assert faults_of(text) == ["is empty"]


@pytest.mark.parametrize(
    ("text", "header"),
    [
        ("felt,roll,128.50\n", "felt,roll,128.50"),
        ("item;unit;price\nfelt;roll;1\n", "item;unit;price"),
        ("item,price\n", "item,price"),
        ("item,unit,price,price\n", "item,unit,price,price"),
        ("item,unit,price,\x1b[31m\n", "item,unit,price,?[31m"),
    ],
)
def test_a_wrong_header_is_refused(text: str, header: str) -> None:
    assert faults_of(text) == [f'line 1: the header is "{header}"']
    with pytest.raises(ReadError, match="begin with the line item,unit,price"):
        parse_prices(text)


def test_a_quote_left_open_is_a_fault() -> None:
    (fault,) = faults_of(f'{HEAD}felt,roll,"1\ncap,roll,2\n')
    assert fault == "line 3: unexpected end of data"


@pytest.mark.parametrize(
    ("content", "words"),
    [(b"item,unit,price\nf\xe9lt,roll,1\n", r"is not UTF-8 text \(byte 17\)"),
     (b"x" * 5_000_001, "is larger than 5 MB")],
)  # fmt: skip
def test_what_is_no_text_file_is_refused(content: bytes, words: str, tmp_path: Path) -> None:
    path = tmp_path / "prices.csv"
    path.write_bytes(content)
    with pytest.raises(ReadError, match=words):
        load_prices(path)


def test_missing_file_and_directory_are_refused(tmp_path: Path) -> None:
    with pytest.raises(ReadError, match="there is no such file"):
        load_labour(tmp_path / "none.csv")
    with pytest.raises(ReadError, match="is a directory"):
        load_prices(tmp_path)
    with pytest.raises(ReadError, match="cannot be read"):
        load_prices("a\0b")


def test_labour_rates_are_read(tmp_path: Path) -> None:
    path = tmp_path / "labour.csv"
    path.write_text(f"{LABOUR_HEAD}Steep,6:12,10 ft,Square,95.25\nlow,0:12,0 ft,m2,9\n")
    rates = load_labour(path).rows
    assert [(r.kind, r.from_pitch, r.from_height, r.unit, r.rate, r.line) for r in rates] == [
        (Kind.STEEP, 0.5, pytest.approx(3.048), "square", Decimal("95.25"), 2),
        (Kind.LOW, 0.0, 0.0, "m2", Decimal(9), 3),
    ]


def test_faults_of_labour_are_told_at_once() -> None:
    text = (
        f"{LABOUR_HEAD}flat,0:12,0 ft,square,1\nlow,6,0 ft,square,1\nlow,1:12,3,square,1\n"
        "low,1:12,0 ft,ft,1\nlow,1:12,0 ft,square,one\nlow,2:12,0 ft,m2,1\nlow,2:12,0 m,square,2\n"
    )
    told = labour_faults_of(text)
    assert [fault.split(": ", 2)[:2] for fault in told[:-1]] == [
        ["line 2", "kind"],
        ["line 3", "from_pitch"],
        ["line 4", "from_height"],
        ["line 5", "unit"],
        ["line 6", "rate"],
    ]
    assert told[-1] == "line 8: the same kind, pitch and height were already given in line 7"


def test_of_labour_an_empty_pitch_or_height_is_0_and_an_empty_rate_none() -> None:
    text = LABOUR_HEAD + "low,, ,m2,12\nsteep,6:12,,square,\nsteep,,8 ft,square,95\n"
    rows = parse_labour(text).rows
    assert [(one.kind.value, one.from_pitch, one.line) for one in rows] == [
        ("low", 0.0, 2),
        ("steep", 0.0, 4),
    ]
    assert [one.from_height for one in rows] == pytest.approx([0.0, 8 * 0.3048])
