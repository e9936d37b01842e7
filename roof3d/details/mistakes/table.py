"""The wrong builds of each kind of joint: what is changed in the work, and what is said of it."""

from __future__ import annotations

from typing import Final

from roof3d.details.mistakes.ends import ENDS
from roof3d.details.mistakes.model import Change, Mistake, WrongBuild
from roof3d.details.model import PRACTICE, DetailKind
from roof3d.details.proof.model import FaultKind

_SHINGLED: Final = (DetailKind.HEADWALL_SHINGLE, DetailKind.PIPE_SHINGLE, DetailKind.CHIMNEY)
_EDGES: Final = (DetailKind.EAVE_MEMBRANE, DetailKind.RAKE_MEMBRANE)
_OUTLETS: Final = (DetailKind.PIPE_MEMBRANE, DetailKind.DRAIN, DetailKind.SCUPPER)
_LEVEL: Final = (
    DetailKind.CAP_LAP,
    DetailKind.HEADWALL_MEMBRANE,
    DetailKind.SIDEWALL_MEMBRANE,
    DetailKind.CHIMNEY_MEMBRANE,
    DetailKind.LOW_BELOW_STEEP,
    DetailKind.PARAPET,
    *_OUTLETS,
)


def wrong_builds(kind: DetailKind) -> tuple[tuple[WrongBuild, Change], ...]:
    """Return the wrong builds that make sense at a kind of joint, if its pieces allow them."""
    found = [*_ANYWHERE, *_MISSING]
    found += [(wrong, change) for kinds, wrong, change in (*_SPECIAL, *ENDS) if kind in kinds]
    return tuple(found)


_ANYWHERE: Final = (
    (
        WrongBuild(
            mistake=Mistake.BACK_LAP,
            title="Back-water lap",
            wrong="The lower of two rows is laid over the higher one.",
            water="What runs down meets an open edge and goes in under it, lap by lap to the deck.",
            cost="The deck rots along the whole lap; the field must come off to mend it.",
            see="Stand above and look down the slope: no open edge looks back up at you.",
            expected=FaultKind.BACK_WATER,
            source=PRACTICE,
        ),
        Change(),
    ),
    (
        WrongBuild(
            mistake=Mistake.SHORT_LAP,
            title="Lap too short",
            wrong="The upper sheet stops short: a quarter of the lap is left.",
            water="Wind drives it up under the edge, and a film creeps across so short a lap.",
            cost="A stain far from the lap, years later; each lap of that row must be stripped in.",
            see="Put a tape on the lap before it is rolled; the line on the sheet tells.",
            expected=FaultKind.SHORT_LAP,
            source="least laps as the catalog gives them for each sheet",
        ),
        Change(),
    ),
    (
        WrongBuild(
            mistake=Mistake.LOW_NAIL,
            title="Nail too low",
            wrong="Nails are driven where nothing covers them.",
            water="It follows the shank through every layer down to the deck.",
            cost="Rust, a leak at each nail, and heads that lift what lies over them.",
            see="Look along the courses in low light: no head is in sight.",
            expected=FaultKind.NAIL_BARE,
            source=PRACTICE,
        ),
        Change(),
    ),
    (
        WrongBuild(
            mistake=Mistake.STACKED_JOINT,
            title="Joint over joint",
            wrong="A course is set so that its joints fall over those of the one below.",
            water="It drops through one joint straight into the next.",
            cost="A leak line up the roof; the courses must be laid anew.",
            see="Two joints in neighbouring courses never line up.",
            expected=FaultKind.STACKED,
            source=PRACTICE,
        ),
        Change(),
    ),
)

