"""Low slope below a steep one: the membrane runs through the break and up under the shingles."""

from __future__ import annotations

from roof3d.details.build_up import BuildUp, JointMaterials, courses, describe
from roof3d.details.model import INCH, PRACTICE, DetailLayer, PieceKind
from roof3d.details.rows import LAP_NAILS, lay_sheets, lay_shingles, nail_base
from roof3d.layout.joint import RiseRule, first_gap, membrane_rise

_BARRIER, _CEMENT, _CAP_NAIL = "ice-barrier", "roof-cement", "cap-nail"


def lay_low_below_steep(
    work: BuildUp, materials: JointMaterials, low_slope: float
) -> tuple[tuple[DetailLayer, ...], tuple[str, ...]]:
    """Lay everything above the deck, in the order of work; returns layers and notes."""
    rise = membrane_rise(work.frame.steep[2], work.options.joint)
    layers = (
        *_membrane(work, materials, rise),
        *_closing(work, materials, rise),
        *_shingles(work, materials, low_slope),
    )
    notes = [
        _rise_note(work, rise),
        "The ice barrier lies over the heads of base, ply and cap, never under them.",
        "No side lap of any sheet lies on the break.",
        "Local rules set how far up the ice barrier must reach (IRC R905.1.2).",
    ]
    if rise > work.size[2]:
        notes.insert(0, "The steep plane is too short here for the whole rise of the membrane.")
    return layers, tuple(notes)


def _rise_note(work: BuildUp, rise: float) -> str:
    o, least = work.options, work.least
    up = work.text(rise * work.frame.steep[2])  # what comes of it is a fact, no minimum
    if o.joint.rise_rule is RiseRule.VERTICAL:
        asked = f"{least(o.joint.rise_along.metres)} in height ({o.joint.rise_along.source})"
    else:
        asked = (
            f"{least(o.joint.rise_along.metres)} on the slope ({o.joint.rise_along.source}), "
            f"and as high as a wall flashing, {least(o.joint.rise_up.metres)} "
            f"({o.joint.rise_up.source})"
        )
    return f"The cap runs {least(rise)} up the steep deck, {up} straight up: at least {asked}."


def _membrane(work: BuildUp, materials: JointMaterials, rise: float) -> tuple[DetailLayer, ...]:
    """Lay base, ply and cap through the break; each higher sheet over the lower one."""
    o, text, least = work.options, work.text, work.least
    catalog = work.catalog
    base, ply, cap = (
        catalog.material(name) for name in (materials.base, materials.ply, materials.cap)
    )
    heads = (rise + o.base_past.metres, rise + o.ply_past.metres, rise)
    starts = (o.base_start.metres, o.ply_start.metres, o.cap_start.metres)
    wanted = (o.base_lap, o.ply_lap, o.cap_lap)
    laps = []
    for number, (made, start, head, lap) in enumerate(
        zip((base, ply, cap), starts, heads, wanted, strict=True), start=2
    ):
        size = max(lap.metres, made.side_lap)
        laps.append(size)
        sheets = courses(-start, head, width=made.width, lap=size, below=-work.size[1])
        lay_sheets(work, number, made, sheets, ("base", "ply", "cap")[number - 2])
        source = (
            f"least lap {least(made.side_lap)}: {made.source_of('side_lap')}; drawn: {lap.source}"
        )
        work.measure(
            ("base_lap", "ply_lap", "cap_lap")[number - 2],
            number,
            (-start, -start + size),
            f"lap {least(size)}",
            source,
        )
        if number == 2:
            nail_base(work, number, _CAP_NAIL, sheets)
    work.measure("rise", 4, (0.0, rise), f"M = {least(rise)}", o.joint.rise_along.source)
    work.measure_up("rise_up", 4, rise, o.joint.rise_up.source)
    wide = text(cap.width)
    whole = starts[2] + rise <= cap.width
    return (
        describe(
            2,
            base,
            f"{wide} wide, lap {least(laps[0])}, {least(heads[0])} up the steep deck",
            f"capped nails {text(LAP_NAILS)} apart in laps, none within "
            f"{least(o.nail_clear.metres)} of the break",
            "Takes the nails; lets the roof be removed later.",
        ),
        describe(
            3,
            ply,
            f"lap {least(laps[1])}, {least(heads[1])} up the steep deck",
            "its own adhesive, pressed into the bend first, rolled; no nails",
            "First waterproof layer: sticks to the base, seals its nails.",
        ),
        describe(
            4,
            cap,
            f"{'one sheet' if whole else 'sheets'} through the break, M = {least(rise)} up, "
            f"lap {least(laps[2])}",
            "its own adhesive, rolled; no nails",
            "Weather surface: its granules shade the bitumen from the sun.",
        ),
    )


