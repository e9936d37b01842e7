"""A scupper through a parapet: a metal throat, its flange on the ply and under all that follows."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import shapely

from roof3d.catalog.laying import Border, StripRule
from roof3d.details.build_up import BuildUp
from roof3d.details.curbs.outlet_words import outlet_words
from roof3d.details.curbs.parapet_bench import flashing_foot, lay_roof
from roof3d.details.curbs.parapet_words import said
from roof3d.details.frame import Face
from roof3d.details.frames import frame_at_wall, room_on
from roof3d.details.membrane.sheets.quilt import Quilt, open_quilt
from roof3d.details.membrane.sheets.runs import Run, edges_of, lay_run, run_at
from roof3d.details.membrane.words import sheet_words
from roof3d.details.model import INCH, PRACTICE, Detail, DetailLayer, PieceKind
from roof3d.details.shapes.solids import Body, extruded
from roof3d.details.shingle.openings.upright import draw_thin
from roof3d.details.site import DetailSite, close_build, open_build, slope_words
from roof3d.layout.joint import Given
from roof3d.roof.model import Plane

_ROLES = ("base", "ply", "cap")
_BEAD = 0.5 * INCH
_APART = 4.0 * INCH
"""Nails of the flange where the catalog does not say."""
_LOOSE = INCH / 16.0
"""The throat stands that far off what it goes through."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ScupperLengths:
    """Lengths at a scupper that neither the catalog, the roof nor the layout has.

    Attributes
    ----------
    beside, run, above : Given
        Of wall shown beside it, of roof before it, of wall over it.
    flange : Given
        Of the box on ply and wall, all round.
    strip : Given
        Strip ply past the flange.
    past : Given
        The throat beyond the outside face.
    overflow, height : Given
        Sill of an overflow over the low point of the roof, and least height of its opening.
    """

    beside: Given = Given(14.0 * INCH)
    run: Given = Given(18.0 * INCH)
    above: Given = Given(8.0 * INCH)
    flange: Given = Given(4.0 * INCH)
    strip: Given = Given(3.0 * INCH)
    past: Given = Given(1.0 * INCH)
    overflow: Given = Given(2.0 * INCH, "IRC R903.4.1")
    height: Given = Given(4.0 * INCH, "IRC R903.4.1")


@dataclass(slots=True, eq=False, kw_only=True)
class _Scupper:
    """A scupper being built.

    Attributes
    ----------
    half, sill, head : float
        Of its clear opening: half its width, and from where to where up the wall.
    thick : float
        Of the wall.
    """

    site: DetailSite
    work: BuildUp
    plane: Plane
    runs: dict[str, Run]
    past: dict[str, float]
    half: float
    sill: float
    head: float
    thick: float
    o: ScupperLengths

    def opening(self, more: float) -> shapely.Polygon:
        """Return the opening in (u, s), larger by so much all round."""
        foot = max(self.sill - more, 0.0)
        return shapely.box(-self.half - more, foot, self.half + more, self.head + more)

    def flange(self, more: float) -> shapely.Polygon:
        """Return the flange in (u, s), down onto the roof, larger by so much."""
        wide = self.half + self.o.flange.metres + more
        return shapely.box(-wide, -self.o.flange.metres - more, wide, self.head + wide - self.half)


