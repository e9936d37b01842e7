"""Pieces bent over a hip or ridge, each over the next lower one, nailed before it is covered."""

from __future__ import annotations

from dataclasses import dataclass

from roof3d.details.model import INCH, DetailLayer, PieceKind
from roof3d.details.rows import describe
from roof3d.details.site import DetailSite
from roof3d.details.valleys.cutout import CutOut, strip_of
from roof3d.layout.joint import Given
from roof3d.layout.model import LaidStrip

_OVER_VENT = "vent-ridge"
_CRUMB = 2.0 * INCH
"""A piece of which the cut-out takes in less than this is left out, metres."""
_NAILED = 2.0 * INCH
"""Nails lie at most this far above the exposure of their piece, metres."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RidgeOptions:
    """Lengths of hips and ridges that neither catalog nor layout holds.

    Attributes
    ----------
    run : Given
        Size of the cut-out onto either plane.
    width : Given
        The same along the line: few pieces.
    slot : Given
        Vented ridge: deck and sheets cut back from the line on either side.
    """

    run: Given = Given(24.0 * INCH)
    width: Given = Given(44.0 * INCH)
    slot: Given = Given(1.0 * INCH)


def lay_caps(site: DetailSite, cut: CutOut, number: int, below: str) -> DetailLayer:
    """Lay the pieces over the line in the layout's order; returns the words of the layer.

    Parameters
    ----------
    site : DetailSite
    cut : CutOut
    number : int
        Of the layer.
    below : str
        What they lie on, in words.
    """
    work, strip = cut.work, caps_of(site)
    made = site.catalog.material(strip.material)
    half = strip.width / 2.0
    nails = cut.nails(strip)
    spans = cut.spans(strip)
    up = cut.turned * (1.0 if strip.pieces[-1, 0] >= strip.pieces[0, 0] else -1.0)
    drawn = []
    for place, span in enumerate(spans, start=1):
        low, high = max(span[0], work.span[0]), min(span[1], work.span[1])
        if high - low < _CRUMB:
            continue
        laid = work.bent(
            f"cap.{place}",
            f"{made.name} {place}",
            PieceKind.SHINGLE,
            number,
            made.id,
            (low, high),
            (-half, half),
            up=up,
        )
        if not laid:
            continue
        drawn.append(span)
        butt = span[0] if up > 0.0 else span[1]
        mine = [
            (float(u), float(s))
            for u, s in nails.tolist()
            if made.exposure < up * (u - butt) < made.exposure + _NAILED and low < u < high
        ]
        work.nails(f"cap.{place}_nails", f"Nails of piece {place}", number, strip.fastener, mine)
    _note(cut, number, made.id, half, drawn, up)
    rule = next(r for plane in strip.planes if (r := site.strip(plane, strip.rule)) is not None)
    line = rule.nailing.line if rule.nailing is not None else 0.0
    return describe(
        number,
        made,
        f"{work.text(strip.width)} wide, {work.least(half)} each side; {work.text(made.exposure)} "
        f"exposed, so each covers {work.text(strip.lap)} of the one below",
        f"two nails a piece, {work.text(line)} up from its butt and "
        f"{work.text(rule.nailing.inset if rule.nailing is not None else 0.0)} in from its edges; "
        f"long enough to go 3/4 in into the deck through {below}",
        "Closes the line where both planes' shingles end; sheds to both sides. Chosen to go with "
        "the shingle.",
        tool="hammer, chalk line, hook blade, heat box when cold",
        gear="knee pads, gloves, harness",
        mistake="Set further apart than the exposure: nails stay in the rain.",
        check="No nail in sight but on the last piece, and those are under cement.",
    )


def caps_of(site: DetailSite) -> LaidStrip:
    """Return the pieces over the line: a vented ridge has a rule of its own.

    Raises
    ------
    LayoutError
        Where the layout holds none.
    """
    edge = site.place.edge
    own = any(s.edge == edge and s.rule == _OVER_VENT for s in site.layout.strips)
    return strip_of(site, _OVER_VENT if own else "hip-ridge")


def _note(
    cut: CutOut,
    number: int,
    material: str,
    half: float,
    drawn: list[tuple[float, float]],
    up: float,
) -> None:
    work = cut.work
    source = work.catalog.material(material).source_of("exposure")
    work.measure("cap_near", number, (-half, 0.0), f"{work.least(half)} each side", source)
    whole = [s for s in drawn if work.span[0] <= s[0] and s[1] <= work.span[1]]
    if len(whole) < 2:
        return
    butts = sorted(s[0] if up > 0.0 else s[1] for s in whole)
    middle = len(butts) // 2
    a, b = butts[middle - 1], butts[middle]
    text = f"{work.text(b - a)} exposed"
    work.measure_between("cap_exposure", number, (a, -half), (b, -half), text, source)
