"""Valley between a membrane and shingles: the membrane runs through and up under the shingles."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from roof3d.catalog.laying import Border
from roof3d.details.frame import Face
from roof3d.details.model import INCH, PRACTICE, Detail, DetailLayer, PieceKind
from roof3d.details.rows import describe
from roof3d.details.site import DetailSite, bend_note, close_build, slope_words
from roof3d.details.valleys.courses import exposure_at, lay_laid_sheets, lay_laid_shingles
from roof3d.details.valleys.cutout import CutOut, cut_out
from roof3d.details.valleys.slopes import Slope, slopes_of
from roof3d.details.valleys.wood import lay_wood
from roof3d.errors import LayoutError
from roof3d.layout.joint import Given

_CEMENT, _SHARP = "roof-cement", 0.785


@dataclass(frozen=True, slots=True, kw_only=True)
class JointValleyOptions:
    """Lengths of a valley between membrane and shingles that catalog and layout do not hold.

    Attributes
    ----------
    low_run, margin : Given
        Size of the cut-out onto the membrane, and past the head of the membrane.
    nail_clear, base_clear : Given
        No nail of shingles, and none of the base sheet, this near the middle.
    bed : Given
        Cement under the cut edge.
    clip : Given
        Legs of the corner taken off the upper tip of each cut shingle.
    """

    low_run: Given = Given(22.0 * INCH)
    margin: Given = Given(22.0 * INCH)
    nail_clear: Given = Given(8.0 * INCH)
    base_clear: Given = Given(12.0 * INCH)
    bed: Given = Given(3.0 * INCH)
    clip: Given = Given(2.0 * INCH)


def build_joint_valley(
    site: DetailSite, *, options: JointValleyOptions = JointValleyOptions()
) -> Detail:
    """Build the layers of a valley between a membrane and shingles.

    Raises
    ------
    LayoutError
        Where one plane does not carry a membrane and the other shingles, or the layout
        holds no such valley.
    """
    low, steep = sorted(
        site.place.planes, key=lambda plane: site.assembly(plane).kind != "membrane"
    )
    if site.assembly(low).kind != "membrane" or site.assembly(steep).kind == "membrane":
        raise LayoutError(
            "is no valley between a membrane and shingles", where=f"edges[{site.place.edge}]"
        )
    site = replace(site, place=replace(site.place, planes=(low, steep)))
    side = site.side(low, Border.JOINT_VALLEY)
    if side is None:
        raise LayoutError(
            "the layout knows no such valley here",
            where=f"edges[{site.place.edge}]",
            hint="lay out the roof first",
        )
    cut = cut_out(site, (options.low_run.metres, side.rise + options.margin.metres))
    work = cut.work
    slopes = slopes_of(site, work)
    deck = site.layers(low)["deck"].material
    layers = [lay_wood(work, deck, (low, steep), "valley rafter")]
    layers += _lay_membrane(slopes[0], side.rise, options)
    layers += _lay_head(slopes[1], side.rise, len(layers) + 1)
    layers += _lay_courses(slopes[1], side.gap, len(layers) + 1, options)
    pitches = [slope_words(site.roof.plane(name).slope, site.units) for name in (low, steep)]
    return close_build(
        site,
        work,
        name="Valley between membrane and shingles",
        summary=f"{pitches[0]} meets {pitches[1]}",
        layers=layers,
        notes=(*bend_note(work.frame, _SHARP), *_notes(cut, side.rise, side.gap)),
    )


def _lay_membrane(slope: Slope, rise: float, o: JointValleyOptions) -> list[DetailLayer]:
    work, site = slope.work, slope.site
    rules = site.layers(slope.laid.plane.id)
    words: list[DetailLayer] = []
    for role in [role for role in rules if role not in {"deck", "fire"}]:
        number = len(words) + 2
        if not lay_laid_sheets(slope, number, role):
            continue
        if role == "base":
            _nail_base(slope, number, o)
        rule = rules[role]
        made = site.catalog.material(rule.material)
        head = rule.reach_at(Border.JOINT_VALLEY, rise=rise)
        work.measure(f"{role}_up", number, (0.0, head), f"{work.least(head)} up", rule.source)
        lap = max(rule.side_lap, made.side_lap)
        words.append(
            describe(
                number,
                made,
                f"through the crease and {work.least(head)} up {site.place.planes[1]}, square to "
                f"it; lap {work.least(lap)}",
                rule.fastening,
                _WHY.get(role, "Carries on under the shingles, so that the crease has no edge."),
                tool="hook knife, 75 lb roller, hand roller",
                gear="gloves, knee pads, soft soles",
                mistake="A lap along the crease, or a sheet bridged over it.",
                check="Tape from the crease to the head; press along the crease: no hollow.",
            )
        )
    return words


def _nail_base(slope: Slope, number: int, o: JointValleyOptions) -> None:
    """Set the nails of the base that the layout has, but for those near the crease."""
    layer = slope.layer("base")
    if layer is None or not len(layer.nails):
        return
    places = slope.flat(layer.nails)
    kept = slope.holds(places, layer.fastener) & (np.abs(places[:, 1]) >= o.base_clear.metres)
    found = [(float(u), float(s)) for u, s in places[kept].tolist()]
    title = "Capped nails of the base sheet"
    slope.work.nails("base.nails", title, number, layer.fastener, found)


_WHY = {
    "base": "Takes the nails; they end short of the crease, where water stands longest.",
    "cap": "Weather surface: it lies through the crease, no edge of it runs along there.",
}


def _lay_head(slope: Slope, rise: float, number: int) -> list[DetailLayer]:
    """Close the head of the membrane: cement band, ice barrier, underlayment."""
    work, site = slope.work, slope.site
    rule = site.strip(slope.laid.plane.id, "joint-ice-barrier")
    cement = site.catalog.material(_CEMENT)
    words: list[DetailLayer] = []
    if rule is not None:
        made = site.catalog.material(rule.material)
        foot = rule.start.at(rise, 0.0)
        head = foot + (rule.width or made.width)
        band = PieceKind.BED
        work.sheet("band.head", "Bond at the head", band, number, cement.id, (foot, rise))
        work.sheet("barrier.1", made.name, PieceKind.SHEET, number + 1, made.id, (foot, head))
        text = f"{work.least(rise - foot)} over the cap"
        work.measure("head_lap", number + 1, (foot, rise), text, rule.source)
        words += [
            DetailLayer(
                number=number,
                name="Bond band on the cap's head",
                material=cement.id,
                size=f"{work.least(rise - foot)} wide; at most {work.text(cement.thickness)} thick",
                why="Loose granules do not bond: water would get under the barrier.",
                fastening="trowel, or granules embedded hot",
                source=PRACTICE,
                tool="trowel, hot-air gun",
                gear="nitrile gloves, no flame near solvent",
                mistake="The barrier stuck onto loose granules.",
                check="Peel a test corner: it tears rather than lifts.",
            ),
            describe(
                number + 1,
                made,
                f"{work.least(rise - foot)} over the head of the cap, "
                f"{work.least(head - foot)} wide",
                "its own adhesive, rolled; no nails",
                "Closes the heads of all sheets of the membrane.",
                tool="hook knife, hand roller",
                gear="gloves, harness",
                mistake="Tucked under the cap: its head then drinks water.",
                check="Lift the edge: the barrier is the upper one.",
            ),
        ]
    for role in ("ice barrier", "underlayment"):
        at = number + len(words)
        if lay_laid_sheets(slope, at, role, slope.beyond(0.0)):
            layer = site.layers(slope.laid.plane.id)[role]
            made = site.catalog.material(layer.material)
            words.append(
                describe(
                    at,
                    made,
                    f"over the barrier, lap {work.least(made.side_lap)}",
                    layer.fastening,
                    "Hands what gets under the shingles to the barrier, it to the membrane.",
                    tool="cap nailer, hook knife",
                    gear="eye guard, gloves, harness",
                    mistake="Tucked under the barrier.",
                    check="Its lower edge lies on the barrier all along.",
                )
            )
    return words


def _lay_courses(slope: Slope, gap: float, number: int, o: JointValleyOptions) -> list[DetailLayer]:
    work, site = slope.work, slope.site
    cement = site.catalog.material(_CEMENT)
    bed = [slope.strip((gap, gap), o.bed.metres)]
    name = f"{cement.name} under the cut edge"
    work.patch("bed.1", name, PieceKind.BED, number, cement.id, Face.FAR, bed, (0.0, 1.0))
    lay_laid_shingles(
        slope,
        number + 1,
        slope.beyond(gap),
        clip=o.clip.metres,
        nail_clear=o.nail_clear.metres,
    )
    rule = site.layers(slope.laid.plane.id)["shingles"]
    made = site.catalog.material(rule.material)
    work.measure("gap", number + 1, (0.0, gap), f"{work.least(gap)} off", rule.source)
    exposure_at(slope, number + 1)
    return [
        describe(
            number,
            cement,
            f"{work.text(o.bed.metres)} wide, {work.least(gap)} off the middle",
            "trowel, an even bed",
            "Holds the cut ends, which no nail may hold.",
            tool="trowel",
            gear="nitrile gloves, no flame near solvent",
            mistake="A thick fillet: it dams water and softens the cap.",
            check="Lift a cut edge with a finger: it holds.",
        ),
        describe(
            number + 1,
            made,
            f"cut {work.least(gap)} off the middle; upper tips clipped "
            f"{work.text(o.clip.metres)} at 45 deg",
            f"the usual nails, none within {work.least(o.nail_clear.metres)} of the middle",
            "Shed onto the cap; the gap stays open, so that nothing dams water.",
            tool="chalk line, straightedge, hook blade",
            gear="cut-proof gloves, knee pads, harness",
            mistake="Laid down into the crease: leaves and ice then sit on the cut.",
            check="The gap is open and clean all along.",
        ),
    ]


def _notes(cut: CutOut, rise: float, gap: float) -> Sequence[str]:
    work, rule = cut.work, cut.work.options.joint
    up = work.text(rise * work.frame.far[2])
    return (
        "The low plane is waterproof, it does not shed: water may stand in the crease.",
        (
            f"The cap runs {work.least(rise)} up the steep deck, {up} straight up: at least "
            f"{work.least(rule.rise_along.metres)} along ({rule.rise_along.source}) and as high as "
            f"a wall flashing, {work.least(rule.rise_up.metres)} ({rule.rise_up.source})."
        ),
        "Barrier over the cap's head, underlayment over the barrier, shingles over all.",
        f"Shingles end {work.least(gap)} off the crease; no lap of the membrane runs along it.",
    )
