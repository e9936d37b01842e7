"""What parapets, drains and scuppers make of the laying."""

from __future__ import annotations

from dataclasses import replace

import pytest
import shapely

from roof3d.catalog.laying import Border
from roof3d.catalog.load import load_catalog
from roof3d.layout.borders.frame import frame_of, outline_of
from roof3d.layout.borders.sides import sides_of
from roof3d.layout.model import LaidStrip
from roof3d.layout.outlets import LAP_FREE
from roof3d.layout.strips.lines import Line, mitred_end
from roof3d.layout.strips.parapets import asks_along, fit_to_parapet
from roof3d.layout.zones import wind_zones
from roof3d.project import Project, build
from roof3d.spec.model import OpeningKind, OpeningSpec, SiteSpec, Zones
from tests.model_text import FOOT, INCH, Block
from tests.parapet_models import with_parapets

DECK = Block(id="deck", form="flat", length=24, width=16, eave=11, pitch=1 / 48)
HALL = Block(id="hall", form="gable", length=30, width=16, at=(-3, 15), eave=16, pitch=1)


def deck(*more: Block, height: float = 16.0, openings: tuple[OpeningSpec, ...] = (),
         site: SiteSpec | None = None) -> Project:  # fmt: skip
    spec = with_parapets((DECK, *more), height=height * INCH, thickness=8 * INCH, unit="ft")
    return build(replace(spec, openings=openings, site=site or spec.site))


def drain(x: float, y: float) -> OpeningSpec:
    return OpeningSpec(
        id="drain",
        kind=OpeningKind.DRAIN,
        at=(x * FOOT, y * FOOT),
        size=(8 * INCH, 8 * INCH),
        turn=0.0,
        height=4 * INCH,
    )


def strips(project: Project, rule: str) -> dict[str, LaidStrip]:
    return {one.edge: one for one in project.layout.strips if one.rule == rule}


def test_sides_know_their_parapet_and_how_high_it_stands() -> None:
    project = deck()
    (laid,) = project.layout.planes
    found = {side.edge: (side.border, round(side.parapet / INCH, 2)) for side in laid.sides}
    # 14 ft 8 in of 1/4 in a foot: the low side stands 3.67 in higher.
    assert found == {
        "deck.headwall": (Border.HEADWALL, 19.67),
        "deck.headwall_2": (Border.HEADWALL, 16.0),
        "deck.sidewall": (Border.SIDEWALL, 19.67),
        "deck.sidewall_2": (Border.SIDEWALL, 19.67),
    }


def test_a_wall_of_a_house_keeps_its_own_flashing() -> None:
    project = deck(HALL)
    at_house = [e.id for e in project.roof.edges if e.wall_heights and e.parapet is None]
    (house,) = [name for name in at_house if name.startswith("deck")]
    assert set(strips(project, "counterflashing")) == {house}
    assert set(strips(project, "flashing-cap")) == {house}
    walls = {edge.id for edge in project.roof.edges if edge.parapet}
    assert len(walls) == 3
    for rule in ("parapet-ply", "parapet-cap", "hook-strip", "coping", "coping-plate"):
        assert set(strips(project, rule)) == walls
    assert set(strips(project, "cant")) == {house, *walls}


def test_corners_are_counted_once() -> None:
    around, beside = deck(), deck(HALL)
    assert sum(mitred_end(edge) is not None for edge in around.roof.edges) == 4
    assert sum(mitred_end(edge) is not None for edge in beside.roof.edges) == 2


@pytest.mark.parametrize(("height", "barred"), [(16, 0), (21, 3), (25, 4)])
def test_high_walls_have_a_stop_half_way_up(height: float, barred: int) -> None:
    # The low side and both ends stand 3.67 in higher than asked.
    bars = strips(deck(height=height), "stop-bar")
    assert len(bars) == barred


def line(project: Project, edge_id: str) -> Line:
    edge = project.roof.edge(edge_id)
    return Line(
        owner=edge_id,
        rim=False,
        border=Border.HEADWALL,
        ends=((0.0, 0.0), (edge.length, 0.0)),
        length=edge.length,
        parapet=edge.parapet,
        wall=max(edge.wall_heights or (0.0,)),
    )


