"""Hip, ridge and vented ridge: courses of both planes end there, bent pieces cover them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from roof3d.catalog.laying import Border
from roof3d.details.model import INCH, PRACTICE, Detail, DetailKind, DetailLayer, PieceKind
from roof3d.details.ridges.caps import RidgeOptions, caps_of, lay_caps
from roof3d.details.rows import describe
from roof3d.details.site import DetailSite, close_build, slope_words
from roof3d.details.valleys.courses import exposure_at, lay_laid_sheets, lay_laid_shingles
from roof3d.details.valleys.cutout import CutOut, cut_out, strip_of
from roof3d.details.valleys.slopes import Slope, slopes_of
from roof3d.details.valleys.wood import lay_wood
from roof3d.layout.joint import Given

_NAMES = {
    DetailKind.HIP: ("Hip", "hip rafter"),
    DetailKind.RIDGE: ("Ridge", "ridge board"),
    DetailKind.RIDGE_VENTED: ("Vented ridge", "ridge board"),
}
_OPTIONS = RidgeOptions()
_JOINT = 0.125 * INCH
"""Drawn between two vents."""


def build_ridge(site: DetailSite, *, options: RidgeOptions = _OPTIONS) -> Detail:
    """Build the layers of a hip or ridge; its kind tells whether it is vented.

    Raises
    ------
    LayoutError
        Where the layout holds no pieces of a hip or ridge there.
    """
    name, member = _NAMES[site.place.kind]
    vented = site.place.kind is DetailKind.RIDGE_VENTED
    width = min(site.options.width.metres, options.width.metres)
    short = replace(site.options, width=Given(width, site.options.width.source))
    site = replace(site, options=short)
    cut = cut_out(site, (options.run.metres, options.run.metres))
    work = cut.work
    slopes = slopes_of(site, work)
    names = (site.place.planes[0], site.place.planes[1])
    deck = site.layers(names[0])["deck"].material
    slot = options.slot.metres if vented else 0.0
    layers = [lay_wood(work, deck, names, member, slot=slot)]
    if vented:
        work.measure("slot", 1, (0.0, slot), f"{work.least(slot)} slot", options.slot.source)
    layers += _lay_sheets(slopes, slot)
    layers.append(_lay_shingles(slopes, len(layers) + 1, slot, site.place.kind))
    below = "the shingles"
    if vented:
        layers.append(_lay_vent(site, cut, len(layers) + 1))
        below = "vent and shingles"
    layers.append(lay_caps(site, cut, len(layers) + 1, below))
    pitches = [slope_words(site.roof.plane(plane).slope, site.units) for plane in names]
    return close_build(
        site,
        work,
        name=name,
        summary=f"{pitches[0]} meets {pitches[1]}",
        layers=layers,
        notes=_notes(site, cut, options),
    )


def _lay_sheets(slopes: Sequence[Slope], slot: float) -> list[DetailLayer]:
    """Lay the sheets of both planes over the line, or, where there is a slot, up to it."""
    words: list[DetailLayer] = []
    site, work = slopes[0].site, slopes[0].work
    border = Border.HIP if site.place.kind is DetailKind.HIP else Border.RIDGE
    for role in ("ice barrier", "underlayment"):
        number = len(words) + 2
        drawn = [
            lay_laid_sheets(slope, number, role, slope.beyond(slot) if slot > 0.0 else None)
            for slope in slopes
        ]
        if not any(drawn):
            continue
        rule = site.layers(site.place.planes[0])[role]
        made = site.catalog.material(rule.material)
        past = rule.reach_at(border)
        if slot == 0.0:
            # The near plane's sheet lies below, the far one's over it and past the line.
            text = f"{work.least(past)} past"
            work.measure(f"{role}_past", number, (-past, 0.0), text, rule.source)
        size = (
            f"cut back {work.least(slot)} from the line, as the deck"
            if slot > 0.0
            else f"each plane's runs {work.least(past)} over the line, one over the other"
        )
        words.append(
            describe(
                number,
                made,
                f"{size}; lap {work.least(made.side_lap)}",
                rule.fastening,
                "Keeps the slot open for air."
                if slot > 0.0
                else "Doubled where wind drives rain under the pieces.",
                tool="cap nailer, hook knife",
                gear="eye guard, gloves, harness",
                mistake="Left across the slot: the attic cannot breathe."
                if slot > 0.0
                else "Both butted at the line, where every nail of the pieces goes.",
                check="Daylight shows all along the slot."
                if slot > 0.0
                else "Two sheets lie over the line, wherever it is lifted.",
            )
        )
    return words


def _lay_shingles(
    slopes: Sequence[Slope], number: int, slot: float, kind: DetailKind
) -> DetailLayer:
    site, work = slopes[0].site, slopes[0].work
    for slope in slopes:
        lay_laid_shingles(slope, number, slope.beyond(slot))
    exposure_at(slopes[0], number)
    rule = site.layers(site.place.planes[0])["shingles"]
    made = site.catalog.material(rule.material)
    size = {
        DetailKind.HIP: "cut along the line, where both planes' courses meet",
        DetailKind.RIDGE: "cut off at the line",
        DetailKind.RIDGE_VENTED: f"cut off {work.least(slot)} from the line, at the slot",
    }[kind]
    return describe(
        number,
        made,
        f"{size}; at most {work.text(made.exposure)} of the last course shows",
        rule.fastening,
        "A flat bed for the pieces that cover the line.",
        tool="chalk line, hook blade, shingle gauge",
        gear="knee pads, gloves, harness",
        mistake="The last course shows more than the exposure: its nails lie bare.",
        check="Tape from the last butt to the line: the pieces cover all nails.",
    )


def _lay_vent(site: DetailSite, cut: CutOut, number: int) -> DetailLayer:
    work, strip = cut.work, strip_of(site, "ridge-vent")
    made = site.catalog.material(strip.material)
    half = strip.width / 2.0
    for place, span in enumerate(cut.spans(strip), start=1):
        low, high = max(span[0], work.span[0]), min(span[1], work.span[1])
        if high - low < work.tol.crumb_length:
            continue
        title = f"{made.name} {place}"
        a, b = low + _JOINT / 2.0, high - _JOINT / 2.0
        work.sheet(
            f"vent.{place}", title, PieceKind.UNIT, number, made.id, (-half, half), spans=[(a, b)]
        )
    nails = [(float(u), float(s)) for u, s in cut.nails(strip).tolist()]
    work.nails("vent.nails", "Nails of the vent", number, strip.fastener, nails)
    work.measure(
        "vent_near",
        number,
        (-half, 0.0),
        f"{work.least(half)} each side",
        made.source_of("width"),
    )
    return describe(
        number,
        made,
        f"{work.text(strip.width)} wide, {work.text(made.thickness)} high",
        "nails along both edges, none over the slot",
        "Lets warm, damp air out and keeps rain and snow out.",
        tool="hammer, long nails, end plugs",
        gear="knee pads, gloves, harness",
        mistake="A nail into the slot, or the ends left open to wind and insects.",
        check="Probe below: no nail hangs in the slot; both ends are closed.",
    )


def _notes(site: DetailSite, cut: CutOut, o: RidgeOptions) -> tuple[str, ...]:
    work, strip = cut.work, caps_of(site)
    exposure = work.text(site.catalog.material(strip.material).exposure)
    kind = site.place.kind
    first = f"Every piece covers the nails of the one before; {exposure} of each shows."
    if kind is DetailKind.HIP:
        order = (
            "Laid from the eave up; the first is doubled and cut to the corner; pieces of the "
            f"ridge lie over those of the hip ({PRACTICE})."
        )
    else:
        order = (
            "Laid from the leeward end, so that laps face away from the usual wind; the last "
            f"piece has the only nails in sight, in cement ({PRACTICE})."
        )
    if kind is not DetailKind.RIDGE_VENTED:
        sheets = "Underlayment of both planes runs 6 in over the line (NAVEDTRA 14044)."
        return first, order, sheets
    slot = (
        f"The slot, {work.least(o.slot.metres)} each side ({o.slot.source}), stops 6 to 12 in "
        "short of rakes, hips and chimneys; as much air must come in at the eaves."
    )
    nails = (
        "Nails go through piece, vent and shingle 3/4 in into the deck (IRC R905.2.5, from memory)."
    )
    return first, order, slot, nails
