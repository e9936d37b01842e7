"""A chimney through a membrane: cant, two sheets of flashing, metal let into the brick."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
import shapely

from roof3d.catalog.laying import Border, StripRule
from roof3d.details.curbs.wrap import Wrap, lay_round, open_wrap, swept
from roof3d.details.frame import Face, Floats
from roof3d.details.frames import room_on
from roof3d.details.membrane.wall_words import STRIP_WORDS, strip_words
from roof3d.details.membrane.words import cap_words, sheet_words
from roof3d.details.model import INCH, PRACTICE, Detail, DetailLayer, PieceKind
from roof3d.details.shapes.fit import split_at_line
from roof3d.details.shapes.solids import Body
from roof3d.details.shingle.field import Field, open_field
from roof3d.details.shingle.openings.chimney import chimney_corners
from roof3d.details.shingle.openings.chimney_parts import Block, cricket_body, shell
from roof3d.details.shingle.openings.chimney_words import reglet_words
from roof3d.details.shingle.openings.plumb import Plumb
from roof3d.details.shingle.openings.upright import lay_deck_with_hole
from roof3d.details.site import DetailSite, close_build, open_build, slope_words
from roof3d.layout.joint import Given

_STRIPS = ("flashing-ply", "flashing-cap", "termination-bar", "counterflashing")
_ROLES = ("base", "ply", "cap")
_BEAD, _MOUTH = 0.25 * INCH, 0.375 * INCH
"""Of the sealant over the metal in the groove: height, and depth from the face."""
_SEAM = 1.0 * INCH
"""Field and fold of a sheet are drawn as two solids that meet that far under the flashing."""
_AROUND = ((False, False), (True, False), (True, True), (False, True))
"""Corners of the brick, counterclockwise: to the right, to the back."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CurbLengths:
    """Lengths round a chimney on a membrane that neither the catalog nor the layout has.

    Attributes
    ----------
    run : Given
        Of roof shown on all sides.
    shown : Given
        Of chimney over its highest joint.
    reglet : Given
        Counterflashing into the brick.
    saddle_from : Given
        A wider chimney has a saddle behind it.
    """

    run: Given = Given(16.0 * INCH)
    shown: Given = Given(5.0 * INCH)
    reglet: Given = Given(1.0 * INCH)
    saddle_from: Given = Given(24.0 * INCH)


@dataclass(slots=True, eq=False, kw_only=True)
class _Curb:
    """A chimney being flashed."""

    site: DetailSite
    field: Field
    block: Block
    plumb: Plumb
    wrap: Wrap
    cant: float
    fold: float
    o: CurbLengths

    def station(self, right: bool, back: bool) -> Callable[[Floats], Floats]:  # noqa: FBT001
        """Return what puts a section, across and up from the foot of the brick, at a corner."""
        block, plumb = self.block, self.plumb
        u0 = block.right if right else block.left
        y0 = plumb.back if back else plumb.front

        def place(ring: Floats) -> Floats:
            out, up = -ring[:, 0], ring[:, 1]
            us = u0 + (out if right else -out)
            ys = y0 + (out if back else -out)
            rows = zip(us.tolist(), ys.tolist(), up.tolist(), strict=True)
            return np.array([plumb.point(u, y, plumb.roof(y) + z) for u, y, z in rows])

        return place

    def body(self, reach: tuple[float, float], thick: float) -> Body:
        """Lay what goes all the way round, mitred at the corners."""
        ring = self.wrap.lay(reach, thick)
        return swept(ring, [self.station(*corner) for corner in _AROUND], closed=True)

    def plan(self, out: float) -> shapely.Polygon:
        """Return the brick and a band round it, in (u, s)."""
        return self.block.plan.buffer(out, join_style="mitre")


