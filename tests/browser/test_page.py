"""The page in a real browser: every control, by mouse, finger and keys."""

from __future__ import annotations

import io
import json
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pypdf
import pytest
from axe_playwright_python.sync_playwright import Axe
from PIL import Image
from playwright.sync_api import Browser, BrowserContext, Page

import roof3d
from roof3d.scene.detail_scene import detail_places
from roof3d.units import Units, format_area, format_length
from roof3d.writers.page.page import build_page
from tests.browser.conftest import MODELS, NAMES, Watched, opened, wait_until, written


@pytest.fixture
def lantern(context: BrowserContext, folder: Path) -> Iterator[Watched]:
    found = opened(context, written(folder, "lantern-street"))
    yield found
    assert found.is_quiet(), (found.said, found.asked)


def tab(page: Page, name: str) -> None:
    page.click(f"#tab-{name}")


def fragment(page: Page) -> str:
    return str(page.evaluate("location.hash"))


def overlaps(page: Page) -> int:
    return int(page.get_attribute("#labels", "data-overlaps") or "-1")


def drawn_share(page: Page) -> float:
    """Share of the canvas in which something stands."""
    page.wait_for_timeout(300)
    picture = Image.open(io.BytesIO(page.locator("#view").screenshot())).convert("L")
    grey = np.asarray(picture, dtype=float)
    # The sky behind is smooth from left to right: what stands there is not.
    return float((np.abs(grey - np.median(grey, axis=1)[:, None]) > 20).mean())


@pytest.mark.parametrize("name", NAMES)
def test_every_shipped_model_opens_quietly_and_draws(
    context: BrowserContext, folder: Path, name: str
) -> None:
    found = opened(context, written(folder, name))
    assert found.page.get_attribute("body", "data-state") == "ready"
    assert drawn_share(found.page) > 0.1
    assert overlaps(found.page) == 0
    assert found.is_quiet(), (found.said, found.asked)


@pytest.mark.parametrize("name", NAMES)
def test_numbers_on_the_page_are_those_of_the_roof(
    context: BrowserContext, folder: Path, name: str
) -> None:
    project = roof3d.build(roof3d.load(MODELS / f"{name}.toml"))
    page = opened(context, written(folder, name)).page
    for units in Units:
        page.select_option("#units", units.value)
        for plane in project.roof.planes:
            row = page.inner_text(f'[data-pick="{plane.id}"]')
            assert format_area(plane.area, units).replace("m2", "m\u00b2") in row
        page.evaluate("document.querySelectorAll('details').forEach((d) => { d.open = true; })")
        for edge in project.roof.edges:
            assert page.inner_text(f'[data-pick="{edge.id}"]').endswith(
                format_length(edge.length, units)
            )
    tab(page, "whatif")
    text = page.inner_text("#panel")
    for item in project.takeoff.items:
        assert item.name in text


def test_a_tap_on_a_plane_tells_its_facts(lantern: Watched) -> None:
    page = lantern.page
    box = page.locator("#view").bounding_box()
    assert box is not None
    page.mouse.click(box["x"] + 0.45 * box["width"], box["y"] + 0.4 * box["height"])
    page.wait_for_selector("#card dl")
    assert page.inner_text("#card h2") == "South side of the main roof"
    card = page.inner_text("#card")
    for words in ("6:12", "686.2 sq ft", "south", "Because", "shingle"):
        assert words in card
    assert "picked=main.south" in fragment(page)


def test_a_finger_taps_turns_and_pinches(browser: Browser, folder: Path) -> None:
    context = browser.new_context(
        viewport={"width": 768, "height": 1024}, has_touch=True, reduced_motion="reduce"
    )
    found = opened(context, written(folder, "lantern-street"))
    page = found.page
    box = page.locator("#view").bounding_box()
    assert box is not None
    x, y = box["x"] + 0.45 * box["width"], box["y"] + 0.45 * box["height"]
    page.touchscreen.tap(x, y)
    page.wait_for_selector("#card dl")
    before = page.evaluate("document.body.dataset.frames")
    session = context.new_cdp_session(page)

    def touch(kind: str, points: list[tuple[float, float]]) -> None:
        session.send(
            "Input.dispatchTouchEvent",
            {"type": kind, "touchPoints": [{"x": a, "y": b} for a, b in points]},
        )

    touch("touchStart", [(x, y)])
    for step in range(1, 6):
        touch("touchMove", [(x + 12 * step, y)])
    touch("touchEnd", [])
    wait_until(page, "location.hash.includes('eye')")
    turned = fragment(page)
    touch("touchStart", [(x - 40, y), (x + 40, y)])
    for step in range(1, 6):
        touch("touchMove", [(x - 40 - 12 * step, y), (x + 40 + 12 * step, y)])
    touch("touchEnd", [])
    wait_until(page, f"location.hash !== {json.dumps(turned)}")
    assert int(page.evaluate("document.body.dataset.frames")) > int(before)
    assert found.is_quiet()
    context.close()


