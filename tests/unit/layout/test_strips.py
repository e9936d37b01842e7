"""Strips along edges: how many, on whose rule, how long, and where their joints lie."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import pytest
import shapely

from roof3d import load
from roof3d.catalog.laying import Border
from roof3d.catalog.load import load_catalog
from roof3d.errors import CatalogError, LayoutError, Severity
from roof3d.layout.model import Course, Direction, Floats, LaidLayer, LaidPlane, Pieces
from roof3d.layout.rows import start_side
from roof3d.layout.shingles import lay_shingles
from roof3d.layout.strips import lay_strips
from roof3d.layout.strips.flashing import parse_flashing_rule
from roof3d.layout.strips.run import course_pieces, joint_distance, run_pieces
from roof3d.roof.build import build_roof
from roof3d.roof.model import Role
from roof3d.rules.assembly import choose_assemblies
from roof3d.spec.model import LayoutSpec, SiteSpec, Valley, Wind
from tests.model_text import Block, built, edges_of
from tests.unit.layout.strip_cases import (
    CATALOG,
    FOOT,
    INCH,
    MEMBRANE,
    OTHER,
    SHINGLE_STRIPS,
    SHINGLES,
    assembly,
    bare_planes,
    by_kind,
    rule,
    strips_of,
)

if TYPE_CHECKING:
    from roof3d.catalog.laying import StripRule
    from roof3d.catalog.model import Catalog
    from roof3d.layout.model import LaidStrip
    from roof3d.roof.model import Roof

GABLE = Block(length=12.0, width=8.0)
HIP = Block(form="hip", length=12.0, width=8.0)


def chimney(width: str = "36 in", depth: str = "24 in", y: str = "2 m") -> str:
    return (
        f'[[opening]]\nid = "stack"\nkind = "chimney"\nat = ["6 m", "{y}"]\n'
        f'size = ["{width}", "{depth}"]\nheight = "3 m"\n'
    )


def pipe(y: str = "2 m") -> str:
    return (
        f'[[opening]]\nid = "vent"\nkind = "pipe"\nat = ["6 m", "{y}"]\n'
        'diameter = "110 mm"\nheight = "300 mm"\n'
    )


def gable(tables: str = "") -> Roof:
    return built(GABLE, tables=tables).roof


# One row of pieces


def test_a_row_laps_each_piece_and_ends_at_the_end() -> None:
    pieces = run_pieces(25.0, piece=10.0, lap=0.5)
    assert pieces.tolist() == [[0.0, 10.0], [9.5, 19.5], [19.0, 25.0]]


@pytest.mark.parametrize(("length", "count"), [(10.0, 1), (19.5, 2), (19.6, 3), (0.1, 1)])
def test_a_row_has_no_piece_too_many(length: float, count: int) -> None:
    assert len(run_pieces(length, piece=10.0, lap=0.5)) == count


def test_the_first_piece_is_shorter_where_asked() -> None:
    assert run_pieces(6.0, piece=3.0, lap=0.0, first=2.5).tolist() == [
        [0.0, 2.5],
        [2.5, 5.5],
        [5.5, 6.0],
    ]


def test_a_last_piece_too_short_takes_from_the_one_before() -> None:
    pieces = run_pieces(20.5, piece=10.0, lap=0.0, shortest=2.0)
    assert pieces.tolist() == [[0.0, 10.0], [10.0, 18.5], [18.5, 20.5]]


def test_a_row_stands_over_at_both_ends_where_asked() -> None:
    pieces = run_pieces(3.0, piece=2.0, lap=0.5, before=0.25, after=0.5)
    assert pieces.tolist() == [[-0.25, 1.75], [1.25, 3.25], [2.75, 3.5]]


def test_extra_pieces_are_whole_and_lie_over_the_far_end() -> None:
    pieces = run_pieces(25.0, piece=10.0, lap=0.5, extra=2)
    assert pieces[3:].tolist() == [[15.0, 25.0], [15.0, 25.0]]


def test_joints_move_off_those_of_the_course_by_quarter_inches() -> None:
    # 36 in pieces on 36 in shingles that start whole: joints would stand 0 in apart.
    joints = [36 * INCH * k for k in range(1, 9)]
    pieces = run_pieces(300 * INCH, piece=36 * INCH, lap=0.0, avoid=joints, apart=3 * INCH)
    assert pieces[0].tolist() == pytest.approx([0.0, 33 * INCH])
    assert joint_distance(pieces, joints) == pytest.approx(3 * INCH)


def test_joints_lie_as_far_as_they_can_where_no_cut_keeps_the_distance() -> None:
    joints = np.arange(0.0, 300.0, 4.0) * INCH  # 4 in apart: no place is 3 in from both
    pieces = run_pieces(300 * INCH, piece=36 * INCH, lap=0.0, avoid=joints, apart=3 * INCH)
    assert joint_distance(pieces, joints) == pytest.approx(2 * INCH)
    assert pieces[0, 1] == pytest.approx(34 * INCH)


def test_joint_distance_looks_at_both_ends_of_a_lap() -> None:
    pieces = np.array([[0.0, 3.0], [2.0, 5.0]])
    assert joint_distance(pieces, [1.75, 4.0]) == 0.25
    assert joint_distance(pieces, [3.125]) == 0.125
    assert joint_distance(pieces[:1], [3.0]) == math.inf


@pytest.mark.parametrize(
    ("wrong", "told"),
    [
        ({"length": 0.0}, "must have a length, is 0.0 m"),
        ({"length": math.nan}, "must have a length, is nan m"),
        ({"lap": 3.0}, "laps of 3 m leave nothing of a piece of 3 m"),
        ({"lap": -0.1}, "laps of -0.1 m leave nothing"),
        ({"first": 0.5}, "a first piece of 0.5 m must be longer than its lap, 0.5 m"),
        ({"first": 3.5}, "no longer than a whole one, 3 m"),
        ({"shortest": 2.0}, "a shortest piece of 2 m is more than half of a whole one, 3 m"),
    ],
)
def test_sizes_that_allow_no_row_are_one_clear_error(wrong: dict[str, float], told: str) -> None:
    sizes = {"length": 9.0, "piece": 3.0, "lap": 0.5} | wrong
    with pytest.raises(LayoutError, match=told) as caught:
        run_pieces(**sizes, where="edges[a], metal")  # type: ignore[arg-type]
    assert caught.value.where == "edges[a], metal"


def test_pieces_a_course_follow_the_courses_of_a_skew_edge() -> None:
    # 3-4-5: the edge is 5 long and passes 4 of courses, each exposed 1 high, 1.25 along it.
    pieces = course_pieces(5.0, rise=4.0, exposure=1.0, lap=0.25)
    assert pieces.tolist() == [[0.0, 1.5], [1.25, 2.75], [2.5, 4.0], [3.75, 5.25]]


def test_rounding_adds_no_course() -> None:
    assert len(course_pieces(0.1 + 0.2, rise=0.1 + 0.2, exposure=0.1, lap=0.0)) == 3


def test_a_first_piece_is_never_cut_below_the_shortest() -> None:
    # A first joint below 0.3 m would be clear, but 0.4 m is the shortest.
    busy = np.arange(0.5, 1.0, 0.01)
    pieces = run_pieces(1.9, piece=1.0, lap=0.0, shortest=0.4, avoid=busy, apart=0.2)
    assert 0.4 <= pieces[0, 1] < 0.4 + 0.25 * INCH


# Whose strips lie where


def test_a_gable_has_each_of_its_strips_and_the_ridge_once() -> None:
    strips, findings = strips_of(gable())
    eaves, rakes = (
        ("house.eave", "house.eave_2"),
        [f"house.rake{n}" for n in ("", "_2", "_3", "_4")],
    )
    assert set(strips) == {
        *(f"{eave}/{name}" for eave in eaves for name in ("edge-metal", "starter")),
        *(f"{rake}/edge-metal" for rake in rakes),
        "house.ridge/ridge",
    }
    assert strips["house.ridge/ridge"].planes == ("house.south", "house.north")
    assert findings == ()


def test_strips_are_ordered_by_plane_then_edge_then_rule() -> None:
    strips, _ = strips_of(gable())
    assert list(strips)[:6] == [
        "house.eave/edge-metal",
        "house.eave/starter",
        "house.rake/edge-metal",
        "house.rake_2/edge-metal",
        "house.ridge/ridge",
        "house.eave_2/edge-metal",
    ]


def test_strips_have_the_true_length_of_their_edge() -> None:
    roof = gable()
    strips, _ = strips_of(roof)
    for strip in strips.values():
        assert strip.length == roof.edge(strip.edge).length
        assert strip.pieces[0, 0] == 0.0
        if strip.rule != "ridge":
            assert strip.pieces[-1, 1] == strip.length


def test_hip_pieces_show_their_exposure_and_one_closes_the_end() -> None:
    strips, _ = strips_of(built(HIP).roof)
    hip = strips["house.hip/ridge"]
    shown = math.ceil(hip.length / (5 * INCH))
    assert len(hip.pieces) == shown + 1
    assert np.diff(hip.pieces[:shown, 0]) == pytest.approx(np.full(shown - 1, 5 * INCH))
    assert hip.lap == pytest.approx(7 * INCH)


def test_four_hips_of_a_pyramid_and_no_ridge() -> None:
    strips, _ = strips_of(built(replace(HIP, length=8.0)).roof)
    assert sum(strip.rule == "ridge" for strip in strips.values()) == 4


@pytest.mark.parametrize(
    ("layout", "names"),
    [
        (LayoutSpec(valley=Valley.OPEN), ["valley-lining", "valley-metal"]),
        (LayoutSpec(valley=Valley.CLOSED_CUT), ["valley-lining"]),
    ],
)
def test_valleys_are_made_as_the_model_wants(layout: LayoutSpec, names: list[str]) -> None:
    wing = Block(id="wing", length=6.0, width=5.0, at=(8.5, -3.0), turn=90.0)
    roof = built(GABLE, wing).roof
    strips, _ = strips_of(roof, layout=layout)
    valleys = edges_of(roof, Role.VALLEY)
    assert len(valleys) == 2
    for valley in valleys:
        laid = [strip for strip in strips.values() if strip.edge == valley.id]
        assert [strip.rule for strip in laid] == names
        assert {strip.planes for strip in laid} == {valley.planes}


@pytest.mark.parametrize("vent", [True, False])
def test_a_vent_lies_only_on_a_ridge_that_wants_one(*, vent: bool) -> None:
    strips, _ = strips_of(gable(), layout=LayoutSpec(ridge_vent=vent))
    assert ("house.ridge/vent" in strips) is vent


@pytest.mark.parametrize("ice", [True, False])
def test_strips_of_the_ice_barrier_lie_only_where_the_site_asks(*, ice: bool) -> None:
    roof = built(replace(GABLE, pitch=1 / 12)).roof
    strips, _ = strips_of(roof, site=SiteSpec(ice_barrier=ice))
    assert ("house.eave/ice" in strips) is ice


def test_a_ridge_between_membrane_and_shingles_is_the_shingles() -> None:
    roof = built(replace(GABLE, pitch_back=1 / 12)).roof
    strips, _ = strips_of(roof)
    on_ridge = [strip for strip in strips.values() if strip.edge == "house.ridge"]
    assert [(s.rule, s.planes) for s in on_ridge] == [("ridge", ("house.south",))]


def test_unlike_ridge_pieces_are_those_of_the_first_assembly_and_are_told() -> None:
    roof = gable()
    chosen = {"house.south": OTHER.id, "house.north": SHINGLES.id}
    strips, findings = strips_of(roof, chosen)
    assert strips["house.ridge/ridge"].material == "ridge-piece"
    assert [(f.code, f.where, f.severity) for f in findings] == [
        ("R3D-STRIP-CHOICE", "edges[house.ridge]", Severity.NOTE)
    ]
    assert "ridge-piece of shingles is laid, not other-ridge-piece" in findings[0].message


def test_an_edge_with_a_strip_from_each_plane_names_the_planes() -> None:
    low = assembly("low", "shingle", "shingle", [rule("metal", "drip-edge", Border.BREAK_LOWER)])
    high = assembly("high", "shingle", "shingle", [rule("metal", "apron", Border.BREAK_UPPER)])
    catalog = replace(CATALOG, assemblies=(low, high))
    block = Block(form="gambrel", length=12.0, width=8.0, pitch=0.5, lower_pitch=2.0, break_in=1.0)
    roof = built(block).roof
    chosen = {p.id: "low" if p.id.endswith("_lower") else "high" for p in roof.planes}
    strips, _ = strips_of(roof, chosen, catalog=catalog)
    edge = edges_of(roof, Role.PITCH_BREAK)[0]
    mine = [(strip.id, strip.material) for strip in strips.values() if strip.edge == edge.id]
    upper, lower = edge.planes
    assert sorted(mine) == sorted(
        [(f"{edge.id}/metal/{upper}", "apron"), (f"{edge.id}/metal/{lower}", "drip-edge")]
    )


def test_bed_and_primer_are_measured_on_the_strip() -> None:
    roof = built(replace(GABLE, pitch=1 / 12)).roof
    strips, _ = strips_of(roof)
    metal = strips["house.eave/edge-metal"]
    # 12 m of 120 in pieces lapped 4 in: 4 joints, so 4 laps more of metal, 4 in wide, 2 faces.
    assert len(metal.pieces) == 5
    assert metal.bed_area == pytest.approx(12.0 * 4 * INCH)
    assert metal.primer_area == pytest.approx((12.0 + 4 * 4 * INCH) * 4 * INCH * 2)
    assert (metal.bed, metal.primer) == ("roof-cement", "primer")


# Openings


def test_a_chimney_has_an_apron_steps_on_both_sides_and_a_back_pan() -> None:
    strips, _ = strips_of(gable(chimney(width="24 in")))
    side = 24 * INCH * math.hypot(1.0, 0.5)
    mine = {k: v for k, v in strips.items() if v.edge == "stack"}
    assert {name: strip.length for name, strip in mine.items()} == pytest.approx(
        {
            "stack/apron": 24 * INCH,
            "stack/back-pan": 24 * INCH,
            "stack/step": side,
            "stack/step_2": side,
        }
    )
    assert len(mine["stack/step"].pieces) == math.ceil(side / (5 * INCH)) == 6


def test_a_chimney_astride_a_ridge_has_steps_and_an_apron_on_each_plane() -> None:
    strips, findings = strips_of(gable(chimney(y="4 m")))
    mine = sorted((s.rule, s.planes) for s in strips.values() if s.edge == "stack")
    south, north = ("house.south",), ("house.north",)
    assert mine == [
        ("apron", north),
        ("apron", south),
        ("step", north),
        ("step", north),
        ("step", south),
        ("step", south),
    ]
    assert findings == ()  # no head, so no cricket


@pytest.mark.parametrize(("y", "planes"), [("2 m", 1), ("4 m", 2)])
def test_a_pipe_has_one_flashing_even_astride_a_ridge(y: str, planes: int) -> None:
    roof = gable(pipe(y))
    strips, _ = strips_of(roof)
    (boot,) = (strip for strip in strips.values() if strip.edge == "vent")
    assert len(boot.planes) == planes
    assert (boot.width, boot.lap) == (18 * INCH, 0.0)
    assert boot.pieces.tolist() == [[0.0, boot.length]]
    assert boot.length == pytest.approx(roof.openings[0].perimeter)


def test_a_flange_is_primed_as_one_piece_however_long_the_rim() -> None:
    roof = built(replace(GABLE, pitch=1 / 12), tables=pipe()).roof
    (boot,) = (s for s in strips_of(roof)[0].values() if s.edge == "vent")
    assert boot.primer_area == pytest.approx(18 * INCH * 18 * INCH * 2)


def test_a_cricket_has_the_lining_of_every_valley_not_the_metal_of_open_ones() -> None:
    turned = replace(SHINGLES, strips=SHINGLE_STRIPS[::-1])
    strips, _ = strips_of(gable(chimney()), catalog=replace(CATALOG, assemblies=(turned,)))
    assert strips["stack/cricket-lining"].material == "lining"


def test_a_wide_chimney_gets_a_cricket_with_both_valleys_lined() -> None:
    strips, findings = strips_of(gable(chimney()))
    linings = [strip for strip in strips.values() if strip.rule == "cricket-lining"]
    assert [strip.id for strip in linings] == ["stack/cricket-lining", "stack/cricket-lining_2"]
    # Half of 36 in across, 18 in back and 9 in up: sqrt(18^2 + 18^2 + 9^2) = 27 in.
    assert [strip.length for strip in linings] == pytest.approx([27 * INCH] * 2)
    assert {strip.material for strip in linings} == {"lining"}
    assert [(f.code, f.where) for f in findings] == [("R3D-CRICKET-LAID", "openings[stack]")]
    assert '9" high and runs 1\' 6" back' in findings[0].message


def test_a_chimney_exactly_30_inches_wide_needs_no_cricket() -> None:
    strips, findings = strips_of(gable(chimney(width="30 in")))
    assert findings == ()
    assert "stack/cricket-lining" not in strips


def test_a_cricket_on_a_membrane_is_told_and_not_lined() -> None:
    roof = built(replace(GABLE, pitch=1 / 12), tables=chimney()).roof
    strips, findings = strips_of(roof)
    assert "stack/cricket-lining" not in strips
    assert "not lined, as membrane has no valley lining" in findings[0].message


def test_a_skylight_gets_no_cricket() -> None:
    sky = chimney().replace("chimney", "skylight")
    _, findings = strips_of(gable(sky))
    assert findings == ()


def with_strips(*rules: StripRule) -> Catalog:
    """The catalog with these strips alone on shingles."""
    return replace(CATALOG, assemblies=(replace(SHINGLES, strips=rules),))


def test_a_row_stands_past_both_ends_of_its_edge() -> None:
    foot = rule("apron", "apron", Border.OPENING_FOOT, past=4 * INCH)
    strips, _ = strips_of(gable(chimney(width="24 in")), catalog=with_strips(foot))
    laid = strips["stack/apron"]
    assert laid.length == pytest.approx(24 * INCH)
    assert laid.pieces / INCH == pytest.approx(np.array([[-4.0, 28.0]]))
    # 11 ft and twice 4 in in pieces of 10 ft lapped 4 in: two.
    wide = replace(foot, at=(Border.EAVE,))
    roof = built(replace(GABLE, length=11 * FOOT)).roof
    eave = strips_of(roof, catalog=with_strips(wide))[0]["house.eave/apron"]
    assert eave.pieces / INCH == pytest.approx(np.array([[-4.0, 116.0], [112.0, 136.0]]))


@pytest.mark.parametrize(("kind", "laid"), [("chimney", True), ("skylight", False)])
def test_a_strip_may_go_round_one_kind_of_opening_alone(*, kind: str, laid: bool) -> None:
    counter = rule("counter", "apron", Border.OPENING_FOOT, opening="chimney")
    roof = gable(chimney(width="24 in").replace("chimney", kind))
    assert ("stack/counter" in strips_of(roof, catalog=with_strips(counter))[0]) is laid


@pytest.mark.parametrize(("width", "laid"), [("30 in", True), ("31 in", False)])
def test_what_a_cricket_replaces_is_not_laid(*, width: str, laid: bool) -> None:
    pan = rule("pan", "apron", Border.OPENING_HEAD, no_cricket=True)
    roof = gable(chimney(width=width))
    assert ("stack/pan" in strips_of(roof, catalog=with_strips(pan))[0]) is laid
    sky = gable(chimney(width=width).replace("chimney", "skylight"))
    assert "stack/pan" in strips_of(sky, catalog=with_strips(pan))[0]


@pytest.mark.parametrize("vent", [True, False])
def test_pieces_without_a_vent_leave_vented_ridges_but_no_hip(*, vent: bool) -> None:
    plain = rule("plain", "ridge-piece", Border.RIDGE, Border.HIP, no_vent=True)
    over = rule("over", "ridge-piece", Border.RIDGE, vent=True)
    roof = built(HIP).roof
    strips, _ = strips_of(
        roof, catalog=with_strips(plain, over), layout=LayoutSpec(ridge_vent=vent)
    )
    on_ridge = [strip.rule for strip in strips.values() if strip.edge == "house.ridge"]
    assert on_ridge == (["over"] if vent else ["plain"])
    assert sum(strip.rule == "plain" for strip in strips.values()) == (4 if vent else 5)


@pytest.mark.parametrize("wanted", [True, False])
def test_a_starter_along_rakes_lies_only_where_the_model_wants_one(*, wanted: bool) -> None:
    rake = rule("rake-starter", "starter", Border.RAKE, rake_starter=True)
    strips, _ = strips_of(
        gable(), catalog=with_strips(rake), layout=LayoutSpec(rake_starter=wanted)
    )
    # 4 m up at 6:12 is 4.472 m, in pieces of 36 in: 4.89, five on each of four rakes.
    assert [len(strip.pieces) for strip in strips.values()] == ([5] * 4 if wanted else [])


# Starters under a first course


def course_boxes(width: float, first: float, low: float, *, from_right: bool) -> Floats:
    """Boxes of one course of 36 in shingles, the first of a length given in inches."""
    cuts = [0.0, *np.arange(first * INCH, width, 36 * INCH), width]
    boxes = np.array([(a, low, b, low + 12 * INCH) for a, b in pairwise(cuts)])
    if from_right:
        boxes[:, [0, 2]] = width - boxes[:, [2, 0]]
    return boxes


def with_shingles(
    plane: LaidPlane, *firsts: float, lows: tuple[float, ...] = (0.0,), from_right: bool = False
) -> LaidPlane:
    """Put courses on a plane: of each its first shingle in inches, and how low it lies."""
    width = plane.outline.bounds[2]
    rows = [
        course_boxes(width, first, low, from_right=from_right)
        for first, low in zip(firsts, lows, strict=True)
    ]
    boxes = np.vstack(rows)
    layer = LaidLayer(
        id=f"{plane.plane.id}/shingles",
        plane=plane.plane.id,
        role="shingles",
        material="shingle",
        number=1,
        direction=Direction.ACROSS,
        extent=plane.outline,
        width=12 * INCH,
        length=36 * INCH,
        side_lap=7 * INCH,
        end_lap=0.0,
        courses=tuple(
            Course(number=k, low=low, high=low + 12 * INCH) for k, low in enumerate(lows, 1)
        ),
        pieces=Pieces(
            boxes=boxes,
            course=np.concatenate([np.full(len(row), k) for k, row in enumerate(rows, 1)]),
            place=np.concatenate([np.arange(1, len(row) + 1) for row in rows]),
            areas=shapely.area(shapely.box(*boxes.T)),
            trimmed={},
        ),
        nails=np.empty((0, 2)),
        fastener="",
        least_side_offset=math.inf,
        least_end_offset=math.inf,
        least_stagger=math.inf,
    )
    return replace(plane, layers=(layer,))


def joints_along(plane: LaidPlane, roof: Roof, edge: str) -> list[float]:
    """Places of the course's joints from the first end of an eave."""
    origin, along = np.array(plane.frame.origin), np.array(plane.frame.along)
    ends = [float((np.array(end) - origin) @ along) for end in roof.edge(edge).ends]
    joints = plane.layers[0].pieces.boxes[1:, 0]
    if plane.layers[0].pieces.boxes[0, 0] > 0.0:
        joints = plane.layers[0].pieces.boxes[1:, 2]
    return [abs(float(u) - ends[0]) for u in joints]


