"""What guide specifications and the code ask of sheets and shingles, on whole roofs as laid out.

Laps, joints and covers are read off the boxes and outlines of the pieces here, by code that
shares nothing with the package's; what the package tells of its own laps is compared at the end.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cache

import numpy as np
import pytest
import shapely

from roof3d.catalog.laying import Border
from roof3d.catalog.load import load_catalog
from roof3d.layout.model import Direction, LaidLayer, LaidPlane, LaidStrip
from roof3d.project import Project, build
from roof3d.spec.model import CatalogText
from roof3d.spec.read import load_spec, parse_spec
from tests.conftest import ROOT
from tests.model_text import FOOT, INCH, SQUARE_FOOT, Block, built, model_text

#: Side laps: base sheet UFGS-07511, cap and ply sheets UFGS-07550, 3.3.6; inches.
SIDE_LAPS = {"base": 2.0, "ply": 3.0, "cap": 3.0}
#: UFGS-07511 and UFGS-07550, 3.3.6; inches.
END_LAP, STAGGER = 6.0, 36.0
#: Of plies that touch: UFGS-07550, 3.3.6; inches.
SIDE_OFFSET, END_OFFSET = 12.0, 36.0

SQUARE = 100.0 * SQUARE_FOOT
GALLON = 231.0 * INCH**3

#: Rounding, metres: what a chalk line never shows.
CRUMB = 1e-4

CHIMNEY = """
[[opening]]
id = "stack"
kind = "chimney"
at = ["22 ft", "9 ft"]
size = ["40 in", "40 in"]
height = "6 ft"
"""

LOW = '[rules]\nlow_slope_cutoff = "4:12"\n'


def low_roofs() -> dict[str, str]:
    """Membrane roofs that differ in form, slope and what stands on them."""
    shed = Block(form="shed", length=64, width=26, eave=9, pitch=0.5 / 12, overhang=(0.5, 0.5))
    return {
        "long shed": model_text([shed], unit="ft"),
        "shed with a chimney": model_text([shed], unit="ft") + CHIMNEY,
        "low hip": model_text(
            [Block(form="hip", length=70, width=44, eave=9, pitch=1 / 12)], unit="ft"
        ),
        "low L": model_text(
            [
                Block(id="one", form="hip", length=60, width=30, eave=9, pitch=1 / 12),
                Block(
                    id="two",
                    form="hip",
                    length=44,
                    width=24,
                    at=(60, 0),
                    turn=90,
                    eave=9,
                    pitch=1 / 12,
                ),
            ],
            unit="ft",
        ),
        "3:12 gable, sheets up the slope": model_text(
            [Block(length=80, width=60, eave=9, pitch=3 / 12)], unit="ft", tables=LOW
        ),
        "wide shed in even laps": model_text(
            [Block(form="shed", length=90, width=70, eave=9, pitch=0.5 / 12)],
            unit="ft",
            tables="[layout]\neven_laps = true\n",
        ),
    }


#: Roofs with planes too high for the usual laps.
DRIFTING = ("long shed", "shed with a chimney", "3:12 gable, sheets up the slope")

SHIPPED = ("lantern-street", "tide-house", "ferry-quay")
ROOFS = (*SHIPPED, *low_roofs())


@cache
def project(name: str) -> Project:
    if name in SHIPPED:
        return build(load_spec(ROOT / "models" / f"{name}.toml"))
    return build(parse_spec(low_roofs()[name], source=name))


def membranes(name: str) -> list[LaidPlane]:
    laid = project(name).layout.planes
    return [plane for plane in laid if "cap" in {layer.role for layer in plane.layers}]


@dataclass(frozen=True)
class EndLap:
    """Where two sheets of one course lie over each other, stacking direction first; metres."""

    place: float
    length: float
    low: float
    high: float


def axis_of(layer: LaidLayer) -> int:
    """Return the coordinate along which the courses stack."""
    return 1 if layer.direction is Direction.ACROSS else 0


def courses(layer: LaidLayer) -> list[list[int]]:
    """Return the pieces of each course, in the order of laying."""
    return [
        np.flatnonzero(layer.pieces.course == number).tolist()
        for number in np.unique(layer.pieces.course)
    ]


def side_laps(layer: LaidLayer) -> list[tuple[float, float]]:
    """Return lying edge and width of the lap of each course on the one below."""
    axis, boxes = axis_of(layer), layer.pieces.boxes
    bands = [(boxes[c][:, axis].min(), boxes[c][:, axis + 2].max()) for c in courses(layer)]
    found = []
    for (low, high), (next_low, next_high) in itertools.pairwise(bands):
        rising = next_low > low
        found.append((next_low, high - next_low) if rising else (next_high, next_high - low))
    return found


def end_laps(layer: LaidLayer) -> list[list[EndLap]]:
    """Return the end laps of each course: neighbours along the run that overlap or touch."""
    axis, boxes = axis_of(layer), layer.pieces.boxes
    run = 1 - axis
    result = []
    for pieces in courses(layer):
        laps = []
        for before, after in itertools.pairwise(pieces):
            one, two = boxes[before], boxes[after]
            ahead = two[run] > one[run]
            lap = one[run + 2] - two[run] if ahead else two[run + 2] - one[run]
            if lap > -CRUMB:
                place = two[run] if ahead else two[run + 2]
                laps.append(EndLap(place, lap, max(one[axis], two[axis]), two[axis + 2]))
        result.append(laps)
    return result


def least_stagger(layer: LaidLayer) -> float:
    """Return the smallest distance of end laps in neighbouring courses, metres."""
    return min(
        (
            abs(one.place - two.place)
            for below, above in itertools.pairwise(end_laps(layer))
            for one, two in itertools.product(below, above)
        ),
        default=math.inf,
    )


def touching(plane: LaidPlane) -> Iterator[tuple[LaidLayer, LaidLayer]]:
    """Yield sheets that lie on each other, the lower one first."""
    yield from itertools.pairwise(plane.layers)


def least_offsets(lower: LaidLayer, upper: LaidLayer) -> tuple[float, float]:
    """Return how near side laps and end laps of two layers come, metres."""
    edges = [[edge for edge, _ in side_laps(layer)] for layer in (lower, upper)]
    side = min((abs(a - b) for a, b in itertools.product(*edges)), default=math.inf)
    ends = [list(itertools.chain(*end_laps(layer))) for layer in (lower, upper)]
    meeting = [
        abs(a.place - b.place)
        for a, b in itertools.product(*ends)
        if min(a.high, b.high) - max(a.low, b.low) > CRUMB
    ]
    return side, min(meeting, default=math.inf)


each_roof = pytest.mark.parametrize("name", ROOFS)


def test_the_roofs_are_worth_looking_at() -> None:
    layers = [layer for name in ROOFS for plane in membranes(name) for layer in plane.layers]
    assert len(layers) >= 60
    assert {layer.direction for layer in layers} == set(Direction)
    assert sum(len(side_laps(layer)) for layer in layers) >= 300
    assert sum(len(laps) for layer in layers for laps in end_laps(layer)) >= 300


@each_roof
def test_sheets_cover_what_they_should_and_no_lap_is_below_its_minimum(name: str) -> None:
    planes = membranes(name)
    assert planes
    for plane in planes:
        for layer in plane.layers:
            pieces = [layer.pieces.outline(k) for k in range(len(layer.pieces))]
            bare = shapely.difference(layer.extent, shapely.union_all(pieces)).area
            assert bare <= 1e-6 * layer.extent.area  # so no two sheets only just meet unseen
            least = SIDE_LAPS[layer.role] * INCH
            assert min((lap for _, lap in side_laps(layer)), default=least) >= least - CRUMB
            ends = itertools.chain(*end_laps(layer))
            assert min((lap.length for lap in ends), default=1.0) >= END_LAP * INCH - CRUMB


@each_roof
def test_every_lap_sheds_to_the_eave(name: str) -> None:
    # UFGS-07550: no back-water laps. Where sheets run across, a later course lies higher; where
    # they run up the slope, a later sheet of a course does.
    for plane in membranes(name):
        for layer in plane.layers:
            lows = layer.pieces.boxes[:, 1]
            if layer.direction is Direction.ACROSS:
                assert np.all(np.diff(layer.pieces.course) >= 0)
                firsts = np.array([lows[pieces].min() for pieces in courses(layer)])
                assert np.all(np.diff(firsts) > 0.0)
            else:
                assert all(np.all(np.diff(lows[pieces]) > 0.0) for pieces in courses(layer))


@each_roof
def test_sheets_run_across_below_2_in_12_and_up_the_slope_from_there(name: str) -> None:
    # UFGS-07550, note.
    for plane in membranes(name):
        up = plane.plane.slope >= 2 / 12 - 1e-9
        wanted = Direction.ALONG if up else Direction.ACROSS
        assert {layer.direction for layer in plane.layers} == {wanted}


@each_roof
def test_no_two_end_laps_are_closer_than_36_inches_in_neighbouring_courses(name: str) -> None:
    for plane in membranes(name):
        for layer in plane.layers:
            found = least_stagger(layer)
            assert found >= STAGGER * INCH - CRUMB, layer.id


@each_roof
def test_laps_of_touching_plies_do_not_stack(name: str) -> None:
    for plane in membranes(name):
        for lower, upper in touching(plane):
            side, end = least_offsets(lower, upper)
            assert side >= SIDE_OFFSET * INCH - CRUMB, upper.id
            assert end >= END_OFFSET * INCH - CRUMB, upper.id
            # What is said of the whole plane is what the pieces show.
            assert upper.least_side_offset == pytest.approx(side, abs=CRUMB)
    assert [f for f in project(name).layout.findings if f.code == "R3D-LAPS"] == []


@each_roof
def test_planes_whose_laps_would_drift_together_have_one_exposure_and_say_so(name: str) -> None:
    # A base of 37.375 in and a ply of 35.375 in drift together by 2 in a course: seven courses or
    # so are all that 12 in allow. The three plies of higher planes lap 4 in each.
    findings = project(name).layout.findings
    told = {finding.where for finding in findings if finding.code == "R3D-LAPS-WIDENED"}
    asked = "even_laps = true" in low_roofs().get(name, "")
    bases = [] if asked else [p.layers[0] for p in membranes(name) if p.layers[0].role == "base"]
    wide = {f"layers[{base.id}]" for base in bases if base.side_lap > 3.9 * INCH}
    assert wide == told
    assert bool(told) == (name in DRIFTING)


def test_a_wide_plane_in_unlike_exposures_cannot_keep_its_laps_apart_and_says_so() -> None:
    # A wide shed where even laps are forbidden: 37.375 against 35.375 in drift together.
    shed = Block(form="shed", length=90, width=70, eave=9, pitch=0.5 / 12)
    layout = built(shed, unit="ft", tables="[layout]\neven_laps = false\n").layout
    (plane,) = layout.planes
    base, ply, cap = plane.layers
    assert least_offsets(base, ply)[0] < SIDE_OFFSET * INCH - CRUMB
    assert least_offsets(ply, cap)[0] >= SIDE_OFFSET * INCH - CRUMB
    (finding,) = (f for f in layout.findings if f.code == "R3D-LAPS")
    assert finding.where == "layers[house.south/ply]"
    assert finding.source == "UFGS-07550"


def twice_covered(outlines: list[shapely.Geometry]) -> shapely.Geometry:
    """Return what lies under two of the pieces or more."""
    tree = shapely.STRtree(outlines)
    pairs = tree.query(outlines, predicate="intersects")
    one, two = pairs[:, pairs[0] < pairs[1]]
    shapes = np.array(outlines, dtype=object)
    return shapely.union_all(shapely.intersection(shapes[one], shapes[two]))


THREE_IN_TWELVE = {
    "shed": [Block(form="shed", length=40, width=24, eave=9, pitch=3 / 12, overhang=(1, 0.5))],
    "gable": [Block(length=150, width=30, eave=9, pitch=3 / 12, overhang=(1, 0.5))],
    "hip": [Block(form="hip", length=50, width=28, eave=9, pitch=3 / 12, overhang=(1, 1))],
    "2:12": [Block(length=40, width=30, eave=9, pitch=2 / 12, overhang=(1, 0.5))],
}


@pytest.mark.parametrize("name", THREE_IN_TWELVE)
def test_every_point_of_a_3_in_12_roof_is_under_two_layers(name: str) -> None:
    # IBC 2018, 1507.1.1, exception 2: from 2:12 to below 4:12, up to and over the ridge.
    planes = built(*THREE_IN_TWELVE[name], unit="ft").layout.planes
    assert len(planes) == {"shed": 1, "hip": 4}.get(name, 2)
    for plane in planes:
        (layer,) = (layer for layer in plane.layers if layer.role == "underlayment")
        pieces = [layer.pieces.outline(k) for k in range(len(layer.pieces))]
        bare = shapely.difference(plane.outline, twice_covered(pieces)).area
        assert bare <= 1e-9 * plane.outline.area
        # Over ridges and hips too, 6 in each side: NAVEDTRA 14044.
        assert shapely.difference(layer.extent, twice_covered(pieces)).area <= 1e-9
        for side in plane.sides:
            if side.border in {Border.RIDGE, Border.HIP}:
                over = shapely.LineString([side.start, side.end]).parallel_offset(
                    5.99 * INCH, "right"
                )
                middle = shapely.line_interpolate_point(over, 0.5, normalized=True)
                assert layer.extent.covers(middle)
        # End laps 4 in, 6 ft apart.
        ends = list(itertools.chain(*end_laps(layer)))
        assert all(lap.length >= 4 * INCH - CRUMB for lap in ends)
        assert least_stagger(layer) >= 6 * FOOT - CRUMB


def test_in_the_valleys_of_a_3_in_12_roof_their_lining_takes_the_place_of_a_layer() -> None:
    # Double underlayment stops 6 in short of a valley (common practice, no source); up to there
    # lies the lining, 36 in wide: IRC R905.2.8.2, item 3.
    wing = Block(id="wing", length=24, width=16, at=(28, -10), turn=90, eave=9, pitch=3 / 12)
    house = Block(id="house", length=40, width=28, eave=9, pitch=3 / 12)
    job = built(house, wing, unit="ft")
    lined = {strip.edge: strip.width for strip in strips_of(job, "valley-lining")}
    assert len(lined) == 2
    lacking = 0
    for plane in job.layout.planes:
        (layer,) = (layer for layer in plane.layers if layer.role == "underlayment")
        pieces = [layer.pieces.outline(k) for k in range(len(layer.pieces))]
        bare = shapely.difference(plane.outline, twice_covered(pieces))
        valleys = [side for side in plane.sides if side.border is Border.VALLEY]
        lining = shapely.union_all(
            [
                shapely.LineString([side.start, side.end]).buffer(lined[side.edge] / 2)
                for side in valleys
            ]
        )
        assert shapely.difference(bare, lining).area < 1e-6
        lacking += bare.area > 1e-3
    assert lacking == 3


def test_a_4_in_12_roof_has_one_layer_in_laps_of_its_own() -> None:
    (plane,) = built(Block(form="shed", length=40, width=24, pitch=4 / 12), unit="ft").layout.planes
    (layer,) = (layer for layer in plane.layers if layer.role == "underlayment")
    pieces = [layer.pieces.outline(k) for k in range(len(layer.pieces))]
    assert twice_covered(pieces).area < 0.1 * plane.outline.area


@pytest.mark.parametrize("code", ["IRC 2018", "IRC 2024"])
def test_the_ice_barrier_ends_40_25_inches_up_a_6_in_12_roof(code: str) -> None:
    # IRC R905.1.2: 24 in inside the wall line; (12 + 24) x 1.11803 = 40.25 in (derived).
    tables = f'[site]\nice_barrier = true\ncode = "{code}"\n'
    block = Block(length=40, width=24, eave=9, pitch=6 / 12, overhang=(1, 0.5))
    planes = built(block, unit="ft", tables=tables).layout.planes
    assert len(planes) == 2
    for plane in planes:
        ice, underlayment = plane.layers[0], plane.layers[1]
        assert (ice.role, underlayment.role) == ("ice barrier", "underlayment")
        _, low, _, high = ice.extent.bounds
        assert (low, high / INCH) == (pytest.approx(0.0), pytest.approx(40.25, abs=0.005))
        width = plane.outline.bounds[2] - plane.outline.bounds[0]
        assert ice.extent.area == pytest.approx(width * high, rel=1e-9)
        # One 36 in roll is not enough: two courses cover it.
        assert len(courses(ice)) == 2
        pieces = [ice.pieces.outline(k) for k in range(len(ice.pieces))]
        band = shapely.box(0.0, 0.0, width, 40.24 * INCH)
        assert shapely.difference(band, shapely.union_all(pieces)).area < 1e-9
        # And the underlayment laps its head, so that no wood lies bare between.
        assert underlayment.extent.bounds[1] < high
        whole = shapely.union(ice.extent, underlayment.extent)
        assert shapely.difference(plane.outline, whole).area < 1e-9


#: Three-tab strips and felt without overhang, so that a plane holds what the books count.
FLUSH = """
[[assembly]]
id = "flush-strips"
name = "Strips flush with the edges"
like = "three-tab"
[[assembly.layer]]
role = "shingles"
reach = { eave = "0 in", rake = "0 in" }
"""


def steep(length: float, sloped: float, rise: float, *, wind: str = "normal") -> Project:
    """Build a shed of that length and true height, in feet, under flush three-tab strips."""
    run = sloped / math.hypot(1.0, rise / 12.0)
    block = Block(form="shed", length=length, width=run, eave=9, pitch=rise / 12)
    tables = f'[rules]\nsteep_assembly = "flush-strips"\n[site]\nwind = "{wind}"\n'
    text = model_text([block], unit="ft", tables=tables)
    spec = parse_spec(text, source="flush.toml")
    return build(replace(spec, catalog=CatalogText(name="own.toml", text=FLUSH)))


@pytest.mark.parametrize(("length", "sloped"), [(10.0, 10.0), (30.0, 40 / 12)])
def test_a_square_shows_80_strips(length: float, sloped: float) -> None:
    # Strips of 12 by 36 in at 5 in: renovation handbook. 24 courses of 3 1/3, or 8 of 10.
    (plane,) = steep(length, sloped, 6).layout.planes
    assert plane.outline.area == pytest.approx(SQUARE)
    layer = plane.layers[-1]
    boxes = layer.pieces.boxes
    assert len(layer.courses) == sloped * 12 / 5
    assert math.fsum(boxes[:, 2] - boxes[:, 0]) / (36 * INCH) == pytest.approx(80.0)


@pytest.mark.parametrize(("wind", "a_square"), [("normal", 320), ("high", 480)])
def test_80_whole_strips_take_320_nails_and_480_in_high_wind(wind: str, a_square: int) -> None:
    # Four a strip, six in high wind: IRC R905.2.6. A square is 80 strips.
    (plane,) = steep(30.0, 40 / 12, 6, wind=wind).layout.planes
    layer = plane.layers[-1]
    boxes = layer.pieces.boxes
    whole = boxes[boxes[:, 2] - boxes[:, 0] > 36 * INCH - CRUMB]
    counts = [
        sum(
            (box[0] < u < box[2]) and abs(v - box[1] - 5.625 * INCH) < CRUMB for u, v in layer.nails
        )
        for box in whole
        if box[3] < plane.outline.bounds[3] + CRUMB  # the strips whose nail line is on the roof
    ]
    assert len(counts) >= 50
    assert {80 * count for count in counts} == {a_square}


def test_a_roll_of_felt_covers_four_squares_single() -> None:
    # No. 15 felt, 36 in by 144 ft: trade field guide. 24 ft by 200 in: six courses of 24 ft.
    job = steep(24.0, 200 / 12, 6)
    (plane,) = job.layout.planes
    assert plane.outline.area == pytest.approx(4 * SQUARE)
    item = job.takeoff.item("felt-underlayment")
    assert item.packs == 1
    assert item.cutting is not None
    assert item.cutting.offcuts == pytest.approx([0.0], abs=1e-9)
    assert steep(24.0, 207 / 12, 6).takeoff.item("felt-underlayment").packs == 2


def test_a_roll_of_felt_covers_two_squares_double() -> None:
    # 24 ft by 102 in, 2.04 squares: a 19 in strip and six sheets, of which the last shows 17 in of
    # its 36: strip and last sheet come out of one length, 6 x 24 ft = 144 ft.
    job = steep(24.0, 102 / 12, 3)
    (plane,) = job.layout.planes
    assert plane.outline.area == pytest.approx(2.04 * SQUARE)
    layer = plane.layers[0]
    assert [round((c.high - c.low) / INCH, 3) for c in layer.courses] == [19.0, *[36.0] * 6]
    item = job.takeoff.item("felt-underlayment-double")
    assert item.packs == 1
    assert item.cutting is not None
    assert item.cutting.offcuts == pytest.approx([0.0], abs=1e-9)


def test_a_primed_deck_takes_three_quarters_of_a_gallon_a_square() -> None:
    # UFGS-07550, 3.2.4. Two layers on the deck, flush with its edges: the whole plane.
    tables = '[rules]\nlow_assembly = "self-adhered-two-ply"\n'
    block = Block(form="shed", length=60, width=30, eave=9, pitch=0.5 / 12)
    job = built(block, unit="ft", tables=tables)
    (plane,) = job.layout.planes
    squares = plane.outline.area / SQUARE
    used = {use.of: use.net / GALLON for use in job.takeoff.item("primer").used}
    assert used["house.south/ply"] == pytest.approx(0.75 * squares)
    assert job.takeoff.item("primer").packs == math.ceil(sum(used.values()) / 5)


def plum(*, tables: str = "") -> Project:
    text = (ROOT / "models" / "plum-corner.toml").read_text()
    top, rest = text.split("[[section]]", 1)
    return build(parse_spec(f"{top}\n{tables}\n[[section]]{rest}", source="plum.toml"))


def strips_of(job: Project, rule: str) -> list[LaidStrip]:
    return [strip for strip in job.layout.strips if strip.rule == rule]


def test_open_valleys_are_lined_24_and_36_inches_wide_and_left_clear() -> None:
    # Metal IRC R905.2.8.2, lining its item 3. Clear 6 in at the top: shingle makers' association
    # manual, 2006.
    job = plum()
    metal, lining = strips_of(job, "valley-metal"), strips_of(job, "valley-lining")
    valleys = {e.id: e.length for e in job.roof.edges if e.role == "valley"}
    assert len(valleys) >= 3
    assert {strip.edge for strip in metal} == {strip.edge for strip in lining} >= set(valleys)
    assert {round(strip.width / INCH, 6) for strip in metal} == {24.0}
    assert {round(strip.width / INCH, 6) for strip in lining} >= {36.0}
    seen = 0
    for plane in job.layout.planes:
        shingles = plane.layers[-1].extent
        for side in plane.sides:
            if side.border is Border.VALLEY:
                line = shapely.LineString([side.start, side.end])
                clear = line.buffer(3 * INCH - CRUMB, cap_style="flat")
                assert shapely.intersection(clear, shingles).area < 1e-9
                seen += 1
    assert seen >= 2 * len(valleys)


def test_a_chimney_wider_than_30_inches_gets_a_cricket() -> None:
    # IRC R903.2.2; height half the width times the slope: IRC Table R1003.20 (from memory). 36 in
    # at 7:12: 10.5 in high, 18 in back; its valleys sqrt(2 x 18^2 + 10.5^2) = 27.54 in (derived).
    job = plum()
    (told,) = (f for f in job.layout.findings if f.code == "R3D-CRICKET-LAID")
    assert told.where == "openings[chimney]"
    assert "10 1/2" in told.message
    assert "1' 6\"" in told.message
    lined = [s for s in job.layout.strips if s.edge == "chimney" and s.material == "ice-barrier"]
    assert [strip.length / INCH for strip in lined] == pytest.approx([27.54] * 2, abs=0.005)
    assert load_catalog().material("ice-barrier").width / INCH == pytest.approx(36.0)
