"""Parapet, drain, scupper, chimney on a membrane: what lies on what; how a rise is read."""

from __future__ import annotations

import math

import numpy as np
import pytest

from roof3d.details.curbs.drain import DrainLengths
from roof3d.details.curbs.parapet_bench import ParapetLengths
from roof3d.details.curbs.parapet_words import STOP_OVER
from roof3d.details.curbs.scupper import ScupperLengths
from roof3d.details.model import Detail, DetailKind
from roof3d.project import build
from roof3d.rules.drainage_rule import load_drainage_rule
from roof3d.scene.detail_scene import build_detail
from roof3d.spec.read import parse_spec
from tests.unit.details.every_kind import (
    detail_of,
    first_of_each,
    parapet_house,
    porch_house,
    project_of,
)

INCH = 0.0254


def detail(house: str, kind: DetailKind, *, thick: bool = True) -> Detail:
    return detail_of(house, first_of_each(project_of(house))[kind].id, thick=thick)


def order_of(found: Detail, names: tuple[str, ...]) -> list[str]:
    """Ids that begin so, in the order of work, each beginning once."""
    ids = [piece.id for piece in found.pieces]
    firsts = {name: next(k for k, one in enumerate(ids) if one.startswith(name)) for name in names}
    return sorted(names, key=lambda name: firsts[name])


ORDERS = {
    ("parapet 0.25", DetailKind.PARAPET): (
        "wall blocking cant base ply cap parapet-ply parapet-cap hook plate coping sealant"
    ),
    ("parapet 0.25", DetailKind.DRAIN): "deck bowl base ply bed drain-lead drain-ply cap ring",
    ("parapet 0.25", DetailKind.SCUPPER): (
        "wall base ply bed box strip cap parapet-ply parapet-cap bead"
    ),
    ("low 1", DetailKind.CHIMNEY_MEMBRANE): (
        "chimney cant base ply cap flashing-ply flashing-cap saddle.1 saddle.cap termination-bar "
        "counterflashing sealant"
    ),
}


@pytest.mark.parametrize(("where", "names"), ORDERS.items(), ids=[kind for _, kind in ORDERS])
def test_order_of_work(where: tuple[str, DetailKind], names: str) -> None:
    assert " ".join(order_of(detail(*where), tuple(names.split()))) == names


# Up inside, over the top and 2 in (50 mm) down outside: Canadian provincial manual.
def test_sheets_of_a_parapet_come_2_in_down_its_outside() -> None:
    found = detail("parapet 0.25", DetailKind.PARAPET, thick=False)
    level, up = np.array(found.frame.level), np.array(found.frame.upright)
    wall = next(p for p in found.pieces if p.id == "wall.1")
    outside = float((wall.vertices @ level).max())
    for name in ("parapet-ply.1", "parapet-cap.1"):
        sheet = next(p for p in found.pieces if p.id == name).vertices
        beyond = sheet[sheet @ level > outside - 1e-6]
        down = float((beyond @ up).max() - (beyond @ up).min()) / INCH
        # And its own thickness on top, with those below it.
        assert 2.0 <= down < 2.5, name


def test_coping_falls_to_the_roof_1_in_a_foot() -> None:
    found = detail("parapet 0.25", DetailKind.PARAPET, thick=False)
    wood = next(p for p in found.pieces if p.id == "blocking.1").vertices
    across = wood @ np.array(found.frame.level)
    inner = wood[across < across.min() + 1e-6][:, 2].max()
    outer = wood[across > across.max() - 1e-6][:, 2].max()
    assert (outer - inner) / (across.max() - across.min()) == pytest.approx(1.0 / 12.0)


# 18 in straight up is 40.25 in along a slope of 6:12 and 32.45 at 8:12 (arithmetic).
@pytest.mark.parametrize(
    ("wish", "along", "words"),
    [("along", 18.0, "length on the slope"), ("vertical", 32.450, "height")],
)
def test_a_model_says_how_the_18_in_are_read(wish: str, along: float, words: str) -> None:
    text = porch_house(1.0, 8.0) + f'\n[layout]\nmembrane_rise = "{wish}"\n'
    project = build(parse_spec(text, source="porch.toml"))
    place = first_of_each(project)[DetailKind.LOW_BELOW_STEEP]
    found = build_detail(project, place.id)
    rise = next(m for m in found.measures if m.id == "rise")
    assert rise.value / INCH == pytest.approx(along, abs=1e-3)
    assert along == pytest.approx(
        18.0 * (math.sqrt(208.0) / 8.0 if wish == "vertical" else 1.0), abs=1e-3
    )
    assert any(words in note and "18 in" in note for note in found.notes)
    sides = [side for plane in project.layout.planes for side in plane.sides if side.rise > 0.0]
    assert {round(side.rise / INCH, 3) for side in sides} == {along}


# Beside side laps of the cap and on them, beside an end lap and well between.
DRAINS = ((12, 78), (12, 96), (12, 48), (12, 60), (20, 60), (13, 84))