@pytest.mark.parametrize("from_right", [False, True])
@pytest.mark.parametrize("edge", ["house.eave", "house.eave_2"])
@pytest.mark.parametrize("first", [36.0, 33.0, 30.0, 28.5, 24.0, 6.0])
def test_starter_joints_stay_3_inches_off_the_first_course(
    first: float, edge: str, *, from_right: bool
) -> None:
    roof = gable()
    chosen = by_kind(roof)
    planes = [
        with_shingles(plane, first, from_right=from_right) for plane in bare_planes(roof, chosen)
    ]
    strips, findings = lay_strips(planes, roof, CATALOG, chosen, SiteSpec(), LayoutSpec())
    starter = next(strip for strip in strips if strip.id == f"{edge}/starter")
    plane = next(p for p in planes if p.plane.id in roof.edge(edge).planes)
    near = joint_distance(starter.pieces, joints_along(plane, roof, edge))
    assert near >= 3 * INCH - 1e-9
    assert findings == ()
    covered = shapely.union_all([shapely.box(a, 0, b, 1) for a, b in starter.pieces])
    assert covered.bounds == pytest.approx((0.0, 0.0, starter.length, 1.0))


def test_a_starter_starts_where_its_first_course_does() -> None:
    roof = gable()
    chosen = by_kind(roof)
    ends = []
    for from_right in (False, True):
        planes = [with_shingles(p, 36.0, from_right=from_right) for p in bare_planes(roof, chosen)]
        strips, _ = lay_strips(planes, roof, CATALOG, chosen, SiteSpec(), LayoutSpec())
        ends.append(next(s for s in strips if s.id == "house.eave/starter").pieces)
    left, right = ends
    assert left[0].tolist() == pytest.approx([0.0, 30 * INCH])
    assert right == pytest.approx(12.0 - left[:, ::-1])


