"""Low slope above a steep one: the membrane turns down, metal throws its water on the shingles."""

from __future__ import annotations

from collections.abc import Sequence

from roof3d.catalog.laying import Border
from roof3d.catalog.material import Material
from roof3d.details.build_up import BuildUp
from roof3d.details.membrane.words import top_sheet_words
from roof3d.details.model import INCH, PRACTICE, DetailLayer, PieceKind
from roof3d.details.options import TransitionOptions
from roof3d.details.rows import (
    LAP_NAILS,
    describe,
    lap_source,
    lay_sheets,
    lay_shingles,
    nail_base,
)
from roof3d.details.site import DetailSite
from roof3d.details.transitions.laid import laid_courses
from roof3d.details.transitions.materials import JointMaterials

_CEMENT, _CAP_NAIL, _METAL = "roof-cement", "cap-nail", "membrane-edge-metal"
_NAIL = "roofing-nail"
_BED_BACK, _BED_EDGE = 0.5 * INCH, 0.25 * INCH
_FLANGE_NAILS = 4.0 * INCH


def lay_low_above_steep(
    site: DetailSite, work: BuildUp, materials: JointMaterials, o: TransitionOptions
) -> tuple[tuple[DetailLayer, ...], tuple[str, ...]]:
    """Lay everything above the deck, in the order of work; returns layers and notes."""
    layers = (
        _steep_underlayment(work, materials, o),
        *_turned_down(site, work, materials, o),
        _face(work, materials, o),
        *_edge(site, work, materials, o),
    )
    lip = (
        ""
        if site.roof.plane(site.place.planes[0]).slope > 0.0
        else " The deck is dead level and will hold water."
    )
    below = [role.capitalize() for role, _ in materials.sheets[:-1]]
    turned = {
        2: f"Base and ply turn down over the steep underlayment, never under it ({PRACTICE}).",
        1: f"{below[0] if below else ''} turns down over the steep underlayment, "
        f"never under it ({PRACTICE}).",
        0: f"Nothing turns down here: flange and top sheet alone close the edge ({PRACTICE}).",
    }[len(below)]
    bedded = (
        "The flange is primed on both faces, bedded below and covered by the cap."
        if _bedded(site)
        else "The flange is coated metal: the sheet is welded onto its whole width."
    )
    notes = (
        turned,
        "The metal leg lies over the top course and its nails; no heads through the leg.",
        bedded + lip,
    )
    return layers, notes


def _bedded(site: DetailSite) -> bool:
    rule = site.strip(site.place.planes[0], "edge-metal")
    return rule is None or bool(rule.bed)


def _steep_underlayment(
    work: BuildUp, materials: JointMaterials, o: TransitionOptions
) -> DetailLayer:
    """Carry the underlayment of the steep face over the break."""
    least = work.least
    felt = work.catalog.material(materials.underlayment)
    up = o.under_up.metres
    # Up the face the developed coordinate falls, so the sheets are set out mirrored.
    top_down = [(up - felt.width, up)]
    while top_down[-1][0] > -work.size[2]:
        head = top_down[-1][0] + felt.side_lap
        top_down.append((head - felt.width, head))
    sheets = [(-head, -foot) for foot, head in reversed(top_down)]
    lay_sheets(work, 2, felt, sheets, "underlayment")
    work.measure("under_up", 2, (-up, 0.0), f"{least(up)} on deck", o.under_up.source)
    return describe(
        2,
        felt,
        f"turned {least(up)} onto the deck, laps {least(felt.side_lap)}",
        "capped nails",
        "No gap at the break: what gets behind runs out on the face.",
        tool="hammer tacker, cap nailer",
        gear="harness, rope",
        mistake="Stopped at the break, so a gap stays open.",
        check="See it turned onto the deck before the membrane comes.",
    )


