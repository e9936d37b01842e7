"""Low-to-steep transitions: true lengths, shingle fashion, closed solids, both ways round."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import combinations, pairwise

import numpy as np
import pytest
import shapely
import trimesh

from roof3d.catalog.load import load_catalog
from roof3d.details.model import INCH, Detail, Piece, PieceKind, size_text
from roof3d.details.options import TransitionOptions
from roof3d.details.transitions.transition import build_transition
from roof3d.errors import LayoutError
from roof3d.layout.joint import Given, JointRule, RiseRule, first_gap, membrane_rise
from roof3d.roof.model import Role
from roof3d.units import Units
from tests.unit.details.hand_joints import hand_detail, hand_joint, hand_site, pitched

DRAWN = TransitionOptions(thickness_factor=4.0, least_thickness=0.5 * INCH)
WIDE = TransitionOptions(low_run=Given(96 * INCH))
JOINTS = {
    "porch": lambda: hand_detail(pitched(1), pitched(6)),
    "porch, drawn thick": lambda: hand_detail(pitched(1), pitched(6), options=DRAWN),
    "porch, turned": lambda: hand_detail(pitched(0.5, 130), pitched(8, 130), options=DRAWN),
    "porch, half-lapped felt": lambda: hand_detail(pitched(0.5), pitched(3), options=DRAWN),
    "porch, sloping break": lambda: hand_detail(pitched(1, 40), pitched(7, -20), options=DRAWN),
    "deck above": lambda: hand_detail(pitched(0.5), pitched(33), convex=True, options=DRAWN),
    "deck above, gentle": lambda: hand_detail(pitched(0.5), pitched(6), convex=True),
    "deck above, sloping break": lambda: hand_detail(
        pitched(1, 30), pitched(20, -10), convex=True, options=DRAWN
    ),
}
each_joint = pytest.mark.parametrize("name", JOINTS)


def laid(detail: Detail) -> list[Piece]:
    """Pieces that lie on the deck, and the deck; nails and rafters left out."""
    return [p for p in detail.pieces if p.kind not in {PieceKind.FRAMING, PieceKind.FASTENER}]


def of_layer(detail: Detail, number: int) -> list[Piece]:
    return [p for p in laid(detail) if p.layer == number and p.kind is not PieceKind.BED]


def courses_of(detail: Detail, number: int) -> list[Piece]:
    """Sheets of a layer; the strip across the break left out."""
    return [p for p in of_layer(detail, number) if p.id != "base.strip"]


def overlap(one: Piece, other: Piece) -> float:
    return min(one.reach[1], other.reach[1]) - max(one.reach[0], other.reach[0])


# M = max(18 in along the slope, 8 in / sin(angle)) by hand; 18 in straight up at 4:12 is
# 18 / 0.31623 = 56.92 in along the slope, at 6:12 18 / 0.44721 = 40.25 in.
@pytest.mark.parametrize(
    ("rise", "rule", "inches"),
    [
        (2, RiseRule.ALONG_AND_UP, 48.66),
        (3, RiseRule.ALONG_AND_UP, 32.98),
        (4, RiseRule.ALONG_AND_UP, 25.30),
        (5, RiseRule.ALONG_AND_UP, 20.80),
        (6, RiseRule.ALONG_AND_UP, 18.00),
        (12, RiseRule.ALONG_AND_UP, 18.00),
        (4, RiseRule.VERTICAL, 56.92),
        (6, RiseRule.VERTICAL, 40.25),
        (8, RiseRule.VERTICAL, 32.45),
        (12, RiseRule.VERTICAL, 25.46),
    ],
)
def test_rise_of_the_membrane_is_that_of_hand_arithmetic(
    rise: float, rule: RiseRule, inches: float
) -> None:
    options = JointRule(rise_rule=rule)
    assert round(membrane_rise(math.sin(math.atan(rise / 12)), options) / INCH, 2) == inches


# Hand arithmetic: 8 in / sin(atan(2/12)) = 48.66 in, 5/12: 20.80 in, 6/12: 17.9 in, below 18.
@pytest.mark.parametrize(
    ("rise", "words"), [(2, "M = 48 3/4 in"), (5, "M = 20 7/8 in"), (6, "M = 18 in")]
)
def test_written_rise_is_never_below_the_rule(rise: float, words: str) -> None:
    detail = hand_detail(pitched(0.25), pitched(rise), depth=6.0)
    assert next(m.text for m in detail.measures if m.id == "rise") == words


# 18 in on 6:12 stands 18 x sin(26.565 deg) = 8.05 in up, on 12:12 12.73 in; at 5:12 just the 8 in.
@pytest.mark.parametrize(("rise", "words"), [(5, "8 in up"), (6, "8 in up"), (12, "12 3/4 in up")])
def test_height_that_follows_is_written_as_it_is(rise: float, words: str) -> None:
    detail = hand_detail(pitched(0.25), pitched(rise), depth=6.0)
    assert next(m.text for m in detail.measures if m.id == "rise_up") == words


def test_a_minimum_in_millimetres_is_rounded_up() -> None:
    units = Units.METRIC
    assert [size_text(n * INCH, units, least=True) for n in (18, 6, 10)] == [
        "458 mm",
        "153 mm",
        "254 mm",
    ]


@pytest.mark.parametrize(("rise", "told"), [(9, False), (24, True)])
def test_a_sharp_break_asks_for_a_cant(rise: float, *, told: bool) -> None:
    notes = hand_detail(pitched(0.25), pitched(rise), depth=6.0).notes
    assert any("cant strip" in note for note in notes) is told


@pytest.mark.parametrize("rise", [2, 3, 4, 5, 6, 9, 12])
def test_head_of_the_cap_lies_where_geometry_measures_the_rise(rise: float) -> None:
    """Highest point of the cap's underside against the break: along the slope, and straight up."""
    detail = hand_detail(pitched(0.25), pitched(rise), depth=6.0)
    cap = of_layer(detail, 4)[-1]
    flat = detail.frame.developed(cap.vertices)
    top = cap.vertices[flat[:, 1] > flat[:, 1].max() - 1e-9]
    heights = detail.frame.developed(top)[:, 2]
    head = top[np.argmin(heights)]
    square_off = float(heights.min())
    up = head[2] - 5.0 - square_off * detail.frame.far_normal[2]
    along = float(flat[:, 1].max())
    wanted = max(18 * INCH, 8 * INCH / math.sin(math.atan(rise / 12)))
    gaps = (abs(along - wanted), abs(up - wanted * math.sin(math.atan(rise / 12))))
    assert max(gaps) < 1e-9