@pytest.mark.parametrize("firsts", [(6.0, 30.0, 18.0), (30.0, 33.0, 18.0)])
def test_a_starter_over_a_joint_minds_the_course_that_starts_there(
    firsts: tuple[float, float, float],
) -> None:
    porch = Block(
        id="porch", form="shed", length=12.0, width=3.0, at=(0.0, -3.0), pitch=1 / 12, eave=2.75
    )
    roof = built(GABLE, porch).roof
    chosen = by_kind(roof)
    (joint,) = edges_of(roof, Role.TRANSITION)
    assert joint.planes == ("house.south", "porch.south")
    bare = bare_planes(roof, chosen)
    (gap,) = {side.gap for plane in bare for side in plane.sides if side.edge == joint.id}
    # The course that starts at the gap has its joints where the starter would have its own.
    planes = [
        with_shingles(p, *firsts, lows=(gap - 5 * INCH, gap, gap + 5 * INCH))
        if p.plane.id == "house.south"
        else p
        for p in bare
    ]
    strips, findings = lay_strips(planes, roof, CATALOG, chosen, SiteSpec(), LayoutSpec())
    starter = next(strip for strip in strips if strip.rule == "joint-starter")
    joints = [(firsts[1] + 36.0 * k) * INCH for k in range(12)]
    assert joint_distance(starter.pieces, joints) >= 3 * INCH - 1e-9
    assert findings == ()


