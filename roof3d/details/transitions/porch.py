"""Low slope below a steep one: the membrane runs through the break and up under the shingles."""

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
    courses,
    describe,
    lap_source,
    lay_sheets,
    lay_shingles,
    nail_base,
)
from roof3d.details.site import DetailSite
from roof3d.details.transitions.laid import laid_courses
from roof3d.details.transitions.materials import JointMaterials
from roof3d.layout.joint import RiseRule, first_gap, membrane_rise

_BARRIER, _CEMENT, _CAP_NAIL = "ice-barrier", "roof-cement", "cap-nail"


def lay_low_below_steep(
    site: DetailSite, work: BuildUp, materials: JointMaterials, o: TransitionOptions
) -> tuple[tuple[DetailLayer, ...], tuple[str, ...]]:
    """Lay everything above the deck, in the order of work; returns layers and notes."""
    rise = membrane_rise(work.frame.far[2], o.joint)
    layers = (
        *_membrane(site, work, materials, o, rise),
        *_closing(work, materials, o, rise),
        *_shingles(work, materials, o, site.roof.plane(site.place.planes[0]).slope),
    )
    notes = [
        _rise_note(work, o, rise),
        f"The ice barrier lies over the {_heads(materials)}, never under {_them(materials)}.",
        "No side lap of any sheet lies on the break.",
        (
            "Where the break ends at an eave or rake, edge metal comes before the cap: primed on "
            f"both faces, set in cement over the ply, the cap over its flange ({PRACTICE})."
        ),
        "Local rules set how far up the ice barrier must reach (IRC R905.1.2).",
    ]
    if rise > work.size[2]:
        notes.insert(0, "The steep plane is too short here for the whole rise of the membrane.")
    return layers, tuple(notes)


def _heads(materials: JointMaterials) -> str:
    names = [role for role, _ in materials.sheets]
    if len(names) == 1:
        return f"head of the {names[0]}"
    return f"heads of {', '.join(names[:-1])} and {names[-1]}"


def _them(materials: JointMaterials) -> str:
    return "them" if len(materials.sheets) > 1 else "it"


def _rise_note(work: BuildUp, o: TransitionOptions, rise: float) -> str:
    least = work.least
    up = work.text(rise * work.frame.far[2])  # what comes of it is a fact, no minimum
    if o.joint.rise_rule is RiseRule.VERTICAL:
        asked = f"{least(o.joint.rise_along.metres)} in height ({o.joint.rise_along.source})"
    else:
        asked = (
            f"{least(o.joint.rise_along.metres)} on the slope ({o.joint.rise_along.source}), "
            f"and as high as a wall flashing, {least(o.joint.rise_up.metres)} "
            f"({o.joint.rise_up.source})"
        )
    read = (
        f" {least(o.joint.rise_along.metres)} is read here as "
        + ("height." if o.joint.rise_rule is RiseRule.VERTICAL else "length on the slope.")
        + " Sources differ; the model's layout.membrane_rise says which."
    )
    runs = f"The cap runs {least(rise)} up the steep deck, {up} straight up"
    return f"{runs}: at least {asked}.{read}"


def _membrane(
    site: DetailSite,
    work: BuildUp,
    materials: JointMaterials,
    o: TransitionOptions,
    rise: float,
) -> tuple[DetailLayer, ...]:
    """Lay what there is of base, ply and cap through the break, each over what is below it.

    The base of the low deck ends at the break, under a strip of its own that crosses it.
    """
    roles = materials.sheets
    words = []
    for number, (role, name) in enumerate(roles, start=2):
        made = work.catalog.material(name)
        head, lap, sheets = _lay_role(site, work, o, (number, role, made), rise)
        if role == "base":
            nail_base(work, number, _CAP_NAIL, sheets, clear=o.nail_clear.metres)
            strip = _base_strip(site, work, base=made, rise=rise)
            words.append(_base_words(work, made, o, lap, strip))
        elif role == "ply":
            words.append(_ply_words(work, made, number, lap, head))
        else:
            words.append(_cap_words(site, work, made, number, lap, rise))
    top = len(roles) + 1
    work.measure("rise", top, (0.0, rise), f"M = {work.least(rise)}", o.joint.rise_along.source)
    work.measure_up("rise_up", top, rise, o.joint.rise_up.source)
    return tuple(words)


