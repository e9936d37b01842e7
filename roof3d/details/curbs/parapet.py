"""A parapet: the membrane over a cant, up, over the top and down outside, a metal hat over all."""

from __future__ import annotations

import numpy as np
import shapely

from roof3d.catalog.laying import Border, StripRule
from roof3d.details.curbs.parapet_bench import (
    HOOK,
    ROLES,
    ParapetBench,
    ParapetLengths,
    bar_reach,
    flashing_foot,
    lay_roof,
    open_parapet,
)
from roof3d.details.curbs.parapet_words import STOP_OVER, said
from roof3d.details.frame import Face
from roof3d.details.membrane.sheets.runs import Run, run_at
from roof3d.details.membrane.words import sheet_words
from roof3d.details.model import INCH, PRACTICE, Detail, DetailLayer, PieceKind
from roof3d.details.site import DetailSite, close_build, slope_words


def build_parapet(site: DetailSite, lengths: ParapetLengths | None = None) -> Detail:
    """Build the layers of a membrane at a parapet.

    Parameters
    ----------
    site : DetailSite
        Of an edge that carries a parapet. Reaches of the sheets are measured into the corner
        and up, as the layout counts them; over the cant they lie a little short of that.
    lengths : ParapetLengths or None
    """
    o = lengths or ParapetLengths()
    b = open_parapet(site, o)
    work, rules = b.work, site.layers(b.plane.id)
    layers = [_lay_wood(b, rules["deck"].material), _lay_blocking(b, 2)]
    if b.cant:
        layers.append(_lay_cant(b, len(layers) + 1))
    runs = {role: run_at(site, work, b.plane.id, role) for role in ROLES if role in rules}
    for role, run in runs.items():
        layers.append(_lay_field(b, len(layers) + 1, role, run))
    for name in ("parapet-ply", "parapet-cap"):
        rule = site.strip(b.plane.id, name)
        if rule is not None:
            layers.append(_lay_flashing(b, len(layers) + 1, name, rule))
    stop = site.strip(b.plane.id, "stop-bar")
    if stop is not None and b.high > STOP_OVER:
        layers.append(_lay_stop(b, len(layers) + 1, stop))
    layers += _lay_coping(b, len(layers) + 1)
    return close_build(
        site,
        work,
        name="Parapet on a membrane",
        summary=slope_words(b.plane.slope, site.units),
        layers=layers,
        notes=_notes(b, runs),
        far="parapet",
    )


def _lay_wood(b: ParapetBench, deck: str) -> DetailLayer:
    """Lay deck and wall."""
    work, o = b.work, b.o
    depth = lay_roof(work, deck)
    thick, top = b.wall.thickness, b.high - o.blocking.metres
    ring = np.array(
        [(0.0, -depth - 5.5 * INCH), (thick, -depth - 5.5 * INCH), (thick, top), (0.0, top)]
    )
    start, end = work.span
    parts = [(Face.FAR, shapely.box(start, 0.0, end, top))]
    body = b.length(ring, work.span)
    work.solid("wall.1", "Parapet wall", PieceKind.WALL, 1, "", [body], parts)
    up = f"{work.text(b.high)} over the roof"
    work.measure("height", 1, (0.0, b.high), up, "as the model says")
    return said(
        "deck", 1, deck, f"panels {work.text(depth)}; wall {work.text(thick)} thick, {up}", work
    )


def _lay_blocking(b: ParapetBench, number: int) -> DetailLayer:
    """Lay the wood that gives the top its fall."""
    foot, thick = b.high - b.o.blocking.metres, b.wall.thickness
    rise = thick * b.o.fall.metres
    ring = np.array([(0.0, foot), (thick, foot), (thick, b.high + rise), (0.0, b.high)])
    body = b.length(ring, b.work.span)
    b.work.solid("blocking.1", "Top blocking", PieceKind.UNIT, number, "", [body])
    size = f"falls {b.work.text(rise)} to the roof over {b.work.text(thick)}"
    return said("blocking", number, "", size, b.work)


