"""What the laying of one plane decides: which layers, how wide their laps, and what is told."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
import shapely

from roof3d.catalog.laying import Border
from roof3d.catalog.load import load_catalog
from roof3d.catalog.material import Material, MaterialForm
from roof3d.catalog.model import Catalog
from roof3d.errors import Finding, LayoutError, Severity
from roof3d.layout.borders.frame import frame_of, outline_of
from roof3d.layout.borders.ice import ice_rule
from roof3d.layout.borders.sides import sides_of
from roof3d.layout.layers import Ground, lay_layers
from roof3d.layout.model import Direction, LaidLayer
from roof3d.project import Project, build
from roof3d.roof.walls import wall_polygon
from roof3d.spec.model import CatalogText
from roof3d.spec.read import parse_spec
from tests.model_text import FOOT, INCH, Block, built, mirrored, model_text


def shed(
    pitch: float, *, length: float = 30.0, width: float = 20.0, tables: str = "", own: str = ""
) -> Project:
    block = Block(id="shed", form="shed", length=length, width=width, eave=9, pitch=pitch / 12)
    spec = parse_spec(model_text([block], unit="ft", tables=tables), source="shed.toml")
    return build(replace(spec, catalog=CatalogText(name="own.toml", text=own) if own else None))


def layers_of(job: Project, plane: int = 0) -> dict[str, LaidLayer]:
    return {layer.role: layer for layer in job.layout.planes[plane].layers}


def laps_told(job: Project) -> list[Finding]:
    return [finding for finding in job.layout.findings if finding.code == "R3D-LAPS"]


def own(material: str, **changes: str) -> str:
    """Return a catalog that has one material of the built-in ones with other values or without."""
    known = load_catalog().material(material)
    values = {
        "thickness": known.thickness,
        "width": known.width,
        "length": known.length,
        "side_lap": known.side_lap,
        "end_lap": known.end_lap,
        "stagger": known.stagger,
        "side_offset": known.side_offset,
        "end_offset": known.end_offset,
        "shortest": known.shortest,
    }
    texts = {name: f"{value!r} m" for name, value in values.items() if value > 0.0} | changes
    texts = {name: text for name, text in texts.items() if text}
    lines = [f'{name} = "{text}"' for name, text in texts.items()]
    sources = [f'{name} = "label of {name}"' for name in texts]
    return "\n".join(
        [
            "[[material]]", f'id = "{material}"', f'name = "{known.name}"',
            f'form = "{known.form}"', 'purpose = "test"', 'pack = "roll"', *lines,
            "[material.sources]", *sources, "",
        ]
    )  # fmt: skip


def test_layers_are_numbered_as_in_the_assembly_and_the_deck_is_not_laid() -> None:
    found = layers_of(shed(1))
    assert [(x.role, x.number) for x in found.values()] == [("base", 2), ("ply", 3), ("cap", 4)]
    assert [x.id for x in found.values()] == ["shed.south/base", "shed.south/ply", "shed.south/cap"]
    # The ice barrier is the second layer of shingles, the starter the fourth, laid as a strip.
    found = layers_of(shed(6))
    assert [(x.role, x.number) for x in found.values()] == [("underlayment", 3), ("shingles", 5)]
    found = layers_of(shed(6, tables="[site]\nice_barrier = true\n"))
    assert [x.number for x in found.values()] == [2, 3, 5]
    assert next(iter(found.values())).id == "shed.south/ice-barrier"


def test_a_layer_that_covers_nothing_is_left_out() -> None:
    # The high lower-pitched plane of a gambrel has no eave: no ice barrier there.
    gambrel = Block(
        form="gambrel", length=40, width=28, eave=9, pitch=4 / 12, lower_pitch=18 / 12, break_in=5
    )
    job = built(gambrel, unit="ft", tables="[site]\nice_barrier = true\n")
    roles = {laid.plane.id: {layer.role for layer in laid.layers} for laid in job.layout.planes}
    assert len(roles) == 4
    for name, found in roles.items():
        assert ("ice barrier" in found) == ("lower" in name)
        assert "underlayment" in found


def test_ice_barrier_and_underlayment_part_the_plane_with_a_lap() -> None:
    job = shed(6, tables="[site]\nice_barrier = true\n")
    ice, under = layers_of(job)["ice barrier"], layers_of(job)["underlayment"]
    line = 24 * math.sqrt(1.25) * INCH  # no overhang: 24 in inside the wall, along the slope
    assert ice.extent.bounds[1] == pytest.approx(0.0)
    assert ice.extent.bounds[3] == pytest.approx(line)
    assert under.extent.bounds[1] == pytest.approx(line - 6 * INCH)
    assert shapely.intersection(ice.extent, under.extent).area == pytest.approx(
        30 * FOOT * 6 * INCH
    )
    plain = layers_of(shed(6))["underlayment"]
    assert plain.extent.bounds[1] == pytest.approx(0.0)
    assert layers_of(shed(6))["shingles"].extent.equals(layers_of(job)["shingles"].extent)


def test_laps_are_the_larger_of_what_material_and_layer_ask_for() -> None:
    found = layers_of(shed(1))
    # The layers of ply and cap ask for 4 in, their materials for 3.
    assert [x.side_lap / INCH for x in found.values()] == pytest.approx([2.0, 4.0, 4.0])
    assert [x.end_lap / INCH for x in found.values()] == pytest.approx([6.0, 6.0, 6.0])
    wider = own("granule-cap", side_lap="5 in", end_lap="8 in")
    wider += (
        '[[assembly]]\nid = "self-adhered-membrane"\nlike = "self-adhered-membrane"\nname = "x"\n'
        '[[assembly.layer]]\nrole = "cap"\nwithout = ["side_lap"]\n'
        '[[assembly]]\nid = "self-adhered-two-ply"\nlike = "self-adhered-membrane"\nname = "y"\n'
    )
    cap = layers_of(shed(1, own=wider))["cap"]
    assert (cap.side_lap / INCH, cap.end_lap / INCH) == pytest.approx((5.0, 8.0))
    shingles = layers_of(shed(6))["shingles"]
    assert shingles.side_lap / INCH == pytest.approx(13.25 - 5.625)
    assert shingles.end_lap == 0.0


def test_a_lap_of_a_layer_that_is_less_than_the_materials_does_not_hold() -> None:
    # No catalog file may say so; what is made by hand may.
    job = shed(1)
    assembly = job.catalog.assembly("self-adhered-membrane")
    thin = tuple(replace(layer, side_lap=0.01, end_lap=0.01) for layer in assembly.layers)
    found, _ = lay_layers(ground_of(job), replace(assembly, layers=thin), job.catalog, job.spec)
    assert [layer.side_lap / INCH for layer in found] == pytest.approx([2.0, 3.0, 3.0])
    assert [layer.end_lap / INCH for layer in found] == pytest.approx([6.0, 6.0, 6.0])


def test_end_laps_keep_their_distance_from_those_of_the_layer_below() -> None:
    found = layers_of(shed(1))
    base, ply = found["base"], found["ply"]
    places = [
        [
            (after[0], after[1], after[3])
            for (before, k), (after, n) in pairwise(
                zip(layer.pieces.boxes.tolist(), layer.pieces.course.tolist(), strict=True)
            )
            if k == n and before[2] > after[0]
        ]
        for layer in (base, ply)
    ]
    assert all(places)
    near = min(
        abs(u - below)
        for below, low, high in places[0]
        for u, foot, head in places[1]
        if min(high, head) > max(low, foot)
    )
    assert near >= 36 * INCH - 1e-4
    assert ply.least_end_offset == pytest.approx(near)
    assert base.least_end_offset == math.inf


def test_even_laps_give_touching_sheets_one_exposure_and_leave_others_alone() -> None:
    wish = "[layout]\neven_laps = true\n"
    usual, even = (
        shed(1, width=60, tables=f"[layout]\neven_laps = {flag}\n") for flag in ("false", "true")
    )
    assert [x.side_lap / INCH for x in layers_of(even).values()] == pytest.approx([4.0] * 3)
    for layer in layers_of(even).values():
        shown = {round(b.low - a.low, 9) for a, b in pairwise(layer.courses[1:])}
        assert shown == {round((39.375 - 4.0) * INCH, 9)}
    assert laps_told(usual)
    assert not laps_told(even)
    # Underlayment and shingles do not touch laps with laps.
    iced = "[site]\nice_barrier = true\n"
    for one, two in zip(
        layers_of(shed(6, tables=iced)).values(),
        layers_of(shed(6, tables=wish + iced)).values(),
        strict=True,
    ):
        assert two.side_lap == pytest.approx(one.side_lap)
        assert [c.low for c in two.courses] == pytest.approx([c.low for c in one.courses])


def test_laps_are_kept_apart_from_the_layer_below_alone() -> None:
    found = layers_of(shed(1))
    assert found["base"].least_side_offset == math.inf
    for lower, upper in pairwise(found.values()):
        feet = [[course.low for course in layer.courses[1:]] for layer in (lower, upper)]
        least = min(abs(a - b) for a in feet[0] for b in feet[1])
        assert upper.least_side_offset == pytest.approx(least)
        assert upper.least_side_offset >= 12 * INCH - 1e-4
    steep = layers_of(shed(6, tables="[site]\nice_barrier = true\n"))
    assert {layer.least_side_offset for layer in steep.values()} == {math.inf}


@pytest.mark.parametrize(("pitch", "along"), [(1.99, False), (2.0, True), (2.5, True)])
def test_sheets_run_up_the_slope_from_the_pitch_that_the_layer_says(
    pitch: float, *, along: bool
) -> None:
    job = shed(pitch, tables='[rules]\nlow_slope_cutoff = "3:12"\n')
    wanted = Direction.ALONG if along else Direction.ACROSS
    assert {layer.direction for layer in layers_of(job).values()} == {wanted}


def test_sheets_that_run_up_the_slope_start_where_the_whole_plane_starts() -> None:
    wide = Block(form="hip", length=50, width=28, eave=9, pitch=2.5 / 12)
    side = Block(id="two", form="hip", length=40, width=20, at=(0, 20), eave=9, pitch=2.5 / 12)
    job = built(wide, side, unit="ft", tables='[rules]\nlow_slope_cutoff = "3:12"\n')
    seen = set()
    for laid in job.layout.planes:
        starts = set()
        for layer in laid.layers:
            assert layer.direction is Direction.ALONG
            if len(layer.courses) > 1:
                rising = layer.courses[-1].low > layer.courses[0].low
                starts.add(rising)
                # The first course stands at the end of the extent that it starts from.
                bound = layer.extent.bounds[0 if rising else 2]
                first = layer.courses[0].low if rising else layer.courses[0].high
                assert first == pytest.approx(bound)
        assert len(starts) <= 1
        seen |= starts
    assert seen == {False, True}


def test_what_laps_by_half_starts_with_a_strip() -> None:
    double = layers_of(shed(3))["underlayment"]
    assert double.material == "felt-underlayment-double"
    heights = [round((c.high - c.low) / INCH, 6) for c in double.courses]
    assert heights[:3] == [19.0, 36.0, 36.0]
    assert double.courses[0].low == double.courses[1].low == pytest.approx(0.0)
    single = layers_of(shed(4))["underlayment"]
    assert single.material == "synthetic-underlayment"
    assert single.courses[1].low > 0.0


def test_the_share_of_the_first_course_is_the_layers() -> None:
    base = layers_of(shed(1, width=8, tables='[rules]\nlow_assembly = "heat-applied-cap"\n'))
    # A base alone below the cap keeps its two thirds where nothing asks otherwise.
    assert (base["base"].courses[0].high - base["base"].courses[0].low) / INCH == pytest.approx(
        39.375 * 2 / 3
    )
    single = layers_of(shed(1, tables='[rules]\nlow_assembly = "single-ply"\n'))["cap"]
    assert (single.courses[0].high - single.courses[0].low) / INCH == pytest.approx(36.0)


def test_high_wind_asks_for_six_nails_a_whole_shingle() -> None:
    few, many = (
        layers_of(shed(6, tables=f'[site]\nwind = "{wind}"\n'))["shingles"]
        for wind in ("normal", "high")
    )
    first = few.pieces.boxes[1]
    counts = [
        int(np.sum((x.nails[:, 0] > first[0]) & (x.nails[:, 0] < first[2])
                   & (np.abs(x.nails[:, 1] - first[1] - 6.125 * INCH) < 1e-6)))
        for x in (few, many)
    ]  # fmt: skip
    assert counts == [4, 6]


def test_nails_name_their_fastener_and_are_not_to_be_changed() -> None:
    found = layers_of(shed(1)) | layers_of(shed(6))
    assert {role: layer.fastener for role, layer in found.items()} == {
        "base": "cap-nail", "ply": "", "cap": "", "underlayment": "cap-nail",
        "shingles": "roofing-nail",
    }  # fmt: skip
    for layer in found.values():
        assert layer.nails.shape[1:] == (2,)
        assert bool(len(layer.nails)) == bool(layer.fastener)
        assert not layer.nails.flags.writeable


def test_end_laps_are_bedded_and_decks_primed_where_the_layer_says_so() -> None:
    cap = layers_of(shed(1, length=64))["cap"]
    axis_laps = sum(
        max(0.0, one[2] - two[0]) * (two[3] - two[1])
        for (one, k), (two, n) in pairwise(
            sorted(zip(cap.pieces.boxes.tolist(), cap.pieces.course.tolist(), strict=True),
                   key=lambda pair: (pair[1], pair[0][0]))
        )
        if k == n
    )  # fmt: skip
    assert cap.bed == "roof-cement"
    assert cap.bed_area == pytest.approx(axis_laps)
    assert cap.bed_area > 0.5 * 7 * 6 * 39 * INCH**2
    ply = layers_of(shed(1))["ply"]
    assert len(ply.pieces) > len(ply.courses)  # it has end laps
    assert (ply.bed, ply.bed_area, ply.primer, ply.primer_area) == ("", 0.0, "", 0.0)
    primed = layers_of(shed(1, tables='[rules]\nlow_assembly = "self-adhered-two-ply"\n'))["ply"]
    assert primed.primer == "primer"
    assert primed.primer_area == pytest.approx(primed.extent.area)


def test_laps_are_widened_where_no_first_course_keeps_them_apart_and_only_there() -> None:
    # 15 ft take five courses, 60 ft nineteen: the base's 37 3/8 in and the ply's 35 3/8 in drift by
    # 2 in a course, more than the 11 3/8 in that 12 in on either side leave.
    short, long = shed(1, width=15), shed(1, width=60)
    assert [x.side_lap / INCH for x in layers_of(short).values()] == pytest.approx([2.0, 4.0, 4.0])
    assert [x.side_lap / INCH for x in layers_of(long).values()] == pytest.approx([4.0] * 3)
    assert (laps_told(short), laps_told(long)) == ([], [])
    (finding,) = (f for f in long.layout.findings if f.code == "R3D-LAPS-WIDENED")
    assert (finding.severity, finding.where) == (Severity.NOTE, "layers[shed.south/base]")
    assert 'side laps widened from 2" to 4"' in finding.message
    assert layers_of(long)["ply"].least_side_offset >= 12 * INCH - 1e-4


def test_laps_are_not_widened_where_that_would_not_help() -> None:
    # Two rows of laps 35 3/8 in apart lie at most 17 11/16 in from each other: 20 in never.
    job = shed(1, own=own("self-adhered-ply", side_offset="20 in"))
    assert layers_of(job)["base"].side_lap == pytest.approx(2 * INCH)
    (finding,) = (f for f in laps_told(job) if f.where == "layers[shed.south/ply]")
    assert "1' 8\" asked; no cut keeps it" in finding.message
    assert "R3D-LAPS-WIDENED" not in {f.code for f in job.layout.findings}


def test_side_laps_that_drift_together_are_told_with_the_way_out() -> None:
    never = "[layout]\neven_laps = false\n"
    (finding,) = laps_told(shed(1, width=60, tables=never))
    assert finding.severity is Severity.CAUTION
    assert finding.where == "layers[shed.south/ply]"
    assert finding.source == "UFGS-07550"
    head, _, tail = finding.message.partition(": ")
    assert head == "Self-adhered ply"
    assert tail.startswith("side laps from those of the layer below: ")
    assert "1' 0\" asked; no cut keeps it; even_laps = true under [layout]" in tail
    least = layers_of(shed(1, width=60, tables=never))["ply"].least_side_offset
    assert least < 12 * INCH
    block = Block(id="shed", form="shed", length=9, width=18, pitch=1 / 12)
    metric = model_text([block], unit="m", tables=never)
    (finding,) = laps_told(build(parse_spec(metric, source="m.toml")))
    assert "0.305 m asked" in finding.message


def test_stagger_that_no_cut_keeps_is_told_with_the_value_of_the_material() -> None:
    # A roll of 5 ft with 6 in laps has an end lap every 4 ft 6 in: none stands 36 in from both
    # neighbours of the next course.
    job = shed(1, own=own("granule-cap", length="5 ft", end_offset="", shortest="1 ft"))
    told = [f for f in laps_told(job) if "end laps in neighbouring courses" in f.message]
    (finding,) = told
    assert finding.where == "layers[shed.south/cap]"
    assert finding.source == "label of stagger"
    assert "3' 0\" asked; no cut keeps it" in finding.message
    assert "even_laps" not in finding.message
    assert layers_of(job)["cap"].least_stagger < 36 * INCH


def test_a_lap_in_the_bend_is_told_as_one_at_the_joint() -> None:
    # A porch that ends just above the last lap of every cut: asked for more than a sheet shows.
    text = (
        '[[assembly]]\nid = "self-adhered-membrane"\nlike = "self-adhered-membrane"\nname = "x"\n'
    )
    text += '[[assembly.layer]]\nrole = "cap"\nclear = "30 in"\n'
    house = Block(id="house", length=42, width=28, eave=9, pitch=6 / 12, overhang=(16 / 12, 8 / 12))
    porch = Block(
        id="porch", form="shed", length=20, width=15, at=(11, -12), eave=8.5, pitch=1 / 12,
        overhang=(1, 8 / 12),
    )  # fmt: skip
    spec = parse_spec(model_text([house, porch], unit="ft"), source="t.toml")
    assert not laps_told(build(spec))
    job = build(replace(spec, catalog=CatalogText(name="own.toml", text=text)))
    finding = next(f for f in laps_told(job) if f.where == "layers[porch.south/cap]")
    assert "side laps from the joint with shingles: " in finding.message
    assert "2' 6\" asked" in finding.message
    assert "even_laps" not in finding.message
    assert finding.source == "common practice, no source"


def ground_of(job: Project, **changes: object) -> Ground:
    plane = job.roof.planes[0]
    frame = frame_of(plane)
    kinds = {c.plane: job.catalog.assembly(c.assembly).kind for c in job.choices}
    walls = {section.id: wall_polygon(section) for section in job.spec.sections}
    outline = outline_of(plane, frame)
    ground = Ground(
        plane=plane,
        outline=outline,
        sides=sides_of(job.roof, plane, frame, kinds, walls),
        zones=None,
        ice=None,
        valleys={},
        from_far=False,
    )
    return replace(ground, **changes)  # type: ignore[arg-type]


def with_material(catalog: Catalog, material: Material) -> Catalog:
    kept = tuple(m for m in catalog.materials if m.id != material.id)
    return replace(catalog, materials=(*kept, material))


def test_an_error_says_at_which_layer_and_keeps_its_way_out() -> None:
    job = shed(1)
    thin = replace(job.catalog.material("granule-cap"), length=0.1)
    with pytest.raises(LayoutError) as caught:
        lay_layers(
            ground_of(job),
            job.catalog.assembly("self-adhered-membrane"),
            with_material(job.catalog, thin),
            job.spec,
        )
    assert caught.value.where == "layers[shed.south/cap]"
    assert caught.value.message
    assert caught.value.hint


@pytest.mark.parametrize("pitch", [1, 2.5, 6])
def test_layers_of_a_mirrored_plane_are_mirrored_piece_by_piece(pitch: float) -> None:
    blocks = (
        Block(form="hip", length=50, width=28, eave=9, pitch=pitch / 12),
        Block(id="two", form="hip", length=40, width=20, at=(0, 20), eave=9, pitch=pitch / 12),
    )
    tables = '[rules]\nlow_slope_cutoff = "3:12"\n'
    job = built(*blocks, unit="ft", tables=tables)
    other = built(*map(mirrored, blocks), unit="ft", tables=tables)
    for laid in job.layout.planes:
        right = laid.outline.bounds[2]
        seen = shapely.transform(laid.outline, lambda xy, r=right: (r, 0.0) + xy * (-1.0, 1.0))
        (twin,) = (
            plane
            for plane in other.layout.planes
            if shapely.symmetric_difference(plane.outline, seen).area < 1e-6
            and plane.frame.up[1] == pytest.approx(laid.frame.up[1], abs=1e-9)
            and plane.frame.up[0] == pytest.approx(-laid.frame.up[0], abs=1e-9)
        )
        for one, two in zip(laid.layers, twin.layers, strict=True):
            boxes = two.pieces.boxes
            across = np.column_stack(
                [right - boxes[:, 2], boxes[:, 1], right - boxes[:, 0], boxes[:, 3]]
            )
            if shapely.symmetric_difference(laid.outline, seen).area < 1e-6:
                across = boxes  # its own mirror: both start at the left
            assert across == pytest.approx(one.pieces.boxes, abs=1e-6)
            assert len(one.nails) == len(two.nails)


def test_ice_ground_without_a_rule_lays_no_ice_and_with_one_it_does() -> None:
    job = shed(6)
    assembly = job.catalog.assembly("laminated-shingle")
    roles = [
        [layer.role for layer in lay_layers(ground, assembly, job.catalog, job.spec)[0]]
        for ground in (ground_of(job), ground_of(job, ice=ice_rule("IRC 2018")))
    ]
    assert roles == [["underlayment", "shingles"], ["ice barrier", "underlayment", "shingles"]]


def test_only_a_layer_that_lists_a_way_of_closing_a_valley_ends_in_it_that_way() -> None:
    # The eave taken for a valley, so that the plane is as simple as can be.
    job = shed(6)
    assembly = job.catalog.assembly("laminated-shingle")
    (eave,) = (side.edge for side in ground_of(job).sides if side.border is Border.EAVE)
    for end, low in ((Border.VALLEY_THROUGH, -12.0), (Border.VALLEY_CUT, 2.0)):
        ground = ground_of(job, valleys={eave: end})
        under, shingles = lay_layers(ground, assembly, job.catalog, job.spec)[0]
        assert shingles.extent.bounds[1] / INCH == pytest.approx(low)
        assert under.extent.bounds[1] / INCH == pytest.approx(0.0)


def test_only_sheets_and_shingles_are_laid_out() -> None:
    catalog = load_catalog()
    for job in (shed(1), shed(6)):
        for layer in layers_of(job).values():
            assert catalog.material(layer.material).form in {
                MaterialForm.SHEET,
                MaterialForm.SHINGLE,
            }
