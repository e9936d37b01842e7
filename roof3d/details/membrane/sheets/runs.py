"""How the sheets of a membrane run past a line: the layout's own courses, either way round."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely

from roof3d.catalog.laying import Layer, Nailing
from roof3d.details.build_up import BuildUp
from roof3d.details.frame import Face
from roof3d.details.membrane.sheets.quilt import Quilt
from roof3d.details.model import PieceKind
from roof3d.details.rows import courses
from roof3d.details.site import DetailSite
from roof3d.layout.borders.frame import to_plane
from roof3d.layout.model import Direction


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    """Courses of one layer near a line, in the order laid.

    Attributes
    ----------
    square : bool
        Whether they stack along the line (their laps then run square to it); else they
        stack square to the line.
    sign : float
        1 where later courses lie at greater coordinates, -1 where at smaller ones.
    reaches : tuple of (float, float)
        From where to where each reaches in the stacking coordinate, metres, uncut.
    lap : float
    as_laid : bool
        Whether they are the layout's own; else set out here.
    """

    square: bool
    sign: float
    reaches: tuple[tuple[float, float], ...]
    lap: float
    as_laid: bool


def run_at(site: DetailSite, work: BuildUp, plane_id: str, role: str) -> Run:
    """Return how a layer of the near plane runs at a joint's line."""
    laid, layer = site.laid_plane(plane_id), site.laid_layer(plane_id, role)
    frame = work.frame
    along, across = np.array(frame.along), -np.array(frame.near)
    if laid is not None and layer is not None:
        up = layer.direction is Direction.ACROSS
        stack = np.array(laid.frame.up if up else laid.frame.along)
        here = to_plane(laid.frame, [frame.origin])[0]
        u, s = float(stack @ along), float(stack @ across)
        if min(abs(u), abs(s)) <= work.tol.level:
            square = abs(u) > abs(s)
            sign = float(np.sign(u if square else s))
            at = float(here[1 if up else 0])
            reaches = [
                tuple(sorted((sign * (c.low - at), sign * (c.high - at)))) for c in layer.courses
            ]
            found = tuple((a, b) for a, b in reaches)
            return Run(square=square, sign=sign, reaches=found, lap=layer.side_lap, as_laid=True)
    return _set_out(site, work, plane_id, site.layers(plane_id)[role])


def _set_out(site: DetailSite, work: BuildUp, plane_id: str, layer: Layer) -> Run:
    """Set out courses where the layout's do not run along the line or square to it."""
    plane = site.roof.plane(plane_id)
    flow = work.frame.flow(Face.NEAR) or (0.0, 1.0)
    if plane.slope >= layer.along_from:
        flow = (flow[1], -flow[0])
    square = abs(flow[0]) > abs(flow[1])
    sign = -1.0 if (flow[0] if square else flow[1]) > 0.0 else 1.0
    made = site.catalog.material(layer.material)
    lap = layer.side_lap or made.side_lap
    low, high = work.span if square else (-work.size[1], 0.0)
    if sign < 0.0:
        low, high = -high, -low
    first = low + made.width * layer.first - lap
    sheets = courses(first, high + made.width, width=made.width, lap=lap, below=low)
    reaches = tuple((a, b) if sign > 0.0 else (-b, -a) for a, b in sheets)
    return Run(square=square, sign=sign, reaches=reaches, lap=lap, as_laid=False)


def edges_of(run: Run, past: float) -> tuple[list[float], list[float]]:
    """Return the u and the s at which edges of a run lie; it ends ``past`` the line."""
    ends = [end for reach in run.reaches for end in reach]
    return (ends, [past]) if run.square else ([], [*ends, past])


