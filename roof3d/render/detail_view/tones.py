"""How light each layer is drawn, so that those laid on one another stay apart in grey print."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import pairwise

import numpy as np

from roof3d.details.model import Detail, Piece, PieceKind
from roof3d.render.camera import Camera
from roof3d.render.detail_ink.palette import colour_of, lightness
from roof3d.render.front import joined
from roof3d.render.passes import Light, Raster, strengths
from roof3d.scene.model import Part

_APART = 0.115
"""Least difference of drawn greys, 0 to 1, before textures and shades take their part."""
_SLIVERS = 8000
"""How many slivers would fill the sheet."""
_OWN = frozenset({PieceKind.FRAMING, PieceKind.FASTENER})
"""Kinds that keep their colour, and say nothing of their layer's."""
_DARKEST, _DARKEST_ON_DARK, _LIGHTEST = 0.17, 0.3, 0.90


def tones_of(
    detail: Detail,
    parts: Sequence[Part],
    camera: Camera,
    light: Light,
    measured: Mapping[int, float] | None = None,
    *,
    dark: bool = False,
) -> Mapping[int, float]:
    """Return a factor on the lightness of each layer; 1 where its colour is apart already.

    From the bottom up: a layer too like the one below is made lighter or darker, whichever
    asks for less and leaves room. ``measured`` are greys, 0 to 1, that layers were drawn in
    with their own colours: what is in sight may be lit unlike the whole. On ``dark`` paper
    none is so dark that it sinks into it.
    """
    darkest = _DARKEST_ON_DARK if dark else _DARKEST
    seen = _seen(parts, camera, light)
    tones: dict[int, float] = {}
    below: float | None = None
    for layer in detail.layers:
        shown = [
            (piece, *found)
            for piece, found in zip(detail.pieces, seen, strict=True)
            if piece.layer == layer.number and piece.kind not in _OWN
        ]
        if not shown:
            continue
        piece, _, strength = max(shown, key=lambda found: found[1])
        drawn = _grey(piece, 1.0) * strength
        if measured is not None and layer.number in measured:
            strength *= measured[layer.number] / drawn
            drawn = measured[layer.number]
        wanted = max(drawn, darkest) if dark else drawn
        if below is not None and abs(wanted - below) < _APART:
            choices = [
                tone
                for tone in (below - _APART, below + _APART)
                if darkest <= tone <= _LIGHTEST * max(1.0, strength)
            ]
            wanted = min(choices, key=lambda tone, at=wanted: abs(tone - at))  # type: ignore[misc]
        tones[layer.number] = wanted / drawn
        if measured is None or layer.number in measured:
            below = wanted
    return tones


def greys_of(
    detail: Detail, raster: Raster, layer_of: Mapping[int, int], tones: Mapping[int, float]
) -> Mapping[int, float]:
    """Return the middle grey, 0 to 1, of what is seen of each layer, as if its tone were 1.

    A layer of which no more than a sliver is seen is left out.
    """
    numbers = np.zeros(len(layer_of) + 1, dtype=np.int16)
    for number, layer in layer_of.items():
        if detail.pieces[number - 1].kind not in _OWN:
            numbers[number] = layer
    left, top, right, bottom = raster.front.box
    place = numbers[raster.ids[top:bottom, left:right]]
    # Beside another layer a pixel is drawn in the colours of both.
    inner = place != 0
    across, down = place[:, 1:] == place[:, :-1], place[1:] == place[:-1]
    inner[:, 1:] &= across
    inner[:, :-1] &= across
    inner[1:] &= down
    inner[:-1] &= down
    drawn = np.flatnonzero(inner)
    layers = place.ravel()[drawn]
    colour = raster.colour[top:bottom, left:right].reshape(-1, 3).take(drawn, axis=0)
    red, green, blue = colour.T.astype(np.float32)
    grey = (0.299 * red + 0.587 * green + 0.114 * blue) / 255.0
    found = {layer: grey[layers == layer] for layer in tones}
    return {
        layer: float(np.median(own)) / tones[layer]
        for layer, own in found.items()
        if len(own) * _SLIVERS > raster.ids.size
    }


def least_contrast(detail: Detail, greys: Mapping[int, float], tones: Mapping[int, float]) -> float:
    """Return the least difference of grey, 0 to 1, between layers laid one after another."""
    drawn = [greys[n.number] * tones[n.number] for n in detail.layers if n.number in greys]
    return min((abs(b - a) for a, b in pairwise(drawn)), default=1.0)


def tone_of(piece: Piece, tones: Mapping[int, float]) -> float:
    """Return the factor on the lightness of a piece."""
    return 1.0 if piece.kind in _OWN else tones.get(piece.layer, 1.0)


def _grey(piece: Piece, tone: float) -> float:
    return lightness(colour_of(piece, tone))


def _seen(parts: Sequence[Part], camera: Camera, light: Light) -> list[tuple[float, float]]:
    """Area of each part that faces the eye, as seen, square metres; and how well it is lit."""
    vertices, triangles = joined([(part.vertices, part.triangles) for part in parts])
    corners = vertices[triangles]
    normal = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    toward = np.clip(normal @ np.array(camera.back), 0.0, None)
    lit = strengths(vertices, triangles, camera, light)
    found = []
    for first, last in pairwise(np.cumsum([0, *(len(part.triangles) for part in parts)]).tolist()):
        own = toward[first:last]
        total = float(own.sum())
        found.append((total / 2.0, float(own @ lit[first:last]) / total if total else 1.0))
    return found
