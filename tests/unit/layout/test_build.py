"""What the layout of a whole roof decides: valleys, ice, zones, and the order of things."""

from __future__ import annotations

import math

import pytest
import shapely

from roof3d.errors import LayoutError
from roof3d.layout.build import lay_out
from roof3d.layout.model import LaidPlane
from roof3d.project import Project, build
from roof3d.roof.model import Role
from roof3d.spec.read import parse_spec
from tests.model_text import FOOT, INCH, Block, built, model_text

CLOSED = '[layout]\nvalley = "closed_cut"\n'

#: A wing that stands out of the south side of a house, ridge to the south: two valleys.
HOUSE = Block(id="house", length=40, width=28, eave=9, pitch=6 / 12)


def wing(pitch: float = 6 / 12, *, eave: float = 9.0) -> Block:
    return Block(id="wing", length=24, width=16, at=(28, -10), turn=90, eave=eave, pitch=pitch)


def plane_of(job: Project, plane_id: str) -> LaidPlane:
    return next(laid for laid in job.layout.planes if laid.plane.id == plane_id)


def reach_over(laid: LaidPlane, role: str, edge: str, *, past: float) -> bool:
    """Whether a layer covers the point that far past the middle of an edge, inches."""
    side = next(side for side in laid.sides if side.edge == edge)
    (x0, y0), (x1, y1) = side.start, side.end
    length = math.hypot(x1 - x0, y1 - y0)
    out = ((y1 - y0) / length, (x0 - x1) / length)  # the plane lies on the left
    middle = ((x0 + x1) / 2 + past * INCH * out[0], (y0 + y1) / 2 + past * INCH * out[1])
    (layer,) = (layer for layer in laid.layers if layer.role == role)
    return bool(shapely.intersects_xy(layer.extent, *middle))


def ends_at(laid: LaidPlane, role: str, edge: str, inches: float) -> bool:
    """Whether a layer ends that far past an edge, negative for short of it."""
    inside = reach_over(laid, role, edge, past=inches - 0.1)
    return inside and not reach_over(laid, role, edge, past=inches + 0.1)


def valleys(job: Project) -> list[tuple[str, tuple[str, ...]]]:
    found = [(edge.id, edge.planes) for edge in job.roof.edges if edge.role is Role.VALLEY]
    assert len(found) == 2
    return found


def through_and_cut(job: Project, edge: str) -> dict[float, str]:
    """Return the planes of a valley by where their shingles end, inches past it."""
    planes = next(planes for name, planes in valleys(job) if name == edge)
    found = {}
    for plane in planes:
        for inches in (12.0, -2.0, -3.0):
            if ends_at(plane_of(job, plane), "shingles", edge, inches):
                found[inches] = plane
    return found


@pytest.mark.parametrize("pitch", [5 / 12, 7 / 12, 9 / 12])
def test_in_a_closed_valley_the_flatter_plane_runs_through(pitch: float) -> None:
    job = built(HOUSE, wing(pitch), unit="ft", tables=CLOSED)
    for edge, planes in valleys(job):
        found = through_and_cut(job, edge)
        flatter, steeper = sorted(planes, key=lambda plane: job.roof.plane(plane).slope)
        assert found == {12.0: flatter, -2.0: steeper}
        assert flatter.startswith("wing") == (pitch < 6 / 12)


def test_of_equal_slopes_the_smaller_plane_runs_through() -> None:
    job = built(HOUSE, wing(), unit="ft", tables=CLOSED)
    for edge, planes in valleys(job):
        small, large = sorted(planes, key=lambda plane: job.roof.plane(plane).area)
        assert small.startswith("wing")
        assert through_and_cut(job, edge) == {12.0: small, -2.0: large}


def test_a_smaller_house_runs_through_under_a_larger_wing() -> None:
    # The same way round with the ids the other way: size decides, not the order or the name.
    small = Block(id="wing", length=40, width=28, eave=9, pitch=6 / 12)
    large = Block(
        id="house", length=60, width=16, at=(28, -46), turn=90, eave=9, pitch=6 / 12
    )  # longer than the other is deep
    job = built(small, large, unit="ft", tables=CLOSED)
    for edge, planes in valleys(job):
        least = min(planes, key=lambda plane: job.roof.plane(plane).area)
        assert through_and_cut(job, edge)[12.0] == least


