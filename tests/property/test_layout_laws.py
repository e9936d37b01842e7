"""Laws of the layout of whole roofs: covered exactly, lapped as told, shingle fashion."""

from __future__ import annotations

import functools
import math
from dataclasses import replace
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
import pytest
import shapely
from hypothesis import given

import roof3d
from roof3d.layout.model import Direction
from roof3d.layout.nails.sheets import nail_sheets
from roof3d.layout.rows import courses_of
from roof3d.project import build
from roof3d.spec.model import LayoutSpec, SiteSpec, Valley, Wind, Zones
from roof3d.tolerance import DEFAULT
from tests.conftest import ROOT
from tests.model_text import Block
from tests.outline_data import all_outlines, needs_data
from tests.property.layout_models import (
    ASSEMBLIES,
    CATALOG,
    FEW,
    KNOWN,
    any_piles,
    boxes_of,
    is_shingle,
    layers_of,
    least_end_offset,
    least_side_offset,
    least_stagger,
    outline_spec,
    spec_of,
    wanted,
    wished,
)
from tests.property.strategies import EXAMPLES

if TYPE_CHECKING:
    from collections.abc import Callable

    from roof3d.layout.model import LaidLayer
    from roof3d.project import Project
    from tests.property.layout_models import Drawn, Wanted

#: Metres and square metres: rounding, and the grid on which overlays are made.
FINE = 1e-9
GRID = 2.0**-30


def _slack(layer: LaidLayer) -> float:
    """Return what an overlay of a layer may be off: rounding along all its lines."""
    lines = float(layer.extent.length) * max(1, len(layer.courses))
    return FINE * max(float(layer.extent.area), lines)


def check_pieces_cover_extents(project: Project) -> None:
    for _, layer in layers_of(project):
        pieces = layer.pieces
        shapes = [pieces.outline(k) for k in range(len(pieces))]
        covered = shapely.union_all(shapes, grid_size=GRID)
        wrong = shapely.symmetric_difference(covered, layer.extent, grid_size=GRID).area
        assert wrong <= _slack(layer), (layer.id, wrong, layer.extent.area)
        areas = shapely.area(shapes)
        assert np.abs(areas - pieces.areas).max() <= FINE * max(1.0, areas.max()), layer.id


def check_courses_cover_their_bands(project: Project) -> None:
    """So that every lap is a lap on the roof too, not only of boxes."""
    for _, layer in layers_of(project):
        u0, v0, u1, v1 = layer.extent.bounds
        across = layer.direction is Direction.ACROSS
        for course in layer.courses:
            band = (
                shapely.box(u0 - 1, course.low, u1 + 1, course.high)
                if across
                else shapely.box(course.low, v0 - 1, course.high, v1 + 1)
            )
            own = np.flatnonzero(layer.pieces.course == course.number).tolist()
            laid = shapely.union_all([layer.pieces.outline(k) for k in own], grid_size=GRID)
            shared = shapely.get_parts(shapely.intersection(layer.extent, band, grid_size=GRID))
            # Where an edge of the extent lies on that of a course they share a line too.
            areas = [one for one in shared if one.geom_type == "Polygon"]
            part = shapely.union_all(areas, grid_size=GRID)
            missing = shapely.difference(part, laid, grid_size=GRID)
            if layer.role == "shingles":  # what the next course hides may be left out
                shown = layer.width - layer.side_lap if course is not layer.courses[-1] else 9.0
                least_u, most_u = u0 - 1, u1 + 1
                seen = shapely.box(least_u, course.low, most_u, course.low + shown)
                missing = shapely.intersection(missing, seen, grid_size=GRID)
            wrong = missing.area + shapely.difference(laid, part, grid_size=GRID).area
            # What shows only within a sliver of a course's side is left to its neighbour.
            least = 2.0 * DEFAULT.sliver * ((u1 - u0) if across else (v1 - v0))
            assert wrong <= least, (layer.id, course, wrong)


