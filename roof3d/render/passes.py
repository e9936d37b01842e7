"""Rasterise parts: which part and how far behind each pixel, then light and shadow.

VTK only says which triangle is in front at each fine pixel. Colour is worked out here from
that: once a pixel where one triangle fills it, once a fine pixel where several meet.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any, TypeAlias

import numpy as np
from numpy.typing import NDArray

from roof3d.render.camera import Camera, Floats, Vector
from roof3d.render.front import (
    FINE,
    Front,
    Singles,
    borders_of,
    find_front,
    find_shadow,
    joined,
    points_behind,
)

__all__ = (
    "FINE",
    "Colour",
    "Floats",
    "Light",
    "Raster",
    "RasterPart",
    "Singles",
    "Texture",
    "faded",
    "rasterise",
    "rasterise_numbers",
    "strengths",
)

Colour: TypeAlias = tuple[float, float, float]
Texture: TypeAlias = Callable[[Singles, Floats], NDArray[np.floating[Any]]]


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class RasterPart:
    """One mesh to rasterise.

    Attributes
    ----------
    number : int
        1 or more; what ``Raster.ids`` holds where this part is in front.
    vertices : (n, 3) float64, metres
    triangles : (m, 3) integers
        Drawn from both sides; wind counterclockwise seen from outside for the light.
    colour : tuple of 3 floats, each 0 to 1
    texture : function or None
        From points of space (k, 3), float32, metres from a place, and that place (3,) to
        (k,) factors on the colour, about 1.
    lit : bool
        False for a part of one flat colour, which still takes shadows.
    casts : bool
        Whether it throws a shadow.
    outlined : bool
        Whether ``rim`` of ``rasterise`` outlines it against the paper and parts like it.
    """

    number: int
    vertices: Floats
    triangles: NDArray[np.int64]
    colour: Colour
    texture: Texture | None = None
    lit: bool = True
    casts: bool = True
    outlined: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class Light:
    """How parts are lit; strengths add up to about 1 on a face that sees most light.

    Attributes
    ----------
    sun : Vector
        Toward the light that throws shadows, in space; any length.
    key, fill, top, ambient : float
        Strengths: from the upper left of the eye, from the eye, from the sky, everywhere.
    shadow : float
        Factor on the colour in shadow; 1 for no shadows.
    """

    sun: Vector = (-0.5, -0.6, 1.0)
    key: float = 0.27
    fill: float = 0.16
    top: float = 0.08
    ambient: float = 0.55
    shadow: float = 0.72


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Samples:
    """Where a colour is worked out: first pixels that one triangle fills, then fine ones.

    Attributes
    ----------
    whole, mixed : (n,) integers
        Places in the front's box, counted along its rows, of pixels that are one sample, and
        of those that are one a fine pixel.
    faces : (k,) uint32
        Triangle of each sample: ``whole``, then ``mixed`` once for each fine pixel.
    factor : (k,) float32
        What textures, shadows and outlines make of the colour.
    """

    whole: NDArray[np.intp]
    mixed: NDArray[np.intp]
    faces: NDArray[np.uint32]
    factor: Singles


@dataclass(frozen=True, eq=False, kw_only=True)
class Raster:
    """What was rasterised.

    Attributes
    ----------
    colour : (h, w, 3) uint8
    front : Front
        The triangle in front at each fine pixel.
    numbers : (m + 1,) int32
        Number of the part by triangle of ``front``.
    samples : Samples or None
        Kept to paint the same anew; None where nothing was painted.
    """

    colour: NDArray[np.uint8]
    front: Front
    numbers: NDArray[np.int32]
    samples: Samples | None = None

    @cached_property
    def ids(self) -> NDArray[np.int32]:
        """Part numbers at the picture's own size (h, w); the sample up and left in each pixel.

        Exact: nothing is blended; 0 for no part.
        """
        left, top, right, bottom = self.front.box
        found = np.zeros(self.colour.shape[:2], dtype=np.int32)
        found[top:bottom, left:right] = self.numbers[self.front.faces[::FINE, ::FINE]]
        return found

    @cached_property
    def fine_ids(self) -> NDArray[np.int32]:
        """Number of the part in front at each fine pixel (FINE h, FINE w); 0 for none."""
        left, top, right, bottom = (FINE * side for side in self.front.box)
        found = np.zeros(tuple(FINE * side for side in self.colour.shape[:2]), dtype=np.int32)
        found[top:bottom, left:right] = self.numbers[self.front.faces]
        return found

    @cached_property
    def fine_depth(self) -> Singles:
        """Metres as in ``Camera.project`` (FINE h, FINE w); infinite where there is nothing."""
        height, width = (FINE * side for side in self.colour.shape[:2])
        found = np.full((height, width), np.inf, dtype=np.float32)
        left, top, _, _ = self.front.box
        rows, columns = np.nonzero(self.front.faces)
        rows, columns = rows + FINE * top, columns + FINE * left
        found[rows, columns] = self.front.look(rows, columns)
        return found

    @property
    def depth(self) -> Singles:
        """Depths at the picture's own size (h, w), sampled as ``ids``."""
        return self.fine_depth[::FINE, ::FINE]


