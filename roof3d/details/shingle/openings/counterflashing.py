"""Counterflashing of a chimney: let into the joints of the brick, over all other metal."""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass, field

import numpy as np
import shapely

from roof3d.catalog.material import Material
from roof3d.details.frame import Face
from roof3d.details.model import INCH, DetailLayer, PieceKind
from roof3d.details.rows import describe
from roof3d.details.shapes.solids import Body
from roof3d.details.shingle.field import Field
from roof3d.details.shingle.openings.chimney_parts import Block
from roof3d.details.shingle.openings.chimney_words import ChimneyLengths, reglet_words
from roof3d.details.shingle.openings.plumb import Plumb, carve

_COURSE = 8.0 / 3.0 * INCH
"""A course of common brick with its joint."""
_SHORT = 8.0 * INCH
"""A length up the side is not shorter than that, where the pitch allows it."""
_BEAD, _MOUTH = 0.25 * INCH, 0.375 * INCH
"""Of the sealant over the metal in a joint: height, and depth from the face of the brick."""
_OFF = 0.5 * INCH
"""Metal ends that far over what lies below it, and begins that far over the steps."""


@dataclass(slots=True, kw_only=True)
class _Metal:
    """The metal being laid, and what it leaves in the brick.

    Attributes
    ----------
    plumb : Plumb
    made : Material
    number : int
        Of its layer.
    thick, lap, cover, clear, deep, foot : float
        As drawn; of one length over the next; over apron and pan; off the faces of the brick,
        outside all other metal; into the brick; of lower edges at the sides over the deck.
    tongues : list of (float, shapely.Polygon)
        Level and plan (u, y) of what goes into a joint.
    """

    plumb: Plumb
    made: Material
    number: int
    thick: float
    lap: float
    cover: float
    clear: float
    deep: float
    foot: float
    tongues: list[tuple[float, shapely.Polygon]] = field(default_factory=list)

    def tongue(self, u: tuple[float, float], y: tuple[float, float], level: float) -> Body:
        """Return a leg that goes level into the brick, and note the joint that it needs."""
        self.tongues.append((level, shapely.box(u[0], y[0], u[1], y[1])))
        return self.plumb.box(u, y, (level, level + self.thick))

    def turned(
        self, face: float, out: float, y: tuple[float, float], z: tuple[float, float]
    ) -> Body:
        """Return what goes round a corner: level, but cut clear of the roof."""
        plumb = self.plumb
        below = [(at, plumb.roof(at, self.foot)) for at in y]
        roof = shapely.Polygon([*below, (y[1], z[0] - 1.0), (y[0], min(z[0], below[0][1]) - 1.0)])
        area = shapely.box(y[0], z[0], y[1], z[1]).difference(roof)
        ring = shapely.get_coordinates(area.normalize())[:-1].tolist()
        return plumb.side(ring, face, (out, out), self.thick)

    def add(self, name: str, bodies: list[Body]) -> None:
        """Add one length."""
        work = self.plumb.block.work
        title = f"{self.made.name}, {name.replace('_', ' ')}"
        work.solid(f"counter.{name}", title, PieceKind.METAL, self.number, self.made.id, bodies, ())


