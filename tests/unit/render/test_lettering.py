"""Lettering: overlaps and crossings are counted rightly, and columns have none."""

from __future__ import annotations

import io
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image

from roof3d.errors import RoofError
from roof3d.render import sheet as paper
from roof3d.render.lettering import (
    Box,
    Placed,
    Words,
    count_crossings,
    count_overlaps,
    font_sizes,
    segments_cross,
    set_in_columns,
    spread,
)
from roof3d.render.sheet import Sheet, printable, shortened, text_width


def label(box: Box, leader: tuple[tuple[float, float], ...] = ()) -> Placed:
    words = Words(subject="x", anchor=(0.0, 0.0), lines=("x",), sizes=(10.0, 10.0))
    return Placed(words=words, box=box, leader=leader)


FLAT = Box(centre=(100.0, 100.0), width=80.0, height=20.0)


@pytest.mark.parametrize(
    ("centre", "turn", "meets"),
    [
        ((100.0, 119.0), 0.0, True),
        ((100.0, 120.0), 0.0, False),
        ((100.0, 140.0), 90.0, True),
        ((160.0, 130.0), -45.0, True),
        # The upright rectangles about these two overlap; the boxes themselves do not.
        ((160.0, 130.0), 45.0, False),
    ],
)
def test_turned_boxes_overlap_where_they_share_area(
    centre: tuple[float, float], turn: float, *, meets: bool
) -> None:
    other = Box(centre=centre, width=80.0, height=20.0, turn_deg=turn)
    assert (FLAT.overlaps(other), other.overlaps(FLAT)) == (meets, meets)


@pytest.mark.parametrize(
    ("end", "hit"),
    [
        ((100.0, 100.0), True),
        ((100.0, 80.0), False),
        ((200.0, 121.0), True),
        ((59.0, 300.0), False),
    ],
)
def test_a_line_hits_a_box_it_runs_through(end: tuple[float, float], *, hit: bool) -> None:
    assert FLAT.hit_by((0.0, 90.0), end) == hit


def test_overlaps_and_crossings_are_counted() -> None:
    beside = Box(centre=(100.0, 110.0), width=80.0, height=20.0)
    away = Box(centre=(300.0, 300.0), width=20.0, height=20.0)
    assert count_overlaps([label(FLAT), label(beside), label(away)], [away]) == 2
    one = label(FLAT, ((0.0, 0.0), (10.0, 10.0)))
    two = label(away, ((0.0, 10.0), (10.0, 0.0)))
    through = label(away, ((0.0, 100.0), (250.0, 100.0)))
    assert count_crossings([one, two]) == 1
    assert count_crossings([label(FLAT), through]) == 1


@given(st.lists(st.tuples(st.floats(0.0, 900.0), st.floats(10.0, 50.0)), min_size=1, max_size=12))
def test_a_column_is_in_order_without_overlap_and_inside_its_ends(
    boxes: list[tuple[float, float]],
) -> None:
    wanted, heights = [b[0] for b in boxes], [b[1] for b in boxes]
    middles = spread(wanted, heights, 0.0, 900.0)
    gaps = [
        (b - a) - (h + k) / 2 for (a, h), (b, k) in pairwise(zip(middles, heights, strict=True))
    ]
    assert min(gaps, default=0.0) > -1e-6
    assert middles[0] - heights[0] / 2 > -1e-6
    assert middles[-1] + heights[-1] / 2 < 900.0 + 1e-6


def test_a_column_moves_boxes_no_more_than_it_must() -> None:
    assert spread([100.0, 300.0, 500.0], [50.0] * 3, 0.0, 900.0) == [100.0, 300.0, 500.0]
    assert spread([300.0, 300.0], [50.0] * 2, 0.0, 900.0) == [275.0, 325.0]


@given(
    st.lists(
        st.tuples(st.integers(300, 900), st.integers(100, 800)),
        min_size=1,
        max_size=14,
        unique=True,
    )
)
def test_labels_in_columns_neither_overlap_nor_cross(anchors: list[tuple[int, int]]) -> None:
    labels = [
        Words(
            subject=str(k),
            anchor=(float(x), float(y)),
            lines=(f"Part {k}", "a note"),
            sizes=(18.0, 14.0),
        )
        for k, (x, y) in enumerate(anchors)
    ]
    placed = set_in_columns(labels, left=250.0, right=950.0, top=40.0, bottom=860.0, gap=10.0)
    assert [p.words for p in placed] == labels
    assert (count_overlaps(placed), count_crossings(placed)) == (0, 0)


