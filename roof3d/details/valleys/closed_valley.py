"""Closed-cut valley: one plane's shingles run through the crease, the other's are cut on them."""

from __future__ import annotations

from dataclasses import dataclass

from roof3d.catalog.laying import Border
from roof3d.details.model import INCH, Detail, DetailLayer, PieceKind
from roof3d.details.rows import describe
from roof3d.details.site import DetailSite, close_build, slope_words
from roof3d.details.valleys.courses import (
    exposure_at,
    lay_laid_shingles,
    lay_through_shingles,
)
from roof3d.details.valleys.cutout import CutOut, cut_out, strip_of
from roof3d.details.valleys.lining import lay_lining, lay_underlayment, note_lap
from roof3d.details.valleys.slopes import Slope, slopes_of
from roof3d.details.valleys.wood import lay_wood
from roof3d.errors import LayoutError
from roof3d.layout.build import closed_valleys
from roof3d.layout.joint import Given

_CEMENT = "roof-cement"


@dataclass(frozen=True, slots=True, kw_only=True)
class ClosedValleyOptions:
    """Lengths of a closed-cut valley that neither catalog nor layout holds.

    Attributes
    ----------
    run : Given
        Size of the cut-out onto either plane.
    nail_clear, joint_clear : Given
        No nail, and no joint of the courses that run through, this near the middle.
    bed : Given
        Cement under the cut edge.
    clip : Given
        Legs of the corner taken off the upper tip of each cut shingle.
    """

    run: Given = Given(24.0 * INCH)
    nail_clear: Given = Given(6.0 * INCH, "handbooks, from memory")
    joint_clear: Given = Given(8.0 * INCH)
    bed: Given = Given(3.0 * INCH, "shingle makers' association manual, from memory")
    clip: Given = Given(2.0 * INCH)


def build_closed_valley(
    site: DetailSite, *, options: ClosedValleyOptions = ClosedValleyOptions()
) -> Detail:
    """Build the layers of a closed-cut valley.

    Raises
    ------
    LayoutError
        Where the layout holds no shingles there, or the valley is none between shingles.
    """
    kinds = {plane: site.catalog.assembly(name).kind for plane, name in site.assembly_of.items()}
    through_id = closed_valleys(site.roof, kinds).get(site.place.edge)
    if through_id is None:
        raise LayoutError("is no valley between shingles", where=f"edges[{site.place.edge}]")
    cut = cut_out(site, (options.run.metres, options.run.metres))
    work = cut.work
    slopes = slopes_of(site, work)
    through, over = sorted(slopes, key=lambda slope: slope.laid.plane.id != through_id)
    names = (site.place.planes[0], site.place.planes[1])
    deck = site.layers(names[0])["deck"].material
    layers = [lay_wood(work, deck, names, "valley rafter"), lay_lining(site, cut, 2)]
    layers += lay_underlayment(slopes, 3)
    half_lining = strip_of(site, "valley-lining").width / 2.0
    note_lap(slopes, len(layers), half_lining, "underlayment")
    layers.append(_lay_through(through, len(layers) + 1, options))
    layers.append(_lay_bed(over, through, len(layers) + 1, options))
    layers.append(_lay_over(over, len(layers) + 1, options))
    pitches = [slope_words(site.roof.plane(name).slope, site.units) for name in names]
    return close_build(
        site,
        work,
        name="Closed-cut valley",
        summary=f"{pitches[0]} meets {pitches[1]}",
        layers=layers,
        notes=_notes(cut, (through, over), options),
    )


def past_of(slope: Slope, border: Border) -> float:
    """Return how far the shingles of a plane run past the middle, as the catalog says."""
    return slope.site.layers(slope.laid.plane.id)["shingles"].reach_at(border)


def _words_of(slope: Slope) -> tuple[str, str]:
    layer = slope.site.layers(slope.laid.plane.id)["shingles"]
    return layer.material, layer.source


