"""What each piece of a detail does for the water: by its material and what it is for."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations
from typing import Final

from roof3d.catalog.material import Material
from roof3d.catalog.model import Catalog
from roof3d.details.model import INCH, DetailKind, Piece, PieceKind
from roof3d.laps.laid.pieces import is_bonded
from roof3d.laps.model import PieceKind as LapKind

_UPRIGHT_LAPS: Final = frozenset({"flashing-ply", "flashing-cap"})
"""Short pieces side by side up a wall: their upright laps are side laps."""
_BROUGHT_DOWN: Final = frozenset({"flashing-cap", "parapet-cap", "saddle"})
"""Top sheets that come down from a wall or saddle, bonded to the field all along their foot.

Where the roof falls to the wall that foot faces the water: bitumen holds it, not its lap.
"""
_MAY_BE_SEEN: Final = frozenset({"counterflashing", "termination-bar", "stop", "coping"})
"""What is let into a wall or held to it: its fasteners may be seen."""
_CARRIES_ONLY: Final = frozenset({"termination-bar", "stop", "band"})
_WATER: Final = {
    PieceKind.SHEET: LapKind.SHEET,
    PieceKind.METAL: LapKind.METAL,
    PieceKind.UNIT: LapKind.METAL,
    PieceKind.WALL: LapKind.METAL,
    PieceKind.STARTER: LapKind.SHINGLE,
    PieceKind.SHINGLE: LapKind.SHINGLE,
}
_WALL: Final = tuple(
    combinations(
        (
            "cant",
            "base",
            "ply",
            "cap",
            "flashing-ply",
            "flashing-cap",
            "saddle.1",
            "saddle.cap",
            "termination-bar",
            "counterflashing",
        ),
        2,
    )
)
_PARAPET: Final = tuple(
    combinations(
        ("cant", "base", "ply", "cap", "parapet-ply", "parapet-cap", "stop", "plate", "coping"), 2
    )
)
_OUTLET: Final = (("base", "box"), ("bed", "box"), ("box", "strip"), ("strip", "cap"))
SEQUENCE: Final = {
    DetailKind.PARAPET: _PARAPET,
    DetailKind.SCUPPER: (*_PARAPET, *_OUTLET, ("parapet-cap", "bead")),
    DetailKind.DRAIN: (
        ("ply", "drain-lead"),
        ("drain-lead", "drain-ply"),
        ("drain-ply", "cap"),
        ("cap", "ring"),
    ),
    DetailKind.LOW_ABOVE_STEEP: (("underlayment", "base"), ("ply", "course")),
    DetailKind.CORNER: (("base", "metal"), ("ply", "metal"), ("metal", "cap"), ("patch", "ply")),
    DetailKind.EAVE_SHINGLE: (("underlayment", "starter"), ("starter", "course")),
    DetailKind.HEADWALL_SHINGLE: (("course", "apron"), ("apron", "cladding")),
    DetailKind.SIDEWALL_SHINGLE: (("step", "cladding"),),
    DetailKind.PITCH_BREAK: (
        ("underlayment", "lining"),
        ("lining", "upper_underlayment"),
        ("metal", "starter"),
    ),
    DetailKind.RIDGE_VENTED: (("shingles_near", "vent"), ("shingles_far", "vent")),
    DetailKind.HEADWALL_MEMBRANE: _WALL,
    DetailKind.SIDEWALL_MEMBRANE: _WALL,
    DetailKind.CHIMNEY_MEMBRANE: _WALL,
    DetailKind.PIPE_MEMBRANE: (
        ("ply", "flange"),
        ("bed", "flange"),
        ("flange", "strip"),
        ("strip", "cap"),
    ),
    DetailKind.CHIMNEY: (
        ("underlayment", "apron"),
        ("underlayment", "step"),
        ("underlayment", "cricket"),
        ("course", "cricket"),
        ("cricket", "pan"),
    ),
}
"""By kind: ids or families of which the first lies under the second wherever both are."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Role:
    """How a piece is judged; lengths in metres.

    Attributes
    ----------
    kind : LapKind
    row_lap, end_lap, other_lap : float
        Least laps: between its rows, within a row, and of another layer over its head.
    bonded, seals_nails, weathers, guest, welded : bool
        As of ``LapPiece``.
    nail_cover : float
        How far a later piece reaches past its fasteners; below 0 where they may be seen.
    stagger, side_offset, end_offset : float
    """

    kind: LapKind
    row_lap: float = 0.0
    end_lap: float = 0.0
    other_lap: float = 0.0
    bonded: bool = False
    seals_nails: bool = True
    weathers: bool = True
    guest: bool = False
    welded: bool = False
    nail_cover: float = 0.0
    stagger: float = 0.0
    side_offset: float = 0.0
    end_offset: float = 0.0