def rasterise(
    parts: Sequence[RasterPart],
    camera: Camera,
    *,
    paper: Colour = (1.0, 1.0, 1.0),
    light: Light | None = None,
    rim: float = 1.0,
    found: Raster | None = None,
) -> Raster:
    """Draw parts from a camera: colours with light and shadow, part numbers, depths.

    Parameters
    ----------
    parts : sequence of RasterPart
        At least one triangle in all. Parts that lie in one another's surface flicker;
        lift one of them.
    camera : Camera
    paper : Colour
        Where there is no part.
    light : Light or None
        None for the default light.
    rim : float
        Factor on the colour along the border between two parts, one pixel wide; 1 for
        no such outline. Parts that belong together may be given as several.
    found : Raster or None
        Of the same shapes, textures, light and ``rim`` from the same camera, to be painted
        anew in other colours: what is in front is not looked for again.

    Returns
    -------
    Raster
        Same input, same Mesa: the same bytes.

    Raises
    ------
    GeometryError
        Where there is nothing to draw or far too much.
    """
    light = Light() if light is None else light
    raster = rasterise_numbers(parts, camera) if found is None else found
    samples = raster.samples
    if samples is None:
        dim = _dimmed(raster, parts, camera, light, rim)
        dims = [] if dim is None else [dim[y::FINE, x::FINE] for y, x in _FINES]
        samples = _sampled(raster.front, parts, camera, dims)
    shades = np.concatenate((np.array([paper]), _face_colours(parts, camera, light)))
    shades = (255.0 * shades).astype(np.float32)
    colour = _painted(raster.front, samples, shades, camera.size)
    return replace(raster, colour=colour, samples=samples)


def rasterise_numbers(parts: Sequence[RasterPart], camera: Camera) -> Raster:
    """Find part numbers and depths only, for a look before drawing; the colour is black."""
    width, height = camera.size
    numbers = [np.full(len(part.triangles), part.number, np.int32) for part in parts]
    return Raster(
        colour=np.zeros((height, width, 3), np.uint8),
        front=find_front([(part.vertices, part.triangles) for part in parts], camera),
        numbers=np.concatenate((np.zeros(1, np.int32), *numbers)),
    )


def faded(
    raster: Raster, numbers: Collection[int], share: float, paper: Colour = (1.0, 1.0, 1.0)
) -> Raster:
    """Return a raster with the parts of some numbers drawn a share of the way to the paper.

    Parameters
    ----------
    raster : Raster
    numbers : collection of int
        Numbers of parts.
    share : float
        0 leaves them, 1 takes them away.
    paper : Colour
    """
    left, top, right, bottom = raster.front.box
    chosen = np.isin(raster.numbers, np.array(sorted(numbers)))[raster.front.faces]
    cover = np.zeros((bottom - top, right - left, 1), dtype=np.float32)
    for y, x in _FINES:
        cover[..., 0] += chosen[y::FINE, x::FINE]
    colour = raster.colour.copy()
    under = colour[top:bottom, left:right]
    white = np.array(paper, dtype=np.float32) * np.float32(255.0)
    under[...] = np.rint(under + cover * np.float32(share / FINE**2) * (white - under))
    return replace(raster, colour=colour)


_BLOCK = 1 << 14
"""Samples that are worked on together: few enough to stay near the processor."""
_FINES = tuple((y, x) for y in range(FINE) for x in range(FINE))


def _sampled(
    front: Front, parts: Sequence[RasterPart], camera: Camera, dims: Sequence[Singles]
) -> Samples:
    """Choose samples and look up their textures, under shadows and outlines."""
    left, top, right, _ = front.box
    sides = [np.ascontiguousarray(front.faces[y::FINE, x::FINE]) for y, x in _FINES]
    alike = sides[1] == sides[0]
    for side in sides[2:]:
        alike &= side == sides[0]
    drawn = sides[0] != 0
    for dim in dims:
        drawn |= dim != 1.0
    whole, mixed = np.flatnonzero(alike & drawn), np.flatnonzero(~alike)
    faces = np.concatenate([sides[0].take(whole), *(side.take(mixed) for side in sides)])
    # The middle of a pixel, then of each of its fine ones.
    steps = [(0, 0.5, 0.5)] + [(1, (y + 0.5) / FINE, (x + 0.5) / FINE) for y, x in _FINES]
    rows = [np.floor_divide(at, right - left) for at in (whole, mixed)]
    columns = [at - row * (right - left) for at, row in zip((whole, mixed), rows, strict=True)]
    y = np.concatenate([rows[k].astype(np.float32) + np.float32(top + dy) for k, dy, _ in steps])
    x = np.concatenate(
        [columns[k].astype(np.float32) + np.float32(left + dx) for k, _, dx in steps]
    )
    factor = _textures(front, parts, camera, faces, x, y)
    if dims:
        average = sum(side.take(whole) for side in dims) / np.float32(FINE**2)
        factor = factor * np.concatenate([average, *(side.take(mixed) for side in dims)])
    return Samples(whole=whole, mixed=mixed, faces=faces, factor=factor)


