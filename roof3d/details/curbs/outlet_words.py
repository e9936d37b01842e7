"""What is said of the parts of drains and scuppers."""

from __future__ import annotations

from roof3d.details.curbs.parapet_words import PartWords, filled, told
from roof3d.details.model import PRACTICE, DetailLayer, size_text
from roof3d.details.site import DetailSite
from roof3d.layout.outlets import lap_near

_WORDS = {
    "sump": PartWords(
        name="Deck with sump",
        fastening="panels nailed or screwed 6 in apart at their edges, and round the sump",
        why="Draws the last water to the bowl; the sheets lie over its rim without a fold.",
        tool="saw, level, screw gun",
        gear="eye guard, gloves, harness; the hole covered until the bowl is in",
        mistake="The bowl set proud of the deck: a ring of water stands round it.",
        check="Pour a bucket: all of it runs into the bowl.",
    ),
    "bowl": PartWords(
        name="Bowl of the drain",
        fastening="clamped to the deck from below; its pipe is the plumber's",
        why="Takes the water; its flange is what the sheets are clamped to.",
        tool="wrench, level",
        gear="gloves, eye guard",
        mistake="Its flange above the sheets around it.",
        check="Lay a straightedge over it: its flange is the lowest place.",
    ),
    "bed": PartWords(
        name="Mastic bed",
        fastening="trowelled on, no skips",
        why="Closes the upper edge of the metal, which faces the water.",
        tool="notched trowel",
        gear="nitrile gloves, fresh air, no flame",
        mistake="Dabs in place of a bed, or so much that it softens the sheet.",
        check="A thin bead squeezes out along the whole edge.",
    ),
    "drain-bed": PartWords(
        name="Mastic bed",
        fastening="trowelled on, no skips",
        why="Holds the lead to the ply, so that standing water cannot creep in under it.",
        tool="notched trowel",
        gear="nitrile gloves, fresh air, no flame",
        mistake="Dabs in place of a bed, or so much that it softens the sheet.",
        check="A thin bead squeezes out all round the lead's rim.",
    ),
    "drain-lead": PartWords(
        name="Lead of the drain",
        fastening="dressed down into its bed, no nails; the ring holds it",
        why="Soft metal that takes the sheets into the bowl and bears the heaviest flow.",
        tool="dresser, snips, brush for the primer",
        gear="gloves; wash hands before eating, do not cut it dry",
        mistake="Unprimed or oily: the sheets let go of it.",
        check="Dull with primer all over, no crease, mastic all round its rim.",
    ),
    "drain-ply": PartWords(
        name="Strip ply",
        fastening="its own adhesive, rolled; no nails",
        why="Seals the rim of the lead to the ply of the field.",
        tool="hook knife, hand roller",
        gear="gloves, knee pads",
        mistake="Cut to the size of the lead: nothing seals its rim.",
        check="It goes past the lead on all sides, pressed down at the step.",
    ),
    "ring": PartWords(
        name="Ring and strainer",
        fastening="every bolt, tightened in turn and evenly",
        why="Clamps every sheet to the bowl, and keeps leaves out of the pipe.",
        tool="wrench, torque tool",
        gear="gloves",
        mistake="A bolt left out, or the ring tight on one side alone.",
        check="Count the bolts; all plies show inside the ring; the strainer does not turn.",
    ),
    "wall": PartWords(
        name="Deck and parapet",
        fastening="panels nailed or screwed 6 in apart; the opening framed or lintelled",
        why="Bears everything; the opening is as wide and as low as the water asks.",
        tool="saw, level, tape",
        gear="eye guard, dust mask, harness",
        mistake="The opening cut after the sheets are up.",
        check="Tape from the low point of the roof to the sill.",
    ),
    "scupper-box": PartWords(
        name="Scupper box",
        fastening="flange nailed {apart} apart, staggered, covered by the strip; corners soldered",
        why="A metal throat through the wall: its flange joins it to the sheets.",
        tool="snips, solder iron or welder, hammer, brush for the primer",
        gear="cut-proof gloves, eye guard, fire watch when soldering",
        mistake="Corners folded and caulked: the first frost opens them.",
        check="Fill it with water before it goes in: no drop comes through a corner.",
    ),
    "scupper-ply": PartWords(
        name="Strip ply",
        fastening="its own adhesive, rolled; no nails",
        why="Seals the rim of the flange to the ply, and covers its nails.",
        tool="hook knife, hand roller",
        gear="gloves, knee pads",
        mistake="A back lap at the inlet: the lower piece over the upper.",
        check="From the roof to the throat each piece lies over the one before it.",
    ),
    "throat": PartWords(
        name="Sealant round the throat",
        fastening="gunned where the sheets end at the metal, tooled",
        why="Keeps splash from the cut edges; the laps below keep the wall dry.",
        tool="caulk gun, tooling spatula",
        gear="gloves, harness",
        mistake="A fillet that dams the sill: water stands in front of it.",
        check="Pour a cup onto the sill: it runs out, none stays.",
    ),
}
"""By the id of the strip's rule, or what it is."""


def outlet_words(
    name: str, number: int, material: str, size: str, source: str, *, apart: str = ""
) -> DetailLayer:
    """Return the words of one part; ``apart``: of its nails."""
    return told(filled(_WORDS[name], {"apart": apart}), number, material, size, source or PRACTICE)


def lap_note(site: DetailSite, what: str, free: float) -> str:
    """Say whether a lap of the top sheet lies near the opening of a site on this roof."""
    opening = next(one for one in site.roof.openings if one.id == site.place.opening)
    laid = site.laid_plane(site.place.planes[0])
    near = None if laid is None else lap_near(laid, opening)
    bound = size_text(free, site.units)
    if near is None:
        return f"No lap of the cap lies within {bound} of the middle of the {what} ({PRACTICE})."
    lies = f"lies {size_text(near, site.units)} from" if near > 0.0 else "runs through"
    return (
        f"On this roof a lap of the cap {lies} the middle of the {what}: keep {bound} free, or lay "
        f"a sheet of its own there ({PRACTICE})."
    )
