"""The steps of a lesson: one a layer, in the order of work."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from roof3d.catalog.material import Material, MaterialForm
from roof3d.details.model import PRACTICE, Detail, DetailLayer, size_text
from roof3d.lesson.model import Fact, Step
from roof3d.lesson.pieces import lies_over, order_words, parts_of, woven_with
from roof3d.lesson.practice import practice_facts
from roof3d.lesson.sources import source_lines
from roof3d.lesson.weather import asks_welding, changed_band, day_facts, held_words, must_stop
from roof3d.project import Project
from roof3d.units import Units, format_length, format_temperature

_COMES = {
    MaterialForm.SHEET: "rolls",
    MaterialForm.SHINGLE: "pieces",
    MaterialForm.STRIP: "strips",
    MaterialForm.METAL: "lengths",
    MaterialForm.DECK: "panels",
}

_WELDER, _GLOVES = "hot-air gun", "heat gloves"
_LONG = 3.0
"""Metres from which on a length is told in feet, or in metres."""


def material_of(project: Project, layer: DetailLayer) -> Material | None:
    """Return the catalog's material of a layer; None where it has none."""
    return project.catalog.material(layer.material) if layer.material else None


def build_steps(
    project: Project,
    detail: Detail,
    roles: Mapping[int, frozenset[str]],
    taught: Mapping[int, tuple[Mapping[str, Any], ...]],
    celsius: float | None,
) -> tuple[Step, ...]:
    """Build the steps of a detail.

    Parameters
    ----------
    project : Project
    detail : Detail
        Of that project.
    roles : Mapping[int, frozenset[str]]
        Of its layers.
    taught : Mapping[int, tuple]
        Rows of practice by number of layer.
    celsius : float or None
        Temperature of the day.
    """
    step_of = {layer.number: k for k, layer in enumerate(detail.layers, start=1)}
    units = Units(project.spec.units.value)
    waits = _waits(project, detail, roles, celsius)
    steps = []
    for layer in detail.layers:
        number = layer.number
        material = material_of(project, layer)
        measures = tuple(m for m in detail.measures if m.layer == number)
        day = () if celsius is None else day_facts(celsius, layer, roles[number], material)
        if waits.get(number) is not None:
            day = (_waiting(step_of[number], step_of[waits[number] or number]),)
        stop = number in waits
        band = None if stop else changed_band(celsius, material)
        at = "" if celsius is None else format_temperature(celsius, units)
        weld = asks_welding(band)
        steps.append(
            Step(
                number=step_of[number],
                layer=number,
                name=layer.name,
                material=layer.material,
                what=_what(layer, material, units),
                parts=parts_of(detail, number),
                order=order_words(detail, layer, step_of),
                over=tuple(step_of[other] for other in lies_over(detail, number)),
                why=layer.why,
                size=layer.size,
                fastening=layer.fastening,
                tool=_with(layer.tool, _WELDER) if weld else layer.tool,
                gear=_with(layer.gear, _GLOVES) if weld else layer.gear,
                mistake=layer.mistake,
                check=layer.check,
                measures=tuple(Fact(text=m.text, source=m.source) for m in measures),
                practice=practice_facts(taught.get(number, ())),
                day=day,
                held=held_words(layer.fastening, band, at, stop=stop),
                stop=stop,
                sources=source_lines(layer, material, measures),
            )
        )
    return tuple(steps)


def _waits(
    project: Project,
    detail: Detail,
    roles: Mapping[int, frozenset[str]],
    celsius: float | None,
) -> Mapping[int, int | None]:
    """Return the numbers of the layers not laid on a day, each with the one that it waits for.

    None where it is not to be laid itself; the others are laid turn about with one that waits, or
    come after it in the order of work.
    """
    waits: dict[int, int | None] = {
        layer.number: None
        for layer in detail.layers
        if must_stop(celsius, layer, roles[layer.number], material_of(project, layer))
    }
    if waits:
        first = min(waits)
        woven = woven_with(detail, first)
        for layer in detail.layers:
            if layer.number > first or layer.number in woven:
                waits.setdefault(layer.number, first)
    return waits


def _waiting(step: int, needs: int) -> Fact:
    how = "comes after" if needs < step else "goes turn about with"
    return Fact(
        text=f"Do not lay it: it {how} step {needs}, which waits for another day.", source=PRACTICE
    )


def _with(words: str, more: str) -> str:
    """Add one thing to a list of things that lacks it."""
    return words if more in words else f"{words.rstrip('.')}, {more}"


def _what(layer: DetailLayer, material: Material | None, units: Units) -> str:
    """Say what a layer's material is, and in what sizes it comes."""
    if material is None:
        return f"{layer.name}."
    named = "" if layer.name == material.name else f"{material.name}. "
    comes = _COMES.get(material.form, "")
    sizes = [
        size_text(size, units) if size < _LONG else format_length(size, units)
        for size in (material.width, material.length)
        if size > 0.0
    ]
    how = f" Comes in {comes}, {' by '.join(sizes)}." if comes and len(sizes) == 2 else ""
    if material.form is MaterialForm.METAL and len(sizes) == 2:
        # Its width is what lies on the roof: with its other leg it is ordered wider.
        how = f" Comes in {comes} of {sizes[1]}."
    return f"{named}{material.purpose}{how}"