def build_membrane_chimney(site: DetailSite, lengths: CurbLengths | None = None) -> Detail:
    """Build the layers round a chimney on a membrane.

    Raises
    ------
    LayoutError
        Where it stands on several planes or askew to the fall, or its plane is not laid out.
    """
    o = lengths or CurbLengths()
    plane = site.roof.plane(site.place.planes[0])
    frame, corners = chimney_corners(site)
    low, high = corners.min(axis=0), corners.max(axis=0)
    run, width = o.run.metres, float(high[0] - low[0])
    saddle = width / 2.0 if width > o.saddle_from.metres and plane.slope > 0.0 else 0.0
    x, y, z = frame.point(0.0, float(high[1]) + 2.0 * INCH, 0.0)
    room = float(high[1]) + room_on(plane, (x, y, z), frame.far)
    size = (
        width + 2.0 * run,
        -float(low[1]) + run,
        min(float(high[1]) + run + 1.3 * saddle, room),
    )
    work = open_build(site, frame, size)
    field = open_field(site, work, plane.id, None)
    block = Block(work, float(low[0]), float(low[1]), float(high[0]), float(high[1]))
    strips = {name: site.strip(plane.id, name) for name in ("cant", *_STRIPS)}
    found = {name: rule for name, rule in strips.items() if rule is not None}
    cant = site.catalog.material(found["cant"].material).width if "cant" in found else 0.0
    plumb = Plumb(block)
    # The seam of what is folded lies under the flashing.
    outer = [-_reach(site, found[n])[0] for n in _STRIPS[:2] if n in found]
    fold = max([cant + 2.0 * INCH, *outer]) - _SEAM
    curb = _Curb(
        site=site,
        field=field,
        block=block,
        plumb=plumb,
        wrap=_open(site, field, found, cant, fold),
        cant=cant,
        fold=fold,
        o=o,
    )
    deck = field.layers["deck"].material
    depth = work.catalog.material(deck).thickness
    layers = [lay_deck_with_hole(work, deck, block.open_from(-depth, 0.0), "chimney")]
    brick = _brick(curb, found.get("counterflashing"), depth + INCH)
    work.solid("chimney.1", "Chimney", PieceKind.WALL, 1, "", brick)
    if cant:
        layers.append(_lay_cant(curb, len(layers) + 1))
    for role in _ROLES:
        if role in field.layers:
            layers.append(_lay_field(curb, len(layers) + 1, role))
    layers += _lay_strips(curb, len(layers) + 1, found, saddle=bool(saddle))
    return close_build(
        site,
        work,
        name="Chimney through a membrane",
        summary=slope_words(plane.slope, site.units),
        layers=layers,
        notes=_notes(curb, saddle=bool(saddle)),
        near=f"{plane.id}, below the middle",
        far=f"{plane.id}, above it",
    )


def _brick(curb: _Curb, rule: StripRule | None, below: float) -> list[Body]:
    """Return the chimney, raked out all round where the counterflashing goes into it."""
    plumb, block, o = curb.plumb, curb.block, curb.o
    sides = (plumb.front, plumb.back)
    top = max(plumb.roof(y) for y in sides) + o.shown.metres

    def part(low: float, high: float, deep: float, *, level: bool = False) -> Body:
        front, back = plumb.front + deep, plumb.back - deep
        ring = [
            (front, plumb.roof(front) + low),
            (back, plumb.roof(back) + low),
            (back, high if level else plumb.roof(back) + high),
            (front, high if level else plumb.roof(front) + high),
        ]
        return plumb.along(ring, (block.left + deep, block.right - deep))

    if rule is None:
        return [part(-below, top, 0.0, level=True)]
    head = -rule.start.at(0.0, 0.0)
    foot = head - curb.block.work.thickness(rule.material)
    groove = head + _BEAD
    return [
        part(-below, foot, 0.0),
        part(foot, groove, o.reglet.metres),
        part(groove, top + head, 0.0, level=True),
    ]


def _seal(curb: _Curb, number: int, rule: StripRule) -> DetailLayer:
    """Fill the mouth of the groove over the metal."""
    work, head = curb.block.work, -rule.start.at(0.0, 0.0)
    ring = np.array([(0.0, head), (_MOUTH, head), (_MOUTH, head + _BEAD), (0.0, head + _BEAD)])
    body = swept(ring, [curb.station(*corner) for corner in _AROUND], closed=True)
    work.solid("sealant.1", "Sealant", PieceKind.BED, number, "roof-cement", [body])
    joint = work.thickness(rule.material) + _BEAD
    return reglet_words(work, number, (joint, curb.o.reglet.metres))


def _lay_strips(
    curb: _Curb, number: int, found: dict[str, StripRule], *, saddle: bool
) -> list[DetailLayer]:
    """Lay the flashing, the saddle over its rim, the bar, and the metal out of the brick."""
    layers: list[DetailLayer] = []
    for name in _STRIPS:
        if name in found:
            layers.append(_lay_strip(curb, number + len(layers), name, found[name]))
        if name == "flashing-cap" and saddle:
            out = -_reach(curb.site, found[name])[0] if name in found else curb.cant
            layers += _lay_saddle(curb, number + len(layers), out)
    if "counterflashing" in found:
        layers.append(_seal(curb, number + len(layers), found["counterflashing"]))
    return layers


