"""Mesh files, read back by trimesh and judged by areas, closure, direction and repetition."""

from __future__ import annotations

import io
import json
import struct
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
import trimesh

from roof3d.errors import WriteError
from roof3d.scene.model import Part, PartKind, Scene
from roof3d.writers.glb import linear_colour
from roof3d.writers.mesh import MESH_WRITERS, mesh_bytes
from roof3d.writers.shell import count_open_sides

if TYPE_CHECKING:
    from numpy.typing import NDArray

# A gable of 12 x 8 m walls, wall-line eave 3 m, pitch 0.5, no overhang: ridge at 5 m.
# South and north plane: 12 x sqrt(4^2 + 2^2) = 53.6656 m2 each.
# Walls: 2 x 12 x 3 + 2 x (8 x 3 + 8 x 2 / 2) = 136 m2. Floor: 96 m2.
# Volume: 12 x (8 x 3 + 8 x 2 / 2) = 384 m3.
AREAS = {
    "house.south": 12 * 20**0.5,
    "house.north": 12 * 20**0.5,
    "wall": 136.0,
    "floor": 96.0,
}
VOLUME = 384.0
#: Single precision within 8 m of the local origin: steps below 1e-6 m.
SINGLE = 1e-4

#: At the zero point, and where single precision has steps of 3 and 25 cm.
SHIFTS = [(0.0, 0.0, 0.0), (500_000.31, 4_000_000.17, 120.1)]

CORNERS = np.array(
    [
        [0, 0, 0],
        [12, 0, 0],
        [12, 8, 0],
        [0, 8, 0],
        [0, 0, 3],
        [12, 0, 3],
        [12, 8, 3],
        [0, 8, 3],
        [0, 4, 5],
        [12, 4, 5],
    ],
    dtype=float,
)


def _part(part_id: str, kind: PartKind, triangles: list[list[int]], shift: Any) -> Part:
    return Part(
        id=part_id,
        name=part_id,
        kind=kind,
        vertices=CORNERS + np.asarray(shift, dtype=float),
        triangles=np.array(triangles, dtype=np.int64),
    )


def _house(shift: tuple[float, float, float] = (0.0, 0.0, 0.0)) -> Scene:
    walls = [[0, 1, 5], [0, 5, 4], [2, 3, 7], [2, 7, 6]]
    walls += [[1, 2, 6], [1, 6, 5], [5, 6, 9], [3, 0, 4], [3, 4, 7], [7, 4, 8]]
    return Scene(
        title="Gable",
        subtitle="",
        parts=(
            _part("house.south", PartKind.STEEP_PLANE, [[4, 5, 9], [4, 9, 8]], shift),
            _part("house.north", PartKind.STEEP_PLANE, [[6, 7, 8], [6, 8, 9]], shift),
            _part("wall", PartKind.WALL, walls, shift),
            _part("floor", PartKind.FLOOR, [[0, 2, 1], [0, 3, 2]], shift),
        ),
        cautions=("Mind the edge.",),
    )


def _detail(east: float = 0.0) -> Scene:
    box = trimesh.creation.box(extents=(0.6, 0.4, 0.02))
    parts = tuple(
        Part(
            id=f"joint.layer_{k}.piece",
            name=f"Layer {k}",
            kind=PartKind.LAYER,
            material="sheet",
            vertices=np.asarray(box.vertices) + np.array([east, 0.0, 0.02 * k]),
            triangles=np.asarray(box.faces, dtype=np.int64),
            layer=k,
        )
        for k in (1, 2)
    )
    return Scene(title="Joint", subtitle="", parts=parts)


def _load(ending: str, data: bytes) -> trimesh.Scene:
    loaded = trimesh.load_scene(
        io.BytesIO(data), file_type=ending[1:], process=False, split_objects=True
    )
    assert isinstance(loaded, trimesh.Scene)
    return loaded


def _placed(scene: trimesh.Scene, node: str) -> trimesh.Trimesh:
    """Return the mesh of a node in true coordinates, z up."""
    matrix, geometry = scene.graph[node]
    mesh: trimesh.Trimesh = scene.geometry[geometry].copy()
    mesh.apply_transform(matrix)
    return mesh


def _closed(mesh: trimesh.Trimesh, digits: int) -> tuple[int, float]:
    """Return the open sides after merging equal corners, and the volume."""
    merged = mesh.copy()
    merged.merge_vertices(merge_tex=True, merge_norm=True, digits_vertex=digits)
    return count_open_sides(np.asarray(merged.faces, dtype=np.int64)), float(merged.volume)


