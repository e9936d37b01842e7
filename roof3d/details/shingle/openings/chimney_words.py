"""Lengths and words of a chimney's joint."""

from __future__ import annotations

from dataclasses import dataclass, replace

from roof3d.details.build_up import BuildUp
from roof3d.details.model import INCH, PRACTICE, DetailLayer
from roof3d.details.rows import describe
from roof3d.details.shingle.field import Field
from roof3d.details.shingle.words import steep_note
from roof3d.layout.joint import Given


@dataclass(frozen=True, slots=True, kw_only=True)
class ChimneyLengths:
    """Lengths round a chimney that neither the catalog nor the layout has.

    Attributes
    ----------
    side, below, above : Given
        Of roof shown beside it, below its foot, and above the pan.
    shown : Given
        Height of the chimney shown over the roof at its head.
    past : Given
        Apron and pan past its sides.
    hidden : Given
        Lower edge of a step above the butt of the course that covers it.
    pan_up : Given
        Of the pan up the chimney.
    crease : Given
        Shingles above stop this far from the crease of the pan.
    cricket_from : Given
        A chimney wider than that has a cricket.
    reglet : Given
        Counterflashing into the joints of the brick.
    over_joint : Given
        Of chimney shown over its highest joint.
    """

    side: Given = Given(13.0 * INCH)
    below: Given = Given(13.0 * INCH)
    above: Given = Given(9.0 * INCH)
    shown: Given = Given(14.0 * INCH)
    past: Given = Given(4.0 * INCH, "Delaware guide specification")
    hidden: Given = Given(0.5 * INCH)
    pan_up: Given = Given(6.0 * INCH)
    crease: Given = Given(4.0 * INCH)
    cricket_from: Given = Given(30.0 * INCH, "IRC 2018, R903.2.2 (edition from memory)")
    reglet: Given = Given(1.0 * INCH)
    over_joint: Given = Given(4.0 * INCH)


def cricket_words(
    field: Field, number: int, height: float, length: float, o: ChimneyLengths
) -> DetailLayer:
    """Say what the cricket does."""
    made, work = field.material("deck"), field.work
    said = describe(
        number,
        made,
        f"{work.text(height)} high at the chimney, {work.text(length)} up the slope",
        "framed to the deck, never to the chimney",
        "Parts the water. Asked for where a chimney is wider than "
        f"{work.text(o.cricket_from.metres)} ({o.cricket_from.source}).",
        tool="saw, level, chalk line",
        gear="eye guard, harness",
        mistake="A flat pan behind a wide chimney: snow and leaves lie there and rot.",
        check="Set a level on its ridge: level, and both sides fall to the outside.",
    )
    return replace(said, name="Cricket")


def pan_words(
    field: Field, number: int, width: float, cricket: float, o: ChimneyLengths
) -> DetailLayer:
    """Say what the back pan does."""
    rule, work = field.rule("back-pan"), field.work
    metal = work.catalog.material(rule.material)
    return describe(
        number,
        metal,
        f"{work.least(width)} up the slope{' past the cricket' if cricket else ''}, "
        f"{work.least(o.pan_up.metres)} up the chimney, "
        f"{work.least(o.past.metres)} past both sides",
        "at its rim alone, under the shingles; corners soldered or sealed",
        "Bears the most water of all: what comes down on the whole width of the chimney.",
        tool="metal brake, snips, soldering iron",
        gear="cut-proof gloves, harness, fire watch when soldering",
        mistake="Nails in the pan: each is a hole in the stream.",
        check="Pour a bucket behind the chimney: it runs off past both sides.",
    )


def reglet_words(work: BuildUp, number: int, joint: tuple[float, float]) -> DetailLayer:
    """Say what closes the joints over the counterflashing."""
    high, deep = joint
    return DetailLayer(
        number=number,
        name="Sealant in the joints",
        material="roof-cement",
        size=f"joints raked {work.least(deep)} deep, {work.text(high)} high as drawn",
        why="Keeps water out of the groove; the lap of the metal, not the bead, keeps the house "
        "dry.",
        fastening="gunned over metal and wedges, tooled to shed water",
        source=PRACTICE,
        tool="caulk gun, pointing tool, brush",
        gear="gloves, harness",
        mistake="Dust left in the groove: the bead lets go in the first winter.",
        check="Press it once it has set: it gives, and sticks to brick and metal alike.",
    )


def chimney_notes(field: Field, o: ChimneyLengths, *, wide: bool) -> tuple[str, ...]:
    """Say what keeps it dry."""
    seen = [
        f"Pan over steps, steps over apron, apron over shingles ({PRACTICE}).",
        (
            "Nothing ties apron, steps or pan to the chimney: roof and chimney move apart. The "
            f"counterflashing is fixed to the brick alone ({PRACTICE})."
        ),
    ]
    if not wide:
        seen.append(
            f"No cricket is asked for up to {field.work.text(o.cricket_from.metres)} of width "
            f"({o.cricket_from.source})."
        )
    return (*steep_note(field), *seen)
