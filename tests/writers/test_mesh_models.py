"""The shipped models as mesh files, read back by trimesh: areas, closure, direction."""

from __future__ import annotations

import io
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import pytest
import trimesh

from roof3d.project import build
from roof3d.scene.detail_scene import build_detail_scene
from roof3d.scene.roof_scene import build_roof_scene
from roof3d.spec.read import load_spec
from roof3d.writers.mesh import MESH_WRITERS, mesh_bytes
from roof3d.writers.shell import count_open_sides

if TYPE_CHECKING:
    from roof3d.project import Project

MODELS = sorted((Path(__file__).parents[2] / "models").glob("*.toml"))

#: Single precision near the local origin, over the area of a whole plane.
SINGLE = 1e-3


def _read(project: Project, ending: str) -> trimesh.Scene:
    data = mesh_bytes(ending, build_roof_scene(project))
    scene = trimesh.load_scene(
        io.BytesIO(data), file_type=ending[1:], process=False, split_objects=True
    )
    assert isinstance(scene, trimesh.Scene)
    return scene


@pytest.mark.parametrize("ending", [".glb", ".obj"])
@pytest.mark.parametrize("model", MODELS, ids=lambda path: path.stem)
def test_each_plane_has_the_area_that_was_measured(model: Path, ending: str) -> None:
    project = build(load_spec(model))
    geometry = _read(project, ending).geometry
    areas = {plane.id: float(geometry[plane.id].area) for plane in project.roof.planes}
    measured = {plane.id: plane.area for plane in project.roof.planes}
    assert areas == pytest.approx(measured, abs=SINGLE)


@pytest.mark.parametrize("ending", sorted(MESH_WRITERS))
@pytest.mark.parametrize("model", MODELS, ids=lambda path: path.stem)
def test_the_building_is_closed_and_outward(model: Path, ending: str) -> None:
    merged = _read(build(load_spec(model)), ending).to_mesh()
    merged.merge_vertices(merge_tex=True, merge_norm=True, digits_vertex=5)
    assert count_open_sides(np.asarray(merged.faces, dtype=np.int64)) == 0
    assert merged.volume > 0.0


@pytest.mark.parametrize("ending", [".glb", ".obj"])
def test_the_layers_of_a_transition_are_nodes_beside_the_house(ending: str) -> None:
    project = build(load_spec(next(path for path in MODELS if path.stem == "lantern-street")))
    roof, detail = build_roof_scene(project), build_detail_scene(project, "porch.transition")
    data = mesh_bytes(ending, roof, {"porch.transition": detail})
    geometry = trimesh.load_scene(
        io.BytesIO(data), file_type=ending[1:], process=False, split_objects=True
    ).geometry
    assert set(geometry) == {part.id for part in (*roof.parts, *detail.parts)}
    for part in detail.parts:
        own = trimesh.Trimesh(vertices=part.vertices, faces=part.triangles, process=False)
        assert geometry[part.id].area == pytest.approx(own.area, abs=SINGLE), part.id