def test_a_starter_without_a_stagger_of_its_own_keeps_that_of_the_shingles() -> None:
    materials = [replace(m, stagger=0.0) if m.id == "starter" else m for m in CATALOG.materials]
    catalog = replace(CATALOG, materials=tuple(materials))
    roof = gable()
    chosen = by_kind(roof)
    planes = [with_shingles(plane, 30.0) for plane in bare_planes(roof, chosen)]
    strips, _ = lay_strips(planes, roof, catalog, chosen, SiteSpec(), LayoutSpec())
    starter = next(strip for strip in strips if strip.id == "house.eave/starter")
    near = joint_distance(starter.pieces, joints_along(planes[0], roof, "house.eave"))
    assert near == pytest.approx(4 * INCH)


# The shipped models and the shipped catalog

SHIPPED = sorted((Path(__file__).parents[3] / "models").glob("*.toml"))


@pytest.mark.parametrize("path", SHIPPED, ids=[path.stem for path in SHIPPED])
def test_strips_of_a_shipped_model_are_whole_and_starters_clear_of_real_joints(path: Path) -> None:
    spec = load(path)
    roof, _ = build_roof(spec)
    catalog = load_catalog()
    chosen = {c.plane: c.assembly for c in choose_assemblies(spec, roof, catalog)}
    planes = [shingled(plane, catalog) for plane in bare_planes(roof, chosen, catalog)]
    strips, _ = lay_strips(planes, roof, catalog, chosen, spec.site, spec.layout)
    assert len({strip.id for strip in strips}) == len(strips)
    starters = 0
    for strip in strips:
        material = catalog.material(strip.material)
        lengths = strip.pieces[:, 1] - strip.pieces[:, 0]
        rules = [r for p in strip.planes for r in catalog.assembly(chosen[p]).strips]
        (rule,) = {r.id: r for r in rules if r.id == strip.rule}.values() or (None,)
        if rule is None or not (rule.each or rule.joints_of):
            whole = material.width if strip.crosswise else material.length
            assert lengths.max() <= whole + 1e-6
        if rule is None or not (rule.joints_of or (rule.each and rule.width)):
            assert strip.pieces.min() <= 1e-9
            assert strip.pieces.max() >= strip.length - 1e-9
        assert strip.length > 0.0
        if strip.rule == "starter":
            starters += 1
            plane = next(p for p in planes if p.plane.id == strip.planes[0])
            assert least_gap(strip, plane, roof) >= 3 * INCH
    shingled_eaves = [
        edge
        for edge in edges_of(roof, Role.EAVE)
        if catalog.assembly(chosen[edge.planes[0]]).kind == "shingle"
    ]
    assert starters == len(shingled_eaves) > 0


