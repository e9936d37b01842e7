"""Rasterise parts: which part and how far behind each pixel, then light and shadow.

VTK only says which triangle is in front at each pixel and how deep it lies. Colour is
worked out here from those two, so it is the same on every machine that rasterises alike.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any, TypeAlias

import numpy as np
from numpy.typing import NDArray

from roof3d.errors import GeometryError
from roof3d.render.camera import Camera, Vector, fit_camera
from roof3d.render.machine import choose_window

Colour: TypeAlias = tuple[float, float, float]
Floats: TypeAlias = NDArray[np.float64]
Texture: TypeAlias = Callable[[Floats], Floats]

FINE = 2
"""Rasterised pixels per picture pixel, each way."""
MOST_TRIANGLES = 2**24 - 1


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
        From points of space (k, 3), metres, to (k,) factors on the colour, about 1.
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
class Raster:
    """What was rasterised.

    Attributes
    ----------
    colour : (h, w, 3) uint8
    fine_ids : (FINE h, FINE w) int32
        Number of the part in front; 0 for none. Exact: nothing is blended.
    fine_depth : (FINE h, FINE w) float32
        Metres as in ``Camera.project``; infinite where there is nothing.
    """

    colour: NDArray[np.uint8]
    fine_ids: NDArray[np.int32]
    fine_depth: NDArray[np.float32]

    @property
    def ids(self) -> NDArray[np.int32]:
        """Part numbers at the picture's own size (h, w); the sample up and left in each pixel."""
        return self.fine_ids[::FINE, ::FINE]

    @property
    def depth(self) -> NDArray[np.float32]:
        """Depths at the picture's own size (h, w), sampled as ``ids``."""
        return self.fine_depth[::FINE, ::FINE]