def lay_counterflashing(
    field: Field, block: Block, number: int, o: ChimneyLengths, gable: float
) -> list[DetailLayer]:
    """Lay the metal that comes out of the chimney over apron, steps and pan, low lengths first.

    ``gable`` is how much higher the metal behind stands in the middle than at its ends, as the
    cricket does.
    """
    work, rule = field.work, field.rule("counterflashing")
    made = work.catalog.material(rule.material)
    steps = work.thickness("synthetic-underlayment") + 4.0 * work.thickness("step-flashing")
    metal = _Metal(
        plumb=Plumb(block),
        made=made,
        number=number,
        thick=work.thickness(made.id),
        lap=rule.lap or made.end_lap,
        cover=(rule.width or made.width) - o.reglet.metres,
        clear=steps,
        deep=o.reglet.metres,
        foot=_foot(block, steps + 2.0 * work.thickness(made.id)),
    )
    front = _lay_front(metal)
    sides = _lay_sides(metal, front)
    _lay_back(metal, max(front, sides), gable)
    joint = metal.thick + _BEAD
    carve(metal.plumb, metal.tongues, joint, o.over_joint.metres)
    _seal(metal, number + 1)
    return [
        describe(
            number,
            made,
            f"{work.least(metal.cover)} over apron and pan, {work.least(metal.deep)} into the "
            f"brick; lengths lap {work.least(metal.lap)}, turned as far round the corners",
            "lead wedges in the joints, about 12 in apart; nothing into the other metal",
            "Throws what runs down the brick out over all the metal below, and lets roof and "
            "chimney move apart.",
            tool="grinder with vacuum, snips, bender, wedges, hammer",
            gear="respirator for silica, face shield, ears, cut-proof gloves, harness",
            mistake="Caulked to the face of the brick: the caulk ages, and water runs in behind.",
            check="See the groove: metal goes into it; every upper length lies over the lower.",
        ),
        reglet_words(work, number + 1, (joint, metal.deep)),
    ]


def _leg(block: Block) -> float:
    """Height off the deck of the upright legs of the steps."""
    legs = [p for p in block.work.pieces if p.id.startswith("step.") and p.footprints]
    return max(float(block.work.frame.developed(p.vertices)[:, 2].max()) for p in legs)


def _foot(block: Block, out: float) -> float:
    """Height off the deck at which metal beside the chimney clears all that lies there."""
    beside = block.plan.buffer(out, join_style="mitre").difference(block.plan)
    high = max(block.work.stack.highest(face, beside) for face in Face)
    return min(high + _OFF / 2.0, _leg(block) - _OFF)


def _level_over(plumb: Plumb, height: float) -> float:
    """Return the height of the next joint of the brick at or above a height."""
    base = plumb.roof(plumb.front)
    return base + math.ceil((height - base) / _COURSE - INCH / 100.0) * _COURSE


def _head(metal: _Metal, start: str, face: float) -> float:
    """Height of the upright leg of apron or pan at a face of the chimney."""
    pieces = [p for p in metal.plumb.block.work.pieces if p.id.startswith(start)]
    places = np.concatenate([metal.plumb.places(p.vertices) for p in pieces])
    near = places[np.abs(places[:, 1] - face) <= metal.clear]
    return float(near[:, 2].max())


def _lay_front(metal: _Metal) -> float:
    """Lay the length before the chimney, turned round both corners; returns its joint."""
    plumb, block, thick = metal.plumb, metal.plumb.block, metal.thick
    face, out = plumb.front, metal.clear
    head = _head(metal, "apron.", face)
    legs = plumb.roof(face + metal.lap, _leg(block))
    low, level = head - metal.cover, _level_over(plumb, max(head, legs))
    left, right, top = block.left - out, block.right + out, level + thick
    corner, turned = face + metal.deep, face + metal.lap
    metal.add(
        "front",
        [
            plumb.box((left - thick, right + thick), (face - out - thick, face - out), (low, top)),
            metal.turned(block.left, -out, (face - out, turned), (low, top)),
            metal.turned(block.right, out, (face - out, turned), (low, top)),
            metal.tongue((block.left, block.right), (face - out, corner), level),
            metal.tongue((left, block.left + metal.deep), (corner, turned), level),
            metal.tongue((block.right - metal.deep, right), (corner, turned), level),
        ],
    )
    u = right + thick
    work = block.work
    ends = (plumb.point(u, face - out, low), plumb.point(u, face - out, head))
    words = f"covers {work.least(metal.cover)}"
    source = work.catalog.material(metal.made.id).source_of("width")
    work.measure_upright("cover", metal.number, ends, words, source)
    return level


