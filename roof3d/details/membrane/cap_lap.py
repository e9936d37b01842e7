"""End lap of the top sheet, and the joint of three sheets with its two corner cuts."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import shapely

from roof3d.details.build_up import BuildUp
from roof3d.details.deck import lay_panels, lay_rafters
from roof3d.details.frame import Face, Frame
from roof3d.details.frames import frame_on_plane, room_on
from roof3d.details.membrane.options import MembraneOptions
from roof3d.details.membrane.sheets.end_laps import Box, EndLap, find_end_lap
from roof3d.details.membrane.sheets.quilt import Quilt, open_quilt
from roof3d.details.membrane.sheets.runs import edges_of, lay_run, nail_run, run_at
from roof3d.details.membrane.words import base_words, bed_words, cap_words, ply_words
from roof3d.details.model import PRACTICE, Detail, DetailLayer, PieceKind
from roof3d.details.rows import describe, lap_source
from roof3d.details.site import DetailSite, close_build, open_build, slope_words
from roof3d.roof.model import Plane

_FINE = 6
"""Grid lines across a corner cut."""


def build_cap_lap(site: DetailSite) -> Detail:
    """Build the joint of three sheets of the top layer of a membrane.

    Parameters
    ----------
    site : DetailSite
        Of a plane; the joint is the layout's own where it has an end lap, else it is drawn
        in the middle of the plane.
    """
    o = MembraneOptions()
    plane = site.roof.plane(site.place.planes[0])
    joint = find_end_lap(site, plane)
    frame = frame_on_plane(joint.middle, plane)
    work = open_build(site, frame, _size(plane, frame, joint, o))
    rules = site.layers(plane.id)
    under = [role for role in ("base", "ply") if role in rules]
    runs = {role: run_at(site, work, plane.id, role) for role in under}
    cap = site.catalog.material(rules["cap"].material)
    end = joint.lap[1] - joint.lap[0]
    legs = min(rules["cap"].side_lap or cap.side_lap, end)
    far = work.size[1] + work.size[2]
    us, ss = _edges(joint, frame, legs)
    for role in under:
        u, s = edges_of(runs[role], far)
        us[0].extend(u)
        ss[0].extend(s)
    quilt = open_quilt(work, us[0], ss[0], fine=(us[1], ss[1]))
    layers = [_lay_deck(site, work, plane)]
    for role in under:
        number, rule = len(layers) + 1, rules[role]
        made = work.catalog.material(rule.material)
        run = runs[role]
        lay_run(quilt, run, far, (role, made.name, number, made.id), nails=None)
        size = f"side laps {work.least(run.lap)}{_apart(site, work, plane, role)}"
        if role == "base":
            if rule.nailing is not None:
                nail_run(work, number, run, rule.nailing, clear=-far)
            layers.append(base_words(work, number, made, size, rule.nailing))
        else:
            layers.append(ply_words(number, made, size, primed=bool(rule.primer)))
    layers += _lay_joint(site, quilt, joint, len(layers) + 1, legs)
    return close_build(
        site,
        work,
        name="End lap and joint of three sheets",
        summary=slope_words(plane.slope, site.units),
        layers=layers,
        notes=_notes(joint),
    )


def _apart(site: DetailSite, work: BuildUp, plane: Plane, role: str) -> str:
    """Say how far the side laps stand off those of the layer below, where any do."""
    layer = site.laid_layer(plane.id, role)
    if layer is None or not np.isfinite(layer.least_side_offset):
        return ""
    return f", {work.text(layer.least_side_offset)} or more from those below"


def _size(
    plane: Plane, frame: Frame, joint: EndLap, o: MembraneOptions
) -> tuple[float, float, float]:
    """Return the size of the cut-out: a course and some of its neighbours, what there is."""
    x, y, z = frame.along
    course = (joint.first[3] - joint.first[1]) / 2.0
    rooms = [room_on(plane, frame.origin, way) for way in (frame.along, (-x, -y, -z))]
    wide, deep = o.joint_width.metres / 2.0, course + o.neighbour.metres
    if not joint.across:
        wide, deep = deep, wide
    return (
        2.0 * min(wide, *rooms),
        min(deep, room_on(plane, frame.origin, frame.near)),
        min(deep, room_on(plane, frame.origin, frame.far)),
    )


def _edges(
    joint: EndLap, frame: Frame, legs: float
) -> tuple[tuple[list[float], list[float]], tuple[list[float], list[float]]]:
    """Edges of the sheets, and finer lines across the corner cuts, in u and in s."""
    marks: list[shapely.Polygon] = [
        joint.seen(frame, shapely.box(*box))
        for box in (joint.first, joint.second, *joint.above, *joint.below)
    ]
    corners = np.concatenate([shapely.get_coordinates(mark) for mark in marks])
    cuts = [
        shapely.get_coordinates(joint.seen(frame, joint.cut(box, legs=legs)))
        for box in (joint.first, joint.second)
    ]
    fine: list[list[float]] = []
    for axis in (0, 1):
        lines: list[float] = []
        for ring in cuts:
            steps = np.diff(ring, axis=0)
            askew = np.flatnonzero(np.abs(steps).min(axis=1) > legs / 2.0)
            for k in askew:
                lines += np.linspace(ring[k][axis], ring[k + 1][axis], _FINE + 1).tolist()
        fine.append(lines)
    return (corners[:, 0].tolist(), fine[0]), (corners[:, 1].tolist(), fine[1])


def _lay_deck(site: DetailSite, work: BuildUp, plane: Plane) -> DetailLayer:
    material = site.layers(plane.id)["deck"].material
    made = work.catalog.material(material)
    for face in Face:
        lay_rafters(work, made.thickness, face, plane.id)
        lay_panels(work, material, face, plane.id)
    return describe(
        1,
        made,
        f"panels {work.text(made.thickness)} thick, a small gap between them",
        "nails or screws, heads flush",
        "A step in the deck shows through every sheet and works at the laps.",
        tool="screw gun, straightedge",
        gear="eye guard, gloves, harness",
        mistake="A raised panel edge or screw head under a lap.",
        check="Sweep it, then pull a straightedge over every joint.",
    )


def _lay_joint(
    site: DetailSite, quilt: Quilt, joint: EndLap, number: int, legs: float
) -> list[DetailLayer]:
    """Lay the sheets one after another: below, first, bed, second, above."""
    work = quilt.work
    rule = site.layers(site.place.planes[0])["cap"]
    made = work.catalog.material(rule.material)

    def lay(name: str, layer: int, title: str, box: Box) -> None:
        outline = joint.seen(work.frame, joint.cut(box, legs=legs))
        quilt.lay(f"cap.{name}", title, PieceKind.SHEET, layer, made.id, outline)

    for k, box in enumerate(joint.below, start=1):
        lay(f"below_{k}", number, f"{made.name}, course below", box)
    lay("first", number, f"{made.name}, first sheet", joint.first)
    words = [_first_words(site, work, number, legs, cut=bool(joint.below))]
    a, b = joint.lap
    if joint.below:
        tip = (b - legs, b) if joint.way > 0.0 else (a, a + legs)
        _measure(work, joint, number, tip, "first_leg", f"cut {work.text(legs)}")
    if rule.bed:
        number += 1
        cement = work.catalog.material(rule.bed)
        # Only where the second sheet lies on the first: both corners are cut away there.
        shared = joint.cut(joint.first, legs=legs).intersection(joint.cut(joint.second, legs=legs))
        outline = joint.seen(work.frame, shapely.Polygon(shared.exterior))
        quilt.lay("bed.1", "Cement in the end lap", PieceKind.BED, number, cement.id, outline)
        size = f"the whole end lap, {work.text(cement.thickness)} thick at most"
        why = "Granules do not stick to a sheet: the bed closes the space between them."
        words.append(bed_words(number, cement, size, why))
    number += 1
    lay("second", number, f"{made.name}, second sheet", joint.second)
    _measure(work, joint, number, (a, b), "end_lap", f"end lap {work.least(b - a)}")
    words.append(_second_words(site, work, number, b - a, legs, cut=bool(joint.above)))
    if joint.above:
        number += 1
        for k, box in enumerate(joint.above, start=1):
            lay(f"above_{k}", number, f"{made.name}, next course", box)
        lap = joint.first[3] - joint.above[0][1]
        words.append(_above_words(site, work, number, lap))
        _measure_side(work, joint, number, lap, rule.source)
    return words


def _measure(
    work: BuildUp, joint: EndLap, number: int, ends: tuple[float, float], name: str, words: str
) -> None:
    """Measure along the course, at its low edge."""
    made = work.catalog.material(work.pieces[-1].material)
    a, b = ends
    low = joint.first[1]
    corners = shapely.get_coordinates(joint.seen(work.frame, shapely.box(a, low, b, low + b - a)))
    first = min(corners[:4].tolist(), key=lambda p: (p[1], p[0]) if joint.across else (p[0], p[1]))
    second = [first[0] + (b - a), first[1]] if joint.across else [first[0], first[1] + (b - a)]
    source = made.source_of("end_lap") if name == "end_lap" else PRACTICE
    work.measure_between(name, number, tuple(first), tuple(second), words, source)


def _measure_side(work: BuildUp, joint: EndLap, number: int, lap: float, drawn: str) -> None:
    made = work.catalog.material(work.pieces[-1].material)
    box = joint.above[0]
    a, b = joint.lap
    seen = joint.seen(work.frame, shapely.box(a, box[1], b, box[1] + lap))
    u0, s0, u1, s1 = seen.bounds
    aside = 0.3 * work.size[0] if joint.across else 0.5 * work.size[1]
    start, end = ((aside, s0), (aside, s1)) if joint.across else ((u0, -aside), (u1, -aside))
    words = f"side lap {work.least(lap)}"
    source = lap_source(work, made, lap, drawn)
    work.measure_between("side_lap", number, start, end, words, source)


def _first_words(
    site: DetailSite, work: BuildUp, number: int, legs: float, *, cut: bool
) -> DetailLayer:
    size = "its end straight and square"
    if cut:
        size = f"low corner of its lapped end cut at 45 degrees, legs {work.text(legs)}"
    return _named(
        "First sheet, and course below" if cut else "First sheet",
        site,
        number,
        size,
        mistake="Corner left on: three sheets make a step, and a tunnel beside it.",
        check="Mark where the end lap will stop, and see the cut inside the mark.",
    )


def _second_words(
    site: DetailSite, work: BuildUp, number: int, end: float, legs: float, *, cut: bool
) -> DetailLayer:
    size = f"end lap {work.least(end)}"
    if cut:
        size += f"; high corner cut at 45 degrees, legs {work.text(legs)}"
    return _named(
        "Second sheet",
        site,
        number,
        size,
        mistake="Pressed onto dry granules: the end lifts and opens.",
        check="The end lap was lined out first, with chalk; probed along the whole end, nothing "
        "opens.",
    )


def _above_words(site: DetailSite, work: BuildUp, number: int, lap: float) -> DetailLayer:
    return _named(
        "Next course",
        site,
        number,
        f"side lap {work.least(lap)} over both, on the selvage",
        mistake="Lap rolled past the joint without pressing into its steps; sides not butted to "
        "the selvage line, so that a seam shows.",
        check="Press a blunt probe into the steps at the joint: it stops at once.",
    )


def _named(
    name: str, site: DetailSite, number: int, size: str, *, mistake: str, check: str
) -> DetailLayer:
    """Return the words of the top sheet under a name that tells it from its neighbours."""
    return replace(cap_words(site, number, size, mistake=mistake, check=check), name=name)


def _notes(joint: EndLap) -> tuple[str, ...]:
    where = (
        "Drawn where the layout has this end lap."
        if joint.real
        else "No sheet of this plane needs an end lap; it is drawn in the middle of it."
    )
    return (
        f"Each cut takes the middle one of three sheets out of the lap ({PRACTICE}).",
        "End laps of neighbouring courses stand apart, so that no two joints touch.",
        where,
    )
