"""Prove the laps of a detail from its own pieces."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

import shapely

from roof3d.catalog.model import Catalog
from roof3d.details.frame import Face, Point2
from roof3d.details.model import INCH, Detail, Piece
from roof3d.details.proof.ground import is_chimney
from roof3d.details.proof.model import DetailFault, FaultKind
from roof3d.details.proof.order import wrong_orders
from roof3d.details.proof.path import is_sheltered, leak_path, path_down_face, point_at
from roof3d.details.proof.pile import DetailPile, pile_of
from roof3d.laps.model import FaultKind as Lap
from roof3d.laps.model import LapFault
from roof3d.laps.prove import check_laps
from roof3d.tolerance import DEFAULT, Tolerance

_AT_CUT: Final = 0.5 * INCH
_DRY: Final = "metal lies dry on the sheet: no bed of cement closes its back edge"
_FROM_ABOVE: Final = frozenset(
    {
        FaultKind.BARE,
        FaultKind.NAIL_BARE,
        FaultKind.MISSING,
        FaultKind.SHORT_LAP,
        FaultKind.STACKED,
    }
)
"""Where it comes over what is on top, and not under that to an open edge."""
_ENTERS_UNDER_FIRST: Final = frozenset(
    {FaultKind.HEAD_BARE, FaultKind.BUTT_IN_AIR, FaultKind.NAIL_BARE, FaultKind.DRY_METAL}
)


def prove_detail(
    detail: Detail, catalog: Catalog, *, tol: Tolerance = DEFAULT
) -> tuple[DetailFault, ...]:
    """Find every place of a detail where water gets in.

    Parameters
    ----------
    detail : Detail
    catalog : Catalog
        It was built from.
    tol : Tolerance

    Returns
    -------
    tuple[DetailFault, ...]
        In the order of ``FaultKind``; none where it is built right.
    """
    pile = pile_of(detail, catalog, tol=tol)
    found = check_laps(pile.surface, pile.pieces, tol=tol)
    faults = [_told(fault, detail, pile) for fault in found if _inside(fault, pile, tol)]
    faults += [_dry(piece, detail, pile) for piece in pile.dry]
    faults += [
        _placed(detail, w.kind, w.pieces, w.spot, w.words, (0.0, 0.0), _face_of(w.spot))
        for w in wrong_orders(detail, pile, catalog)
    ]
    order = list(FaultKind)
    return tuple(sorted(faults, key=lambda fault: order.index(fault.kind)))


def choose_shown(detail: Detail, faults: Sequence[DetailFault]) -> DetailFault | None:
    """Return the fault that a wrong build is shown for; None where it has none.

    Of those that are expected one open to rain, there in the uppermost layer, there the nearest
    to the middle.
    """
    expected = detail.mistake.expected if detail.mistake else None
    own = [fault for fault in faults if fault.kind is expected]
    return min(
        own or faults,
        key=lambda fault: (
            is_sheltered(detail, fault),
            -max(fault.layers, default=0),
            math.hypot(*fault.spot),
        ),
        default=None,
    )


def _inside(fault: LapFault, pile: DetailPile, tol: Tolerance) -> bool:
    """Return whether a fault is clear of the cut-out's rim: beyond it nothing is known."""
    spot = shapely.Point(fault.at)
    side = pile.side_of.get(fault.layers[0]) if fault.layers else None
    if fault.kind is Lap.SHORT_LAP:
        # Where shingles are cut askew their points reach as far as the cut, no further.
        if side is not None and side.boundary.distance(spot) < _AT_CUT:
            return False
        if pile.holes.intersects(spot):
            return False
    return any(face.region.distance(spot) <= tol.height for face in pile.surface.faces)


def _told(fault: LapFault, detail: Detail, pile: DetailPile) -> DetailFault:
    pieces = tuple(pile.piece_of[name] for name in fault.pieces if name in pile.piece_of)
    kind = FaultKind(fault.kind.value)
    return _placed(
        detail, kind, pieces, fault.at, fault.words, (fault.reached, fault.wanted), fault.face
    )


def _face_of(spot: Point2) -> str:
    return (Face.NEAR if spot[1] < 0.0 else Face.FAR).value


def _dry(piece: Piece, detail: Detail, pile: DetailPile) -> DetailFault:
    spot = pile.shape_of[piece.id].representative_point()
    at = (float(spot.x), float(spot.y))
    return _placed(detail, FaultKind.DRY_METAL, (piece,), at, _DRY, (0.0, 0.0), Face.NEAR)


def _placed(
    detail: Detail,
    kind: FaultKind,
    pieces: tuple[Piece, ...],
    spot: tuple[float, float],
    words: str,
    lengths: tuple[float, float],
    face: str,
) -> DetailFault:
    last = sorted(pieces, key=lambda piece: piece.order)[-1:]
    upper = pieces[:1] if kind in _ENTERS_UNDER_FIRST else last
    names = [piece.id for piece in upper]
    at = point_at(detail, spot, last or pieces)
    path = leak_path(detail, spot, names, from_above=kind in _FROM_ABOVE)
    if is_chimney(detail) and kind is FaultKind.MISSING and "counterflashing" in words.lower():
        at, path = path_down_face(detail)
    return DetailFault(
        kind=kind,
        face=Face(face),
        pieces=tuple(piece.id for piece in pieces),
        layers=tuple(piece.layer for piece in pieces),
        reached=lengths[0],
        wanted=lengths[1],
        words=words,
        at=at,
        spot=spot,
        path=path,
    )
