"""A chimney through shingles: apron, steps, back pan over a cricket where it is wide."""

from __future__ import annotations

import numpy as np
import shapely

from roof3d.details.frame import Face, Floats, Frame
from roof3d.details.frames import frame_on_plane, room_on
from roof3d.details.model import INCH, Detail, DetailLayer, PieceKind
from roof3d.details.rows import describe
from roof3d.details.shapes.fit import split_at_line
from roof3d.details.shingle.field import Field, Shape, open_field, trimmed
from roof3d.details.shingle.openings.chimney_parts import (
    Block,
    apron_leg,
    clear_of,
    cricket_body,
    cricket_plan,
    pan_leg,
    shell,
    valley_webs,
)
from roof3d.details.shingle.openings.chimney_words import (
    ChimneyLengths,
    chimney_notes,
    cricket_words,
    pan_words,
)
from roof3d.details.shingle.openings.counterflashing import lay_counterflashing
from roof3d.details.shingle.openings.upright import draw_thin, join_last, lay_deck_with_hole
from roof3d.details.shingle.words import course_words, underlayment_words
from roof3d.details.site import DetailSite, close_build, open_build, slope_words
from roof3d.errors import LayoutError
from roof3d.tolerance import DEFAULT


def build_chimney(site: DetailSite, lengths: ChimneyLengths | None = None) -> Detail:
    """Build the layers round a chimney.

    Raises
    ------
    LayoutError
        Where it stands on several planes or askew to the fall, its plane is not laid out, or
        its assembly lacks a flashing.
    """
    o = lengths or ChimneyLengths()
    site = draw_thin(site)
    plane = site.roof.plane(site.place.planes[0])
    frame, corners = chimney_corners(site)
    low, high = corners.min(axis=0), corners.max(axis=0)
    width = float(high[0] - low[0])
    wide = width > o.cricket_from.metres + DEFAULT.merge
    cricket = width / 2.0 / frame.near_normal[2] if wide else 0.0
    pan = site.catalog.material("back-pan").width
    x, y, z = frame.point(0.0, float(high[1]) + 2.0 * INCH, 0.0)
    room = float(high[1]) + room_on(plane, (x, y, z), frame.far)
    size = (
        width + 2.0 * o.side.metres,
        -float(low[1]) + o.below.metres,
        min(float(high[1]) + cricket + pan + o.above.metres, room),
    )
    work = open_build(site, frame, size)
    field = open_field(site, work, plane.id, None)
    block = Block(work, float(low[0]), float(low[1]), float(high[0]), float(high[1]))
    deck = field.layers["deck"].material
    depth = work.catalog.material(deck).thickness
    layers = [lay_deck_with_hole(work, deck, block.open_from(-depth, 0.0), "chimney")]
    stub = block.body(depth + INCH, o.shown.metres)
    work.solid("chimney.1", "Chimney", PieceKind.WALL, 1, "", [stub])
    layers.append(_underlayment(field, block, 2))
    layers += _foot(field, block, 3, o)
    layers += _sides(field, block, 5, o, cricket)
    layers += _head(field, block, 7, o, cricket)
    gable = width / 2.0 * block.slope if cricket else 0.0
    layers += lay_counterflashing(field, block, len(layers) + 1, o, gable)
    return close_build(
        site,
        work,
        name="Chimney through shingles",
        summary=slope_words(plane.slope, site.units),
        layers=layers,
        notes=chimney_notes(field, o, wide=wide),
        near=f"{plane.id}, below the middle",
        far=f"{plane.id}, above it",
    )


def chimney_corners(site: DetailSite) -> tuple[Frame, Floats]:
    """Return the frame in the middle of a chimney and its corners in (u, s)."""
    opening = next(o for o in site.roof.openings if o.id == site.place.opening)
    plane = site.roof.plane(site.place.planes[0])
    ring = np.array(opening.outline)
    gx, gy = plane.gradient
    points = np.column_stack((ring, ring @ np.array((gx, gy)) + plane.offset))
    middle = (points.min(axis=0) + points.max(axis=0)) / 2.0
    x, y = middle[:2].tolist()
    frame = frame_on_plane((x, y, gx * x + gy * y + plane.offset), plane)
    found = frame.developed(points)[:, :2]
    low, high = found.min(axis=0), found.max(axis=0)
    square = float(np.prod(high - low))
    if len(site.place.planes) > 1 or shapely.Polygon(found).area < square - INCH * INCH:
        raise LayoutError(
            "stands on several planes, or askew to the fall; its joints are drawn for one that "
            "stands square on one plane",
            where=f"opening[{opening.id}]",
            hint="turn it square to the fall, or draw another joint",
        )
    return frame, found


