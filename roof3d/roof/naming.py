"""Names for planes: the section, then the wind the plane falls toward."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Sequence

from roof3d.geometry.plane import HeightPlane
from roof3d.roof.overlay.regions import Region
from roof3d.roof.overlay.sheets import Overlay
from roof3d.spec.parapets.sides import WINDS


def plane_names(built: Overlay, regions: Sequence[Region]) -> tuple[str, ...]:
    """Return one id a region: ``main.south``; ``main.south_2`` for a further piece.

    Where one wall carries a plane above another they are ``_lower`` and ``_upper``.
    """
    stems = [face_name(built, region.face) for region in regions]
    count: dict[str, int] = defaultdict(int)
    names = []
    for stem in stems:
        count[stem] += 1
        names.append(stem if count[stem] == 1 else f"{stem}_{count[stem]}")
    return tuple(names)


def face_name(built: Overlay, number: int) -> str:
    """Return the id stem of a face, pieces not told apart."""
    section, face = built.faces[number]
    wind = _wind(face.plane)
    storeys = {
        other.storey
        for owner, other in built.faces
        if owner == section and _wind(other.plane) == wind
    }
    storey = f"_{face.storey}" if len(storeys) > 1 and face.storey else ""
    return f"{built.sections[section].id}.{wind}{storey}"


def _wind(plane: HeightPlane) -> str:
    if math.hypot(plane.gx, plane.gy) == 0.0:
        return "level"
    azimuth = math.degrees(math.atan2(-plane.gx, -plane.gy))
    return WINDS[round(azimuth / 45.0) % len(WINDS)]
