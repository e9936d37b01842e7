"""A lesson about one joint of a roof: what is said of it, in the order of work, and asked."""

from __future__ import annotations

import re
from dataclasses import dataclass

from roof3d.details.model import DetailKind


@dataclass(frozen=True, slots=True, kw_only=True)
class Fact:
    """Something to know, and where it comes from."""

    text: str
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Parts:
    """What a step lays down, in the order it is laid.

    Attributes
    ----------
    name : str
    count : int
        Pieces in the cut-out; a row of fasteners counts as one.
    """

    name: str
    count: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One layer, as a trainer would tell of it.

    Attributes
    ----------
    number : int
        1 for the first.
    layer : int
        The detail's number of the layer.
    name, material : str
        Of the layer; the catalog's id, empty where it has none.
    what : str
        What the material is for, and how it comes, in the catalog's words and sizes.
    parts : tuple[Parts, ...]
    order : str
        In what order they are laid.
    over : tuple[int, ...]
        Numbers of the steps whose layers it lies on, the topmost first.
    why, size, fastening, tool, gear, mistake, check : str
        As the detail says them.
    measures : tuple[Fact, ...]
        Its lengths as they are written in the picture.
    practice : tuple[Fact, ...]
        What is taught besides.
    day : tuple[Fact, ...]
        What the temperature of the day changes; empty where no temperature is given.
    held : str
        How it is held on that day; as ``fastening`` where the day does not change it.
    stop : bool
        Whether this layer is not to be laid on that day.
    sources : tuple[str, ...]
        One line a source: what it is the source of.
    """

    number: int
    layer: int
    name: str
    material: str
    what: str
    parts: tuple[Parts, ...]
    order: str
    over: tuple[int, ...]
    why: str
    size: str
    fastening: str
    tool: str
    gear: str
    mistake: str
    check: str
    measures: tuple[Fact, ...]
    practice: tuple[Fact, ...]
    day: tuple[Fact, ...]
    held: str
    stop: bool
    sources: tuple[str, ...]

    @property
    def lengths(self) -> tuple[str, ...]:
        """What is measured of it and stands in no word of ``size``."""
        sizes = (
            (fact.text, re.findall(r"[\d /]*\d (?:in|mm)\b", fact.text)) for fact in self.measures
        )
        return tuple(
            text for text, found in sizes if not all(size.strip() in self.size for size in found)
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """A question with its answers to choose from.

    Attributes
    ----------
    id : str
    asked : str
    options : tuple[str, ...]
        Three or four, no two alike.
    right : int
        Which of them, from 0.
    reason, source : str
        For the page of answers.
    step : int
        Number of the step that tells the answer; 0 where it stands elsewhere.
    """

    id: str
    asked: str
    options: tuple[str, ...]
    right: int
    reason: str
    source: str
    step: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Day:
    """The temperature of the day, and what it is called.

    Attributes
    ----------
    celsius : float
    words : str
        In the model's units.
    name, summary, source : str
    """

    celsius: float
    words: str
    name: str
    summary: str
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class WeatherRow:
    """What one material asks for between two temperatures."""

    material: str
    name: str
    span: str
    words: str
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Term:
    """A word of the trade in plain words."""

    word: str
    meaning: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Wrong:
    """A build that is wrong on purpose.

    Attributes
    ----------
    name, title : str
        Of the mistake.
    wrong, water, cost, see : str
        What is built wrong, what the water does, what that costs, and how it is seen.
    source : str
    """

    name: str
    title: str
    wrong: str
    water: str
    cost: str
    see: str
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Lesson:
    """All that is taught of one joint.

    Attributes
    ----------
    title, model, place, summary : str
        Of the detail; the model's name; where on the roof; the slopes that meet.
    detail : str
        Id of the place.
    kind : DetailKind
    audience : str
        Who it is for.
    gear, cautions, tools : tuple[str, ...]
    steps : tuple[Step, ...]
        In the order of work.
    look : Fact
        How laps are looked at here.
    questions : tuple[Question, ...]
    notes : tuple[str, ...]
    day : Day or None
    weather : tuple[WeatherRow, ...]
        Of every material in it that a temperature matters to, coldest first.
    terms : tuple[Term, ...]
        Words used in it.
    wrong : Wrong or None
        What is shown built wrong.
    """

    title: str
    model: str
    place: str
    summary: str
    detail: str
    kind: DetailKind
    audience: str
    gear: tuple[str, ...]
    cautions: tuple[str, ...]
    tools: tuple[str, ...]
    steps: tuple[Step, ...]
    look: Fact
    questions: tuple[Question, ...]
    notes: tuple[str, ...]
    day: Day | None
    weather: tuple[WeatherRow, ...]
    terms: tuple[Term, ...]
    wrong: Wrong | None = None