def check_areas_add_up(project: Project) -> None:
    for _, layer in layers_of(project):
        pieces = layer.pieces
        earlier: list[shapely.Geometry] = []
        lapped = 0.0
        for number in np.unique(pieces.course):
            own = [pieces.outline(k) for k in np.flatnonzero(pieces.course == number).tolist()]
            course: shapely.Geometry = shapely.Polygon()
            for shape in own:
                if not is_shingle(layer):  # shingles of one course only meet
                    lapped += shapely.intersection(shape, course, grid_size=GRID).area
                    course = shapely.union(course, shape, grid_size=GRID)
            if is_shingle(layer):
                course = shapely.union_all(own, grid_size=GRID)
            below = shapely.union_all(earlier[-4:], grid_size=GRID)
            lapped += shapely.intersection(course, below, grid_size=GRID).area
            earlier.append(course)
        off = abs(math.fsum(pieces.areas) - layer.extent.area - lapped)
        assert off <= 4.0 * _slack(layer), (layer.id, off, layer.extent.area)
        for k, outline in pieces.trimmed.items():
            box = shapely.box(*pieces.boxes[k])
            offcut = shapely.difference(box, layer.extent, grid_size=GRID).area
            near = 2.0 * FINE * box.length
            assert abs(box.area - pieces.areas[k] - offcut) <= near, (layer.id, k)
            assert shapely.difference(outline, box, grid_size=GRID).area <= near, (layer.id, k)


def check_boxes_fit_their_stock(project: Project) -> None:
    for _, layer in layers_of(project):
        seen = boxes_of(layer)
        material = CATALOG.material(layer.material)
        assert (layer.width, layer.length) == (material.width, material.length)
        assert (seen.ends - seen.starts).max() <= material.length + FINE, layer.id
        assert (seen.highs - seen.lows).max() <= material.width + FINE, layer.id
        assert (seen.ends - seen.starts).min() > 0.0, layer.id
        assert (seen.highs - seen.lows).min() > 0.0, layer.id


def check_shingle_fashion(project: Project) -> None:
    for _, layer in layers_of(project):
        seen = boxes_of(layer)
        assert (np.diff(seen.course) >= 0).all(), layer.id
        assert (np.diff(seen.lows) >= -FINE).all(), layer.id
        numbers = np.unique(seen.course)
        material = CATALOG.material(layer.material)
        shingle = is_shingle(layer)
        lap = material.width - material.exposure if shingle else material.side_lap
        for one, two in pairwise(numbers):
            if two != one + 1:
                continue
            head = seen.highs[seen.course == one].min()
            foot = seen.lows[seen.course == two].max()
            # The last course may give a crumb of its lap; what reaches the top laps all there is.
            lapped = head - foot >= max(lap, layer.side_lap) - DEFAULT.sliver
            assert lapped or head >= seen.highs.max() - FINE, (layer.id, int(two), head - foot)
        assert layer.side_lap >= lap - FINE
        for number in numbers:
            own = seen.course == number
            order = np.argsort(seen.starts[own])
            starts, ends = seen.starts[own][order], seen.ends[own][order]
            laps = ends[:-1] - starts[1:]
            if shingle:
                assert (laps <= FINE).all(), (layer.id, int(number), laps.max())
                continue
            least = max(layer.end_lap, material.end_lap)
            # Either they lap, or an opening lies between.
            wrong = (laps < least - DEFAULT.sliver) & (laps > -DEFAULT.merge)
            assert not wrong.any(), (layer.id, int(number), laps.tolist())


def check_told_distances(project: Project) -> None:
    told = {
        (finding.where, kept)
        for finding in project.layout.findings
        if finding.code == "R3D-LAPS"
        for kept in ("neighbouring courses", "end laps from", "side laps from those")
        if kept in finding.message
    }
    for plane in project.layout.planes:
        below = None
        for layer in plane.layers:
            material = CATALOG.material(layer.material)
            where = f"layers[{layer.id}]"
            found = least_stagger(layer)
            assert found == layer.least_stagger or abs(found - layer.least_stagger) < 1e-6, layer.id
            short = found < material.stagger - DEFAULT.sliver
            assert ((where, "neighbouring courses") in told) == short, (layer.id, found)
            if math.isfinite(layer.least_end_offset):
                assert below is not None
                found = least_end_offset(below, layer)
                assert abs(found - layer.least_end_offset) < 1e-6, layer.id
            short = layer.least_end_offset < material.end_offset - DEFAULT.sliver
            assert ((where, "end laps from") in told) == short, layer.id
            if math.isfinite(layer.least_side_offset):
                assert below is not None
                found = least_side_offset(below, layer)
                assert abs(found - layer.least_side_offset) < 1e-9, layer.id
            short = layer.least_side_offset < material.side_offset - DEFAULT.sliver
            assert ((where, "side laps from those") in told) == short, layer.id
            below = layer


def check_nails(project: Project) -> None:
    for _, layer in layers_of(project):
        assert bool(len(layer.nails)) <= bool(layer.fastener), layer.id
        if len(layer.nails):
            off = shapely.distance(layer.extent, shapely.points(layer.nails)).max()
            assert off <= DEFAULT.merge, (layer.id, off)


