"""The handout read back: all that is taught, in order, and nothing that is fetched or runs."""

from __future__ import annotations

import base64
import json
import re
from dataclasses import dataclass, field, replace
from functools import cache
from html.parser import HTMLParser
from pathlib import Path

import roof3d
from roof3d.lesson.build import build_lesson
from roof3d.lesson.handout import CONTACT, build_handout, step_picture_name
from roof3d.lesson.model import Lesson
from roof3d.scene.detail_scene import build_detail
from roof3d.writers.lesson.document import SCHEMA, lesson_document
from roof3d.writers.lesson.handout_html import Picture, handout_html

_MODELS = Path(__file__).parents[2] / "models"
_CSS = Path(roof3d.__file__).parent / "writers" / "lesson" / "page.css"
_DOT = Picture(data=b"RIFF0000WEBP", kind="image/webp", size=(1100, 800))
_VOID = {"meta", "img", "br", "hr"}


@dataclass
class _Page(HTMLParser):
    """Every element with its attributes, and the text in each section."""

    tags: list[tuple[str, dict[str, str]]] = field(default_factory=list)
    text: dict[str, str] = field(default_factory=dict)
    open: list[str] = field(default_factory=list)
    section: str = ""

    def __post_init__(self) -> None:
        super().__init__(convert_charrefs=True)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        found = {name: value or "" for name, value in attrs}
        self.tags.append((tag, found))
        if tag not in _VOID:
            self.open.append(tag)
        if tag == "section":
            self.section = found["id"]

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        if self.open and self.open[-1] != "style":
            self.text[self.section] = self.text.get(self.section, "") + data


@cache
def _lesson(celsius: float | None = None, name: str = "") -> Lesson:
    project = roof3d.build(roof3d.load(_MODELS / "lantern-street.toml"))
    if name:
        project = replace(project, spec=replace(project.spec, name=name))
    detail = build_detail(project, "porch.transition")
    return build_lesson(project, detail, celsius=celsius)


def _page(lesson: Lesson) -> tuple[_Page, str]:
    names = [CONTACT, *(step_picture_name(step) for step in lesson.steps)]
    html = handout_html(build_handout(lesson), dict.fromkeys(names, _DOT)).decode()
    page = _Page()
    page.feed(html)
    page.close()
    assert not page.open
    return page, html


def test_every_step_stands_in_the_page_with_all_that_is_said_of_it() -> None:
    lesson = _lesson()
    page, _ = _page(lesson)
    for step in lesson.steps:
        text = page.text[step_picture_name(step)].casefold()
        for words in (step.name, step.what, step.why, step.size, step.fastening, step.order):
            assert words.casefold().rstrip(".") in text
        for words in (step.tool, step.gear, step.mistake, step.check):
            assert words.casefold().rstrip(".") in text
        for fact in step.practice:
            assert fact.text.casefold() in text
        for length in step.lengths:
            assert length.casefold() in text


def test_questions_come_after_the_steps_and_answers_after_all() -> None:
    lesson = _lesson()
    page, _ = _page(lesson)
    order = list(page.text)
    assert order.index("questions") > order.index(step_picture_name(lesson.steps[-1]))
    assert order[-2:] == ["answers", ""] or order[-1] == "answers"
    for question in lesson.questions:
        assert question.asked in page.text["questions"]
        assert all(option.rstrip(".") in page.text["questions"] for option in question.options)
        assert question.reason[:40].casefold() in page.text["answers"].casefold()
        assert f"Source: {question.source}" in page.text["answers"]
        assert question.reason not in page.text["questions"]


def test_the_answer_has_the_letter_of_its_option() -> None:
    lesson = _lesson()
    handout = build_handout(lesson)
    asked, answered = handout.sections[-2].asked, handout.sections[-1].asked
    assert len(asked) == len(answered) == len(lesson.questions)
    for question, before, after in zip(lesson.questions, asked, answered, strict=True):
        assert after.answer == before.options[question.right]
        assert after.answer[0] == "ABCD"[question.right]


def test_nothing_is_fetched_and_nothing_runs() -> None:
    page, html = _page(_lesson())
    assert not [tag for tag, _ in page.tags if tag in {"script", "link", "iframe", "object", "a"}]
    for _, found in page.tags:
        assert not [name for name in found if name.startswith("on") or name == "href"]
        assert found.get("src", "data:image/").startswith("data:image/")
    assert not re.search(r"https?:|//[a-z]|url\(|@import", html)
    policy = next(f["content"] for t, f in page.tags if "Policy" in f.get("http-equiv", ""))
    assert policy.startswith("default-src 'none'")


