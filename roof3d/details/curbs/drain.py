"""A drain through a membrane: sheets down into the sump, lead on the ply, a ring over all."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
import shapely

from roof3d.catalog.laying import StripRule
from roof3d.details.curbs.outlet_words import lap_note, outlet_words
from roof3d.details.curbs.wrap import Reach, Wrap, lay_round, open_wrap, swept
from roof3d.details.frame import Face, Floats
from roof3d.details.frames import frame_on_plane, room_on
from roof3d.details.membrane.words import sheet_words
from roof3d.details.model import INCH, PRACTICE, Detail, DetailLayer, PieceKind
from roof3d.details.shapes.fit import split_at_line
from roof3d.details.shapes.solids import Body, extruded
from roof3d.details.shingle.field import Field, open_field
from roof3d.details.shingle.openings.upright import draw_thin, lay_deck_with_hole, point3
from roof3d.details.site import DetailSite, close_build, open_build, slope_words
from roof3d.layout.joint import Given
from roof3d.layout.outlets import LAP_FREE

_SIDES = 24
_SEAM = 2.0 * INCH
"""Field and fold of a sheet are drawn as two solids that meet that far beyond sump and strips."""
_STRIPS = ("drain-lead", "drain-ply")
_MOST = (1.5, INCH / 10.0)
"""Sheets are drawn no thicker than that, or lead and strip would stand over the sump as a dam."""
_RING = 0.5 * INCH
"""Height of the ring."""


@dataclass(frozen=True, slots=True, kw_only=True)
class DrainLengths:
    """Lengths at a drain that neither the catalog, the roof nor the layout has.

    Attributes
    ----------
    run : Given
        Of roof shown round the sump.
    sump, drop : Given
        Side of the square sunk round it where the model says none; how far it is sunk.
    rim : Given
        Width of the bowl's flange, under the sheets.
    inside : Given
        Sheets end that far inside the ring.
    ring : Given
        Width of the clamping ring.
    strainer : Given
        Height of the strainer over the ring.
    nail_clear : Given
        No nails of the base nearer than that to the bowl.
    overflow : Given
        Inlet of an overflow over the low point.
    """

    run: Given = Given(8.0 * INCH)
    sump: Given = Given(36.0 * INCH)
    drop: Given = Given(1.0 * INCH)
    rim: Given = Given(3.0 * INCH)
    inside: Given = Given(0.5 * INCH)
    ring: Given = Given(2.0 * INCH)
    strainer: Given = Given(4.0 * INCH)
    nail_clear: Given = Given(12.0 * INCH)
    overflow: Given = Given(2.0 * INCH, "IRC R903.4.1")


@dataclass(slots=True, eq=False, kw_only=True)
class _Drain:
    """A drain being built; the section runs outward from the bowl's inside."""

    site: DetailSite
    field: Field
    bowl: float
    half: float
    seam: float
    wrap: Wrap
    o: DrainLengths

    def station(self, turn: float) -> Callable[[Floats], Floats]:
        """Return what puts a section on a ray; round at the bowl, square from the lead on."""
        frame = self.field.work.frame
        c, s = math.cos(turn), math.sin(turn)
        square = 1.0 / max(abs(c), abs(s))
        inner = self.bowl + max(self.o.ring.metres, self.o.rim.metres)
        outer = max(inner + 2.0 * INCH, self.bowl + 8.0 * INCH)

        def place(ring: Floats) -> Floats:
            share = np.clip((ring[:, 0] - inner) / (outer - inner), 0.0, 1.0)
            away = ring[:, 0] * (1.0 - share + share * square)
            return frame.on_face(Face.NEAR, away * c, away * s, ring[:, 1])

        return place

    def body(self, ring: Floats) -> Body:
        """Return an outline carried all round."""
        turns = [2.0 * math.pi * k / _SIDES for k in range(_SIDES)]
        return swept(ring, [self.station(turn) for turn in turns], closed=True)

    def edge(self, at: float) -> Floats:
        """Return the line all round on top of what is laid so far, as inked where it bends."""
        high = self.wrap.top(at - INCH / 8.0)
        place = self.wrap.point(at, high)[None, :]
        turns = [2.0 * math.pi * (k % _SIDES) / _SIDES for k in range(_SIDES + 1)]
        return np.concatenate([self.station(turn)(place) for turn in turns])

    def box(self, half: float) -> shapely.Polygon:
        """Return a square round the middle, in (u, s)."""
        return shapely.box(-half, -half, half, half)

    def add(self, names: tuple[str, str, PieceKind, int, str], ring: Floats, reach: Reach) -> None:
        """Add a body all round, with what it covers of the roof."""
        name, title, kind, number, material = names
        work = self.field.work
        rim = self.box(reach[1]).difference(shapely.Point(0.0, 0.0).buffer(max(reach[0], INCH)))
        parts = split_at_line(list(shapely.get_parts(rim)), tol=work.tol)
        work.solid(name, title, kind, number, material, [self.body(ring)], parts)


