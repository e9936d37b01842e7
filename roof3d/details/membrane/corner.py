"""Outside corner of a membrane: the base sheet folded over eave and rake, metal and cap over it."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import shapely

from roof3d.catalog.laying import Border
from roof3d.details.build_up import BuildUp
from roof3d.details.deck import lay_deck_to_upright
from roof3d.details.frames import room_on
from roof3d.details.membrane.edge_metal import EdgeMetal, edge_metal
from roof3d.details.membrane.options import MembraneOptions
from roof3d.details.membrane.sheets.quilt import Quilt, open_quilt
from roof3d.details.membrane.sheets.runs import Run, edges_of, run_at
from roof3d.details.membrane.sheets.three_faces import Corner, corner_bend, find_corner, width_at
from roof3d.details.membrane.words import base_words, bed_words, cap_words, ply_words
from roof3d.details.model import INCH, PRACTICE, Detail, DetailLayer, PieceKind
from roof3d.details.rows import describe
from roof3d.details.shapes.solids import extruded
from roof3d.details.site import DetailSite, close_build, open_build, slope_words

_BOARD = 0.75 * INCH
_DAB = 0.75 * INCH
"""Of the dab of cement between two metals, from the edges of where they lap."""


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class _Fold:
    """A corner being built: ``past`` tells by role how far past eave and rake a layer runs."""

    site: DetailSite
    work: BuildUp
    corner: Corner
    quilt: Quilt
    runs: dict[str, Run]
    past: dict[str, tuple[float, float]]

    def box(self, out: tuple[float, float], s: tuple[float, float]) -> shapely.Polygon:
        """Return a rectangle; ``out`` is measured from the rake, outward above 0."""
        us = sorted(self.corner.at + self.corner.way * end for end in out)
        return shapely.box(us[0], s[0], us[1], s[1])


def build_membrane_corner(site: DetailSite) -> Detail:
    """Build the outside corner where eave and rake of a membrane meet.

    Parameters
    ----------
    site : DetailSite
        Without a base sheet nothing is folded; metal and top sheet are drawn all the same.
    """
    o = MembraneOptions()
    width = min(o.corner_width.metres, width_at(site))
    corner = find_corner(site, width)
    run = min(o.corner_run.metres, room_on(corner.plane, corner.frame.origin, corner.frame.near))
    work = open_build(site, corner.frame, (width, run, o.board.metres), folded=True)
    rules = site.layers(corner.plane.id)
    metal = edge_metal(site, work, corner.plane.id, o)
    f = _open(site, work, corner, metal, o)
    layers = [lay_deck_to_upright(work, rules["deck"].material, "fascia")]
    _lay_board(f, rules["deck"].material, o)
    if "base" in rules:
        layers += _lay_base(f, len(layers) + 1)
        if "ply" in rules:
            layers.append(_lay_patch(f, len(layers) + 1, o))
    if "ply" in rules:
        layers.append(_lay_ply(f, len(layers) + 1))
    if metal is not None:
        layers += _lay_metal(f, metal, len(layers) + 1)
    layers.append(_lay_cap(f, len(layers) + 1))
    return close_build(
        site,
        work,
        name="Outside corner of a membrane",
        summary=slope_words(corner.plane.slope, site.units),
        layers=layers,
        notes=_notes(f, metal),
        far="fascia",
    )


def _open(
    site: DetailSite, work: BuildUp, corner: Corner, metal: EdgeMetal | None, o: MembraneOptions
) -> _Fold:
    rules = site.layers(corner.plane.id)
    roles: list[str] = [role for role in ("base", "ply", "cap") if role in rules]
    runs = {role: run_at(site, work, corner.plane.id, role) for role in roles}
    past = {
        role: (rules[role].reach_at(Border.EAVE), rules[role].reach_at(Border.RAKE))
        for role in roles
    }
    outs, ss = [0.0, -o.patch.metres], [-o.patch.metres]
    us: list[float] = []
    for role, run in runs.items():
        u, s = edges_of(run, past[role][0])
        us += u
        ss += s
        outs.append(past[role][1])
        ss.append(-past[role][1])
    if metal is not None:
        _, s = metal.edges
        ss += s
        outs += s
    us += [corner.at + corner.way * out for out in outs]
    ends = (-corner.at, corner.at + corner.way * o.board.metres)
    quilt = open_quilt(
        work, us, ss, bend=corner_bend(corner), span=(min(ends), max(ends)), ramp=0.5 * INCH
    )
    return _Fold(site=site, work=work, corner=corner, quilt=quilt, runs=runs, past=past)


def _lay_board(f: _Fold, material: str, o: MembraneOptions) -> None:
    """Lay the barge board under the deck's edge, behind the face of the corner."""
    work, corner = f.work, f.corner
    depth = work.catalog.material(material).thickness
    ends = (-work.size[1], -_BOARD - INCH / 8.0)
    top, low = -depth - INCH / 8.0, -o.board.metres
    frame = work.frame
    ring = []
    for s, drop in ((ends[0], -top), (ends[1], -top), (ends[1], -low), (ends[0], -low)):
        point = np.array(frame.point(corner.at, s, 0.0)) + drop * np.array(frame.far)
        x, y, z = point.tolist()
        ring.append((x, y, z))
    x, y, z = (-corner.way * _BOARD * np.array(frame.along)).tolist()
    body = extruded(ring, (x, y, z))
    work.solid("deck.board", "Barge board", PieceKind.FRAMING, 1, "", [body])


