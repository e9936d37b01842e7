"""What is seen from above: neither deck nor anything that must be covered."""

from __future__ import annotations

from typing import Final

import numpy as np
import shapely

from roof3d.laps.model import Face, FaultKind, LapFault, Surface
from roof3d.laps.pile import Pile, uncovered
from roof3d.tolerance import Tolerance

_SLIT: Final = 0.25 * 0.0254
"""Half of the width that is too narrow to tell."""


def bare_ground(surface: Surface, pile: Pile | None, tol: Tolerance) -> list[LapFault]:
    """Find deck without anything on it, layers left out, and pieces seen that must not be.

    Parameters
    ----------
    surface : Surface
    pile : Pile or None
        None where nothing is laid.
    tol : Tolerance

    Returns
    -------
    list[LapFault]
        Borders excepted as far as an edge counts as there.
    """
    faults = []
    for face in surface.faces:
        away = [
            shapely.LineString([border.start, border.end]).buffer(border.within, cap_style="square")
            for border in face.borders
        ]
        ground = (
            shapely.difference(face.region, shapely.union_all(away, grid_size=tol.grid))
            if away
            else face.region
        )
        ground = ground.buffer(-tol.snap, join_style="mitre")
        rest = _bare(ground, pile, tol) if pile is not None else ground
        rest = rest.buffer(-tol.snap)
        faults += [_fault(face.id, (), (), part) for part in _parts(rest, tol)]
        if pile is None:
            continue
        faults += _left_out(face, pile, tol)
        hidden = np.flatnonzero(~pile.flags("weathers") & ~pile.flags("guest"))
        parts = shapely.intersection(pile.shapes[hidden], ground)
        for i, seen in uncovered(
            np.asarray(parts), hidden, pile, lambda i, j: pile.order[j] > pile.order[i], tol
        ):
            piece = pile.pieces[hidden[i]]
            open_ = seen.buffer(-_SLIT)
            if open_.area > tol.area:
                faults.append(_fault(face.id, (piece.id,), (piece.layer,), open_))
    return faults


def _left_out(face: Face, pile: Pile, tol: Tolerance) -> list[LapFault]:
    """Find where a layer does not lie that must."""
    number = {piece.layer: int(k) for piece, k in zip(pile.pieces, pile.layer, strict=True)}
    faults = []
    for layer, ground in face.asked:
        rest = ground.buffer(-tol.snap)
        if layer in number:
            laid = pile.strung[pile.layer[pile.lead] == number[layer]]
            rest = shapely.difference(rest, shapely.union_all(laid, grid_size=tol.grid))
        rest = rest.buffer(-_SLIT)
        faults += [
            _fault(face.id, (), (layer,), part, FaultKind.LEFT_OUT) for part in _parts(rest, tol)
        ]
    return faults


def _bare(ground: shapely.Geometry, pile: Pile, tol: Tolerance) -> shapely.Geometry:
    """Return what no piece covers of the ground; what a layer of few pieces hides first."""
    rest = ground
    for layer in np.argsort(np.bincount(pile.layer), kind="stable"):
        if rest.buffer(-tol.snap).is_empty:
            break
        own = pile.shapes[pile.layer == layer]
        rest = shapely.difference(rest, shapely.union_all(own, grid_size=tol.grid))
    return rest


def _parts(shape: shapely.Geometry, tol: Tolerance) -> list[shapely.Geometry]:
    return [part for part in shapely.get_parts(shape) if part.area > tol.area]


def _fault(
    face: str,
    pieces: tuple[str, ...],
    layers: tuple[str, ...],
    place: shapely.Geometry,
    kind: FaultKind = FaultKind.BARE,
) -> LapFault:
    at = place.representative_point()
    return LapFault(
        kind=kind,
        face=face,
        pieces=pieces,
        layers=layers,
        at=(float(at.x), float(at.y)),
        reached=float(place.area),
        wanted=0.0,
    )