def _lay_role(
    site: DetailSite,
    work: BuildUp,
    o: TransitionOptions,
    sheet: tuple[int, str, Material],
    rise: float,
) -> tuple[float, float, Sequence[tuple[float, float]]]:
    """Lay the sheets of one role up to its head; returns head, side lap and reaches."""
    number, role, made = sheet
    start, wanted = {
        "base": (o.base_start, o.base_lap),
        "ply": (o.ply_start, o.ply_lap),
        "cap": (o.cap_start, o.cap_lap),
    }[role]
    low = site.place.planes[0]
    rule = site.layers(low)[role]
    head = rule.reach_at(Border.JOINT_LOWER, rise=rise)
    sheets, lap = laid_courses(site, work, low, role, head)
    if not sheets:
        lap = max(wanted.metres, made.side_lap)
        foot = -start.metres
        sheets = courses(foot, head, width=made.width, lap=lap, below=-work.size[1])
    lay_sheets(work, number, made, sheets, role)
    seen = [foot for foot, _ in sheets[1:] if -work.size[1] <= foot and foot + lap <= 0.0]
    if seen:
        source = lap_source(work, made, lap, rule.source)
        words = f"lap {work.least(lap)}"
        work.measure(f"{role}_lap", number, (seen[-1], seen[-1] + lap), words, source)
    return head, lap, sheets


def _base_words(
    work: BuildUp, base: Material, o: TransitionOptions, lap: float, strip: tuple[float, float]
) -> DetailLayer:
    text, least = work.text, work.least
    return describe(
        2,
        base,
        f"{text(base.width)} wide, lap {least(lap)}, up to the break; across it "
        f"{least(strip[1])} up and {least(-strip[0])} down",
        f"capped nails {text(LAP_NAILS)} apart in laps, none within "
        f"{least(o.nail_clear.metres)} of the break",
        "Takes the nails, movement of the deck and air pressure from below; lets the roof be "
        "renewed without touching the deck.",
        tool="cap nailer, chalk line, tape",
        gear="eye guard, ear plugs, gloves",
        mistake="A lap or a nail on the bend, where the deck moves.",
        check="Tape from the break to the nearest lap and nail; every cap lies flat.",
    )


def _ply_words(work: BuildUp, ply: Material, number: int, lap: float, head: float) -> DetailLayer:
    over = "sticks to the base, seals its nails" if number > 2 else "sticks to the primed deck"
    return describe(
        number,
        ply,
        f"lap {work.least(lap)}, {work.least(head)} up the steep deck",
        "its own adhesive, pressed into the bend first, rolled; no nails",
        f"First waterproof layer: {over}.",
        tool="hook knife, 75 lb roller, hand roller",
        gear="gloves, knee pads, soft soles",
        mistake="Bridged over the bend: hollow below, it splits when stepped on. Its release film "
        "comes off only once it lies aligned.",
        check="Press along the bend by hand: no hollow, no drumming.",
    )


def _cap_words(
    site: DetailSite, work: BuildUp, cap: Material, number: int, lap: float, rise: float
) -> DetailLayer:
    least = work.least
    how = top_sheet_words(site, site.place.planes[0])
    return describe(
        number,
        cap,
        f"one sheet through the break{_above(work, number, rise)}, M = {least(rise)} up, "
        f"lap {least(lap)}",
        how.fastening,
        how.why,
        tool=how.tool,
        gear=how.gear,
        mistake="Stopped short of its height: ice and splash go over the head.",
        check="Photograph a tape from the break to the head before it is covered.",
    )


