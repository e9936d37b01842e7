"""Prove the laps of a pile of pieces: every fault found, with its place and numbers."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

import numpy as np
import shapely

from roof3d.laps.boxes import share
from roof3d.laps.edges import (
    Edges,
    Shapes,
    bands_along,
    clip_edges,
    edges_of,
    part_edges,
    stretch_of,
)
from roof3d.laps.model import Face, FaultKind, Floats, LapFault, LapPiece, Rim, Surface
from roof3d.laps.nails import bare_nails
from roof3d.laps.pile import Pile, pairs_under, pile_up, uncovered
from roof3d.laps.seen import bare_ground
from roof3d.laps.stacked import stacked_laps
from roof3d.laps.trapped import trapped_heads
from roof3d.tolerance import DEFAULT, Tolerance

INCH: Final = 0.0254
_SIDEWAYS: Final = 0.05
"""Edges that turn from the flow by less than this share run along it."""
_STEEP: Final = 0.25
"""Edges that turn from the flow by less than this share run nearly along it."""
_FLANGE: Final = 3.5 * INCH
_STRAIGHT: Final = 0.01
"""Edges that turn from their row by more are cut along a border."""
_NEAR: Final = 6.0 * 0.0254
"""So near beyond an edge the next piece of its layer is looked for."""


def check_laps(
    surface: Surface, pieces: Sequence[LapPiece], *, tol: Tolerance = DEFAULT
) -> tuple[LapFault, ...]:
    """Find every lap that would let water in.

    Parameters
    ----------
    surface : Surface
    pieces : sequence of LapPiece
    tol : Tolerance
        Laps count as long enough within ``snap``.

    Returns
    -------
    tuple[LapFault, ...]
        Face by face, in the order of ``FaultKind``; empty where all is well.

    Examples
    --------
    >>> from roof3d.laps.model import Border, PieceKind
    >>> def sheet(name, order, low, high):
    ...     return LapPiece(id=name, layer="cap", kind=PieceKind.SHEET, order=order, row_lap=0.1,
    ...         shape=shapely.box(0, low, 5, high), weathers=True, bonded=True, course=order)
    >>> ends = [(0.0, 0.0), (5.0, 0.0), (5.0, 1.9), (0.0, 1.9), (0.0, 0.0)]
    >>> rims = (Rim.EAVE, Rim.RAKE, Rim.CLOSED, Rim.RAKE)
    >>> face = Face(id="p", region=shapely.box(0, 0, 5, 1.9), flow=(0.0, -1.0), borders=tuple(
    ...     Border(rim=r, start=a, end=b, within=0.01) for r, a, b in zip(rims, ends, ends[1:])))
    >>> low, high = sheet("low", 1, 0.0, 1.0), sheet("high", 2, 0.9, 1.9)
    >>> check_laps(Surface(faces=(face,)), [low, high])
    ()
    >>> low = sheet("low", 3, 0.0, 1.0)
    >>> [fault.kind.value for fault in check_laps(Surface(faces=(face,)), [low, high])]
    ['back_water']
    """
    pieces = [piece for piece in pieces if not piece.shape.is_empty]
    if not pieces:
        return tuple(bare_ground(surface, None, tol))
    pile = pile_up(pieces)
    faults: list[LapFault] = []
    edges = edges_of(pile.shapes, tol)
    judged = _judged(edges, pile)
    for face in surface.faces:
        found = list(_edge_faults(face, pile, judged, tol))
        # What ends at a seam alone is judged where it lies.
        found += trapped_heads(face, pile, _heads(face, judged, tol, out=-2.0 * tol.snap), tol)
        found += bare_nails(face, pile, tol)
        faults += _once(found)
    faults += stacked_laps(surface, pile, edges, tol)
    faults += bare_ground(surface, pile, tol)
    return tuple(faults)


def _edge_faults(face: Face, pile: Pile, edges: Edges, tol: Tolerance) -> Iterator[LapFault]:
    within, beyond = _split(_heads(face, edges, tol), pile, tol)
    yield from _own_heads(face, within.where(_own_lap(within, pile) > 0.0), pile, tol)
    yield from _other_heads(face, beyond, pile, tol)
    sides = _sides(face, edges, tol)
    level, _ = _split(sides, pile, tol)
    yield from _own_sides(face, level.where(_own_lap(level, pile) > 0.0), pile, tol)
    yield from _open_joints(face, sides, pile, tol)
    yield from _butt_faults(face, _butts(face, edges, tol), pile, tol)


def _judged(edges: Edges, pile: Pile) -> Edges:
    """Return the edges that are judged here: no guest's, and no end without a place."""
    lean = np.abs((edges.along() * pile.runs[edges.owner]).sum(axis=1))
    lost = ~pile.flags("ends_known")[edges.owner] & (lean < 1.0 - _SIDEWAYS)
    return edges.where(~pile.flags("guest")[edges.owner] & ~lost)


