"""Drawings as SVG, PDF and DXF, each read back by another reader."""

from __future__ import annotations

import io
import math
import re
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any
from xml.etree import ElementTree as ET

import ezdxf
import pypdf
import pytest
from ezdxf.filemanagement import read as read_dxf

import roof3d
from roof3d.drawing.detail.plan import build_plan
from roof3d.drawing.detail.section import build_section
from roof3d.drawing.model import Area, Dot, Drawing, Hatch, Rule, Text
from roof3d.errors import WriteError
from roof3d.scene.detail_scene import build_detail
from roof3d.writers.drawing.dxf import dxf_bytes
from roof3d.writers.drawing.pdf import pdf_bytes
from roof3d.writers.drawing.svg import svg_bytes
from roof3d.writers.drawing.write import DRAWING_WRITERS, drawing_bytes

MODELS = Path(__file__).parents[2] / "models"
PLACES = (("lantern-street", "porch.transition"), ("tide-house", "entrance.headwall"))
SVG = "{http://www.w3.org/2000/svg}"


@cache
def drawing(name: str, place: str, style: str) -> Drawing:
    project = roof3d.build(roof3d.load(str(MODELS / f"{name}.toml")))
    build = build_plan if style == "plan" else build_section
    return build(build_detail(project, place), project)


each_drawing = pytest.mark.parametrize(
    "sheet",
    [drawing(name, place, style) for name, place in PLACES for style in ("section", "plan")],
    ids=[f"{place}-{style}" for _, place in PLACES for style in ("section", "plan")],
)


def words_of(sheet: Drawing) -> list[str]:
    return sorted([text.text for text in sheet.texts] + [mark.number for mark in sheet.callouts])


def size_of_unit(sheet: Drawing) -> float:
    """Metres in a unit of the DXF."""
    return 0.0254 if sheet.units.value == "imperial" else 0.001


def read_back(data: bytes) -> Any:
    return read_dxf(io.StringIO(data.decode("utf-8")))


@each_drawing
def test_two_writes_are_byte_equal(sheet: Drawing) -> None:
    for ending in DRAWING_WRITERS:
        assert drawing_bytes(ending, sheet) == drawing_bytes(ending.upper(), sheet)


def test_an_unknown_ending_is_refused() -> None:
    with pytest.raises(WriteError, match="no drawing has the ending"):
        drawing_bytes(".png", drawing(*PLACES[0], "section"))


@each_drawing
def test_svg_is_in_millimetres_and_has_all_text_as_text(sheet: Drawing) -> None:
    root = ET.fromstring(svg_bytes(sheet))  # noqa: S314 - our own file
    width, height = sheet.size
    assert (root.get("width"), root.get("height")) == (f"{width:g}mm", f"{height:g}mm")
    assert root.get("viewBox") == f"0 0 {width:g} {height:g}"
    assert sorted(text.text or "" for text in root.iter(f"{SVG}text")) == words_of(sheet)


@each_drawing
def test_svg_draws_each_length_to_scale(sheet: Drawing) -> None:
    root = ET.fromstring(svg_bytes(sheet))  # noqa: S314 - our own file
    found = {}
    for group in root.iter(f"{SVG}g"):
        if group.get("class") == "dimension":
            arrows = group.findall(f"{SVG}path")[-1].get("d") or ""
            tips = [tuple(map(float, p.split())) for p in re.findall(r"M(\S+ \S+)", arrows)]
            found[(group.get("id") or "").removeprefix("dimension-")] = math.dist(*tips)
    assert found.keys() == {mark.id for mark in sheet.dimensions}
    for mark in sheet.dimensions:
        # Coordinates are written to a ten-thousandth of a millimetre.
        assert found[mark.id] * sheet.scale / 1000.0 == pytest.approx(mark.value, abs=2e-6)


@each_drawing
def test_pdf_is_one_page_of_the_papers_size_with_embedded_letters(sheet: Drawing) -> None:
    reader = pypdf.PdfReader(io.BytesIO(pdf_bytes(sheet)))
    (page,) = reader.pages
    points = [float(side) * 72.0 / 25.4 for side in sheet.size]
    assert [float(page.mediabox.width), float(page.mediabox.height)] == pytest.approx(
        points, abs=0.01
    )
    resources: Any = page["/Resources"]
    fonts = resources["/Font"]
    used = [font.get_object() for font in fonts.values()]
    held = [font for font in used if "/FontFile2" in font.get("/FontDescriptor", {})]
    assert {str(font["/BaseFont"]).split("+")[-1] for font in held} == {
        "BitstreamVeraSans-Roman",
        "BitstreamVeraSans-Bold",
    }
    text = " ".join(page.extract_text().split())
    missing = [words for words in words_of(sheet) if " ".join(words.split()) not in text]
    assert missing == []


def test_pdf_holds_one_page_a_drawing() -> None:
    sheets = [drawing(*PLACES[0], style) for style in ("section", "plan")]
    reader = pypdf.PdfReader(io.BytesIO(pdf_bytes(*sheets)))
    sizes = [float(page.mediabox.width) for page in reader.pages]
    assert sizes == pytest.approx([sheet.size[0] * 72.0 / 25.4 for sheet in sheets], abs=0.01)


@each_drawing
def test_dxf_is_sound_and_its_dimensions_measure_what_they_say(sheet: Drawing) -> None:
    document = read_back(dxf_bytes(sheet))
    audit = document.audit()
    assert (audit.errors, audit.fixes) == ([], [])
    assert document.header["$INSUNITS"] == (1 if sheet.units.value == "imperial" else 4)
    unit = size_of_unit(sheet)
    found = [(d.dxf.text, d.get_measurement()) for d in document.modelspace().query("DIMENSION")]
    wanted = [(mark.text.text, mark.value / unit) for mark in sheet.dimensions]
    assert [text for text, _ in found] == [text for text, _ in wanted]
    assert [value for _, value in found] == pytest.approx([value for _, value in wanted], rel=1e-9)


