"""Which triangle is in front at each pixel: VTK draws their numbers, and we read them back.

How deep a pixel lies is worked out from the plane of its triangle when it is asked for, so one
picture of numbers is all that is read. The window is kept: to open one costs more than to draw.
"""

from __future__ import annotations

import atexit
import threading
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from roof3d.errors import GeometryError
from roof3d.render.camera import Camera, Floats, Vector, fit_camera
from roof3d.render.machine import choose_window

FINE = 2
"""Rasterised pixels per picture pixel, each way."""
MOST_TRIANGLES = 2**24 - 1
_PAD = 2
"""Picture pixels about what is drawn, for the outlines that lie outside it."""
_NUMBERED = """//VTK::System::Dec
//VTK::Output::Dec
uniform int PrimitiveIDOffset;
void main()
{
  int number = gl_PrimitiveID + PrimitiveIDOffset + 1;
  ivec3 bytes = ivec3(number, number >> 8, number >> 16) & 255;
  gl_FragData[0] = vec4(vec3(bytes) / 255.0, 1.0);
}
"""
"""The colour of a triangle is its number, low byte first; what VTK puts in its place lights it."""
_GL_BLEND = 0x0BE2

Singles = NDArray[np.float32]
Mesh = tuple[Floats, NDArray[np.int64]]
"""Vertices (n, 3), metres, and triangles (m, 3)."""


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Front:
    """The triangle in front at each fine pixel.

    Attributes
    ----------
    box : (left, top, right, bottom)
        Picture pixels that ``faces`` covers; there is nothing elsewhere.
    faces : (FINE h, FINE w) uint32
        Of the box; triangles count from 1 in the order given, 0 is none.
    slopes : (7, m + 1) float32
        By triangle: x, y and depth of a corner, change of depth a pixel along x and along y,
        least and greatest depth. Pixels of the picture, metres.
    """

    box: tuple[int, int, int, int]
    faces: NDArray[np.uint32]
    slopes: Singles

    def depth(self, faces: NDArray[np.uint32], x: Singles, y: Singles) -> Singles:
        """Depths of triangles at pixels (x, y) of the picture; infinite for none."""
        corner_x, corner_y, at, along_x, along_y, least, most = self.slopes
        face = faces.astype(np.intp)
        found: Singles = x - corner_x.take(face)
        found *= along_x.take(face)
        found += at.take(face)
        fall = y - corner_y.take(face)
        fall *= along_y.take(face)
        found += fall
        # The middle of a pixel may lie a hair outside a triangle that is seen from its edge.
        np.maximum(found, least.take(face), out=found)
        np.minimum(found, most.take(face), out=found)
        return found

    def pick(self, rows: NDArray[np.int64], columns: NDArray[np.int64]) -> NDArray[np.uint32]:
        """Triangles at fine pixels of the whole picture; 0 where there is none."""
        left, top, _, _ = (FINE * side for side in self.box)
        height, width = self.faces.shape
        if not self.faces.size:
            return np.zeros(len(rows), dtype=np.uint32)
        rows, columns = rows - top, columns - left
        outside = (rows < 0) | (rows >= height) | (columns < 0) | (columns >= width)
        rows *= width
        rows += columns
        rows[outside] = 0
        faces = self.faces.ravel().take(rows)
        faces[outside] = 0
        return faces

    def look(self, rows: NDArray[np.int64], columns: NDArray[np.int64]) -> Singles:
        """Depths in the middle of fine pixels of the whole picture; infinite where nothing is."""
        return self.depth(self.pick(rows, columns), middles(columns), middles(rows))

    def hides(
        self, rows: NDArray[np.int64], columns: NDArray[np.int64], depth: Floats
    ) -> NDArray[np.bool_]:
        """Whether what is in front at fine pixels of the whole picture is nearer than a depth."""
        faces = self.pick(rows, columns)
        least, most = self.slopes[5:]
        found: NDArray[np.bool_] = depth > most.take(faces)
        close = np.flatnonzero(~found & (depth > least.take(faces)))
        x, y = middles(columns[close]), middles(rows[close])
        found[close] = depth[close] > self.depth(faces[close], x, y)
        return found


def middles(steps: NDArray[np.int64], first: int = 0) -> Singles:
    """Return where the middles of fine pixels lie, in pixels of the picture from ``first`` on."""
    found: Singles = (steps.astype(np.float32) + np.float32(0.5)) / np.float32(FINE)
    found += np.float32(first)
    return found


