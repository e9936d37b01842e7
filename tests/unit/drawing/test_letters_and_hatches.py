"""Widths of text and lines of hatches, each against another way to find them."""

from __future__ import annotations

import math
from pathlib import Path

import pytest
import shapely
from PIL import ImageFont

from roof3d.drawing.detail.spread import areas_of
from roof3d.drawing.hatches import hatch_lines
from roof3d.drawing.letters import CAPITAL, break_text, shorten_text, text_width
from roof3d.drawing.model import Area, Rule, Text


@pytest.mark.parametrize(("file", "bold"), [("Vera.ttf", False), ("VeraBd.ttf", True)])
def test_text_is_as_long_as_the_font_that_prints_it(file: str, bold: bool) -> None:  # noqa: FBT001
    import reportlab

    path = Path(reportlab.__file__).parent / "fonts" / file
    font = ImageFont.truetype(str(path), 1000, layout_engine=ImageFont.Layout.BASIC)
    for words in ("Nailed base sheet, lap 2 in", "18 1/2 in (VA 07 52 16)", "M = 18 in", "~{}|"):
        own = text_width(words, 1000.0 * CAPITAL, bold=bold)
        # The reader of fonts may round each letter to a whole unit.
        assert own == pytest.approx(font.getlength(words), abs=len(words))


def test_a_letter_that_the_table_has_not_takes_the_widest_room() -> None:
    assert text_width("\u5c4b", CAPITAL) == pytest.approx(1.0)


def test_lines_are_broken_where_they_fit_and_cut_off_where_they_must() -> None:
    words = "one sheet through the break, as high as a wall flashing"
    lines = break_text(words, 2.0, 40.0)
    assert " ".join(lines) == words
    assert all(text_width(line, 2.0) <= 40.0 for line in lines)
    assert text_width(shorten_text(words, 2.0, 30.0), 2.0) <= 30.0


@pytest.mark.parametrize("angle", [0.0, 30.0, 90.0, 135.0])
def test_hatch_lines_fill_their_area_at_their_spacing(angle: float) -> None:
    ring = ((3.0, 2.0), (63.0, 7.0), (60.0, 48.0), (9.0, 40.0))
    hole = ((20.0, 15.0), (20.0, 25.0), (35.0, 25.0), (35.0, 15.0))
    area = Area(layer="a", rings=(ring, hole), turn_deg=12.0)
    shape = shapely.Polygon(ring, [hole])
    lines = hatch_lines(area, Rule(angle_deg=angle, spacing=0.5))
    total = sum(math.dist(a, b) for a, b in lines)
    assert total * 0.5 == pytest.approx(shape.area, rel=0.01)
    near = shape.buffer(1e-9)
    assert all(near.covers(shapely.LineString(line)) for line in lines)
    turns = {round(math.degrees(math.atan2(b[1] - a[1], b[0] - a[0])) % 180.0, 6) for a, b in lines}
    assert turns == {round((angle + 12.0) % 180.0, 6)}


def test_a_text_knows_its_length() -> None:
    text = Text(layer="a", at=(0.0, 0.0), text="gap 4 in", height=2.0)
    assert text.width == text_width("gap 4 in", 2.0)


def test_only_the_areas_of_a_cut_shape_are_kept() -> None:
    square, line = shapely.box(0.0, 0.0, 1.0, 1.0), shapely.LineString(((1.0, 0.5), (3.0, 0.5)))
    mixed = shapely.GeometryCollection([square, line, shapely.Point(5.0, 5.0)])
    assert areas_of(mixed).equals(square)
    assert areas_of(line).is_empty
