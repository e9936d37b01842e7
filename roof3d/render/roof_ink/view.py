"""From where to look: the place where low meets steep shall face the reader."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from roof3d.render.camera import direction_from, fit_camera
from roof3d.render.passes import RasterPart, rasterise_numbers
from roof3d.render.visibility import split_line
from roof3d.roof.model import Edge, Kind, Plane, Role, Roof

EYE_HEIGHT_DEG = 36.0
_TRIAL_SIZE = (320, 240)
_SWINGS = (-38.0, 38.0, -24.0, 24.0)


def choose_azimuth(
    roof: Roof, parts: Sequence[RasterPart], numbers: Mapping[str, int], height_deg: float
) -> float:
    """Return the compass direction to stand in, in degrees.

    Parameters
    ----------
    roof : Roof
    parts : sequence of RasterPart
    numbers : mapping of str to int
        Plane id to part number.
    height_deg : float
        Height of the eye above the horizon.

    Notes
    -----
    A few directions about the one that faces the transitions (or the longest eave) are
    tried in small; the one wins that shows most of every plane, the transitions in sight
    counting as much as three planes and the joint with a wall as half a plane. Ties go to
    the first tried.
    """
    best, winner = -1.0, 0.0
    for azimuth in _directions(roof):
        score = round(_score(roof, parts, numbers, azimuth, height_deg), 3)
        if score > best:
            best, winner = score, azimuth
    return winner


def _directions(roof: Roof) -> tuple[float, ...]:
    transitions = [edge for edge in roof.edges if edge.role is Role.TRANSITION]
    free = [edge for edge in roof.edges if edge.role in (Role.EAVE, Role.TRANSITION)]
    edges = transitions or free or list(roof.edges)
    longest = max(edges, key=lambda edge: round(edge.length, 3))
    front = _front([roof.plane(plane_id) for plane_id in longest.planes], convex=longest.convex)
    if transitions:
        return tuple((front + swing) % 360.0 for swing in _SWINGS)
    return tuple((front + turn - 38.0) % 360.0 for turn in range(0, 360, 90)) + tuple(
        (front + turn + 38.0) % 360.0 for turn in range(0, 360, 90)
    )


def _front(planes: Sequence[Plane], *, convex: bool) -> float:
    """Downhill direction of the plane that should face the reader."""
    low = [plane for plane in planes if plane.kind is Kind.LOW]
    steep = [plane for plane in planes if plane.kind is Kind.STEEP]
    for plane in (*steep, *low) if convex else (*low, *steep):
        if plane.azimuth_deg is not None:
            return plane.azimuth_deg
    return 180.0


def _score(
    roof: Roof,
    parts: Sequence[RasterPart],
    numbers: Mapping[str, int],
    azimuth: float,
    height_deg: float,
) -> float:
    points = np.concatenate([part.vertices for part in parts if part.casts])
    camera = fit_camera(points, direction_from(azimuth, height_deg), _TRIAL_SIZE)
    raster = rasterise_numbers(parts, camera)
    counts = np.bincount(raster.ids.ravel(), minlength=max(numbers.values()) + 1)
    scale = camera.pixels_per_metre**2
    score = sum(
        min(1.0, float(counts[numbers[plane.id]]) / (plane.area * scale)) for plane in roof.planes
    )
    for share, edge in _joints(roof):
        runs = split_line(raster, camera, edge.ends)
        drawn = sum(run.length for run in runs)
        seen = sum(run.length for run in runs if run.visible)
        score += share * (seen / drawn if drawn else 0.0)
    return score


def _joints(roof: Roof) -> list[tuple[float, Edge]]:
    """Edges worth seeing besides the planes, with what each is worth in planes."""
    transitions = [edge for edge in roof.edges if edge.role is Role.TRANSITION]
    walls = [edge for edge in roof.edges if edge.role in (Role.HEADWALL, Role.SIDEWALL)]
    total = sum(edge.length for edge in transitions)
    return [(3.0 * edge.length / total, edge) for edge in transitions] + [
        (0.5, edge) for edge in walls
    ]
