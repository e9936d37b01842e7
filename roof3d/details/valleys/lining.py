"""What lies below the shingles of every valley: the lining, and underlayment over its rims."""

from __future__ import annotations

from collections.abc import Sequence

from roof3d.catalog.laying import Border
from roof3d.details.model import DetailLayer, PieceKind
from roof3d.details.rows import describe
from roof3d.details.site import DetailSite
from roof3d.details.valleys.courses import lay_laid_sheets
from roof3d.details.valleys.cutout import CutOut, strip_of
from roof3d.details.valleys.slopes import Slope


def lay_lining(site: DetailSite, cut: CutOut, number: int) -> DetailLayer:
    """Lay the self-adhered sheet in the crease, half of its width on either plane."""
    work, strip = cut.work, strip_of(site, "valley-lining")
    made = site.catalog.material(strip.material)
    half = strip.width / 2.0
    rule = next(
        found for plane in strip.planes if (found := site.strip(plane, "valley-lining")) is not None
    )
    for place, span in enumerate(cut.spans(strip), start=1):
        low, high = max(span[0], work.span[0]), min(span[1], work.span[1])
        if high > low:
            work.sheet(
                f"lining.{place}",
                f"{made.name}, valley lining",
                PieceKind.SHEET,
                number,
                made.id,
                (-half, half),
                spans=[(low, high)],
            )
    work.measure("lining_near", number, (-half, 0.0), f"{work.least(half)} each side", rule.source)
    return describe(
        number,
        made,
        f"{work.text(strip.width)} wide, {work.least(half)} each side; end laps "
        f"{work.least(strip.lap)}, the upper over the lower",
        "its own adhesive, set into the crease first, then rolled outward",
        "Second line of defence where most water runs.",
        tool="hook knife, hand roller, primer brush",
        gear="gloves, knee pads, harness",
        mistake="Bridged over the crease: hollow below, it splits when stepped on.",
        check="Press along the crease by hand: no hollow, no drumming.",
    )


def lay_underlayment(slopes: Sequence[Slope], number: int) -> list[DetailLayer]:
    """Lay ice barrier, where the site asks for one, and underlayment of both planes."""
    words = []
    for role in ("ice barrier", "underlayment"):
        drawn = [s for s in slopes if lay_laid_sheets(s, number, role, s.beyond(0.0))]
        if not drawn:
            continue
        layers = [layer for slope in drawn if (layer := slope.layer(role)) is not None]
        words.append(_words(slopes[0].site, number, [layer.material for layer in layers], drawn))
        number += 1
    return words


def _words(
    site: DetailSite, number: int, materials: Sequence[str], drawn: Sequence[Slope]
) -> DetailLayer:
    work = drawn[0].work
    made = site.catalog.material(materials[0])
    laps = {
        f"lap {work.least(site.catalog.material(name).side_lap)}"
        + ("" if len(set(materials)) == 1 else f" ({site.catalog.material(name).name.lower()})")
        for name in materials
    }
    return describe(
        number,
        made,
        f"{', '.join(sorted(laps))}; over the rims of the lining, clear of the crease",
        "capped nails, none near the crease"
        if "barrier" not in made.id
        else "its own adhesive, rolled; no nails",
        "Takes what gets under the shingles and hands it to the lining.",
        tool="cap nailer, hook knife, chalk line",
        gear="eye guard, gloves, harness",
        mistake="Run on through the crease and nailed there.",
        check="Lift its edge: the lining lies below it on both sides.",
    )


def note_lap(slopes: Sequence[Slope], number: int, half: float, layer_role: str) -> None:
    """Note how far the underlayment lies over the lining, on the far plane."""
    slope = slopes[1]
    site, work = slope.site, slope.work
    rules = site.layers(slope.laid.plane.id)
    stop = -rules[layer_role].reach_at(Border.VALLEY)
    work.measure(
        "underlayment_lap",
        number,
        (stop, half),
        f"{work.least(half - stop)} over the lining",
        rules[layer_role].source,
    )
