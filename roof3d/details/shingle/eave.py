"""Eave on shingles: metal first, sheets over it, starter, courses."""

from __future__ import annotations

from dataclasses import dataclass

import shapely

from roof3d.catalog.laying import Border
from roof3d.details.deck import lay_deck_to_upright
from roof3d.details.frame import Face
from roof3d.details.frames import frame_at_drop, room_on
from roof3d.details.model import INCH, PRACTICE, Detail, DetailLayer, PieceKind
from roof3d.details.rows import describe
from roof3d.details.shingle.field import Field, open_field
from roof3d.details.shingle.words import (
    barrier_words,
    course_words,
    steep_note,
    underlayment_words,
)
from roof3d.details.site import DetailSite, close_build, open_build, slope_words
from roof3d.layout.joint import Given


@dataclass(frozen=True, slots=True, kw_only=True)
class EaveLengths:
    """Lengths of an eave that neither the catalog nor the layout has.

    Attributes
    ----------
    run : Given
        Of roof shown where no ice barrier lies.
    past_barrier : Given
        Of roof shown beyond its head.
    fascia : Given
        Height of the board shown.
    leg : Given
        Of the drip edge down the fascia.
    """

    run: Given = Given(30.0 * INCH)
    past_barrier: Given = Given(8.0 * INCH)
    fascia: Given = Given(5.5 * INCH)
    leg: Given = Given(1.5 * INCH, "IBC 2018, 1507.2.8.3 (edition from memory)")


def build_shingle_eave(site: DetailSite, lengths: EaveLengths | None = None) -> Detail:
    """Build the layers of an eave under shingles.

    Raises
    ------
    LayoutError
        Where its plane is not laid out.
    """
    o = lengths or EaveLengths()
    edge = site.roof.edge(site.place.edge)
    (plane_id,) = site.place.planes
    plane = site.roof.plane(plane_id)
    frame = frame_at_drop(edge.ends, plane)
    barrier = _barrier_head(site, plane_id)
    run = barrier + o.past_barrier.metres if barrier else o.run.metres
    size = (
        min(0.75 * site.options.width.metres, edge.length),
        min(run, room_on(plane, frame.origin, frame.near)),
        o.fascia.metres,
    )
    work = open_build(site, frame, size, folded=True)
    field = open_field(site, work, plane_id)
    layers = [
        lay_deck_to_upright(work, field.layers["deck"].material, "fascia"),
        _metal(field, 2, o),
    ]
    number = 3
    if barrier and field.lay_sheets(number, "ice barrier"):
        head = min(barrier, size[1])
        words, source = f"{work.least(head)} ice barrier", field.layers["ice barrier"].source
        work.measure("barrier", number, (-head, 0.0), words, source)
        layers.append(barrier_words(field, number, head))
        over = field.layers["underlayment"].after_ice
        work.measure(
            "over_barrier",
            number + 1,
            (-barrier, over - barrier),
            f"{work.least(over)} over the barrier",
            field.layers["underlayment"].source,
        )
        number += 1
    field.lay_sheets(number, "underlayment")
    layers.append(underlayment_words(field, number, "over the eave metal"))
    layers.append(_starter(field, number + 1))
    field.lay_courses(number + 2)
    past = field.layers["shingles"].reach_at(Border.EAVE)
    layers.append(course_words(field, number + 2, f"{work.text(past)} past the eave"))
    field.measure_exposure(number + 2, work.span[1])
    return close_build(
        site,
        work,
        name="Eave under shingles",
        summary=slope_words(plane.slope, site.units),
        layers=layers,
        notes=_notes(field, barrier, past),
        far="fascia",
    )


def _barrier_head(site: DetailSite, plane_id: str) -> float:
    """Return how far the ice barrier runs up from this eave as laid; 0 where none lies."""
    laid = site.laid_layer(plane_id, "ice barrier")
    side = site.side(plane_id)
    if laid is None or side is None or laid.extent.is_empty:
        return 0.0
    u = (side.start[0] + side.end[0]) / 2.0
    low = side.start[1]
    _, v0, _, v1 = laid.extent.bounds
    up = laid.extent.intersection(shapely.LineString([(u, v0 - 1.0), (u, v1 + 1.0)]))
    return float(up.bounds[3] - low) if not up.is_empty else 0.0


