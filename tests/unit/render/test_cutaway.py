"""Cutaways: courses as they are laid, cladding cut back, water that never runs in the air."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from numpy.typing import NDArray

from roof3d.details.model import INCH, Detail, DetailKind, Piece, PieceKind
from roof3d.details.proof.path import is_sheltered
from roof3d.render.detail_ink.ink import _apart
from roof3d.render.detail_ink.palette import is_brick
from roof3d.render.detail_ink.texture import texture_of
from roof3d.render.detail_view.cutaway import cut_back, cut_places, cut_way, keep_under
from roof3d.render.detail_view.eye import eye_of, outward_of
from roof3d.render.detail_view.peel import woven_layers
from roof3d.scene.detail_scene import build_detail, fault_of, scene_of
from roof3d.scene.model import Part
from tests.unit.details.every_kind import detail_of, project_of

SIDEWALLS = (("alder-row", "hall.sidewall"), ("plum-corner", "long.sidewall"))
WRONG = (
    ("lantern-street", "porch.transition", "back-lap"),
    ("lantern-street", "main.sidewall", "back-lap"),
    ("plum-corner", "long.eave", "back-lap"),
    ("plum-corner", "long.hip", "back-lap"),
    ("plum-corner", "cross.valley", "short-lap"),
    ("plum-corner", "bath-vent", "metal-under"),
)


def cut(model: str, detail: Detail) -> tuple[Part, ...]:
    way = cut_way(detail, outward_of(detail))
    parts = scene_of(detail, project_of(model)).parts
    fault = fault_of(detail, project_of(model))
    return cut_back(detail, parts, way, keep_under(detail, cut_places(detail, way), way, fault))


def drawn(detail: Detail, parts: tuple[Part, ...]) -> dict[str, NDArray[np.float64]]:
    """Return what is left of each piece, unfolded; pieces of which nothing is are left out."""
    return {
        piece.id: detail.frame.developed(part.vertices[part.triangles].reshape(-1, 3))
        for piece, part in zip(detail.pieces, parts, strict=True)
        if part.triangles.size
    }


def crossings(point: NDArray[np.float64], normal: NDArray[np.float64], piece: Piece) -> list[float]:
    """Return how far along a normal from a point it meets the skin of a piece, metres."""
    found = []
    for a, b, c in piece.vertices[piece.triangles]:
        one, other = b - a, c - a
        across = np.cross(normal, other)
        lean = float(one @ across)
        if abs(lean) < 1e-12:
            continue
        away = point - a
        p, q = float(away @ across) / lean, float(normal @ np.cross(away, one)) / lean
        if min(p, q) >= -1e-6 and p + q <= 1.0 + 1e-6:
            found.append(float(other @ np.cross(away, one)) / lean)
    return found


@pytest.mark.parametrize(("model", "place"), SIDEWALLS)
def test_the_last_course_of_a_sidewall_has_its_step_and_no_course_over_it(
    model: str, place: str
) -> None:
    detail = detail_of(model, place)
    left = drawn(detail, cut(model, detail))
    woven = sorted(woven_layers(detail))
    assert len(woven) == 2
    laid = [p for p in detail.pieces if p.layer in woven and p.kind is not PieceKind.FASTENER]
    kept = [piece for piece in laid if piece.id in left]
    gone = [piece for piece in laid if piece.id not in left]
    assert len(kept) >= 4
    assert gone
    assert max(p.order for p in kept) < min(p.order for p in gone)
    assert kept[-1].kind is PieceKind.METAL
    # What is kept is whole, and the sheet below goes on beyond it.
    up = np.array(detail.frame.along) @ np.array(cut_way(detail, outward_of(detail)))
    ends = {p.id: float((up * left[p.id][:, 0]).max()) for p in detail.pieces if p.id in left}
    sheet = max(end for name, end in ends.items() if name.startswith("underlayment"))
    assert sheet > max(ends[piece.id] for piece in kept) + INCH


def test_layers_of_a_rake_end_up_the_slope() -> None:
    detail = detail_of("lantern-street", "main.rake")
    way = np.array(cut_way(detail, outward_of(detail)))
    assert way[2] > 0.0
    ends: dict[int, float] = {}
    left = drawn(detail, cut("lantern-street", detail))
    for piece in detail.pieces:
        if piece.id in left and piece.kind is not PieceKind.FASTENER:
            end = float((left[piece.id][:, 0] * (way @ np.array(detail.frame.along))).max())
            ends[piece.layer] = max(end, ends.get(piece.layer, -9.0))
    assert ends[1] > ends[2] > ends[3] > ends[4]


def test_steps_beside_a_chimney_are_seen() -> None:
    """On the side in sight some steps are laid, and no counterflashing hides them."""
    detail = detail_of("plum-corner", "chimney")
    left = drawn(detail, cut("plum-corner", detail))
    sign = np.sign(np.array(outward_of(detail)) @ np.array(detail.frame.along))
    wall = max(p.span[1] for p in detail.pieces if is_brick(p))
    seen = [n for n, at in left.items() if (sign * at[:, 0]).max() > wall + INCH]
    every = [p.id for p in detail.pieces if p.id.startswith("step.") and p.id.endswith("_right")]
    assert 2 <= sum(name in every for name in seen) < len(every)
    assert not any(name.startswith("counter.") for name in seen)


def test_cladding_is_cut_back_and_a_chimney_is_not() -> None:
    headwall = detail_of("plum-corner", "long.headwall")
    wide = np.ptp(drawn(headwall, cut("plum-corner", headwall))["cladding.1"][:, 0])
    assert 0.1 < wide / headwall.size[0] < 0.5
    stack = detail_of("plum-corner", "chimney")
    part = drawn(stack, cut("plum-corner", stack))["chimney.1"]
    whole = next(p for p in stack.pieces if p.id == "chimney.1")
    assert np.ptp(part[:, 0]) == pytest.approx(whole.span[1] - whole.span[0])


@pytest.mark.parametrize(("model", "place", "mistake"), WRONG)
def test_water_runs_on_what_is_drawn(model: str, place: str, mistake: str) -> None:
    detail = build_detail(project_of(model), place, mistake=mistake)
    fault = fault_of(detail, project_of(model))
    assert fault is not None
    left = drawn(detail, cut(model, detail))
    for mark in fault.path:
        if mark.layer == 1:
            continue
        u = float(detail.frame.developed(np.array([mark.point]))[0, 0])
        across = left[mark.piece][:, 0]
        assert across.min() - 1e-6 <= u <= across.max() + 1e-6, mark


@pytest.mark.parametrize(("model", "place", "mistake"), WRONG)
def test_water_lies_on_its_piece_and_runs_down(model: str, place: str, mistake: str) -> None:
    """Straight up from a mark there is nothing of its own piece, and less than a skin below."""
    detail = build_detail(project_of(model), place, mistake=mistake)
    fault = fault_of(detail, project_of(model))
    assert fault is not None
    pieces = {piece.id: piece for piece in detail.pieces}
    for mark in fault.path:
        s = float(detail.frame.developed(np.array([mark.point]))[0, 1])
        if mark.layer == 1 or abs(s) < 4.0 * INCH:
            continue
        normal = np.array(detail.frame.near_normal if s < 0.0 else detail.frame.far_normal)
        top = max(crossings(np.array(mark.point), normal, pieces[mark.piece]))
        assert top == pytest.approx(0.0, abs=0.02 * INCH), mark
    heights = [mark.point[2] for mark in fault.path]
    # On thick sheets it climbs a lap here and there, never more than that.
    assert max(b - a for a, b in pairwise(heights)) < 2.0 * INCH


def test_on_its_way_up_water_stops_at_a_hip() -> None:
    detail = build_detail(project_of("plum-corner"), "long.hip", mistake="back-lap")
    fault = fault_of(detail, project_of("plum-corner"))
    assert fault is not None
    sides = np.sign(detail.frame.developed(np.array([m.point for m in fault.path]))[:, 1])
    assert np.count_nonzero(np.diff(sides[sides != 0.0])) <= 1


def test_a_fault_open_to_rain_is_shown_before_a_sheltered_one() -> None:
    detail = build_detail(project_of("plum-corner"), "long.sidewall", mistake="back-lap")
    fault = fault_of(detail, project_of("plum-corner"))
    assert fault is not None
    assert not is_sheltered(detail, fault)


def test_a_pitch_break_is_looked_at_from_below() -> None:
    for name in ("break 3 over 8", "break 8 over 21"):
        detail = detail_of(name, "barn.pitch_break")
        assert detail.kind is DetailKind.PITCH_BREAK
        assert np.array(eye_of(detail))[:2] @ np.array(detail.frame.near)[:2] > 0.0


def test_three_courses_of_brick_are_eight_inches_high() -> None:
    detail = detail_of("plum-corner", "chimney")
    stack = next(piece for piece in detail.pieces if is_brick(piece))
    texture = texture_of(detail, stack, np.zeros(3))
    low = stack.vertices[:, :2].min(axis=0)
    high = np.arange(0.0, 24.0, 0.05) * INCH
    # Up the middle of its south or north face, wherever that stands.
    line = np.column_stack(
        (np.full(len(high), low[0] + 17.0 * INCH), np.full(len(high), low[1]), high)
    )
    place = np.array((0.0, 0.0, stack.vertices[:, 2].min() + 2.0 * INCH))
    shade = texture(line.astype(np.float32), place)
    joints = np.flatnonzero(np.diff((shade < 0.8).astype(int)) == 1)
    assert len(joints) == 9
    assert np.diff(joints) * 0.05 == pytest.approx(8.0 / 3.0, abs=0.11)


def test_two_edges_of_a_sheet_are_dashed_once() -> None:
    long, short = ((0.0, 0.0), (100.0, 0.0)), ((10.0, 5.0), (90.0, 5.0))
    away, across = ((0.0, 20.0), (100.0, 20.0)), ((50.0, -20.0), (50.0, 20.0))
    assert _apart([short, long, away, across]) == [long, away, across]