def test_rules_are_fitted_to_the_wall() -> None:
    project = deck()
    rules = {rule.id: rule for rule in load_catalog().assembly("self-adhered-membrane").strips}
    along = line(project, "deck.headwall")
    cap, inside = fit_to_parapet(rules["parapet-cap"], along)
    assert (cap.width / INCH, cap.start.length / INCH) == pytest.approx((38.67, -29.67), abs=0.01)
    assert inside.length == along.length
    coping, outside = fit_to_parapet(rules["coping"], along)
    assert (coping.width / INCH, outside.length / FOOT) == pytest.approx((16.0, 24.0))
    free = replace(along, parapet=None)
    assert fit_to_parapet(rules["cant"], free) == (rules["cant"], free)
    assert [asks_along(rules["flashing-cap"], one) for one in (along, free)] == [False, True]
    assert [asks_along(rules["parapet-cap"], one) for one in (along, free)] == [True, False]


def test_wind_pulls_at_the_edges_of_a_walled_deck_too() -> None:
    project = deck()
    (plane,) = project.roof.planes
    frame = frame_of(plane)
    outline = outline_of(plane, frame)
    sides = sides_of(project.roof, plane, frame, {plane.id: "membrane"}, {})
    zones = wind_zones(sides, outline, 3 * FOOT, slope=plane.slope, zones=Zones.GIVEN)
    whole = zones.perimeter.union(zones.corner).intersection(outline)
    assert whole.area == pytest.approx(outline.area - outline.buffer(-3 * FOOT).area, rel=1e-3)
    # Each corner is the square within the width of both edges.
    assert zones.corner.intersection(outline).area == pytest.approx(4 * (3 * FOOT) ** 2, rel=1e-3)


def test_sheets_run_through_a_drain_and_are_cut_out_in_its_ring() -> None:
    project = deck(openings=(drain(12, 2.2),))
    (laid,) = project.layout.planes
    (hole,) = laid.outline.interiors
    for layer in laid.layers[1:]:
        (cut,) = shapely.get_parts(layer.extent)[0].interiors
        across = [ring.bounds[2] - ring.bounds[0] for ring in (hole, cut)]
        # Trimmed 1/2 in inside the ring.
        assert across[0] - across[1] == pytest.approx(2 * 0.5 * INCH, abs=0.02 * INCH)


@pytest.mark.parametrize(
    ("along", "up", "told"),
    [(136, 14, False), (136, 16, True), (136, 29, True), (136, 50, False), (100, 50, True)],
)
def test_no_lap_of_the_cap_lies_beside_a_drain(along: float, up: float, *, told: bool) -> None:
    project = deck(openings=(drain((8 + along) / 12, (8 + up) / 12),))
    cap = project.layout.planes[0].layers[-1]
    # Side laps from 27 to 31 and from 62.4 to 66.4 in up the roof, an end lap at 107 to 113.
    highs, lows = [c.high / INCH for c in cap.courses], [c.low / INCH for c in cap.courses]
    assert (lows[1], highs[0], lows[2]) == pytest.approx((27.0, 31.0, 62.4), abs=0.1)
    assert cap.pieces.boxes[1, 2] / INCH == pytest.approx(112.7, abs=0.1)
    findings = [one for one in project.layout.findings if one.code == "R3D-DRAIN-LAP"]
    assert bool(findings) is told
    assert pytest.approx(12 * INCH) == LAP_FREE


@pytest.mark.parametrize(("up", "said"), [(12, None), (26, "lies"), (29, "runs through")])
def test_no_lap_of_the_cap_lies_beside_a_pipe(up: float, said: str | None) -> None:
    """Common practice, no source: 9 in, so that its flange lies under one sheet."""
    at = replace(drain(12.0, (8 + up) / 12), id="vent", kind=OpeningKind.PIPE)
    pipe = replace(at, size=(3 * INCH, 3 * INCH), height=12 * INCH)
    project = deck(openings=(pipe,))
    findings = [one for one in project.layout.findings if one.code == "R3D-PIPE-LAP"]
    assert len(findings) == (said is not None)
    assert all(f" {said} " in one.message and one.where == "openings[vent]" for one in findings)
