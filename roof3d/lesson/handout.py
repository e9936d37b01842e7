"""What a handout says, section by section, whatever it is printed as."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum
from string import ascii_uppercase

from roof3d.lesson.model import Fact, Lesson, Question, Step


class Part(StrEnum):
    """What a section of a handout is, for those who set it."""

    START = "start"
    STEP = "step"
    AFTER = "after"
    QUESTIONS = "questions"
    ANSWERS = "answers"


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """A word and what is said of it.

    Attributes
    ----------
    term : str
    lines : tuple[str, ...]
    urgent : bool
        Whether it must not be overlooked.
    """

    term: str
    lines: tuple[str, ...]
    urgent: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """A question as it is printed; on the page of answers with the answer.

    Attributes
    ----------
    number : int
    words : str
    options : tuple[str, ...]
        Each begins with its letter; empty on the page of answers.
    answer, reason, source : str
        Empty on the page of questions.
    """

    number: int
    words: str
    options: tuple[str, ...] = ()
    answer: str = ""
    reason: str = ""
    source: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Section:
    """One section.

    Attributes
    ----------
    id : str
        Letters and digits.
    part : Part
    heading, kicker : str
        The kicker stands above the heading, small; may be empty.
    paragraphs, points : tuple[str, ...]
    rows : tuple[Row, ...]
    asked : tuple[Asked, ...]
    picture, told : str
        Name of the picture, empty for none; what it shows, for those who cannot see it.
    """

    id: str
    part: Part
    heading: str
    kicker: str = ""
    paragraphs: tuple[str, ...] = ()
    points: tuple[str, ...] = ()
    rows: tuple[Row, ...] = ()
    asked: tuple[Asked, ...] = ()
    picture: str = ""
    told: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Handout:
    """A lesson to take home.

    Attributes
    ----------
    title, subtitle : str
    sections : tuple[Section, ...]
        Questions after all that answers them, answers last.
    foot : str
        The shortest of the cautions, for every page.
    """

    title: str
    subtitle: str
    sections: tuple[Section, ...]
    foot: str


def step_picture_name(step: Step) -> str:
    """Return the name of the picture of a step."""
    return f"step-{step.number:02}"


CONTACT, CUT, WRONG = "contact", "section", "wrong"
"""Names of the pictures of all steps, of the section, of what is built wrong on purpose."""


def build_handout(lesson: Lesson) -> Handout:
    """Put the words of a lesson in the order in which they are handed out."""
    return Handout(
        title=lesson.title,
        subtitle=f"{lesson.model}: {lesson.place}. {lesson.summary}.",
        sections=tuple(_sections(lesson)),
        foot=lesson.cautions[-1],
    )


def _sections(lesson: Lesson) -> Iterator[Section]:
    yield Section(
        id="safety",
        part=Part.START,
        heading="Before anyone goes up",
        paragraphs=(lesson.audience,),
        points=lesson.cautions,
        rows=tuple(_before(lesson)),
    )
    yield Section(
        id="steps",
        part=Part.START,
        heading=f"{len(lesson.steps)} steps from the bottom up",
        picture=CONTACT,
        told="All steps side by side: "
        + "; ".join(f"{step.number} {step.name}" for step in lesson.steps),
    )
    for step in lesson.steps:
        yield _step_section(lesson, step)
    yield _cut_section(lesson)
    yield Section(
        id="laps",
        part=Part.AFTER,
        heading="How to look at laps",
        paragraphs=(_with_source(lesson.look),),
    )
    if lesson.weather:
        yield Section(
            id="weather",
            part=Part.AFTER,
            heading="What the temperature asks for",
            paragraphs=("Measured on sheet and deck, not in the air.",),
            rows=tuple(_weather(lesson)),
        )
    yield Section(id="notes", part=Part.AFTER, heading="To be known", points=lesson.notes)
    if lesson.terms:
        yield Section(
            id="words",
            part=Part.AFTER,
            heading="Words used here",
            rows=tuple(Row(term=term.word, lines=(term.meaning,)) for term in lesson.terms),
        )
    yield Section(
        id="questions",
        part=Part.QUESTIONS,
        heading="Questions",
        paragraphs=("One answer is right in each.",),
        picture=WRONG if lesson.wrong else "",
        told="The joint built wrong on purpose, and the way the water takes through it.",
        asked=tuple(
            Asked(number=k, words=question.asked, options=_lettered(question))
            for k, question in enumerate(lesson.questions, start=1)
        ),
    )
    yield Section(
        id="answers",
        part=Part.ANSWERS,
        heading="Answers",
        asked=tuple(_answer(k, q) for k, q in enumerate(lesson.questions, start=1)),
    )


def _before(lesson: Lesson) -> Iterator[Row]:
    day = lesson.day
    if day is not None:
        waits = [f"{step.number} {step.name}" for step in lesson.steps if step.stop]
        lines = [f"{day.summary} [{day.source}]"]
        if waits:
            lines.append(f"Not to be laid at {day.words}: {'; '.join(waits)}.")
        yield Row(
            term=f"A {day.name} day, {day.words}",
            lines=tuple(lines),
            urgent=bool(waits) or day.name != "mild",
        )
    yield Row(term="Wear and keep", lines=(_listed(lesson.gear),))
    yield Row(term="Tools", lines=(_listed(lesson.tools),))


def _cut_section(lesson: Lesson) -> Section:
    return Section(
        id="section",
        part=Part.AFTER,
        heading="The joint in section",
        paragraphs=(
            "Cut square to its line; numbers are those of the steps.",
            "Lengths true; sheets drawn thicker than they are, which makes the white gaps.",
        ),
        picture=CUT,
        told="The layers where the joint is cut: "
        + "; ".join(f"{step.number} {step.name}" for step in lesson.steps),
    )


def _step_section(lesson: Lesson, step: Step) -> Section:
    rows = []
    if lesson.day is not None and step.day:
        facts = tuple(_with_source(fact) for fact in step.day)
        rows.append(Row(term=f"At {lesson.day.words}", lines=facts, urgent=step.stop))
    parts = ", ".join(
        f"{part.name} ({part.count})" if part.count > 1 else part.name for part in step.parts
    )
    size = [_sentence(step.size)]
    size += [f"In the picture: {'; '.join(step.lengths)}."] if step.lengths else []
    rows += [
        Row(term="What", lines=(step.what,)),
        Row(term="Why", lines=(_sentence(step.why),)),
        Row(term="Size", lines=tuple(size)),
        Row(term="In this cut-out", lines=(f"{parts}. {step.order}", *_over(lesson, step))),
        Row(term="Held by", lines=(_sentence(step.held),)),
        Row(term="Tool", lines=(_sentence(step.tool),)),
        Row(term="Wear", lines=(_sentence(step.gear),)),
        Row(term="Often wrong", lines=(_sentence(step.mistake),)),
        Row(term="Check", lines=(_sentence(step.check),)),
    ]
    if step.practice:
        rows.append(Row(term="Taught besides", lines=tuple(_with_source(f) for f in step.practice)))
    rows.append(Row(term="Sources", lines=step.sources))
    return Section(
        id=step_picture_name(step),
        part=Part.STEP,
        heading=f"{step.number}. {step.name}",
        kicker=f"Step {step.number} of {len(lesson.steps)}",
        rows=tuple(row for row in rows if any(row.lines)),
        picture=step_picture_name(step),
        told=_told(lesson, step),
    )


def _told(lesson: Lesson, step: Step) -> str:
    """Tell what the picture of a step shows."""
    before = [other.name for other in lesson.steps if other.number < step.number]
    under = f", over what lies already: {', '.join(before)}" if before else ""
    lengths = "; ".join(fact.text for fact in step.measures)
    return f"{step.name}{under}.{f' Lengths: {lengths}.' if lengths else ''}"


def _over(lesson: Lesson, step: Step) -> tuple[str, ...]:
    names = {other.number: other.name for other in lesson.steps}
    if not step.over:
        return ()
    below = ", ".join(f"{number} {names[number]}" for number in step.over)
    return (f"Lies on {below}.",)


def _weather(lesson: Lesson) -> Iterator[Row]:
    names = dict.fromkeys(row.name for row in lesson.weather)
    for name in names:
        lines = tuple(
            f"{_capital(row.span)}: {row.words[:1].lower()}{row.words[1:]} [{row.source}]"
            for row in lesson.weather
            if row.name == name
        )
        yield Row(term=name, lines=lines)


def _lettered(question: Question) -> tuple[str, ...]:
    return tuple(
        f"{ascii_uppercase[k]}  {_sentence(option)}" for k, option in enumerate(question.options)
    )


def _answer(number: int, question: Question) -> Asked:
    letter = ascii_uppercase[question.right]
    step = f" (step {question.step})" if question.step else ""
    return Asked(
        number=number,
        words=question.asked,
        answer=f"{letter}  {_sentence(question.options[question.right])}",
        reason=f"{_sentence(question.reason)}{step}",
        source=question.source,
    )


def _with_source(fact: Fact) -> str:
    return f"{fact.text} [{fact.source}]"


def _listed(words: tuple[str, ...]) -> str:
    return _sentence(", ".join(words))


def _capital(words: str) -> str:
    return f"{words[:1].upper()}{words[1:]}"


def _sentence(words: str) -> str:
    words = words.strip()
    return f"{_capital(words)}{'' if words.endswith(('.', '?')) else '.'}" if words else ""
