"""Edges, walls, laps and corners of membranes: true lengths, right order, closed solids."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import shapely

from roof3d.details.build import build_detail
from roof3d.details.frame import Face
from roof3d.details.membrane.sheets.end_laps import find_end_lap
from roof3d.details.model import Detail, DetailKind, Piece
from roof3d.details.shapes.solids import Body, cut_body
from roof3d.project import build
from roof3d.spec.read import parse_spec
from tests.unit.details.membrane.houses import (
    ASSEMBLIES,
    DRAWN,
    INCH,
    KINDS,
    ROLES,
    TRUE,
    detail_of,
    faults_of,
    house,
    out_of_order,
    places_of,
    site_of,
)

MODELS = sorted((Path(__file__).parents[4] / "models").glob("*.toml"))
EDGES = (DetailKind.EAVE_MEMBRANE, DetailKind.RAKE_MEMBRANE)
WALLS = (DetailKind.HEADWALL_MEMBRANE, DetailKind.SIDEWALL_MEMBRANE)
each_kind = pytest.mark.parametrize("kind", KINDS)
each_assembly = pytest.mark.parametrize("assembly", ASSEMBLIES)


def measure(detail: Detail, name: str) -> float:
    """A length of a detail in inches."""
    return round(next(m.value for m in detail.measures if m.id == name) / INCH, 6)


def pieces(detail: Detail, start: str) -> list[Piece]:
    return [p for p in detail.pieces if p.id.startswith(start) and p.footprints]


# 1:12 is in the ordinary suite with every assembly, below.
@each_kind
@pytest.mark.parametrize("thickness", [DRAWN, TRUE])
@pytest.mark.parametrize("pitch", [0.25, pytest.param(1.0, marks=pytest.mark.heavy), 1.9])
def test_solids_are_sound(kind: DetailKind, pitch: float, thickness: tuple[float, float]) -> None:
    assert faults_of(detail_of(kind, pitch, thickness=thickness)) == []


# Membranes lie below 2:12 unless a model asks for more.
@pytest.mark.parametrize("pitch", [3.0, 6.0, 12.0, 21.0])
@each_kind
def test_solids_are_sound_where_sheets_run_up_a_steep_slope(kind: DetailKind, pitch: float) -> None:
    assert faults_of(detail_of(kind, pitch)) == []


@each_kind
@each_assembly
def test_every_assembly_is_drawn_with_the_layers_it_has(kind: DetailKind, assembly: str) -> None:
    detail = detail_of(kind, 1.0, assembly)
    drawn = {role for role in ("base", "ply", "cap") if pieces(detail, f"{role}.")}
    assert (faults_of(detail), drawn) == ([], set(ROLES[assembly]))


@each_kind
@each_assembly
@pytest.mark.parametrize("pitch", [1.0, 6.0])
def test_later_pieces_lie_over_earlier_ones(kind: DetailKind, assembly: str, pitch: float) -> None:
    assert out_of_order(detail_of(kind, pitch, assembly)) == set()


@pytest.mark.parametrize("model", MODELS, ids=[path.stem for path in MODELS])
def test_every_place_of_the_shipped_models_is_sound(model: Path) -> None:
    project = build(parse_spec(model.read_text(encoding="utf-8")))
    found = [place for kind in KINDS for place in places_of(project, kind)]
    faults = {
        place.id: wrong
        for place in found
        if (wrong := faults_of(build_detail(site_of(project, place))))
    }
    assert faults == {}
    assert bool(found) is (model.stem != "plum-corner")  # which has no membrane


@each_kind
def test_every_measure_is_the_distance_of_its_ends(kind: DetailKind) -> None:
    measures = detail_of(kind).measures
    assert len(measures) >= 2
    assert max(abs(math.dist(*m.ends) - m.value) for m in measures) < 1e-9


# Flange of 4 in: roofing contractors' manual of British Columbia, SBS metal edge. Base turned
# down 2 in, 1/2 in of metal in sight: common practice, no source.
@pytest.mark.parametrize("kind", EDGES)
def test_edge_metal_and_cap_are_of_the_published_and_usual_size(kind: DetailKind) -> None:
    detail = detail_of(kind)
    found = [measure(detail, name) for name in ("flange", "base_down", "cap_over", "joint")]
    assert found == [4.0, 2.0, 3.5, 4.0]


# 8 in up the wall: VA 07 52 16. 4 in onto the field: the same. Counterflashing covers the head
# by 4 in: Copper Flashings; its lower edge 1 in above the cant of 3 in: common practice.
@pytest.mark.parametrize("kind", WALLS)
def test_wall_flashing_is_of_the_published_size(kind: DetailKind) -> None:
    detail = detail_of(kind)
    names = ("flashing_up", "flashing-ply_out", "flashing-cap_out", "cover", "base_up", "cap_up")
    assert [measure(detail, name) for name in names] == [8.0, 4.0, 6.0, 4.0, 5.0, 3.0]
    assert round(pieces(detail, "counterflashing")[0].reach[0] / INCH, 6) == 4.0


@pytest.mark.parametrize("kind", WALLS)
def test_head_of_the_flashing_stands_8_in_over_the_corner(kind: DetailKind) -> None:
    """Straight up on the wall of a true-thickness mesh, over the line where it stands."""
    detail = detail_of(kind, thickness=TRUE)
    frame = detail.frame
    for name in ("flashing-ply", "flashing-cap"):
        for piece in pieces(detail, name):
            away = piece.vertices - np.array(frame.origin)
            up = away @ np.array(frame.far)
            assert abs(up.max() - 8.0 * INCH) < 1e-9


# Side lap 3 in, end lap 6 in at least: UFGS-07550, 3.3.6; drawn to the selvage of 4 in.
def test_three_sheet_joint_has_the_published_laps() -> None:
    detail = detail_of(DetailKind.CAP_LAP)
    assert (measure(detail, "end_lap"), measure(detail, "side_lap")) == (6.0, 4.0)


@pytest.mark.parametrize("pitch", [1.0, 6.0])
def test_joint_is_one_of_the_layout(pitch: float) -> None:
    """Its lap is that of two neighbouring pieces of the layout, found in the layout anew."""
    project = house(pitch)
    place = places_of(project, DetailKind.CAP_LAP)[0]
    site = site_of(project, place)
    joint = find_end_lap(site, project.roof.plane(place.planes[0]))
    layer = site.laid_layer(place.planes[0], "cap")
    assert layer is not None
    boxes = {tuple(box) for box in layer.pieces.boxes.tolist()}
    order = (0, 1, 2, 3) if joint.across else (1, 0, 3, 2)
    turned = [tuple(box[k] for k in order) for box in (joint.first, joint.second)]
    assert joint.real
    assert set(turned) <= boxes
    assert round((joint.lap[1] - joint.lap[0]) / INCH, 6) == 6.0


@pytest.mark.parametrize("pitch", [1.0, 6.0])
def test_two_corners_are_cut_at_45_degrees_and_no_place_has_three_sheets_of_a_lap_uncut(
    pitch: float,
) -> None:
    detail = detail_of(DetailKind.CAP_LAP, pitch)
    first, second = (pieces(detail, f"cap.{name}")[0] for name in ("first", "second"))
    for piece in (first, second):
        sides = np.concatenate(
            [np.roll(f.outline, -1, axis=0) - f.outline for f in piece.footprints]
        )
        askew = sides[np.abs(sides).min(axis=1) > 1e-6]
        legs = np.abs(askew).sum(axis=0) / INCH
        assert np.round(legs, 4).tolist() == [4.0, 4.0]
    areas = {
        name: shapely.union_all(
            [shapely.Polygon(f.outline) for p in pieces(detail, name) for f in p.footprints]
        )
        for name in ("cap.first", "cap.second", "cap.above", "cap.below")
    }
    pair = shapely.intersection(areas["cap.first"], areas["cap.second"])
    # Uncut three sheets would share lap times lap, 6 x 4 in; a cut takes 4 x 4 / 2 of it.
    for name in ("cap.above", "cap.below"):
        shared = shapely.intersection(pair, areas[name]).area / INCH**2
        assert abs(shared - (24.0 - 8.0)) < 1e-6


def test_bed_of_the_end_lap_lies_wholly_between_the_two_sheets() -> None:
    detail = detail_of(DetailKind.CAP_LAP)
    (bed,) = pieces(detail, "bed.1")
    sheets = [pieces(detail, f"cap.{name}")[0] for name in ("first", "second")]
    assert sheets[0].order < bed.order < sheets[1].order
    for sheet in sheets:
        for face in Face:
            mine, theirs = (
                shapely.union_all(
                    [shapely.Polygon(f.outline) for f in p.footprints if f.face is face]
                )
                for p in (bed, sheet)
            )
            assert shapely.difference(mine, theirs).area < 1e-9


def test_corner_folds_eave_flap_ear_and_rake_flap_in_this_order() -> None:
    detail = detail_of(DetailKind.CORNER)
    names = [p.id for p in detail.pieces]
    order = ["base.1", "base.ear", "base.rake", "patch.1", "ply.1", "bed.1", "metal.eave"]
    order += ["metal.rake", "cap.1"]
    assert [name for name in names if name in order] == order


@pytest.mark.parametrize("number", [0, 1])
def test_flaps_of_the_corner_hang_2_in_down_outside_the_boards(number: int) -> None:
    """Of true thickness: below the deck's edge, in front of the face of either board."""
    project = house(1.0)
    place = places_of(project, DetailKind.CORNER)[number]
    detail = build_detail(site_of(project, place, TRUE))
    frame = detail.frame
    rake = project.roof.edge(place.id.rpartition(".")[0])
    tip = np.array(min(rake.ends, key=lambda end: end[2]))
    inward = np.array(frame.origin) - tip
    out = -inward / np.linalg.norm(inward)
    for name in ("base.ear", "base.rake"):
        (piece,) = pieces(detail, name)
        away = piece.vertices - tip
        assert (away @ out).min() > -1e-9
        assert abs((away @ np.array([0.0, 0.0, -1.0])).max() - 2.0 * INCH) < 1e-9