def _lay_role(f: _Fold, number: int, role: str) -> None:
    """Lay a layer's courses as far past eave and rake as it runs, but for the corner's quarter."""
    work, run = f.work, f.runs[role]
    eave, rake = f.past[role]
    made = work.catalog.material(f.site.layers(f.corner.plane.id)[role].material)
    far = work.size[0] + 1.0
    region = f.box((-far, min(rake, 0.0)), (-work.size[1], eave))
    count = 0
    for low, high in run.reaches:
        band = (
            shapely.box(low, -work.size[1], high, far)
            if run.square
            else shapely.box(-far, low, far, high)
        )
        part = shapely.intersection(band, region)
        if part.geom_type == "Polygon" and part.area > work.tol.merge:
            title = f"{made.name} {count + 1}"
            name = f"{role}.{count + 1}"
            count += f.quilt.lay(name, title, PieceKind.SHEET, number, made.id, part)


def _lay_base(f: _Fold, number: int) -> list[DetailLayer]:
    """Lay the base with its flap at the eave, the ear round the arris, the flap of the rake.

    The flap of the rake is one with the sheet; it is a step of its own, so that the ear is seen.
    """
    work = f.work
    rule = f.site.layers(f.corner.plane.id)["base"]
    made = work.catalog.material(rule.material)
    eave, rake = f.past["base"]
    _lay_role(f, number, "base")
    # On the rake's board the ear lies where the flap of the rake comes down over it.
    ear = f.box((0.0, eave), (-rake, 0.0))
    f.quilt.lay("base.ear", "Ear of the eave flap", PieceKind.SHEET, number, made.id, ear)
    flap = f.box((0.0, rake), (-work.size[1], 0.0))
    f.quilt.lay("base.rake", "Flap of the rake", PieceKind.SHEET, number + 1, made.id, flap)
    words = f"{work.least(eave)} down"
    side = -f.corner.at * 0.6
    work.measure_between("eave_flap", number, (side, 0.0), (side, eave), words, rule.source)
    layer = base_words(
        work, number, made, f"turned {work.least(eave)} down at eave and rake", rule.nailing
    )
    folded = replace(
        layer,
        name=f"{made.name}, eave flap down",
        size=f"{layer.size}; ear {work.least(eave)} by {work.least(rake)}",
        why="Takes the nails. The eave flap comes first, its ear round the corner.",
        fastening=f"{layer.fastening}; none near the corner",
        source=rule.source,
        tool="hook knife, cap nailer",
        mistake="Slit on the rake's line, or run past the point: a hole on top of the deck.",
        check="The slit along the eave's line stops just short of the corner; no wood in sight.",
    )
    over = replace(
        folded,
        number=number + 1,
        name="The same sheet, rake flap down",
        size=f"turned {work.least(rake)} down the barge board",
        why="Folded last, over the ear: the upper covers the lower.",
        fastening="capped nails through flap and ear",
        mistake="Ear cut off: a pinhole at the corner.",
        check="Feel round the corner: ear under flap, nothing stands off.",
    )
    return [folded, over]


def _lay_patch(f: _Fold, number: int, o: MembraneOptions) -> DetailLayer:
    """Lay a patch of ply over the point of the corner, its inner corner rounded."""
    work, size, radius = f.work, o.patch.metres, o.patch_round.metres
    made = work.catalog.material(f.site.layers(f.corner.plane.id)["ply"].material)
    square = f.box((-size, 0.0), (-size, 0.0))
    inner = f.box((-size, -size + radius), (-size, -size + radius))
    centre = shapely.Point(f.corner.at - f.corner.way * (size - radius), -size + radius)
    keep = shapely.intersection(inner, centre.buffer(radius, quad_segs=3))
    outline = shapely.union(shapely.difference(square, inner), keep).buffer(0.0)
    wings = shapely.union_all([outline, f.box((-size, 0.0), (0.0, f.past["base"][0]))])
    f.quilt.lay("patch.1", "Corner patch", PieceKind.SHEET, number, made.id, wings)
    wing = f.box((0.0, f.past["base"][1]), (-size, 0.0))
    f.quilt.lay("patch.2", "Corner patch, at the rake", PieceKind.SHEET, number, made.id, wing)
    s = -0.5 * size
    ends = sorted((f.corner.at, f.corner.at - f.corner.way * size))
    words = f"{work.text(size)} each way"
    work.measure_between("patch", number, (ends[0], s), (ends[1], s), words, o.patch.source)
    return DetailLayer(
        number=number,
        name="Corner patch of ply",
        material=made.id,
        size=f"{work.text(size)} each way on the deck, rounded, and down both boards",
        why="Covers the point where slit and folds meet.",
        fastening="its own adhesive, primed and rolled",
        source=o.patch.source,
        tool="shears, hand roller",
        gear="gloves, knee pads",
        mistake="Square corners: they peel.",
        check="Its corners are round and lie flat; the point cannot be felt.",
    )


