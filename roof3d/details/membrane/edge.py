"""Free edges of a membrane: eave, high edge and rake, the cap over the flange of the metal."""

from __future__ import annotations

from dataclasses import dataclass

from roof3d.catalog.laying import Border
from roof3d.details.build_up import BuildUp
from roof3d.details.deck import lay_deck_to_upright
from roof3d.details.frames import frame_at_drop, room_on
from roof3d.details.membrane.edge_metal import EdgeMetal, edge_metal, lay_metal
from roof3d.details.membrane.options import MembraneOptions
from roof3d.details.membrane.sheets.quilt import Quilt, open_quilt
from roof3d.details.membrane.sheets.runs import (
    Run,
    edges_of,
    lap_in_sight,
    lay_run,
    nail_run,
    run_at,
)
from roof3d.details.membrane.words import base_words, cap_words, ply_words
from roof3d.details.model import INCH, PRACTICE, Detail, DetailLayer
from roof3d.details.rows import lap_source
from roof3d.details.site import DetailSite, close_build, open_build, slope_words
from roof3d.roof.model import Plane, Role
from roof3d.tolerance import DEFAULT

ROLES = ("base", "ply", "cap")
_LIP_BELOW = 1.0 / 12.0
"""On a rake flatter than this water may run over the side."""


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class _Edge:
    """An edge being built."""

    site: DetailSite
    work: BuildUp
    plane: Plane
    border: Border
    board: str
    runs: dict[str, Run]
    past: dict[str, float]


def build_membrane_eave(site: DetailSite) -> Detail:
    """Build the layers of a low-slope eave, or of the high edge of a shed.

    Parameters
    ----------
    site : DetailSite
        Of an eave or high edge; the layers are those that its assembly has.
    """
    o = MembraneOptions()
    high = site.roof.edge(site.place.edge).role is Role.HIGH_EDGE
    name = "High edge of a membrane" if high else "Eave of a membrane"
    way = (
        "Water runs away from this edge; wind drives it back, so it is closed like an eave."
        if high
        else "Water leaves over cap, then metal; each lies over what is below it."
    )
    border = Border.HIGH_EDGE if high else Border.EAVE
    return _build(site, (border, "fascia", name, way), o.eave_run.metres, o)


def build_membrane_rake(site: DetailSite) -> Detail:
    """Build the layers of a low-slope rake, along which the water runs.

    Parameters
    ----------
    site : DetailSite
        Of a rake; the layers are those that its assembly has.
    """
    o = MembraneOptions()
    (plane,) = site.place.planes
    flat = site.roof.plane(plane).slope < _LIP_BELOW - DEFAULT.slope
    way = (
        "Flatter than 1:12: a raised edge or lip of 3/4 to 1 in keeps water on the roof "
        f"({PRACTICE})."
        if flat
        else "Water runs along this edge; the metal's higher lengths lie over the lower ones."
    )
    words = (Border.RAKE, "barge board", "Rake of a membrane", way)
    return _build(site, words, o.rake_run.metres, o)


def _build(
    site: DetailSite, words: tuple[Border, str, str, str], run: float, o: MembraneOptions
) -> Detail:
    border, board, name, way = words
    edge = site.roof.edge(site.place.edge)
    plane = site.roof.plane(site.place.planes[0])
    frame = frame_at_drop(edge.ends, plane)
    size = (
        min(site.options.width.metres, edge.length),
        min(run, room_on(plane, frame.origin, frame.near)),
        o.board.metres,
    )
    work = open_build(site, frame, size, folded=True)
    rules = site.layers(plane.id)
    roles = [role for role in ROLES if role in rules]
    e = _Edge(
        site=site,
        work=work,
        plane=plane,
        border=border,
        board=board,
        runs={role: run_at(site, work, plane.id, role) for role in roles},
        past={role: rules[role].reach_at(border) for role in roles},
    )
    metal = edge_metal(site, work, plane.id, o)
    layers = [lay_deck_to_upright(work, rules["deck"].material, board)]
    quilt = _quilt(e, metal)
    for role in roles[:-1]:
        layers.append(_lay_under(e, quilt, len(layers) + 1, role, o))
    if metal is not None:
        # Flatter than that, water may run over the side of a rake.
        flat = border is Border.RAKE and plane.slope < _LIP_BELOW - DEFAULT.slope
        lip = o.lip.metres if flat else 0.0
        layers += lay_metal(work, quilt, metal, len(layers) + 1, o, lip=lip)
    layers.append(_lay_cap(e, quilt, len(layers) + 1, metal))
    return close_build(
        site,
        work,
        name=name,
        summary=slope_words(plane.slope, site.units),
        layers=layers,
        notes=(way, *_notes(e, metal)),
        far=board,
    )