def find_front(meshes: Sequence[Mesh], camera: Camera) -> Front:
    """Let VTK find, at each fine pixel, the triangle in front.

    Raises
    ------
    GeometryError
        Where there is nothing to draw or far too much.
    """
    count = sum(len(triangles) for _, triangles in meshes)
    if not 0 < count <= MOST_TRIANGLES:
        raise GeometryError(f"{count} triangles cannot be drawn", hint=f"1 to {MOST_TRIANGLES} can")
    vertices, triangles = joined(meshes)
    # About the camera's centre: VTK keeps coordinates in single precision.
    vertices -= np.array(camera.centre)
    frame = np.array([camera.right, camera.up, camera.back]).T
    places = vertices @ frame
    scale, (width, height) = camera.pixels_per_metre, camera.size
    places *= (scale, -scale, -1.0)
    places += (width / 2, height / 2, 0.0)
    low, high = places.min(axis=0), places.max(axis=0)
    left, right = (int(np.clip(side, 0, width)) for side in (low[0] - _PAD, high[0] + _PAD + 1.0))
    top, bottom = (int(np.clip(side, 0, height)) for side in (low[1] - _PAD, high[1] + _PAD + 1.0))
    box = (left, top, max(left, right), max(top, bottom))
    return Front(
        box=box,
        faces=_draw(vertices, triangles, camera, box, (float(low[2]), float(high[2]))),
        slopes=_slopes(places[triangles]),
    )


def joined(meshes: Sequence[Mesh]) -> Mesh:
    """Return several meshes as one, in the order given."""
    starts = np.cumsum([0, *(len(vertices) for vertices, _ in meshes)])
    return (
        np.concatenate([vertices for vertices, _ in meshes]),
        np.concatenate([t + start for (_, t), start in zip(meshes, starts, strict=False)]),
    )


def find_shadow(
    front: Front, casters: Sequence[Mesh], camera: Camera, sun: Vector
) -> NDArray[np.bool_]:
    """Find the fine pixels of a front that the sun does not reach; ``sun`` is toward it."""
    dark = np.zeros(front.faces.shape, dtype=np.bool_)
    if not casters:
        return dark
    edge = 1024
    # The rim of the sun's picture stays empty, so what falls outside it lies in the sun.
    every = np.concatenate([vertices for vertices, _ in casters])
    view = fit_camera(every, sun, (edge, edge), (4.0, 4.0, 4.0, 4.0))
    lit = find_front(casters, view)
    rows, columns = np.nonzero(front.faces)
    left, top, _, _ = front.box
    x, y = middles(columns, left), middles(rows, top)
    depth = front.depth(front.faces[rows, columns], x, y)
    pixels, below = view.project(points_behind(camera, x, y, depth) + np.array(camera.centre))
    column, row = (
        np.clip(np.floor(pixels[:, k] * FINE), 0, FINE * edge - 1).astype(np.int64) for k in (0, 1)
    )
    # Two of the sun's pixels along a face that it only grazes.
    dark[rows, columns] = below > lit.look(row, column) + 2.0 / view.pixels_per_metre
    return dark


def points_behind(camera: Camera, x: Singles, y: Singles, depth: Singles) -> Singles:
    """Return the points of space behind pixels of the picture, (k, 3) metres from its centre."""
    width, height = camera.size
    scale = np.float32(1.0 / camera.pixels_per_metre)
    away = np.empty((len(x), 3), dtype=np.float32)
    away[:, 0] = (x - np.float32(width / 2)) * scale
    away[:, 1] = (np.float32(height / 2) - y) * scale
    away[:, 2] = -depth
    points: Singles = away @ np.array([camera.right, camera.up, camera.back], dtype=np.float32)
    return points


def _slopes(corners: Floats) -> Singles:
    """Plane of each triangle over the picture; ``Front.slopes``."""
    start = corners[:, 0]
    a, b = corners[:, 1] - start, corners[:, 2] - start
    area = a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]
    over = np.divide(1.0, area, out=np.zeros_like(area), where=area != 0.0)
    found = np.empty((7, len(corners) + 1), dtype=np.float32)
    found[:, 0] = (0.0, 0.0, np.inf, 0.0, 0.0, np.inf, np.inf)
    found[:3, 1:] = start.T
    found[3, 1:] = (a[:, 2] * b[:, 1] - b[:, 2] * a[:, 1]) * over
    found[4, 1:] = (a[:, 0] * b[:, 2] - b[:, 0] * a[:, 2]) * over
    found[5, 1:] = corners[..., 2].min(axis=1)
    found[6, 1:] = corners[..., 2].max(axis=1)
    return found