def _lay_cant(b: ParapetBench, number: int) -> DetailLayer:
    work, leg = b.work, b.cant
    rule = b.site.strip(b.plane.id, "cant")
    material = rule.material if rule else "cant-strip"
    ring = np.array([b.wrap.line[1], (0.0, 0.0), (0.0, leg)])
    start, end = work.span
    parts = [
        (Face.NEAR, shapely.box(start, -leg, end, 0.0)),
        (Face.FAR, shapely.box(start, 0.0, end, leg)),
    ]
    title = work.catalog.material(material).name
    body = b.length(ring, work.span)
    work.solid("cant.1", title, PieceKind.UNIT, number, material, [body], parts)
    return said("cant", number, material, f"{work.text(leg)} out and up", work)


def _lay_field(b: ParapetBench, number: int, role: str, run: Run) -> DetailLayer:
    """Lay one layer of the field over the cant and up; laps square to the wall are left out."""
    work, rule = b.work, b.site.layers(b.plane.id)[role]
    made = work.catalog.material(rule.material)
    past = rule.reach_at(Border.HEADWALL)
    reaches = [(-work.size[1], past)]
    if not run.square:
        cut = [(max(low, -work.size[1]), min(high, past)) for low, high in run.reaches]
        reaches = [(low, high) for low, high in cut if high - low > INCH]
    for k, reach in enumerate(reaches, start=1):
        b.lay((f"{role}.{k}", f"{made.name} {k}", PieceKind.SHEET, number, made.id), reach)
    size = f"{work.least(past)} up the wall, side laps {work.least(run.lap)}"
    if role == "base" and rule.nailing is not None:
        start, end = work.span
        step = rule.nailing.lap_spacing
        us = [start + (k + 0.5) * step for k in range(int((end - start) / step))]
        at = b.cant + (past - b.cant) / 2.0
        b.heads("base.nails", number, rule.nailing, [np.array((u, at)) for u in us])
    return sheet_words(
        b.site,
        work,
        number,
        role,
        size,
        mistake="Cut off at the toe of the cant, so that the flashing alone closes it.",
        check="See its edge at the top of the cant before the flashing comes.",
    )


def _lay_flashing(b: ParapetBench, number: int, name: str, rule: StripRule) -> DetailLayer:
    """Lay a sheet from the field up inside, over the top and down outside, in two lengths."""
    work, o = b.work, b.o
    made = work.catalog.material(rule.material)
    foot, end = flashing_foot(rule), b.top + o.down.metres
    b.lay((f"{name}.1", made.name, PieceKind.SHEET, number, made.id), (foot, end))
    out = -foot - b.cant
    text = f"{work.least(out)} past the cant"
    work.measure(f"{name}_out", number, (foot, -b.cant), text, rule.source)
    if rule.nailing is not None:
        start, stop = work.span
        step = rule.nailing.lap_spacing
        us = [start + (k + 0.5) * step for k in range(int((stop - start) / step))]
        at = end - rule.nailing.strip_first
        b.heads(f"{name}.nails", number, rule.nailing, [np.array((u, at)) for u in us])
    size = f"{text} on the roof, up, over the top and {work.least(o.down.metres)} down outside"
    return said(name, number, made.id, size, work, rule=rule)


def _lay_stop(b: ParapetBench, number: int, rule: StripRule) -> DetailLayer:
    made = b.work.catalog.material(rule.material)
    reach = bar_reach(b.site, rule)
    b.lay(("stop.1", "Stop bar", PieceKind.METAL, number, made.id), reach)
    if rule.nailing is not None:
        start, end = b.work.span
        step = rule.nailing.lap_spacing
        us = [start + (k + 0.5) * step for k in range(int((end - start) / step))]
        middle = sum(reach) / 2.0
        b.heads("stop.nails", number, rule.nailing, [np.array((u, middle)) for u in us])
    text = f"{b.work.text(reach[1])} over the roof"
    return said("stop-bar", number, made.id, text, b.work, rule=rule)


