"""Open valley: metal in the crease, shingles of both planes cut clear of it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from roof3d.catalog.laying import Border
from roof3d.details.frame import Face
from roof3d.details.model import INCH, Detail, DetailLayer, PieceKind
from roof3d.details.rows import describe
from roof3d.details.shapes.solids import Body, extruded
from roof3d.details.site import DetailSite, close_build, pitch_words, slope_words
from roof3d.details.valleys.courses import exposure_at, lay_laid_shingles
from roof3d.details.valleys.cutout import CutOut, cut_out, strip_of
from roof3d.details.valleys.lining import lay_lining, lay_underlayment, note_lap
from roof3d.details.valleys.slopes import Slope, slopes_of
from roof3d.details.valleys.wood import lay_wood
from roof3d.layout.joint import Given
from roof3d.layout.model import LaidStrip
from roof3d.layout.strips.flashing import load_flashing_rule, valley_clear_width
from roof3d.units import FOOT, Units

_CEMENT = "roof-cement"
_MILLIMETRE = 1000.0


@dataclass(frozen=True, slots=True, kw_only=True)
class OpenValleyOptions:
    """Lengths of an open valley that neither catalog nor layout holds.

    Attributes
    ----------
    run : Given
        Size of the cut-out onto either plane.
    joint_off : Given
        How far below the middle of the cut-out the end lap of the metal lies.
    bed : Given
        Cement under the cut edge.
    clip : Given
        Legs of the corner taken off the upper tip of each cut shingle.
    rib, rib_half : Given
        Height and half the width of the rib in the middle of the metal.
    """

    run: Given = Given(26.0 * INCH)
    joint_off: Given = Given(12.0 * INCH)
    bed: Given = Given(3.0 * INCH, "shingle makers' association manual, from memory")
    clip: Given = Given(2.0 * INCH)
    rib: Given = Given(1.0 * INCH, "contractors' handbook, 1 in rib")
    rib_half: Given = Given(0.375 * INCH)


def build_open_valley(
    site: DetailSite, *, options: OpenValleyOptions = OpenValleyOptions()
) -> Detail:
    """Build the layers of an open valley.

    Raises
    ------
    LayoutError
        Where the layout holds no shingles or no metal there.
    """
    metal = strip_of(site, "valley-metal")
    at = _place_of_lap(site, metal, options)
    cut = cut_out(site, (options.run.metres, options.run.metres), at=at)
    work = cut.work
    slopes = slopes_of(site, work)
    names = (site.place.planes[0], site.place.planes[1])
    deck = site.layers(names[0])["deck"].material
    layers = [lay_wood(work, deck, names, "valley rafter"), lay_lining(site, cut, 2)]
    layers += lay_underlayment(slopes, 3)
    half_lining = strip_of(site, "valley-lining").width / 2.0
    note_lap(slopes, len(layers), half_lining, "underlayment")
    layers.append(_lay_metal(site, cut, metal, len(layers) + 1, options))
    layers.append(_lay_beds(site, cut, slopes, len(layers) + 1, options))
    layers.append(_lay_courses(site, cut, slopes, metal, len(layers) + 1, options))
    pitches = [slope_words(site.roof.plane(name).slope, site.units) for name in names]
    return close_build(
        site,
        work,
        name="Open valley with metal",
        summary=f"{pitches[0]} meets {pitches[1]}",
        layers=layers,
        notes=_notes(site, cut, metal, options),
    )


def clear_at(site: DetailSite, cut: CutOut, face: Face, u: float) -> float:
    """Return how far shingles stay off the middle of the valley at a place, metres.

    The layout cuts them all along at the least distance; here it widens down the valley, as
    the rule of the flashings says.
    """
    plane = site.place.planes[0 if face is Face.NEAR else 1]
    laid = -site.layers(plane)["shingles"].reach_at(Border.VALLEY)
    return max(laid, valley_clear_width(cut.down_from_top(u)) / 2.0)


def _place_of_lap(site: DetailSite, metal: LaidStrip, o: OpenValleyOptions) -> float | None:
    """Return the place along the edge that puts an end lap below the middle of the picture."""
    edge = site.roof.edge(site.place.edge)
    half = min(site.options.width.metres, edge.length) / 2.0
    least, most = half, edge.length - half
    found: list[float] = []
    for joint in metal.pieces[1:, 0].tolist():
        lap = (joint, joint + metal.lap)
        at = min(max(joint + o.joint_off.metres, least), most)
        if at - half < lap[0] and lap[1] < at + half:
            found.append(at)
    return min(found, key=lambda at: abs(at - edge.length / 2.0), default=None)


def _lay_metal(
    site: DetailSite, cut: CutOut, metal: LaidStrip, number: int, o: OpenValleyOptions
) -> DetailLayer:
    work, made = cut.work, site.catalog.material(metal.material)
    half = metal.width / 2.0
    spans = cut.spans(metal)
    bodies: list[Body] = []
    for place, span in enumerate(spans, start=1):
        low, high = max(span[0], work.span[0]), min(span[1], work.span[1])
        if high <= low:
            continue
        work.sheet(
            f"metal.{place}",
            f"{made.name}, piece {place}",
            PieceKind.METAL,
            number,
            made.id,
            (-half, half),
            spans=[(low, high)],
        )
        later = [s for s in spans[place:] if s[0] < high and s[1] > low]
        if later:
            low, high = (low, later[0][0]) if later[0][1] > high else (later[0][1], high)
        bodies.append(_rib(cut, (low, high), o))
    title = f"Rib of the metal, {work.text(o.rib.metres)} high"
    work.solid("metal.rib", title, PieceKind.METAL, number, made.id, bodies)
    nails = [(float(u), float(s)) for u, s in cut.nails(metal).tolist()]
    work.nails("metal.nails", "Nails at the rims of the metal", number, metal.fastener, nails)
    work.measure("metal_near", number, (-half, 0.0), f"{work.least(half)} of metal", made.source)
    for one, two in pairwise(spans):
        a, b = max(one[0], two[0]), min(one[1], two[1])
        if work.span[0] < a < b < work.span[1]:
            s = 0.7 * half
            text = f"lap {work.least(b - a)}"
            work.measure_between("metal_lap", number, (a, s), (b, s), text, made.source)
    rule = load_flashing_rule()
    return describe(
        number,
        made,
        f"{work.text(metal.width)} wide ({rule.valley_metal_source}: at least "
        f"{work.least(rule.valley_metal)}); end laps {work.least(metal.lap)}, upper over lower; "
        f"rib {work.text(o.rib.metres)}",
        "nails at the two rims alone, or clips; none where water runs",
        "A smooth channel for the water of two planes; the rib stops cross flow.",
        tool="sheet-metal brake, snips, tape",
        gear="cut-proof gloves, eye guard, harness",
        mistake="A nail in the trough, or the lower piece laid over the upper one.",
        check="No head nearer to the middle than the rims; the upper piece is on top.",
    )


def _rib(cut: CutOut, span: tuple[float, float], o: OpenValleyOptions) -> Body:
    """Return a rib that stands in the crease on top of what lies there."""
    frame = cut.work.frame
    middle = (span[0] + span[1]) / 2.0
    top = max(cut.work.stack.height_at(face, middle, 0.0) for face in Face)
    wide = o.rib_half.metres + top * math.tan(frame.turn / 2.0)
    mitre = np.array(frame.point(span[0], 0.0, top))
    apex = mitre + o.rib.metres * np.array(frame.upright)
    ring = [
        frame.point(span[0], -wide, top),
        (float(apex[0]), float(apex[1]), float(apex[2])),
        frame.point(span[0], wide, top),
        (float(mitre[0]), float(mitre[1]), float(mitre[2])),
    ]
    length = span[1] - span[0]
    x, y, z = (length * np.array(frame.along)).tolist()
    return extruded(ring, (x, y, z))


def _lay_beds(
    site: DetailSite, cut: CutOut, slopes: Sequence[Slope], number: int, o: OpenValleyOptions
) -> DetailLayer:
    work, made = cut.work, site.catalog.material(_CEMENT)
    for slope in slopes:
        start = _clear_ends(site, cut, slope.face)
        work.patch(
            f"bed.{slope.face}",
            f"{made.name} under the cut edge",
            PieceKind.BED,
            number,
            made.id,
            slope.face,
            [slope.strip(start, o.bed.metres)],
            (0.0, 1.0),
        )
    u = work.span[1]
    clear = clear_at(site, cut, Face.FAR, u)
    work.measure(
        "bed", number, (clear, clear + o.bed.metres), work.text(o.bed.metres), o.bed.source
    )
    return describe(
        number,
        made,
        f"{work.text(o.bed.metres)} wide under the cut edge of every course ({o.bed.source}); at "
        f"most {work.text(made.thickness)} thick",
        "trowel; one band is drawn, each course gets its own",
        "Holds the cut ends, which no nail may hold, and stops water creeping under them.",
        tool="trowel, caulking gun",
        gear="nitrile gloves, no flame near solvent",
        mistake="Cut edges left loose: wind lifts them and water runs along the course.",
        check="Lift a cut edge with a finger: it holds.",
    )


def _clear_ends(site: DetailSite, cut: CutOut, face: Face) -> tuple[float, float]:
    first, last = (clear_at(site, cut, face, u) for u in cut.work.span)
    return first, last


def _lay_courses(
    site: DetailSite,
    cut: CutOut,
    slopes: Sequence[Slope],
    metal: LaidStrip,
    number: int,
    o: OpenValleyOptions,
) -> DetailLayer:
    work, half = cut.work, metal.width / 2.0
    for slope in slopes:
        ends = _clear_ends(site, cut, slope.face)
        lay_laid_shingles(
            slope,
            number,
            slope.beyond(*ends),
            clip=o.clip.metres,
            nail_clear=half,
        )
    rule = load_flashing_rule()
    u = work.span[1]
    near, far = (clear_at(site, cut, face, u) for face in Face)
    work.measure(
        "clear", number, (-near, 0.0), f"{work.text(near)} clear", rule.valley_clear_source
    )
    source = site.layers(site.place.planes[1])["shingles"].source
    work.measure("metal_cover", number, (far, half), f"{work.text(half - far)} on metal", source)
    exposure_at(slopes[0], number)
    made = site.catalog.material(site.layers(site.place.planes[0])["shingles"].material)
    first = work.least(rule.valley_clear_top / 2.0)
    return describe(
        number,
        made,
        f"cut {first} off the middle at the top, {work.text(near)} here; upper tips clipped "
        f"{work.text(o.clip.metres)} at 45 deg",
        "the usual nails, none through the metal; the cut end lies in cement",
        "Cover the rims of the metal; the channel widens as it takes more water.",
        tool="chalk line, straightedge, hook blade, snips",
        gear="cut-proof gloves, knee pads, harness",
        mistake="Tips left sharp: they catch water and lead it in along the head.",
        check="Snapped line and cut edge agree; no nail head over the metal.",
    )


def _notes(
    site: DetailSite, cut: CutOut, metal: LaidStrip, o: OpenValleyOptions
) -> tuple[str, ...]:
    work, rule = cut.work, load_flashing_rule()
    one, two = (site.roof.plane(name).slope for name in site.place.planes)
    more = rule.valley_clear_more
    widening = (
        f"{work.text(more * FOOT)} a foot"
        if site.units is Units.IMPERIAL
        else f"{more * _MILLIMETRE:.0f} mm a metre"
    )
    cover = metal.width / 2.0 - max(clear_at(site, cut, Face.NEAR, u) for u in work.span)
    notes = [
        "Water goes from shingles to metal to lining; each laps the next one down.",
        (
            f"The channel is {work.text(rule.valley_clear_top)} wide at the top and widens by "
            f"{widening} ({rule.valley_clear_source}); the order list cuts it straight."
        ),
        (
            f"Shingles cover {work.text(cover)} or more of the metal each side here; its rims and "
            "nails are under them."
        ),
    ]
    if abs(one - two) > work.tol.slope:
        steeper, flatter = (pitch_words(s, site.units) for s in (max(one, two), min(one, two)))
        notes.append(
            f"{steeper} sheds faster than {flatter}: the rib ({work.text(o.rib.metres)}, "
            f"{o.rib.source}) keeps it from washing up under the other side."
        )
    return tuple(notes)