def lay_run(
    quilt: Quilt,
    run: Run,
    past: float,
    names: tuple[str, str, int, str],
    *,
    nails: Nailing | None,
    without: shapely.Polygon | None = None,
) -> list[shapely.Polygon]:
    """Lay the courses of a run, ended ``past`` the line; returns the outlines.

    ``names`` are the ids' first part, the material's name, the layer's number and the material.
    ``nails`` hold each course in its lap before the next covers them; those of a base sheet
    are set by ``nail_run`` instead; ``without`` is cut out of each.
    """
    role, title, number, material = names
    work = quilt.work
    outlines: list[shapely.Polygon] = []
    for low, high in run.reaches:
        outline = _outline(work, run, (low, high), past)
        name = f"{role}.{len(outlines) + 1}"
        if outline is None:
            continue
        if without is not None:
            outline = shapely.difference(outline, without)
        if not quilt.lay(
            name, f"{title} {len(outlines) + 1}", PieceKind.SHEET, number, material, outline
        ):
            continue
        outlines.append(outline)
        if nails is not None:
            row = (high if run.sign > 0.0 else low) - run.sign * run.lap / 2.0
            spots = _row(work, run, row, nails.lap_spacing, 0.5)
            work.nails(f"{name}.nails", "Fasteners in the lap", number, nails.fastener, spots)
    return outlines


def _outline(
    work: BuildUp, run: Run, reach: tuple[float, float], past: float
) -> shapely.Polygon | None:
    (start, end), (low, high) = work.span, reach
    if run.square:
        return shapely.box(low, -work.size[1], high, past)
    high = min(high, past)
    return shapely.box(start, low, end, high) if high - low > work.tol.merge else None


def nail_run(work: BuildUp, layer: int, run: Run, rule: Nailing, *, clear: float) -> None:
    """Nail a base sheet as its rule says: rows in the laps, staggered rows in the field."""
    spots: list[tuple[float, float]] = []
    for low, high in run.reaches:
        foot = low if run.sign > 0.0 else high
        width = run.sign * (high - low)
        spots += _row(work, run, foot + run.sign * run.lap / 2.0, rule.lap_spacing, 0.5)
        for k in range(rule.field_rows):
            at = foot + width * (k + 1) / (rule.field_rows + 1)
            spots += _row(work, run, at, rule.field_spacing, 0.25 + 0.5 * (k % 2))
    kept = [(u, s) for u, s in spots if s <= -clear]
    work.nails("base.nails", "Capped nails of the base sheet", layer, rule.fastener, kept)


def _row(
    work: BuildUp, run: Run, at: float, spacing: float, phase: float
) -> list[tuple[float, float]]:
    """Places of one row of fasteners on the near face, inside the cut-out."""
    start, end = work.span
    edge = spacing / 8.0
    if run.square:
        start, end = -work.size[1], 0.0
    steps = [start + (k + phase) * spacing for k in range(int((end - start) / spacing) + 1)]
    steps = [step for step in steps if start + edge < step < end - edge]
    spots = [(at, step) if run.square else (step, at) for step in steps]
    (u0, u1), s0 = work.span, -work.size[1]
    return [(u, s) for u, s in spots if u0 + edge < u < u1 - edge and s0 + edge < s < -edge]


def lap_in_sight(
    work: BuildUp, run: Run, least: float, past: float
) -> tuple[tuple[float, float], tuple[float, float]] | None:
    """Return the ends of a lap on the near face to be measured; None where none is whole.

    ``least`` is how far from the line it must lie, where it runs along it.
    """
    if run.square:
        s = max(-work.size[1], -2.0 * least) * 0.75
        for low, high in run.reaches[1:]:
            a = low if run.sign > 0.0 else high
            b = a + run.sign * run.lap
            if min(a, b) > work.span[0] and max(a, b) < work.span[1]:
                return (min(a, b), s), (max(a, b), s)
        return None
    u = work.span[0 if work.convex else 1]
    for low, high in run.reaches[1:]:
        a = low if run.sign > 0.0 else high
        b = a + run.sign * run.lap
        if -work.size[1] < min(a, b) and max(a, b) < min(-least, past):
            return (u, min(a, b)), (u, max(a, b))
    return None
