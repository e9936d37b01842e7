"""What the page draws over the picture: faults shown on purpose, the tape, parapets, labels."""

from __future__ import annotations

import io
import json
import math
from pathlib import Path
from urllib.parse import parse_qs

import numpy as np
import pypdf
import pytest
from PIL import Image
from playwright.sync_api import Browser, BrowserContext, Page

import roof3d
from roof3d.units import Units, format_area, format_length
from tests.browser.conftest import MODELS, opened, wait_until, written

_FIELD_OF_VIEW = 30.0
"""Degrees from top to bottom of the picture."""
_OUTSIDE = """(() => {
  const box = document.getElementById('view').getBoundingClientRect();
  return [...document.querySelectorAll('#labels .plate')].filter((plate) => {
    const at = plate.getBoundingClientRect();
    return at.left < box.left || at.right > box.right || at.top < box.top || at.bottom > box.bottom;
  }).length;
})()"""
_SPILT = """(() => {
  const plates = [...document.querySelectorAll('#labels .plate')]
    .map((plate) => plate.getBoundingClientRect());
  return [...document.querySelectorAll('#labels .words')].filter((words) => {
    const at = words.getBoundingClientRect();
    return !plates.some((box) => at.left >= box.left && at.right <= box.right
      && at.top >= box.top - 1 && at.bottom <= box.bottom + 1);
  }).length;
})()"""


def pixel(page: Page, point: tuple[float, float, float]) -> tuple[float, float]:
    """Where a point of the model is on the screen, from the eye that the link tells."""
    eye = parse_qs(str(page.evaluate("location.hash"))[1:])["eye"][0]
    azimuth, elevation, distance, *target = map(float, eye.split(","))
    a, e = math.radians(azimuth), math.radians(elevation)
    away = np.array((math.sin(a) * math.cos(e), math.cos(a) * math.cos(e), math.sin(e)))
    right = np.cross(-away, (0.0, 0.0, 1.0))
    right /= np.linalg.norm(right)
    seen = np.array(point) - (np.array(target) + distance * away)
    box = page.locator("#view").bounding_box()
    assert box is not None
    size = box["height"] / 2.0 / math.tan(math.radians(_FIELD_OF_VIEW / 2.0)) / float(seen @ -away)
    up = np.cross(right, -away)
    return (
        box["x"] + box["width"] / 2.0 + size * float(seen @ right),
        box["y"] + box["height"] / 2.0 - size * float(seen @ up),
    )


def test_taps_at_corners_measure_what_the_roof_measures(
    context: BrowserContext, folder: Path
) -> None:
    plane = roof3d.build(roof3d.load(MODELS / "lantern-street.toml")).roof.plane("porch.south")
    page = opened(context, written(folder, "lantern-street"), "#panel=measure").page
    page.select_option("#view-choice", "above")
    wait_until(page, "location.hash.includes('eye')")
    middle = np.mean(np.array(plane.outline), axis=0)
    # A thumb's breadth inside each corner: the tape takes the corner.
    taps = [
        pixel(page, tuple(np.array(corner) + 0.01 * (middle - np.array(corner))))
        for corner in plane.outline
    ]
    for tap in taps[:2]:
        page.mouse.click(*tap)
    length = math.dist(plane.outline[0], plane.outline[1])
    assert format_length(length, Units.IMPERIAL) in page.inner_text("#tape")
    page.check('input[name="tape"][value="area"]')
    for tap in taps:
        page.mouse.click(*tap)
    assert format_area(plane.area, Units.IMPERIAL) in page.inner_text("#tape")


def amber(page: Page) -> int:
    """How many pixels of the picture bear the colour of what is picked."""
    page.wait_for_timeout(300)
    seen = np.asarray(
        Image.open(io.BytesIO(page.locator("#view").screenshot())).convert("RGB"), dtype=int
    )
    return int((np.abs(seen - (255, 176, 0)).max(axis=2) < 40).sum())


def test_a_joint_is_shown_built_wrong_and_right_again(
    context: BrowserContext, folder: Path
) -> None:
    found = opened(context, written(folder, "lantern-street"))
    page = found.page
    page.click("#tab-places")
    page.locator("[data-place]").first.click()
    words = "document.getElementById('labels').textContent"
    wait_until(page, f"{words}.includes('Ice barrier')")
    page.click('[data-wrong="missing-layer"]')
    wait_until(page, f"!{words}.includes('Ice barrier')")
    assert "Wrong on purpose" in str(page.evaluate(words))
    card = page.inner_text(".card.warn")
    for told in ("Wrong:", "The water:", "The cost:", "Seen in time:", "the blue line"):
        assert told in card
    link = str(page.evaluate("location.hash"))
    assert "wrong=missing-layer" in link
    again = opened(context, written(folder, "lantern-street"), link).page
    wait_until(again, f"{words}.includes('Wrong on purpose')")
    assert again.evaluate("location.hash") == link
    text = "".join(sheet.extract_text() for sheet in pypdf.PdfReader(io.BytesIO(again.pdf())).pages)
    assert "Wrong on purpose" in text
    assert "2 rolls" in text
    page.click('[data-wrong="missing-layer"]')
    wait_until(page, f"{words}.includes('Ice barrier')")
    assert found.is_quiet(), (found.said, found.asked)