def build_scupper(site: DetailSite, lengths: ScupperLengths | None = None) -> Detail:
    """Build the layers at a scupper; the cant, which stops short of it, is left out."""
    o = lengths or ScupperLengths()
    site = draw_thin(site)
    c = _open(site, o)
    work, rules = c.work, site.layers(c.plane.id)
    layers = [_lay_wood(c, rules["deck"].material)]
    quilt = _quilt(c)
    throat = work.thickness("scupper-box") + _LOOSE
    for role in c.runs:
        if role != "cap":
            layers.append(_lay_field(c, quilt, len(layers) + 1, role, throat))
    layers += _lay_box(c, quilt, len(layers) + 1)
    if "cap" in c.runs:
        layers.append(_lay_field(c, quilt, len(layers) + 1, "cap", INCH / 4.0))
    for name in ("parapet-ply", "parapet-cap"):
        rule = site.strip(c.plane.id, name)
        if rule is not None:
            layers.append(_lay_flashing(c, quilt, len(layers) + 1, name, rule))
    layers.append(_lay_bead(c, quilt, len(layers) + 1))
    scupper = site.roof.scupper(site.place.opening)
    return close_build(
        site,
        work,
        name="Overflow scupper" if scupper.overflow else "Scupper",
        summary=slope_words(c.plane.slope, site.units),
        layers=layers,
        notes=_notes(c, overflow=scupper.overflow),
        far="parapet",
    )


def _open(site: DetailSite, o: ScupperLengths) -> _Scupper:
    scupper = site.roof.scupper(site.place.opening)
    edge, plane = site.roof.edge(scupper.edge), site.roof.plane(scupper.plane)
    thick = edge.parapet.thickness if edge.parapet else 8.0 * INCH
    start, end = np.array(edge.ends)
    way = (end - start) / np.linalg.norm(end - start)
    x, y, z = (start + scupper.along * way).tolist()
    frame = replace(frame_at_wall(edge.ends, plane), origin=(x, y, z))
    sill = max((scupper.bottom - z) / frame.far[2], 0.0)
    head = sill + scupper.height / frame.far[2]
    top = edge.parapet.top - z if edge.parapet else head + o.above.metres
    half = scupper.width / 2.0
    size = (
        2.0 * (half + o.beside.metres),
        min(o.run.metres, room_on(plane, frame.origin, frame.near)),
        min(head + o.above.metres, top),
    )
    work = open_build(site, frame, size, folded=True)
    rules = site.layers(plane.id)
    roles = [role for role in _ROLES if role in rules]
    return _Scupper(
        site=site,
        work=work,
        plane=plane,
        runs={role: run_at(site, work, plane.id, role) for role in roles},
        past={role: rules[role].reach_at(Border.HEADWALL) for role in roles},
        half=half,
        sill=sill,
        head=head,
        thick=thick,
        o=o,
    )


def _quilt(c: _Scupper) -> Quilt:
    us: list[float] = []
    ss: list[float] = []
    for role, run in c.runs.items():
        u, s = edges_of(run, c.past[role])
        us += u
        ss += s
    for more in (0.0, c.o.strip.metres):
        a, b, d, e = c.flange(more).bounds
        us, ss = [*us, a, d], [*ss, b, e]
    a, b, d, e = c.opening(0.0).bounds
    us, ss = [*us, a, d], [*ss, b, e]
    for name in ("parapet-ply", "parapet-cap"):
        rule = c.site.strip(c.plane.id, name)
        if rule is not None:
            ss.append(flashing_foot(rule))
    return open_quilt(c.work, us, ss, ramp=0.75 * INCH)


def _lay_wood(c: _Scupper, deck: str) -> DetailLayer:
    """Lay deck and wall, open for the throat."""
    work = c.work
    depth = lay_roof(work, deck)
    start, end = work.span
    top = work.size[2]
    out = work.thickness("scupper-box") + 2.0 * _LOOSE
    a, b, d, e = -c.half - out, c.sill - out, c.half + out, c.head + out
    rows = [(start, -6.0 * INCH, end, b), (start, b, a, e), (d, b, end, e), (start, e, end, top)]
    bodies = [_through(work, box, (0.0, -c.thick)) for box in rows if box[3] > box[1]]
    parts = [(Face.FAR, shapely.box(start, 0.0, end, top).difference(c.opening(out)))]
    parts = [(face, area) for face, area in parts if area.geom_type == "Polygon"]
    work.solid("wall.1", "Parapet wall", PieceKind.WALL, 1, "", bodies, parts)
    text = f"{work.text(c.sill)} up"
    u = c.half
    if c.sill > work.tol.merge:
        work.measure_between("sill", 1, (u, 0.0), (u, c.sill), text, "as the model says")
    high = work.text(c.head - c.sill)
    work.measure_between(
        "opening", 1, (u, c.sill), (u, c.head), f"{high} open", "as the model says"
    )
    size = (
        f"panels {work.text(depth)}; opening {work.text(2.0 * c.half)} by "
        f"{high}, its sill {text} here"
    )
    return outlet_words("wall", 1, deck, size, "")