def _reach(site: DetailSite, rule: StripRule) -> tuple[float, float]:
    made = site.catalog.material(rule.material)
    head = -rule.start.at(0.0, 0.0)
    return head - (rule.width or made.width), head


def _open(
    site: DetailSite, field: Field, strips: dict[str, StripRule], cant: float, fold: float
) -> Wrap:
    """Open the section: roof, cant, brick."""
    ends = [end for name in _STRIPS if name in strips for end in _reach(site, strips[name])]
    ends += [field.layers[r].reach_at(Border.HEADWALL) for r in _ROLES if r in field.layers]
    ends.append(-fold)
    far = min([*ends, -cant]) - 2.0 * INCH
    corner = [(0.0, (0.0, 0.0))]
    if cant:
        corner = [(-cant, (-cant, 0.0)), (cant, (0.0, cant))]
    top = max(ends) + 2.0 * INCH
    return open_wrap([(far, (far, 0.0)), *corner, (top, (0.0, top))], ends, ramp=1.0 * INCH)


def _lay_cant(curb: _Curb, number: int) -> DetailLayer:
    work, leg = curb.block.work, curb.cant
    made = work.catalog.material(curb.field.rule("cant").material)
    ring = np.array([(-leg, 0.0), (0.0, 0.0), (0.0, leg)])
    body = swept(ring, [curb.station(*corner) for corner in _AROUND], closed=True)
    rim = curb.plan(leg).difference(curb.block.plan)
    parts = split_at_line(list(shapely.get_parts(rim)), tol=work.tol)
    work.solid("cant.1", made.name, PieceKind.UNIT, number, made.id, [body], parts)
    return strip_words(
        curb.site, work, "cant", number, made, f"{work.text(leg)} out and up, mitred at corners"
    )


def _lay_field(curb: _Curb, number: int, role: str) -> DetailLayer:
    """Lay a layer of the field to the toe of the cant, and on over it and up the brick."""
    work, field = curb.block.work, curb.field
    rule, made = field.layers[role], field.material(role)
    up = rule.reach_at(Border.HEADWALL)
    out = curb.fold
    # Cut square to the deck it must clear what is folded up plumb.
    toe = curb.plan(out + INCH / 16.0 + 2.0 * work.thickness(made.id) * curb.block.slope)
    fold = curb.body((-out, up), work.thickness(made.id))
    lay_round(field, number, role, fold, hole=toe, stands=curb.block.plan)
    beyond = curb.wrap.cuts[1:] <= -out + work.tol.merge
    curb.wrap.ground[beyond] += work.thickness(made.id) / work.frame.near_normal[2]
    if role == "base" and rule.nailing is not None:
        clear = curb.plan(out)
        places = [p for p in field.nails(role).tolist() if not clear.contains(shapely.Point(p))]
        work.nails(
            "base.nails", "Capped nails", number, rule.nailing.fastener, [(u, s) for u, s in places]
        )
    size = (
        f"{work.least(up)} up the brick, laps {work.least(rule.side_lap or made.side_lap)}; cut "
        "at the corners, a gusset of ply in each cut"
    )
    return sheet_words(
        curb.site,
        work,
        number,
        role,
        size,
        mistake="Corners cut and left open: the gap runs down to the deck.",
        check="Probe each corner of the brick: no gap, a gusset under each cut.",
    )


