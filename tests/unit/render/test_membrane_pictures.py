"""Pictures of joints on membranes: what a cutaway leaves in sight, what is dashed, what is told."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from typing import Any

import numpy as np
import pytest

from roof3d.details.model import DetailKind
from roof3d.render.detail_ink.ink import ink_rims
from roof3d.render.detail_ink.legend import set_legend
from roof3d.render.detail_ink.palette import LIGHT
from roof3d.render.detail_view.cutaway import cut_places
from roof3d.render.detail_view.eye import outward_of
from roof3d.render.detail_view.look import Look, Style
from roof3d.render.explode_picture import DetailPicture, Figure, set_picture
from roof3d.render.roof_ink.hidden import hidden_drains
from roof3d.render.roof_picture import RoofPicture, compose_roof
from roof3d.render.sheet import Sheet
from roof3d.scene.detail_scene import FAULT, WATER
from roof3d.scene.roof_scene import build_roof_scene
from tests.unit.details.every_kind import detail_of, project_of

INCH = 0.0254
SMALL = (800, 600)


@cache
def cutaway(model: str, place: str, mistake: str = "") -> DetailPicture:
    look = Look(style=Style.CUTAWAY, mistake=mistake)
    return set_picture(project_of(model), place, SMALL, look)


def figure_of(picture: DetailPicture) -> Figure:
    assert picture.figure is not None
    return picture.figure


@pytest.mark.parametrize(
    ("model", "place"),
    [("alder-row", "shop-vent"), ("tide-house", "stack"), ("alder-row", "shop-drain")],
)
def test_the_top_sheet_reaches_past_the_middle_of_what_stands_in_it(model: str, place: str) -> None:
    detail = detail_of(model, place)
    places = cut_places(detail, outward_of(detail))
    assert min(places.values()) > -0.01 * INCH
    # Each is shorter than what it lies on.
    ends = list(places.values())
    assert ends == sorted(ends, reverse=True)


@pytest.mark.parametrize("place", ["shop.headwall", "shop.sidewall", "shop.sidewall_2"])
def test_a_joint_of_the_coping_is_seen_built_in(place: str) -> None:
    """Sealant between two lengths, the plate under them; only the hook strip is outside."""
    picture = cutaway("alder-row", place)
    hidden = {layer.name for layer in picture.detail.layers if layer.number in picture.hidden}
    assert hidden == {"Hook strip"}
    number = {layer.name: layer.number for layer in picture.detail.layers}
    places = cut_places(picture.detail, outward_of(picture.detail))
    assert places[number["Coping"]] > places[number["Sealant in the joint"]]
    assert places[number["Joint plate"]] > places[number["Coping"]]


@pytest.mark.parametrize(
    ("model", "place"),
    [
        ("lantern-street", "porch.rake.corner"),
        ("lantern-street", "porch.rake_2.corner"),
        ("tide-house", "entrance.rake.corner"),
        ("tide-house", "entrance.rake_2.corner"),
    ],
)
def test_every_fold_of_a_corner_is_seen(model: str, place: str) -> None:
    picture = cutaway(model, place)
    assert picture.detail.kind is DetailKind.CORNER
    assert not picture.hidden


@pytest.mark.parametrize(("lifted", "expected"), [(False, True), (True, False)])
def test_the_cut_end_under_an_end_lap_is_dashed_at_rest(
    lifted: bool,  # noqa: FBT001
    expected: bool,  # noqa: FBT001
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    look, project = Look(style=Style.CUTAWAY), project_of("lantern-street")
    picture = set_picture(project, "porch.south.cap-lap", (1600, 1200), look)
    figure, detail = figure_of(picture), picture.detail
    parts = list(zip(detail.pieces, figure.parts, strict=True))
    sheet = Sheet(picture.size, LIGHT.paper)
    dashed: list[object] = []
    draw = sheet.lines

    def keep(segments: Sequence[Any], **more: Any) -> None:
        dashed.extend(segments if more.get("dash") else ())
        draw(segments, **more)

    monkeypatch.setattr(sheet, "lines", keep)
    ink_rims(sheet, figure.raster, figure.camera, parts, figure.layer_of, 1.5, lifted=lifted)
    first, second = (
        next(p for p in detail.pieces if p.id == name) for name in ("cap.first", "cap.second")
    )
    # The slanting edge: from 4 in along the low edge to 4 in up the end that is lapped.
    leg, way = 4.0 * INCH, 1.0 if second.span[1] > first.span[1] else -1.0
    end, low = first.span[1 if way > 0.0 else 0], first.reach[0]
    slant = [detail.frame.point(u, s, 0.0) for u, s in ((end - way * leg, low), (end, low + leg))]
    (ax, ay), (bx, by) = (figure.camera.pixel(point) for point in slant)
    run = np.array((bx - ax, by - ay)) / np.hypot(bx - ax, by - ay)

    def runs_along(line: object) -> bool:
        (px, py), (qx, qy) = np.array(line).tolist()
        step = np.array((qx - px, qy - py))
        along = abs(float(step @ run)) > 0.97 * float(np.linalg.norm(step))
        near = np.hypot((px + qx - ax - bx) / 2.0, (py + qy - ay - by) / 2.0) < 60.0
        return along and bool(near)

    assert any(map(runs_along, dashed)) is expected


@pytest.mark.parametrize("mistake", ["back-lap", "dry-bed", "stopped-short"])
def test_water_runs_where_every_layer_is_left(mistake: str) -> None:
    picture = cutaway("lantern-street", "porch.eave", mistake)
    detail, away = picture.detail, np.array(outward_of(picture.detail))
    places = cut_places(detail, outward_of(detail))
    ends = [end for line in picture.scene.lines if line.style == WATER for end in line.ends]
    assert ends
    far = (np.array(ends) - np.array(detail.frame.origin)) @ away
    assert far.max() < min(places.values()) - 2.5 * INCH
    assert far.min() >= -detail.size[0] / 2.0 - 1e-6
    (fault,) = [label for label in picture.scene.labels if label.subject.endswith(FAULT)]
    assert float((np.array(fault.anchor) - np.array(detail.frame.origin)) @ away) < far.max() + 1e-6


@pytest.mark.parametrize(("mistake", "told"), [("", False), ("stopped-short", True)])
def test_the_sizes_of_a_wrong_sheet_are_those_of_the_right_build(
    mistake: str,
    told: bool,  # noqa: FBT001
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    picture = cutaway("lantern-street", "porch.eave", mistake)
    sheet = Sheet(SMALL, LIGHT.paper)
    said: list[str] = []
    monkeypatch.setattr(sheet, "text", lambda _at, words, **_: said.append(words))
    set_legend(picture.detail, picture.plan.legend, (20.0, 10.0), picture.tones, sheet)
    assert any("uilt right: 3 1/2 in over the flange" in words for words in said) is told


@cache
def roof(height_deg: float) -> RoofPicture:
    project = project_of("alder-row")
    return compose_roof(project, build_roof_scene(project), SMALL, height_deg=height_deg)


@pytest.mark.parametrize(("height_deg", "names"), [(36.0, ["shop-drain"]), (80.0, [])])
def test_a_drain_behind_a_wall_is_hidden_until_seen_from_above(
    height_deg: float, names: list[str]
) -> None:
    picture = roof(height_deg)
    found = hidden_drains(project_of("alder-row").roof, picture.raster, picture.camera)
    assert [drain.id for drain in found] == names
