"""The roof scene: parts, lines and labels of a project."""

from __future__ import annotations

import math
from functools import cache
from pathlib import Path

import numpy as np
import pytest

import roof3d
from roof3d.project import Project
from roof3d.roof.model import Kind
from roof3d.scene.model import Part, PartKind, Scene
from roof3d.scene.roof_scene import build_roof_scene

MODELS = Path(__file__).parents[3] / "models"
each_model = pytest.mark.parametrize("name", ["lantern-street", "plum-corner", "tide-house"])


@cache
def built(name: str) -> tuple[Project, Scene]:
    project = roof3d.build(roof3d.load(MODELS / f"{name}.toml"))
    return project, build_roof_scene(project)


def part_area(part: Part) -> float:
    corners = part.vertices[part.triangles]
    spans = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    return float(np.linalg.norm(spans, axis=1).sum()) / 2


@each_model
def test_triangles_of_a_plane_have_its_true_area(name: str) -> None:
    project, scene = built(name)
    areas = {part.id: part_area(part) for part in scene.parts}
    gaps = [abs(areas[plane.id] - plane.area) for plane in project.roof.planes]
    assert max(gaps) < 1e-6


@each_model
def test_triangles_of_planes_face_up(name: str) -> None:
    planes = (PartKind.LOW_PLANE, PartKind.STEEP_PLANE)
    for part in (part for part in built(name)[1].parts if part.kind in planes):
        a, b, c = (part.vertices[part.triangles[:, k]] for k in range(3))
        assert (np.cross(b - a, c - a)[:, 2] > 0.0).all()


@each_model
def test_kind_of_part_is_the_kind_of_plane(name: str) -> None:
    project, scene = built(name)
    kinds = {part.id: part.kind for part in scene.parts}
    wanted = {Kind.LOW: PartKind.LOW_PLANE, Kind.STEEP: PartKind.STEEP_PLANE}
    assert {p.id: kinds[p.id] for p in project.roof.planes} == {
        p.id: wanted[p.kind] for p in project.roof.planes
    }


@each_model
def test_there_is_a_line_and_a_label_for_every_edge(name: str) -> None:
    project, scene = built(name)
    edges = [(edge.id, edge.role.value, edge.ends) for edge in project.roof.edges]
    assert [(line.id, line.style, line.ends) for line in scene.lines] == edges
    subjects = [label.subject for label in scene.labels]
    assert subjects == [p.id for p in project.roof.planes] + [e[0] for e in edges]


@each_model
def test_ids_are_unique_and_meshes_read_only(name: str) -> None:
    _, scene = built(name)
    ids = [part.id for part in scene.parts]
    writable = [p.id for p in scene.parts if p.vertices.flags.writeable]
    assert (len(set(ids)), writable) == (len(ids), [])


def test_every_opening_is_a_part_of_its_kind() -> None:
    _, scene = built("plum-corner")
    kinds = {part.id: part.kind for part in scene.parts}
    wanted = {
        "chimney": PartKind.CHIMNEY,
        "bath-vent": PartKind.PIPE,
        "attic-light": PartKind.SKYLIGHT,
    }
    assert {key: kinds[key] for key in wanted} == wanted


def test_label_of_a_plane_says_pitch_and_true_area_in_the_units_of_the_model() -> None:
    porch = {label.subject: label.lines for label in built("lantern-street")[1].labels}
    tide = {label.subject: label.lines for label in built("tide-house")[1].labels}
    # The porch by hand: 20 ft + 2 x 8 in wide; from the eave 13 ft before the house wall to
    # the joint 1.2 ft inside it, 14.2 ft of plan; 21 1/3 x 14.2 x sqrt(145)/12 = 303.98 sq ft.
    area = (21 + 1 / 3) * 14.2 * math.sqrt(145.0) / 12.0
    assert porch["porch.south"] == ("porch.south", f"1:12, {area:.1f} sq ft")
    assert tide["house.south_lower"][1].startswith("70 deg, ")
    assert porch["porch.transition"] == ("transition", "21' 4\"")


def test_anchor_of_a_plane_label_lies_on_its_plane() -> None:
    project, scene = built("plum-corner")
    anchors = {label.subject: label.anchor for label in scene.labels}
    gaps = []
    for plane in project.roof.planes:
        x, y, z = anchors[plane.id]
        gaps.append(abs(plane.gradient[0] * x + plane.gradient[1] * y + plane.offset - z))
    assert max(gaps) < 1e-6


def test_scene_carries_the_cautions() -> None:
    _, scene = built("lantern-street")
    assert any("fall protection" in line for line in scene.cautions)
