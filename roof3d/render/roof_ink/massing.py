"""Parts of a roof scene made ready for rasterising: hatched planes, flat faces, the ground."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from roof3d.project import Project
from roof3d.render.camera import Camera
from roof3d.render.passes import Light, RasterPart
from roof3d.render.roof_ink.hatching import plane_texture
from roof3d.render.roof_ink.key import SURFACES
from roof3d.render.roof_ink.palette import PAPER, PART_COLOURS
from roof3d.roof.model import Plane
from roof3d.scene.model import Part, Scene


def plain_part(part: Part, number: int) -> RasterPart:
    """Return a part in its flat colour, without hatch."""
    return RasterPart(
        number=number,
        vertices=part.vertices,
        triangles=part.triangles,
        colour=PART_COLOURS[part.kind],
    )


def raster_parts(
    project: Project, scene: Scene, numbers: dict[str, int], camera: Camera
) -> tuple[list[RasterPart], int, frozenset[int]]:
    """Parts to rasterise, massing cut into flat faces for its outlines, and the ground last.

    Returns the parts, the number of the ground, and those of faces of openings.
    """
    planes = {plane.id: plane for plane in project.roof.planes}
    openings = {opening.id for opening in project.roof.openings}
    extra: set[int] = set()
    free = len(numbers) + 1
    parts = []
    for part in scene.parts:
        plain = plain_part(part, numbers[part.id])
        if part.id in planes:
            parts.append(_hatched(plain, planes[part.id], camera))
            continue
        faces = _flat_faces(part)
        for k in range(int(faces.max()) + 1):
            number = numbers[part.id] if k == 0 else free
            free += k > 0
            if part.id in openings:
                extra.add(number)
            parts.append(
                RasterPart(
                    number=number,
                    vertices=part.vertices,
                    triangles=part.triangles[faces == k],
                    colour=plain.colour,
                )
            )
    parts.append(_ground_part(scene, free))
    return parts, free, frozenset(extra)


def _hatched(part: RasterPart, plane: Plane, camera: Camera) -> RasterPart:
    _, hatch = SURFACES[plane.kind]
    origin = min(plane.outline, key=lambda p: (p[2], p[0], p[1]))
    return RasterPart(
        number=part.number,
        vertices=part.vertices,
        triangles=part.triangles,
        colour=part.colour,
        texture=plane_texture(plane.gradient, origin, camera, hatch),
    )


def _flat_faces(part: Part) -> NDArray[np.intp]:
    """Give triangles of one normal and one distance the same number, from 0."""
    corners = part.vertices[part.triangles] - part.vertices[0]
    normal = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    length = np.linalg.norm(normal, axis=1, keepdims=True)
    normal = np.divide(normal, length, out=np.zeros_like(normal), where=length > 0.0)
    distance = np.sum(normal * corners[:, 0], axis=1, keepdims=True)
    key = np.rint(np.hstack((normal * 50.0, distance * 50.0)))
    _, inverse = np.unique(key, axis=0, return_inverse=True)
    faces: NDArray[np.intp] = inverse.ravel()
    return faces


def _ground_part(scene: Scene, number: int) -> RasterPart:
    """Return a level sheet of paper under the house, to catch its shadow."""
    points = np.concatenate([part.vertices for part in scene.parts])
    low, high = points.min(axis=0), points.max(axis=0)
    pad = 0.85 * (high[2] - low[2]) + 0.5
    z = low[2] - 0.02
    corners = [
        (low[0] - pad, low[1] - pad, z),
        (high[0] + pad, low[1] - pad, z),
        (high[0] + pad, high[1] + pad, z),
        (low[0] - pad, high[1] + pad, z),
    ]
    return RasterPart(
        number=number,
        vertices=np.array(corners),
        triangles=np.array([[0, 1, 2], [0, 2, 3]], dtype=np.int64),
        colour=PAPER,
        lit=False,
        casts=False,
        outlined=False,
    )


def sunlight(camera: Camera) -> Light:
    """Sun over the reader's left shoulder, high enough that eaves throw a narrow shadow."""
    right, back = np.array(camera.right), np.array(camera.back)
    level = np.array([back[0], back[1], 0.0])
    level /= np.linalg.norm(level)
    sun = -0.62 * right + 0.42 * level + np.array([0.0, 0.0, 1.0])
    return Light(sun=(float(sun[0]), float(sun[1]), float(sun[2])), shadow=0.80)