def _lay_sides(metal: _Metal, front: float) -> float:
    """Lay lengths up both sides, each from a higher joint and over the one below."""
    plumb, block, thick = metal.plumb, metal.plumb.block, metal.thick
    slope = block.slope
    bricks = max(1, math.ceil(_SHORT * slope / _COURSE))
    run = bricks * _COURSE / slope
    leg, foot = _leg(block), metal.foot
    start, past = plumb.front, plumb.front + run + metal.lap
    wanted = max(plumb.roof(past, leg + _OFF), front + _COURSE)
    level, number = _level_over(plumb, wanted), 0
    while True:
        end = (level - plumb.roof(0.0, leg + _OFF)) / slope
        end = min(end, plumb.back)
        length = end - start
        lean = thick * length / (length - metal.lap)
        ring = [
            (start, plumb.roof(start, foot)),
            (end, plumb.roof(end, foot)),
            (end, level + thick),
            (start, level + thick),
        ]
        number += 1
        for sign, face, side in ((-1.0, block.left, "left"), (1.0, block.right, "right")):
            out = (sign * (metal.clear + lean), sign * metal.clear)
            inner = face - sign * metal.deep
            reach = sorted((inner, face + sign * metal.clear))
            low, high = start + metal.deep * (number == 1), end
            tongue = metal.tongue((reach[0], reach[1]), (low, high), level)
            metal.add(f"{side}_{number}", [plumb.side(ring, face, out, thick), tongue])
        if end >= plumb.back - metal.lap:
            return level
        start, level = end - metal.lap, level + bricks * _COURSE


def _lay_back(metal: _Metal, under: float, gable: float) -> None:
    """Lay the length behind the chimney, turned round both corners over the last of the sides."""
    plumb, block, thick = metal.plumb, metal.plumb.block, metal.thick
    face, out = plumb.back, metal.clear + 2.0 * thick
    head = _head(metal, "pan.", face)
    low = max(head - gable - metal.cover, plumb.roof(face + out + thick, metal.foot))
    level = max(_level_over(plumb, head), under + _COURSE)
    left, right, top = block.left - out, block.right + out, level + thick
    middle, corner, turned = (left + right) / 2.0, face - metal.deep, face - metal.lap
    ring = [(left - thick, low), (right + thick, low), (right + thick, top), (left - thick, top)]
    if gable > 0.0:
        ring[1:1] = [(block.left, low), (middle, low + gable), (block.right, low)]
    metal.add(
        "back",
        [
            plumb.across(ring, face + out, thick),
            metal.turned(block.left, -out, (turned, face + out), (low, top)),
            metal.turned(block.right, out, (turned, face + out), (low, top)),
            metal.tongue((block.left, block.right), (corner, face + out), level),
            metal.tongue((left, block.left + metal.deep), (turned, corner), level),
            metal.tongue((block.right - metal.deep, right), (turned, corner), level),
        ],
    )


def _seal(metal: _Metal, number: int) -> None:
    """Fill the mouths of the joints over the metal."""
    plumb, block = metal.plumb, metal.plumb.block
    brick = shapely.box(block.left, plumb.front, block.right, plumb.back)
    mouth = brick.difference(brick.buffer(-_MOUTH, join_style="mitre"))
    bodies = []
    for level, joints in itertools.groupby(sorted(metal.tongues, key=_level), key=_level):
        area = shapely.union_all([plan for _, plan in joints]).intersection(mouth)
        low = level + metal.thick
        bodies += [
            plumb.slab(part, (low, low + _BEAD))
            for part in shapely.get_parts(area)
            if part.geom_type == "Polygon" and part.area > block.work.tol.merge
        ]
    block.work.solid("sealant.1", "Sealant", PieceKind.BED, number, "roof-cement", bodies, ())


def _level(tongue: tuple[float, shapely.Polygon]) -> float:
    return tongue[0]
