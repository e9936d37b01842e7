"""The page served on this machine: follows the model, keeps the last good roof, lets nobody in."""

from __future__ import annotations

import json
import os
import signal
import socket
import subprocess
import sys
import urllib.error
import urllib.request
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page

from tests.browser.conftest import MODELS, wait_until


@pytest.fixture
def model(tmp_path: Path) -> Path:
    path = tmp_path / "house.toml"
    path.write_bytes((MODELS / "lantern-street.toml").read_bytes())
    return path


@pytest.fixture
def address(model: Path) -> Iterator[str]:
    command = [sys.executable, "-m", "roof3d", "view", str(model), "--live"]
    with subprocess.Popen(
        command, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, cwd=model.parent
    ) as server:
        assert server.stdout is not None
        line = server.stdout.readline()
        assert line.startswith("Open http://127.0.0.1:"), line
        yield line.split()[1]
        server.send_signal(signal.SIGINT)
        rest, _ = server.communicate(timeout=20)
        assert rest.rstrip().endswith("Ended.")
        assert server.returncode == 0
        assert "Traceback" not in rest


def status(address: str, *, method: str = "GET", **headers: str) -> int:
    asked = urllib.request.Request(address, headers=headers, method=method)  # noqa: S310 - this machine
    try:
        with urllib.request.urlopen(asked, timeout=10) as answer:  # noqa: S310
            return int(answer.status)
    except urllib.error.HTTPError as error:
        return error.code


def replace_atomically(model: Path, text: str) -> None:
    fresh = model.with_suffix(".new")
    fresh.write_text(text, encoding="utf-8")
    os.replace(fresh, model)  # noqa: PTH105


def test_only_the_right_token_on_the_right_host_gets_the_page(address: str) -> None:
    base, _, token = address.partition("?token=")
    assert status(address) == 200
    assert status(base) == 403
    assert status(f"{base}?token={token[:-1]}") == 403
    assert status(address, Host="house.example") == 403
    assert status(f"{base}house.toml?token={token}") == 404
    assert status(f"{base}../../etc/hostname?token={token}") == 404


def test_events_ask_for_the_token_too_and_nobody_else_is_listened_to(address: str) -> None:
    base, _, token = address.partition("?token=")
    assert status(f"{base}events") == 403
    assert status(f"{base}events?token={token}", Host="house.example") == 403
    port = int(base.rstrip("/").rsplit(":", 1)[1])
    with pytest.raises(ConnectionRefusedError):
        socket.create_connection(("127.0.0.2", port), timeout=5)


def test_a_change_before_the_page_listens_is_told(address: str) -> None:
    base, _, token = address.partition("?token=")
    for has, house in (("0", True), ("1", False)):
        with urllib.request.urlopen(f"{base}events?token={token}&has={has}", timeout=20) as told:  # noqa: S310
            assert told.readline() == b"event: news\n"
            news = json.loads(told.readline().removeprefix(b"data: "))
        assert news["facts"]["live"]["state"] == "1"
        assert (news["house"] != "") is house


def test_only_the_page_itself_may_say_what_is_looked_at(address: str) -> None:
    base, _, token = address.partition("?token=")
    asked = f"{base}shows?token={token}&panel=places&place=nowhere"
    assert status(asked, method="POST") == 204
    assert status(asked) == 405
    assert status(f"{base}shows?panel=places", method="POST") == 403
    assert status(asked, method="POST", Host="house.example") == 403


def test_a_large_body_is_not_taken_in(address: str) -> None:
    host, port = address.split("/")[2].split(":")
    with socket.create_connection((host, int(port)), timeout=10) as line:
        line.sendall(b"POST /shows HTTP/1.1\r\nHost: x\r\nContent-Length: 90000000\r\n\r\n")
        assert line.recv(100) in {b"", b"HTTP/1.1 400 Bad Request\r\n\r\n"}