@each_joint
def test_every_measure_is_the_distance_of_its_ends(name: str) -> None:
    measures = JOINTS[name]().measures
    assert len(measures) >= 7
    assert max(abs(math.dist(*m.ends) - m.value) for m in measures) < 1e-9


@each_joint
def test_both_planes_of_the_frame_are_the_planes_of_the_roof(name: str) -> None:
    """Deck tops of both sides lie on the two planes of the roof, to a nanometre."""
    detail = JOINTS[name]()
    frame = detail.frame
    for at, normal in ((-1.0, frame.near_normal), (1.0, frame.far_normal)):
        points = [frame.point(u, at, 0.0) for u in (-1.0, 1.0)] + [frame.point(0.0, 0.0, 0.0)]
        off = (np.array(points) - np.array((3.0, 4.0, 5.0))) @ np.array(normal)
        assert np.abs(off).max() < 1e-9
    axes = np.array([frame.along, frame.level, frame.upright])
    assert np.abs(axes @ axes.T - np.eye(3)).max() < 1e-12
    assert np.linalg.det(axes) > 0.0


@each_joint
def test_developed_coordinates_go_to_space_and_back(name: str) -> None:
    frame = JOINTS[name]().frame
    u, s = np.meshgrid([-0.5, 0.3], [-1.0, -0.2, 0.2, 0.9])
    h = np.full(u.size, 0.01)
    back = frame.developed(frame.place(u.ravel(), s.ravel(), h))
    assert np.abs(back - np.column_stack((u.ravel(), s.ravel(), h))).max() < 1e-12


@each_joint
def test_no_piece_dips_into_another(name: str) -> None:
    """The cuts of any two pieces share no area: exact, whatever the ramps and the thickness."""
    pieces = laid(JOINTS[name]())
    polygons = [shapely.Polygon(piece.profiles[0]) for piece in pieces]
    assert all(polygon.is_valid for polygon in polygons)
    shared = {
        f"{one.id} {other.id}": area
        for (one, a), (other, b) in combinations(zip(pieces, polygons, strict=True), 2)
        if (area := shapely.intersection(a, b).area) > 1e-9
    }
    assert shared == {}