def _closing(work: BuildUp, materials: JointMaterials, rise: float) -> tuple[DetailLayer, ...]:
    """Lay the band at the cap's head, the ice barrier over it, the underlayment over that."""
    o, text, least = work.options, work.text, work.least
    cement, barrier, felt = (
        work.catalog.material(name) for name in (_CEMENT, _BARRIER, materials.underlayment)
    )
    lap = o.head_lap.metres
    foot, head = rise - lap, rise - lap + o.barrier_width.metres
    work.sheet(
        "band.head", "Bond at the head of the cap", PieceKind.BED, 5, cement.id, (foot, rise)
    )
    work.sheet("barrier.1", barrier.name, PieceKind.SHEET, 6, barrier.id, (foot, head))
    work.measure("head_lap", 6, (foot, rise), f"{least(lap)} over the cap", o.head_lap.source)
    start = head - lap
    sheets = list(courses(start, work.size[2], width=felt.width, lap=felt.side_lap, below=start))
    if felt.side_lap > felt.width / 2.0:
        # Half lapped: a strip as high as the lap comes first, so every point is covered twice.
        sheets.insert(0, (start, start + felt.side_lap))
    lay_sheets(work, 7, felt, sheets, "underlayment")
    work.measure("felt_lap", 7, (start, head), f"{least(lap)} over barrier", o.head_lap.source)
    return (
        DetailLayer(
            number=5,
            name="Bond band on the cap's head",
            material=cement.id,
            size=f"{least(lap)} wide; granules embedded, or cement at most "
            f"{text(cement.thickness)}",
            why="Loose granules do not bond: water would get under the barrier.",
            fastening="trowel, or granules embedded hot",
            source=PRACTICE,
        ),
        describe(
            6,
            barrier,
            f"{least(lap)} over the cap's head, {least(o.barrier_width.metres)} wide or more",
            "its own adhesive, primed and rolled",
            "Closes the heads of base, ply and cap against backed-up water.",
        ),
        describe(
            7,
            felt,
            f"{least(lap)} over the barrier, laps {least(felt.side_lap)}",
            "capped nails, enough to hold",
            "Second line of defence under the shingles.",
        ),
    )


def _shingles(
    work: BuildUp, materials: JointMaterials, low_slope: float
) -> tuple[DetailLayer, ...]:
    """Starter in a cement band, then courses from the gap upward."""
    o, text, least = work.options, work.text, work.least
    starter, shingle = (
        work.catalog.material(name) for name in (materials.starter, materials.shingles)
    )
    gap = first_gap(low_slope, o.joint)
    start, band = gap.metres, o.bond_band.metres
    work.sheet(
        "band.starter", "Cement under the starter", PieceKind.BED, 8, _CEMENT, (start, start + band)
    )
    reach = (start, start + starter.width)
    lay_shingles(work, 8, starter, (reach,), "starter", PieceKind.STARTER, up=True, phase=3)
    rows = [start]
    while rows[-1] + shingle.exposure < work.size[2] - shingle.exposure / 2.0:
        rows.append(rows[-1] + shingle.exposure)
    reaches = [(foot, foot + shingle.width) for foot in rows]
    lay_shingles(work, 9, shingle, reaches, "course", PieceKind.SHINGLE, up=True, phase=0)
    work.measure("gap", 9, (0.0, start), f"gap {least(start)}", gap.source)
    if len(rows) > 3:
        work.measure(
            "exposure",
            9,
            (rows[-3], rows[-2]),
            f"{text(shingle.exposure)} exposed",
            shingle.source_of("exposure"),
        )
    low_nail = 6.0 * INCH
    return (
        describe(
            8,
            starter,
            f"held {least(start)} off the break, in a {least(band)} cement band",
            f"nails no lower than {least(low_nail)} up from the break",
            "Fills the joints of the first row and seals its lower edge.",
        ),
        describe(
            9,
            shingle,
            f"{text(shingle.exposure)} exposed, joints {least(o.joint_offset.metres)} or more "
            "apart",
            "four nails a shingle at least, six in high wind",
            "Sheds water from course to course, down onto the cap.",
        ),
    )
