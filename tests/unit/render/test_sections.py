"""Sections of every kind of joint as pictures: lengths true, all numbered, nothing in the way."""

from __future__ import annotations

import math
from functools import cache
from itertools import combinations, pairwise

import numpy as np
import pytest
import shapely

from roof3d.details.model import DetailKind
from roof3d.render.detail_ink.markers import count_marker_faults
from roof3d.render.detail_section.section import Section
from roof3d.render.detail_view.look import Look, Style
from roof3d.render.explode_picture import DetailPicture, set_picture
from roof3d.render.lettering import Box
from tests.unit.details.every_kind import CASES, first_of_each, project_of

_FIRST = {kind: house for house, kind in reversed(CASES)}
each_kind = pytest.mark.parametrize("kind", _FIRST, ids=[kind.value for kind in _FIRST])


@cache
def picture(kind: DetailKind) -> tuple[DetailPicture, Section]:
    project = project_of(_FIRST[kind])
    place = first_of_each(project)[kind].id
    found = set_picture(project, place, (1600, 1200), Look(style=Style.SECTION))
    assert found.section is not None
    return found, found.section


def texts(found: DetailPicture, section: Section) -> list[Box]:
    return [
        *found.words,
        *(drawn.box for drawn in section.dimensions),
        *(box for _, _, boxes in section.triangles for box in boxes),
    ]


def test_every_kind_there_is_is_looked_at() -> None:
    assert set(_FIRST) == set(DetailKind)


@each_kind
def test_lengths_begin_and_end_at_what_they_measure_and_are_to_one_scale(kind: DetailKind) -> None:
    found, section = picture(kind)
    own = {measure.id: measure for measure in found.detail.measures}
    pixels = [point for drawn in section.dimensions for point in drawn.feet]
    metres = [
        end
        for drawn in section.dimensions
        for end in _ordered(found, own[drawn.id].ends, drawn.feet)
    ]
    assert pixels
    scale = math.dist(*section.dimensions[0].ends) / own[section.dimensions[0].id].value
    # One scale and one shift bring every foot onto its end in the section.
    shift = np.array(pixels) - np.array(metres) * (scale, -scale)
    assert np.ptp(shift, axis=0).max() < 1e-6
    for drawn in section.dimensions:
        assert math.dist(*drawn.ends) == pytest.approx(scale * own[drawn.id].value, rel=1e-6)
        assert drawn.text == own[drawn.id].text
        # The line lies square to its extension lines, or upright beside both feet.
        along = np.subtract(*drawn.ends)
        between = np.subtract(*drawn.feet)
        assert abs(np.cross((*along, 0.0), (*between, 0.0))[2]) < 1e-3 or along[0] == 0.0


def _ordered(
    found: DetailPicture,
    ends: tuple[tuple[float, float, float], ...],
    feet: tuple[tuple[float, float], ...],
) -> list[tuple[float, float]]:
    """Return both ends of a length in the section, metres, in the order of its feet."""
    flat = found.detail.frame.section(np.array(ends))
    one, two = [(float(x), float(y)) for x, y in flat]
    alike = (two[0] - one[0]) * (feet[1][0] - feet[0][0]) - (two[1] - one[1]) * (
        feet[1][1] - feet[0][1]
    )
    return [one, two] if alike > 0.0 else [two, one]


@each_kind
def test_texts_are_read_from_below_or_from_the_right(kind: DetailKind) -> None:
    _, section = picture(kind)
    turns = [drawn.box.turn_deg for drawn in section.dimensions]
    assert all(-89.0 < turn < 90.5 for turn in turns), turns


@each_kind
def test_every_layer_cut_has_its_number_in_it_and_nothing_is_in_the_way(kind: DetailKind) -> None:
    found, section = picture(kind)
    cut = {
        found.detail.pieces[index].layer: [
            shapely.Polygon(ring).buffer(1e-6)
            for other, rings in section.shapes
            if found.detail.pieces[other].layer == found.detail.pieces[index].layer
            for ring in rings
        ]
        for index, _ in section.shapes
    }
    assert [marker.number for marker in section.callouts] == sorted(cut)
    for marker in section.callouts:
        spot = shapely.Point(marker.anchor)
        assert any(shape.covers(spot) for shape in cut[marker.number]), marker.number
    boxes = texts(found, section)
    assert sum(one.overlaps(two) for one, two in combinations(boxes, 2)) == 0
    assert count_marker_faults(section.callouts, boxes) == 0


@each_kind
def test_where_roof_goes_on_a_break_says_so(kind: DetailKind) -> None:
    found, section = picture(kind)
    rings = [shapely.LinearRing(ring) for _, rings in section.shapes for ring in rings]
    assert section.breaks
    for line in section.breaks:
        zigzag = [b - a for a, b in pairwise(np.asarray(line))]
        bends = [float(np.cross((*a, 0.0), (*b, 0.0))[2]) for a, b in pairwise(zigzag)]
        assert sum(abs(bend) > 1e-6 for bend in bends) == 4
        # It runs along something that is cut off there.
        assert min(ring.distance(shapely.LineString(line)) for ring in rings) < 1.0
    if found.detail.kind in {DetailKind.CHIMNEY, DetailKind.CHIMNEY_MEMBRANE}:
        assert len(section.breaks) == 4


@pytest.mark.parametrize("kind", [DetailKind.PARAPET, DetailKind.SCUPPER])
def test_a_wall_is_broken_off_level_and_a_roof_square(kind: DetailKind) -> None:
    _, section = picture(kind)
    ways = [np.subtract(line[-1], line[0]) for line in section.breaks]
    turns = [abs(math.degrees(math.atan2(y, x))) % 90.0 for x, y in ways]
    assert len(turns) >= 2
    assert all(min(turn, 90.0 - turn) < 2.0 for turn in turns), turns


def test_a_parapet_is_shown_whole_with_its_coping() -> None:
    found, section = picture(DetailKind.PARAPET)
    own = {measure.id: measure.value for measure in found.detail.measures}
    drawn = section.dimensions[0]
    scale = math.dist(*drawn.ends) / own[drawn.id]
    layer = next(one.number for one in found.detail.layers if one.name == "Coping")
    pieces = [k for k, piece in enumerate(found.detail.pieces) if piece.layer == layer]
    whole = np.concatenate([p for k in pieces for p in found.detail.pieces[k].profiles])
    rings = dict(section.shapes)
    shown = np.concatenate([ring for k in pieces if k in rings for ring in rings[k]])
    assert np.ptp(shown, axis=0) == pytest.approx(np.ptp(whole, axis=0) * scale, rel=1e-6)


def test_a_pipe_is_shown_with_its_cap() -> None:
    found, section = picture(DetailKind.PIPE_MEMBRANE)
    assert {marker.number for marker in section.callouts} >= {
        layer.number for layer in found.detail.layers if layer.name == "Settlement cap"
    }


def test_no_length_of_a_valley_is_written_on_the_valley() -> None:
    """Beside a drawing in space, where the room is short: the far ends of the lines meet there."""
    house, kind = project_of("plum-corner"), DetailKind.VALLEY_OPEN
    found = set_picture(house, first_of_each(house)[kind].id, (1200, 900))
    assert found.section is not None
    cut = [shapely.Polygon(ring) for _, rings in found.section.shapes for ring in rings]
    lengths = {drawn.id: shapely.Polygon(drawn.box.corners) for drawn in found.section.dimensions}
    assert len(lengths) == 5
    assert [name for name, box in lengths.items() if shapely.intersects(box, cut).any()] == []