def _through(work: BuildUp, box: tuple[float, float, float, float], h: tuple[float, float]) -> Body:
    """Return a box on the far face, between two heights off it."""
    a, b, d, e = box
    us, ss = np.array([(a, b), (d, b), (d, e), (a, e)]).T
    ring = work.frame.on_face(Face.FAR, us, ss, np.full(4, h[0]))
    x, y, z = ((h[1] - h[0]) * np.array(work.frame.far_normal)).tolist()
    return extruded([(p[0], p[1], p[2]) for p in ring.tolist()], (x, y, z))


def _lay_field(c: _Scupper, quilt: Quilt, number: int, role: str, clear: float) -> DetailLayer:
    """Lay one layer of the field up the wall, cut out at the opening."""
    work, run, past = c.work, c.runs[role], c.past[role]
    rule = c.site.layers(c.plane.id)[role]
    made = work.catalog.material(rule.material)
    lay_run(
        quilt,
        run,
        past,
        (role, made.name, number, made.id),
        nails=None,
        without=c.opening(clear),
    )
    size = (
        f"{work.least(past)} up the wall, side laps {work.least(run.lap)}; cut out at the opening"
    )
    return sheet_words(
        c.site,
        work,
        number,
        role,
        size,
        mistake="Stopped before the flange: its edge on the roof meets the water.",
        check="Probe before the sill: the cap sticks to the flange over its whole width.",
    )


def _lay_box(c: _Scupper, quilt: Quilt, number: int) -> list[DetailLayer]:
    """Lay the bed, the box with its flange, and the strip of ply over its rim."""
    work, words = c.work, []
    rule, strip = (c.site.strip(c.plane.id, n) for n in ("scupper-box", "scupper-ply"))
    if rule is None:
        return []
    made = work.catalog.material(rule.material)
    thick = work.thickness(made.id)
    if rule.bed:
        cement = work.catalog.material(rule.bed)
        area = c.flange(-INCH / 4.0).difference(c.opening(thick + _LOOSE))
        quilt.lay("bed.1", "Cement bed", PieceKind.BED, number, cement.id, area)
        text = f"{work.text(cement.thickness)} thick at most, under all of the flange"
        words.append(outlet_words("bed", number, cement.id, text, rule.source))
        number += 1
    area = c.flange(0.0).difference(c.opening(0.0))
    quilt.lay("box.1", made.name, PieceKind.UNIT, number, made.id, area, more=_throat(c, thick))
    _nail_flange(c, number, rule)
    flange = c.o.flange.metres
    u = c.half + flange
    ends = ((c.half, c.head), (u, c.head))
    work.measure_between("flange", number, *ends, f"flange {work.least(flange)}", c.o.flange.source)
    size = f"flange {work.least(flange)} all round, primed on both faces"
    apart = (rule.nailing.lap_spacing if rule.nailing else 0.0) or _APART
    words.append(
        outlet_words("scupper-box", number, made.id, size, rule.source, apart=work.text(apart))
    )
    if strip is not None:
        over = work.catalog.material(strip.material)
        past = c.o.strip.metres
        area = c.flange(past).difference(c.opening(INCH))
        quilt.lay("strip.1", "Strip ply", PieceKind.SHEET, number + 1, over.id, area)
        text = f"{work.least(past)} past the flange on all sides"
        words.append(outlet_words("scupper-ply", number + 1, over.id, text, strip.source))
    return words


