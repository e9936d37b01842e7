"""Layers of a joint are told apart in colour and in grey: every joint of every shipped model."""

from __future__ import annotations

import base64
import gzip
import json
import re
from pathlib import Path
from typing import Any

import pytest
from coloraide import Color
from playwright.sync_api import Browser, Page

from tests.browser.conftest import NAMES, html_of, opened, written

_APART = 14.0
"""Least difference in L* (CIE 15, 0 black to 100 white): what a grey print keeps."""
_SEEN = 7.0
"""Least CIEDE2000 difference; one under 2 is hardly seen (common practice, no source)."""
_ROUNDING = 0.4
"""What eight bits a channel may take off a difference in L*."""


def facts(name: str) -> dict[str, Any]:
    found = re.search(r'id="facts">([^<]*)<', html_of(name).decode())
    assert found is not None
    data: dict[str, Any] = json.loads(gzip.decompress(base64.b64decode(found[1])))
    return data


def chips(page: Page, place: str, shingle: str) -> dict[str, str]:
    """Open a joint by its link, and return the colours its layers are drawn in."""
    there = f"document.querySelector('#layers')?.dataset.of === {place!r}"
    for wait in range(200):
        if wait % 50 == 0:
            page.evaluate(f"location.hash = '#panel=places&place={place}&shingle={shingle}'")
        page.wait_for_timeout(20)
        if page.evaluate(there):
            break
    found: dict[str, str] = page.evaluate(
        "Object.fromEntries([...document.querySelectorAll('[data-part]')]"
        ".map((chip) => [chip.dataset.part, getComputedStyle(chip).backgroundColor]))"
    )
    return found


def check_joints(browser: Browser, folder: Path, name: str, shingle: str) -> None:
    context = browser.new_context(viewport={"width": 480, "height": 360}, reduced_motion="reduce")
    page = opened(context, written(folder, name)).page
    for place in facts(name)["places"]:
        found = chips(page, place["id"], shingle)
        assert place["beside"], place["id"]
        for one, other in place["beside"]:
            a, b = Color(found[one]), Color(found[other])
            grey = abs(a.convert("lab-d65")["l"] - b.convert("lab-d65")["l"])
            assert grey > _APART - _ROUNDING, (place["id"], shingle, one, other)
            assert a.delta_e(b, method="2000") > _SEEN, (place["id"], shingle, one, other)
    context.close()


@pytest.mark.parametrize("name", NAMES)
def test_neighbours_are_apart_in_colour_and_in_grey(
    browser: Browser, folder: Path, name: str
) -> None:
    check_joints(browser, folder, name, "wet-slate")


@pytest.mark.heavy
@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("shingle", ["driftwood", "brick-dust", "coal", "fog"])
def test_neighbours_are_apart_under_other_shingles_too(
    browser: Browser, folder: Path, name: str, shingle: str
) -> None:
    check_joints(browser, folder, name, shingle)
