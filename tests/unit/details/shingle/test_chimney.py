"""Chimney on shingles: order round it, cricket where it is wide, sound solids."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
import pytest

from roof3d.details.model import DetailKind
from roof3d.errors import LayoutError
from roof3d.project import build
from roof3d.spec.read import parse_spec
from tests.model_text import Block, model_text
from tests.unit.details.shingle.houses import (
    DRAWN,
    INCH,
    TRUE,
    covered,
    detail_at,
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


def test_one_askew_to_the_fall_is_refused() -> None:
    project = with_chimney(6.0, 24.0, turn=20.0)
    with pytest.raises(LayoutError, match="askew to the fall"):
        detail_at(project, place_of(project, DetailKind.CHIMNEY))