@each_joint
def test_a_later_piece_lies_over_an_earlier_one_wherever_both_are(name: str) -> None:
    """Heights over the deck at sample places, read from the meshes by rays from above."""
    detail = JOINTS[name]()
    pieces = laid(detail)
    span = [
        (piece, heights) for piece in pieces if (heights := _heights(detail, piece)) is not None
    ]
    wrong = [
        (one.id, other.id)
        for (one, low), (other, high) in combinations(span, 2)
        for s in low.keys() & high.keys()
        if low[s][1] > high[s][0] + 1e-6
    ]
    assert wrong == []


def _heights(detail: Detail, piece: Piece) -> dict[float, tuple[float, float]] | None:
    """Underside and top of a piece over the deck, by developed coordinate in whole inches."""
    found = {}
    for k in range(-48, 49):
        s = k * INCH + 0.001
        if not piece.reach[0] < s < piece.reach[1] or abs(s) < 4 * INCH:
            continue
        normal = detail.frame.far_normal if s > 0 else detail.frame.near_normal
        foot = detail.frame.section(np.array([detail.frame.point(0.0, s, -0.1)]))[0]
        head = detail.frame.section(np.array([detail.frame.point(0.0, s, 0.4)]))[0]
        cut = shapely.intersection(
            shapely.LineString([foot, head]), shapely.Polygon(piece.profiles[0])
        )
        if cut.length > 0.0:
            away = [float(np.hypot(*(np.array(p) - foot))) for p in cut.coords]
            found[float(k)] = (min(away), max(away))
        assert normal is not None
    return found or None


@each_joint
def test_every_piece_is_a_closed_solid_wound_outward(name: str) -> None:
    for piece in JOINTS[name]().pieces:
        sides = piece.triangles[:, [[0, 1], [1, 2], [2, 0]]].reshape(-1, 2)
        forward = {tuple(side) for side in sides.tolist()}
        assert len(forward) == len(sides), piece.id
        assert {(b, a) for a, b in forward} == forward, piece.id
        mesh = trimesh.Trimesh(piece.vertices, piece.triangles, process=False)
        assert mesh.is_watertight
        assert mesh.volume > 0.0, piece.id


@each_joint
def test_volume_is_the_area_of_the_cut_times_the_width(name: str) -> None:
    """Ties mesh and cut: sheets are one prism of the full width."""
    detail = JOINTS[name]()
    for piece in detail.pieces:
        if piece.kind is PieceKind.SHEET:
            mesh = trimesh.Trimesh(piece.vertices, piece.triangles, process=False)
            wanted = shapely.Polygon(piece.profiles[0]).area * detail.size[0]
            assert mesh.volume == pytest.approx(wanted, rel=1e-9)


@each_joint
def test_sheets_lap_by_their_least_lap_with_the_upper_one_on_top(name: str) -> None:
    """On each plane the piece nearer the ridge is the later one: water meets no open edge."""
    detail, catalog = JOINTS[name](), load_catalog()
    checked = 0
    for layer in detail.layers[1:]:
        sheets = [p for p in of_layer(detail, layer.number) if p.kind is PieceKind.SHEET]
        least = catalog.material(layer.material).side_lap
        for first, second in pairwise(sheets):
            checked += 1
            cut = abs(first.reach[1] - detail.size[2]) < 1e-9
            assert cut or overlap(first, second) >= least - 1e-9, second.id
            if detail.convex:
                # Water runs toward growing s: the upper sheet lies at smaller s.
                assert second.reach[1] <= first.reach[1] + 1e-9
            else:
                assert second.reach[0] >= first.reach[0] - 1e-9
    assert checked >= 3


@each_joint
def test_courses_keep_exposure_head_lap_and_joint_offset(name: str) -> None:
    detail, shingle = JOINTS[name](), load_catalog().material("laminated-shingle")
    courses = [p for p in detail.pieces if p.kind is PieceKind.SHINGLE]
    butt = 1 if detail.convex else 0
    steps = [abs(b.reach[butt] - a.reach[butt]) for a, b in pairwise(courses)]
    assert np.ptp([*steps, shingle.exposure]) < 1e-9
    for one, other in pairwise(courses):
        pairs = [abs(a - b) for a in _joints(detail, one) for b in _joints(detail, other)]
        assert min(pairs) >= 4 * INCH - 0.002