def _lay_through(slope: Slope, number: int, o: ClosedValleyOptions) -> DetailLayer:
    work = slope.work
    lay_through_shingles(
        slope, number, joint_clear=o.joint_clear.metres, nail_clear=o.nail_clear.metres
    )
    past = past_of(slope, Border.VALLEY_THROUGH)
    material, source = _words_of(slope)
    reach = (0.0, past) if slope.sign < 0.0 else (-past, 0.0)
    work.measure("through", number, reach, f"{work.least(past)} past the middle", source)
    exposure_at(slope, number)
    made = work.catalog.material(material)
    return describe(
        number,
        made,
        f"{work.least(past)} or more past the middle, onto {_other(slope)}; whole shingles there",
        f"the usual nails, none within {work.least(o.nail_clear.metres)} of the middle "
        f"({o.nail_clear.source}); one more at the far end",
        f"{slope.laid.plane.id} sheds less water, so its shingles are the ones that run through.",
        tool="shingle gauge, hammer or nailer with depth stop",
        gear="knee pads, gloves, harness",
        mistake="A short piece that ends in the crease.",
        check="Every course lies pressed into the crease and reaches its length beyond.",
    )


def _other(slope: Slope) -> str:
    return next(name for name in slope.site.place.planes if name != slope.laid.plane.id)


def _lay_bed(over: Slope, through: Slope, number: int, o: ClosedValleyOptions) -> DetailLayer:
    work = over.work
    made = work.catalog.material(_CEMENT)
    back = -past_of(over, Border.VALLEY_CUT)
    # Its height follows the courses that it lies on.
    work.patch(
        "bed.1",
        f"{made.name} under the cut edge",
        PieceKind.BED,
        number,
        made.id,
        over.face,
        [over.strip((back, back), o.bed.metres)],
        through.up,
    )
    ends = sorted((over.sign * back, over.sign * (back + o.bed.metres)))
    work.measure("bed", number, (ends[0], ends[1]), work.text(o.bed.metres), o.bed.source)
    return describe(
        number,
        made,
        f"{work.text(o.bed.metres)} wide under the cut edge ({o.bed.source}); at most "
        f"{work.text(made.thickness)} thick",
        "trowel; one band is drawn, each course gets its own",
        "Holds the cut ends where no nail may be.",
        tool="trowel, caulking gun",
        gear="nitrile gloves, no flame near solvent",
        mistake="A thick fillet: it dams water and softens the shingles.",
        check="Lift a cut edge with a finger: it holds.",
    )


def _lay_over(slope: Slope, number: int, o: ClosedValleyOptions) -> DetailLayer:
    work = slope.work
    back = -past_of(slope, Border.VALLEY_CUT)
    lay_laid_shingles(
        slope,
        number,
        slope.beyond(back),
        clip=o.clip.metres,
        nail_clear=o.nail_clear.metres,
    )
    material, source = _words_of(slope)
    reach = (-back, 0.0) if slope.sign < 0.0 else (0.0, back)
    work.measure("cut_back", number, reach, f"{work.least(back)} back", source)
    made = work.catalog.material(material)
    return describe(
        number,
        made,
        f"cut {work.least(back)} back from the middle; upper tips clipped "
        f"{work.text(o.clip.metres)} at 45 deg",
        f"the usual nails, none within {work.least(o.nail_clear.metres)} of the middle "
        f"({o.nail_clear.source}); cut ends in cement",
        f"{slope.laid.plane.id} sheds more water: it lies on top, so the stream runs off its "
        "cut edge and not under it.",
        tool="chalk line, straightedge, hook blade",
        gear="cut-proof gloves, knee pads, harness",
        mistake="The wrong plane on top: the larger stream runs in under the cut.",
        check="Look down the valley: the cut edge faces away from the larger plane.",
    )


def _notes(cut: CutOut, sides: tuple[Slope, Slope], o: ClosedValleyOptions) -> tuple[str, ...]:
    through, over = sides
    work = cut.work
    one, two = (slope.laid.plane for slope in sides)
    by = "flatter" if abs(one.slope - two.slope) > work.tol.slope else "smaller"
    cover = past_of(through, Border.VALLEY_THROUGH) + past_of(over, Border.VALLEY_CUT)
    source = _words_of(through)[1]
    return (
        "Water goes from the cut side to the side that runs through, to the lining.",
        f"{one.id} runs through: it is the {by} of the two ({source}).",
        (
            f"On the cut side {work.least(cover)} of the other side's shingles lie below the cut; "
            "rain must climb that far to get in."
        ),
        (
            f"No nail within {work.least(o.nail_clear.metres)} of the middle "
            f"({o.nail_clear.source}), no joint of what runs through within "
            f"{work.least(o.joint_clear.metres)} ({o.joint_clear.source})."
        ),
    )
