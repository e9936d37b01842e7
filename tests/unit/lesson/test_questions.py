"""Questions: enough of them, plain, with one right answer that the handout holds."""

from __future__ import annotations

from collections import Counter

from roof3d.lesson.build import build_lesson
from roof3d.lesson.handout import WRONG, Part, build_handout
from roof3d.lesson.model import Lesson, Question
from roof3d.lesson.questions.choices import set_question
from roof3d.scene.detail_scene import build_detail, detail_mistakes
from tests.unit.lesson.lessons import every_lesson


def _questions() -> list[tuple[Lesson, Question]]:
    return [(lesson, q) for _, _, lesson in every_lesson().values() for q in lesson.questions]


def test_each_lesson_asks_six_to_ten() -> None:
    for kind, (_, _, lesson) in every_lesson().items():
        assert 6 <= len(lesson.questions) <= 10, kind
        assert len({q.id for q in lesson.questions}) == len(lesson.questions)
        assert len({q.asked for q in lesson.questions}) == len(lesson.questions)


def test_answers_to_choose_from_differ_and_one_is_right() -> None:
    for _, q in _questions():
        assert 3 <= len(q.options) <= 4
        plain = {option.strip().rstrip(".").casefold() for option in q.options}
        assert len(plain) == len(q.options)
        assert 0 <= q.right < len(q.options)
        assert q.asked.strip().endswith("?")
        assert q.reason
        assert q.source


def test_what_is_right_stands_in_the_handout_before_the_questions() -> None:
    for lesson, q in _questions():
        sections = [
            s
            for s in build_handout(lesson).sections
            if s.part not in {Part.QUESTIONS, Part.ANSWERS}
        ]
        text = " ".join(
            [p for s in sections for p in (*s.paragraphs, *s.points, s.told, s.heading)]
            + [line for s in sections for row in s.rows for line in row.lines]
        ).casefold()
        reasoned = q.id == "back-water" or q.id.startswith(("top-", "next-")) or "-" not in q.id
        held = q.reason if reasoned else q.options[q.right]
        if q.id.startswith(("length-", "mistake-", "check-", "hold-")):
            held = q.options[q.right]
        elif q.id.startswith("weather-"):
            held = q.options[q.right].split(". ", 1)[1]
        elif q.id.startswith(("top-", "next-")):
            held = next(s.why for s in lesson.steps if s.number == q.step)
        else:
            held = q.reason
        assert held.strip().rstrip(".").casefold() in text, (lesson.kind, q.id)


def test_a_wrong_length_is_not_the_right_one_written_otherwise() -> None:
    for _, q in _questions():
        if q.id.startswith("length-"):
            assert all(option.endswith((" in", " mm")) for option in q.options)


def test_wrong_lengths_come_from_the_same_roof_where_it_has_them() -> None:
    _, detail, lesson = every_lesson()["low-below-steep"]
    own = " ".join(measure.text for measure in detail.measures)
    for q in lesson.questions:
        if q.id.startswith("length-"):
            assert all(option in own for option in q.options)


def test_the_right_answer_has_no_place_of_its_own() -> None:
    places = Counter(q.right for _, q in _questions() if len(q.options) == 4)
    total = sum(places.values())
    assert all(0.12 * total < places[k] < 0.4 * total for k in range(4))


def test_the_right_answer_is_not_told_by_its_length() -> None:
    longest = [
        len(q.options[q.right]) > max(len(o) for k, o in enumerate(q.options) if k != q.right)
        for _, q in _questions()
    ]
    assert sum(longest) < 0.55 * len(longest)


def test_a_mixture_is_asked() -> None:
    for _, _, lesson in every_lesson().values():
        kinds = {q.id.split("-", maxsplit=1)[0] for q in lesson.questions}
        assert len(kinds) >= 5


def test_three_sheets_are_asked_about_where_they_meet() -> None:
    asked = [q.asked for q in every_lesson()["cap-lap"][2].questions]
    assert "What is cut where three sheets meet?" in asked


def test_too_few_wrong_answers_make_no_question() -> None:
    assert set_question("x", "Which?", "4 in", ["4 in.", "5 in"], reason="r", source="s") is None
    found = set_question("x", "Which?", "4 in", ["5 in", "6 in"], reason="r", source="s")
    assert found is not None
    assert found.options[found.right] == "4 in"


def test_a_wrong_build_is_asked_about_first_and_told_with_the_answers() -> None:
    project, detail, plain = every_lesson()["eave-shingle"]
    wrong = build_detail(project, detail.id, mistake="metal-over")
    others = [w for w in detail_mistakes(project, detail.id) if w.mistake != "metal-over"]
    lesson = build_lesson(project, detail, wrong=wrong.mistake, others=others)
    first = lesson.questions[0]
    assert wrong.mistake is not None
    assert first.options[first.right] == wrong.mistake.wrong.rstrip(".")
    own = {other.wrong.rstrip(".") for other in others}
    assert {o for k, o in enumerate(first.options) if k != first.right} <= own
    assert wrong.mistake.water in first.reason
    assert len(lesson.questions) <= 10
    assert lesson.steps == plain.steps
    handout = build_handout(lesson)
    (page,) = [section for section in handout.sections if section.part is Part.QUESTIONS]
    assert page.picture == WRONG
    assert wrong.mistake.water not in page.told
    assert plain.wrong is None
