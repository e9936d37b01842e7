"""Hatches by which layers are told apart in black and white, and their lines clipped to shape."""

from __future__ import annotations

import math
from collections.abc import Mapping

import numpy as np
import shapely

from roof3d.details.model import Detail, PieceKind
from roof3d.drawing.model import Area, Hatch, Point, Rule

_BLANK = Hatch()
_SERIES: Mapping[PieceKind, tuple[Hatch, ...]] = {
    PieceKind.DECK: (
        Hatch(rules=(Rule(angle_deg=45.0, spacing=1.5),)),
        Hatch(rules=(Rule(angle_deg=60.0, spacing=2.2),)),
    ),
    PieceKind.SHEET: (
        Hatch(rules=(Rule(angle_deg=135.0, spacing=0.75),)),
        Hatch(tone=0.66),
        Hatch(rules=(Rule(angle_deg=0.0, spacing=0.5, dash=(0.2, 0.6)),), pen=0.2),
        Hatch(rules=(Rule(angle_deg=90.0, spacing=0.6),)),
        Hatch(tone=0.86, rules=(Rule(angle_deg=0.0, spacing=0.5),)),
        Hatch(tone=0.42),
        Hatch(rules=(Rule(angle_deg=90.0, spacing=1.4), Rule(angle_deg=90.0, spacing=1.0))),
    ),
    PieceKind.BED: (Hatch(tone=0.0), Hatch(tone=0.25)),
    PieceKind.METAL: (
        Hatch(rim=0.5),
        Hatch(tone=0.8, rim=0.5),
        Hatch(rules=(Rule(angle_deg=0.0, spacing=0.45),), rim=0.5),
        Hatch(tone=0.5, rim=0.5),
    ),
    PieceKind.STARTER: (
        Hatch(rules=(Rule(angle_deg=45.0, spacing=0.8), Rule(angle_deg=135.0, spacing=0.8))),
    ),
    PieceKind.SHINGLE: (
        Hatch(tone=0.9, rules=(Rule(angle_deg=120.0, spacing=1.3),)),
        Hatch(tone=0.9, rules=(Rule(angle_deg=60.0, spacing=1.3),)),
        Hatch(tone=0.78, rules=(Rule(angle_deg=90.0, spacing=1.6),)),
    ),
    PieceKind.WALL: (Hatch(rules=(Rule(angle_deg=30.0, spacing=2.4, dash=(3.0, 0.8)),)),),
    PieceKind.UNIT: (
        Hatch(rules=(Rule(angle_deg=45.0, spacing=1.8), Rule(angle_deg=135.0, spacing=1.8))),
        Hatch(tone=0.93, rules=(Rule(angle_deg=45.0, spacing=1.1),)),
    ),
}
"""What fills each kind; a detail's second layer of a kind takes the second, and so on."""
_USUAL = {
    "base-sheet": 0,
    "self-adhered-ply": 1,
    "granule-cap": 2,
    "heat-applied-cap-sheet": 2,
    "mineral-roll": 2,
    "single-ply-sheet": 2,
    "ice-barrier": 3,
    "felt-underlayment": 4,
    "felt-underlayment-double": 4,
    "synthetic-underlayment": 4,
}
"""Which of its kind a material takes, so that it looks the same on every sheet."""
_TELLING = (
    PieceKind.SHINGLE,
    PieceKind.SHEET,
    PieceKind.METAL,
    PieceKind.STARTER,
    PieceKind.DECK,
    PieceKind.UNIT,
    PieceKind.WALL,
    PieceKind.BED,
)
"""What tells of a layer of several kinds, first to last."""


def choose_hatches(detail: Detail) -> dict[tuple[int, PieceKind], Hatch]:
    """Return the hatch of each kind of piece in each layer; nothing for framing and nails."""
    found = [
        (layer, kind)
        for layer in detail.layers
        for kind in _TELLING
        if any(p.kind is kind and p.layer == layer.number for p in detail.pieces)
    ]
    free = {kind: list(range(len(series))) for kind, series in _SERIES.items()}
    usual = {_USUAL.get(layer.material) for layer, kind in found if kind is PieceKind.SHEET}
    chosen = {}
    for layer, kind in found:
        own = _USUAL.get(layer.material, -1) if kind is PieceKind.SHEET else -1
        left = free[kind]
        if own not in left:
            # Not one that another layer here has a better claim to.
            spare = [k for k in left if kind is not PieceKind.SHEET or k not in usual]
            own = next(iter(spare or left), len(_SERIES[kind]) - 1)
        free[kind] = [k for k in left if k != own]
        chosen[layer.number, kind] = _SERIES[kind][own]
    return chosen


def hatch_of_layer(detail: Detail, number: int) -> Hatch:
    """Return the hatch by which a layer is known: that of the kind that tells most of it."""
    chosen = choose_hatches(detail)
    return next((chosen[number, kind] for kind in _TELLING if (number, kind) in chosen), _BLANK)


def hatch_lines(area: Area, rule: Rule) -> tuple[tuple[Point, Point], ...]:
    """Return the lines of one family of a hatch, clipped to the area.

    Lines lie on multiples of the spacing from the corner of the paper, so neighbours that
    share a hatch run on into one another.
    """
    shape = shapely.make_valid(shapely.Polygon(area.rings[0], area.rings[1:]))
    angle = math.radians(rule.angle_deg + area.turn_deg)
    along = np.array((math.cos(angle), math.sin(angle)))
    across = np.array((-along[1], along[0]))
    corners = shapely.get_coordinates(shape)
    u, v = corners @ along, corners @ across
    first, last = math.ceil(v.min() / rule.spacing), math.floor(v.max() / rule.spacing)
    rows = np.arange(first, last + 1) * rule.spacing
    ends = np.stack(
        (
            (u.min() - 1.0) * along + rows[:, None] * across,
            (u.max() + 1.0) * along + rows[:, None] * across,
        ),
        axis=1,
    )
    if not len(ends):
        return ()
    cut = shapely.intersection(shapely.linestrings(ends), shape)
    found = []
    for part in shapely.get_parts(shapely.get_parts(cut)):
        if part.geom_type == "LineString" and part.length > 0.0:
            (ax, ay), *_, (bx, by) = part.coords
            found.append(((ax, ay), (bx, by)))
    return tuple(found)
