"""Words that several shingle details share."""

from __future__ import annotations

from roof3d.details.model import INCH, PRACTICE, DetailLayer
from roof3d.details.rows import describe
from roof3d.details.shingle.field import Field

JOINTS_OFF = 4.0 * INCH
"""Joints of neighbouring courses at least this far apart."""


def barrier_words(field: Field, number: int, head: float) -> DetailLayer:
    """Say what the ice barrier does."""
    made, work = field.material("ice barrier"), field.work
    return describe(
        number,
        made,
        f"{work.least(head)} up from the eave, laps {work.least(made.side_lap)}, ends "
        f"{work.least(made.end_lap)}",
        "its own adhesive, rolled; dusty wood is primed; no nails",
        "Ice at a cold eave holds meltwater back; this sheet keeps it out of the wood.",
        tool="hook knife, hand roller, tape",
        gear="gloves, harness, soft soles",
        mistake="One roll where the overhang asks for two: it ends over the cold soffit.",
        check="Tape from the wall line, not from the eave.",
    )


def underlayment_words(
    field: Field, number: int, where: str, *, role: str = "underlayment"
) -> DetailLayer:
    """Say what the underlayment does, or what lies in its place."""
    made, work, layer = field.material(role), field.work, field.layers[role]
    nails = layer.nailing
    hold = layer.fastening
    if nails is not None:
        hold = f"capped nails {work.text(nails.lap_spacing)} apart, at every mark on its laps"
    return describe(
        number,
        made,
        f"laps {work.least(layer.side_lap or made.side_lap)}, ends "
        f"{work.least(layer.end_lap or made.end_lap)}; {where}",
        hold,
        "Keeps the house dry until the shingles lie, and what gets under them later.",
        tool="cap hammer, knife, chalk line",
        gear="harness, soft soles, gloves",
        mistake="A lower sheet lapped over an upper one: it drinks what runs down.",
        check="Every sheet lies over the one below, flat, its caps driven home.",
    )


def course_words(field: Field, number: int, where: str) -> DetailLayer:
    """Say what the shingles do."""
    made, work, layer = field.material("shingles"), field.work, field.layers["shingles"]
    line = f", {work.text(layer.nailing.line)} up" if layer.nailing else ""
    return describe(
        number,
        made,
        f"{work.text(made.exposure)} exposed; {where}; joints {work.least(JOINTS_OFF)} or more "
        "apart",
        f"4 nails a shingle or more{line}; 6 nails in high wind",
        "Sheds the water from course to course; every place lies under two thicknesses.",
        tool="roofing nailer with depth stop, gauge, hook blade",
        gear="harness, roof jacks, eye guard",
        mistake="Nails above the line or driven through: the course slides or blows off.",
        check="Lift a tab: heads on the line, flush, covered by the next course.",
    )


def cladding_words(number: int, clear: str, cover: str) -> DetailLayer:
    """Say what the covering of the wall does."""
    return DetailLayer(
        number=number,
        name="Weather barrier and cladding",
        material="",
        size=f"down over the metal by {cover} or more, {clear} clear of the roof",
        why="Laps the head of the metal, so that water on the wall comes out over it.",
        fastening="to the wall, above the metal",
        source=f"clear of the roof: public building research guide; the rest: {PRACTICE}",
        tool="saw, level, spacer block",
        gear="eye guard, harness",
        mistake="A bead of caulk in place of the lap: it opens, and the wall drinks.",
        check="Slip a card up under the cladding: it goes up between cladding and metal.",
    )


def steep_note(field: Field) -> tuple[str, ...]:
    """Ask for the steep method, or tell of the double underlayment, where the slope does."""
    plane = field.plane.plane
    assembly = field.site.assembly(plane.id)
    if plane.slope > assembly.special_attachment_above:
        return (
            (
                "Shingles this steep need cement dabs under each, besides the nails "
                f"({assembly.special_attachment_source})."
            ),
        )
    if plane.slope < assembly.double_underlayment_below:
        return (
            f"So flat a slope has its underlayment double ({assembly.double_underlayment_source}).",
        )
    return ()