def _quilt(e: _Edge, metal: EdgeMetal | None) -> Quilt:
    us: list[float] = []
    ss: list[float] = []
    for role, run in e.runs.items():
        u, s = edges_of(run, e.past[role])
        us += u
        ss += s
    if metal is not None:
        u, s = metal.edges
        us += u
        ss += s
    return open_quilt(e.work, us, ss)


def _lay_under(e: _Edge, quilt: Quilt, number: int, role: str, o: MembraneOptions) -> DetailLayer:
    """Lay base or ply to the edge or over it."""
    work, run, past = e.work, e.runs[role], e.past[role]
    rule = e.site.layers(e.plane.id)[role]
    made = work.catalog.material(rule.material)
    lay_run(quilt, run, past, (role, made.name, number, made.id), nails=None)
    if role == "base" and rule.nailing is not None:
        nail_run(work, number, run, rule.nailing, clear=o.nail_clear.metres)
    if past > 0.0:
        words = f"{work.least(past)} down"
        work.measure(f"{role}_down", number, (0.0, past), words, rule.source)
    source = lap_source(work, made, run.lap, rule.source)
    measure_lap(work, run, (f"{role}_lap", number), past, source)
    lap = work.least(run.lap)
    turned = (
        f"turned {work.least(past)} down the {e.board}" if past > 0.0 else "flush with the edge"
    )
    size = f"{turned}, side laps {lap}"
    if role == "base":
        return base_words(work, number, made, size, rule.nailing)
    return ply_words(number, made, size, primed=bool(rule.primer))


def measure_lap(work: BuildUp, run: Run, what: tuple[str, int], past: float, source: str) -> None:
    """Note a side lap of a run, where the cut-out shows one whole."""
    ends = lap_in_sight(work, run, 5.0 * INCH, past)
    if ends is not None:
        name, number = what
        words = f"lap {work.least(run.lap)}"
        work.measure_between(name, number, *ends, words, source)


def _lay_cap(e: _Edge, quilt: Quilt, number: int, metal: EdgeMetal | None) -> DetailLayer:
    """Lay the top sheet over the flange."""
    work, run, past = e.work, e.runs["cap"], e.past["cap"]
    rule = e.site.layers(e.plane.id)["cap"]
    made = work.catalog.material(rule.material)
    lay_run(quilt, run, past, ("cap", made.name, number, made.id), nails=rule.nailing)
    source = lap_source(work, made, run.lap, rule.source)
    measure_lap(work, run, ("cap_lap", number), past, source)
    over = ""
    if metal is not None:
        covered = metal.flange + past
        over = f"{work.least(covered)} over the flange, "
        reach = (-metal.flange, past)
        source = rule.source
        work.measure("cap_over", number, reach, f"{work.least(covered)} on flange", source)
    return cap_words(
        e.site,
        number,
        f"{over}{work.text(-past)} of metal in sight, side laps {work.least(run.lap)}",
        mistake="Stopped behind the flange, so that its back edge meets the water.",
        check="Tape in from the edge: only a finger of metal shows, the same all along.",
        at_metal=metal is not None,
    )


def _notes(e: _Edge, metal: EdgeMetal | None) -> tuple[str, ...]:
    notes = []
    if metal is not None:
        under = "bedded below, covered above" if metal.bed else "welded under the sheet"
        notes.append(
            f"Nothing is nailed through the top sheet: the flange is {under} ({PRACTICE})."
        )
    if e.past.get("base", 0.0) > 0.0:
        notes.append(f"Should the metal leak, the turned-down base drips clear ({PRACTICE}).")
    if not all(run.as_laid for run in e.runs.values()):
        notes.append("The courses meet this edge askew; they are drawn as if square to it.")
    return tuple(notes)
