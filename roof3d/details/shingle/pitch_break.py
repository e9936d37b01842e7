"""Pitch break: shingles above and below, bent metal between them."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import shapely

from roof3d.details.build_up import BuildUp
from roof3d.details.deck import lay_deck
from roof3d.details.frame import Face
from roof3d.details.frames import frame_at_break, room_on
from roof3d.details.model import INCH, PRACTICE, Detail, DetailLayer, PieceKind
from roof3d.details.rows import describe
from roof3d.details.shingle.field import Field, open_field
from roof3d.details.shingle.words import course_words, steep_note, underlayment_words
from roof3d.details.site import DetailSite, close_build, open_build, slope_words
from roof3d.layout.joint import Given


@dataclass(frozen=True, slots=True, kw_only=True)
class BreakLengths:
    """Lengths of a pitch break that neither the catalog nor the layout has.

    Attributes
    ----------
    width, below, above : Given
        Of roof shown along the break, and square to it.
    """

    width: Given = Given(38.0 * INCH)
    below: Given = Given(24.0 * INCH)
    above: Given = Given(24.0 * INCH)


def build_pitch_break(site: DetailSite, lengths: BreakLengths | None = None) -> Detail:
    """Build the layers where two planes of shingles meet, the water going from one to the other.

    Raises
    ------
    LayoutError
        Where a plane is not laid out, or the upper one's assembly has no metal for a break.
    """
    o = lengths or BreakLengths()
    edge = site.roof.edge(site.place.edge)
    upper, lower = (site.roof.plane(name) for name in edge.planes)
    site = replace(site, place=replace(site.place, planes=(lower.id, upper.id)))
    frame = frame_at_break(edge.ends, lower, upper)
    size = (
        min(o.width.metres, edge.length),
        min(o.below.metres, room_on(lower, frame.origin, frame.near)),
        min(o.above.metres, room_on(upper, frame.origin, frame.far)),
    )
    work = open_build(site, frame, size)
    below = open_field(site, work, lower.id, Face.NEAR)
    above = open_field(site, work, upper.id, Face.FAR)
    deck = lay_deck(work, above.layers["deck"].material, ("lower plane", "upper plane"))
    below.lay_sheets(2, "underlayment")
    layers = [
        deck,
        underlayment_words(below, 2, "over the break, onto the upper deck"),
        _lining(above, 3),
    ]
    above.lay_sheets(4, "underlayment", prefix="upper_")
    layers.append(underlayment_words(above, 4, "down over the lining, to the break"))
    below.lay_courses(5)
    layers.append(course_words(below, 5, "the last course cut at the break"))
    layers += [_metal(above, 6), _starter(above, 7)]
    above.lay_courses(8, prefix="upper_")
    layers.append(course_words(above, 8, "from the break up"))
    above.measure_exposure(8, work.span[0 if frame.convex else 1])
    gentle, steep = (slope_words(plane.slope, site.units) for plane in (lower, upper))
    return close_build(
        site,
        work,
        name="Pitch break on shingles",
        summary=f"{steep} above {gentle}",
        layers=layers,
        notes=_notes(work, below, above),
    )


def _lining(field: Field, number: int) -> DetailLayer:
    """Lay the self-adhered sheet over the break."""
    work, rule = field.work, field.rule("break-lining")
    made = work.catalog.material(rule.material)
    start = rule.start.at(0.0, 0.0)
    reach = (start, start + (rule.width or made.width))
    work.sheet("lining.1", made.name, PieceKind.SHEET, number, made.id, reach)
    low, high = f"lining {work.least(-reach[0])} down", f"lining {work.least(reach[1])} up"
    work.measure("lining_down", number, (reach[0], 0.0), low, rule.source)
    work.measure("lining_up", number, (0.0, reach[1]), high, rule.source)
    return describe(
        number,
        made,
        f"{work.least(-reach[0])} down and {work.least(reach[1])} up; ends lap "
        f"{work.least(rule.lap or made.end_lap)}",
        "its own adhesive, pressed into the bend, rolled; no nails",
        "Second line of defence where water changes its speed and wind drives it back.",
        tool="hook knife, hand roller",
        gear="gloves, harness, soft soles",
        mistake="Laid over the upper sheet: its head then drinks what runs down on that.",
        check="Lift the upper sheet: the lining goes up under it.",
    )


def _metal(field: Field, number: int) -> DetailLayer:
    """Lay the bent metal: over the lower shingles, under the upper ones."""
    work, rule = field.work, field.rule("break-metal")
    metal = work.catalog.material(rule.material)
    start = rule.start.at(0.0, 0.0)
    reach = (start, start + (rule.width or metal.width))
    for count, span in enumerate(field.strip_spans("break-metal") or [work.span], start=1):
        inside = (max(span[0], work.span[0]), min(span[1], work.span[1]))
        work.sheet(
            f"metal.{count}",
            f"{metal.name} {count}",
            PieceKind.METAL,
            number,
            metal.id,
            reach,
            spans=[inside],
        )
    nails = rule.nailing
    if nails is not None:
        first, last = work.span
        step, s = nails.lap_spacing, reach[0] + nails.strip_first
        places = [(first + (k + 0.5) * step, s) for k in range(int((last - first) / step))]
        work.nails("metal.nails", "Nails of the metal", number, nails.fastener, places)
    low, high = f"{work.least(-reach[0])} down", f"{work.least(reach[1])} up"
    work.measure("leg_down", number, (reach[0], 0.0), low, rule.source)
    work.measure("leg_up", number, (0.0, reach[1]), high, rule.source)
    return describe(
        number,
        metal,
        f"{high} under the upper shingles, {low} over the lower ones; lengths lap "
        f"{work.least(rule.lap or metal.end_lap)}",
        "nails in the upper leg alone, near its head",
        "Carries water over the cut heads and the nails of the last lower course.",
        tool="metal brake, snips, hammer",
        gear="cut-proof gloves, harness",
        mistake="Nails in the lower leg: each head lies open in the stream.",
        check="Fit it dry first: bent to the two pitches, it lies flat on both.",
    )


def _starter(field: Field, number: int) -> DetailLayer:
    """Lay the starter of the upper courses on the metal."""
    work, rule = field.work, field.rule("break-starter")
    made = work.catalog.material(rule.material)
    foot = rule.start.at(0.0, 0.0)
    half = INCH / 16.0
    outlines = [
        shapely.box(a + half, foot, b - half, foot + (rule.width or made.width))
        for a, b in field.strip_spans("break-starter") or [work.span]
    ]
    work.patch(
        "starter.1",
        made.name,
        PieceKind.STARTER,
        number,
        made.id,
        field.face,
        outlines,
        field.up,
    )
    line = rule.nailing.line if rule.nailing else 0.0
    return describe(
        number,
        made,
        f"{work.text(rule.width or made.width)} high, from the break up",
        f"4 nails a strip, {work.text(line)} up or more",
        "Lies under the joints of the first upper course and holds its edge down.",
        tool="hammer, chalk line",
        gear="harness, soft soles",
        mistake="Nails low down, through the bend of the metal.",
        check="Tape the lowest nail up from the break.",
    )


def _notes(work: BuildUp, below: Field, above: Field) -> tuple[str, ...]:
    turn = math.degrees(work.frame.turn)
    rule = above.rule("break-metal")
    seen = [
        (
            f"Water goes from the upper shingles onto the metal, from that onto the lower ones "
            f"({PRACTICE})."
        ),
        f"The roof turns by {turn:.0f} deg here. The metal is laid {rule.source}.",
    ]
    if not work.frame.convex:
        seen.append(
            f"All water of both planes runs on the lower one, below the break ({PRACTICE})."
        )
    return (*steep_note(below), *steep_note(above), *seen)