def _turned_down(
    site: DetailSite, work: BuildUp, materials: JointMaterials, o: TransitionOptions
) -> tuple[DetailLayer, ...]:
    """Turn base and ply down over the steep underlayment, as far as there are any."""
    low = site.place.planes[0]
    words = []
    for number, (role, name) in enumerate(materials.sheets[:-1], start=3):
        made = work.catalog.material(name)
        rule = site.layers(low)[role]
        down = rule.reach_at(Border.JOINT_UPPER)
        lap = max((o.base_lap if role == "base" else o.ply_lap).metres, made.side_lap)
        edge = made.width - down - lap if role == "base" else o.ply_first.metres
        found, _ = laid_courses(site, work, low, role, down)
        inward = list(found) or _inward(work, made, -down, edge, lap)
        lay_sheets(work, number, made, inward, role)
        source = rule.source
        work.measure(f"{role}_down", number, (0.0, down), f"{work.least(down)} down", source)
        _measure_lap(work, f"{role}_lap", number, inward, (made, rule.source))
        if role == "base":
            nail_base(work, number, _CAP_NAIL, inward, clear=o.nail_clear.metres)
        size = f"turned {work.least(down)} down the face, lap {work.least(lap)}"
        words.append(
            _base_words(work, made, number, size)
            if role == "base"
            else _ply_words(made, number, size)
        )
    return tuple(words)


def _base_words(work: BuildUp, base: Material, number: int, size: str) -> DetailLayer:
    return describe(
        number,
        base,
        size,
        f"capped nails {work.text(LAP_NAILS)} apart in laps, none on the bend",
        "Over the underlayment: deck water cannot get behind that.",
        tool="cap nailer, hook knife",
        gear="eye guard, gloves",
        mistake="Tucked under the steep underlayment.",
        check="Lift the edge on the face: the base is the upper one.",
    )


def _ply_words(ply: Material, number: int, size: str) -> DetailLayer:
    return describe(
        number,
        ply,
        size,
        "its own adhesive, warm, rolled over an eased edge",
        "First waterproof layer, and the seat of the metal flange.",
        tool="hand roller, hook knife",
        gear="gloves, knee pads",
        mistake="Cracked over a sharp edge in the cold.",
        check="The edge is eased by 1/4 in; the bend is smooth and tight.",
    )


def _measure_lap(
    work: BuildUp,
    name: str,
    layer: int,
    inward: Sequence[tuple[float, float]],
    what: tuple[Material, str],
) -> None:
    """Note the lap nearest to the break, where the cut-out holds one."""
    if len(inward) > 1:
        low, high = inward[0][0], inward[1][1]
        made, drawn = what
        source = lap_source(work, made, high - low, drawn)
        work.measure(name, layer, (low, high), f"lap {work.least(high - low)}", source)


def _inward(
    work: BuildUp, made: Material, outer: float, edge: float, lap: float
) -> list[tuple[float, float]]:
    """Sheets of the low deck from the break inward, in the order laid.

    ``outer`` is where the first begins (below zero: down the face), ``edge`` where the
    second one's lower edge lies; both metres inward of the break.
    """
    sheets = [(outer, edge + lap)]
    foot = edge
    while sheets[-1][1] < work.size[1]:
        sheets.append((foot, foot + made.width))
        foot = sheets[-1][1] - lap
    return [(-head, -foot) for foot, head in sheets]


def _face(work: BuildUp, materials: JointMaterials, o: TransitionOptions) -> DetailLayer:
    """Shingles up the face to just below the break; the lowest course first."""
    text, number = work.text, len(materials.sheets) + 2
    shingle = work.catalog.material(materials.shingles)
    top = o.shingle_short.metres
    butts = [o.leg.metres + shingle.exposure]
    while butts[-1] < work.size[2]:
        butts.append(butts[-1] + shingle.exposure)
    # Only whole courses: a butt beyond the cut-out would show no lower edge.
    butts = [butt for butt in butts if butt <= work.size[2]]
    reaches = [(max(top, butt - shingle.width), butt) for butt in reversed(butts)]
    lay_shingles(work, number, shingle, reaches, "course", PieceKind.SHINGLE, up=False, phase=0)
    work.measure("shingle_short", number, (0.0, top), f"{text(top)} short", o.shingle_short.source)
    if len(butts) > 2:
        work.measure(
            "exposure",
            number,
            (butts[-2], butts[-1]),
            f"{text(shingle.exposure)} exposed",
            shingle.source_of("exposure"),
        )
    return describe(
        number,
        shingle,
        f"{text(shingle.exposure)} exposed, up to {text(top)} below the break",
        "nails of the top course under the metal leg",
        "Shed water down the face; the leg needs shingle under it.",
        tool="roofing nailer, hook blade",
        gear="harness, roof bracket, rope",
        mistake="Top nails below the leg, open to the weather.",
        check="Every nail of the top course lies 2 in or more above the end of the leg.",
    )


