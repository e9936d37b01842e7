"""Rake and high edge on shingles: sheet first, metal over it, courses past the metal."""

from __future__ import annotations

from dataclasses import dataclass

from roof3d.catalog.laying import Border
from roof3d.details.deck import lay_deck_to_upright
from roof3d.details.frames import frame_at_drop, room_on
from roof3d.details.model import INCH, Detail, DetailLayer, PieceKind
from roof3d.details.rows import describe
from roof3d.details.shingle.field import Field, open_field
from roof3d.details.shingle.openings.upright import draw_thin
from roof3d.details.shingle.words import course_words, steep_note, underlayment_words
from roof3d.details.site import DetailSite, close_build, open_build, slope_words
from roof3d.layout.joint import Given
from roof3d.roof.model import Role

_DRAWN = (4.0, 0.25 * INCH)
"""Most that thickness is drawn larger: thicker metal would stand out past the shingles' ends."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RakeLengths:
    """Lengths of a rake that neither the catalog nor the layout has.

    Attributes
    ----------
    width, run, board : Given
        Of roof shown along the edge and inward from it; height of the board shown.
    leg : Given
        Of the drip edge down the board.
    """

    width: Given = Given(34.0 * INCH)
    run: Given = Given(26.0 * INCH)
    board: Given = Given(5.5 * INCH)
    leg: Given = Given(1.5 * INCH, "IBC 2018, 1507.2.8.3 (edition from memory)")


def build_shingle_rake(site: DetailSite, lengths: RakeLengths | None = None) -> Detail:
    """Build the layers of a rake or a high edge under shingles.

    Raises
    ------
    LayoutError
        Where its plane is not laid out.
    """
    o, site = lengths or RakeLengths(), draw_thin(site, _DRAWN)
    edge = site.roof.edge(site.place.edge)
    (plane_id,) = site.place.planes
    plane = site.roof.plane(plane_id)
    high = edge.role is Role.HIGH_EDGE
    board = "fascia" if high else "barge board"
    frame = frame_at_drop(edge.ends, plane)
    size = (
        min(o.width.metres, edge.length),
        min(o.run.metres, room_on(plane, frame.origin, frame.near)),
        o.board.metres,
    )
    work = open_build(site, frame, size, folded=True)
    field = open_field(site, work, plane_id)
    layers = [lay_deck_to_upright(work, field.layers["deck"].material, board)]
    number = 2
    if field.lay_sheets(number, "ice barrier"):
        number += 1
    field.lay_sheets(number, "underlayment")
    layers.append(underlayment_words(field, number, "out to the edge, under the metal"))
    layers.append(_metal(field, number + 1, o, board))
    border = Border.HIGH_EDGE if high else Border.RAKE
    past = field.layers["shingles"].reach_at(border)
    field.lay_courses(number + 2)
    where = f"{work.text(past)} past the edge" if past else "up to the edge"
    layers.append(course_words(field, number + 2, where))
    if past > 0.0:
        at = work.span[1]
        words, source = f"{work.text(past)} past", field.layers["shingles"].source
        face = field.face
        work.measure_between("past", number + 2, (at, 0.0), (at, past), words, source, face=face)
    field.measure_exposure(number + 2, -0.5 * size[1])
    return close_build(
        site,
        work,
        name="High edge of shingles" if high else "Rake under shingles",
        summary=slope_words(plane.slope, site.units),
        layers=layers,
        notes=_notes(field, past, high=high),
        far=board,
    )


def _metal(field: Field, number: int, o: RakeLengths, board: str) -> DetailLayer:
    """Lay the drip edge over the underlayment, the upper length over the lower one."""
    work, rule = field.work, field.rule("drip-edge")
    metal = work.catalog.material(rule.material)
    width = rule.width or metal.width
    for count, span in enumerate(field.strip_spans("drip-edge") or [work.span], start=1):
        work.sheet(
            f"metal.{count}",
            f"{metal.name} {count}",
            PieceKind.METAL,
            number,
            metal.id,
            (-width, o.leg.metres),
            spans=[(max(span[0], work.span[0]), min(span[1], work.span[1]))],
        )
    nails = rule.nailing
    if nails is not None:
        start, end = work.span
        step = nails.lap_spacing
        places = [
            (start + (k + 0.5) * step, -nails.strip_first) for k in range(int((end - start) / step))
        ]
        work.nails("metal.nails", "Nails of the drip edge", number, nails.fastener, places)
    work.measure("flange", number, (-width, 0.0), f"{work.text(width)} on the sheet", rule.source)
    work.measure("leg", number, (0.0, o.leg.metres), f"{work.least(o.leg.metres)}", o.leg.source)
    spacing = work.text(nails.lap_spacing) if nails else ""
    return describe(
        number,
        metal,
        f"{work.text(width)} on the roof, {work.least(o.leg.metres)} down the {board}; upper "
        f"length over lower by {work.least(rule.lap or metal.end_lap)}",
        f"nails {spacing} apart at most",
        "Pins the sheet against the wind; rain blown in from the side stays on top of the sheet.",
        tool="snips, hammer, chalk line",
        gear="cut-proof gloves, harness",
        mistake="Slipped under the sheet, as at the eave: side rain then runs onto the wood.",
        check="Lift the flange: the sheet lies under it, out to the edge.",
    )


def _notes(field: Field, past: float, *, high: bool) -> tuple[str, ...]:
    text, rule = field.work.text, field.rule("drip-edge")
    seen = [
        (
            "Here the metal lies over the sheet; at the eave it lies under it. "
            f"{rule.source[0].upper()}{rule.source[1:]}."
        ),
        (
            "At the corner the metal of this edge goes over that of the eave "
            "(common practice, no source)."
        ),
    ]
    if high:
        seen.append(
            "No course covers the head of the last one: the nails of the top course lie under a "
            "cap or a metal of the wall below (common practice, no source)."
        )
    elif past > 0.0:
        seen.append(
            f"Shingle ends stand {text(past)} past the edge: less wets the board, more than "
            "3/4 in sags (common practice, no source)."
        )
    return (*steep_note(field), *seen)
