"""The house and its joints as one GLB: few meshes, few triangles, every node with its id.

Nodes: ``roof3d`` turns the model's z-up frame; under it ``building`` with one node a part, and
one node a joint, moved to where the joint lies, with one node a layer and kind of piece. Corners
are shared and carry no normals: a reader shades the faces flat, as the format asks for then.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from roof3d.details.model import Detail, Piece
from roof3d.scene.model import Scene
from roof3d.tolerance import DEFAULT, Tolerance
from roof3d.writers.page.wrong import changed_pieces
from roof3d.writers.shell import local_origin

if TYPE_CHECKING:
    import trimesh
    from numpy.typing import NDArray

_ROOT, _BUILDING = "roof3d", "building"
_STEP = 2.0**-13
"""Corners of joints lie on a grid, metres (an eighth of a millimetre): they pack smaller."""


def page_glb(
    house: Scene,
    details: Sequence[tuple[Detail, Sequence[Detail]]],
    *,
    tol: Tolerance = DEFAULT,
) -> bytes:
    """Write the house and its joints as GLB.

    Parameters
    ----------
    house : Scene
        As ``build_roof_scene`` returns it.
    details : sequence of (Detail, sequence of Detail)
        Each joint with its wrong builds; ids of joints are unique. Of a wrong build what differs
        from the right one is written.
    tol : Tolerance
        Surfaces may move by ``height`` where that saves triangles.

    Returns
    -------
    bytes
        Metres, counted from whole metres; ``extras.origin_m`` of the root says from which. Each
        node carries ``extras`` with ``id``, ``kind``, of a layer ``layer`` and ``material``, and
        of a wrong build ``wrong``.
        Equal for equal input.
    """
    origin = local_origin(house)
    scene, extras = _rooted(origin)
    _group(scene, extras, _BUILDING, np.zeros(3), "building")
    for part in house.parts:
        name = f"{_BUILDING}/{part.id}"
        extras[name] = {"id": part.id, "kind": part.kind.value, "name": part.name}
        mesh = _simpler(part.vertices - origin, part.triangles, 0.0)
        scene.add_geometry(mesh, node_name=name, geom_name=name, parent_node_name=_BUILDING)
    for detail, wrongs in details:
        _add_joint(scene, extras, detail, wrongs, origin, tol)
    return _exported(scene, extras)


def joint_glb(
    house: Scene, detail: Detail, wrongs: Sequence[Detail], *, tol: Tolerance = DEFAULT
) -> bytes:
    """Write one joint of a house as GLB, without the house; see ``page_glb``."""
    origin = local_origin(house)
    scene, extras = _rooted(origin)
    _add_joint(scene, extras, detail, wrongs, origin, tol)
    return _exported(scene, extras)


def _rooted(origin: NDArray[np.float64]) -> tuple[trimesh.Scene, dict[str, dict[str, Any]]]:
    import trimesh

    scene = trimesh.Scene()
    scene.graph.update(frame_from=scene.graph.base_frame, frame_to=_ROOT)  # type: ignore[no-untyped-call]
    return scene, {_ROOT: {"id": _ROOT, "kind": "root", "origin_m": origin.tolist()}}


def _add_joint(
    scene: trimesh.Scene,
    extras: dict[str, dict[str, Any]],
    detail: Detail,
    wrongs: Sequence[Detail],
    origin: NDArray[np.float64],
    tol: Tolerance,
) -> None:
    base = np.array(detail.frame.origin)
    group = f"place/{detail.id}"
    _group(scene, extras, group, base - origin, "place", detail.id)
    meshes = [("", *found) for found in _by_layer(detail)]
    for shown in wrongs:
        wrong = shown.mistake.mistake.value if shown.mistake else ""
        meshes += [(wrong, *found) for found in changed_pieces(detail, shown) if found[2]]
    for wrong, layer, kind, pieces in meshes:
        name = f"{group}/{wrong}/{layer}/{kind}"
        extras[name] = {
            "id": f"{detail.id}.{layer}",
            "kind": kind,
            "layer": layer,
            "material": pieces[0].material,
            **({"wrong": wrong} if wrong else {}),
        }
        mesh = _merged(pieces, base, tol)
        scene.add_geometry(mesh, node_name=name, geom_name=name, parent_node_name=group)


def _exported(scene: trimesh.Scene, extras: dict[str, dict[str, Any]]) -> bytes:
    from trimesh.exchange.gltf import export_glb

    def finish(tree: dict[str, Any]) -> None:
        _finish(tree, extras)

    data: bytes = export_glb(  # type: ignore[no-untyped-call]
        scene, include_normals=False, tree_postprocessor=finish
    )
    return data


def _group(
    scene: trimesh.Scene,
    extras: dict[str, dict[str, Any]],
    name: str,
    shift: NDArray[np.float64],
    kind: str,
    place: str = "",
) -> None:
    matrix = np.eye(4)
    matrix[:3, 3] = shift
    scene.graph.update(frame_from=_ROOT, frame_to=name, matrix=matrix)  # type: ignore[no-untyped-call]
    extras[name] = {"id": place or name, "kind": kind}


def _by_layer(detail: Detail) -> Iterator[tuple[int, str, list[Piece]]]:
    """Yield the pieces of each layer, kind by kind: what is drawn alike is one mesh."""
    for layer in detail.layers:
        kinds = dict.fromkeys(p.kind.value for p in detail.pieces if p.layer == layer.number)
        for kind in kinds:
            pieces = [p for p in detail.pieces if p.layer == layer.number and p.kind.value == kind]
            yield layer.number, kind, pieces


def _merged(pieces: Sequence[Piece], base: NDArray[np.float64], tol: Tolerance) -> trimesh.Trimesh:
    import trimesh

    meshes = [_simpler(piece.vertices - base, piece.triangles, tol.height) for piece in pieces]
    starts = np.cumsum([0, *(len(mesh.vertices) for mesh in meshes[:-1])])
    return trimesh.Trimesh(
        vertices=np.round(np.concatenate([mesh.vertices for mesh in meshes]) / _STEP) * _STEP,
        faces=np.concatenate(
            [mesh.faces + start for mesh, start in zip(meshes, starts, strict=True)]
        ),
        process=False,
    )


def _simpler(
    vertices: NDArray[np.float64], triangles: NDArray[np.int64], within: float
) -> trimesh.Trimesh:
    """Return a solid with the fewest triangles that keep its surface; a sheet as it is."""
    import manifold3d
    import trimesh

    if within > 0.0:
        solid = manifold3d.Manifold(
            manifold3d.Mesh64(
                np.ascontiguousarray(vertices, dtype=np.float64),
                np.ascontiguousarray(triangles, dtype=np.uint64),
            )
        )
        if solid.status() == manifold3d.Error.NoError:
            mesh = solid.simplify(within).to_mesh64()
            # Copies, so that nothing of the library outlives this call.
            vertices = np.array(mesh.vert_properties[:, :3], dtype=np.float64)
            triangles = np.array(mesh.tri_verts, dtype=np.int64)
    return trimesh.Trimesh(vertices=vertices, faces=triangles, process=False)


def _finish(tree: dict[str, Any], extras: dict[str, dict[str, Any]]) -> None:
    tree["asset"]["generator"] = "roof3d"
    for node in tree["nodes"]:
        node["extras"] = extras[node["name"]]
        if node["name"] == _ROOT:
            # A quarter turn about x takes z up to y up: (x, y, z) becomes (x, z, -y).
            half = float(np.sqrt(0.5))
            node.pop("matrix", None)
            node["rotation"] = [-half, 0.0, 0.0, half]
    tree["materials"] = [{"name": "plain", "pbrMetallicRoughness": {"metallicFactor": 0.0}}]
    for mesh in tree["meshes"]:
        mesh.pop("extras", None)
        mesh["primitives"][0]["material"] = 0