def build_drain(site: DetailSite, lengths: DrainLengths | None = None) -> Detail:
    """Build the layers round a drain.

    Raises
    ------
    LayoutError
        Where its plane is not laid out.
    """
    o = lengths or DrainLengths()
    site = draw_thin(site, _MOST)
    plane = site.roof.plane(site.place.planes[0])
    opening = next(one for one in site.roof.openings if one.id == site.place.opening)
    ring = np.array(opening.outline)
    x, y = ((ring.min(axis=0) + ring.max(axis=0)) / 2.0)[:2].tolist()
    z = float(plane.gradient[0] * x + plane.gradient[1] * y + plane.offset)
    frame = frame_on_plane((x, y, z), plane)
    half = (opening.sump or o.sump.metres) / 2.0
    bowl = float(np.ptp(ring[:, 0])) / 2.0
    wanted = half + o.run.metres
    # From outside the hole that the bowl makes in its plane.
    out = bowl + 2.0 * INCH
    starts = [np.array(frame.origin) + out * np.array(way) for way in (frame.near, frame.far)]
    rooms = [
        out + room_on(plane, point3(start), way)
        for start, way in zip(starts, (frame.near, frame.far), strict=True)
    ]
    near, far = (min(wanted, max(room, half + 2.0 * _SEAM)) for room in rooms)
    work = open_build(site, frame, (2.0 * wanted, near, far))
    field = open_field(site, work, plane.id, None)
    # Strips end where the cut-out does, less the seam.
    wide = max((half, *_strip_ends(site, field)))
    seam = min(wide, near - 2.0 * _SEAM, far - 2.0 * _SEAM) + _SEAM
    wrap = _open(bowl, half, seam, _strip_ends(site, field), o)
    d = _Drain(site=site, field=field, bowl=bowl, half=half, seam=seam, wrap=wrap, o=o)
    layers = [_lay_deck(d), _lay_bowl(d, 2)]
    for role in ("base", "ply"):
        if role in field.layers:
            layers.append(_lay_sheet(d, len(layers) + 1, role))
    for name in _STRIPS:
        rule = site.strip(plane.id, name)
        if rule is not None:
            layers += _lay_flange(d, len(layers) + 1, name, rule)
    layers.append(_lay_sheet(d, len(layers) + 1, "cap"))
    layers.append(_lay_ring(d, len(layers) + 1))
    return close_build(
        site,
        work,
        name="Overflow drain" if opening.overflow else "Roof drain",
        summary=slope_words(plane.slope, site.units),
        layers=layers,
        notes=_notes(d, sill=opening.sill, overflow=opening.overflow),
        near=f"{plane.id}, below the middle",
        far=f"{plane.id}, above it",
    )


def _strip_ends(site: DetailSite, field: Field) -> list[float]:
    """How far from the middle lead and strip ply end, as the catalog has them."""
    rules = [site.strip(field.plane.plane.id, name) for name in _STRIPS]
    return [_width_of(field, rule) / 2.0 for rule in rules if rule is not None]


def _width_of(field: Field, rule: StripRule) -> float:
    return rule.width or field.work.catalog.material(rule.material).width


def _open(bowl: float, half: float, seam: float, ends: list[float], o: DrainLengths) -> Wrap:
    """Open the section from inside the ring outward: bowl flange, sump, roof."""
    drop, rim = o.drop.metres, bowl + o.rim.metres
    bends = [
        (bowl - o.inside.metres, (bowl - o.inside.metres, -drop)),
        (rim, (rim, -drop)),
        (half, (half, 0.0)),
        (seam, (seam, 0.0)),
    ]
    stops = [bowl + o.ring.metres, *(min(end, seam - INCH) for end in ends)]
    return open_wrap(bends, stops, ramp=1.0 * INCH)