def test_water_of_the_rake_finds_every_metal_length_over_the_lower_one() -> None:
    """Of two lengths the later lies higher up the slope, on either rake."""
    project = house(1.0)
    for place in places_of(project, DetailKind.RAKE_MEMBRANE):
        detail = build_detail(site_of(project, place))
        one, two = pieces(detail, "metal.")
        heights = [p.vertices[:, 2].mean() for p in (one, two)]
        assert (one.order < two.order, heights[0] < heights[1]) == (True, True)


@pytest.mark.parametrize("thickness", [DRAWN, TRUE])
def test_lip_of_a_flat_rake_stands_on_its_flange_all_along(thickness: tuple[float, float]) -> None:
    """Over laps of what lies below and between them alike: no gap for water to run out."""
    detail = detail_of(DetailKind.RAKE_MEMBRANE, 0.25, thickness=thickness)
    frame, sound = detail.frame, 0
    for piece in pieces(detail, "metal."):
        body = Body(vertices=piece.vertices, triangles=piece.triangles, rims=())
        for u in np.linspace(piece.span[0] + 0.013, piece.span[1] - 0.017, 40):
            x, y, z = (np.array(frame.origin) + u * np.array(frame.along)).tolist()
            rings = cut_body(body, replace(frame, origin=(x, y, z)))
            whole = shapely.union_all([shapely.Polygon(ring).buffer(1e-6) for ring in rings])
            assert whole.geom_type == "Polygon", (piece.id, u)
            sound += 1
    assert sound == 80


