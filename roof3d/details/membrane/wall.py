"""A membrane at a wall: over a cant and up, a flashing of its own, a bar, and metal over all."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely

from roof3d.catalog.laying import Border, StripRule
from roof3d.details.build_up import BuildUp
from roof3d.details.deck import lay_deck_to_upright
from roof3d.details.frame import Face
from roof3d.details.frames import frame_at_wall, room_on
from roof3d.details.membrane.options import MembraneOptions
from roof3d.details.membrane.sheets.cant import cant_bend
from roof3d.details.membrane.sheets.quilt import Quilt, open_quilt
from roof3d.details.membrane.sheets.runs import (
    Run,
    edges_of,
    lap_in_sight,
    lay_run,
    nail_run,
    run_at,
)
from roof3d.details.membrane.wall_words import STRIP_WORDS, strip_words
from roof3d.details.membrane.words import sheet_words
from roof3d.details.model import INCH, PRACTICE, Detail, DetailLayer, PieceKind
from roof3d.details.rows import lap_source
from roof3d.details.shapes.solids import extruded
from roof3d.details.site import DetailSite, close_build, open_build, slope_words
from roof3d.roof.model import Plane, Role

ROLES = ("base", "ply", "cap")
STRIPS = ("flashing-ply", "flashing-cap", "termination-bar", "counterflashing")
_LAP_SHARES = {"flashing-ply": -0.27, "flashing-cap": 0.08, "counterflashing": 0.3}
"""Where two lengths of a strip lap, as a share of the width from its middle."""


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class _Wall:
    """A wall being flashed."""

    site: DetailSite
    work: BuildUp
    plane: Plane
    runs: dict[str, Run]
    past: dict[str, float]
    strips: dict[str, StripRule]
    cant: float


def build_membrane_wall(site: DetailSite) -> Detail:
    """Build the layers of a membrane at a headwall or sidewall.

    Parameters
    ----------
    site : DetailSite
        The layers are those that its assembly has. Reaches of the sheets are measured into
        the corner and up, as the layout counts them; over the cant they lie a little short
        of that, at the same heights.
    """
    o = MembraneOptions()
    edge = site.roof.edge(site.place.edge)
    plane = site.roof.plane(site.place.planes[0])
    border = Border.HEADWALL if edge.role is Role.HEADWALL else Border.SIDEWALL
    frame = frame_at_wall(edge.ends, plane)
    size = (
        min(site.options.width.metres, edge.length),
        min(o.wall_run.metres, room_on(plane, frame.origin, frame.near)),
        o.wall.metres,
    )
    work = open_build(site, frame, size, folded=True)
    rules = site.layers(plane.id)
    roles = [role for role in ROLES if role in rules]
    found = {name: site.strip(plane.id, name) for name in ("cant", *STRIPS)}
    strips = {name: rule for name, rule in found.items() if rule is not None}
    w = _Wall(
        site=site,
        work=work,
        plane=plane,
        runs={role: run_at(site, work, plane.id, role) for role in roles},
        past={role: rules[role].reach_at(border) for role in roles},
        strips=strips,
        cant=site.catalog.material(strips["cant"].material).width if "cant" in strips else 0.0,
    )
    layers = [lay_deck_to_upright(work, rules["deck"].material, "wall")]
    quilt = _quilt(w)
    if w.cant > 0.0:
        layers.append(_lay_cant(w, len(layers) + 1))
    for role in roles:
        layers.append(_lay_sheets(w, quilt, len(layers) + 1, role))
    for name in STRIPS:
        if name in strips:
            layers.append(_lay_strip(w, quilt, len(layers) + 1, name))
    return close_build(
        site,
        work,
        name=f"{'Headwall' if border is Border.HEADWALL else 'Sidewall'} on a membrane",
        summary=slope_words(plane.slope, site.units),
        layers=layers,
        notes=_notes(w),
        far="wall",
    )


def _quilt(w: _Wall) -> Quilt:
    us: list[float] = []
    ss: list[float] = [-w.cant, w.cant]
    for role, run in w.runs.items():
        u, s = edges_of(run, w.past[role])
        us += u
        ss += s
    for name, rule in w.strips.items():
        if name != "cant":
            ss += _reach(w, rule)
            us += _joint(w, name, rule) or ()
    bend = cant_bend(w.work.frame, w.cant) if w.cant > 0.0 else None
    # The counterflashing lies on the wall above the bar before it steps out over it.
    heads = sorted(_reach(w, w.strips[n])[1] for n in STRIPS[-2:] if n in w.strips)
    steps = [sum(heads) / 2.0] if len(heads) > 1 else []
    # Sheets of the field end below the bar: what steps down over them is flat again behind it.
    if "termination-bar" in w.strips:
        top, foot = max(*w.past.values(), w.cant), _reach(w, w.strips["termination-bar"])[0]
        steps += [top + (foot - top) * k / 3.0 for k in (1, 2)]
    # At a cant the bends are too near one another for a short ramp: mitres need their room.
    return open_quilt(w.work, us, ss, bend=bend, ramp=1.5 * INCH, fine=((), steps))


def _lay_cant(w: _Wall, number: int) -> DetailLayer:
    """Lay the cant strip into the corner."""
    work, leg = w.work, w.cant
    start, end = work.span
    ring = [work.frame.point(start, s, 0.0) for s in (-leg, 0.0, leg)]
    x, y, z = ((end - start) * np.array(work.frame.along)).tolist()
    made = work.catalog.material(w.strips["cant"].material)
    faces = ((Face.NEAR, -leg, 0.0), (Face.FAR, 0.0, leg))
    work.solid(
        "cant.1",
        made.name,
        PieceKind.UNIT,
        number,
        made.id,
        [extruded(ring, (x, y, z))],
        [(face, shapely.box(start, a, end, b)) for face, a, b in faces],
    )
    return strip_words(w.site, w.work, "cant", number, made, f"{work.text(leg)} out and up")


def _lay_sheets(w: _Wall, quilt: Quilt, number: int, role: str) -> DetailLayer:
    """Lay one layer of the field over the cant and up the wall."""
    work, run, past = w.work, w.runs[role], w.past[role]
    rule = w.site.layers(w.plane.id)[role]
    made = work.catalog.material(rule.material)
    nails = rule.nailing if role == "cap" else None
    lay_run(quilt, run, past, (role, made.name, number, made.id), nails=nails)
    if role == "base" and rule.nailing is not None:
        nail_run(work, number, run, rule.nailing, clear=w.cant + INCH)
    if role != "ply":
        words = f"{work.least(past)} up"
        work.measure(f"{role}_up", number, (0.0, past), words, rule.source)
    ends = lap_in_sight(work, run, 10.0 * INCH, past)
    lap = work.least(run.lap)
    if ends is not None:
        source = lap_source(work, made, run.lap, rule.source)
        work.measure_between(f"{role}_lap", number, *ends, f"lap {lap}", source)
    size = f"{work.least(past)} up the wall, side laps {lap}"
    return sheet_words(
        w.site,
        work,
        number,
        role,
        size,
        mistake="Cut off at the toe of the cant, so that the flashing alone closes it.",
        check="See its edge at the top of the cant before the flashing comes.",
    )


def _reach(w: _Wall, rule: StripRule) -> tuple[float, float]:
    """From where to where a strip lies in s; its start is measured inward from the corner."""
    made = w.site.catalog.material(rule.material)
    head = -rule.start.at(0.0, 0.0)
    return head - (rule.width or made.width), head


def _joint(w: _Wall, name: str, rule: StripRule) -> tuple[float, float] | None:
    """From where to where two lengths of a strip lap in u; None where it is drawn whole."""
    if name not in _LAP_SHARES:
        return None
    lap = rule.lap or w.site.catalog.material(rule.material).end_lap
    middle = _LAP_SHARES[name] * w.work.size[0]
    return middle - lap / 2.0, middle + lap / 2.0


def _lay_strip(w: _Wall, quilt: Quilt, number: int, name: str) -> DetailLayer:
    """Lay a strip of the flashing in two lengths, the lower one first, and fix its head."""
    work, rule = w.work, w.strips[name]
    made = work.catalog.material(rule.material)
    reach, joint = _reach(w, rule), _joint(w, name, rule)
    start, end = work.span
    spans = [(start, end)] if joint is None else [(start, joint[1]), (joint[0], end)]
    if work.frame.along[2] < -work.tol.level:
        spans.reverse()
    metal = name in {"termination-bar", "counterflashing"}
    kind = PieceKind.METAL if metal else PieceKind.SHEET
    if metal:
        quilt.level(shapely.box(start, reach[0], end, reach[1]))
    for k, (a, b) in enumerate(spans, start=1):
        title = f"{STRIP_WORDS[name].title} {k}" if len(spans) > 1 else STRIP_WORDS[name].title
        outline = shapely.box(a, reach[0], b, reach[1])
        quilt.lay(f"{name}.{k}", title, kind, number, made.id, outline)
    nails = rule.nailing
    if nails is not None:
        at = reach[1] - nails.strip_first
        count = int((end - start) / nails.lap_spacing)
        spots = [(start + (k + 0.5) * nails.lap_spacing, at) for k in range(count)]
        work.nails(f"{name}.nails", "Fasteners of the head", number, nails.fastener, spots)
    _measure(w, number, name, reach, joint)
    low, high = (work.least(abs(end)) for end in reach)
    size = f"from {low} on the roof to {high} up" if reach[0] < 0.0 else f"{low} to {high} up"
    return strip_words(w.site, work, name, number, made, size)


def _measure(
    w: _Wall,
    number: int,
    name: str,
    reach: tuple[float, float],
    joint: tuple[float, float] | None,
) -> None:
    work, rule = w.work, w.strips[name]
    if name.startswith("flashing"):
        toe = (reach[0], -w.cant)
        words = f"{work.least(toe[1] - toe[0])} past the cant"
        work.measure(f"{name}_out", number, toe, words, rule.source)
        if name == "flashing-cap" and joint is not None:
            s = (reach[0] - w.cant) / 2.0
            lap = f"lap {work.least(joint[1] - joint[0])}"
            work.measure_between(
                f"{name}_lap", number, (joint[0], s), (joint[1], s), lap, rule.source
            )
    if name == "flashing-cap":
        words = f"{work.least(reach[1])} up"
        work.measure("flashing_up", number, (0.0, reach[1]), words, rule.source)
    bar = w.strips.get("flashing-cap")
    if name == "counterflashing" and bar is not None:
        cover = (reach[0], -bar.start.at(0.0, 0.0))
        words = f"covers {work.least(cover[1] - cover[0])}"
        work.measure("cover", number, cover, words, rule.source)


def _notes(w: _Wall) -> tuple[str, ...]:
    notes = [
        f"Wall covering comes last, over the metal's upper edge; never behind it ({PRACTICE}).",
        f"The counterflashing is fixed to the wall alone, so that the roof can move ({PRACTICE}).",
    ]
    if "counterflashing" in w.strips and w.cant > 0.0:
        low = _reach(w, w.strips["counterflashing"])[0]
        notes.append(
            f"Its lower edge stays {w.work.text(low - w.cant)} above the cant, in the dry."
        )
    if w.cant > 0.0 and w.site.assembly(w.plane.id).uses_heat:
        notes.append(f"Where heat is used the cant is of a kind that does not burn ({PRACTICE}).")
    if not all(run.as_laid for run in w.runs.values()):
        notes.append("The courses meet this wall askew; they are drawn as if square to it.")
    return tuple(notes)