def test_leaders_that_only_touch_do_not_cross() -> None:
    assert not segments_cross(((0.0, 0.0), (5.0, 5.0)), ((5.0, 5.0), (9.0, 0.0)))


@pytest.mark.parametrize("words", ["ridge 43' 4\"", "HHHHHHHHHHHH", "house.south_upper"])
def test_text_fits_the_width_told_for_it(words: str) -> None:
    sheet = Sheet((600, 80))
    sheet.text((20.0, 40.0), words, size=40.0)
    with Image.open(io.BytesIO(sheet.png())) as image:
        grey = np.asarray(image.convert("L"))
    inked = np.ptp(np.flatnonzero((grey < 128).any(axis=0))) + 1
    # Told with the blank on either side of the letters, a tenth of their size at most.
    assert 0.0 <= text_width(words, 40.0) - inked <= 16.0


def test_letters_shrink_less_than_a_small_picture() -> None:
    large, small = font_sizes(1200), font_sizes(600)
    assert (large, small[3] > 9.0, small[3] < large[3]) == ((34.0, 21.0, 18.0, 15.0), True, True)


def test_a_long_line_is_cut_off_to_the_width() -> None:
    words = "A house with a very long name indeed " * 4
    line = shortened(words, 30.0, 400.0, bold=True)
    assert (line[-1], words.startswith(line[:-1])) == ("\u2026", True)
    assert 330.0 < text_width(line, 30.0, bold=True) <= 400.0


@pytest.mark.filterwarnings("error")
def test_letters_that_the_face_lacks_are_question_marks_without_a_warning() -> None:
    words = "Haus \u65e5\u672c \u00e4"
    sheet = Sheet((200, 60))
    sheet.text((5.0, 30.0), words, size=20.0)
    assert sheet.png()
    assert printable(words) == "Haus ?? \u00e4"
    assert text_width(words, 20.0) == text_width("Haus ?? \u00e4", 20.0)


def test_letters_that_lean_together_are_kerned() -> None:
    assert text_width("AV", 100.0) < text_width("A", 100.0) + text_width("V", 100.0) - 3.0
    assert text_width("HH", 100.0) == pytest.approx(2.0 * text_width("H", 100.0))


def test_an_upright_box_has_crisp_edges_wherever_it_stands() -> None:
    sheet = Sheet((60, 40))
    sheet.polygon([(10.3, 8.6), (40.4, 8.6), (40.4, 30.2), (10.3, 30.2)], fill="#000000")
    assert set(np.unique(sheet.pixels())) == {0, 255}
    assert (sheet.pixels()[..., 0] == 0).sum() == 30 * 21


def test_dashes_are_as_long_as_asked_and_the_order_holds() -> None:
    sheet = Sheet((100, 20))
    sheet.lines(
        [[(0.0, 10.0), (100.0, 10.0)]], width=4.0, ink="#000000", dash=(6.0, 4.0), order=2.0
    )
    sheet.polygon([(0, 0), (100, 0), (100, 20), (0, 20)], fill="#ff0000", order=1.0)
    row = sheet.pixels()[10]
    assert [tuple(c) == (0, 0, 0) for c in row.tolist()] == ([True] * 6 + [False] * 4) * 10
    assert tuple(row[7]) == (255, 0, 0)


def test_a_png_holds_the_sheet_and_is_the_same_again() -> None:
    rng = np.random.default_rng(3)
    sheet = Sheet((64, 48))
    sheet.image(rng.integers(0, 255, (48, 64, 3), dtype=np.uint8))
    sheet.text((8.0, 24.0), "3/8 in, 45\u00b0", size=12.0, halo="#ffffff", turn_deg=12.0)
    data = sheet.png()
    assert data == sheet.png()
    with Image.open(io.BytesIO(data)) as image:
        assert np.array_equal(np.asarray(image), sheet.pixels())


def test_a_machine_without_the_library_of_the_ink_says_what_to_install(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    import sys

    paper.load_skia.cache_clear()
    monkeypatch.setitem(sys.modules, "skia", None)
    with pytest.raises(RoofError, match="apt-get install") as caught:
        paper.load_skia()
    assert caught.value.code == "R3D-GRAPHICS"
    monkeypatch.undo()
    paper.load_skia.cache_clear()