def family_of(piece: Piece) -> str:
    """Return what pieces of one run have in common: the first word of their ids."""
    return piece.id.split(".", 1)[0]


def role_of(piece: Piece, catalog: Catalog, *, bedded: bool) -> Role | None:
    """Return how a piece is judged; None for what leads no water.

    Parameters
    ----------
    piece : Piece
    catalog : Catalog
    bedded : bool
        Whether it lies in a bed of cement.
    """
    if piece.kind not in _WATER or not piece.footprints:
        return None
    family, kind = family_of(piece), _WATER[piece.kind]
    if not piece.material or piece.kind is PieceKind.WALL:
        return Role(kind=kind, nail_cover=-1.0)
    made = catalog.material(piece.material)
    if kind is LapKind.SHINGLE:
        return _shingle(piece, made)
    membranes = {
        layer.material
        for assembly in catalog.assemblies
        if assembly.kind == "membrane"
        for layer in assembly.layers
    }
    tops = {a.layers[-1].material for a in catalog.assemblies if a.kind == "membrane"}
    sheet = kind is LapKind.SHEET
    membrane = made.id in membranes
    cover = 2.0 * INCH if membrane else INCH
    side = made.side_lap if sheet else made.end_lap
    upright = _upright_lap(family, made, catalog) if family in _UPRIGHT_LAPS else 0.0
    # A flange is covered but for its margin; loose metal by a usual lap.
    flange = min(made.end_lap, made.width - INCH) if bedded else min(2.0 * INCH, made.width)
    return Role(
        kind=kind,
        row_lap=upright or side,
        end_lap=upright or made.end_lap,
        other_lap=min(upright or made.width, _over_head(made)) if sheet else flange,
        bonded=is_bonded(made, "bed" if bedded else ""),
        seals_nails=not membrane,
        weathers=not sheet or made.id in tops,
        guest=family in _CARRIES_ONLY,
        welded=family in _BROUGHT_DOWN,
        nail_cover=-1.0 if family in _MAY_BE_SEEN else cover if sheet else 0.0,
        stagger=made.stagger if sheet else 0.0,
        side_offset=made.side_offset,
        end_offset=made.side_offset if family in _UPRIGHT_LAPS else made.end_offset,
    )


def _shingle(piece: Piece, made: Material) -> Role:
    if made.exposure <= 0.0:
        return Role(kind=LapKind.SHINGLE, weathers=False)
    return Role(
        kind=LapKind.SHINGLE,
        row_lap=made.width - made.exposure,
        other_lap=max(0.0, made.width - 2.0 * made.exposure),
        stagger=made.stagger if piece.kind is PieceKind.SHINGLE else 0.0,
    )


def _over_head(made: Material) -> float:
    """Return how far another layer reaches over the head of a sheet: less where it is doubled."""
    doubled = 2.0 * made.side_lap >= made.width
    return made.end_lap if doubled else made.side_lap


def _upright_lap(family: str, made: Material, catalog: Catalog) -> float:
    """Return the least lap of lengths of a wall's flashing: its rule's, else a side lap."""
    rules = (rule for assembly in catalog.assemblies for rule in assembly.strips)
    laps = [rule.lap for rule in rules if rule.id == family and rule.material == made.id]
    return min((lap for lap in laps if lap > 0.0), default=made.side_lap)


def wants_bed(piece: Piece, catalog: Catalog) -> bool:
    """Return whether metal is to lie in cement: all rules of membranes that use it say so."""
    if piece.kind not in {PieceKind.METAL, PieceKind.UNIT} or not piece.material:
        return False
    beds = [
        bool(rule.bed)
        for assembly in catalog.assemblies
        for rule in assembly.strips
        if assembly.kind == "membrane" and rule.material == piece.material
    ]
    return bool(beds) and all(beds)