def _above(work: BuildUp, number: int, rise: float) -> str:
    """Say what of a layer lies wholly on the steep deck, over the sheet through the break."""
    feet = sorted(p.reach[0] for p in work.pieces if p.layer == number and p.reach[0] >= 0.0)
    if not feet:
        return ""
    return f", over it a course {work.text(rise - feet[0])} wide"


def _base_strip(
    site: DetailSite, work: BuildUp, *, base: Material, rise: float
) -> tuple[float, float]:
    """Lay the strip of base sheet across the break; returns its reach."""
    rule = site.strip(site.place.planes[0], "joint-base")
    if rule is None:
        return (0.0, 0.0)
    head = -rule.start.at(rise, 0.0)
    reach = (head - (rule.width or base.width), head)
    work.sheet("base.strip", f"{base.name}, strip", PieceKind.SHEET, 2, rule.material, reach)
    nails = rule.nailing
    if nails is not None:
        start, end = work.span
        rows = [
            reach[1] - nails.strip_first - k * nails.strip_between for k in range(nails.strip_rows)
        ]
        step = nails.lap_spacing
        places = [
            (start + (k + 0.5) * step, s)
            for s in rows
            for k in range(int((end - start) / step))
            if -work.size[1] < s < work.size[2]
        ]
        work.nails("base.strip_nails", "Capped nails of the strip", 2, nails.fastener, places)
    source = rule.source
    work.measure("strip_up", 2, (0.0, reach[1]), f"{work.least(reach[1])} strip", source)
    return reach


def _closing(
    work: BuildUp, materials: JointMaterials, o: TransitionOptions, rise: float
) -> tuple[DetailLayer, ...]:
    """Lay the band at the cap's head, the ice barrier over it, the underlayment over that."""
    least = work.least
    cement, barrier, felt = (
        work.catalog.material(name) for name in (_CEMENT, _BARRIER, materials.underlayment)
    )
    band = len(materials.sheets) + 2
    lap = o.head_lap.metres
    foot, head = rise - lap, rise - lap + o.barrier_width.metres
    work.sheet(
        "band.head", "Bond at the head of the cap", PieceKind.BED, band, cement.id, (foot, rise)
    )
    work.sheet("barrier.1", barrier.name, PieceKind.SHEET, band + 1, barrier.id, (foot, head))
    work.measure(
        "head_lap", band + 1, (foot, rise), f"{least(lap)} over the cap", o.head_lap.source
    )
    start = head - lap
    sheets = list(courses(start, work.size[2], width=felt.width, lap=felt.side_lap, below=start))
    if felt.side_lap > felt.width / 2.0:
        # Half lapped: a strip as high as the lap comes first, so every point is covered twice.
        sheets.insert(0, (start, start + felt.side_lap))
    lay_sheets(work, band + 2, felt, sheets, "underlayment")
    work.measure(
        "felt_lap", band + 2, (start, head), f"{least(lap)} over barrier", o.head_lap.source
    )
    return (
        _band_words(work, band, cement, lap),
        *_cover_words(work, materials, o, (band + 1, barrier, felt)),
    )


def _band_words(work: BuildUp, number: int, cement: Material, lap: float) -> DetailLayer:
    return DetailLayer(
        number=number,
        name="Bond band on the cap's head",
        material=cement.id,
        size=f"{work.least(lap)} wide; granules embedded, or cement at most "
        f"{work.text(cement.thickness)}",
        why="Loose granules do not bond: water would get under the barrier.",
        fastening="trowel, or granules embedded hot",
        source=PRACTICE,
        tool="trowel, hot-air gun",
        gear="nitrile gloves, no flame near solvent",
        mistake="The barrier stuck onto loose granules.",
        check="Peel a test corner: it tears rather than lifts.",
    )


