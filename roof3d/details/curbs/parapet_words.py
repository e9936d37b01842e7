"""What is said of the parts of a parapet."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Final

from roof3d.catalog.laying import StripRule
from roof3d.details.build_up import BuildUp
from roof3d.details.model import INCH, PRACTICE, DetailLayer

STOP_OVER: Final = 24.0 * INCH
"""A higher wall has a bar half way up: contractors' association magazine."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PartWords:
    """Plain words of one part, but for its size."""

    name: str
    fastening: str
    why: str
    tool: str
    gear: str
    mistake: str
    check: str
    source: str = PRACTICE


_WORDS = {
    "deck": PartWords(
        name="Deck and parapet",
        fastening="panels nailed or screwed 6 in apart at their edges; the wall as built",
        why="Bears everything; deck and wall may move apart a little, the sheets must bear it.",
        tool="saw, tape, screw gun",
        gear="eye guard, gloves, harness",
        mistake="A gap at the foot of the wall with nothing under the sheets.",
        check="Press along the foot: nothing gives, no gap is wider than a pencil.",
    ),
    "blocking": PartWords(
        name="Top blocking",
        fastening="bolted or screwed to the wall as the wind asks",
        why="Gives the top its fall to the roof, and the coping wood to hold to.",
        tool="saw, level, drill",
        gear="eye guard, harness, second person",
        mistake="A level top: water stands under the coping and finds its screws.",
        check="Set a level across it: the bubble leaves toward the roof.",
    ),
    "cant": PartWords(
        name="Cant strip",
        fastening="adhesive, or nails where they will be covered",
        why="Breaks the corner in two gentle bends: no sheet is folded sharply.",
        tool="saw, caulk gun",
        gear="gloves, eye guard",
        mistake="Left out, or with gaps where lengths meet.",
        check="Run a finger along its face: one line, no gap, no step.",
    ),
    "parapet-ply": PartWords(
        name="Flashing ply",
        fastening="its own adhesive on primed wall and wood, rolled; capped nails outside alone",
        why="Wraps the whole top, so that the wall is tight before its coping is on.",
        tool="brush for the primer, hook knife, hand roller",
        gear="harness, nitrile gloves, fresh air, no flame near the primer",
        mistake="Stopped on top of the wall: every open joint of the coping then leaks.",
        check="Lean over and look: it comes down the outside all along.",
        source="onto the field, laps: UFGS-07600, VA 07 52 16; down outside: Canadian provincial "
        "manual",
    ),
    "parapet-cap": PartWords(
        name="Flashing cap",
        fastening="bonded over its whole face, vertical laps {lap}; capped nails outside alone",
        why="Keeps sun and splash off the ply, and is the second sheet of two.",
        tool="hook knife, hot-air gun, hand roller, probe",
        gear="harness, heat gloves, long sleeves, fire watch",
        mistake="Its laps over those of the ply: one path through both.",
        check="Probe every vertical lap and the toe once they are cold.",
        source="laps: UFGS-07600; down outside: Canadian provincial manual",
    ),
    "stop-bar": PartWords(
        name="Stop bar",
        fastening="screws with washers into solid wall",
        why="Holds the sheets of a high wall, which slide in the sun.",
        tool="drill, screw gun",
        gear="eye guard, dust mask in masonry",
        mistake="Left out on walls above {stop}: the sheets hang from their heads and sag.",
        check="No blade goes in behind it.",
        source="that high walls need stops: contractors' association magazine",
    ),
    "hook-strip": PartWords(
        name="Hook strip",
        fastening="nails {apart} apart through the sheets into the wood",
        why="The outer leg of the coping hooks over it: wind cannot lift the hat.",
        tool="snips, hammer, chalk line",
        gear="harness, cut-proof gloves",
        mistake="Nails two feet apart: the first storm takes strip and hat.",
        check="Tape the nails: {apart}; pull at the strip: it does not stir.",
    ),
    "coping-plate": PartWords(
        name="Joint plate",
        fastening="on one side alone, so that the lengths can move",
        why="Catches what the open joint lets in, and leads it to the roof.",
        tool="caulk gun, rag and solvent",
        gear="harness, gloves",
        mistake="Copings butted hard: heat buckles them, and the sealant tears.",
        check="Slip a gauge into the joint: {gap}, a plate in sealant below.",
    ),
    "coping": PartWords(
        name="Coping",
        fastening="hooked outside; screws with washers inside, in slots; none in its top",
        why="Keeps sun, feet and wind off the sheets, and throws rain onto the roof.",
        tool="bender, snips, seamer, screw gun",
        gear="harness, cut-proof gloves, second person on the outside",
        mistake="Screws through the top: each is a hole over the wall.",
        check="No head on the top; the outer leg does not lift when pulled.",
    ),
    "sealant": PartWords(
        name="Sealant in the joint",
        fastening="between clean, dry metal, wiped with solvent; tooled",
        why="Second seal of the joint; the plate below leads to the roof what it lets in.",
        tool="caulk gun, rag and solvent",
        gear="harness, gloves, fresh air",
        mistake="The only seal: no plate below, no fall.",
        check="Press it: it gives, and clings to both lengths.",
    ),
}
"""By the id of the strip's rule, or what it is."""


def said(
    name: str,
    number: int,
    material: str,
    size: str,
    work: BuildUp,
    *,
    rule: StripRule | None = None,
    gap: float = 0.0,
) -> DetailLayer:
    """Return the words of one part; its source is the material's where that has more to say.

    ``rule`` has its laps and nails, ``gap`` is that of an open joint.
    """
    words = _WORDS[name]
    made = work.catalog.material(material) if material else None
    source = words.source
    if source == PRACTICE and made is not None:
        source = made.source
    lap = (rule.lap if rule else 0.0) or (made.end_lap if made else 0.0)
    apart = rule.nailing.lap_spacing if rule and rule.nailing else 0.0
    lengths = {
        "lap": work.least(lap),
        "apart": work.text(apart),
        "gap": work.text(gap),
        "stop": work.text(STOP_OVER),
    }
    return told(filled(words, lengths), number, material, size, source)


def filled(words: PartWords, lengths: Mapping[str, str]) -> PartWords:
    """Put lengths into the sentences that ask for them."""
    return replace(
        words,
        fastening=words.fastening.format_map(lengths),
        mistake=words.mistake.format_map(lengths),
        check=words.check.format_map(lengths),
    )


def told(words: PartWords, number: int, material: str, size: str, source: str) -> DetailLayer:
    """Return the words of a part as those of a layer."""
    return DetailLayer(
        number=number,
        name=words.name,
        material=material,
        size=size,
        why=words.why,
        fastening=words.fastening,
        source=source,
        tool=words.tool,
        gear=words.gear,
        mistake=words.mistake,
        check=words.check,
    )