_MISSING: Final = tuple(
    (
        WrongBuild(
            mistake=Mistake.MISSING_LAYER,
            title=f"No {name}",
            wrong=f"The {name}, {what}, is left out.",
            water=water,
            cost=cost,
            see=see,
            expected=FaultKind.MISSING,
            source=PRACTICE,
        ),
        Change(gone=families),
    )
    for families, name, what, water, cost, see in (
        (
            ("barrier",),
            "ice barrier",
            "the sticky sheet that holds against dammed water",
            "Behind ice it stands and rises over the heads of the sheets below.",
            "A wet ceiling with the first thaw.",
            "Before shingling: one wide sticky sheet lies over the head of the top sheet.",
        ),
        (
            ("starter",),
            "starter",
            "the strip under the first course",
            "It drops through the joints of the first course onto what lies below.",
            "The eave rots at every joint, and wind lifts the first course.",
            "Lift the first course: a strip with its glue near the edge lies under it.",
        ),
        (
            ("lining",),
            "valley lining",
            "the wide sheet in the crease",
            "Whatever gets past the metal runs onto bare wood in the crease.",
            "The deck of the valley rots unseen.",
            "Before the metal comes: one wide sheet lies in the crease, pressed in.",
        ),
        (
            ("step",),
            "step flashing",
            "a bent piece of metal at each course",
            "It runs down the wall and in beside the shingles' ends.",
            "Wall and deck rot along the whole side.",
            "Count: one piece of metal a course.",
        ),
        (
            ("flashing-ply", "parapet-ply"),
            "flashing ply",
            "the first of two sheets on the wall",
            "One sheet alone turns up the wall; its first split lets water in.",
            "A wet wall at the worst corner of the roof.",
            "Photograph the ply on the wall before the top sheet covers it.",
        ),
        (
            ("ply",),
            "ply",
            "the sheet under the top one",
            "The first hole in the top sheet reaches the nailed base and its nails.",
            "One sheet does the work of two: it leaks years too soon.",
            "Count the sheets at an edge before it is closed.",
        ),
        (
            ("underlayment", "underlayment_near", "underlayment_far"),
            "underlayment",
            "the sheet between wood and shingles",
            "Whatever blows in under the shingles wets the bare deck.",
            "No second line of defence: each lifted shingle is a leak.",
            "No wood is in sight before the first shingle is laid.",
        ),
    )
)


def _metal(title: str, wrong: str, water: str, cost: str, see: str, kind: FaultKind) -> WrongBuild:
    over = "over" in title
    return WrongBuild(
        mistake=Mistake.METAL_OVER if over else Mistake.METAL_UNDER,
        title=title,
        wrong=wrong,
        water=water,
        cost=cost,
        see=see,
        expected=kind,
        source=PRACTICE,
    )