def test_keys_turn_zoom_move_and_go_home(lantern: Watched) -> None:
    page = lantern.page
    page.focus("#view")
    seen = {fragment(page)}
    for key in ("ArrowLeft", "ArrowUp", "Shift+ArrowRight", "+", "-", "Home"):
        page.keyboard.press(key)
        page.wait_for_timeout(350)
        seen.add(fragment(page))
    assert len(seen) >= 5


def test_views_and_buttons_move_the_eye(lantern: Watched) -> None:
    page = lantern.page
    page.select_option("#view-choice", "above")
    wait_until(page, "location.hash.includes('view=above')")
    wait_until(page, "location.hash.includes('eye')")
    before = fragment(page)
    page.click("#closer")
    wait_until(page, f"location.hash !== {json.dumps(before)}")
    page.click("#farther")


def test_every_place_opens_in_layers_with_words_and_no_overlap(
    context: BrowserContext, folder: Path
) -> None:
    found = opened(context, written(folder, "tide-house"))
    page = found.page
    tab(page, "places")
    names = [
        str(button.get_attribute("data-place")) for button in page.locator("[data-place]").all()
    ]
    project = roof3d.build(roof3d.load(MODELS / "tide-house.toml"))
    assert {place.kind for place in detail_places(project)} == {
        place.kind for place in detail_places(project) if place.id in names
    }
    for name in names:
        page.click(f'[data-place="{name}"]')
        page.wait_for_selector("#layers")
        wait_until(page, "Number(document.getElementById('labels').dataset.labels) > 0")
        assert overlaps(page) == 0
        assert page.get_attribute("#labels", "data-covered") == "0"
        assert drawn_share(page) > 0.03
        page.click("#step-back")
        assert "What it does" in page.inner_text("#card")
        page.click("#back")
    assert found.is_quiet(), (found.said, found.asked)


def test_layers_lift_step_play_and_go_one_by_one(lantern: Watched) -> None:
    page = lantern.page
    tab(page, "places")
    page.locator("[data-place]").first.click()
    page.wait_for_selector("#lift")
    page.fill("#lift", "0.5")
    assert "lift=0.5" in fragment(page)
    page.click("#step-back")
    assert page.inner_text("#step-words") == "8 of 9"
    page.click("#step-next")
    page.click("#step-next")
    assert page.inner_text("#step-words") == "all 9 layers"
    page.locator("#layers input").first.uncheck()
    assert "hidden=9" in fragment(page)
    page.check("#sizes")
    assert "sizes=true" in fragment(page)
    page.click("#step-play")
    wait_until(page, "document.getElementById('step-words').textContent === '2 of 9'")
    page.click("#step-play")
    page.focus("#view")
    page.keyboard.press("Escape")
    assert "place=" not in fragment(page)


def test_panels_turn_by_arrow_keys(lantern: Watched) -> None:
    page = lantern.page
    page.focus("#tab-house")
    for name in ("places", "whatif", "colours", "measure", "words", "house"):
        page.keyboard.press("ArrowRight")
        assert page.get_attribute(f"#tab-{name}", "aria-selected") == "true"


def test_another_answer_changes_the_numbers(lantern: Watched) -> None:
    page = lantern.page
    tab(page, "whatif")
    page.check('input[name="variant"][value="low=laminated-shingle"]')
    text = page.inner_text("#panel")
    assert "must not be built" in text
    assert "back up under the shingles" in text
    page.check('input[name="variant"][value="cutoff=4:12"]')
    assert "Nearly flat below 4:12" in page.inner_text("#panel")


def test_colours_are_chosen_and_kept_in_the_link(context: BrowserContext, folder: Path) -> None:
    path = written(folder, "lantern-street")
    page = opened(context, path).page
    tab(page, "colours")
    page.check('input[name="shingle"][value="brick-dust"]', force=True)
    assert "What goes with Brick dust" in page.inner_text("#panel")
    page.locator(".match button").first.click()
    link = fragment(page)
    again = opened(context, path, link).page
    assert again.is_checked('input[name="shingle"][value="brick-dust"]')
    assert fragment(again) == link


