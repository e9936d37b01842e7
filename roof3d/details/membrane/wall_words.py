"""What is said of the strips of a wall flashing."""

from __future__ import annotations

from dataclasses import dataclass

from roof3d.catalog.material import Material
from roof3d.details.build_up import BuildUp
from roof3d.details.membrane.words import top_sheet_words
from roof3d.details.model import DetailLayer
from roof3d.details.site import DetailSite


@dataclass(frozen=True, slots=True, kw_only=True)
class StripWords:
    """Plain words of one strip."""

    title: str
    fastening: str
    why: str
    tool: str
    gear: str
    mistake: str
    check: str


STRIP_WORDS = {
    "cant": StripWords(
        title="Cant strip",
        fastening="adhesive, or nails where they will be covered",
        why="Breaks the corner in two gentle bends: no sheet is folded sharply.",
        tool="saw, caulk gun",
        gear="gloves, eye guard",
        mistake="Left out, or with gaps where lengths meet.",
        check="Run a finger along its face: one line, no gap, no step.",
    ),
    "flashing-ply": StripWords(
        title="Flashing ply",
        fastening="its own adhesive on a primed wall; capped nails along its head",
        why="First of two sheets up the wall; it bonds roof and wall together.",
        tool="brush for the primer, hand roller",
        gear="nitrile gloves, fresh air, no flame near the primer",
        mistake="Bridged across the cant: hollow, it splits when someone kneels on it.",
        check="Press it along both bends of the cant: it gives nowhere.",
    ),
    "flashing-cap": StripWords(
        title="Flashing cap",
        fastening="bonded over its whole face; the bar holds its head",
        why="Keeps sun and splash off the flashing below.",
        tool="hook knife, hot-air gun, hand roller, probe",
        gear="heat gloves, long sleeves, fire watch",
        mistake="Its head lower than the rule: snow and splash go over it.",
        check="Tape from the roof to its head, at the highest place of the roof.",
    ),
    "termination-bar": StripWords(
        title="Termination bar",
        fastening="screws with washers into solid wall",
        why="Clamps the head of the flashing, whatever the adhesive does in the heat.",
        tool="drill, screw gun, caulk gun",
        gear="eye guard, dust mask in masonry",
        mistake="Screws only at the ends of the bar, its middle loose.",
        check="No blade goes in behind the bar; a bead of sealant lies along its head.",
    ),
    "counterflashing": StripWords(
        title="Counterflashing",
        fastening="fixed to the wall alone, above the flashing",
        why="Throws the water of the wall out over bar and flashing.",
        tool="snips, bender, caulk gun",
        gear="cut-proof gloves, eye guard",
        mistake="Nailed through the flashing: it leaks there and ties roof to wall.",
        check="Lift its lower edge: it moves freely and covers bar and head.",
    ),
}
"""By the id of the strip's rule."""


def strip_words(
    site: DetailSite, work: BuildUp, name: str, number: int, made: Material, size: str
) -> DetailLayer:
    """Return the words of a strip of the flashing at a wall."""
    words = STRIP_WORDS[name]
    rule = site.strip(site.place.planes[0], name)
    fastening = words.fastening
    if rule is not None and rule.nailing is not None:
        fastening += f", {work.text(rule.nailing.lap_spacing)} apart"
    if name == "flashing-cap":
        fastening = f"{_bond(site)}; the bar holds its head"
    return DetailLayer(
        number=number,
        name=words.title,
        material=made.id,
        size=size,
        why=words.why,
        fastening=fastening,
        source=made.source if rule is None else rule.source,
        tool=words.tool,
        gear=words.gear,
        mistake=words.mistake,
        check=words.check,
    )


def _bond(site: DetailSite) -> str:
    """Say how the flashing sticks to what is below: as the top sheet does, but for its nails."""
    how = top_sheet_words(site, site.place.planes[0])
    return (
        how.at_metal.split(";")[0]
        .replace("coated flange", "sheet and the primed wall")
        .replace("flange", "face")
    )