def _lay_coping(b: ParapetBench, number: int) -> list[DetailLayer]:
    """Lay hook strip, joint plate in its sealant, and two lengths of coping."""
    work, o, site = b.work, b.o, b.site
    words: list[DetailLayer] = []
    hook, plate, coping = (
        site.strip(b.plane.id, n) for n in ("hook-strip", "coping-plate", "coping")
    )
    if hook is None or coping is None:
        return words
    start, end = work.span
    strip = (b.top + HOOK[0], b.top + HOOK[1])
    b.lay(("hook.1", "Hook strip", PieceKind.METAL, number, hook.material), strip)
    if hook.nailing is not None:
        step = hook.nailing.lap_spacing
        us = [start + (k + 0.5) * step for k in range(int((end - start) / step))]
        at = strip[0] + hook.nailing.strip_first
        b.heads("hook.nails", number, hook.nailing, [np.array((u, at)) for u in us])
    width = work.text(HOOK[1] - HOOK[0])
    text = f"{width} down the outside"
    words.append(said("hook-strip", number, hook.material, text, work, rule=hook))
    number += 1
    joint = min(3.0 * INCH, end / 2.0)
    if plate is not None:
        half = min(work.catalog.material(plate.material).length / 2.0, end - joint - INCH)
        reach = (b.high - o.inside.metres + INCH, b.top + o.outside.metres)
        span = (joint - half, joint + half)
        b.lay(("plate.1", "Joint plate", PieceKind.METAL, number, plate.material), reach, [span])
        text = f"{work.text(2.0 * half)} long under the joint, in two bands of sealant"
        words.append(said("coping-plate", number, plate.material, text, work, gap=o.gap.metres))
        number += 1
    reach = (b.high - o.inside.metres, b.top + o.outside.metres)
    gap = o.gap.metres / 2.0
    spans = [(start, joint - gap), (joint + gap, end)]
    names = ("coping.1", "Coping", PieceKind.METAL, number, coping.material)
    ring = b.lay(names, reach, spans)
    if coping.nailing is not None:
        step = coping.nailing.lap_spacing
        us = [start + coping.nailing.lap_start + k * step for k in range(3)]
        at = b.high - o.inside.metres + coping.nailing.strip_first
        rows = [np.array((u, at)) for u in us if u < end - INCH]
        b.heads("coping.screws", number, coping.nailing, rows)
    inner = (b.high - o.inside.metres, b.high)
    work.measure("coping_in", number, inner, f"{work.least(o.inside.metres)} down", o.inside.source)
    size = (
        f"{work.least(o.inside.metres)} down inside, {work.least(o.outside.metres)} outside, "
        f"hooked; joints {work.text(o.gap.metres)} open"
    )
    words.append(said("coping", number, coping.material, size, work))
    if plate is not None and plate.bed:
        bead = b.length(ring, (joint - gap, joint + gap))
        work.solid("sealant.1", "Sealant", PieceKind.BED, number + 1, plate.bed, [bead])
        text = f"fills the joint, {work.text(o.gap.metres)} wide, over the plate"
        words.append(said("sealant", number + 1, plate.bed, text, work))
    return words


def _notes(b: ParapetBench, runs: dict[str, Run]) -> tuple[str, ...]:
    notes = [
        f"The sheets alone keep the wall dry: the coping is a hat, not the seal ({PRACTICE}).",
        f"Top and coping fall to the roof, so that no dirty water runs down the face ({PRACTICE}).",
        (
            f"A parapet lower than {b.work.least(b.o.guard.metres)} is no guard against falls "
            f"({b.o.guard.source})."
        ),
    ]
    if any(run.square for run in runs.values()):
        notes.append("Side laps of the field run square to this wall; they are left out here.")
    if abs(b.work.frame.along[2]) > b.work.tol.level:
        notes.append("Its top is level; the roof climbs along its foot.")
    return tuple(notes)