def test_every_picture_is_in_the_page_and_told_in_words() -> None:
    lesson = _lesson()
    page, _ = _page(lesson)
    images = [found for tag, found in page.tags if tag == "img"]
    assert len(images) == len(lesson.steps) + 1
    for image in images:
        assert base64.b64decode(image["src"].split(",", 1)[1]) == _DOT.data
        assert (image["width"], image["height"]) == ("1100", "800")
        assert len(image["alt"]) > 10
    assert lesson.steps[2].name in images[3]["alt"]


def test_a_picture_that_is_missing_is_told_instead() -> None:
    lesson = _lesson()
    page = _Page()
    page.feed(handout_html(build_handout(lesson), {}).decode())
    assert not [tag for tag, _ in page.tags if tag == "img"]
    assert "Lengths: lap 4 in" in page.text["step-03"]


def test_headings_follow_one_another_and_sections_are_named() -> None:
    page, _ = _page(_lesson())
    levels = [int(tag[1]) for tag, _ in page.tags if re.fullmatch(r"h[1-6]", tag)]
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert set(levels[1:]) == {2}
    ids = [found["id"] for _, found in page.tags if "id" in found]
    assert len(ids) == len(set(ids))
    for tag, found in page.tags:
        if tag == "section":
            assert found["aria-labelledby"] in ids
    assert ("html", {"lang": "en"}) in page.tags


def test_a_hostile_name_stays_text() -> None:
    name = "</title><script>alert(1)</script><img src=x onerror=alert(2)>\"'&"
    page, html = _page(_lesson(name=name))
    assert "<script" not in html
    assert not [found for _, found in page.tags if "onerror" in found]
    assert name in "".join(page.text.values())


def test_a_cold_day_stands_in_front_and_at_its_steps() -> None:
    lesson = _lesson(celsius=3.0)
    page, html = _page(lesson)
    assert "A cold day, 37.4 F" in page.text["safety"] or "A cold day, 37 F" in page.text["safety"]
    assert "Not to be laid" in page.text["safety"]
    for step in lesson.steps:
        for fact in step.day:
            assert fact.text in page.text[step_picture_name(step)]
        assert step.held[1:] in page.text[step_picture_name(step)]
    assert "Welded with hot air (at " in page.text["step-04"]
    assert html.count('class="urgent"') >= 2
    assert 'class="urgent"' not in _page(_lesson())[1]


def test_sheets_break_between_steps_and_answers_have_their_own() -> None:
    css = _CSS.read_text()
    printed = css[css.index("@media print") :]
    assert re.search(r"\.step \{[^}]*break-inside: avoid", printed)
    assert re.search(r"\.questions, \.answers \{[^}]*break-before: page", printed)
    assert "@page" in css


def test_words_can_be_read_in_light_and_in_dark() -> None:
    """WCAG 2.1, 1.4.3: 4.5 to 1 for text."""
    blocks = re.findall(r":root \{([^}]*)\}", _CSS.read_text())
    assert len(blocks) == 3  # light, dark, print
    for block in blocks:
        colours = dict(re.findall(r"--([a-z-]+): (#[0-9a-f]+)", block))
        for ink in ("ink", "soft", "now"):
            assert _contrast(colours[ink], colours["paper"]) >= 4.5
        for ink in ("ink", "warn"):
            assert _contrast(colours[ink], colours["warn-panel"]) >= 4.5


def test_the_same_lesson_gives_the_same_bytes() -> None:
    assert _page(_lesson())[1] == _page(_lesson())[1]


def test_the_document_holds_the_whole_lesson() -> None:
    lesson = _lesson(celsius=3.0)
    document = json.loads(json.dumps(lesson_document(lesson)))
    assert document["schema"] == SCHEMA == "roof3d.lesson/1"
    assert [step["name"] for step in document["steps"]] == [step.name for step in lesson.steps]
    assert document["kind"] == "low-below-steep"
    assert document["day"]["celsius"] == 3.0
    for told, question in zip(document["questions"], lesson.questions, strict=True):
        assert told["options"][told["right"]] == question.options[question.right]


def _contrast(one: str, two: str) -> float:
    low, high = sorted(_luminance(colour) for colour in (one, two))
    return (high + 0.05) / (low + 0.05)


def _luminance(colour: str) -> float:
    digits = colour[1:] if len(colour) == 7 else "".join(2 * digit for digit in colour[1:])
    parts = [int(digits[k : k + 2], 16) / 255.0 for k in (0, 2, 4)]
    parts = [c / 12.92 if c <= 0.03928 else ((c + 0.055) / 1.055) ** 2.4 for c in parts]
    return 0.2126 * parts[0] + 0.7152 * parts[1] + 0.0722 * parts[2]