def shingled(plane: LaidPlane, catalog: Catalog) -> LaidPlane:
    """Lay the shingles of a plane's assembly on its bare outline."""
    build_up = catalog.assembly(plane.assembly)
    layer = next((layer for layer in build_up.layers if layer.role == "shingles"), None)
    if layer is None:
        return plane
    run = lay_shingles(
        plane.outline,
        low=0.0,
        material=catalog.material(layer.material),
        from_high=start_side(plane.outline),
    )
    (blank,) = with_shingles(plane, 36.0).layers
    return replace(plane, layers=(replace(blank, courses=run.courses, pieces=run.pieces),))


def least_gap(strip: LaidStrip, plane: LaidPlane, roof: Roof) -> float:
    """Return the least distance along u of a starter's joints from those of the first course."""
    low, high = np.array(roof.edge(strip.edge).ends)
    inner = np.sort(strip.pieces, axis=0)[1:, 0]
    points = low + np.outer(inner / strip.length, high - low)
    u = (points - np.array(plane.frame.origin)) @ np.array(plane.frame.along)
    pieces = plane.layers[0].pieces
    # Ends of the course itself are no joints: nothing lies beyond them.
    sides = np.unique(np.round(pieces.boxes[pieces.course == 1][:, [0, 2]], 9))[1:-1]
    return min((abs(a - b) for a in u for b in sides), default=math.inf)


