"""Spoil the work of a detail: the acts in another order, one short, one gone, one nail too low."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from functools import partial
from itertools import combinations, pairwise
from typing import TYPE_CHECKING, Final

import numpy as np
import shapely

from roof3d.details.frame import Face, Point2
from roof3d.details.mistakes.model import Change, Mistake, WrongBuild
from roof3d.details.mistakes.table import wrong_builds
from roof3d.details.model import INCH, DetailKind, Measure, Piece, PieceKind
from roof3d.details.shapes.script import Act
from roof3d.laps.edges import only_areas

if TYPE_CHECKING:
    from roof3d.details.build_up import BuildUp

_TOPMOST: Final = ("cap", "course", "shingles_near", "shingles_far", "ply", "underlayment")
"""Runs of rows, those that are seen best first."""
_SEEN: Final = (*_TOPMOST[:4], "flashing-cap", "parapet-cap")
_SHEETS: Final = ("cap", "ply", "underlayment", "underlayment_near", "underlayment_far", "base")
_LEFT: Final = 0.25
"""Share of a lap that is left of one cut short."""
_REAL: Final = 4.0 * INCH * INCH
_RIM: Final = 3.0 * INCH
_NAIL: Final = "roofing-nail"
_FAR: Final = 100.0
_CLEAR: Final = 2.25 * INCH


def possible(work: BuildUp, kind: DetailKind) -> tuple[WrongBuild, ...]:
    """Return the wrong builds that the work of a detail can be spoilt into, one a mistake."""
    found: dict[Mistake, WrongBuild] = {}
    for wrong, change in wrong_builds(kind):
        if wrong.mistake not in found and _spoilt(work, wrong.mistake, change) is not None:
            found[wrong.mistake] = wrong
    return tuple(found.values())


def spoil(work: BuildUp, kind: DetailKind, mistake: Mistake) -> WrongBuild | None:
    """Do the work again with a mistake; None, and nothing done, where it cannot be made here."""
    for wrong, change in wrong_builds(kind):
        acts = _spoilt(work, mistake, change) if wrong.mistake is mistake else None
        if acts is not None:
            work.play(acts)
            for act in acts:
                if act.cut is not None:
                    ends = bool(change.low or change.back)
                    told = [_as_cut(m, act, work, ends=ends) for m in work.measures]
                    work.measures[:] = [m for m in told if m is not None]
            return wrong
    return None


def _as_cut(measure: Measure, act: Act, work: BuildUp, *, ends: bool) -> Measure | None:
    """Return a measure as far as what it measures was left; None where its words tell nothing."""
    if measure.layer != act.layer:
        return measure
    tips = np.array(measure.ends)
    (u, s), (v, t) = work.frame.developed(tips)[:, :2].tolist()
    line = shapely.LineString([(u, s), (v, t)])
    left = shapely.difference(line, act.cut)
    if left.is_empty and ends:
        return None
    # What lies wholly in the cut belongs to another row.
    if left.is_empty or line.length - left.length < work.tol.merge:
        return measure
    shares = sorted(line.project(shapely.Point(p)) / line.length for p in left.coords)
    start, end = (tips[0] + share * (tips[1] - tips[0]) for share in (shares[0], shares[-1]))
    value = float(np.linalg.norm(end - start))
    a, b = measure.reach
    was = (work.least(measure.value), work.text(measure.value))
    if value < work.tol.merge or not any(words in measure.text for words in was):
        return None
    text = next(measure.text.replace(w, work.text(value)) for w in was if w in measure.text)
    (x, y, z), (i, j, k) = start.tolist(), end.tolist()
    return replace(
        measure,
        ends=((x, y, z), (i, j, k)),
        reach=(a + shares[0] * (b - a), a + shares[-1] * (b - a)),
        value=value,
        text=text,
        source=f"built wrong on purpose; right: {was[0]} ({measure.source})",
    )


def _spoilt(work: BuildUp, mistake: Mistake, change: Change) -> list[Act] | None:
    if change.gone:
        return _without(work, change.gone)
    if change.late:
        return _exchanged(work, change)
    if change.low or change.back:
        return _stopped(work, change)
    if mistake is Mistake.STACKED_JOINT:
        return _stacked(work)
    if mistake in {Mistake.LOW_NAIL, Mistake.FACE_NAILED}:
        return _nailed(work, change.nailed or _SEEN)
    return _turned(work) if mistake is Mistake.BACK_LAP else _shortened(work)


def _family(name: str) -> str:
    return name.split(".", 1)[0]


def _acts(work: BuildUp) -> list[Act]:
    return [replace(act) for act in work.script.acts]


def _without(work: BuildUp, families: Sequence[str]) -> list[Act] | None:
    """Leave out whole layers: those whose first piece is of a family."""
    layers = {act.layer for act in work.script.acts if _family(act.piece) in families}
    kept = [act for act in _acts(work) if act.layer not in layers or _other(act, families, work)]
    return kept if len(kept) < len(work.script.acts) else None


def _other(act: Act, families: Sequence[str], work: BuildUp) -> bool:
    """Return whether an act of the same layer is of another thing: a band beside a starter."""
    kind = next((p.kind for p in work.pieces if p.id == act.piece), PieceKind.FASTENER)
    return kind not in {PieceKind.FASTENER, PieceKind.BED} and _family(act.piece) not in families


def _exchanged(work: BuildUp, change: Change) -> list[Act] | None:
    """Lay the families of ``soon`` just before the first of ``late``."""
    acts = _acts(work)
    early = [act for act in acts if _family(act.piece) in change.soon]
    first = next((k for k, act in enumerate(acts) if _family(act.piece) in change.late), None)
    if first is None or not early:
        return None
    if max(acts.index(act) for act in early) < first:
        # They come first already: the others are laid before them.
        last = max(acts.index(act) for act in early)
        late = [act for act in acts[last:] if _family(act.piece) in change.late]
        rest = [act for act in acts if act not in late]
        at = min(rest.index(act) for act in early)
        return [*rest[:at], *late, *rest[at:]]
    later = [act for act in early if acts.index(act) > first]
    rest = [act for act in acts if act not in later]
    return [*rest[:first], *later, *rest[first:]]


def _area(piece: Piece) -> shapely.Geometry:
    return only_areas(*(shapely.Polygon(p.outline, p.holes) for p in piece.footprints))


def _flow(work: BuildUp, spot: shapely.Point) -> Point2:
    return work.frame.flow(Face.NEAR if spot.y < 0.0 else Face.FAR) or (0.0, 0.0)


def _laps(
    work: BuildUp, families: Sequence[str]
) -> Iterator[tuple[Piece, Piece, shapely.Geometry, Point2]]:
    """Give laps of two rows across the flow, well inside the cut-out, the most telling first.

    Each with the lower piece, the higher one that lies over it, what they share and the flow.
    """
    window = _window(work)
    for family in families:
        rows = [p for p in work.pieces if _family(p.id) == family and p.footprints]
        found = []
        for low, high in combinations(rows, 2):
            both = only_areas(shapely.intersection(_area(low), _area(high)))
            inside = only_areas(shapely.intersection(both, window))
            if inside.area < _REAL:
                continue
            spot = inside.representative_point()
            flow = _flow(work, spot)
            falls = [_up(_area(p), flow) for p in (low, high)]
            if falls[1][0] - falls[0][0] > INCH and falls[1][0] < falls[0][1]:
                found.append((spot.distance(shapely.Point(0.0, 0.0)), low, high, both, flow))
        for _, low, high, both, flow in sorted(found, key=lambda row: row[0]):
            yield low, high, both, flow


def _window(work: BuildUp) -> shapely.Polygon:
    (a, b), (_, near, far) = work.span, work.size
    drop = work.convex and work.folded
    return shapely.box(a + _RIM, -near + _RIM, b - _RIM, 0.0 if drop else far - _RIM)


def _up(area: shapely.Geometry, flow: Point2) -> tuple[float, float]:
    heights = -shapely.get_coordinates(area) @ np.array(flow)
    return float(heights.min()), float(heights.max())


def _with_nails(acts: Sequence[Act], name: str) -> list[Act]:
    return [
        act
        for act in acts
        if act.piece == name or act.piece.startswith((f"{name}.nail", f"{name}_nail"))
    ]


def _turned(work: BuildUp) -> list[Act] | None:
    """Lay the higher of two rows just before the lower."""
    for low, high, _, _ in _laps(work, _TOPMOST):
        acts = _acts(work)
        moved = _with_nails(acts, high.id)
        rest = [act for act in acts if act not in moved]
        at = next(k for k, act in enumerate(rest) if act.piece == low.id)
        return [*rest[:at], *moved, *rest[at:]]
    return None


def _shortened(work: BuildUp) -> list[Act] | None:
    """Cut the foot of the upper sheet of a lap back to a quarter of it."""
    for low, high, _, flow in _laps(work, _SHEETS):
        foot, head = _up(_area(high), flow)[0], _up(_area(low), flow)[1]
        acts = _acts(work)
        act = next(one for one in acts if one.piece == high.id)
        act.cut = _below(foot + (1.0 - _LEFT) * (head - foot), flow)
        return acts
    return None


def _below(height: float, flow: Point2) -> shapely.Polygon:
    """Return all that lies lower down the flow than a height."""
    x, y = flow
    corners = ((-_FAR, -_FAR), (-_FAR, _FAR), (height, _FAR), (height, -_FAR))
    return shapely.Polygon([(-h * x - w * y, -h * y + w * x) for h, w in corners])


def _stopped(work: BuildUp, change: Change) -> list[Act] | None:
    """End sheets half as high as they are on the far face, or before the metal of the edge."""
    families = change.low or change.back
    mine = {p.id: p for p in work.pieces if _family(p.id) in families and p.footprints}
    metal = [p.reach[0] for p in work.pieces if _family(p.id) == "metal" and p.footprints]
    if not mine or (change.back and not metal):
        return None
    tops = {f: max(p.reach[1] for p in mine.values() if _family(p.id) == f) for f in families}
    acts = _acts(work)
    for act in acts:
        if act.piece in mine:
            high = min(metal) - INCH if change.back else tops[_family(act.piece)] / 2.0
            act.cut = shapely.box(-_FAR, high, _FAR, _FAR)
    return acts if change.back or min(tops.values()) > _RIM else None


def _nailed(work: BuildUp, families: Sequence[str]) -> list[Act] | None:
    """Drive nails where nothing comes over them: near the lower edge of the topmost row."""
    spots = []
    window = shapely.difference(_window(work), _beside_holes(work))
    for piece in work.pieces:
        if _family(piece.id) not in families or not piece.footprints:
            continue
        later = [_area(p) for p in work.pieces[piece.order + 1 :] if p.footprints]
        seen = only_areas(shapely.intersection(_area(piece), window))
        seen = only_areas(shapely.difference(seen, shapely.union_all(later)))
        seen = seen.buffer(-INCH)
        if seen.area > _REAL:
            part = max(shapely.get_parts(seen), key=lambda one: float(one.area))
            spot = part.representative_point()
            spots.append((spot.distance(shapely.Point(0.0, 0.0)), piece, spot))
    if not spots:
        return None
    _, piece, spot = min(spots, key=lambda row: row[0])
    acts = _acts(work)
    at = next(k for k, act in enumerate(acts) if act.piece == piece.id) + 1
    nails = partial(
        type(work).nails,
        work,
        "mistake.nails",
        "Nail too low",
        piece.layer,
        _NAIL,
        [(float(spot.x), float(spot.y))],
    )
    return [*acts[:at], Act("mistake.nails", piece.layer, [nails]), *acts[at:]]


def _beside_holes(work: BuildUp) -> shapely.Geometry:
    """Return what lies within a hand of something that comes up through the deck."""
    wood = only_areas(*(_area(p) for p in work.pieces if p.kind is PieceKind.DECK and p.layer == 1))
    rings = [ring for part in shapely.get_parts(wood) for ring in part.interiors]
    return shapely.union_all([shapely.Polygon(ring).buffer(_CLEAR) for ring in rings])


def _stacked(work: BuildUp) -> list[Act] | None:
    """Move a course along so that one of its joints falls over one of the course below."""
    rows = [p for p in work.pieces if _family(p.id) == "course" and p.kind is PieceKind.SHINGLE]
    best: tuple[float, Piece, Point2] | None = None
    for low, high in pairwise(rows):
        both = only_areas(shapely.intersection(_area(low), _area(high)))
        if both.area < _REAL:
            continue
        flow = _flow(work, both.representative_point())
        run = np.array((-flow[1], flow[0]))
        here, there = (_joints(work, piece, run) for piece in (low, high))
        for one in here:
            for other in there:
                by = one - other
                shift = (float(by * run[0]), float(by * run[1]))
                if best is None or abs(by) < best[0]:
                    best = (abs(by), high, shift)
    if best is None:
        return None
    acts = _acts(work)
    act = next(one for one in acts if one.piece == best[1].id)
    act.shift = best[2]
    return acts


def _joints(
    work: BuildUp, piece: Piece, run: np.ndarray[tuple[int], np.dtype[np.float64]]
) -> list[float]:
    """Return where the joints of a course lie along it, well inside the cut-out."""
    (a, b), (_, near, far) = work.span, work.size
    rim = 2.0 * _RIM
    ends = []
    parts = [shapely.Polygon(p.outline, p.holes) for p in piece.footprints]
    spans = sorted(
        (
            float((shapely.get_coordinates(p) @ run).min()),
            float((shapely.get_coordinates(p) @ run).max()),
        )
        for p in parts
    )
    low, high = (a, b) if abs(run[0]) > abs(run[1]) else (-near, far)
    for (_, end), (start, _) in pairwise(spans):
        middle = (end + start) / 2.0
        place = middle * float(run[0] + run[1])
        if start - end < INCH and low + rim < place < high - rim:
            ends.append(middle)
    return ends
