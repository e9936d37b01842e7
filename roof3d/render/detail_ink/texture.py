"""What materials look like: wood grain, granules, shingle blends, as factors on a colour."""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import cache

import numpy as np

from roof3d.details.frame import Face, Point2
from roof3d.details.model import INCH, Detail, Piece, PieceKind
from roof3d.render.detail_ink.palette import is_masonry
from roof3d.render.passes import Floats, Singles, Texture

_TILE = 256
"""Knots along a side of the tiles of noise: a power of two."""
_LAST = _TILE - 1
Pattern = Callable[[Singles, Singles], Singles]
_SHADE_ENDS = 7.0
"""Inches below an edge beyond which its shade cannot be seen."""
_STRAIGHT = 0.7
"""Least share of the fall that goes square to the line, for edges to throw a shade."""
_ONE_PLANE = 1.9
"""1 less the cosine between the two faces' ways from the line: 2 where they are one plane."""
_CLIMB = np.float32(1.6)
"""Of the height: by so much the pattern moves where a sheet climbs over another."""
_BRICK_HIGH, _BRICK_JOINT = 8.0 / 3.0, 0.375
"""Inches: three courses of 2 1/4 in brick are 8 in high, 3/8 in of each joint (from memory)."""
_BRICK_LONG = 8.0 + _BRICK_JOINT
"""Inches: a brick of 8 in and its joint (from memory)."""
_MORTAR, _BURNT = 0.66, 0.07
"""Factor of the joints, and how far one brick is off the next in tone."""
_AT_FACE = 0.15
"""Inches within which a place lies on a face."""
_GRAINS = {
    "granule-cap": (0.10, 7.0),
    "heat-applied-cap-sheet": (0.10, 7.0),
    "mineral-roll": (0.09, 6.0),
    "starter-strip": (0.09, 7.0),
    "starter-strip-three-tab": (0.09, 7.0),
    "hip-ridge-laminated": (0.09, 7.0),
    "hip-ridge-three-tab": (0.09, 7.0),
    "cant-strip": (0.06, 3.0),
    "roof-cement": (0.10, 1.6),
    "primer": (0.08, 1.2),
    "single-ply-sheet": (0.008, 2.0),
}
"""Strength of the grain, and knots of it an inch."""


def texture_of(detail: Detail, piece: Piece, shift: Floats) -> Texture:
    """Return the texture of a piece of a detail that stands moved by ``shift``.

    The pattern lies on the developed surface in true inches, so it bends with the sheet and
    stays with it when it is lifted. Grains are drawn several times too big, to be seen. A
    soft shade lies down-slope of each edge of the same layer that lies on the piece.
    """
    if is_masonry(piece):
        return _brick_texture(detail, piece, shift)
    flow = _flow(detail, piece)
    pattern = _pattern(piece, flow)
    fall = math.copysign(1.0, flow[1])
    edges = _edges_upon(detail, piece, flow)

    frame = detail.frame
    axes = np.array([frame.along, frame.near, frame.far]) / INCH
    grained = _is_grained(piece)
    spread = 1.0 - float(np.array(frame.near) @ np.array(frame.far))
    flat = spread > _ONE_PLANE
    up = (np.array(frame.near_normal) / INCH).astype(np.float32)

    def texture(points: Singles, place: Floats) -> Singles:
        # Inches from the line: single precision holds a pixel many times over, and is quick.
        start = axes @ (place - shift - np.array(frame.origin))
        u, near, far = axes.astype(np.float32) @ points.T + start.astype(np.float32)[:, None]
        # As ``Frame.developed`` has it.
        s = np.where(far < near, -near, far)
        shade: Singles = np.ones(len(s), dtype=np.float32)
        for edge in edges:
            below = (s - float(edge) / INCH) * fall
            close = np.flatnonzero((below >= 0.0) & (below < _SHADE_ENDS))
            cast = 1.0 - 0.42 * np.exp(below[close] / -0.9)
            shade[close] = np.minimum(shade[close], cast)
        if grained:
            # Grains are round on whatever bends too: on a cant, over a wall, where an end climbs.
            s = (far - near) / np.float32(spread)
            climb = _CLIMB * (points @ up) if flat else np.zeros_like(u)
            u, s = u + climb, s + climb
        shade *= pattern(u, s)
        return shade

    return texture


