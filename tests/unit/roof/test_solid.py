"""The closed building: no gap, the right way round, the planes' own areas."""

from __future__ import annotations

from collections import Counter
from pathlib import Path

import numpy as np
import pytest

from roof3d.roof.build import build_roof
from roof3d.roof.model import Solid
from roof3d.roof.solid import build_solid
from roof3d.spec.read import load_spec, parse_spec

MODELS = sorted((Path(__file__).parents[3] / "models").glob("*.toml"))


def open_sides(solid: Solid) -> int:
    sides = Counter(
        (a, b) for t in solid.triangles.tolist() for a, b in zip(t, (*t[1:], t[0]), strict=True)
    )
    return sum(1 for (a, b), count in sides.items() if sides[(b, a)] != count)


def volume(solid: Solid) -> float:
    points = solid.vertices - solid.vertices.mean(axis=0)
    a, b, c = (points[solid.triangles[:, k]] for k in range(3))
    return float(np.einsum("ij,ij->", a, np.cross(b, c)) / 6.0)


def areas(solid: Solid) -> dict[str, float]:
    a, b, c = (solid.vertices[solid.triangles[:, k]] for k in range(3))
    size = np.linalg.norm(np.cross(b - a, c - a), axis=1) / 2.0
    found: Counter[str] = Counter()
    for name, value in zip(solid.faces, size.tolist(), strict=True):
        found[name] += value
    return dict(found)


@pytest.mark.parametrize("path", MODELS, ids=lambda p: p.stem)
def test_shipped_models_are_closed_and_carry_every_plane_whole(path: Path) -> None:
    spec = load_spec(path)
    roof, _ = build_roof(spec)
    solid = build_solid(spec, roof)
    meshed = areas(solid)
    assert open_sides(solid) == 0
    assert {p.id: meshed[p.id] for p in roof.planes} == pytest.approx(
        {p.id: p.area for p in roof.planes}, rel=1e-6
    )


GABLE = """
schema = 1
name = "one"
units = "metric"
[[section]]
id = "m"
form = "gable"
length = "12 m"
width = "8 m"
at = ["0 m", "0 m"]
eave = "3 m"
pitch = "50 %"
overhang = "0 m"
"""


def test_volume_of_a_gable_is_box_plus_prism() -> None:
    """12 x 8 x 3 + 12 x 8 x 2 / 2 = 384 m3."""
    spec = parse_spec(GABLE)
    roof, _ = build_roof(spec)
    assert volume(build_solid(spec, roof)) == pytest.approx(384.0, abs=1e-9)


CROSSING_WALLS = (
    GABLE
    + """
[[section]]
id = "t"
form = "shed"
length = "4 m"
width = "6 m"
at = ["12 m", "1 m"]
eave = "2 m"
pitch = "50 %"
overhang = "0 m"
"""
)


def test_touching_walls_whose_tops_cross_are_closed() -> None:
    """Side by side: 3 + y/2 up to 5 and down again against 2 + (y - 1)/2."""
    spec = parse_spec(CROSSING_WALLS)
    roof, _ = build_roof(spec)
    solid = build_solid(spec, roof)
    assert open_sides(solid) == 0
    assert volume(solid) == pytest.approx(384.0 + 4 * 6 * 2 + 4 * 6 * 3 / 2, abs=1e-9)
