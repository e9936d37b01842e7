"""What must hold for any pile of sections with parapets on the flat ones."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import pytest
import shapely
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from roof3d.laps.layout import check_layout
from roof3d.layout.borders.frame import frame_of, outline_of
from roof3d.project import build
from roof3d.roof.solid import build_solid
from roof3d.roof.walls import wall_polygon
from roof3d.takeoff.measure import measure_roof
from tests.parapet_models import with_parapets
from tests.property.strategies import EXAMPLES, SETTINGS, piles
from tests.unit.roof.test_solid import areas, open_sides, volume

if TYPE_CHECKING:
    from roof3d.roof.model import Edge, Roof
    from roof3d.spec.model import RoofSpec
    from tests.model_text import Block

#: Square metres and metres: slivers up to 64 grid steps wide belong to a neighbour.
ROUGH = 2e-3
FLATS = ("flat", "shed", "gable", "hip")
LOW = (1 / 48, 1 / 24, 1 / 12)
SIDES = st.lists(
    st.one_of(st.none(), st.lists(st.integers(0, 3), min_size=1, max_size=3, unique=True)),
    min_size=1,
    max_size=3,
).map(lambda found: [None if one is None else tuple(sorted(one)) for one in found])
THICK = st.sampled_from((0.1, 0.2, 0.25))
HIGH = st.sampled_from((0.3, 0.6, 1.1))


def walls_of(roof: Roof) -> list[Edge]:
    return [edge for edge in roof.edges if edge.parapet is not None]


def taken(roof: Roof) -> float:
    """Return the plan area of all parapets that bound a plane."""
    plans = [shapely.Polygon(edge.parapet.plan) for edge in walls_of(roof) if edge.parapet]
    return float(shapely.union_all(plans).area)


def spec_of(pile: tuple[Block, ...], high: float, thick: float, sides: object) -> RoofSpec:
    spec = with_parapets(pile, height=high, thickness=thick, sides=sides)  # type: ignore[arg-type]
    assume(any(section.parapet for section in spec.sections))
    return spec


@SETTINGS
@given(piles(forms=FLATS, pitches=LOW, most=1), HIGH, THICK)
def test_planes_and_walls_make_up_the_building(
    pile: tuple[Block, ...], high: float, thick: float
) -> None:
    spec = spec_of(pile, high, thick, (None,))
    roof = build(spec).roof
    outline = wall_polygon(spec.sections[0])
    plan = sum(plane.plan_area for plane in roof.planes)
    assert plan + taken(roof) == pytest.approx(outline.area, abs=ROUGH)
    coping = sum(edge.parapet.coping_length for edge in walls_of(roof) if edge.parapet)
    assert coping == pytest.approx(outline.length, abs=ROUGH)
    # A wall goes in by its thickness at each of four corners.
    around = sum(edge.plan_length for edge in walls_of(roof))
    assert around == pytest.approx(outline.length - 8.0 * thick, abs=ROUGH)


@SETTINGS
@given(piles(forms=FLATS, pitches=LOW, most=1), HIGH, THICK, SIDES)
def test_tops_are_level_and_never_lower_than_asked(
    pile: tuple[Block, ...], high: float, thick: float, sides: object
) -> None:
    roof = build(spec_of(pile, high, thick, sides)).roof
    walls = walls_of(roof)
    assert len({edge.parapet.top for edge in walls if edge.parapet}) <= 1
    heights = [height for edge in walls for height in edge.wall_heights or ()]
    assert min(heights, default=high) == pytest.approx(high, abs=ROUGH)
    for edge in walls:
        assert edge.parapet is not None
        tops = [z + h for (_, _, z), h in zip(edge.ends, edge.wall_heights or (), strict=True)]
        assert tops == pytest.approx([edge.parapet.top] * 2, abs=1e-6)


@SETTINGS
@given(
    piles(forms=(*FLATS, "gambrel"), pitches=(*LOW, 0.5), overhangs=(0.0, 0.5)), HIGH, THICK, SIDES
)
def test_the_building_stays_closed_and_carries_every_plane_whole(
    pile: tuple[Block, ...], high: float, thick: float, sides: object
) -> None:
    spec = spec_of(pile, high, thick, sides)
    roof = build(spec).roof
    solid = build_solid(spec, roof)
    assert open_sides(solid) == 0
    assert volume(solid) > 0.0
    meshed = areas(solid)
    for plane in roof.planes:
        assert meshed.get(plane.id, 0.0) == pytest.approx(plane.area, abs=ROUGH)


@SETTINGS
@given(piles(forms=FLATS, pitches=(*LOW, 0.5)), HIGH, THICK, SIDES)
def test_walls_stand_outside_every_plane_of_their_section(
    pile: tuple[Block, ...], high: float, thick: float, sides: object
) -> None:
    roof = build(spec_of(pile, high, thick, sides)).roof
    for edge in walls_of(roof):
        assert edge.parapet is not None
        plane = roof.plane(edge.planes[0])
        inside = shapely.Polygon(
            [p[:2] for p in plane.outline], [[p[:2] for p in hole] for hole in plane.holes]
        )
        plan = shapely.Polygon(edge.parapet.plan)
        assert plan.is_valid
        assert plan.intersection(inside).area < ROUGH
        assert plan.area == pytest.approx(
            thick * (edge.parapet.coping_length + edge.plan_length) / 2.0, abs=ROUGH
        )


@SETTINGS
@given(piles(forms=FLATS, pitches=(*LOW, 0.5)), HIGH, THICK, SIDES)
def test_measured_sums_are_those_of_the_edges(
    pile: tuple[Block, ...], high: float, thick: float, sides: object
) -> None:
    project = build(spec_of(pile, high, thick, sides))
    totals = measure_roof(
        project.roof, {choice.plane: choice.assembly for choice in project.choices}
    )
    walls = walls_of(project.roof)
    assert totals.parapet == pytest.approx(math.fsum(edge.length for edge in walls))
    assert totals.parapet <= totals.headwall + totals.sidewall + ROUGH
    assert totals.coping == pytest.approx(
        math.fsum(edge.parapet.coping_length for edge in walls if edge.parapet)
    )


@settings(SETTINGS, max_examples=EXAMPLES or 8)  # laying out takes long
@given(piles(forms=("flat", "shed"), pitches=LOW[:2], most=1), HIGH, THICK)
def test_sheets_cover_the_deck_up_to_its_walls_and_no_lap_leaks(
    pile: tuple[Block, ...], high: float, thick: float
) -> None:
    project = build(spec_of(pile, high, thick, (None,)))
    for laid in project.layout.planes:
        deck = outline_of(laid.plane, frame_of(laid.plane))
        for layer in laid.layers:
            assert layer.extent.covers(deck.buffer(-1e-6))
    faults = check_layout(project.layout, project.catalog)
    assert [fault.code for fault in faults if fault.severity.value == "error"] == []