def _brick_texture(detail: Detail, piece: Piece, shift: Floats) -> Texture:
    """Return the texture of a chimney or parapet that stands moved by ``shift``.

    Courses run level round it from where its lower face meets the deck; each breaks joint with
    the next, and turns the corner.
    """
    frame = detail.frame
    near = np.array(frame.near)
    run = math.hypot(near[0], near[1])
    back = np.array((-near[0], -near[1], 0.0)) / run
    axes = np.array(((back[1], -back[0], 0.0), back, (0.0, 0.0, 1.0))) / INCH
    places = (piece.vertices - np.array(frame.origin)) @ axes.T
    (left, front, _), (right, _, top) = places.min(axis=0), places.max(axis=0)
    foot = front * -near[2] / run

    def texture(points: Singles, place: Floats) -> Singles:
        start = axes @ (place - shift - np.array(frame.origin))
        u, y, z = axes.astype(np.float32) @ points.T + start.astype(np.float32)[:, None]
        side = (u < left + _AT_FACE) | (u > right - _AT_FACE)
        course = np.floor((z - foot) / _BRICK_HIGH)
        # A course that begins with a long brick before shows a short one beside.
        along = (
            np.where(side, y - front - _BRICK_LONG / 2.0, u - left)
            + course % 2.0 * _BRICK_LONG / 2.0
        )
        brick = np.floor(along / _BRICK_LONG)
        high, wide = (z - foot) - course * _BRICK_HIGH, along - brick * _BRICK_LONG
        tone = np.sin(course * 12.9 + brick * 78.2 + side * 37.7) * 43.7
        shade = 1.0 + _BURNT * (2.0 * (tone - np.floor(tone)) - 1.0)
        shade = np.where((high < _BRICK_JOINT) | (wide < _BRICK_JOINT), _MORTAR, shade)
        found: Singles = np.where(z > top - _AT_FACE, 1.0, shade).astype(np.float32)
        return found

    return texture


def _flow(detail: Detail, piece: Piece) -> Point2:
    """Way of the water on the face where most of a piece lies; down the section if level."""
    face = Face.NEAR if sum(piece.reach) < 0.0 else Face.FAR
    return detail.frame.flow(face) or (0.0, 1.0 if detail.convex else -1.0)


def _edges_upon(detail: Detail, piece: Piece, flow: Point2) -> list[float]:
    """Lower edges of later pieces of the same layer that end upon a piece, developed metres."""
    if piece.kind in {PieceKind.DECK, PieceKind.FRAMING, PieceKind.FASTENER, PieceKind.UNIT}:
        return []
    if abs(flow[1]) < _STRAIGHT:
        return []
    feet = {
        other.reach[1 if flow[1] > 0.0 else 0]
        for other in detail.pieces
        if other.layer == piece.layer
        and other.order > piece.order
        and other.kind is not PieceKind.FASTENER
        and other.span[0] <= piece.span[0] + INCH
        and other.span[1] >= piece.span[1] - INCH
    }
    return sorted(foot for foot in feet if piece.reach[0] < foot < piece.reach[1])


def _pattern(piece: Piece, flow: Point2) -> Pattern:
    if piece.kind in {PieceKind.DECK, PieceKind.FRAMING}:
        return _wood
    if piece.kind is PieceKind.WALL:
        return _boards
    if piece.kind is PieceKind.SHINGLE:
        # Tabs lie side by side across the way of the water.
        a, b = flow
        return lambda u, s: _blend(u * b - s * a, u * a + s * b, piece)
    if piece.material in _DRAWN:
        return _DRAWN[piece.material]
    if piece.kind in {PieceKind.METAL, PieceKind.FASTENER, PieceKind.UNIT}:
        return lambda u, s: 1.0 + 0.012 * _sample(_noise(2.0), u * 0.4, s * 4.0)
    strength, scale = _GRAINS.get(piece.material, (0.028, 5.0))
    return lambda u, s: 1.0 + strength * _sample(_noise(1.0), u * scale, s * scale)