def test_an_edit_shows_and_a_fault_keeps_the_last_good_roof(
    browser: Browser, address: str, model: Path
) -> None:
    context = browser.new_context(viewport={"width": 1024, "height": 768}, reduced_motion="reduce")
    page = context.new_page()
    said: list[str] = []
    page.on("pageerror", lambda error: said.append(str(error)))
    page.goto(address)
    page.wait_for_selector('body[data-state="ready"]')
    page.wait_for_timeout(300)
    good = model.read_text(encoding="utf-8")
    assert "686.2 sq ft" in page.inner_text("#panel")
    replace_atomically(model, good.replace('"6:12"', '"9:12"'))
    wait_until(page, "document.getElementById('panel')?.innerText.includes('9:12')", 30)
    page.wait_for_selector('body[data-state="ready"]')
    page.wait_for_timeout(300)
    replace_atomically(model, good.replace('"6:12"', '"six"'))
    wait_until(page, "document.getElementById('message')?.textContent.includes('section[0]')", 30)
    assert "9:12" in page.inner_text("#panel")
    assert "The page shows the last roof without a fault." in page.inner_text("#message")
    replace_atomically(model, good)
    wait_until(page, "document.getElementById('panel')?.innerText.includes('686.2 sq ft')", 30)
    assert page.inner_text("#message") == ""
    first = "document.querySelector('#view-choice option')?.textContent"
    seen = page.evaluate(first)
    replace_atomically(model, good.replace('id = "porch"', 'id = "porch"\nturn = "90 deg"', 1))
    wait_until(page, f"{first} !== {json.dumps(seen)}", 30)
    assert page.input_value("#view-choice")
    assert said == []
    context.close()


@pytest.fixture
def page(browser: Browser, address: str) -> Iterator[Page]:
    """The served page, which must neither complain nor be loaded again."""
    context = browser.new_context(viewport={"width": 1024, "height": 768}, reduced_motion="reduce")
    opened = context.new_page()
    said: list[str] = []
    opened.on("pageerror", lambda error: said.append(str(error)))
    opened.on("console", lambda m: said.append(m.text) if m.type == "error" else None)
    opened.goto(address)
    opened.wait_for_selector('body[data-state="ready"]')
    opened.evaluate("window.kept = true")
    yield opened
    assert opened.evaluate("window.kept")
    assert said == []
    context.close()


def test_the_open_joint_changes_with_the_house_and_never_shows_less(
    page: Page, model: Path
) -> None:
    page.click("#tab-places")
    page.click("[data-place]")
    page.click("#step-back")
    page.wait_for_selector("#card h2")
    laid = page.inner_text("#step-words")
    before = pixels(page)
    page.evaluate(
        """() => {
          window.told = [];
          const look = () => {
            const now = document.querySelector("#panel h2 + p")?.textContent;
            if (now !== window.told.at(-1)) window.told.push(now);
          };
          const all = { subtree: true, childList: true, attributes: true };
          new MutationObserver(look).observe(document.body, all);
          look();
        }"""
    )
    text = model.read_text(encoding="utf-8")
    replace_atomically(model, text.replace('"6:12"', '"9:12"'))
    wait_until(page, "document.body.dataset.built === '2'", 30)
    old, new = page.evaluate("window.told")
    assert "6:12 (27\N{DEGREE SIGN})" in old
    assert "9:12 (37\N{DEGREE SIGN})" in new
    assert page.inner_text("#step-words") == laid
    page.wait_for_timeout(300)
    assert pixels(page) != before
    wait_until(page, "document.querySelectorAll('[data-wrong]').length === 4", 30)


def pixels(page: Page) -> str:
    return str(page.evaluate("document.getElementById('view').toDataURL()"))


def test_a_joint_not_yet_drawn_says_so_and_is_drawn_first(page: Page, model: Path) -> None:
    page.evaluate(
        """() => {
          const panel = document.getElementById("panel");
          const list = () => [...panel.querySelectorAll("[data-place]")];
          const waiting = (row) => row.textContent.includes("being drawn");
          const waits = () => list().filter(waiting).length;
          window.seen = {};
          const look = () => {
            const { built, whole } = document.body.dataset;
            if (built !== "2" || whole === "true") return;
            if (!window.seen.first) {
              document.getElementById("tab-places").click();
              window.seen.first = waits();
              list().at(-1).click();
              window.seen.says = panel.textContent;
              dispatchEvent(new Event("beforeprint"));
              window.seen.printed = document.getElementById("paper").textContent;
            } else if (!window.seen.then && panel.textContent.includes("Layers, top first")) {
              window.seen.then = panel.textContent;
              document.getElementById("back").click();
              window.seen.left = waits();
            }
          };
          const all = { subtree: true, childList: true, attributes: true };
          new MutationObserver(look).observe(document.body, all);
        }"""
    )
    text = model.read_text(encoding="utf-8")
    replace_atomically(model, text.replace('"6:12"', '"9:12"'))
    wait_until(page, "window.seen.left !== undefined", 30)
    seen = page.evaluate("window.seen")
    assert "is being drawn for the roof as it is now" in seen["says"]
    assert "Layers, top first" not in seen["says"]
    # A print meanwhile is of the house: no empty list of layers, and the cautions are on it.
    assert "Layers in the order of work" not in seen["printed"]
    assert page.evaluate("document.querySelectorAll('#paper .caution p').length") > 0
    # What was being made when it was opened is made to its end; nothing else comes before it.
    assert seen["first"] >= 9
    assert seen["first"] - 2 <= seen["left"] < seen["first"]
    wait_until(page, "!document.getElementById('panel').innerText.includes('being drawn')", 30)