def _lay_ply(f: _Fold, number: int) -> DetailLayer:
    rule = f.site.layers(f.corner.plane.id)["ply"]
    made = f.work.catalog.material(rule.material)
    _lay_role(f, number, "ply")
    return ply_words(number, made, "flush with eave and rake", primed=bool(rule.primer))


def _lay_metal(f: _Fold, metal: EdgeMetal, number: int) -> list[DetailLayer]:
    """Lay the bed, the metal of the eave, then that of the rake over it."""
    work, made, words = f.work, metal.made, []
    run, far = work.size[1], work.size[0] + 1.0
    if metal.bed is not None:
        cement = work.catalog.material(metal.rule.bed)
        low, high = metal.bed
        legs = (f.box((-far, high), (low, high)), f.box((low, high), (-run, high)))
        outline = shapely.Polygon(shapely.union_all(legs).exterior)
        f.quilt.lay("bed.1", "Cement bed", PieceKind.BED, number, cement.id, outline)
        size = f"{work.text(high - low)} wide, {work.text(cement.thickness)} thick at most"
        why = "Closes the back edges of both flanges."
        words.append(bed_words(number, cement, size, why))
        number += 1
    at_eave = f.box((-far, 0.0), (-metal.flange, metal.face))
    at_rake = f.box((-metal.flange, metal.face), (-run, 0.0))
    title = f"{made.name}, {{}}"
    kind = PieceKind.METAL
    f.quilt.lay("metal.eave", title.format("eave"), kind, number, made.id, at_eave)
    if metal.bed is not None:
        dab = f.box((-metal.flange + _DAB, -_DAB), (-metal.flange + _DAB, -_DAB))
        name = "Dab of cement between the metals"
        f.quilt.lay("dab.1", name, PieceKind.BED, number + 1, metal.rule.bed, dab)
    f.quilt.lay("metal.rake", title.format("rake"), kind, number + 1, made.id, at_rake)
    _nail_corner(f, metal, number + 1)
    work.measure(
        "flange",
        number,
        (-metal.flange, 0.0),
        f"flange {work.least(metal.flange)}",
        made.source_of("width"),
    )
    for k, edge in enumerate(("eave", "rake")):
        over = "first" if k == 0 else f"over that of the eave by {work.least(metal.flange)}"
        words.append(
            describe(
                number + k,
                made,
                f"of the {edge}, {over}; flange {work.least(metal.flange)}",
                "a dab of cement where they lap, three nails in a small triangle at the corner, "
                "then two staggered rows, so that it can move with heat",
                "Carries the water clear of the fascia."
                if k == 0
                else "Laps down-slope: what runs along it falls onto the eave's metal.",
                tool="snips, bender, hammer, rag and solvent, pencil",
                gear="cut-proof gloves, eye guard",
                mistake="Rake metal under the eave's: its joint faces the water.",
                check="Look down the slope from above: no open lip looks back up at you.",
            )
        )
    return words


def _nail_corner(f: _Fold, metal: EdgeMetal, number: int) -> None:
    """Nail both metals at the corner in a small triangle; the cap covers it."""
    nails, at, way = metal.rule.nailing, f.corner.at, f.corner.way
    if nails is None:
        return
    near, far = metal.flange * 0.35, metal.flange * 0.7
    spots = [(at - way * out, -s) for out, s in ((near, near), (far, near), (near, far))]
    f.work.nails("metal.triangle", "Nails of the corner", number, nails.fastener, spots)


def _lay_cap(f: _Fold, number: int) -> DetailLayer:
    """Lay the top sheet over both flanges."""
    eave, rake = f.past["cap"]
    _lay_role(f, number, "cap")
    margins = sorted({f.work.text(-eave), f.work.text(-rake)})
    return cap_words(
        f.site,
        number,
        f"one sheet over both flanges, {' and '.join(margins)} of metal in sight",
        mistake="Pieced together at the corner: patch upon patch.",
        check="One whole sheet at the corner, its margin of metal even both ways.",
        at_metal=True,
    )


def _notes(f: _Fold, metal: EdgeMetal | None) -> tuple[str, ...]:
    notes = []
    if "base" in f.runs:
        notes += [
            f"The slit follows the eave's line, so the ear stays on the eave flap ({PRACTICE}).",
            "Turned down, a sheet has too much at an outside corner; turned up, too little.",
        ]
    else:
        notes.append("No base sheet here, so nothing is folded: metal and top sheet close it.")
    if metal is not None:
        notes.append(f"Metal of the rake over that of the eave, cap over both ({PRACTICE}).")
    return tuple(notes)