def _is_grained(piece: Piece) -> bool:
    """Return whether a piece shows grains alike in all directions."""
    return piece.kind is PieceKind.SHEET and piece.material in _GRAINS


def _boards(u: Singles, s: Singles) -> Singles:
    """Lapped boards that run along the line, a dark shadow under each."""
    off = np.abs(np.mod(s + 2.825, 6.0) - 3.0)
    shade: Singles = 1.0 - 0.28 * np.clip((0.225 - off) * 10.0, 0.0, 1.0)
    return shade + 0.02 * _sample(_noise(2.0), u * 0.6, s * 3.0)


def _weave(u: Singles, s: Singles) -> Singles:
    """Fine threads both ways."""
    threads: Singles = np.clip(5.0 * np.sin(u * 4.2) * np.sin(s * 4.2), -1.0, 1.0)
    return 1.0 + 0.03 * threads


def _ribs(u: Singles, s: Singles) -> Singles:
    """Baffles of a vent."""
    ribs: Singles = np.clip(5.0 * np.sin((u + s) * 2.6), -1.0, 1.0)
    return 1.0 + 0.10 * ribs


_DRAWN: dict[str, Pattern] = {"synthetic-underlayment": _weave, "ridge-vent": _ribs}


def _wood(u: Singles, s: Singles) -> Singles:
    """Long grain along the panel, broken by slow waves."""
    wave = 2.2 * _sample(_noise(9.0), u * 1.1, s * 1.5)
    streak = _sample(_noise(1.1), u * 0.35 + wave, s * 5.0 + 2.0 * wave)
    return 1.0 + 0.06 * streak + 0.025 * _sample(_noise(7.0), u * 2.0, s * 2.0)


def _blend(u: Singles, s: Singles, piece: Piece) -> Singles:
    """Laminated shingle: tabs of uneven width and tone, and granules."""
    row = piece.order * 45
    drift = 2.2 * _sample(_noise(5.0), u * 3.0, np.full_like(u, row * 0.7))
    tab = np.floor((u + drift + row * 3.7) / 6.4).astype(np.intp)
    spot = ((tab * 37 + row * 11) & _LAST) * _TILE + ((tab * 101 + row) & _LAST)
    tone = _noise(0.0).take(spot)
    grain = _sample(_noise(1.0), u * 7.0, s * 7.0)
    return 1.0 + 0.10 * np.clip(tone, -1.2, 1.2) + 0.075 * grain


def _sample(grid: Singles, x: Singles, y: Singles) -> Singles:
    """Look a tiling grid up between its knots."""
    x0, y0 = np.floor(x), np.floor(y)
    fx, fy = x - x0, y - y0
    i, j = x0.astype(np.intp), y0.astype(np.intp)
    row, next_row = (i & _LAST) * _TILE, ((i + 1) & _LAST) * _TILE
    column, next_column = j & _LAST, (j + 1) & _LAST
    near = grid.take(row + column)
    near += fx * (grid.take(next_row + column) - near)
    far = grid.take(row + next_column)
    far += fx * (grid.take(next_row + next_column) - far)
    near += fy * (far - near)
    return near


@cache
def _noise(blur: float) -> Singles:
    """Tiling noise of mean 0 and deviation 1, blurred by a Gaussian of so many knots."""
    grid = np.random.default_rng(round(blur * 10) + 7).standard_normal((_TILE, _TILE))
    wave = np.fft.fftfreq(_TILE)
    damp = np.exp(-2.0 * (np.pi * blur) ** 2 * (wave[:, None] ** 2 + wave[None, :] ** 2))
    smooth = np.fft.ifft2(np.fft.fft2(grid) * damp).real
    return np.asarray((smooth - smooth.mean()) / smooth.std(), dtype=np.float32).ravel()