def _lay_saddle(curb: _Curb, number: int, past: float) -> list[DetailLayer]:
    """Set a wedge behind the brick that parts the water, covered by a piece of cap."""
    work, block = curb.block.work, curb.block
    cap = curb.field.material("cap")
    thick = work.thickness(cap.id)
    wide = replace(block, left=block.left - curb.cant, right=block.right + curb.cant)
    out = past + INCH / 4.0
    behind = shapely.box(wide.left, block.head + out, wide.right, block.head + out + wide.width)
    base = max(work.stack.highest(face, behind) for face in Face)
    out += 2.0 * base * block.slope
    body, high, long = cricket_body(wide, base, out)
    start = block.head + out
    triangle = shapely.Polygon(
        [(wide.left, start), (wide.right, start), ((wide.left + wide.right) / 2.0, start + long)]
    )
    parts = split_at_line([triangle], tol=work.tol)
    work.solid("saddle.1", "Saddle", PieceKind.UNIT, number, "", [body], parts)
    plates = shell(wide, base, out, thick, 0.0)[:2]
    title = f"{cap.name} over the saddle"
    work.solid("saddle.cap", title, PieceKind.SHEET, number + 1, cap.id, plates, parts)
    source = curb.o.saddle_from.source
    saddle = DetailLayer(
        number=number,
        name="Saddle of taper",
        material="",
        size=f"{work.text(high)} high at the chimney, {work.text(long)} back, from the edge of "
        "the flashing",
        why="Parts the water behind the brick; else it stands there.",
        fastening="bedded on the top sheet; no nails",
        source=source,
        tool="saw, trowel, level",
        gear="gloves, knee pads",
        mistake="Left out behind a wide chimney: leaves and water lie there.",
        check="Pour a bucket behind the chimney: it runs off past both sides.",
    )
    cover = cap_words(
        curb.site,
        number + 1,
        "one piece over the saddle, its rim bonded to the field all round",
        mistake="Granules left under its rim: it does not stick.",
        check="Probe its rim all round once it is cold.",
    )
    return [saddle, replace(cover, name=f"{cap.name} over the saddle")]


def _lay_strip(curb: _Curb, number: int, name: str, rule: StripRule) -> DetailLayer:
    work = curb.block.work
    made = work.catalog.material(rule.material)
    reach = _reach(curb.site, rule)
    metal = name in {"termination-bar", "counterflashing"}
    thick = work.thickness(made.id)
    bodies = [curb.body(reach, thick)]
    if name == "counterflashing":
        bodies += _reglet(curb, reach[1], thick)
    out = max(-reach[0], 0.0)
    rim = curb.plan(max(out, INCH / 2.0)).difference(curb.block.plan)
    parts = split_at_line(list(shapely.get_parts(rim)), tol=work.tol)
    title = STRIP_WORDS[name].title
    kind = PieceKind.METAL if metal else PieceKind.SHEET
    work.solid(f"{name}.1", title, kind, number, made.id, bodies, parts)
    _measure(curb, number, name, reach, rule.source)
    low, high = (work.least(abs(end)) for end in reach)
    size = f"from {low} on the roof to {high} up" if reach[0] < 0.0 else f"{low} to {high} up"
    if name == "counterflashing":
        size += f", {work.least(curb.o.reglet.metres)} into the brick"
    said = strip_words(curb.site, work, name, number, made, size)
    if name == "counterflashing":
        return replace(said, fastening="lead wedges in the joints, sealant over them")
    return said


def _reglet(curb: _Curb, head: float, thick: float) -> list[Body]:
    """Let the head of the metal into the brick, in a groove that follows the roof."""
    deep = curb.o.reglet.metres
    high = curb.wrap.top(head - INCH / 2.0)
    ring = np.array([(-high, head - thick), (deep, head - thick), (deep, head), (-high, head)])
    if high <= 0.0:
        return []
    return [swept(ring, [curb.station(*corner) for corner in _AROUND], closed=True)]


def _measure(curb: _Curb, number: int, name: str, reach: tuple[float, float], source: str) -> None:
    work, plumb, block = curb.block.work, curb.plumb, curb.block
    if name in {"flashing-ply", "flashing-cap"}:
        length = -reach[0] - curb.cant
        ends = ((block.right + curb.cant, 0.0), (block.right - reach[0], 0.0))
        work.measure_between(
            f"{name}_out", number, *ends, f"{work.least(length)} past the cant", source
        )
    if name == "flashing-cap":
        u, y = block.right, plumb.front
        ends3 = (plumb.point(u, y, plumb.roof(y)), plumb.point(u, y, plumb.roof(y) + reach[1]))
        work.measure_upright("flashing_up", number, ends3, f"{work.least(reach[1])} up", source)


def _notes(curb: _Curb, *, saddle: bool) -> tuple[str, ...]:
    work = curb.block.work
    notes = [
        f"The counterflashing is fixed to the brick alone, so that the roof can move ({PRACTICE}).",
        f"Vertical laps of the flashing stay off the corners, which have gussets ({PRACTICE}).",
        (
            "Side laps of the field are left out here; no lap should lie within 12 in of a chimney "
            f"({PRACTICE})."
        ),
    ]
    if not saddle:
        wide = work.text(curb.o.saddle_from.metres)
        notes.append(f"Wider than {wide}, a chimney has a saddle behind it ({PRACTICE}).")
    return tuple(notes)