def test_parapets_and_ways_out_of_the_water_are_tapped(
    context: BrowserContext, folder: Path
) -> None:
    project = roof3d.build(roof3d.load(MODELS / "alder-row.toml"))
    page = opened(context, written(folder, "alder-row")).page
    page.select_option("#view-choice", "above")
    wait_until(page, "location.hash.includes('eye')")
    edge = next(edge for edge in project.roof.edges if edge.id == "shop.sidewall")
    assert edge.parapet is not None
    (ax, ay, _), (bx, by, _) = edge.ends
    out = 0.1 if (ax + bx) / 2.0 > project.roof.plane("shop.south").outline[0][0] + 1.0 else -0.1
    page.mouse.click(*pixel(page, ((ax + bx) / 2.0 + out, (ay + by) / 2.0, edge.parapet.top)))
    assert page.inner_text("#card h2") == "Parapet"
    assert "Coping" in page.inner_text("#card")
    page.click('[data-pick="shop-drain"]')
    assert amber(page) > 40
    page.click('[data-pick="shop-overflow"]')
    assert page.inner_text("#card h2") == "Overflow scupper"
    page.click('[data-pick="shop.south"]')
    page.select_option("#view-choice", "front")
    wait_until(page, "location.hash.includes('eye') && !location.hash.includes('view=')")
    page.mouse.click(*pixel(page, project.roof.scuppers[0].place))
    wait_until(page, "location.hash.includes('picked=shop-overflow')")


@pytest.mark.parametrize(
    ("width", "height", "link"),
    [
        (360, 740, "#panel=places&place=shop.headwall"),
        (360, 740, "#panel=places&place=shop.headwall&wrong=back-lap"),
        (1024, 768, "#panel=places&place=shop.transition&sizes=true"),
        (2560, 1000, ""),
    ],
)
def test_labels_stay_in_the_picture_and_their_words_in_them(
    browser: Browser, folder: Path, width: int, height: int, link: str
) -> None:
    context = browser.new_context(
        viewport={"width": width, "height": height}, reduced_motion="reduce"
    )
    page = opened(context, written(folder, "alder-row"), link).page
    wait_until(page, "Number(document.getElementById('labels').dataset.labels) > 0")
    data = json.loads(
        str(page.evaluate("JSON.stringify(document.getElementById('labels').dataset)"))
    )
    assert (data["overlaps"], data["covered"]) == ("0", "0")
    assert page.evaluate(_OUTSIDE) == 0
    assert page.evaluate(_SPILT) == 0
    context.close()


def test_shingles_on_the_low_part_show_where_the_water_goes(
    context: BrowserContext, folder: Path
) -> None:
    page = opened(context, written(folder, "lantern-street"), "#panel=whatif").page
    before = page.evaluate("location.hash")
    page.check('input[name="variant"][value="low=laminated-shingle"]')
    wait_until(page, "location.hash.includes('eye')")
    assert page.evaluate("location.hash") != before
    wait_until(page, "document.querySelectorAll('#labels .plate.alarm').length === 1")


def test_a_mistake_is_told_in_plain_words_with_the_word_of_the_trade(
    context: BrowserContext, folder: Path
) -> None:
    found = opened(
        context, written(folder, "lantern-street"), "#place=porch.transition&panel=places"
    )
    row = found.page.locator('[data-wrong="back-lap"]')
    assert row.locator("b").inner_text() == "The lower of two rows is laid over the higher one"
    assert row.locator("span").inner_text() == "Back-water lap"
    row.click()
    words = "document.getElementById('labels').textContent"
    wait_until(found.page, f"{words}.includes('The lower of two rows is laid over')")
    assert found.page.get_attribute("#labels", "data-overlaps") == "0"


def test_on_a_phone_a_wrong_build_is_told_inside_the_picture(
    browser: Browser, folder: Path
) -> None:
    context = browser.new_context(viewport={"width": 360, "height": 800}, reduced_motion="reduce")
    link = "#place=porch.transition&panel=places&wrong=barrier-under"
    page = opened(context, written(folder, "lantern-street"), link).page
    box = page.locator("#labels .plate.alarm").bounding_box()
    assert box is not None
    assert box["x"] >= 0
    assert box["x"] + box["width"] <= 360
    context.close()


def test_a_metric_page_tells_pitches_in_degrees(context: BrowserContext, folder: Path) -> None:
    page = opened(context, written(folder, "tide-house"), "#panel=whatif").page
    found = page.inner_text(".findings")
    # atan(21 / 12) = 60.3 degrees; the face is drawn at 70 in the model.
    assert (
        "at 70\u00b0: special attachment by the maker's instructions above 60.3\u00b0 (21:12)"
        in found
    )
    assert "32.97:12" not in found
    page.select_option("#units", "imperial")
    assert "at 32.97:12" in page.inner_text(".findings")
    stays = "Lengths within sentences stay in metres"
    assert stays in page.inner_text("#panel")
    page.select_option("#units", "metric")
    assert stays not in page.inner_text("#panel")


def test_a_flat_pitch_is_written_in_eighths_as_the_rules_write_it(
    context: BrowserContext, folder: Path
) -> None:
    page = opened(context, written(folder, "alder-row")).page
    assert "1/4:12 (1.2\u00b0)" in page.inner_text('[data-pick="shop.south"]')
    assert "Nearly flat 1/4:12" in str(page.text_content("#labels"))
    assert "0.25:12" not in page.inner_text("#panel")
