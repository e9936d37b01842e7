"""What a homeowner is told: plain names, answers side by side, a leak by its link, on a phone."""

from __future__ import annotations

import io
import itertools
from collections.abc import Iterator
from pathlib import Path
from urllib.parse import parse_qs

import pypdf
import pytest
from playwright.sync_api import Browser, BrowserContext, Page

import roof3d
from roof3d.writers.page.alternatives import alternative_entry, build_alternative
from roof3d.writers.page.page import PageOptions, build_page
from roof3d.writers.page.words import plane_names
from tests.browser.conftest import MODELS, NAMES, opened, wait_until, written
from tests.browser.test_page_marks import pixel

_LEAK = "low=laminated-shingle"
_SHOWN = """[...document.querySelectorAll('.compared thead th')]
  .filter((cell) => cell.offsetParent).map((cell) => cell.innerText)"""


@pytest.fixture
def phone(browser: Browser) -> Iterator[BrowserContext]:
    made = browser.new_context(
        viewport={"width": 360, "height": 640}, has_touch=True, reduced_motion="reduce"
    )
    yield made
    made.close()


@pytest.fixture(scope="module")
def answers(folder: Path) -> Path:
    """The counting house with four answers beside the roof as it is."""
    path = folder / "answers.html"
    wishes = ("low=two-ply", "cutoff=4:12", "hall.south=three-tab")
    project = roof3d.build(roof3d.load(MODELS / "alder-row.toml"))
    path.write_bytes(build_page(project, options=PageOptions(wishes=wishes)))
    return path


def eye(page: Page) -> list[float]:
    wait_until(page, "location.hash.includes('eye')")
    return list(map(float, parse_qs(str(page.evaluate("location.hash"))[1:])["eye"][0].split(",")))


def stands(page: Page) -> list[float]:
    """Tell the eye of a page that was not moved: a tap on the sky leaves it, and writes it down."""
    page.mouse.click(4, 70)
    return eye(page)


@pytest.mark.parametrize("name", NAMES)
def test_planes_go_by_their_names_with_the_id_in_small_letters(
    context: BrowserContext, folder: Path, name: str
) -> None:
    project = roof3d.build(roof3d.load(MODELS / f"{name}.toml"))
    page = opened(context, written(folder, name)).page
    for plane, words in plane_names(project.roof.planes).items():
        title = words["name"][:1].upper() + words["name"][1:]
        row = page.locator(f'[data-pick="{plane}"]')
        assert row.locator("b").inner_text() == title
        assert row.locator("small").inner_text().startswith(plane)
        row.click()
        assert page.inner_text("#card h2") == title
        assert plane in page.inner_text("#card dl")


def test_words_of_the_program_are_told_with_names(context: BrowserContext, answers: Path) -> None:
    page = opened(context, answers).page
    labels = page.evaluate("document.getElementById('labels').textContent")
    assert "South side" in labels
    assert "Shop roof" in labels
    page.click("#tab-places")
    for place in ("shop.transition", "shop-vent"):
        page.click(f'[data-place="{place}"]')
        told = page.inner_text("#panel")
        assert ("of the south side of the hall roof" in told) or ("in the shop roof" in told)
        assert "hall.south" not in told
        page.click("#back")
    page.click("#tab-whatif")
    told = page.inner_text("#panel")
    assert "on the south side of the hall roof" in told
    assert "hall.south" not in told
    assert "shop.south" not in told
    printed = pypdf.PdfReader(io.BytesIO(page.pdf()))
    text = " ".join(" ".join(sheet.extract_text() for sheet in printed.pages).split())
    assert "South side of the hall roof hall.south" in text
    assert "Three-tab strip shingle" in text


def test_answers_stand_side_by_side_where_there_is_room(
    browser: Browser, phone: BrowserContext, answers: Path
) -> None:
    context = browser.new_context(viewport={"width": 1920, "height": 1080}, reduced_motion="reduce")
    page = opened(context, answers, "#panel=whatif").page
    heads = [
        "As it is",
        "Laminated asphalt shingles on the nearly flat part",
        "Self-adhered membrane, two layers on the deck on the nearly flat part",
        "Nearly flat below 4:12",
        "Three-tab asphalt shingles on the south side of the hall roof",
    ]
    assert page.evaluate(_SHOWN) == heads
    assert page.evaluate(
        "[...document.querySelectorAll('.compared th, .compared td')]"
        ".every((cell) => cell.getBoundingClientRect().right <= innerWidth)"
    )
    rows = page.locator(".compared tr")
    row = rows.filter(has_text="Three-tab strip shingle").locator("td").all_inner_texts()
    assert row == ["none", "none", "none", "none", "20 bundles"]
    verdicts = rows.filter(has_text="By the rules").locator("td").all_inner_texts()
    assert [text.startswith("Must not") for text in verdicts] == [False, True, False, False, False]
    context.close()
    page = opened(phone, answers, "#panel=whatif").page
    assert page.evaluate(_SHOWN) == heads[:1]
    page.select_option("#answer-choice", label=heads[4])
    assert page.evaluate(_SHOWN) == [heads[0], heads[4]]
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")


