"""The steps of a lesson: one a layer, in the order of work."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from roof3d.catalog.material import Material, MaterialForm
from roof3d.details.model import Detail, DetailLayer, size_text
from roof3d.lesson.model import Fact, Step
from roof3d.lesson.pieces import lies_over, order_words, parts_of
from roof3d.lesson.practice import practice_facts
from roof3d.lesson.sources import source_lines
from roof3d.lesson.weather import day_facts, must_stop
from roof3d.project import Project
from roof3d.units import Units, format_length

_COMES = {
    MaterialForm.SHEET: "rolls",
    MaterialForm.SHINGLE: "pieces",
    MaterialForm.STRIP: "strips",
    MaterialForm.METAL: "lengths",
    MaterialForm.DECK: "panels",
}

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
    steps = []
    for layer in detail.layers:
        material = material_of(project, layer)
        measures = tuple(m for m in detail.measures if m.layer == layer.number)
        day = () if celsius is None else day_facts(celsius, layer, roles[layer.number], material)
        steps.append(
            Step(
                number=step_of[layer.number],
                layer=layer.number,
                name=layer.name,
                material=layer.material,
                what=_what(layer, material, units),
                parts=parts_of(detail, layer.number),
                order=order_words(detail, layer, step_of),
                over=tuple(step_of[number] for number in lies_over(detail, layer.number)),
                why=layer.why,
                size=layer.size,
                fastening=layer.fastening,
                tool=layer.tool,
                gear=layer.gear,
                mistake=layer.mistake,
                check=layer.check,
                measures=tuple(Fact(text=m.text, source=m.source) for m in measures),
                practice=practice_facts(taught.get(layer.number, ())),
                day=day,
                stop=must_stop(celsius, material),
                sources=source_lines(layer, material, measures),
            )
        )
    return tuple(steps)


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
    return f"{named}{material.purpose}{how}"
