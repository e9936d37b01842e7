"""The take-off document: fixed keys, SI numbers in full, one truth with the layout."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from typing import Any

import pytest

from roof3d.errors import InvariantError
from roof3d.takeoff.model import Use
from roof3d.units import Units
from roof3d.writers.takeoff.comparison import comparison_document
from roof3d.writers.takeoff.document import takeoff_document
from roof3d.writers.takeoff.job import MOST_PLACES, sum_by_place, used_text
from tests.hand_takeoff import hand_job, hand_takeoff

PRICES = "item,unit,price\ncap,roll,128.50\nshingle,bundle,41.275\n"
LABOUR = "kind,from_pitch,from_height,unit,rate\nsteep,4:12,0 ft,m2,10\n"
SCHEMA_KEYS = {
    "document": [
        "schema", "model", "units", "allowance_percent", "items", "layers", "strips",
        "assumptions", "findings", "caution",
    ],
    "item": [
        "material", "name", "form", "unit", "net", "waste", "left", "covered_m2", "ordered",
        "packs", "packs_to_order", "pack", "pack_holds", "pack_area_m2", "pack_length_m",
        "waste_percent", "weight_kg", "rule", "source", "used", "cutting",
    ],
    "used": ["of", "net", "pieces"],
    "cutting": ["stock_m", "shortest_m", "cuts_m", "offcuts_m", "bound", "proven"],
    "layer": [
        "id", "plane", "role", "material", "number", "direction", "plane_area_m2",
        "extent_area_m2", "laid_area_m2", "courses", "pieces", "nails", "side_lap_m", "end_lap_m",
        "least_side_offset_m", "least_end_offset_m", "least_stagger_m",
    ],
    "strip": [
        "id", "edge", "rule", "material", "planes", "length_m", "width_m", "lap_m", "pieces",
        "nails",
    ],
}  # fmt: skip


def by_id(entries: list[dict[str, Any]], key: str) -> dict[str, dict[str, Any]]:
    return {entry[key]: entry for entry in entries}


def test_keys_are_the_fixed_ones() -> None:
    document = takeoff_document(hand_job())
    assert {
        "document": list(document),
        "item": list(document["items"][0]),
        "used": list(document["items"][0]["used"][0]),
        "cutting": list(document["items"][0]["cutting"]),
        "layer": list(document["layers"][0]),
        "strip": list(document["strips"][0]),
    } == SCHEMA_KEYS


def test_json_gives_every_number_back_to_the_last_bit() -> None:
    document = takeoff_document(hand_job(prices=PRICES, labour=LABOUR, allowance="5"))
    assert json.loads(json.dumps(document, allow_nan=False)) == document


@pytest.mark.parametrize("units", list(Units))
def test_items_are_those_of_the_take_off_in_si_whatever_the_model_shows(units: Units) -> None:
    entries = by_id(takeoff_document(hand_job(units))["items"], "material")
    assert [
        tuple(e[key] for key in ("net", "waste", "left", "covered_m2", "ordered", "packs",
                                 "pack_holds", "pack_area_m2", "pack_length_m", "weight_kg"))
        for e in entries.values()
    ] == [
        (12.0, 8.0, 0.0, 11.4, 20.0, 2, 10.0, 0.0, 0.0, 80.0),
        (1203.0, 10.5, 4.5, 0.0, 1218.0, 58, 21.0, 3.0, 0.0, 1972.0),
        (12.2, 0.0, 2.8, 0.0, 15.0, 5, 3.0, 0.0, 3.0, 0.0),
        (0.5e-3, 0.0, 18.5e-3, 0.0, 19e-3, 1, 19e-3, 0.0, 0.0, 18.5),
        (84.0, 0.0, 216.0, 0.0, 300.0, 3, 100.0, 0.0, 0.0, 3.0),
        (7.0, 0.0, 0.0, 0.0, 7.0, 0, 0.0, 0.0, 0.0, 0.0),
    ]  # fmt: skip
    # 8 / 12; two rolls of 10 m, one piece of 6 m from each
    assert entries["cap"]["waste_percent"] == pytest.approx(100 * 8 / 12, rel=1e-15)
    assert entries["cap"]["cutting"] == {
        "stock_m": 10.0,
        "shortest_m": 5.0,
        "cuts_m": [[6.0], [6.0]],
        "offcuts_m": [4.0, 4.0],
        "bound": 2,
        "proven": True,
    }
    assert entries["primer"]["cutting"] is None


def test_layers_tell_plane_extent_and_pieces_apart() -> None:
    layer = by_id(takeoff_document(hand_job())["layers"], "id")["porch.south/cap"]
    # 6 m by 2 m in plan at 1:12; two courses of 6 m by 1 m that lap 0.1 m
    assert layer["plane_area_m2"] == pytest.approx(12 * math.sqrt(1 + 1 / 144), rel=1e-14)
    assert layer["extent_area_m2"] == pytest.approx(6 * 1.9, rel=1e-14)
    assert layer["laid_area_m2"] == pytest.approx(12.0, rel=1e-14)
    assert [layer[key] for key in ("courses", "pieces", "nails")] == [2, 2, 4]
    assert layer["least_side_offset_m"] == 0.3048
    assert (layer["least_end_offset_m"], layer["least_stagger_m"]) == (None, None)


def test_a_number_that_is_not_finite_is_our_bug_and_says_where() -> None:
    takeoff = hand_takeoff()
    wrong = replace(takeoff, items=(replace(takeoff.items[0], net=math.nan), *takeoff.items[1:]))
    with pytest.raises(InvariantError, match=r"items\[0\]\.net: must be finite, is nan"):
        takeoff_document(hand_job(takeoff=wrong))


def test_prices_are_there_only_where_given_and_a_missing_one_is_none() -> None:
    assert "prices" not in takeoff_document(hand_job())
    prices = takeoff_document(hand_job(prices=PRICES, labour=LABOUR, allowance="70"))["prices"]
    amounts = {entry["material"]: entry["amount"] for entry in prices["items"]}
    # 12 m2 and 70 % are 2.04 rolls, 3 at 128.50; 1,203 and 70 % are 97.4 bundles, 98 at 41.275
    assert amounts == {
        "cap": 385.5, "shingle": 4044.95, "edge-metal": None, "primer": None, "nail": None,
        "lining": None,
    }  # fmt: skip
    # each steep plane is 12 m by 4 m in plan at 6:12, 53.67 m2 at 10
    assert prices["labour_total"] == 2 * 536.66
    assert prices["total"] == 5503.77  # 385.50 + 4,044.95 + 1,073.32
    assert (prices["complete"], prices["unrated"]) == (False, ["porch.south"])


def test_packs_to_order_carry_the_allowance_and_the_cutting_does_not() -> None:
    entries = takeoff_document(hand_job(allowance="70"))["items"]
    packs = [(entry["packs"], entry["packs_to_order"]) for entry in entries]
    # 12.2 m and 70 % are 6.9 lengths; 0.85 l and 143 nails are in what is ordered anyway
    assert packs == [(2, 3), (58, 98), (5, 7), (1, 1), (3, 3), (0, 0)]


def test_uses_are_summed_by_plane_and_what_is_no_layer_stands_for_itself() -> None:
    job = hand_job()
    places = {item.material: used_text(job, item) for item in job.items}
    assert places["edge-metal"] == "porch.south 20.0; main.south + main.north 20.0"
    assert places["nail"] == "porch.south 4; stack 80"
    nails = job.items[4]
    twice = replace(nails, used=(*nails.used, Use(of="porch.eave/edge-metal", net=6.0, pieces=6)))
    assert [(use.of, use.net, use.pieces) for use in sum_by_place(job, twice)] == [
        ("porch.south", 10.0, 10),
        ("stack", 80.0, 80),
    ]


def test_many_planes_are_summed_by_section() -> None:
    job = hand_job()
    others = tuple(Use(of=f"pipe{n}", net=1.0, pieces=1) for n in range(MOST_PLACES - 1))
    shingles = job.items[1]
    crowded = replace(shingles, used=(*shingles.used, *others))
    assert [use.of for use in sum_by_place(job, crowded)] == ["main", *(o.of for o in others)]
    assert sum_by_place(job, crowded)[0].net == 600.0 + 603.0


def test_a_comparison_is_the_second_less_the_first() -> None:
    takeoff = hand_takeoff()
    more = replace(takeoff.items[0], packs=3, net=15.0, ordered=30.0, weight=120.0)
    other = hand_job(takeoff=replace(takeoff, items=(more,)), prices=PRICES, name="Other")
    document = comparison_document(hand_job(prices=PRICES), other)
    rows = by_id(document["items"], "material")
    cap, nail = rows["cap"], rows["nail"]
    differences = [cap[f"more_{key}"] for key in ("net", "packs", "weight_kg", "cost")]
    assert differences == [3.0, 1, 40.0, 128.5]
    assert (nail["two"], nail["more_packs"], nail["more_cost"]) == (None, -3, None)
    assert (document["models"], document["prices"]["more_total"]) == (
        ["Pear Tree Corner", "Other"],
        None,
    )
