"""Piles of roof sections for property tests, on a coarse grid so that ties are common.

The ordinary suite runs few examples, the same each time, and shows a failure as it was drawn.
Set ``ROOF3D_EXAMPLES`` to a number for a long search with fresh examples, made small.
"""

from __future__ import annotations

import itertools
import math
import os
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from hypothesis import HealthCheck, Phase, assume, settings
from hypothesis import strategies as st

from roof3d.project import build
from roof3d.spec.read import parse_spec
from tests.model_text import Block, model_text

if TYPE_CHECKING:
    from hypothesis.strategies import DrawFn, SearchStrategy

    from roof3d.project import Project

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
BASES = (0.0, 1.0, 2.0)
PITCHES = (1 / 48, 1 / 12, 2 / 12, 0.25, 0.5, 0.75, 1.0)


@st.composite
def blocks(
    draw: DrawFn,
    *,
    forms: tuple[str, ...] = FORMS,
    pitches: tuple[float, ...] = PITCHES,
    overhangs: tuple[float, ...] = (0.0,),
    square: bool = False,
    raised: bool = False,
) -> Block:
    """Draw one section.

    ``square`` keeps every turn a multiple of 90 degrees; ``raised`` draws walls that begin
    above the ground and sections without walls too.
    """
    form = draw(st.sampled_from(forms))
    sides = sorted(draw(st.tuples(*[st.integers(4, 20)] * 2)))
    width, length = sides[0] / 2, sides[1] / 2
    eave = draw(st.sampled_from((2.5, 3.0, 3.5, 4.0, 6.0)))
    pitch = draw(st.sampled_from(pitches))
    turns = (0, 90, 180, 270) if square else (0, 90, 180, 270, 45, 30, 17)
    eaves = draw(st.sampled_from(overhangs))
    # Hips and mansards have no rakes.
    rakes = eaves if form in {"hip", "mansard"} else draw(st.sampled_from(overhangs))
    block = Block(
        form=form,
        length=length,
        width=width,
        at=(draw(st.integers(-12, 12)) / 2, draw(st.integers(-12, 12)) / 2),
        turn=float(draw(st.sampled_from(turns))),
        eave=eave,
        pitch=pitch,
        overhang=(eaves, rakes),
        base=draw(st.sampled_from(BASES)) if raised else 0.0,
        open=draw(st.booleans()) if raised else False,
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
    raised: bool = False,
    most: int = 5,
) -> tuple[Block, ...]:
    """Draw one to ``most`` sections that overlap as they please."""
    one: SearchStrategy[Block] = blocks(
        forms=forms, pitches=pitches, overhangs=overhangs, square=square, raised=raised
    )
    several = draw(st.lists(one, min_size=1, max_size=most))
    return tuple(replace(block, id=f"part{k}") for k, block in enumerate(several))


@dataclass(frozen=True, slots=True, kw_only=True)
class Cut:
    """One opening of a model; metres, turn in degrees."""

    kind: str
    at: tuple[float, float]
    size: tuple[float, float]
    turn: float

    def text(self, name: str) -> str:
        """Return the opening as it stands in a model file."""
        size = f'size = ["{self.size[0]!r} m", "{self.size[1]!r} m"]\nturn = "{self.turn!r} deg"'
        if self.kind == "pipe":
            size = f'diameter = "{self.size[0]!r} m"'
        return (
            f'\n[[opening]]\nid = "{name}"\nkind = "{self.kind}"\n'
            f'at = ["{self.at[0]!r} m", "{self.at[1]!r} m"]\n{size}\nheight = "1 m"\n'
        )


def built_with(pile: tuple[Block, ...], cuts: tuple[Cut, ...]) -> Project:
    """Build the project of a pile with openings."""
    text = model_text(pile) + "".join(cut.text(f"cut{k}") for k, cut in enumerate(cuts))
    return build(parse_spec(text, source="pile.toml"))


@st.composite
def cut_piles(draw: DrawFn, *, raised: bool = False) -> tuple[tuple[Block, ...], tuple[Cut, ...]]:
    """Draw a pile, and one or two openings with their centres within its walls, apart."""
    pile = draw(piles(overhangs=(0.0, 0.3, 0.5), raised=raised, most=3))
    cuts = []
    for _ in range(draw(st.integers(1, 2))):
        block = draw(st.sampled_from(pile))
        along, across = draw(st.tuples(*[st.sampled_from((0.125, 0.25, 0.5, 0.7))] * 2))
        u, v = along * block.length, across * block.width
        turn = math.radians(block.turn)
        at = (
            round(block.at[0] + u * math.cos(turn) - v * math.sin(turn), 4),
            round(block.at[1] + u * math.sin(turn) + v * math.cos(turn), 4),
        )
        size = draw(st.tuples(*[st.sampled_from((0.3, 0.5, 1.0, 1.5))] * 2))
        kind = draw(st.sampled_from(("chimney", "skylight", "pipe")))
        extra = draw(st.sampled_from((0.0, 0.0, 20.0, 45.0)))
        cuts.append(Cut(kind=kind, at=at, size=size, turn=block.turn + extra))
    for one, other in itertools.combinations(cuts, 2):
        assume(math.dist(one.at, other.at) > (math.hypot(*one.size) + math.hypot(*other.size)) / 2)
    return pile, tuple(cuts)


#: Tenths of a millimetre: what two readings of one tape may differ by.
NEAR = 20


@st.composite
def near_misses(draw: DrawFn) -> tuple[tuple[Block, ...], tuple[Block, ...]]:
    """Draw a house, and the same with one section's eave or place off by up to 2 mm.

    Only what builders mean to coincide does: one plate, one pitch, walls square to each other.
    In a pile of anything a ridge may just touch a foreign eave, and then 2 mm do decide.
    """
    pitch = draw(st.sampled_from((0.25, 0.5, 1.0)))
    shape = piles(forms=("gable", "hip"), pitches=(pitch,), square=True, most=4)
    # Off the half metres of the walls: an eave that just touches a foreign wall is a tie too,
    # and so is a gap of just ``clearance`` between two overhangs.
    overhang = draw(st.sampled_from((0.0, 0.37)))
    pile = tuple(replace(block, eave=3.0, overhang=(overhang, overhang)) for block in draw(shape))
    which = draw(st.integers(0, len(pile) - 1))
    off = st.integers(-NEAR, NEAR).filter(bool).map(lambda tenths: tenths / 10_000)
    block = pile[which]
    if draw(st.booleans()):
        block = replace(block, eave=block.eave + draw(off))
    else:
        shift = draw(st.tuples(off, off))
        block = replace(block, at=(block.at[0] + shift[0], block.at[1] + shift[1]))
    return pile, (*pile[:which], block, *pile[which + 1 :])
