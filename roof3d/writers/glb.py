"""GLB: every plane and every layer a named node, y up, linear colours.

The file counts coordinates in single precision from a local origin. The root node ``roof3d``
turns the z-up frame of the model to the y-up frame of the format and moves the local origin
back to its true place; ``extras.origin_m`` repeats that place in model coordinates for
viewers that drop large translations.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from roof3d.scene.model import Part, PartKind, Scene
from roof3d.writers.shell import local_origin, places_beside

if TYPE_CHECKING:
    from collections.abc import Mapping

    import trimesh
    from numpy.typing import NDArray

ROOT = "roof3d"
BUILDING = "building"

#: sRGB colours by kind of part.
COLOURS: Mapping[PartKind, tuple[int, int, int]] = {
    PartKind.LOW_PLANE: (92, 142, 170),
    PartKind.STEEP_PLANE: (176, 106, 82),
    PartKind.WALL: (232, 226, 212),
    PartKind.SOFFIT: (214, 206, 188),
    PartKind.FLOOR: (170, 166, 158),
    PartKind.CHIMNEY: (128, 70, 60),
    PartKind.SKYLIGHT: (150, 190, 210),
    PartKind.PIPE: (110, 114, 118),
    PartKind.DRAIN: (66, 68, 72),
    PartKind.COPING: (176, 182, 186),
    PartKind.DECK: (206, 172, 122),
    PartKind.LAYER: (120, 120, 120),
    PartKind.FASTENER: (70, 72, 76),
}

#: sRGB colours of layers in the order of work, used again from the first after the last.
LAYER_COLOURS = (
    (224, 214, 190),
    (196, 124, 78),
    (98, 128, 148),
    (146, 158, 108),
    (84, 88, 96),
    (184, 150, 176),
)


def glb_bytes(roof: Scene, details: Mapping[str, Scene]) -> bytes:
    """Write a roof and its details as GLB.

    Parameters
    ----------
    roof : Scene
        Its parts become nodes under ``building``.
    details : Mapping[str, Scene]
        By the id of their place; each becomes a node of that name beside the building,
        its layers and pieces nodes under it.

    Returns
    -------
    bytes
        Metres. Each node carries ``extras`` with ``id``, ``name``, ``kind``, ``layer`` and
        ``material``. Equal for equal input.
    """
    import trimesh
    from trimesh.exchange.gltf import export_glb

    origin = local_origin(roof)
    scene = trimesh.Scene()
    scene.graph.update(frame_from=scene.graph.base_frame, frame_to=ROOT)  # type: ignore[no-untyped-call]
    extras: dict[str, dict[str, Any]] = {ROOT: _root_extras(roof, origin)}
    colours: dict[str, tuple[int, int, int]] = {}

    def add(group: str, part: Part, shift: NDArray[np.float64]) -> None:
        node = part.id if part.id not in extras else f"{group}/{part.id}"
        scene.add_geometry(
            _flat_mesh(part, shift), node_name=node, geom_name=node, parent_node_name=group
        )
        extras[node] = _part_extras(part)
        colours[node] = _colour(part)

    _add_group(scene, extras, BUILDING, np.zeros(3), BUILDING)
    for part in roof.parts:
        add(BUILDING, part, -origin)
    for place, move in places_beside(roof, details).items():
        group = place if place not in extras else f"detail/{place}"
        # The move stands in the node, so the parts keep the detail's own coordinates.
        base = local_origin(details[place])
        _add_group(scene, extras, group, move + base - origin, "detail")
        for part in details[place].parts:
            add(group, part, -base)

    def finish(tree: dict[str, Any]) -> None:
        _finish_tree(tree, extras, colours, origin)

    data: bytes = export_glb(  # type: ignore[no-untyped-call]
        scene, include_normals=True, tree_postprocessor=finish
    )
    return data


def _root_extras(roof: Scene, origin: NDArray[np.float64]) -> dict[str, Any]:
    return {
        "title": roof.title,
        "units": "metres",
        "origin_m": origin.tolist(),
        "cautions": list(roof.cautions),
    }


def _part_extras(part: Part) -> dict[str, Any]:
    return {
        "id": part.id,
        "name": part.name,
        "kind": str(part.kind),
        "layer": part.layer,
        "material": part.material,
    }


def _add_group(
    scene: trimesh.Scene,
    extras: dict[str, dict[str, Any]],
    name: str,
    shift: NDArray[np.float64],
    kind: str,
) -> None:
    """Add an empty node that groups others."""
    matrix = np.eye(4)
    matrix[:3, 3] = shift
    scene.graph.update(  # type: ignore[no-untyped-call]
        frame_from=ROOT, frame_to=name, matrix=matrix
    )
    extras[name] = {"id": name, "kind": kind}


def _flat_mesh(part: Part, shift: NDArray[np.float64]) -> trimesh.Trimesh:
    """Return a part as a mesh whose corners carry the normals of their flat faces.

    Corners are shared only among triangles of one direction. Single precision needs the
    shift before rounding; a needle with no area gets the upward normal, never NaN.
    """
    import trimesh

    corners = part.vertices[part.triangles] + shift
    cross = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    length = np.linalg.norm(cross, axis=1)
    flat = length > 0.0
    normals = np.zeros_like(cross)
    normals[:, 2] = 1.0
    normals[flat] = cross[flat] / length[flat, None]
    keys = np.column_stack(
        [part.triangles.reshape(-1, 1), np.round(np.repeat(normals, 3, axis=0), 3)]
    )
    _, first, inverse = np.unique(keys, axis=0, return_index=True, return_inverse=True)
    return trimesh.Trimesh(
        vertices=corners.reshape(-1, 3)[first],
        faces=inverse.reshape(-1, 3),
        vertex_normals=np.repeat(normals, 3, axis=0)[first],
        process=False,
    )


def _colour(part: Part) -> tuple[int, int, int]:
    """Return the sRGB colour of a part."""
    if part.kind is PartKind.LAYER and part.layer > 0:
        return LAYER_COLOURS[(part.layer - 1) % len(LAYER_COLOURS)]
    return COLOURS[part.kind]


def linear_colour(srgb: tuple[int, int, int]) -> list[float]:
    """Turn an sRGB colour into the linear factors that the format asks for.

    Parameters
    ----------
    srgb : tuple[int, int, int]
        0 to 255.

    Returns
    -------
    list[float]
        Red, green, blue, opacity, each 0 to 1.

    References
    ----------
    IEC 61966-2-1, the transfer function of sRGB.
    """
    linear = []
    for channel in srgb:
        value = channel / 255
        linear.append(value / 12.92 if value <= 0.04045 else ((value + 0.055) / 1.055) ** 2.4)
    return [*linear, 1.0]


def _finish_tree(
    tree: dict[str, Any],
    extras: Mapping[str, dict[str, Any]],
    colours: Mapping[str, tuple[int, int, int]],
    origin: NDArray[np.float64],
) -> None:
    """Turn the root, name the maker, and give every node its extras and every mesh a colour."""
    tree["asset"]["generator"] = "roof3d"
    for node in tree["nodes"]:
        node["extras"] = extras[node["name"]]
        if node["name"] == ROOT:
            east, north, up = origin.tolist()
            # A quarter turn about x takes z up to y up: (x, y, z) becomes (x, z, -y).
            half = float(np.sqrt(0.5))
            node.pop("matrix", None)
            node["rotation"] = [-half, 0.0, 0.0, half]
            node["translation"] = [east, up, -north]
    palette = sorted(set(colours.values()))
    tree["materials"] = [
        {
            "name": "srgb-{:02x}{:02x}{:02x}".format(*srgb),
            "pbrMetallicRoughness": {
                "baseColorFactor": linear_colour(srgb),
                "metallicFactor": 0.0,
                "roughnessFactor": 0.9,
            },
        }
        for srgb in palette
    ]
    for mesh in tree["meshes"]:
        mesh["extras"] = extras[mesh["name"]]
        mesh["primitives"][0]["material"] = palette.index(colours[mesh["name"]])