# Nails


@pytest.mark.parametrize(("wind", "each"), [(Wind.NORMAL, 4), (Wind.HIGH, 6)])
def test_a_starter_has_four_nails_a_piece_and_six_in_high_wind(wind: Wind, each: int) -> None:
    strips, _ = strips_of(gable(), site=SiteSpec(wind=wind))
    starter = strips["house.eave/starter"]
    assert (starter.pieces[:, 1] - starter.pieces[:, 0]).min() > 6 * INCH  # no scrap among them
    assert len(starter.nails) == each * len(starter.pieces)
    assert starter.fastener == "nail"
    assert set(starter.nails[:, 1]) == {1.5 * INCH}
    assert starter.nails[0, 0] == pytest.approx(1 * INCH)
    for start, end in starter.pieces:
        inside = (starter.nails[:, 0] >= start) & (starter.nails[:, 0] <= end)
        assert inside.sum() == each


def test_nails_of_a_starter_laid_from_the_far_end_lie_on_its_pieces() -> None:
    roof = gable()
    chosen = by_kind(roof)
    nails = []
    for from_right in (False, True):
        planes = [with_shingles(p, 36.0, from_right=from_right) for p in bare_planes(roof, chosen)]
        strips, _ = lay_strips(planes, roof, CATALOG, chosen, SiteSpec(), LayoutSpec())
        nails.append(next(s for s in strips if s.id == "house.eave/starter").nails)
    assert nails[1][:, 0] == pytest.approx(12.0 - nails[0][:, 0])