@each_drawing
def test_dxf_is_at_true_size_with_letters_for_its_scale(sheet: Drawing) -> None:
    document = read_back(dxf_bytes(sheet))
    space = document.modelspace()
    size = sheet.scale / 1000.0 / size_of_unit(sheet)
    (frame,) = [line for line in space.query("LWPOLYLINE[layer=='sheet']") if line.closed]
    wide = max(x for x, *_ in frame) - min(x for x, *_ in frame)
    assert wide == pytest.approx((sheet.size[0] - 20.0) * size)
    heights = {round(text.dxf.height / size, 6) for text in space.query("TEXT")}
    assert min(heights) >= 1.5
    plain = [text.text for text in sheet.texts]
    dimensioned = [mark.text.text for mark in sheet.dimensions]
    written = sorted(text.dxf.text for text in space.query("TEXT"))
    wanted = list(plain)
    for words in dimensioned:
        wanted.remove(words)
    assert written == sorted([*wanted, *(mark.number for mark in sheet.callouts)])


@each_drawing
def test_dxf_has_hatches_on_the_layers_of_the_drawing(sheet: Drawing) -> None:
    document = read_back(dxf_bytes(sheet))
    hatches = document.modelspace().query("HATCH")
    patterned = {hatch.dxf.layer for hatch in hatches if not hatch.dxf.solid_fill}
    wanted = {
        mark.layer
        for mark in sheet.marks
        if isinstance(mark, Area) and mark.hatch is not None and mark.hatch.rules
    }
    assert patterned == wanted
    assert set(sheet.layers) <= {layer.dxf.name for layer in document.layers}


def test_writing_leaves_the_options_of_the_library_as_they_were() -> None:
    before = ezdxf.options.write_fixed_meta_data_for_testing  # type: ignore[attr-defined]
    dxf_bytes(drawing(*PLACES[0], "section"))
    assert ezdxf.options.write_fixed_meta_data_for_testing == before  # type: ignore[attr-defined]


def test_a_name_of_foreign_letters_or_control_characters_breaks_no_file() -> None:
    sheet = drawing(*PLACES[0], "section")
    odd = replace(sheet.texts[0], text="\u00c5ngstr\u00f6m \u5c4b\u9876 %%c \x07 <b> & 1/2\u00b0")
    marks = (*sheet.marks, odd)
    odd_sheet = replace(sheet, marks=marks)
    ET.fromstring(svg_bytes(odd_sheet))  # noqa: S314 - our own file
    assert len(pypdf.PdfReader(io.BytesIO(pdf_bytes(odd_sheet))).pages) == 1
    assert read_back(dxf_bytes(odd_sheet)).audit().errors == []


def by_hand() -> Drawing:
    """A hatched square with a hole, turned by 30 degrees, an open nail, a word that climbs."""
    hatch = Hatch(rules=(Rule(angle_deg=45.0, spacing=2.0),))
    square = ((10.0, 10.0), (50.0, 10.0), (50.0, 50.0), (10.0, 50.0))
    hole = ((20.0, 20.0), (20.0, 30.0), (30.0, 30.0), (30.0, 20.0))
    marks = (
        Area(layer="Deck", rings=(square, hole), hatch=hatch, turn_deg=30.0),
        Dot(layer="Nails", at=(60.0, 60.0), radius=1.0, filled=True),
        Text(layer="Words", at=(70.0, 20.0), text="climbs", height=3.0, turn_deg=90.0),
    )
    return replace(drawing(*PLACES[0], "section"), marks=marks)


def test_dxf_turns_words_and_hatches_and_keeps_holes_open() -> None:
    space = read_back(dxf_bytes(by_hand())).modelspace()
    (word,) = (text for text in space.query("TEXT MTEXT") if "climbs" in str(text.dxf.text))
    assert word.dxf.rotation == pytest.approx(90.0)
    patterned = [hatch for hatch in space.query("HATCH") if not hatch.dxf.solid_fill]
    (hatch,) = (found for found in patterned if found.dxf.layer == "Deck")
    assert [line.angle for line in hatch.pattern.lines] == pytest.approx([75.0])
    outer, inner = hatch.paths
    assert outer.path_type_flags & 1
    assert inner.path_type_flags & 16
    assert not inner.path_type_flags & 1


def test_svg_turns_words_counterclockwise_and_keeps_holes_open() -> None:
    root = ET.fromstring(svg_bytes(by_hand()))  # noqa: S314 - our own file
    (word,) = (text for text in root.iter(f"{SVG}text") if "".join(text.itertext()) == "climbs")
    # y runs down in the file, so a turn to the left has a minus.
    assert word.get("transform", "").startswith("rotate(-90.0000 ")
    # The hatch leaves the hole free: no line of it runs through the hole's middle.
    across = [
        segment
        for path in root.iter(f"{SVG}path")
        for segment in re.findall(
            r"M([\d.-]+)[ ,]([\d.-]+) ?L([\d.-]+)[ ,]([\d.-]+)", path.get("d", "")
        )
    ]
    assert across
    top = by_hand().size[1]
    middle = (25.0, top - 25.0)
    for numbers in across:
        ax, ay, bx, by = (float(number) for number in numbers)
        long = math.hypot(bx - ax, by - ay)
        t = ((middle[0] - ax) * (bx - ax) + (middle[1] - ay) * (by - ay)) / long**2
        away = math.hypot(ax + t * (bx - ax) - middle[0], ay + t * (by - ay) - middle[1])
        assert not (0.0 < t < 1.0 and away < 3.0)