def _own_lap(edges: Edges, pile: Pile) -> Floats:
    """Return the lap within its layer that each edge wants: none where it is cut askew."""
    lean = np.abs((edges.along() * pile.runs[edges.owner]).sum(axis=1))
    rows, ends = (pile.numbers(name)[edges.owner] for name in ("row_lap", "end_lap"))
    across = np.abs((edges.out * pile.runs[edges.owner]).sum(axis=1))
    return np.where(across < _STRAIGHT, rows, np.where(lean < _STRAIGHT, ends, 0.0))


def _up(face: Face, edges: Edges) -> Floats:
    return np.asarray(-(edges.out @ np.array(face.flow)))


def _heads(face: Face, edges: Edges, tol: Tolerance, *, out: float | None = None) -> Edges:
    """Return the edges that face up the slope and do not end at a border that closes them."""
    steep = edges.where(_up(face, edges) > _SIDEWAYS)
    past = tol.snap if out is None else out
    return clip_edges(steep, _zone(face, (Rim.CLOSED, Rim.RAKE), past, tol), tol)


def _butts(face: Face, edges: Edges, tol: Tolerance) -> Edges:
    steep = edges.where(_up(face, edges) < -_SIDEWAYS)
    return clip_edges(steep, _zone(face, (Rim.EAVE, Rim.RAKE, Rim.CLOSED), -tol.snap, tol), tol)


def _sides(face: Face, edges: Edges, tol: Tolerance) -> Edges:
    level = edges.where(np.abs(_up(face, edges)) <= _SIDEWAYS)
    return clip_edges(level, _zone(face, (Rim.RAKE, Rim.CLOSED, Rim.EAVE), -tol.snap, tol), tol)


def _zone(face: Face, rims: tuple[Rim, ...], out: float, tol: Tolerance) -> shapely.Geometry:
    """Return a face without what lies at borders of those kinds."""
    away = [
        shapely.LineString([border.start, border.end]).buffer(border.within, cap_style="square")
        for border in face.borders
        if border.rim in rims
    ]
    zone = face.region.buffer(out, join_style="mitre")
    return shapely.difference(zone, shapely.union_all(away, grid_size=tol.grid)) if away else zone


def _split(edges: Edges, pile: Pile, tol: Tolerance) -> tuple[Edges, Edges]:
    """Part edges into where their layer goes on beyond them, and where it ends."""
    wanted = _own_lap(edges, pile)
    # Laps of what comes over from another plane are judged there.
    lent = (pile.numbers("row_lap") == 0.0) & (pile.numbers("end_lap") == 0.0) & pile.sheet
    ahead = bands_along(edges, tol.snap, np.maximum(_NEAR, wanted), tol)
    bound = np.where((wanted > 0.0) | lent[edges.owner], edges.owner, -1)
    at, other = pile.strings.query(ahead)
    same = (bound[at] >= 0) & (pile.layer[bound[at]] == pile.layer[pile.lead[other]])
    same &= pile.string[bound[at]] != other
    at, other = at[same], other[same]
    shared = share(ahead[at], pile.strung[other], tol)
    real = shapely.area(shared) > tol.area
    at, shared = at[real], shared[real]
    least, most = stretch_of(edges, at, shared)
    real = most - least > 4.0 * tol.snap
    return part_edges(edges, at[real], least[real], most[real], tol)


def _lap_bands(edges: Edges, wanted: Floats, pile: Pile, tol: Tolerance) -> Shapes:
    """Return the bands inside each piece in which its laps must lie."""
    bands = bands_along(edges, -tol.snap, tol.snap - np.maximum(wanted, 4.0 * tol.snap), tol)
    shapes = pile.shapes[edges.owner]
    cut = ~shapely.covers(shapes, bands)
    bands[cut] = shapely.intersection(bands[cut], shapes[cut])
    return bands