def _joints(detail: Detail, piece: Piece) -> list[float]:
    """Where the shingles of a course meet, read from its mesh."""
    flat = detail.frame.developed(piece.vertices)
    ends = sorted({round(float(u), 4) for u in flat[:, 0]})
    return [(a + b) / 2 for a, b in zip(ends[1:-1:2], ends[2:-1:2], strict=True)]


def test_touching_plies_of_the_porch_keep_their_laps_twelve_inches_apart() -> None:
    """Lower edges of all sheets; 12 in between touching plies: UFGS-07550."""
    detail = hand_detail(pitched(1), pitched(6), options=WIDE)
    edges = {n: [p.reach[0] for p in courses_of(detail, n)[1:]] for n in (2, 3, 4)}
    gaps = [abs(a - b) for n in (2, 3) for a in edges[n] for b in edges[n + 1]]
    assert len(gaps) == 3 * 3 + 3 * 3
    assert min(gaps) >= 12 * INCH - 1e-9


def test_touching_plies_of_the_high_deck_keep_their_laps_twelve_inches_apart() -> None:
    detail = hand_detail(pitched(0.5), pitched(33), convex=True, options=WIDE)
    edges = {n: [p.reach[1] for p in of_layer(detail, n)[1:]] for n in (3, 4, 8)}
    gaps = [abs(a - b) for n, m in ((3, 4), (4, 8)) for a in edges[n] for b in edges[m]]
    assert len(gaps) == 2 * 3 + 3 * 2
    assert min(gaps) >= 12 * INCH - 1e-9


def test_no_lap_and_no_nail_of_the_porch_lies_near_the_break() -> None:
    detail = hand_detail(pitched(1), pitched(6))
    for layer in (2, 3, 4):
        for first, second in pairwise(courses_of(detail, layer)):
            lap = (second.reach[0], first.reach[1])
            assert min(abs(lap[0]), abs(lap[1])) >= 5 * INCH, second.id
            assert lap[0] * lap[1] > 0.0
    nails = next(p for p in detail.pieces if p.kind is PieceKind.FASTENER)
    along = detail.frame.developed(nails.vertices)[:, 1]
    assert np.abs(along).min() >= 2.5 * INCH - 1e-9


def test_ice_barrier_covers_the_heads_of_all_three_sheets() -> None:
    detail = hand_detail(pitched(1), pitched(6))
    barrier = of_layer(detail, 6)[0]
    heads = [of_layer(detail, n)[-1].reach[1] for n in (2, 3, 4)]
    assert [round(head / INCH, 6) for head in heads] == [18.0, 21.0, 18.0]
    assert max(heads) < barrier.reach[1]
    assert round((heads[2] - barrier.reach[0]) / INCH, 6) == 6.0
    order = [p.id for p in detail.pieces]
    assert order.index(barrier.id) > max(order.index(of_layer(detail, n)[-1].id) for n in (2, 3, 4))


def test_metal_of_the_high_deck_lies_between_shingles_and_cap() -> None:
    detail = hand_detail(pitched(0.5), pitched(33), convex=True)
    pieces = {p.id: p for p in detail.pieces}
    metal, cap = pieces["metal.1"], pieces["cap.1"]
    top_course = of_layer(detail, 5)[-1]
    assert [round(x / INCH, 6) for x in metal.reach] == [-4.0, 6.0]
    assert round(overlap(metal, top_course) / INCH, 6) == 5.0
    assert round(overlap(metal, cap) / INCH, 6) == 3.5
    order = [p.id for p in detail.pieces]
    assert order.index(top_course.id) < order.index("metal.1") < order.index("cap.1")


@pytest.mark.parametrize(
    ("rise", "snow", "inches"), [(0.25, False, 4), (1, False, 4), (1.5, False, 2), (1.5, True, 4)]
)
def test_first_course_stays_off_the_break(*, rise: float, snow: bool, inches: float) -> None:
    options = TransitionOptions(joint=JointRule(snow=snow))
    detail = hand_detail(pitched(rise), pitched(6), options=options)
    butts = [p.reach[0] for p in detail.pieces if p.kind is PieceKind.SHINGLE]
    assert round(min(butts) / INCH, 6) == inches
    assert first_gap(rise / 12, options.joint).metres == pytest.approx(min(butts))


