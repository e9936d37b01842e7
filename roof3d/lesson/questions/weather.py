"""Questions about the temperature of the day: how a material is laid in the cold."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from roof3d.catalog.material import Material, Method, WeatherBand
from roof3d.lesson.model import Day, Question, Step
from roof3d.lesson.questions.choices import called, sentence, set_question, turn
from roof3d.lesson.weather import HOW, band_words, span_words
from roof3d.units import Units


def ask_weather(
    materials: Sequence[Material],
    steps: Sequence[Step],
    day: Day | None,
    units: Units,
    seed: str,
) -> Iterator[Question]:
    """Ask how the material with the most to know is laid on the day, or on one of its days."""
    for material in sorted(materials, key=lambda made: -len(made.weather)):
        band = _band(material, day, seed)
        step = next((s for s in steps if s.material == material.id), None)
        if band is None or step is None:
            continue
        if step.stop and band.method is not Method.NOT_AT_ALL:
            continue  # what it waits for is not its own
        others = [other for other in material.weather if other is not band]
        at = (
            f"Sheet and deck are at {day.words}"
            if day is not None
            else f"Sheet and deck are {span_words(band, units)}"
        )
        question = set_question(
            f"weather-{material.id}",
            f"{at}: how is {called(step, steps)} laid?",
            sentence(_how(band)),
            [sentence(_how(other)) for other in others],
            reason=f"{span_words(band, units)}: {band_words(band)}",
            source=band.source,
            step=step.number,
            seed=seed,
        )
        if question is not None:
            yield question
            return


def _how(band: WeatherBand) -> str:
    return f"{HOW[band.method]}. {band.caution}"


def _band(material: Material, day: Day | None, seed: str) -> WeatherBand | None:
    if day is not None:
        return material.band_at(day.celsius)
    bands = material.weather
    return bands[turn(seed, material.id, len(bands))] if bands else None
