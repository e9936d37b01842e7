"""What every mesh format needs of a scene: checks, a local origin, one merged shell."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from roof3d.errors import WriteError
from roof3d.scene.model import Part, Scene

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from numpy.typing import NDArray


def check_parts(where: str, scene: Scene) -> None:
    """Refuse a scene that no mesh file could carry honestly.

    Parameters
    ----------
    where : str
        Name of the scene, for the message.
    scene : Scene

    Raises
    ------
    WriteError
        No parts; a part without triangles; a coordinate that is not finite; an id twice.
    """
    if not scene.parts:
        raise WriteError("nothing to write: the scene has no parts", where=where)
    seen: set[str] = set()
    for part in scene.parts:
        place = f"{where}.{part.id}"
        if part.id in seen:
            raise WriteError("two parts have this id", where=place)
        seen.add(part.id)
        if len(part.triangles) == 0:
            raise WriteError("the part has no triangles", where=place)
        if not np.isfinite(part.vertices).all():
            raise WriteError("the part has a coordinate that is not a number", where=place)


def local_origin(scene: Scene) -> NDArray[np.float64]:
    """Return the point that single-precision formats count from.

    Parameters
    ----------
    scene : Scene
        With at least one part.

    Returns
    -------
    (3,) float64
        Middle of the scene's bounds, rounded to a whole metre: exact in any format.

    Notes
    -----
    A single-precision coordinate near 500,000 m has a step of 3 cm; near the local origin
    of a building it has a step of a few micrometres.
    """
    low, high = bounds(scene.parts)
    return np.round((low + high) / 2.0)


def bounds(parts: Iterable[Part]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return the lowest and the highest coordinates of some parts, each (3,) float64."""
    every = np.concatenate([part.vertices for part in parts])
    return every.min(axis=0), every.max(axis=0)


def places_beside(roof: Scene, details: Mapping[str, Scene]) -> dict[str, NDArray[np.float64]]:
    """Set details in a row east of the building, standing on its lowest level.

    Parameters
    ----------
    roof : Scene
    details : Mapping[str, Scene]
        By the id of their place, in the order of the row.

    Returns
    -------
    dict[str, (3,) float64]
        The move that takes each detail from its own coordinates to its place in the row;
        the free space before each is as wide as the detail.
    """
    low, high = bounds(roof.parts)
    east = float(high[0])
    moves: dict[str, NDArray[np.float64]] = {}
    for place, scene in details.items():
        least, most = bounds(scene.parts)
        width = float(most[0] - least[0])
        target = np.array([east + width, low[1], low[2]])
        moves[place] = target - least
        east = float(target[0]) + width
    return moves


def merged_shell(scene: Scene) -> tuple[NDArray[np.float64], NDArray[np.int64]]:
    """Return the closed building of a scene as one mesh.

    Parameters
    ----------
    scene : Scene
        Its parts (planes, openings, walls, soffits, floor) together enclose the building.

    Returns
    -------
    vertices : (n, 3) float64
        No two equal, in the order of first use.
    triangles : (m, 3) int64
        Counterclockwise seen from outside.

    Raises
    ------
    WriteError
        Where the parts do not close: some side of a triangle lacks its reverse.
    """
    index: dict[tuple[float, ...], int] = {}
    triangles: list[NDArray[np.int64]] = []
    for part in scene.parts:
        own = np.array(
            [index.setdefault(tuple(corner), len(index)) for corner in part.vertices.tolist()],
            dtype=np.int64,
        )
        triangles.append(own[part.triangles])
    merged = np.concatenate(triangles)
    # A triangle that merging has made into a line bounds nothing, and its sides cancel.
    merged = merged[
        (merged[:, 0] != merged[:, 1])
        & (merged[:, 1] != merged[:, 2])
        & (merged[:, 2] != merged[:, 0])
    ]
    open_sides = count_open_sides(merged)
    if open_sides:
        raise WriteError(f"the building does not close: {open_sides} open sides of triangles")
    return np.array(list(index), dtype=np.float64), merged


def count_open_sides(triangles: NDArray[np.int64]) -> int:
    """Count the sides of triangles that lack their reverse.

    Parameters
    ----------
    triangles : (m, 3) int64

    Returns
    -------
    int
        0 for a closed mesh, also where two closed bodies touch along a line.
    """
    sides = np.concatenate([triangles[:, [0, 1]], triangles[:, [1, 2]], triangles[:, [2, 0]]])
    forward, counts = np.unique(np.sort(sides, axis=1), axis=0, return_inverse=True)
    balance = np.bincount(
        counts.reshape(-1),
        weights=np.where(sides[:, 0] < sides[:, 1], 1.0, -1.0),
        minlength=len(forward),
    )
    return int(np.abs(balance).sum())
