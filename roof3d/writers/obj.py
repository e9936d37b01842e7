"""OBJ: text, one named object a part, double precision, z up."""

from __future__ import annotations

from typing import TYPE_CHECKING

from roof3d.writers.shell import places_beside

if TYPE_CHECKING:
    from collections.abc import Mapping

    from roof3d.scene.model import Part, Scene


def obj_bytes(roof: Scene, details: Mapping[str, Scene]) -> bytes:
    """Write a roof and its details as OBJ.

    Parameters
    ----------
    roof : Scene
    details : Mapping[str, Scene]
        By the id of their place; set in a row east of the building.

    Returns
    -------
    bytes
        ASCII-safe UTF-8. Each part is an ``o`` object named by its id, in a ``g`` group
        ``building`` or the id of the detail's place. True coordinates in metres, z up,
        with as many digits as it takes to read the same numbers back.
    """
    moves = places_beside(roof, details)
    lines = [f"# {' '.join(roof.title.split())}", "# metres, z up, +y north"]
    index: dict[str, int] = {}
    _append_parts(lines, index, "building", roof.parts, (0.0, 0.0, 0.0))
    for place, scene in details.items():
        east, north, up = (float(value) for value in moves[place])
        _append_parts(lines, index, place, scene.parts, (east, north, up))
    return ("\n".join(lines) + "\n").encode()


def _append_parts(
    lines: list[str],
    index: dict[str, int],
    group: str,
    parts: tuple[Part, ...],
    move: tuple[float, float, float],
) -> None:
    """Append the lines of some parts; ``index`` numbers each vertex line once in the file."""
    for part in parts:
        own: list[int] = []
        fresh: list[str] = []
        for x, y, z in (part.vertices + move).tolist():
            line = f"v {x!r} {y!r} {z!r}"
            if line not in index:
                index[line] = len(index) + 1
                fresh.append(line)
            own.append(index[line])
        lines.extend([f"o {part.id}", f"g {group}", *fresh])
        lines.extend(f"f {own[a]} {own[b]} {own[c]}" for a, b, c in part.triangles.tolist())