def _lay_deck(d: _Drain) -> DetailLayer:
    """Lay the deck, sunk to the bowl."""
    work, deck = d.field.work, d.field.layers["deck"].material
    depth = work.catalog.material(deck).thickness
    words = lay_deck_with_hole(work, deck, d.box(d.half), "drain")
    bowl, drop = d.bowl + INCH / 4.0, d.o.drop.metres
    rim = d.bowl + d.o.rim.metres
    at = d.wrap.cuts[(d.wrap.cuts >= rim) & (d.wrap.cuts <= d.half)]
    top = np.array([d.wrap.point(float(t), 0.0) for t in at])
    ring = np.concatenate((top, (top - np.array((0.0, depth)))[::-1]))
    d.add(("deck.sump", "Sump", PieceKind.DECK, 1, deck), ring, (bowl, d.half))
    ends = ((-d.half, -d.half), (-d.half, d.half))
    text = f"sump {work.text(2.0 * d.half)}"
    modelled = any(one.id == d.site.place.opening and one.sump for one in d.site.roof.openings)
    source = "as the model says" if modelled else d.o.sump.source
    work.measure_between("sump", 1, *ends, text, source, face=Face.NEAR)
    size = (
        f"a sump {work.text(2.0 * d.half)} square falls {work.text(drop)} to the bowl; wood under "
        "its rim"
    )
    return outlet_words("sump", 1, deck, size, words.source)


def _lay_bowl(d: _Drain, number: int) -> DetailLayer:
    """Set the bowl with its flange and its outlet."""
    work, o = d.field.work, d.o
    drop, rim, wall = o.drop.metres, d.bowl + o.rim.metres, 0.25 * INCH
    flange = np.array(
        [
            (d.bowl, -drop - wall),
            (rim, -drop - wall),
            (rim, -drop),
            (d.bowl - o.inside.metres - wall, -drop),
            (d.bowl - o.inside.metres - wall, -drop - 6.0 * INCH),
            (d.bowl, -drop - 6.0 * INCH),
        ]
    )
    work.solid("bowl.1", "Bowl of the drain", PieceKind.UNIT, number, "", [d.body(flange)])
    return outlet_words(
        "bowl", number, "", f"{work.text(2.0 * d.bowl)} wide, its flange flush with the sump", ""
    )


def _lay_sheet(d: _Drain, number: int, role: str) -> DetailLayer:
    """Lay a layer of the field down into the sump and under the ring."""
    work, field = d.field.work, d.field
    rule, made = field.layers[role], field.material(role)
    thick = work.thickness(made.id)
    inner = float(d.wrap.cuts[0])
    fold = d.body(d.wrap.lay((inner, d.seam), thick))
    fold = replace(fold, rims=(*fold.rims, d.edge(d.half)))
    bowl = shapely.Point(0.0, 0.0).buffer(inner)
    lay_round(field, number, role, fold, hole=d.box(d.seam), stands=bowl)
    if role == "base" and rule.nailing is not None:
        clear = shapely.Point(0.0, 0.0).buffer(d.bowl + d.o.nail_clear.metres)
        keep = clear.union(d.box(d.seam))
        places = [
            (u, s) for u, s in field.nails(role).tolist() if not keep.contains(shapely.Point(u, s))
        ]
        work.nails("base.nails", "Capped nails", number, rule.nailing.fastener, places)
    size = f"through the sump to {work.text(d.o.inside.metres)} inside the ring, cut round"
    return sheet_words(
        d.site,
        work,
        number,
        role,
        size,
        mistake="Stopped at the ring: the clamp then bites on lead alone.",
        check="Look down the bowl: the edge of every sheet shows inside the ring.",
    )