def _underlayment(field: Field, block: Block, number: int) -> DetailLayer:
    """Lay the underlayment round the chimney, and turn it up its faces."""
    work, made = block.work, field.material("underlayment")
    for role in ("ice barrier", "underlayment"):
        high = 4.0 * work.thickness(made.id)
        open_ = block.open_from(0.0, high)
        field.lay_sheets(number, role, shape=_open(open_))
    thick, up, low = work.thickness(made.id), 4.0 * INCH, _top(block)
    sides = [
        block.side(_ring(block, low, low + up), (0.0, 0.0), thick, right=right)
        for right in (False, True)
    ]
    ends = [
        block.front(low, low + up, 0.0, thick, thick),
        block.back(low, low + up, 0.0, thick, thick),
    ]
    rim = shapely.difference(block.plan.buffer(thick, join_style="mitre"), block.plan)
    work.solid(
        "underlayment.up",
        f"{made.name}, turned up",
        PieceKind.SHEET,
        number,
        made.id,
        [*sides, *ends],
        _both(rim),
    )
    return underlayment_words(field, number, f"{work.least(up)} up the chimney on all sides")


def _open(area: shapely.Polygon) -> Shape:
    """Return what cuts an area out."""
    return lambda part: part.difference(area)


def _top(block: Block) -> float:
    """Height of the highest that lies round the chimney so far."""
    rim = block.plan.buffer(3.0 * INCH).difference(block.plan)
    return max(block.work.stack.highest(face, rim) for face in Face)


def _ring(block: Block, low: float, high: float) -> list[tuple[float, float]]:
    """Outline of a side face in (s, h) between two heights, plumb at both ends."""
    tan = block.slope
    return [
        (block.foot + low * tan, low),
        (block.head + low * tan, low),
        (block.head + high * tan, high),
        (block.foot + high * tan, high),
    ]


def _both(area: shapely.Geometry) -> list[tuple[Face, shapely.Polygon]]:
    return split_at_line(list(shapely.get_parts(area)))


def _cut(block: Block, most: float) -> Shape:
    """Return what cuts shingles clear of the chimney and of the metal on it, as drawn."""
    gap = max(INCH / 2.0, clear_of(block))
    lean = most * block.slope
    open_ = shapely.box(
        block.left - gap, block.foot - gap, block.right + gap, block.head + gap + lean
    )
    return lambda part: part.difference(open_)


def _foot(field: Field, block: Block, number: int, o: ChimneyLengths) -> list[DetailLayer]:
    """Lay the courses up to the lower face, and the apron over them."""
    work, rule = field.work, field.rule("opening-apron")
    metal = work.catalog.material(rule.material)
    butts = field.butts()
    cut = _cut(block, 4.0 * work.thickness(field.material("shingles").id))
    for course, outlines in field.pieces("shingles"):
        if butts[course] < block.foot:
            field.lay_course(number, course, outlines, shape=cut)
    up = -rule.start.at(0.0, 0.0)
    roof, past = rule.width - up, o.past.metres
    lap = work.catalog.material(field.rule("step-flashing").material).end_lap
    sheet, thick = work.thickness(field.material("underlayment").id), work.thickness(metal.id)
    # Its legs meet at the face of the underlayment, as high as it lies on the shingles.
    edge = block.foot - (sheet + thick) / work.frame.near_normal[2] + sheet * block.slope
    leg = apron_leg(block, (block.foot - roof, edge, block.foot + lap), past)
    work.patch("apron.1", metal.name, PieceKind.METAL, number + 1, metal.id, None, [leg], field.up)
    top = work.stack.tops[-1]
    base = float(np.interp(edge, top.at, top.over)) - thick
    join_last(work, [block.bend((edge, base), base + up, sheet, thick, sheet)])
    nails = rule.nailing
    if nails is not None:
        at, off = block.foot + lap - nails.inset, past - nails.inset
        places = [(block.left - off, at), (block.right + off, at)]
        work.nails("apron.nails", "Nails of the apron", number + 1, nails.fastener, places)
    side = block.right + past
    ends = ((side, block.foot - roof), (side, block.foot))
    work.measure_between("apron_roof", number + 1, *ends, f"{work.least(roof)} on", rule.source)
    return [
        course_words(field, number, "up to the lower face"),
        describe(
            number + 1,
            metal,
            f"{work.least(roof)} over the shingles, {work.least(up)} up, {work.least(past)} past "
            "both sides",
            "to the deck at its upper ends alone, never to the chimney; corners sealed",
            "Takes what runs down along both sides and the face out onto the shingles.",
            tool="metal brake, snips, soldering iron",
            gear="cut-proof gloves, harness",
            mistake="Nailed through its roof leg, or to the brick: roof and chimney move apart.",
            check="Push the upstand: it springs; no head on the roof leg.",
        ),
    ]


