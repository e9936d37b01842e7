"""Questions: enough of them, plain, with one right answer that the handout holds."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator
from itertools import permutations

from roof3d.details.model import PRACTICE, Detail, DetailLayer, PieceKind, size_text
from roof3d.details.proof.model import Facing
from roof3d.details.proof.table import lap_table
from roof3d.lesson.build import build_lesson
from roof3d.lesson.handout import WRONG, Part, build_handout
from roof3d.lesson.model import Lesson, Question, Step
from roof3d.lesson.questions.choices import called, set_question
from roof3d.lesson.rows import read_rows
from roof3d.lesson.weather import HOW, span_words
from roof3d.project import Project
from roof3d.scene.detail_scene import build_detail, detail_mistakes
from roof3d.units import Units
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


_LAPPED = {PieceKind.SHEET, PieceKind.METAL, PieceKind.STARTER, PieceKind.SHINGLE}


def _each(kind: str) -> Iterator[tuple[Project, Detail, Lesson, Question]]:
    found = [
        (project, detail, lesson, question)
        for project, detail, lesson in every_lesson().values()
        for question in lesson.questions
        if question.id.split("-", maxsplit=1)[0] == kind
    ]
    assert found, kind
    yield from found


def _layer(detail: Detail, lesson: Lesson, question: Question) -> DetailLayer:
    number = lesson.steps[question.step - 1].layer
    return next(layer for layer in detail.layers if layer.number == number)


def _orders(detail: Detail, step: Step) -> list[int]:
    return [piece.order for piece in detail.pieces if piece.layer == step.layer]


def _step_called(lesson: Lesson, words: str) -> Step:
    """Return the step that an option names; two of one name are told by their number."""
    (found,) = [s for s in lesson.steps if called(s, lesson.steps).casefold() == words.casefold()]
    return found


def test_the_right_length_is_that_of_the_pieces() -> None:
    for project, detail, lesson, q in _each("length"):
        layer = _layer(detail, lesson, q)
        (measure,) = [m for m in detail.measures if q.id == f"length-{m.id}"]
        assert measure.layer == layer.number
        units = Units(project.spec.units.value)
        written = {size_text(measure.value, units, least=least) for least in (False, True)}
        assert q.options[q.right] in written, (lesson.kind, q.id)


def test_the_right_mistake_check_and_fastening_are_those_of_the_layer() -> None:
    for kind, field in (("mistake", "mistake"), ("check", "check"), ("hold", "fastening")):
        for _, detail, lesson, q in _each(kind):
            words = getattr(_layer(detail, lesson, q), field)
            words = words.removesuffix(f" ({PRACTICE})").rstrip(".").casefold()
            right = q.options[q.right].casefold()
            if kind == "mistake":
                done = q.asked.split("\u201c")[1].split(".\u201d")[0].casefold()
                assert words.startswith(f"{done}: {right}"), (lesson.kind, q.id)
            elif kind == "check":
                assert right == words
            else:
                assert right.endswith(words)
                assert right.startswith("it is ")


def test_what_comes_next_is_the_next_to_be_laid_and_no_step_already_laid_is_offered() -> None:
    forms = set()
    for _, detail, lesson, q in _each("next"):
        options = [_step_called(lesson, option) for option in q.options]
        right = options[q.right]
        others = [step for k, step in enumerate(options) if k != q.right]
        before, after = (lesson.steps[int(n) - 1] for n in q.id.split("-")[1:])
        first = min(_orders(detail, after))
        assert max(_orders(detail, before)) < first
        between = [p for p in detail.pieces if max(_orders(detail, before)) < p.order < first]
        assert not between
        assert all(min(_orders(detail, step)) > first for step in others)
        forms.add(right is after)
        assert right in {before, after}
        assert (right is before) == ("lies already" in q.asked)
    assert forms == {True, False}


def test_what_lies_on_top_is_what_the_lap_table_has_on_top() -> None:
    forms = set()
    for project, detail, lesson, q in _each("top"):
        pair = {lesson.steps[int(n) - 1].layer for n in q.id.split("-")[1:]}
        rows = [row for row in lap_table(detail, project.catalog) if set(row.layers) == pair]
        order = {piece.id: piece.order for piece in detail.pieces}
        assert rows
        assert {row.facing for row in rows} == {Facing.DOWN}
        assert all(order[row.upper] > order[row.lower] for row in rows)
        (layers,) = {row.layers for row in rows}
        over, under = (
            called(next(s for s in lesson.steps if s.layer == layer), lesson.steps)
            for layer in layers
        )
        feet = [
            min(p.vertices[:, 2].min() for p in detail.pieces if p.layer == layer)
            for layer in layers
        ]
        assert feet[1] < feet[0]  # water of the upper one has something to land on
        table = lap_table(detail, project.catalog)
        assert layers[1] == max(row.layers[1] for row in table if row.layers[0] == layers[0])
        right = q.options[q.right].casefold()
        if "lies on top" in q.asked:
            assert right.startswith(f"{over.casefold()}: it covers the head of {under.casefold()},")
            assert right.endswith("hands its water onto it")
        elif "tucked" in q.asked:
            assert f"tucked {over} in under the head of {under}." in q.asked
            assert right.endswith(f"in behind the head of {under.casefold()}")
        else:
            assert q.asked.casefold().startswith(
                f"{over.casefold()} comes down over the head of {under.casefold()}."
            )
            assert right.endswith(f"on over the face of {under.casefold()}")
        forms.add(right.split(":")[-1].split(under.casefold())[0].replace(over.casefold(), ""))
    assert len(forms) == 3


def test_a_back_water_lap_is_asked_about_where_the_joint_shows_a_lap() -> None:
    """An edge is seen by those it faces: one that looks up the slope, from the top alone."""
    forms = set()
    for project, detail, lesson in every_lesson().values():
        kinds = {piece.id: piece.kind for piece in detail.pieces}
        rows = [r for r in lap_table(detail, project.catalog) if kinds[r.lower] in _LAPPED]
        asked = [q for q in lesson.questions if q.id == "back-water"]
        assert bool(asked) == any(row.facing is Facing.DOWN for row in rows), lesson.kind
        for q in asked:
            told = f"{q.asked} {q.options[q.right]}"
            top, eave = "the top" in told.casefold(), "at the eave" in told.casefold()
            assert top != eave
            if top:
                assert "faces you" in told
                assert "is a back-water lap" in told
            else:
                assert "a back-water lap hides its edge from below" in told
            forms.add(q.asked)
    assert len(forms) == 3


def test_a_back_lap_faces_up_the_slope_and_a_right_lap_does_not() -> None:
    project, detail, _ = every_lesson()["eave-shingle"]
    wrong = build_detail(project, detail.id, mistake="back-lap")
    right = {row.facing for row in lap_table(detail, project.catalog)}
    assert Facing.UP not in right
    assert Facing.UP in {row.facing for row in lap_table(wrong, project.catalog)}


def test_how_it_is_laid_is_what_the_catalog_says_of_that_day() -> None:
    for project, _, lesson, q in _each("weather"):
        units = Units(project.spec.units.value)
        material = project.catalog.material(q.id.removeprefix("weather-"))
        spans = {span_words(band, units): band for band in material.weather}
        (band,) = [b for span, b in spans.items() if f"are {span}:" in q.asked]
        assert (
            q.options[q.right].casefold()
            == f"{HOW[band.method]}. {band.caution}".rstrip(".").casefold()
        )
        assert q.source == band.source
        assert lesson.steps[q.step - 1].material == material.id


def test_what_is_taught_besides_is_asked_as_its_data_has_it() -> None:
    rows = {row["id"]: row for row in read_rows("practice.fact") if "ask" in row}
    asked = [(lesson, q) for lesson, q in _questions() if q.id in rows]
    assert len({q.id for _, q in asked}) >= 6
    for lesson, q in asked:
        row = rows[q.id]
        assert q.options[q.right] == row["right"]
        assert row["text"] == q.reason
        assert row["text"] in {fact.text for fact in lesson.steps[q.step - 1].practice}


def test_every_form_of_question_is_checked_above() -> None:
    known = {"length", "mistake", "check", "hold", "next", "top", "weather"}
    taught = {row["id"] for row in read_rows("practice.fact")}
    rest = {q.id for _, q in _questions() if q.id.split("-", maxsplit=1)[0] not in known}
    assert rest <= taught | {"back-water"}


def test_every_answer_is_a_sentence_with_its_own_subject() -> None:
    for lesson, q in _questions():
        for option in q.options:
            assert not option.startswith(("Its ", "Their ", "Then ", "Nailed or")), (
                lesson.kind,
                q.id,
                option,
            )


def test_no_question_hands_out_the_answer_of_another() -> None:
    for kind, (_, _, lesson) in every_lesson().items():
        told = [q for q in lesson.questions if not q.id.startswith("length-")]
        for one, two in permutations(told, 2):
            assert one.options[one.right] not in two.options or {
                one.id.split("-")[0],
                two.id.split("-")[0],
            } <= {"next"}, (kind, one.id, two.id)
        for length in (q for q in lesson.questions if q.id.startswith("length-")):
            whole = re.compile(rf"(?<![\d/]){re.escape(length.options[length.right])}\b")
            assert not [q.id for q in told if whole.search(" ".join((q.asked, *q.options)))]


def test_questions_do_not_tell_the_order_by_numbers() -> None:
    for _, _, lesson in every_lesson().values():
        twice = {n for n, count in Counter(s.name for s in lesson.steps).items() if count > 1}
        for q in lesson.questions:
            for option in (q.asked, *q.options):
                numbers = re.findall(r"step (\d+)", option)
                assert all(lesson.steps[int(number) - 1].name in twice for number in numbers)


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
