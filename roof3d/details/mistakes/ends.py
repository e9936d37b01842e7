"""Wrong builds at the ends of things: what stops short, is nailed through, or is left off."""

from __future__ import annotations

from typing import Final

from roof3d.details.mistakes.model import Change, Mistake, WrongBuild
from roof3d.details.model import PRACTICE, DetailKind
from roof3d.details.proof.model import FaultKind

ENDS: Final = (
    (
        (DetailKind.LOW_BELOW_STEEP,),
        WrongBuild(
            mistake=Mistake.STOPPED_SHORT,
            title="Membrane stopped too low on the slope",
            wrong="The top sheet goes up the steep deck half as far as it should.",
            water="Ice and splash stand over its head and go in behind it.",
            cost="A wet deck along the whole joint; the shingles must come off to mend it.",
            see="Photograph a tape from the break to the sheet's head before it is covered.",
            expected=FaultKind.HEAD_BARE,
            source=PRACTICE,
        ),
        Change(low=("cap",)),
    ),
    (
        (DetailKind.HEADWALL_MEMBRANE, DetailKind.SIDEWALL_MEMBRANE),
        WrongBuild(
            mistake=Mistake.STOPPED_SHORT,
            title="Flashing too low on the wall",
            wrong="The sheets go up the wall half as far as they should.",
            water="Snow and splash stand over their head and run in behind them.",
            cost="A wet wall behind sound metal.",
            see="Put a tape on the wall before the metal comes.",
            expected=FaultKind.SHORT_LAP,
            source=PRACTICE,
        ),
        Change(low=("flashing-ply", "flashing-cap")),
    ),
    (
        (DetailKind.EAVE_MEMBRANE, DetailKind.RAKE_MEMBRANE),
        WrongBuild(
            mistake=Mistake.STOPPED_SHORT,
            title="Top sheet stopped behind the flange",
            wrong="The top sheet ends before it reaches the metal of the edge.",
            water="It stands against the flange's back edge and runs in under it to the nails.",
            cost="Rusted nails and a wet deck edge all along.",
            see="Put a tape on the flange: only a narrow margin of metal is in sight.",
            expected=FaultKind.NAIL_BARE,
            source=PRACTICE,
        ),
        Change(back=("cap",)),
    ),
    (
        (DetailKind.HEADWALL_SHINGLE, DetailKind.CHIMNEY, DetailKind.PIPE_SHINGLE),
        WrongBuild(
            mistake=Mistake.FACE_NAILED,
            title="Flashing nailed through its face",
            wrong="The metal is held down by a nail in plain sight.",
            water="It follows the shank through the metal down to the deck.",
            cost="A leak at each head; sealant over it lasts a few summers.",
            see="No head is in sight on metal that lies in the weather.",
            expected=FaultKind.NAIL_BARE,
            source=PRACTICE,
        ),
        Change(nailed=("apron", "flange", "pan")),
    ),
    (
        (DetailKind.VALLEY_OPEN,),
        WrongBuild(
            mistake=Mistake.FACE_NAILED,
            title="Nail in the trough of the valley",
            wrong="The valley's metal is nailed near its middle.",
            water="The whole valley's stream runs over the nail and down its shank.",
            cost="A leak in the crease, where most water comes together.",
            see="Look down the valley: no head within reach of the stream.",
            expected=FaultKind.NAIL_BARE,
            source=PRACTICE,
        ),
        Change(nailed=("metal",)),
    ),
    (
        (DetailKind.VALLEY_CLOSED,),
        WrongBuild(
            mistake=Mistake.WRONG_SIDE,
            title="The larger side underneath",
            wrong="The side that is cut is laid first; the side that runs through covers it.",
            water="The larger plane's stream runs in under the shingles that cross the valley.",
            cost="A leak all along the valley; both sides must come off to mend it.",
            see="Look down the valley: the cut edge lies on top, away from the larger plane.",
            expected=FaultKind.HEAD_BARE,
            source=PRACTICE,
        ),
        Change(late=("shingles_far",), soon=("shingles_near",)),
    ),
    (
        (DetailKind.PIPE_MEMBRANE, DetailKind.SCUPPER),
        WrongBuild(
            mistake=Mistake.DRY_BED,
            title="Flange set dry",
            wrong="The flange is nailed down without a bed of cement under it.",
            water="It gets in behind the flange and runs under it to the hole.",
            cost="A leak at the hole itself, hard to find once the top sheet is on.",
            see="Cement shows all round the flange before the sheet comes.",
            expected=FaultKind.MISSING,
            source=PRACTICE,
        ),
        Change(gone=("bed",)),
    ),
    (
        (DetailKind.SIDEWALL_SHINGLE,),
        WrongBuild(
            mistake=Mistake.NO_KICK_OUT,
            title="No kick-out",
            wrong="The last step sheds down the wall: no kick-out turns its water off.",
            water="It runs down behind the wall's covering at the end of the eave.",
            cost="The wall rots below the eave, unseen for years.",
            see="Where the eave ends at the wall a bent piece stands off it.",
            expected=FaultKind.MISSING,
            source=PRACTICE,
        ),
        Change(gone=("kick_out",)),
    ),
    (
        (DetailKind.SIDEWALL_SHINGLE,),
        WrongBuild(
            mistake=Mistake.METAL_OVER,
            title="Steps over the finished shingles",
            wrong="All courses are laid first, and the steps nailed on top of them.",
            water="It runs in under the open side of each step.",
            cost="Wall and deck rot along the whole side.",
            see="Each step lies under the course above it: little metal is in sight.",
            expected=FaultKind.HEAD_BARE,
            source=PRACTICE,
        ),
        Change(late=("step",), soon=("course",)),
    ),
    (
        (
            DetailKind.HEADWALL_MEMBRANE,
            DetailKind.SIDEWALL_MEMBRANE,
            DetailKind.CHIMNEY_MEMBRANE,
            DetailKind.CHIMNEY,
        ),
        WrongBuild(
            mistake=Mistake.NO_COUNTERFLASHING,
            title="No counterflashing",
            wrong="The head of the flashing is left to a bead of sealant.",
            water="It runs down the wall and in behind the head as soon as the bead cracks.",
            cost="A wet wall after a few summers.",
            see="Metal let into the wall hangs over the head of the flashing.",
            expected=FaultKind.MISSING,
            source=PRACTICE,
        ),
        Change(gone=("counterflashing", "counter", "sealant")),
    ),
)
"""By kinds of joint: what is said, and what is changed."""