def _sides(
    field: Field, block: Block, number: int, o: ChimneyLengths, cricket: float
) -> list[DetailLayer]:
    """Lay course and step in turn up both sides, clear of the cricket, which stands on the deck."""
    work, rule = field.work, field.rule("step-flashing")
    metal, shingle = work.catalog.material(rule.material), field.material("shingles")
    butts = field.butts()
    close = _cut(block, 4.0 * work.thickness(shingle.id))
    behind = cricket_plan(block, block.head, cricket).buffer(INCH, join_style="mitre")

    def cut(part: shapely.Polygon) -> shapely.Geometry:
        return trimmed(close(part).difference(behind)) if cricket else close(part)

    for course, outlines in field.pieces("shingles"):
        butt = butts[course]
        if butt > block.head - shingle.exposure:
            break
        if butt >= block.foot and not field.lay_course(number, course, outlines, shape=cut):
            continue
        foot = butt + shingle.exposure + o.hidden.metres
        if foot + metal.length > block.foot + metal.end_lap:
            for right in (False, True):
                _step(field, block, number + 1, course, foot, right=right)
    lap = metal.length - shingle.exposure
    return [
        course_words(field, number, "beside the chimney, cut to it"),
        describe(
            number + 1,
            metal,
            f"one a course on each side: {work.text(metal.length)} long, legs "
            f"{work.least(metal.width)}; laps the one below by {work.text(lap)}",
            "one nail to the deck, at its upper corner; none into the chimney",
            "Hands the water of each course out onto the course below.",
            tool="bender, snips, hammer",
            gear="cut-proof gloves, harness, eye guard",
            mistake="Fixed to deck and brick alike: it tears as they move apart.",
            check="Count: one for each course, on each side.",
        ),
    ]


def _step(
    field: Field, block: Block, number: int, course: int, foot: float, *, right: bool
) -> None:
    """Lay one step: its roof leg over the course, its upright leg over that of the step below."""
    work, rule = field.work, field.rule("step-flashing")
    metal = work.catalog.material(rule.material)
    leg, length = rule.width or metal.width, metal.length
    sheet, thick = work.thickness(field.material("underlayment").id), work.thickness(metal.id)
    low, high = max(foot, block.foot), min(foot + length, block.head)
    if high - low < INCH:
        return
    # Upright legs lean, foot out and head in, so that each lies flat on the one below it.
    lean = thick * length / field.material("shingles").exposure

    def out(s: float) -> float:
        return sheet + lean * (foot + length - s) / length

    sign, face = (1.0, block.right) if right else (-1.0, block.left)
    outline = shapely.Polygon(
        [
            (face + sign * (out(low) + thick), low),
            (face + sign * leg, low),
            (face + sign * leg, high),
            (face + sign * (out(high) + thick), high),
        ]
    )
    name = f"step.{course}_{'right' if right else 'left'}"
    words = f"{metal.name}, course {course}"
    if not work.patch(name, words, PieceKind.METAL, number, metal.id, None, [outline], field.up):
        return
    top = work.stack.tops[-1]
    under = [(float(s), float(h) - thick) for s, h in zip(top.at, top.over, strict=True)]
    # Trimmed to the plumb corner of the chimney, which leans up the slope.
    foot_up, end = under[0][1], high - INCH / 2.0
    room = (end - block.foot) / max(block.slope, 1.0 * INCH) - foot_up
    up = min(leg, max(room, INCH))
    tip = min(max(low, block.foot + (foot_up + up) * block.slope), end)
    ring = [*under, (high, under[-1][1] + up), (tip, foot_up + up)]
    join_last(work, [block.side(ring, (out(low), out(high)), thick, right=right)])
    nails = rule.nailing
    if nails is not None:
        at = (face + sign * nails.line, high - nails.inset)
        work.nails(f"{name}.nail", "Nail of the step", number, nails.fastener, [at])