def _painted(
    front: Front,
    samples: Samples,
    shades: Singles,
    size: tuple[int, int],
) -> NDArray[np.uint8]:
    """Colour of every pixel of the picture; ``shades`` are those of the triangles, 0 to 255."""
    whole, mixed = samples.whole, samples.mixed
    width, height = size
    left, top, right, bottom = front.box
    picture = np.empty((height, width, 3), np.uint8)
    # A row at a time, since three bytes at a time are slow to copy.
    picture.reshape(height, -1)[...] = np.tile(np.rint(shades[0]).astype(np.uint8), width)
    first = len(whole)
    inside = np.empty((bottom - top, right - left), np.uint8)
    # One colour at a time: what lies side by side in memory is quick to work on.
    for k, shade in enumerate(np.ascontiguousarray(shades.T)):
        colours = shade.take(samples.faces)
        colours *= samples.factor
        blend = colours[first:].reshape(FINE**2, -1).mean(axis=0, dtype=np.float32)
        inside[...] = np.rint(shade[0])
        for where, tone in ((whole, colours[:first]), (mixed, blend)):
            inside.reshape(-1)[where] = np.clip(np.rint(tone, out=tone), 0.0, 255.0, out=tone)
        picture[top:bottom, left:right, k] = inside
    return picture


def _textures(
    front: Front,
    parts: Sequence[RasterPart],
    camera: Camera,
    faces: NDArray[np.uint32],
    x: Singles,
    y: Singles,
) -> Singles:
    """Factor on the colour at each sample: a triangle and a pixel of the picture."""
    factor = np.ones(len(faces), dtype=np.float32)
    sizes = [len(part.triangles) for part in parts]
    owners = np.repeat(np.arange(len(parts) + 1, dtype=np.uint16), [1, *sizes])[faces]
    order = np.argsort(owners, kind="stable")
    ends = np.cumsum(np.bincount(owners, minlength=len(parts) + 1))
    for part, start, end in zip(parts, ends[:-1], ends[1:], strict=True):
        if part.texture is None:
            continue
        for block in range(start, end, _BLOCK):
            mine = order[block : min(end, block + _BLOCK)]
            at = (x[mine], y[mine])
            points = points_behind(camera, *at, front.depth(faces[mine], *at))
            factor[mine] = part.texture(points, np.array(camera.centre))
    return factor


def _dimmed(
    raster: Raster, parts: Sequence[RasterPart], camera: Camera, light: Light, rim: float
) -> Singles | None:
    """Factor of shadows and outlines at each fine pixel of the front; None for neither."""
    faces = raster.front.faces
    dim = None
    if light.shadow < 1.0:
        casters = [(part.vertices, part.triangles) for part in parts if part.casts]
        dark = find_shadow(raster.front, casters, camera, light.sun)
        dim = np.where(dark, np.float32(light.shadow), np.float32(1.0))
    if rim < 1.0:
        plain = [part.number for part in parts if not part.outlined]
        numbers = np.where(np.isin(raster.numbers, plain), 0, raster.numbers)
        dim = np.ones(faces.shape, dtype=np.float32) if dim is None else dim
        dim[borders_of(numbers[faces])] *= np.float32(rim)
    return dim


def _face_colours(parts: Sequence[RasterPart], camera: Camera, light: Light) -> Floats:
    """Colour of each triangle (m, 3) under the light, flat."""
    sizes = [len(part.triangles) for part in parts]
    strength = strengths(*joined([(p.vertices, p.triangles) for p in parts]), camera, light)
    strength[np.repeat([not part.lit for part in parts], sizes)] = 1.0
    colours: Floats = np.array([part.colour for part in parts])
    return strength[:, None] * colours.repeat(sizes, axis=0)


def strengths(
    vertices: Floats, triangles: NDArray[np.int64], camera: Camera, light: Light
) -> Floats:
    """Return how strongly each triangle (m,) is lit, before shadow."""
    right, up, back = (np.array(v) for v in (camera.right, camera.up, camera.back))
    key = -0.55 * right + 0.50 * up + 0.67 * back
    key /= np.linalg.norm(key)
    corners = vertices[triangles]
    normal = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    size = np.linalg.norm(normal, axis=1, keepdims=True)
    normal = np.divide(normal, size, out=np.zeros_like(normal), where=size > 0.0)
    normal[normal @ back < 0.0] *= -1.0
    strength: Floats = (
        light.ambient
        + light.key * np.clip(normal @ key, 0.0, None)
        + light.fill * np.clip(normal @ back, 0.0, None)
        + light.top * np.clip(normal[:, 2], 0.0, None)
    )
    return strength