_SPECIAL: Final = (
    (
        (DetailKind.EAVE_SHINGLE,),
        _metal(
            "Drip edge over the underlayment",
            "The drip edge is nailed on top of the underlayment at the eave.",
            "What runs down the underlayment goes in under the metal and behind the fascia.",
            "A rotten fascia and deck edge behind sound metal.",
            "Lift the underlayment at the eave: the metal lies under it.",
            FaultKind.BACK_WATER,
        ),
        Change(late=("underlayment", "barrier"), soon=("metal",)),
    ),
    (
        (DetailKind.RAKE_SHINGLE,),
        _metal(
            "Rake metal under the underlayment",
            "The metal of the rake is nailed on first and the underlayment laid over it.",
            "Rain from the side blows in between metal and underlayment.",
            "A wet deck edge along the gable, and an underlayment that the wind can lift.",
            "Lift the metal at the rake: the underlayment goes on under it.",
            FaultKind.BACK_WATER,
        ),
        Change(late=("underlayment",), soon=("metal",)),
    ),
    (
        _EDGES,
        _metal(
            "Edge metal over the top sheet",
            "The flange is nailed on top of the finished sheet.",
            "It stands against the flange's back edge and goes down its nails.",
            "Rusted nails and a wet deck edge all along.",
            "Only a narrow margin of metal is in sight at the edge.",
            FaultKind.NAIL_BARE,
        ),
        Change(late=("cap",), soon=("bed", "metal")),
    ),
    (
        (DetailKind.LOW_ABOVE_STEEP,),
        _metal(
            "Edge metal under the top courses",
            "The metal is set first and the face shingled up over its leg.",
            "It runs off the deck over the metal and in behind the shingles.",
            "The wall or deck behind the face rots from the top.",
            "From below: the leg of the metal lies on the shingles.",
            FaultKind.HEAD_BARE,
        ),
        Change(late=("course",), soon=("bed", "metal")),
    ),
    (
        _SHINGLED,
        _metal(
            "Flashing under the shingles below it",
            "The flashing is set first; the shingles below it are laid over its foot.",
            "It runs off the flashing in behind the shingles instead of onto them.",
            "A wet deck all round, however much is caulked on top.",
            "Its foot lies on the shingles below, in plain sight.",
            FaultKind.BUTT_IN_AIR,
        ),
        Change(late=("course",), soon=("apron", "flange", "pipe")),
    ),
    (
        (DetailKind.LOW_BELOW_STEEP,),
        WrongBuild(
            mistake=Mistake.BARRIER_UNDER,
            title="Ice barrier tucked under the top sheet",
            wrong="The ice barrier is laid before the top sheet, whose head then lies over it.",
            water="It runs down the barrier and in behind the head of the sheet.",
            cost="The joint leaks with every rain that gets under the shingles.",
            see="Lift the barrier's edge: it is the upper one of the two.",
            expected=FaultKind.HEAD_BARE,
            source=PRACTICE,
        ),
        Change(late=("cap", "band"), soon=("barrier",)),
    ),
    (
        (*_EDGES, DetailKind.LOW_ABOVE_STEEP, DetailKind.CORNER),
        WrongBuild(
            mistake=Mistake.DRY_BED,
            title="Flange set dry",
            wrong="The metal is nailed down without a bed of cement.",
            water="It gets in behind the flange and runs under it to the nails.",
            cost="The edge rusts from below and lifts in the first storm.",
            see="Cement shows all along the back edge of the flange before the sheet comes.",
            expected=FaultKind.DRY_METAL,
            source=PRACTICE,
        ),
        Change(gone=("bed",)),
    ),
    (
        (DetailKind.DRAIN,),
        WrongBuild(
            mistake=Mistake.DRY_BED,
            title="Lead set dry",
            wrong="The lead is laid on the ply without a bed of mastic.",
            water="What stands in the sump creeps in under the lead, and on to the bowl's rim.",
            cost="A leak round the bowl, and a deck that rots at its lowest place.",
            see="Mastic shows all round the lead's rim before the strip is stuck over it.",
            expected=FaultKind.DRY_METAL,
            source=PRACTICE,
        ),
        Change(gone=("bed",)),
    ),
    (
        (DetailKind.CAP_LAP, DetailKind.VALLEY_OPEN),
        WrongBuild(
            mistake=Mistake.DRY_BED,
            title="Edge without cement",
            wrong="The edge is pressed on dry: no cement lies under it.",
            water="Wind and water open it and run in along it.",
            cost="The edge curls, and what lies under it is wet after each storm.",
            see="Press along the edge and lift gently: nothing opens.",
            expected=FaultKind.DRY_METAL,
            source=PRACTICE,
        ),
        Change(gone=("bed",)),
    ),
    (
        (*_EDGES, *_LEVEL),
        WrongBuild(
            mistake=Mistake.SWAPPED_PLIES,
            title="Base and ply changed about",
            wrong="The ply is stuck to the wood and the base nailed through it.",
            water="It goes down the nails of the base through the only sheet below.",
            cost="The ply is a sieve, and stuck to the deck for good.",
            see="The nailed sheet is the first one on the wood.",
            expected=FaultKind.OUT_OF_ORDER,
            source=PRACTICE,
        ),
        Change(late=("base",), soon=("ply",)),
    ),
)
