"""The kick-out: the lowest piece along a sidewall, turned off the wall past the eave."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from roof3d.details.frame import Face
from roof3d.details.model import INCH, DetailLayer, PieceKind
from roof3d.details.rows import describe
from roof3d.details.shapes.solids import Body, extruded
from roof3d.details.shingle.field import Field
from roof3d.layout.joint import Given


@dataclass(frozen=True, slots=True, kw_only=True)
class KickOutLengths:
    """Lengths of a kick-out.

    Attributes
    ----------
    back, past : Given
        How far it reaches up the roof, and past the eave.
    height : Given
        Of its upstand.
    throw : float
        By how much its lip is turned off the wall, radians.
    """

    back: Given = Given(8.0 * INCH)
    past: Given = Given(2.5 * INCH, "a city's sheet on kick-out flashing, 2 1/2 in at least")
    height: Given = Given(4.0 * INCH)
    throw: float = math.radians(70.0)


def lay_kick_out(field: Field, number: int, lengths: KickOutLengths | None = None) -> DetailLayer:
    """Lay the kick-out at the lower end of the cut-out: on the roof, up the wall, and its lip."""
    o = lengths or KickOutLengths()
    work, rule = field.work, field.rule("step-flashing")
    metal = work.catalog.material(rule.material)
    leg = rule.width or metal.width
    up = float(np.sign(field.up[0]))
    foot = work.span[0] if up > 0.0 else work.span[1]
    u = sorted((foot, foot + up * o.back.metres))
    work.bent(
        "kick_out.1",
        "Kick-out",
        PieceKind.METAL,
        number,
        metal.id,
        (u[0], u[1]),
        (-leg, o.height.metres),
        up=up,
    )
    lip = _lip(field, foot, up, o)
    work.join_last([lip])
    at = foot + up * o.back.metres / 2.0
    words = f"{work.least(o.height.metres)} up"
    work.measure_between(
        "kick_up", number, (at, 0.0), (at, o.height.metres), words, o.height.source
    )
    made = describe(
        number,
        metal,
        f"upstand {work.least(o.height.metres)}, lip {work.least(o.past.metres)} past the eave, "
        f"turned {math.degrees(math.pi - o.throw):.0f} deg from the wall",
        "two nails, deck side alone",
        "Throws what runs down along the wall into the gutter, past the cladding's end.",
        tool="snips, solder or sealant",
        gear="cut-proof gloves, harness",
        mistake="Left out: the wall below the eave is soaked and rots behind its cladding.",
        check="Pour a cup of water on the lowest step: all of it lands in the gutter.",
    )
    return DetailLayer(
        number=number,
        name="Kick-out",
        material=made.material,
        size=made.size,
        why=made.why,
        fastening=made.fastening,
        source=f"{o.past.source}; the rest: common practice, no source",
        tool=made.tool,
        gear=made.gear,
        mistake=made.mistake,
        check=made.check,
    )


def _lip(field: Field, foot: float, up: float, o: KickOutLengths) -> Body:
    """Lip that stands on the end of the piece and leans off the wall past the eave."""
    work = field.work
    frame, metal = work.frame, field.rule("step-flashing").material
    thick = work.thickness(metal)
    side = foot + up * work.tol.merge
    base = work.stack.height_at(Face.NEAR, side, -work.tol.merge)
    wall = work.stack.height_at(Face.FAR, side, o.height.metres / 2.0)
    # In the roof plane: from the wall outward and down the slope, past the eave.
    away, down = math.sin(o.throw) * o.past.metres, math.cos(o.throw) * o.past.metres
    out = -wall
    ring = [
        (foot, out, base),
        (foot - up * (down + thick), out - away, base),
        (foot - up * (down + thick), out - away, base + 0.6 * o.height.metres),
        (foot, out, base + o.height.metres),
    ]
    points = [
        tuple(frame.on_face(Face.NEAR, *(np.array([value]) for value in corner))[0].tolist())
        for corner in ring
    ]
    thickness = -up * thick * np.array(frame.along)
    x, y, z = thickness.tolist()
    return extruded([(p[0], p[1], p[2]) for p in points], (x, y, z))