def _cover_words(
    work: BuildUp,
    materials: JointMaterials,
    o: TransitionOptions,
    rows: tuple[int, Material, Material],
) -> tuple[DetailLayer, ...]:
    number, barrier, felt = rows
    least, lap = work.least, o.head_lap.metres
    return (
        describe(
            number,
            barrier,
            f"{least(lap)} over the cap's head, {least(o.barrier_width.metres)} wide or more",
            "its own adhesive, primed and rolled",
            f"Closes the {_heads(materials)} against backed-up water.",
            tool="hook knife, hand roller",
            gear="gloves, harness",
            mistake="Tucked under the cap: its head then drinks water.",
            check="Lift the edge: the barrier is the upper one.",
        ),
        describe(
            number + 1,
            felt,
            f"{least(lap)} over the barrier, laps {least(felt.side_lap)}",
            "capped nails, enough to hold",
            "Second line of defence under the shingles.",
            tool="hammer tacker, chalk line, cap nailer",
            gear="harness, soft soles",
            mistake="Begun at the break, on top of the wet cap.",
            check="Each sheet lies over the one below it, caps flat, no wrinkle.",
        ),
    )


def _shingles(
    work: BuildUp, materials: JointMaterials, o: TransitionOptions, low_slope: float
) -> tuple[DetailLayer, ...]:
    """Starter in a cement band, then courses from the gap upward."""
    text, least = work.text, work.least
    starter, shingle = (
        work.catalog.material(name) for name in (materials.starter, materials.shingles)
    )
    number = len(materials.sheets) + 5
    gap = first_gap(low_slope, o.joint)
    start, band = gap.metres, o.bond_band.metres
    work.sheet(
        "band.starter",
        "Cement under the starter",
        PieceKind.BED,
        number,
        _CEMENT,
        (start, start + band),
    )
    reach = (start, start + starter.width)
    lay_shingles(work, number, starter, (reach,), "starter", PieceKind.STARTER, up=True, phase=3)
    rows = [start]
    while rows[-1] + shingle.exposure < work.size[2] - shingle.exposure / 2.0:
        rows.append(rows[-1] + shingle.exposure)
    reaches = [(foot, foot + shingle.width) for foot in rows]
    lay_shingles(work, number + 1, shingle, reaches, "course", PieceKind.SHINGLE, up=True, phase=0)
    work.measure("gap", number + 1, (0.0, start), f"gap {least(start)}", gap.source)
    if len(rows) > 3:
        work.measure(
            "exposure",
            number + 1,
            (rows[-3], rows[-2]),
            f"{text(shingle.exposure)} exposed",
            shingle.source_of("exposure"),
        )
    return _shingle_words(work, o, (number, starter, shingle), start)


def _shingle_words(
    work: BuildUp,
    o: TransitionOptions,
    rows: tuple[int, Material, Material],
    start: float,
) -> tuple[DetailLayer, ...]:
    text, least = work.text, work.least
    number, starter, shingle = rows
    band, low_nail = o.bond_band.metres, 6.0 * INCH
    return (
        describe(
            number,
            starter,
            f"held {least(start)} off the break, in a {least(band)} cement band",
            f"nails no lower than {least(low_nail)} up from the break",
            "Fills the joints of the first row and seals its lower edge.",
            tool="trowel, hammer, tape",
            gear="gloves, harness",
            mistake="Nails low down, where water stands on the cap.",
            check="Tape the lowest nail: 6 in or more from the break.",
        ),
        describe(
            number + 1,
            shingle,
            f"{text(shingle.exposure)} exposed, joints {least(o.joint_offset.metres)} or more "
            "apart",
            "four nails a shingle at least, six in high wind",
            "Sheds water from course to course, down onto the cap.",
            tool="roofing nailer with depth stop, hook blade",
            gear="harness, roof jacks, eye guard",
            mistake="Laid down to the break: dirt and ice lift the edge.",
            check="The gap at the break is open and clean along its length.",
        ),
    )
