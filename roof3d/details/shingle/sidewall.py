"""Sidewall on shingles: one bent piece a course, a kick-out at the foot."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
import shapely

from roof3d.catalog.laying import Border
from roof3d.details.deck import lay_deck_to_upright
from roof3d.details.frame import Floats, Frame
from roof3d.details.frames import frame_at_wall, room_on
from roof3d.details.model import INCH, PRACTICE, Detail, DetailLayer, PieceKind
from roof3d.details.rows import describe
from roof3d.details.shingle.cladding import clad_wall
from roof3d.details.shingle.field import Field, Shape, open_field
from roof3d.details.shingle.kick_out import lay_kick_out
from roof3d.details.shingle.words import (
    cladding_words,
    course_words,
    steep_note,
    underlayment_words,
)
from roof3d.details.site import DetailSite, close_build, open_build, slope_words
from roof3d.layout.joint import Given
from roof3d.roof.model import Edge, Role

_FAR = 1e3


@dataclass(frozen=True, slots=True, kw_only=True)
class SidewallLengths:
    """Lengths of a sidewall that neither the catalog nor the layout has.

    Attributes
    ----------
    width, run, wall : Given
        Of roof shown up the slope and away from the wall; height of wall shown.
    hidden : Given
        Lower edge of a step above the butt of the course that covers it.
    cover, clear : Given
        Of the wall's covering: its lap over the metal, and how far it stays off the roof.
    """

    width: Given = Given(32.0 * INCH)
    run: Given = Given(20.0 * INCH)
    wall: Given = Given(9.0 * INCH)
    hidden: Given = Given(0.5 * INCH)
    cover: Given = Given(2.0 * INCH)
    clear: Given = Given(1.0 * INCH, "public building research guide, step and kick-out flashing")


def build_shingle_sidewall(site: DetailSite, lengths: SidewallLengths | None = None) -> Detail:
    """Build the layers where shingles run up along a wall.

    Raises
    ------
    LayoutError
        Where its plane is not laid out, or its assembly has no step flashing.
    """
    o = lengths or SidewallLengths()
    edge = site.roof.edge(site.place.edge)
    (plane_id,) = site.place.planes
    plane = site.roof.plane(plane_id)
    frame = frame_at_wall(edge.ends, plane)
    length = min(o.width.metres, edge.length)
    foot = _on_eave(site, edge)
    if foot:
        frame = _at_foot(frame, edge, length)
    size = (
        length,
        min(o.run.metres, room_on(plane, frame.origin, frame.near)),
        o.wall.metres,
    )
    work = open_build(site, frame, size, folded=True)
    field = open_field(site, work, plane_id)
    layers = [lay_deck_to_upright(work, field.layers["deck"].material, "wall")]
    number = 2
    if field.lay_sheets(number, "ice barrier"):
        layers.append(_barrier(field, number))
        number += 1
    if field.lay_sheets(number, "underlayment", shape=_up_wall(field)):
        turned = max((p.reach[1] for p in work.pieces if p.layer == number), default=0.0)
        layers.append(underlayment_words(field, number, f"{work.least(turned)} up the wall"))
        source = field.layers["underlayment"].source
        words = f"{work.least(turned)} up"
        work.measure("sheet_up", number, (0.0, turned), words, source)
        number += 1
    if foot:
        layers.append(lay_kick_out(field, number))
        number += 1
    layers += _courses_and_steps(field, number, o)
    layers.append(_cladding(field, number + 2, o))
    return close_build(
        site,
        work,
        name="Sidewall on shingles",
        summary=slope_words(plane.slope, site.units),
        layers=layers,
        notes=_notes(field, foot=foot),
        far="wall",
    )


def _up_wall(field: Field) -> Shape:
    """Return what cuts a sheet at the height it is turned up; past the wall's end it goes on."""
    most = field.layers["underlayment"].reach_at(Border.SIDEWALL)
    side = shapely.box(-_FAR, -_FAR, _FAR, most)
    return lambda part: part.intersection(side)


def _on_eave(site: DetailSite, edge: Edge) -> bool:
    """Whether the wall's foot stands on an eave of the same plane."""
    low = np.array(edge.ends[0])
    return any(
        _distance(low, np.array(eave.ends[0]), np.array(eave.ends[1])) < 2.0 * INCH
        for eave in site.roof.edges
        if eave.role is Role.EAVE and eave.planes == edge.planes
    )


def _distance(point: Floats, start: Floats, end: Floats) -> float:
    way = end - start
    share = float(np.clip((point - start) @ way / (way @ way), 0.0, 1.0))
    return math.dist(point, start + share * way)


def _at_foot(frame: Frame, edge: Edge, length: float) -> Frame:
    """Move the detail down, so that it begins at the lower end of the wall."""
    low, high = (np.array(end) for end in edge.ends)
    x, y, z = (low + (high - low) / np.linalg.norm(high - low) * length / 2.0).tolist()
    return replace(frame, origin=(x, y, z))