def test_what_is_said_of_laps_at_a_drain_is_what_check_finds() -> None:
    said, found = [], []
    for along, up in DRAINS:
        text = parapet_house(0.25).replace('["20 ft", "8 ft"]', f'["{along} ft", "{up} in"]')
        project = build(parse_spec(text, source="hall.toml"))
        found.append(any(one.code == "R3D-DRAIN-LAP" for one in project.layout.findings))
        notes = build_detail(project, first_of_each(project)[DetailKind.DRAIN].id).notes
        (note,) = [note for note in notes if "lap of the cap" in note]
        assert note.startswith(("On this roof a lap of the cap", "No lap of the cap lies within"))
        said.append(note.startswith("On this roof"))
    assert said == found
    assert len(set(found)) == 2


def test_the_sump_falls_to_the_bowl_as_drawn() -> None:
    """Nothing round it stands higher over the field than the true lead, bed and strip would."""
    found = detail("parapet 0.25", DetailKind.DRAIN)
    cap = next(piece for piece in found.pieces if piece.id == "cap.1")
    u, s, high = found.frame.developed(cap.vertices).T
    out = np.maximum(np.abs(u), np.abs(s))
    field = float(high[out > 0.9 * out.max()].max())
    bowl = float(high[np.hypot(u, s) < 5 * INCH].max())
    assert float(high.max()) - field < 0.5 * INCH
    assert field - bowl > 0.4 * INCH


def test_the_holes_round_a_bowl_are_round() -> None:
    found = detail("parapet 0.25", DetailKind.DRAIN)
    deck = next(piece for piece in found.pieces if piece.id == "deck.sump")
    u, s, _ = found.frame.developed(deck.vertices).T
    # Corners of the hole, which is 7 in from the middle: bowl 4 in, its rim 3 in.
    around = np.hypot(u, s)
    assert around.min() / INCH == pytest.approx(7.0, abs=0.01)
    assert (around < 7.01 * INCH).sum() == 2 * 24


def test_the_strip_round_a_drain_is_as_wide_as_it_is_counted() -> None:
    project = project_of("parapet 0.25")
    found = detail("parapet 0.25", DetailKind.DRAIN)
    (laid,) = [one for one in project.layout.strips if one.rule == "drain-ply"]
    strip = next(piece for piece in found.pieces if piece.id.startswith("drain-ply"))
    u, s, _ = found.frame.developed(strip.vertices).T
    for across in (u, s):
        assert np.ptp(across) == pytest.approx(laid.width, abs=0.1 * INCH)
    (measure,) = [one for one in found.measures if one.id == "drain-ply_wide"]
    assert measure.value == pytest.approx(laid.width)


def test_a_strip_that_a_wall_cuts_short_is_told_and_not_measured() -> None:
    """The drain of alder-row lies 18 in from its parapet, the strip is 19 in wide each way."""
    found = detail_of("alder-row", "shop-drain")
    layer = next(layer for layer in found.layers if layer.name == "Strip ply")
    assert layer.size.startswith("38 in square, drawn short")
    assert "drain-ply_wide" not in {measure.id for measure in found.measures}
    assert "drain-lead_wide" in {measure.id for measure in found.measures}


def test_no_seam_is_inked_in_a_sheet_drawn_in_two_solids() -> None:
    found = detail("parapet 0.25", DetailKind.DRAIN)
    half = found.size[0] / 2.0
    for role in ("base.", "ply.", "cap."):
        sheet = next(piece for piece in found.pieces if piece.id.startswith(role))
        folds = set()
        for rim in sheet.rims:
            u, s, _ = found.frame.developed(rim).T
            away = np.maximum(np.abs(u), np.abs(s))
            if np.ptp(away) < 0.5 * INCH and 0.4 * half < away.mean() < 0.98 * half:
                folds.add(round(float(away.mean()) / INCH))
        # Only the fold of the sump, 36 in square, runs along a square inside the rim.
        assert folds == {18}


def test_lengths_of_outlets_and_walls_are_those_of_the_rules() -> None:
    """They are written in the data of the rules, which this room does not read."""
    rule = load_drainage_rule()
    scupper = ScupperLengths()
    assert DrainLengths().overflow.metres == scupper.overflow.metres == rule.overflow_sill
    assert scupper.height.metres == rule.scupper_height
    assert ParapetLengths().guard.metres == pytest.approx(rule.least_guard)
    assert pytest.approx(rule.stops_above) == STOP_OVER


def test_the_coping_is_as_wide_as_its_legs_and_hems() -> None:
    """4 in inside, 3 in outside, 1 in for hems and fall: beyond the wall's thickness."""
    legs = ParapetLengths()
    (rule,) = [
        strip
        for strip in project_of("parapet 0.25").catalog.assembly("self-adhered-membrane").strips
        if strip.id == "coping"
    ]
    assert legs.inside.metres + legs.outside.metres + INCH == pytest.approx(rule.width)