LAWS = (
    check_pieces_cover_extents,
    check_courses_cover_their_bands,
    check_areas_add_up,
    check_boxes_fit_their_stock,
    check_shingle_fashion,
    check_told_distances,
    check_nails,
)
each_law = pytest.mark.parametrize("law", LAWS, ids=lambda law: law.__name__.removeprefix("check_"))

EVERYTHING = """
[site]
ice_barrier = true
wind = "high"
zones = "asce_7_10"
[layout]
valley = "closed_cut"
ridge_vent = true
"""
MODELS = ("ferry-quay", "lantern-street", "plum-corner", "tide-house")


@FEW
@given(any_piles(), wanted())
def test_every_law_on_any_pile(drawn: Drawn, asked: Wanted) -> None:
    project = wished(spec_of(drawn, asked.tables), asked.assemblies)
    for law in LAWS:
        law(project)


@functools.cache
def _shipped(name: str, first: int) -> Project:
    """Build a shipped model, as it is or with everything asked for and every assembly wished."""
    spec = roof3d.load(ROOT / "models" / f"{name}.toml")
    if first < 0:
        return build(spec)
    site = SiteSpec(ice_barrier=True, wind=Wind.HIGH, zones=Zones.ASCE_7_16)
    laying = LayoutSpec(valley=Valley.CLOSED_CUT, ridge_vent=True, even_laps=first % 2 == 1)
    spec = replace(spec, site=site, layout=laying)
    return wished(spec, ASSEMBLIES[first:] + ASSEMBLIES[:first])


@pytest.mark.parametrize("first", [-1, 0, 3, 6])
@pytest.mark.parametrize("name", MODELS)
@each_law
def test_every_law_on_the_shipped_models(
    law: Callable[[Project], None], name: str, first: int
) -> None:
    law(_shipped(name, first))


@needs_data
@pytest.mark.parametrize("pitch", ["6:12", "1:12"])
def test_every_law_on_open_outlines(pitch: str) -> None:
    every = all_outlines()
    chosen = every if EXAMPLES else every[3::21]
    assemblies = ASSEMBLIES if pitch == "6:12" else ASSEMBLIES[::-1]
    for _, rings in chosen:
        project = wished(outline_spec(rings, EVERYTHING, pitch=pitch), assemblies)
        for law in LAWS:
            law(project)
    assert len(chosen) >= 5


# Work grows with the pieces, and these with the area: of a plane twice as long and as high four
# times as many whole ones, and twice as many at its borders.
@pytest.mark.parametrize("assembly", ASSEMBLIES)
def test_pieces_grow_no_faster_than_the_area(assembly: str) -> None:
    counts = []
    for size in (20.0, 40.0, 80.0):
        block = Block(form="shed", length=2.0 * size, width=size, pitch=0.25, eave=3.0)
        project = wished(spec_of(((block,), ()), ""), (assembly,))
        counts.append(sum(len(layer.pieces) for _, layer in layers_of(project)))
    assert counts[0] > 10
    assert all(4.4 * few >= many for few, many in pairwise(counts)), counts


@pytest.mark.parametrize(("drawn", "asked"), [k[1:] for k in KNOWN], ids=[k[0] for k in KNOWN])
def test_every_law_on_roofs_that_once_broke_one(drawn: Drawn, asked: Wanted) -> None:
    project = wished(spec_of(drawn, asked.tables), asked.assemblies)
    for law in LAWS:
        law(project)


def _nailed(extent: shapely.Polygon, *, from_high: bool) -> np.ndarray:
    low, high = extent.bounds[0], extent.bounds[2]
    nails = nail_sheets(
        courses_of(low, high, width=1.0, lap=0.1, first=0.6, from_high=from_high),
        direction=Direction.ALONG,
        side_lap=0.1,
        nailing=BASE,
        extent=extent,
        from_high=from_high,
    )
    return nails[np.lexsort(nails.round(6).T)]


BASE = next(
    layer.nailing for layer in CATALOG.assembly("self-adhered-membrane").layers if layer.nailing
)


# Every other field row is shifted, counted from where laying starts.
def test_mirrored_courses_along_the_slope_are_nailed_alike() -> None:
    extent = shapely.Polygon([(0.0, 0.0), (5.0, 0.0), (4.2, 3.0), (0.0, 3.0)])
    mirror = shapely.transform(extent, lambda points: (5.0, 0.0) + points * (-1.0, 1.0))
    here, there = _nailed(extent, from_high=False), _nailed(mirror, from_high=True)
    seen = np.column_stack([5.0 - there[:, 0], there[:, 1]])
    assert here == pytest.approx(seen[np.lexsort(seen.round(6).T)], abs=1e-9)