def test_an_open_valley_is_left_open_on_both_sides() -> None:
    job = built(HOUSE, wing(), unit="ft")
    for edge, planes in valleys(job):
        for plane in planes:
            assert ends_at(plane_of(job, plane), "shingles", edge, -3.0)


def test_underlayment_knows_nothing_of_how_shingles_meet_in_a_valley() -> None:
    open_job = built(HOUSE, wing(), unit="ft")
    closed = built(HOUSE, wing(), unit="ft", tables=CLOSED)
    for edge, planes in valleys(closed):
        for job in (open_job, closed):
            for plane in planes:
                assert ends_at(plane_of(job, plane), "underlayment", edge, -6.0)


def test_a_valley_of_membrane_and_shingles_is_never_closed() -> None:
    # A porch too flat for shingles: where it meets the roof is no valley between shingles.
    porch = Block(
        id="porch", form="gable", length=24, width=16, at=(28, -10), turn=90, eave=9, pitch=1 / 12
    )
    open_job, closed = (built(HOUSE, porch, unit="ft", tables=tables) for tables in ("", CLOSED))
    kinds = {open_job.catalog.assembly(laid.assembly).kind for laid in open_job.layout.planes}
    assert kinds == {"membrane", "shingle"}
    for one, two in zip(open_job.layout.planes, closed.layout.planes, strict=True):
        for a, b in zip(one.layers, two.layers, strict=True):
            assert shapely.equals(a.extent, b.extent)


def test_a_valley_of_membranes_is_never_closed() -> None:
    low = '[rules]\nlow_slope_cutoff = "4:12"\n'
    blocks = (
        Block(id="house", length=40, width=28, eave=9, pitch=2.5 / 12),
        wing(3 / 12),
    )
    one, two = (built(*blocks, unit="ft", tables=low + extra) for extra in ("", CLOSED))
    assert len(valleys(one)) == 2
    for a, b in zip(one.layout.planes, two.layout.planes, strict=True):
        assert all(
            shapely.equals(c.extent, d.extent) for c, d in zip(a.layers, b.layers, strict=True)
        )


def test_planes_come_in_the_order_of_the_roof_with_their_frames_and_assemblies() -> None:
    job = built(HOUSE, wing(), unit="ft")
    assert [laid.plane.id for laid in job.layout.planes] == [plane.id for plane in job.roof.planes]
    for laid in job.layout.planes:
        assert laid.assembly == job.assembly_of(laid.plane.id)
        assert laid.outline.area == pytest.approx(laid.plane.area)
        assert laid.outline.bounds[1] == pytest.approx(0.0)
        assert {layer.plane for layer in laid.layers} == {laid.plane.id}
    names = [layer.id for laid in job.layout.planes for layer in laid.layers]
    assert len(names) == len(set(names))


def test_each_plane_that_is_laid_is_told() -> None:
    job = built(HOUSE, wing(), unit="ft")
    told: list[tuple[int, int]] = []
    choices = {choice.plane: choice.assembly for choice in job.choices}
    lay_out(
        job.spec,
        job.roof,
        job.catalog,
        choices,
        on_plane=lambda done, of: told.append((done, of)),
    )
    count = len(job.roof.planes)
    assert told == [(k, count) for k in range(1, count + 1)]


def site(**keys: str) -> str:
    return "[site]\n" + "".join(f"{key} = {value}\n" for key, value in keys.items())


def test_ice_is_laid_only_where_the_site_asks_for_it() -> None:
    bare = built(HOUSE, unit="ft")
    iced = built(HOUSE, unit="ft", tables=site(ice_barrier="true"))
    assert all("ice barrier" not in {x.role for x in p.layers} for p in bare.layout.planes)
    assert all(p.layers[0].role == "ice barrier" for p in iced.layout.planes)


def test_an_unknown_edition_matters_only_where_ice_is_asked_for() -> None:
    quiet = built(HOUSE, unit="ft", tables=site(code='"IRC 1999"'))
    assert len(quiet.layout.planes) == 2
    asked = built(HOUSE, unit="ft", tables=site(code='"IRC 1999"', ice_barrier="true"))
    with pytest.raises(LayoutError) as caught:
        _ = asked.layout
    assert caught.value.where == "site.code"
    assert "IRC 1999" in caught.value.message
    assert "IRC 2024" in str(caught.value)