def test_half_lapped_underlayment_covers_every_point_twice() -> None:
    """IBC 1507.1.1 exception 2: 36 in sheets lapped 19 in, from 2:12 to below 4:12."""
    detail = hand_detail(pitched(0.5), pitched(3), depth=6.0)
    sheets = [p.reach for p in of_layer(detail, 7)]
    start, end = sheets[0][0], detail.size[2]
    places = np.linspace(start + 0.001, end - 0.001, 200)
    counts = [sum(a <= s <= b for a, b in sheets) for s in places]
    assert min(counts) >= 2


def test_thickness_changes_no_length() -> None:
    true = hand_detail(pitched(1), pitched(6))
    thick = hand_detail(pitched(1), pitched(6), options=DRAWN)
    assert [p.reach for p in true.pieces] == [p.reach for p in thick.pieces]
    assert [m.value for m in true.measures] == [m.value for m in thick.measures]


def test_true_thickness_is_the_catalog_s() -> None:
    detail, catalog = hand_detail(pitched(1), pitched(6)), load_catalog()
    for piece in detail.pieces:
        if piece.kind is PieceKind.SHEET:
            flat = detail.frame.developed(piece.vertices)
            low = flat[flat[:, 1] < flat[:, 1].min() + 1e-9]
            thickness = np.ptp(low[:, 2])
            wanted = catalog.material(piece.material).thickness
            assert thickness == pytest.approx(wanted, abs=1e-9), piece.id


def test_cut_out_ends_where_the_planes_end() -> None:
    detail = hand_detail(pitched(1), pitched(6), length=0.8, depth=0.6)
    slants = [math.hypot(1, rise / 12) * 0.6 for rise in (1, 6)]
    assert detail.size == pytest.approx((0.8, *slants), abs=1e-9)
    ends = detail.frame.developed(np.concatenate([p.vertices for p in laid(detail)]))
    assert ends[:, 1].min() == pytest.approx(-slants[0], abs=1e-9)


def test_layers_that_a_short_plane_does_not_reach_are_left_out_and_the_notes_warn() -> None:
    detail = hand_detail(pitched(1), pitched(6), depth=0.2)
    assert [layer.number for layer in detail.layers] == [1, 2, 3, 4, 8, 9]
    assert {piece.layer for piece in detail.pieces} == {1, 2, 3, 4, 8, 9}
    assert "too short here" in detail.notes[0]


def test_a_sloping_break_is_told() -> None:
    sloping, level = JOINTS["porch, sloping break"](), JOINTS["porch, turned"]()
    assert ["line itself slopes" in d.notes[0] for d in (sloping, level)] == [True, False]


def test_every_option_says_where_it_comes_from() -> None:
    parts = (TransitionOptions(), JointRule())
    given = [getattr(part, name) for part in parts for name in part.__dataclass_fields__]
    sources = [value.source for value in given if hasattr(value, "metres")]
    assert len(sources) == len(given) - 6
    assert all(sources)


def test_an_edge_that_is_no_transition_is_refused() -> None:
    roof, edge = hand_joint(pitched(1), pitched(6))
    with pytest.raises(LayoutError, match=r"edges\[low.transition\]: is a valley, no transition"):
        build_transition(hand_site(replace(roof, edges=(replace(edge, role=Role.VALLEY),)), edge))


def test_shingles_on_the_low_plane_are_refused_with_a_way_out() -> None:
    roof, edge = hand_joint(pitched(1), pitched(6))
    wrong = {"low": "laminated-shingle", "steep": "laminated-shingle"}
    with pytest.raises(LayoutError, match=r"planes\[low\].*give the plane a membrane assembly"):
        build_transition(hand_site(roof, edge, assemblies=wrong))


def test_above_the_special_limit_the_notes_ask_for_cement_dabs() -> None:
    steep, gentle = (hand_detail(pitched(0.5), pitched(p), convex=True) for p in (33, 20))
    told = [any("dabs" in note for note in d.notes) for d in (steep, gentle)]
    assert told == [True, False]
