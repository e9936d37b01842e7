"""Edge metal of a membrane: its bed, its two lengths with their joint, its nails."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely

from roof3d.catalog.laying import StripRule
from roof3d.catalog.material import Material
from roof3d.details.build_up import BuildUp
from roof3d.details.frame import Face
from roof3d.details.membrane.options import MembraneOptions
from roof3d.details.membrane.sheets.quilt import Quilt
from roof3d.details.membrane.words import bed_words
from roof3d.details.model import INCH, DetailLayer, PieceKind
from roof3d.details.rows import describe
from roof3d.details.shapes.solids import Body, extruded
from roof3d.details.shingle.openings.upright import join_last
from roof3d.details.site import DetailSite
from roof3d.tolerance import DEFAULT

_LIP = 0.4 * INCH
"""A lip is drawn no thicker than that: the cap ends 1/2 in from the edge."""
_PLACES = 257
"""Along a lip, where its height is taken."""
_JOINT_SHARE = 0.22
"""Where the joint of two lengths lies, as a share of the width from its middle."""


@dataclass(frozen=True, slots=True, kw_only=True)
class EdgeMetal:
    """What the catalog says of the metal at an edge, and where it lies.

    Attributes
    ----------
    rule : StripRule
    made : Material
    flange, face, lap : float
        On the roof, down the board, and of one length over the next, metres.
    bed : tuple[float, float] or None
        From where to where the cement lies in s; None where it has none.
    joint : tuple[float, float]
        From where to where two lengths lap in u.
    up : float
        1 where u grows up the slope or it is level, else -1: the later length lies higher.
    """

    rule: StripRule
    made: Material
    flange: float
    face: float
    lap: float
    bed: tuple[float, float] | None
    joint: tuple[float, float]
    up: float

    @property
    def edges(self) -> tuple[list[float], list[float]]:
        """Where its edges and those of its bed lie in u and in s."""
        return list(self.joint), [-self.flange, self.face, *(self.bed or ())]


def edge_metal(
    site: DetailSite, work: BuildUp, plane_id: str, o: MembraneOptions
) -> EdgeMetal | None:
    """Return the metal of the edge as the plane's assembly has it; None where it has none."""
    rule = site.strip(plane_id, "edge-metal")
    if rule is None:
        return None
    made = site.catalog.material(rule.material)
    lap = rule.lap or made.end_lap
    middle = _JOINT_SHARE * work.size[0]
    inner = -o.bed_edge.metres
    # On a steep roof what is laid square to the deck leans out: the bed stops short of the leg.
    rules = site.layers(plane_id)
    pile = [rules[role].material for role in ("base", "ply") if role in rules]
    high = sum(work.thickness(name) for name in (*pile, *([rule.bed] if rule.bed else [])))
    lean = max(work.frame.near[2], 0.0) / work.frame.near_normal[2]
    stop = min(inner, -high * lean)
    return EdgeMetal(
        rule=rule,
        made=made,
        flange=rule.width or made.width,
        face=o.face.metres,
        lap=lap,
        bed=(inner - rule.bed_width, stop) if rule.bed else None,
        joint=(middle - lap / 2.0, middle + lap / 2.0),
        up=-1.0 if work.frame.along[2] < -work.tol.level else 1.0,
    )


def lay_metal(
    work: BuildUp,
    quilt: Quilt,
    metal: EdgeMetal,
    number: int,
    o: MembraneOptions,
    *,
    lip: float = 0.0,
) -> tuple[DetailLayer, ...]:
    """Lay bed and metal, the lower length first, and nail the flange; returns the words.

    ``lip`` is how high the metal stands up at the edge to hold water on the roof.
    """
    words: list[DetailLayer] = []
    start, end = work.span
    if metal.bed is not None:
        cement = work.catalog.material(metal.rule.bed)
        low, high = metal.bed
        outline = shapely.box(start, low, end, high)
        quilt.lay("bed.1", "Cement bed", PieceKind.BED, number, cement.id, outline)
        wide = work.text(metal.rule.bed_width)
        size = f"{wide} wide, {work.text(cement.thickness)} thick at most"
        why = "Closes the back edge of the flange, where water would creep in."
        words.append(bed_words(number, cement, size, why))
        number += 1
    spans = [(start, metal.joint[1]), (metal.joint[0], end)]
    lips = [(start, metal.joint[0]), (metal.joint[0], end)]
    if metal.up < 0.0:
        spans.reverse()
        lips = [(metal.joint[1], end), (start, metal.joint[1])]
    for k, (a, b) in enumerate(spans, start=1):
        outline = shapely.box(a, -metal.flange, b, metal.face)
        title = f"{metal.made.name} {k}"
        quilt.lay(f"metal.{k}", title, PieceKind.METAL, number, metal.made.id, outline)
        if lip > 0.0:
            join_last(work, [_lip(work, metal, lips[k - 1], lip)])
    _nail(work, metal, number)
    _measure(work, metal, number, o)
    words.append(_words(work, metal, number, lip))
    return tuple(words)


