"""Parts cut out of the picture, to be moved over what lies below by their depth."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from roof3d.render.detail_ink.palette import LIGHT
from roof3d.render.lesson_pictures.stage import Stage, draw_stage, ink_edges, rim_runs
from roof3d.render.passes import FINE
from roof3d.render.sheet import Sheet

Grey = NDArray[np.float32]
_COUNTS = 0.12
"""Cover from which on a pixel is the sprite's: else what comes later breaks its outline up."""
_FLUSH, _PROUD = 0.9, 2.5
_LIMB = 3
"""Pixels, an odd number, over which the depth of a part reaches past its outline."""


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Sprite:
    """Parts as they are drawn at rest, cut to the box that they fill.

    Attributes
    ----------
    corner : tuple[int, int]
        Left and top of the box in the picture, pixels.
    colour : (h, w, 3) float32, 0 to 255
    cover : (h, w) float32, 0 to 1
        How much of each pixel they cover.
    depth : (h, w) float32
        Metres; infinite where they are not.
    """

    corner: tuple[int, int]
    colour: Grey
    cover: Grey
    depth: Grey


@dataclass(slots=True, eq=False, kw_only=True)
class Canvas:
    """What lies already: the picture, 0 to 255, and how deep each pixel of it lies."""

    colour: Grey
    depth: Grey


def bare_canvas(size: tuple[int, int]) -> Canvas:
    """Return a picture of bare paper."""
    width, height = size
    colour = np.empty((height, width, 3), dtype=np.float32)
    colour[...] = 255.0 * np.array(LIGHT.paper, dtype=np.float32)
    return Canvas(colour=colour, depth=np.full((height, width), np.inf, dtype=np.float32))


def cut_sprite(stage: Stage, numbers: Collection[int], weight: float) -> Sprite | None:
    """Draw some parts alone and cut them out; None where nothing of them is in the picture."""
    from scipy.ndimage import minimum_filter

    raster = draw_stage(stage, numbers)
    runs = rim_runs(stage, raster, numbers)
    inked, lines = Sheet(stage.camera.size, LIGHT.paper), Sheet(stage.camera.size, "white")
    inked.image(raster.colour)
    ink_edges(inked, runs, weight)
    lines.lines(runs[0], width=weight, ink="black")
    lines.lines(runs[1], width=0.6 * weight, ink="black", alpha=0.85)
    # Pixels of a fine raster: cover is their share, depth the nearest of them.
    fine = [raster.fine_ids[y::FINE, x::FINE] > 0 for y in range(FINE) for x in range(FINE)]
    cover = sum(part.astype(np.float32) for part in fine) / np.float32(FINE**2)
    near = np.minimum.reduce(
        [raster.fine_depth[y::FINE, x::FINE] for y in range(FINE) for x in range(FINE)]
    )
    dark = np.float32(1.0) - lines.pixels()[..., 0].astype(np.float32) / np.float32(255.0)
    cover = np.maximum(cover, dark).astype(np.float32)
    # What lies flush with a wall, and the half of an outline beyond it, comes forward a little.
    flush, proud = (np.float32(px / stage.camera.pixels_per_metre) for px in (_FLUSH, _PROUD))
    depth = np.where(np.isfinite(near), near - flush, minimum_filter(near, size=_LIMB) - proud)
    cover[~np.isfinite(depth)] = 0.0
    rows, columns = np.nonzero(cover > 0.0)
    if not len(rows):
        return None
    box = np.s_[rows.min() : rows.max() + 1, columns.min() : columns.max() + 1]
    paper = np.float32(255.0) * np.array(LIGHT.paper, dtype=np.float32)
    share = np.maximum(cover[box], np.float32(1.0 / 255.0))[..., None]
    # Take the paper out of what is blended with it along the outline.
    blended = inked.pixels()[box].astype(np.float32)
    colour = np.clip((blended - paper * (1.0 - share)) / share, 0.0, 255.0)
    return Sprite(
        corner=(int(columns.min()), int(rows.min())),
        colour=colour.astype(np.float32),
        cover=cover[box],
        depth=depth[box].astype(np.float32),
    )


def lay_sprite(
    canvas: Canvas,
    sprite: Sprite,
    shift: tuple[int, int] = (0, 0),
    nearer: float = 0.0,
    strength: float = 1.0,
) -> Canvas:
    """Return the picture with a sprite over it, moved; what is nearer the eye stays in front.

    Parameters
    ----------
    canvas : Canvas
        Left as it is.
    shift : tuple[int, int]
        Pixels to the right and down.
    nearer : float
        Metres toward the eye.
    strength : float
        0 for not yet there, 1 for whole.
    """
    height, width = canvas.depth.shape
    left, top = sprite.corner[0] + shift[0], sprite.corner[1] + shift[1]
    tall, wide = sprite.depth.shape
    x0, y0, x1, y1 = max(0, left), max(0, top), min(width, left + wide), min(height, top + tall)
    colour, depth = canvas.colour.copy(), canvas.depth.copy()
    if x0 >= x1 or y0 >= y1:
        return Canvas(colour=colour, depth=depth)
    there = np.s_[y0:y1, x0:x1]
    here = np.s_[y0 - top : y1 - top, x0 - left : x1 - left]
    moved = sprite.depth[here] - np.float32(nearer)
    front = moved <= depth[there]
    share = (np.float32(strength) * sprite.cover[here] * front)[..., None]
    colour[there] += share * (sprite.colour[here] - colour[there])
    depth[there] = np.where(front & (sprite.cover[here] > _COUNTS), moved, depth[there])
    return Canvas(colour=colour, depth=depth)
