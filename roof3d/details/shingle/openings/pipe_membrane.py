"""A pipe through a membrane: flange bedded on the ply, the cap over it."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import shapely

from roof3d.details.curbs.outlet_words import lap_note
from roof3d.details.frame import Face
from roof3d.details.model import INCH, PRACTICE, Detail, DetailLayer, PieceKind
from roof3d.details.rows import describe
from roof3d.details.shingle.field import Field, open_field
from roof3d.details.shingle.openings.pipe_shingle import cut_round, pipe_at, pipe_size
from roof3d.details.shingle.openings.upright import (
    Pipe,
    cut_flange,
    draw_thin,
    join_last,
    last_surface,
    lay_deck_with_hole,
    tube,
    with_thickness,
)
from roof3d.details.site import DetailSite, close_build, open_build, slope_words
from roof3d.layout.joint import Given
from roof3d.layout.outlets import PIPE_FREE

_FLANGE = "pipe-flashing-membrane"
_GAP = 0.25 * INCH


@dataclass(frozen=True, slots=True, kw_only=True)
class MembranePipeLengths:
    """Lengths round a pipe on a membrane that neither the catalog nor the layout has.

    Attributes
    ----------
    width, run : Given
        Of roof shown, and from the pipe down and up.
    sleeve : Given
        Height of the sleeve over the membrane.
    thickness : Given
        Of flange and sleeve.
    hood : Given
        How far the settlement cap comes down over the sleeve.
    """

    width: Given = Given(30.0 * INCH)
    run: Given = Given(15.0 * INCH)
    sleeve: Given = Given(8.0 * INCH, "VA 07 52 16")
    thickness: Given = Given(0.05 * INCH)
    hood: Given = Given(2.0 * INCH)


_SHEETS = {
    "base": (
        "Takes the nails and lets the roof be renewed without touching the deck.",
        "cap nailer, knife",
        "Nails close to the pipe, where the flange must lie flat.",
        "Tape from the pipe to the nearest nail: 6 in or more.",
    ),
    "ply": (
        "First waterproof layer, and the seat of the flange.",
        "hook knife, 75 lb roller",
        "Cut wide, so that the bed of the flange has nothing under it.",
        "Look down the pipe: the ply ends a finger's width from it.",
    ),
    "cap": (
        "Covers the flange to the sleeve and shades it from the sun.",
        "hook knife, hot-air gun, hand roller",
        "Stopped at the rim of the flange: its back edge drinks water.",
        "Probe all round the sleeve once it is cold.",
    ),
}


def build_membrane_pipe(site: DetailSite, lengths: MembranePipeLengths | None = None) -> Detail:
    """Build the layers round a pipe through a membrane.

    Raises
    ------
    LayoutError
        Where its plane is not laid out, or its assembly has no flashing for a pipe.
    """
    o = lengths or MembranePipeLengths()
    site = draw_thin(site)
    site = replace(site, catalog=with_thickness(site.catalog, _FLANGE, o.thickness))
    plane = site.roof.plane(site.place.planes[0])
    pipe = pipe_at(site)
    size = pipe_size(site, pipe, (o.width.metres, o.run.metres, o.run.metres))
    work = open_build(site, pipe.frame, size)
    field = open_field(site, work, plane.id, None)
    deck = field.layers["deck"].material
    depth = work.catalog.material(deck).thickness
    hole = shapely.convex_hull(shapely.union(pipe.hole(_GAP, -depth), pipe.hole(_GAP, 0.0)))
    layers = [lay_deck_with_hole(work, deck, hole, "pipe")]
    for role in ("base", "ply"):
        if role in field.layers:
            number = len(layers) + 1
            field.lay_sheets(
                number, role, shape=cut_round(work, pipe, _GAP, field.material(role).id)
            )
            layers.append(_sheet_words(field, number, role))
    layers += _flange(field, pipe, len(layers) + 1, o)
    layers += _strip(field, pipe, len(layers) + 1)
    number = len(layers) + 1
    wall = work.thickness(_FLANGE)
    cap = cut_round(work, pipe, wall + 2.0 * _GAP, field.material("cap").id)
    field.lay_sheets(number, "cap", shape=cap)
    layers.append(_sheet_words(field, number, "cap"))
    layers.append(_hood(field, pipe, number + 1, o))
    return close_build(
        site,
        work,
        name="Pipe through a membrane",
        summary=slope_words(plane.slope, site.units),
        layers=layers,
        notes=(
            lap_note(site, "pipe", PIPE_FREE),
            f"The flange is primed on both faces, bedded below, covered above ({PRACTICE}).",
            (
                f"The sleeve stands {work.least(o.sleeve.metres)} or more over the roof "
                f"({o.sleeve.source})."
            ),
            (
                "Pipe and roof move apart: the settlement cap is fixed to the pipe, not to the "
                f"sleeve ({PRACTICE})."
            ),
        ),
        near=f"{plane.id}, below the pipe",
        far=f"{plane.id}, above it",
    )


def _sheet_words(field: Field, number: int, role: str) -> DetailLayer:
    made, work, layer = field.material(role), field.work, field.layers[role]
    why, tool, mistake, check = _SHEETS[role]
    return describe(
        number,
        made,
        f"laps {work.least(layer.side_lap or made.side_lap)}, ends "
        f"{work.least(layer.end_lap or made.end_lap)}; cut close round the pipe",
        layer.fastening,
        why,
        tool=tool,
        gear="gloves, knee pads, soft soles",
        mistake=mistake,
        check=check,
    )


def _flange(field: Field, pipe: Pipe, number: int, o: MembranePipeLengths) -> list[DetailLayer]:
    """Lay the bed, and the flange with its sleeve on it."""
    work, rule = field.work, field.rule("pipe-flashing")
    made = work.catalog.material(rule.material)
    half, layers = made.width / 2.0, []
    if rule.bed:
        cement = work.catalog.material(rule.bed)
        inner = 2.0 * _GAP
        side = half - _GAP
        bed = cut_round(work, pipe, inner, cement.id)(shapely.box(-side, -side, side, side))
        work.patch("bed.1", "Cement bed", PieceKind.BED, number, cement.id, None, [bed], field.up)
        layers.append(
            describe(
                number,
                cement,
                f"{work.text(cement.thickness)} thick, under all of the flange",
                "trowelled on, even, no skips",
                "Closes the flange's upper edge against water that gets under the cap.",
                tool="trowel",
                gear="nitrile gloves, no flame near solvent",
                mistake="Dabs in place of a bed: water finds the way between them.",
                check="Cement shows all round when the flange is pressed down.",
            )
        )
        number += 1
    size = np.array((-half, -half, half, half))
    flange = cut_flange(work, pipe, _GAP / 2.0, made.id, size)
    work.patch("flange.1", made.name, PieceKind.UNIT, number, made.id, None, [flange], field.up)
    at, over = last_surface(work)
    inner, wall = pipe.radius + _GAP / 2.0, work.thickness(made.id)
    feet = [pipe.on(radius, at, over) for radius in (inner + wall, inner)]
    high = float(feet[0][:, 2].max()) / pipe.cosine + o.sleeve.metres
    sleeve = tube(
        (pipe.space(feet[0]), pipe.level_circle(inner + wall, high)),
        (pipe.space(feet[1]), pipe.level_circle(inner, high)),
    )
    join_last(work, [sleeve])
    work.solid("pipe.1", "Pipe", PieceKind.UNIT, number, made.id, [pipe.body()])
    if rule.nailing is not None:
        ring = _ring_nails(half - rule.nailing.inset, rule.nailing.per_piece)
        work.nails("flange.nails", "Nails of the flange", number, rule.nailing.fastener, ring)
    width = work.text(made.width)
    ends, source = ((half, -half), (half, half)), made.source_of("length")
    work.measure_between("flange", number, *ends, width, source, face=Face.NEAR)
    layers.append(
        describe(
            number,
            made,
            f"{width} square, primed on both faces; sleeve {work.least(o.sleeve.metres)} high",
            f"{rule.nailing.per_piece if rule.nailing else 0} nails round its rim, covered by "
            "the cap",
            "Joins sheet to pipe; its sleeve lets the pipe move.",
            tool="snips, hammer, brush",
            gear="gloves, eye guard",
            mistake="Bare metal in the bed: it does not bond, and the rim curls.",
            check="Primer shows past the rim on all sides before the cap goes on.",
        )
    )
    return layers


def _strip(field: Field, pipe: Pipe, number: int) -> list[DetailLayer]:
    """Lay the strip of ply over the flange and its nails, where the assembly has one."""
    work = field.work
    rule = field.site.strip(field.plane.plane.id, "pipe-ply")
    if rule is None:
        return []
    made, half = work.catalog.material(rule.material), rule.width / 2.0
    past = half - work.catalog.material(field.rule("pipe-flashing").material).width / 2.0
    wall = work.thickness(_FLANGE)
    area = cut_round(work, pipe, wall + _GAP, made.id)(shapely.box(-half, -half, half, half))
    work.patch("strip.1", "Strip ply", PieceKind.SHEET, number, made.id, None, [area], field.up)
    said = describe(
        number,
        made,
        f"{work.least(past)} past the flange on all sides",
        "its own adhesive, rolled; no nails",
        "Seals the rim of the flange to the ply, and covers its nails.",
        tool="hook knife, hand roller",
        gear="gloves, knee pads",
        mistake="Cut to the size of the flange: nothing seals its rim.",
        check="It goes past the flange on all sides, pressed down at the step.",
    )
    return [replace(said, name="Strip ply", source=rule.source)]


def _ring_nails(half: float, count: int) -> list[tuple[float, float]]:
    """Set nails round the rim of a square, as many on each side, none on the detail's line."""
    each = max(count // 4, 1)
    steps = [(2.0 * (k + 0.25) / each - 1.0) * half for k in range(each)]
    return [
        place
        for t in steps
        for place in ((t, -half), (half, t), (-t, half), (-half, -t))
        if abs(place[1]) > INCH / 4.0
    ]


def _hood(field: Field, pipe: Pipe, number: int, o: MembranePipeLengths) -> DetailLayer:
    """Set the settlement cap: clamped to the pipe, hanging over the sleeve."""
    work = field.work
    made = work.catalog.material(_FLANGE)
    sleeve = work.pieces[[piece.id for piece in work.pieces].index("flange.1")]
    high = float(sleeve.vertices[:, 2].max()) - pipe.frame.origin[2]
    wall, inner = work.thickness(made.id), pipe.radius + _GAP / 2.0
    out = inner + wall
    skirt = tube(
        (
            pipe.level_circle(out + wall, high - o.hood.metres),
            pipe.level_circle(out + wall, high),
        ),
        (pipe.level_circle(out, high - o.hood.metres), pipe.level_circle(out, high)),
    )
    roof = tube(
        (pipe.level_circle(out + wall, high), pipe.level_circle(pipe.radius + wall, high + wall)),
        (pipe.level_circle(pipe.radius, high), pipe.level_circle(pipe.radius, high + wall)),
    )
    work.solid("hood.1", "Settlement cap", PieceKind.UNIT, number, made.id, [skirt, roof])
    return replace(
        describe(
            number,
            made,
            f"{work.text(o.hood.metres)} down over the sleeve",
            "clamped to the pipe, a bead of sealant on top",
            "Keeps rain out of the gap between sleeve and pipe while both move.",
            tool="screwdriver, sealant gun",
            gear="gloves",
            mistake="Fixed to the sleeve as well: it tears when the roof settles.",
            check="Push the pipe: the hood moves with it, the sleeve stays.",
        ),
        name="Settlement cap",
        source=PRACTICE,
    )
