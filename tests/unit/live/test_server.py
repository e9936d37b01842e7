"""What is served while two things change it at once."""

from __future__ import annotations

import asyncio
from collections.abc import Coroutine
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from pathlib import Path
from typing import TypeVar

from roof3d.cli.model_file import load_project
from roof3d.live.parts import Shows
from roof3d.live.server import Shown
from roof3d.live.watch import Built, Watched, build_house
from roof3d.writers.page.facts import Live
from tests.model_text import Block, model_text

T = TypeVar("T")


def state(folder: Path) -> Built:
    model = folder / "house.toml"
    model.write_text(model_text([Block(length=8.0, width=6.0)]), encoding="utf-8")
    live = Live(events="events", shows="shows", token="word")  # noqa: S106 - no secret
    return build_house(Watched(model=model, read=load_project, live=live), 1, Shows())


def run_apart(work: Coroutine[None, None, T]) -> T:
    """Run in a thread of its own: a browser of other tests holds this one's loop."""
    with ThreadPoolExecutor(1) as pool:
        return pool.submit(asyncio.run, work).result()


def test_more_of_an_old_state_never_takes_the_place_of_a_new_one(tmp_path: Path) -> None:
    old = state(tmp_path)
    more, new = replace(old, fault="more"), replace(old, number=2)

    async def crowded() -> tuple[Shown, bool]:
        shown = Shown(old)
        async with shown.changed:  # a reader is being told: both others wait
            begun = asyncio.create_task(shown.begin(new))
            added = asyncio.create_task(shown.add(more, old))
            await asyncio.sleep(0)
        await begun
        return shown, await added

    shown, added = run_apart(crowded())
    assert shown.built is new
    assert not added


def test_a_fault_takes_nothing_away_that_was_made_meanwhile(tmp_path: Path) -> None:
    old = state(tmp_path)
    more = replace(old, fault="more")

    async def crowded() -> Shown:
        shown = Shown(old)
        async with shown.changed:
            added = asyncio.create_task(shown.add(more, old))
            refused = asyncio.create_task(shown.refuse("six is no pitch"))
            await asyncio.sleep(0)
        await refused
        assert await added
        return shown

    shown = run_apart(crowded())
    assert shown.built is more
    assert shown.fault == "six is no pitch"
