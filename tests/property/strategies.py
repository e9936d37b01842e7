"""Piles of roof sections for property tests, on a coarse grid so that ties are common.

The ordinary suite runs few examples, the same each time, and shows a failure as it was drawn.
Set ``ROOF3D_EXAMPLES`` to a number for a long search with fresh examples, made small.
"""

from __future__ import annotations

import os
from dataclasses import replace
from typing import TYPE_CHECKING

from hypothesis import HealthCheck, Phase, settings
from hypothesis import strategies as st

from tests.model_text import Block

if TYPE_CHECKING:
    from hypothesis.strategies import DrawFn, SearchStrategy

EXAMPLES = int(os.environ.get("ROOF3D_EXAMPLES", "0"))

#: For every law: no deadline on shared machines, no files left behind.
SETTINGS = settings(
    max_examples=EXAMPLES or 100,
    derandomize=not EXAMPLES,
    phases=[Phase.generate, Phase.shrink] if EXAMPLES else [Phase.generate],
    database=None,
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow],
)

FORMS = ("gable", "hip", "shed", "flat", "gambrel", "mansard")
PITCHES = (1 / 48, 1 / 12, 2 / 12, 0.25, 0.5, 0.75, 1.0)


@st.composite
def blocks(
    draw: DrawFn,
    *,
    forms: tuple[str, ...] = FORMS,
    pitches: tuple[float, ...] = PITCHES,
    overhangs: tuple[float, ...] = (0.0,),
    square: bool = False,
) -> Block:
    """Draw one section; ``square`` keeps every turn a multiple of 90 degrees."""
    form = draw(st.sampled_from(forms))
    sides = sorted(draw(st.tuples(*[st.integers(4, 20)] * 2)))
    width, length = sides[0] / 2, sides[1] / 2
    eave = draw(st.sampled_from((2.5, 3.0, 3.5, 4.0, 6.0)))
    pitch = draw(st.sampled_from(pitches))
    turns = (0, 90, 180, 270) if square else (0, 90, 180, 270, 45, 30, 17)
    overhang = draw(st.sampled_from(overhangs))
    block = Block(
        form=form,
        length=length,
        width=width,
        at=(draw(st.integers(-12, 12)) / 2, draw(st.integers(-12, 12)) / 2),
        turn=float(draw(st.sampled_from(turns))),
        eave=eave,
        pitch=pitch,
        overhang=(overhang, overhang),
    )
    if form == "gable" and len(pitches) > 1:
        block = replace(block, pitch_back=draw(st.sampled_from(pitches)))
    if form in {"gambrel", "mansard"}:
        block = replace(block, break_in=width / 4, lower_pitch=pitch + 1.0)
    return block


@st.composite
def piles(
    draw: DrawFn,
    *,
    forms: tuple[str, ...] = FORMS,
    pitches: tuple[float, ...] = PITCHES,
    overhangs: tuple[float, ...] = (0.0,),
    square: bool = False,
    most: int = 5,
) -> tuple[Block, ...]:
    """Draw one to ``most`` sections that overlap as they please."""
    one: SearchStrategy[Block] = blocks(
        forms=forms, pitches=pitches, overhangs=overhangs, square=square
    )
    several = draw(st.lists(one, min_size=1, max_size=most))
    return tuple(replace(block, id=f"part{k}") for k, block in enumerate(several))