def _draw(
    vertices: Floats,
    triangles: NDArray[np.int64],
    camera: Camera,
    box: tuple[int, int, int, int],
    reach: tuple[float, float],
) -> NDArray[np.uint32]:
    """Draw every triangle in a flat colour that is its number; returns the numbers."""
    left, top, right, bottom = box
    size = (FINE * (right - left), FINE * (bottom - top))
    if min(size) == 0:
        return np.zeros((size[1], size[0]), dtype=np.uint32)
    kept = _window()
    kept.mapper.SetInputData(_mesh(vertices, triangles))
    pad = 0.05 * (reach[1] - reach[0]) + 1.0
    near, far = reach[0] - pad, reach[1] + pad
    scale = camera.pixels_per_metre
    away = (
        (left + right - camera.size[0]) / 2 / scale,
        (camera.size[1] - top - bottom) / 2 / scale,
    )
    right_, up, back = (np.array(v) for v in (camera.right, camera.up, camera.back))
    middle = away[0] * right_ + away[1] * up
    view = kept.renderer.GetActiveCamera()
    view.ParallelProjectionOn()
    view.SetFocalPoint(*middle)
    view.SetPosition(*(middle + (1.0 - near) * back))
    view.SetViewUp(*camera.up)
    view.SetParallelScale((bottom - top) / 2 / scale)
    view.SetClippingRange(1.0, 1.0 - near + far)
    return kept.numbers(size)


def _mesh(vertices: Floats, triangles: NDArray[np.int64]) -> Any:
    """Triangles as VTK takes them."""
    from vtkmodules.util import numpy_support
    from vtkmodules.vtkCommonCore import vtkPoints
    from vtkmodules.vtkCommonDataModel import vtkCellArray, vtkPolyData

    numpy_to_vtk: Any = numpy_support.numpy_to_vtk
    points = vtkPoints()
    points.SetData(numpy_to_vtk(np.ascontiguousarray(vertices, dtype=np.float32), deep=True))
    cells = vtkCellArray()
    offsets = np.arange(0, 3 * len(triangles) + 1, 3, dtype=np.int64)
    flat = np.ascontiguousarray(triangles, dtype=np.int64).ravel()
    cells.SetData(numpy_to_vtk(offsets, deep=True), numpy_to_vtk(flat, deep=True))
    mesh = vtkPolyData()
    mesh.SetPoints(points)
    mesh.SetPolys(cells)
    return mesh


class _Window:
    """VTK's window, with one actor for whatever is drawn."""

    def __init__(self) -> None:
        import vtkmodules.vtkRenderingOpenGL2  # noqa: F401 - registers the renderer
        from vtkmodules.vtkCommonCore import vtkCommand
        from vtkmodules.vtkRenderingCore import (
            vtkActor,
            vtkPolyDataMapper,
            vtkRenderer,
            vtkRenderWindow,
        )

        choose_window()
        self.mapper: Any = vtkPolyDataMapper()
        actor = vtkActor()
        actor.SetMapper(self.mapper)
        actor.ForceOpaqueOn()
        actor.GetShaderProperty().SetFragmentShaderCode(_NUMBERED)
        self.renderer: Any = vtkRenderer()
        self.renderer.SetBackground(0.0, 0.0, 0.0)
        self.renderer.AddActor(actor)
        self._window: Any = vtkRenderWindow()
        self._window.SetOffScreenRendering(1)
        self._window.SetMultiSamples(0)
        self._window.AddRenderer(self.renderer)
        self.renderer.AddObserver(vtkCommand.StartEvent, self._blend_nothing)
        atexit.register(self._window.Finalize)

    def _blend_nothing(self, *_: object) -> None:
        """Let numbers replace one another: VTK blends all, and takes twice the time."""
        self._window.GetState().vtkglDisable(_GL_BLEND)

    def numbers(self, size: tuple[int, int]) -> NDArray[np.uint32]:
        """Draw, and read the numbers back, top row first."""
        from vtkmodules.util import numpy_support
        from vtkmodules.vtkCommonCore import vtkUnsignedCharArray

        width, height = size
        self._window.SetSize(width, height)
        self._window.Render()
        colours = vtkUnsignedCharArray()
        self._window.GetRGBACharPixelData(0, 0, width - 1, height - 1, 0, colours)
        self.mapper.RemoveAllInputs()
        vtk_to_numpy: Any = numpy_support.vtk_to_numpy
        found = vtk_to_numpy(colours).view("<u4").reshape(height, width)[::-1]
        numbers: NDArray[np.uint32] = found & np.uint32(MOST_TRIANGLES)
        return numbers


_kept = threading.local()


def _window() -> _Window:
    """Return the window of this thread, opened when it is first asked for."""
    if not hasattr(_kept, "window"):
        _kept.window = _Window()
    window: _Window = _kept.window
    return window


def borders_of(ids: NDArray[np.int32]) -> NDArray[np.bool_]:
    """Fine pixels on either side of a change of number."""
    found = np.zeros(ids.shape, dtype=np.bool_)
    beside = ids[:, 1:] != ids[:, :-1]
    found[:, 1:] |= beside
    found[:, :-1] |= beside
    below = ids[1:] != ids[:-1]
    found[1:] |= below
    found[:-1] |= below
    return found