def test_a_strip_without_nailing_has_no_nails_and_no_fastener() -> None:
    strips, _ = strips_of(gable())
    ridge = strips["house.ridge/ridge"]
    assert (ridge.nails.shape, ridge.fastener) == ((0, 2), "")


# Data that cannot be laid


def test_one_piece_a_course_without_shingles_is_one_clear_error() -> None:
    wrong = assembly(
        "wrong", "membrane", "cap-sheet", [rule("step", "step", Border.RAKE, per_course=True)]
    )
    roof = gable()
    with pytest.raises(LayoutError, match=r"edges\[house.rake\], step: .* wrong has no shingles"):
        strips_of(roof, dict.fromkeys(("house.south", "house.north"), "wrong"),
                  catalog=replace(CATALOG, assemblies=(wrong,)))  # fmt: skip


def test_a_lap_as_long_as_the_piece_is_one_clear_error() -> None:
    wrong = replace(MEMBRANE, strips=(rule("metal", "edge-metal", Border.EAVE, lap=10 * FOOT),))
    roof = built(replace(GABLE, pitch=1 / 12)).roof
    with pytest.raises(LayoutError, match=r"edges\[house.eave\], metal: laps of 3.048 m"):
        strips_of(roof, catalog=replace(CATALOG, assemblies=(wrong,)))


def test_step_stock_too_short_for_the_course_is_told() -> None:
    long = [
        replace(m, exposure=5.625 * INCH) if m.id == "shingle" else m for m in CATALOG.materials
    ]
    _, findings = strips_of(
        gable(chimney(width="24 in")), catalog=replace(CATALOG, materials=tuple(long))
    )
    assert {finding.code for finding in findings} == {"R3D-STRIP-SHORT"}
    assert '7 5/8" long, a course and its lap, but comes in 7"' in findings[0].message


@pytest.mark.parametrize(
    ("cricket", "told"),
    [
        ({}, "'wider_than' is missing"),
        ({"wider_than": "30"}, "cannot be read: "),
        ({"wider_than": 30}, "cannot be read: "),
    ],
)
def test_flashing_values_that_cannot_be_read_name_the_file(
    cricket: dict[str, object], told: str
) -> None:
    with pytest.raises(CatalogError, match=told) as caught:
        parse_flashing_rule({"cricket": cricket, "valley": {}})
    assert caught.value.where == "flashing.toml"
