"""How far each layer of a detail stands off the deck when the layers are lifted."""

from __future__ import annotations

import math

from roof3d.details.model import Detail, DetailKind, PieceKind
from roof3d.scene.model import Point3
from roof3d.tolerance import DEFAULT

TRANSITIONS = frozenset({DetailKind.LOW_BELOW_STEEP, DetailKind.LOW_ABOVE_STEEP})
"""Where a low plane meets a steep one."""
_LIFTED = "Layers lifted square to the roof, those of the far face alone square to that."
_LIFTED_BETWEEN = "Layers lifted away from roof and upright alike."
_STEPS = {PieceKind.BED: 0.45, PieceKind.SHINGLE: 1.4}
"""Share of the lift by which a layer of that kind alone stands off the one below; else 1."""
_OFF_BED = 1.3


def shift(detail: Detail, layer: int, lift: float) -> Point3:
    """Return how far a layer is moved by a lift, metres."""
    pieces = {piece.layer: piece for piece in reversed(detail.pieces)}
    laid = [number for number in _below(detail, layer) if number > 1]
    level: dict[int, float] = {}
    for place, number in enumerate(laid):
        way = pieces[number].lift
        same = [other for other in laid[:place] if pieces[other].lift == way]
        # What is lifted another way must still stay below what lies on it.
        under = [other for other in laid[:place] if _lies_on(detail, number, other)]
        below = max((level[other] for other in (*same[-1:], *under)), default=0.0)
        level[number] = below + _step(detail, number, way)
    x, y, z = (lift * level.get(layer, 0.0) * axis for axis in pieces[layer].lift)
    return (x, y, z)


def _lies_on(detail: Detail, layer: int, other: int) -> bool:
    """Whether two layers share over half of the narrower, across the line."""
    (a, b), (c, d) = _reach(detail, layer), _reach(detail, other)
    return 2.0 * (min(b, d) - max(a, c)) > min(b - a, d - c) + DEFAULT.merge


def _reach(detail: Detail, layer: int) -> tuple[float, float]:
    ends = [end for p in detail.pieces if p.layer == layer for end in p.reach]
    return min(ends), max(ends)


def _below(detail: Detail, layer: int) -> list[int]:
    """Return a layer and those that are laid before it; of a wrong build as it was laid."""
    numbers = [other.number for other in detail.layers]
    if detail.mistake is not None:
        first = {piece.layer: piece.order for piece in reversed(detail.pieces)}
        numbers.sort(key=lambda number: first[number])
    return numbers[: numbers.index(layer) + 1] if layer in numbers else []


def _step(detail: Detail, layer: int, direction: Point3) -> float:
    """Share of the lift that a layer adds to what is lifted that way."""
    pieces = [piece for piece in detail.pieces if piece.layer == layer]
    if pieces[0].lift != direction:
        return 0.0
    kinds = {piece.kind for piece in pieces}
    if len(kinds) == 1 and kinds <= _STEPS.keys():
        return _STEPS[kinds.pop()]
    below = {piece.kind for piece in detail.pieces if piece.layer == layer - 1}
    return _OFF_BED if below == {PieceKind.BED} else 1.0


def lift_words(detail: Detail, lift: float) -> str:
    """Say in one sentence how the layers were lifted."""
    if lift <= 0.0:
        return "Layers where they belong."
    if detail.kind not in TRANSITIONS:
        inside = detail.faces[1].slope is None and not detail.convex
        return _LIFTED_BETWEEN if inside else _LIFTED
    if detail.convex:
        return (
            "Layers that reach the low deck lifted square to it, those of the steep face square "
            "to that."
        )
    bend = math.degrees(detail.frame.turn)
    return (
        f"All layers lifted square to the low deck ({bend:.0f} deg off square to the steep one, "
        "so that none swings in front of another)."
    )