@pytest.mark.parametrize("hand", [False, True])
def test_a_house_that_grows_is_framed_anew_unless_a_hand_moved_the_eye(
    page: Page, model: Path, *, hand: bool
) -> None:
    page.click("#tab-places")
    page.click("[data-place]")
    wait_until(page, "location.hash.includes('eye=')")
    page.click("#back")
    page.click("#tab-house")
    if hand:
        page.click("#closer")
    page.wait_for_timeout(600)
    before = distance(page)
    text = model.read_text(encoding="utf-8")
    replace_atomically(model, text.replace('"42 ft"', '"126 ft"'))
    wait_until(page, "document.body.dataset.built === '2'", 30)
    page.wait_for_timeout(600)
    assert distance(page) == before if hand else distance(page) > 1.5 * before


def test_layers_of_another_roof_are_coloured_as_on_a_page_opened_then(
    page: Page, model: Path
) -> None:
    page.click("#tab-places")
    page.click("[data-place]")
    page.wait_for_selector("[data-part]")
    before = chips(page)
    text = model.read_text(encoding="utf-8")
    other = '[[plane]]\nid = "porch.south"\nassembly = "mineral-roll"\n\n[[opening]]'
    replace_atomically(model, text.replace("[[opening]]", other, 1))
    wait_until(page, "document.body.dataset.built === '2'", 30)
    page.wait_for_timeout(600)
    after = chips(page)
    assert set(after) != set(before)
    page.reload()
    page.wait_for_selector("[data-part]")
    wait_until(page, "document.body.dataset.state === 'ready'")
    page.evaluate("window.kept = true")
    assert chips(page) == after


def chips(page: Page) -> dict[str, str]:
    found: dict[str, str] = page.evaluate(
        "Object.fromEntries([...document.querySelectorAll('[data-part]')]"
        ".map((chip) => [chip.dataset.part, getComputedStyle(chip).backgroundColor]))"
    )
    return found


def distance(page: Page) -> float:
    eye = page.evaluate("new URLSearchParams(location.hash.slice(1)).get('eye')")
    return float(eye.split(",")[2])


def test_a_page_whose_server_is_gone_says_so(browser: Browser, address: str) -> None:
    context = browser.new_context(viewport={"width": 480, "height": 360})
    context.route("**/events?*", lambda route: route.abort())
    page = context.new_page()
    page.goto(address)
    wait_until(page, "document.getElementById('message')?.textContent.includes('may be old')")
    context.unroute("**/events?*")
    wait_until(page, "document.getElementById('message')?.textContent === ''", 30)
    context.close()


@pytest.mark.parametrize("way", ["up", "absolute", "link"])
def test_a_catalog_outside_the_folder_is_refused(model: Path, way: str) -> None:
    folder = model.parent / "inner"
    folder.mkdir()
    outside = model.parent / "mine.toml"
    outside.write_text("", encoding="utf-8")
    (folder / "linked.toml").symlink_to(outside)
    name = {"up": "../mine.toml", "absolute": str(outside), "link": "linked.toml"}[way]
    inner = folder / "house.toml"
    text = model.read_text(encoding="utf-8")
    inner.write_text(text.replace("schema = 1", f'schema = 1\ncatalog = "{name}"'), "utf-8")
    command = [sys.executable, "-m", "roof3d", "view", str(inner), "--live"]
    done = subprocess.run(command, capture_output=True, text=True, check=False, timeout=60)
    assert done.returncode == 2
    assert "outside the folder of the model" in done.stderr


def test_a_nested_model_keeps_the_server_alive(address: str, model: Path) -> None:
    base, _, token = address.partition("?token=")
    with urllib.request.urlopen(f"{base}events?token={token}&has=1", timeout=30) as told:  # noqa: S310
        replace_atomically(model, "x = " + "[" * 5000)
        assert b"event: fault\n" in told
    assert status(address) == 200
