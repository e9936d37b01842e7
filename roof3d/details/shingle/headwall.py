"""Headwall on shingles: the last course runs under an apron, the wall comes down over it."""

from __future__ import annotations

from dataclasses import dataclass

from roof3d.details.deck import lay_deck_to_upright
from roof3d.details.frames import frame_at_wall, room_on
from roof3d.details.model import INCH, PRACTICE, Detail, DetailLayer, PieceKind
from roof3d.details.rows import describe
from roof3d.details.shingle.cladding import clad_wall
from roof3d.details.shingle.field import Field, open_field
from roof3d.details.shingle.words import (
    cladding_words,
    course_words,
    steep_note,
    underlayment_words,
)
from roof3d.details.site import DetailSite, close_build, open_build, slope_words
from roof3d.layout.joint import Given


@dataclass(frozen=True, slots=True, kw_only=True)
class HeadwallLengths:
    """Lengths of a headwall that neither the catalog nor the layout has.

    Attributes
    ----------
    width, run, wall : Given
        Of roof shown along the wall and down from it; height of wall shown.
    cover : Given
        Least lap of the wall's covering over the metal.
    clear : Given
        Of the cladding above the roof.
    """

    width: Given = Given(36.0 * INCH)
    run: Given = Given(24.0 * INCH)
    wall: Given = Given(11.0 * INCH)
    cover: Given = Given(2.0 * INCH)
    clear: Given = Given(1.0 * INCH, "public building research guide, step and kick-out flashing")


def build_shingle_headwall(site: DetailSite, lengths: HeadwallLengths | None = None) -> Detail:
    """Build the layers where shingles end below a wall.

    Raises
    ------
    LayoutError
        Where its plane is not laid out, or its assembly has no apron.
    """
    o = lengths or HeadwallLengths()
    edge = site.roof.edge(site.place.edge)
    (plane_id,) = site.place.planes
    plane = site.roof.plane(plane_id)
    frame = frame_at_wall(edge.ends, plane)
    size = (
        min(o.width.metres, edge.length),
        min(o.run.metres, room_on(plane, frame.origin, frame.near)),
        o.wall.metres,
    )
    work = open_build(site, frame, size, folded=True)
    field = open_field(site, work, plane_id)
    layers = [lay_deck_to_upright(work, field.layers["deck"].material, "wall")]
    field.lay_sheets(2, "underlayment")
    turned = max((p.reach[1] for p in work.pieces if p.layer == 2), default=0.0)
    layers.append(underlayment_words(field, 2, f"{work.least(turned)} up the wall"))
    work.measure(
        "sheet_up",
        2,
        (0.0, turned),
        f"{work.least(turned)} up",
        field.layers["underlayment"].source,
    )
    field.lay_courses(3)
    layers.append(course_words(field, 3, "the last course cut to the wall"))
    field.measure_exposure(3, work.span[1])
    layers += [_apron(field, 4), _cladding(field, 5, o)]
    return close_build(
        site,
        work,
        name="Headwall on shingles",
        summary=slope_words(plane.slope, site.units),
        layers=layers,
        notes=(
            *steep_note(field),
            (
                "Water goes from cladding to apron, from apron to shingle; each lies over the "
                f"next ({PRACTICE})."
            ),
            (
                "The apron is nailed at its head, to the wall alone: no head stands on the roof "
                f"leg ({field.rule('apron').source})."
            ),
            f"The cut last course holds no line of its own: the apron covers it ({PRACTICE}).",
        ),
        far="wall",
    )


def _apron(field: Field, number: int) -> DetailLayer:
    """Lay the apron: over the last course, and up the wall."""
    work, rule = field.work, field.rule("apron")
    metal = work.catalog.material(rule.material)
    up = -rule.start.at(0.0, 0.0)
    roof = rule.width - up
    for count, span in enumerate(field.strip_spans("apron") or [work.span], start=1):
        work.sheet(
            f"apron.{count}",
            f"{metal.name} {count}",
            PieceKind.METAL,
            number,
            metal.id,
            (-roof, up),
            spans=[(max(span[0], work.span[0]), min(span[1], work.span[1]))],
        )
    nails = rule.nailing
    if nails is not None:
        start, end = work.span
        step, s = nails.lap_spacing, up - nails.strip_first
        places = [(start + (k + 0.5) * step, s) for k in range(int((end - start) / step))]
        work.nails("apron.nails", "Nails of the apron", number, nails.fastener, places)
    work.measure("apron_roof", number, (-roof, 0.0), f"{work.least(roof)} on", rule.source)
    work.measure("apron_up", number, (0.0, up), f"{work.least(up)} up", rule.source)
    spacing = work.text(nails.lap_spacing) if nails else ""
    return describe(
        number,
        metal,
        f"{work.least(roof)} over the shingles, {work.least(up)} up the wall; lengths lap "
        f"{work.least(rule.lap or metal.end_lap)}",
        f"nails {spacing} apart at its head, into the wall alone",
        "Covers the heads and nails of the last course and leads water off the wall onto it.",
        tool="metal brake, snips, hammer",
        gear="cut-proof gloves, harness",
        mistake="Nailed through the roof leg: every head is a leak, and the leg cannot move.",
        check="Sight along the roof leg: no head, and it lies flat on the shingles.",
    )


def _cladding(field: Field, number: int, o: HeadwallLengths) -> DetailLayer:
    """Bring the wall's covering down over the metal."""
    work = field.work
    up = -field.rule("apron").start.at(0.0, 0.0)
    clad_wall(work, number, up, o.cover.metres)
    return cladding_words(number, work.least(o.clear.metres), work.least(o.cover.metres))