def _lay_flange(d: _Drain, number: int, name: str, rule: StripRule) -> list[DetailLayer]:
    """Lay the lead in its bed, or the strip of ply over its rim."""
    work, words = d.field.work, []
    made = work.catalog.material(rule.material)
    full = _width_of(d.field, rule)
    width = min(full, 2.0 * (d.seam - INCH))
    inner = float(d.wrap.cuts[0])
    lead = name == "drain-lead"
    if rule.bed:
        cement = work.catalog.material(rule.bed)
        reach = (d.bowl + d.o.ring.metres, width / 2.0)
        ring = d.wrap.lay(reach, work.thickness(cement.id))
        d.add(("bed.1", "Mastic bed", PieceKind.BED, number, cement.id), ring, reach)
        text = f"{work.text(cement.thickness)} thick at most, under all of the lead"
        words.append(outlet_words("drain-bed", number, cement.id, text, rule.source))
        number += 1
    ring = d.wrap.lay((inner, width / 2.0), work.thickness(made.id))
    kind = PieceKind.METAL if lead else PieceKind.SHEET
    title = "Lead of the drain" if lead else "Strip ply"
    d.add((f"{name}.1", title, kind, number, made.id), ring, (inner, width / 2.0))
    size = f"{work.least(full)} square"
    if width < full - work.tol.merge:
        # The wall is nearer than the strip is wide.
        size += ", drawn short: it turns up the wall beside it"
    else:
        ends = ((width / 2.0, -width / 2.0), (width / 2.0, width / 2.0))
        source = made.source_of("width") if lead else rule.source
        work.measure_between(f"{name}_wide", number, *ends, size, source)
    if lead:
        size += ", primed on both faces"
    words.append(outlet_words(name, number, made.id, size, rule.source))
    return words


def _lay_ring(d: _Drain, number: int) -> DetailLayer:
    """Clamp the ring down, with its bolts and the strainer."""
    work, o = d.field.work, d.o
    base, high, up = d.wrap.top(d.bowl + INCH) - o.drop.metres, _RING, o.strainer.metres
    outer = d.bowl + o.ring.metres
    top = base + high
    bodies = [d.body(_oblong((d.bowl, outer), (base, top)))]
    # One of the bars stands in the section, and one of the bolts.
    for count, away, half, tall in ((8, 0.4, 0.25, up), (6, 1.4, 0.2, 0.4 * INCH)):
        turns = [math.pi * (0.5 + 2.0 * k / count) for k in range(count)]
        bodies += [_post(d, turn, d.bowl + away * INCH, half * INCH, (top, tall)) for turn in turns]
    bodies.append(d.body(_oblong((INCH, d.bowl + INCH), (top + up, top + up + high))))
    rule = d.site.strip(d.field.plane.plane.id, "drain-ring")
    middle = shapely.Point(0.0, 0.0)
    parts = split_at_line([middle.buffer(outer).difference(middle.buffer(d.bowl))], tol=work.tol)
    material = rule.material if rule else ""
    work.solid("ring.1", "Ring and strainer", PieceKind.UNIT, number, "", bodies, parts)
    size = f"ring {work.text(o.ring.metres)} wide, six bolts; strainer {work.text(up)} high"
    return outlet_words("ring", number, material, size, rule.source if rule else "")


def _oblong(across: Reach, up: Reach) -> Floats:
    (a, b), (c, d) = across, up
    return np.array([(a, c), (b, c), (b, d), (a, d)])


def _post(d: _Drain, turn: float, away: float, half: float, stands: Reach) -> Body:
    """Return a square post, so thick either way, on a ray; ``stands``: its foot and height."""
    frame = d.field.work.frame
    u, s = away * math.cos(turn), away * math.sin(turn)
    us = np.array((u - half, u + half, u + half, u - half))
    ss = np.array((s - half, s - half, s + half, s + half))
    foot = frame.on_face(Face.NEAR, us, ss, np.full(4, stands[0]))
    up = stands[1] * np.array(frame.near_normal)
    return extruded([point3(p) for p in foot], point3(up))


def _notes(d: _Drain, *, sill: float, overflow: bool) -> tuple[str, ...]:
    work, low = d.field.work, d.o.overflow
    notes = [
        f"{lap_note(d.site, 'drain', LAP_FREE)} Laps are left out here.",
        (
            "The sump is filled as a test, its outlet plugged, if the frame bears the weight "
            f"({PRACTICE})."
        ),
    ]
    if overflow:
        notes.insert(0, f"Its inlet stands {work.text(sill)} over the low point ({low.source}).")
    else:
        notes.append(
            f"Each drain has an overflow beside it, {work.text(low.metres)} over the low point "
            f"({low.source})."
        )
    return tuple(notes)
