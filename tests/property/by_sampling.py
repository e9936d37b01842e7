"""The roof at a point, by brute force from the sections alone: written apart from the package."""

from __future__ import annotations

import math
from itertools import pairwise
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from tests.model_text import Block


def local(block: Block, x: float, y: float) -> tuple[float, float]:
    """Return the point along and across the section, from its first corner."""
    turn = math.radians(block.turn)
    dx, dy = x - block.at[0], y - block.at[1]
    return dx * math.cos(turn) + dy * math.sin(turn), dy * math.cos(turn) - dx * math.sin(turn)


def height(block: Block, x: float, y: float) -> float:
    """Return the height of the section's roof there, walls and overhangs alike."""
    u, v = local(block, x, y)
    across = min(v, block.width - v)
    around = min(across, u, block.length - u)
    match block.form:
        case "gable":
            back = block.pitch if block.pitch_back is None else block.pitch_back
            rise = min(block.pitch * v, back * (block.width - v))
        case "hip":
            rise = block.pitch * around
        case "shed" | "flat":
            rise = block.pitch * v
        case "gambrel" | "mansard":
            inward = across if block.form == "gambrel" else around
            lower, inset = block.lower_pitch or 0.0, block.break_in or 0.0
            rise = lower * inward if inward < inset else lower * inset
            rise += block.pitch * max(0.0, inward - inset)
        case form:
            raise ValueError(form)
    return block.eave + rise


def room(block: Block, x: float, y: float, *, roof: bool) -> float:
    """Return how far the point is inside the walls, or inside the roof's outline."""
    u, v = local(block, x, y)
    eave, rake = block.overhang if roof else (0.0, 0.0)
    if block.form in {"hip", "mansard"}:
        rake = eave
    return min(u + rake, block.length + rake - u, v + eave, block.width + eave - v)


def sheets(pile: tuple[Block, ...], x: float, y: float) -> list[tuple[Block, float]]:
    """Return each section whose roof is there, with its height, but for what walls swallow."""
    there = []
    for block in pile:
        if room(block, x, y, roof=True) <= 0.0:
            continue
        z = height(block, x, y)
        swallowed = any(
            other is not block
            and not other.open
            and room(other, x, y, roof=False) > 0.0
            and other.base <= z < height(other, x, y)
            for other in pile
        )
        if not swallowed:
            there.append((block, z))
    return there


def clear(pile: tuple[Block, ...], x: float, y: float, margin: float) -> bool:
    """Tell whether the point is away from every line at which something begins or ends."""
    for block in pile:
        for roof in (False, True):
            if abs(room(block, x, y, roof=roof)) < margin:
                return False
    heights = sorted(height(block, x, y) for block in pile)
    return all(high - low > margin for low, high in pairwise(heights))