def _barrier(field: Field, number: int) -> DetailLayer:
    made, work = field.material("ice barrier"), field.work
    return describe(
        number,
        made,
        f"up the wall too, laps {work.least(made.side_lap)}",
        "its own adhesive, pressed into the corner; no nails",
        "Ice at the eave holds meltwater back, against the wall as well.",
        tool="hook knife, hand roller",
        gear="gloves, harness, soft soles",
        mistake="Bridged over the corner: it tears when the wall moves.",
        check="Press along the corner by hand: no hollow.",
    )


def _courses_and_steps(field: Field, number: int, o: SidewallLengths) -> list[DetailLayer]:
    """Lay a course, its step over it, the next course over that step, from the foot up."""
    work, rule = field.work, field.rule("step-flashing")
    metal, shingle = work.catalog.material(rule.material), field.material("shingles")
    leg, length = rule.width or metal.width, metal.length
    up = float(np.sign(field.up[0]))
    butts, steps = field.butts(), []
    for course, outlines in field.pieces("shingles"):
        if not field.lay_course(number, course, outlines):
            continue
        foot = butts[course] + shingle.exposure + o.hidden.metres
        u = sorted((up * foot, up * (foot + length)))
        if work.bent(
            f"step.{course}",
            f"{metal.name}, course {course}",
            PieceKind.METAL,
            number + 1,
            metal.id,
            (u[0], u[1]),
            (-leg, leg),
            up=up,
        ):
            steps.append(foot)
            _step_nail(field, number + 1, course, (foot, length, leg))
    lap = length - shingle.exposure
    _measure(field, number, steps, (leg, length, lap))
    return [
        course_words(field, number, "cut to the wall"),
        describe(
            number + 1,
            metal,
            f"one a course: {work.text(length)} long, legs {work.least(leg)} and "
            f"{work.least(leg)}; laps the one below by {work.text(lap)}",
            "one nail, at its upper corner, to the deck or to the wall, never to both",
            "Hands the water of its course out onto the course below, away from the wall.",
            tool="bender, snips, hammer",
            gear="cut-proof gloves, harness, eye guard",
            mistake="One long angle in their place: water runs behind the shingles along it.",
            check="Count: as many pieces as courses; each lies on its shingle, under the next.",
        ),
    ]


def _step_nail(field: Field, number: int, course: int, step: tuple[float, float, float]) -> None:
    """Nail a step at its upper corner, as far from the wall as it goes."""
    rule, work = field.rule("step-flashing"), field.work
    nails = rule.nailing
    if nails is None:
        return
    foot, length, _ = step
    up = float(np.sign(field.up[0]))
    u, s = up * (foot + length - nails.inset), -nails.line
    if abs(u) < work.span[1] - nails.inset:
        work.nails(f"step.{course}.nail", "Nail of the step", number, nails.fastener, [(u, s)])


def _measure(
    field: Field, number: int, steps: list[float], lengths: tuple[float, float, float]
) -> None:
    work, rule = field.work, field.rule("step-flashing")
    leg, _, lap = lengths
    up = float(np.sign(field.up[0]))
    metal = work.catalog.material(rule.material)
    source = metal.source_of("width")
    inside = [foot for foot in steps if abs(foot) + lap < work.span[1]]
    if inside:
        u = up * inside[len(inside) // 2]
        text = f"{work.least(leg)}"
        work.measure_between("leg_roof", number + 1, (u, -leg), (u, 0.0), f"{text} on", source)
        work.measure_between("leg_wall", number + 1, (u, 0.0), (u, leg), f"{text} up", source)
        at = up * (inside[len(inside) // 2] + lap)
        source = metal.source_of("end_lap")
        words = f"lap {work.text(lap)}"
        work.measure_between("step_lap", number + 1, (u, leg), (at, leg), words, source)
    field.measure_exposure(number, -0.75 * work.size[1])


def _cladding(field: Field, number: int, o: SidewallLengths) -> DetailLayer:
    """Bring the wall's covering down over the metal."""
    work = field.work
    rule = field.rule("step-flashing")
    leg = rule.width or work.catalog.material(rule.material).width
    clad_wall(work, number, leg, o.cover.metres)
    return cladding_words(number, work.least(o.clear.metres), work.least(o.cover.metres))


def _notes(field: Field, *, foot: bool) -> tuple[str, ...]:
    rule = field.rule("step-flashing")
    seen = [
        f"One step a course, under the next shingle, over its own ({rule.source}).",
        (
            "Fixed to the deck or to the wall, so that either can move: to the deck here "
            f"({PRACTICE})."
        ),
    ]
    if foot:
        seen.append(
            "The kick-out turns the water of the last step off the wall and into the gutter; "
            "IRC 2018, R903.2.1 (edition from memory) asks for it, its size is common practice."
        )
    return (*steep_note(field), *seen)