def _nail_pan(
    field: Field, number: int, span: tuple[float, float], foot: float, cricket: float
) -> None:
    """Nail the pan along its upper rim, which goes up with the cricket in the middle."""
    nails, work = field.rule("back-pan").nailing, field.work
    if nails is None:
        return
    start, end = span
    count = max(int((end - start - 2.0 * nails.lap_start) / nails.lap_spacing) + 1, 2)
    middle, half = (start + end) / 2.0, (end - start) / 2.0
    places = [
        (float(u), foot + nails.strip_first + cricket * (1.0 - abs(float(u) - middle) / half))
        for u in np.linspace(start + nails.lap_start, end - nails.lap_start, count)
    ]
    work.nails("pan.nails", "Nails of the pan", number, nails.fastener, places)


def _head(
    field: Field, block: Block, number: int, o: ChimneyLengths, cricket: float
) -> list[DetailLayer]:
    """Lay the cricket where there is one, the back pan, and the courses above over the pan."""
    work, rule = field.work, field.rule("back-pan")
    metal = work.catalog.material(rule.material)
    width = rule.width or metal.width
    sheet, thick = work.thickness(field.material("underlayment").id), work.thickness(metal.id)
    layers: list[DetailLayer] = []
    past, plumb = o.past.metres, 1.0 / work.frame.near_normal[2]
    base, out = _top(block), sheet * plumb
    if cricket:
        close = cricket_plan(block, block.head, cricket)
        base = max(work.stack.highest(face, close) for face in Face)
    # Plumb faces lean up the slope: at the height of the pan they stand further up.
    foot = block.head + (sheet + thick) * plumb + (base + 2.0 * thick) * block.slope
    triangle = cricket_plan(block, block.head + out + base * block.slope, cricket)
    bodies = []
    if cricket:
        body, height, _ = cricket_body(block, base, out)
        work.solid(
            "cricket.1", "Cricket", PieceKind.DECK, number, "sheathing", [body], _both(triangle)
        )
        bodies = shell(block, base, out, thick, o.pan_up.metres)
        layers.append(cricket_words(field, number, height, cricket, o))
        number += 1
    pan = pan_leg(block, (block.head - metal.end_lap, foot, foot + width), cricket, past)
    pan = pan.difference(triangle.buffer(thick, join_style="mitre"))
    for part in shapely.get_parts(pan):
        work.patch("pan.1", metal.name, PieceKind.METAL, number, metal.id, None, [part], field.up)
    top = work.stack.tops[-1]
    if cricket:
        bodies += valley_webs(block, triangle, base, thick, (top.at, top.over))
    if not cricket:
        start = float(np.interp(foot, top.at, top.over)) - thick
        bodies = [block.bend((foot, start), start + o.pan_up.metres, sheet, thick, sheet)]
    join_last(work, bodies)
    _nail_pan(field, number, (block.left - past, block.right + past), foot, cricket)
    # Counted from where the water turns: from the chimney, or from the head of its cricket.
    u = (block.left + block.right) / 2.0 if cricket else block.right + past
    ends = ((u, foot + cricket), (u, foot + cricket + width))
    said = f"{work.least(width)} {'past the cricket' if cricket else 'up'}"
    work.measure_between("pan_up_slope", number, *ends, said, metal.source_of("width"))
    layers.append(pan_words(field, number, width, cricket, o))
    crease = triangle.union(shapely.box(block.left, block.head, block.right, foot))
    open_ = crease.buffer(o.crease.metres, join_style="mitre")
    cut = _cut(block, 4.0 * work.thickness(field.material("shingles").id))
    butts, exposure = field.butts(), field.material("shingles").exposure
    for course, outlines in field.pieces("shingles"):
        if butts[course] > block.head - exposure:
            field.lay_course(
                number + 1, course, outlines, shape=lambda part: trimmed(cut(part - open_))
            )
    layers.append(course_words(field, number + 1, "over the pan, clear of its crease"))
    return layers
