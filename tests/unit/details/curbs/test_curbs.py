"""Parapet, drain, scupper, chimney on a membrane: what lies on what; how a rise is read."""

from __future__ import annotations

import math

import numpy as np
import pytest

from roof3d.details.model import Detail, DetailKind
from roof3d.project import build
from roof3d.scene.detail_scene import build_detail
from roof3d.spec.read import parse_spec
from tests.unit.details.every_kind import detail_of, first_of_each, porch_house, project_of

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