def _lip(work: BuildUp, metal: EdgeMetal, span: tuple[float, float], lip: float) -> Body:
    """Return the upstand of one length along the edge."""
    thick = min(work.thickness(metal.made.id), _LIP)
    frame = work.frame
    # It stands on its own flange all along, also where laps below lift that.
    along = np.linspace(*span, _PLACES)
    foot = [work.stack.height_at(Face.NEAR, u, -thick / 2.0) for u in along]
    line = shapely.LineString(np.column_stack((along, foot))).simplify(DEFAULT.merge)
    u, h = shapely.get_coordinates(line).T
    ring_u, ring_h = np.append(u, u[::-1]), np.append(h, h[::-1] + lip)
    corners = frame.on_face(Face.NEAR, ring_u, np.full(len(ring_u), -thick), ring_h)
    back, front = frame.on_face(Face.NEAR, np.zeros(2), np.array([-thick, 0.0]), np.zeros(2))
    x, y, z = (front - back).tolist()
    return extruded([(p[0], p[1], p[2]) for p in corners.tolist()], (x, y, z))


def _nail(work: BuildUp, metal: EdgeMetal, number: int) -> None:
    nails = metal.rule.nailing
    if nails is None:
        return
    start, end = work.span
    spots = [
        (start + (k + 0.25 + 0.5 * (row % 2)) * nails.lap_spacing, -at)
        for row in range(nails.strip_rows)
        for at in (nails.strip_first + row * nails.strip_between,)
        for k in range(int((end - start) / nails.lap_spacing))
    ]
    # The lap stays free, so that the lengths can move with heat.
    free = [(u, s) for u, s in spots if not metal.joint[0] <= u <= metal.joint[1]]
    work.nails("metal.nails", "Nails of the flange", number, nails.fastener, free)


def _measure(work: BuildUp, metal: EdgeMetal, number: int, o: MembraneOptions) -> None:
    least, made = work.least, metal.made
    width = made.source_of("width")
    work.measure("flange", number, (-metal.flange, 0.0), f"flange {least(metal.flange)}", width)
    work.measure("face", number, (0.0, metal.face), f"{least(metal.face)} down", o.face.source)
    a, b = metal.joint
    s = -0.6 * metal.flange
    source = made.source_of("end_lap")
    work.measure_between("joint", number, (a, s), (b, s), f"lap {least(metal.lap)}", source)


def _words(work: BuildUp, metal: EdgeMetal, number: int, lip: float) -> DetailLayer:
    least, nails = work.least, metal.rule.nailing
    spacing = f"{work.text(nails.lap_spacing)} apart in each row" if nails else "in two rows"
    primed = metal.rule.primed_faces
    return describe(
        number,
        metal.made,
        f"flange {least(metal.flange)}, joints lapped {least(metal.lap)}"
        + (f", a lip {least(lip)} high at the edge" if lip > 0.0 else ""),
        f"nails {spacing}, staggered, none in the laps, so that it can move with heat",
        "Primed on both faces: carries the water clear of the board."
        if primed
        else "Coated: the sheet is welded onto it, and it carries the water clear of the board.",
        tool="snips, bender, hammer, rag and solvent",
        gear="cut-proof gloves, eye guard",
        mistake="Left unprimed or oily: the sheet lets go of it."
        if primed
        else "Plain metal in place of coated: nothing welds to it.",
        check="Dull with primer all over, no bare metal; straight to a pencil line."
        if primed
        else "Probe a test weld: the sheet tears before the weld does.",
    )
