"""The page served on this machine: follows the model, keeps the last good roof, lets nobody in."""

from __future__ import annotations

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
from playwright.sync_api import Browser

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


def status(address: str, **headers: str) -> int:
    asked = urllib.request.Request(address, headers=headers)  # noqa: S310 - this machine
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
    with urllib.request.urlopen(f"{base}events?token={token}&has=0w", timeout=20) as told:  # noqa: S310
        assert told.readline() == b"event: whole\n"
        assert told.readline() == b"data: 1\n"


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
    replace_atomically(model, good)
    wait_until(page, "document.getElementById('panel')?.innerText.includes('686.2 sq ft')", 30)
    assert said == []
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
    with urllib.request.urlopen(f"{base}events?token={token}&has=1w", timeout=30) as told:  # noqa: S310
        replace_atomically(model, "x = " + "[" * 5000)
        assert told.readline() == b"event: fault\n"
    assert status(address) == 200