DECK = Block(form="shed", length=60, width=40, eave=12, pitch=0.5 / 12)
ZONES = site(zones='"6 ft"')


def test_wind_zones_reach_the_nails() -> None:
    plain, zoned = (built(DECK, unit="ft", tables=tables) for tables in ("", ZONES))
    few, many = (job.layout.layer("house.south/base").nails for job in (plain, zoned))
    assert len(many) > 1.2 * len(few)
    # Per area: 1 1/2 times along the edges, 3 times in the corners (2/3 and 1/3 of the
    # spacing), and no more in the middle.
    width, height = 60 * FOOT, 40 * FOOT * math.hypot(1, 0.5 / 12)
    middle = shapely.box(10 * FOOT, 10 * FOOT, width - 10 * FOOT, height - 10 * FOOT)

    def inside(nails: object, box: shapely.Geometry) -> int:
        return int(shapely.contains_xy(box, nails).sum())

    assert inside(many, middle) == pytest.approx(inside(few, middle), rel=0.03)
    corner = shapely.box(0.5 * FOOT, 0.5 * FOOT, 5.5 * FOOT, 5.5 * FOOT)
    assert inside(many, corner) >= 2.2 * inside(few, corner)
    side = shapely.box(0.5 * FOOT, 15 * FOOT, 5.5 * FOOT, height - 15 * FOOT)
    assert inside(many, side) == pytest.approx(1.5 * inside(few, side), rel=0.15)


def test_wind_zones_change_nothing_but_nails() -> None:
    plain, zoned = (built(DECK, unit="ft", tables=tables) for tables in ("", ZONES))
    for one, two in zip(plain.layout.planes[0].layers, zoned.layout.planes[0].layers, strict=True):
        assert one.courses == two.courses
        assert one.pieces.boxes.tolist() == two.pieces.boxes.tolist()


def test_each_plane_has_its_own_start_side_and_all_its_layers_have_it() -> None:
    # Longer at its right: the profile from the right is the nearer one there.
    hip = Block(form="hip", length=90, width=48, eave=9, pitch=1 / 12)
    cut = Block(id="two", form="hip", length=70, width=40, at=(0, 30), eave=9, pitch=1 / 12)
    job = built(hip, cut, unit="ft")
    sides = set()
    for laid in job.layout.planes:
        starts = set()
        for layer in laid.layers:
            boxes, course = layer.pieces.boxes, layer.pieces.course
            several = [k for k in set(course.tolist()) if (course == k).sum() > 1]
            starts |= {bool(boxes[course == k][0, 0] > boxes[course == k][1, 0]) for k in several}
        assert len(starts) <= 1
        sides |= starts
    assert sides == {False, True}


def test_findings_of_layers_and_strips_are_both_told() -> None:
    big = Block(form="shed", length=60, width=40, eave=9, pitch=6 / 12)
    chimney = (
        '\n[[opening]]\nid = "stack"\nkind = "chimney"\nat = ["20 ft", "12 ft"]\n'
        'size = ["40 in", "30 in"]\nheight = "6 ft"\n'
    )
    low = Block(id="flat", form="shed", length=60, width=40, at=(100, 0), pitch=1 / 24)
    text = model_text([big, low], unit="ft") + chimney
    layout = build(parse_spec(text, source="t.toml")).layout
    codes = [finding.code for finding in layout.findings]
    assert codes.index("R3D-LAPS-WIDENED") < codes.index("R3D-CRICKET-LAID")


# A 24 ft gable at 5:12 with 1 ft overhangs is 13 x 13/12 ft = 169.0 in along
# the slope, 3/8 more below; 5 5/8 show, so a 31st course would show 0.6 in. A ridge piece,
# 13 1/4 wide, covers 6 5/8 of it: 2 5/8 more than the 4 in that it must lap.
@pytest.mark.parametrize(("width", "courses"), [("24 ft", 30), ("25 ft", 31)])
def test_no_course_is_laid_for_what_ridge_pieces_cover(width: str, courses: int) -> None:
    text = f"""\
schema = 1
name = "Plain gable"
units = "imperial"

[[section]]
id = "house"
form = "gable"
length = "30 ft"
width = "{width}"
at = ["0 ft", "0 ft"]
eave = "9 ft"
pitch = "5:12"
overhang = "12 in"
"""
    layout = build(parse_spec(text)).layout
    assert len(layout.layer("house.south/shingles").courses) == courses