@pytest.mark.parametrize("kind", EDGES)
def test_the_lip_stands_on_its_metal_along_the_edge(kind: DetailKind) -> None:
    """One outline of each length in a cut, where laps below lift the metal as between them.

    Not on the ramp up to a lap: heights are known there by steps alone.
    """
    detail = detail_of(kind, 0.5)
    for metal in pieces(detail, "metal."):
        body = Body(vertices=metal.vertices, triangles=metal.triangles, rims=())
        off = []
        for u in np.linspace(*metal.span, 25)[1:-1].tolist():
            here = replace(detail.frame, origin=detail.frame.point(u, 0.0, 0.0))
            rings = [shapely.Polygon(ring) for ring in cut_body(body, here)]
            whole = shapely.union_all([ring.buffer(0.01 * INCH) for ring in rings])
            off += [u] if len(shapely.get_parts(whole)) > 1 else []
        assert len(off) <= 1


@pytest.mark.parametrize("kind", [*EDGES, DetailKind.CORNER])
def test_no_head_is_left_in_sight(kind: DetailKind) -> None:
    """Every nail of a flange lies under the cap."""
    detail = detail_of(kind)
    caps = shapely.union_all(
        [shapely.Polygon(f.outline) for p in pieces(detail, "cap.") for f in p.footprints]
    )
    nails = [p for p in detail.pieces if p.id in {"metal.nails", "base.nails"}]
    for piece in nails:
        flat = detail.frame.developed(piece.vertices)[:, :2]
        assert shapely.covers(caps, shapely.points(flat)).all()
    assert len(nails) == (2 if kind in EDGES else 0)
