"""Chimney on shingles: order round it, cricket where it is wide, sound solids."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
import pytest

from roof3d.details.model import DetailKind, PieceKind
from roof3d.project import build
from roof3d.spec.read import parse_spec
from tests.model_text import Block, model_text
from tests.unit.details.shingle.houses import (
    DRAWN,
    INCH,
    TRUE,
    covered,
    detail_at,
    every_place,
    faults_of,
    lengths,
    pieces_of,
    place_of,
    shipped,
)

if TYPE_CHECKING:
    from pathlib import Path

    from roof3d.details.model import Detail
    from roof3d.project import Project


def with_chimney(pitch: float, width: float, *, turn: float = 0.0) -> Project:
    """A shed falling south, a chimney in its middle; inches."""
    text = (
        '\n[[opening]]\nid = "stack"\nkind = "chimney"\nat = ["4 m", "3 m"]\n'
        f'size = ["{width} in", "24 in"]\nturn = "{turn} deg"\nheight = "1 m"\n'
    )
    block = Block(form="shed", length=8.0, width=6.0, pitch=pitch / 12.0)
    return build(parse_spec(model_text([block]) + text, source="stack.toml"))


def chimney(pitch: float, width: float, thickness: tuple[float, float] = DRAWN) -> Detail:
    project = with_chimney(pitch, width)
    return detail_at(project, place_of(project, DetailKind.CHIMNEY), thickness)


@pytest.mark.parametrize("thickness", [DRAWN, TRUE])
@pytest.mark.parametrize("width", [24.0, 36.0])
@pytest.mark.parametrize("pitch", [2.0, 4.0, 6.0, 12.0])
def test_solids_are_sound(pitch: float, width: float, thickness: tuple[float, float]) -> None:
    assert faults_of(chimney(pitch, width, thickness)) == []


def test_the_chimney_of_a_shipped_model_is_sound(models: dict[str, Path]) -> None:
    project = shipped(models["plum-corner"])
    assert faults_of(detail_at(project, place_of(project, DetailKind.CHIMNEY))) == []


def test_a_wide_chimney_has_a_cricket_of_the_published_height() -> None:
    """IRC R1003.20: half the width times the pitch: 36 in at 6:12 gives 9 in, 20.1 up the slope."""
    detail = chimney(6.0, 36.0, TRUE)
    (cricket,) = pieces_of(detail, "cricket.")
    u, s, _ = detail.frame.developed(cricket.vertices).T
    assert np.ptp(u) / INCH == pytest.approx(36.0)
    # Three corners on the deck, the fourth plumb over the chimney's back edge.
    assert np.ptp(s) / INCH == pytest.approx(20.12, abs=0.01)
    feet = cricket.vertices[np.argsort(s)[:2]]
    assert (cricket.vertices[:, 2].max() - feet[:, 2].mean()) / INCH == pytest.approx(9.0)
    assert pieces_of(chimney(6.0, 30.0), "cricket.") == []


def test_behind_a_cricket_the_pan_is_measured_from_the_crickets_head() -> None:
    """The pan goes as far past the cricket as past a narrow chimney: half of 36 in, then 18 in."""
    detail = chimney(6.0, 36.0, TRUE)
    measure = next(m for m in detail.measures if m.id == "pan_up_slope")
    assert measure.text == "18 in past the cricket"
    ends = detail.frame.developed(np.array(measure.ends))
    (cricket,), pan = pieces_of(detail, "cricket."), pieces_of(detail, "pan.")[0]
    head = detail.frame.developed(cricket.vertices)[:, 1].max()
    assert abs(ends[0, 1] - head) < 1.0 * INCH
    assert ends[1, 1] == pytest.approx(pan.reach[1])
    assert ends[1, 1] - ends[0, 1] == pytest.approx(18.0 * INCH)
    size = next(layer.size for layer in detail.layers if layer.name == "Back pan")
    assert size.startswith("18 in up the slope past the cricket")


def test_each_piece_round_it_lies_over_the_one_below() -> None:
    """Public guide specification: apron 4 in on; Delaware: 4 in past the sides."""
    detail = chimney(6.0, 24.0)
    apron, pan = pieces_of(detail, "apron.")[0], pieces_of(detail, "pan.")[0]
    steps = pieces_of(detail, "step.")
    assert all(apron.order < step.order < pan.order for step in steps)
    assert any(covered(step).intersects(covered(apron)) for step in steps)
    assert any(covered(step).intersects(covered(pan)) for step in steps)
    assert lengths(detail)["apron_roof"] == pytest.approx(4.0)
    assert lengths(detail)["pan_up_slope"] == pytest.approx(18.0)
    assert (apron.span[1] - apron.span[0]) / INCH == pytest.approx(24.0 + 2 * 4.0)
    right = [step for step in steps if step.id.endswith("right")]
    assert len(right) * 2 == len(steps)
    # Delaware guide specification: 2 in head lap.
    laps = [a.reach[1] - b.reach[0] for a, b in pairwise(right)]
    assert min(laps) / INCH >= 2.0
    over = [course for course in pieces_of(detail, "course.") if course.order > pan.order]
    assert any(covered(course).intersects(covered(pan)) for course in over)


def kinds_of(project: Project) -> set[DetailKind]:
    return {place.kind for place in every_place(project)}


@pytest.mark.parametrize(("turn", "offered"), [(0.0, True), (90.0, True), (20.0, False)])
def test_one_askew_to_the_fall_is_not_offered(turn: float, offered: bool) -> None:  # noqa: FBT001
    assert (DetailKind.CHIMNEY in kinds_of(with_chimney(6.0, 24.0, turn=turn))) is offered


def test_one_on_two_planes_is_not_offered() -> None:
    """Astride the ridge of a gable."""
    text = (
        '\n[[opening]]\nid = "stack"\nkind = "chimney"\nat = ["4 m", "3 m"]\n'
        'size = ["24 in", "24 in"]\nheight = "3 m"\n'
    )
    block = Block(form="gable", length=8.0, width=6.0, pitch=0.5)
    project = build(parse_spec(model_text([block]) + text, source="stack.toml"))
    assert len(project.roof.openings[0].planes) == 2
    assert DetailKind.CHIMNEY not in kinds_of(project)


def test_counterflashing_goes_into_the_brick_and_covers_apron_and_pan() -> None:
    """Copper Flashings: covers the flashing by 4 in; 1 in into the joint: common practice."""
    detail = chimney(6.0, 24.0, TRUE)
    names = {piece.id for piece in pieces_of(detail, "counter.")}
    assert {"counter.front", "counter.back", "counter.left_1", "counter.right_1"} <= names
    assert lengths(detail)["cover"] == pytest.approx(4.0)
    front = pieces_of(detail, "counter.front")[0]
    last = pieces_of(detail, "apron.")[0]
    assert front.order > last.order
    brick = pieces_of(detail, "chimney.")[0]
    tall = front.vertices[:, 2].max() - front.vertices[:, 2].min()
    assert tall / INCH > 4.0
    # It fills its grooves: brick and metal share no room, and metal lies within the brick's faces.
    u = detail.frame.developed(brick.vertices)[:, 0]
    inside = detail.frame.developed(front.vertices)[:, 0]
    within = (inside > u.min() + 0.5 * INCH) & (inside < u.max() - 0.5 * INCH)
    assert within.any()
    assert faults_of(detail) == []


@pytest.mark.parametrize("pitch", [4.0, 12.0])
def test_lengths_up_the_sides_lie_each_over_the_lower_one(pitch: float) -> None:
    detail = chimney(pitch, 24.0, TRUE)
    for side in ("left", "right"):
        found = pieces_of(detail, f"counter.{side}_")
        tops = [piece.vertices[:, 2].max() for piece in found]
        assert tops == sorted(tops)
        up = np.array(detail.frame.level)
        ends = [((p.vertices @ up).min(), (p.vertices @ up).max()) for p in found]
        laps = [(a[1] - b[0]) / INCH for a, b in pairwise(ends)]
        assert min(laps, default=3.0) == pytest.approx(3.0)


def test_no_nail_goes_into_the_brick() -> None:
    detail = chimney(6.0, 36.0, TRUE)
    heads = [p for p in detail.pieces if p.kind is PieceKind.FASTENER]
    assert {"apron.nails", "pan.nails"} <= {piece.id for piece in heads}
    assert any(piece.id.startswith("step.") for piece in heads)
    brick = pieces_of(detail, "chimney.")[0]
    u = detail.frame.developed(brick.vertices)[:, 0]
    for piece in heads:
        at = detail.frame.developed(piece.vertices)
        beside = (at[:, 0] < u.min()) | (at[:, 0] > u.max())
        assert beside.all() or not piece.id.startswith("step.")