def test_two_taps_give_distance_and_rise(lantern: Watched) -> None:
    page = lantern.page
    tab(page, "measure")
    box = page.locator("#view").bounding_box()
    assert box is not None
    for x, y in ((0.3, 0.45), (0.55, 0.4)):
        page.mouse.click(box["x"] + x * box["width"], box["y"] + y * box["height"])
    text = page.inner_text("#tape")
    assert "True distance" in text
    assert "Rise" in text
    page.click("#tape-clear")
    page.check('input[name="tape"][value="area"]')
    for x, y in ((0.3, 0.45), (0.55, 0.4), (0.5, 0.46)):
        page.mouse.click(box["x"] + x * box["width"], box["y"] + y * box["height"])
    assert "Area on the plane" in page.inner_text("#tape")


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_axe_finds_nothing(browser: Browser, folder: Path, scheme: str) -> None:
    context = browser.new_context(
        viewport={"width": 1024, "height": 768},
        color_scheme="dark" if scheme == "dark" else "light",
        reduced_motion="reduce",
    )
    # The rule engine is put in past the page's own policy.
    page = opened(context, written(folder, "lantern-street")).page
    axe = Axe()
    for name in ("house", "places", "whatif", "colours", "measure", "words"):
        tab(page, name)
        if name == "places":
            page.locator("[data-place]").first.click()
        found = axe.run(page)
        assert found.violations_count == 0, found.generate_report()
    context.close()


def test_hostile_names_stay_text(context: BrowserContext, tmp_path: Path) -> None:
    text = (MODELS / "lantern-street.toml").read_text(encoding="utf-8")
    hostile = "</script><script>window.hit=1</script><img src=x onerror=window.hit=1>$title"
    start = text.index("name = ")
    line = text[start : text.index("\n", start)]
    model = tmp_path / "hostile.toml"
    model.write_text(text.replace(line, f"name = '{hostile}'"), encoding="utf-8")
    path = tmp_path / "hostile.html"
    path.write_bytes(build_page(roof3d.build(roof3d.load(model))))
    found = opened(context, path)
    assert found.page.inner_text("h1") == hostile
    assert found.page.evaluate("window.hit") is None
    assert found.is_quiet(), (found.said, found.asked)


def test_without_webgl_all_numbers_are_there(folder: Path, browser: Browser) -> None:
    context = browser.new_context(viewport={"width": 800, "height": 900})
    context.add_init_script(
        "HTMLCanvasElement.prototype.getContext = new Proxy("
        "HTMLCanvasElement.prototype.getContext, { apply(to, on, given) {"
        " return given[0].startsWith('webgl') ? null : Reflect.apply(to, on, given); } });"
    )
    page = context.new_page()
    page.goto(written(folder, "lantern-street").as_uri())
    page.wait_for_selector('body[data-state="no-picture"]')
    assert "cannot draw in three dimensions" in page.inner_text("#message")
    assert "686.2 sq ft" in page.inner_text("#panel")
    tab(page, "places")
    page.locator("[data-place]").first.click()
    assert "Layers, top first" in page.inner_text("#panel")
    context.close()


def test_print_has_picture_and_tables(lantern: Watched) -> None:
    data = lantern.page.pdf(format="Letter", print_background=True)
    paper = pypdf.PdfReader(io.BytesIO(data))
    text = "".join(sheet.extract_text() for sheet in paper.pages)
    for words in ("Lantern Street house", "main.south", "686.2 sq ft", "What to order"):
        assert words in text
    assert sum(len(sheet.images) for sheet in paper.pages) >= 1


@pytest.mark.parametrize("width", [360, 1024, 1920])
def test_nothing_hangs_over_the_side(browser: Browser, folder: Path, width: int) -> None:
    context = browser.new_context(viewport={"width": width, "height": 780})
    page = opened(context, written(folder, "lantern-street")).page
    for name in ("house", "places", "whatif", "colours", "measure", "words"):
        tab(page, name)
        assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    small = page.evaluate(
        "[...document.querySelectorAll('button, select, input[type=range]')]"
        ".filter((e) => e.offsetParent && e.getBoundingClientRect().height < 43.5)"
        ".map((e) => e.outerHTML.slice(0, 80))"
    )
    assert small == []
    context.close()


def test_a_link_followed_while_the_page_writes_its_own_is_not_lost(lantern: Watched) -> None:
    # The page writes its address when the eye comes to rest or anything is chosen; here between
    # the link and the event that tells of it.
    page = lantern.page
    page.evaluate(
        "() => { location.hash = 'place=porch.transition&panel=places';"
        " const units = document.getElementById('units'); units.value = 'metric';"
        " units.dispatchEvent(new Event('change')); }"
    )
    wait_until(page, "document.getElementById('layers')?.dataset.of === 'porch.transition'")
    page.wait_for_timeout(400)
    assert "place=porch.transition" in fragment(page)
    tab(page, "house")
    assert "place" not in fragment(page)