def _metal(field: Field, number: int, o: EaveLengths) -> DetailLayer:
    """Lay the drip edge: on the deck, and down the fascia."""
    work, rule = field.work, field.rule("drip-edge")
    metal = work.catalog.material(rule.material)
    width = rule.width or metal.width
    for count, span in enumerate(field.strip_spans("drip-edge") or [work.span], start=1):
        inside = (max(span[0], work.span[0]), min(span[1], work.span[1]))
        work.sheet(
            f"metal.{count}",
            f"{metal.name} {count}",
            PieceKind.METAL,
            number,
            metal.id,
            (-width, o.leg.metres),
            spans=(inside,),
        )
    nails = rule.nailing
    if nails is not None:
        start, end = work.span
        step = nails.lap_spacing
        places = [
            (start + (k + 0.5) * step, -nails.strip_first) for k in range(int((end - start) / step))
        ]
        work.nails("metal.nails", "Nails of the drip edge", number, nails.fastener, places)
    work.measure("flange", number, (-width, 0.0), f"{work.text(width)} on deck", rule.source)
    work.measure("leg", number, (0.0, o.leg.metres), f"{work.least(o.leg.metres)}", o.leg.source)
    spacing = work.text(nails.lap_spacing) if nails else ""
    return describe(
        number,
        metal,
        f"{work.text(width)} on the deck, {work.least(o.leg.metres)} down; joints lap "
        f"{work.least(rule.lap or metal.end_lap)}",
        f"nails {spacing} apart at most, into the deck",
        "Throws water clear of the fascia and covers the raw edge of the deck.",
        tool="snips, hammer, chalk line",
        gear="cut-proof gloves, harness",
        mistake="Nailed on top of the underlayment: what runs on that goes behind the metal.",
        check="From the ladder: the sheet above lies on the metal, never behind it.",
    )


def _starter(field: Field, number: int) -> DetailLayer:
    """Lay the starter flush with the first course."""
    work, rule = field.work, field.rule("starter")
    made = work.catalog.material(rule.material)
    past = -rule.start.at(0.0, 0.0)
    width = rule.width or made.width
    half = INCH / 16.0
    spans = field.strip_spans("starter") or [work.span]
    outlines = [shapely.box(a + half, past - width, b - half, past) for a, b in spans]
    work.patch(
        "starter.1",
        made.name,
        PieceKind.STARTER,
        number,
        made.id,
        Face.NEAR,
        outlines,
        field.up,
    )
    strip = field.laid_strip("starter")
    if strip is not None and rule.nailing is not None:
        starts = _along(field, strip.nails[:, 0].tolist())
        places = [(u, past - s) for u, s in zip(starts, strip.nails[:, 1].tolist(), strict=True)]
        edge = INCH / 2.0
        kept = [(u, s) for u, s in places if abs(u) < work.span[1] - edge]
        work.nails("starter.nails", "Nails of the starter", number, rule.nailing.fastener, kept)
    line = rule.nailing.line if rule.nailing else 0.0
    work.measure_between(
        "past",
        number,
        (work.span[1], 0.0),
        (work.span[1], past),
        f"{work.text(past)} past",
        field.layers["shingles"].source,
        face=Face.NEAR,
    )
    return describe(
        number,
        made,
        f"{work.text(width)} high, {work.text(past)} past the eave",
        f"4 nails a strip, {work.text(line)} up",
        "Lies under the joints of the first course; its sealant holds their lower edge down.",
        tool="hammer, gauge block, chalk line",
        gear="harness, soft soles",
        mistake="A strip turned round: its sealant then lies too high to hold the first course.",
        check="Feel for the sealant line near the lower edge.",
    )


def _along(field: Field, distances: list[float]) -> list[float]:
    """Turn distances from the edge's lower end into u."""
    frame = field.work.frame
    low, high = field.site.roof.edge(field.site.place.edge).ends
    d = [b - a for a, b in zip(frame.origin, low, strict=True)]
    start = sum(a * b for a, b in zip(d, frame.along, strict=True))
    way = sum((b - a) * c for a, b, c in zip(low, high, frame.along, strict=True))
    sign = 1.0 if way > 0.0 else -1.0
    return [start + sign * at for at in distances]


def _notes(field: Field, barrier: float, past: float) -> tuple[str, ...]:
    text = field.work.text
    seen = [
        (
            "Order at the eave: metal, sheet, starter, shingles. Each lets its water go onto the "
            f"one below and at last over the metal; {field.rule('drip-edge').source}."
        ),
        (
            f"Starter and first course stand {text(past)} past the metal (NAVEDTRA 14044): water "
            "drips clear and does not creep back under."
        ),
    ]
    if barrier:
        seen.append(
            "The ice barrier covers the eave from its edge to well inside the wall line "
            "(IRC 2018, R905.1.2; edition from memory)."
        )
        seen.append(
            "Barrier over the metal is what the code's wording gives; some lay it under, where "
            f"ice water backs up ({PRACTICE})."
        )
    else:
        seen.append("No ice barrier is asked for here; local rules decide (IRC R905.1.2).")
    return (*steep_note(field), *seen)