def _glb_tree(data: bytes) -> dict[str, Any]:
    magic, version, size = struct.unpack("<4sII", data[:12])
    length, kind = struct.unpack("<I4s", data[12:20])
    assert (magic, version, size, kind) == (b"glTF", 2, len(data), b"JSON")
    tree: dict[str, Any] = json.loads(data[20 : 20 + length])
    return tree


@pytest.mark.parametrize("ending", sorted(MESH_WRITERS))
@pytest.mark.parametrize("shift", SHIFTS)
def test_every_format_is_closed_outward_and_repeats(
    ending: str, shift: tuple[float, float, float]
) -> None:
    house = _house(shift)
    data = mesh_bytes(ending, house)
    assert data == mesh_bytes(ending.upper(), _house(shift))
    merged = _load(ending, data).to_mesh()
    open_sides, volume = _closed(merged, digits=3)
    assert open_sides == 0
    assert volume == pytest.approx(VOLUME, abs=0.01)
    assert np.isfinite(merged.vertices).all()
    assert np.isfinite(merged.face_normals).all()


@pytest.mark.parametrize("ending", [".glb", ".obj"])
@pytest.mark.parametrize("shift", SHIFTS)
def test_areas_of_named_parts_read_back(ending: str, shift: tuple[float, float, float]) -> None:
    scene = _load(ending, mesh_bytes(ending, _house(shift)))
    areas = {name: float(mesh.area) for name, mesh in scene.geometry.items()}
    assert areas == pytest.approx(AREAS, abs=SINGLE)


@pytest.mark.parametrize("ending", [".obj", ".ply"])
def test_double_precision_formats_keep_every_digit(ending: str) -> None:
    shift = (500_000.1234567, 4_000_000.7654321, 0.1)
    merged = _load(ending, mesh_bytes(ending, _house(shift))).to_mesh()
    expected = {tuple(corner) for corner in (CORNERS + np.array(shift)).tolist()}
    assert {tuple(corner) for corner in merged.vertices.tolist()} == expected


def test_glb_stands_y_up_in_its_true_place() -> None:
    scene = _load(".glb", mesh_bytes(".glb", _house((500_000.0, 4_000_000.0, 120.0))))
    south = _placed(scene, "house.south")
    expected = np.array([[500_000.0, 123.0, -4_000_004.0], [500_012.0, 125.0, -4_000_000.0]])
    assert np.abs(south.bounds - expected).max() < SINGLE


def test_glb_normals_are_those_of_the_flat_faces() -> None:
    scene = _load(".glb", mesh_bytes(".glb", _house()))
    south = scene.geometry["house.south"]
    # Pitch 0.5 falling south: the unit normal is (0, -1, 2) / sqrt(5).
    expected = np.array([0.0, -1.0, 2.0]) / 5**0.5
    assert np.abs(south.vertex_normals - expected).max() < SINGLE
    wall = scene.geometry["wall"]
    own = wall.vertex_normals[wall.faces] - wall.face_normals[:, None, :]
    assert np.abs(own).max() < SINGLE


def test_glb_nodes_carry_id_kind_and_layer() -> None:
    tree = _glb_tree(mesh_bytes(".glb", _house(), {"house.joint": _detail()}))
    nodes = {node["name"]: node for node in tree["nodes"]}
    assert [tree["nodes"][k]["name"] for k in tree["scenes"][0]["nodes"]] == ["roof3d"]
    children = {
        name: [tree["nodes"][k]["name"] for k in node.get("children", [])]
        for name, node in nodes.items()
        if "mesh" not in node
    }
    assert children == {
        "roof3d": ["building", "house.joint"],
        "building": ["house.south", "house.north", "wall", "floor"],
        "house.joint": ["joint.layer_1.piece", "joint.layer_2.piece"],
    }
    assert nodes["joint.layer_2.piece"]["extras"] == {
        "id": "joint.layer_2.piece",
        "name": "Layer 2",
        "kind": "layer",
        "layer": 2,
        "material": "sheet",
    }
    assert nodes["house.south"]["extras"]["kind"] == "steep_plane"
    assert nodes["roof3d"]["extras"]["cautions"] == ["Mind the edge."]
    assert tree["asset"]["generator"] == "roof3d"


def test_glb_colours_are_linear() -> None:
    # From memory, IEC 61966-2-1: sRGB 128 is 0.2158605 linear, 10 is 0.00303527.
    assert linear_colour((128, 10, 255)) == pytest.approx([0.2158605, 0.00303527, 1.0, 1.0])
    tree = _glb_tree(mesh_bytes(".glb", _house()))
    steep = tree["meshes"][0]["primitives"][0]["material"]
    factor = tree["materials"][steep]["pbrMetallicRoughness"]["baseColorFactor"]
    assert factor == pytest.approx(linear_colour((176, 106, 82)))


