"""Parapets in mesh files, read back by another reader."""

from __future__ import annotations

import io
from pathlib import Path

import numpy as np
import pytest
import trimesh

from roof3d.project import build
from roof3d.scene.roof_scene import build_roof_scene
from roof3d.spec.read import load_spec
from roof3d.writers.glb import glb_bytes

ALDER_ROW = Path(__file__).parents[2] / "models" / "alder-row.toml"
WALLS = ("shop.headwall", "shop.sidewall", "shop.sidewall_2")


@pytest.fixture(scope="module")
def meshes() -> dict[str, trimesh.Trimesh]:
    data = glb_bytes(build_roof_scene(build(load_spec(ALDER_ROW))), {})
    scene = trimesh.load_scene(io.BytesIO(data), file_type="glb")
    found = {}
    for name in scene.graph.nodes_geometry:
        mesh = scene.geometry[scene.graph[name][1]].copy()
        mesh.merge_vertices(merge_norm=True, merge_tex=True)
        found[name] = mesh
    return found


@pytest.mark.parametrize("edge", WALLS)
def test_each_coping_is_a_closed_solid(meshes: dict[str, trimesh.Trimesh], edge: str) -> None:
    mesh = meshes[f"{edge}.coping"]
    assert mesh.is_watertight
    assert mesh.volume > 0.0


def test_copings_lie_on_the_tops_of_the_walls(meshes: dict[str, trimesh.Trimesh]) -> None:
    top = meshes["building.parapet"]
    # The tops of all walls are level.
    assert np.ptp(top.vertices[:, 2]) == pytest.approx(0.0, abs=1e-6)
    # 30 ft of street and twice 22.043 ft inside it, 8 in thick.
    assert top.area / 0.3048**2 == pytest.approx((30.0 + 2 * 22.043) * 8 / 12, rel=1e-3)
    for edge in WALLS:
        low, high = meshes[f"{edge}.coping"].bounds[:, 2]
        assert low < top.vertices[0, 2] < high
