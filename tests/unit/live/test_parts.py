"""The page in parts: what is looked at comes first, and in the end nothing is missing."""

from __future__ import annotations

import base64
import gzip
import json
import re
from functools import cache
from typing import Any

import pytest

from roof3d.errors import SpecError
from roof3d.live.parts import Part, Shows, Work
from roof3d.live.watch import Built, build_more
from roof3d.project import Project
from roof3d.writers.page.facts import Live
from roof3d.writers.page.page import PageOptions, build_page
from tests.model_text import Block, built

LIVE = Live(events="events", shows="shows", token="word", state="1")  # noqa: S106 - no secret
NOTHING = Shows()


@cache
def house() -> Project:
    """A gable with a flat porch against its eave: low, steep, their meeting, and free edges."""
    return built(
        Block(length=8.0, width=6.0),
        Block(id="porch", form="shed", length=4.0, width=2.5, at=(2.0, -2.5), eave=2.8, pitch=0.08),
    )


def started(shows: Shows = NOTHING) -> tuple[Work, Part]:
    work = Work(house(), PageOptions())
    return work, work.begin(LIVE, shows)


def ids(part: Part) -> list[str]:
    return [joint.id for joint in part.joints]


def test_the_house_comes_alone_with_the_list_of_its_places() -> None:
    work, part = started()
    assert part.house
    assert part.joints == ()
    assert part.facts["whole"] is False
    assert len(part.facts["places"]) > 4
    assert all(entry["waits"] and entry["at"] for entry in part.facts["places"])
    first = part.facts["variants"][0]
    assert first["waits"] == ["takeoff", "laps"]
    assert len(first["measure"]["planes"]) == len(house().roof.planes)
    assert first["takeoff"]["items"] == []
    assert not work.whole


def test_the_open_joint_comes_with_the_house_and_its_wrong_builds_next() -> None:
    _, part = started()
    last = part.facts["places"][-1]["id"]
    shows = Shows("places", last)
    work, part = started(shows)
    assert ids(part) == [last]
    assert part.joints[0].entry is not None
    assert part.joints[0].entry["layers"]
    assert part.joints[0].entry["wrong_waits"]
    entry = work.make_next(shows).joints[0].entry
    assert entry is not None
    assert entry["id"] == last
    assert len(entry["wrong"]) == 1


def test_a_joint_alike_to_one_drawn_is_known_by_its_own_name_too() -> None:
    _, part = started()
    entry = next(entry for entry in part.facts["places"] if len(entry["at"]) > 1)
    _, again = started(Shows("places", entry["at"][1]["id"]))
    assert ids(again) == [entry["id"]]


def test_a_joint_opened_in_between_is_made_before_the_others() -> None:
    work, part = started()
    last = part.facts["places"][-1]["id"]
    assert work.make_next(NOTHING).joints == ()
    assert ids(work.make_next(Shows("places", last))) == [last]


@pytest.mark.parametrize(("panel", "first"), [("whatif", "facts"), ("places", "joint")])
def test_what_a_panel_shows_comes_first(panel: str, first: str) -> None:
    work, _ = started()
    part = work.make_next(Shows(panel))
    assert first == ("joint" if part.joints else "facts")


def test_without_a_wish_the_joints_come_in_the_order_of_the_list() -> None:
    work, part = started()
    places = [entry["id"] for entry in part.facts["places"]]
    made: list[str] = []
    while len(made) < len(places):
        made += ids(work.make_next(NOTHING))
    assert made == places


def test_in_the_end_the_page_holds_what_the_file_holds() -> None:
    work, part = started()
    state = Built(number=1, work=work, facts=part.facts, parts=(part,), stamp=())
    rounds = 0
    while not state.whole:
        state = build_more(state, NOTHING)
        rounds += 1
    text = build_page(house()).decode("utf-8")
    found = re.search(r'id="facts">([^<]*)<', text)
    assert found is not None
    file: dict[str, Any] = json.loads(gzip.decompress(base64.b64decode(found[1])))
    served = json.loads(json.dumps(state.facts))
    served["variants"][0].pop("waits")
    assert {**served, "live": None} == file
    assert rounds >= 2 * len(file["places"]) + 2
    whole = state.so_far(house=True)
    assert ids(whole) == [entry["id"] for entry in file["places"]]
    assert whole.house == part.house
    assert state.so_far(house=False).house == b""
    # The page holds the house alone: each of its joints waits for its meshes.
    sent = re.search(r'id="facts">([^<]*)<', state.page().decode("utf-8"))
    assert sent is not None
    places = json.loads(gzip.decompress(base64.b64decode(sent[1])))["places"]
    assert all(entry["waits"] for entry in places)


def test_a_wish_that_names_nothing_is_refused_before_anything_is_shown() -> None:
    with pytest.raises(SpecError, match="no plane"):
        Work(house(), PageOptions(wishes=("attic=three-tab",)))