@pytest.mark.parametrize("ending", [".glb", ".obj"])
@pytest.mark.parametrize("east", [0.0, 70_000.4])
def test_details_stand_beside_the_building(ending: str, east: float) -> None:
    scene = _load(ending, mesh_bytes(ending, _house(), {"house.joint": _detail(east)}))
    layer = _placed(scene, "joint.layer_1.piece")
    # The building ends at x = 12; the detail is 0.6 wide and leaves 0.6 free before it.
    assert layer.bounds[0][0] == pytest.approx(12.6, abs=SINGLE)
    assert layer.area == pytest.approx(2 * (0.6 * 0.4 + 0.6 * 0.02 + 0.4 * 0.02), abs=SINGLE)
    up = 1 if ending == ".glb" else 2
    assert layer.bounds[0][up] == pytest.approx(0.0, abs=SINGLE)


@pytest.mark.parametrize("ending", [".stl", ".ply"])
def test_single_mesh_formats_hold_the_building_alone(ending: str) -> None:
    bare = mesh_bytes(ending, _house())
    assert mesh_bytes(ending, _house(), {"house.joint": _detail()}) == bare


@pytest.mark.parametrize("ending", [".stl", ".ply"])
def test_single_mesh_formats_hold_what_stands_on_the_roof(ending: str) -> None:
    house = _house()
    # A closed block of 0.6 x 0.4 x 0.02 m, clear of the house.
    block = replace(_detail().parts[0], id="stack", kind=PartKind.CHIMNEY)
    stack = _with_vertices(block, block.vertices + np.array([5.0, 4.0, 7.0]))
    merged = _load(ending, mesh_bytes(ending, replace(house, parts=(*house.parts, stack))))
    open_sides, volume = _closed(merged.to_mesh(), digits=3)
    assert open_sides == 0
    assert volume == pytest.approx(VOLUME + 0.0048, abs=0.001)


def test_stl_header_names_unit_and_origin() -> None:
    header = mesh_bytes(".stl", _house((500_000.0, 0.0, 0.0)))[:80]
    assert header.rstrip() == b"roof3d, metres, z up, origin 500006 4 2"


def test_stl_counts_from_the_origin_in_its_header() -> None:
    data = mesh_bytes(".stl", _house(SHIFTS[1]))
    origin = np.array([float(word) for word in data[:80].split()[-3:]])
    bounds = _load(".stl", data).bounds + origin
    expected = np.array([CORNERS.min(axis=0), CORNERS.max(axis=0)]) + np.array(SHIFTS[1])
    assert np.abs(bounds - expected).max() < SINGLE


@pytest.mark.parametrize("ending", [".stl", ".ply"])
def test_an_open_building_is_refused(ending: str) -> None:
    house = _house()
    with pytest.raises(WriteError, match="does not close: 4 open sides"):
        mesh_bytes(ending, replace(house, parts=house.parts[:-1]))


def _with_vertices(part: Part, vertices: NDArray[np.float64]) -> Part:
    return replace(part, vertices=vertices)


def test_scenes_that_no_file_could_carry_are_refused() -> None:
    house = _house()
    south = house.parts[0]
    wrong = [
        (replace(house, parts=()), "no parts"),
        (replace(house, parts=(south, south)), "two parts"),
        (
            replace(house, parts=(replace(south, triangles=south.triangles[:0]),)),
            "no triangles",
        ),
        (
            replace(house, parts=(_with_vertices(south, south.vertices * np.nan),)),
            "not a number",
        ),
    ]
    for scene, words in wrong:
        with pytest.raises(WriteError, match=words):
            mesh_bytes(".glb", scene)


def test_an_unknown_ending_is_told_the_known_ones() -> None:
    with pytest.raises(WriteError) as caught:
        mesh_bytes(".xyz", _house())
    assert caught.value.hint == "use one of .glb, .obj, .ply, .stl"


def test_writing_leaves_the_scene_as_it_was() -> None:
    house = _house((500_000.0, 0.0, 0.0))
    before = [(part.vertices.copy(), part.triangles.copy()) for part in house.parts]
    for ending in MESH_WRITERS:
        mesh_bytes(ending, house, {"house.joint": _detail()})
    for part, (vertices, triangles) in zip(house.parts, before, strict=True):
        assert (part.vertices == vertices).all()
        assert (part.triangles == triangles).all()