def _own_heads(face: Face, edges: Edges, pile: Pile, tol: Tolerance) -> Iterator[LapFault]:
    """Heads within a layer: the next piece lies over them, and far enough."""
    wanted = _own_lap(edges, pile)
    bands = _lap_bands(edges, wanted, pile, tol)
    for i, rest in uncovered(
        bands,
        edges.owner,
        pile,
        lambda i, j: (pile.layer[i] == pile.layer[j]) & (pile.order[j] > pile.order[i]),
        tol,
    ):
        owner = int(edges.owner[i])
        under = _meets(pile, owner, edges, i, rest)
        turned = [j for j in under if pile.order[j] < pile.order[owner] and _reaches(pile, j, rest)]
        kind = FaultKind.BACK_WATER if turned else FaultKind.SHORT_LAP
        reached = 0.0 if turned else _reached(edges, i, rest)
        yield _fault(kind, face, pile, [owner, *(turned or under)[:1]], rest, reached, wanted[i])


def _meets(pile: Pile, owner: int, edges: Edges, i: int, rest: shapely.Geometry) -> list[int]:
    """Return the pieces of a piece's layer that lie beyond its edge, there."""
    line = shapely.LineString([edges.start[i], edges.end[i]])
    spot = line.interpolate(line.project(rest.representative_point()))
    out = np.array([spot.x, spot.y])
    probe = shapely.LineString([out, out + edges.out[i] * _NEAR])
    near = [int(j) for j in pile.tree.query(probe, predicate="intersects") if j != owner]
    return [j for j in near if pile.layer[j] == pile.layer[owner]]


def _reaches(pile: Pile, j: int, rest: shapely.Geometry) -> bool:
    return bool(pile.shapes[j].intersects(rest))


def _reached(edges: Edges, i: int, rest: shapely.Geometry) -> float:
    """Return how much of a band along an edge is covered, from the edge on."""
    line = shapely.LineString([edges.start[i], edges.end[i]])
    return float(line.distance(rest))


def _other_heads(face: Face, edges: Edges, pile: Pile, tol: Tolerance) -> Iterator[LapFault]:
    """Heads at which a layer ends: a later layer closes them; shingles close no sheet."""
    wanted = pile.numbers("other_lap")[edges.owner]
    asked = (wanted > 0.0) & ~pile.flags("welded")[edges.owner]
    # A head that stops less than an inch of water, or two where it runs nearly down the slope,
    # is the corner of a cut.
    up = _up(face, edges)
    stops = ((edges.end - edges.start) * edges.along()).sum(axis=1) * up
    asked &= stops >= np.where(up < _STEEP, 2.0, 1.0) * INCH
    edges, wanted = edges.where(asked), wanted[asked]
    bands = shapely.intersection(_lap_bands(edges, wanted, pile, tol), face.region)
    for i, rest in uncovered(
        bands,
        edges.owner,
        pile,
        lambda i, j: (pile.order[j] > pile.order[i]) & ~(pile.sheet[i] & pile.shingle[j]),
        tol,
    ):
        reached = _reached(edges, i, rest)
        bare = reached <= 2.0 * tol.snap
        kind = FaultKind.HEAD_BARE if bare else FaultKind.SHORT_LAP
        owner = int(edges.owner[i])
        yield _fault(kind, face, pile, [owner], rest, 0.0 if bare else reached, wanted[i])


def _own_sides(face: Face, within: Edges, pile: Pile, tol: Tolerance) -> Iterator[LapFault]:
    """Edges along the flow within a layer: either piece lies on top, far enough."""
    wanted = _own_lap(within, pile)
    bands = _lap_bands(within, wanted, pile, tol)
    same = lambda i, j: pile.layer[i] == pile.layer[j]  # noqa: E731 - one line, used once
    for i, rest in uncovered(bands, within.owner, pile, same, tol):
        owner = int(within.owner[i])
        met = _meets(pile, owner, within, i, rest)
        reached = _reached(within, i, rest)
        yield _fault(FaultKind.SHORT_LAP, face, pile, [owner, *met[:1]], rest, reached, wanted[i])