def _nail_flange(work: BuildUp, number: int, flange: float) -> None:
    """Set the flange's nails in two staggered rows; the cap covers them."""
    start, end = work.span
    count = int((end - start) / _FLANGE_NAILS)
    places = [
        (start + (k + phase) * _FLANGE_NAILS, -share * flange)
        for share, phase in ((0.4, 0.25), (0.75, 0.75))
        for k in range(count)
    ]
    if work.size[1] > flange:
        work.nails("metal.nails", "Nails of the flange", number, _NAIL, places)


def _edge(
    site: DetailSite, work: BuildUp, materials: JointMaterials, o: TransitionOptions
) -> tuple[DetailLayer, ...]:
    """Cement bed where there is one, edge metal over bed and top course, cap over the flange."""
    number = len(materials.sheets) + 3
    bed = (_lay_bed(work, number, o.flange.metres),) if _bedded(site) else ()
    number += len(bed)
    return (*bed, _lay_metal(work, number, o), _lay_cap(site, work, materials, o, number + 1))


def _lay_bed(work: BuildUp, number: int, flange: float) -> DetailLayer:
    cement = work.catalog.material(_CEMENT)
    reach = (-flange - _BED_BACK, -_BED_EDGE)
    title = "Cement bed under the flange"
    work.sheet("bed.1", title, PieceKind.BED, number, cement.id, reach)
    return DetailLayer(
        number=number,
        name="Cement bed",
        material=cement.id,
        size=f"even, {work.text(cement.thickness)} thick, under the whole flange",
        why="Closes the back edge of the flange, which faces the water.",
        fastening="trowel, no skips",
        source=PRACTICE,
        tool="trowel",
        gear="nitrile gloves, fresh air, no flame",
        mistake="Dabs in place of an even bed.",
        check="Cement squeezes out along the whole edge.",
    )


def _lay_metal(work: BuildUp, number: int, o: TransitionOptions) -> DetailLayer:
    text, least = work.text, work.least
    metal = work.catalog.material(_METAL)
    flange, leg = o.flange.metres, o.leg.metres
    work.sheet("metal.1", metal.name, PieceKind.METAL, number, metal.id, (-flange, leg))
    _nail_flange(work, number, flange)
    work.measure("flange", number, (-flange, 0.0), f"flange {least(flange)}", o.flange.source)
    work.measure("leg", number, (0.0, leg), f"leg {least(leg)}", o.leg.source)
    return describe(
        number,
        metal,
        f"flange {least(flange)} on the deck, leg {least(leg)} over the top course",
        f"flange nailed {text(_FLANGE_NAILS)} apart, staggered; leg on a hook strip",
        "Throws the low roof's water onto the shingles.",
        tool="bender, snips, hammer",
        gear="cut-proof gloves, eye guard",
        mistake="Nails through the leg: they leak and hold it from moving.",
        check="No head is seen on the leg; it springs back when lifted.",
    )


def _lay_cap(
    site: DetailSite, work: BuildUp, materials: JointMaterials, o: TransitionOptions, number: int
) -> DetailLayer:
    text, least = work.text, work.least
    cap = work.catalog.material(materials.cap)
    low, flange = site.place.planes[0], o.flange.metres
    rule = site.layers(low)["cap"]
    margin = -rule.reach_at(Border.JOINT_UPPER)
    lap = max(o.cap_lap.metres, cap.side_lap)
    found, real = laid_courses(site, work, low, "cap", -margin)
    inward = list(found) or _inward(work, cap, margin, o.cap_first.metres, lap)
    lap = real or lap
    lay_sheets(work, number, cap, inward, "cap")
    _measure_lap(work, "cap_lap", number, inward, (cap, rule.source))
    on_flange = f"{least(flange - margin)} on the flange"
    work.measure("cap_over", number, (-flange, -margin), on_flange, rule.source)
    how = top_sheet_words(site, low)
    return describe(
        number,
        cap,
        f"over the flange, {text(margin)} of metal in sight, lap {least(lap)}",
        how.at_metal,
        "Weather surface, and the cover of the flange and its nails.",
        tool="hot-air gun, hand roller, probe",
        gear="heat gloves, fire watch",
        mistake="Stopped behind the flange, its back edge open to the water.",
        check="Tape the flange: all but a finger of metal is covered.",
    )