def rasterise(
    parts: Sequence[RasterPart],
    camera: Camera,
    *,
    paper: Colour = (1.0, 1.0, 1.0),
    light: Light | None = None,
    rim: float = 1.0,
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
    width, height = camera.size
    fine = (width * FINE, height * FINE)
    faces, depth = _front_faces(parts, camera, fine)
    table = np.concatenate([np.full(len(p.triangles), p.number, np.int32) for p in parts])
    ids = np.concatenate((np.zeros(1, np.int32), table))[faces]
    shades = np.concatenate((np.array([paper]), _face_colours(parts, camera, light)))
    image = shades.astype(np.float32)[faces]
    for part in parts:
        if part.texture is not None:
            rows, columns = np.nonzero(ids == part.number)
            factor = part.texture(_points(camera, rows, columns, depth[rows, columns]))
            image[rows, columns] *= factor[:, None].astype(np.float32)
    if light.shadow < 1.0:
        dark = _in_shadow(parts, camera, depth, light)
        image[dark] *= np.float32(light.shadow)
    if rim < 1.0:
        plain = np.isin(ids, [part.number for part in parts if not part.outlined])
        image[_borders(np.where(plain, 0, ids))] *= np.float32(rim)
    blocks = sum(image[y::FINE, x::FINE] for y in range(FINE) for x in range(FINE))
    colour = np.clip(np.rint(blocks * np.float32(255.0 / FINE**2)), 0, 255).astype(np.uint8)
    return Raster(colour=colour, fine_ids=ids, fine_depth=depth)


def rasterise_numbers(parts: Sequence[RasterPart], camera: Camera) -> Raster:
    """Find part numbers and depths only, for a look before drawing; the colour is black."""
    width, height = camera.size
    faces, depth = _front_faces(parts, camera, (width * FINE, height * FINE))
    table = np.concatenate([np.full(len(p.triangles), p.number, np.int32) for p in parts])
    return Raster(
        colour=np.zeros((height, width, 3), np.uint8),
        fine_ids=np.concatenate((np.zeros(1, np.int32), table))[faces],
        fine_depth=depth,
    )


def _borders(ids: NDArray[np.int32]) -> NDArray[np.bool_]:
    """Fine pixels on either side of a change of number."""
    found = np.zeros(ids.shape, dtype=np.bool_)
    beside = ids[:, 1:] != ids[:, :-1]
    found[:, 1:] |= beside
    found[:, :-1] |= beside
    below = ids[1:] != ids[:-1]
    found[1:] |= below
    found[:-1] |= below
    return found


def _face_colours(parts: Sequence[RasterPart], camera: Camera, light: Light) -> Floats:
    """Colour of each triangle (m, 3) under the light, flat."""
    colours = []
    for part in parts:
        strength = np.ones(len(part.triangles))
        if part.lit:
            strength = strengths(part.vertices, part.triangles, camera, light)
        colours.append(strength[:, None] * np.array(part.colour))
    return np.concatenate(colours)


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


def _points(
    camera: Camera,
    rows: NDArray[np.intp],
    columns: NDArray[np.intp],
    depth: NDArray[np.float32],
) -> Floats:
    """Points of space behind fine pixels, (k, 3) metres."""
    width, height = camera.size
    x = ((columns + 0.5) / FINE - width / 2) / camera.pixels_per_metre
    y = (height / 2 - (rows + 0.5) / FINE) / camera.pixels_per_metre
    right, up, back = (np.array(v) for v in (camera.right, camera.up, camera.back))
    spread = np.outer(x, right) + np.outer(y, up) - np.outer(depth.astype(np.float64), back)
    points: Floats = spread + np.array(camera.centre)
    return points


def _in_shadow(
    parts: Sequence[RasterPart],
    camera: Camera,
    depth: NDArray[np.float32],
    light: Light,
) -> NDArray[np.bool_]:
    """Fine pixels that the sun does not reach."""
    casters = [part for part in parts if part.casts]
    dark = np.zeros(depth.shape, dtype=np.bool_)
    if not casters:
        return dark
    every = np.concatenate([part.vertices for part in casters])
    edge = 2048
    # The rim of the sun's picture stays empty, so what falls outside it lies in the sun.
    sun = fit_camera(every, light.sun, (edge, edge), (8.0, 8.0, 8.0, 8.0))
    _, sun_depth = _front_faces(casters, sun, (edge, edge))
    rows, columns = np.nonzero(np.isfinite(depth))
    # Pixel of the sun's picture and depth below it are linear in pixel and depth of ours.
    still = np.array([[0.0, 0.0, 0.0], [1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]])
    frame = np.array([camera.right, camera.up, camera.back])
    pixels, below = sun.project(np.array(camera.centre) + still @ frame)
    values = np.column_stack((pixels, below))
    width, height = camera.size
    x = (((columns + 0.5) / FINE - width / 2) / camera.pixels_per_metre).astype(np.float32)
    y = ((height / 2 - (rows + 0.5) / FINE) / camera.pixels_per_metre).astype(np.float32)
    z = -depth[rows, columns]
    start, steps = values[0], values[1:] - values[0]
    reach = [
        np.float32(start[k])
        + np.float32(steps[0, k]) * x
        + np.float32(steps[1, k]) * y
        + np.float32(steps[2, k]) * z
        for k in range(3)
    ]
    column = np.clip(reach[0], 0, edge - 1).astype(np.intp)
    row = np.clip(reach[1], 0, edge - 1).astype(np.intp)
    # Two of the sun's pixels along a face that it only grazes.
    bias = np.float32(4.0 / sun.pixels_per_metre)
    dark[rows, columns] = reach[2] > sun_depth[row, column] + bias
    return dark


def _front_faces(
    parts: Sequence[RasterPart], camera: Camera, fine: tuple[int, int]
) -> tuple[NDArray[np.int32], NDArray[np.float32]]:
    """Let VTK find, at each fine pixel, the triangle in front (from 1; 0 none) and its depth."""
    centre = np.array(camera.centre)
    starts = np.cumsum([0, *(len(part.vertices) for part in parts)])
    # About the camera's centre: VTK keeps coordinates in single precision.
    vertices = np.concatenate([part.vertices - centre for part in parts])
    triangles = np.concatenate(
        [part.triangles + start for part, start in zip(parts, starts, strict=False)]
    )
    if not 0 < len(triangles) <= MOST_TRIANGLES:
        raise GeometryError(
            f"{len(triangles)} triangles cannot be drawn", hint=f"1 to {MOST_TRIANGLES} can"
        )
    behind = -(vertices @ np.array(camera.back))
    pad = 0.05 * float(np.ptp(behind)) + 1.0
    near, far = float(behind.min()) - pad, float(behind.max()) + pad
    window = _window(vertices, triangles, camera, (near, far), fine)
    red, z = _read_back(window, fine)
    faces = red[..., 0].astype(np.int32) << 16
    faces |= red[..., 1].astype(np.int32) << 8
    faces |= red[..., 2]
    depth = (np.float32(near) + z * np.float32(far - near)).astype(np.float32)
    depth[faces == 0] = math.inf
    return faces, depth


def _window(
    vertices: Floats,
    triangles: NDArray[np.int64],
    camera: Camera,
    reach: tuple[float, float],
    fine: tuple[int, int],
) -> Any:
    """Set up VTK's window with every triangle in a flat colour that is its number."""
    import vtkmodules.vtkRenderingOpenGL2  # noqa: F401 - registers the renderer
    from vtkmodules.util import numpy_support
    from vtkmodules.vtkCommonCore import vtkPoints
    from vtkmodules.vtkCommonDataModel import vtkCellArray, vtkPolyData
    from vtkmodules.vtkRenderingCore import (
        vtkActor,
        vtkPolyDataMapper,
        vtkRenderer,
        vtkRenderWindow,
    )

    choose_window()
    numpy_to_vtk: Any = numpy_support.numpy_to_vtk
    number = np.arange(1, len(triangles) + 1, dtype=np.int64)
    colours = np.column_stack((number >> 16, number >> 8 & 255, number & 255)).astype(np.uint8)
    points = vtkPoints()
    points.SetData(numpy_to_vtk(np.ascontiguousarray(vertices, dtype=np.float32), deep=True))
    cells = vtkCellArray()
    offsets = np.arange(0, 3 * len(triangles) + 1, 3, dtype=np.int64)
    flat = np.ascontiguousarray(triangles, dtype=np.int64).ravel()
    cells.SetData(numpy_to_vtk(offsets, deep=True), numpy_to_vtk(flat, deep=True))
    mesh = vtkPolyData()
    mesh.SetPoints(points)
    mesh.SetPolys(cells)
    mesh.GetCellData().SetScalars(numpy_to_vtk(colours, deep=True))
    mapper = vtkPolyDataMapper()
    mapper.SetInputData(mesh)
    actor = vtkActor()
    actor.SetMapper(mapper)
    actor.GetProperty().LightingOff()
    actor.GetProperty().SetInterpolationToFlat()
    renderer = vtkRenderer()
    renderer.SetBackground(0.0, 0.0, 0.0)
    renderer.AddActor(actor)
    near, far = reach
    eye = -near + 1.0
    view = renderer.GetActiveCamera()
    view.ParallelProjectionOn()
    view.SetFocalPoint(0.0, 0.0, 0.0)
    view.SetPosition(*(eye * component for component in camera.back))
    view.SetViewUp(*camera.up)
    view.SetParallelScale(camera.size[1] / 2 / camera.pixels_per_metre)
    view.SetClippingRange(eye + near, eye + far)
    window = vtkRenderWindow()
    window.SetOffScreenRendering(1)
    window.SetMultiSamples(0)
    window.SetSize(*fine)
    window.AddRenderer(renderer)
    window.Render()
    return window


def _read_back(window: Any, fine: tuple[int, int]) -> tuple[NDArray[np.uint8], NDArray[np.float32]]:
    """Colours and depths of a rendered window, top row first; the window is let go."""
    from vtkmodules.util import numpy_support
    from vtkmodules.vtkCommonCore import vtkFloatArray, vtkUnsignedCharArray

    vtk_to_numpy: Any = numpy_support.vtk_to_numpy
    width, height = fine
    colours, depths = vtkUnsignedCharArray(), vtkFloatArray()
    window.GetPixelData(0, 0, width - 1, height - 1, 0, colours, 0)
    window.GetZbufferData(0, 0, width - 1, height - 1, depths)
    image = vtk_to_numpy(colours).reshape(height, width, 3)[::-1].copy()
    z = vtk_to_numpy(depths).reshape(height, width)[::-1].copy()
    window.Finalize()
    return image, z