def _open_joints(face: Face, edges: Edges, pile: Pile, tol: Tolerance) -> Iterator[LapFault]:
    """Joints of shingles, as far as they are seen, lie over an earlier shingle or metal."""
    edges = edges.where(pile.shingle[edges.owner])
    ahead = bands_along(edges, tol.snap, 4.0 * tol.snap, tol)
    at, other = pile.tree.query(ahead, predicate="intersects")
    mate = (pile.layer[edges.owner[at]] == pile.layer[other]) & (other != edges.owner[at])
    mate &= pile.course[edges.owner[at]] == pile.course[other]
    edges = edges.where(np.isin(np.arange(len(edges)), at[mate]))
    bands = bands_along(edges, -4.0 * tol.snap, 4.0 * tol.snap, tol)
    seen = uncovered(bands, edges.owner, pile, lambda i, j: pile.order[j] > pile.order[i], tol)
    parts = np.array([rest for _, rest in seen], dtype=np.object_)
    owner = edges.owner[np.array([i for i, _ in seen], dtype=np.intp)]
    for k, rest in uncovered(
        parts,
        owner,
        pile,
        lambda i, j: (
            (pile.order[j] < pile.order[i])
            & ~((pile.layer[j] == pile.layer[i]) & (pile.course[j] == pile.course[i]))
            & ~pile.sheet[j]
            | pile.weathers[j] & pile.bonded[j] & (pile.order[j] < pile.order[i])
        ),
        tol,
    ):
        # Shorter than an inch it is the corner of a cut.
        if rest.area > 8.0 * tol.snap * INCH:
            yield _fault(FaultKind.BARE, face, pile, [int(owner[k])], rest, rest.area, 0.0)


def _butt_faults(face: Face, edges: Edges, pile: Pile, tol: Tolerance) -> Iterator[LapFault]:
    """Lower edges rest on an earlier piece, which reaches up under them."""
    wanted = np.maximum(pile.numbers("other_lap")[edges.owner], 4.0 * tol.snap)
    down = pile.flags("turned_down")
    # On the metal of an edge no more than its flange is asked.
    feet = bands_along(edges, -tol.snap, -4.0 * tol.snap, tol)
    at, _, _ = pairs_under(
        feet, edges.owner, pile, lambda i, j: (pile.order[j] < pile.order[i]) & down[j], tol
    )
    wanted[at] = np.minimum(wanted[at], _FLANGE)
    bands = shapely.intersection(_lap_bands(edges, wanted, pile, tol), face.region)
    loose = uncovered(bands, edges.owner, pile, lambda i, j: pile.order[j] < pile.order[i], tol)
    # What lies under a later sheet, or the metal of an edge, carries no water to its foot.
    index = np.array([i for i, _ in loose], dtype=np.intp)
    seen = {
        int(index[k])
        for k, _ in uncovered(
            bands[index],
            edges.owner[index],
            pile,
            lambda i, j: (pile.order[j] > pile.order[i]) & (pile.sheet[j] | down[j]),
            tol,
        )
    }
    for i, rest in loose:
        if i not in seen:
            continue
        reached = _reached(edges, i, rest)
        air = reached <= 2.0 * tol.snap
        kind = FaultKind.BUTT_IN_AIR if air else FaultKind.SHORT_LAP
        owner = int(edges.owner[i])
        yield _fault(kind, face, pile, [owner], rest, 0.0 if air else reached, wanted[i])


def _fault(
    kind: FaultKind,
    face: Face,
    pile: Pile,
    pieces: Sequence[int],
    place: shapely.Geometry,
    reached: float,
    wanted: float,
) -> LapFault:
    at = place.representative_point()
    return LapFault(
        kind=kind,
        face=face.id,
        pieces=tuple(pile.pieces[k].id for k in pieces),
        layers=tuple(pile.pieces[k].layer for k in pieces),
        at=(float(at.x), float(at.y)),
        reached=float(reached),
        wanted=float(wanted),
    )


def _once(faults: Sequence[LapFault]) -> list[LapFault]:
    """Keep of the faults of one kind between the same pieces the first."""
    kept: dict[tuple[FaultKind, tuple[str, ...]], LapFault] = {}
    for fault in faults:
        kept.setdefault((fault.kind, fault.pieces), fault)
    order = list(FaultKind)
    return sorted(kept.values(), key=lambda fault: order.index(fault.kind))