def test_a_link_to_a_leak_stands_where_a_tap_flies_to(
    context: BrowserContext, answers: Path
) -> None:
    page = opened(context, answers, "#panel=whatif").page
    page.check(f'input[name="variant"][value="{_LEAK}"]')
    tapped = eye(page)
    link = f"#panel=whatif&variant={_LEAK.replace('=', '%3D')}"
    page = opened(context, answers, link).page
    assert stands(page) == pytest.approx(tapped, abs=0.01)
    wait_until(page, "document.querySelectorAll('#labels .plate.alarm').length === 1")
    # The same link followed while the page is open.
    page = opened(context, answers, "#panel=whatif").page
    before = stands(page)
    page.evaluate(f"location.hash = {link!r}")
    wait_until(page, f"location.hash.includes('eye') && location.hash.includes({link[1:]!r})")
    assert eye(page) == pytest.approx(tapped, abs=0.01)
    assert eye(page) != pytest.approx(before, abs=0.5)


@pytest.mark.parametrize("name", ["ferry-quay", "alder-row", "tide-house"])
def test_on_a_phone_words_keep_off_the_way_of_the_water(
    phone: BrowserContext, folder: Path, name: str
) -> None:
    project = roof3d.build(roof3d.load(MODELS / f"{name}.toml"))
    water = alternative_entry(project, build_alternative(project, _LEAK))["water"]
    page = opened(phone, written(folder, name), "#panel=whatif").page
    page.select_option("#answer-choice", _LEAK)
    eye(page)
    wait_until(page, "document.querySelectorAll('#labels .plate.alarm').length === 1")
    # All at one moment: they are drawn anew when the eye comes to rest.
    boxes = page.evaluate(
        "[...document.querySelectorAll('#labels .plate')].map("
        "(x) => x.getBoundingClientRect().toJSON())"
    )
    assert water
    assert boxes
    for path in water:
        spots = [pixel(page, tuple(point)) for point in path["points"]]
        for (ax, ay), (bx, by) in itertools.pairwise(spots):
            for step in range(21):
                x, y = ax + step / 20 * (bx - ax), ay + step / 20 * (by - ay)
                for box in boxes:
                    inside = 0 < x - box["x"] < box["width"] and 0 < y - box["y"] < box["height"]
                    assert not inside, (path["plane"], box)


def test_on_a_phone_every_panel_is_one_tap_away(phone: BrowserContext, answers: Path) -> None:
    page = opened(phone, answers).page
    for name in ("places", "whatif", "colours", "measure", "words", "house", "whatif"):
        box = page.locator(f"#tab-{name}").bounding_box()
        assert box is not None
        assert box["y"] >= 0
        assert box["y"] + box["height"] <= 640
        assert min(box["width"], box["height"]) >= 44
        page.tap(f"#tab-{name}")
        page.evaluate("document.getElementById('panel').scrollTop = 1e6")
        assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    page.evaluate("document.getElementById('panel').scrollTop = 0")
    page.select_option("#answer-choice", _LEAK)
    told = page.locator("#answer .warn").first.bounding_box()
    assert told is not None
    assert told["y"] + told["height"] < 640


def test_a_turned_tablet_keeps_the_house_in_the_picture(browser: Browser, folder: Path) -> None:
    context = browser.new_context(viewport={"width": 1024, "height": 768}, reduced_motion="reduce")
    page = opened(context, written(folder, "lantern-street")).page
    roof = roof3d.build(roof3d.load(MODELS / "lantern-street.toml")).roof
    for width, height in ((768, 1024), (1024, 768)):
        page.set_viewport_size({"width": width, "height": height})
        page.wait_for_timeout(300)
        stands(page)
        view = page.locator("#view").bounding_box()
        assert view is not None
        for plane in roof.planes:
            for point in plane.outline:
                x, y = pixel(page, point)
                assert view["x"] <= x <= view["x"] + view["width"]
                assert view["y"] <= y <= view["y"] + view["height"]
    context.close()