def _throat(c: _Scupper, thick: float) -> list[Body]:
    """Return floor, sides and head of the throat, from the flange to beyond the outside."""
    work, deep = c.work, -c.thick - c.o.past.metres
    a, b, d, e = c.opening(0.0).bounds
    low, high = (work.stack.height_at(Face.FAR, 0.0, s) for s in (b - _LOOSE, e + _LOOSE))
    foot = min(low, high)
    rows = [
        ((a - thick, b - thick, d + thick, b), foot),
        ((a - thick, e, d + thick, e + thick), foot),
        ((a - thick, b, a, e), foot),
        ((d, b, d + thick, e), foot),
    ]
    bodies = [_through(work, box, (top, deep)) for box, top in rows]
    # In front the rim of the flange is inked: one line, not two beside each other.
    return [replace(body, rims=body.rims[1:]) for body in bodies]


def _nail_flange(c: _Scupper, number: int, rule: StripRule) -> None:
    """Nail the flange round its rim, on the roof and on the wall."""
    nails = rule.nailing
    if nails is None:
        return
    a, b, d, e = c.flange(-0.75 * INCH).bounds
    step = nails.lap_spacing or _APART
    places = [
        (a + (k + 0.5) * (d - a) / (n := max(int((d - a) / step), 1)), s)
        for s in (b, e)
        for k in range(max(int((d - a) / step), 1))
    ]
    del n
    places += [
        (u, INCH + (k + 0.5) * (e - INCH) / max(int(e / step), 1))
        for u in (a, d)
        for k in range(max(int(e / step), 1))
    ]
    near = [place for place in places if place[1] < 0.0]
    far = [place for place in places if place[1] > 0.0]
    title = "Nails of the flange"
    c.work.nails("box.nails", title, number, nails.fastener, near)
    c.work.nails("box.nails_up", title, number, nails.fastener, far)


def _lay_flashing(
    c: _Scupper, quilt: Quilt, number: int, name: str, rule: StripRule
) -> DetailLayer:
    """Lay a sheet up the wall, cut out at the opening."""
    work = c.work
    made = work.catalog.material(rule.material)
    foot = flashing_foot(rule)
    start, end = work.span
    area = shapely.box(start, foot, end, work.size[2]).difference(c.opening(INCH / 4.0))
    quilt.lay(f"{name}.1", made.name, PieceKind.SHEET, number, made.id, area)
    size = f"from {work.least(-foot)} on the roof up the wall, cut out at the throat"
    return said(name, number, made.id, size, work, rule=rule)


def _lay_bead(c: _Scupper, quilt: Quilt, number: int) -> DetailLayer:
    """Lay a bead where the sheets end round the throat."""
    work = c.work
    below = shapely.box(-work.size[0], -work.size[1], work.size[0], c.sill + _BEAD)
    area = c.opening(INCH / 4.0 + _BEAD).difference(c.opening(INCH / 4.0)).difference(below)
    quilt.lay("bead.1", "Sealant", PieceKind.BED, number, "roof-cement", area)
    return outlet_words(
        "throat", number, "roof-cement", f"a bead {work.text(_BEAD)} wide, none on the sill", ""
    )


def _notes(c: _Scupper, *, overflow: bool) -> tuple[str, ...]:
    notes = [
        f"The cant stops short of the box on both sides; it is left out here ({PRACTICE}).",
        f"From the roof into the throat each piece lies over the one before it ({PRACTICE}).",
    ]
    if overflow:
        notes.insert(
            0,
            f"An overflow lies {c.work.text(c.o.overflow.metres)} over the low point, its opening "
            f"at least {c.work.least(c.o.height.metres)} high ({c.o.overflow.source}).",
        )
    return tuple(notes)
